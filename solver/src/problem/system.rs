//! Systems: which equation gives which unknown, and elimination where the equations hold several
//! highest derivatives.
//!
//! Equations that hold one highest derivative each are solved by themselves. Others are linear
//! equations for their highest derivatives together: each of these is found by adding the equations
//! times its cofactors (Cramer's rule), which makes all others cancel.

use num_traits::{Signed, Zero};

use super::solve::{self, Obstacle, Solution};
use super::wording::{derivative, listed};
use super::{SolveRule, SolveStep};
use crate::diagnostic::{Diagnostic, Outcome};
use crate::expression::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::span::{Field, Span};
use crate::syntax::{Kind, Relation};

use super::names::Names;
use super::walk::nodes;

/// Highest derivatives that are eliminated together at most: cofactors of more would be sums that
/// nobody reads.
const COUPLED: usize = 4;

/// Unknowns of a system at most: each row of the ledger holds all that is known by then, so its
/// length grows with the square of their number.
const UNKNOWNS: usize = 6;

/// Terms that multiplying out may make.
const FREED: usize = 200;

/// Why a system cannot be solved for its highest derivatives.
pub(super) enum Trouble {
    /// In this equation, for this unknown.
    In(usize, usize, Obstacle),
    /// As a whole.
    Whole(Structure),
}

/// What is wrong with a system as a whole.
pub(super) enum Structure {
    /// This equation holds no highest derivative: a constraint.
    Constraint(usize),
    /// The highest derivatives of these unknowns are not determined.
    Singular(Vec<usize>),
    /// The highest derivatives of too many unknowns hang together.
    TooMany(Vec<usize>),
}

/// For each unknown the equation that stands for it (each equation for one unknown), and the
/// solution for its highest derivative.
///
/// # Errors
/// When there is none.
pub(super) fn solve(
    sides: &[(Vec<Expr>, Vec<Expr>)],
    orders: &[u32],
) -> Result<Vec<(usize, Solution)>, Trouble> {
    let highest: Vec<Symbol> = (0..)
        .zip(orders)
        .map(|(unknown, order)| Symbol::Derivative {
            unknown,
            order: *order,
        })
        .collect();
    if let ([only], [symbol]) = (sides, highest.as_slice()) {
        let solution = solve::solve(only.clone(), symbol);
        return match solution {
            Ok(solution) => Ok(vec![(0, solution)]),
            Err(obstacle) => Err(Trouble::In(0, 0, obstacle)),
        };
    }
    let holds = |place: usize, unknown: usize| {
        let (Some((left, right)), Some(symbol)) = (sides.get(place), highest.get(unknown)) else {
            return false;
        };
        left.iter().chain(right).any(|term| term.contains(symbol))
    };
    let constraint = |place: &usize| !(0..orders.len()).any(|unknown| holds(*place, unknown));
    if let Some(place) = (0..sides.len()).find(constraint) {
        return Err(Trouble::Whole(Structure::Constraint(place)));
    }
    let mut found: Vec<Option<(usize, Solution)>> = vec![None; orders.len()];
    let mut done = vec![false; sides.len()];
    for first in 0..sides.len() {
        if done.get(first).copied().unwrap_or(true) {
            continue;
        }
        let (places, unknowns) = hanging_together(first, sides.len(), orders.len(), &holds);
        for place in &places {
            if let Some(done) = done.get_mut(*place) {
                *done = true;
            }
        }
        if places.len() != unknowns.len() {
            return Err(Trouble::Whole(Structure::Singular(unknowns)));
        }
        let solutions = if let ([place], [unknown]) = (places.as_slice(), unknowns.as_slice()) {
            let (Some(sides), Some(symbol)) = (sides.get(*place), highest.get(*unknown)) else {
                continue;
            };
            let solution = solve::solve(sides.clone(), symbol);
            vec![solution.map_err(|obstacle| Trouble::In(*place, *unknown, obstacle))?]
        } else if unknowns.len() > COUPLED {
            return Err(Trouble::Whole(Structure::TooMany(unknowns)));
        } else {
            eliminate(sides, &highest, &places, &unknowns)?
        };
        for ((place, unknown), solution) in places.iter().zip(&unknowns).zip(solutions) {
            if let Some(slot) = found.get_mut(*unknown) {
                *slot = Some((*place, solution));
            }
        }
    }
    let all: Option<Vec<(usize, Solution)>> = found.into_iter().collect();
    // As many equations as unknowns, each group square: every unknown has its own.
    all.ok_or_else(|| Trouble::Whole(Structure::Singular((0..orders.len()).collect())))
}

