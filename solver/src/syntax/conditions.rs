//! Initial conditions: `y(0)=2, y'(0)=1`, also `y(0) = y'(0) = 0`.

use super::differentiated::Mode;
use super::parser::Parser;
use super::reading::Reader;
use super::relation::{side, skip_separators, tell_of_emptiness};
use super::token::TokenKind;
use super::{Condition, Kind, Multiplication, Node};
use crate::budget::Budget;
use crate::diagnostic::Diagnostic;
use crate::span::{Field, Span};

/// Reads initial conditions, separated by commas, semicolons, newlines or “and”.
pub fn parse_conditions(text: &str, budget: &Budget) -> (Vec<Condition>, Vec<Diagnostic>) {
    let reader = Reader {
        field: Field::Conditions,
        mode: Mode::Conditions,
        budget,
    };
    let (conditions, diagnostics) = reader.read(text, conditions);
    (conditions.unwrap_or_default(), diagnostics)
}

fn conditions(parser: &mut Parser<'_>) -> Vec<Condition> {
    let mut conditions = Vec::new();
    let mut empty = true;
    loop {
        skip_separators(parser);
        if parser.at_end() {
            break;
        }
        empty = false;
        chain(parser, &mut conditions);
    }
    if empty {
        tell_of_emptiness(
            parser,
            "Type the initial conditions, for example y(0) = 2, y'(0) = 1.",
        );
    }
    conditions
}

/// Sides joined by equals signs: values of unknowns, and one number.
fn chain(parser: &mut Parser<'_>, conditions: &mut Vec<Condition>) {
    let start = parser.here();
    let errors_before = parser.diagnostics.len();
    let mut sides = vec![side(parser)];
    let mut signs = Vec::new();
    while parser.peek() == Some(&TokenKind::Equals) {
        signs.push(parser.here());
        parser.advance();
        sides.push(side(parser));
    }
    let span = start.to(parser.previous().unwrap_or(start));
    let clean = parser.diagnostics.len() == errors_before;
    let (targets, values): (Vec<Node>, Vec<Node>) = sides.into_iter().partition(is_target);
    match (targets.is_empty(), values.as_slice()) {
        (false, [value]) => {
            for target in targets {
                let condition = condition(parser, target, value.clone());
                conditions.extend(condition);
            }
        }
        (false, []) => {
            let message = "This condition has no value. Write it behind an equals sign: y(0) = 2.";
            let diagnostic = parser.error("condition-without-value", span, message);
            parser.tell(diagnostic);
        }
        (false, [first, ..]) => {
            let sign = signs.last().copied().unwrap_or(span);
            let message = "There is one equals sign too many. Separate conditions by commas.";
            let mut diagnostic = parser.error("doubled-equals", sign, message);
            if let Some(place) = forgotten_comma(first) {
                diagnostic = diagnostic.suggest("put a comma between them", place, ", ");
            }
            parser.tell(diagnostic);
        }
        (
            true,
            [
                ..,
                Node {
                    kind: Kind::Missing,
                    ..
                },
            ],
        ) if !clean => {}
        (true, _) => {
            let message = "This is not an initial condition. Write the value of the unknown, or of \
                           a derivative, at a point: y(0) = 2, y'(0) = 1.";
            let diagnostic = parser.error("not-a-condition", span, message);
            parser.tell(diagnostic);
        }
    }
}

/// `y(…)` or `y'(…)`.
fn is_target(node: &Node) -> bool {
    match &node.kind {
        Kind::Applied { .. } => true,
        Kind::Derivative { argument, .. } => argument.is_some(),
        _ => false,
    }
}

/// In `2 y'(0)`, the gap: the first condition's value and the next condition ran together.
fn forgotten_comma(value: &Node) -> Option<Span> {
    match &value.kind {
        Kind::Product(left, Multiplication::Juxtaposed, right) if is_target(right) => {
            Some(Span::new(left.span.end, right.span.start))
        }
        Kind::Negated(inner) => forgotten_comma(inner),
        _ => None,
    }
}

fn condition(parser: &Parser<'_>, target: Node, value: Node) -> Option<Condition> {
    let span = target.span.to(value.span);
    let (unknown, order, argument) = match target.kind {
        Kind::Applied { name, argument, .. } => (name, 0, Some(argument)),
        Kind::Derivative {
            of,
            order,
            argument,
            ..
        } => (of, order, argument),
        _ => return None,
    };
    let point = *argument?;
    let before = Span::new(target.span.start, point.span.start.max(target.span.start));
    let written = parser.slice(before).trim_end_matches(|c: char| {
        c.is_whitespace() || matches!(c, '(' | '[' | '{' | '（' | '［' | '｛')
    });
    Some(Condition {
        span,
        unknown,
        unknown_span: Span::new(before.start, before.start + written.len()),
        order,
        point,
        value,
    })
}
