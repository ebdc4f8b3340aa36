//! Numbers of about 31 decimal digits: the unevaluated sum of two doubles.
//!
//! Algorithms and error bounds: M. Joldes, J.-M. Muller, V. Popescu, "Tight and rigorous error
//! bounds for basic building blocks of double-word arithmetic", ACM TOMS 44(2), 2017. Products
//! of doubles are split exactly by Veltkamp's and Dekker's method (Dekker, Numer. Math. 18,
//! 1971) and never by a fused multiply-add, so every platform gives the same digits.

use num_traits::ToPrimitive;

/// The sum `high + low`, where `low` is at most half a unit in the last place of `high`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DoubleDouble {
    high: f64,
    low: f64,
}

/// Veltkamp's constant 2²⁷ + 1: splits 53 bits into 26 and 26 (with a sign).
const SPLITTER: f64 = 134_217_729.0;

/// `a + b` and its rounding error, `|a| ≥ |b|` (`Fast2Sum`, Algorithm 1 of Joldes et al.).
#[inline]
fn fast_two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    (sum, b - (sum - a))
}

/// `a + b` and its rounding error (`2Sum`, Algorithm 2 of Joldes et al.).
#[inline]
fn two_sum(a: f64, b: f64) -> (f64, f64) {
    let sum = a + b;
    let a_part = sum - b;
    let b_part = sum - a_part;
    (sum, (a - a_part) + (b - b_part))
}

/// Two halves of 26 bits whose sum is `a` (Veltkamp).
#[inline]
fn split(a: f64) -> (f64, f64) {
    let scaled = SPLITTER * a;
    let high = scaled - (scaled - a);
    (high, a - high)
}

/// `a · b` and its rounding error (Dekker), exact unless something under- or overflows.
#[inline]
fn two_product(a: f64, b: f64) -> (f64, f64) {
    let product = a * b;
    let (a_high, a_low) = split(a);
    let (b_high, b_low) = split(b);
    let error = ((a_high * b_high - product) + a_high * b_low + a_low * b_high) + a_low * b_low;
    (product, error)
}

impl DoubleDouble {
    /// Zero.
    pub const ZERO: Self = Self {
        high: 0.0,
        low: 0.0,
    };

    /// A double, exactly.
    pub fn from_f64(value: f64) -> Self {
        Self {
            high: value,
            low: 0.0,
        }
    }

    /// The sum of two doubles, exactly.
    pub fn from_sum(a: f64, b: f64) -> Self {
        let (high, low) = two_sum(a, b);
        Self { high, low }
    }

    /// An integer, exactly (64 bits fit in two doubles).
    pub fn from_i64(value: i64) -> Self {
        // The upper part is a multiple of 2³² with at most 32 bits and converts exactly.
        let low = value & 0xffff_ffff;
        let upper = value - low;
        Self::from_sum(
            upper.to_f64().unwrap_or(f64::NAN),
            low.to_f64().unwrap_or(f64::NAN),
        )
    }

    /// The larger part; also the nearest double.
    pub fn high(self) -> f64 {
        self.high
    }

    /// The smaller part.
    pub fn low(self) -> f64 {
        self.low
    }

    /// Neither infinite nor "not a number".
    pub fn is_finite(self) -> bool {
        self.high.is_finite() && self.low.is_finite()
    }

    /// Exactly zero.
    pub fn is_zero(self) -> bool {
        self.high.classify() == std::num::FpCategory::Zero
    }

    /// `−self`.
    #[must_use]
    pub fn negated(self) -> Self {
        Self {
            high: -self.high,
            low: -self.low,
        }
    }

    /// `self + other`; relative error at most 3u² + 13u³, u = 2⁻⁵³ (Algorithm 6).
    #[inline]
    #[must_use]
    pub fn plus(self, other: Self) -> Self {
        let (sum_high, sum_low) = two_sum(self.high, other.high);
        let (tail_high, tail_low) = two_sum(self.low, other.low);
        let (v_high, v_low) = fast_two_sum(sum_high, sum_low + tail_high);
        let (high, low) = fast_two_sum(v_high, tail_low + v_low);
        Self { high, low }
    }

    /// `self − other`; error as [`Self::plus`].
    #[inline]
    #[must_use]
    pub fn minus(self, other: Self) -> Self {
        self.plus(other.negated())
    }

    /// `self · other`; relative error at most 5u² when products are exact (Algorithm 10, with the
    /// bound of Muller & Rideau, ACM TOMS 48(1), 2022).
    #[inline]
    #[must_use]
    pub fn times(self, other: Self) -> Self {
        let (product, error) = two_product(self.high, other.high);
        let cross = self.high * other.low + self.low * other.high;
        let (high, low) = fast_two_sum(product, error + cross);
        Self { high, low }
    }

