//! The numerical solution against published and independently computed values.

use super::{Reference, StopReason, solve};
use crate::budget::Budget;
use crate::expression::{Expr, Function, Node};
use crate::number::rational::{integer, ratio};
use crate::number::{Rational, decimal};
use crate::problem::{DegreeRequest, Equation, Justification, Problem, Route, Unknown};

pub(crate) fn number(value: Rational) -> Expr {
    Expr::number(value)
}

pub(crate) fn int(n: i64) -> Expr {
    number(integer(n))
}

pub(crate) fn x() -> Expr {
    Expr::variable()
}

/// The unknown's derivative of this order.
pub(crate) fn y(order: u32) -> Expr {
    Expr::derivative(0, order)
}

pub(crate) fn sum(terms: Vec<Expr>) -> Expr {
    Expr::raw(Node::Sum(terms))
}

pub(crate) fn product(factors: Vec<Expr>) -> Expr {
    Expr::raw(Node::Product(factors))
}

pub(crate) fn power(base: Expr, exponent: Rational) -> Expr {
    Expr::raw(Node::Power(base, number(exponent)))
}

pub(crate) fn call(function: Function, argument: Expr) -> Expr {
    Expr::raw(Node::Call(function, argument))
}

/// A problem solved for its highest derivative; `initial` has as many values as its order.
pub(crate) fn problem(solved: Vec<Expr>, center: Expr, initial: Vec<Expr>) -> Problem {
    let equation_order = u32::try_from(initial.len()).unwrap();
    let highest = y(equation_order);
    Problem {
        independent: "x".to_owned(),
        unknowns: vec![Unknown {
            name: "y".to_owned(),
            equation_order,
        }],
        center,
        initial: vec![initial],
        equations: vec![Equation {
            given: (vec![highest.clone()], solved.clone()),
            unknown: 0,
            standing: (vec![highest], solved.clone()),
            leading: int(1),
            solved,
            steps: Vec::new(),
            standing_steps: 0,
            default_route: Route::Solved,
            justification: Justification::AnalyticRightSide {
                polynomial: true,
                checked: Vec::new(),
            },
        }],
        degree: DegreeRequest::Degree(8),
    }
}

/// Solves with nine coefficients (their values do not matter here).
fn solved(problem: &Problem, interval: Option<(Expr, Expr)>, at: &[Expr]) -> Reference {
    let coefficients = vec![int(0); 9];
    let mut always = |_: u32| true;
    solve(
        problem,
        interval,
        at,
        &coefficients,
        &Budget::PAGE,
        &mut always,
    )
}

/// Significant digits of `shown` that are right, its last place counted as right when off by one.
fn right_digits(shown: &str, exact: &str) -> f64 {
    let shown = decimal::parse(shown).unwrap();
    let exact = decimal::parse(exact).unwrap();
    let error = super::approximate(&((&shown - &exact) / &exact)).abs();
    if error > 0.0 { -error.log10() } else { 40.0 }
}

fn airy() -> Problem {
    // Ai: DLMF 9.2.3 and 9.2.4, Ai(0) = 3^(−2/3)/Γ(2/3), Ai′(0) = −3^(−1/3)/Γ(1/3); decimals
    // computed with mpmath at 40 digits.
    let value = decimal::parse("0.3550280538878172392600631860041831763979").unwrap();
    let slope = decimal::parse("-0.2588194037928067984051835601892039634793").unwrap();
    problem(
        vec![product(vec![x(), y(0)])],
        int(0),
        vec![number(value), number(slope)],
    )
}

fn pendulum() -> Problem {
    problem(
        vec![product(vec![int(-1), call(Function::Sin, y(0))])],
        int(0),
        vec![int(1), int(0)],
    )
}

fn riccati() -> Problem {
    problem(
        vec![power(x(), integer(2)), power(y(0), integer(2))],
        int(0),
        vec![int(0)],
    )
}

fn tangent() -> Problem {
    problem(vec![power(y(0), integer(2)), int(1)], int(0), vec![int(0)])
}
