//! Greatest common divisors of big integers, by Lehmer's method: the leading 62 bits of both
//! numbers tell most quotients of Euclid's algorithm, so that the numbers themselves are touched
//! once in about 30 bits. (D. Knuth, *The Art of Computer Programming* 2, 4.5.2, algorithm L.)

use num_bigint::{BigInt, BigUint};
use num_traits::{ToPrimitive, Zero};

/// Bits of the leading parts.
const LEADING: u64 = 62;

/// Factors stay below this, so that a factor times a digit fits into 63 bits.
const LARGEST_FACTOR: i64 = 1 << 31;

/// The greatest common divisor, not negative; gcd(0, b) = |b|.
pub fn gcd(a: &BigInt, b: &BigInt) -> BigInt {
    BigInt::from(magnitudes(a.magnitude(), b.magnitude()))
}

/// The least common multiple, not negative; 0 when one of them is 0.
pub fn lcm(a: &BigInt, b: &BigInt) -> BigInt {
    if a.is_zero() || b.is_zero() {
        return BigInt::zero();
    }
    let common = gcd(a, b);
    BigInt::from((a / common * b).into_parts().1)
}

/// The same for numbers without a sign.
pub fn magnitudes(a: &BigUint, b: &BigUint) -> BigUint {
    let (mut a, mut b) = if a < b { (b, a) } else { (a, b) };
    let rest;
    // One division at once where the lengths differ.
    if b.bits() + LEADING / 2 < a.bits() && !b.is_zero() {
        rest = a % b;
        (a, b) = (b, &rest);
    }
    if let Some(word) = b.to_u64() {
        return with_word(a, word);
    }
    let (mut a, mut b) = (a.to_u32_digits(), b.to_u32_digits());
    while b.len() > 2 {
        let factors = leading_steps(&a, &b);
        if factors.1 == 0 {
            let remainder = (BigUint::from_slice(&a) % BigUint::from_slice(&b)).to_u32_digits();
            a = std::mem::replace(&mut b, remainder);
        } else {
            combine(&mut a, &mut b, factors);
        }
    }
    match BigUint::new(b).to_u64() {
        Some(word) => with_word(&BigUint::new(a), word),
        None => BigUint::new(a),
    }
}

/// The divisor of a number and a word.
fn with_word(a: &BigUint, word: u64) -> BigUint {
    if word == 0 {
        return a.clone();
    }
    match a.to_u64().or_else(|| (a % word).to_u64()) {
        Some(other) => BigUint::from(num_integer::gcd(other, word)),
        None => BigUint::from(word),
    }
}

/// Factors (A, B, C, D) such that (A a + B b, C a + D b) are a later pair of Euclid's algorithm for
/// a ≥ b; B = 0 when the leading parts tell nothing.
fn leading_steps(a: &[u32], b: &[u32]) -> (i64, i64, i64, i64) {
    let length = bits(a);
    let shift = length.saturating_sub(LEADING);
    let (mut high, mut low) = (bits_from(a, shift), bits_from(b, shift));
    let mut factors = (1, 0, 0, 1);
    loop {
        let (first, second, third, fourth) = factors;
        if low + third == 0 || low + fourth == 0 {
            return factors;
        }
        let quotient = (high + first) / (low + third);
        if quotient != (high + second) / (low + fourth) || quotient >= LARGEST_FACTOR {
            return factors;
        }
        let next = (first - quotient * third, second - quotient * fourth);
        if next.0.abs() >= LARGEST_FACTOR || next.1.abs() >= LARGEST_FACTOR {
            return factors;
        }
        factors = (third, fourth, next.0, next.1);
        (high, low) = (low, high - quotient * low);
    }
}

/// How many bits the number has; its last digit is not zero.
fn bits(number: &[u32]) -> u64 {
    let whole = 32 * number.len() as u64;
    whole
        - number
            .last()
            .map_or(0, |top| u64::from(top.leading_zeros()))
}

