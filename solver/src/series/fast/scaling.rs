//! Powers by which the derivatives at the center become integers.
//!
//! For a right-hand side that is a polynomial in the variable and the unknown, every derivative
//! `y^(n)(c)` is a polynomial with integer coefficients in the constants of the equation, the
//! center and the initial values. For each prime `p` of their denominators this finds `a` and `b`
//! such that `p^(a·n+b)·y^(n)(c)` has no `p` in its denominator, by induction over the tape: with
//! `p^(a·k+β)` clearing the k-th derivative of each series, β adds up over products (Leibniz's
//! rule has integer coefficients) and the largest counts in sums.

use num_bigint::{BigInt, BigUint};
use num_traits::{One, ToPrimitive, Zero};

use crate::number::Rational;
use crate::number::gcd::lcm;
use crate::series::tape::{Operation, Tape};

/// `base^(slope·n + offset)` clears the base from the n-th derivative's denominator.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Scale {
    pub(super) base: u64,
    pub(super) slope: u32,
    pub(super) offset: u32,
}

/// Largest slope and offset tried.
const LARGEST: i64 = 40;

/// Primes up to this are told apart in the denominators; what remains counts as one base.
const TRIAL_LIMIT: u64 = 4096;

/// Stands for the weight of zero, which is divisible by everything.
const NOTHING: i64 = -1_000_000;

/// The scales, one for each base; `None` when a right-hand side is not such a polynomial or no
/// scale of this kind exists.
pub(super) fn scales(
    tape: &Tape,
    constants: &[Rational],
    center: &Rational,
    initial: &[Rational],
) -> Option<Vec<Scale>> {
    let polynomial = tape.operations.iter().all(|operation| {
        matches!(
            operation,
            Operation::State
                | Operation::Constant(_)
                | Operation::Variable
                | Operation::Add(..)
                | Operation::Subtract(..)
                | Operation::Multiply(..)
                | Operation::Square(_)
        )
    });
    if !polynomial {
        return None;
    }
    let common = constants
        .iter()
        .chain([center])
        .chain(initial)
        .fold(BigInt::one(), |common, value| lcm(&common, value.denom()));
    bases(common.into_parts().1)?
        .into_iter()
        .map(|(base, prime)| {
            let weight = |value: &Rational| weight(value, base, prime);
            Weights {
                constants: constants.iter().map(weight).collect(),
                center: weight(center),
                initial: initial.iter().map(weight).collect(),
            }
            .scale(tape, base)
        })
        .collect()
}

/// Prime factors, and what is left after trial division (not known to be prime).
fn bases(mut value: BigUint) -> Option<Vec<(u64, bool)>> {
    let mut bases = Vec::new();
    let mut candidate = 2;
    while candidate <= TRIAL_LIMIT && !value.is_one() {
        if (&value % candidate).is_zero() {
            bases.push((candidate, true));
            while (&value % candidate).is_zero() {
                value /= candidate;
            }
        }
        candidate += if candidate == 2 { 1 } else { 2 };
    }
    if !value.is_one() {
        bases.push((value.to_u64()?, false));
    }
    Some(bases)
}

/// How often the base must be multiplied on to clear the denominator; negative when the number is
/// divisible by it (primes only).
fn weight(value: &Rational, base: u64, prime: bool) -> i64 {
    if value.is_zero() {
        return NOTHING;
    }
    let mut weight = 0;
    let mut denominator = value.denom().magnitude().clone();
    loop {
        let rest = (&denominator % base).to_u64().unwrap_or(0);
        let common = num_integer::gcd(rest, base);
        if common == 1 {
            break;
        }
        denominator /= common;
        weight += 1;
    }
    if prime && weight == 0 {
        let mut numerator = value.numer().magnitude().clone();
        while (&numerator % base).is_zero() {
            numerator /= base;
            weight -= 1;
        }
    }
    weight
}

struct Weights {
    constants: Vec<i64>,
    center: i64,
    initial: Vec<i64>,
}

impl Weights {
    fn scale(&self, tape: &Tape, base: u64) -> Option<Scale> {
        (0..=LARGEST).find_map(|slope| {
            let least = (0_i64..)
                .zip(&self.initial)
                .map(|(i, weight)| weight - slope * i)
                .max();
            let least = least.unwrap_or(0).max(0);
            (least..=least + LARGEST)
                .find(|&offset| self.clears(tape, slope, offset))
                .and_then(|offset| {
                    Some(Scale {
                        base,
                        slope: u32::try_from(slope).ok()?,
                        offset: u32::try_from(offset).ok()?,
                    })
                })
        })
    }

    /// The induction step: the right-hand side, which is the derivative of order m + k.
    fn clears(&self, tape: &Tape, slope: i64, offset: i64) -> bool {
        let mut weights: Vec<i64> = Vec::with_capacity(tape.operations.len());
        for (slot, operation) in (0_i64..).zip(&tape.operations) {
            let of = |slot: usize| weights.get(slot).copied().unwrap_or(0);
            let weight = match *operation {
                Operation::State => offset + slope * slot,
                Operation::Constant(index) => self.constants.get(index).copied().unwrap_or(0),
                Operation::Variable => self.center.max(-slope),
                Operation::Add(a, b) | Operation::Subtract(a, b) => of(a).max(of(b)),
                Operation::Multiply(a, b) => of(a) + of(b),
                Operation::Square(a) => 2 * of(a),
                _ => return false,
            };
            weights.push(weight.clamp(NOTHING, -NOTHING));
        }
        let order = i64::try_from(tape.states()).unwrap_or(i64::MAX / 64);
        tape.results
            .iter()
            .filter_map(|result| weights.get(*result))
            .all(|&weight| weight <= slope * order + offset)
    }
}
