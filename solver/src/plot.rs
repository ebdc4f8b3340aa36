//! Plot data only: polylines, windows, labels. Drawing is the page's.

mod axis;
mod clip;
pub mod phase;
mod sums;

use crate::expression::{Expr, Symbol, to_f64};
use crate::number::Rational;
use crate::number::rational::integer;
use crate::reference::{Reference, StopReason};
use num_traits::ToPrimitive;

use axis::{horizontal_axis, linear_axis};
use clip::cut;
use sums::{Place, partial_sums};

/// A curve, already cut at the window's edges and at gaps.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// `None`: the reference solution; otherwise the partial sum's degree.
    pub degree: Option<usize>,
    /// Pieces of (x, y).
    pub pieces: Vec<Vec<(f64, f64)>>,
}

/// Axis limits and tick positions.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Ticks with their labels (true minus signs).
    pub ticks: Vec<(f64, String)>,
}

/// One picture: the curves, or the errors (then `y` holds powers of ten, values are log₁₀).
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// Curves: partial sums ascending by degree, the reference last.
    pub curves: Vec<Curve>,
    /// Horizontal ranges beyond the (estimated) radius of convergence, to be shaded.
    pub beyond: Vec<(f64, f64)>,
    /// For each degree the range in which the tolerance is kept, proved; empty where nothing is.
    pub kept: Vec<(f64, f64)>,
    /// Proved bounds of the errors, a curve for each degree, where something is proved.
    pub proved: Vec<Curve>,
}

/// A row of the table behind the plot.
#[derive(Clone, Debug, PartialEq)]
pub struct TableRow {
    /// x as text.
    pub x: String,
    /// x.
    pub x_value: f64,
    /// Reference value's text, if the reference reaches here.
    pub reference: Option<String>,
    /// Reference value.
    pub reference_value: Option<f64>,
    /// Partial sums, degree 0 to N (doubles rounded once from higher precision).
    pub partial_sums: Vec<f64>,
    /// `|P_n − y|` for each degree, computed before rounding (no cancellation), where known; 0 where
    /// it cannot be told from zero.
    pub errors: Vec<Option<f64>>,
    /// One of the rows that a reader sees first: a round x, or a point asked for by name.
    pub round: bool,
}

/// A solution set beside the first one, as it is known.
#[derive(Clone, Copy, Debug)]
pub struct Other<'a> {
    /// Exact Taylor coefficients, from degree 0.
    pub coefficients: &'a [Expr],
    /// Their center.
    pub center: &'a Expr,
    /// Its own numerical solution at the places that [`drawn_places`] names, if it has one.
    pub reference: Option<&'a Reference>,
}

/// A solution set beside the first one, drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// Partial sums ascending by degree, then the numerical solution if there is one.
    pub curves: Vec<Curve>,
    /// For each row of the table: the numerical solution as text and as a double, and the partial
    /// sums.
    pub rows: Vec<BesideRow>,
}

/// What stands in a row of the table for a solution set beside the first one.
#[derive(Clone, Debug, PartialEq)]
pub struct BesideRow {
    /// The numerical solution's value as text, if it reaches here.
    pub reference: Option<String>,
    /// The same as a double.
    pub reference_value: Option<f64>,
    /// Partial sums, degree 0 to N.
    pub partial_sums: Vec<f64>,
}

/// Everything that is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Plot {
    /// Partial sums against the reference.
    pub curves: Picture,
    /// |error|, log₁₀.
    pub errors: Picture,
    /// The same data as a table (every drawn x).
    pub table: Vec<TableRow>,
    /// What is set beside it.
    pub beside: Vec<Beside>,
    /// The pieces of a formula's curve, where one is tested.
    pub candidate: Vec<Vec<(f64, f64)>>,
}

/// Formulas are drawn at places with this denominator: far finer than what can be seen.
const FINE: f64 = 1_073_741_824.0;

/// Rows that a reader sees first are about so many.
const ROUND_ROWS: usize = 20;
/// The error picture reaches at most so many powers of ten down.
const DECADES: f64 = 24.0;

/// Extremes farther from the bulk of the values than this many times its size are cut off, …
const DWARFED: f64 = 4.0;
/// … and the window reaches this many times its size beyond the bulk.
const BEYOND_BULK: f64 = 0.6;

