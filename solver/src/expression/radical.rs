//! Rational powers of numbers: √12 = 2√3, 1/√2 = √2/2, ∛(−8) = −2.
//!
//! Form: a rational number times roots m^(1/q), m ≥ 2 an integer without q-th power, one for each
//! q, found by factoring m with trial division as far as [`TRIAL`]. What is left of m is treated
//! like a prime (perfect powers are recognised), so that the form is correct for every m and
//! unique as long as the left-overs have no common factors.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, ToPrimitive, Zero};

use super::tree::{Expr, Node};
use crate::budget::Budget;
use crate::number::Rational;
use crate::number::gcd::gcd;
use crate::number::rational::{self, is_even};
use crate::ordered::Map;

/// Trial divisors below this; beyond, numbers are not factored.
const TRIAL: u64 = 4096;
/// Longer numbers are not divided by trial divisors.
const TRIAL_BITS: u64 = 8192;
/// Longer numbers are only seen to be powers when they are squares or cubes.
const POWER_BITS: u64 = 2048;
/// Roots of at most this index are gathered under one radical sign.
const GATHERED_INDEX: u64 = 64;
const LIMITS: Budget = Budget::PAGE;

/// base^exponent as an expression in normal form.
pub(super) fn number_power(base: &Rational, exponent: &Rational) -> Expr {
    let raw = || Expr::raw_power(Expr::number(base.clone()), Expr::number(exponent.clone()));
    if base.is_one() {
        return Expr::one();
    }
    if base.is_zero() {
        return if exponent.is_positive() {
            Expr::zero()
        } else {
            raw()
        };
    }
    if exponent.is_zero() {
        return Expr::one();
    }
    if exponent.is_integer()
        && let Some(value) = integer_power(base, exponent.numer())
    {
        return Expr::number(value);
    }
    if base.is_negative() {
        if is_even(exponent.denom()) {
            return raw();
        }
        let size = number_power(&base.abs(), exponent);
        return if is_even(exponent.numer()) {
            size
        } else {
            size.neg()
        };
    }
    let (factor, radicals) = combine(&[raw()]);
    let mut factors = radicals;
    crate::sorting::sort_by(&mut factors, super::order::factors);
    if factors.is_empty() {
        return Expr::number(factor);
    }
    if !factor.is_one() {
        factors.insert(0, Expr::number(factor));
    }
    Expr::joined(&factors)
}

/// The power, if exponent and result are within the budget.
fn integer_power(base: &Rational, exponent: &BigInt) -> Option<Rational> {
    if base.abs().is_one() {
        return Some(if base.is_positive() || is_even(exponent) {
            Rational::one()
        } else {
            -Rational::one()
        });
    }
    let exponent = exponent.to_i32()?;
    let size = exponent.unsigned_abs();
    (size <= LIMITS.exponent && u64::from(size) * rational::bits(base) <= LIMITS.bits)
        .then(|| rational::pow(base, exponent))
}

/// The product of positive numbers to rational powers, given as `Power(Number, Number)`: a
/// rational factor and the roots that remain.
pub(super) fn combine(powers: &[Expr]) -> (Rational, Vec<Expr>) {
    if let [a, b] = powers
        && let (Some(a), Some(b)) = (square_root(a), square_root(b))
    {
        // √a·√b = g·√(ab/g²) with their greatest common divisor g: without squares, as a and b.
        let common = gcd(a, b);
        let rest = a / &common * (b / &common);
        let root = || {
            let half = Expr::number(rational::ratio(1, 2));
            Expr::raw_power(Expr::number(rest.clone().into()), half)
        };
        let radicals = (!rest.is_one()).then(root);
        return (Rational::from_integer(common), Vec::from_iter(radicals));
    }
    let mut primes: Map<BigInt, Rational> = Map::new();
    for power in powers {
        let Node::Power(base, exponent) = power.node() else {
            continue;
        };
        if let (Some(base), Some(exponent)) = (base.as_number(), exponent.as_number()) {
            for (number, sign) in [(base.numer(), 1), (base.denom(), -1)] {
                for (prime, multiplicity) in factor(number) {
                    let times = Rational::from_integer(BigInt::from(multiplicity * sign));
                    *primes.value_or(prime, Rational::zero) += exponent * times;
                }
            }
        }
    }
    let mut outside = Rational::one();
    let mut gathered: Map<u64, BigInt> = Map::new();
    let mut radicals = Vec::new();
    for (prime, exponent) in primes.into_entries() {
        if exponent.is_zero() {
            continue;
        }
        let whole = exponent.floor();
        let base = Rational::from_integer(prime.clone());
        let Some(value) = integer_power(&base, whole.numer()) else {
            radicals.push(Expr::raw_power(Expr::number(base), Expr::number(exponent)));
            continue;
        };
        outside *= value;
        let fraction = &exponent - &whole;
        if fraction.is_zero() {
            continue;
        }
        match (fraction.numer().to_u32(), fraction.denom().to_u64()) {
            (Some(times), Some(index)) if index <= GATHERED_INDEX => {
                *gathered.value_or(index, BigInt::one) *= prime.pow(times);
            }
            _ => radicals.push(Expr::raw_power(Expr::number(base), Expr::number(fraction))),
        }
    }
    for (index, radicand) in gathered.into_entries() {
        radicals.push(Expr::raw_power(
            Expr::number(Rational::from_integer(radicand)),
            Expr::number(Rational::new(BigInt::one(), BigInt::from(index))),
        ));
    }
    (outside, radicals)
}

/// n of √n.
fn square_root(power: &Expr) -> Option<&BigInt> {
    let Node::Power(base, exponent) = power.node() else {
        return None;
    };
    let (base, exponent) = (base.as_number()?, exponent.as_number()?);
    let half = exponent.numer().is_one() && *exponent.denom() == 2.into();
    (half && base.is_integer()).then(|| base.numer())
}

/// Prime factors with multiplicity of a positive integer, by trial division as far as [`TRIAL`];
/// the last factor may be composite with all its prime factors above.
pub(super) fn factor(number: &BigInt) -> Vec<(BigInt, i64)> {
    let mut rest = number.clone();
    let mut found = Vec::new();
    if rest.bits() > TRIAL_BITS {
        return vec![perfect_power(rest)];
    }
    let mut divisor = 2_u64;
    while divisor < TRIAL && !rest.is_one() {
        if let Some(small) = rest.to_u64()
            && divisor * divisor > small
        {
            found.push((rest, 1)); // a prime
            return found;
        }
        let big = BigInt::from(divisor);
        let mut times = 0;
        loop {
            let (quotient, remainder) = rest.div_rem(&big);
            if !remainder.is_zero() {
                break;
            }
            rest = quotient;
            times += 1;
        }
        if times > 0 {
            found.push((big, times));
        }
        divisor += if divisor == 2 { 1 } else { 2 };
    }
    if !rest.is_one() {
        found.push(perfect_power(rest));
    }
    found
}

/// `n` as rᵏ with the largest k that is tried; r has no factor below [`TRIAL`], which bounds k.
fn perfect_power(number: BigInt) -> (BigInt, i64) {
    let largest = if number.bits() > POWER_BITS {
        3
    } else {
        number.bits() / 12
    };
    for k in (2..=largest.min(64)).rev() {
        let Ok(k) = u32::try_from(k) else { continue };
        let root = number.nth_root(k);
        if root.pow(k) == number {
            return (root, i64::from(k));
        }
    }
    (number, 1)
}