/// The equations and unknowns that hang together with one equation, ascending.
fn hanging_together(
    first: usize,
    equations: usize,
    unknowns: usize,
    holds: &dyn Fn(usize, usize) -> bool,
) -> (Vec<usize>, Vec<usize>) {
    let mut places = vec![first];
    let mut own: Vec<usize> = Vec::new();
    loop {
        let before = (places.len(), own.len());
        own = (0..unknowns)
            .filter(|unknown| places.iter().any(|place| holds(*place, *unknown)))
            .collect();
        places = (0..equations)
            .filter(|place| *place == first || own.iter().any(|unknown| holds(*place, *unknown)))
            .collect();
        if before == (places.len(), own.len()) {
            return (places, own);
        }
    }
}

/// One equation as `Σ coefficients · highest derivatives = rest`.
struct Row {
    coefficients: Vec<Expr>,
    rest: Vec<Expr>,
}

fn row(sides: &(Vec<Expr>, Vec<Expr>), symbols: &[&Symbol]) -> Result<Row, (usize, Obstacle)> {
    let mut coefficients: Vec<Vec<Expr>> = vec![Vec::new(); symbols.len()];
    let mut rest = Vec::new();
    let minus = |term: &Expr| Expr::product(vec![Expr::int(-1), term.clone()]);
    let signed: Vec<Expr> = sides
        .0
        .iter()
        .cloned()
        .chain(sides.1.iter().map(minus))
        .collect();
    for term in signed {
        if !symbols.iter().any(|symbol| term.contains(symbol)) {
            rest.push(minus(&term));
            continue;
        }
        // Written out only where a highest derivative is inside.
        for term in term.expand(FREED).terms() {
            let held: Vec<usize> = (0..symbols.len())
                .filter(|at| symbols.get(*at).is_some_and(|symbol| term.contains(symbol)))
                .collect();
            let (at, symbol) = match held.as_slice() {
                [] => {
                    rest.push(minus(&term));
                    continue;
                }
                [at, ..] => (*at, symbols.get(*at)),
            };
            let factors = term.factors();
            let is_it =
                |factor: &Expr| matches!(factor.node(), Node::Symbol(own) if Some(&own) == symbol);
            let (own, others): (Vec<Expr>, Vec<Expr>) = factors.into_iter().partition(is_it);
            let coefficient = Expr::product(others);
            if own.len() != 1 || symbols.iter().any(|symbol| coefficient.contains(symbol)) {
                return Err((at, Obstacle::NotLinear));
            }
            if let Some(list) = coefficients.get_mut(at) {
                list.push(coefficient);
            }
        }
    }
    Ok(Row {
        coefficients: coefficients
            .into_iter()
            .map(|terms| Expr::sum(terms).expand(FREED))
            .collect(),
        rest,
    })
}

