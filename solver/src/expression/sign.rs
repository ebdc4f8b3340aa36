//! The sign of a closed constant.

use std::cmp::Ordering;

use num_traits::{Signed, Zero};

use super::enclosure::sign_by_enclosure;
use super::function::Function;
use super::tree::{Expr, Node, Symbol};
use super::zero_test::{Truth, zero_test_evaluated};
use crate::number::Rational;
use crate::number::rational::is_even;

/// Highest precision tried, in bits.
const MAX_BITS: usize = 1024;

/// The sign of a closed constant as given by [`super::evaluate`]; `None` when it cannot be decided
/// or the constant has no value.
pub fn sign(value: &Expr) -> Option<Ordering> {
    if let Some(number) = value.as_number() {
        return Some(number.cmp(&Rational::zero()));
    }
    if is_plainly_positive(value) {
        return Some(Ordering::Greater);
    }
    if value.has_parameter() {
        return is_plainly_positive(&value.neg()).then_some(Ordering::Less);
    }
    sign_by_enclosure(value, MAX_BITS)
        .or_else(|| (zero_test_evaluated(value) == Truth::Zero).then_some(Ordering::Equal))
}

/// Positive by its form alone.
fn is_plainly_positive(value: &Expr) -> bool {
    at_least_zero(value) == Some(true)
}

/// Not negative by its form alone; `true` when it is positive. (One pass: what is nested is not
/// looked at twice.)
fn at_least_zero(value: &Expr) -> Option<bool> {
    let even = |exponent: &Expr| {
        exponent
            .as_number()
            .is_some_and(|e| e.is_integer() && is_even(e.numer()))
    };
    match value.node() {
        Node::Number(number) => (!number.is_negative()).then(|| number.is_positive()),
        Node::Symbol(Symbol::Root(root)) => root.between_ends().0.is_positive().then_some(true),
        Node::Symbol(symbol) => (*symbol == Symbol::Pi).then_some(true),
        Node::Call(function, _) => (*function == Function::Exp).then_some(true),
        Node::Power(base, exponent) => match at_least_zero(base) {
            Some(true) => Some(true),
            Some(false) | None => even(exponent).then_some(false),
        },
        Node::Product(parts) => {
            let mut positive = true;
            for part in parts {
                positive &= at_least_zero(part)?;
            }
            Some(positive)
        }
        Node::Sum(parts) => {
            let mut positive = false;
            for part in parts {
                positive |= at_least_zero(part)?;
            }
            Some(positive)
        }
    }
}
