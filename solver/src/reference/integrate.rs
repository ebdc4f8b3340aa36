//! Adaptive Taylor steps from the center in one direction.
//!
//! Step size after À. Jorba & M. Zou, "A software package for the numerical integration of ODEs by
//! means of high-order Taylor methods", Experimental Mathematics 14(1), 2005, section 3: the
//! order is fixed, the radius of convergence is estimated from the last coefficients relative to
//! the size of the solution, and the step is such a fraction of it that the first neglected
//! term is below the tolerance; of a system the worst component decides. Positions are exact dyadic distances from the center.

use num_traits::{Signed, Zero};

use super::barrier::Barrier;
use super::growth::{Growth, RealSingularity, to_f64, to_i32};
use super::{Stop, StopReason};
use crate::budget::Fuel;
use crate::number::Rational;
use crate::number::big_float::Precision;
use crate::series::floats::Real;
use crate::series::tape::Operation;
use crate::series::{SeriesError, Solver, Tape};

/// Bits of a double-double.
pub(super) const DOUBLE_DOUBLE_BITS: usize = 106;

/// How a run goes about it.
#[derive(Clone, Debug)]
pub(super) struct Manner {
    /// Degree of each step's polynomial.
    pub(super) degree: usize,
    /// log₂ of the largest neglected term relative to the solution.
    pub(super) tolerance: f64,
    /// Bits of the numbers.
    pub(super) bits: usize,
    /// Precision of the arithmetic; for double-doubles, of their elementary functions.
    pub(super) precision: Precision,
}

/// What lies ahead in one direction.
#[derive(Clone, Debug)]
pub(super) struct Course {
    /// Towards larger values of the independent variable?
    pub(super) right: bool,
    /// How far from the center, at least zero.
    pub(super) length: Rational,
    /// Distance of the farthest point asked for by name: not given up before it without need.
    pub(super) asked: f64,
    /// A place where the equation itself stops being analytic.
    pub(super) barrier: Option<Barrier>,
}

/// The solution between two places, as a polynomial about the first.
#[derive(Clone, Debug)]
pub(super) struct Step<C> {
    /// Signed exact distance of the polynomial's center from the problem's center.
    pub(super) from: Rational,
    /// Signed exact distance of the end of the step from the problem's center.
    pub(super) to: Rational,
    /// For each unknown the coefficients in powers of the distance from `from`.
    pub(super) coefficients: Vec<Vec<C>>,
}

/// The solution in one direction, as far as it goes.
#[derive(Clone, Debug)]
pub(super) struct Path<C> {
    pub(super) steps: Vec<Step<C>>,
    /// Why the end was not reached; the place is a signed distance from the problem's center.
    pub(super) stop: Option<Stop>,
}

/// Most steps in one direction.
const MOST_STEPS: usize = 4000;

/// A pole is followed until its distance is this fraction of the way to it, …
const NEAR_POLE: f64 = 1.0 / 1024.0;
/// … an end of the domain, where the solution stays bounded and can be drawn, until this …
const NEAR_END: f64 = 1.0 / 16384.0;
/// … and this at most when a point asked for lies closer still.
const NEAREST: f64 = 1e-12;

/// Given up nearer to a barrier than this fraction of the way to it: because of it.
pub(super) const AT_BARRIER: f64 = 1.0 / 64.0;

/// Exponents above this let the solution grow without bound (0 is a logarithm; estimates of it
/// scatter about 0).
const UNBOUNDED: f64 = -0.05;

/// Steps are compared with those so many before.
const SHRINKING_STEPS: usize = 30;

/// The state of the walk.
struct Walk<'a, C: Real> {
    tape: &'a Tape,
    solver: Solver<'a, C>,
    origin: Rational,
    manner: &'a Manner,
    course: &'a Course,
    /// Signed exact distance from the problem's center.
    position: Rational,
    /// Values of y, y′, …, y^(m−1) of each unknown at the position.
    state: Vec<C>,
    /// What a step costs besides the sums of products.
    overhead: u64,
}

/// What an elementary function of a number of 128 bits costs in terms of a sum of products, …
const FUNCTION_UNITS: u64 = 30_000;
/// … and any other operation, with double-doubles and with more precise numbers.
const OPERATION_UNITS: [u64; 2] = [2, 30];
/// Operations per coefficient of a row, when a step is chosen and made.
const ROW_OPERATIONS: u64 = 8;

