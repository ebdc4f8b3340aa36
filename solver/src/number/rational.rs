//! Exact fractions.

use std::cmp::Ordering;
use std::fmt;
use std::iter::{Product, Sum};
use std::ops::{
    Add, AddAssign, Div, DivAssign, Mul, MulAssign, Neg, Rem, RemAssign, Sub, SubAssign,
};

use num_bigint::{BigInt, ParseBigIntError};
use num_integer::Integer;
use num_rational::Ratio;
use num_traits::{Num, One, Signed, ToPrimitive, Zero};

use super::convert::to_f64;
use super::gcd::gcd;

/// An exact fraction in lowest terms with a positive denominator. The fraction is the library's;
/// sums, products and quotients are reduced here, because the library's greatest common divisor is
/// the binary one, which touches every digit at every bit.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Rational(Ratio<BigInt>);

impl Rational {
    /// The fraction in lowest terms. The denominator must not be zero.
    pub fn new(numerator: BigInt, denominator: BigInt) -> Self {
        assert!(!denominator.is_zero(), "a denominator of zero");
        let common = gcd(&numerator, &denominator);
        if common.is_one() {
            Self::signed(numerator, denominator)
        } else {
            Self::signed(numerator / &common, denominator / common)
        }
    }

    /// A fraction that is in lowest terms already, with a positive denominator.
    pub fn new_raw(numerator: BigInt, denominator: BigInt) -> Self {
        Self(Ratio::new_raw(numerator, denominator))
    }

    /// A fraction that is in lowest terms already.
    fn signed(numerator: BigInt, denominator: BigInt) -> Self {
        if denominator.is_negative() {
            Self::new_raw(-numerator, -denominator)
        } else {
            Self::new_raw(numerator, denominator)
        }
    }

    /// An integer.
    pub fn from_integer(value: BigInt) -> Self {
        Self(Ratio::from_integer(value))
    }

    /// The numerator.
    pub fn numer(&self) -> &BigInt {
        self.0.numer()
    }

    /// The denominator.
    pub fn denom(&self) -> &BigInt {
        self.0.denom()
    }

    /// Is it an integer?
    pub fn is_integer(&self) -> bool {
        self.0.is_integer()
    }

    /// Toward zero.
    pub fn to_integer(&self) -> BigInt {
        self.0.to_integer()
    }

    /// The largest integer not above it, as a fraction.
    #[must_use]
    pub fn floor(&self) -> Self {
        Self(self.0.floor())
    }

    /// 1 / self, which must not be zero.
    #[must_use]
    pub fn recip(&self) -> Self {
        Self(self.0.recip())
    }

    /// The smallest integer not below it, as a fraction.
    #[must_use]
    pub fn ceil(&self) -> Self {
        Self(self.0.ceil())
    }

    /// self^exponent; see [`pow`].
    #[must_use]
    pub fn pow(&self, exponent: i32) -> Self {
        pow(self, exponent)
    }

    /// The nearest integer, halves away from zero.
    #[must_use]
    pub fn round(&self) -> Self {
        Self(self.0.round())
    }

    /// What is left without [`Self::to_integer`]; it has the number's sign.
    #[must_use]
    pub fn fract(&self) -> Self {
        Self(self.0.fract())
    }

    /// Self plus or minus another: only the common part of the denominators needs a second
    /// greatest common divisor (Knuth, *The Art of Computer Programming* 2, 4.5.1).
    fn combined(&self, other: &Self, minus: bool) -> Self {
        let join = |a: BigInt, b: BigInt| if minus { a - b } else { a + b };
        let (a, b) = (self.numer(), self.denom());
        let (c, d) = (other.numer(), other.denom());
        if b.is_one() && d.is_one() {
            return Self::from_integer(if minus { a - c } else { a + c });
        }
        let common = gcd(b, d);
        if common.is_one() {
            return Self::new_raw(join(a * d, c * b), b * d);
        }
        let (b, left) = (b / &common, d / &common);
        let sum = join(a * left, c * &b);
        let again = gcd(&sum, &common);
        if again.is_one() {
            Self::new_raw(sum, b * d)
        } else {
            Self::new_raw(sum / &again, b * (d / again))
        }
    }

    /// Numerator and denominator of the product a/b · c/d, common divisors taken out crosswise.
    fn crosswise(a: &BigInt, b: &BigInt, c: &BigInt, d: &BigInt) -> Self {
        let (first, second) = (gcd(a, d), gcd(c, b));
        let over = |value: &BigInt, divisor: &BigInt| {
            if divisor.is_one() {
                value.clone()
            } else {
                value / divisor
            }
        };
        Self::signed(
            over(a, &first) * over(c, &second),
            over(b, &second) * over(d, &first),
        )
    }
}

/// By sign, then by size where the lengths of the parts tell, else by products crosswise.
impl Ord for Rational {
    fn cmp(&self, other: &Self) -> Ordering {
        let (a, b) = (self.numer(), self.denom());
        let (c, d) = (other.numer(), other.denom());
        let signs = a.sign().cmp(&c.sign());
        if signs != Ordering::Equal {
            return signs;
        }
        if b == d {
            return a.cmp(c);
        }
        // The size is between 2^(log − 1) and 2^(log + 1).
        let log = |n: &BigInt, d: &BigInt| {
            let bits = |part: &BigInt| i64::try_from(part.bits()).unwrap_or(i64::MAX);
            bits(n) - bits(d)
        };
        let (own, others) = (log(a, b), log(c, d));
        if own.abs_diff(others) > 2 {
            let sizes = own.cmp(&others);
            return if self.is_negative() {
                sizes.reverse()
            } else {
                sizes
            };
        }
        (a * d).cmp(&(c * b))
    }
}

