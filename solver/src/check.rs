//! Checks between the stages: the two routes against each other, the polynomial against the
//! equation.

mod undetermined;

pub use undetermined::undetermined;

use num_bigint::BigInt;
use num_traits::One;

use crate::budget::Budget;
use crate::derivation::{Derivation, RowKind};
use crate::expression::{Expr, Node, Symbol, Truth, enclose, zero_test};
use crate::number::Rational;
use crate::problem::{Equation, Justification, Problem, Route, Unknown};
use crate::series;

/// A coefficient and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Degree.
    pub order: usize,
    /// y⁽ⁿ⁾ at the center.
    pub value: Expr,
    /// value / n!.
    pub coefficient: Expr,
    /// Do differentiation and series arithmetic agree?
    pub agreement: Agreement,
    /// The value by series arithmetic, where it is not surely the same.
    pub other: Option<Expr>,
}

/// How the two routes compare at one order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Agreement {
    /// Surely the same value.
    Same,
    /// Surely different values: a defect.
    Different,
    /// It cannot be decided whether the closed forms are equal.
    Undecided,
    /// Only one of them reached here.
    OneRoute,
}

impl Entry {
    /// Do the routes agree? `None`: only one of them reached here, or it cannot be decided.
    pub fn agreed(&self) -> Option<bool> {
        match self.agreement {
            Agreement::Same => Some(true),
            Agreement::Different => Some(false),
            Agreement::Undecided | Agreement::OneRoute => None,
        }
    }
}

/// How the two routes compare over a whole table.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Comparison {
    /// One list per unknown.
    pub table: Vec<Vec<Entry>>,
    /// Orders at which the two values are surely different.
    pub disagreements: Vec<usize>,
    /// Orders at which it could not be decided whether they are equal.
    pub undecided: Vec<usize>,
}

/// Puts the derivation's values beside the series coefficients (`series[u][n]` is the coefficient
/// of degree n of unknown u), for orders 0 to `degree`; stops at the first order that neither
/// route reached for some unknown. Equal normal forms agree; otherwise the difference is tested
/// for zero.
pub fn compare(derivation: &Derivation, series: &[Vec<Expr>], degree: usize) -> Comparison {
    let mut comparison = Comparison::default();
    for (unknown, series) in series.iter().enumerate() {
        let entries = compare_one(derivation, unknown, series, degree, &mut comparison);
        comparison.table.push(entries);
    }
    let reached = comparison.table.iter().map(Vec::len).min().unwrap_or(0);
    for entries in &mut comparison.table {
        entries.truncate(reached);
    }
    for orders in [&mut comparison.disagreements, &mut comparison.undecided] {
        crate::sorting::sort_by(orders, Ord::cmp);
        orders.dedup();
    }
    comparison
}

fn compare_one(
    derivation: &Derivation,
    unknown: usize,
    series: &[Expr],
    degree: usize,
    comparison: &mut Comparison,
) -> Vec<Entry> {
    let mut entries = Vec::new();
    for order in 0..=degree {
        let mut rows = derivation.rows.iter();
        let derived = rows
            .find(|row| {
                // A value that was taken from series arithmetic is not compared with itself.
                row.unknown == unknown
                    && row.order == order
                    && !matches!(row.kind, RowKind::SeriesOnly | RowKind::Holds { .. })
            })
            .and_then(|row| row.value.clone());
        let factorial = Rational::from_integer(factorial(order));
        let from_series = series.get(order).map(|c| c.scale(&factorial));
        let (value, agreement, other) = match (derived, from_series) {
            (None, None) => break,
            (Some(value), None) | (None, Some(value)) => (value, Agreement::OneRoute, None),
            (Some(derived), Some(other)) => match same(&derived, &other) {
                Agreement::Different => {
                    comparison.disagreements.push(order);
                    (derived, Agreement::Different, Some(other))
                }
                Agreement::Undecided => {
                    comparison.undecided.push(order);
                    (derived, Agreement::Undecided, Some(other))
                }
                agreement => (derived, agreement, None),
            },
        };
        entries.push(Entry {
            order,
            coefficient: value.scale(&(Rational::one() / factorial)),
            value,
            agreement,
            other,
        });
    }
    entries
}

/// Of closed forms with more nodes than this together only the digits are compared.
const LARGEST_COMPARED: usize = 10_000;
/// So many bits of them.
const BITS_COMPARED: usize = 128;

/// Are two closed constants equal? Beyond [`LARGEST_COMPARED`] equal digits leave it undecided.
fn same(left: &Expr, right: &Expr) -> Agreement {
    if left == right {
        return Agreement::Same;
    }
    if left.size().saturating_add(right.size()) > LARGEST_COMPARED {
        let enclosures = enclose(left, BITS_COMPARED)
            .ok()
            .zip(enclose(right, BITS_COMPARED).ok());
        return match enclosures {
            Some((left, right)) if !left.overlaps(&right) => Agreement::Different,
            _ => Agreement::Undecided,
        };
    }
    match zero_test(&left.sub(right)) {
        Truth::Zero => Agreement::Same,
        Truth::NotZero => Agreement::Different,
        Truth::Undecided => Agreement::Undecided,
    }
}

