//! Runs of rising precision: enclosures, and what cannot be enclosed compared in pairs until enough
//! digits agree.

mod enclosures;
mod pair;

use num_traits::{Signed, Zero};

use super::agree::Agreed;
use super::barrier::Barrier;
use super::fuchs::Fuchs;
use super::growth::Growth;
use super::implicit::{self, Explicit};
use super::integrate::{AT_BARRIER, Course, DOUBLE_DOUBLE_BITS, Manner, approximate};
use super::places::{self, Place};
use super::pole::Proof;
use super::run::{Solution, run};
use super::start::Start;
use super::{
    Aim, DIGITS, Evidence, Point, Reference, SHOWN_DIGITS, Stop, StopReason, barrier, both_stopped,
    place,
};
use crate::budget::{Budget, Fuel};
use crate::expression::Expr;
use crate::number::big_float::Precision;
use crate::number::{BigFloat, DoubleDouble, Rational};
use crate::problem::{OrderByOrder, Problem};
use crate::series::floats::Real;
use crate::series::{Solver, Tape};
use pair::{compare, held_back, nearer_stop};

/// One kind of run. Neighbouring ones differ in step, order and precision: agreement of
/// precisions alone would show rounding, not truncation.
struct Level {
    /// Bits; 0 stands for double-doubles.
    bits: usize,
    degree: usize,
    tolerance: f64,
    /// Per cent of the budget's steps: one takes about two nanoseconds here.
    share: u64,
}

/// From about 27 digits per step to about 80.
const LEVELS: [Level; 5] = [
    Level {
        bits: 0,
        degree: 30,
        tolerance: -92.0,
        share: 200,
    },
    Level {
        bits: 128,
        degree: 36,
        tolerance: -104.0,
        share: 400,
    },
    Level {
        bits: 192,
        degree: 52,
        tolerance: -160.0,
        share: 350,
    },
    Level {
        bits: 288,
        degree: 76,
        tolerance: -250.0,
        share: 350,
    },
    Level {
        bits: 400,
        degree: 104,
        tolerance: -360.0,
        share: 350,
    },
];

/// Per cent of the budget's steps that all runs of one problem may take together, …
const ALL_RUNS: u64 = 560;
/// … and with fewer left no other run is begun.
const LEAST_SHARE: u64 = 40;

/// Coefficients at the center that are looked at for the radius of convergence, at least; and how
/// many beyond the polynomial's degree.
const EXPANSION: usize = 96;
const BEYOND_DEGREE: usize = 46;
/// With fewer digits than this in comparison with the solution nearby nothing is drawn.
const NEEDED: f64 = 4.0;
/// Most places added where the curve bends.
const MOST_ADDED: usize = 300;

/// Everything that the runs share.
pub(super) struct Work {
    tape: Tape,
    initial: Vec<Expr>,
    /// In place of initial values at a singular center.
    start: Option<Start>,
    /// How the solution is enclosed there.
    fuchs: Option<Fuchs>,
    center: Rational,
    ends: (Rational, Rational),
    asked: Vec<(usize, Place)>,
    left: Course,
    right: Course,
    /// For each unknown.
    radius: Vec<Option<f64>>,
    expansion: Vec<Vec<BigFloat>>,
    /// Digits wanted.
    digits: u32,
    /// How poles are proved.
    proof: Proof,
}

/// A place and what is known there of each unknown.
struct Sample {
    place: Place,
    asked: Option<usize>,
    agreed: Vec<Option<Agreed>>,
}

