//! Decimal digits of binary floating-point numbers, rounded correctly.

use num_bigint::{BigInt, BigUint, Sign};
use num_traits::{One, Signed, ToPrimitive, Zero};

use super::{BigFloat, Rational};

/// The nearest decimal with so many significant `digits` (at least 1), ties away from zero:
/// `-0.355028`, `1250`, and from 10²¹ up or below 10⁻⁶ as `1.25e-9`. `0` for zero. Trailing
/// zeros are kept: they are digits too.
pub fn significant(value: &BigFloat, digits: u32) -> String {
    value.to_rational().map_or_else(
        || "undefined".to_owned(),
        |exact| significant_of(&exact, digits),
    )
}

/// [`significant`] of all numbers at most `radius` away from `mid`: with the most digits, from
/// `least` to `most`, for which they have the same text. `None`: they never do.
pub fn shared(mid: &BigFloat, radius: f64, (least, most): (u32, u32)) -> Option<(String, u32)> {
    let slack = BigFloat::from_f64(radius);
    let ((magnitude, exponent), (half, other)) = (mid.parts(), slack.parts());
    // Both in units of 2^unit.
    let unit = if half.is_zero() {
        exponent
    } else {
        exponent.min(other)
    };
    let (up, down) = (exponent.abs_diff(unit), other.abs_diff(unit));
    if !mid.is_finite()
        || !slack.is_finite()
        || magnitude.is_zero()
        || up > MOST_SHIFT
        || down > MOST_SHIFT
    {
        return None;
    }
    let magnitude = magnitude << up;
    let half = half << if half.is_zero() { 0 } else { down };
    if half >= magnitude {
        return None;
    }
    let (low, high) = (&magnitude - &half, magnitude + half);
    let negative = mid.is_negative();
    (least.max(1)..=most).rev().find_map(|digits| {
        let own = dyadic(&low, unit, digits);
        (own == dyadic(&high, unit, digits)).then(|| {
            let (scaled, exponent) = own;
            let sign = if negative { "-" } else { "" };
            (
                format!("{sign}{}", placed(&digits_of(&scaled), exponent)),
                digits,
            )
        })
    })
}

/// Numbers that are farther apart than this power of two are not brought to one unit.
const MOST_SHIFT: u64 = 4000;

/// The first `digits` digits of magnitude·2^unit > 0, rounded, and which power of ten the first of
/// them counts.
fn dyadic(magnitude: &BigUint, unit: i64, digits: u32) -> (BigUint, i64) {
    let bits = i64::try_from(magnitude.bits()).unwrap_or(i64::MAX);
    // Not above the exponent, and at most one below: 0.30102999 < log₁₀ 2 < 0.30103.
    let top = bits.saturating_add(unit) - 1;
    let share = if top < 0 { 30_103_000 } else { 30_102_999 };
    let mut exponent = (top * share).div_euclid(100_000_000);
    let full = ten_to(u64::from(digits)).into_parts().1;
    loop {
        let power = i64::from(digits) - 1 - exponent;
        let factor = ten_to(power.unsigned_abs()).into_parts().1;
        let (numerator, denominator) = if power >= 0 {
            (magnitude * factor, BigUint::one())
        } else {
            (magnitude.clone(), factor)
        };
        // One bit more, for the half.
        let shift = unit + 1;
        let (numerator, denominator) = if shift >= 0 {
            (numerator << shift.unsigned_abs(), denominator)
        } else {
            (numerator, denominator << shift.unsigned_abs())
        };
        let doubled: BigUint = if denominator.trailing_zeros() == Some(denominator.bits() - 1) {
            numerator >> (denominator.bits() - 1)
        } else {
            numerator / denominator
        };
        let scaled = (doubled + 1_u32) >> 1_u32;
        if scaled < full {
            return (scaled, exponent);
        }
        exponent += 1;
    }
}