impl PartialOrd for Rational {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Zero for Rational {
    fn zero() -> Self {
        Self::from_integer(BigInt::zero())
    }

    fn is_zero(&self) -> bool {
        self.0.is_zero()
    }
}

impl One for Rational {
    fn one() -> Self {
        Self::from_integer(BigInt::one())
    }

    fn is_one(&self) -> bool {
        self.0.is_one()
    }
}

impl Num for Rational {
    type FromStrRadixErr = ParseBigIntError;

    /// Reads an integer.
    fn from_str_radix(digits: &str, radix: u32) -> Result<Self, ParseBigIntError> {
        BigInt::from_str_radix(digits, radix).map(Self::from_integer)
    }
}

impl Signed for Rational {
    fn abs(&self) -> Self {
        Self(self.0.abs())
    }

    fn abs_sub(&self, other: &Self) -> Self {
        (self - other).max(Self::zero())
    }

    fn signum(&self) -> Self {
        Self(self.0.signum())
    }

    fn is_positive(&self) -> bool {
        self.0.is_positive()
    }

    fn is_negative(&self) -> bool {
        self.0.is_negative()
    }
}

/// Integers toward zero, where they fit; the nearest double.
impl ToPrimitive for Rational {
    fn to_i64(&self) -> Option<i64> {
        self.to_integer().to_i64()
    }

    fn to_u64(&self) -> Option<u64> {
        self.to_integer().to_u64()
    }

    fn to_f64(&self) -> Option<f64> {
        Some(to_f64(self))
    }
}

impl Default for Rational {
    fn default() -> Self {
        Self::zero()
    }
}

impl From<BigInt> for Rational {
    fn from(value: BigInt) -> Self {
        Self::from_integer(value)
    }
}

impl fmt::Display for Rational {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(out)
    }
}

impl Neg for Rational {
    type Output = Self;

    fn neg(self) -> Self {
        Self(-self.0)
    }
}

impl Neg for &Rational {
    type Output = Rational;

    fn neg(self) -> Rational {
        -self.clone()
    }
}

impl Add for &Rational {
    type Output = Rational;

    fn add(self, other: &Rational) -> Rational {
        self.combined(other, false)
    }
}

impl Sub for &Rational {
    type Output = Rational;

    fn sub(self, other: &Rational) -> Rational {
        self.combined(other, true)
    }
}

impl Mul for &Rational {
    type Output = Rational;

    fn mul(self, other: &Rational) -> Rational {
        if self.is_integer() && other.is_integer() {
            return Rational::from_integer(self.numer() * other.numer());
        }
        Rational::crosswise(self.numer(), self.denom(), other.numer(), other.denom())
    }
}

impl Div for &Rational {
    type Output = Rational;

    /// The divisor must not be zero.
    fn div(self, other: &Rational) -> Rational {
        assert!(!other.is_zero(), "a denominator of zero");
        Rational::crosswise(self.numer(), self.denom(), other.denom(), other.numer())
    }
}

impl Rem for &Rational {
    type Output = Rational;

    /// With the sign of the dividend. The divisor must not be zero.
    fn rem(self, other: &Rational) -> Rational {
        self - other * Rational::from_integer((self / other).to_integer())
    }
}

/// The other ways of writing an operation.
macro_rules! ways {
    ($($trait:ident $method:ident $assign:ident $assign_method:ident;)*) => {$(
        impl $trait for Rational {
            type Output = Rational;

            fn $method(self, other: Rational) -> Rational {
                (&self).$method(&other)
            }
        }

        impl $trait<&Rational> for Rational {
            type Output = Rational;

            fn $method(self, other: &Rational) -> Rational {
                (&self).$method(other)
            }
        }

        impl $trait<Rational> for &Rational {
            type Output = Rational;

            fn $method(self, other: Rational) -> Rational {
                self.$method(&other)
            }
        }

        impl $assign for Rational {
            fn $assign_method(&mut self, other: Rational) {
                *self = (&*self).$method(&other);
            }
        }

        impl $assign<&Rational> for Rational {
            fn $assign_method(&mut self, other: &Rational) {
                *self = (&*self).$method(other);
            }
        }
    )*};
}

ways! {
    Add add AddAssign add_assign;
    Sub sub SubAssign sub_assign;
    Mul mul MulAssign mul_assign;
    Div div DivAssign div_assign;
    Rem rem RemAssign rem_assign;
}

impl<'a> Sum<&'a Self> for Rational {
    fn sum<I: Iterator<Item = &'a Self>>(terms: I) -> Self {
        terms.fold(Self::zero(), |sum, term| sum + term)
    }
}

impl<'a> Product<&'a Self> for Rational {
    fn product<I: Iterator<Item = &'a Self>>(factors: I) -> Self {
        factors.fold(Self::one(), |product, factor| product * factor)
    }
}

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
