//! Fast roads to exact coefficients of high degree. Each takes only some equations, says so with
//! `None` for the others, and gives the same fractions as the generic road. Worksheets, which end at
//! degree 50, take only the one for polynomials: there the one for linear equations saves nothing that
//! can be measured, and it would be three kilobytes of the page's download.

mod chinese;
mod linear;
mod linear_form;
mod magnitude;
mod polynomial;
mod residue;
mod scaling;
mod smooth;
mod words;

use crate::budget::Fuel;
use crate::expression::Expr;
use crate::number::Rational;

use super::{SeriesError, Tape};

/// Coefficients `c_0 … c_degree` of the solution of the problem that the tape flattens, in lowest
/// terms; `None` when no fast road takes it.
///
/// # Errors
/// [`SeriesError::Exhausted`] when fuel or bits run out.
pub fn polynomial(
    tape: &Tape,
    center: &Rational,
    initial: &[Rational],
    degree: usize,
    largest_bits: u64,
    fuel: &mut Fuel,
) -> Result<Option<Vec<Rational>>, SeriesError> {
    polynomial::coefficients(tape, center, initial, degree, (largest_bits, fuel))
}

/// Coefficients `c_0 … c_degree` of the solution of the linear equation `Σ left = Σ right`, in
/// lowest terms, from its recurrence relation. The equation order is the number of initial values.
/// `None` when the equation is not linear with polynomial coefficients or outgrows this road.
///
/// # Errors
/// [`SeriesError::Exhausted`] when fuel or bits run out.
pub fn linear(
    (left, right): (&[Expr], &[Expr]),
    center: &Rational,
    initial: &[Rational],
    degree: usize,
    largest_bits: u64,
    fuel: &mut Fuel,
) -> Result<Option<Vec<Rational>>, SeriesError> {
    match linear_form::LinearEquation::new(left, right, initial.len(), center) {
        Some(equation) => linear::coefficients(&equation, initial, degree, (largest_bits, fuel)),
        None => Ok(None),
    }
}

#[cfg(test)]
mod tests;
