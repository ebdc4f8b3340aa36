//! Proof that a solution grows without bound, and where, by comparison with powers.
//!
//! Let z = |y| be followed in the direction of the walk by s = |x − x₁|, from a place x₁ where the
//! solution is enclosed. If z′ ≥ k z^p with k > 0 and p > 1 as long as z exists, then z^(1−p) falls
//! at least as fast as (p − 1)k s, so z exists at most until s = z₁^(1−p)/((p − 1)k); and if z′ ≤ K z^p,
//! at least until s = z₁^(1−p)/((p − 1)K). As z is bounded by then from both sides, it leaves every
//! bound between these.
//!
//! *Order 1*, z′ = Σ aᵢ(s) zⁱ: p is the degree, and aᵢ zⁱ = (aᵢ z^(i−p)) z^p, where z ≥ z₁.
//!
//! *Order 2*, z″ = Σ aᵢⱼ(s) zⁱ z′ʲ with j ≤ 1: p is the largest (i + 1)/(2 − j), which is where z^p for
//! z′ balances both sides. Where z′ = k z^p, z′ − k z^p has the slope
//! Σ aᵢⱼ kʲ z^(i+pj) − p k² z^(2p−1). If that is positive for all z ≥ z₁ and z′ ≥ k z^p at x₁, then z′
//! never falls below k z^p; in the same way K bounds it from above.
//!
//! The aᵢ are enclosed over the whole stretch from x₁ that is reached. Everything is worked out in
//! enclosures of closed constants. (Comparison: W. Walter, *Ordinary Differential Equations*,
//! §9; from memory.)

use std::cmp::Ordering;

use num_traits::{Signed, Zero};

use super::integrate::short;
use crate::budget::Fuel;
use crate::enclosed::walk::Walker;
use crate::expression::{Expr, Symbol, enclose, enclose_between};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::series::floats::Real;

/// Bits of enclosures.
const BITS: usize = 192;
/// Steps beyond the last one of the solution itself: each leaves about two thirds of the way.
const STEPS: usize = 48;
/// With fewer certain bits it is not followed nearer.
const LEAST_BITS: f64 = 40.0;
/// k and K are tried beside what the solution has by 2^−so many, and ever less near.
const NEAREST: usize = 96;

/// A term a(x)·yⁱ·y′ʲ.
struct Term {
    factor: Expr,
    i: usize,
    j: usize,
}

/// The right-hand side by powers.
pub(super) struct Powers {
    order: usize,
    terms: Vec<Term>,
    /// p
    power: Rational,
}

/// A term along the walk, in z: bounds of its factor.
struct Bounded {
    low: Rational,
    high: Rational,
    j: usize,
    /// It has z^`exponent` in comparison with the leading terms: not positive.
    exponent: Rational,
}

/// An integer as a fraction.
fn whole(n: usize) -> Rational {
    Rational::from_integer(n.into())
}

impl Powers {
    /// `None` where the argument is of no use.
    pub(super) fn of(solved: &[Expr], order: usize) -> Option<Self> {
        let symbol = |order| Symbol::Derivative { unknown: 0, order };
        let side = Expr::sum(solved.to_vec());
        let by_slope = match order {
            1 => vec![side],
            2 => side.polynomial_coefficients(&symbol(1))?,
            _ => return None,
        };
        let mut terms = Vec::new();
        for (j, part) in by_slope.iter().enumerate() {
            for (i, factor) in part
                .polynomial_coefficients(&symbol(0))?
                .into_iter()
                .enumerate()
            {
                if !factor.is_zero() {
                    terms.push(Term { factor, i, j });
                }
            }
        }
        let balanced = |term: &Term| match (order, term.j) {
            (1, _) => Some(whole(term.i)),
            (_, 0 | 1) => Some(whole(term.i + 1) / whole(2 - term.j)),
            _ => None,
        };
        let powers = terms.iter().map(balanced).collect::<Option<Vec<_>>>()?;
        let power = powers.into_iter().max().filter(|p| *p > integer(1))?;
        Some(Self {
            order,
            terms,
            power,
        })
    }

    /// Signed distances from the center between which the solution grows without bound. The walker
    /// goes on towards there as far as it gets.
    pub(super) fn bracket<C: Real>(
        &self,
        walker: &mut Walker<'_, C>,
        origin: &Rational,
        right: bool,
        fuel: &mut Fuel,
    ) -> Option<(Rational, Rational)> {
        for _ in 0..STEPS {
            if walker.expand(fuel).is_err() || walker.certain_bits() < LEAST_BITS {
                break;
            }
            let Some(reach) = walker.reach(&walker.position.abs(), &short) else {
                break;
            };
            if fuel.spend(walker.overhead()).is_err() || walker.advance(&reach, right).is_none() {
                break;
            }
        }
        let (low, high) = walker.ends(0)?;
        let negative = high.is_negative();
        let z = if negative { (-high, -low) } else { (low, high) };
        if !z.0.is_positive() {
            return None;
        }
        // The stretch must be known before the factors are: too long by far, then as it turned out.
        let mut stretch = walker.position.abs() / integer(100);
        for _ in 0..3 {
            let (least, most) = self.stretch(walker, origin, &z, (right, negative), &stretch)?;
            if most > stretch {
                return None;
            }
            let narrow = &least * integer(2) > most;
            let next = &most * ratio(9, 8);
            if narrow && next.clone() * integer(2) > stretch {
                let at = |s: Rational| &walker.position + if right { s } else { -s };
                let (near, far) = (at(least), at(most));
                return Some(if near < far { (near, far) } else { (far, near) });
            }
            stretch = next;
        }
        None
    }

