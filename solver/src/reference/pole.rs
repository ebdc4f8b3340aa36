//! Proof that a solution grows without bound, and where: by its reciprocal here, by variables in which
//! the pole is an ordinary place in [`crate::enclosed::escape`].
//!
//! For y′ = A(x) + B(x) y + C(x) y² the reciprocal w = 1/y satisfies w′ = −(A w² + B w + C), which is
//! regular where w = 0. Where an enclosure of w changes its sign between two places, w has a zero
//! between them, and y = 1/w leaves every bound there, or earlier between them.

use num_traits::{Signed, Zero};

use super::growth::Growth;
use super::integrate::{approximate, short};
use crate::budget::Fuel;
use crate::enclosed::Arithmetic;
use crate::enclosed::balance::Sides;
use crate::enclosed::walk::{Segment, Walker};
use crate::expression::{Expr, Symbol};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::problem::Problem;
use crate::series::Tape;
use crate::series::floats::Real;

/// Steps beyond the last one of the solution itself: each leaves about two thirds of the way.
const STEPS: usize = 48;
/// Steps of w.
const STEPS_BEYOND: usize = 40;
/// The places between which w changes its sign are brought together by halving so often.
const HALVINGS: usize = 120;
/// With fewer certain bits it is not followed nearer.
const LEAST_BITS: f64 = 40.0;
/// Weights are fractions with at most this denominator …
const MOST_PARTS: i64 = 6;
/// … that are so near.
const OFF: f64 = 0.02;
/// Less than this, and none of these, is no growth or that of a logarithm.
const LITTLE: f64 = 0.4;
/// Work that a try takes for each state and state.
const TRY_UNITS: u64 = 20_000;

/// How poles of a problem can be proved.
pub(super) struct Proof {
    /// The equation of 1/y.
    reciprocal: Option<Tape>,
    /// The right sides as sums of powers.
    sides: Sides,
    /// For each unknown where its states begin, and how many these are.
    blocks: Vec<(usize, usize)>,
}

/// A pole that is proved.
pub(super) struct Found {
    /// The places between which it is.
    pub(super) between: (Rational, Rational),
    /// Whose.
    pub(super) unknown: usize,
}

impl Proof {
    /// For the equations of a problem as solved.
    pub(super) fn of(problem: &Problem, tape: &Tape) -> Self {
        let equations = problem.equations.iter();
        let sides: Vec<Expr> = equations
            .map(|equation| Expr::sum(equation.solved.clone()))
            .collect();
        let reciprocal = match sides.as_slice() {
            [side] if tape.states() == 1 => reciprocal(side),
            _ => None,
        };
        Self {
            reciprocal,
            sides: Sides::of(&sides, tape.blocks()),
            blocks: tape.blocks().to_vec(),
        }
    }

    /// Places between which an unknown surely grows without bound, which seems to be so of `unknown` at
    /// the distance `about`; the walker stands near there, and goes on.
    pub(super) fn places<C: Real>(
        &self,
        walker: &mut Walker<'_, C>,
        origin: &Rational,
        (right, about, unknown): (bool, f64, usize),
        fuel: &mut Fuel,
    ) -> Option<Found> {
        let reciprocal = self.reciprocal.as_ref();
        let found = reciprocal.and_then(|tape| bracket(walker, tape, right, about, fuel));
        let (between, unknown) = match found {
            Some(between) => (between, 0),
            None => self.escape(walker, (right, about, unknown), fuel)?,
        };
        Some(Found {
            between: places(origin, &between),
            unknown,
        })
    }

    /// Signed distances from the center between which an unknown grows without bound, and which. The
    /// walker goes on towards there as far as it gets.
    fn escape<C: Real>(
        &self,
        walker: &mut Walker<'_, C>,
        (right, about, seen): (bool, f64, usize),
        fuel: &mut Fuel,
    ) -> Option<((Rational, Rational), usize)> {
        // Of a system another unknown may have a pole farther on, where the solution is no more.
        let clear = 0.5 * libm::fabs(about - approximate(&walker.position.abs()));
        let is_it = |place: &Rational| libm::fabs(approximate(&place.abs()) - about) < clear;
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
        walker.expand(fuel).ok()?;
        let standing = walker.standing(right);
        let unknowns = (0..self.blocks.len()).filter(|other| *other != seen);
        std::iter::once(seen).chain(unknowns).find_map(|unknown| {
            let growth = Growth::new(walker.mids(unknown)).stretched(walker.scale());
            let left = growth.real_singularity()?.distance;
            let &(start, order) = self.blocks.get(unknown)?;
            (start..start + order).find_map(|state| {
                let own = self.sides.closure(state)?;
                let weights = own.iter().map(|other| weight(walker, *other, left));
                let weights = weights.collect::<Option<Vec<_>>>()?;
                // Else the unknown itself may stay bounded.
                if *weights.first()? < Rational::from_integer((state - start).into()) {
                    return None;
                }
                let loose: Vec<Rational> = weights.iter().map(loosened).collect();
                let tries = [
                    Some(&weights),
                    Some(&loose).filter(|loose| **loose != weights),
                ];
                let (least, most) = tries.into_iter().flatten().find_map(|weights| {
                    let states = own.len() as u64;
                    fuel.spend(TRY_UNITS * states * states).ok()?;
                    standing.distance(&self.sides, &own, weights)
                })?;
                let at = |s: Rational| &walker.position + if right { s } else { -s };
                let (near, far) = (at(least), at(most));
                if !(is_it(&near) && is_it(&far)) {
                    return None;
                }
                Some((if near < far { (near, far) } else { (far, near) }, unknown))
            })
        })
    }
}

