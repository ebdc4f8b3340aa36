//! Exact fractions.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Zero};

/// An exact fraction in lowest terms with a positive denominator.
pub type Rational = num_rational::BigRational;

/// The fraction `numerator / denominator`. `denominator` must not be zero.
pub fn ratio(numerator: i64, denominator: i64) -> Rational {
    Rational::new(BigInt::from(numerator), BigInt::from(denominator))
}

/// The integer `n` as a fraction.
pub fn integer(n: i64) -> Rational {
    Rational::from_integer(BigInt::from(n))
}

/// Divisible by two?
pub fn is_even(n: &BigInt) -> bool {
    n.is_even()
}

/// a · b, without a greatest common divisor when both are integers.
pub fn multiply(a: &Rational, b: &Rational) -> Rational {
    if a.denom().is_one() && b.denom().is_one() {
        Rational::from_integer(a.numer() * b.numer())
    } else {
        a * b
    }
}

/// a + b, without a greatest common divisor when both are integers.
pub fn add(a: &Rational, b: &Rational) -> Rational {
    if a.denom().is_one() && b.denom().is_one() {
        Rational::from_integer(a.numer() + b.numer())
    } else {
        a + b
    }
}

/// Bits of numerator and denominator together.
pub fn bits(value: &Rational) -> u64 {
    value.numer().bits().saturating_add(value.denom().bits())
}

/// value^exponent by repeated squaring. The caller bounds the size; 0 to a negative power gives 0,
/// which callers exclude beforehand.
pub fn pow(value: &Rational, exponent: i32) -> Rational {
    if value.is_zero() {
        return if exponent == 0 {
            Rational::one()
        } else {
            Rational::zero()
        };
    }
    let size = exponent.unsigned_abs();
    let (n, d) = (value.numer().pow(size), value.denom().pow(size));
    // Powers of coprime numbers are coprime.
    if exponent >= 0 {
        Rational::new_raw(n, d)
    } else if n < BigInt::zero() {
        Rational::new_raw(-d, -n)
    } else {
        Rational::new_raw(d, n)
    }
}

/// n!
pub fn factorial(n: u32) -> BigInt {
    (2..=n).fold(BigInt::one(), |product, k| product * k)
}

/// The binomial coefficient C(n, k); 0 for k > n.
pub fn binomial(n: u32, k: u32) -> BigInt {
    if k > n {
        return BigInt::zero();
    }
    (0..k.min(n - k)).fold(BigInt::one(), |product, i| product * (n - i) / (i + 1))
}