    /// Bounds of how far z exists, as long as these are not above `stretch`.
    fn stretch<C: Real>(
        &self,
        walker: &Walker<'_, C>,
        origin: &Rational,
        z: &(Rational, Rational),
        (right, negative): (bool, bool),
        stretch: &Rational,
    ) -> Option<(Rational, Rational)> {
        let from = origin + &walker.position;
        // The center's fraction may be a little off.
        let beside = stretch / integer(1000);
        let (back, ahead) = (beside.clone(), stretch + &beside);
        let between = if right {
            (&from - &back, &from + &ahead)
        } else {
            (&from - &ahead, &from + &back)
        };
        let p = &self.power;
        let mut terms = Vec::new();
        for term in &self.terms {
            let (low, high) = enclose_between(&term.factor, (&between.0, &between.1), BITS)?;
            let turned = usize::from(negative) * (1 + term.i + term.j);
            let turned = turned + usize::from(!right) * (term.j + usize::from(self.order == 1));
            let (low, high) = if turned.is_multiple_of(2) {
                (low, high)
            } else {
                (-high, -low)
            };
            let own = whole(term.i) + p * whole(term.j);
            let leading = if self.order == 1 {
                p.clone()
            } else {
                p * integer(2) - integer(1)
            };
            terms.push(Bounded {
                low,
                high,
                j: term.j,
                exponent: own - leading,
            });
        }
        let (least, most) = if self.order == 1 {
            let sum = |upper| enclosed(&sum(&terms, &integer(1), &z.0, upper));
            (sum(false)?.0, sum(true)?.1)
        } else {
            let (low, high) = walker.ends(1)?;
            let slope = if negative == right {
                (-high, -low)
            } else {
                (low, high)
            };
            let raised = |base: &Rational| powered(base, p);
            let least = enclosed(&Expr::number(slope.0).mul(&inverse(&raised(&z.1))))?.0;
            let most = enclosed(&Expr::number(slope.1).mul(&inverse(&raised(&z.0))))?.1;
            (
                barrier(&terms, p, &z.0, &least, false)?,
                barrier(&terms, p, &z.0, &most, true)?,
            )
        };
        if !least.is_positive() {
            return None;
        }
        let less = p - integer(1);
        let time = |z: &Rational, k: &Rational| {
            let below = Expr::number(&less * k);
            enclosed(&powered(z, &-&less).mul(&inverse(&below)))
        };
        Some((time(&z.1, &most)?.0, time(&z.0, &least)?.1))
    }
}

fn powered(base: &Rational, exponent: &Rational) -> Expr {
    Expr::power(Expr::number(base.clone()), Expr::number(exponent.clone()))
}

fn inverse(of: &Expr) -> Expr {
    Expr::power(of.clone(), Expr::int(-1))
}

fn enclosed(constant: &Expr) -> Option<(Rational, Rational)> {
    enclose(constant, BITS).ok()?.to_rationals()
}

/// A bound of Σ a kʲ z^exponent over all z from `least` on: from above or from below.
fn sum(terms: &[Bounded], k: &Rational, least: &Rational, upper: bool) -> Expr {
    let parts = terms.iter().filter_map(|term| {
        let factor = if upper { &term.high } else { &term.low };
        // What helps is nothing in the end; what does not is most at the beginning.
        let helps = if upper {
            factor.is_negative()
        } else {
            factor.is_positive()
        };
        if helps && !term.exponent.is_zero() {
            return None;
        }
        let k = powered(k, &whole(term.j));
        let z = powered(least, &term.exponent);
        Some(Expr::product(vec![Expr::number(factor.clone()), k, z]))
    });
    Expr::sum(parts.collect())
}

/// A k at or beside `own` that z′ = k z^p bounds from below, or from above.
fn barrier(
    terms: &[Bounded],
    p: &Rational,
    least: &Rational,
    own: &Rational,
    upper: bool,
) -> Option<Rational> {
    if !own.is_positive() {
        return None;
    }
    let wanted = if upper {
        Ordering::Less
    } else {
        Ordering::Greater
    };
    (1..=NEAREST / 2).rev().find_map(|nearness| {
        let beside = Rational::new(1.into(), num_bigint::BigInt::from(1) << (2 * nearness));
        let share = if upper {
            integer(1) + beside
        } else {
            integer(1) - beside
        };
        let k = own * share;
        let balance = Expr::number(-(p * &k * &k));
        let slope = Expr::sum(vec![sum(terms, &k, least, upper), balance]);
        let sign = enclose(&slope, BITS).ok()?.sign()?;
        (sign == wanted).then_some(k)
    })
}
