//! The enclosed solution in both directions, with one kind of number.
//!
//! What is proved is in [`crate::enclosed`]. Why a direction ends is an estimate, found from the growth
//! of the coefficients as in the other runs, unless a bracket of a pole stands beside it.

use num_traits::{Signed, Zero};

use super::growth::Growth;
use super::integrate::{Ahead, Course, approximate, short};
use super::pole::Proof;
use super::run::{Function, Solution};
use super::{Stop, StopReason};
use crate::budget::Fuel;
use crate::enclosed::walk::{Begin, Enclosed, Segment, Walker};
use crate::enclosed::{Arithmetic, SingularCenter, Stretch};
use crate::number::{BigFloat, Rational};
use crate::series::floats::Real;
use crate::series::{SeriesError, Tape};

/// Most steps in one direction.
const MOST_STEPS: usize = 4000;
/// Steps are compared with those so many before …
const SHRINKING_STEPS: usize = 12;
/// … and have come to an end when they are such a fraction of the way.
const SHORT: f64 = 1e-5;
/// What the coefficients see within so many such steps is what makes them short.
const IN_SIGHT: f64 = 100.0;
/// With fewer certain bits the solution is not followed.
const LEAST_BITS: f64 = 12.0;

/// One direction.
struct Path<C> {
    segments: Vec<Segment<C>>,
    stop: Option<Stop>,
}

/// Both directions.
struct Run<C> {
    right: Path<C>,
    left: Path<C>,
    arithmetic: Arithmetic,
    bits: usize,
    orders: usize,
}

/// What a direction starts from, besides its course.
#[derive(Clone, Copy)]
pub(super) struct Setting<'a> {
    pub(super) begin: &'a Begin<'a>,
    /// In place of initial values.
    pub(super) singular: Option<&'a SingularCenter<'a>>,
    pub(super) proof: &'a Proof,
}

/// Follows the solution in both directions; what is used of the `units` of work is taken off.
///
/// # Errors
/// When nothing is proved at the center itself.
pub(super) fn run<C: Real + 'static>(
    tape: &Tape,
    setting: Setting<'_>,
    (left, right): (&Course, &Course),
    units: &mut u64,
) -> Result<Box<dyn Solution>, SeriesError> {
    // The shorter direction may take half: one that runs out does not starve the other.
    let half = *units / 2;
    let mut direction = |course: &Course, kept: u64| {
        let mut fuel = Fuel::new(units.saturating_sub(kept));
        let path = follow::<C>(tape, setting, course, &mut fuel);
        *units = (*units).min(kept) + fuel.left();
        path
    };
    let (right, left) = if left.length < right.length {
        let left = direction(left, half)?;
        (direction(right, 0)?, left)
    } else {
        (direction(right, half)?, direction(left, 0)?)
    };
    Ok(Box::new(Run {
        right,
        left,
        arithmetic: Arithmetic::new(setting.begin.bits, 0),
        bits: setting.begin.bits,
        orders: setting.begin.orders,
    }))
}

fn follow<C: Real>(
    tape: &Tape,
    setting: Setting<'_>,
    course: &Course,
    fuel: &mut Fuel,
) -> Result<Path<C>, SeriesError> {
    let Setting { begin, proof, .. } = setting;
    let mut segments: Vec<Segment<C>> = Vec::new();
    let mut walker: Walker<'_, C> = match setting.singular {
        None => Walker::new(tape, begin)?,
        Some(_) if !course.length.is_positive() => {
            return Ok(Path {
                segments,
                stop: None,
            });
        }
        Some(center) => {
            let (segment, walker) = first_step(tape, center, begin, course, fuel)?;
            segments.push(segment);
            walker
        }
    };
    let stop = loop {
        let remaining = &course.length - walker.position.abs();
        if !remaining.is_positive() {
            break None;
        }
        let ahead = Ahead {
            course,
            travelled: approximate(&walker.position.abs()),
        };
        let travelled = ahead.travelled;
        match walker.expand(fuel) {
            Ok(()) => {}
            Err(error) if segments.is_empty() => return Err(error),
            Err(SeriesError::Undefined(_)) => {
                break Some(ahead.stop(travelled, StopReason::Unproved));
            }
            Err(_) => break Some(ahead.stop(travelled, StopReason::Budget)),
        }
        let growth: Vec<Growth> = (0..tape.blocks().len())
            .map(|unknown| Growth::new(walker.mids(unknown)).stretched(walker.scale()))
            .collect();
        if growth.iter().any(Growth::is_broken) || segments.len() >= MOST_STEPS {
            break Some(ahead.stop(travelled, StopReason::Budget));
        }
        if let Some(mut stop) = ahead.close_enough(&growth) {
            if stop.reason == StopReason::Pole {
                let seen = (course.right, stop.x.abs(), stop.unknown.unwrap_or(0));
                if let Some(found) = proof.places(&mut walker, begin.origin, seen, fuel) {
                    stop.between = Some(found.between);
                    stop.unknown = Some(found.unknown);
                }
            }
            break Some(stop);
        }
        if walker.certain_bits() < LEAST_BITS {
            break Some(ahead.stop(travelled, StopReason::LostDigits));
        }
        let limit = ahead.limit();
        let limit = if limit < approximate(&remaining) {
            short(limit)
        } else {
            remaining
        };
        let Some(reach) = walker.reach(&limit, &short) else {
            break Some(ahead.stop(travelled, StopReason::Unproved));
        };
        if let Some(stop) = ended(&segments, &ahead, &growth, approximate(&reach.length)) {
            break Some(stop);
        }
        fuel.spend(walker.overhead())?;
        match walker.advance(&reach, course.right) {
            Some(segment) => segments.push(segment),
            None => break Some(ahead.stop(travelled, StopReason::Budget)),
        }
    };
    if segments.is_empty() && stop.is_some() {
        return Err(SeriesError::Exhausted);
    }
    Ok(Path { segments, stop })
}

