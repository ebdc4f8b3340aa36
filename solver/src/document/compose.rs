//! The whole document of a problem.

use super::branches;
use super::build;
use super::candidate;
use super::closing;
use super::formula::Formula;
use super::general;
use super::ledger::{Document, LedgerRow, Strip};
use super::long::{count_terms, is_long};
use super::names::Names;
use super::opening;
use super::rows::Orders;
use super::several;
use super::steps;
use super::strip;
use crate::budget::Budget;
use crate::candidate::Candidate;
use crate::check::{Entry, Residual};
use crate::derivation::{Derivation, EveryOrder, Row, RowKind, StopReason};
use crate::expression::Expr;
use crate::problem::{OrderByOrder, Problem};

/// What the document is made from.
#[derive(Clone, Copy, Debug)]
pub struct Sources<'a> {
    /// The problem.
    pub problem: &'a Problem,
    /// The equations as typed.
    pub equations: &'a [Formula],
    /// The conditions as typed.
    pub conditions: &'a [Formula],
    /// The rows.
    pub derivation: &'a Derivation,
    /// Values and coefficients for each unknown.
    pub table: &'a [Vec<Entry>],
    /// The check by substitution, for each equation.
    pub residuals: &'a [Option<Residual>],
    /// The test of a formula.
    pub candidate: Option<&'a Candidate>,
    /// Order by order: what all later lines demand.
    pub every_order: Option<&'a EveryOrder>,
    /// For each unknown the degrees whose exact coefficients are too long, with estimates of these.
    pub beyond: &'a [Vec<(usize, String)>],
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

/// For each unknown the polynomial strip and the rows with the polynomial.
fn polynomials(
    sources: Sources<'_>,
    names: &Names,
    center: &Formula,
    decimal: &dyn Fn(&Expr) -> Option<String>,
    document: &mut Document,
) {
    let Sources {
        problem,
        table,
        beyond,
        ..
    } = sources;
    let degree = table.first().map_or(0, |own| own.len().saturating_sub(1));
    let mut strips = table.iter().enumerate().map(|(unknown, entries)| Strip {
        lead: Some(closing::named(unknown, degree, names)),
        terms: strip::terms(entries, &problem.center, names, decimal),
    });
    if let Some(first) = strips.next() {
        document.strip = first.terms;
        document.strip_lead = first.lead;
    }
    document.others = strips.collect();
    for ((unknown, strip), entries) in document.strips().iter().enumerate().zip(table) {
        let rows = &mut document.rows;
        let mut polynomial = closing::polynomial(unknown, degree, &strip.terms, names);
        let mut general = match problem.equations.as_slice() {
            [equation] => general::row(problem, equation, entries, names),
            _ => None,
        };
        let long: Vec<&Entry> = entries.iter().filter(|e| is_long(&e.value)).collect();
        if !long.is_empty() {
            let terms = long.iter().map(|e| count_terms(&e.value)).sum();
            polynomial.folded = Some(terms);
            if let Some(row) = &mut general {
                row.folded = Some(terms);
            }
        }
        rows.push(polynomial);
        rows.extend(general);
        if let Some(estimates) = beyond.get(unknown).filter(|own| !own.is_empty()) {
            rows.push(closing::beyond(unknown, estimates, names, center));
        }
    }
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
        residuals,
        candidate,
        every_order,
        beyond: _,
    } = sources;
    let names = Names::of(problem);
    let center = build::formula(&problem.center, &names);
    let mut document = Document::default();
    let degree = table
        .first()
        .map_or(0, |entries| entries.len().saturating_sub(1));
    if table.is_empty() {
        return document;
    }
    let rows = &mut document.rows;
    rows.push(opening::given(
        problem,
        (equations, conditions),
        derivation.route,
        &names,
    ));
    let solving = problem.equations.iter().flat_map(|equation| {
        opening::solving(problem, equation, &names, &center, derivation.route)
    });
    let mut solving: Vec<LedgerRow> = solving.collect();
    // What the work order by order rests on is said of the form that is differentiated.
    if problem.order_by_order().is_some() {
        rows.append(&mut solving);
    }
    rows.push(opening::assumption(problem, &names, &center));
    if problem.order_by_order() == Some(OrderByOrder::NotLinear) {
        rows.extend(branches::row(problem, derivation, &names, &center));
    }
    let ended = has_no_answer(derivation);
    if !ended {
        rows.push(opening::taylor_formula(problem, degree, &names, &center));
    }
    rows.append(&mut solving);
    rows.extend(several::taking_turns(problem, derivation, &names));
    let mut orders = Orders::new(problem, &names, &center, table, derivation, budget);
    if ended {
        rows.extend(derivation.rows.iter().map(|row| orders.row(row)));
        return document;
    }
    rows.extend(
        several::shown(derivation, degree)
            .into_iter()
            .map(|row| orders.row(row)),
    );
    // Where differentiation stopped and series arithmetic went on.
    let mut left: Vec<(usize, usize, &Entry)> = Vec::new();
    for (unknown, entries) in table.iter().enumerate() {
        let mut own = derivation.rows.iter().rev();
        let last = own.find(|row| row.unknown == unknown);
        let reached = last.map_or(0, |row| row.order + 1);
        let beyond = entries.iter().skip(reached);
        left.extend(beyond.map(|entry| (entry.order, unknown, entry)));
    }
    crate::sorting::sort_by_key(&mut left, |(order, unknown, _)| (*order, *unknown));
    rows.extend(left.into_iter().map(|(order, unknown, entry)| {
        orders.row(&Row {
            unknown,
            order,
            kind: RowKind::SeriesOnly,
            value: Some(entry.value.clone()),
        })
    }));
    if problem.order_by_order().is_some() {
        rows.push(steps::later(problem, every_order, &names, &center));
    }
    polynomials(sources, &names, &center, decimal, &mut document);
    for (unknown, residual) in residuals.iter().enumerate() {
        document.rows.push(match residual {
            Some(residual) => closing::residual(problem, unknown, degree, residual, &names),
            None => closing::no_residual(unknown, &names),
        });
    }
    if let Some(candidate) = candidate {
        let row = candidate::row(candidate, problem, &names, &center);
        document.rows.push(row);
    }
    document
}
