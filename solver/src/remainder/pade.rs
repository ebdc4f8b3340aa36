//! Poles of Padé approximants: where the singularities are when no single one, or pair, dominates the
//! coefficients. An estimate.
//!
//! The approximant P/Q of degrees [L/M] agrees with a series up to the power L + M (G. Baker,
//! P. Graves-Morris, *Padé Approximants*, ch. 1; locator from memory). It is taken of y, y′ or y″, of which a
//! logarithm has a pole in y′, and one with a factor t in y″. A zero of Q is believed where P is not nearly
//! zero, too (Froissart's doublets), and where another approximant, from fewer coefficients, has it as well.

use crate::convergence::approximate_zeros;
use crate::enclosed::count;
use crate::number::big_float::Precision;
use crate::number::{BigFloat, Polynomial};
use crate::reference::{Nearest, Test};

const BITS: usize = 256;
/// Largest and least degree of Q, and how many coefficients there must be for each of its own.
const LARGEST: usize = 14;
const LEAST: usize = 4;
const EACH: usize = 4;
/// A residue smaller than this share of the largest term is a doublet's.
const DOUBLET: f64 = 1e-6;
/// Poles up to so many times the nearest's distance are given.
const FAR: f64 = 1.5;
/// The nearest must be as far as the roots of the coefficients say, within this factor.
const AGREES: f64 = 1.2;
/// Two that are so near each other are one.
const SAME: f64 = 0.02;
/// Most digits shown, the fewest, and how many are held back of those in which two approximants agree.
const MOST_DIGITS: u32 = 6;
const FEWEST_DIGITS: u32 = 2;
const HELD_BACK: u32 = 1;

type Place = (f64, f64);

/// What the poles tell, where the other tests tell a distance only.
pub(super) fn refined(known: Nearest, coefficients: &[BigFloat]) -> Nearest {
    if known.test == Test::Root
        && let Some(better) = (0..=2)
            .filter_map(|order| poles(&known, coefficients, order))
            .max_by_key(Nearest::digits)
    {
        return better;
    }
    known
}

fn size((x, y): &Place) -> f64 {
    libm::hypot(*x, *y)
}

/// From the derivative of this order, at most the second.
fn poles(known: &Nearest, coefficients: &[BigFloat], order: usize) -> Option<Nearest> {
    let precision = Precision::new(BITS);
    let last = coefficients.iter().rposition(|c| !c.is_zero())?;
    // In powers of t/2^unit, or of its gap-th power: from the last coefficient backward.
    let unit = libm::ilogb(known.radius);
    let places: Vec<usize> = (order..=last).rev().step_by(known.gap.max(1)).collect();
    let term = |k: &usize| {
        let whole = i64::try_from(*k).ok()?;
        let shift = i32::try_from(*k).ok()?.checked_mul(unit)?;
        let scaled = coefficients.get(*k)?.shifted(shift);
        let factor = match order {
            0 => 1,
            1 => whole,
            _ => whole * (whole - 1),
        };
        Some(scaled.scaled(factor, 1, &precision))
    };
    let series: Vec<BigFloat> = places.iter().rev().map(term).collect::<Option<_>>()?;
    let degree = LARGEST.min(series.len() / EACH);
    if degree < LEAST {
        return None;
    }
    let mut first = approximant(&series, degree, &precision)?;
    let shorter = series.get(..series.len() - LEAST)?;
    let second = approximant(shorter, degree - 2, &precision)?;
    crate::sorting::sort_by(&mut first, |a, b| size(a).total_cmp(&size(b)));
    let gap = count(known.gap.max(1));
    let length = |own: &Place| libm::ldexp(libm::pow(size(own), 1.0 / gap), unit);
    let mut found: Vec<Place> = Vec::new();
    let mut digits = MOST_DIGITS;
    for pole in first {
        let limit = found.first().map_or(f64::INFINITY, |own| FAR * length(own));
        if length(&pole) > limit {
            break;
        }
        let off = |(x, y): &Place| libm::hypot(x - pole.0, y - pole.1) / size(&pole);
        // A pole of higher order shows as several near each other.
        let split = found.iter().map(off).fold(f64::INFINITY, f64::min);
        if split < SAME {
            continue;
        }
        let nearest = second.iter().map(off).fold(f64::INFINITY, f64::min);
        let enough = |digits: u32| nearest <= libm::pow(10.0, -f64::from(digits + HELD_BACK));
        if !enough(FEWEST_DIGITS) {
            // What lies before all that is believed throws doubt on it.
            if found.is_empty() {
                return None;
            }
            continue;
        }
        while !enough(digits) {
            digits -= 1;
        }
        found.push(pole);
    }
    let nearest = found.first()?;
    let radius = length(nearest);
    if radius > known.radius * AGREES || radius < known.radius / AGREES {
        return None;
    }
    let mut places: Vec<Place> = Vec::new();
    for pole in &found {
        let (radius, angle) = (length(pole), libm::atan2(pole.1, pole.0) / gap);
        for image in 0..known.gap.max(1) {
            let angle = angle + 2.0 * std::f64::consts::PI * count(image) / gap;
            places.push((radius * libm::cos(angle), radius * libm::sin(angle)));
        }
    }
    Some(Nearest {
        radius,
        test: Test::Pade {
            order,
            above: series.len() - 1 - degree,
            below: degree,
            digits,
        },
        poles: places,
        ..known.clone()
    })
}

