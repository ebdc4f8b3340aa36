//! Powers of constant sums.
//!
//! * 1/(a + b) = (a − b)/(a² − b²) where a² and b² are rational: the one rule by which denominators
//!   are made rational.
//! * √(a + b) = √((a + d)/2) ± √((a − d)/2) where a, b² and d = √(a² − b²) are rational (the sign is
//!   that of b; Euclid X, prop. 54 in today's notation; common knowledge).
//! * Otherwise what is common to all terms comes out as far as it is a perfect power, and a negative
//!   base of an integer power is turned round, so that equal powers have equal forms.

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_traits::{One, Signed, Zero};

use super::radical::number_power;
use super::sign::sign;
use super::tree::{Expr, Node};
use crate::number::Rational;
use crate::number::gcd::{gcd, lcm};
use crate::number::rational::ratio;

/// base^exponent for constants, base > 0 unless the exponent is an integer.
pub(super) fn power(base: &Expr, exponent: &Rational) -> Expr {
    let plain = || Expr::power(base.clone(), Expr::number(exponent.clone()));
    let Node::Sum(terms) = base.node() else {
        return plain();
    };
    if exponent.is_integer() {
        if exponent.is_positive() {
            return plain();
        }
        if let Some(inverse) = rationalized_inverse(terms) {
            return Expr::power(inverse, Expr::number(-exponent));
        }
    } else if *exponent.denom() == 2.into()
        && let Some(root) = without_nesting(terms)
    {
        return super::constant::evaluate(&Expr::raw_power(
            root,
            Expr::number(exponent * ratio(2, 1)),
        ))
        .unwrap_or_else(|_| plain());
    }
    let content = content(terms);
    let index = Rational::from_integer(exponent.denom().clone());
    let (mut outside, _) = number_power(&content, &index.recip()).split_coefficient();
    if exponent.is_integer() && sign(base) == Some(Ordering::Less) {
        outside = -outside;
    }
    if outside.is_one() {
        return plain();
    }
    let taken = number_power(&outside, &index);
    Expr::product(vec![
        number_power(&outside, &Rational::from_integer(exponent.numer().clone())),
        Expr::power(base.div(&taken), Expr::number(exponent.clone())),
    ])
}

/// The two terms of which each has a rational square, with the squares.
fn two_roots(terms: &[Expr]) -> Option<(&Expr, Rational, &Expr, Rational)> {
    let [a, b] = terms else {
        return None;
    };
    Some((
        a,
        a.square().as_number()?.clone(),
        b,
        b.square().as_number()?.clone(),
    ))
}

fn rationalized_inverse(terms: &[Expr]) -> Option<Expr> {
    let (a, square_a, b, square_b) = two_roots(terms)?;
    let below = square_a - square_b;
    (!below.is_zero()).then(|| a.sub(b).scale(&below.recip()))
}

fn without_nesting(terms: &[Expr]) -> Option<Expr> {
    let (first, _, second, _) = two_roots(terms)?;
    let (a, root) = match (first.as_number(), second.as_number()) {
        (Some(a), None) => (a, second),
        (None, Some(a)) => (a, first),
        _ => return None,
    };
    let below = a * a - root.square().as_number()?;
    if below.is_negative() {
        return None;
    }
    let difference = Expr::number(below).sqrt().as_number()?.clone();
    let half = ratio(1, 2);
    let larger = Expr::number((a + &difference) * &half).sqrt();
    let smaller = Expr::number((a - &difference) * &half).sqrt();
    Some(match sign(root)? {
        Ordering::Less => larger.sub(&smaller),
        Ordering::Equal | Ordering::Greater => larger.add(&smaller),
    })
}

/// The greatest positive fraction of which every coefficient is an integer multiple.
fn content(terms: &[Expr]) -> Rational {
    let (mut above, mut below) = (BigInt::zero(), BigInt::one());
    for term in terms {
        let (coefficient, _) = term.split_coefficient();
        above = gcd(&above, coefficient.numer());
        below = lcm(&below, coefficient.denom());
    }
    if above.is_zero() {
        return Rational::one();
    }
    Rational::new(above, below)
}