/// A state without growth, or with the growth of a logarithm, is surely less than any power.
fn loosened(weight: &Rational) -> Rational {
    if weight.is_zero() {
        ratio(1, MOST_PARTS)
    } else {
        weight.clone()
    }
}

/// p where a state grows like a power −p of what is left of the way, about `left`; 0 where it does not grow.
fn weight<C: Real>(walker: &Walker<'_, C>, state: usize, left: f64) -> Option<Rational> {
    let about = walker.logarithmic_slope(state) * left;
    let near = |share: &Rational| libm::fabs(crate::number::to_f64(share) - about) < OFF;
    let mut fractions =
        (1..=MOST_PARTS).flat_map(|parts| (1..=8 * parts).map(move |n| ratio(n, parts)));
    let found = fractions.find(near);
    found.or_else(|| (about < LITTLE).then(Rational::zero))
}

/// The equation of 1/y, for an equation of first order that is quadratic in its unknown.
fn reciprocal(side: &Expr) -> Option<Tape> {
    let y = Symbol::Derivative {
        unknown: 0,
        order: 0,
    };
    let coefficients = side.polynomial_coefficients(&y)?;
    let [constant, linear, square] = coefficients.as_slice() else {
        return None;
    };
    let w = Expr::derivative(0, 0);
    let terms = vec![
        constant.mul(&w.mul(&w)).neg(),
        linear.mul(&w).neg(),
        square.neg(),
    ];
    Tape::compile(&[Expr::sum(terms)], 1).ok()
}

/// Signed distances from the center between which the solution surely grows without bound; the
/// walker stands near there.
fn bracket<C: Real>(
    walker: &Walker<'_, C>,
    reciprocal: &Tape,
    right: bool,
    about: f64,
    fuel: &mut Fuel,
) -> Option<(Rational, Rational)> {
    let arithmetic = walker.arithmetic();
    let mut inverse = walker.inverted(reciprocal)?;
    let start = inverse.position.clone();
    let positive = inverse.sign(0)?;
    // As far behind the place as the walk stands before it, and a little more.
    let far = short((about - approximate(&start.abs())) * 3.0);
    for _ in 0..STEPS_BEYOND {
        inverse.expand(fuel).ok()?;
        let reach = inverse.reach(&far, &short)?;
        let segment = inverse.advance(&reach, right)?;
        if inverse.sign(0) == Some(!positive) {
            return Some(narrowed(&segment, positive, &arithmetic));
        }
        if (&inverse.position - &start).abs() > far {
            return None;
        }
    }
    None
}

/// The last place found where the sign of w is still certain, and the first where its opposite is.
fn narrowed<C: Real>(
    segment: &Segment<C>,
    positive: bool,
    arithmetic: &Arithmetic,
) -> (Rational, Rational) {
    let has_sign = |place: &Rational, positive: bool| {
        segment.value(0, place, arithmetic).is_some_and(|found| {
            found.mid.lead().abs() > found.radius * 1.001 && found.mid.is_negative() != positive
        })
    };
    let closest = |from: &Rational, to: &Rational, positive: bool| {
        let (mut sure, mut other) = (from.clone(), to.clone());
        for _ in 0..HALVINGS {
            let middle = (&sure + &other) / integer(2);
            if has_sign(&middle, positive) {
                sure = middle;
            } else {
                other = middle;
            }
        }
        sure
    };
    let near = closest(&segment.from, &segment.to, positive);
    let far = closest(&segment.to, &near, !positive);
    if near < far { (near, far) } else { (far, near) }
}

/// The same as places: the center's fraction may be a little off.
fn places(center: &Rational, (low, high): &(Rational, Rational)) -> (Rational, Rational) {
    let slack = if center.denom().bits() > 200 {
        Rational::new(1.into(), num_traits::pow(10.into(), 60))
    } else {
        Rational::zero()
    };
    (center + low - &slack, center + high + slack)
}
