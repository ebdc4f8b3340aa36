//! Integers from their residues modulo many primes (the Chinese remainder theorem), signed, with
//! only as many primes as each integer's size needs.

use super::residue::{LANES, Prime};
use super::words::{Odd, Words, add_multiple, difference, divide_exactly, multiply};

/// Primes by which one level grows over the one before.
const STEP: usize = 2 * LANES;

/// Bits by which a modulus must exceed an integer's size: one for the sign, the others make the
/// rounding in [`Level::integer`] safe.
const SLACK: u64 = 18;

/// The first so many primes, taken together.
#[derive(Debug)]
struct Level {
    modulus: Words,
    pairs: Vec<Pair>,
}

/// Two primes of a level.
#[derive(Debug)]
struct Pair {
    primes: [Prime; 2],
    /// Modulus divided by both.
    cofactor: Words,
    /// Inverse of modulus/prime, modulo the prime.
    inverses: [u64; 2],
}

/// Reconstruction tables for a list of primes.
#[derive(Debug)]
pub(super) struct Chinese {
    levels: Vec<Level>,
}

impl Chinese {
    /// Tables for the given primes, whose number should be a multiple of 16 (others are left out).
    pub(super) fn new(primes: &[Prime]) -> Self {
        let mut levels = Vec::new();
        let mut modulus: Words = vec![1];
        // For each prime the product of all others so far, modulo it.
        let mut others: Vec<u64> = vec![1; primes.len()];
        let mut used = 0;
        for step in primes.chunks_exact(STEP) {
            for &new in step {
                multiply(&mut modulus, new.value);
                for (prime, product) in primes.iter().zip(&mut others) {
                    if prime.value != new.value {
                        *product = prime.multiply(*product, prime.reduce(new.value));
                    }
                }
            }
            used += step.len();
            let pairs = primes
                .chunks_exact(2)
                .zip(others.chunks_exact(2))
                .take(used / 2)
                .filter_map(|(primes, others)| {
                    let (&[p, q], &[a, b]) = (primes, others) else {
                        return None;
                    };
                    let mut cofactor = modulus.clone();
                    divide_exactly(&mut cofactor, Odd::new(p.value * q.value));
                    Some(Pair {
                        primes: [p, q],
                        cofactor,
                        inverses: [p.inverse(a), q.inverse(b)],
                    })
                })
                .collect();
            levels.push(Level {
                modulus: modulus.clone(),
                pairs,
            });
        }
        Self { levels }
    }

    /// How many primes just below 2^`prime_bits` integers of so many bits need.
    pub(super) fn primes_needed(bits: u64, prime_bits: u32) -> usize {
        // The primes lie above 2^(prime_bits) − 2^(prime_bits − 7): each has at least
        // prime_bits − 0.012 bits. One more step of primes covers that for any size in reach.
        let bits = bits + SLACK;
        let primes = usize::try_from(bits + bits / 1024).unwrap_or(usize::MAX / 64)
            / (prime_bits as usize)
            + 1;
        primes.next_multiple_of(STEP)
    }

    /// The integer of fewer than `bits` bits with these residues, and whether it is negative;
    /// `None` when the primes do not suffice.
    pub(super) fn integer(
        &self,
        bits: u64,
        residues: impl Iterator<Item = u64>,
    ) -> Option<(Words, bool)> {
        self.levels
            .iter()
            .find(|level| level.modulus_bits() >= bits + SLACK)
            .map(|level| level.integer(residues))
    }
}

impl Level {
    fn modulus_bits(&self) -> u64 {
        // One less than the bit length: the modulus is at least 2 to this.
        self.modulus.last().map_or(0, |top| {
            self.modulus.len() as u64 * 64 - u64::from(top.leading_zeros()) - 1
        })
    }

    /// `Σ ξ_p·M/p − q·M` with `ξ_p = r_p·(M/p)⁻¹ mod p` and `q` the integer nearest to `Σ ξ_p/p`:
    /// that sum is an integer plus `A/M`, and `|A/M| < 2⁻¹⁷`, so that rounding a double is safe.
    #[allow(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "residues are below 2²⁸ and the quotient is below the number of primes"
    )]
    fn integer(&self, mut residues: impl Iterator<Item = u64>) -> (Words, bool) {
        let mut sum = Words::with_capacity(self.modulus.len() + 2);
        let mut quotient = 0.5_f64;
        for pair in &self.pairs {
            let [p, q] = pair.primes;
            let [inverse_p, inverse_q] = pair.inverses;
            let a = p.multiply(residues.next().unwrap_or(0), inverse_p);
            let b = q.multiply(residues.next().unwrap_or(0), inverse_q);
            quotient += a as f64 / p.value as f64 + b as f64 / q.value as f64;
            add_multiple(&mut sum, &pair.cofactor, a * q.value + b * p.value);
        }
        let mut multiple = self.modulus.clone();
        multiply(&mut multiple, quotient as u64);
        difference(sum, multiple)
    }
}
