//! A quadratic form that decreases along a linear flow.
//!
//! For e′ = A e with all eigenvalues of A on the left, P with `AᵀP` + PA = −I is symmetric and positive
//! definite, and `eᵀPe` falls (A. Lyapunov; H. Khalil, *Nonlinear Systems*, 3rd ed., theorem 4.6, from
//! memory). P is found in doubles; what is used of it is proved afterwards, in balls.

use super::form::{Arithmetic, Form};
use crate::number::BigFloat;
use crate::number::upward::up;

/// A number of a matrix in balls.
pub(super) type Number = Form<BigFloat>;

/// A square matrix of doubles, row by row.
pub(super) type Matrix = Vec<Vec<f64>>;

/// Largest matrix.
pub(super) const MOST: usize = 8;

fn entry(matrix: &[Vec<f64>], i: usize, j: usize) -> f64 {
    matrix.get(i).and_then(|row| row.get(j)).map_or(0.0, |v| *v)
}

/// P, about; `None` where there is none, or the matrix is too large.
pub(super) fn lyapunov(a: &[Vec<f64>]) -> Option<Matrix> {
    let n = a.len();
    if n > MOST {
        return None;
    }
    // One equation for each entry (i, j): Σₖ aₖᵢ pₖⱼ + Σₖ pᵢₖ aₖⱼ = −δᵢⱼ.
    let mut rows = Vec::with_capacity(n * n);
    for i in 0..n {
        for j in 0..n {
            let mut row = vec![0.0; n * n + 1];
            for k in 0..n {
                for (place, value) in [(k * n + j, entry(a, k, i)), (i * n + k, entry(a, k, j))] {
                    if let Some(own) = row.get_mut(place) {
                        *own += value;
                    }
                }
            }
            if let Some(last) = row.last_mut() {
                *last = if i == j { -1.0 } else { 0.0 };
            }
            rows.push(row);
        }
    }
    let found = solved(rows)?;
    let at = |i: usize, j: usize| found.get(i * n + j).copied();
    (0..n)
        .map(|i| {
            (0..n)
                .map(|j| Some(0.5 * (at(i, j)? + at(j, i)?)))
                .collect()
        })
        .collect()
}

/// The solution of linear equations with the right side as the last column, by elimination.
fn solved(mut rows: Matrix) -> Option<Vec<f64>> {
    let n = rows.len();
    for k in 0..n {
        let best = (k..n).max_by(|a, b| {
            let size = |i: usize| libm::fabs(entry(&rows, i, k));
            size(*a).total_cmp(&size(*b))
        })?;
        rows.swap(k, best);
        let pivot = rows.get(k)?.clone();
        let head = *pivot.get(k)?;
        if !head.is_normal() {
            return None;
        }
        for (i, row) in rows.iter_mut().enumerate() {
            let share = row.get(k).map_or(0.0, |own| own / head);
            if i != k && libm::fabs(share) > 0.0 {
                for (own, other) in row.iter_mut().zip(&pivot) {
                    *own -= share * other;
                }
            }
        }
    }
    let values = rows.iter().enumerate();
    values
        .map(|(i, row)| Some(row.last()? / row.get(i)?))
        .collect()
}

/// The diagonal of P⁻¹ from above, by elimination in balls; `None` unless all pivots are surely positive,
/// which proves that P is positive definite (Sylvester).
pub(super) fn inverse_diagonal(p: &[Vec<f64>], arithmetic: &Arithmetic) -> Option<Vec<f64>> {
    let n = p.len();
    let number = |value: f64| -> Number { arithmetic.known(BigFloat::from_f64(value)) };
    let mut rows: Vec<Vec<Number>> = p
        .iter()
        .enumerate()
        .map(|(i, row)| {
            let unit = (0..n).map(|j| number(if i == j { 1.0 } else { 0.0 }));
            row.iter().map(|value| number(*value)).chain(unit).collect()
        })
        .collect();
    for k in 0..n {
        let head = rows.get(k)?.get(k)?.clone();
        if head.away_from_zero() <= 0.0 || head.mid.is_negative() {
            return None;
        }
        let pivot = rows
            .get(k)?
            .iter()
            .map(|value| arithmetic.quotient(value, &head).ok())
            .collect::<Option<Vec<_>>>()?;
        for (i, row) in rows.iter_mut().enumerate() {
            if i == k {
                row.clone_from(&pivot);
                continue;
            }
            let share = row.get(k)?.clone();
            for (own, other) in row.iter_mut().zip(&pivot) {
                *own = arithmetic.sum(own, &arithmetic.product(&share, other), true);
            }
        }
    }
    rows.iter()
        .enumerate()
        .map(|(i, row)| row.get(n + i).map(most))
        .collect()
}

