//! Binary floating point of chosen precision, rounded to nearest (ties to even), in which nothing
//! panics. What has no value, or an absurdly large one, is [`BigFloat::NONE`].

mod elementary;

use std::cell::RefCell;
use std::rc::Rc;

use num_bigint::{BigInt, BigUint, Sign};
use num_integer::Integer as _;
use num_traits::{ToPrimitive as _, Zero as _};

use super::{DoubleDouble, Rational};
use elementary::Constants;

/// How many bits results are rounded to, and the constants (π, ln 2) worked out so far.
#[derive(Clone)]
pub struct Precision {
    bits: usize,
    constants: Rc<RefCell<Constants>>,
}

impl Precision {
    /// Results of `bits` bits; at least 2.
    pub fn new(bits: usize) -> Self {
        Self {
            bits: bits.max(2),
            constants: Rc::default(),
        }
    }

    /// The number of bits.
    pub fn bits(&self) -> usize {
        self.bits
    }
}

impl std::fmt::Debug for Precision {
    fn fmt(&self, formatter: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(formatter, "Precision({})", self.bits())
    }
}

/// Numbers with a larger exponent, either sign, are not kept: huge ones have no value, tiny ones
/// are zero.
const EXPONENT_LIMIT: i64 = 1 << 22;

/// A binary floating-point number: ±magnitude·2^exponent.
#[derive(Clone, Debug)]
pub struct BigFloat {
    finite: bool,
    negative: bool,
    magnitude: BigUint,
    exponent: i64,
}

fn length(magnitude: &BigUint) -> i64 {
    i64::try_from(magnitude.bits()).unwrap_or(i64::MAX)
}

/// The same value, however many zeros end the magnitude.
impl PartialEq for BigFloat {
    fn eq(&self, other: &Self) -> bool {
        let exponent = self.exponent.min(other.exponent);
        self.finite == other.finite
            && self.negative == other.negative
            && self.top() == other.top()
            && &self.magnitude << self.exponent.abs_diff(exponent)
                == &other.magnitude << other.exponent.abs_diff(exponent)
    }
}

impl BigFloat {
    /// The exponent of the power of two just above the absolute value.
    fn top(&self) -> i64 {
        self.exponent.saturating_add(length(&self.magnitude))
    }

    /// No value: overflow, division by zero, outside a domain.
    pub const NONE: Self = Self {
        finite: false,
        negative: false,
        magnitude: BigUint::ZERO,
        exponent: 0,
    };

    /// Zero.
    pub const ZERO: Self = Self {
        finite: true,
        negative: false,
        magnitude: BigUint::ZERO,
        exponent: 0,
    };

    /// The e with 2^(e−1) ≤ |self| < 2^e; `None` for zero and without a value.
    pub(super) fn end(&self) -> Option<i64> {
        (self.finite && !self.magnitude.is_zero()).then(|| self.top())
    }

    /// The magnitude and the exponent.
    pub(super) fn parts(&self) -> (&BigUint, i64) {
        (&self.magnitude, self.exponent)
    }

    /// ±magnitude·2^exponent as it is, within the limits.
    pub(super) fn exactly(negative: bool, magnitude: BigUint, exponent: i64) -> Self {
        if magnitude.is_zero() {
            return Self::ZERO;
        }
        let top = exponent.saturating_add(length(&magnitude));
        if top > EXPONENT_LIMIT {
            Self::NONE
        } else if top < -EXPONENT_LIMIT {
            Self::ZERO
        } else {
            Self {
                finite: true,
                negative,
                magnitude,
                exponent,
            }
        }
    }

    /// The nearest number of so many bits, ties to even.
    pub(super) fn nearest(
        negative: bool,
        mut magnitude: BigUint,
        exponent: i64,
        bits: usize,
    ) -> Self {
        let mut excess = magnitude.bits().saturating_sub(bits as u64);
        if excess > 0 {
            let half = magnitude.bit(excess - 1);
            // A half exactly, when nothing stands below it.
            let tie = half && magnitude.trailing_zeros() == Some(excess - 1);
            magnitude >>= excess;
            if half && (!tie || magnitude.bit(0)) {
                magnitude += 1_u32;
                if magnitude.bits() > bits as u64 {
                    // A power of two now.
                    magnitude >>= 1_u32;
                    excess += 1;
                }
            }
        }
        let exponent = exponent.saturating_add(i64::try_from(excess).unwrap_or(i64::MAX));
        Self::exactly(negative, magnitude, exponent)
    }

    /// value/2^scale, rounded.
    fn from_scaled(value: &BigInt, scale: usize, precision: &Precision) -> Self {
        let exponent = i64::try_from(scale).map_or(i64::MIN, |scale| -scale);
        let negative = value.sign() == Sign::Minus;
        Self::nearest(
            negative,
            value.magnitude().clone(),
            exponent,
            precision.bits,
        )
    }

