//! A formula that may be the solution, put to the test: in the conditions, in the equation, and by
//! its Taylor coefficients.
//!
//! "Satisfied" comes from equal normal forms only, "not satisfied" from a number or a Taylor
//! coefficient that is surely not zero; everything else cannot be decided.

use crate::budget::Budget;
use crate::check;
use crate::expression::{
    Expr, Function, Node, Symbol, Truth, UndefinedReason, evaluate, zero_test,
};
use crate::number::rational::integer;
use crate::problem::Problem;
use num_traits::ToPrimitive;

/// What a test found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// Surely true.
    Satisfied,
    /// Surely false.
    NotSatisfied,
    /// Neither could be shown.
    CannotDecide,
}

/// One condition with the formula put in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tested {
    /// Which derivative.
    pub order: usize,
    /// The formula's value at the center; `None`: it has none.
    pub value: Option<Expr>,
    /// What the condition says.
    pub wanted: Expr,
    /// The same?
    pub verdict: Verdict,
}

/// A Taylor coefficient of the formula that is not the solution's.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Different {
    /// Its degree.
    pub degree: usize,
    /// The formula's.
    pub own: Expr,
    /// The solution's.
    pub solution: Expr,
}

/// A tested formula.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Candidate {
    /// The formula and its derivatives up to the equation's order.
    pub derivatives: Vec<Expr>,
    /// The two sides with the formula put in; `None` when they are too long to be read.
    pub sides: Option<(Expr, Expr)>,
    /// The conditions, in order.
    pub conditions: Vec<Tested>,
    /// Is the equation satisfied?
    pub equation: Verdict,
    /// The first term of left side minus right side: power of (x − center), coefficient.
    pub remains: Option<(usize, Expr)>,
    /// So many coefficients of left side minus right side were found to be zero.
    pub vanishing: usize,
    /// The first Taylor coefficient that differs from the solution's.
    pub different: Option<Different>,
    /// So many Taylor coefficients agree.
    pub agreeing: usize,
    /// All together.
    pub verdict: Verdict,
}

/// A derivative with more nodes is not followed.
const LARGEST: usize = 3_000;
/// Sides with more nodes are not shown.
const READABLE: usize = 200;
/// So many coefficients of left side minus right side are looked at.
const POWERS: usize = 8;
/// Part of the budget for series.
const SHARE: u64 = 10;

/// Puts a formula (in normal form, in the variable alone) into the conditions and the equation of
/// a problem, and compares its Taylor coefficients with `coefficients`.
pub fn test(
    formula: &Expr,
    problem: &Problem,
    coefficients: &[Expr],
    budget: &Budget,
) -> Candidate {
    let order = problem
        .unknowns
        .first()
        .map_or(1, |unknown| unknown.equation_order as usize);
    let budget = Budget {
        steps: budget.steps / SHARE,
        ..*budget
    };
    let mut derivatives = vec![formula.clone()];
    while derivatives.len() <= order {
        let next = derivatives.last().map_or_else(Expr::zero, derivative);
        if next.size() > LARGEST {
            break;
        }
        derivatives.push(next);
    }
    let mut candidate = Candidate {
        conditions: conditions(problem, &derivatives),
        derivatives,
        sides: None,
        equation: Verdict::CannotDecide,
        remains: None,
        vanishing: 0,
        different: None,
        agreeing: 0,
        verdict: Verdict::CannotDecide,
    };
    candidate.put_into_equation(problem, &budget);
    let own = check::expansion(problem, vec![formula.clone()], coefficients.len(), &budget);
    candidate.compare(&own, coefficients);
    candidate.conclude();
    candidate
}

