//! The general solution of a linear equation: the polynomial collected by initial value.

use super::formula::Formula;
use super::ledger::{LedgerRow, Piece, Prose, Role};
use super::line::{chain, lead, value_piece};
use super::names::Names;
use super::opening::plain_row;
use super::{closing, strip};
use crate::check::Entry;
use crate::expression::{Expr, factored};
use crate::problem::{Equation, Problem};

/// `P₄(x) = a y₁(x) + b y₂(x)` with the partial sums of y₁ and y₂, for a linear equation with
/// letters as initial values.
pub fn row(
    problem: &Problem,
    equation: &Equation,
    entries: &[Entry],
    names: &Names,
) -> Option<LedgerRow> {
    if names.initial_letters.is_empty() {
        return None;
    }
    let name = names.unknown(equation.unknown).split('_').next()?;
    let solution = |index: Formula| {
        let letter = Formula::Identifier(name.to_owned());
        let indexed = Formula::Index(Box::new(letter), Box::new(index));
        Formula::value_at(indexed, names.variable())
    };
    // Each letter with the solution that it multiplies; last what is left without them.
    let mut parts: Vec<(Option<&String>, Formula)> = names
        .initial_letters
        .iter()
        .zip(1..)
        .map(|(letter, index): (_, usize)| (Some(letter), solution(Formula::digits(index))))
        .collect();
    parts.push((None, solution(Formula::Identifier("p".to_owned()))));
    let mut whole = vec![lead(Formula::row([
        closing::partial_sum(0, entries.len().saturating_sub(1), names),
        Formula::Operator('='),
    ]))];
    let mut lines = Vec::new();
    for (letter, solution) in parts {
        let terms = terms(problem, entries, letter, names);
        if letter.is_none() && terms.is_empty() {
            continue;
        }
        let plus = (whole.len() > 1).then_some(Formula::Operator('+'));
        let factor = letter.map(|letter| {
            Formula::row([Formula::Identifier(letter.clone()), Formula::Juxtaposition])
        });
        let term = Formula::row(plus.into_iter().chain(factor).chain([solution.clone()]));
        whole.push(value_piece(term, Role::Term));
        let mut pieces = vec![lead(Formula::row([solution, Formula::Operator('=')]))];
        pieces.extend(terms);
        pieces.push(value_piece(
            Formula::row([Formula::Operator('+'), Formula::Text("⋯".to_owned())]),
            Role::Term,
        ));
        lines.push(chain("", pieces));
    }
    lines.insert(0, chain("", whole));
    let reason = Prose::words("General solution: collect the terms by initial value");
    Some(plain_row("general", reason, lines))
}

/// The terms that `letter` multiplies; without one, those that hold no initial value.
fn terms(
    problem: &Problem,
    entries: &[Entry],
    letter: Option<&String>,
    names: &Names,
) -> Vec<Piece> {
    // The equation is linear: its solution depends on every initial value by a constant factor.
    let numbers = |value: i64| -> Vec<(String, Expr)> {
        let own = |name: &String| Expr::int(if Some(name) == letter { value } else { 0 });
        let all = names.initial_letters.iter();
        all.map(|name| (name.clone(), own(name))).collect()
    };
    let (with, without) = (numbers(1), numbers(0));
    let mut pieces = Vec::new();
    for entry in entries {
        let at = |numbers: &[(String, Expr)]| entry.coefficient.with_numbers(numbers);
        let coefficient = match letter {
            Some(_) => at(&with).sub(&at(&without)),
            None => at(&without),
        };
        let part = Entry {
            coefficient: factored(&coefficient, &|_| false),
            ..entry.clone()
        };
        let first = pieces.is_empty();
        let term = strip::simplified_term(&part, &problem.center, names, first);
        pieces.extend(term.map(|term| value_piece(term, Role::Term)));
    }
    pieces
}
