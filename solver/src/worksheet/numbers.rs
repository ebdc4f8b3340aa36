//! Numbers for the letters of a problem: what the numerical solution and the plot are made for.

use std::cmp::Ordering;

use super::points;
use crate::budget::Budget;
use crate::diagnostic::Diagnostic;
use crate::expression::{Expr, Symbol, Truth, evaluate, sign, zero_test};
use crate::problem::{Checked, Problem, Requirement};
use crate::span::{Field, Span};

/// A letter and its number.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Number {
    /// The letter, as typed.
    pub name: String,
    /// The number as typed, or as chosen.
    pub text: String,
    /// The number.
    pub value: Expr,
    /// Must it be positive?
    pub positive: bool,
}

/// Numbers tried for letters that have none, in this order.
const USUAL: [&str; 6] = ["1", "2", "1/2", "3", "-1", "1/4"];

/// The number of each letter: the typed one, or one that keeps the side conditions. `typed` holds
/// names and texts; empty texts count as not typed.
///
/// Numbers that cannot be read or break a condition come with a notice: the ledger does not need
/// them. Then there is nothing to draw (`None`).
pub(super) fn chosen(
    problem: &Problem,
    typed: &[(String, String)],
    budget: &Budget,
) -> (Option<Vec<Number>>, Vec<Diagnostic>) {
    let mut notices = Vec::new();
    let mut fixed: Vec<Option<(String, Expr)>> = Vec::new();
    for parameter in &problem.parameters {
        let text = typed
            .iter()
            .find(|(name, text)| *name == parameter.name && !text.trim().is_empty())
            .map(|(_, text)| text.trim().to_owned());
        fixed.push(match text {
            None => None,
            Some(text) => match points::value(&text, Field::Parameters, budget) {
                Ok(value) => Some((text, value)),
                Err(error) => {
                    notices.push(notice(format!("{}: {}", parameter.name, error.message)));
                    return (None, notices);
                }
            },
        });
    }
    // One more letter takes its next number in each round: as far as the list reaches for two. A
    // solution that stands still shows nothing: the last letters change, too, before it is taken.
    let rounds = USUAL.len() * USUAL.len();
    let last = problem.parameters.len().saturating_sub(2);
    for round in 0..3 * rounds {
        let mut left = round % rounds;
        let from = if round / rounds == 1 { last } else { 0 };
        let candidate: Option<Vec<Number>> = problem
            .parameters
            .iter()
            .zip(&fixed)
            .enumerate()
            .map(|(place, (parameter, fixed))| {
                let (text, value) = if let Some(fixed) = fixed {
                    fixed.clone()
                } else {
                    let mut text = *USUAL.first()?;
                    if place >= from {
                        text = *USUAL.get(left % USUAL.len())?;
                        left /= USUAL.len();
                    }
                    let value = points::value(text, Field::Parameters, budget).ok()?;
                    (text.to_owned(), value)
                };
                Some(Number {
                    positive: problem.side_conditions.iter().any(|condition| {
                        condition.requirement == Requirement::Positive
                            && condition.value == Expr::parameter(&parameter.name)
                    }),
                    name: parameter.name.clone(),
                    text,
                    value,
                })
            })
            .collect();
        if let Some(numbers) = candidate
            && keeps(&problem.side_conditions, &pairs(&numbers))
            && (round >= 2 * rounds || !stands_still(problem, &pairs(&numbers)))
        {
            return (Some(numbers), notices);
        }
    }
    notices.push(notice(
        "These numbers for the letters do not keep the conditions that the work rests on, so there is nothing to draw. Choose others.".to_owned(),
    ));
    (None, notices)
}

fn notice(message: String) -> Diagnostic {
    Diagnostic::notice(
        "parameter-value",
        Field::Parameters,
        Span::new(0, 0),
        message,
    )
}

/// Names and values.
pub(super) fn pairs(numbers: &[Number]) -> Vec<(String, Expr)> {
    numbers
        .iter()
        .map(|number| (number.name.clone(), number.value.clone()))
        .collect()
}

/// Is the derivative of every unknown zero at the data, for equations of first order?
fn stands_still(problem: &Problem, numbers: &[(String, Expr)]) -> bool {
    let data = |symbol: &Symbol| match symbol {
        Symbol::Variable => Some(problem.center.clone()),
        Symbol::Derivative { unknown, order: 0 } => problem.initial.get(*unknown)?.first().cloned(),
        Symbol::Derivative { .. } | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
    };
    problem
        .unknowns
        .iter()
        .all(|unknown| unknown.equation_order == 1)
        && problem.equations.iter().all(|equation| {
            let right = Expr::sum(equation.solved.clone()).substitute(&data);
            evaluate(&right.with_numbers(numbers)).is_ok_and(|value| value.is_zero())
        })
}

/// Do all conditions hold for these numbers?
fn keeps(conditions: &[Checked], numbers: &[(String, Expr)]) -> bool {
    conditions.iter().all(|condition| {
        let Ok(value) = evaluate(&condition.value.with_numbers(numbers)) else {
            return false;
        };
        let above = |value: &Expr| sign(value) == Some(Ordering::Greater);
        match condition.requirement {
            Requirement::NotZero
            | Requirement::NotZeroInBars
            | Requirement::NotZeroUnderOddRoot
            | Requirement::NotAPole => zero_test(&value) == Truth::NotZero,
            Requirement::Positive => above(&value),
            Requirement::InsideUnitInterval => {
                above(&Expr::one().sub(&value)) && above(&Expr::one().add(&value))
            }
            Requirement::GreaterThanOne => above(&value.sub(&Expr::one())),
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn taken(equation: &str, conditions: &str) -> String {
        let (problem, said) = crate::problem::understand(equation, conditions, "3", &Budget::PAGE);
        let problem = problem.unwrap_or_else(|| panic!("{equation}: {said:?}"));
        let (numbers, _) = chosen(&problem, &[], &Budget::PAGE);
        let numbers = numbers.expect("numbers").into_iter();
        let texts: Vec<String> = numbers.map(|n| format!("{}={}", n.name, n.text)).collect();
        texts.join(" ")
    }

    #[test]
    fn the_first_picture_shows_a_solution_that_moves() {
        assert_eq!(taken("y' = a y", "y(0) = b"), "a=1 b=1");
        // With K = P₀ the population would stay as it is.
        assert_eq!(taken("P' = r P (1 - P/K)", "P(0) = P_0"), "r=1 K=2 P_0=1");
        // Only other initial values move it.
        assert_eq!(
            taken("u' = a u (1 - v); v' = b v (u - 1)", "u(0) = p, v(0) = q"),
            "a=1 b=1 p=2 q=1"
        );
        // Whatever the numbers are, it stands still.
        assert_eq!(taken("y' = k (y - m)", "y(0) = m"), "k=1 m=1");
    }
}
