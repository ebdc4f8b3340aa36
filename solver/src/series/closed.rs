//! Closed constants (sin 1, π/6, √2, …) as coefficients.

use super::{Coefficient, SeriesError};
use crate::expression::{Expr, Function, Undefined, UndefinedReason, evaluate};
use crate::number::Rational;
use crate::number::rational::ratio;

/// Closed constants need no precision; how large they may grow is the solver's affair.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ClosedContext;

/// Terms up to which a product is multiplied out.
const LARGEST_EXPANSION: usize = 500;

/// What a node of an expression counts for in a budget of bits.
const BITS_PER_NODE: u64 = 32;

impl From<Undefined> for SeriesError {
    fn from(undefined: Undefined) -> Self {
        match undefined.reason {
            UndefinedReason::CannotDecide => Self::Undecided,
            UndefinedReason::TooLarge => Self::Exhausted,
            UndefinedReason::NotConstant => Self::Unrepresentable,
            UndefinedReason::DivisionByZero => Self::Undefined("division by zero"),
            UndefinedReason::ZeroToTheZero => Self::Undefined("zero to the power zero"),
            UndefinedReason::LogOfNonPositive => {
                Self::Undefined("the logarithm of a number that is not positive")
            }
            UndefinedReason::RootOfNegative => Self::Undefined("a root of a negative number"),
            UndefinedReason::PowerOfNonPositive => {
                Self::Undefined("a power of a number that is not positive")
            }
            UndefinedReason::OutsideUnitInterval => Self::Undefined("an argument outside −1 … 1"),
            UndefinedReason::BelowOne => Self::Undefined("an argument below 1"),
            UndefinedReason::Pole => Self::Undefined("a pole"),
            UndefinedReason::KinkOfAbs => Self::Undefined("the absolute value at its kink"),
        }
    }
}

/// The value, or the normal form where a part of it cannot be decided (it has been evaluated
/// before, so that only a zero test that was already passed can be in doubt).
fn tidy(expression: &Expr) -> Expr {
    evaluate(expression).unwrap_or_else(|_| expression.normal())
}

impl Coefficient for Expr {
    type Context = ClosedContext;

    fn from_constant(constant: &Expr, _: &ClosedContext) -> Result<Self, SeriesError> {
        Ok(evaluate(constant)?)
    }

    fn from_rational(value: &Rational, _: &ClosedContext) -> Self {
        Self::number(value.clone())
    }

    fn add(&self, other: &Self, _: &ClosedContext) -> Self {
        match (self.as_number(), other.as_number()) {
            (Some(a), Some(b)) => Self::number(a + b),
            _ => Self::add(self, other),
        }
    }

    fn sub(&self, other: &Self, context: &ClosedContext) -> Self {
        Coefficient::add(self, &other.neg(), context)
    }

    fn mul(&self, other: &Self, _: &ClosedContext) -> Self {
        match (self.as_number(), other.as_number()) {
            (Some(a), Some(b)) => Self::number(a * b),
            _ => Self::mul(self, other).expand(LARGEST_EXPANSION),
        }
    }

    fn div(&self, other: &Self, _: &ClosedContext) -> Result<Self, SeriesError> {
        let inverse = Self::raw_power(other.clone(), Self::int(-1));
        Ok(evaluate(&Self::raw_product(vec![self.clone(), inverse]))?)
    }

    fn scale(&self, numerator: i64, denominator: i64, _: &ClosedContext) -> Self {
        Self::scale(self, &ratio(numerator, denominator))
    }

    fn call(&self, function: Function, _: &ClosedContext) -> Result<Self, SeriesError> {
        Ok(evaluate(&Self::raw_call(function, self.clone()))?)
    }

    fn power(&self, exponent: &Rational, _: &ClosedContext) -> Result<Self, SeriesError> {
        Ok(evaluate(&Self::raw_power(
            self.clone(),
            Self::number(exponent.clone()),
        ))?)
    }

    fn is_zero(&self) -> bool {
        Self::is_zero(self)
    }

    fn convolve(start: Self, left: &[Self], right: &[Self], context: &ClosedContext) -> Self {
        // One sum of all products, so that like terms are collected and identities looked for once.
        let mut terms = vec![start];
        for (a, b) in left.iter().zip(right.iter().rev()) {
            if !Self::is_zero(a) && !Self::is_zero(b) {
                terms.push(Coefficient::mul(a, b, context));
            }
        }
        if terms.len() == 1 {
            return terms.swap_remove(0);
        }
        tidy(&Self::sum(terms))
    }

    fn bits(&self) -> u64 {
        match self.as_number() {
            Some(value) => value.numer().bits() + value.denom().bits(),
            None => BITS_PER_NODE.saturating_mul(self.size() as u64),
        }
    }
}
