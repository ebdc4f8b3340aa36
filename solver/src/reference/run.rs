//! One run: the solution in both directions with one kind of number.

use num_traits::Signed;

use super::Stop;
use super::integrate::{self, Course, Manner, Path, follow, polynomial};
use super::start::Start;
use crate::budget::Fuel;
use crate::enclosed::Stretch;
use crate::enclosed::walk::Enclosed;
use crate::expression::Expr;
use crate::number::{BigFloat, Rational};
use crate::series::floats::Real;
use crate::series::{SeriesError, Tape};

/// A solution that can be asked for values.
pub(super) trait Solution {
    /// The value of an unknown at a signed distance from the center; `None` where the run did not
    /// get.
    fn value(&self, unknown: usize, distance: &Rational) -> Option<BigFloat>;
    /// The value with a proved bound of its error, where there is one.
    fn enclosed(&self, _unknown: usize, _distance: &Rational) -> Option<Enclosed> {
        None
    }
    /// One unknown over the enclosed steps, those to the left first, each way from the center.
    fn stretches(&self, _unknown: usize) -> Vec<Stretch> {
        Vec::new()
    }

    /// About the value, for drawing; "not a number" where the run did not get.
    fn about(&self, unknown: usize, distance: &Rational) -> f64 {
        self.value(unknown, distance)
            .map_or(f64::NAN, |value| value.to_f64())
    }
    /// How far the run got to the right or to the left.
    fn covered(&self, right: bool) -> Rational;
    /// Why it got no farther; the place is a signed distance.
    fn stop(&self, right: bool) -> Option<&Stop>;
    /// Where a function of y, y′, …, y^(m) first changes its sign: how far from the center.
    fn sign_change(&self, right: bool, m: usize, value: Function<'_>) -> Option<f64>;
    /// Number of steps, both directions.
    fn steps(&self) -> usize;
    /// Degree of the steps.
    fn degree(&self) -> usize;
    /// Bits of the numbers.
    fn bits(&self) -> usize;
}

/// Of the signed distance and the derivatives there.
pub(super) type Function<'a> = &'a dyn Fn(&Rational, &[BigFloat]) -> Option<f64>;

/// A path is sampled at so many places at least, and each step so many times.
const SAMPLED: usize = 200;
const IN_A_STEP: usize = 8;

struct Run<C> {
    right: Path<C>,
    left: Path<C>,
    manner: Manner,
}

/// Follows the solution in both directions; `units` of work are there, and what was used is taken off.
///
/// # Errors
/// When nothing can be solved at the center itself.
pub(super) fn run<C: Real + 'static>(
    tape: &Tape,
    center: &Rational,
    (initial, start): (&[Expr], Option<&Start>),
    manner: Manner,
    (left, right): (&Course, &Course),
    units: &mut u64,
) -> Result<Box<dyn Solution>, SeriesError> {
    let values = initial
        .iter()
        .map(|value| C::from_constant(value, &manner.precision))
        .collect::<Result<Vec<C>, SeriesError>>()?;
    // Each direction has its own half: one that runs out does not starve the other.
    let half = *units / 2;
    let mut direction = |course: &Course| {
        let mut fuel = Fuel::new(half);
        let path = match start {
            Some(start) => start.follow(tape, center, &manner, course, &mut fuel),
            None => follow(tape, center, &values, &manner, course, &mut fuel),
        };
        *units -= half - fuel.left();
        path
    };
    let (right, left) = (direction(right)?, direction(left)?);
    Ok(Box::new(Run {
        right,
        left,
        manner,
    }))
}

impl<C> Run<C> {
    fn path(&self, right: bool) -> &Path<C> {
        if right { &self.right } else { &self.left }
    }
}

impl<C: Real> Solution for Run<C> {
    fn value(&self, unknown: usize, distance: &Rational) -> Option<BigFloat> {
        let steps = &self.path(!distance.is_negative()).steps;
        let magnitude = distance.abs();
        let at = steps.partition_point(|step| step.to.abs() < magnitude);
        let step = steps.get(at)?;
        let t = C::from_rational(&(distance - &step.from), &self.manner.precision);
        let coefficients = step.coefficients.get(unknown)?;
        let value = polynomial(coefficients, &t, &self.manner.precision);
        value.is_finite().then(|| value.to_big())
    }

    fn covered(&self, right: bool) -> Rational {
        self.path(right)
            .steps
            .last()
            .map_or_else(|| Rational::from_integer(0.into()), |step| step.to.abs())
    }

    fn stop(&self, right: bool) -> Option<&Stop> {
        self.path(right).stop.as_ref()
    }

    fn sign_change(&self, right: bool, m: usize, value: Function<'_>) -> Option<f64> {
        let precision = &self.manner.precision;
        let steps = &self.path(right).steps;
        let each = IN_A_STEP.max(SAMPLED / steps.len().max(1));
        let mut before: Option<f64> = None;
        for step in steps {
            let mut rows: Vec<Vec<C>> = step.coefficients.iter().take(1).cloned().collect();
            for _ in 0..m {
                let next = rows.last().map(|row| integrate::derivative(row, precision));
                rows.extend(next);
            }
            let at = |place: &Rational| {
                let t = C::from_rational(&(place - &step.from), precision);
                let rows = rows.iter();
                let values: Vec<BigFloat> = rows
                    .map(|row| polynomial(row, &t, precision).to_big())
                    .collect();
                value(place, &values)
            };
            let part = |share: usize| {
                let share = Rational::new(share.into(), each.into());
                &step.from + (&step.to - &step.from) * share
            };
            for share in 0..=each {
                let mut far = part(share);
                let now = at(&far)?;
                if before.is_some_and(|before| (before > 0.0) != (now > 0.0)) {
                    let mut near = part(share.saturating_sub(1));
                    for _ in 0..40 {
                        let middle = (&near + &far) / Rational::from_integer(2.into());
                        if (at(&middle)? > 0.0) == (now > 0.0) {
                            far = middle;
                        } else {
                            near = middle;
                        }
                    }
                    return Some(integrate::approximate(&far.abs()));
                }
                before = Some(now);
            }
        }
        None
    }

    fn steps(&self) -> usize {
        self.right.steps.len() + self.left.steps.len()
    }

    fn degree(&self) -> usize {
        self.manner.degree
    }

    fn bits(&self) -> usize {
        self.manner.bits
    }
}
