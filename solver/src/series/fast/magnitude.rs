//! Upper bounds for the sizes of coefficients: the series of the majorant, in which every number
//! is replaced by its absolute value and every minus by a plus (Cauchy's method of majorants).

use num_bigint::BigUint;
use num_traits::ToPrimitive;

use crate::expression::{Expr, Function};
use crate::number::Rational;
use crate::series::rational::RationalContext;
use crate::series::{Coefficient, SeriesError};

/// An upper bound `mantissa · 2^exponent`, `1 ≤ mantissa < 2`, or zero.
///
/// Operations round to nearest; [`Magnitude::bits`] adds bits enough for all roundings of a run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Magnitude {
    mantissa: f64,
    exponent: i64,
}

/// More than the relative error of 2⁴⁰ roundings in a row.
const ROUNDING_BITS: i64 = 2;

/// `2^(−shift)` for 0 ≤ shift ≤ 64.
fn power_of_two(shift: i64) -> f64 {
    f64::from_bits(u64::try_from(1023 - shift).unwrap_or(0) << 52)
}

impl Magnitude {
    const ZERO: Self = Self {
        mantissa: 0.0,
        exponent: 0,
    };

    fn normal(mut mantissa: f64, mut exponent: i64) -> Self {
        if mantissa == 0.0 {
            return Self::ZERO;
        }
        if mantissa >= 2.0 {
            mantissa *= 0.5;
            exponent += 1;
        } else if mantissa < 1.0 {
            mantissa *= 2.0;
            exponent -= 1;
        }
        Self { mantissa, exponent }
    }

    fn from_magnitude(value: &BigUint) -> Self {
        let bits = value.bits();
        if bits == 0 {
            return Self::ZERO;
        }
        let shift = bits.saturating_sub(53);
        let top = (value >> shift).to_u64().unwrap_or(u64::MAX);
        // Rounded up; 53 bits and one more unit still fit a double or round up to one.
        #[allow(
            clippy::cast_precision_loss,
            reason = "rounds to nearest, counted in ROUNDING_BITS"
        )]
        let mut mantissa = (top + u64::from(shift > 0)) as f64;
        let mut exponent = i64::try_from(shift).unwrap_or(i64::MAX / 4);
        while mantissa >= 2.0 {
            mantissa *= 0.5;
            exponent += 1;
        }
        Self::normal(mantissa, exponent)
    }

    fn quotient(self, other: Self) -> Self {
        Self::normal(
            self.mantissa / other.mantissa,
            self.exponent - other.exponent,
        )
    }

    /// A number of bits that the absolute value surely fits: `|value| < 2^bits`.
    pub(super) fn bits(self) -> i64 {
        if self.mantissa == 0.0 {
            0
        } else {
            self.exponent + 1 + ROUNDING_BITS
        }
    }
}

impl Coefficient for Magnitude {
    type Context = RationalContext;

    fn from_constant(constant: &Expr, context: &RationalContext) -> Result<Self, SeriesError> {
        Ok(Self::from_rational(
            &Rational::from_constant(constant, context)?,
            context,
        ))
    }

    fn from_rational(value: &Rational, _: &RationalContext) -> Self {
        let numerator = Self::from_magnitude(value.numer().magnitude());
        // The denominator is rounded up as well: by at most 2⁻⁵², once per constant.
        numerator.quotient(Self::from_magnitude(value.denom().magnitude()))
    }

    fn add(&self, other: &Self, _: &RationalContext) -> Self {
        let (large, small) =
            if self.mantissa == 0.0 || (other.mantissa != 0.0 && other.exponent > self.exponent) {
                (other, self)
            } else {
                (self, other)
            };
        if small.mantissa == 0.0 {
            return *large;
        }
        let shift = (large.exponent - small.exponent).min(60);
        Self::normal(
            large.mantissa + small.mantissa * power_of_two(shift),
            large.exponent,
        )
    }

    fn sub(&self, other: &Self, context: &RationalContext) -> Self {
        self.add(other, context)
    }

    fn mul(&self, other: &Self, _: &RationalContext) -> Self {
        Self::normal(
            self.mantissa * other.mantissa,
            self.exponent + other.exponent,
        )
    }

    fn div(&self, _: &Self, _: &RationalContext) -> Result<Self, SeriesError> {
        Err(SeriesError::Unsupported("a quotient has no majorant here"))
    }

    fn scale(&self, numerator: i64, denominator: i64, context: &RationalContext) -> Self {
        let integer = |n: i64| Self::from_magnitude(&BigUint::from(n.unsigned_abs()));
        self.mul(&integer(numerator), context)
            .quotient(integer(denominator))
    }

    fn call(&self, _: Function, _: &RationalContext) -> Result<Self, SeriesError> {
        Err(SeriesError::Unsupported("a function has no majorant here"))
    }

    fn power(&self, _: &Rational, _: &RationalContext) -> Result<Self, SeriesError> {
        Err(SeriesError::Unsupported("a root has no majorant here"))
    }

    fn is_zero(&self) -> bool {
        self.mantissa == 0.0
    }
}
