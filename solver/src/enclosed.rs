//! Enclosures: numbers that surely contain what is asked for.
//!
//! A Taylor expansion of an initial value problem is worked out in ball arithmetic
//! ([`Expansion::coefficients`]), and what stands behind its last coefficient is bounded by an
//! argument about the recurrences ([`Expansion::tail`], proved in `enclosed/tail.rs`). No platform's
//! mathematical functions are trusted; no interval arithmetic along a step is needed.

pub(crate) mod balance;
mod definite;
mod elementary;
pub(crate) mod escape;
mod form;
mod frame;
mod function;
mod jet;
mod rows;
mod singular;
mod stretch;
mod tail;
pub(crate) mod walk;
#[cfg(test)]
mod tests;

use crate::budget::{Budget, Fuel};
use crate::expression::enclosure::enclose;
use crate::expression::{Expr, Node};
use crate::number::big_float::Precision;
use crate::number::upward::up;
use crate::number::{BigFloat, DoubleDouble, Rational};
use crate::problem::Problem;
use crate::series::floats::Real;
use crate::series::{SeriesError, Tape};
pub use elementary::{Operation, elementary};
pub(crate) use form::Arithmetic;
use form::Form;
pub(crate) use jet::{Jet, Powers, count};
use rows::Rows;
pub(crate) use singular::SingularCenter;
pub use stretch::Stretch;
pub(crate) use stretch::Sums;

/// Bits of a double-double.
const DOUBLE_DOUBLE_BITS: usize = 106;

/// All numbers at most `radius` away from `mid`.
#[derive(Clone, Debug, PartialEq)]
pub struct Ball {
    /// The middle.
    pub mid: BigFloat,
    /// The largest distance from it.
    pub radius: f64,
}

impl Ball {
    /// Lower and upper end, exactly; `None` when it is not bounded.
    pub fn ends(&self) -> Option<(Rational, Rational)> {
        let mid = self.mid.to_rational()?;
        let radius = BigFloat::from_f64(self.radius).to_rational()?;
        Some((&mid - &radius, mid + radius))
    }
}

/// What is proved about the part of a Taylor series behind its known coefficients.
///
/// For every complex x with |x − c| ≤ `radius`, c the center: the Taylor series of all unknowns
/// converge absolutely at x, their sums satisfy the equations there, and of unknown number i
///
/// |Σ cₖ (x − c)ᵏ| ≤ Σ |cₖ| |x − c|ᵏ ≤ `bounds[i]`·(|x − c|/radius)^(degree + 1)
///
/// where the sums run over all k above `degree` = `degrees[i]`, the last coefficient that [`Expansion::coefficients`] gives. So the radius of
/// convergence is at least `radius`. No divisor, argument of a root or logarithm, or argument of an
/// absolute value in the equations as solved is zero in that disc.
#[derive(Clone, Debug, PartialEq)]
pub struct Tail {
    /// The radius of the disc.
    pub radius: f64,
    /// For each unknown the degree up to which the coefficients are known.
    pub degrees: Vec<usize>,
    /// For each unknown the bound at the rim.
    pub bounds: Vec<f64>,
}

/// The Taylor expansion of a problem at its center, in balls.
pub struct Expansion<'tape>(Kind<'tape>);

/// The two kinds of midpoints.
enum Kind<'tape> {
    Double(Rows<'tape, DoubleDouble>),
    Big(Rows<'tape, BigFloat>),
}

/// Expands the problem of a tape (see [`Tape::of_problem`]) at its center: coefficients 0 to `degree` at
/// least of every unknown, with numbers of `bits` bits (106 or fewer: double-doubles, which are
/// quick). Proved: each ball contains the coefficient.
///
/// # Errors
/// [`SeriesError::Undefined`] or [`SeriesError::Undecided`] where the equations are not surely analytic at the data (or the
/// balls are too wide to see it), [`SeriesError::Unsupported`] for problems with letters, without
/// initial values or solved order by order, [`SeriesError::Exhausted`] when the budget or the range
/// of doubles is not enough.
pub fn expansion<'tape>(
    problem: &Problem,
    tape: &'tape Tape,
    degree: usize,
    bits: usize,
    budget: &Budget,
) -> Result<Expansion<'tape>, SeriesError> {
    if problem.order_by_order().is_some() || !problem.parameters.is_empty() {
        return Err(SeriesError::Unsupported("no explicit equation in numbers"));
    }
    let initial = problem.initial.concat();
    if initial.len() != tape.states() {
        return Err(SeriesError::Unsupported("initial values are missing"));
    }
    let mut fuel = Fuel::new(budget.steps);
    let start = Start {
        tape,
        center: &problem.center,
        initial: &initial,
        orders: (degree + 1).saturating_sub(tape.least_order()).max(2),
    };
    Ok(Expansion(if bits <= DOUBLE_DOUBLE_BITS {
        Kind::Double(start.expand(DOUBLE_DOUBLE_BITS, &mut fuel)?)
    } else {
        Kind::Big(start.expand(bits, &mut fuel)?)
    }))
}

/// The same at a singular center: coefficients of the unknown and the bound of its tail, by the
/// equation in the form that [`SingularCenter`] holds.
///
/// # Errors
/// As [`expansion`].
pub(crate) fn singular_expansion<'tape>(
    center: &SingularCenter<'tape>,
    degree: usize,
    bits: usize,
    budget: &Budget,
) -> Result<Expansion<'tape>, SeriesError> {
    let orders = degree + 1;
    let mut fuel = Fuel::new(budget.steps);
    Ok(Expansion(if bits <= DOUBLE_DOUBLE_BITS {
        Kind::Double(singular::expanded(
            center,
            DOUBLE_DOUBLE_BITS,
            orders,
            &mut fuel,
        )?)
    } else {
        Kind::Big(singular::expanded(center, bits, orders, &mut fuel)?)
    }))
}

