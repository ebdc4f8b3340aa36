//! From a field's text to a value and diagnostics: what all kinds of fields have in common.

use super::differentiated::{Differentiated, Mode};
use super::lexer::lex;
use super::parser::Parser;
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Outcome, Severity, Suggestion};
use crate::span::{Field, Span};

/// Diagnostics of one field beyond which no more are shown.
const SHOWN: usize = 6;

/// What is known once one of these is: the rest of the text is another kind of mathematics, or none.
const ABOUT_THE_WHOLE: &[&str] = &[
    "markup",
    "latex-command",
    "unfinished-command",
    "piecewise",
    "integral-equation",
    "partial-equation",
    "derivative-of-brackets",
    "too-deep",
    "too-long",
];

/// A field and how to read it.
#[derive(Clone, Copy)]
pub(super) struct Reader<'a> {
    pub(super) field: Field,
    pub(super) mode: Mode,
    pub(super) budget: &'a Budget,
}

impl Reader<'_> {
    /// Reads `text` by `parse`; `None` when it is too long to be looked at. Every suggestion has
    /// been tried: it mends its diagnostic and brings no new error.
    pub(super) fn read<T>(
        self,
        text: &str,
        parse: fn(&mut Parser<'_>) -> T,
    ) -> (Option<T>, Vec<Diagnostic>) {
        let (value, mut diagnostics) = self.read_once(text, parse);
        let before = diagnostics.clone();
        for diagnostic in &mut diagnostics {
            let code = diagnostic.code;
            let is_error = usize::from(diagnostic.severity == Severity::Error);
            diagnostic.suggestions.retain(|suggestion| {
                let (_, after) = self.read_once(&applied(text, suggestion), parse);
                count(&after, code) < count(&before, code)
                    && errors(&after) + is_error <= errors(&before)
            });
        }
        (value, diagnostics)
    }

    fn read_once<T>(
        self,
        text: &str,
        parse: fn(&mut Parser<'_>) -> T,
    ) -> (Option<T>, Vec<Diagnostic>) {
        if let Some(diagnostic) = too_long(text, self.field, self.budget) {
            return (None, vec![diagnostic]);
        }
        let (tokens, mut diagnostics) = lex(text, self.field);
        let differentiated = Differentiated::of(&tokens, self.mode);
        let mut parser = Parser::new(text, self.field, &tokens, &differentiated, self.budget);
        let value = parse(&mut parser);
        diagnostics.append(&mut parser.diagnostics);
        (Some(value), selected(diagnostics))
    }
}

/// The error for a text beyond the budget.
pub(super) fn too_long(text: &str, field: Field, budget: &Budget) -> Option<Diagnostic> {
    let limit = budget.text_bytes;
    (text.len() > limit).then(|| {
        let mut start = limit;
        while !text.is_char_boundary(start) {
            start -= 1;
        }
        let span = Span::new(start, text.len());
        let message = format!(
            "This text is longer than the {limit} characters that can be read. Shorten it."
        );
        Diagnostic::error("too-long", field, span, message).outcome(Outcome::Unable)
    })
}

/// In reading order; only what is worth saying.
fn selected(mut diagnostics: Vec<Diagnostic>) -> Vec<Diagnostic> {
    crate::sorting::sort_by_key(&mut diagnostics, |d| (d.span.start, d.severity, d.span.end));
    let whole = |d: &Diagnostic| ABOUT_THE_WHOLE.contains(&d.code);
    if let Some(first) = diagnostics.iter().position(whole) {
        return vec![diagnostics.swap_remove(first)];
    }
    // Errors before notices where not all can be shown.
    if diagnostics.len() > SHOWN {
        crate::sorting::sort_by_key(&mut diagnostics, |d| (d.severity, d.span.start));
        diagnostics.truncate(SHOWN);
        crate::sorting::sort_by_key(&mut diagnostics, |d| (d.span.start, d.severity, d.span.end));
    }
    diagnostics
}

fn count(diagnostics: &[Diagnostic], code: &str) -> usize {
    diagnostics.iter().filter(|d| d.code == code).count()
}

fn errors(diagnostics: &[Diagnostic]) -> usize {
    diagnostics
        .iter()
        .filter(|d| d.severity == Severity::Error)
        .count()
}

/// `text` with the edits of `suggestion` carried out. Edits that do not fit the text are left out.
pub fn applied(text: &str, suggestion: &Suggestion) -> String {
    let mut edits: Vec<_> = suggestion.edits.iter().collect();
    crate::sorting::sort_by_key(&mut edits, |e| (e.span.start, e.span.end));
    let mut result = String::with_capacity(text.len() + 8);
    let mut done = 0;
    for edit in edits {
        let Some(kept) = text.get(done..edit.span.start) else {
            continue;
        };
        if text.get(edit.span.start..edit.span.end).is_none() {
            continue;
        }
        result.push_str(kept);
        result.push_str(&edit.replacement);
        done = edit.span.end;
    }
    result.push_str(text.get(done..).unwrap_or(""));
    result
}