    /// self·2^scale, cut off to an integer.
    fn scaled_by(&self, scale: usize) -> BigInt {
        let shift = self
            .exponent
            .saturating_add(i64::try_from(scale).unwrap_or(i64::MAX));
        let distance = shift.unsigned_abs();
        let magnitude = if shift >= 0 {
            &self.magnitude << distance
        } else {
            &self.magnitude >> distance
        };
        BigInt::from_biguint(
            if self.negative {
                Sign::Minus
            } else {
                Sign::Plus
            },
            magnitude,
        )
    }

    /// The nearest integer, for numbers below 2^62; 0 beyond.
    fn nearest_integer(&self) -> i64 {
        let twice = self.absolute().scaled_by(1);
        let size: BigInt = (twice + 1) >> 1_u32;
        let size = size.to_i64().unwrap_or(0);
        if self.negative { -size } else { size }
    }

    /// An integer, exactly.
    pub fn from_i64(value: i64) -> Self {
        Self::exactly(value < 0, BigUint::from(value.unsigned_abs()), 0)
    }

    /// A double, exactly; infinities and "not a number" are [`Self::NONE`].
    pub fn from_f64(value: f64) -> Self {
        if !value.is_finite() {
            return Self::NONE;
        }
        let (mantissa, exponent, sign) = num_traits::Float::integer_decode(value);
        Self::exactly(sign < 0, BigUint::from(mantissa), i64::from(exponent))
    }

    /// Exactly the sum of the two parts.
    pub fn from_double_double(value: DoubleDouble) -> Self {
        // Wide enough for any two doubles.
        let exact = Precision::new(2200);
        Self::from_f64(value.high()).plus(&Self::from_f64(value.low()), &exact)
    }

    /// `2^exponent`.
    pub fn power_of_two(exponent: isize) -> Self {
        Self::exactly(false, BigUint::from(1_u32), exponent as i64)
    }

    /// A fraction, rounded once.
    pub fn from_rational(value: &Rational, precision: &Precision) -> Self {
        let part = |integer: &BigInt| {
            let negative = integer.sign() == Sign::Minus;
            Self::exactly(negative, integer.magnitude().clone(), 0)
        };
        let numerator = part(value.numer());
        if value.is_integer() {
            return numerator.rounded(precision);
        }
        numerator.over(&part(value.denom()), precision)
    }

    /// The same number as an exact fraction; `None` for [`Self::NONE`].
    pub fn to_rational(&self) -> Option<Rational> {
        if !self.finite {
            return None;
        }
        let sign = if self.negative {
            Sign::Minus
        } else {
            Sign::Plus
        };
        let significand = BigInt::from_biguint(sign, self.magnitude.clone());
        let power = BigInt::from(1) << self.exponent.unsigned_abs();
        Some(if self.exponent >= 0 {
            Rational::from_integer(significand * power)
        } else {
            Rational::new(significand, power)
        })
    }

    /// Rounded to fewer bits.
    #[must_use]
    pub fn rounded(&self, precision: &Precision) -> Self {
        if !self.finite || self.magnitude.bits() <= precision.bits as u64 {
            return self.clone();
        }
        Self::nearest(
            self.negative,
            self.magnitude.clone(),
            self.exponent,
            precision.bits,
        )
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
        if !self.finite {
            return f64::NAN;
        }
        let top = self.top();
        // The last bit of a double is never worth less than 2^−1074.
        let bits = usize::try_from(top.saturating_add(1074).clamp(0, 53)).unwrap_or(0);
        if bits == 0 {
            // Below half of the smallest double, or just above it.
            let up =
                top == -1074 && self.magnitude.trailing_zeros() != Some(self.magnitude.bits() - 1);
            let size = if up { f64::from_bits(1) } else { 0.0 };
            return if self.negative { -size } else { size };
        }
        let short = Self::nearest(self.negative, self.magnitude.clone(), self.exponent, bits);
        let mantissa = short.magnitude.to_f64().unwrap_or(f64::NAN);
        let exponent = i32::try_from(short.exponent.clamp(-5000, 5000)).unwrap_or(0);
        let size = libm::ldexp(mantissa, exponent);
        if self.negative { -size } else { size }
    }

    /// Has a value.
    pub fn is_finite(&self) -> bool {
        self.finite
    }

    /// Exactly zero.
    pub fn is_zero(&self) -> bool {
        self.finite && self.magnitude.is_zero()
    }

    /// Less than zero.
    pub fn is_negative(&self) -> bool {
        self.finite && self.negative
    }

    fn is_positive(&self) -> bool {
        self.finite && !self.negative && !self.magnitude.is_zero()
    }

