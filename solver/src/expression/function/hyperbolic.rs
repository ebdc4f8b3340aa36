//! sinh, cosh, tanh, coth, sech, csch.
//!
//! Derivatives: DLMF 4.34.1–4.34.6 (<https://dlmf.nist.gov/4.34>).

use super::{
    Definition, Domain, Function, Parity, SignOf, argument_of, at_zero, call, inverse, root,
};
use crate::expression::tree::Expr;
use crate::number::rational::ratio;

pub(super) const SINH: Definition = Definition {
    name: "sinh",
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Cosh, u),
    fold: |u| at_zero(u, 0).or_else(|| argument_of(u, Function::Arsinh).cloned()),
    special: |u, sign| special(Function::Sinh, u, sign),
};

pub(super) const COSH: Definition = Definition {
    name: "cosh",
    parity: Parity::Even,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sinh, u),
    fold: |u| at_zero(u, 1),
    special: |u, sign| special(Function::Cosh, u, sign),
};

pub(super) const TANH: Definition = Definition {
    name: "tanh",
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sech, u).square(),
    fold: |u| at_zero(u, 0),
    special: |u, sign| special(Function::Tanh, u, sign),
};

pub(super) const COTH: Definition = Definition {
    name: "coth",
    parity: Parity::Odd,
    domain: Domain::NotZero,
    derivative: |u| call(Function::Csch, u).square().neg(),
    fold: |_| None,
    special: |u, sign| special(Function::Coth, u, sign),
};

pub(super) const SECH: Definition = Definition {
    name: "sech",
    parity: Parity::Even,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sech, u).mul(&call(Function::Tanh, u)).neg(),
    fold: |u| at_zero(u, 1),
    special: |u, sign| special(Function::Sech, u, sign),
};

pub(super) const CSCH: Definition = Definition {
    name: "csch",
    parity: Parity::Odd,
    domain: Domain::NotZero,
    derivative: |u| call(Function::Csch, u).mul(&call(Function::Coth, u)).neg(),
    fold: |_| None,
    special: |u, sign| special(Function::Csch, u, sign),
};

/// Values at multiples of logarithms (through exp) and at inverse hyperbolic functions.
fn special(function: Function, u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    if function == Function::Tanh
        && let Some(v) = argument_of(u, Function::Artanh)
    {
        return Some(v.clone());
    }
    let (sinh, cosh) = sinh_and_cosh(u, sign)?;
    match function {
        Function::Sinh => Some(sinh),
        Function::Cosh => Some(cosh),
        Function::Tanh => Some(sinh.mul(&inverse(&cosh)?)),
        Function::Coth => Some(cosh.mul(&inverse(&sinh)?)),
        Function::Sech => inverse(&cosh),
        Function::Csch => inverse(&sinh),
        _ => None,
    }
}

fn sinh_and_cosh(u: &Expr, sign: SignOf<'_>) -> Option<(Expr, Expr)> {
    if let Some(v) = argument_of(u, Function::Arsinh) {
        return Some((v.clone(), root(1, 1, v)));
    }
    if let Some(v) = argument_of(u, Function::Arcosh) {
        return Some((root(-1, 1, v), v.clone()));
    }
    if let Some(v) = argument_of(u, Function::Artanh) {
        let cosh = inverse(&root(1, -1, v))?;
        return Some((v.mul(&cosh), cosh));
    }
    let exp = Function::Exp.value(u, sign);
    if super::has_calls(&exp) || u.is_zero() {
        return None;
    }
    let inverse = inverse(&exp)?;
    let half = ratio(1, 2);
    Some((
        exp.sub(&inverse).scale(&half),
        exp.add(&inverse).scale(&half),
    ))
}
