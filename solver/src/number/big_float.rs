//! Binary floating point of chosen precision, rounded to nearest: a thin layer over `dashu-float`
//! in which nothing panics. What has no value, or an absurdly large one, is [`BigFloat::NONE`].

use std::cell::RefCell;
use std::rc::Rc;

use dashu_float::round::mode::HalfEven;
use dashu_float::{ConstCache, Context, FBig, FpError, Repr};
use dashu_int::{IBig, Sign, Word};

use super::{DoubleDouble, Rational};

/// How many bits results are rounded to, and the constants (π, ln 2) worked out so far.
#[derive(Clone)]
pub struct Precision {
    context: Context<HalfEven>,
    constants: Rc<RefCell<ConstCache>>,
}

impl Precision {
    /// Results of `bits` bits; at least 2.
    pub fn new(bits: usize) -> Self {
        Self {
            context: Context::new(bits.max(2)),
            constants: Rc::new(RefCell::new(ConstCache::new())),
        }
    }

    /// The number of bits.
    pub fn bits(&self) -> usize {
        self.context.precision()
    }
}

impl std::fmt::Debug for Precision {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "Precision({})", self.bits())
    }
}

/// Numbers with a larger exponent, either sign, not kept: huge ones
/// have no value, tiny ones are zero.
const EXPONENT_LIMIT: isize = 1 << 22;

/// Bits of one word of a significand.
const WORD_BITS: usize = Word::BITS as usize;

/// Arguments of exp, sinh, cosh above 2^22 would overflow; those of sin, cos, tan would need
/// millions of digits of π.
const ARGUMENT_LOG2: f64 = 22.0;

/// A binary floating-point number.
#[derive(Clone, Debug, PartialEq)]
pub struct BigFloat(Repr<2>);

impl BigFloat {
    /// No value: overflow, division by zero, outside a domain.
    pub const NONE: Self = Self(Repr::infinity());

    /// Zero.
    pub const ZERO: Self = Self(Repr::zero());

    fn keep(result: Result<dashu_float::round::Rounded<FBig<HalfEven, 2>>, FpError>) -> Self {
        let repr = match result {
            Ok(rounded) => rounded.value().into_repr(),
            Err(FpError::Underflow(_)) => return Self::ZERO,
            Err(_) => return Self::NONE,
        };
        if repr.is_infinite() || repr.exponent() > EXPONENT_LIMIT {
            Self::NONE
        } else if repr.exponent() < -EXPONENT_LIMIT {
            Self::ZERO
        } else {
            Self(repr)
        }
    }

    /// Significand and exponent.
    pub(super) fn repr(&self) -> &Repr<2> {
        &self.0
    }

    /// From significand and exponent.
    pub(super) fn from_repr(repr: Repr<2>) -> Self {
        Self(repr)
    }

    /// The e with 2^(e−1) ≤ |self| < 2^e; `None` for zero and without a value.
    pub(super) fn end(&self) -> Option<isize> {
        if !self.is_finite() || self.is_zero() {
            return None;
        }
        let digits = isize::try_from(self.0.digits()).ok()?;
        Some(self.0.exponent() + digits)
    }

    /// An integer, exactly.
    pub fn from_i64(value: i64) -> Self {
        Self(Repr::new(IBig::from(value), 0))
    }

    /// A double, exactly; infinities and "not a number" are [`Self::NONE`].
    pub fn from_f64(value: f64) -> Self {
        Repr::<2>::try_from(value).map_or(Self::NONE, Self)
    }

    /// Exactly the sum of the two parts.
    pub fn from_double_double(value: DoubleDouble) -> Self {
        // Wide enough for any two doubles.
        let exact = Precision::new(2200);
        Self::from_f64(value.high()).plus(&Self::from_f64(value.low()), &exact)
    }

    /// `2^exponent`.
    pub fn power_of_two(exponent: isize) -> Self {
        Self(Repr::new(IBig::ONE, exponent))
    }

    /// A fraction, rounded once.
    pub fn from_rational(value: &Rational, precision: &Precision) -> Self {
        let part = |integer: &num_bigint::BigInt| {
            let magnitude = dashu_int::UBig::from_le_bytes(&integer.magnitude().to_bytes_le());
            let sign = if integer.sign() == num_bigint::Sign::Minus {
                Sign::Negative
            } else {
                Sign::Positive
            };
            Self(Repr::new(IBig::from_parts(sign, magnitude), 0))
        };
        let numerator = part(value.numer());
        if value.is_integer() {
            return numerator.rounded(precision);
        }
        numerator.over(&part(value.denom()), precision)
    }

