//! How well the polynomials hold: proved bounds of |y − Pₙ|, where they keep a tolerance, and which
//! degree is needed.
//!
//! Everything rests on one expansion at the center ([`crate::enclosed`]): balls for the coefficients up to
//! some degree K, and a bound of what stands behind them on discs in the complex plane. Inside these
//! y − Pₙ = Σ cₖ tᵏ (N < k ≤ K) + the rest, with t counted from the center. Doubles are rounded
//! upward (`number::upward`); places t are exact doubles.

mod within;
#[cfg(test)]
mod tests;

pub use within::{Needed, Side, Tolerance, Within};

use crate::budget::Budget;
use crate::enclosed::{Tail, expansion};
use crate::expression::Expr;
use crate::number::upward::{down, up};
use crate::number::{BigFloat, Rational, decimal, to_f64};
use crate::problem::Problem;
use crate::reference::{Nearest, nearest};
use crate::series::Tape;

/// The expansion goes so far beyond the polynomial's degree, and at least to the second.
const BEYOND: usize = 24;
const LEAST: usize = 64;
/// Bits of a double-double.
const BITS: usize = 106;
/// Discs larger than this many times what is asked for are not looked for.
const LARGEST_REACH: f64 = 8.0;
/// Smaller than 2^this times what is asked for: given up.
const SMALLEST_LOG2: i32 = 12;
/// Halvings of the gap between a radius with a proof and one without.
const HALVINGS: usize = 4;

/// What is proved about the solution in a disc about the center.
#[derive(Clone, Debug)]
pub struct Proved {
    /// The solution is analytic in this disc, so the radius of convergence is at least this.
    pub radius: f64,
    /// What the growth of each unknown's coefficients tells about its nearest singularity: an
    /// estimate.
    pub nearest: Vec<Option<Nearest>>,
    unknowns: Vec<Terms>,
}

/// The expansion of one unknown.
#[derive(Clone, Debug)]
struct Terms {
    /// Middle and largest distance from it of `c_0`, …, `c_K`.
    balls: Vec<(f64, f64)>,
    /// Radius, and bound at the rim of what stands behind `c_K`.
    tails: Vec<(f64, f64)>,
}

/// The largest disc in which something is proved, up to some times `reach`; `None` when nothing is.
pub fn prove(problem: &Problem, degree: usize, reach: f64, budget: &Budget) -> Option<Proved> {
    let tape = Tape::of_problem(problem).ok()?;
    let highest = (degree + BEYOND).max(LEAST);
    let expanded = expansion(problem, &tape, highest, BITS, budget).ok()?;
    // Radii with few digits: exact doubles, whatever is done with them.
    let top = libm::ldexp(1.0, libm::ilogb(reach * LARGEST_REACH));
    let mut low: Option<Tail> = None;
    let mut high = top;
    for halving in 0..SMALLEST_LOG2 + 3 {
        let radius = libm::ldexp(top, -halving);
        if let Some(tail) = expanded.tail(radius) {
            low = Some(tail);
            break;
        }
        high = radius;
    }
    let mut best = low?;
    if best.radius < high {
        for _ in 0..HALVINGS {
            let middle = f64::midpoint(best.radius, high);
            match expanded.tail(middle) {
                Some(tail) => best = tail,
                None => high = middle,
            }
        }
    }
    let mut tails = vec![best.clone()];
    for share in [0.9375, 0.75] {
        tails.extend(expanded.tail(best.radius * share));
    }
    let unknowns = (0..problem.unknowns.len())
        .map(|unknown| {
            let degree = best.degrees.get(unknown).copied()?;
            let balls = expanded.coefficients(unknown).into_iter().map(|ball| {
                let mid = ball.mid.to_f64();
                (mid, up(ball.radius + libm::fabs(mid) * f64::EPSILON))
            });
            let balls: Vec<(f64, f64)> = balls.take(degree + 1).collect();
            let rim = |tail: &Tail| Some((tail.radius, *tail.bounds.get(unknown)?));
            Some(Terms {
                balls,
                tails: tails.iter().map(rim).collect::<Option<_>>()?,
            })
        })
        .collect::<Option<Vec<Terms>>>()?;
    let middles = |unknown| -> Vec<BigFloat> {
        let balls = expanded.coefficients(unknown);
        balls.into_iter().map(|ball| ball.mid).collect()
    };
    Some(Proved {
        radius: best.radius,
        nearest: (0..problem.unknowns.len())
            .map(|unknown| nearest(&middles(unknown)))
            .collect(),
        unknowns,
    })
}

