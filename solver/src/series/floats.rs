//! Double-doubles and floats of chosen precision as coefficients of series, and the numerical
//! value of expressions.

use num_traits::ToPrimitive;

use super::{Coefficient, SeriesError};
use crate::expression::enclosure::enclose;
use crate::expression::{Expr, Function, Node, Symbol};
use crate::number::big_float::Precision;
use crate::number::rational::integer;
use crate::number::{BigFloat, DoubleDouble, Rational, dot};

/// Deepest expression that is evaluated.
const DEPTH: usize = 400;

/// A kind of floating-point number that a run may use.
pub(crate) trait Real: Coefficient<Context = Precision> {
    /// The nearest number of this kind.
    fn from_big(value: &BigFloat, precision: &Precision) -> Self;
    /// A double that differs from it by at most one part in 2⁵⁰ (or by 2⁻¹⁰⁷⁴).
    fn lead(&self) -> f64;
    /// Exactly the same number.
    fn to_big(&self) -> BigFloat;
    /// Has a value.
    fn is_finite(&self) -> bool;
    /// log₂ of the absolute value; −∞ for zero.
    fn log2_abs(&self) -> f64;
    /// `self · 2^shift` as a double.
    fn scaled_f64(&self, shift: i32) -> f64;
}

/// The value of an expression in which only the independent variable occurs, at `variable`.
/// [`BigFloat::NONE`] where it has none. Every operation is rounded to `precision`; nothing is
/// promised about cancellation, so callers ask for more bits than they need.
pub(crate) fn evaluate(expression: &Expr, variable: &BigFloat, precision: &Precision) -> BigFloat {
    evaluate_to(expression, variable, precision, DEPTH)
}

fn evaluate_to(
    expression: &Expr,
    variable: &BigFloat,
    precision: &Precision,
    depth: usize,
) -> BigFloat {
    let Some(depth) = depth.checked_sub(1) else {
        return BigFloat::NONE;
    };
    let value = |part: &Expr| evaluate_to(part, variable, precision, depth);
    match expression.node() {
        Node::Number(number) => BigFloat::from_rational(number, precision),
        Node::Symbol(Symbol::Pi) => BigFloat::pi(precision),
        Node::Symbol(Symbol::Variable) => variable.clone(),
        Node::Symbol(Symbol::Root(_)) => enclose(expression, precision.bits())
            .map_or(BigFloat::NONE, |between| between.low().clone()),
        Node::Symbol(Symbol::Derivative { .. } | Symbol::Parameter(_)) => BigFloat::NONE,
        Node::Call(function, argument) => apply(*function, &value(argument), precision),
        Node::Power(base, exponent) => {
            let base = value(base);
            if let Node::Number(number) = exponent.node() {
                return base.power(number, precision);
            }
            // u^v = exp(v ln u)
            value(exponent)
                .times(&base.ln(precision), precision)
                .exp(precision)
        }
        Node::Product(factors) => factors
            .iter()
            .fold(BigFloat::from_i64(1), |product, factor| {
                product.times(&value(factor), precision)
            }),
        Node::Sum(terms) => terms.iter().fold(BigFloat::ZERO, |sum, term| {
            sum.plus(&value(term), precision)
        }),
    }
}

/// The value of an elementary function; [`BigFloat::NONE`] outside its domain.
pub(crate) fn apply(function: Function, x: &BigFloat, precision: &Precision) -> BigFloat {
    let p = precision;
    let one = BigFloat::from_i64(1);
    match function {
        Function::Exp => x.exp(p),
        Function::Ln => {
            if x.is_zero() {
                BigFloat::NONE
            } else {
                x.ln(p)
            }
        }
        Function::Sin => x.sin(p),
        Function::Cos => x.cos(p),
        Function::Tan => x.tan(p),
        Function::Cot => x.cos(p).over(&x.sin(p), p),
        Function::Sec => one.over(&x.cos(p), p),
        Function::Csc => one.over(&x.sin(p), p),
        Function::Arcsin => x.arcsin(p),
        Function::Arccos => x.arccos(p),
        Function::Arctan => x.arctan(p),
        Function::Arccot => x.arccot(p),
        Function::Sinh => x.sinh(p),
        Function::Cosh => x.cosh(p),
        Function::Tanh => x.tanh(p),
        Function::Coth => x.cosh(p).over(&x.sinh(p), p),
        Function::Sech => one.over(&x.cosh(p), p),
        Function::Csch => one.over(&x.sinh(p), p),
        Function::Arsinh => x.arsinh(p),
        Function::Arcosh => x.arcosh(p),
        Function::Artanh => x.artanh(p),
        Function::Abs => x.absolute(),
        Function::Sign => {
            if x.is_zero() || !x.is_finite() {
                x.clone()
            } else if x.is_negative() {
                BigFloat::from_i64(-1)
            } else {
                one
            }
        }
    }
}

/// The value of a closed constant, right to about `precision`; [`BigFloat::NONE`] when it has none.
pub(crate) fn constant(expression: &Expr, precision: &Precision) -> BigFloat {
    let mut bits = precision.bits() + 16;
    // Where terms cancel the enclosure is wide: more bits, up to four times as many.
    for last in [false, false, true] {
        let Ok(enclosure) = enclose(expression, bits) else {
            return BigFloat::NONE;
        };
        let (low, high) = (enclosure.low(), enclosure.high());
        let width = high.minus(low, precision).log2_abs();
        if last || width <= high.log2_abs() - bits_of(precision) {
            return high.rounded(precision);
        }
        bits *= 2;
    }
    BigFloat::NONE
}