/// At least |number|.
pub(super) fn most(number: &Number) -> f64 {
    up(super::form::size(&number.mid) + number.spread())
}

/// w with eᵀ(PM + MᵀP)e ≤ −w|e|² for every M in the balls, by Gershgorin's discs; positive, or `None`.
pub(super) fn decrease(p: &[Vec<f64>], m: &[Vec<Number>], arithmetic: &Arithmetic) -> Option<f64> {
    let n = p.len();
    let half = |i: usize, j: usize| -> Option<Number> {
        let mut sum: Number = arithmetic.known(BigFloat::ZERO);
        for (k, row) in m.iter().enumerate() {
            let factor = arithmetic.known(BigFloat::from_f64(entry(p, i, k)));
            sum = arithmetic.sum(&sum, &arithmetic.product(&factor, row.get(j)?), false);
        }
        Some(sum)
    };
    let mut least = f64::INFINITY;
    for i in 0..n {
        let mut others = 0.0;
        let mut own = 0.0;
        for j in 0..n {
            let whole = arithmetic.sum(&half(i, j)?, &half(j, i)?, false);
            if i == j {
                if !whole.mid.is_negative() {
                    return None;
                }
                own = whole.away_from_zero();
            } else {
                others += most(&whole);
            }
        }
        least = least.min(crate::number::upward::down(own, up(others)));
    }
    (least > 0.0).then_some(least)
}

#[cfg(test)]
mod tests {
    use super::{Matrix, Number, decrease, inverse_diagonal, lyapunov};
    use crate::enclosed::form::Arithmetic;
    use crate::number::BigFloat;

    /// Proved to fall, with the largest (P⁻¹)ᵢᵢ; every entry may be off by so much.
    fn falls(a: &Matrix, off: f64) -> Option<f64> {
        let arithmetic = Arithmetic::new(192, 0);
        let p = lyapunov(a)?;
        let inverse = inverse_diagonal(&p, &arithmetic)?;
        let wide = |value: &f64| {
            let mut number: Number = arithmetic.known(BigFloat::from_f64(*value));
            number.radius += off;
            number
        };
        let m: Vec<Vec<Number>> = a.iter().map(|row| row.iter().map(wide).collect()).collect();
        let fall = decrease(&p, &m, &arithmetic)?;
        assert!(fall <= 1.0 + 1e-9);
        Some(inverse.into_iter().fold(0.0, f64::max))
    }

    #[test]
    fn only_what_is_stable_falls() {
        // Eigenvalues −1 ± 5i: P = I/2. And a strong shear, −1 twice.
        let spiral = vec![vec![-1.0, 5.0], vec![-5.0, -1.0]];
        assert!((falls(&spiral, 0.0).unwrap() - 2.0).abs() < 1e-9);
        assert!(falls(&vec![vec![-1.0, 40.0], vec![0.0, -1.0]], 0.0).is_some());
        // Too uncertain; 1e-3 and −3; 0 and −1; ±i.
        assert!(falls(&spiral, 1.0).is_none());
        for other in [
            [-1.0, 2.001, 1.0, -2.0],
            [0.0, 1.0, 0.0, -1.0],
            [0.0, 1.0, -1.0, 0.0],
        ] {
            let rows: Matrix = other.chunks(2).map(<[f64]>::to_vec).collect();
            assert!(falls(&rows, 0.0).is_none(), "{rows:?}");
        }
    }
}