/// What is known of one polynomial's partial sums over an interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Remainder {
    /// The unknown.
    pub unknown: usize,
    /// The interval.
    pub interval: (f64, f64),
    /// The bounds hold up to this distance from the center, in the complex plane, too.
    pub reach: Rational,
    /// Does that cover the interval?
    pub whole: bool,
    /// The largest disc in which something is proved.
    pub disc: f64,
    /// By degree, from 0.
    pub degrees: Vec<OfDegree>,
    /// At the place that was asked for.
    pub needed: Option<Needed>,
}

/// What is known of one partial sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfDegree {
    /// Proved: |y − Pₙ| is at most this.
    pub bound: f64,
    /// Proved: the derivative of order N + 1 is at most this in size.
    pub derivative: Option<f64>,
    /// The largest difference that was seen at the points of the interval at which the solution is
    /// known.
    pub observed: Option<f64>,
    /// Where the tolerance is kept.
    pub within: Within,
}

/// What is asked about the remainder.
#[derive(Clone, Debug)]
pub struct Question<'a> {
    /// Degree of the polynomial.
    pub degree: usize,
    /// The center, as a closed constant and rounded.
    pub center: (&'a Expr, f64),
    /// The interval.
    pub interval: (f64, f64),
    /// |y − Pₙ| is to be at most this.
    pub tolerance: Tolerance,
    /// A place at which the degree that is needed is asked for.
    pub place: Option<&'a Expr>,
}

/// The answers for one unknown. `observed`: for each degree the largest difference that was seen.
pub fn remainder(
    proved: &Proved,
    unknown: usize,
    question: &Question<'_>,
    observed: &[Option<f64>],
) -> Remainder {
    let (center, middle) = question.center;
    let far = reach(middle, question.interval);
    let whole = far <= proved.radius * CLOSE;
    // With few digits, so that it can be shown as it is.
    let ends =
        libm::fabs(question.interval.0 - middle).max(libm::fabs(question.interval.1 - middle));
    let wanted = if whole { ends } else { proved.radius * INNER };
    let exact = BigFloat::from_f64(wanted).to_rational().unwrap_or_default();
    let shown = if whole {
        crate::convergence::rounded_up(&exact, 6)
    } else {
        crate::convergence::rounded_down(&exact, 2)
    };
    let reach = decimal::parse(&shown).unwrap_or(exact);
    let distance = up(to_f64(&reach));
    let (low, high) = question.interval;
    let within = proved.within(
        unknown,
        question.degree,
        question.tolerance,
        (middle - low, high - middle),
    );
    let bounds = proved.bounds(unknown, distance);
    let degrees = bounds
        .into_iter()
        .zip(within)
        .enumerate()
        .map(|(n, (bound, within))| OfDegree {
            bound,
            derivative: proved.derivative(unknown, n + 1, distance),
            observed: observed.get(n).copied().flatten(),
            within,
        })
        .collect();
    Remainder {
        unknown,
        interval: question.interval,
        reach,
        whole,
        disc: proved.radius,
        degrees,
        needed: question
            .place
            .and_then(|place| proved.needed(unknown, question.tolerance, place, center)),
    }
}

/// Near the rim of the disc bounds are useless: the interval must lie this much inside, or …
const CLOSE: f64 = 0.98;
/// … this share of the disc is taken.
const INNER: f64 = 0.75;

/// The largest distance from the center to an end of the interval, rounded upward.
pub fn reach(center: f64, (low, high): (f64, f64)) -> f64 {
    up(libm::fabs(low - center).max(libm::fabs(high - center)))
}

impl Proved {
    /// So many degrees can be bounded.
    pub fn degrees(&self, unknown: usize) -> usize {
        self.unknowns.get(unknown).map_or(0, |own| own.balls.len())
    }

    /// For each degree N from 0: a bound of |y − Pₙ| for all complex t with |t| ≤ `reach`, which must lie in the
    /// disc; falling with N.
    pub fn bounds(&self, unknown: usize, reach: f64) -> Vec<f64> {
        let Some(own) = self.unknowns.get(unknown) else {
            return Vec::new();
        };
        let mut sum = own.behind(reach);
        let mut bounds = vec![0.0; own.balls.len()];
        for (k, (mid, radius)) in own.balls.iter().enumerate().rev() {
            if let Some(bound) = bounds.get_mut(k) {
                *bound = up(sum);
            }
            sum += (libm::fabs(*mid) + radius) * power(reach, k);
        }
        bounds
    }