/// The bits from number `shift` on, at most [`LEADING`] of them.
fn bits_from(number: &[u32], shift: u64) -> i64 {
    let digits = usize::try_from(shift / 32).unwrap_or(usize::MAX);
    let window = number.iter().skip(digits).take(3).rev();
    let whole = window.fold(0_u128, |sum, digit| (sum << 32) | u128::from(*digit));
    // The two numbers have at most LEADING bits from there on.
    i64::try_from(whole >> (shift % 32)).unwrap_or(i64::MAX)
}

/// Puts the combinations in place of the numbers. They are smaller and not negative.
fn combine(a: &mut Vec<u32>, b: &mut Vec<u32>, factors: (i64, i64, i64, i64)) {
    b.resize(a.len(), 0);
    let (mut above, mut below) = (0_i64, 0_i64);
    for (x, y) in a.iter_mut().zip(b.iter_mut()) {
        let (u, v) = (i64::from(*x), i64::from(*y));
        above += factors.0 * u + factors.1 * v;
        below += factors.2 * u + factors.3 * v;
        (*x, *y) = (low_digit(above), low_digit(below));
        above >>= 32;
        below >>= 32;
    }
    for number in [a, b] {
        while number.last() == Some(&0) {
            number.pop();
        }
    }
}

#[allow(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "the lowest 32 bits are what is wanted"
)]
fn low_digit(value: i64) -> u32 {
    value as u32
}

#[cfg(test)]
mod tests {
    use super::*;
    use num_integer::Integer;

    /// Numbers of many lengths, with common divisors of many lengths, from a fixed generator
    /// (`SplitMix64`; Steele, Lea & Flood 2014), against the binary method of another library.
    #[test]
    fn same_as_the_binary_method() {
        let mut state = 7_u64;
        let mut word = || {
            state = state.wrapping_add(0x9E37_79B9_7F4A_7C15);
            let z = (state ^ (state >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
            let z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
            z ^ (z >> 31)
        };
        let mut number = |digits: u64| {
            let digits: Vec<u32> = (0..digits)
                .map(|_| match word() % 8 {
                    0 => 0,
                    1 => u32::MAX,
                    _ => low_digit(word().cast_signed()),
                })
                .collect();
            BigUint::new(digits)
        };
        for round in 0..600_u64 {
            let common = number(round % 7);
            let (a, b) = (number(round % 23) * &common, number(round % 19) * &common);
            let found = magnitudes(&a, &b);
            assert_eq!(found, a.gcd(&b), "{a}, {b}");
            assert_eq!(found, magnitudes(&b, &a), "{a}, {b}");
        }
    }

    /// Consecutive Fibonacci numbers have the most steps; neighbours of powers of two the largest
    /// quotients.
    #[test]
    fn extremes() {
        let (mut a, mut b) = (BigUint::zero(), BigUint::from(1_u32));
        for _ in 0..3000 {
            (a, b) = (&a + &b, a);
            assert_eq!(magnitudes(&a, &b), BigUint::from(1_u32));
        }
        let power: BigUint = BigUint::from(1_u32) << 2000;
        for (a, b) in [
            (&power + 1_u32, power.clone()),
            (&power * 6_u32, &power * 4_u32),
            (&power - 1_u32, (BigUint::from(1_u32) << 1500) - 1_u32),
            (power.clone(), BigUint::from(0_u32)),
            (&power * &power, &power << 3),
        ] {
            assert_eq!(magnitudes(&a, &b), a.gcd(&b));
        }
    }

    #[test]
    fn signs_and_multiples() {
        let int = |n: i64| BigInt::from(n);
        for (a, b, divisor, multiple) in [
            (12, -18, 6, 36),
            (0, -5, 5, 0),
            (0, 0, 0, 0),
            (-7, -7, 7, 7),
        ] {
            assert_eq!(gcd(&int(a), &int(b)), int(divisor));
            assert_eq!(lcm(&int(a), &int(b)), int(multiple));
        }
    }
}
