//! Right-hand sides that are polynomials in the variable and the unknown: the derivatives at the
//! center, scaled to integers, modulo many primes and put together by the Chinese remainder theorem.

use super::chinese::Chinese;
use super::magnitude::Magnitude;
use super::residue::{LANES, PRIME_BITS, Prime, Primes, Residues};
use super::scaling::{Scale, scales};
use super::smooth::Smooth;
use super::words::{Words, multiply, to_integer};
use crate::budget::Fuel;
use crate::number::Rational;
use crate::number::rational::integer;
use crate::series::rational::RationalContext;
use crate::series::{Coefficient, SeriesError, Solver, Tape};

/// Bits of the largest integer put together from residues. The tables for that grow with the cube
/// of the number of primes: tens of megabytes here, and no end beyond.
const LARGEST_RECOVERED: u64 = 40_000;

/// `c_0 … c_degree`; `None` when the right-hand side is not of this kind.
///
/// # Errors
/// [`SeriesError::Exhausted`] when fuel or bits run out.
pub(super) fn coefficients(
    tape: &Tape,
    center: &Rational,
    initial: &[Rational],
    degree: usize,
    (largest_bits, fuel): (u64, &mut Fuel),
) -> Result<Option<Vec<Rational>>, SeriesError> {
    let limits = RationalContext { bits: largest_bits };
    let constants = tape
        .constants
        .iter()
        .map(|constant| Rational::from_constant(constant, &limits))
        .collect::<Result<Vec<Rational>, SeriesError>>()?;
    let Some(scales) = scales(tape, &constants, center, initial) else {
        return Ok(None);
    };
    let bits = sizes(tape, center, initial, degree, &scales, (limits, fuel))?;
    let largest = bits.iter().copied().max().unwrap_or(0);
    if largest > largest_bits.min(LARGEST_RECOVERED) {
        return Err(SeriesError::Exhausted);
    }
    let avoid: Vec<&Rational> = constants.iter().chain([center]).chain(initial).collect();
    let primes = primes(Chinese::primes_needed(largest, PRIME_BITS), &avoid);
    let chinese = Chinese::new(&primes);
    let mut rows = Vec::new();
    for lanes in primes.as_chunks::<LANES>().0 {
        rows.push(scaled_derivatives(
            tape,
            center,
            initial,
            degree,
            &scales,
            (*lanes, fuel),
        )?);
    }
    let bases: Vec<u64> = scales.iter().map(|scale| scale.base).collect();
    let smooth = Smooth::new(degree as u64, &bases);
    let mut denominator: Words = vec![1];
    let mut found = Vec::with_capacity(degree + 1);
    for (n, &bits) in bits.iter().enumerate() {
        for scale in &scales {
            for _ in 0..if n == 0 { scale.offset } else { scale.slope } {
                multiply(&mut denominator, scale.base);
            }
        }
        multiply(&mut denominator, n.max(1) as u64);
        let residues = rows
            .iter()
            .flat_map(|row| row.get(n).copied().unwrap_or(Residues([0; LANES])).0);
        let (mut numerator, negative) = chinese
            .integer(bits, residues)
            .ok_or(SeriesError::Exhausted)?;
        found.push(if numerator.is_empty() {
            integer(0)
        } else {
            let mut denominator = denominator.clone();
            smooth.reduce(&mut [&mut numerator, &mut denominator], n as u64);
            Rational::new_raw(
                to_integer(&numerator, negative),
                to_integer(&denominator, false),
            )
        });
    }
    Ok(Some(found))
}

/// Bits of the scaled derivatives, from the majorant.
fn sizes(
    tape: &Tape,
    center: &Rational,
    initial: &[Rational],
    degree: usize,
    scales: &[Scale],
    (limits, fuel): (RationalContext, &mut Fuel),
) -> Result<Vec<u64>, SeriesError> {
    let magnitude = |value: &Rational| Magnitude::from_rational(value, &limits);
    let initial: Vec<Magnitude> = initial.iter().map(magnitude).collect();
    let mut solver = Solver::new(tape, &magnitude(center), &initial, limits)?;
    solver.extend(degree, fuel)?;
    let mut scale = magnitude(&integer(1));
    let mut sizes = Vec::with_capacity(degree + 1);
    for (n, bound) in (0_i64..).zip(solver.coefficients()).take(degree + 1) {
        for factor in scales {
            let base = magnitude(&Rational::from_integer(factor.base.into()));
            for _ in 0..if n == 0 { factor.offset } else { factor.slope } {
                scale = scale.mul(&base, &limits);
            }
        }
        scale = scale.scale(n.max(1), 1, &limits);
        sizes.push(u64::try_from(bound.mul(&scale, &limits).bits()).unwrap_or(0));
    }
    Ok(sizes)
}

/// `n!·base^(slope·n+offset)·c_n` modulo each prime.
fn scaled_derivatives(
    tape: &Tape,
    center: &Rational,
    initial: &[Rational],
    degree: usize,
    scales: &[Scale],
    (lanes, fuel): ([Prime; LANES], &mut Fuel),
) -> Result<Vec<Residues>, SeriesError> {
    let primes = Primes::new(lanes, (degree + tape.states()) as u64);
    let residue = |value: &Rational| Residues::from_rational(value, &primes);
    let initial: Vec<Residues> = initial.iter().map(residue).collect();
    let mut solver = Solver::new(tape, &residue(center), &initial, primes.clone())?;
    solver.extend(degree, fuel)?;
    let power = |exponent: fn(&Scale) -> u32| {
        scales.iter().fold(residue(&integer(1)), |product, scale| {
            let base = residue(&Rational::from_integer(scale.base.into()));
            (0..exponent(scale)).fold(product, |product, _| product.mul(&base, &primes))
        })
    };
    let step = power(|scale| scale.slope);
    let mut factor = power(|scale| scale.offset);
    let mut scaled = Vec::with_capacity(degree + 1);
    for (n, value) in (0_i64..).zip(solver.coefficients()).take(degree + 1) {
        if n > 0 {
            factor = factor.mul(&step, &primes).scale(n, 1, &primes);
        }
        scaled.push(value.mul(&factor, &primes));
    }
    Ok(scaled)
}

/// The largest primes below 2²⁸ that divide no denominator of the problem.
fn primes(count: usize, values: &[&Rational]) -> Vec<Prime> {
    (0..1_u64 << (PRIME_BITS - 1))
        .map(|i| (1 << PRIME_BITS) - 1 - 2 * i)
        .map(Prime::new)
        .filter(|prime| is_prime(*prime) && values.iter().all(|value| prime.takes(value)))
        .take(count)
        .collect()
}

/// Miller's test with the bases 2, 3, 5 and 7, which is a proof below 3 215 031 751 (C. Pomerance,
/// J. L. Selfridge, S. S. Wagstaff, "The pseudoprimes to 25·10⁹", Math. Comp. 35 (1980) 1003–1026).
fn is_prime(candidate: Prime) -> bool {
    let minus_one = candidate.value - 1;
    let twos = minus_one.trailing_zeros();
    [2, 3, 5, 7].into_iter().all(|base| {
        let (mut power, mut square, mut left) = (1, base, minus_one >> twos);
        while left > 0 {
            if left & 1 == 1 {
                power = candidate.multiply(power, square);
            }
            square = candidate.multiply(square, square);
            left >>= 1;
        }
        power == 1
            || (0..twos).any(|_| {
                let hit = power == minus_one;
                power = candidate.multiply(power, power);
                hit
            })
    })
}