/// Solves in one direction. `origin` is the problem's center as an exact fraction (or so close to
/// it that the difference does not count), `initial` the values there.
///
/// # Errors
/// When nothing can be solved at the center itself: no values of this kind, or not enough fuel.
pub(super) fn follow<C: Real>(
    tape: &Tape,
    origin: &Rational,
    initial: &[C],
    manner: &Manner,
    course: &Course,
    fuel: &mut Fuel,
) -> Result<Path<C>, SeriesError> {
    let center = C::from_rational(origin, &manner.precision);
    let mut walk = Walk {
        tape,
        solver: Solver::new(tape, &center, initial, manner.precision.clone())?,
        origin: origin.clone(),
        manner,
        course,
        position: Rational::zero(),
        state: initial.to_vec(),
        overhead: overhead(tape, manner),
    };
    let mut path = Path {
        steps: Vec::new(),
        stop: None,
    };
    walk.solver.extend(manner.degree, fuel)?;
    loop {
        let travelled = approximate(&walk.position.abs());
        let growth: Vec<Growth> = walk.solver.all_coefficients().map(Growth::new).collect();
        if growth.iter().any(Growth::is_broken) {
            path.stop = Some(walk.stop(travelled, StopReason::Budget));
            return Ok(path);
        }
        if let Some(stop) = walk.ahead().close_enough(&growth) {
            path.stop = Some(stop);
            return Ok(path);
        }
        let reach = walk.reach();
        let remaining = walk.course.length.clone() - walk.position.abs();
        let (size, last) = walk.step_size(reach, &remaining);
        if size.is_zero() && !last {
            path.stop = Some(walk.stop(travelled, StopReason::Budget));
            return Ok(path);
        }
        if shrinking(&path.steps, approximate(&size), travelled) {
            // A singularity that no test recognised.
            let place = travelled + reach;
            let grows = walk.grows(&path.steps);
            let reason = if grows.is_some() {
                StopReason::Pole
            } else {
                StopReason::DomainEnd
            };
            path.stop = Some(Stop {
                unknown: grows,
                ..walk.stop(place, reason)
            });
            return Ok(path);
        }
        let coefficients: Vec<Vec<C>> = walk.solver.all_coefficients().map(<[C]>::to_vec).collect();
        let rows: Vec<Vec<C>> = (0..tape.states())
            .map(|j| walk.solver.state_coefficients(j).to_vec())
            .collect();
        let from = walk.position.clone();
        let step = |to: Rational| Step {
            from: from.clone(),
            to,
            coefficients: coefficients.clone(),
        };
        match walk.advance(&rows, &size, fuel) {
            Ok(true) => {}
            Ok(false) => {
                // The equation no longer holds there: a root or logarithm changed its branch
                // inside the step, although the solution's series goes on.
                let size = walk.last_good(&rows, &from, size, fuel);
                let to = walk.signed(&from, &size);
                let place = approximate(&to.abs());
                path.steps.push(step(to));
                path.stop = Some(walk.stop(place, StopReason::DomainEnd));
                return Ok(path);
            }
            Err(SeriesError::Exhausted) => {
                path.stop = Some(walk.stop(travelled, StopReason::Budget));
                return Ok(path);
            }
            Err(_) => {
                path.stop = Some(walk.stop(travelled, StopReason::DomainEnd));
                return Ok(path);
            }
        }
        path.steps.push(step(walk.position.clone()));
        if last {
            return Ok(path);
        }
        if path.steps.len() >= MOST_STEPS || walk.solver.extend(manner.degree, fuel).is_err() {
            let place = approximate(&walk.position.abs());
            path.stop = Some(walk.stop(place, StopReason::Budget));
            return Ok(path);
        }
    }
}

