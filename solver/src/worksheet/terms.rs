//! How far the polynomial goes.

use crate::budget::Budget;
use crate::diagnostic::Diagnostic;
use crate::expression::{Expr, Truth, zero_test};
use crate::problem::{DegreeRequest, Problem};
use crate::series::{self, SeriesError};
use crate::span::{Field, Span};

/// The degree that answers a request, and the coefficients found on the way.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Wanted {
    /// Degree of the polynomial.
    pub degree: usize,
    /// For each unknown the coefficients by series arithmetic, from order 0; at least to the degree
    /// unless the work stopped.
    pub coefficients: Vec<Vec<Expr>>,
    /// The coefficients end because the exact values grow too long.
    pub too_long: bool,
    /// What is to be said.
    pub notice: Option<Diagnostic>,
}

/// Resolves the request for a degree or for the first k non-zero terms. `text` is the field's.
pub(super) fn degree(problem: &Problem, text: &str, budget: &Budget) -> Wanted {
    match problem.degree {
        DegreeRequest::Degree(degree) => {
            let found = series::coefficients_as_far(problem, degree, budget);
            Wanted {
                degree,
                coefficients: found.coefficients,
                too_long: found.stopped == Some(SeriesError::Exhausted),
                notice: None,
            }
        }
        DegreeRequest::NonzeroTerms(count) => nonzero_terms(problem, count, text, budget),
    }
}

/// Looks for the k-th non-zero coefficient (of every unknown), further and further out.
fn nonzero_terms(problem: &Problem, count: usize, text: &str, budget: &Budget) -> Wanted {
    let mut reach = (2 * count + 2).min(budget.degree);
    loop {
        let coefficients = series::coefficients_as_far(problem, reach, budget).coefficients;
        let nonzero = |own: &Vec<Expr>| -> Vec<usize> {
            own.iter()
                .enumerate()
                .filter(|(_, c)| zero_test(c) != Truth::Zero)
                .map(|(order, _)| order)
                .collect()
        };
        let all: Vec<Vec<usize>> = coefficients.iter().map(nonzero).collect();
        let kth = |own: &Vec<usize>| count.checked_sub(1).and_then(|k| own.get(k)).copied();
        let found: Option<Vec<usize>> = all.iter().map(kth).collect();
        if let Some(degree) = found.and_then(|found| found.into_iter().max()) {
            return Wanted {
                degree,
                coefficients,
                too_long: false,
                notice: None,
            };
        }
        let known = coefficients.iter().map(Vec::len).min().unwrap_or(0);
        if reach < budget.degree && known > reach {
            reach = (2 * reach).min(budget.degree);
            continue;
        }
        // At least every initial value has its row.
        let given = problem.initial.iter().map(Vec::len).max().unwrap_or(0);
        let searched = known.saturating_sub(1);
        let last = |own: &Vec<usize>| kth(own).or(own.last().copied());
        let degree = all.iter().filter_map(last).max().unwrap_or(0).max(given);
        let nonzero = all.iter().min_by_key(|own| own.len()).map_or(0, Vec::len);
        let found = match nonzero {
            0 => "no coefficient differs from zero".to_owned(),
            1 => "only 1 coefficient differs from zero".to_owned(),
            n => format!("only {n} coefficients differ from zero"),
        };
        return Wanted {
            degree,
            coefficients,
            too_long: false,
            notice: Some(Diagnostic::notice(
                "fewer-terms",
                Field::Degree,
                Span::new(0, text.len()),
                format!("Asked for {count} terms, but up to degree {searched} {found}."),
            )),
        };
    }
}
