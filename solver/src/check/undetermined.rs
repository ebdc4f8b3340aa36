//! The second way to the values where the work goes order by order: undetermined coefficients.
//!
//! The polynomial found so far and an unknown multiple of the next power are put into the equation;
//! the coefficient of the power that decides is linear in the unknown, and so known from its values
//! at 0 and 1. Nothing is differentiated: series arithmetic expands what arises.

use num_traits::ToPrimitive;

use super::{difference, expansion, factorial};
use crate::budget::Budget;
use crate::derivation::EveryOrder;
use crate::expression::{Expr, Node, Truth, evaluate, factored, zero_test};
use crate::number::Rational;
use crate::problem::Problem;

/// Into so many parts the budget is divided, for up to twice as many expansions as there are orders.
const SHARES: u64 = 40;

/// A polynomial of degree n costs n² for each factor it is put in for; no more than this is done.
const MOST_WORK: usize = 350_000;

/// A coefficient with more nodes than this is read by nobody, and the next ones would be far longer.
const LARGEST_KEPT: usize = 1_000;

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
    // Each order is expanded twice, on its own: what one may take is a part of the whole.
    let budget = &Budget {
        steps: budget.steps / SHARES,
        ..*budget
    };
    let mut found: Vec<Option<Expr>> = Vec::new();
    let mut polynomial: Vec<Expr> = Vec::new();
    let equation = problem.equations.first().map(|equation| &equation.given);
    let terms = equation
        .into_iter()
        .flat_map(|(left, right)| left.iter().chain(right));
    let factors = terms.map(count_factors).fold(0, usize::saturating_add);
    let mut work = 0_usize;
    let mut first = None;
    for order in 0..=degree {
        work = work.saturating_add(factors.saturating_mul(order * order));
        if work > MOST_WORK {
            return found;
        }
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
        // Over one divisor: otherwise what is built on it would grow with each order.
        let read = |value: &Expr| factored(value, &|name| problem.is_initial_letter(name));
        let next = with(Expr::zero()).and_then(|at_zero| {
            let slope = evaluate(&with(Expr::one())?.sub(&at_zero)).ok()?;
            let slope = match &first {
                Some(first) => multiple(first, slope, order, problem),
                None => slope,
            };
            if zero_test(&slope) != Truth::NotZero {
                return None;
            }
            let next = read(&evaluate(&at_zero.neg().div(&slope)).ok()?);
            first.get_or_insert((order, slope));
            Some(next)
        });
        let Some(next) = next.filter(|next| next.size() <= LARGEST_KEPT) else {
            return found;
        };
        polynomial.push(next.clone());
        found.push(Some(next));
    }
    found
}

/// What the next coefficient is multiplied by: about ordinary data it is n!/(n − m)! times
/// ∂F/∂y⁽ᵐ⁾, at each order n the same in that. Where that can be seen it is written as at the first
/// order, in which no divisors of the coefficients stand.
fn multiple((at, first): &(usize, Expr), own: Expr, order: usize, problem: &Problem) -> Expr {
    if own.as_number().is_some() {
        return own;
    }
    let highest = problem.unknowns.first().map_or(0, |u| u.equation_order) as usize;
    let falling = |n: usize| factorial(n) / factorial(n.saturating_sub(highest));
    let same = first.scale(&Rational::new(falling(order), falling(*at)));
    match zero_test(&own.sub(&same)) {
        Truth::Zero => same,
        Truth::NotZero | Truth::Undecided => own,
    }
}

/// Factors of all terms, powers written out.
fn count_factors(term: &Expr) -> usize {
    match term.node() {
        Node::Power(base, exponent) => {
            let times = exponent
                .as_number()
                .and_then(|value| value.numer().to_usize());
            count_factors(base).saturating_mul(times.unwrap_or(2))
        }
        _ => term
            .children()
            .into_iter()
            .fold(1, |sum, part| sum.saturating_add(count_factors(part))),
    }
}

/// The coefficient of this power of (x − center) in left side minus right side.
fn power(problem: &Problem, polynomial: Vec<Expr>, power: usize, budget: &Budget) -> Option<Expr> {
    let terms = difference(problem, 0, &[polynomial])?;
    let found = expansion(problem, terms, power + 1, budget);
    found.get(power).cloned()
}