/// What a step costs besides the sums of products, which the series count.
fn overhead(tape: &Tape, manner: &Manner) -> u64 {
    let functions = tape
        .operations()
        .iter()
        .filter(|operation| {
            matches!(
                operation,
                Operation::Chain { .. } | Operation::ChainQuotient { .. } | Operation::Power { .. }
            )
        })
        .count() as u64;
    let [quick, slow] = OPERATION_UNITS;
    let each = if manner.bits > DOUBLE_DOUBLE_BITS {
        slow
    } else {
        quick
    };
    let rows = ROW_OPERATIONS.saturating_mul(tape.states() as u64);
    (manner.degree as u64)
        .saturating_mul((tape.len() as u64).saturating_add(rows))
        .saturating_mul(each)
        .saturating_add(
            functions.saturating_mul(FUNCTION_UNITS * manner.precision.bits() as u64 / 128),
        )
}

/// What lies ahead of a walk.
pub(super) struct Ahead<'a> {
    pub(super) course: &'a Course,
    /// Distance from the center so far.
    pub(super) travelled: f64,
}

impl Ahead<'_> {
    /// The stop at a distance from the center; at the barrier, if that is where it seems to be:
    /// there the equation is the reason, whatever the values do.
    pub(super) fn stop(&self, distance: f64, reason: StopReason) -> Stop {
        let travelled = self.travelled;
        let barrier = self.course.barrier.as_ref().filter(|barrier| {
            let left = libm::fabs(barrier.distance - travelled);
            let near = libm::fabs(distance - barrier.distance) <= 0.5 * left;
            near || left <= AT_BARRIER * barrier.distance
        });
        let (distance, reason, place) = barrier.map_or((distance, reason, None), |barrier| {
            (barrier.distance, barrier.reason, barrier.place.clone())
        });
        Stop {
            right: self.course.right,
            x: if self.course.right {
                distance
            } else {
                -distance
            },
            place,
            reason,
            between: None,
            unknown: None,
        }
    }

    /// A singularity on the way, estimated.
    pub(super) fn singularity(&self, growth: &Growth) -> Option<RealSingularity> {
        growth
            .real_singularity()
            .filter(|found| found.doubt < 0.01 && (found.distance > 0.0) == self.course.right)
    }

    /// Is a singularity ahead so near that the solution need not be followed further? The first
    /// unknown that shows one is named.
    pub(super) fn close_enough(&self, growth: &[Growth]) -> Option<Stop> {
        growth.iter().enumerate().find_map(|(unknown, growth)| {
            let stop = self.close_to(growth)?;
            Some(Stop {
                unknown: stop.unknown.map(|_| unknown),
                ..stop
            })
        })
    }

    /// The same for one unknown.
    fn close_to(&self, growth: &Growth) -> Option<Stop> {
        let travelled = self.travelled;
        let ahead = self.singularity(growth);
        let reason = |found: &RealSingularity| {
            if found.exponent > UNBOUNDED {
                StopReason::Pole
            } else {
                StopReason::DomainEnd
            }
        };
        if let Some(barrier) = &self.course.barrier {
            let left = barrier.distance - travelled;
            if left <= self.nearness(NEAR_END, travelled, barrier.distance) {
                return Some(self.stop(barrier.distance, barrier.reason));
            }
            // Rounding errors, too, grow like a solution that is singular at the barrier: what
            // seems to lie near it is it.
            let seen = ahead.map_or(0.0, |found| libm::fabs(found.distance) / left);
            if seen > 0.5 {
                return None;
            }
        }
        let found = ahead?;
        let left = libm::fabs(found.distance);
        let place = travelled + left;
        let near = match reason(&found) {
            StopReason::Pole => NEAR_POLE,
            _ => NEAR_END,
        };
        (left <= self.nearness(near, travelled, place)).then(|| Stop {
            unknown: Some(0),
            ..self.stop(place, reason(&found))
        })
    }

    /// How near to a singularity at distance `place` from the center the walk goes.
    fn nearness(&self, fraction: f64, travelled: f64, place: f64) -> f64 {
        let asked = self.course.asked;
        if asked > travelled && asked < place {
            (NEAREST * place)
                .max(0.5 * (place - asked))
                .min(fraction * place)
        } else {
            fraction * place
        }
    }

    /// How far a step may go at most because of what the equation itself does.
    pub(super) fn limit(&self) -> f64 {
        let barrier = self.course.barrier.as_ref();
        barrier.map_or(f64::INFINITY, |barrier| {
            0.5 * (barrier.distance - self.travelled)
        })
    }
}