impl Work {
    /// Compiles the equation, chooses the interval and looks for what lies on the way. `None` when
    /// there is nothing to work with.
    pub(super) fn prepare(
        problem: &Problem,
        ends: Option<(Rational, Rational)>,
        asked: Vec<(usize, Rational)>,
        aim: Aim,
        budget: &Budget,
    ) -> Option<Self> {
        let degree = aim.degree;
        if problem.order_by_order() == Some(OrderByOrder::NotLinear) {
            let Explicit { problem, separant } = implicit::explicit(problem)?;
            let mut work = Self::prepare(&problem, ends, asked, aim, budget)?;
            work.stop_at_branching(&separant, budget);
            return Some(work);
        }
        let start = match problem.order_by_order() {
            Some(_) => Some(Start::of(problem, budget)?),
            None => None,
        };
        let initial = problem.initial.concat();
        let solved: Vec<Expr> = problem
            .equations
            .iter()
            .flat_map(|equation| equation.solved.iter().cloned())
            .collect();
        let tape = Tape::of_problem(problem).ok()?;
        let proof = Proof::of(problem, &tape);
        let fuchs = start.as_ref().and_then(|_| Fuchs::of(problem));
        let center = place(&problem.center)?;
        let count = EXPANSION.max(degree + BEYOND_DEGREE);
        let mut units = Fuel::new(budget.steps / 4);
        let expansion = match &start {
            Some(start) => {
                let precision = Precision::new(128);
                vec![start.series(&center, count, &precision, &mut units).ok()?]
            }
            None => expand::<DoubleDouble>(&tape, &center, &initial, count, &mut units)
                .filter(|all| all.iter().all(|series| series.len() > count))
                .or_else(|| expand::<BigFloat>(&tape, &center, &initial, count, &mut units))?,
        };
        let radius: Vec<Option<f64>> = expansion
            .iter()
            .map(|series| Growth::new(series).radius())
            .collect();
        let ends = match ends {
            Some((a, b)) if a <= b => (a, b),
            Some((a, b)) => (b, a),
            None => {
                let widths = expansion.iter().zip(&radius).map(|(series, radius)| {
                    let logs: Vec<f64> = series.iter().map(Real::log2_abs).collect();
                    places::default_half_width(*radius, &logs, degree)
                });
                let half = widths.min()?;
                (&center - &half, &center + &half)
            }
        };
        let asked: Vec<(usize, Place)> = asked
            .into_iter()
            .map(|(index, x)| (index, Place::new(x, &center)))
            .collect();
        let course = |right: bool| {
            let along = |distance: Rational| if right { distance } else { -distance };
            let farthest_asked = asked
                .iter()
                .map(|(_, place)| along(place.distance.clone()))
                .fold(Rational::zero(), Ord::max);
            let end = along(if right { &ends.1 } else { &ends.0 } - &center);
            let length = end.max(farthest_asked.clone()).max(Rational::zero());
            Course {
                right,
                barrier: match &start {
                    Some(_) => barrier::beyond(&solved, &center, &length, right),
                    None => barrier::nearest(&solved, &center, &length, right),
                },
                asked: approximate(&farthest_asked),
                length,
            }
        };
        Some(Self {
            left: course(false),
            right: course(true),
            tape,
            initial,
            start,
            fuchs,
            center,
            ends,
            asked,
            radius,
            expansion,
            digits: aim.digits,
            proof,
        })
    }

    /// Encloses the solution; what cannot be enclosed is estimated.
    pub(super) fn solve(
        &mut self,
        budget: &Budget,
        progress: &mut dyn FnMut(u32) -> bool,
    ) -> Vec<Reference> {
        let mut left = budget.steps / 100 * ALL_RUNS;
        let Some(found) = self.enclose(budget, &mut left, progress) else {
            return self.compared(budget, left, None, progress);
        };
        let whole = [false, true].into_iter().all(|right| {
            let stop = found.run.stop(right).map(|stop| stop.reason);
            !matches!(
                stop,
                Some(StopReason::Unproved | StopReason::LostDigits | StopReason::Budget)
            )
        });
        if !whole {
            return self.compared(budget, left, Some(found.run.as_ref()), progress);
        }
        let stops = [false, true].map(|right| found.run.stop(right).cloned());
        self.answer(
            &found.samples,
            stops,
            (Some(found.evidence()), Some(found.run.as_ref())),
        )
    }

