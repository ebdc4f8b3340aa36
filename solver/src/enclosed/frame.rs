//! The uncertain part of a state in new coordinates.
//!
//! After a step the states are m + Bξ + δ with a matrix B and a radius for each δ. Kept as a box this set
//! would swell with every turn of the flow; so it is put into a box in turned coordinates instead,
//! whose axes follow the longest columns of B (R. Lohner's method with QR factors; N. Nedialkov,
//! K. Jackson, G. Corliss, Appl. Math. Comput. 105 (1999) 21–68, section 6).
//!
//! With Q in doubles, Bξ + δ = Qz, and `QᵀQ` = I − F: z = Qᵀ(Bξ + δ) + Fz. So max |z| ≤ max |Qᵀ(Bξ + δ)|/(1 − φ) where
//! φ bounds the row sums of |F|, and each |zᵢ| is at most its own entry plus φ·max |z|. F is
//! measured, so nothing depends on how well Q was found.

use super::form::{DIRECTIONS, Form};
use crate::number::upward::{down, up};
use crate::series::floats::Real;

type Vector = [f64; DIRECTIONS];

/// A column is followed when at least this share of it points in a new direction.
const NEW_SHARE: f64 = 1e-6;
/// Relative error of a sum of up to twelve products of doubles, at most.
const SUM_UNIT: f64 = 1e-14;
/// Relative error of one product, generously.
const PRODUCT_UNIT: f64 = 1e-15;

fn dot(a: &Vector, b: &Vector) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// Orthonormal vectors, nearly, the first along the longest columns.
fn axes(columns: &[Vector], count: usize) -> Vec<Vector> {
    let mut sorted: Vec<Vector> = columns.to_vec();
    crate::sorting::sort_by(&mut sorted, |a, b| dot(b, b).total_cmp(&dot(a, a)));
    let units = (0..count).map(|i| {
        let mut unit = [0.0; DIRECTIONS];
        if let Some(place) = unit.get_mut(i) {
            *place = 1.0;
        }
        unit
    });
    let mut found: Vec<Vector> = Vec::with_capacity(count);
    for column in sorted.into_iter().chain(units) {
        if found.len() == count {
            break;
        }
        let largest = column.iter().fold(0.0, |most: f64, v| most.max(v.abs()));
        if !(largest.is_normal()) {
            continue;
        }
        let mut own = column.map(|v| v / largest);
        let before = libm::sqrt(dot(&own, &own));
        // Twice is enough.
        for _ in 0..2 {
            for axis in &found {
                let share = dot(axis, &own);
                for (v, a) in own.iter_mut().zip(axis) {
                    *v -= share * a;
                }
            }
        }
        let length = libm::sqrt(dot(&own, &own));
        if length > NEW_SHARE * before {
            found.push(own.map(|v| v / length));
        }
    }
    found
}

/// The same set, or a larger one, with as many directions as states and hardly a radius.
pub(super) fn turned<C: Real>(states: &[Form<C>]) -> Vec<Form<C>> {
    let count = states.len();
    if count > DIRECTIONS {
        return states
            .iter()
            .map(|form| Form {
                mid: form.mid.clone(),
                slopes: [0.0; DIRECTIONS],
                radius: form.spread(),
            })
            .collect();
    }
    let columns: Vec<Vector> = (0..DIRECTIONS)
        .map(|i| {
            let mut column = [0.0; DIRECTIONS];
            for (place, form) in column.iter_mut().zip(states) {
                *place = form.slopes.get(i).copied().unwrap_or(0.0);
            }
            column
        })
        .collect();
    let mut axes = axes(&columns, count);
    let mut flaw = flaw(&axes);
    if flaw.is_nan() || flaw > 0.5 || axes.len() != count {
        axes = self::axes(&[], count);
        flaw = 0.0;
    }
    // |Qᵀ(Bξ + δ)|, entry by entry.
    let mut widths: Vec<f64> = axes
        .iter()
        .map(|axis| {
            let along: f64 = columns.iter().map(|column| dot(axis, column).abs()).sum();
            let absolute = axis.map(f64::abs);
            let lost: f64 = columns
                .iter()
                .map(|column| dot(&absolute, &column.map(f64::abs)))
                .sum();
            let radii = absolute.iter().zip(states);
            let radii: f64 = radii.map(|(axis, form)| axis * form.radius).sum();
            up(along + SUM_UNIT * lost + radii)
        })
        .collect();
    let most = widths.iter().copied().fold(0.0, f64::max);
    let most = up(most / down(1.0, flaw));
    for width in &mut widths {
        *width = up(*width + flaw * most);
    }
    states
        .iter()
        .enumerate()
        .map(|(j, form)| {
            let mut slopes = [0.0; DIRECTIONS];
            let mut gaps = 0.0;
            for ((slope, axis), width) in slopes.iter_mut().zip(&axes).zip(&widths) {
                *slope = axis.get(j).copied().unwrap_or(0.0) * width;
                gaps += slope.abs();
            }
            Form {
                mid: form.mid.clone(),
                slopes,
                radius: up(gaps * PRODUCT_UNIT),
            }
        })
        .collect()
}

/// At least the largest row sum of |I − `QᵀQ`|.
fn flaw(axes: &[Vector]) -> f64 {
    let row = |i: usize, a: &Vector| -> f64 {
        axes.iter()
            .enumerate()
            .map(|(j, b)| {
                let unit = if i == j { 1.0 } else { 0.0 };
                (dot(a, b) - unit).abs() + SUM_UNIT
            })
            .sum()
    };
    let largest = axes.iter().enumerate().map(|(i, a)| row(i, a));
    up(largest.fold(0.0, f64::max))
}
