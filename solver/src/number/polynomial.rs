//! Polynomials in one letter with rational coefficients.
//!
//! Division and greatest common divisors: Knuth, *The Art of Computer Programming* 2, 4.6.1. Factors
//! by multiplicity: Yun's algorithm (von zur Gathen & Gerhard, *Modern Computer Algebra*, 14.6;
//! locators from memory).

use num_traits::{One, Zero};

use super::Rational;
use super::rational::{bits, integer};

/// Highest degree worked with, and most bits of a coefficient.
const LARGEST_DEGREE: usize = 48;
const LARGEST_BITS: u64 = 20_000;

/// Coefficients by rising power; the last is not zero. The zero polynomial has none.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Polynomial(Vec<Rational>);

impl Polynomial {
    /// From coefficients by rising power.
    pub fn new(mut coefficients: Vec<Rational>) -> Self {
        while coefficients.last().is_some_and(Zero::is_zero) {
            coefficients.pop();
        }
        Self(coefficients)
    }

    /// A number.
    pub fn constant(value: Rational) -> Self {
        Self::new(vec![value])
    }

    /// The letter.
    pub fn letter() -> Self {
        Self(vec![Rational::zero(), Rational::one()])
    }

    /// Coefficients by rising power.
    pub fn coefficients(&self) -> &[Rational] {
        &self.0
    }

    /// Coefficient of a power.
    pub fn coefficient(&self, power: usize) -> Rational {
        self.0.get(power).cloned().unwrap_or_default()
    }

    /// Is it the zero polynomial?
    pub fn is_zero(&self) -> bool {
        self.0.is_empty()
    }

    /// The degree; 0 for the zero polynomial.
    pub fn degree(&self) -> usize {
        self.0.len().saturating_sub(1)
    }

    /// Neither too high in degree nor too long in its coefficients to go on with.
    pub fn is_small(&self) -> bool {
        self.0.len() <= LARGEST_DEGREE + 1 && self.0.iter().all(|c| bits(c) <= LARGEST_BITS)
    }

    fn leading(&self) -> Rational {
        self.0.last().cloned().unwrap_or_default()
    }

    /// Self + factor · other.
    #[must_use]
    pub fn plus(&self, other: &Self, factor: &Rational) -> Self {
        let length = self.0.len().max(other.0.len());
        let sum = (0..length).map(|k| self.coefficient(k) + other.coefficient(k) * factor);
        Self::new(sum.collect())
    }

    /// The product.
    #[must_use]
    pub fn times(&self, other: &Self) -> Self {
        if self.is_zero() || other.is_zero() {
            return Self::default();
        }
        let mut product = vec![Rational::zero(); self.0.len() + other.0.len() - 1];
        for (k, a) in self.0.iter().enumerate().filter(|(_, a)| !a.is_zero()) {
            for (sum, b) in product.iter_mut().skip(k).zip(&other.0) {
                *sum += a * b;
            }
        }
        Self::new(product)
    }

    /// Self times a number.
    #[must_use]
    pub fn scaled(&self, factor: &Rational) -> Self {
        Self::new(self.0.iter().map(|c| c * factor).collect())
    }

    /// The same zeros, leading coefficient 1 (0 stays 0).
    #[must_use]
    pub fn monic(&self) -> Self {
        if self.is_zero() {
            return self.clone();
        }
        self.scaled(&self.leading().recip())
    }

    /// Quotient and remainder; `None` when the divisor is zero.
    pub fn divided(&self, divisor: &Self) -> Option<(Self, Self)> {
        let leading = divisor.0.last()?.recip();
        let mut rest = self.0.clone();
        let Some(steps) = (rest.len() + 1)
            .checked_sub(divisor.0.len())
            .filter(|s| *s > 0)
        else {
            return Some((Self::default(), self.clone()));
        };
        let mut quotient = vec![Rational::zero(); steps];
        for (k, out) in quotient.iter_mut().enumerate().rev() {
            let factor = rest.get(k + divisor.degree())? * &leading;
            if !factor.is_zero() {
                for (value, own) in rest.iter_mut().skip(k).zip(&divisor.0) {
                    *value -= own * &factor;
                }
            }
            *out = factor;
        }
        Some((Self::new(quotient), Self::new(rest)))
    }

    /// The quotient, where nothing remains.
    pub fn quotient(&self, divisor: &Self) -> Option<Self> {
        let (quotient, rest) = self.divided(divisor)?;
        rest.is_zero().then_some(quotient)
    }

    /// The greatest common divisor, monic (0 of two zeros).
    #[must_use]
    pub fn common(&self, other: &Self) -> Self {
        let (mut a, mut b) = (self.monic(), other.monic());
        while !b.is_zero() {
            let Some((_, rest)) = a.divided(&b) else {
                break;
            };
            a = std::mem::replace(&mut b, rest.monic());
        }
        a
    }

