//! The solution in numbers, by adaptive Taylor steps: an **enclosure** wherever one can be proved
//! ([`crate::enclosed`]). Elsewhere an **estimate**, and called so: run twice with other step, order and
//! precision, of which only digits are kept on which both runs agree.

mod agree;
mod barrier;
mod enclosing;
pub(crate) mod fuchs;
mod growth;
mod implicit;
mod integrate;
mod levels;
mod places;
mod pole;
mod run;
mod start;
mod taylor;
#[cfg(test)]
pub(crate) mod tests;

use crate::budget::Budget;
use crate::enclosed::{Ball, Stretch};
use crate::expression::{Expr, Node};
use crate::number::big_float::Precision;
use crate::number::{BigFloat, Rational, decimal};
use crate::problem::Problem;
use crate::series::floats;
use num_traits::Signed;

pub use growth::{Nearest, Test, nearest};
pub(crate) use places::nice_below;
pub use taylor::taylor;

use integrate::approximate;
use levels::Work;

/// A decimal number whose shown digits are certain, or agree between two runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Decimal digits, e.g. `-0.35502805388781724` or `1.25e-9`; only digits that are certain, or
    /// that both runs share.
    pub text: String,
    /// The nearest double.
    pub value: f64,
    /// How many significant digits are shown.
    pub digits: u32,
}

/// The solution at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Where, as a double (for drawing).
    pub x: f64,
    /// Where, exact text for the table.
    pub x_text: String,
    /// For points asked for by name: which of them.
    pub asked: Option<usize>,
    /// The solution's value there.
    pub value: Estimate,
    /// Where, exactly (for irrational places: to more digits than any value has).
    pub place: Rational,
    /// The value of the more careful run, all its bits.
    pub precise: BigFloat,
    /// log₂ of the difference between the runs, or of the radius.
    pub doubt: f64,
    /// The solution's value is surely at most this far from `precise`; `None`: an estimate.
    pub radius: Option<f64>,
}

impl Point {
    /// Lower and upper bound of the value, exactly; `None` for an estimate.
    pub fn enclosure(&self) -> Option<(Rational, Rational)> {
        Ball {
            mid: self.precise.clone(),
            radius: self.radius?,
        }
        .ends()
    }
}

/// Why the solution was not followed to an end of the interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// To the right (true) or to the left of the center.
    pub right: bool,
    /// About where.
    pub x: f64,
    /// Exactly where, when it is a rational place at which the equation is surely singular.
    pub place: Option<Rational>,
    /// Why. An estimate unless `between` stands beside it.
    pub reason: StopReason,
    /// The solution surely grows without bound at a place between these two.
    pub between: Option<(Rational, Rational)>,
    /// The unknown whose values showed it, where it was one.
    pub unknown: Option<usize>,
}

impl Stop {
    /// The bracket of a proved pole, widened to about six digits for readers.
    pub fn bracket(&self) -> Option<(String, String)> {
        let (low, high) = self.between.as_ref()?;
        let slack = high.abs() / Rational::from_integer(1_000_000.into());
        Some(decimal::outward(&(low - &slack), &(high + slack)))
    }
}

/// Why it stopped. Estimates all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopReason {
    /// Steps shrink and values grow without bound: a pole or a blow-up.
    Pole,
    /// The right-hand side stops being analytic (a divisor or radicand reaches zero, …) and the
    /// solution with it.
    DomainEnd,
    /// The equation is singular there whatever the solution: a divisor in which only the
    /// independent variable occurs is zero. Whether the solution goes on is not looked into.
    SingularPoint,
    /// The equation stops giving its highest derivative: its derivative with respect to it reaches
    /// zero. Solutions can branch there.
    Branching,
    /// Too few digits are certain, or shared by the two runs.
    LostDigits,
    /// The enclosure ends; whether the solution goes on is not known.
    Unproved,
    /// Out of budget.
    Budget,
}

/// The solution over an interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Reference {
    /// Interval asked for, or chosen.
    pub interval: (f64, f64),
    /// The center.
    pub center: f64,
    /// The center, exactly (if irrational: to more digits than any value has).
    pub center_place: Rational,
    /// Points for drawing, ascending in x.
    pub points: Vec<Point>,
    /// Points asked for by name, in the order asked; those that were not reached are missing.
    pub asked: Vec<Point>,
    /// At most one per direction.
    pub stops: Vec<Stop>,
    /// About how far the nearest singularity is, from the growth of the coefficients at the center
    /// (`None`: no sign of one). An estimate.
    pub radius_estimate: Option<f64>,
    /// Taylor coefficients at the center beyond the polynomial's degree, about 30 digits each: the
    /// error of a partial sum near the center without cancellation.
    pub expansion: Vec<BigFloat>,
    /// The enclosed solution step by step, as far as it is proved.
    pub stretches: Vec<Stretch>,
    /// What the two runs were, for the page's note.
    pub evidence: Evidence,
}