    /// The same number as an exact fraction; `None` for [`Self::NONE`].
    pub fn to_rational(&self) -> Option<Rational> {
        if !self.is_finite() {
            return None;
        }
        let (sign, magnitude) = self.0.significand().clone().into_parts();
        let sign = match sign {
            Sign::Negative => num_bigint::Sign::Minus,
            Sign::Positive => num_bigint::Sign::Plus,
        };
        let significand = num_bigint::BigInt::from_bytes_le(sign, &magnitude.to_le_bytes());
        let shift = self.0.exponent().unsigned_abs();
        let power = num_bigint::BigInt::from(1) << shift;
        Some(if self.0.exponent() >= 0 {
            Rational::from_integer(significand * power)
        } else {
            Rational::new(significand, power)
        })
    }

    /// Rounded to fewer bits.
    #[must_use]
    pub fn rounded(&self, precision: &Precision) -> Self {
        self.plus(&Self::ZERO, precision)
    }

    /// The nearest two doubles.
    pub fn to_double_double(&self) -> DoubleDouble {
        let high = self.to_f64();
        let rest = self.minus(&Self::from_f64(high), &Precision::new(64));
        if high.is_finite() {
            DoubleDouble::from_sum(high, rest.to_f64())
        } else {
            DoubleDouble::from_f64(high)
        }
    }

    /// The nearest double; "not a number" for [`Self::NONE`].
    pub fn to_f64(&self) -> f64 {
        if self.is_finite() {
            self.0.to_f64().value()
        } else {
            f64::NAN
        }
    }

    /// Has a value.
    pub fn is_finite(&self) -> bool {
        self.0.is_finite()
    }

    /// Exactly zero.
    pub fn is_zero(&self) -> bool {
        self.0.significand().is_zero() && self.0.is_finite()
    }

    /// Less than zero.
    pub fn is_negative(&self) -> bool {
        self.0.is_finite() && !self.is_zero() && self.0.sign() == Sign::Negative
    }

    /// log₂ of the absolute value, to a few digits; −∞ for zero, +∞ for [`Self::NONE`].
    pub fn log2_abs(&self) -> f64 {
        if !self.is_finite() {
            return f64::INFINITY;
        }
        if self.is_zero() {
            return f64::NEG_INFINITY;
        }
        let (leading, exponent) = self.leading();
        libm::log2(libm::fabs(leading)) + f64::from(exponent)
    }

    /// `self · 2^shift` to nearly the precision of a double; "not a number" for [`Self::NONE`].
    pub fn scaled_f64(&self, shift: i32) -> f64 {
        if !self.is_finite() {
            return f64::NAN;
        }
        let (leading, exponent) = self.leading();
        libm::ldexp(leading, exponent.saturating_add(shift))
    }

    /// The leading 64 bits as a double, and the power of two that they count.
    fn leading(&self) -> (f64, i32) {
        let (sign, words) = self.0.significand().as_sign_words();
        // The top words hold at least 65 bits if there are as many.
        let used = words.len().min(128 / WORD_BITS);
        let top = words
            .iter()
            .rev()
            .take(used)
            .fold(0_u128, |top, word| (top << WORD_BITS) | u128::from(*word));
        let surplus = (128 - top.leading_zeros()).saturating_sub(64);
        #[allow(clippy::cast_precision_loss, reason = "the nearest double is wanted")]
        let magnitude = (top >> surplus) as f64;
        let below = (words.len() - used) * WORD_BITS;
        let exponent = i64::try_from(self.0.exponent()).unwrap_or(i64::MAX / 2)
            + i64::try_from(below).unwrap_or(0)
            + i64::from(surplus);
        (
            if sign == Sign::Negative {
                -magnitude
            } else {
                magnitude
            },
            i32::try_from(exponent).unwrap_or(i32::MAX),
        )
    }

    /// Bits of the significand.
    pub fn significand_bits(&self) -> u64 {
        self.0.digits() as u64
    }

