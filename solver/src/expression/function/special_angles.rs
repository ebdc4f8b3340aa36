//! Sines and tangents of the angles with short closed forms, and back.
//!
//! Values: DLMF Table 4.17.1 (<https://dlmf.nist.gov/4.17>) for multiples of π/12; the multiples
//! of π/10 with square roots of rationals from 4 sin(π/10) = √5 − 1 (Abramowitz & Stegun 4.3.46 has
//! both tables; from memory).

use num_traits::{One, Signed, ToPrimitive, Zero};

use crate::expression::Function;
use crate::expression::tree::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};

/// Splits r π + rest.
pub(super) fn split_pi(u: &Expr) -> (Rational, Expr) {
    let mut multiple = Rational::zero();
    let mut rest = Vec::new();
    for term in u.terms() {
        let (coefficient, other) = term.split_coefficient();
        if matches!(other.node(), Node::Symbol(Symbol::Pi)) {
            multiple += coefficient;
        } else {
            rest.push(term);
        }
    }
    (multiple, Expr::sum(rest))
}

/// (√a + s √b) / d as an expression.
fn roots(a: i64, s: i64, b: i64, d: i64) -> Expr {
    Expr::int(a)
        .sqrt()
        .add(&Expr::int(b).sqrt().scale(&integer(s)))
        .scale(&ratio(1, d))
}

/// Angles between 0 and π/2 as fractions of π, with their sines.
pub(super) fn sines() -> Vec<(Rational, Expr)> {
    vec![
        (ratio(0, 1), Expr::zero()),
        (ratio(1, 12), roots(6, -1, 2, 4)),
        (ratio(1, 10), roots(5, -1, 1, 4)),
        (ratio(1, 6), roots(0, 1, 1, 2)),
        (ratio(1, 4), roots(0, 1, 2, 2)),
        (ratio(3, 10), roots(5, 1, 1, 4)),
        (ratio(1, 3), roots(0, 1, 3, 2)),
        (ratio(5, 12), roots(6, 1, 2, 4)),
        (ratio(1, 2), Expr::one()),
    ]
}

/// Angles from 0 to below π/2 as fractions of π, with their tangents.
pub(super) fn tangents() -> Vec<(Rational, Expr)> {
    vec![
        (ratio(0, 1), Expr::zero()),
        (ratio(1, 12), roots(4, -1, 3, 1)),
        (ratio(1, 6), roots(0, 1, 3, 3)),
        (ratio(1, 4), Expr::one()),
        (ratio(1, 3), roots(0, 1, 3, 1)),
        (ratio(5, 12), roots(4, 1, 3, 1)),
    ]
}

/// sin(fπ), 0 ≤ f ≤ 1/2; without a short form the smaller of the two angles names it.
fn first_quadrant(f: &Rational) -> Expr {
    if let Some((_, value)) = sines().into_iter().find(|(angle, _)| angle == f) {
        return value;
    }
    let complement = ratio(1, 2) - f;
    if *f <= complement {
        Expr::raw_call(Function::Sin, Expr::pi().scale(f))
    } else {
        Expr::raw_call(Function::Cos, Expr::pi().scale(&complement))
    }
}

/// Number of quarter turns modulo 4, and what is left, from 0 to below 1/2 (in units of π).
fn quarter_turns(multiple: &Rational) -> (u8, Rational) {
    let quarters = (multiple * integer(2)).floor();
    let rest = multiple - &quarters / integer(2);
    let four = integer(4);
    let turns = &quarters - (&quarters / &four).floor() * four;
    (turns.numer().to_u8().unwrap_or(0), rest)
}

/// sin(multiple·π)
pub(super) fn sine(multiple: &Rational) -> Expr {
    let (turns, f) = quarter_turns(multiple);
    let complement = ratio(1, 2) - &f;
    match turns {
        0 => first_quadrant(&f),
        1 => first_quadrant(&complement),
        2 => first_quadrant(&f).neg(),
        _ => first_quadrant(&complement).neg(),
    }
}

/// sin(multiple·π + rest) when `multiple` counts whole quarter turns: the sine or cosine of `rest`
/// and whether its sign changes.
pub(super) fn shifted(multiple: &Rational) -> Option<(Function, bool)> {
    let (turns, f) = quarter_turns(multiple);
    f.is_zero().then_some(match turns {
        0 => (Function::Sin, false),
        1 => (Function::Cos, false),
        2 => (Function::Sin, true),
        _ => (Function::Cos, true),
    })
}

/// tan(multiple·π), if it has a short form (and is not a pole).
pub(super) fn tangent(multiple: &Rational) -> Option<Expr> {
    let reduced = half_turn(multiple);
    let size = reduced.abs();
    let (_, value) = tangents().into_iter().find(|(angle, _)| *angle == size)?;
    Some(if reduced.is_negative() {
        value.neg()
    } else {
        value
    })
}

/// The multiple of π moved by half turns to −1/2 < … ≤ 1/2.
pub(super) fn half_turn(multiple: &Rational) -> Rational {
    let reduced = multiple - multiple.floor();
    if reduced > ratio(1, 2) {
        reduced - Rational::one()
    } else {
        reduced
    }
}