    /// `self · factor`; relative error at most 3/2 u² + 4u³ (Algorithm 7).
    #[inline]
    #[must_use]
    pub fn times_f64(self, factor: f64) -> Self {
        let (product, error) = two_product(self.high, factor);
        let (sum, carry) = fast_two_sum(product, self.low * factor);
        let (high, low) = fast_two_sum(sum, carry + error);
        Self { high, low }
    }

    /// `self / divisor`, `divisor` ≠ 0; relative error at most 15u² + 56u³ (Algorithm 17).
    #[inline]
    #[must_use]
    pub fn over(self, divisor: Self) -> Self {
        let quotient = self.high / divisor.high;
        let back = divisor.times_f64(quotient);
        let rest = (self.high - back.high) + (self.low - back.low);
        let (high, low) = fast_two_sum(quotient, rest / divisor.high);
        Self { high, low }
    }

    /// `self / divisor`, `divisor` ≠ 0 a double; relative error at most 3u² (Algorithm 15).
    #[inline]
    #[must_use]
    pub fn over_f64(self, divisor: f64) -> Self {
        let quotient = self.high / divisor;
        let (product, error) = two_product(quotient, divisor);
        let rest = ((self.high - product) - error) + self.low;
        let (high, low) = fast_two_sum(quotient, rest / divisor);
        Self { high, low }
    }

    /// `self · numerator / denominator`, `denominator` ≠ 0.
    #[must_use]
    pub fn scaled(self, numerator: i64, denominator: i64) -> Self {
        const EXACT: i64 = 1 << 53;
        let multiplied = match numerator {
            1 => self,
            n if n.abs() <= EXACT => self.times_f64(n.to_f64().unwrap_or(f64::NAN)),
            n => self.times(Self::from_i64(n)),
        };
        match denominator {
            1 => multiplied,
            d if d.abs() <= EXACT => multiplied.over_f64(d.to_f64().unwrap_or(f64::NAN)),
            d => multiplied.over(Self::from_i64(d)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::DoubleDouble;
    use crate::number::BigFloat;
    use crate::number::big_float::Precision;

    /// Pseudo-random doubles of mixed magnitude (a linear congruential generator, fixed seed).
    fn doubles(count: usize) -> Vec<f64> {
        let mut state = 0x1234_5678_9abc_def1_u64;
        (0..count)
            .map(|i| {
                state = state
                    .wrapping_mul(6_364_136_223_846_793_005)
                    .wrapping_add(1_442_695_040_888_963_407);
                let mantissa = f64::from(u32::try_from(state >> 32).unwrap()) / 4_294_967_296.0
                    - 0.5
                    + f64::from(u32::try_from(state & 0xffff_ffff).unwrap()) * 1e-17;
                mantissa * [1.0, 1e-7, 3e9, 17.0][i % 4]
            })
            .collect()
    }

    /// |got − exact| / |exact| with `exact` in 400 bits, as a power of two.
    fn error_log2(got: DoubleDouble, exact: &BigFloat, precision: &Precision) -> f64 {
        let got = BigFloat::from_double_double(got);
        got.minus(exact, precision).log2_abs() - exact.log2_abs()
    }

    #[test]
    fn operations_stay_within_the_published_bounds() {
        let precision = Precision::new(400);
        let values = doubles(4000);
        let mut compared = 0;
        for quad in values.chunks(4) {
            let a = DoubleDouble::from_sum(quad[0], quad[1] * 1e-18);
            let b = DoubleDouble::from_sum(quad[2], quad[3] * 1e-17);
            let (exact_a, exact_b) = (
                BigFloat::from_double_double(a),
                BigFloat::from_double_double(b),
            );
            if exact_a.is_zero() || exact_b.is_zero() {
                continue;
            }
            compared += 1;
            let sum = exact_a.plus(&exact_b, &precision);
            // 3u² = 2^-104.4; 5u² = 2^-103.6; 15u² = 2^-102.09.
            assert!(error_log2(a.plus(b), &sum, &precision) < -104.0);
            let product = exact_a.times(&exact_b, &precision);
            assert!(error_log2(a.times(b), &product, &precision) < -103.0);
            let quotient = exact_a.over(&exact_b, &precision);
            assert!(error_log2(a.over(b), &quotient, &precision) < -102.0);
            let seventh = exact_a.over(&BigFloat::from_i64(7), &precision);
            assert!(error_log2(a.scaled(1, 7), &seventh, &precision) < -104.0);
        }
        assert!(compared > 900);
    }

    #[test]
    fn cancellation_is_exact_where_the_sum_is_representable() {
        let third = DoubleDouble::from_i64(1).scaled(1, 3);
        assert!(third.minus(third).is_zero());
        let big = DoubleDouble::from_i64(i64::MAX);
        let less = DoubleDouble::from_i64(i64::MAX - 1);
        assert!(big.minus(less) == DoubleDouble::from_i64(1));
    }

    #[test]
    fn overflow_is_noticed() {
        let huge = DoubleDouble::from_f64(1e300);
        assert!(!huge.times(huge).is_finite());
    }
}
