//! Series without negative coefficients.
//!
//! When the right side of y⁽ᵐ⁾ = f has a Taylor series in t (counted from the center) and y, y′, … that
//! has no negative coefficient, and no initial value is negative, no coefficient of the solution is:
//! each is made of earlier ones by sums and products. By Pringsheim's theorem (Titchmarsh, *The Theory of
//! Functions*, 7.21; locator from memory) the point of the circle of convergence on the positive axis is
//! singular: the first singularity that is met on the way to the right is the nearest of all. Reflections
//! (−t for t, −y for y) are tried, too.

use num_traits::{Signed, Zero};

use super::Side;
use crate::expression::{Expr, Function, Node, Symbol, sign};
use crate::number::Rational;
use crate::number::rational::integer;
use crate::problem::Problem;

const TERMS: usize = 500;

/// The side on which the nearest singularity must be (if there is one at all).
pub(super) fn side(problem: &Problem) -> Option<Side> {
    let moved: Vec<Expr> = problem
        .equations
        .iter()
        .map(|equation| {
            let right = Expr::sum(equation.solved.clone());
            let right = right.substitute(&|symbol| match symbol {
                Symbol::Variable => Some(Expr::variable().add(&problem.center)),
                Symbol::Derivative { .. } | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => {
                    None
                }
            });
            right.expand(TERMS)
        })
        .collect();
    for (side, back) in [(Side::Right, false), (Side::Left, true)] {
        for down in [false, true] {
            if holds(problem, &moved, back, down) {
                return Some(side);
            }
        }
    }
    None
}

/// With −t for t (`back`) and −y for y (`down`).
fn holds(problem: &Problem, right: &[Expr], back: bool, down: bool) -> bool {
    let turned = |order: u32| (back && order % 2 == 1) != down;
    let signed = |e: &Expr, minus: bool| if minus { e.neg() } else { e.clone() };
    let initial = problem.initial.iter().all(|values| {
        (0_u32..).zip(values).all(|(order, value)| {
            matches!(
                sign(&signed(value, turned(order))),
                Some(std::cmp::Ordering::Equal | std::cmp::Ordering::Greater)
            )
        })
    });
    initial
        && right.iter().zip(&problem.unknowns).all(|(right, unknown)| {
            let put = right.substitute(&|symbol| match symbol {
                Symbol::Variable if back => Some(Expr::variable().neg()),
                Symbol::Derivative { order, .. } if turned(*order) => {
                    Some(Expr::raw(Node::Symbol(symbol.clone())).neg())
                }
                _ => None,
            });
            none_negative(&signed(&put.expand(TERMS), turned(unknown.equation_order)))
        })
}

/// Surely a series without negative coefficients.
fn none_negative(e: &Expr) -> bool {
    match e.node() {
        Node::Number(value) => !value.is_negative(),
        Node::Symbol(Symbol::Root(_)) => positive(e),
        Node::Symbol(symbol) => !matches!(symbol, Symbol::Parameter(_)),
        Node::Call(function, argument) => {
            e.is_constant() && positive(e)
                || matches!(function, Function::Exp | Function::Sinh | Function::Cosh)
                    && none_negative(argument)
        }
        Node::Power(base, exponent) => {
            e.is_constant() && positive(e)
                || exponent
                    .as_number()
                    .is_some_and(|n| n.is_integer() && *n > Rational::zero() && *n < integer(64))
                    && none_negative(base)
        }
        Node::Product(parts) | Node::Sum(parts) => parts.iter().all(none_negative),
    }
}

fn positive(e: &Expr) -> bool {
    sign(e) == Some(std::cmp::Ordering::Greater)
}