/// Solves the equations at `places` for the highest derivatives of `unknowns`, as many.
fn eliminate(
    sides: &[(Vec<Expr>, Vec<Expr>)],
    highest: &[Symbol],
    places: &[usize],
    unknowns: &[usize],
) -> Result<Vec<Solution>, Trouble> {
    let symbols: Vec<&Symbol> = unknowns.iter().filter_map(|u| highest.get(*u)).collect();
    let mut rows = Vec::with_capacity(places.len());
    for place in places {
        let Some(sides) = sides.get(*place) else {
            continue;
        };
        rows.push(row(sides, &symbols).map_err(|(at, obstacle)| {
            Trouble::In(*place, unknowns.get(at).copied().unwrap_or(0), obstacle)
        })?);
    }
    let matrix: Vec<Vec<Expr>> = rows.iter().map(|row| row.coefficients.clone()).collect();
    if determinant(&matrix).is_zero() {
        return Err(Trouble::Whole(Structure::Singular(unknowns.to_vec())));
    }
    let mut solutions = Vec::with_capacity(unknowns.len());
    for (column, symbol) in symbols.iter().enumerate() {
        let mut factors = shortened((0..rows.len()).map(|row| cofactor(&matrix, row, column)));
        let leading = added(
            &factors,
            rows.iter().map(|row| row.coefficients.get(column)),
        );
        let mut leading = Expr::sum(leading).expand(FREED);
        if leading.as_number().is_some_and(Signed::is_negative) {
            factors = factors.iter().map(Expr::neg).collect();
            leading = leading.neg();
        }
        let rest: Vec<Expr> = factors
            .iter()
            .zip(&rows)
            .flat_map(|(factor, row)| row.rest.iter().map(move |term| (factor, term)))
            .flat_map(|(factor, term)| {
                Expr::product(vec![factor.clone(), term.clone()])
                    .expand(FREED)
                    .terms()
            })
            .collect();
        let rest = solve::combined(&rest);
        let left = vec![Expr::product(vec![
            leading,
            Expr::raw(Node::Symbol((*symbol).clone())),
        ])];
        let used: Vec<(usize, Expr)> = places
            .iter()
            .map(|place| place + 1)
            .zip(factors)
            .filter(|(_, factor)| !factor.is_zero())
            .collect();
        let (place, unknown) = (
            places.get(column).copied().unwrap_or(0),
            unknowns.get(column).copied().unwrap_or(0),
        );
        let mut solution = solve::solve((left.clone(), rest.clone()), symbol)
            .map_err(|obstacle| Trouble::In(place, unknown, obstacle))?;
        solution.steps.insert(
            0,
            SolveStep {
                rule: SolveRule::Combine(used),
                left,
                right: rest,
            },
        );
        solution.standing_steps += 1;
        solutions.push(solution);
    }
    Ok(solutions)
}

/// Factors times coefficients.
fn added<'e>(factors: &[Expr], coefficients: impl Iterator<Item = Option<&'e Expr>>) -> Vec<Expr> {
    factors
        .iter()
        .zip(coefficients)
        .filter_map(|(factor, coefficient)| {
            Some(Expr::product(vec![factor.clone(), coefficient?.clone()]))
        })
        .collect()
}

/// By Laplace's expansion along the first row; the matrices are small ([`COUPLED`]).
fn determinant(matrix: &[Vec<Expr>]) -> Expr {
    let Some(first) = matrix.first() else {
        return Expr::one();
    };
    let terms = first
        .iter()
        .enumerate()
        .filter(|(_, entry)| !entry.is_zero())
        .map(|(column, entry)| Expr::product(vec![entry.clone(), cofactor(matrix, 0, column)]));
    Expr::sum(terms.collect()).expand(FREED)
}

fn cofactor(matrix: &[Vec<Expr>], row: usize, column: usize) -> Expr {
    let minor: Vec<Vec<Expr>> = matrix
        .iter()
        .enumerate()
        .filter(|(at, _)| *at != row)
        .map(|(_, entries)| {
            let others = entries.iter().enumerate().filter(|(at, _)| *at != column);
            others.map(|(_, entry)| entry.clone()).collect()
        })
        .collect();
    let minor = determinant(&minor);
    if (row + column).is_multiple_of(2) {
        minor
    } else {
        minor.neg()
    }
}

/// The same factors without a number that they have in common.
fn shortened(factors: impl Iterator<Item = Expr>) -> Vec<Expr> {
    let factors: Vec<Expr> = factors.collect();
    let mut common: Option<Rational> = None;
    for factor in factors.iter().filter(|factor| !factor.is_zero()) {
        let (number, _) = factor.split_coefficient();
        let number = number.abs();
        common = Some(match common {
            None => number,
            // Equal sizes are what occurs; anything else is left as it is.
            Some(before) if before == number => before,
            Some(_) => Rational::from_integer(1.into()),
        });
    }
    match common.filter(|number| !number.is_zero()) {
        Some(number) => {
            let inverse = number.recip();
            factors
                .iter()
                .map(|factor| factor.scale(&inverse))
                .collect()
        }
        None => factors,
    }
}