impl<C: Real> Walk<'_, C> {
    fn ahead(&self) -> Ahead<'_> {
        Ahead {
            course: self.course,
            travelled: approximate(&self.position.abs()),
        }
    }

    /// The stop at a distance from the center.
    fn stop(&self, distance: f64, reason: StopReason) -> Stop {
        self.ahead().stop(distance, reason)
    }

    /// `from` and then `size` further in the direction of the walk.
    fn signed(&self, from: &Rational, size: &Rational) -> Rational {
        if self.course.right {
            from + size
        } else {
            from - size
        }
    }

    /// Which unknown has grown a thousandfold in the last steps?
    fn grows(&self, steps: &[Step<C>]) -> Option<usize> {
        let before = &steps.iter().rev().nth(SHRINKING_STEPS)?.coefficients;
        let blocks = self.tape.blocks().iter().zip(before);
        blocks
            .enumerate()
            .find_map(|(unknown, ((start, _), before))| {
                let size = self.state.get(*start)?.log2_abs() - before.first()?.log2_abs();
                (size > 10.0).then_some(unknown)
            })
    }

    fn reach(&self) -> f64 {
        let rows: Vec<&[C]> = (0..self.tape.states())
            .map(|j| self.solver.state_coefficients(j))
            .collect();
        let largest = self.tape.blocks().iter().map(|block| block.1).max();
        let degree = self
            .manner
            .degree
            .saturating_sub(largest.unwrap_or(1).saturating_sub(1));
        reach(&rows, degree, self.manner.tolerance)
    }

    /// The step, and whether it reaches the end. Dyadic with four bits, so that positions stay
    /// short.
    fn step_size(&self, reach: f64, remaining: &Rational) -> (Rational, bool) {
        let limit = reach.min(self.ahead().limit());
        // NaN (no sign of a limit) compares false.
        if limit >= approximate(remaining) {
            return (remaining.clone(), true);
        }
        (short(limit), false)
    }

    /// Goes on by `size`: evaluates the rows there and starts the next series with the values.
    /// False when the equation is violated there.
    fn advance(
        &mut self,
        rows: &[Vec<C>],
        size: &Rational,
        fuel: &mut Fuel,
    ) -> Result<bool, SeriesError> {
        let precision = &self.manner.precision;
        let signed = self.signed(&Rational::zero(), size);
        let t = C::from_rational(&signed, precision);
        self.position = &self.position + &signed;
        let count = rows.iter().map(Vec::len).max().unwrap_or(0);
        let powers = falling_powers(&t, count, precision);
        self.state = rows
            .iter()
            .map(|row| value_at(row, &powers, precision))
            .collect();
        if !self.state.iter().all(Real::is_finite) {
            return Err(SeriesError::Exhausted);
        }
        fuel.spend(self.overhead)?;
        let center = C::from_rational(&(&self.origin + &self.position), precision);
        self.solver.restart(&center, &self.state)?;
        self.solver.extend(self.tape.least_order(), fuel)?;
        let largest = self.state.iter().map(Real::log2_abs);
        let largest = largest.fold(f64::NEG_INFINITY, f64::max);
        for &(start, order) in self.tape.blocks() {
            // y^(m) by the equation and by the polynomial.
            let index = (start + order).saturating_sub(1);
            let top = rows.get(index).map_or(&[][..], Vec::as_slice);
            let slope = value_at(&derivative(top, precision), &powers, precision);
            let Some(by_equation) = self.solver.state_coefficients(index).get(1) else {
                continue;
            };
            if !(by_equation.is_finite() && slope.is_finite()) {
                // Too large for this kind of number.
                return Err(SeriesError::Exhausted);
            }
            let difference = by_equation.sub(&slope, precision).log2_abs();
            let size = by_equation.log2_abs().max(slope.log2_abs());
            let noise = size.max(largest) - 60.0;
            if difference > (size - 24.0).max(noise) && !size.is_infinite() {
                return Ok(false);
            }
        }
        Ok(true)
    }

    /// Halves the last step until its end obeys the equation, to about one part in a million.
    fn last_good(
        &mut self,
        rows: &[Vec<C>],
        from: &Rational,
        size: Rational,
        fuel: &mut Fuel,
    ) -> Rational {
        let (mut good, mut bad) = (Rational::zero(), size);
        for _ in 0..20 {
            let middle = (&good + &bad) / Rational::from_integer(2.into());
            self.position = from.clone();
            if matches!(self.advance(rows, &middle, fuel), Ok(true)) {
                good = middle;
            } else {
                bad = middle;
            }
        }
        good
    }
}

