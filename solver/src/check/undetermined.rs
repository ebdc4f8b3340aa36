//! The second way to the values where the work goes order by order: undetermined coefficients.
//!
//! The polynomial found so far and an unknown multiple of the next power are put into the equation;
//! the coefficient of the power that decides is linear in the unknown, and so known from its values
//! at 0 and 1. Nothing is differentiated: series arithmetic expands what arises.

use super::{difference, expansion};
use crate::budget::Budget;
use crate::derivation::EveryOrder;
use crate::expression::{Expr, Truth, evaluate, zero_test};
use crate::problem::Problem;

/// Coefficients of degree 0 to `degree`; `None` for those that are not found in this way, because
/// the conditions give them or several orders are decided together (`known` has them), and from
/// the first on that cannot be had within the budget.
pub fn undetermined(
    problem: &Problem,
    known: &[Expr],
    every: &EveryOrder,
    degree: usize,
    budget: &Budget,
) -> Vec<Option<Expr>> {
    let mut found: Vec<Option<Expr>> = Vec::new();
    let mut polynomial: Vec<Expr> = Vec::new();
    for order in 0..=degree {
        let Some(line) = every.line_for(order) else {
            let Some(value) = known.get(order) else {
                return found;
            };
            polynomial.push(value.clone());
            found.push(None);
            continue;
        };
        let with = |next: Expr| {
            let mut all = polynomial.clone();
            all.push(next);
            power(problem, all, line, budget)
        };
        let next = with(Expr::zero()).and_then(|at_zero| {
            let slope = evaluate(&with(Expr::one())?.sub(&at_zero)).ok()?;
            if zero_test(&slope) != Truth::NotZero {
                return None;
            }
            evaluate(&at_zero.neg().div(&slope)).ok()
        });
        let Some(next) = next else {
            return found;
        };
        polynomial.push(next.clone());
        found.push(Some(next));
    }
    found
}

/// The coefficient of this power of (x − center) in left side minus right side.
fn power(problem: &Problem, polynomial: Vec<Expr>, power: usize, budget: &Budget) -> Option<Expr> {
    let terms = difference(problem, 0, &[polynomial])?;
    let found = expansion(problem, terms, power + 1, budget);
    found.get(power).cloned()
}
