//! Tables of a worksheet: the values that give the coefficients, and the polynomial beside the
//! numerical solution.

use super::decimal;
use crate::numerals::{cut, plain};
use solver::document::build;
use solver::document::closing::partial_sum;
use solver::document::formula::{Formula, MINUS};
use solver::document::ledger::Prose;
use solver::document::long::is_long;
use solver::document::names::Names;
use solver::plot::Plot;
use solver::worksheet::Worksheet;

/// A table as it is printed.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// What it shows.
    pub caption: Prose,
    /// Heads of the columns.
    pub head: Vec<Prose>,
    /// Cells; an empty text where there is nothing.
    pub rows: Vec<Vec<Formula>>,
}

/// Digits of values, and of differences, in a printed table.
const DIGITS: usize = 8;
const DIFFERENCE_DIGITS: usize = 2;

/// Order, value and coefficient of each unknown.
pub fn coefficients(worksheet: &Worksheet) -> Vec<Table> {
    let Some(problem) = &worksheet.problem else {
        return Vec::new();
    };
    let names = Names::of(problem);
    let center = build::formula(&problem.center, &names);
    let long = || Formula::Text("too long to print".to_owned());
    let own = worksheet.table.iter().enumerate();
    own.map(|(unknown, entries)| {
        let name = names.derivative(unknown, 0);
        let value =
            |order: usize| Formula::value_at(names.derivative(unknown, order), center.clone());
        let rows = entries.iter().map(|entry| {
            let shown = |expr| {
                if is_long(expr) {
                    long()
                } else {
                    build::formula(expr, &names)
                }
            };
            vec![
                Formula::equation(value(entry.order), shown(&entry.value)),
                shown(&entry.coefficient),
            ]
        });
        Table {
            caption: Prose::words("Values and coefficients of ").math(name),
            head: vec![Prose::words("value"), Prose::words("coefficient")],
            rows: rows.collect(),
        }
    })
    .collect()
}

/// For each unknown the plots with their unknown's index.
pub fn plots(worksheet: &Worksheet) -> impl Iterator<Item = (usize, &Plot)> {
    let others = worksheet.others.iter().map(|(_, plot)| plot);
    worksheet.plot.iter().chain(others).enumerate()
}

/// Is every value of the numerical solution enclosed?
pub fn is_proved(worksheet: &Worksheet) -> bool {
    let reference = worksheet.reference.as_ref();
    reference.is_some_and(|reference| reference.evidence.proved)
}

/// The polynomial beside the numerical solution, at round places.
pub fn values(worksheet: &Worksheet) -> Vec<Table> {
    let Some(problem) = &worksheet.problem else {
        return Vec::new();
    };
    let names = Names::of(problem);
    let proved = is_proved(worksheet);
    plots(worksheet)
        .map(|(unknown, plot)| {
            let degree = worksheet
                .table
                .get(unknown)
                .map_or(0, |own| own.len().saturating_sub(1));
            let sum = partial_sum(unknown, degree, &names);
            let solution = Formula::value_at(names.derivative(unknown, 0), names.variable());
            let rows = plot.table.iter().filter(|row| row.round).map(|row| {
                let certain = row.reference.as_deref().filter(|_| proved);
                let number = |value: Option<f64>, digits| match value {
                    Some(value) if value.is_finite() => decimal(&plain(value, digits)),
                    _ => Formula::Text(String::new()),
                };
                vec![
                    decimal(&row.x),
                    certain.map_or_else(
                        || number(row.reference_value, DIGITS),
                        |text| decimal(&cut(text, DIGITS).replace('…', "")),
                    ),
                    number(row.partial_sums.last().copied(), DIGITS),
                    number(row.errors.last().copied().flatten(), DIFFERENCE_DIGITS),
                ]
            });
            Table {
                caption: Prose::words(if proved {
                    "The solution, in digits that are certain, beside "
                } else {
                    "The numerical solution (an estimate) beside "
                })
                .math(sum.clone()),
                head: vec![
                    Prose::default().math(names.variable()),
                    Prose::words(if proved { "" } else { "about " }).math(solution.clone()),
                    Prose::default().math(sum.clone()),
                    Prose::words("difference, about ").math(Formula::Bars(Box::new(Formula::row(
                        [sum, Formula::Operator(MINUS), solution],
                    )))),
                ],
                rows: rows.collect(),
            }
        })
        .filter(|table| !table.rows.is_empty())
        .collect()
}
