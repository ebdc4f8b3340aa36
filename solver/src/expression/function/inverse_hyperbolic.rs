//! arsinh, arcosh, artanh (names of ISO 80000-2).
//!
//! Derivatives: DLMF 4.38.9–4.38.11 (<https://dlmf.nist.gov/4.38>).

use super::{Definition, Domain, Parity, at_zero};
use crate::expression::tree::Expr;
use crate::number::rational::ratio;

pub(super) const ARSINH: Definition = Definition {
    name: "arsinh",
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| reciprocal_root(u.square().add(&Expr::one())),
    fold: |u| at_zero(u, 0),
    special: |_, _| None,
};

pub(super) const ARCOSH: Definition = Definition {
    name: "arcosh",
    parity: Parity::Neither,
    domain: Domain::FromOne,
    derivative: |u| reciprocal_root(u.square().sub(&Expr::one())),
    fold: |u| u.is_one().then(Expr::zero),
    special: |_, _| None,
};

pub(super) const ARTANH: Definition = Definition {
    name: "artanh",
    parity: Parity::Odd,
    domain: Domain::InsideUnitInterval,
    derivative: |u| Expr::one().sub(&u.square()).pow_int(-1),
    fold: |u| at_zero(u, 0),
    special: |_, _| None,
};

fn reciprocal_root(below: Expr) -> Expr {
    Expr::power(below, Expr::number(ratio(-1, 2)))
}