/// A solution that changes by less than this part of itself is constant for the eye.
const CONSTANT: f64 = 1e-12;

/// The pictures of the partial sums of `coefficients` (exact, from degree 0) against a reference
/// solution, and the table behind them.
pub fn build(coefficients: &[Expr], reference: &Reference, others: &[Other<'_>]) -> Plot {
    let window = horizontal_window(reference);
    let places = sums::places(reference, window);
    let table = table(coefficients, reference, &places, window);
    let x = horizontal_axis(window.0, window.1);
    let beyond = beyond(reference, window);
    let count = coefficients.len();
    let inside = |row: &&TableRow| (window.0..=window.1).contains(&row.x_value);
    let drawn: Vec<TableRow> = table.iter().filter(inside).cloned().collect();
    let rows: Vec<Vec<BesideRow>> = others
        .iter()
        .map(|other| sums::beside(other, &places))
        .collect();
    let values = others.iter().zip(&rows).map(|(other, rows)| {
        let highest = other.coefficients.len().saturating_sub(1);
        along(&table, rows, window, |row| match other.reference {
            Some(_) => row.reference_value,
            None => row.partial_sums.get(highest).copied(),
        })
    });
    let y = vertical_axis(&drawn, count, values);
    let beside = others
        .iter()
        .zip(rows)
        .map(|(other, rows)| beside(other, rows, &table, &y, window))
        .collect();
    let curves = Picture {
        curves: (0..count)
            .map(Some)
            .chain([None])
            .map(|degree| Curve {
                degree,
                pieces: cut(
                    &line(&table, window, |row| match degree {
                        Some(n) => row.partial_sums.get(n).copied(),
                        None => row.reference_value,
                    }),
                    (y.low, y.high),
                ),
            })
            .collect(),
        x: x.clone(),
        y,
        beyond: beyond.clone(),
        kept: Vec::new(),
        proved: Vec::new(),
    };
    let errors = error_picture(&table, count, x, beyond);
    Plot {
        curves,
        errors,
        table,
        beside,
        candidate: Vec::new(),
    }
}

/// The places of the table that belongs to a reference solution, ascending.
pub fn drawn_places(reference: &Reference) -> Vec<Rational> {
    let places = sums::places(reference, horizontal_window(reference));
    places.into_iter().map(|place| place.exact).collect()
}

fn beside(
    other: &Other<'_>,
    rows: Vec<BesideRow>,
    table: &[TableRow],
    y: &Axis,
    window: (f64, f64),
) -> Beside {
    let degrees = (0..other.coefficients.len()).map(Some);
    let curves = degrees
        .chain(other.reference.map(|_| None))
        .map(|degree| Curve {
            degree,
            pieces: cut(
                &along(table, &rows, window, |row| match degree {
                    Some(n) => row.partial_sums.get(n).copied(),
                    None => row.reference_value,
                }),
                (y.low, y.high),
            ),
        })
        .collect();
    Beside { curves, rows }
}

/// (x, value) of each row in the window, for what is set beside the table.
fn along(
    table: &[TableRow],
    rows: &[BesideRow],
    window: (f64, f64),
    value: impl Fn(&BesideRow) -> Option<f64>,
) -> Vec<(f64, Option<f64>)> {
    let both = table.iter().zip(rows);
    both.filter(|(row, _)| (window.0..=window.1).contains(&row.x_value))
        .map(|(row, other)| (row.x_value, value(other).filter(|v| v.is_finite())))
        .collect()
}

impl Plot {
    /// Draws a formula in the independent variable at the places of the table.
    pub fn draw_candidate(&mut self, formula: &Expr) {
        let window = (self.curves.x.low, self.curves.x.high);
        let points = line(&self.table, window, |row| {
            let steps = libm::round(row.x_value * FINE).to_i64()?;
            let place = integer(steps) / integer(FINE.to_i64()?);
            let value = formula.substitute(&|symbol| match symbol {
                Symbol::Variable => Some(Expr::number(place.clone())),
                Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) | Symbol::Derivative { .. } => {
                    None
                }
            });
            to_f64(&value)
        });
        self.candidate = cut(&points, (self.curves.y.low, self.curves.y.high));
    }

    /// Shades what is beyond a radius of convergence that is better known now.
    pub fn shade(&mut self, reference: &Reference) {
        let window = (self.curves.x.low, self.curves.x.high);
        self.curves.beyond = beyond(reference, window);
        self.errors.beyond.clone_from(&self.curves.beyond);
    }

    /// Draws bounds of the errors beside them: `bounds` gives those of all degrees from 0 at a place,
    /// `None` where nothing is proved.
    pub fn draw_bounds(&mut self, bounds: &dyn Fn(f64) -> Option<Vec<f64>>) {
        let window = (self.errors.x.low, self.errors.x.high);
        let inside = |row: &&TableRow| (window.0..=window.1).contains(&row.x_value);
        let rows: Vec<(f64, Option<Vec<f64>>)> = self
            .table
            .iter()
            .filter(inside)
            .map(|row| (row.x_value, bounds(row.x_value)))
            .collect();
        let curve = |degree: usize| {
            let log = |all: &Option<Vec<f64>>| {
                let bound = all.as_ref()?.get(degree).copied()?;
                (bound > 0.0 && bound.is_finite()).then(|| libm::log10(bound))
            };
            let line: Vec<(f64, Option<f64>)> =
                rows.iter().map(|(x, all)| (*x, log(all))).collect();
            Curve {
                degree: Some(degree),
                pieces: cut(&line, (self.errors.y.low, self.errors.y.high)),
            }
        };
        self.errors.proved = (0..self.errors.curves.len()).map(curve).collect();
    }

    /// The row of the table whose x is nearest, for a crosshair; `None` only for an empty table.
    pub fn read_out(&self, x: f64) -> Option<&TableRow> {
        let after = self.table.partition_point(|row| row.x_value < x);
        let candidates = [after.checked_sub(1), Some(after)];
        candidates
            .into_iter()
            .flatten()
            .filter_map(|i| self.table.get(i))
            .min_by(|a, b| libm::fabs(a.x_value - x).total_cmp(&libm::fabs(b.x_value - x)))
    }
}

