//! How well the polynomials hold: proved bounds of |y − Pₙ|, where they keep a tolerance, and which
//! degree is needed.
//!
//! Everything rests on one expansion at the center ([`crate::enclosed`]): balls for the coefficients up to
//! some degree K, and a bound of what stands behind them on discs in the complex plane. Inside these
//! y − Pₙ = Σ cₖ tᵏ (N < k ≤ K) + the rest, with t counted from the center. Beyond them Pₙ is compared
//! with the enclosed steps of the numerical solution ([`Stretch`]). Doubles are rounded upward
//! (`number::upward`); places t are exact doubles.

mod about;
mod pade;
mod pieces;
mod within;
#[cfg(test)]
mod tests;

pub use about::{About, AboutDegree, Seen, about};
pub use within::{Needed, Side, Tolerance, Within};

use pieces::{Source, Way};
use within::sides;

use crate::budget::Budget;
use crate::enclosed::{Jet, Powers, Stretch, Tail, count, expansion};
use crate::expression::Expr;
use crate::number::upward::{down, up};
use crate::number::{BigFloat, Rational, decimal, to_f64};
use crate::problem::{OrderByOrder, Problem};
use crate::reference::fuchs::RegularCenter;
use crate::reference::{Nearest, explicit_form, nearest};
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
    let (mut explicit, mut regular) = (None, None);
    match problem.order_by_order() {
        Some(OrderByOrder::NotLinear) => explicit = Some(explicit_form(problem)?),
        Some(_) => regular = Some(RegularCenter::of(problem, budget)?),
        None => {}
    }
    let problem = explicit.as_ref().unwrap_or(problem);
    let tape = Tape::of_problem(problem).ok()?;
    let highest = (degree + BEYOND).max(LEAST);
    let expanded = match &regular {
        Some(regular) => regular.expansion(highest, BITS, budget),
        None => expansion(problem, &tape, highest, BITS, budget),
    }
    .ok()?;
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
            .map(|unknown| {
                let own = middles(unknown);
                nearest(&own).map(|known| pade::refined(known, &own))
            })
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
    /// Lagrange's bounds hold up to this distance from the center.
    pub reach: Rational,
    /// The bounds of the error hold in this part of the interval: distances from the center to the left
    /// and to the right.
    pub covered: (f64, f64),
    /// Is that all of the interval, to the left and to the right?
    pub whole: (bool, bool),
    /// The largest disc in which something is proved.
    pub disc: f64,
    /// By degree, from 0.
    pub degrees: Vec<OfDegree>,
    /// At the place that was asked for.
    pub needed: Option<Needed>,
    /// To the left and to the right: distances, and bounds of the error of each degree up to there.
    bounds: [Vec<(f64, Vec<f64>)>; 2],
}

/// What is known of one partial sum.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OfDegree {
    /// Proved: |y − Pₙ| is at most this in the covered part of the interval, …
    pub bound: f64,
    /// … and at least this somewhere in it.
    pub least: f64,
    /// Proved: the derivative of order N + 1 is at most this in size up to the reach.
    pub derivative: Option<f64>,
    /// What Lagrange's form gives with it there.
    pub lagrange: Option<f64>,
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

/// The answers for one unknown, whose enclosed steps are `stretches`.
pub fn remainder(
    proved: &Proved,
    unknown: usize,
    question: &Question<'_>,
    stretches: &[Stretch],
) -> Remainder {
    let (center, middle) = question.center;
    let source = Source {
        proved,
        unknown,
        stretches,
        count: (question.degree + 1).min(proved.degrees(unknown)),
    };
    let reach = lagrange_reach(proved, middle, question.interval);
    let distance = up(to_f64(&reach));
    let (low, high) = question.interval;
    let ends = [middle - low, high - middle];
    let [left, right] = [source.way(-1.0, ends[0]), source.way(1.0, ends[1])];
    let inner = |way: &Way, sign: f64, end: f64| {
        if way.whole {
            return (end, None);
        }
        let wanted = end.min(distance.max(way.sharp(distance)));
        let shown = libm::fabs(to_f64(&shown_end(middle, wanted, sign > 0.0)) - middle);
        (shown, Some(source.last_piece(way, sign, shown)))
    };
    let (inner_left, last_left) = inner(&left, -1.0, ends[0]);
    let (inner_right, last_right) = inner(&right, 1.0, ends[1]);
    let covered = (inner_left, inner_right);
    let in_disc = proved.bounds(unknown, distance);
    // An interval beside the center begins farther out.
    let near = [(-covered.1).max(0.0), (-covered.0).max(0.0)];
    let mut degrees: Vec<OfDegree> = sides(&left, source.count, question.tolerance)
        .into_iter()
        .zip(sides(&right, source.count, question.tolerance))
        .enumerate()
        .map(|(n, (left, right))| {
            let derivative = proved.derivative(unknown, n + 1, distance);
            let factorial = (1..=n + 1).fold(1.0, |product, k| product * count(k));
            OfDegree {
                bound: 0.0,
                least: 0.0,
                derivative,
                lagrange: derivative.map(|most| up(most * power(distance, n + 1) / factorial)),
                within: Within { left, right },
            }
        })
        .collect();
    let both = [
        (&left, &last_left, covered.0, near[0]),
        (&right, &last_right, covered.1, near[1]),
    ];
    for (n, found) in degrees.iter_mut().enumerate() {
        for (way, last, end, near) in &both {
            let (end, near) = (*end, *near);
            let mut before = 0.0;
            // Of an end that is not reached the last piece is a shorter one.
            let inside = way
                .pieces
                .iter()
                .filter(|piece| last.is_none() || piece.end < end);
            for piece in inside.chain(last.iter()) {
                if before < end && piece.end > near {
                    found.bound = found.bound.max(piece.above.get(n).copied().unwrap_or(0.0));
                    if piece.end <= end * (1.0 + 2.0 * f64::EPSILON) {
                        let below = piece.below.get(n).copied().unwrap_or(0.0);
                        found.least = found.least.max(below);
                    }
                }
                before = piece.end;
            }
        }
        if covered.0.max(covered.1) <= distance {
            found.bound = found
                .bound
                .min(in_disc.get(n).copied().unwrap_or(f64::INFINITY));
        }
    }
    Remainder {
        unknown,
        interval: question.interval,
        reach,
        covered,
        whole: (left.whole, right.whole),
        disc: proved.radius,
        degrees,
        needed: question
            .place
            .and_then(|place| source.all().needed(question.tolerance, place, center)),
        bounds: [rising(left), rising(right)],
    }
}