/// [`significant`] of a fraction.
pub fn significant_of(value: &Rational, digits: u32) -> String {
    if value.is_zero() {
        return "0".to_owned();
    }
    let digits = digits.max(1);
    let magnitude = value.abs();
    let mut exponent = floor_log10(&magnitude);
    let mut scaled = rounded_times_power_of_ten(&magnitude, i64::from(digits) - 1 - exponent);
    if scaled == ten_to(u64::from(digits)) {
        // 9.99… rounded up to the next power of ten.
        scaled /= 10;
        exponent += 1;
    }
    let sign = if value.is_negative() { "-" } else { "" };
    format!("{sign}{}", placed(&scaled.to_string(), exponent))
}

/// The nearest fraction with `places` decimals, as text without trailing zeros: for axis ticks
/// and table places.
pub fn plain(value: &Rational, places: u32) -> String {
    let scaled = rounded_times_power_of_ten(&value.abs(), i64::from(places));
    if scaled.is_zero() {
        return "0".to_owned();
    }
    let width = places as usize + 1;
    let text = format!("{:0>width$}", digits_of(scaled.magnitude()));
    let (whole, part) = text.split_at(text.len() - places as usize);
    let part = part.trim_end_matches('0');
    let sign = if value.is_negative() { "-" } else { "" };
    if part.is_empty() {
        format!("{sign}{whole}")
    } else {
        format!("{sign}{whole}.{part}")
    }
}

/// The ends of an interval with positive width, rounded outward to two digits of half its width.
pub fn outward(low: &Rational, high: &Rational) -> (String, String) {
    let half = (high - low) / Rational::from_integer(2.into());
    if !half.is_positive() {
        return (significant_of(low, 40), significant_of(high, 40));
    }
    let power = floor_log10(&half) - 1;
    let factor = ten_to(power.unsigned_abs());
    let unit = if power >= 0 {
        Rational::from_integer(factor)
    } else {
        Rational::new(BigInt::one(), factor)
    };
    let text = |count: BigInt| {
        let digits = count.magnitude().to_string();
        if count.is_zero() {
            return digits;
        }
        let length = i64::try_from(digits.len()).unwrap_or(i64::MAX);
        let sign = if count.is_negative() { "-" } else { "" };
        format!("{sign}{}", placed(&digits, power + length - 1))
    };
    (
        text((low / &unit).floor().to_integer()),
        text((high / &unit).ceil().to_integer()),
    )
}

/// Puts the point, or the power of ten, into a string of digits whose first one counts 10^exponent.
fn placed(digits: &str, exponent: i64) -> String {
    let count = i64::try_from(digits.len()).unwrap_or(i64::MAX);
    if (-6..0).contains(&exponent) {
        let zeros = "0".repeat(usize::try_from(-exponent - 1).unwrap_or(0));
        return format!("0.{zeros}{digits}");
    }
    if (0..21).contains(&exponent) && exponent + 1 >= count {
        let zeros = "0".repeat(usize::try_from(exponent + 1 - count).unwrap_or(0));
        // Zeros that are not digits would claim too much: only when there are none.
        if zeros.is_empty() {
            return digits.to_owned();
        }
    } else if (0..21).contains(&exponent) {
        let (whole, part) = digits.split_at(usize::try_from(exponent + 1).unwrap_or(1));
        return format!("{whole}.{part}");
    }
    let (first, rest) = digits.split_at(1);
    if rest.is_empty() {
        format!("{first}e{exponent}")
    } else {
        format!("{first}.{rest}e{exponent}")
    }
}

/// 10^power. Hundreds of values are written with the same few powers, most of them short.
pub(crate) fn ten_to(power: u64) -> BigInt {
    let short = u32::try_from(power).ok();
    match short.and_then(|power| 10_u128.checked_pow(power)) {
        Some(value) => BigInt::from(value),
        None => num_traits::pow(
            BigInt::from(10),
            usize::try_from(power).unwrap_or(usize::MAX),
        ),
    }
}

/// The digits of a number, which is mostly short.
fn digits_of(value: &BigUint) -> String {
    value
        .to_u64()
        .map_or_else(|| value.to_string(), |short| short.to_string())
}

