//! The second route: power series arithmetic. The right-hand side is flattened to a list of
//! elementary operations; coefficients are found order by order by the classical recurrences
//! (Griewank & Walther, *Evaluating Derivatives*, 2nd ed., ch. 13). Shares nothing with
//! `derivation` but the problem.

pub mod closed;
pub mod compile;
pub mod exact;
pub mod fast;
pub(crate) mod floats;
pub mod rational;
pub mod solve;
pub mod tape;

pub use exact::{Found, coefficients, coefficients_as_far, derivative_value};
pub use solve::Solver;
pub use tape::Tape;

use crate::budget::Exhausted;
use crate::expression::{Expr, Function};
use crate::number::Rational;

/// Why a series operation has no result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SeriesError {
    /// Division by a series whose value at the center is zero, logarithm of a non-positive value, ….
    Undefined(&'static str),
    /// The value exists but is not of this kind of number (√2 among fractions).
    Unrepresentable,
    /// A zero test could not be decided.
    Undecided,
    /// The right-hand side is not one that this module takes: it holds a derivative of the order
    /// it is solved for or above, or another unknown.
    Unsupported(&'static str),
    /// The budget ran out.
    Exhausted,
}

impl From<Exhausted> for SeriesError {
    fn from(_: Exhausted) -> Self {
        Self::Exhausted
    }
}

/// What the coefficients of a series are: exact fractions, closed constants, software floating
/// point, later balls. Everything here is total or says why not.
pub trait Coefficient: Clone + std::fmt::Debug {
    /// Precision or limits.
    type Context: Clone;
    /// The value of a closed constant.
    ///
    /// # Errors
    /// [`SeriesError`] when the constant has no value of this kind.
    fn from_constant(constant: &Expr, context: &Self::Context) -> Result<Self, SeriesError>;
    /// An exact fraction.
    fn from_rational(value: &Rational, context: &Self::Context) -> Self;
    /// `self + other`.
    #[must_use]
    fn add(&self, other: &Self, context: &Self::Context) -> Self;
    /// `self − other`.
    #[must_use]
    fn sub(&self, other: &Self, context: &Self::Context) -> Self;
    /// `self · other`.
    #[must_use]
    fn mul(&self, other: &Self, context: &Self::Context) -> Self;
    /// `self / other`.
    ///
    /// # Errors
    /// When `other` is zero, or cannot be told from zero.
    fn div(&self, other: &Self, context: &Self::Context) -> Result<Self, SeriesError>;
    /// `self · numerator / denominator`, `denominator` > 0; exact or one rounding.
    #[must_use]
    fn scale(&self, numerator: i64, denominator: i64, context: &Self::Context) -> Self;
    /// An elementary function's value.
    ///
    /// # Errors
    /// Outside its domain.
    fn call(&self, function: Function, context: &Self::Context) -> Result<Self, SeriesError>;
    /// `self^exponent`, rational exponent; odd roots of negative numbers are real.
    ///
    /// # Errors
    /// Outside its domain.
    fn power(&self, exponent: &Rational, context: &Self::Context) -> Result<Self, SeriesError>;
    /// Surely zero (exact kinds) — floating kinds answer by value. Used to skip work only.
    fn is_zero(&self) -> bool;

    /// `start + Σ left[i] · right[n − 1 − i]` over the `n` terms of two equally long slices: the
    /// inner loop of every recurrence. A kind of number with a faster way may replace it.
    #[must_use]
    fn convolve(start: Self, left: &[Self], right: &[Self], context: &Self::Context) -> Self {
        left.iter()
            .zip(right.iter().rev())
            .filter(|(a, b)| !a.is_zero() && !b.is_zero())
            .fold(start, |sum, (a, b)| sum.add(&a.mul(b, context), context))
    }

    /// Bits that the number takes, for budgets; 0 for kinds of a fixed size.
    fn bits(&self) -> u64 {
        0
    }

    /// Steps that an operation with this result counts for beyond those for its length.
    fn effort(&self) -> u64 {
        0
    }
}