    /// log₂ of the absolute value, to a few digits; −∞ for zero, +∞ for [`Self::NONE`].
    pub fn log2_abs(&self) -> f64 {
        if !self.finite {
            return f64::INFINITY;
        }
        if self.magnitude.is_zero() {
            return f64::NEG_INFINITY;
        }
        let (leading, exponent) = self.leading();
        libm::log2(libm::fabs(leading)) + f64::from(exponent)
    }

    /// `self · 2^shift` to nearly the precision of a double; "not a number" for [`Self::NONE`].
    pub fn scaled_f64(&self, shift: i32) -> f64 {
        if !self.finite {
            return f64::NAN;
        }
        let (leading, exponent) = self.leading();
        libm::ldexp(leading, exponent.saturating_add(shift))
    }

    /// The leading 64 to 128 bits as a double, and the power of two that they count.
    fn leading(&self) -> (f64, i32) {
        let digits = self.magnitude.iter_u64_digits();
        let below = digits.len().saturating_sub(2);
        let mut leading = 0.0;
        for digit in digits.rev().take(2) {
            #[allow(clippy::cast_precision_loss, reason = "nearly a double is wanted")]
            let digit = digit as f64;
            leading = leading * 18_446_744_073_709_551_616.0 + digit;
        }
        let below = i64::try_from(below).map_or(i64::MAX, |below| below.saturating_mul(64));
        let exponent = self.exponent.saturating_add(below);
        (
            if self.negative { -leading } else { leading },
            i32::try_from(exponent).unwrap_or(i32::MAX),
        )
    }

    /// Bits of the significand.
    pub fn significand_bits(&self) -> u64 {
        self.magnitude.bits()
    }

    /// `self · 2^shift`, exactly.
    #[must_use]
    pub fn shifted(&self, shift: i32) -> Self {
        if !self.finite {
            return self.clone();
        }
        let exponent = self.exponent.saturating_add(i64::from(shift));
        Self::exactly(self.negative, self.magnitude.clone(), exponent)
    }

    /// `−self`.
    #[must_use]
    pub fn negated(&self) -> Self {
        Self {
            negative: !self.negative && self.finite && !self.magnitude.is_zero(),
            ..self.clone()
        }
    }

    /// |self|.
    #[must_use]
    pub fn absolute(&self) -> Self {
        Self {
            negative: false,
            ..self.clone()
        }
    }

    /// `self + other`.
    #[must_use]
    pub fn plus(&self, other: &Self, precision: &Precision) -> Self {
        self.combine(other, other.negative, precision)
    }

    /// `self − other`.
    #[must_use]
    pub fn minus(&self, other: &Self, precision: &Precision) -> Self {
        self.combine(other, !other.negative, precision)
    }

    /// `self ± other`, the sign of `other` given.
    fn combine(&self, other: &Self, other_negative: bool, precision: &Precision) -> Self {
        if !self.finite || !other.finite {
            return Self::NONE;
        }
        let bits = precision.bits;
        if other.magnitude.is_zero() {
            return self.rounded(precision);
        }
        if self.magnitude.is_zero() {
            return Self::nearest(
                other_negative,
                other.magnitude.clone(),
                other.exponent,
                bits,
            );
        }
        let ((large, large_negative), (small, small_negative)) = if self.top() >= other.top() {
            ((self, self.negative), (other, other_negative))
        } else {
            ((other, other_negative), (self, self.negative))
        };
        // A number below every bit that matters counts as one bit there: it breaks ties only.
        let lowest = large
            .exponent
            .min(
                large
                    .top()
                    .saturating_sub(i64::try_from(bits).unwrap_or(i64::MAX)),
            )
            .saturating_sub(3);
        let single = BigUint::from(1_u32);
        let (small, small_exponent) = if small.top() < lowest {
            (&single, lowest)
        } else {
            (&small.magnitude, small.exponent)
        };
        let exponent = large.exponent.min(small_exponent);
        let lifted = |magnitude: &BigUint, own: i64| magnitude << own.abs_diff(exponent);
        let mut sum = lifted(&large.magnitude, large.exponent);
        let addend = lifted(small, small_exponent);
        let mut negative = large_negative;
        if large_negative == small_negative {
            sum += addend;
        } else if sum >= addend {
            sum -= addend;
        } else {
            sum = addend - sum;
            negative = small_negative;
        }
        Self::nearest(negative, sum, exponent, bits)
    }

    /// `self · other`.
    #[must_use]
    pub fn times(&self, other: &Self, precision: &Precision) -> Self {
        if !self.finite || !other.finite {
            return Self::NONE;
        }
        let exponent = self.exponent.saturating_add(other.exponent);
        let negative = self.negative != other.negative;
        Self::nearest(
            negative,
            &self.magnitude * &other.magnitude,
            exponent,
            precision.bits,
        )
    }

