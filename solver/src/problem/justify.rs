//! Why there is exactly one analytic solution.
//!
//! Linear equations: existence and uniqueness of the analytic solution where the coefficients are
//! analytic (DLMF §1.13(i) and (iii) for the second order; any order: Coddington, *An Introduction
//! to Ordinary Differential Equations*, ch. 3, th. 12). Otherwise: Cauchy's theorem for an analytic
//! right-hand side (Hille, *Ordinary Differential Equations in the Complex Domain*, th. 2.2.1).
//! The locators in the two books are from memory.

use num_traits::Signed;

use super::solve::Solution;
use super::{Checked, Justification, Requirement, SolveRule};
use crate::expression::{Expr, Node};

/// Terms that multiplying out may make when a right side is tested for being linear.
const TESTED: usize = 200;

/// The reason; `checked` is what was looked at on the way, `leading_value` is not zero.
pub(super) fn justify(
    solution: &Solution,
    leading_value: Expr,
    mut checked: Vec<Checked>,
) -> Justification {
    if is_linear(solution) {
        let (left, right) = &solution.standing;
        return Justification::OrdinaryPoint {
            leading_value,
            polynomial: left.iter().chain(right).all(is_polynomial),
            checked,
        };
    }
    // What was divided by; a leading coefficient 1/u was multiplied by u, which is a divisor as typed.
    let divided = solution.steps.iter().find_map(|step| match &step.rule {
        SolveRule::DivideBy(divisor) if !divisor.is_constant() => Some(divisor),
        _ => None,
    });
    if let Some(divisor) = divided {
        let entry = Checked {
            expression: divisor.clone(),
            value: leading_value,
            requirement: Requirement::NotZero,
        };
        if !checked.contains(&entry) {
            checked.push(entry);
        }
    }
    Justification::AnalyticRightSide {
        polynomial: solution.solved.iter().all(is_polynomial),
        checked,
    }
}

/// The coefficients of the unknown and its derivatives do not contain the unknown.
pub(super) fn is_linear(solution: &Solution) -> bool {
    !solution.leading.has_derivative()
        && solution
            .solved
            .iter()
            .flat_map(|term| term.expand(TESTED).terms())
            .all(|term| {
                let factors = term.factors();
                let mut holding = factors.iter().filter(|f| f.has_derivative());
                match (holding.next(), holding.next()) {
                    (None, _) => true,
                    (Some(only), None) => matches!(only.node(), Node::Symbol(_)),
                    (Some(_), Some(_)) => false,
                }
            })
}

fn is_polynomial(expression: &Expr) -> bool {
    if expression.is_constant() {
        return true;
    }
    match expression.node() {
        Node::Number(_) | Node::Symbol(_) => true,
        Node::Call(..) => false,
        Node::Power(base, exponent) => {
            is_polynomial(base)
                && exponent
                    .as_number()
                    .is_some_and(|e| e.is_integer() && !e.is_negative())
        }
        Node::Product(parts) | Node::Sum(parts) => parts.iter().all(is_polynomial),
    }
}
