//! How many terms are asked for.

use super::DegreeRequest;
use super::reading::too_long;
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Outcome};
use crate::span::{Field, Span};

const NUMBERS: &[&str] = &[
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve",
];

/// Reads `5`, `degree 5`, `4 terms`, `first four non-zero terms`. `None` comes with a diagnostic.
pub fn parse_degree(text: &str, budget: &Budget) -> (Option<DegreeRequest>, Vec<Diagnostic>) {
    if let Some(diagnostic) = too_long(text, Field::Degree, budget) {
        return (None, vec![diagnostic]);
    }
    match read(text, budget) {
        Ok(request) => (Some(request), Vec::new()),
        Err(diagnostic) => (None, vec![diagnostic]),
    }
}

/// A word or a number, and its place.
struct Word {
    text: String,
    span: Span,
}

fn words(text: &str) -> Vec<Word> {
    let mut words: Vec<Word> = Vec::new();
    for (at, raw) in text.char_indices() {
        let c = super::letters::plain(raw).to_ascii_lowercase();
        if c.is_whitespace() || c == ',' {
            continue;
        }
        let end = at + raw.len_utf8();
        let wordy = |c: char| c.is_alphanumeric() || c == '.';
        match words.last_mut() {
            Some(word) if word.span.end == at && wordy(c) && word.text.chars().all(wordy) => {
                word.text.push(c);
                word.span.end = end;
            }
            _ => words.push(Word {
                text: c.to_string(),
                span: Span::new(at, end),
            }),
        }
    }
    words
}

fn read(text: &str, budget: &Budget) -> Result<DegreeRequest, Diagnostic> {
    let whole = Span::new(0, text.len());
    let error = |code, span, message: String| Diagnostic::error(code, Field::Degree, span, message);
    let words = words(text);
    if words.is_empty() {
        let message =
            "Type the degree of the polynomial, for example 5, or “first 4 non-zero terms”.";
        return Err(error("empty-field", whole, message.to_string()));
    }
    let mut number: Option<(&Word, Result<usize, ()>)> = None;
    let mut terms = false;
    let mut degree = false;
    let mut nonzero = false;
    for word in &words {
        let spelled = NUMBERS.iter().position(|n| *n == word.text);
        let digits = word.text.starts_with(|c: char| c.is_ascii_digit());
        match word.text.as_str() {
            "first" | "the" | "up" | "to" | "of" | "and" | "-" | "–" => {}
            "degree" => degree = true,
            "term" | "terms" => terms = true,
            "non" | "nonzero" | "nonvanishing" => nonzero = true,
            // The second half of “non-zero”.
            "zero" if nonzero => {}
            _ if number.is_none() && (digits || spelled.is_some()) => {
                let value = spelled.map_or_else(|| word.text.parse().map_err(|_| ()), Ok);
                number = Some((word, value));
            }
            _ => {
                let message = format!(
                    "“{}” is not understood here. Type a degree, for example 5, or “first 4 \
                     non-zero terms”.",
                    text.get(word.span.start..word.span.end)
                        .unwrap_or("")
                        .chars()
                        .take(20)
                        .collect::<String>()
                );
                return Err(error("not-a-degree", word.span, message));
            }
        }
    }
    let Some((word, value)) = number else {
        let message =
            "A number is missing: type a degree, for example 5, or “first 4 non-zero terms”.";
        return Err(error("not-a-degree", whole, message.to_string()));
    };
    if degree && terms {
        let message = "Ask for a degree or for a number of terms, not for both.";
        return Err(error("not-a-degree", whole, message.to_string()));
    }
    let negative = words.first().is_some_and(|w| w.text == "-");
    let limit = budget.degree;
    let what = if terms { "number of terms" } else { "degree" };
    let digits_only = word.text.bytes().all(|b| b.is_ascii_digit());
    let span = if negative {
        Span::new(0, word.span.end)
    } else {
        word.span
    };
    match value {
        Ok(value) if !negative && (1..=limit).contains(&value) => Ok(if terms || nonzero {
            DegreeRequest::NonzeroTerms(value)
        } else {
            DegreeRequest::Degree(value)
        }),
        Err(()) if !digits_only => {
            let message = format!("The {what} is a whole number from 1 to {limit}.");
            Err(error("degree-not-whole", span, message))
        }
        _ => {
            let small = negative || value == Ok(0);
            let nearest = if small { 1 } else { limit };
            let message = format!("The {what} can be from 1 to {limit}.");
            let mut diagnostic = error("degree-out-of-range", span, message);
            if !small {
                diagnostic = diagnostic.outcome(Outcome::Unable);
            }
            Err(diagnostic.suggest(format!("take {nearest}"), span, nearest.to_string()))
        }
    }
}
