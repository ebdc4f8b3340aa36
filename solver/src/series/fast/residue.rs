//! Coefficients modulo several word-sized primes at once.

use std::sync::Arc;

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{ToPrimitive, Zero};

use crate::expression::{Expr, Function};
use crate::number::Rational;
use crate::series::rational::RationalContext;
use crate::series::{Coefficient, SeriesError};

/// Primes worked with side by side: their multiplications are independent of each other.
pub(super) const LANES: usize = 8;

/// The primes lie below this, so that [`BLOCK`] products fit a word.
pub(super) const PRIME_BITS: u32 = 28;

/// Products of residues that can be summed before they are reduced.
const BLOCK: usize = 1 << (64 - 2 * PRIME_BITS);

/// One residue for each prime.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Residues(pub(super) [u64; LANES]);

/// The primes and the inverses of the first integers.
#[derive(Clone, Debug)]
pub(super) struct Primes {
    pub(super) primes: [Prime; LANES],
    inverses: Arc<Vec<Residues>>,
}

/// A prime with what reduction modulo it needs.
#[derive(Clone, Copy, Debug)]
pub(super) struct Prime {
    pub(super) value: u64,
    /// ⌊2⁵⁸ / value⌋.
    reciprocal: u64,
}

impl Prime {
    /// `value` must lie between 2²⁶ and 2²⁸.
    pub(super) fn new(value: u64) -> Self {
        Self {
            value,
            reciprocal: (1 << 58) / value,
        }
    }

    /// `a`, below 2⁵⁸, modulo the prime (P. Barrett, "Implementing the RSA public key encryption
    /// algorithm on a standard digital signal processor", CRYPTO '86), in single words.
    #[inline]
    fn reduce_short(self, a: u64) -> u64 {
        let quotient = ((a >> 27) * self.reciprocal) >> 31;
        // The quotient is too small by at most 3.
        let mut rest = a - quotient * self.value;
        while rest >= self.value {
            rest -= self.value;
        }
        rest
    }

    /// `a` modulo the prime.
    #[inline]
    pub(super) fn reduce(self, a: u64) -> u64 {
        const LOW: u32 = 24;
        let high = self.reduce_short(a >> LOW);
        self.reduce_short((high << LOW) + (a & ((1 << LOW) - 1)))
    }

    /// The product of two residues.
    #[inline]
    pub(super) fn multiply(self, a: u64, b: u64) -> u64 {
        self.reduce_short(a * b)
    }

    pub(super) fn inverse(self, a: u64) -> u64 {
        // Fermat: a^(p−2).
        let (mut result, mut square, mut left) = (1, a, self.value - 2);
        while left > 0 {
            if left & 1 == 1 {
                result = self.multiply(result, square);
            }
            square = self.multiply(square, square);
            left >>= 1;
        }
        result
    }

    pub(super) fn residue(self, value: &BigInt) -> u64 {
        value
            .mod_floor(&BigInt::from(self.value))
            .to_u64()
            .unwrap_or(0)
    }

    /// `None` when the denominator is divisible by the prime.
    fn fraction(self, value: &Rational) -> Option<u64> {
        let denominator = self.residue(value.denom());
        (denominator != 0)
            .then(|| self.multiply(self.residue(value.numer()), self.inverse(denominator)))
    }

    /// Whether fractions with this denominator have a residue.
    pub(super) fn takes(self, value: &Rational) -> bool {
        !value.denom().mod_floor(&BigInt::from(self.value)).is_zero()
    }
}

impl Primes {
    /// With the inverses of 1 … `largest`, which must be below the primes.
    pub(super) fn new(primes: [Prime; LANES], largest: u64) -> Self {
        let mut inverses = vec![Residues([0; LANES]), Residues([1; LANES])];
        for n in 2..=largest {
            // p = q·n + r gives 1/n = −q/r modulo p.
            let inverse = std::array::from_fn(|lane| {
                primes.get(lane).map_or(0, |prime| {
                    let (q, r) = prime.value.div_rem(&n);
                    let known = usize::try_from(r).ok().and_then(|r| inverses.get(r));
                    let known = known
                        .and_then(|known| known.0.get(lane))
                        .copied()
                        .unwrap_or(0);
                    prime.multiply(prime.value - q, known)
                })
            });
            inverses.push(Residues(inverse));
        }
        Self {
            primes,
            inverses: Arc::new(inverses),
        }
    }