    /// For degree N: a bound of the derivative of order N + 1 for |t| ≤ `reach`: of the known coefficients
    /// term by term, of what stands behind them by Cauchy's estimate on circles that stay in the
    /// disc. `None` where it is beyond all doubles.
    pub fn derivative(&self, unknown: usize, order: usize, reach: f64) -> Option<f64> {
        let own = self.unknowns.get(unknown)?;
        let mut sum = 0.0;
        for (k, (mid, radius)) in own.balls.iter().enumerate().skip(order) {
            // k (k − 1) … (k − order + 1)
            let falling = (0..order).fold(1.0, |product, i| product * count(k - i));
            sum += falling * (libm::fabs(*mid) + radius) * power(reach, k - order);
        }
        let factorial = (1..=order).fold(1.0, |product, i| product * count(i));
        let rest = own.tails.iter().map(|(rim, bound)| {
            let gap = down(*rim, reach);
            if gap > 0.0 {
                up(factorial * bound * power(1.0 / gap, order))
            } else {
                f64::INFINITY
            }
        });
        let whole = up(sum + rest.fold(f64::INFINITY, f64::min));
        whole.is_finite().then_some(whole)
    }

    /// For each degree N: bounds from below and above of |y − Pₙ| for all real t with
    /// |t − `middle`| ≤ `half`: below holds at some, above at all of them.
    fn errors(&self, unknown: usize, middle: f64, half: f64) -> Vec<(f64, f64)> {
        let Some(own) = self.unknowns.get(unknown) else {
            return Vec::new();
        };
        let reach = up(libm::fabs(middle) + half);
        let behind = own.behind(reach);
        let size = libm::fabs(middle);
        let mut found = vec![(0.0, f64::INFINITY); own.balls.len()];
        // Of the terms from k on: their sum over t^k, and bounds of sizes, radii, and slopes.
        let (mut rest, mut bulk, mut doubt, mut slope) = (0.0, 0.0, 0.0, 0.0);
        for (k, (mid, radius)) in own.balls.iter().enumerate().rev() {
            if let Some(place) = found.get_mut(k) {
                // Horner's rule is off by at most 2 (K − k) + 1 roundings of the sizes; the power by K.
                let turns = 4.0 * count(own.balls.len()) * f64::EPSILON;
                let own_power = power(size, k + 1);
                let value = libm::fabs(rest) * own_power;
                let off = up(turns * bulk + doubt + half * slope + behind);
                *place = (down(value, off).max(0.0), up(value + off));
            }
            rest = mid + middle * rest;
            let reached = power(reach, k);
            let largest = libm::fabs(*mid) + radius;
            bulk += largest * reached;
            doubt += radius * reached;
            if k > 0 {
                slope += count(k) * largest * power(reach, k - 1);
            }
        }
        found
    }
}

impl Terms {
    /// A bound of what stands behind the last coefficient.
    fn behind(&self, reach: f64) -> f64 {
        let one = |(rim, bound): &(f64, f64)| {
            if reach <= *rim {
                up(bound * power(up(reach / rim).min(1.0), self.balls.len()))
            } else {
                f64::INFINITY
            }
        };
        self.tails.iter().map(one).fold(f64::INFINITY, f64::min)
    }
}

/// base^exponent by repeated multiplication; off by at most `exponent` roundings.
fn power(base: f64, exponent: usize) -> f64 {
    let (mut result, mut factor, mut left) = (1.0, base, exponent);
    while left > 0 {
        if left % 2 == 1 {
            result *= factor;
        }
        factor *= factor;
        left /= 2;
    }
    result
}

fn count(n: usize) -> f64 {
    u32::try_from(n).map_or(f64::INFINITY, f64::from)
}

/// t for a place on the real axis, and how far the double may be from it.
fn offset(place: &Expr, center: &Expr) -> Option<(f64, f64)> {
    let t = crate::expression::to_f64(&place.sub(center))?;
    Some((t, libm::fabs(t) * 2.0 * f64::EPSILON))
}
