//! |u|, and the sign that is its derivative.

use num_traits::{One, Signed, Zero};

use std::cmp::Ordering;

use super::{Definition, Domain, Function, Parity, SignOf};
use crate::expression::power::surely_positive;
use crate::expression::tree::{Expr, Node};
use crate::number::rational::is_even;

pub(super) const ABS: Definition = Definition {
    name: "abs",
    parity: Parity::Even,
    domain: Domain::Kink,
    derivative: |u| Function::Sign.apply(u),
    fold: fold_abs,
    special: special_abs,
};

/// Constant on either side of 0, so its derivative is 0 wherever it has one.
pub(super) const SIGN: Definition = Definition {
    name: "sign",
    parity: Parity::Odd,
    domain: Domain::Kink,
    derivative: |_| Expr::zero(),
    fold: fold_sign,
    special: special_sign,
};

/// Numbers; |u| = u for what is surely not negative; |c u| = |c| |u| for a number c.
fn fold_abs(u: &Expr) -> Option<Expr> {
    if let Some(value) = u.as_number() {
        return Some(Expr::number(value.abs()));
    }
    if surely_positive(u) || is_even_power(u) {
        return Some(u.clone());
    }
    let (coefficient, rest) = u.split_coefficient();
    (!coefficient.is_one()).then(|| Function::Abs.apply(&rest).scale(&coefficient.abs()))
}

/// u^(2n)
fn is_even_power(u: &Expr) -> bool {
    match u.node() {
        Node::Power(_, exponent) => exponent
            .as_number()
            .is_some_and(|e| e.is_integer() && is_even(e.numer())),
        _ => false,
    }
}

/// Numbers; 1 for what is surely positive; sign(c u) = ± sign(u) for a number c.
fn fold_sign(u: &Expr) -> Option<Expr> {
    if let Some(value) = u.as_number() {
        return Some(Expr::int(if value.is_zero() {
            0
        } else if value.is_positive() {
            1
        } else {
            -1
        }));
    }
    if surely_positive(u) {
        return Some(Expr::one());
    }
    let (coefficient, rest) = u.split_coefficient();
    (!coefficient.is_one()).then(|| {
        let sign = Function::Sign.apply(&rest);
        if coefficient.is_negative() {
            sign.neg()
        } else {
            sign
        }
    })
}

/// |u| = u or −u, by the sign of u.
fn special_abs(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    Some(match sign(u)? {
        Ordering::Less => u.neg(),
        Ordering::Equal => Expr::zero(),
        Ordering::Greater => u.clone(),
    })
}

fn special_sign(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    Some(Expr::int(match sign(u)? {
        Ordering::Less => -1,
        Ordering::Equal => 0,
        Ordering::Greater => 1,
    }))
}
