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
    /// Coefficients by series arithmetic, from order 0; at least to the degree unless the work
    /// stopped.
    pub coefficients: Vec<Expr>,
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

/// Looks for the k-th non-zero coefficient, further and further out.
fn nonzero_terms(problem: &Problem, count: usize, text: &str, budget: &Budget) -> Wanted {
    let mut reach = (2 * count + 2).min(budget.degree);
    loop {
        let coefficients = series::coefficients_as_far(problem, reach, budget).coefficients;
        let nonzero: Vec<usize> = coefficients
            .iter()
            .enumerate()
            .filter(|(_, c)| zero_test(c) != Truth::Zero)
            .map(|(order, _)| order)
            .collect();
        if let Some(degree) = count.checked_sub(1).and_then(|k| nonzero.get(k)) {
            return Wanted {
                degree: *degree,
                coefficients,
                too_long: false,
                notice: None,
            };
        }
        if reach < budget.degree && coefficients.len() > reach {
            reach = (2 * reach).min(budget.degree);
            continue;
        }
        // At least every initial value has its row.
        let given = problem.initial.first().map_or(0, Vec::len);
        let searched = coefficients.len().saturating_sub(1);
        let degree = nonzero.last().copied().unwrap_or(0).max(given);
        let found = match nonzero.len() {
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