/// value · 10^power rounded to an integer, ties up; value ≥ 0.
fn rounded_times_power_of_ten(value: &Rational, power: i64) -> BigInt {
    let factor = ten_to(power.unsigned_abs());
    let (numerator, denominator) = if power >= 0 {
        (value.numer() * factor, value.denom().clone())
    } else {
        (value.numer().clone(), value.denom() * factor)
    };
    (numerator * 2 + &denominator) / (denominator * 2)
}

/// The k with 10^k ≤ value < 10^(k+1), value > 0.
fn floor_log10(value: &Rational) -> i64 {
    let bits = |n: &BigInt| i64::try_from(n.bits()).unwrap_or(i64::MAX);
    // log10 2 = 0.30103 to within one part in 10^6; corrected below.
    let mut k = (bits(value.numer()) - bits(value.denom())) * 30103 / 100_000 - 1;
    let reaches = |k: i64| {
        let factor = ten_to(k.unsigned_abs());
        if k >= 0 {
            *value.numer() >= value.denom() * factor
        } else {
            value.numer() * factor >= *value.denom()
        }
    };
    while reaches(k + 1) {
        k += 1;
    }
    while !reaches(k) {
        k -= 1;
    }
    k
}

/// The exact fraction that a decimal text such as `-1.25e-9` stands for.
pub fn parse(text: &str) -> Option<Rational> {
    let (mantissa, exponent) = match text.split_once('e') {
        Some((mantissa, exponent)) => (mantissa, exponent.parse::<i64>().ok()?),
        None => (text, 0),
    };
    let (negative, mantissa) = match mantissa.strip_prefix('-') {
        Some(rest) => (true, rest),
        None => (false, mantissa),
    };
    let (whole, part) = mantissa.split_once('.').unwrap_or((mantissa, ""));
    let digits = BigInt::parse_bytes(format!("{whole}{part}").as_bytes(), 10)?;
    if digits.sign() == Sign::Minus || exponent.unsigned_abs() > 100_000 {
        return None;
    }
    let power = exponent - i64::try_from(part.len()).ok()?;
    let factor = ten_to(power.unsigned_abs());
    let value = if power >= 0 {
        Rational::from_integer(digits * factor)
    } else {
        Rational::new(digits, BigInt::one() * factor)
    };
    Some(if negative { -value } else { value })
}

#[cfg(test)]
mod tests {
    use super::{parse, plain, significant_of};
    use crate::number::Rational;
    use crate::number::rational::ratio;

    #[test]
    fn digits_are_rounded_and_placed() {
        let cases: &[(Rational, u32, &str)] = &[
            (ratio(1, 3), 5, "0.33333"),
            (ratio(-2, 3), 3, "-0.667"),
            (ratio(1, 3_000_000), 2, "3.3e-7"),
            (ratio(1, 300_000), 2, "0.0000033"),
            (ratio(12_345, 1), 5, "12345"),
            (ratio(12_345, 1), 3, "1.23e4"),
            (ratio(12_345, 1), 7, "12345.00"),
            (ratio(9999, 1000), 2, "10"),
            (ratio(9999, 1000), 3, "10.0"),
            (ratio(0, 1), 4, "0"),
            (ratio(1, 1), 1, "1"),
            (ratio(15, 1), 1, "2e1"),
        ];
        for (value, digits, expected) in cases {
            assert_eq!(significant_of(value, *digits), *expected);
        }
    }

    #[test]
    fn plain_decimals_drop_trailing_zeros() {
        assert_eq!(plain(&ratio(-3, 4), 6), "-0.75");
        assert_eq!(plain(&ratio(5, 1), 6), "5");
        assert_eq!(plain(&ratio(1, 3), 4), "0.3333");
        assert_eq!(plain(&ratio(-1, 300), 1), "0");
    }

    #[test]
    fn reading_back_gives_the_same_fraction() {
        for text in ["-0.75", "1.25e-9", "12345", "2e1", "0"] {
            let value = parse(text).unwrap();
            assert_eq!(parse(&significant_of(&value, 5)), Some(value));
        }
        assert_eq!(parse("1.5.2"), None);
    }
}