    /// Runs pairs of rising precision; where something is proved, that stands.
    fn compared(
        &self,
        budget: &Budget,
        mut left: u64,
        proved: Option<&dyn Solution>,
        progress: &mut dyn FnMut(u32) -> bool,
    ) -> Vec<Reference> {
        let mut samples: Vec<Sample> = Vec::new();
        let mut coarse: Option<Box<dyn Solution>> = None;
        let mut evidence = None;
        let mut stops = [None, None];
        let mut reached = [0.0, 0.0];
        let mut farthest = [0.0_f64, 0.0];
        for (done, level) in (1_u32..).zip(&LEVELS) {
            if left < budget.steps / 100 * LEAST_SHARE {
                break;
            }
            let Some(fine) = self.run(level, budget, &mut left) else {
                // Overflow, or out of budget at the very start: the next kind may do.
                continue;
            };
            if let Some(coarse) = &coarse {
                let now = [false, true]
                    .map(|right| approximate(&coarse.covered(right).min(fine.covered(right))));
                // The first pair, or one that gets farther than those before it.
                let farther = now.iter().zip(&reached).any(|(a, b)| *a > 1.01 * b);
                let nearer = now.iter().zip(&reached).any(|(a, b)| *a < 0.99 * b);
                if samples.is_empty() || (farther && !nearer) {
                    samples = self.samples(coarse.as_ref(), fine.as_ref());
                    reached = now;
                }
                compare(&mut samples, coarse.as_ref(), fine.as_ref());
                let covers = |sample: &Sample| sample.agreed.iter().any(Option::is_some);
                if evidence.is_none() || samples.iter().any(covers) {
                    evidence = Some(Evidence {
                        proved: false,
                        orders: (coarse.degree(), fine.degree()),
                        bits: (coarse.bits(), fine.bits()),
                        steps: (coarse.steps(), fine.steps()),
                    });
                }
                // A later pair may have run out of budget sooner: what the earlier one met stands.
                for (i, right) in [false, true].into_iter().enumerate() {
                    if let (Some(stop), Some(far), Some(now)) =
                        (stops.get_mut(i), farthest.get_mut(i), now.get(i))
                        && *now >= 0.99 * *far
                    {
                        *stop = nearer_stop(coarse.as_ref(), fine.as_ref(), right);
                        *far = now.max(*far);
                    }
                }
                if self.enough(&samples) && !held_back(coarse.as_ref(), fine.as_ref()) {
                    break;
                }
            }
            coarse = Some(fine);
            if !progress(done * 100 / 5) {
                break;
            }
        }
        if let Some(proved) = proved {
            for sample in &mut samples {
                for (unknown, known) in sample.agreed.iter_mut().enumerate() {
                    if let Some(found) = proved.enclosed(unknown, &sample.place.distance) {
                        let found = Agreed::enclosed(found);
                        let digits = known.as_ref().map_or(0.0, Agreed::digits);
                        if found.digits() >= digits.min(f64::from(self.digits)) {
                            *known = Some(found);
                        }
                    }
                }
            }
        }
        self.answer(&samples, stops, (evidence, proved))
    }

    /// Looks along a first run for where the equation stops giving its highest derivative, and ends
    /// the way there.
    fn stop_at_branching(&mut self, separant: &Expr, budget: &Budget) {
        let mut left = budget.steps / 100 * ALL_RUNS;
        let Some(run) = LEVELS
            .iter()
            .find_map(|level| self.run(level, budget, &mut left))
        else {
            return;
        };
        let highest = self.initial.len().saturating_sub(1);
        let center = self.center.clone();
        let value = |distance: &Rational, derivatives: &[BigFloat]| {
            implicit::value(separant, &(&center + distance), derivatives)
        };
        for course in [&mut self.left, &mut self.right] {
            let Some(distance) = run.sign_change(course.right, highest, &value) else {
                continue;
            };
            let known = course.barrier.as_ref().map(|barrier| barrier.distance);
            if known.is_none_or(|known| distance < known) {
                course.barrier = Some(Barrier {
                    distance,
                    place: None,
                    reason: StopReason::Branching,
                });
            }
        }
    }

