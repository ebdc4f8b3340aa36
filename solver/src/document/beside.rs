//! The rows of what is set beside the problem: its data, and its polynomial.

use super::build;
use super::closing;
use super::formula::Formula;
use super::ledger::{LedgerRow, Line, Prose};
use super::names::Names;
use super::opening::{self, plain_row};
use super::strip;
use crate::check::{Agreement, Entry, factorial};
use crate::expression::Expr;
use crate::number::Rational;
use crate::problem::{OrderByOrder, Problem};

/// Where the data come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Origin {
    /// They were given.
    Given,
    /// Values of the first polynomial, which solves the equation.
    Exact {
        /// Its degree.
        degree: usize,
    },
    /// Values of the first polynomial, which is near the solution.
    Estimate {
        /// Its degree.
        degree: usize,
    },
}

/// The row of the `number`-th problem (the first one stands in the ledger, so from 2).
pub fn row(
    number: usize,
    problem: &Problem,
    coefficients: &[Expr],
    origin: Origin,
    decimal: &dyn Fn(&Expr) -> Option<String>,
) -> LedgerRow {
    let names = Names::of(problem);
    let center = build::formula(&problem.center, &names);
    let place = || opening::at_center(&names, &center);
    let entries: Vec<Entry> = coefficients
        .iter()
        .enumerate()
        .map(|(order, coefficient)| Entry {
            order,
            value: coefficient.scale(&Rational::from_integer(factorial(order))),
            coefficient: coefficient.clone(),
            agreement: Agreement::OneRoute,
            other: None,
        })
        .collect();
    // Where all values have been found line by line, those tell that a reader would give.
    let order = problem.unknowns.first().map_or(0, |u| u.equation_order) as usize;
    let stated = match problem.order_by_order() {
        Some(OrderByOrder::NotLinear) => order + 1,
        _ => order,
    };
    let values = problem
        .initial
        .iter()
        .flatten()
        .take(stated)
        .zip(0..)
        .map(|(value, order)| {
            Formula::equation(
                Formula::value_at(names.derivative(0, order), center.clone()),
                build::formula(value, &names),
            )
        });
    let (reason, words) = match origin {
        Origin::Given => (
            Prose::words(format!("Beside it, {number}: other initial values")),
            Prose::words("The same equation with ")
                .list(values)
                .text("."),
        ),
        Origin::Exact { degree } | Origin::Estimate { degree } => {
            let first = closing::partial_sum(0, degree, &names);
            let from = Prose::words("The values of ")
                .math(first.clone())
                .text(" and its derivatives at ")
                .math(place())
                .text(" become the new initial values: ")
                .list(values);
            (
                Prose::words(format!("Beside it, {number}: recentered at ")).math(place()),
                if matches!(origin, Origin::Exact { .. }) {
                    from.text(". They are exact: ")
                        .math(first)
                        .text(" satisfies the equation.")
                } else {
                    from.text(". **An estimate**: these are values of ")
                        .math(first)
                        .text(", not of the solution.")
                },
            )
        }
    };
    let degree = coefficients.len().saturating_sub(1);
    let terms = strip::terms(&entries, &problem.center, &names, decimal);
    let simplified = terms.into_iter().filter_map(|term| term.simplified);
    let lines = vec![
        Line::Text(words),
        closing::sum_line("", closing::named(0, degree, &names), simplified),
    ];
    plain_row(format!("beside-{number}"), reason, lines)
}
