//! The whole document of a problem.

use super::build;
use super::candidate;
use super::closing;
use super::formula::Formula;
use super::general;
use super::ledger::Document;
use super::names::Names;
use super::opening;
use super::rows::{Orders, count_terms, is_long};
use super::steps;
use super::strip;
use crate::budget::Budget;
use crate::candidate::Candidate;
use crate::check::{Entry, Residual};
use crate::derivation::{Derivation, EveryOrder, Row, RowKind, StopReason};
use crate::expression::Expr;
use crate::problem::Problem;

/// What the document is made from.
#[derive(Clone, Copy, Debug)]
pub struct Sources<'a> {
    /// The problem.
    pub problem: &'a Problem,
    /// The equation as typed.
    pub equations: &'a [Formula],
    /// The conditions as typed.
    pub conditions: &'a [Formula],
    /// The rows.
    pub derivation: &'a Derivation,
    /// Values and coefficients for each unknown.
    pub table: &'a [Vec<Entry>],
    /// The check by substitution.
    pub residual: Option<&'a Residual>,
    /// The test of a formula.
    pub candidate: Option<&'a Candidate>,
    /// Order by order: what all later lines demand.
    pub every_order: Option<&'a EveryOrder>,
    /// Degrees whose exact coefficients are too long, with estimates of these.
    pub beyond: &'a [(usize, String)],
}

/// Order by order there may be no answer, only the line that shows why.
fn has_no_answer(derivation: &Derivation) -> bool {
    derivation.rows.last().is_some_and(|row| {
        matches!(
            row.kind,
            RowKind::Stopped {
                reason: StopReason::Demand(_),
                ..
            }
        )
    })
}

/// Builds the ledger and the polynomial strip. `decimal` gives a closed constant's decimal digits.
pub fn document(
    sources: Sources<'_>,
    budget: &Budget,
    decimal: &dyn Fn(&Expr) -> Option<String>,
) -> Document {
    let Sources {
        problem,
        equations,
        conditions,
        derivation,
        table,
        residual,
        candidate,
        every_order,
        beyond,
    } = sources;
    let names = Names::of(problem);
    let center = build::formula(&problem.center, &names);
    let mut document = Document::default();
    for (unknown, equation) in problem.equations.iter().enumerate() {
        let Some(entries) = table.get(unknown) else {
            continue;
        };
        let degree = entries.len().saturating_sub(1);
        let rows = &mut document.rows;
        rows.push(opening::given(
            problem,
            equation,
            (equations, conditions),
            derivation.route,
            &names,
        ));
        rows.push(opening::assumption(problem, equation, &names, &center));
        let ended = has_no_answer(derivation);
        if !ended {
            rows.push(opening::taylor_formula(
                problem, unknown, degree, &names, &center,
            ));
        }
        rows.extend(opening::solving(
            problem,
            equation,
            &names,
            &center,
            derivation.route,
        ));
        let mut orders = Orders::new(problem, &names, &center, table, derivation, budget);
        let worked: Vec<&Row> = derivation
            .rows
            .iter()
            .filter(|row| row.unknown == unknown)
            .collect();
        if ended {
            rows.extend(worked.into_iter().map(|row| orders.row(row)));
            continue;
        }
        let reached = worked.last().map_or(0, |row| row.order + 1);
        rows.extend(
            worked
                .into_iter()
                .filter(|row| row.order <= degree)
                .map(|row| orders.row(row)),
        );
        // Where differentiation stopped and series arithmetic went on.
        rows.extend(entries.iter().skip(reached).map(|entry| {
            orders.row(&Row {
                unknown,
                order: entry.order,
                kind: RowKind::SeriesOnly,
                value: Some(entry.value.clone()),
            })
        }));
        if problem.order_by_order().is_some() {
            rows.push(steps::later(problem, every_order, &names, &center));
        }
        document.strip = strip::terms(entries, &problem.center, &names, decimal);
        document.strip_lead = Some(closing::named(degree, &names));
        let mut polynomial = closing::polynomial(degree, &document.strip, &names);
        let mut general = general::row(problem, equation, entries, &names);
        let long: Vec<&Entry> = entries.iter().filter(|e| is_long(&e.value)).collect();
        if !long.is_empty() {
            let terms = long.iter().map(|e| count_terms(&e.value)).sum();
            polynomial.folded = Some(terms);
            if let Some(row) = &mut general {
                row.folded = Some(terms);
            }
        }
        document.rows.push(polynomial);
        document.rows.extend(general);
        if !beyond.is_empty() {
            let row = closing::beyond(unknown, beyond, &names, &center);
            document.rows.push(row);
        }
        document.rows.push(match residual {
            Some(residual) => closing::residual(problem, equation, degree, residual, &names),
            None => closing::no_residual(),
        });
    }
    if let Some(candidate) = candidate {
        let row = candidate::row(candidate, problem, &names, &center);
        document.rows.push(row);
    }
    document
}
