//! Exact fractions.

use num_bigint::BigInt;

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
