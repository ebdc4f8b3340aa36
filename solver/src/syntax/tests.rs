//! What is read, what is said about it, and properties on random texts.

mod fields;
mod messages;
mod properties;
mod readings;
mod source;

use super::{Kind, Node, Relation};
use crate::span::Span;

/// The tree without its places, so that two readings can be compared.
fn without_spans(node: &Node) -> Node {
    let boxed = |node: &Node| Box::new(without_spans(node));
    let kind = match &node.kind {
        Kind::Number(_) | Kind::Name(_) | Kind::Missing => node.kind.clone(),
        Kind::Derivative {
            of,
            variable,
            order,
            argument,
        } => Kind::Derivative {
            of: of.clone(),
            variable: variable.clone(),
            order: *order,
            argument: argument.as_deref().map(boxed),
        },
        Kind::Applied { name, argument, .. } => Kind::Applied {
            name: name.clone(),
            name_span: Span::default(),
            argument: boxed(argument),
        },
        Kind::Call {
            function,
            power,
            argument,
        } => Kind::Call {
            function,
            power: power.as_deref().map(boxed),
            argument: boxed(argument),
        },
        Kind::Negated(inner) => Kind::Negated(boxed(inner)),
        Kind::Sum(terms) => Kind::Sum(
            terms
                .iter()
                .map(|(minus, term)| (*minus, without_spans(term)))
                .collect(),
        ),
        Kind::Product(left, how, right) => Kind::Product(boxed(left), *how, boxed(right)),
        Kind::Quotient(left, right) => Kind::Quotient(boxed(left), boxed(right)),
        Kind::Power(base, exponent) => Kind::Power(boxed(base), boxed(exponent)),
        Kind::Bracketed(inner) => Kind::Bracketed(boxed(inner)),
    };
    Node {
        span: Span::default(),
        kind,
    }
}

/// The tree in brackets and words: shows the structure, not the writing.
fn outline(node: &Node) -> String {
    match &node.kind {
        Kind::Number(value) => value.to_string(),
        Kind::Name(name) => name.clone(),
        Kind::Derivative {
            of,
            variable,
            order,
            argument,
        } => {
            let variable = variable.as_ref().map_or(String::new(), |v| format!("/{v}"));
            let argument = argument
                .as_ref()
                .map_or(String::new(), |a| format!("@{}", outline(a)));
            format!("D{order}{variable}[{of}]{argument}")
        }
        Kind::Applied { name, argument, .. } => format!("{name}@{}", outline(argument)),
        Kind::Call {
            function,
            power,
            argument,
        } => {
            let power = power
                .as_ref()
                .map_or(String::new(), |p| format!("^{}", outline(p)));
            format!("{function}{power}[{}]", outline(argument))
        }
        Kind::Negated(inner) => format!("neg[{}]", outline(inner)),
        Kind::Sum(terms) => {
            let terms: Vec<String> = terms
                .iter()
                .map(|(minus, t)| format!("{}{}", if *minus { "-" } else { "+" }, outline(t)))
                .collect();
            format!("[{}]", terms.join(" "))
        }
        Kind::Product(left, super::Multiplication::Juxtaposed, right) => {
            format!("[{} {}]", outline(left), outline(right))
        }
        Kind::Product(left, super::Multiplication::Sign, right) => {
            format!("[{}*{}]", outline(left), outline(right))
        }
        Kind::Quotient(left, right) => format!("[{}/{}]", outline(left), outline(right)),
        Kind::Power(base, exponent) => format!("[{}^{}]", outline(base), outline(exponent)),
        Kind::Bracketed(inner) => format!("({})", outline(inner)),
        Kind::Missing => "?".to_string(),
    }
}

fn outline_relation(relation: &Relation) -> String {
    format!("{} = {}", outline(&relation.left), outline(&relation.right))
}