/// n!
pub fn factorial(n: usize) -> BigInt {
    (2..=n).fold(BigInt::one(), |product, k| product * k)
}

/// The polynomial put back into the equation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Residual {
    /// Power of (x − center) of the first term that remains; `None`: nothing remains as far as computed.
    pub power: Option<usize>,
    /// Its coefficient.
    pub coefficient: Option<Expr>,
    /// The lowest power it could have had: degree + 1 − the order of the highest derivative in the
    /// equation.
    pub expected: usize,
    /// Powers up to this one were computed.
    pub computed: usize,
}

/// Powers beyond the first possible one that are looked at before saying that nothing remains.
const POWERS_BEYOND: usize = 8;
/// The same where coefficients are not all fractions: closed forms grow quickly.
const POWERS_BEYOND_CLOSED: usize = 1;
/// Fractions with more bits than this (about 600 digits) are not put back: nobody would read the
/// result, and putting a long polynomial into a high power makes them far longer still.
const LARGEST_FRACTION: u64 = 2_000;
/// This part of the series' own budget is enough for every check that can be read.
const STEPS: u64 = 10;
/// Closed forms with more nodes than this together are not put back: the result could not be read.
const LARGEST_CLOSED: usize = 200;
/// The same with letters: polynomials in them are quick to work with.
const LARGEST_WITH_LETTERS: usize = 600;

/// Puts the polynomials with these coefficients (one list per unknown) into the equation of one
/// unknown and finds the first power of
/// (x − center) in left side minus right side that does not cancel. The derivation is not used:
/// the polynomials are substituted for the unknowns, and the series of what arises, an expression in
/// the independent variable alone, is found as that of the solution of u′ = left − right,
/// u(center) = 0.
///
/// `None` when that series cannot be computed within the budget, or the coefficients are closed
/// forms too large to read.
pub fn residual(
    problem: &Problem,
    unknown: usize,
    coefficients: &[Vec<Expr>],
    budget: &Budget,
) -> Option<Residual> {
    let order = highest_order(problem.equations.get(unknown)?);
    let expected = coefficients.first()?.len().saturating_sub(order);
    residual_from(problem, unknown, coefficients, expected, budget)
}

/// [`residual`], where powers below `expected` have to cancel.
pub fn residual_from(
    problem: &Problem,
    unknown: usize,
    coefficients: &[Vec<Expr>],
    expected: usize,
    budget: &Budget,
) -> Option<Residual> {
    let all = || coefficients.iter().flatten();
    let fractions = all().all(|c| c.as_number().is_some());
    let size: usize = all().map(Expr::size).sum();
    let too_long = |c: &Expr| {
        c.as_number()
            .is_some_and(|value| value.numer().bits() + value.denom().bits() > LARGEST_FRACTION)
    };
    let largest = if all().any(Expr::has_parameter) {
        LARGEST_WITH_LETTERS
    } else {
        LARGEST_CLOSED
    };
    if (!fractions && size > largest) || all().any(too_long) {
        return None;
    }
    let beyond = if fractions {
        POWERS_BEYOND
    } else {
        POWERS_BEYOND_CLOSED
    };
    let budget = Budget {
        steps: budget.steps / STEPS,
        bits: budget.bits / STEPS,
        ..*budget
    };

    let antiderivative = antiderivative(problem, difference(problem, unknown, coefficients)?);
    // Mostly something remains at the first power that can; only otherwise look further.
    let first = first_power(&antiderivative, expected, expected, &budget)?;
    if first.power.is_some() {
        return Some(first);
    }
    Some(first_power(&antiderivative, expected, expected + beyond, &budget).unwrap_or(first))
}

/// The terms of left side minus right side of one unknown's equation with the polynomials in place
/// of the unknowns.
pub fn difference(
    problem: &Problem,
    unknown: usize,
    coefficients: &[Vec<Expr>],
) -> Option<Vec<Expr>> {
    let equation = problem.equations.get(unknown)?;
    let order = highest_order(equation);
    let derivatives: Vec<Vec<Expr>> = coefficients
        .iter()
        .map(|own| derivatives_as_polynomials(own, &problem.center, order))
        .collect();
    left_minus_right(equation, &derivatives)
}

/// The terms of left side minus right side with these functions (one list per unknown) in place of
/// the unknowns and their derivatives; `None` when there are too few of them.
pub fn left_minus_right(equation: &Equation, derivatives: &[Vec<Expr>]) -> Option<Vec<Expr>> {
    let (left, right) = &equation.given;
    left.iter()
        .map(|term| put_in(term, derivatives))
        .chain(right.iter().map(|term| {
            put_in(term, derivatives).map(|t| Expr::raw_product(vec![Expr::int(-1), t]))
        }))
        .collect()
}