/// The poles of the approximant whose denominator has this degree, without those of doublets.
fn approximant(series: &[BigFloat], degree: usize, precision: &Precision) -> Option<Vec<Place>> {
    let above = series.len().checked_sub(1 + degree)?;
    // Σ qⱼ c₍L+i−j₎ = −c₍L+i₎ for i = 1, …, M, with q₀ = 1.
    let mut rows: Vec<Vec<BigFloat>> = (1..=degree)
        .map(|i| {
            let row = (0..=degree).map(|j| series.get((above + i).checked_sub(j)?).cloned());
            let mut row: Vec<BigFloat> = row.collect::<Option<_>>()?;
            row.rotate_left(1);
            Some(row)
        })
        .collect::<Option<_>>()?;
    let mut below = vec![BigFloat::from_i64(1)];
    below.extend(solved(&mut rows, precision)?.iter().map(BigFloat::negated));
    let upper = |k: usize| {
        let terms = below.iter().zip(series.get(..=k)?.iter().rev());
        let sum = terms.fold(BigFloat::from_i64(0), |sum, (q, c)| {
            sum.plus(&q.times(c, precision), precision)
        });
        Some(sum.to_f64())
    };
    let upper: Vec<f64> = (0..=above).map(upper).collect::<Option<_>>()?;
    let exact = below.iter().map(BigFloat::to_rational);
    let zeros = approximate_zeros(&Polynomial::new(exact.collect::<Option<_>>()?))?;
    let lower: Vec<f64> = below.iter().map(BigFloat::to_f64).collect();
    let largest = series
        .iter()
        .map(|c| libm::fabs(c.to_f64()))
        .fold(0.0, f64::max);
    // The residue P/Q′, as a share of what the series' terms are there.
    let real = |z: &Place| {
        let slope: Vec<f64> = (0..=degree)
            .zip(&lower)
            .map(|(k, q)| count(k) * q)
            .collect();
        let (p, q) = (size(&value(&upper, *z)), size(&value(&slope, *z)));
        p > DOUBLET * largest * q
    };
    Some(zeros.into_iter().filter(real).collect())
}

/// A polynomial's value.
fn value(coefficients: &[f64], (x, y): Place) -> Place {
    let coefficients = coefficients.iter().rev();
    coefficients.fold((0.0, 0.0), |(a, b), c| (a * x - b * y + c, a * y + b * x))
}

