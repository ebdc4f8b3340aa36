//! The order in which a reader meets factors and terms.
//!
//! Factors: numbers and their roots, π, parameters, other constants, the variable, y, y′, y″, …,
//! functions, bracketed sums; whatever has a negative exponent comes last.
//! Terms: those in the variable alone, then those with unknowns (highest derivative first), then
//! constants; inside each by falling degree. Common practice in textbooks, not a standard.

use std::cmp::{Ordering, Reverse};

use num_traits::{Signed, ToPrimitive};

use super::tree::{Expr, Node, Symbol};
use crate::number::Rational;

/// A factor as base and exponent; `None` stands for the exponent 1.
pub(super) fn base_and_exponent(factor: &Expr) -> (&Expr, Option<&Expr>) {
    match factor.node() {
        Node::Power(base, exponent) => (base, Some(exponent)),
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) | Node::Product(_) | Node::Sum(_) => {
            (factor, None)
        }
    }
}

fn rank(base: &Expr, exponent: Option<&Expr>) -> u8 {
    let constant = base.is_constant() && exponent.is_none_or(Expr::is_constant);
    let rank = match base.node() {
        Node::Number(_) if constant => 0,
        Node::Symbol(Symbol::Pi) if constant => 1,
        Node::Symbol(Symbol::Parameter(_)) if constant => 2,
        Node::Call(..) if constant => 3,
        Node::Power(..) | Node::Product(_) | Node::Sum(_) if constant => 4,
        Node::Symbol(Symbol::Variable) => 5,
        Node::Symbol(Symbol::Derivative { .. }) => 6,
        Node::Call(..) => 7,
        // 2^x, π^x, …
        Node::Number(_) | Node::Symbol(_) | Node::Power(..) | Node::Product(_) => 8,
        Node::Sum(_) => 9,
    };
    match exponent.and_then(Expr::as_number) {
        Some(value) if value.is_negative() => rank + 16,
        _ => rank,
    }
}

/// Position of two factors of one product. `Equal` only for equal factors.
pub(super) fn factors(a: &Expr, b: &Expr) -> Ordering {
    if a.same(b) {
        return Ordering::Equal;
    }
    let (base_a, exponent_a) = base_and_exponent(a);
    let (base_b, exponent_b) = base_and_exponent(b);
    rank(base_a, exponent_a)
        .cmp(&rank(base_b, exponent_b))
        .then_with(|| base_a.cmp(base_b))
        .then_with(|| match (exponent_a, exponent_b) {
            (None, None) => Ordering::Equal,
            (None, Some(e)) => compare_exponent_with_one(e).reverse(),
            (Some(e), None) => compare_exponent_with_one(e),
            (Some(e), Some(f)) => f.cmp(e),
        })
}

/// Higher exponents stand first, hence the reversed sense; symbolic exponents stand before 1.
fn compare_exponent_with_one(exponent: &Expr) -> Ordering {
    match exponent.as_number() {
        Some(value) => Rational::from_integer(1.into()).cmp(value),
        None => Ordering::Less,
    }
}

/// What decides first about a term's position.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct TermKey {
    class: u8,
    derivatives: Reverse<u32>,
    degree_in_unknowns: Reverse<i64>,
    degree_in_variable: Reverse<i64>,
}

/// The key of a term given by its factors without the number.
pub(super) fn term_key(term: &[Expr]) -> TermKey {
    let mut derivatives = 0;
    let mut variable = false;
    let (mut degree_in_unknowns, mut degree_in_variable) = (0_i64, 0_i64);
    for factor in term {
        let facts = factor.facts();
        derivatives = derivatives.max(facts.derivatives);
        variable |= facts.variable;
        let (base, exponent) = base_and_exponent(factor);
        let degree = || match exponent {
            None => 1,
            // Halves and thirds only decide positions: whole numbers are fine enough.
            Some(e) => e
                .as_number()
                .and_then(|value| value.to_integer().to_i64())
                .unwrap_or(0),
        };
        match base.node() {
            Node::Symbol(Symbol::Variable) => {
                degree_in_variable = degree_in_variable.saturating_add(degree());
            }
            Node::Symbol(Symbol::Derivative { .. }) => {
                degree_in_unknowns = degree_in_unknowns.saturating_add(degree());
            }
            _ => {}
        }
    }
    TermKey {
        class: match (derivatives > 0, variable) {
            (false, true) => 0,
            (true, _) => 1,
            (false, false) => 2,
        },
        derivatives: Reverse(derivatives),
        degree_in_unknowns: Reverse(degree_in_unknowns),
        degree_in_variable: Reverse(degree_in_variable),
    }
}

/// Position of two terms with equal keys, given by their factors without the number. `Equal` only
/// for equal lists. A pure number (no factors) comes after everything.
pub(super) fn terms(a: &[Expr], b: &[Expr]) -> Ordering {
    for (left, right) in a.iter().zip(b) {
        let order = factors(left, right);
        if order.is_ne() {
            return order;
        }
    }
    b.len().cmp(&a.len())
}
