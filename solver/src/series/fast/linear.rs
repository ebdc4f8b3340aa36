//! Linear equations with polynomial coefficients: the recurrence relation between a few
//! neighbouring coefficients (the power series method), with integer numerators over one common
//! denominator, small factors cancelled as they appear.

use std::collections::VecDeque;

use num_traits::{Signed, ToPrimitive, Zero};

use super::linear_form::LinearEquation;
use super::smooth::Smooth;
use super::words::{
    Words, add_multiple, difference, divide_by, from_magnitude, gcd_with, multiply, to_integer,
};
use crate::budget::Fuel;
use crate::number::Rational;
use crate::number::gcd::lcm;
use crate::series::SeriesError;

/// Steps between two cancellations of the factors that the whole window has in common.
const CLEANING: usize = 16;

/// A numerator with its sign.
type Numerator = (Words, bool);

/// `c_{n+m} = (r_n − Σ g_j(n)·c_{n+j}) / (λ·(n+1)⋯(n+m))`.
struct Recurrence<'a> {
    equation: &'a LinearEquation,
    order: i64,
    /// The offsets `j` whose factor is not identically zero, rising.
    offsets: Vec<i64>,
}

/// One step's numbers.
struct Step {
    /// `−g_j(n)` beside `j`.
    factors: Vec<(i64, i64)>,
    /// Words whose product is `λ·(n+1)⋯(n+m)` without its sign.
    divisors: Vec<u64>,
    right: i64,
}

impl<'a> Recurrence<'a> {
    fn new(equation: &'a LinearEquation) -> Option<Self> {
        let order = i64::try_from(equation.coefficients.len()).ok()? - 1;
        let mut offsets: Vec<i64> = (0_i64..)
            .zip(&equation.coefficients)
            .flat_map(|(i, polynomial)| {
                (0_i64..)
                    .zip(polynomial)
                    .filter(|(_, value)| **value != 0)
                    .map(move |(s, _)| i - s)
            })
            .filter(|&offset| offset != order)
            .collect();
        crate::sorting::sort_by(&mut offsets, Ord::cmp);
        offsets.dedup();
        Some(Self {
            equation,
            order,
            offsets,
        })
    }

    /// `g_j(n) = Σ p_{i,s}·(n+j)(n+j−1)⋯(n−s+1)` over `i − s = j`, with `i` factors each; `None`
    /// beyond 63 bits.
    fn factor(&self, n: i64, offset: i64) -> Option<i64> {
        let mut sum: i128 = 0;
        for (i, polynomial) in (0_i64..).zip(&self.equation.coefficients) {
            let value = usize::try_from(i - offset)
                .ok()
                .and_then(|s| polynomial.get(s));
            let mut product = i128::from(value.copied().unwrap_or(0));
            for t in 0..i {
                product = product.checked_mul(i128::from(n + offset - t))?;
            }
            sum = sum.checked_add(product)?;
        }
        i64::try_from(sum).ok().filter(|sum| *sum != i64::MIN)
    }

    fn step(&self, n: i64) -> Option<Step> {
        let sign = self.equation.leading().signum();
        let mut divisors = vec![self.equation.leading().unsigned_abs()];
        for i in 1..=self.order {
            let factor = u64::try_from(n + i).ok()?;
            match divisors
                .last_mut()
                .and_then(|last| Some((last.checked_mul(factor)?, last)))
            {
                Some((product, last)) => *last = product,
                None => divisors.push(factor),
            }
        }
        let factors = self
            .offsets
            .iter()
            .filter(|&&offset| n + offset >= 0)
            .map(|&offset| Some((offset, self.factor(n, offset)?.checked_mul(-sign)?)))
            .collect::<Option<_>>()?;
        let right = usize::try_from(n)
            .ok()
            .and_then(|n| self.equation.right.get(n));
        Some(Step {
            factors,
            divisors,
            right: right.copied().unwrap_or(0) * sign,
        })
    }
}

/// `c_0 … c_degree` from the initial values; `None` when numbers outgrow a word.
///
/// # Errors
/// [`SeriesError::Exhausted`] when fuel or bits run out.
pub(super) fn coefficients(
    equation: &LinearEquation,
    initial: &[Rational],
    degree: usize,
    budget: (u64, &mut Fuel),
) -> Result<Option<Vec<Rational>>, SeriesError> {
    let Some(recurrence) = Recurrence::new(equation) else {
        return Ok(None);
    };
    let mut factorial = Rational::from_integer(1.into());
    let mut first = Vec::new();
    for (i, value) in initial.iter().enumerate() {
        factorial *= Rational::from_integer(i.max(1).into());
        first.push(value / &factorial);
    }
    if recurrence.offsets.len() == 1 && equation.right.iter().all(Zero::is_zero) {
        chains(&recurrence, &first, degree, budget)
    } else {
        window(&recurrence, first, degree, budget)
    }
}

fn check(words: usize, (largest_bits, fuel): &mut (u64, &mut Fuel)) -> Result<(), SeriesError> {
    fuel.spend(1 + words as u64)?;
    if words as u64 * 64 > largest_bits.saturating_add(128) {
        return Err(SeriesError::Exhausted);
    }
    Ok(())
}

