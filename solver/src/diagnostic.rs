//! What is wrong (or worth saying) about the input, as data. Rendered in the last layer only.

use crate::span::{Field, Span};

/// Does the work stop here?
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Severity {
    /// There is no worksheet for this input.
    Error,
    /// The work goes on; the reader should know how the input was read.
    Notice,
}

/// Which kind of answer a problem without a single Taylor polynomial gets. These are different
/// answers and never stand in for one another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Outcome {
    /// The text is not a problem yet (syntax, missing parts).
    Unreadable,
    /// An expression has no value, or no Taylor series, here.
    Undefined,
    /// Several solutions fit.
    NotDetermined,
    /// The conditions contradict each other or the equation.
    Contradictory,
    /// It may well have an answer; we cannot give it, and say why.
    Unable,
}

/// A replacement of a piece of one field's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Edit {
    /// Whose text.
    pub field: Field,
    /// What is replaced (empty: an insertion).
    pub span: Span,
    /// By what.
    pub replacement: String,
}

/// A repair that one click can carry out.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// What the button says, e.g. "write y(0) = 1".
    pub label: String,
    /// The changes, in no particular order, not overlapping.
    pub edits: Vec<Edit>,
}

/// One message. Codes are kebab-case, stable, one per kind of mistake: `unbalanced-bracket`,
/// `missing-condition`, `singular-center`, …
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Diagnostic {
    /// Stable name of the kind of mistake.
    pub code: &'static str,
    /// Whether work stops.
    pub severity: Severity,
    /// Which kind of answer this is (notices: `Unreadable` is never used; ignored).
    pub outcome: Outcome,
    /// The field that `span` points into.
    pub field: Field,
    /// The place.
    pub span: Span,
    /// One or two plain sentences in a teacher's words; says what is wrong and how to mend it.
    pub message: String,
    /// Repairs, best first.
    pub suggestions: Vec<Suggestion>,
}

impl Diagnostic {
    /// An error whose input cannot be read.
    pub fn error(code: &'static str, field: Field, span: Span, message: impl Into<String>) -> Self {
        Self {
            code,
            severity: Severity::Error,
            outcome: Outcome::Unreadable,
            field,
            span,
            message: message.into(),
            suggestions: Vec::new(),
        }
    }

    /// A notice.
    pub fn notice(
        code: &'static str,
        field: Field,
        span: Span,
        message: impl Into<String>,
    ) -> Self {
        Self {
            severity: Severity::Notice,
            ..Self::error(code, field, span, message)
        }
    }

    /// The same with another outcome.
    #[must_use]
    pub fn outcome(mut self, outcome: Outcome) -> Self {
        self.outcome = outcome;
        self
    }

    /// The same with a repair of one piece of text.
    #[must_use]
    pub fn suggest(
        mut self,
        label: impl Into<String>,
        span: Span,
        replacement: impl Into<String>,
    ) -> Self {
        let edit = Edit {
            field: self.field,
            span,
            replacement: replacement.into(),
        };
        self.suggestions.push(Suggestion {
            label: label.into(),
            edits: vec![edit],
        });
        self
    }
}
