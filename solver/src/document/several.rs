//! What is particular to systems: why the unknowns take turns, the rows that are shown, the
//! existence theorem for several equations.

use super::formula::Formula;
use super::ledger::{LedgerRow, Line, Prose};
use super::names::Names;
use super::opening::{self, plain_row};
use crate::derivation::{Derivation, Row, RowKind};
use crate::expression::{Expr, Node, Symbol};
use crate::problem::{Equation, Justification, Problem, Route};

/// The rows up to the degree, and those beyond it whose values they need (the highest derivative
/// of one unknown may need a higher one of another).
pub(super) fn shown(derivation: &Derivation, degree: usize) -> Vec<&Row> {
    let mut rows = Vec::new();
    // From the end: what is needed is needed further down.
    for row in derivation.rows.iter().rev() {
        let needed = |later: &&Row| match &later.kind {
            RowKind::Worked { left, right, .. } | RowKind::Stopped { left, right, .. } => {
                let terms = left.combined.iter().chain(&right.combined);
                let symbol = Symbol::Derivative {
                    unknown: row.unknown,
                    order: u32::try_from(row.order).unwrap_or(u32::MAX),
                };
                terms
                    .map(|term| &term.expression)
                    .any(|term| term.contains(&symbol))
            }
            RowKind::Initial
            | RowKind::SeriesOnly
            | RowKind::Chosen { .. }
            | RowKind::Holds { .. } => false,
        };
        if row.order <= degree || rows.iter().any(needed) {
            rows.push(row);
        }
    }
    rows.reverse();
    rows
}

/// The unknowns that stand in the equation of one of them, by index.
pub(super) fn occurring(problem: &Problem, unknown: usize) -> Vec<usize> {
    let Some(equation) = problem.equations.get(unknown) else {
        return Vec::new();
    };
    let (left, right) = &equation.given;
    let terms = || left.iter().chain(right);
    (0..problem.unknowns.len())
        .filter(|own| terms().any(|term| holds(term, *own)))
        .collect()
}

fn holds(expression: &Expr, unknown: usize) -> bool {
    let mut waiting = vec![expression];
    while let Some(part) = waiting.pop() {
        if let Node::Symbol(Symbol::Derivative { unknown: own, .. }) = part.node()
            && *own == unknown
        {
            return true;
        }
        waiting.extend(part.children());
    }
    false
}

/// The order of the work: which values each new derivative needs, and why they are known by then.
/// None for one equation.
pub(super) fn taking_turns(
    problem: &Problem,
    derivation: &Derivation,
    names: &Names,
) -> Option<LedgerRow> {
    if problem.equations.len() < 2 {
        return None;
    }
    let variable = names.variable();
    let mut text = Prose::default();
    for (position, equation) in problem.equations.iter().enumerate() {
        let standing = || {
            let (left, right) = &equation.standing;
            left.iter().chain(right).cloned().collect()
        };
        let terms: Vec<Expr> = match derivation.route {
            Route::Solved => equation.solved.clone(),
            Route::Standing => standing(),
        };
        let own = opening::highest(problem, equation, names);
        let needs: Vec<Formula> = opening::letters(&terms, names)
            .into_iter()
            .filter(|letter| *letter != variable && *letter != own)
            .collect();
        let between = if position == 0 { "" } else { "; " };
        text = text.text(between).math(own);
        text = if needs.is_empty() {
            text.text(" needs no value of the unknowns")
        } else {
            text.text(" needs ").list(needs)
        };
    }
    let round = |extra: usize| {
        problem
            .unknowns
            .iter()
            .enumerate()
            .map(move |(unknown, own)| {
                names.derivative(unknown, own.equation_order as usize + extra)
            })
    };
    let text = text
        .text(". So the equations take turns: the initial values give ")
        .list(round(0))
        .text("; each equation differentiated once gives ")
        .list(round(1))
        .text(" from these, and so on. Every line needs only values that stand above it.");
    Some(plain_row(
        "turns",
        Prose::words("Which value comes next"),
        vec![Line::Text(text)],
    ))
}

/// `For u″: differentiate both sides …`: whose value or equation a reason is about.
pub(super) fn about(subject: Formula, mut reason: Prose) -> Prose {
    let mut letters = reason.markdown.chars();
    if let Some(first) = letters.next() {
        reason.markdown = first.to_lowercase().chain(letters).collect();
    }
    Prose::words("For ").math(subject).text(": ").prose(reason)
}

/// Why there is exactly one analytic solution of a system.
///
/// Linear with analytic coefficients: Coddington & Levinson, *Theory of Ordinary Differential
/// Equations*, ch. 3, or Hille, *Ordinary Differential Equations in the Complex Domain*, ch. 2,
/// which has Cauchy's theorem for systems as well (locators from memory).
pub(super) fn assumption(problem: &Problem, names: &Names, place: Formula, start: Prose) -> Prose {
    let is_linear =
        |equation: &Equation| matches!(equation.justification, Justification::OrdinaryPoint { .. });
    let linear = problem.equations.iter().all(is_linear);
    let mut checked = Vec::new();
    let mut polynomial = true;
    let mut text = start;
    for equation in &problem.equations {
        let (own, whole) = match &equation.justification {
            Justification::OrdinaryPoint {
                checked,
                polynomial,
                leading_value,
            } => {
                if !equation.leading.is_constant() {
                    text = text
                        .text("The coefficient of ")
                        .math(opening::highest(problem, equation, names))
                        .text(", which is ")
                        .math(super::build::formula(&equation.leading, names))
                        .text(", has the value ")
                        .math(super::build::formula(leading_value, names))
                        .text(if leading_value.has_parameter() {
                            " there. "
                        } else {
                            " there, not zero. "
                        });
                }
                (checked, *polynomial)
            }
            Justification::AnalyticRightSide {
                checked,
                polynomial,
            } => (checked, *polynomial),
            // Only one equation is worked out in that way.
            Justification::OrderByOrder(_) => continue,
        };
        polynomial &= whole;
        for check in own {
            if !checked.contains(check) {
                checked.push(check.clone());
            }
        }
    }
    let subject = match (linear, polynomial, checked.is_empty()) {
        (true, true, _) => "The equations are linear; their coefficients are polynomials",
        (true, false, true) => {
            "The equations are linear; their coefficients are built from functions that are analytic everywhere"
        }
        (true, false, false) => "The equations are linear; their coefficients are analytic there",
        (false, true, _) => "The right-hand sides are polynomials in ",
        (false, false, true) => {
            "The right-hand sides are built from functions that are analytic everywhere"
        }
        (false, false, false) => "The right-hand sides are analytic at the initial data",
    };
    text = text.text(subject);
    if polynomial && !linear {
        let all = problem
            .equations
            .iter()
            .flat_map(|equation| &equation.solved);
        let all: Vec<Expr> = all.cloned().collect();
        text = text.list(opening::letters(&all, names));
    }
    let before = if polynomial { "; also " } else { ": " };
    opening::checks(text, before, &checked, names)
        .prose(opening::provided(problem, names))
        .text(". So near ")
        .math(place)
        .text(if linear {
            " there is exactly one solution with these initial values, and it is analytic there (existence theorem for linear systems with analytic coefficients)."
        } else {
            " there is exactly one solution with these initial values, and it is analytic there (Cauchy's existence theorem for analytic systems)."
        })
}
