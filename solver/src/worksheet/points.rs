//! The plotted interval and the points at which values are asked.

use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Severity};
use crate::expression::{Expr, Truth, to_f64, zero_test};
use crate::problem;
use crate::span::{Field, Span};
use crate::syntax;

/// Several texts as one, each on a line of its own: what spans of these fields point into.
pub(super) fn joined<T: AsRef<str>>(texts: impl IntoIterator<Item = T>) -> String {
    let texts: Vec<String> = texts.into_iter().map(|t| t.as_ref().to_owned()).collect();
    texts.join("\n")
}

/// The interval's ends; `None` when both are left empty.
///
/// # Errors
/// A diagnostic when an end cannot be read, only one is given, or they are in the wrong order.
pub(super) fn interval(
    ends: &(String, String),
    budget: &Budget,
) -> Result<Option<(Expr, Expr)>, Diagnostic> {
    let (low_text, high_text) = ends;
    let whole = Span::new(0, joined([low_text, high_text]).len());
    match (low_text.trim().is_empty(), high_text.trim().is_empty()) {
        (true, true) => return Ok(None),
        (false, false) => {}
        _ => {
            return Err(Diagnostic::error(
                "half-an-interval",
                Field::Interval,
                whole,
                "An interval has two ends: give both, or neither.",
            ));
        }
    }
    let low = value(low_text, Field::Interval, budget)?;
    let high = value(high_text, Field::Interval, budget)
        .map_err(|diagnostic| moved(diagnostic, low_text.len() + 1))?;
    let size = high.sub(&low);
    let ordered =
        to_f64(&size).is_some_and(|size| size > 0.0) && zero_test(&size) == Truth::NotZero;
    if ordered {
        Ok(Some((low, high)))
    } else {
        Err(Diagnostic::error(
            "interval-order",
            Field::Interval,
            whole,
            "The interval's left end must be less than its right end.",
        ))
    }
}

/// The points, and what is wrong with those that cannot be read.
pub(super) fn asked(texts: &[String], budget: &Budget) -> (Vec<Expr>, Vec<Diagnostic>) {
    let mut points = Vec::new();
    let mut wrong = Vec::new();
    let mut start = 0;
    for text in texts {
        match value(text, Field::At, budget) {
            Ok(point) => points.push(point),
            Err(diagnostic) => wrong.push(moved(diagnostic, start)),
        }
        start += text.len() + 1;
    }
    (points, wrong)
}

/// A closed constant.
///
/// # Errors
/// A diagnostic when it cannot be read or has no value.
pub(super) fn value(text: &str, field: Field, budget: &Budget) -> Result<Expr, Diagnostic> {
    let (node, diagnostics) = syntax::parse_constant(text, field, budget);
    match diagnostics
        .into_iter()
        .find(|diagnostic| diagnostic.severity == Severity::Error)
    {
        Some(error) => Err(error),
        None => problem::constant_from(&node, text, field, budget),
    }
}

/// The same, pointing further into the joined text.
pub(super) fn moved(mut diagnostic: Diagnostic, by: usize) -> Diagnostic {
    let shift = |span: Span| Span::new(span.start + by, span.end + by);
    diagnostic.span = shift(diagnostic.span);
    for suggestion in &mut diagnostic.suggestions {
        for edit in &mut suggestion.edits {
            edit.span = shift(edit.span);
        }
    }
    diagnostic
}
