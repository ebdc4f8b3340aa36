//! The equation at a singular center as the expansion there wants it: with t for the distance and uⱼ for
//! tʲ·y⁽ʲ⁾ (see `enclosed/singular.rs`).

use super::start::Start;
use crate::budget::Budget;
use crate::enclosed::{Expansion, SingularCenter, singular_expansion};
use crate::expression::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::problem::Problem;
use crate::series::{SeriesError, Tape};

/// Products are multiplied out up to so many terms.
const MAX_TERMS: usize = 200;
/// Deepest expression that is rewritten.
const DEPTH: usize = 200;

/// H, flattened.
pub(super) struct Fuchs {
    tape: Tape,
}

impl Fuchs {
    /// `None` where the center is irrational, or the equation has no such form.
    pub(super) fn of(problem: &Problem) -> Option<Self> {
        let center = problem.center.as_number()?;
        let solved = &problem.equations.first()?.solved;
        let order = problem.unknowns.first()?.equation_order;
        let terms = solved
            .iter()
            .flat_map(|term| moved(term, center, order).terms());
        let terms: Vec<Expr> = terms.map(|term| cleared(&term, 0)).collect();
        Some(Self {
            tape: Tape::compile(&[Expr::sum(terms)], order).ok()?,
        })
    }

    /// What the walk begins with.
    pub(super) fn center<'a>(&'a self, start: &'a Start) -> SingularCenter<'a> {
        SingularCenter {
            tape: &self.tape,
            given: start.given(),
            linear: start.is_linear(),
        }
    }
}

/// The solution about a regular singular center.
pub(crate) struct RegularCenter {
    start: Start,
    fuchs: Fuchs,
}

impl RegularCenter {
    /// `None` where the series is not known to converge, or the equation has no such form.
    pub(crate) fn of(problem: &Problem, budget: &Budget) -> Option<Self> {
        Some(Self {
            start: Start::of(problem, budget)?,
            fuchs: Fuchs::of(problem)?,
        })
    }

    /// The expansion there (see [`crate::enclosed::expansion`]).
    ///
    /// # Errors
    /// As [`crate::enclosed::expansion`].
    pub(crate) fn expansion(
        &self,
        degree: usize,
        bits: usize,
        budget: &Budget,
    ) -> Result<Expansion<'_>, SeriesError> {
        singular_expansion(&self.fuchs.center(&self.start), degree, bits, budget)
    }
}

fn power_of_variable(exponent: i64) -> Expr {
    Expr::power(Expr::variable(), Expr::int(exponent))
}

/// tᵐ times a term, with c + t for x and uⱼ/tʲ for y⁽ʲ⁾.
fn moved(term: &Expr, center: &Rational, order: u32) -> Expr {
    let replaced = term.substitute(&|symbol| match symbol {
        Symbol::Variable => Some(Expr::variable().add(&Expr::number(center.clone()))),
        Symbol::Derivative { order, .. } => {
            Some(Expr::derivative(0, *order).mul(&power_of_variable(-i64::from(*order))))
        }
        _ => None,
    });
    let cleared = cleared(&replaced, 0);
    cleared
        .mul(&power_of_variable(i64::from(order)))
        .expand(MAX_TERMS)
}

/// Divisors that are polynomials in t with as many factors t outside as there are.
fn cleared(expression: &Expr, depth: usize) -> Expr {
    let part = |part: &Expr| cleared(part, depth + 1);
    if depth > DEPTH {
        return expression.clone();
    }
    match expression.node() {
        Node::Number(_) | Node::Symbol(_) => expression.clone(),
        Node::Call(function, argument) => Expr::call(*function, part(argument)),
        Node::Sum(terms) => Expr::sum(terms.iter().map(part).collect()),
        Node::Product(factors) => Expr::product(factors.iter().map(part).collect()),
        Node::Power(base, exponent) => {
            let base = part(base);
            let whole = exponent.as_number().is_some_and(Rational::is_integer);
            match base.polynomial_coefficients(&Symbol::Variable) {
                Some(coefficients) if whole && !base.has_derivative() => {
                    let zeros = coefficients.iter().take_while(|c| c.is_zero()).count();
                    let rest = coefficients.iter().zip(0..).skip(zeros);
                    let zeros = i64::try_from(zeros).unwrap_or(0);
                    let rest = rest.map(|(c, k)| c.mul(&power_of_variable(k - zeros)));
                    let outside = Expr::power(power_of_variable(zeros), exponent.clone());
                    outside.mul(&Expr::power(Expr::sum(rest.collect()), exponent.clone()))
                }
                _ => Expr::power(base, exponent.clone()),
            }
        }
    }
}