    /// One run; what it takes goes off what is left of the work.
    fn run(&self, level: &Level, budget: &Budget, left: &mut u64) -> Option<Box<dyn Solution>> {
        let courses = (&self.left, &self.right);
        let units = (budget.steps / 100).saturating_mul(level.share).min(*left);
        let mut unused = units;
        let double = level.bits == 0;
        let bits = if double {
            DOUBLE_DOUBLE_BITS
        } else {
            level.bits
        };
        let manner = Manner {
            // Derivatives below the equation order lose that many coefficients.
            degree: level.degree + self.largest_order() - 1,
            tolerance: level.tolerance,
            bits,
            precision: Precision::new(bits.max(128)),
        };
        let (tape, center) = (&self.tape, &self.center);
        let initial = (self.initial.as_slice(), self.start.as_ref());
        let found = if double {
            run::<DoubleDouble>(tape, center, initial, manner, courses, &mut unused)
        } else {
            run::<BigFloat>(tape, center, initial, manner, courses, &mut unused)
        };
        *left -= units - unused;
        found.ok()
    }

    fn largest_order(&self) -> usize {
        let orders = self.tape.blocks().iter().map(|block| block.1);
        orders.max().unwrap_or(1)
    }

    fn unknowns(&self) -> usize {
        self.tape.blocks().len()
    }

    /// Where the solution is evaluated: round places over the part that both runs cover, more of
    /// them where the curve bends, and the places asked for.
    fn samples(&self, coarse: &dyn Solution, fine: &dyn Solution) -> Vec<Sample> {
        // A run that was stopped ends at some binary fraction: a shorter decimal reads better.
        let covered = |right: bool| {
            let distance = coarse.covered(right).min(fine.covered(right));
            let course = if right { &self.right } else { &self.left };
            if distance < course.length {
                places::shortened(&distance)
            } else {
                distance
            }
        };
        let low = (&self.center - covered(false)).max(self.ends.0.clone());
        let high = (&self.center + covered(true)).min(self.ends.1.clone());
        let mut drawn = places::drawn(&low, &high, &self.center);
        for unknown in 0..self.unknowns() {
            self.refine(&mut drawn, unknown, coarse);
        }
        let nothing = vec![None; self.unknowns()];
        let drawn = drawn.into_iter().map(|place| Sample {
            place,
            asked: None,
            agreed: nothing.clone(),
        });
        let asked = self.asked.iter().map(|(index, place)| Sample {
            place: place.clone(),
            asked: Some(*index),
            agreed: nothing.clone(),
        });
        drawn.chain(asked).collect()
    }

    /// Adds places between neighbours where the drawn line would have a visible corner.
    fn refine(&self, drawn: &mut Vec<Place>, unknown: usize, solution: &dyn Solution) {
        let height = |place: &Place| solution.about(unknown, &place.distance);
        let mut added = 0;
        for _ in 0..3 {
            let heights: Vec<f64> = drawn.iter().map(height).collect();
            let mut sorted: Vec<f64> = heights.iter().copied().filter(|h| h.is_finite()).collect();
            crate::sorting::sort_by(&mut sorted, f64::total_cmp);
            // The bulk of the values: a pole must not flatten everything else.
            let percentile = |p: usize| sorted.get(sorted.len() * p / 100).copied();
            let (Some(bottom), Some(top)) = (percentile(5), percentile(95)) else {
                return;
            };
            let visible = top - bottom;
            let corner = |window: &[f64]| {
                let &[a, b, c] = window else { return false };
                let (low, high) = (bottom - visible, top + visible);
                libm::fabs(a - 2.0 * b + c) > 0.006 * visible
                    && [a, b, c].iter().any(|h| *h > low && *h < high)
            };
            let corners: Vec<usize> = heights
                .windows(3)
                .enumerate()
                .filter(|(_, window)| corner(window))
                .flat_map(|(i, _)| [i, i + 1])
                .collect();
            let mut gaps = corners;
            gaps.dedup();
            let mut more: Vec<Place> = gaps
                .iter()
                .filter_map(|&i| places::between(drawn.get(i)?, drawn.get(i + 1)?, &self.center))
                .take(MOST_ADDED - added)
                .collect();
            if more.is_empty() {
                return;
            }
            added += more.len();
            drawn.append(&mut more);
            crate::sorting::sort_by(drawn, |a, b| a.x.cmp(&b.x));
            drawn.dedup_by(|a, b| a.x == b.x);
        }
    }