/// What is wrong with the number of equations, before anything else is looked at. `derived`: the
/// differentiated letters, their orders and where these stand.
pub(super) fn counted(relations: &[Relation], derived: &[(&str, u32, Span)]) -> Option<Diagnostic> {
    let without = relations.iter().find(|relation| {
        let mut all = [&relation.left, &relation.right]
            .into_iter()
            .flat_map(nodes);
        !all.any(|node| matches!(node.kind, Kind::Derivative { .. }))
    });
    let names: Vec<&str> = derived.iter().map(|d| d.0).collect();
    if let Some(relation) = without {
        return Some(
            Diagnostic::error(
                "algebraic-equation",
                Field::Equation,
                relation.span,
                "There is no derivative in this equation: differential and algebraic equations together are not worked out here. Solve it for one unknown and put the result into the other equations.",
            )
            .outcome(Outcome::Unable),
        );
    }
    if let Some((_, _, span)) = derived.get(UNKNOWNS) {
        return Some(
            Diagnostic::error(
                "too-many-unknowns",
                Field::Equation,
                *span,
                format!(
                    "There are {} unknown functions; systems of up to {UNKNOWNS} are worked out here.",
                    derived.len()
                ),
            )
            .outcome(Outcome::Unable),
        );
    }
    let equations = match relations.len() {
        1 => "1 equation".to_owned(),
        n => format!("{n} equations"),
    };
    if derived.len() > relations.len() {
        let last = derived.last()?;
        return Some(
            Diagnostic::error(
                "too-few-equations",
                Field::Equation,
                last.2,
                format!(
                    "There are {} unknown functions, {}, but only {equations}. Each unknown needs an equation.",
                    derived.len(),
                    listed(&names),
                ),
            )
            .outcome(Outcome::NotDetermined),
        );
    }
    let surplus = relations.get(derived.len())?;
    Some(
        Diagnostic::error(
            "too-many-equations",
            Field::Equation,
            surplus.span,
            format!(
                "There are {equations}, but only {} differentiated: {}. Each unknown has one equation.",
                if derived.len() == 1 { "1 letter is".to_owned() } else { format!("{} letters are", derived.len()) },
                listed(&names),
            ),
        )
        .outcome(Outcome::Unable),
    )
}

/// A letter with conditions, but without an equation of its own.
pub(super) fn without_equation(name: &str, span: Span) -> Diagnostic {
    Diagnostic::error(
        "unknown-without-equation",
        Field::Equation,
        span,
        format!("The conditions give a value of {name}, so it is an unknown function, but no equation holds a derivative of {name}."),
    )
    .outcome(Outcome::NotDetermined)
}

/// What is said about equations that cannot be solved for the highest derivatives together.
pub(super) fn diagnosed(
    structure: &Structure,
    relations: &[Relation],
    names: &Names,
) -> Diagnostic {
    let highest = |unknowns: &[usize]| {
        let words: Vec<String> = unknowns
            .iter()
            .filter_map(|u| names.unknowns.get(*u))
            .map(|(name, order)| derivative(name, *order))
            .collect();
        listed(&words.iter().map(String::as_str).collect::<Vec<_>>())
    };
    let all: Vec<usize> = (0..names.unknowns.len()).collect();
    let (code, place, message) = match structure {
        Structure::Constraint(place) => (
            "constraint-equation",
            *place,
            format!(
                "This equation holds none of the highest derivatives {}: it restricts the values of the unknowns instead of giving a new one (a differential-algebraic system). Such systems are not worked out here.",
                highest(&all)
            ),
        ),
        Structure::Singular(unknowns) => (
            "singular-system",
            0,
            format!(
                "The equations cannot be solved for {}: as linear equations for these they depend on one another (their determinant is zero).",
                highest(unknowns)
            ),
        ),
        Structure::TooMany(unknowns) => (
            "too-many-coupled",
            0,
            format!(
                "The equations hold the highest derivatives {} mixed with one another; at most {COUPLED} that hang together are worked out here. Solve the equations for them first.",
                highest(unknowns)
            ),
        ),
    };
    let span = relations.get(place).map_or(Span::new(0, 0), |r| r.span);
    Diagnostic::error(code, Field::Equation, span, message).outcome(Outcome::Unable)
}