    /// `self · 2^shift`, exactly.
    #[must_use]
    pub fn shifted(&self, shift: i32) -> Self {
        if self.is_zero() || !self.is_finite() {
            return self.clone();
        }
        let exponent = self
            .0
            .exponent()
            .saturating_add(isize::try_from(shift).unwrap_or(0));
        Self(Repr::new(self.0.significand().clone(), exponent))
    }

    /// `−self`.
    #[must_use]
    pub fn negated(&self) -> Self {
        if self.is_zero() || !self.is_finite() {
            return self.clone();
        }
        Self(Repr::new(-self.0.significand().clone(), self.0.exponent()))
    }

    /// |self|.
    #[must_use]
    pub fn absolute(&self) -> Self {
        if self.is_negative() {
            self.negated()
        } else {
            self.clone()
        }
    }

    /// `self + other`.
    #[must_use]
    pub fn plus(&self, other: &Self, precision: &Precision) -> Self {
        Self::keep(precision.context.add(&self.0, &other.0))
    }

    /// `self − other`.
    #[must_use]
    pub fn minus(&self, other: &Self, precision: &Precision) -> Self {
        Self::keep(precision.context.sub(&self.0, &other.0))
    }

    /// `self · other`.
    #[must_use]
    pub fn times(&self, other: &Self, precision: &Precision) -> Self {
        Self::keep(precision.context.mul(&self.0, &other.0))
    }

    /// `self / other`; [`Self::NONE`] when `other` is zero.
    #[must_use]
    pub fn over(&self, other: &Self, precision: &Precision) -> Self {
        Self::keep(precision.context.div(&self.0, &other.0))
    }

    /// `self · numerator / denominator`.
    #[must_use]
    pub fn scaled(&self, numerator: i64, denominator: i64, precision: &Precision) -> Self {
        let multiplied = if numerator == 1 {
            self.clone()
        } else {
            self.times(&Self::from_i64(numerator), precision)
        };
        if denominator == 1 {
            multiplied
        } else {
            multiplied.over(&Self::from_i64(denominator), precision)
        }
    }

    /// π.
    pub fn pi(precision: &Precision) -> Self {
        let pi = precision
            .constants
            .borrow_mut()
            .pi::<2, HalfEven>(precision.bits())
            .value();
        Self(pi.into_repr())
    }

    /// `self^exponent` for a fraction; [`Self::NONE`] outside the domain (`self` > 0 unless the
    /// exponent is an integer).
    #[must_use]
    pub fn power(&self, exponent: &Rational, precision: &Precision) -> Self {
        if exponent.is_integer() {
            let Ok(power) = i64::try_from(exponent.numer()) else {
                return Self::NONE;
            };
            // 2^22 bounds every result; larger exponents cannot stay inside except for ±1.
            if (self.log2_abs() * i64_to_f64(power)).abs() > 4e6 && !self.is_zero() {
                return Self::NONE;
            }
            if self.is_zero() && power < 0 {
                return Self::NONE;
            }
            return Self::keep(precision.context.powi(&self.0, IBig::from(power)));
        }
        if self.is_zero() || self.is_negative() || !self.is_finite() {
            return Self::NONE;
        }
        if *exponent == super::rational::ratio(1, 2) {
            return Self::keep(precision.context.sqrt(&self.0));
        }
        // The exponent must be exact to the last bit of ln(self)·exponent.
        let wide = Precision::new(precision.bits() + 64);
        let exponent = Self::from_rational(exponent, &wide);
        if (self.log2_abs() * exponent.to_f64()).abs() > 4e6 {
            return Self::NONE;
        }
        Self::keep(precision.context.powf(
            &self.0,
            &exponent.0,
            Some(&mut precision.constants.borrow_mut()),
        ))
    }
}

fn i64_to_f64(value: i64) -> f64 {
    #[allow(
        clippy::cast_precision_loss,
        reason = "only compared with a generous limit"
    )]
    let converted = value as f64;
    converted
}

