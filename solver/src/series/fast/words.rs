//! Non-negative integers as little-endian 64-bit words, and the few word-by-word operations that
//! the fast roads need. Everything that multiplies or divides here is by one word.
//!
//! Exact division and divisibility run from the low word upwards with the inverse of an odd
//! divisor modulo 2⁶⁴ (Jebelean, "An algorithm for exact division", J. Symbolic Computation 15
//! (1993) 169–180): two multiplications a word and no hardware division.

use num_bigint::{BigInt, BigUint, Sign};

/// Little-endian words without leading zeros; zero is empty.
pub(super) type Words = Vec<u64>;

/// An odd divisor with its inverse modulo 2⁶⁴.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Odd {
    pub(super) value: u64,
    pub(super) inverse: u64,
}

impl Odd {
    /// Divides everything.
    pub(super) const ONE: Self = Self {
        value: 1,
        inverse: 1,
    };

    /// `value` must be odd.
    pub(super) fn new(value: u64) -> Self {
        debug_assert!(value % 2 == 1, "an odd divisor");
        // Newton's iteration doubles the correct bits: 5, 10, 20, 40, 80.
        let mut inverse = value.wrapping_mul(3) ^ 2;
        for _ in 0..4 {
            inverse = inverse.wrapping_mul(2_u64.wrapping_sub(value.wrapping_mul(inverse)));
        }
        Self { value, inverse }
    }
}

/// One factor of many products.
#[derive(Clone, Copy)]
#[cfg(not(target_arch = "wasm32"))]
struct Factor(u64);

#[cfg(not(target_arch = "wasm32"))]
impl Factor {
    fn new(value: u64) -> Self {
        Self(value)
    }

    /// Low and high word of a product plus two words; never overflows.
    #[inline]
    #[allow(clippy::cast_possible_truncation, reason = "splits a double word")]
    fn multiply_add(self, a: u64, c: u64, d: u64) -> (u64, u64) {
        let wide = u128::from(a) * u128::from(self.0) + u128::from(c) + u128::from(d);
        (wide as u64, (wide >> 64) as u64)
    }
}

/// One factor of many products, in halves: WebAssembly has no double words.
#[derive(Clone, Copy)]
#[cfg(target_arch = "wasm32")]
struct Factor {
    low: u64,
    high: u64,
}

#[cfg(target_arch = "wasm32")]
const HALF: u64 = 0xffff_ffff;

#[cfg(target_arch = "wasm32")]
impl Factor {
    /// The compiler must not see that these are halves of one word: it would take the four short
    /// products for one long one and call a general routine that is several times slower.
    fn new(value: u64) -> Self {
        Self {
            low: std::hint::black_box(value & HALF),
            high: std::hint::black_box(value >> 32),
        }
    }

    /// Low and high word of a product plus two words. Nothing overflows: the largest sum is
    /// (2³² − 1)² + 2·(2³² − 1) = 2⁶⁴ − 1.
    #[inline]
    fn multiply_add(self, a: u64, c: u64, d: u64) -> (u64, u64) {
        let (a_low, a_high) = (a & HALF, a >> 32);
        let low = a_low * self.low + (c & HALF) + (d & HALF);
        let middle = a_high * self.low + (low >> 32) + (c >> 32);
        let other = a_low * self.high + (middle & HALF) + (d >> 32);
        let high = a_high * self.high + (middle >> 32) + (other >> 32);
        (other << 32 | low & HALF, high)
    }
}

fn trim(a: &mut Words) {
    while a.last() == Some(&0) {
        a.pop();
    }
}

/// `a *= factor`.
pub(super) fn multiply(a: &mut Words, factor: u64) {
    if factor == 1 {
        return;
    }
    let factor = Factor::new(factor);
    let mut carry = 0;
    for word in a.iter_mut() {
        (*word, carry) = factor.multiply_add(*word, carry, 0);
    }
    if carry > 0 {
        a.push(carry);
    }
    trim(a);
}

/// `sum += a · factor`.
pub(super) fn add_multiple(sum: &mut Words, a: &[u64], factor: u64) {
    if sum.len() < a.len() {
        sum.resize(a.len(), 0);
    }
    let factor = Factor::new(factor);
    let mut carry = 0;
    let (low, high) = sum.split_at_mut(a.len());
    for (word, &other) in low.iter_mut().zip(a) {
        (*word, carry) = factor.multiply_add(other, *word, carry);
    }
    for word in high {
        if carry == 0 {
            break;
        }
        let overflow;
        (*word, overflow) = word.overflowing_add(carry);
        carry = u64::from(overflow);
    }
    if carry > 0 {
        sum.push(carry);
    }
    trim(sum);
}

