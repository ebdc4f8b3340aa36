//! Brackets behind letters decided: afterwards a tree has no [`Kind::Applied`] and no derivative
//! with an argument, and everything below can be read without thinking of names.

use super::names::{Meaning, Names, Reading};
use crate::syntax::{Kind, Multiplication, Node};

/// The same tree with `y(x)` as `y` and `y(1-y)` as a product. An exponent belongs to the brackets:
/// `y(1-y)^2` is y times a square.
pub(super) fn settle(node: &Node, names: &Names) -> Node {
    if let Some((head, argument)) = as_product(node, names) {
        return times(node, head, settle(argument, names));
    }
    let inner = |n: &Node| Box::new(settle(n, names));
    let kind = match &node.kind {
        Kind::Applied { name, .. } => Kind::Name(name.clone()),
        Kind::Derivative {
            of,
            variable,
            order,
            ..
        } => Kind::Derivative {
            of: of.clone(),
            variable: variable.clone(),
            order: *order,
            argument: None,
        },
        Kind::Call {
            function,
            power,
            argument,
        } => Kind::Call {
            function,
            power: power.as_deref().map(inner),
            argument: inner(argument),
        },
        Kind::Negated(a) => Kind::Negated(inner(a)),
        Kind::Bracketed(a) => Kind::Bracketed(inner(a)),
        Kind::Sum(terms) => Kind::Sum(
            terms
                .iter()
                .map(|(minus, term)| (*minus, settle(term, names)))
                .collect(),
        ),
        Kind::Power(base, exponent) => {
            let exponent = inner(exponent);
            if let Some((head, argument)) = as_product(base, names) {
                let raised = Node {
                    span: argument.span.to(exponent.span),
                    kind: Kind::Power(inner(argument), exponent),
                };
                return times(node, head, raised);
            }
            Kind::Power(inner(base), exponent)
        }
        Kind::Product(..) | Kind::Quotient(..) => return settle_chain(node, names),
        Kind::Number(_) | Kind::Name(_) | Kind::Missing => node.kind.clone(),
    };
    Node {
        span: node.span,
        kind,
    }
}

/// Long chains are left-nested: follow them in a loop.
fn settle_chain(node: &Node, names: &Names) -> Node {
    let mut spine = Vec::new();
    let mut head = node;
    while let Kind::Product(a, _, _) | Kind::Quotient(a, _) = &head.kind {
        spine.push(head);
        head = a;
    }
    let mut result = settle(head, names);
    for link in spine.into_iter().rev() {
        let kind = match &link.kind {
            Kind::Product(_, how, b) => {
                Kind::Product(Box::new(result), *how, Box::new(settle(b, names)))
            }
            Kind::Quotient(_, b) => Kind::Quotient(Box::new(result), Box::new(settle(b, names))),
            _ => continue,
        };
        result = Node {
            span: link.span,
            kind,
        };
    }
    result
}

/// The letter (or derivative) and the factor in brackets, when that is what brackets mean here.
fn as_product<'a>(node: &'a Node, names: &Names) -> Option<(Node, &'a Node)> {
    let (kind, argument, own) = match &node.kind {
        Kind::Applied { name, argument, .. } => (
            Kind::Name(name.clone()),
            argument,
            names.meaning(name) == Meaning::Unknown,
        ),
        Kind::Derivative {
            of,
            variable,
            order,
            argument: Some(argument),
        } => (
            Kind::Derivative {
                of: of.clone(),
                variable: variable.clone(),
                order: *order,
                argument: None,
            },
            argument,
            true,
        ),
        _ => return None,
    };
    if own && names.reading(argument) == Reading::Value {
        return None;
    }
    let head = Node {
        span: node.span,
        kind,
    };
    Some((head, argument))
}

fn times(whole: &Node, head: Node, factor: Node) -> Node {
    Node {
        span: whole.span,
        kind: Kind::Product(Box::new(head), Multiplication::Juxtaposed, Box::new(factor)),
    }
}
