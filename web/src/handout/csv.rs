//! The tables as CSV (RFC 4180: commas, lines ending in CR LF, quotes doubled within quotes).

use super::Task;
use super::tables::{is_proved, plots};
use crate::numerals::plain as digits;
use solver::document::names::Names;
use solver::document::plain;

/// Values and coefficients: problem, unknown, order, value, coefficient, both exact, and the
/// coefficient's decimals.
pub fn coefficients(tasks: &[Task<'_>]) -> String {
    let mut out = String::new();
    record(
        &mut out,
        [
            "problem",
            "unknown",
            "order",
            "value",
            "coefficient",
            "decimal",
        ]
        .map(str::to_owned),
    );
    for (number, task) in (1..).zip(tasks) {
        let Some(problem) = &task.worksheet.problem else {
            continue;
        };
        let names = Names::of(problem);
        for (unknown, entries) in task.worksheet.table.iter().enumerate() {
            for entry in entries {
                let decimal = solver::expression::to_f64(&entry.coefficient);
                let cells = [
                    number.to_string(),
                    names.unknown(unknown).to_owned(),
                    entry.order.to_string(),
                    plain::expression(&entry.value, &names),
                    plain::expression(&entry.coefficient, &names),
                    decimal
                        .filter(|value| value.is_finite())
                        .map(|value| digits(value, 15))
                        .unwrap_or_default(),
                ];
                record(&mut out, cells);
            }
        }
    }
    out
}

/// The polynomials beside the numerical solution, at round places: every degree has a column, and the
/// kind says whether the solution's digits are certain.
pub fn values(tasks: &[Task<'_>]) -> String {
    let highest = tasks
        .iter()
        .flat_map(|task| plots(task.worksheet))
        .flat_map(|(_, plot)| plot.table.iter().map(|row| row.partial_sums.len()))
        .max()
        .unwrap_or(0);
    let mut out = String::new();
    let words = ["problem", "unknown", "place", "solution", "kind"].map(str::to_owned);
    let columns = (0..highest).flat_map(|degree| {
        [
            format!("degree {degree}"),
            format!("difference {degree} (estimate)"),
        ]
    });
    record(&mut out, words.into_iter().chain(columns));
    for (number, task) in (1..).zip(tasks) {
        let Some(problem) = &task.worksheet.problem else {
            continue;
        };
        let names = Names::of(problem);
        let kind = if is_proved(task.worksheet) {
            "guaranteed"
        } else {
            "estimate"
        };
        for (unknown, plot) in plots(task.worksheet) {
            for row in plot.table.iter().filter(|row| row.round) {
                let number_of = |value: Option<f64>| match value {
                    Some(value) if value.is_finite() => digits(value, 15),
                    _ => String::new(),
                };
                let front = [
                    number.to_string(),
                    names.unknown(unknown).to_owned(),
                    row.x.replace('−', "-"),
                    row.reference.clone().unwrap_or_default(),
                    kind.to_owned(),
                ];
                let sums = (0..highest).flat_map(|degree| {
                    let sum = row.partial_sums.get(degree).copied();
                    let error = row.errors.get(degree).copied().flatten();
                    [
                        number_of(sum),
                        error.map(|e| digits(e, 3)).unwrap_or_default(),
                    ]
                });
                record(&mut out, front.into_iter().chain(sums));
            }
        }
    }
    out
}

fn record(out: &mut String, cells: impl IntoIterator<Item = String>) {
    for (position, cell) in cells.into_iter().enumerate() {
        if position > 0 {
            out.push(',');
        }
        if cell.contains(['"', ',', '\r', '\n']) {
            out.extend(["\"", &cell.replace('"', "\"\""), "\""]);
        } else {
            out.push_str(&cell);
        }
    }
    out.push_str("\r\n");
}