/// The first coefficients, about the problem's center, of a sum of terms in the independent
/// variable alone: as many of the `count` wanted as the budget allows, none where the sum is not
/// analytic.
pub fn expansion(problem: &Problem, terms: Vec<Expr>, count: usize, budget: &Budget) -> Vec<Expr> {
    let found = series::coefficients_as_far(&antiderivative(problem, terms), count, budget);
    // The coefficients of u′ are (k + 1) u_{k+1}.
    let own = found.coefficients.into_iter().next().unwrap_or_default();
    let coefficients = own.into_iter().enumerate().skip(1);
    coefficients
        .map(|(power, c)| c.scale(&Rational::from_integer(BigInt::from(power))))
        .collect()
}

/// u′ = the sum of these terms, u(center) = 0.
fn antiderivative(problem: &Problem, terms: Vec<Expr>) -> Problem {
    Problem {
        unknowns: vec![Unknown {
            name: String::from("u"),
            equation_order: 1,
        }],
        initial: vec![vec![Expr::zero()]],
        equations: vec![Equation {
            unknown: 0,
            given: (vec![Expr::derivative(0, 1)], terms.clone()),
            standing: (vec![Expr::derivative(0, 1)], terms.clone()),
            leading: Expr::one(),
            solved: terms,
            steps: Vec::new(),
            standing_steps: 0,
            default_route: Route::Solved,
            justification: Justification::AnalyticRightSide {
                polynomial: false,
                checked: Vec::new(),
            },
        }],
        ..problem.clone()
    }
}

/// The first power with a coefficient that is not zero in the derivative of the solution of
/// `antiderivative`, among those up to `wanted`; `None` when not even `expected` was reached.
fn first_power(
    antiderivative: &Problem,
    expected: usize,
    wanted: usize,
    budget: &Budget,
) -> Option<Residual> {
    // The coefficients of u′ are (k + 1) u_{k+1}.
    let found = series::coefficients_as_far(antiderivative, wanted + 1, budget).coefficients;
    let found = found.first()?;
    let computed = found.len().checked_sub(2)?;
    if computed < expected {
        return None;
    }
    let powers = found.iter().skip(1);
    let power = powers.clone().position(|c| zero_test(c) != Truth::Zero);
    let coefficient = power.and_then(|power| {
        let factor = Rational::from_integer(BigInt::from(power + 1));
        powers.clone().nth(power).map(|c| c.scale(&factor))
    });
    Some(Residual {
        power,
        coefficient,
        expected,
        computed,
    })
}

/// P, P′, …, P^(order) as nested expressions in (x − center) (Horner's scheme).
pub fn derivatives_as_polynomials(coefficients: &[Expr], center: &Expr, order: usize) -> Vec<Expr> {
    let distance = Expr::raw(Node::Sum(vec![
        Expr::variable(),
        Expr::raw_product(vec![Expr::int(-1), center.clone()]),
    ]));
    let mut derivatives = Vec::new();
    let mut current = coefficients.to_vec();
    for _ in 0..=order {
        derivatives.push(horner(&current, &distance));
        current = current
            .iter()
            .zip(0_i64..)
            .skip(1)
            .map(|(c, n)| Expr::raw(Node::Product(vec![Expr::int(n), c.clone()])))
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
    whole.unwrap_or_else(Expr::zero)
}

/// Order of the highest derivative of any unknown in an equation.
fn highest_order(equation: &Equation) -> usize {
    let (left, right) = &equation.given;
    let mut highest = 0;
    let mut waiting: Vec<&Expr> = left.iter().chain(right).collect();
    while let Some(part) = waiting.pop() {
        if let Node::Symbol(Symbol::Derivative { order, .. }) = part.node() {
            highest = highest.max(*order as usize);
        }
        waiting.extend(part.children());
    }
    highest
}

/// The expression with the polynomials and their derivatives in place of the unknowns and their
/// own; `None` for an unknown without one or too high a derivative.
fn put_in(expr: &Expr, derivatives: &[Vec<Expr>]) -> Option<Expr> {
    let all = |parts: &[Expr]| -> Option<Vec<Expr>> {
        parts.iter().map(|part| put_in(part, derivatives)).collect()
    };
    let node = match expr.node() {
        Node::Symbol(Symbol::Derivative { unknown, order }) => {
            return derivatives.get(*unknown)?.get(*order as usize).cloned();
        }
        Node::Number(_) | Node::Symbol(_) => return Some(expr.clone()),
        Node::Call(function, argument) => Node::Call(*function, put_in(argument, derivatives)?),
        Node::Power(base, exponent) => {
            Node::Power(put_in(base, derivatives)?, put_in(exponent, derivatives)?)
        }
        Node::Product(factors) => Node::Product(all(factors)?),
        Node::Sum(terms) => Node::Sum(all(terms)?),
    };
    Some(Expr::raw(node))
}
