//! Exact coefficients of a problem, by the fastest road that takes it.

use super::closed::ClosedContext;
use super::rational::RationalContext;
use super::{Coefficient, SeriesError, Solver, Tape, fast};
use crate::budget::{Budget, Fuel};
use crate::expression::atoms::Polynomial;
use crate::expression::{Expr, factored};
use crate::number::Rational;
use crate::number::rational::integer;
use crate::problem::{Equation, Problem};

/// Coefficients as far as they were found, and why no further.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Found {
    /// `c_0, c_1, …`, closed constants in normal form.
    pub coefficients: Vec<Expr>,
    /// `None` when all that were asked for are there.
    pub stopped: Option<SeriesError>,
}

/// Taylor coefficients `c_0 … c_degree` (normalised: `y = Σ c_k (x − center)^k`) of the solution of
/// a problem with one unknown, as closed constants in normal form.
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
        None => Ok(found.coefficients),
        Some(error) => Err(error),
    }
}

/// [`coefficients`], but with those found before an error.
pub fn coefficients_as_far(problem: &Problem, degree: usize, budget: &Budget) -> Found {
    let nothing = |error| Found {
        coefficients: Vec::new(),
        stopped: Some(error),
    };
    let ([equation], [initial]) = (problem.equations.as_slice(), problem.initial.as_slice()) else {
        return nothing(SeriesError::Unsupported("several unknowns"));
    };
    let tape = match u32::try_from(initial.len())
        .map_err(|_| SeriesError::Exhausted)
        .and_then(|order| Tape::compile(&equation.solved, order))
    {
        Ok(tape) => tape,
        Err(error) => return nothing(error),
    };
    let found = match rational(&tape, equation, &problem.center, initial, degree, budget) {
        Ok((found, stopped)) => {
            return Found {
                coefficients: found.into_iter().map(Expr::number).collect(),
                stopped,
            };
        }
        Err(SeriesError::Unrepresentable) => {
            closed(&tape, &problem.center, initial, degree, budget).map(|mut found| {
                for value in &mut found.coefficients {
                    *value = factored(value, &|name| problem.is_initial_letter(name));
                }
                found
            })
        }
        Err(error) => Err(error),
    };
    found.unwrap_or_else(nothing)
}

/// Everything in closed constants.
fn closed(
    tape: &Tape,
    center: &Expr,
    initial: &[Expr],
    degree: usize,
    budget: &Budget,
) -> Result<Found, SeriesError> {
    let context = ClosedContext::new(budget);
    let center = Polynomial::from_constant(center, &context)?;
    let initial = initial
        .iter()
        .map(|value| Polynomial::from_constant(value, &context))
        .collect::<Result<Vec<Polynomial>, SeriesError>>()?;
    let mut solver = Solver::new(tape, &center, &initial, context.clone())?.limit_bits(budget.bits);
    let stopped = solver.extend(degree, &mut Fuel::new(budget.steps)).err();
    let coefficients = solver
        .coefficients()
        .iter()
        .take(degree + 1)
        .map(|value| context.expression(value))
        .collect::<Result<Vec<Expr>, SeriesError>>()?;
    Ok(Found {
        coefficients,
        stopped,
    })
}

/// Everything in fractions; an error when some value is not rational.
fn rational(
    tape: &Tape,
    equation: &Equation,
    center: &Expr,
    initial: &[Expr],
    degree: usize,
    budget: &Budget,
) -> Result<(Vec<Rational>, Option<SeriesError>), SeriesError> {
    let limits = RationalContext { bits: budget.bits };
    let center = Rational::from_constant(center, &limits)?;
    let initial = initial
        .iter()
        .map(|value| Rational::from_constant(value, &limits))
        .collect::<Result<Vec<Rational>, SeriesError>>()?;
    let mut fuel = Fuel::new(budget.steps);
    let (left, right) = &equation.standing;
    let mut quick = fast::linear(
        (left, right),
        &center,
        &initial,
        degree,
        budget.bits,
        &mut fuel,
    );
    if matches!(quick, Ok(None)) {
        quick = fast::polynomial(tape, &center, &initial, degree, budget.bits, &mut fuel);
    }
    match quick {
        Ok(Some(found)) => return Ok((found, None)),
        // The generic road below may still find the first few.
        Ok(None) | Err(SeriesError::Exhausted) => {}
        Err(error) => return Err(error),
    }
    let mut solver = Solver::new(tape, &center, &initial, limits)?.limit_bits(budget.bits);
    let stopped = solver.extend(degree, &mut Fuel::new(budget.steps)).err();
    if stopped == Some(SeriesError::Unrepresentable) {
        return Err(SeriesError::Unrepresentable);
    }
    let found = solver
        .coefficients()
        .iter()
        .take(degree + 1)
        .cloned()
        .collect();
    Ok((found, stopped))
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
