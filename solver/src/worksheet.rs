//! From problem text to everything the page shows.

pub use crate::check::{Entry, Residual};
use crate::derivation::Derivation;
use crate::diagnostic::Diagnostic;
use crate::document::ledger::Document;
use crate::plot::Plot;
use crate::problem::{Problem, Route};
use crate::reference::Reference;

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Request {
    /// The equation, as typed.
    pub equation: String,
    /// The conditions, as typed.
    pub conditions: String,
    /// `5`, or `first 4 non-zero terms` (also `4 terms`).
    pub degree: String,
    /// Ends of the plotted interval as typed; empty: chosen for the problem.
    pub interval: (String, String),
    /// Points at which values are asked, as typed.
    pub at: Vec<String>,
    /// `None`: what a person would choose.
    pub route: Option<Route>,
}

/// The answer. Parts are missing where an error stopped the work; `diagnostics` says which.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Worksheet {
    /// Errors and notices, in reading order.
    pub diagnostics: Vec<Diagnostic>,
    /// The problem as understood.
    pub problem: Option<Problem>,
    /// The derivation.
    pub derivation: Option<Derivation>,
    /// Exact coefficients, order 0 to the degree, one list per unknown.
    pub table: Vec<Vec<Entry>>,
    /// The check by substitution.
    pub residual: Option<Residual>,
    /// The numerical solution.
    pub reference: Option<Reference>,
    /// Curves and table.
    pub plot: Option<Plot>,
    /// What is read.
    pub document: Document,
}