fn conditions(problem: &Problem, derivatives: &[Expr]) -> Vec<Tested> {
    let wanted = problem.initial.first().map_or(&[][..], Vec::as_slice);
    wanted
        .iter()
        .enumerate()
        .map(|(order, wanted)| {
            let value = derivatives
                .get(order)
                .map(|f| evaluate(&at(f, &problem.center)));
            let (value, verdict) = match value {
                Some(Ok(value)) => {
                    let verdict = truth(zero_test(&value.sub(wanted)));
                    (Some(value), verdict)
                }
                Some(Err(undefined)) if undefined.reason != UndefinedReason::CannotDecide => {
                    (None, Verdict::NotSatisfied)
                }
                Some(Err(_)) | None => (None, Verdict::CannotDecide),
            };
            Tested {
                order,
                value,
                wanted: wanted.clone(),
                verdict,
            }
        })
        .collect()
}

fn truth(zero: Truth) -> Verdict {
    match zero {
        Truth::Zero => Verdict::Satisfied,
        Truth::NotZero => Verdict::NotSatisfied,
        Truth::Undecided => Verdict::CannotDecide,
    }
}

/// The value of a formula at a place.
fn at(formula: &Expr, place: &Expr) -> Expr {
    formula.substitute(&|symbol| match symbol {
        Symbol::Variable => Some(place.clone()),
        Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) | Symbol::Derivative { .. } => None,
    })
}

impl Candidate {
    fn put_into_equation(&mut self, problem: &Problem, budget: &Budget) {
        let Some(equation) = problem.equations.first() else {
            return;
        };
        let Some(terms) =
            check::left_minus_right(equation, std::slice::from_ref(&self.derivatives))
        else {
            return;
        };
        let count = equation.given.0.len();
        let side = |from: usize, to: usize, sign: i64| {
            let part = terms.get(from..to).unwrap_or(&[]);
            let signed = part.iter().map(|term| term.normal().scale(&integer(sign)));
            Expr::sum(signed.collect())
        };
        let sides = (side(0, count, 1), side(count, terms.len(), -1));
        if vanishes(&sides, problem, budget) {
            self.equation = Verdict::Satisfied;
        } else {
            let found = check::expansion(problem, terms, POWERS, budget);
            for (power, coefficient) in found.into_iter().enumerate() {
                match zero_test(&coefficient) {
                    Truth::Zero => self.vanishing = power + 1,
                    Truth::NotZero => {
                        self.remains = Some((power, coefficient));
                        self.equation = Verdict::NotSatisfied;
                        break;
                    }
                    Truth::Undecided => break,
                }
            }
        }
        if sides.0.size() + sides.1.size() <= READABLE {
            self.sides = Some(sides);
        }
    }

    fn compare(&mut self, own: &[Expr], coefficients: &[Expr]) {
        for (degree, (own, solution)) in own.iter().zip(coefficients).enumerate() {
            match zero_test(&own.sub(solution)) {
                Truth::Zero => self.agreeing = degree + 1,
                Truth::NotZero => {
                    self.different = Some(Different {
                        degree,
                        own: own.clone(),
                        solution: solution.clone(),
                    });
                    return;
                }
                Truth::Undecided => return,
            }
        }
    }

    fn conclude(&mut self) {
        let all = || {
            self.conditions
                .iter()
                .map(|tested| tested.verdict)
                .chain([self.equation])
        };
        // The solution is the only one, so a different coefficient is proof enough.
        self.verdict = if self.different.is_some() || all().any(|v| v == Verdict::NotSatisfied) {
            Verdict::NotSatisfied
        } else if all().all(|v| v == Verdict::Satisfied) {
            Verdict::Satisfied
        } else {
            Verdict::CannotDecide
        };
    }
}

/// Is the difference of the sides zero for every value of the variable? The variable is a
/// letter like any other then, and the zero test of closed forms works with letters.
fn vanishes(sides: &(Expr, Expr), problem: &Problem, budget: &Budget) -> bool {
    let letter = Expr::parameter(&problem.independent);
    let difference = at(&sides.0.sub(&sides.1), &letter);
    if difference.size() > LARGEST {
        return false;
    }
    let Ok(value) = evaluate(&difference) else {
        return false;
    };
    if zero_test(&value) == Truth::Zero {
        return true;
    }
    is_zero_function(&value, budget)
        || vanishes_by_conjugate(&value, &problem.independent, &problem.center, budget)
}