/// What the values rest on: an enclosure, or two runs compared. Of an enclosure both numbers are
/// the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// Every value shown is enclosed.
    pub proved: bool,
    /// Order of the Taylor steps.
    pub orders: (usize, usize),
    /// Bits of precision.
    pub bits: (usize, usize),
    /// Steps taken.
    pub steps: (usize, usize),
}

impl Evidence {
    /// Nothing was compared.
    pub const NONE: Self = Self {
        proved: false,
        orders: (0, 0),
        bits: (0, 0),
        steps: (0, 0),
    };
}

/// Digits that are wanted everywhere where nothing else is asked.
pub const DIGITS: u32 = 15;
/// Then so many are shown at most.
const SHOWN_DIGITS: u32 = 18;

/// Bits to which irrational centers, places and ends are rounded: more than any run uses.
const PLACE_BITS: usize = 448;

/// What is wanted of a numerical solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Aim {
    /// The degree of the highest partial sum that is looked at.
    pub degree: usize,
    /// Certain digits: [`DIGITS`], or more.
    pub digits: u32,
}

/// The numerical solution of a problem: one for each unknown, over the same interval and with the
/// same stops.
///
/// `interval`: closed constants, in either order; `None`: chosen so that the partial sums are seen
/// to leave the solution. `at`: places at which values are wanted, inside the interval or not.
/// `aim`: the degree of the highest partial sum that is looked at, and how many digits are wanted. `progress` is told the share done, in per cent, and stops the work by `false`;
/// what is known by then is returned.
///
/// Where the work goes order by order, `problem.initial` holds all values that are known.
///
/// Never fails: what could not be solved has no points, and a stop says why.
pub fn solve(
    problem: &Problem,
    interval: Option<(Expr, Expr)>,
    at: &[Expr],
    aim: Aim,
    budget: &Budget,
    progress: &mut dyn FnMut(u32) -> bool,
) -> Vec<Reference> {
    let ends = interval.and_then(|(a, b)| Some((place(&a)?, place(&b)?)));
    let asked: Vec<(usize, Rational)> = at
        .iter()
        .enumerate()
        .filter_map(|(index, x)| Some((index, place(x)?)))
        .collect();
    match Work::prepare(problem, ends.clone(), asked, aim, budget) {
        Some(mut work) => work.solve(budget, progress),
        None => vec![nothing(problem, ends); problem.unknowns.len()],
    }
}

/// The value of a closed constant as an exact fraction; rounded to [`PLACE_BITS`] if irrational.
fn place(constant: &Expr) -> Option<Rational> {
    if let Node::Number(number) = constant.node() {
        return Some(number.clone());
    }
    floats::constant(constant, &Precision::new(PLACE_BITS)).to_rational()
}

/// The equation differentiated once, where it is not linear in its highest derivative: a problem with
/// the same solution. `None` where that cannot be told.
pub(crate) fn explicit_form(problem: &Problem) -> Option<Problem> {
    Some(implicit::explicit(problem)?.problem)
}

/// The value of a closed constant in floating point; [`BigFloat::NONE`] when it has none.
pub(crate) fn constant_value(constant: &Expr, precision: &Precision) -> BigFloat {
    floats::constant(constant, precision)
}

/// Round places over a window (both ends included), with their texts.
pub(crate) fn drawn_places(window: (f64, f64), center: &Rational) -> Vec<(Rational, String)> {
    let exact = |end: f64| BigFloat::from_f64(end).to_rational();
    match (exact(window.0), exact(window.1)) {
        (Some(low), Some(high)) => places::drawn(&low, &high, center)
            .into_iter()
            .map(|place| (place.x, place.text))
            .collect(),
        _ => Vec::new(),
    }
}

/// The answer when not even the center can be worked with.
fn nothing(problem: &Problem, ends: Option<(Rational, Rational)>) -> Reference {
    let center_place = place(&problem.center).unwrap_or_else(|| Rational::from_integer(0.into()));
    let center = approximate(&center_place);
    let (low, high) = ends.map_or((center - 1.0, center + 1.0), |(a, b)| {
        (approximate(&a), approximate(&b))
    });
    Reference {
        interval: (low.min(high), low.max(high)),
        center,
        center_place,
        points: Vec::new(),
        asked: Vec::new(),
        stops: both_stopped(center),
        radius_estimate: None,
        expansion: Vec::new(),
        stretches: Vec::new(),
        evidence: Evidence::NONE,
    }
}

/// Stopped at the center, in both directions.
fn both_stopped(center: f64) -> Vec<Stop> {
    [false, true]
        .map(|right| Stop {
            right,
            x: center,
            place: None,
            reason: StopReason::Budget,
            between: None,
            unknown: None,
        })
        .to_vec()
}
