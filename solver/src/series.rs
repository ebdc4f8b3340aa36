//! The second route: power series arithmetic. The right-hand side is flattened to a list of
//! elementary operations; coefficients are found order by order by the classical recurrences
//! (Griewank & Walther, *Evaluating Derivatives*, 2nd ed., ch. 13). Shares nothing with
//! `derivation` but the problem.

use crate::expression::{Expr, Function};
use crate::number::Rational;

/// Why a series operation has no result.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SeriesError {
    /// Division by a series whose value at the centre is zero, logarithm of a non-positive value, ….
    Undefined(&'static str),
    /// A zero test could not be decided.
    Undecided,
    /// The budget ran out.
    Exhausted,
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
    fn add(&self, other: &Self, context: &Self::Context) -> Self;
    /// `self − other`.
    fn sub(&self, other: &Self, context: &Self::Context) -> Self;
    /// `self · other`.
    fn mul(&self, other: &Self, context: &Self::Context) -> Self;
    /// `self / other`.
    ///
    /// # Errors
    /// When `other` is zero, or cannot be told from zero.
    fn div(&self, other: &Self, context: &Self::Context) -> Result<Self, SeriesError>;
    /// `self · numerator / denominator`, `denominator` > 0; exact or one rounding.
    fn scale(&self, numerator: i64, denominator: i64, context: &Self::Context) -> Self;
    /// An elementary function's value.
    ///
    /// # Errors
    /// Outside its domain.
    fn call(&self, function: Function, context: &Self::Context) -> Result<Self, SeriesError>;
    /// `self^exponent`, rational exponent; `self` > 0 unless the exponent is an integer.
    ///
    /// # Errors
    /// Outside its domain.
    fn power(&self, exponent: &Rational, context: &Self::Context) -> Result<Self, SeriesError>;
    /// Surely zero (exact kinds) — floating kinds answer by value. Used to skip work only.
    fn is_zero(&self) -> bool;
}
