//! sin, cos, tan, cot, sec, csc.
//!
//! Derivatives: DLMF 4.20.1–4.20.6 (<https://dlmf.nist.gov/4.20>).

use num_traits::Zero;

use super::special_angles::{half_turn, shifted, sine, split_pi, tangent};
use super::{
    Definition, Domain, Function, Parity, SignOf, argument_of, at_zero, call, has_calls, inverse,
    root,
};
use crate::expression::tree::Expr;
use crate::number::Rational;
use crate::number::rational::ratio;

pub(super) const SIN: Definition = Definition {
    name: "sin",
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Cos, u),
    fold: |u| at_zero(u, 0),
    special: special_sin,
};

pub(super) const COS: Definition = Definition {
    name: "cos",
    parity: Parity::Even,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sin, u).neg(),
    fold: |u| at_zero(u, 1),
    special: special_cos,
};

pub(super) const TAN: Definition = Definition {
    name: "tan",
    parity: Parity::Odd,
    domain: Domain::CosineNotZero,
    derivative: |u| call(Function::Sec, u).square(),
    fold: |u| at_zero(u, 0).or_else(|| argument_of(u, Function::Arctan).cloned()),
    special: special_tan,
};

pub(super) const COT: Definition = Definition {
    name: "cot",
    parity: Parity::Odd,
    domain: Domain::SineNotZero,
    derivative: |u| call(Function::Csc, u).square().neg(),
    fold: |u| argument_of(u, Function::Arccot).cloned(),
    special: special_cot,
};

pub(super) const SEC: Definition = Definition {
    name: "sec",
    parity: Parity::Even,
    domain: Domain::CosineNotZero,
    derivative: |u| call(Function::Sec, u).mul(&call(Function::Tan, u)),
    fold: |u| at_zero(u, 1),
    special: special_sec,
};

pub(super) const CSC: Definition = Definition {
    name: "csc",
    parity: Parity::Odd,
    domain: Domain::SineNotZero,
    derivative: |u| call(Function::Csc, u).mul(&call(Function::Cot, u)).neg(),
    fold: |_| None,
    special: special_csc,
};

fn special_sin(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    of_angle(&split_pi(u), sign).or_else(|| {
        if let Some(v) = argument_of(u, Function::Arcsin) {
            Some(v.clone())
        } else if let Some(v) = argument_of(u, Function::Arccos) {
            Some(root(1, -1, v))
        } else if let Some(v) = argument_of(u, Function::Arctan) {
            Some(v.mul(&inverse(&root(1, 1, v))?))
        } else {
            let v = argument_of(u, Function::Arccot)?;
            inverse(&root(1, 1, v))
        }
    })
}

fn special_cos(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    let (multiple, rest) = split_pi(u);
    if multiple.is_zero() && !rest.is_zero() {
        return if let Some(v) = argument_of(u, Function::Arccos) {
            Some(v.clone())
        } else if let Some(v) = argument_of(u, Function::Arcsin) {
            Some(root(1, -1, v))
        } else if let Some(v) = argument_of(u, Function::Arctan) {
            inverse(&root(1, 1, v))
        } else {
            let v = argument_of(u, Function::Arccot)?;
            Some(v.mul(&inverse(&root(1, 1, v))?))
        };
    }
    of_angle(&(multiple + ratio(1, 2), rest), sign)
}

/// The sine of multiple·π + rest, if there is something to do.
fn of_angle((multiple, rest): &(Rational, Expr), sign: SignOf<'_>) -> Option<Expr> {
    if rest.is_zero() {
        return Some(sine(multiple));
    }
    if multiple.is_zero() {
        return None;
    }
    let (function, negative) = shifted(multiple)?;
    let value = function.value(rest, sign);
    Some(if negative { value.neg() } else { value })
}

fn special_tan(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    let (multiple, rest) = split_pi(u);
    if rest.is_zero() {
        return tangent(&multiple).or_else(|| reduced(Function::Tan, &multiple));
    }
    if !multiple.is_zero() && multiple.is_integer() {
        return Some(Function::Tan.value(&rest, sign));
    }
    if !multiple.is_zero() && (&multiple + &multiple).is_integer() {
        return Some(Function::Cot.value(&rest, sign).neg());
    }
    if let Some(v) = argument_of(u, Function::Arcsin) {
        Some(v.mul(&inverse(&root(1, -1, v))?))
    } else if let Some(v) = argument_of(u, Function::Arccos) {
        Some(root(1, -1, v).mul(&inverse(v)?))
    } else {
        inverse(argument_of(u, Function::Arccot)?)
    }
}

fn special_cot(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    let (multiple, rest) = split_pi(u);
    if rest.is_zero() {
        return tangent(&(ratio(1, 2) - &multiple)).or_else(|| reduced(Function::Cot, &multiple));
    }
    if !multiple.is_zero() && multiple.is_integer() {
        return Some(Function::Cot.value(&rest, sign));
    }
    if !multiple.is_zero() && (&multiple + &multiple).is_integer() {
        return Some(Function::Tan.value(&rest, sign).neg());
    }
    inverse(argument_of(u, Function::Arctan)?)
}

/// tan or cot of an angle without a short form, moved by half turns into the first quadrant.
fn reduced(function: Function, multiple: &Rational) -> Option<Expr> {
    let angle = half_turn(multiple);
    (angle != *multiple).then(|| function.apply(&Expr::pi().scale(&angle)))
}

fn special_sec(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    short_inverse(&special_cos(u, sign)?, Function::Cos, Function::Sec)
}

fn special_csc(u: &Expr, sign: SignOf<'_>) -> Option<Expr> {
    short_inverse(&special_sin(u, sign)?, Function::Sin, Function::Csc)
}

/// 1/value; when the value is ± cos v (or sin v), ± sec v (or csc v).
fn short_inverse(value: &Expr, below: Function, name: Function) -> Option<Expr> {
    if !has_calls(value) {
        return inverse(value);
    }
    let (coefficient, rest) = value.split_coefficient();
    let other = match below {
        Function::Cos => (Function::Sin, Function::Csc),
        _ => (Function::Cos, Function::Sec),
    };
    let inverted = match argument_of(&rest, below) {
        Some(v) => Expr::raw_call(name, v.clone()),
        None => Expr::raw_call(other.1, argument_of(&rest, other.0)?.clone()),
    };
    Some(inverted.scale(&coefficient.recip()))
}