    fn map(&self, mut f: impl FnMut(usize, Prime) -> u64) -> Residues {
        let mut out = [0; LANES];
        for (lane, (out, prime)) in out.iter_mut().zip(self.primes).enumerate() {
            *out = f(lane, prime);
        }
        Residues(out)
    }

    fn zip(&self, a: &Residues, b: &Residues, f: impl Fn(Prime, u64, u64) -> u64) -> Residues {
        let mut out = [0; LANES];
        for (((out, prime), a), b) in out.iter_mut().zip(self.primes).zip(a.0).zip(b.0) {
            *out = f(prime, a, b);
        }
        Residues(out)
    }

    fn integer(&self, value: i64) -> Residues {
        self.map(|_, prime| {
            let size = prime.reduce(value.unsigned_abs());
            if value < 0 && size > 0 {
                prime.value - size
            } else {
                size
            }
        })
    }
}

impl Coefficient for Residues {
    type Context = Primes;

    fn from_constant(constant: &Expr, context: &Primes) -> Result<Self, SeriesError> {
        let value = Rational::from_constant(
            constant,
            &RationalContext {
                bits: u64::MAX >> 8,
            },
        )?;
        Ok(Self::from_rational(&value, context))
    }

    fn from_rational(value: &Rational, context: &Primes) -> Self {
        // Primes that divide a denominator of the problem are not chosen.
        context.map(|_, prime| prime.fraction(value).unwrap_or(0))
    }

    fn add(&self, other: &Self, context: &Primes) -> Self {
        context.zip(self, other, |prime, a, b| {
            let sum = a + b;
            if sum >= prime.value {
                sum - prime.value
            } else {
                sum
            }
        })
    }

    fn sub(&self, other: &Self, context: &Primes) -> Self {
        context.zip(self, other, |prime, a, b| {
            if a >= b { a - b } else { a + prime.value - b }
        })
    }

    fn mul(&self, other: &Self, context: &Primes) -> Self {
        context.zip(self, other, Prime::multiply)
    }

    fn div(&self, _: &Self, _: &Primes) -> Result<Self, SeriesError> {
        Err(SeriesError::Unsupported("a quotient modulo a prime"))
    }

    fn scale(&self, numerator: i64, denominator: i64, context: &Primes) -> Self {
        let scaled = if numerator == 1 {
            *self
        } else {
            self.mul(&context.integer(numerator), context)
        };
        if denominator == 1 {
            return scaled;
        }
        let known = usize::try_from(denominator)
            .ok()
            .and_then(|n| context.inverses.get(n));
        let inverse = known.copied().unwrap_or_else(|| {
            let value = context.integer(denominator);
            context.zip(&value, &value, |prime, a, _| prime.inverse(a))
        });
        scaled.mul(&inverse, context)
    }

    fn call(&self, _: Function, _: &Primes) -> Result<Self, SeriesError> {
        Err(SeriesError::Unsupported("a function modulo a prime"))
    }

    fn power(&self, _: &Rational, _: &Primes) -> Result<Self, SeriesError> {
        Err(SeriesError::Unsupported("a root modulo a prime"))
    }

    fn is_zero(&self) -> bool {
        self.0 == [0; LANES]
    }

    fn convolve(start: Self, left: &[Self], right: &[Self], context: &Primes) -> Self {
        let mut total = start;
        for (left, right) in left.chunks(BLOCK).zip(right.rchunks(BLOCK)) {
            let mut sums = [0_u64; LANES];
            for (a, b) in left.iter().zip(right.iter().rev()) {
                for ((sum, &a), &b) in sums.iter_mut().zip(&a.0).zip(&b.0) {
                    // Residues fit half a word; saying so lets the compiler use short products.
                    *sum += (a & 0xffff_ffff) * (b & 0xffff_ffff);
                }
            }
            let sums = context.zip(&Self(sums), &total, |prime, sum, _| prime.reduce(sum));
            total = total.add(&sums, context);
        }
        total
    }
}
