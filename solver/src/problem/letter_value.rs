//! `k = 2` among the conditions, where k is a letter of the equation.

use super::names::letter;
use super::point::slice;
use super::walk::nodes;
use crate::diagnostic::{Diagnostic, Edit, Suggestion};
use crate::span::{Field, Span};
use crate::syntax::{Kind, Node, Relation};

/// The code of what the parser says about a value without a point.
const WITHOUT_POINT: &str = "condition-without-point";

/// Says what a number for a letter of the equation is, in place of the message about its missing point.
pub(super) fn explain(
    told: &mut [Diagnostic],
    relations: &[Relation],
    (equation, conditions): (&str, &str),
) {
    let all: Vec<&Node> = relations
        .iter()
        .flat_map(|relation| [&relation.left, &relation.right])
        .flat_map(nodes)
        .collect();
    for own in told.iter_mut().filter(|own| own.code == WITHOUT_POINT) {
        let given = conditions.get(own.span.start..own.span.end);
        let Some((name, value)) = given.and_then(|given| given.split_once('=')) else {
            continue;
        };
        let (name, value) = (name.trim(), value.trim());
        let places: Vec<Span> = all
            .iter()
            .filter(|node| matches!(node.kind, Kind::Name(_)) && slice(equation, node) == name)
            .map(|node| node.span)
            .collect();
        let function = all.iter().any(|node| {
            matches!(node.kind, Kind::Derivative { .. } | Kind::Applied { .. })
                && letter(node).is_some_and(|seen| seen.name == name)
        });
        if places.is_empty() || function {
            continue;
        }
        let mut said = Diagnostic::error(
            "number-for-letter",
            Field::Conditions,
            own.span,
            format!(
                "{name} is a constant of the equation, and this gives it a number; here only the unknown's values stand. Write the number in the equation, or leave it out: the picture has a field for it."
            ),
        );
        let without = Edit {
            field: Field::Conditions,
            span: with_separator(conditions, own.span),
            replacement: String::new(),
        };
        let mut edits: Vec<Edit> = places
            .into_iter()
            .map(|span| Edit {
                field: Field::Equation,
                span,
                replacement: factor(value, equation, span),
            })
            .collect();
        edits.push(without.clone());
        said.suggestions.push(Suggestion {
            label: format!("write {value} for {name}"),
            edits,
        });
        said.suggestions.push(Suggestion {
            label: "leave it out".to_owned(),
            edits: vec![without],
        });
        *own = said;
    }
}

/// The value such that what stands around the letter means the same: in brackets unless it is a whole
/// number with nothing in front that it would run into.
fn factor(value: &str, equation: &str, place: Span) -> String {
    let before = equation.get(..place.start).unwrap_or_default();
    let after = equation.get(place.end..).unwrap_or_default();
    let runs_into = |c: char| c.is_alphanumeric() || matches!(c, '.' | '^' | '_');
    let alone = !before.trim_end().ends_with(runs_into)
        && !after
            .trim_start()
            .starts_with(|c: char| c.is_ascii_digit() || c == '^');
    if alone && value.chars().all(|c| c.is_ascii_digit()) {
        value.to_owned()
    } else {
        format!("({value})")
    }
}

/// With the comma in front, or the one behind.
fn with_separator(text: &str, span: Span) -> Span {
    let separator = |c: char| matches!(c, ',' | ';') || c.is_whitespace();
    let before = text.get(..span.start).unwrap_or_default();
    let behind = text.get(span.end..).unwrap_or_default();
    let start = before.trim_end_matches(separator).len();
    if start == 0 {
        Span::new(0, text.len() - behind.trim_start_matches(separator).len())
    } else {
        Span::new(start, span.end)
    }
}