/// Over which distance the polynomials of y, y′, …, y^(m−1) are good to the tolerance (log₂).
pub(super) fn reach<C: Real>(rows: &[&[C]], degree: usize, tolerance: f64) -> f64 {
    // Size of the state's k-th coefficients.
    let sizes: Vec<f64> = (0..=degree)
        .map(|k| {
            rows.iter()
                .filter_map(|row| row.get(k))
                .map(Real::log2_abs)
                .fold(f64::NEG_INFINITY, f64::max)
        })
        .collect();
    let window = degree - degree / 4;
    let mut log_reach = 0.0;
    // A fixed point: the size of the solution over the step depends on the step.
    for _ in 0..6 {
        let scale = sizes
            .iter()
            .take(degree / 2)
            .enumerate()
            .map(|(k, size)| size + to_f64(k) * log_reach)
            .fold(f64::NEG_INFINITY, f64::max);
        let log_radius = sizes
            .iter()
            .enumerate()
            .skip(window)
            .map(|(k, size)| (scale - size) / to_f64(k))
            .fold(f64::INFINITY, f64::min);
        if !log_radius.is_finite() {
            return f64::INFINITY;
        }
        log_reach = log_radius + tolerance / to_f64(degree);
    }
    libm::exp2(log_reach)
}

/// Are steps a tiny fraction of the way, and still falling?
fn shrinking<C>(steps: &[Step<C>], size: f64, travelled: f64) -> bool {
    let Some(earlier) = steps.iter().rev().nth(SHRINKING_STEPS) else {
        return false;
    };
    let earlier = approximate(&(&earlier.to - &earlier.from).abs());
    size < 1e-6 * travelled && size < 0.25 * earlier
}

/// `t^(count−1), …, t, 1`.
pub(super) fn falling_powers<C: Real>(t: &C, count: usize, precision: &Precision) -> Vec<C> {
    let mut powers = Vec::with_capacity(count);
    let mut power = C::from_rational(&Rational::from_integer(1.into()), precision);
    for _ in 0..count {
        powers.push(power.clone());
        power = power.mul(t, precision);
    }
    powers.reverse();
    powers
}

/// The value of a polynomial, from at least as many falling powers as it has coefficients.
pub(super) fn value_at<C: Real>(coefficients: &[C], powers: &[C], precision: &Precision) -> C {
    let zero = C::from_rational(&Rational::zero(), precision);
    let first = powers.len().saturating_sub(coefficients.len());
    C::convolve(
        zero,
        coefficients,
        powers.get(first..).unwrap_or(&[]),
        precision,
    )
}

/// The value of a polynomial at `t`.
pub(super) fn polynomial<C: Real>(coefficients: &[C], t: &C, precision: &Precision) -> C {
    let powers = falling_powers(t, coefficients.len(), precision);
    value_at(coefficients, &powers, precision)
}

/// Coefficients of the derivative.
pub(super) fn derivative<C: Real>(coefficients: &[C], precision: &Precision) -> Vec<C> {
    coefficients
        .iter()
        .zip(0_i64..)
        .skip(1)
        .map(|(c, k)| c.scale(k, 1, precision))
        .collect()
}

/// The nearest double.
pub(super) fn approximate(value: &Rational) -> f64 {
    crate::number::to_f64(value)
}

/// The largest fraction m/2^e with m < 16 that is not above a positive double; zero below 2^-900.
pub(super) fn short(value: f64) -> Rational {
    if !(value.is_finite() && value > libm::ldexp(1.0, -900)) {
        return Rational::zero();
    }
    let (mantissa, exponent) = libm::frexp(value);
    let digits = num_bigint::BigInt::from(to_i32(libm::floor(mantissa * 16.0)));
    let shift = exponent - 4;
    let power = num_bigint::BigInt::from(1) << shift.unsigned_abs();
    if shift >= 0 {
        Rational::from_integer(digits * power)
    } else {
        Rational::new(digits, power)
    }
}
