//! Letters and brackets that may not mean what they are read as.

use super::super::system;
use super::super::walk::unbracketed;
use super::{Meaning, Names, Reading, Seen, letter};
use crate::diagnostic::{Diagnostic, Outcome};
use crate::span::{Field, Span};
use crate::syntax::{Condition, Kind, Node};

/// Letters with a condition of their own, and e where it might have been meant otherwise.
pub(super) fn check_letters(
    all: &[&Node],
    names: &Names,
    conditions: &[Condition],
    out: &mut Vec<Diagnostic>,
) {
    let exponential: Vec<Span> = all
        .iter()
        .filter_map(|n| match &n.kind {
            Kind::Power(base, _) => Some(unbracketed(base).span),
            _ => None,
        })
        .collect();
    let mut told: Vec<&str> = Vec::new();
    for seen in all.iter().filter_map(|n| letter(n)) {
        if told.contains(&seen.name) {
            continue;
        }
        match names.meaning(seen.name) {
            Meaning::Unknown | Meaning::Variable | Meaning::Pi => {}
            Meaning::E => {
                if !exponential.contains(&seen.span) {
                    told.push(seen.name);
                    out.push(Diagnostic::notice(
                        "e-is-constant",
                        Field::Equation,
                        seen.span,
                        "e is read as the number 2.718… here. For a quantity of your own choose another letter.",
                    ));
                }
            }
            Meaning::Other => {
                told.push(seen.name);
                out.extend(second_unknown(&seen, names, conditions));
            }
        }
    }
}

/// A letter with a condition of its own is no parameter.
fn second_unknown(seen: &Seen<'_>, names: &Names, conditions: &[Condition]) -> Option<Diagnostic> {
    let name = seen.name;
    if names.is_system() && conditions.iter().any(|c| c.unknown == name) {
        return Some(system::without_equation(name, seen.span));
    }
    conditions.iter().any(|c| c.unknown == name).then(|| {
        Diagnostic::error(
            "two-unknowns",
            Field::Equation,
            seen.span,
            format!(
                "The conditions give a value of {name} too, so {} and {name} would be two unknown functions. One equation determines one unknown.",
                names.unknown
            ),
        )
        .outcome(Outcome::Unable)
    })
}

/// Brackets behind the unknown.
pub(super) fn check_arguments(all: &[&Node], text: &str, names: &Names, out: &mut Vec<Diagnostic>) {
    for node in all {
        let (name, head, argument) = match &node.kind {
            Kind::Applied {
                name,
                name_span,
                argument,
            } if names.meaning(name) == Meaning::Unknown => (name, *name_span, argument),
            Kind::Derivative {
                of,
                argument: Some(argument),
                ..
            } => {
                let head = text.get(node.span.start..argument.span.start).unwrap_or("");
                let end = node.span.start + head.rfind('(').unwrap_or(head.len());
                (of, Span::new(node.span.start, end), argument)
            }
            _ => continue,
        };
        let between = Span::new(head.end, head.end);
        match names.reading(argument) {
            Reading::Value | Reading::Product { certain: true } => {}
            Reading::Product { certain: false } => out.push(
                Diagnostic::notice(
                    "read-as-product",
                    Field::Equation,
                    node.span,
                    format!("This is read as a product: {name} times the brackets. A * in between makes it plain."),
                )
                .suggest("write the *", between, "*"),
            ),
            Reading::Elsewhere => out.push(
                Diagnostic::error(
                    "delay-equation",
                    Field::Equation,
                    node.span,
                    format!("This is the value of {name} at another place than {}, which makes it a delay (functional) equation; its solutions are not found by differentiating. If a product is meant, write a * in between.", names.variable),
                )
                .outcome(Outcome::Unable)
                .suggest("write the *", between, "*"),
            ),
            Reading::AtPoint => out.push(
                Diagnostic::error(
                    "value-at-point",
                    Field::Equation,
                    node.span,
                    format!("In the equation {name} must stand at {} itself, not at a fixed point. A value at a point belongs to the conditions; if a product is meant, write a * in between.", names.variable),
                )
                .outcome(Outcome::Unable)
                .suggest("write the *", between, "*"),
            ),
        }
    }
}