/// Is the numerator zero?
fn is_zero_function(value: &Expr, budget: &Budget) -> bool {
    let numerator = value.numerator_denominator().0.expand(budget.terms);
    numerator.size() <= LARGEST && zero_test(&numerator) == Truth::Zero
}

/// With one square root, A + B√R vanishes when A² = B²R for every value of the variable and
/// A − B√R does not vanish at the center: a product of analytic functions is zero only if one of
/// them is.
fn vanishes_by_conjugate(value: &Expr, letter: &str, center: &Expr, budget: &Budget) -> bool {
    let mut radicand: Option<Expr> = None;
    let mut with = Vec::new();
    let mut without = Vec::new();
    for term in value.terms() {
        let mut rest = Vec::new();
        let mut odd = false;
        for factor in term.factors() {
            match half_power(&factor) {
                Some((base, whole)) => {
                    if odd || radicand.get_or_insert_with(|| base.clone()) != base {
                        return false;
                    }
                    odd = true;
                    rest.push(base.pow_int(whole));
                }
                None => rest.push(factor),
            }
        }
        let term = Expr::product(rest);
        if odd {
            with.push(term);
        } else {
            without.push(term);
        }
    }
    let Some(radicand) = radicand else {
        return false;
    };
    let (a, b) = (Expr::sum(without), Expr::sum(with));
    let squares = a.square().sub(&b.square().mul(&radicand));
    let conjugate = a.sub(&b.mul(&radicand.sqrt()));
    let at_center = conjugate.substitute(&|symbol| match symbol {
        Symbol::Parameter(name) if &**name == letter => Some(center.clone()),
        Symbol::Parameter(_)
        | Symbol::Variable
        | Symbol::Pi
        | Symbol::Root(_)
        | Symbol::Derivative { .. } => None,
    });
    squares.size() <= LARGEST
        && zero_test(&at_center) == Truth::NotZero
        && evaluate(&squares).is_ok_and(|squares| is_zero_function(&squares, budget))
}

/// For u^(n/2) with an odd n and a letter in u: u and (n − 1)/2.
fn half_power(factor: &Expr) -> Option<(&Expr, i64)> {
    let Node::Power(base, exponent) = factor.node() else {
        return None;
    };
    let exponent = exponent.as_number()?;
    let half = *exponent.denom() == 2.into() && base.has_parameter();
    let odd = exponent.numer().to_i64().filter(|_| half)?;
    Some((base, (odd - 1) / 2))
}

/// The derivative of a formula with respect to the variable (unknowns do not occur in it).
pub fn derivative(formula: &Expr) -> Expr {
    match formula.node() {
        Node::Symbol(Symbol::Variable) => Expr::one(),
        Node::Number(_)
        | Node::Symbol(
            Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) | Symbol::Derivative { .. },
        ) => Expr::zero(),
        Node::Sum(terms) => Expr::sum(terms.iter().map(derivative).collect()),
        Node::Product(factors) => {
            let with = |place: usize| {
                let factor = |(at, factor): (usize, &Expr)| {
                    if at == place {
                        derivative(factor)
                    } else {
                        factor.clone()
                    }
                };
                Expr::product(factors.iter().enumerate().map(factor).collect())
            };
            Expr::sum((0..factors.len()).map(with).collect())
        }
        Node::Power(base, exponent) if !exponent.has_variable() => {
            let lowered = Expr::power(base.clone(), exponent.sub(&Expr::one()));
            Expr::product(vec![exponent.clone(), lowered, derivative(base)])
        }
        Node::Power(base, exponent) => {
            // uᵛ = exp(v ln u)
            let logarithm = Expr::call(Function::Ln, base.clone());
            derivative(&exponent.mul(&logarithm)).mul(formula)
        }
        Node::Call(function, argument) => function.derivative(argument).mul(&derivative(argument)),
    }
}

#[cfg(test)]
mod tests;
