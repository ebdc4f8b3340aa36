//! Going through a syntax tree without recursion along long products, and without recursion at all
//! where only a list of nodes is needed.

use crate::syntax::{Kind, Node};

/// The parts of a node, left to right.
pub(super) fn children(node: &Node) -> Vec<&Node> {
    match &node.kind {
        Kind::Number(_) | Kind::Name(_) | Kind::Missing => Vec::new(),
        Kind::Derivative { argument, .. } => argument.iter().map(|a| &**a).collect(),
        Kind::Applied { argument, .. } => vec![argument],
        Kind::Call {
            power, argument, ..
        } => power
            .iter()
            .map(|p| &**p)
            .chain(std::iter::once(&**argument))
            .collect(),
        Kind::Negated(inner) | Kind::Bracketed(inner) => vec![inner],
        Kind::Sum(terms) => terms.iter().map(|(_, t)| t).collect(),
        Kind::Product(a, _, b) | Kind::Quotient(a, b) | Kind::Power(a, b) => vec![a, b],
    }
}

/// All nodes of a tree, a node before its parts, in reading order.
pub(super) fn nodes(root: &Node) -> Vec<&Node> {
    let mut found = Vec::new();
    let mut waiting = vec![root];
    while let Some(node) = waiting.pop() {
        found.push(node);
        waiting.extend(children(node).into_iter().rev());
    }
    found
}

/// How a factor enters a chain of products and quotients.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Place {
    /// It multiplies.
    Above,
    /// It divides.
    Below,
}

/// The factors of a chain `a b / c d …`, left to right; one factor when the node is no chain. The
/// chain is as long as the text, so its left spine is followed in a loop.
pub(super) fn factors(node: &Node) -> Vec<(Place, &Node)> {
    let mut found = Vec::new();
    let mut head = node;
    loop {
        match &head.kind {
            Kind::Product(a, _, b) => {
                found.push((Place::Above, &**b));
                head = a;
            }
            Kind::Quotient(a, b) => {
                found.push((Place::Below, &**b));
                head = a;
            }
            Kind::Number(_)
            | Kind::Name(_)
            | Kind::Derivative { .. }
            | Kind::Applied { .. }
            | Kind::Call { .. }
            | Kind::Negated(_)
            | Kind::Sum(_)
            | Kind::Power(..)
            | Kind::Bracketed(_)
            | Kind::Missing => {
                found.push((Place::Above, head));
                found.reverse();
                return found;
            }
        }
    }
}

/// The terms of a sum, signs pulled out: "subtracted?" and the term. Brackets stay.
pub(super) fn terms(node: &Node) -> Vec<(bool, &Node)> {
    let listed: Vec<(bool, &Node)> = match &node.kind {
        Kind::Sum(terms) => terms.iter().map(|(minus, t)| (*minus, t)).collect(),
        Kind::Number(_)
        | Kind::Name(_)
        | Kind::Derivative { .. }
        | Kind::Applied { .. }
        | Kind::Call { .. }
        | Kind::Negated(_)
        | Kind::Product(..)
        | Kind::Quotient(..)
        | Kind::Power(..)
        | Kind::Bracketed(_)
        | Kind::Missing => vec![(false, node)],
    };
    listed
        .into_iter()
        .map(|(mut minus, mut term)| {
            while let Kind::Negated(inner) = &term.kind {
                minus = !minus;
                term = inner;
            }
            (minus, term)
        })
        .collect()
}

/// A node without the brackets around it.
pub(super) fn unbracketed(mut node: &Node) -> &Node {
    while let Kind::Bracketed(inner) = &node.kind {
        node = inner;
    }
    node
}