/// `|a − b|`, and whether `a < b`.
pub(super) fn difference(a: Words, b: Words) -> (Words, bool) {
    let less = is_less(&a, &b);
    let (mut large, small) = if less { (b, a) } else { (a, b) };
    let mut borrow = false;
    let mut small = small.into_iter();
    for word in &mut large {
        let (first, under) = word.overflowing_sub(small.next().unwrap_or(0));
        let (second, under_too) = first.overflowing_sub(u64::from(borrow));
        *word = second;
        borrow = under || under_too;
    }
    trim(&mut large);
    (large, less)
}

/// Whether `a < b`.
fn is_less(a: &[u64], b: &[u64]) -> bool {
    a.len()
        .cmp(&b.len())
        .then_with(|| a.iter().rev().cmp(b.iter().rev()))
        .is_lt()
}

/// For each divisor a number with the same greatest common divisor with it as `a` has
/// (`−a·2^(−64·len)` modulo the divisor). Several at once, so that their chains of
/// multiplications overlap.
pub(super) fn residues<const K: usize>(a: &[u64], divisors: &[Odd; K]) -> [u64; K] {
    let mut carries = [0_u64; K];
    let divisors = divisors.map(|divisor| (divisor.inverse, Factor::new(divisor.value)));
    for &word in a {
        for (carry, (inverse, factor)) in carries.iter_mut().zip(&divisors) {
            let (low, borrow) = word.overflowing_sub(*carry);
            let quotient = low.wrapping_mul(*inverse);
            let (_, high) = factor.multiply_add(quotient, 0, 0);
            *carry = high + u64::from(borrow);
        }
    }
    carries
}

/// `a /= divisor`, which must divide it.
pub(super) fn divide_exactly(a: &mut Words, divisor: Odd) {
    let factor = Factor::new(divisor.value);
    let mut carry = 0_u64;
    for word in a.iter_mut() {
        let (low, borrow) = word.overflowing_sub(carry);
        let quotient = low.wrapping_mul(divisor.inverse);
        let (_, high) = factor.multiply_add(quotient, 0, 0);
        carry = high + u64::from(borrow);
        *word = quotient;
    }
    trim(a);
}

/// How often 2 divides `a`; 0 for zero.
pub(super) fn trailing_zeros(a: &[u64]) -> u64 {
    a.iter()
        .position(|&word| word != 0)
        .and_then(|index| {
            a.get(index)
                .map(|word| index as u64 * 64 + u64::from(word.trailing_zeros()))
        })
        .unwrap_or(0)
}

/// `a >>= bits`.
pub(super) fn shift_right(a: &mut Words, bits: u64) {
    if bits == 0 {
        return;
    }
    let words = usize::try_from(bits / 64)
        .unwrap_or(usize::MAX)
        .min(a.len());
    a.drain(..words);
    let bits = bits % 64;
    if bits > 0 {
        let mut carry = 0;
        for word in a.iter_mut().rev() {
            let low = *word << (64 - bits);
            *word = (*word >> bits) | carry;
            carry = low;
        }
    }
    trim(a);
}

/// Greatest common divisor of two words; `gcd(0, b) = b`.
pub(super) fn gcd(a: u64, b: u64) -> u64 {
    num_integer::gcd(a, b)
}

/// Greatest common divisor of a number and a word (not zero).
pub(super) fn gcd_with(a: &[u64], word: u64) -> u64 {
    if a.is_empty() {
        return word;
    }
    let twos = word.trailing_zeros();
    let odd = word >> twos;
    let [residue] = residues(a, &[Odd::new(odd)]);
    gcd(residue, odd) << u64::from(twos).min(trailing_zeros(a))
}

/// `a /= word`, which must divide it.
pub(super) fn divide_by(a: &mut Words, word: u64) {
    if word > 1 {
        let twos = word.trailing_zeros();
        shift_right(a, u64::from(twos));
        divide_exactly(a, Odd::new(word >> twos));
    }
}

/// The words of a magnitude.
pub(super) fn from_magnitude(value: &BigUint) -> Words {
    value.to_u64_digits()
}

/// A signed integer from its words.
#[allow(clippy::cast_possible_truncation, reason = "splits a word into halves")]
pub(super) fn to_integer(a: &[u64], negative: bool) -> BigInt {
    let halves = a
        .iter()
        .flat_map(|&word| [word as u32, (word >> 32) as u32])
        .collect();
    BigInt::from_biguint(
        if negative { Sign::Minus } else { Sign::Plus },
        BigUint::new(halves),
    )
}
