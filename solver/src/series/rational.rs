//! Exact fractions as coefficients.

use num_bigint::BigInt;
use num_traits::{One, Signed, ToPrimitive, Zero};

use super::{Coefficient, SeriesError};
use crate::expression::{Expr, Function, Node};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};

/// Most bits of an exact power; a larger one is [`SeriesError::Exhausted`].
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RationalContext {
    /// Bits of numerator and denominator together.
    pub bits: u64,
}

/// The value of a constant made of fractions, arithmetic and functions with rational values.
///
/// # Errors
/// [`SeriesError::Unrepresentable`] when it is not rational (or not seen to be).
fn constant_value(constant: &Expr, context: RationalContext) -> Result<Rational, SeriesError> {
    // Children before parents on an explicit stack, values on a second one.
    let mut tasks = vec![(constant, false)];
    let mut values: Vec<Rational> = Vec::new();
    while let Some((expression, ready)) = tasks.pop() {
        let children: Vec<&Expr> = match expression.node() {
            Node::Number(_) | Node::Symbol(_) => Vec::new(),
            Node::Call(_, argument) => vec![argument],
            Node::Power(base, exponent) => vec![base, exponent],
            Node::Product(parts) | Node::Sum(parts) => parts.iter().collect(),
        };
        if !ready && !children.is_empty() {
            tasks.push((expression, true));
            tasks.extend(children.into_iter().rev().map(|child| (child, false)));
            continue;
        }
        let arguments = values.split_off(values.len().saturating_sub(children.len()));
        let value = match (expression.node(), arguments.as_slice()) {
            (Node::Number(value), _) => value.clone(),
            (Node::Call(function, _), [argument]) => argument.call(*function, &context)?,
            (Node::Power(..), [base, exponent]) => base.power(exponent, &context)?,
            (Node::Product(_), factors) => factors.iter().product(),
            (Node::Sum(_), terms) => terms.iter().sum(),
            _ => return Err(SeriesError::Unrepresentable),
        };
        if value.bits() > context.bits {
            return Err(SeriesError::Exhausted);
        }
        values.push(value);
    }
    values.pop().ok_or(SeriesError::Unrepresentable)
}

/// The exact real `degree`-th root of an integer, which must not be negative for an even degree.
fn exact_root(value: &BigInt, degree: u32) -> Option<BigInt> {
    let root = value.nth_root(degree);
    (root.pow(degree) == *value).then_some(root)
}

impl Coefficient for Rational {
    type Context = RationalContext;

    fn from_constant(constant: &Expr, context: &RationalContext) -> Result<Self, SeriesError> {
        constant_value(constant, *context)
    }

    fn from_rational(value: &Rational, _: &RationalContext) -> Self {
        value.clone()
    }

    fn add(&self, other: &Self, _: &RationalContext) -> Self {
        self + other
    }

    fn sub(&self, other: &Self, _: &RationalContext) -> Self {
        self - other
    }

    fn mul(&self, other: &Self, _: &RationalContext) -> Self {
        self * other
    }

    fn div(&self, other: &Self, _: &RationalContext) -> Result<Self, SeriesError> {
        if Zero::is_zero(other) {
            return Err(SeriesError::Undefined("division by zero"));
        }
        Ok(self / other)
    }

    fn scale(&self, numerator: i64, denominator: i64, _: &RationalContext) -> Self {
        if denominator == 1 {
            self * integer(numerator)
        } else {
            self * ratio(numerator, denominator)
        }
    }

    fn call(&self, function: Function, _: &RationalContext) -> Result<Self, SeriesError> {
        let zero = Zero::is_zero(self);
        let one = self.is_one();
        Ok(match function {
            Function::Abs => self.abs(),
            Function::Sign => self.signum(),
            Function::Exp | Function::Cos | Function::Sec | Function::Cosh | Function::Sech
                if zero =>
            {
                integer(1)
            }
            Function::Sin
            | Function::Tan
            | Function::Sinh
            | Function::Tanh
            | Function::Arcsin
            | Function::Arctan
            | Function::Arsinh
            | Function::Artanh
                if zero =>
            {
                integer(0)
            }
            Function::Cot | Function::Csc | Function::Coth | Function::Csch if zero => {
                return Err(SeriesError::Undefined("a pole"));
            }
            Function::Ln if !self.is_positive() => {
                return Err(SeriesError::Undefined(
                    "the logarithm of a number that is not positive",
                ));
            }
            Function::Arcsin | Function::Arccos if self.abs() > integer(1) => {
                return Err(SeriesError::Undefined("an argument outside −1 … 1"));
            }
            Function::Artanh if self.abs() >= integer(1) => {
                return Err(SeriesError::Undefined("an argument outside −1 … 1"));
            }
            Function::Arcosh if *self < integer(1) => {
                return Err(SeriesError::Undefined("an argument below 1"));
            }
            Function::Ln | Function::Arccos | Function::Arcosh if one => integer(0),
            _ => return Err(SeriesError::Unrepresentable),
        })
    }

    fn power(&self, exponent: &Rational, context: &RationalContext) -> Result<Self, SeriesError> {
        if Zero::is_zero(exponent) {
            return Ok(integer(1));
        }
        if Zero::is_zero(self) && exponent.is_negative() {
            return Err(SeriesError::Undefined("division by zero"));
        }
        // Odd roots of negative numbers are real; no root has a Taylor series at zero.
        let even_root = !exponent.denom().bit(0);
        if !exponent.is_integer() && (Zero::is_zero(self) || (self.is_negative() && even_root)) {
            return Err(SeriesError::Undefined(
                "a root of a number that is not positive",
            ));
        }
        if self.is_integer() && self.numer().magnitude().is_one() {
            // ±1: only the parity of a large exponent matters.
            let odd = exponent.numer().bit(0);
            return Ok(integer(if self.is_negative() && odd { -1 } else { 1 }));
        }
        let numerator = exponent.numer().magnitude().to_u32();
        let numerator = numerator.ok_or(SeriesError::Exhausted)?;
        let denominator = exponent.denom().to_u32();
        let denominator = denominator.ok_or(SeriesError::Unrepresentable)?;
        let root = if denominator == 1 {
            self.clone()
        } else {
            match (
                exact_root(self.numer(), denominator),
                exact_root(self.denom(), denominator),
            ) {
                (Some(upper), Some(lower)) => Rational::new_raw(upper, lower),
                _ => return Err(SeriesError::Unrepresentable),
            }
        };
        if root.bits().saturating_mul(u64::from(numerator)) > context.bits.saturating_add(64) {
            return Err(SeriesError::Exhausted);
        }
        let power = num_traits::pow(root, numerator as usize);
        Ok(if exponent.is_negative() {
            power.recip()
        } else {
            power
        })
    }

    fn is_zero(&self) -> bool {
        Zero::is_zero(self)
    }

    fn bits(&self) -> u64 {
        self.numer().bits() + self.denom().bits()
    }

    /// Cancelling a fraction takes time like the square of its length (about 400 ns for a word
    /// squared, where a step is about 100 ns).
    fn effort(&self) -> u64 {
        let words = Coefficient::bits(self) / 64;
        words.saturating_mul(words).saturating_mul(4)
    }
}
