//! The sign of a closed constant.

use std::cmp::Ordering;

use num_traits::Zero;

use super::enclosure::sign_by_enclosure;
use super::function::Function;
use super::tree::{Expr, Node, Symbol};
use super::zero_test::{Truth, zero_test_evaluated};
use crate::number::Rational;

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
        return None;
    }
    sign_by_enclosure(value, MAX_BITS)
        .or_else(|| (zero_test_evaluated(value) == Truth::Zero).then_some(Ordering::Equal))
}

/// Positive by its form alone.
fn is_plainly_positive(value: &Expr) -> bool {
    match value.node() {
        Node::Number(number) => *number > Zero::zero(),
        Node::Symbol(symbol) => *symbol == Symbol::Pi,
        Node::Call(function, _) => *function == Function::Exp,
        Node::Power(base, _) => is_plainly_positive(base),
        Node::Product(parts) | Node::Sum(parts) => parts.iter().all(is_plainly_positive),
    }
}
