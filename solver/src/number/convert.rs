//! Fractions to doubles.

use num_integer::Integer;
use num_traits::{Signed, ToPrimitive, Zero};

use super::Rational;

/// The nearest double, ties to even; ±∞ beyond the largest. No platform function involved.
pub fn to_f64(value: &Rational) -> f64 {
    if value.is_zero() {
        return 0.0;
    }
    let numerator = value.numer().magnitude();
    let denominator = value.denom().magnitude();
    let (Ok(n), Ok(d)) = (
        i64::try_from(numerator.bits()),
        i64::try_from(denominator.bits()),
    ) else {
        return f64::NAN; // more than 2^63 bits do not fit into memory
    };
    let sign = if value.is_negative() { -1.0 } else { 1.0 };
    if n - d > 1030 {
        return sign * f64::INFINITY;
    }
    if n - d < -1100 {
        return sign * 0.0;
    }
    // quotient · 2^low ≤ |value|, with at least two bits more than a double holds
    let low = (n - d - 54).max(-1074) - 2;
    let (quotient, remainder) = if low >= 0 {
        numerator.div_rem(&(denominator << low.unsigned_abs()))
    } else {
        (numerator << low.unsigned_abs()).div_rem(denominator)
    };
    let (Some(quotient), Ok(length)) = (quotient.to_u128(), i64::try_from(quotient.bits())) else {
        return f64::NAN; // at most 58 bits by construction
    };
    let unit = (length + low - 53).max(-1074);
    let dropped = unit - low;
    let mut mantissa = quotient >> dropped;
    let rest = quotient & ((1 << dropped) - 1);
    let half = 1 << (dropped - 1);
    let above = rest > half || (rest == half && !remainder.is_zero());
    let tie = rest == half && remainder.is_zero();
    if above || (tie && mantissa & 1 == 1) {
        mantissa += 1;
    }
    let (Some(mantissa), Ok(unit)) = (mantissa.to_u64(), i32::try_from(unit)) else {
        return f64::NAN; // at most 54 bits by construction
    };
    #[allow(
        clippy::cast_precision_loss,
        reason = "at most 2^53, which a double holds exactly"
    )]
    let mantissa = mantissa as f64;
    sign * libm::scalbn(mantissa, unit)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::decimal::parse;
    use crate::number::rational::ratio;

    #[test]
    fn nearest_doubles() {
        let table = [
            ("0.1", 0.1),
            ("-0.3", -0.3),
            ("1e308", 1e308),
            ("1.7976931348623157e308", f64::MAX),
            ("5e-324", 5e-324),
            ("2.4703282292062328e-324", 5e-324),
            ("2.4703282292062327e-324", 0.0),
            ("2.2250738585072011e-308", 2.225_073_858_507_201e-308),
            ("9007199254740993", 9_007_199_254_740_992.0),
            ("9007199254740995", 9_007_199_254_740_996.0),
            ("1e400", f64::INFINITY),
            ("1e-400", 0.0),
        ];
        for (text, expected) in table {
            let value = parse(text).expect(text);
            assert_eq!(to_f64(&value).to_bits(), expected.to_bits(), "{text}");
            // Rust's own reading of decimals is correctly rounded as well.
            assert_eq!(
                to_f64(&value).to_bits(),
                text.parse::<f64>().expect(text).to_bits()
            );
        }
        assert_eq!(to_f64(&ratio(1, 3)).to_bits(), (1.0_f64 / 3.0).to_bits());
    }
}