fn bits_of(precision: &Precision) -> f64 {
    precision.bits().to_f64().unwrap_or(f64::INFINITY)
}

/// A value, or the error that there is none.
fn defined(value: BigFloat) -> Result<BigFloat, SeriesError> {
    if value.is_finite() {
        Ok(value)
    } else {
        Err(SeriesError::Undefined("no value at this point"))
    }
}

impl Coefficient for BigFloat {
    type Context = Precision;

    fn from_constant(constant: &Expr, context: &Precision) -> Result<Self, SeriesError> {
        defined(self::constant(constant, context))
    }

    fn from_rational(value: &Rational, context: &Precision) -> Self {
        Self::from_rational(value, context)
    }

    fn add(&self, other: &Self, context: &Precision) -> Self {
        self.plus(other, context)
    }

    fn sub(&self, other: &Self, context: &Precision) -> Self {
        self.minus(other, context)
    }

    fn mul(&self, other: &Self, context: &Precision) -> Self {
        self.times(other, context)
    }

    fn div(&self, other: &Self, context: &Precision) -> Result<Self, SeriesError> {
        if Self::is_zero(other) {
            return Err(SeriesError::Undefined("division by zero"));
        }
        Ok(self.over(other, context))
    }

    fn scale(&self, numerator: i64, denominator: i64, context: &Precision) -> Self {
        self.scaled(numerator, denominator, context)
    }

    fn call(&self, function: Function, context: &Precision) -> Result<Self, SeriesError> {
        defined(apply(function, self, context))
    }

    fn power(&self, exponent: &Rational, context: &Precision) -> Result<Self, SeriesError> {
        defined(Self::power(self, exponent, context))
    }

    fn is_zero(&self) -> bool {
        Self::is_zero(self)
    }

    fn bits(&self) -> u64 {
        self.significand_bits()
    }

    fn convolve(start: Self, left: &[Self], right: &[Self], context: &Precision) -> Self {
        let sum = dot::convolve(left, right, context).unwrap_or_else(|| {
            left.iter()
                .zip(right.iter().rev())
                .fold(Self::ZERO, |sum, (a, b)| {
                    sum.plus(&a.times(b, context), context)
                })
        });
        if Self::is_zero(&start) {
            sum
        } else {
            start.plus(&sum, context)
        }
    }
}

impl Real for BigFloat {
    fn from_big(value: &BigFloat, precision: &Precision) -> Self {
        value.rounded(precision)
    }

    fn lead(&self) -> f64 {
        self.scaled_f64(0)
    }

    fn to_big(&self) -> BigFloat {
        self.clone()
    }

    fn is_finite(&self) -> bool {
        Self::is_finite(self)
    }

    fn log2_abs(&self) -> f64 {
        Self::log2_abs(self)
    }

    fn scaled_f64(&self, shift: i32) -> f64 {
        Self::scaled_f64(self, shift)
    }
}

impl Coefficient for DoubleDouble {
    /// For elementary functions, which are worked out in a float of this many bits.
    type Context = Precision;

    fn from_constant(constant: &Expr, context: &Precision) -> Result<Self, SeriesError> {
        Ok(defined(self::constant(constant, context))?.to_double_double())
    }

    fn from_rational(value: &Rational, context: &Precision) -> Self {
        BigFloat::from_rational(value, context).to_double_double()
    }

    fn add(&self, other: &Self, _: &Precision) -> Self {
        self.plus(*other)
    }

    fn sub(&self, other: &Self, _: &Precision) -> Self {
        self.minus(*other)
    }

    fn mul(&self, other: &Self, _: &Precision) -> Self {
        self.times(*other)
    }

    fn div(&self, other: &Self, _: &Precision) -> Result<Self, SeriesError> {
        if Self::is_zero(*other) {
            return Err(SeriesError::Undefined("division by zero"));
        }
        Ok(self.over(*other))
    }

    fn scale(&self, numerator: i64, denominator: i64, _: &Precision) -> Self {
        self.scaled(numerator, denominator)
    }

    fn call(&self, function: Function, context: &Precision) -> Result<Self, SeriesError> {
        let value = BigFloat::from_double_double(*self);
        Ok(defined(apply(function, &value, context))?.to_double_double())
    }

    fn power(&self, exponent: &Rational, context: &Precision) -> Result<Self, SeriesError> {
        if *exponent == integer(2) {
            return Ok(self.times(*self));
        }
        let value = BigFloat::from_double_double(*self);
        Ok(defined(value.power(exponent, context))?.to_double_double())
    }

    fn is_zero(&self) -> bool {
        Self::is_zero(*self)
    }

    fn convolve(start: Self, left: &[Self], right: &[Self], _: &Precision) -> Self {
        left.iter()
            .zip(right.iter().rev())
            .fold(start, |sum, (a, b)| sum.plus(a.times(*b)))
    }
}

impl Real for DoubleDouble {
    fn from_big(value: &BigFloat, _: &Precision) -> Self {
        value.to_double_double()
    }

    fn lead(&self) -> f64 {
        self.high()
    }

    fn to_big(&self) -> BigFloat {
        BigFloat::from_double_double(*self)
    }

    fn is_finite(&self) -> bool {
        Self::is_finite(*self)
    }

    fn log2_abs(&self) -> f64 {
        libm::log2(libm::fabs(self.high()))
    }

    fn scaled_f64(&self, shift: i32) -> f64 {
        libm::ldexp(self.high(), shift)
    }
}
