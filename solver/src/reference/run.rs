//! One run: the solution in both directions with one kind of number.

use num_traits::Signed;

use super::Stop;
use super::coefficients::Real;
use super::integrate::{Course, Manner, Path, follow, polynomial};
use crate::budget::Fuel;
use crate::expression::Expr;
use crate::number::{BigFloat, Rational};
use crate::series::{SeriesError, Tape};

/// A solution that can be asked for values.
pub(super) trait Solution {
    /// The value of an unknown at a signed distance from the center; `None` where the run did not
    /// get.
    fn value(&self, unknown: usize, distance: &Rational) -> Option<BigFloat>;
    /// How far the run got to the right or to the left.
    fn covered(&self, right: bool) -> Rational;
    /// Why it got no farther; the place is a signed distance.
    fn stop(&self, right: bool) -> Option<&Stop>;
    /// Number of steps, both directions.
    fn steps(&self) -> usize;
    /// Degree of the steps.
    fn degree(&self) -> usize;
    /// Bits of the numbers.
    fn bits(&self) -> usize;
}

struct Run<C> {
    right: Path<C>,
    left: Path<C>,
    manner: Manner,
}

/// Follows the solution in both directions.
///
/// # Errors
/// When nothing can be solved at the center itself.
pub(super) fn run<C: Real + 'static>(
    tape: &Tape,
    center: &Rational,
    initial: &[Expr],
    manner: Manner,
    (left, right): (&Course, &Course),
    units: u64,
) -> Result<Box<dyn Solution>, SeriesError> {
    let values = initial
        .iter()
        .map(|value| C::from_constant(value, &manner.precision))
        .collect::<Result<Vec<C>, SeriesError>>()?;
    // Each direction has its own half: one that runs out does not starve the other.
    let direction = |course: &Course| {
        let mut fuel = Fuel::new(units / 2);
        follow(tape, center, &values, &manner, course, &mut fuel)
    };
    Ok(Box::new(Run {
        right: direction(right)?,
        left: direction(left)?,
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
