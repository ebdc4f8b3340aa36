//! Arctangents of fractions, written with those of a basis.
//!
//! arctan(a/b) is the argument of the Gaussian integer b + ai, and arguments of products add up. So
//! it is a sum of integer multiples of the angles of Gaussian primes u + vi, u > v > 0, one for each
//! prime p = u² + v², and of π/4. These angles and π are linearly independent over the fractions,
//! because factorization is unique: two sums are equal only if they are written alike (J. Todd, "A
//! problem on arc tangent relations", Amer. Math. Monthly 56 (1949) 517–528; from memory).

use std::f64::consts::{FRAC_PI_2, FRAC_PI_4};

use num_traits::{ToPrimitive, Zero};

use super::function::Function;
use super::radical::factor;
use super::tree::{Expr, Node};
use crate::number::Rational;
use crate::number::convert::to_f64;
use crate::number::rational::{integer, ratio};

/// Larger primes (no factor was looked for beyond their root) are not split.
const LARGEST: u64 = 1 << 24;

/// arctan of a fraction in the basis; `None` where a² + b² could not be factored.
pub(super) fn arctan_of_primes(value: &Rational) -> Option<Expr> {
    let (a, b) = (value.numer(), value.denom());
    // What is left is a multiple of π/2, so that roughly is enough to know which.
    let mut left = libm::atan(to_f64(value));
    let mut quarters = 0;
    let mut terms = Vec::new();
    for (prime, times) in factor(&(a * a + b * b)) {
        let p = prime.to_u64().filter(|p| *p < LARGEST)?;
        if p == 2 {
            // 1 + i, once: a and b have no common factor.
            left -= FRAC_PI_4;
            quarters += 1;
            continue;
        }
        let (u, v) = two_squares(p)?;
        // u + vi divides b + ai where p divides both parts of (b + ai)(u − vi); else u − vi does.
        let divides = ((a * u - b * v) % &prime).is_zero();
        let times = if divides { times } else { -times };
        let tangent = ratio(v, u);
        left -= times.to_f64()? * libm::atan(to_f64(&tangent));
        let angle = Expr::raw_call(Function::Arctan, Expr::number(tangent));
        terms.push(angle.scale(&integer(times)));
    }
    quarters += 2 * libm::round(left / FRAC_PI_2).to_i64()?;
    terms.push(Expr::pi().scale(&ratio(quarters, 4)));
    Some(Expr::sum(terms))
}

/// A sum whose arctangents of fractions cancel, or leave a multiple of π (arctan 7 + arctan(1/7) = π/2),
/// written with that; `None` for all others.
pub(super) fn without_arctangents(sum: &Expr) -> Option<Expr> {
    let Node::Sum(terms) = sum.node() else {
        return None;
    };
    let is_angle = |e: &Expr| matches!(e.node(), Node::Call(Function::Arctan, _));
    let has_angle = |term: &&Expr| match term.node() {
        Node::Product(factors) => factors.iter().any(is_angle),
        _ => is_angle(term),
    };
    if terms.iter().filter(has_angle).take(2).count() < 2 {
        return None;
    }
    let mut angles = Vec::new();
    let mut others = Vec::new();
    for term in terms {
        let (times, core) = term.split_coefficient();
        match core.node() {
            Node::Call(Function::Arctan, tangent) if tangent.as_number().is_some() => {
                angles.push(arctan_of_primes(tangent.as_number()?)?.scale(&times));
            }
            _ => others.push(term.clone()),
        }
    }
    if angles.len() < 2 {
        return None;
    }
    let angle = Expr::sum(angles);
    let (_, core) = angle.split_coefficient();
    (angle.is_zero() || core == Expr::pi()).then(|| {
        others.push(angle);
        Expr::sum(others)
    })
}

/// u > v > 0 with u² + v² = p, for a prime p = 4n + 1 (Fermat).
fn two_squares(p: u64) -> Option<(i64, i64)> {
    let v = (1..p).take_while(|v| 2 * v * v < p).find(|v| {
        let u = (p - v * v).isqrt();
        u * u + v * v == p
    })?;
    Some(((p - v * v).isqrt().to_i64()?, v.to_i64()?))
}
