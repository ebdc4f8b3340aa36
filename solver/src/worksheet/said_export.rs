//! What is said about the input, in the JSON answer.

use super::Worksheet;
use super::json::json;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Severity};
use crate::span::Field;

pub(super) struct DiagnosticOut {
    code: &'static str,
    severity: &'static str,
    outcome: Option<&'static str>,
    message: String,
    field: &'static str,
    /// Counted in Unicode code points, as `end`.
    start: usize,
    end: usize,
    suggestions: Vec<SuggestionOut>,
}

struct SuggestionOut {
    label: String,
    edits: Vec<EditOut>,
}

struct EditOut {
    field: &'static str,
    start: usize,
    end: usize,
    replacement: String,
}

json! {
    DiagnosticOut { code, severity, outcome, message, field, start, end, suggestions }
    SuggestionOut { label, edits }
    EditOut { field, start, end, replacement }
}

/// The field's name in the answer.
fn field_name(field: Field) -> &'static str {
    match field {
        Field::Equation => "equation",
        Field::Conditions => "conditions",
        Field::Degree => "degree",
        Field::Interval => "interval",
        Field::At => "at",
        Field::Beside => "beside",
        Field::Parameters => "parameters",
        Field::Candidate => "candidate",
        Field::Tolerance => "tolerance",
    }
}

fn outcome_name(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Unreadable => "unreadable",
        Outcome::Undefined => "undefined",
        Outcome::NotDetermined => "not determined",
        Outcome::Contradictory => "contradictory",
        Outcome::Unable => "unable",
    }
}

pub(super) fn diagnostic_out(worksheet: &Worksheet, diagnostic: &Diagnostic) -> DiagnosticOut {
    let points = |field: Field, byte: usize| code_points(&worksheet.field_text(field), byte);
    let edit = |edit: &Edit| EditOut {
        field: field_name(edit.field),
        start: points(edit.field, edit.span.start),
        end: points(edit.field, edit.span.end),
        replacement: edit.replacement.clone(),
    };
    DiagnosticOut {
        code: diagnostic.code,
        severity: match diagnostic.severity {
            Severity::Error => "error",
            Severity::Notice => "notice",
        },
        outcome: (diagnostic.severity == Severity::Error).then(|| outcome_name(diagnostic.outcome)),
        message: diagnostic.message.clone(),
        field: field_name(diagnostic.field),
        start: points(diagnostic.field, diagnostic.span.start),
        end: points(diagnostic.field, diagnostic.span.end),
        suggestions: diagnostic
            .suggestions
            .iter()
            .map(|suggestion| SuggestionOut {
                label: suggestion.label.clone(),
                edits: suggestion.edits.iter().map(edit).collect(),
            })
            .collect(),
    }
}

/// How many code points stand before a byte.
fn code_points(text: &str, byte: usize) -> usize {
    text.char_indices().take_while(|(at, _)| *at < byte).count()
}
