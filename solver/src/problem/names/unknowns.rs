//! Which letters are the functions to be found.

use super::super::system;
use super::super::walk::unbracketed;
use super::{Seen, letter};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Suggestion};
use crate::span::{Field, Span};
use crate::syntax::{Condition, Kind, Node, Relation};

/// The differentiated letters with their highest orders. `None` and an error in `out` where they are
/// not as many as the equations.
pub(super) fn find_unknowns(
    relations: &[Relation],
    text: &str,
    all: &[&Node],
    conditions: &[Condition],
    budget: &Budget,
    out: &mut Vec<Diagnostic>,
) -> Option<Vec<(String, u32)>> {
    let mut derived: Vec<(&str, u32, Span)> = Vec::new();
    for node in all {
        if let Kind::Derivative { of, order, .. } = &node.kind {
            match derived.iter_mut().find(|d| d.0 == of) {
                Some(d) if d.1 >= *order => {}
                Some(d) => (d.1, d.2) = (*order, node.span),
                None => derived.push((of, *order, node.span)),
            }
        }
    }
    match (relations, derived.as_slice()) {
        ([], _) => return None,
        ([relation, ..], []) => {
            out.push(no_derivative(relation, all));
            return None;
        }
        ([_], [_]) => {}
        ([_, _, ..], _) => {
            let before = out.len();
            out.extend(system::counted(relations, &derived));
            if out.len() > before {
                return None;
            }
        }
        ([_], [first, second, ..]) => {
            // The one with conditions is meant; the other may be a slip of the pen.
            let named = |n: &str| conditions.iter().any(|c| c.unknown == n);
            let (keep, other) = if named(second.0) && !named(first.0) {
                (first_two(second), first)
            } else {
                (first_two(first), second)
            };
            let mut diagnostic = Diagnostic::error(
                "two-unknowns",
                Field::Equation,
                other.2,
                format!(
                    "Both {} and {} are differentiated, so there are two unknown functions in one equation. One equation determines one unknown.",
                    first.0, second.0
                ),
            )
            .outcome(Outcome::Unable);
            if derived.len() == 2 {
                diagnostic
                    .suggestions
                    .push(rename(all, text, other.0, keep.0));
            }
            out.push(diagnostic);
            return None;
        }
    }
    let too_high = |d: &&(&str, u32, Span)| d.1 > budget.equation_order;
    if let Some((_, order, span)) = derived.iter().find(too_high) {
        out.push(
            Diagnostic::error(
                "order-too-high",
                Field::Equation,
                *span,
                format!(
                    "This derivative has order {order}; equations up to order {} are worked out here.",
                    budget.equation_order
                ),
            )
            .outcome(Outcome::Unable),
        );
        return None;
    }
    Some(
        derived
            .into_iter()
            .map(|(name, order, _)| (name.to_owned(), order))
            .collect(),
    )
}

fn first_two<'a>(d: &(&'a str, u32, Span)) -> (&'a str, u32) {
    (d.0, d.1)
}

/// One click: another letter for `from` wherever it stands.
fn rename(all: &[&Node], text: &str, from: &str, to: &str) -> Suggestion {
    let edits = all
        .iter()
        .filter_map(|node| letter(node))
        .filter(|seen| seen.name == from)
        .map(|seen| Edit {
            field: Field::Equation,
            span: letter_span(text, &seen),
            replacement: to.to_owned(),
        })
        .collect();
    Suggestion {
        label: format!("write {to} for {from}"),
        edits,
    }
}

/// Where the letter itself stands, without primes: its name as typed, or one character (θ).
fn letter_span(text: &str, seen: &Seen<'_>) -> Span {
    let rest = text.get(seen.span.start..).unwrap_or("");
    let length = if rest.starts_with(seen.name) {
        seen.name.len()
    } else if let Some(command) = rest.strip_prefix('\\') {
        let end = command.find(|c: char| !c.is_ascii_alphabetic());
        1 + end.unwrap_or(command.len())
    } else {
        rest.chars().next().map_or(0, char::len_utf8)
    };
    Span::new(seen.span.start, seen.span.start + length)
}

fn no_derivative(relation: &Relation, all: &[&Node]) -> Diagnostic {
    if !all.iter().any(|n| letter(n).is_some()) {
        return Diagnostic::error(
            "no-unknown",
            Field::Equation,
            relation.span,
            "There are only numbers here: nothing about an unknown function. Write an equation with a derivative, such as y' = y.",
        );
    }
    let diagnostic = Diagnostic::error(
        "no-derivative",
        Field::Equation,
        relation.span,
        "There is no derivative in this equation, so it is not a differential equation. Mark a derivative with a prime, as in y', or write dy/dx.",
    );
    if all.iter().any(|n| letter(n).is_some_and(|l| l.name == "D")) {
        let mut diagnostic = diagnostic;
        diagnostic.message.push_str(
            " If D is the operator d/dx, write out what it does: y'' + 4y for (D^2 + 4) y.",
        );
        return diagnostic;
    }
    match letter(unbracketed(&relation.left)) {
        Some(seen) if seen.name != "pi" => {
            let end = Span::new(seen.span.end, seen.span.end);
            diagnostic.suggest(format!("write {}'", seen.name), end, "'")
        }
        _ => diagnostic,
    }
}