/// Elementary functions, each [`BigFloat::NONE`] outside its domain.
macro_rules! functions {
    ($($(#[$doc:meta])* $name:ident: $method:ident, $limited:literal;)*) => {
        impl BigFloat {
            $(
                $(#[$doc])*
                #[must_use]
                pub fn $name(&self, precision: &Precision) -> Self {
                    if !self.is_finite() || ($limited && self.log2_abs() > ARGUMENT_LOG2) {
                        return Self::NONE;
                    }
                    Self::keep(precision.context.$method(
                        &self.0,
                        Some(&mut precision.constants.borrow_mut()),
                    ))
                }
            )*
        }
    };
}

functions! {
    /// eˣ.
    exp: exp, true;
    /// The natural logarithm.
    ln: ln, false;
    /// The sine.
    sin: sin, true;
    /// The cosine.
    cos: cos, true;
    /// The tangent.
    tan: tan, true;
    /// The inverse sine, in [−π/2, π/2].
    arcsin: asin, false;
    /// The inverse cosine, in [0, π].
    arccos: acos, false;
    /// The inverse tangent, in (−π/2, π/2).
    arctan: atan, false;
    /// The hyperbolic sine.
    sinh: sinh, true;
    /// The hyperbolic cosine.
    cosh: cosh, true;
    /// The hyperbolic tangent.
    tanh: tanh, true;
    /// The inverse hyperbolic sine.
    arsinh: asinh, false;
    /// The inverse hyperbolic cosine, ≥ 0.
    arcosh: acosh, false;
    /// The inverse hyperbolic tangent.
    artanh: atanh, false;
}

#[cfg(test)]
mod tests {
    use super::{BigFloat, Precision};
    use crate::number::rational::ratio;

    fn text(value: &BigFloat, digits: u32) -> String {
        crate::number::decimal::significant(value, digits)
    }

    #[test]
    fn published_constants() {
        let precision = Precision::new(128);
        // DLMF 3.12.1: π = 3.14159 26535 89793 23846…; DLMF 4.2.11: e = 2.71828 18284 59045 23536….
        assert_eq!(
            text(&BigFloat::pi(&precision), 21),
            "3.14159265358979323846"
        );
        let one = BigFloat::from_i64(1);
        assert_eq!(text(&one.exp(&precision), 21), "2.71828182845904523536");
        // √2 = 1.41421 35623 73095 04880 16887… (OEIS A002193).
        let root = BigFloat::from_i64(2).power(&ratio(1, 2), &precision);
        assert_eq!(text(&root, 26), "1.4142135623730950488016887");
        // ∛2 = 1.25992 10498 94873 16476 7… (OEIS A002580).
        let cube = BigFloat::from_i64(2).power(&ratio(1, 3), &precision);
        assert_eq!(text(&cube, 22), "1.259921049894873164767");
    }

    #[test]
    fn nothing_panics_outside_a_domain() {
        let p = Precision::new(128);
        let minus = BigFloat::from_i64(-2);
        let huge = BigFloat::power_of_two(3_000_000);
        for none in [
            minus.ln(&p),
            BigFloat::ZERO.ln(&p),
            minus.power(&ratio(1, 3), &p),
            BigFloat::ZERO.power(&ratio(-1, 1), &p),
            BigFloat::from_i64(1).over(&BigFloat::ZERO, &p),
            BigFloat::ZERO.over(&BigFloat::ZERO, &p),
            minus.arcsin(&p),
            minus.artanh(&p),
            BigFloat::from_i64(1).artanh(&p),
            BigFloat::ZERO.arcosh(&p),
            huge.exp(&p),
            huge.sin(&p),
            huge.times(&huge, &p),
            huge.power(&ratio(1_000_000_000, 1), &p),
            BigFloat::NONE.plus(&minus, &p),
            BigFloat::NONE.sin(&p),
        ] {
            assert!(!none.is_finite(), "{none:?}");
        }
        assert!(huge.power(&ratio(-1, 1), &p).is_finite());
    }

    #[test]
    fn fractions_and_doubles_go_through_unchanged() {
        let p = Precision::new(200);
        for value in [ratio(-7, 1024), ratio(5, 1), ratio(0, 1), ratio(1, 1 << 40)] {
            assert_eq!(
                BigFloat::from_rational(&value, &p).to_rational(),
                Some(value)
            );
        }
        let tenth = BigFloat::from_rational(&ratio(1, 10), &p);
        assert!((tenth.to_f64() - 0.1).abs() <= 0.0);
        let pair = tenth.to_double_double();
        let back = BigFloat::from_double_double(pair);
        assert!(back.minus(&tenth, &p).log2_abs() - tenth.log2_abs() < -106.0);
    }
}