/// The first step from a singular center, and the walk on from its end.
fn first_step<'tape, C: Real>(
    tape: &'tape Tape,
    center: &SingularCenter<'_>,
    begin: &Begin<'_>,
    course: &Course,
    fuel: &mut Fuel,
) -> Result<(Segment<C>, Walker<'tape, C>), SeriesError> {
    let mut walker: Walker<'_, C> = Walker::singular(center, begin)?;
    walker.expand(fuel)?;
    fuel.spend(walker.overhead())?;
    let ahead = Ahead {
        course,
        travelled: 0.0,
    };
    let limit = ahead.limit();
    let limit = if limit < approximate(&course.length) {
        short(limit)
    } else {
        course.length.clone()
    };
    let found = walker.reach(&limit, &short).and_then(|reach| {
        let segment = walker.advance(&reach, course.right)?;
        Some((segment, walker.left(tape, begin.origin)?))
    });
    found.ok_or(SeriesError::Undecided)
}

/// Steps that become ever shorter: something singular, or the edge of what the equation is defined for,
/// lies just ahead: where the coefficients see it, else a step further.
fn ended<C>(
    segments: &[Segment<C>],
    ahead: &Ahead<'_>,
    growth: &[Growth],
    size: f64,
) -> Option<Stop> {
    let earlier = segments.iter().rev().nth(SHRINKING_STEPS)?;
    let earlier = approximate(&(&earlier.to - &earlier.from).abs());
    if size >= SHORT * ahead.travelled || size >= 0.25 * earlier {
        return None;
    }
    let seen = growth.iter().filter_map(|growth| ahead.singularity(growth));
    let left = seen
        .map(|found| found.distance.abs())
        .filter(|left| *left < IN_SIGHT * size)
        .reduce(f64::min);
    Some(ahead.stop(
        ahead.travelled + left.unwrap_or(size),
        StopReason::DomainEnd,
    ))
}

impl<C> Run<C> {
    fn path(&self, right: bool) -> &Path<C> {
        if right { &self.right } else { &self.left }
    }
}

impl<C: Real> Solution for Run<C> {
    fn value(&self, unknown: usize, distance: &Rational) -> Option<BigFloat> {
        Some(self.enclosed(unknown, distance)?.mid)
    }

    fn enclosed(&self, unknown: usize, distance: &Rational) -> Option<Enclosed> {
        let segments = &self.path(!distance.is_negative()).segments;
        let magnitude = distance.abs();
        let about = approximate(&magnitude);
        let at = segments.partition_point(|segment| segment.ends_before(&magnitude, about));
        segments.get(at)?.value(unknown, distance, &self.arithmetic)
    }

    fn stretches(&self, unknown: usize) -> Vec<Stretch> {
        let both = [&self.left, &self.right].into_iter();
        let segments = both.flat_map(|path| &path.segments);
        segments
            .filter_map(|segment| Stretch::of(segment, unknown))
            .collect()
    }

    fn about(&self, unknown: usize, distance: &Rational) -> f64 {
        let segments = &self.path(!distance.is_negative()).segments;
        let own = approximate(distance);
        let at = segments.partition_point(|segment| segment.end().abs() < own.abs());
        let found = segments.get(at).or_else(|| segments.last());
        found.map_or(f64::NAN, |segment| segment.about(unknown, own))
    }

    fn covered(&self, right: bool) -> Rational {
        self.path(right)
            .segments
            .last()
            .map_or_else(Rational::zero, |segment| segment.to.abs())
    }

    fn stop(&self, right: bool) -> Option<&Stop> {
        self.path(right).stop.as_ref()
    }

    fn sign_change(&self, _: bool, _: usize, _: Function<'_>) -> Option<f64> {
        None
    }

    fn steps(&self) -> usize {
        self.right.segments.len() + self.left.segments.len()
    }

    fn degree(&self) -> usize {
        self.orders
    }

    fn bits(&self) -> usize {
        self.bits
    }
}