/// Only one earlier coefficient occurs: each is an earlier one times a fraction of words, and stays
/// in lowest terms by greatest common divisors with words.
fn chains(
    recurrence: &Recurrence<'_>,
    first: &[Rational],
    degree: usize,
    mut budget: (u64, &mut Fuel),
) -> Result<Option<Vec<Rational>>, SeriesError> {
    let mut found: Vec<(Words, bool, Words)> = first
        .iter()
        .map(|value| {
            let numerator = from_magnitude(value.numer().magnitude());
            (
                numerator,
                value.is_negative(),
                from_magnitude(value.denom().magnitude()),
            )
        })
        .collect();
    for n in 0_i64.. {
        if found.len() > degree {
            break;
        }
        let Some(step) = recurrence.step(n) else {
            return Ok(None);
        };
        let earlier = step.factors.first().and_then(|&(offset, factor)| {
            let index = usize::try_from(n + offset).ok()?;
            found.get(index).map(|(numerator, negative, denominator)| {
                (numerator.clone(), *negative, denominator.clone(), factor)
            })
        });
        let next = match earlier {
            Some((mut numerator, negative, mut denominator, factor))
                if factor != 0 && !numerator.is_empty() =>
            {
                let size = factor.unsigned_abs();
                let common = gcd_with(&denominator, size);
                divide_by(&mut denominator, common);
                multiply(&mut numerator, size / common);
                for divisor in step.divisors {
                    let common = gcd_with(&numerator, divisor);
                    divide_by(&mut numerator, common);
                    multiply(&mut denominator, divisor / common);
                }
                check(numerator.len() + denominator.len(), &mut budget)?;
                (numerator, negative != (factor < 0), denominator)
            }
            _ => (Words::new(), false, vec![1]),
        };
        found.push(next);
    }
    found.truncate(degree + 1);
    let fraction = |(numerator, negative, denominator): &(Words, bool, Words)| {
        Rational::new_raw(
            to_integer(numerator, *negative),
            to_integer(denominator, false),
        )
    };
    Ok(Some(found.iter().map(fraction).collect()))
}

/// Several earlier coefficients occur: the last few are kept over one denominator.
fn window(
    recurrence: &Recurrence<'_>,
    first: Vec<Rational>,
    degree: usize,
    mut budget: (u64, &mut Fuel),
) -> Result<Option<Vec<Rational>>, SeriesError> {
    let mut others = vec![recurrence.equation.leading().unsigned_abs()];
    for value in &first {
        match value.denom().to_u64() {
            Some(denominator) => others.push(denominator),
            None => return Ok(None),
        }
    }
    let smooth = Smooth::new(degree as u64 + 1, &others);
    let common = first.iter().fold(num_bigint::BigInt::from(1), |common, c| {
        lcm(&common, c.denom())
    });
    let mut denominator = from_magnitude(common.magnitude());
    let mut window: VecDeque<Numerator> = first
        .iter()
        .map(|value| {
            let scaled = value.numer() * (&common / value.denom());
            (from_magnitude(scaled.magnitude()), scaled.is_negative())
        })
        .collect();
    let order = first.len();
    let mut found = first;
    for n in 0_i64.. {
        if found.len() > degree {
            break;
        }
        let Some(step) = recurrence.step(n) else {
            return Ok(None);
        };
        // The window's last entry is c_{n+m−1}.
        let newest = window.len();
        let (mut plus, mut minus) = (Words::new(), Words::new());
        for (offset, factor) in &step.factors {
            let back = usize::try_from(recurrence.order - offset).unwrap_or(usize::MAX);
            if let Some((words, negative)) = newest.checked_sub(back).and_then(|i| window.get(i)) {
                let sum = if *negative == (*factor < 0) {
                    &mut plus
                } else {
                    &mut minus
                };
                add_multiple(sum, words, factor.unsigned_abs());
            }
        }
        let sum = if step.right < 0 {
            &mut minus
        } else {
            &mut plus
        };
        add_multiple(sum, &denominator, step.right.unsigned_abs());
        let (mut numerator, negative) = difference(plus, minus);
        check(
            numerator.len() + denominator.len() * (1 + newest),
            &mut (u64::MAX, &mut *budget.1),
        )?;
        check(numerator.len() + denominator.len(), &mut budget)?;
        if numerator.is_empty() {
            found.push(Rational::zero());
        } else {
            for divisor in step.divisors {
                let common = gcd_with(&numerator, divisor);
                divide_by(&mut numerator, common);
                let rest = divisor / common;
                multiply(&mut denominator, rest);
                for (words, _) in &mut window {
                    multiply(words, rest);
                }
            }
            let (mut above, mut below) = (numerator.clone(), denominator.clone());
            // No larger prime is in the denominator yet.
            smooth.reduce(&mut [&mut above, &mut below], found.len() as u64);
            found.push(Rational::new_raw(
                to_integer(&above, negative),
                to_integer(&below, false),
            ));
        }
        window.push_back((numerator, negative));
        let reach = recurrence
            .offsets
            .first()
            .map_or(1, |least| recurrence.order - least);
        while window.len() > usize::try_from(reach).unwrap_or(usize::MAX).max(order) {
            window.pop_front();
        }
        if found.len().is_multiple_of(CLEANING) {
            let mut all: Vec<&mut Words> = window.iter_mut().map(|(words, _)| words).collect();
            all.push(&mut denominator);
            smooth.reduce(&mut all, found.len() as u64);
        }
    }
    found.truncate(degree + 1);
    Ok(Some(found))
}
