//! Single operations and functions of balls, in the arithmetic in which solutions are enclosed.
//!
//! Half of what an operand may be off is taken as its first-order part (see [`super::form`]) and half
//! as its radius, so that both ways are taken.

use super::form::{Arithmetic, Form};
use super::{Ball, DOUBLE_DOUBLE_BITS};
use crate::expression::Function;
use crate::number::upward::up;
use crate::number::{BigFloat, DoubleDouble, Rational};
use crate::series::SeriesError;
use crate::series::floats::Real;

/// What is done.
#[derive(Clone, Debug)]
pub enum Operation {
    /// A function of the first operand.
    Call(Function),
    /// The first operand to a power that is not an integer.
    Power(Rational),
    /// Sum of both operands.
    Add,
    /// First minus second.
    Subtract,
    /// Product of both.
    Multiply,
    /// First over second.
    Divide,
}

/// A ball that holds the results for all numbers in the operands, with a midpoint of `bits` bits (106 or
/// fewer: double-doubles). The operands are taken to be independent of each other.
///
/// # Errors
/// When the operation may be undefined for a number in the operands, or they are too wide to tell, or an
/// operand is missing, or the result is beyond the range of doubles.
pub fn elementary(
    operation: &Operation,
    operands: &[Ball],
    bits: usize,
) -> Result<Ball, SeriesError> {
    if bits <= DOUBLE_DOUBLE_BITS {
        worked::<DoubleDouble>(operation, operands, DOUBLE_DOUBLE_BITS)
    } else {
        worked::<BigFloat>(operation, operands, bits)
    }
}

fn worked<C: Real>(
    operation: &Operation,
    operands: &[Ball],
    bits: usize,
) -> Result<Ball, SeriesError> {
    let arithmetic = Arithmetic::new(bits, operands.len());
    let missing = SeriesError::Unsupported("an operand is missing");
    let operand = |index: usize| -> Result<Form<C>, SeriesError> {
        let ball = operands.get(index).ok_or_else(|| missing.clone())?;
        let mut form: Form<C> = arithmetic.known(C::from_big(&ball.mid, &arithmetic.precision));
        let half = ball.radius / 2.0;
        if let Some(slope) = form.slopes.get_mut(index) {
            *slope = half;
        }
        form.radius = up(form.radius + half);
        Ok(form)
    };
    let first = operand(0)?;
    let found = match operation {
        Operation::Call(function) => arithmetic.call(*function, &first)?,
        Operation::Power(exponent) => arithmetic.power(&first, exponent)?,
        Operation::Add => arithmetic.sum(&first, &operand(1)?, false),
        Operation::Subtract => arithmetic.sum(&first, &operand(1)?, true),
        Operation::Multiply => arithmetic.product(&first, &operand(1)?),
        Operation::Divide => arithmetic.quotient(&first, &operand(1)?)?,
    };
    let radius = found.spread();
    if !(found.mid.is_finite() && radius.is_finite()) {
        return Err(SeriesError::Exhausted);
    }
    Ok(Ball {
        mid: found.mid.to_big(),
        radius,
    })
}