    /// A polynomial whose product with self leaves 1 when divided by `modulus`; `None` when they have
    /// a common factor.
    pub fn inverse(&self, modulus: &Self) -> Option<Self> {
        let (mut a, mut b) = (modulus.clone(), self.divided(modulus)?.1);
        let (mut u, mut v) = (Self::default(), Self::constant(Rational::one()));
        while b.degree() > 0 {
            let (quotient, rest) = a.divided(&b)?;
            let next = u.plus(&quotient.times(&v), &-Rational::one());
            u = std::mem::replace(&mut v, next);
            a = std::mem::replace(&mut b, rest);
        }
        (!b.is_zero()).then(|| v.scaled(&b.leading().recip()))
    }

    /// The derivative.
    #[must_use]
    pub fn derivative(&self) -> Self {
        let terms = (1..).zip(self.0.iter().skip(1));
        Self::new(terms.map(|(k, c)| c * integer(k)).collect())
    }

    /// The value at a place.
    pub fn at(&self, place: &Rational) -> Rational {
        let mut value = Rational::zero();
        for coefficient in self.0.iter().rev() {
            value = value * place + coefficient;
        }
        value
    }

    /// The value at re + im·i.
    pub fn at_complex(&self, (re, im): (&Rational, &Rational)) -> (Rational, Rational) {
        let (mut a, mut b) = (Rational::zero(), Rational::zero());
        for coefficient in self.0.iter().rev() {
            (a, b) = (&a * re - &b * im + coefficient, &a * im + &b * re);
        }
        (a, b)
    }

    /// p(x + by), by repeated synthetic division.
    #[must_use]
    pub fn shifted(&self, by: &Rational) -> Self {
        let mut shifted = self.0.clone();
        if !by.is_zero() {
            for start in 0..shifted.len() {
                let mut carry = Rational::zero();
                for value in shifted.iter_mut().skip(start).rev() {
                    *value += &carry * by;
                    carry.clone_from(value);
                }
            }
        }
        Self::new(shifted)
    }

    /// Monic factors without multiple zeros and without common zeros, each with its multiplicity;
    /// their product is self up to a number. None for numbers.
    pub fn by_multiplicity(&self) -> Vec<(Self, usize)> {
        let mut found = Vec::new();
        let own = self.monic();
        let derivative = own.derivative();
        let common = own.common(&derivative);
        let (Some(mut whole), Some(mut part)) =
            (own.quotient(&common), derivative.quotient(&common))
        else {
            return found;
        };
        let mut multiplicity = 1;
        while whole.degree() > 0 {
            let rest = part.plus(&whole.derivative(), &-Rational::one());
            let factor = whole.common(&rest);
            let (Some(next), Some(next_part)) = (whole.quotient(&factor), rest.quotient(&factor))
            else {
                return found;
            };
            (whole, part) = (next, next_part);
            if factor.degree() > 0 {
                found.push((factor, multiplicity));
            }
            multiplicity += 1;
        }
        found
    }

    /// How often `factor` (not a number) divides it, and what is left; of the zero polynomial: never.
    pub fn without(&self, factor: &Self) -> (usize, Self) {
        let (mut times, mut left) = (0, self.clone());
        if factor.degree() > 0 && !self.is_zero() {
            while let Some(next) = left.quotient(factor) {
                (times, left) = (times + 1, next);
            }
        }
        (times, left)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(coefficients: &[i64]) -> Polynomial {
        Polynomial::new(coefficients.iter().map(|c| integer(*c)).collect())
    }

    #[test]
    fn factors_by_multiplicity_multiply_to_the_whole() {
        // (x² + 1)³ (x − 2)² (x + 5)
        let (a, b, c) = (of(&[1, 0, 1]), of(&[-2, 1]), of(&[5, 1]));
        let whole = [&a, &a, &a, &b, &b, &c]
            .into_iter()
            .fold(of(&[7]), |product, factor| product.times(factor));
        let found = whole.by_multiplicity();
        assert_eq!(found, vec![(c.clone(), 1), (b.clone(), 2), (a.clone(), 3)]);
        assert_eq!(whole.without(&a).0, 3);
        assert!(of(&[4]).by_multiplicity().is_empty() && of(&[]).by_multiplicity().is_empty());
    }

    #[test]
    fn inverses_and_divisors() {
        let modulus = of(&[1, 1, 0, 1]);
        let value = of(&[3, -2, 5]);
        let inverse = value.inverse(&modulus).unwrap();
        assert_eq!(value.times(&inverse).divided(&modulus).unwrap().1, of(&[1]));
        assert_eq!(of(&[2, 2]).inverse(&of(&[-1, 0, 1])), None);
        assert_eq!(of(&[-1, 0, 1]).common(&of(&[2, 3, 1])), of(&[1, 1]));
        assert_eq!(of(&[1, 2]).divided(&of(&[])), None);
        assert_eq!(
            of(&[1, 2]).divided(&of(&[0, 0, 1])),
            Some((of(&[]), of(&[1, 2])))
        );
    }

    #[test]
    fn values_and_shifts() {
        let p = of(&[4, 0, 1]);
        assert_eq!(p.shifted(&integer(3)), of(&[13, 6, 1]));
        let (zero, two) = (integer(0), integer(2));
        assert_eq!(p.at_complex((&zero, &two)), (integer(0), integer(0)));
        assert_eq!(p.at(&two), integer(8));
    }
}
