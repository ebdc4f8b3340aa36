//! The `LaTeX` formulas that teachers write, as `MathML` Core (W3C). What is not known is shown as it
//! was written, marked, and said. Nothing of the text reaches the output unescaped.
//!
//! The rules of spacing and of what an index belongs to are `TeX`'s (Knuth, *The `TeXbook`*,
//! chapters 16 to 18, from memory).

mod names;
mod parser;
mod parts;
#[cfg(test)]
mod tests;

use std::ops::Range;

/// A name or sign that is not read, and its place in the formula's text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unknown {
    /// Where it stands.
    pub place: Range<usize>,
    /// What is said.
    pub message: String,
    /// What was probably meant.
    pub meant: Option<String>,
}

/// A formula (without its dollar signs) as a `math` element.
pub fn typeset(source: &str, display: bool) -> (String, Vec<Unknown>) {
    let mut parser = parser::Parser::new(source, display);
    let inside = parser.whole();
    let display = if display { " display=\"block\"" } else { "" };
    (format!("<math{display}>{inside}</math>"), parser.unknown)
}