/// The place at this distance from the center as a decimal with few digits, rounded toward the center: so an
/// end that the proof does not reach is shown, and so it is meant.
pub fn shown_end(center: f64, distance: f64, right: bool) -> Rational {
    /// What is nearer to such a decimal is one.
    const NEAR: f64 = 1e-7;
    let exact = |value: f64| BigFloat::from_f64(value).to_rational().unwrap_or_default();
    let ten = crate::number::rational::integer(10);
    let mut unit = crate::number::rational::integer(1);
    while to_f64(&unit) > distance / 300.0 && unit.denom().bits() < 40 {
        unit /= &ten;
    }
    let place = exact(center) + exact(if right { distance } else { -distance });
    let scaled = place / &unit;
    let nearest = scaled.round();
    let whole = if libm::fabs(to_f64(&(&nearest - &scaled))) < NEAR {
        nearest
    } else if right {
        scaled.floor()
    } else {
        scaled.ceil()
    };
    whole * unit
}

/// The bounds up to each piece's end.
fn rising(way: Way) -> Vec<(f64, Vec<f64>)> {
    let mut most: Vec<f64> = Vec::new();
    let pieces = way.pieces.into_iter();
    pieces
        .map(|piece| {
            most.resize(piece.above.len(), 0.0);
            for (most, own) in most.iter_mut().zip(&piece.above) {
                *most = most.max(*own);
            }
            (piece.end, most.clone())
        })
        .collect()
}

/// Up to this distance the expansion at the center bounds derivatives well: the whole interval, or a part
/// of the disc, with few digits, so that it can be shown as it is.
fn lagrange_reach(proved: &Proved, center: f64, interval: (f64, f64)) -> Rational {
    let whole = reach(center, interval) <= proved.radius * CLOSE;
    let ends = libm::fabs(interval.0 - center).max(libm::fabs(interval.1 - center));
    let wanted = if whole { ends } else { proved.radius * INNER };
    let exact = BigFloat::from_f64(wanted).to_rational().unwrap_or_default();
    let shown = if whole {
        crate::convergence::rounded_up(&exact, 6)
    } else {
        crate::convergence::rounded_down(&exact, 2)
    };
    decimal::parse(&shown).unwrap_or(exact)
}

impl Remainder {
    /// For each degree a bound of the error at all places of the interval that are, on the same side, not
    /// farther from the center; `None` where nothing is proved.
    pub fn bounds(&self, proved: &Proved, center: f64, x: f64) -> Option<Vec<f64>> {
        let distance = reach(center, (x, x));
        let mut found = if distance < proved.radius {
            proved.bounds(self.unknown, distance)
        } else {
            Vec::new()
        };
        let [left, right] = &self.bounds;
        let way = if x < center { left } else { right };
        // The place is on the interval's side of its rounded distance from the center.
        let near = libm::fabs(x - center);
        let at = way.partition_point(|(end, _)| *end < near);
        let Some((_, own)) = way.get(at) else {
            return (!found.is_empty()).then_some(found);
        };
        found.resize(found.len().max(own.len()), f64::INFINITY);
        for (found, own) in found.iter_mut().zip(own) {
            *found = found.min(*own);
        }
        Some(found)
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
    /// term by term, of what stands behind them by Cauchy's estimate on the best circles in the
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
        // The rest is at most bound·(|t|/rim)^(K + 1): circles that make this least are small.
        let next = own.balls.len();
        let best = reach * count(order) / count(next.saturating_sub(order).max(1));
        let rest = own.tails.iter().map(|(rim, bound)| {
            let circle = best.min(down(*rim, reach));
            if circle > 0.0 {
                let share = up((reach + circle) / rim).min(1.0);
                up(factorial * bound * power(share, next) * power(up(1.0 / circle), order))
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
        let mut powers = vec![Powers::first(middle, reach)];
        while let Some(next) = powers.last().filter(|_| powers.len() < own.balls.len()) {
            powers.push(next.next());
        }
        let mut found = vec![(0.0, f64::INFINITY); own.balls.len()];
        // Of the terms from k + 1 on.
        let (mut sum, mut doubt) = (Jet::ZERO, behind);
        let terms = own.balls.iter().zip(&powers).zip(&mut found).enumerate();
        for (k, (((mid, radius), powers), found)) in terms.rev() {
            let [value, slope, bent] = sum.parts.map(libm::fabs);
            let off = up(doubt + sum.lost(own.balls.len()));
            let curved = half * (slope + half * (bent + half * sum.cubic));
            *found = (down(value, off).max(0.0), up(value + up(curved) + off));
            sum.add(k, *mid, powers);
            doubt += radius * powers.size();
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

/// t for a place on the real axis, and how far the double may be from it.
fn offset(place: &Expr, center: &Expr) -> Option<(f64, f64)> {
    let t = crate::expression::to_f64(&place.sub(center))?;
    Some((t, libm::fabs(t) * 2.0 * f64::EPSILON))
}