/// The same for a function of the variable with this value at the center; `tape`: that of y′ = its
/// derivative, of the first order.
///
/// # Errors
/// As [`expansion`].
pub(crate) fn function_expansion<'tape>(
    tape: &'tape Tape,
    center: &Expr,
    value: &Expr,
    degree: usize,
    budget: &Budget,
) -> Result<Expansion<'tape>, SeriesError> {
    let start = Start {
        tape,
        center,
        initial: std::slice::from_ref(value),
        orders: degree,
    };
    let mut fuel = Fuel::new(budget.steps / 10);
    Ok(Expansion(Kind::Double(
        start.expand(DOUBLE_DOUBLE_BITS, &mut fuel)?,
    )))
}

/// What an expansion at the center starts from.
struct Start<'a, 'tape> {
    tape: &'tape Tape,
    center: &'a Expr,
    initial: &'a [Expr],
    orders: usize,
}

impl<'tape> Start<'_, 'tape> {
    fn expand<C: Real>(&self, bits: usize, fuel: &mut Fuel) -> Result<Rows<'tape, C>, SeriesError> {
        let arithmetic = Arithmetic::new(bits, 0);
        let all = |values: &[Expr]| -> Result<Vec<Form<C>>, SeriesError> {
            values
                .iter()
                .map(|value| closed(value, &arithmetic))
                .collect()
        };
        let constants = all(self.tape.constants())?;
        let initial = all(self.initial)?;
        let center = closed(self.center, &arithmetic)?;
        let mut rows = Rows::new(self.tape, arithmetic, constants, self.orders);
        rows.restart(center, 0, &initial);
        rows.extend(fuel)?;
        Ok(rows)
    }
}

/// A closed constant, enclosed.
///
/// # Errors
/// When it has no value, or it cannot be told whether it has one.
fn closed<C: Real>(value: &Expr, arithmetic: &Arithmetic) -> Result<Form<C>, SeriesError> {
    let precision = &arithmetic.precision;
    if let Node::Number(number) = value.node() {
        return Ok(arithmetic.known(C::from_rational(number, precision)));
    }
    let mut bits = precision.bits() + 16;
    let mut last = None;
    // Where terms cancel the enclosure is wide: more bits, up to eight times as many.
    for _ in 0..4 {
        if let Ok(enclosure) = enclose(value, bits) {
            let exact = Precision::new(bits * 2 + 64);
            let (low, high) = (enclosure.low(), enclosure.high());
            let width = high.minus(low, &exact).lead().abs();
            let mut form: Form<C> = arithmetic.known(C::from_big(low, precision));
            let narrow = width <= form.radius;
            form.radius = up(form.radius + width);
            last = Some(form);
            if narrow {
                break;
            }
        }
        bits *= 2;
    }
    last.filter(|form| form.radius.is_finite())
        .ok_or(SeriesError::Undecided)
}

/// The balls of one series of an expansion at scale 0.
fn balls<C: Real>(rows: &Rows<'_, C>, state: usize) -> Vec<Ball> {
    let row = rows.all.get(state);
    row.map_or_else(Vec::new, |row| {
        row.mids
            .iter()
            .zip(&row.spreads)
            .map(|(mid, spread)| Ball {
                mid: mid.to_big(),
                radius: *spread,
            })
            .collect()
    })
}

impl Expansion<'_> {
    fn tape(&self) -> &Tape {
        match &self.0 {
            Kind::Double(rows) => rows.tape,
            Kind::Big(rows) => rows.tape,
        }
    }

    /// The coefficients c₀, c₁, … of an unknown, each surely in its ball; so many as are known.
    pub fn coefficients(&self, unknown: usize) -> Vec<Ball> {
        let Some(&(start, _)) = self.tape().blocks().get(unknown) else {
            return Vec::new();
        };
        match &self.0 {
            Kind::Double(rows) => balls(rows, start),
            Kind::Big(rows) => balls(rows, start),
        }
    }

    /// What is proved on the disc of this radius about the center; `None`: nothing. For a larger
    /// degree more can be proved: the radii reached tend to the true radius of convergence (or to
    /// where a divisor or an argument of a root, logarithm or absolute value is zero).
    pub fn tail(&self, radius: f64) -> Option<Tail> {
        if radius.is_nan() || radius <= 0.0 {
            return None;
        }
        let beyond = match &self.0 {
            Kind::Double(rows) => tail::beyond(rows, radius),
            Kind::Big(rows) => tail::beyond(rows, radius),
        }?;
        let blocks = self.tape().blocks();
        let bounds = blocks
            .iter()
            .map(|(start, _)| beyond.get(*start).copied())
            .collect::<Option<Vec<f64>>>()?;
        let degrees = (0..blocks.len())
            .map(|unknown| self.degree(unknown))
            .collect();
        Some(Tail {
            radius,
            degrees,
            bounds,
        })
    }

    /// The last known coefficient's order.
    fn degree(&self, unknown: usize) -> usize {
        let start = self.tape().blocks().get(unknown).map_or(0, |block| block.0);
        let length = match &self.0 {
            Kind::Double(rows) => rows.all.get(start).map_or(0, rows::Row::len),
            Kind::Big(rows) => rows.all.get(start).map_or(0, rows::Row::len),
        };
        length.saturating_sub(1)
    }
}