/// The interval; where the solution was given up for want of steps or digits, only as far as it
/// is known (and a little more).
fn horizontal_window(reference: &Reference) -> (f64, f64) {
    let (mut low, mut high) = reference.interval;
    let first = reference.points.first().map(|point| point.x);
    let last = reference.points.last().map(|point| point.x);
    for stop in &reference.stops {
        if !matches!(stop.reason, StopReason::Budget | StopReason::LostDigits) {
            continue;
        }
        if let (Some(first), Some(last)) = (first, last) {
            let margin = 0.05 * (last - first);
            if stop.right {
                high = high.min(last + margin);
            } else {
                low = low.max(first - margin);
            }
        }
    }
    if high > low {
        (low, high)
    } else {
        (low - 1.0, low + 1.0)
    }
}

fn table(
    coefficients: &[Expr],
    reference: &Reference,
    places: &[Place<'_>],
    window: (f64, f64),
) -> Vec<TableRow> {
    let rounds = axis::round_places(window.0, window.1, ROUND_ROWS);
    let sums = partial_sums(coefficients, reference, places);
    places
        .iter()
        .zip(sums)
        .map(|(place, (partial_sums, errors))| {
            let tolerance = 1e-9 * (window.1 - window.0);
            let is_round = rounds
                .iter()
                .any(|round| libm::fabs(round - place.x) <= tolerance);
            TableRow {
                x: place.text.clone(),
                x_value: place.x,
                reference: place.point.map(|point| point.value.text.clone()),
                reference_value: place
                    .point
                    .map(|point| point.value.value)
                    .filter(|value| value.is_finite()),
                partial_sums,
                errors,
                round: is_round || place.point.is_some_and(|point| point.asked.is_some()),
            }
        })
        .collect()
}

/// (x, value) of each row in the window, `None` where there is none.
fn line(
    table: &[TableRow],
    window: (f64, f64),
    value: impl Fn(&TableRow) -> Option<f64>,
) -> Vec<(f64, Option<f64>)> {
    table
        .iter()
        .filter(|row| (window.0..=window.1).contains(&row.x_value))
        .map(|row| (row.x_value, value(row).filter(|v| v.is_finite())))
        .collect()
}

/// From the reference's values: all of them if they are of one size, else (a pole) the bulk, with
/// a margin in which the partial sums are seen to leave. `others`: (x, value) of what is set beside.
fn vertical_axis(
    table: &[TableRow],
    count: usize,
    others: impl Iterator<Item = Vec<(f64, Option<f64>)>>,
) -> Axis {
    let everywhere = (f64::NEG_INFINITY, f64::INFINITY);
    let mut values = evenly(&line(table, everywhere, |row| row.reference_value));
    if values.is_empty() {
        // No reference: the highest partial sum.
        values = evenly(&line(table, everywhere, |row| {
            row.partial_sums.get(count.checked_sub(1)?).copied()
        }));
    }
    for other in others {
        values.extend(evenly(&other));
    }
    crate::sorting::sort_by(&mut values, f64::total_cmp);
    let at = |share: usize| {
        values
            .get((values.len().saturating_sub(1)) * share / 100)
            .copied()
    };
    let (Some(least), Some(low), Some(high), Some(most)) = (at(0), at(12), at(88), at(100)) else {
        return linear_axis(-1.0, 1.0);
    };
    let bulk = high - low;
    // The extremes count as long as they do not dwarf the bulk.
    let low = if low - least > DWARFED * bulk {
        low - BEYOND_BULK * bulk
    } else {
        least
    };
    let high = if most - high > DWARFED * bulk {
        high + BEYOND_BULK * bulk
    } else {
        most
    };
    let size = libm::fabs(high).max(libm::fabs(low));
    let margin = if high - low > CONSTANT * size {
        0.15 * (high - low)
    } else if size > 0.0 {
        0.5 * size
    } else {
        1.0
    };
    axis::rounded_outwards(low - margin, high + margin)
}

/// Values at evenly spaced rows: the table has more rows where the curve bends.
fn evenly(line: &[(f64, Option<f64>)]) -> Vec<f64> {
    let (Some(first), Some(last)) = (line.first(), line.last()) else {
        return Vec::new();
    };
    let gap = (last.0 - first.0) / 240.0;
    let mut next = first.0;
    let mut values = Vec::new();
    for (x, value) in line {
        if *x >= next {
            values.extend(value);
            next = x + gap;
        }
    }
    values
}

/// The parts of the window beyond the estimated radius of convergence.
fn beyond(reference: &Reference, window: (f64, f64)) -> Vec<(f64, f64)> {
    let Some(radius) = reference.radius_estimate else {
        return Vec::new();
    };
    let inner = (reference.center - radius, reference.center + radius);
    [
        (window.0, inner.0.min(window.1)),
        (inner.1.max(window.0), window.1),
    ]
    .into_iter()
    .filter(|(low, high)| low < high)
    .collect()
}

/// log₁₀ of the errors; an error that cannot be told from zero is a gap.
fn error_picture(table: &[TableRow], count: usize, x: Axis, beyond: Vec<(f64, f64)>) -> Picture {
    let logs = |n: usize| {
        line(table, (x.low, x.high), |row| {
            let error = row.errors.get(n).copied().flatten()?;
            (error > 0.0).then(|| libm::log10(error))
        })
    };
    let all: Vec<f64> = (0..count)
        .flat_map(|n| logs(n).into_iter().filter_map(|(_, log)| log))
        .collect();
    let most = all.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = all.iter().copied().fold(f64::INFINITY, f64::min);
    let y = if most.is_finite() {
        // Errors above 10³ times the solution tell nothing more.
        let top = libm::ceil(most.min(reference_log(table) + 3.0));
        axis::powers_of_ten(libm::floor(least).max(top - DECADES).min(top - 1.0), top)
    } else {
        axis::powers_of_ten(-16.0, 0.0)
    };
    Picture {
        curves: (0..count)
            .map(|n| Curve {
                degree: Some(n),
                pieces: cut(&logs(n), (y.low, y.high)),
            })
            .collect(),
        x,
        y,
        beyond,
        kept: Vec::new(),
        proved: Vec::new(),
    }
}

/// log₁₀ of the largest reference value in the picture (0 when there is none).
fn reference_log(table: &[TableRow]) -> f64 {
    let most = table
        .iter()
        .filter_map(|row| row.reference_value)
        .map(libm::fabs)
        .fold(0.0, f64::max);
    if most > 0.0 && most.is_finite() {
        libm::log10(most).min(6.0)
    } else {
        0.0
    }
}

#[cfg(test)]
mod tests;