    fn answer(
        &self,
        samples: &[Sample],
        stops: [Option<Stop>; 2],
        (evidence, proved): (Option<Evidence>, Option<&dyn Solution>),
    ) -> Vec<Reference> {
        let center = approximate(&self.center);
        let mut found = vec![(Vec::new(), Vec::new()); self.unknowns()];
        let mut found_stops = Vec::new();
        for (right, stop) in [false, true].into_iter().zip(stops) {
            let mut along: Vec<&Sample> = samples
                .iter()
                .filter(|s| s.place.distance.is_negative() != right)
                .collect();
            crate::sorting::sort_by_key(&mut along, |s| s.place.distance.abs());
            let lost = collect(&along, &mut found, self.shown());
            let stop = match lost {
                Some((x, unknown)) => Some(Stop {
                    unknown: Some(unknown),
                    ..self.lost(right, x)
                }),
                None => stop,
            };
            found_stops.extend(stop.map(|stop| Stop {
                x: stop.place.as_ref().map_or(center + stop.x, approximate),
                ..stop
            }));
        }
        if evidence.is_none() && found_stops.is_empty() {
            found_stops = both_stopped(center);
        }
        let own = self.radius.iter().zip(&self.expansion);
        found
            .into_iter()
            .zip(own)
            .enumerate()
            .map(
                |(unknown, ((mut points, mut asked), (radius, expansion)))| {
                    crate::sorting::sort_by(&mut points, |a: &Point, b| a.place.cmp(&b.place));
                    crate::sorting::sort_by_key(&mut asked, |point: &Point| point.asked);
                    Reference {
                        interval: (approximate(&self.ends.0), approximate(&self.ends.1)),
                        center,
                        center_place: self.center.clone(),
                        points,
                        asked,
                        stops: found_stops.clone(),
                        radius_estimate: *radius,
                        expansion: expansion.clone(),
                        stretches: proved.map_or_else(Vec::new, |run| run.stretches(unknown)),
                        evidence: evidence.unwrap_or(Evidence::NONE),
                    }
                },
            )
            .collect()
    }
}

/// Points for drawing and points asked for, of one unknown.
type Points = (Vec<Point>, Vec<Point>);

/// The values along one direction, until an unknown has too few digits: the distance there, and
/// which one.
fn collect(along: &[&Sample], found: &mut [Points], shown: u32) -> Option<(f64, usize)> {
    let mut scales = vec![f64::NEG_INFINITY; found.len()];
    for sample in along {
        for (unknown, (agreed, scale)) in sample.agreed.iter().zip(&mut scales).enumerate() {
            let Some(agreed) = agreed else {
                continue;
            };
            *scale = scale.max(agreed.value.log2_abs());
            // Enclosed zeros, and nothing else so far: there is no size to compare with.
            let nothing = agreed.radius.is_some() && scale.is_infinite();
            if agreed.digits_at(*scale) < NEEDED && agreed.doubt.is_finite() && !nothing {
                return Some((approximate(&sample.place.distance), unknown));
            }
        }
        for ((agreed, scale), (points, asked)) in sample.agreed.iter().zip(&scales).zip(&mut *found)
        {
            // Surely not zero, but no digit is certain: nothing to show.
            let Some((agreed, value)) = agreed
                .as_ref()
                .and_then(|a| Some((a, a.estimate(*scale, shown)?)))
            else {
                continue;
            };
            let point = Point {
                x: approximate(&sample.place.x),
                x_text: sample.place.text.clone(),
                asked: sample.asked,
                value,
                place: sample.place.x.clone(),
                precise: agreed.value.clone(),
                doubt: agreed.doubt,
                radius: agreed.radius,
            };
            if sample.asked.is_some() {
                asked.push(point);
            } else {
                points.push(point);
            }
        }
    }
    None
}