    /// `self / other`; [`Self::NONE`] when `other` is zero.
    #[must_use]
    pub fn over(&self, other: &Self, precision: &Precision) -> Self {
        if !self.finite || !other.finite || other.magnitude.is_zero() {
            return Self::NONE;
        }
        // So much longer that the quotient has three bits to spare: the last one says whether
        // anything is left.
        let wanted = (precision.bits as u64).saturating_add(other.magnitude.bits()) + 3;
        let shift = wanted.saturating_sub(self.magnitude.bits());
        let (mut quotient, rest) = (&self.magnitude << shift).div_rem(&other.magnitude);
        if !rest.is_zero() {
            quotient.set_bit(0, true);
        }
        let exponent = self
            .exponent
            .saturating_sub(other.exponent)
            .saturating_sub(i64::try_from(shift).unwrap_or(i64::MAX));
        let negative = self.negative != other.negative;
        Self::nearest(negative, quotient, exponent, precision.bits)
    }

    /// √self; [`Self::NONE`] below zero.
    fn sqrt(&self, precision: &Precision) -> Self {
        if !self.finite || self.is_negative() {
            return Self::NONE;
        }
        // So much longer that the root has two bits to spare, and the exponent stays even.
        let wanted = (precision.bits as u64) * 2 + 4;
        let mut shift = wanted.saturating_sub(self.magnitude.bits());
        if (self.exponent.unsigned_abs() + shift) % 2 == 1 {
            shift += 1;
        }
        let radicand = &self.magnitude << shift;
        let root = radicand.sqrt();
        let sticky = u32::from(&root * &root != radicand);
        let exponent = (self.exponent - i64::try_from(shift).unwrap_or(i64::MAX)) / 2 - 1;
        Self::nearest(
            false,
            (root << 1_u32) | BigUint::from(sticky),
            exponent,
            precision.bits,
        )
    }

    /// `self · numerator / denominator`.
    #[must_use]
    pub fn scaled(&self, numerator: i64, denominator: i64, precision: &Precision) -> Self {
        if numerator == 1 && denominator == 1 {
            self.clone()
        } else if numerator == 1 {
            self.over(&Self::from_i64(denominator), precision)
        } else {
            let multiplied = self.times(&Self::from_i64(numerator), precision);
            if denominator == 1 {
                multiplied
            } else {
                multiplied.over(&Self::from_i64(denominator), precision)
            }
        }
    }

    /// `self^exponent` for a fraction; [`Self::NONE`] outside the domain (`self` > 0, or `self` < 0
    /// and an odd denominator: such roots are real, unless the exponent is an integer).
    #[must_use]
    pub fn power(&self, exponent: &Rational, precision: &Precision) -> Self {
        if exponent.is_integer() {
            return i64::try_from(exponent.numer())
                .map_or(Self::NONE, |power| self.power_integer(power, precision));
        }
        if !self.is_positive() {
            if self.is_zero() || !exponent.denom().bit(0) {
                return Self::NONE;
            }
            let size = self.negated().power(exponent, precision);
            return if exponent.numer().bit(0) {
                size.negated()
            } else {
                size
            };
        }
        if *exponent == super::rational::ratio(1, 2) {
            return self.sqrt(precision);
        }
        // The exponent must be exact to the last bit of ln(self)·exponent.
        let wide = Precision::new(precision.bits + 64);
        let exponent = Self::from_rational(exponent, &wide);
        if (self.log2_abs() * exponent.to_f64()).abs() > 4e6 {
            return Self::NONE;
        }
        self.ln(&wide).times(&exponent, &wide).exp(precision)
    }

    fn power_integer(&self, power: i64, precision: &Precision) -> Self {
        if power == 0 {
            return Self::from_i64(1);
        }
        // 2^22 bounds every result; larger exponents cannot stay inside except for ±1.
        if !self.is_zero() && (self.log2_abs() * i64_to_f64(power)).abs() > 4e6 {
            return Self::NONE;
        }
        // Each of the (at most 128) roundings doubles, at worst, the relative error so far.
        let wide = Precision::new(precision.bits + 72);
        let mut value = Self::from_i64(1);
        let size = power.unsigned_abs();
        for bit in (0..u64::BITS - size.leading_zeros()).rev() {
            value = value.times(&value, &wide);
            if size >> bit & 1 == 1 {
                value = value.times(self, &wide);
            }
        }
        if power < 0 {
            return Self::from_i64(1).over(&value, precision);
        }
        value.rounded(precision)
    }
}

fn i64_to_f64(value: i64) -> f64 {
    #[allow(
        clippy::cast_precision_loss,
        reason = "only compared with a generous limit, or far below 2^53"
    )]
    let converted = value as f64;
    converted
}

#[cfg(test)]
mod tests;
