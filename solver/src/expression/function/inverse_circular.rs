//! arcsin, arccos, arctan, arccot.
//!
//! Derivatives: DLMF 4.24.7–4.24.9 and 4.24.12 (<https://dlmf.nist.gov/4.24>).

use std::cmp::Ordering;

use super::special_angles::{sines, tangents};
use super::{Definition, Domain, Function, Parity, SignOf, at_zero, has_calls};
use crate::expression::tree::Expr;
use crate::number::Rational;
use crate::number::rational::ratio;

pub(super) const ARCSIN: Definition = Definition {
    name: "arcsin",
    parity: Parity::Odd,
    domain: Domain::UnitInterval,
    derivative: reciprocal_root,
    fold: |u| at_zero(u, 0).or_else(|| u.is_one().then(half_pi)),
    special: special_arcsin,
};

pub(super) const ARCCOS: Definition = Definition {
    name: "arccos",
    parity: Parity::Neither,
    domain: Domain::UnitInterval,
    derivative: |u| reciprocal_root(u).neg(),
    fold: |u| {
        if u.is_zero() {
            Some(half_pi())
        } else {
            u.is_one().then(Expr::zero)
        }
    },
    special: special_arccos,
};

pub(super) const ARCTAN: Definition = Definition {
    name: "arctan",
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| one_plus_square(u).pow_int(-1),
    fold: |u| at_zero(u, 0).or_else(|| u.is_one().then(|| half_pi().scale(&ratio(1, 2)))),
    special: special_arctan,
};

/// The branch with values between 0 and π: π/2 − arctan u, analytic for every real u (common in
/// calculus textbooks; DLMF 4.23.9 has arctan(1/u), which jumps at 0).
pub(super) const ARCCOT: Definition = Definition {
    name: "arccot",
    parity: Parity::Neither,
    domain: Domain::Everywhere,
    derivative: |u| one_plus_square(u).pow_int(-1).neg(),
    fold: |u| u.is_zero().then(half_pi),
    special: special_arccot,
};

fn half_pi() -> Expr {
    Expr::pi().scale(&ratio(1, 2))
}

fn one_plus_square(u: &Expr) -> Expr {
    Expr::one().add(&u.square())
}

/// 1/√(1 − u²)
fn reciprocal_root(u: &Expr) -> Expr {
    let below = Expr::one().sub(&u.square());
    Expr::power(below, Expr::number(ratio(-1, 2)))
}

/// The angle between 0 and π/2 that the table has for the value.
fn angle(table: Vec<(Rational, Expr)>, value: &Expr) -> Option<Expr> {
    let (multiple, _) = table.into_iter().find(|(_, listed)| listed == value)?;
    Some(Expr::pi().scale(&multiple))
}

fn special_arcsin(u: &Expr, _: SignOf<'_>) -> Option<Expr> {
    angle(sines(), u).or_else(|| Some(angle(sines(), &u.neg())?.neg()))
}

/// arccos u = π/2 − arcsin u; arccos(−u) = π − arccos u.
fn special_arccos(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    if let Some(angle) = special_arcsin(u, sign) {
        return Some(half_pi().sub(&angle));
    }
    (sign(u) == Some(Ordering::Less))
        .then(|| Expr::pi().sub(&Expr::raw_call(Function::Arccos, u.neg())))
}

fn special_arctan(u: &Expr, _: SignOf<'_>) -> Option<Expr> {
    angle(tangents(), u).or_else(|| Some(angle(tangents(), &u.neg())?.neg()))
}

/// arccot u = π/2 − arctan u; arccot(−u) = π − arccot u.
fn special_arccot(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    if let Some(angle) = special_arctan(u, sign).filter(|angle| !has_calls(angle)) {
        return Some(half_pi().sub(&angle));
    }
    (sign(u) == Some(Ordering::Less))
        .then(|| Expr::pi().sub(&Expr::raw_call(Function::Arccot, u.neg())))
}