impl Work {
    /// Too few digits from the signed distance `x` on: close to a barrier, because of it.
    fn lost(&self, right: bool, x: f64) -> Stop {
        let course = if right { &self.right } else { &self.left };
        let barrier = course.barrier.as_ref().filter(|barrier| {
            libm::fabs(libm::fabs(x) - barrier.distance) <= AT_BARRIER * barrier.distance
        });
        match barrier {
            Some(barrier) => Stop {
                right,
                x: libm::copysign(barrier.distance, x),
                place: barrier.place.clone(),
                reason: barrier.reason,
                between: None,
                unknown: None,
            },
            None => Stop {
                right,
                x,
                place: None,
                reason: StopReason::LostDigits,
                between: None,
                unknown: None,
            },
        }
    }

    /// Are there as many digits everywhere as are shown?
    fn enough(&self, samples: &[Sample]) -> bool {
        (0..self.unknowns()).all(|unknown| self.enough_of(samples, unknown))
    }

    /// Digits shown at most.
    fn shown(&self) -> u32 {
        if self.digits > DIGITS {
            self.digits
        } else {
            SHOWN_DIGITS
        }
    }

    /// Are there as many digits of one unknown everywhere as are shown?
    fn enough_of(&self, samples: &[Sample], unknown: usize) -> bool {
        let own = |sample: &'_ Sample| sample.agreed.get(unknown).and_then(Clone::clone);
        let scale = samples
            .iter()
            .filter_map(own)
            .map(|agreed| agreed.value.log2_abs())
            .fold(f64::NEG_INFINITY, f64::max);
        samples.iter().all(|sample| {
            let Some(agreed) = own(sample) else {
                // Not reached by one of the runs: a place beyond a stop.
                return true;
            };
            let wanted = if sample.asked.is_some() {
                f64::from(self.shown())
            } else {
                f64::from(self.digits)
            };
            // Zero for all that can be seen: more precision does not make digits.
            agreed.digits() >= wanted || (agreed.digits() < 1.0 && agreed.digits_at(scale) > 28.0)
        })
    }
}

/// For each unknown the coefficients 0 to `count` at the center; fewer when they overflow.
fn expand<C: Real>(
    tape: &Tape,
    center: &Rational,
    initial: &[Expr],
    count: usize,
    fuel: &mut Fuel,
) -> Option<Vec<Vec<BigFloat>>> {
    let precision = Precision::new(128);
    let values = initial
        .iter()
        .map(|value| C::from_constant(value, &precision))
        .collect::<Result<Vec<C>, _>>()
        .ok()?;
    let center = C::from_rational(center, &precision);
    let mut solver = Solver::new(tape, &center, &values, precision).ok()?;
    // What was found before the fuel ran out still stands.
    let complete = solver.extend(count, fuel).is_ok();
    let finite = |series: &[C]| -> Vec<BigFloat> {
        series
            .iter()
            .take_while(|c| Real::is_finite(*c))
            .map(Real::to_big)
            .collect()
    };
    let all: Vec<Vec<BigFloat>> = solver.all_coefficients().map(finite).collect();
    (complete || !all.iter().any(Vec::is_empty)).then_some(all)
}

/// The solution by the most careful run alone, as far as a reference reaches.
#[cfg(test)]
pub(super) fn careful(
    problem: &Problem,
    reference: &Reference,
) -> impl Fn(&Rational) -> Option<BigFloat> {
    let end = |x: f64| BigFloat::from_f64(x).to_rational().unwrap();
    let ends = (end(reference.interval.0), end(reference.interval.1));
    let generous = Budget {
        steps: 2_000_000_000,
        ..Budget::PAGE
    };
    let work = Work::prepare(
        problem,
        Some(ends),
        Vec::new(),
        Aim {
            degree: 8,
            digits: DIGITS,
        },
        &generous,
    )
    .unwrap();
    let mut units = generous.steps * 10;
    let solution = work
        .run(LEVELS.last().unwrap(), &generous, &mut units)
        .unwrap();
    move |place| solution.value(0, &(place - &work.center))
}
