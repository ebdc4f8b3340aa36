//! The order in which a reader meets factors and terms.
//!
//! Factors: numbers and their roots, π, parameters, other constants, the variable, bracketed sums in
//! the variable alone, y, y′, y″, … (a bracketed sum with unknowns stands in front of the derivatives
//! that are higher than its own: (1 − y²) y′), functions; whatever has a negative exponent comes
//! last. Terms: those in the variable alone, then those with unknowns (highest derivative first),
//! then constants; inside each by falling degree; turned round where [`constant_first`] says so.
//! Common practice in textbooks, not a standard.

use std::cmp::{Ordering, Reverse};

use num_traits::{Signed, ToPrimitive};

use super::function::Function;
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

/// Ranks of what has no derivative in it, of derivatives (two for each order), and of the rest.
const RANK_VARIABLE: u64 = 5;
const RANK_DERIVATIVES: u64 = 8;
const RANK_FUNCTION: u64 = 1 << 40;
const RANK_DIVISOR: u64 = 1 << 41;

fn rank(base: &Expr, exponent: Option<&Expr>) -> u64 {
    let constant = base.is_constant() && exponent.is_none_or(Expr::is_constant);
    let rank = match base.node() {
        Node::Number(_) if constant => 0,
        Node::Symbol(Symbol::Pi) if constant => 1,
        Node::Symbol(Symbol::Parameter(_) | Symbol::Root(_)) if constant => 2,
        Node::Call(..) if constant => 3,
        Node::Power(..) | Node::Product(_) | Node::Sum(_) if constant => 4,
        Node::Symbol(Symbol::Variable) => RANK_VARIABLE,
        // `derivatives` is the highest order plus one, 0 without unknowns.
        Node::Sum(_) => RANK_DERIVATIVES + 2 * u64::from(base.facts().derivatives) - 1,
        Node::Symbol(Symbol::Derivative { order, .. }) => RANK_DERIVATIVES + 2 * u64::from(*order),
        Node::Call(..) => RANK_FUNCTION,
        // 2^x, π^x, …
        Node::Number(_) | Node::Symbol(_) | Node::Power(..) | Node::Product(_) => RANK_FUNCTION + 1,
    };
    match exponent.and_then(Expr::as_number) {
        Some(value) if value.is_negative() => rank + RANK_DIVISOR,
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
        .then_with(|| exponentials(base_a, base_b))
        .then_with(|| base_a.cmp(base_b))
        .then_with(|| match (exponent_a, exponent_b) {
            (None, None) => Ordering::Equal,
            (None, Some(e)) => compare_exponent_with_one(e).reverse(),
            (Some(e), None) => compare_exponent_with_one(e),
            (Some(e), Some(f)) => f.cmp(e),
        })
}

/// e² stands before e, as x² before x.
fn exponentials(a: &Expr, b: &Expr) -> Ordering {
    match (a.node(), b.node()) {
        (Node::Call(Function::Exp, a), Node::Call(Function::Exp, b)) => a
            .as_number()
            .zip(b.as_number())
            .map_or(Ordering::Equal, |(a, b)| b.cmp(a)),
        _ => Ordering::Equal,
    }
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

/// Is a sum, given by the first and the last of its terms in falling order, read with its constant
/// in front? That is so for a positive constant beside terms of one kind: 4 + x², 1 + (y′)²; but
/// x² − 1/4, and x + y + 1.
pub(super) fn constant_first(first: &Expr, next_to_last: &Expr, last: &Expr) -> bool {
    last.as_number().is_some_and(Signed::is_positive)
        && !first.is_constant()
        && !next_to_last.is_constant()
        && first.facts().derivatives == next_to_last.facts().derivatives
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
