//! Checks between the stages: the two routes against each other, the polynomial against the
//! equation.

use crate::budget::{Budget, Fuel};
use crate::expression::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::number::rational::integer;
use crate::problem::Problem;
use crate::series::{Coefficient, Solver, Tape};

/// A coefficient and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Degree.
    pub order: usize,
    /// y⁽ⁿ⁾ at the centre.
    pub value: Expr,
    /// value / n!.
    pub coefficient: Expr,
    /// Do differentiation and series arithmetic agree? `None`: only one of them reached here.
    pub agreed: Option<bool>,
}

/// The polynomial put back into the equation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Residual {
    /// Power of (x − centre) of the first term that remains; `None`: nothing remains as far as computed.
    pub power: Option<usize>,
    /// Its coefficient.
    pub coefficient: Option<Expr>,
    /// The lowest power it could have had: degree − equation order + 1.
    pub expected: usize,
    /// Powers up to this one were computed.
    pub computed: usize,
}

/// Powers beyond the first possible one that are looked at before saying that nothing remains.
const POWERS_BEYOND: usize = 8;

/// Puts the polynomial with these coefficients into the equation and finds the first power of
/// (x − center) in left side minus right side that does not cancel. The derivation is not used:
/// the polynomial is substituted for the unknown, and the series of what arises, an expression in
/// the independent variable alone, is computed as that of an antiderivative's derivative.
///
/// `to_expression` turns a computed coefficient back into a closed constant.
///
/// `None` when the series cannot be computed with this kind of coefficient or within the budget.
pub fn residual<C: Coefficient>(
    problem: &Problem,
    coefficients: &[Expr],
    budget: &Budget,
    context: &C::Context,
    to_expression: &dyn Fn(&C) -> Expr,
) -> Option<Residual> {
    let equation = problem.equations.first()?;
    let order = problem.unknowns.get(equation.unknown)?.equation_order as usize;
    let expected = coefficients.len().saturating_sub(order);
    let computed = expected + POWERS_BEYOND;

    let derivatives = derivatives_as_polynomials(coefficients, &problem.center, order);
    let (left, right) = &equation.given;
    let terms: Option<Vec<Expr>> = left
        .iter()
        .map(|term| put_in(term, &derivatives, equation.unknown))
        .chain(right.iter().map(|term| {
            put_in(term, &derivatives, equation.unknown)
                .map(|t| Expr::raw(Node::Product(vec![Expr::number(integer(-1)), t])))
        }))
        .collect();

    // u′ = left − right, u(center) = 0: the coefficients of u′ are (k + 1) u_{k+1}.
    let tape = Tape::compile(&terms?, 1).ok()?;
    let center = C::from_constant(&problem.center, context).ok()?;
    let zero = C::from_rational(&integer(0), context);
    let mut solver = Solver::new(&tape, &center, &[zero], context.clone())
        .ok()?
        .limit_bits(budget.bits);
    let mut fuel = Fuel::new(budget.steps);
    solver.extend(computed + 1, &mut fuel).ok()?;
    let found = solver
        .coefficients()
        .iter()
        .skip(1)
        .position(|c| !c.is_zero());
    let coefficient = found.and_then(|power| {
        let factor = i64::try_from(power).ok()? + 1;
        let c = solver.coefficients().get(power + 1)?;
        Some(to_expression(&c.scale(factor, 1, context)))
    });
    Some(Residual {
        power: found,
        coefficient,
        expected,
        computed,
    })
}

/// The residual in exact fractions; `None` where it does not have rational coefficients.
pub fn rational_residual(
    problem: &Problem,
    coefficients: &[Expr],
    budget: &Budget,
) -> Option<Residual> {
    let context = crate::series::rational::RationalContext { bits: budget.bits };
    residual::<Rational>(problem, coefficients, budget, &context, &|value| {
        Expr::number(value.clone())
    })
}

/// P, P′, …, P^(order) as nested expressions in (x − center) (Horner's scheme).
fn derivatives_as_polynomials(coefficients: &[Expr], center: &Expr, order: usize) -> Vec<Expr> {
    let distance = Expr::raw(Node::Sum(vec![
        Expr::variable(),
        Expr::raw(Node::Product(vec![
            Expr::number(integer(-1)),
            center.clone(),
        ])),
    ]));
    let mut derivatives = Vec::new();
    let mut current = coefficients.to_vec();
    for _ in 0..=order {
        derivatives.push(horner(&current, &distance));
        current = current
            .iter()
            .zip(0_i64..)
            .skip(1)
            .map(|(c, n)| Expr::raw(Node::Product(vec![Expr::number(integer(n)), c.clone()])))
            .collect();
    }
    derivatives
}

fn horner(coefficients: &[Expr], distance: &Expr) -> Expr {
    let mut whole: Option<Expr> = None;
    for coefficient in coefficients.iter().rev() {
        whole = Some(match whole {
            None => coefficient.clone(),
            Some(inner) => Expr::raw(Node::Sum(vec![
                Expr::raw(Node::Product(vec![distance.clone(), inner])),
                coefficient.clone(),
            ])),
        });
    }
    whole.unwrap_or_else(|| Expr::number(integer(0)))
}

/// The expression with the polynomial and its derivatives in place of the unknown and its own;
/// `None` for another unknown or too high a derivative.
fn put_in(expr: &Expr, derivatives: &[Expr], unknown: usize) -> Option<Expr> {
    let all = |parts: &[Expr]| -> Option<Vec<Expr>> {
        parts
            .iter()
            .map(|part| put_in(part, derivatives, unknown))
            .collect()
    };
    let node = match expr.node() {
        Node::Symbol(Symbol::Derivative { unknown: of, order }) => {
            return if *of == unknown {
                derivatives.get(*order as usize).cloned()
            } else {
                None
            };
        }
        Node::Number(_) | Node::Symbol(_) => return Some(expr.clone()),
        Node::Call(function, argument) => {
            Node::Call(*function, put_in(argument, derivatives, unknown)?)
        }
        Node::Power(base, exponent) => Node::Power(
            put_in(base, derivatives, unknown)?,
            put_in(exponent, derivatives, unknown)?,
        ),
        Node::Product(factors) => Node::Product(all(factors)?),
        Node::Sum(terms) => Node::Sum(all(terms)?),
    };
    Some(Expr::raw(node))
}
