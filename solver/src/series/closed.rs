//! Closed constants (sin 1, π/6, √2, …) as coefficients: polynomials in the constants that occur.

use std::cell::RefCell;
use std::rc::Rc;

use super::{Coefficient, SeriesError};
use crate::budget::Budget;
use crate::expression::atoms::{Atoms, Polynomial};
use crate::expression::{Expr, Function, Undefined, UndefinedReason, evaluate};
use crate::number::Rational;
use crate::ordered::Map;

/// Steps of [`Budget::steps`] that the product of two terms counts for.
const STEPS_PER_PRODUCT: u64 = 20;

/// Terms of the longest coefficient that is worked out: well beyond what anybody reads.
const LONGEST: usize = 100;

/// The constants that occur in one solution, and reciprocals already worked out. Clones share them.
#[derive(Clone, Debug)]
pub struct ClosedContext {
    atoms: Rc<RefCell<Atoms>>,
    reciprocals: Rc<RefCell<Map<Polynomial, Polynomial>>>,
}

impl ClosedContext {
    /// For one solution within the budget.
    pub fn new(budget: &Budget) -> Self {
        let atoms = Atoms::new(budget.steps / STEPS_PER_PRODUCT, LONGEST);
        Self {
            atoms: Rc::new(RefCell::new(atoms)),
            reciprocals: Rc::default(),
        }
    }

    /// The constant in normal form.
    ///
    /// # Errors
    /// [`SeriesError::Exhausted`] when it was too long to be worked out.
    pub fn expression(&self, value: &Polynomial) -> Result<Expr, SeriesError> {
        let expression = self.atoms.borrow().expression(value);
        expression.ok_or(SeriesError::Exhausted)
    }

    fn value_of(&self, constant: &Expr) -> Result<Polynomial, SeriesError> {
        let value = evaluate(constant)?;
        let polynomial = self.atoms.borrow_mut().polynomial(&value);
        polynomial.ok_or(SeriesError::Exhausted)
    }
}

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

impl Coefficient for Polynomial {
    type Context = ClosedContext;

    fn from_constant(constant: &Expr, context: &ClosedContext) -> Result<Self, SeriesError> {
        context.value_of(constant)
    }

    fn from_rational(value: &Rational, _: &ClosedContext) -> Self {
        Self::number(value)
    }

    fn add(&self, other: &Self, _: &ClosedContext) -> Self {
        Self::add(self, other)
    }

    fn sub(&self, other: &Self, context: &ClosedContext) -> Self {
        Self::add(self, &Coefficient::scale(other, -1, 1, context))
    }

    fn mul(&self, other: &Self, context: &ClosedContext) -> Self {
        let zero = Self::number(&Rational::default());
        Self::convolve(
            zero,
            std::slice::from_ref(self),
            std::slice::from_ref(other),
            context,
        )
    }

    fn div(&self, other: &Self, context: &ClosedContext) -> Result<Self, SeriesError> {
        let known = context.reciprocals.borrow().get(other).cloned();
        let reciprocal = if let Some(reciprocal) = known {
            reciprocal
        } else {
            let base = Expr::raw_power(context.expression(other)?, Expr::int(-1));
            let reciprocal = context.value_of(&base)?;
            let mut all = context.reciprocals.borrow_mut();
            all.insert(other.clone(), reciprocal.clone());
            reciprocal
        };
        Ok(Coefficient::mul(self, &reciprocal, context))
    }

    fn scale(&self, numerator: i64, denominator: i64, _: &ClosedContext) -> Self {
        Self::scale(self, &numerator.into(), &denominator.into())
    }

    fn call(&self, function: Function, context: &ClosedContext) -> Result<Self, SeriesError> {
        context.value_of(&Expr::raw_call(function, context.expression(self)?))
    }

    fn power(&self, exponent: &Rational, context: &ClosedContext) -> Result<Self, SeriesError> {
        let exponent = Expr::number(exponent.clone());
        context.value_of(&Expr::raw_power(context.expression(self)?, exponent))
    }

    fn is_zero(&self) -> bool {
        Self::is_zero(self)
    }

    fn convolve(start: Self, left: &[Self], right: &[Self], context: &ClosedContext) -> Self {
        let pairs = left
            .iter()
            .zip(right.iter().rev())
            .filter(|(a, b)| !Self::is_zero(a) && !Self::is_zero(b));
        context.atoms.borrow_mut().sum_of_products(&start, pairs)
    }

    fn bits(&self) -> u64 {
        if self.is_overgrown() {
            u64::MAX
        } else {
            Self::bits(self)
        }
    }
}
