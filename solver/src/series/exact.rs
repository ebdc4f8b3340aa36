//! Exact coefficients of a problem, by the fastest road that takes it. (The one for linear equations
//! is left out: at the degrees that a worksheet has, the others are as quick.)

use super::closed::ClosedContext;
use super::rational::RationalContext;
use super::{Coefficient, SeriesError, Solver, Tape, fast};
use crate::budget::{Budget, Fuel};
use crate::expression::atoms::Polynomial;
use crate::expression::{Expr, factored};
use crate::number::Rational;
use crate::number::rational::integer;
use crate::problem::Problem;

/// Coefficients as far as they were found, and why no further.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// For each unknown `c_0, c_1, …`, closed constants in normal form.
    pub coefficients: Vec<Vec<Expr>>,
    /// `None` when all that were asked for are there.
    pub stopped: Option<SeriesError>,
}

/// Taylor coefficients `c_0 … c_degree` (normalised: `y = Σ c_k (x − center)^k`) of the solution of
/// a problem, as closed constants in normal form; of the first unknown when there are several.
///
/// # Errors
/// [`SeriesError`] when not all of them can be had; [`coefficients_as_far`] gives the first ones.
pub fn coefficients(
    problem: &Problem,
    degree: usize,
    budget: &Budget,
) -> Result<Vec<Expr>, SeriesError> {
    let found = coefficients_as_far(problem, degree, budget);
    match found.stopped {
        None => Ok(found.coefficients.into_iter().next().unwrap_or_default()),
        Some(error) => Err(error),
    }
}

/// [`coefficients`] of every unknown, with those found before an error.
pub fn coefficients_as_far(problem: &Problem, degree: usize, budget: &Budget) -> Found {
    let nothing = |error| Found {
        coefficients: vec![Vec::new(); problem.unknowns.len()],
        stopped: Some(error),
    };
    let tape = match Tape::of_problem(problem) {
        Ok(tape) => tape,
        Err(error) => return nothing(error),
    };
    let initial = problem.initial.concat();
    let center = &problem.center;
    let found = match rational(&tape, center, &initial, degree, budget) {
        Err(SeriesError::Unrepresentable) => {
            closed(&tape, center, &initial, degree, budget).map(|mut found| {
                for value in found.coefficients.iter_mut().flatten() {
                    *value = factored(value, &|name| problem.is_initial_letter(name));
                }
                found
            })
        }
        other => other,
    };
    found.unwrap_or_else(nothing)
}

/// A product of numbers that only their equation gives is reduced by it: the work of several products.
const ROOTS_SHARE: u64 = 4;

/// Everything in closed constants.
fn closed(
    tape: &Tape,
    center: &Expr,
    initial: &[Expr],
    degree: usize,
    budget: &Budget,
) -> Result<Found, SeriesError> {
    let share = if initial.iter().any(Expr::has_root) {
        ROOTS_SHARE
    } else {
        1
    };
    let context = ClosedContext::new(&Budget {
        steps: budget.steps / share,
        ..*budget
    });
    let center = Polynomial::from_constant(center, &context)?;
    let initial = initial
        .iter()
        .map(|value| Polynomial::from_constant(value, &context))
        .collect::<Result<Vec<Polynomial>, SeriesError>>()?;
    let mut solver = Solver::new(tape, &center, &initial, context.clone())?.limit_bits(budget.bits);
    let stopped = solver.extend(degree, &mut Fuel::new(budget.steps)).err();
    let mut coefficients = Vec::new();
    for series in solver.all_coefficients() {
        let mut own = Vec::new();
        for value in series.iter().take(degree + 1) {
            own.push(context.expression(value)?);
        }
        coefficients.push(own);
    }
    Ok(Found {
        coefficients,
        stopped,
    })
}

/// From this degree on the fast road is taken first. Below it the other one is as quick, and what the
/// page's examples do not need is not fetched with them (see "The module comes in two parts" in
/// DEVELOPERS.md).
const FAST_FROM: usize = 32;

/// Everything in fractions; an error when some value is not rational.
fn rational(
    tape: &Tape,
    center: &Expr,
    initial: &[Expr],
    degree: usize,
    budget: &Budget,
) -> Result<Found, SeriesError> {
    let limits = RationalContext { bits: budget.bits };
    let center = Rational::from_constant(center, &limits)?;
    let initial = initial
        .iter()
        .map(|value| Rational::from_constant(value, &limits))
        .collect::<Result<Vec<Rational>, SeriesError>>()?;
    let fast = || -> Result<Option<Found>, SeriesError> {
        let mut fuel = Fuel::new(budget.steps);
        let found = match tape.blocks() {
            [_] => fast::polynomial(tape, &center, &initial, degree, budget.bits, &mut fuel),
            _ => Ok(None),
        };
        match found {
            // The other road may still find the first few.
            Err(SeriesError::Exhausted) => Ok(None),
            found => Ok(found?.map(|found| Found {
                coefficients: vec![found.into_iter().map(Expr::number).collect()],
                stopped: None,
            })),
        }
    };
    if degree >= FAST_FROM
        && let Some(found) = fast()?
    {
        return Ok(found);
    }
    let mut solver = Solver::new(tape, &center, &initial, limits)?.limit_bits(budget.bits);
    let stopped = solver.extend(degree, &mut Fuel::new(budget.steps)).err();
    if stopped == Some(SeriesError::Unrepresentable) {
        return Err(SeriesError::Unrepresentable);
    }
    if stopped == Some(SeriesError::Exhausted)
        && degree < FAST_FROM
        && let Some(found) = fast()?
    {
        return Ok(found);
    }
    let coefficients = solver
        .all_coefficients()
        .map(|series| series.iter().take(degree + 1).cloned().map(Expr::number))
        .map(Iterator::collect)
        .collect();
    Ok(Found {
        coefficients,
        stopped,
    })
}

/// The value of the `k`-th derivative at the center, `k!·c_k`.
pub fn derivative_value(coefficient: &Expr, k: usize) -> Expr {
    let factorial = (2..=k).fold(integer(1), |product, n| {
        product * Rational::from_integer(n.into())
    });
    coefficient.scale(&factorial)
}

#[cfg(test)]
mod tests;