/// Gaussian elimination with row exchanges: the right side stands last in each row. `None` when singular.
fn solved(rows: &mut [Vec<BigFloat>], precision: &Precision) -> Option<Vec<BigFloat>> {
    for column in 0..rows.len() {
        let size = |row: &Vec<BigFloat>| {
            row.get(column)
                .map_or(f64::NEG_INFINITY, BigFloat::log2_abs)
        };
        let best = (column..rows.len()).max_by(|&a, &b| {
            rows.get(a)
                .map(size)
                .partial_cmp(&rows.get(b).map(size))
                .unwrap_or(std::cmp::Ordering::Equal)
        })?;
        rows.swap(column, best);
        let (done, rest) = rows.split_at_mut(column + 1);
        let pivot = done.last()?;
        let lead = pivot.get(column).filter(|lead| !lead.is_zero())?;
        for row in rest {
            let factor = row.get(column)?.over(lead, precision);
            for (own, other) in row.iter_mut().zip(pivot).skip(column) {
                *own = own.minus(&factor.times(other, precision), precision);
            }
        }
    }
    let mut found: Vec<BigFloat> = Vec::new();
    for row in rows.iter().rev() {
        let (right, left) = row.split_last()?;
        let known = left.iter().rev().zip(&found);
        let rest = known.fold(right.clone(), |rest, (c, x)| {
            rest.minus(&c.times(x, precision), precision)
        });
        let lead = left.get(left.len() - 1 - found.len())?;
        found.push(rest.over(lead, precision));
    }
    found.reverse();
    Some(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reference::nearest;

    fn told(coefficient: impl Fn(u32) -> f64) -> Option<Nearest> {
        let all: Vec<BigFloat> = (0..88)
            .map(|k| BigFloat::from_f64(coefficient(k)))
            .collect();
        nearest(&all).map(|known| refined(known, &all))
    }

    #[test]
    fn three_poles_are_found_where_a_single_one_does_not_dominate() {
        // 1/(1 − t) + 2/(1 + t/1.1) + 3 Re 1/(1 − t/(1.05 i))
        let found = told(|k| {
            let pair = [1.0, 0.0, -1.0, 0.0].into_iter().cycle().nth(k as usize);
            1.0 + 2.0 * libm::pow(-1.1, -f64::from(k))
                + 3.0 * pair.unwrap() * libm::pow(1.05, -f64::from(k))
        });
        let found = found.unwrap();
        assert!(
            matches!(found.test, Test::Pade { digits, .. } if digits >= 5),
            "{found:?}"
        );
        let near = |x: f64, y: f64| {
            let off = |own: &Place| libm::hypot(own.0 - x, own.1 - y);
            found.poles.iter().any(|own| off(own) < 1e-5)
        };
        assert!(
            (found.radius - 1.0).abs() < 1e-5 && found.poles.len() == 4,
            "{found:?}"
        );
        assert!(near(1.0, 0.0) && near(-1.1, 0.0) && near(0.0, 1.05) && near(0.0, -1.05));
    }

    #[test]
    fn branch_points_show_fewer_digits() {
        // (1 − t)^(1/2) + (1 + t/1.1)^(1/3), by their recurrences.
        let mut roots = vec![(1.0, 1.0)];
        for k in 1..88 {
            let (a, b) = roots[k - 1];
            let k = count(k);
            roots.push((a * (k - 1.5) / k, -b * (k - 1.0 - 1.0 / 3.0) / (1.1 * k)));
        }
        let found = told(|k| roots[k as usize].0 + roots[k as usize].1).unwrap();
        if let Test::Pade { digits, .. } = found.test {
            let allowed = libm::pow(10.0, -f64::from(digits)) * 10.0;
            assert!((found.radius - 1.0).abs() < allowed, "{found:?}");
        }
        assert!((found.radius - 1.0).abs() < 0.1, "{found:?}");
    }

    #[test]
    fn noise_has_no_poles() {
        // A natural boundary: Σ t^(k²) has no pole anywhere.
        let square = |k: u32| libm::sqrt(f64::from(k)).fract() < 1e-12;
        let found = told(|k| if square(k) { 1.0 } else { 0.0 });
        assert!(found.is_none_or(|own| own.poles.is_empty()));
    }
}
