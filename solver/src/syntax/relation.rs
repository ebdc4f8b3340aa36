//! Equations.

use super::differentiated::Mode;
use super::parser::Parser;
use super::reading::Reader;
use super::token::{Separator, TokenKind};
use super::{Kind, Node, Relation};
use crate::budget::Budget;
use crate::diagnostic::Diagnostic;
use crate::span::{Field, Span};

/// Reads equations, separated by newlines, semicolons, commas or “and”.
pub fn parse_equations(text: &str, budget: &Budget) -> (Vec<Relation>, Vec<Diagnostic>) {
    let reader = Reader {
        field: Field::Equation,
        mode: Mode::Equations,
        budget,
    };
    let (relations, diagnostics) = reader.read(text, relations);
    (relations.unwrap_or_default(), diagnostics)
}

/// Reads a constant: an end of an interval, a point.
pub fn parse_constant(text: &str, field: Field, budget: &Budget) -> (Node, Vec<Diagnostic>) {
    let reader = Reader {
        field,
        mode: Mode::Constant,
        budget,
    };
    let (node, diagnostics) = reader.read(text, constant);
    let missing = || Node {
        span: Span::new(0, 0),
        kind: Kind::Missing,
    };
    (node.unwrap_or_else(missing), diagnostics)
}

/// Reads a formula for the unknown, `y = …` or `y(x) = …`: what stands left of the equals sign, if
/// there is one, and the formula.
pub fn parse_candidate(
    text: &str,
    budget: &Budget,
) -> (Option<(Option<Node>, Node)>, Vec<Diagnostic>) {
    let reader = Reader {
        field: Field::Candidate,
        mode: Mode::Equations,
        budget,
    };
    reader.read(text, candidate)
}

fn candidate(parser: &mut Parser<'_>) -> (Option<Node>, Node) {
    let first = side(parser);
    let read = if parser.peek() == Some(&TokenKind::Equals) {
        parser.advance();
        (Some(first), side(parser))
    } else {
        (None, first)
    };
    skip_separators(parser);
    if !parser.at_end() {
        let span = parser.here();
        let message = "Only one formula can be tested.";
        let diagnostic = parser.error("candidate-form", span, message);
        parser.tell(diagnostic);
    }
    read
}

fn relations(parser: &mut Parser<'_>) -> Vec<Relation> {
    let mut relations = Vec::new();
    loop {
        skip_separators(parser);
        if parser.at_end() {
            break;
        }
        relations.push(relation(parser));
    }
    if relations.is_empty() {
        tell_of_emptiness(
            parser,
            "Type a differential equation, for example y' = x y.",
        );
    }
    relations
}

fn relation(parser: &mut Parser<'_>) -> Relation {
    let start = parser.here();
    let left = side(parser);
    let mut sides = vec![left];
    let mut signs = Vec::new();
    while parser.peek() == Some(&TokenKind::Equals) {
        let sign = parser.here();
        signs.push(sign);
        parser.advance();
        while parser.peek() == Some(&TokenKind::Equals) {
            let other = parser.here();
            let again = Span::new(sign.end, other.end);
            let message = "One equals sign is enough.";
            let diagnostic = parser.error("doubled-equals", other, message);
            parser.tell(diagnostic.suggest("leave the other out", again, ""));
            parser.advance();
        }
        sides.push(side(parser));
    }
    let span = start.to(parser.previous().unwrap_or(start));
    if let Some(second) = signs.get(1) {
        let message = "There are two equals signs in this equation. \
                       Write each equation on a line of its own.";
        let diagnostic = parser.error("doubled-equals", *second, message);
        parser.tell(diagnostic);
    }
    let mut sides = sides.into_iter();
    let left = sides.next().unwrap_or_else(|| parser.missing_here());
    let right = sides.next().unwrap_or_else(|| {
        tell_of_missing_equals(parser, span);
        parser.missing_here()
    });
    Relation { span, left, right }
}

fn tell_of_missing_equals(parser: &mut Parser<'_>, span: Span) {
    let message = "An equation needs an equals sign and something on both sides of it.";
    let end = Span::new(span.end, span.end);
    let diagnostic =
        parser
            .error("missing-equals", span, message)
            .suggest("write = 0 behind it", end, " = 0");
    parser.tell(diagnostic);
}

/// One side of an equation or condition, up to `=`, a separator or the end.
pub(super) fn side(parser: &mut Parser<'_>) -> Node {
    if parser.at_end()
        || matches!(
            parser.peek(),
            Some(TokenKind::Equals | TokenKind::Separator(_))
        )
    {
        let missing = parser.missing_here();
        let sign = match parser.peek() {
            Some(TokenKind::Equals) => parser.here(),
            _ => parser.previous().unwrap_or(missing.span),
        };
        let message =
            "One side of the equals sign is empty. Write what stands there, 0 if nothing.";
        let diagnostic = parser.error("missing-side", sign, message);
        parser.tell(diagnostic);
        return missing;
    }
    let node = parser.sum();
    skip_leftovers(parser, node.span);
    node
}

/// Whatever the expression could not take in: nearly always a bracket too many.
fn skip_leftovers(parser: &mut Parser<'_>, read: Span) {
    let mut told = false;
    loop {
        match parser.peek() {
            None | Some(TokenKind::Equals | TokenKind::Separator(_)) => return,
            Some(TokenKind::Close) if !told => {
                let span = parser.here();
                let sign = parser.slice(span);
                let message =
                    format!("The bracket “{sign}” closes nothing: its opening bracket is missing.");
                let start = Span::new(read.start, read.start);
                let diagnostic = parser
                    .error("unbalanced-bracket", span, message)
                    .suggest(format!("remove {sign}"), span, "")
                    .suggest("open it in front", start, "(");
                parser.tell(diagnostic);
                told = true;
                parser.advance();
            }
            Some(_) => {
                // An error has been told, or is told by reading on; the tree keeps what it has.
                let before = parser.here();
                parser.advance();
                if !told {
                    told = true;
                    let sign = parser.slice(before);
                    let message = format!("“{sign}” cannot stand here.");
                    let diagnostic = parser.error("stray-character", before, message);
                    parser.tell(diagnostic.suggest("remove it", before, ""));
                }
            }
        }
    }
}

/// Goes on to what follows the separators; the last one was “at”, “when” or “for”?
pub(super) fn skip_separators(parser: &mut Parser<'_>) -> bool {
    let mut at = false;
    while let Some(TokenKind::Separator(separator)) = parser.peek() {
        at = *separator == Separator::At;
        parser.advance();
    }
    at
}

pub(super) fn tell_of_emptiness(parser: &mut Parser<'_>, message: &str) {
    let end = parser.text.len();
    let diagnostic = parser.error("empty-field", Span::new(0, end), message);
    parser.tell(diagnostic);
}

fn constant(parser: &mut Parser<'_>) -> Node {
    if parser.at_end() {
        tell_of_emptiness(parser, "Type a number, for example 2, -3/4 or pi/2.");
        return parser.missing_here();
    }
    let node = parser.sum();
    skip_leftovers(parser, node.span);
    if !parser.at_end() {
        let span = parser.here();
        let message = "Only one number can stand here.";
        let diagnostic = parser.error("not-a-constant", span, message);
        parser.tell(diagnostic);
    }
    node
}
