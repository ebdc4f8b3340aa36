//! Characters that have no place in an equation, each with what to do instead.

use super::latex::begins_a_command;
use super::{Lexer, PARTIAL};
use crate::span::Field;
use crate::syntax::token::TokenKind;

pub(super) const INTEGRAL: &str = "This is an integral equation. Differentiate it first, so that no integral is left, and give \
     the value at the starting point as a condition.";

impl Lexer<'_> {
    /// A character outside the notation.
    pub(super) fn foreign(&mut self, from: usize, c: char) {
        if c == '<' && self.is_markup(from) {
            return self.markup(from);
        }
        if c == '&' && self.entity_end(from).is_some() {
            return self.markup(from);
        }
        let (code, message) = match c {
            '<' | '>' | '≤' | '≥' | '≠' | '≈' | '≡' | '~' | '∼' => {
                return self.comparison(from, c);
            }
            '∫' | '∬' | '∭' | '∮' => ("integral-equation", INTEGRAL),
            '∂' | '∇' | '∆' => ("partial-equation", PARTIAL),
            '∑' | '∏' | 'Π' => (
                "sum-sign",
                "A sum or product sign cannot be read. Write the terms out.",
            ),
            '∞' => ("infinity", "∞ is not a number. Write a finite value."),
            '±' | '∓' => (
                "plus-minus",
                "± stands for two equations. Write one of them, with + or with −.",
            ),
            '→' | '⃗' | '⟨' | '⟩' | '⇀' => (
                "vector",
                "Vectors cannot be read. Write one equation for each component.",
            ),
            '\\' => return self.unknown_command(from),
            '!' => (
                "factorial",
                "A factorial sign cannot be read. Write the number.",
            ),
            '_' => (
                "stray-character",
                "An index stands right behind its letter, as in y_1.",
            ),
            '\u{300}'..='\u{36f}' | '\u{20d0}'..='\u{20f0}' => (
                "stray-character",
                "A letter with a mark over or under it cannot be read. Use a plain letter.",
            ),
            '∜' => (
                "stray-character",
                "Write a fourth root as a power: (…)^(1/4).",
            ),
            _ => return self.stray(from),
        };
        let end = from + 1;
        let diagnostic = self.error(code, from, end, message);
        self.diagnostics.push(diagnostic);
        self.push(TokenKind::Bad, from, end);
    }

    /// A LaTeX command that is not known, or not finished.
    fn unknown_command(&mut self, from: usize) {
        let mut end = from + 1;
        while self.plain_at(end).is_some_and(|c| c.is_ascii_alphabetic()) {
            end += 1;
        }
        let name = self.collect(from + 1, end);
        let diagnostic = if end == self.glyphs.len() && begins_a_command(&name) {
            let message = "This LaTeX command is not finished.";
            self.error("unfinished-command", from, end, message)
        } else {
            let shown: String = name.chars().take(20).collect();
            let message = format!(
                "The LaTeX command \\{shown} is not known here. Write what it means as plain \
                 text, for example y'' = x^2/2."
            );
            self.error("latex-command", from, end, message)
        };
        self.diagnostics.push(diagnostic);
        self.push(TokenKind::Bad, from, end);
    }

    fn comparison(&mut self, from: usize, c: char) {
        let mut end = from + 1;
        while matches!(self.plain_at(end), Some('=' | '<' | '>')) {
            end += 1;
        }
        if c == '≈' && self.field == Field::Conditions {
            // The reader of conditions looks at how the sign is written.
            return self.push(TokenKind::Equals, from, end);
        }
        let span = self.span(from, end);
        let message = format!("“{c}” does not make an equation. The two sides are joined by =.");
        let diagnostic = self.error("inequality", from, end, message);
        self.diagnostics
            .push(diagnostic.suggest("write =", span, "="));
        self.push(TokenKind::Equals, from, end);
    }

    /// Any other characters, a whole run of them at once.
    fn stray(&mut self, from: usize) {
        let known = |c: char| {
            c.is_ascii_alphanumeric()
                || c.is_whitespace()
                || "+-*/=()[]{}|^,;<>'\"√".contains(c)
                || super::greek_name(c).is_some()
        };
        let mut end = from + 1;
        while self.plain_at(end).is_some_and(|c| !known(c)) {
            end += 1;
        }
        let span = self.span(from, end);
        let shown: String = self.slice(span).chars().take(12).collect();
        let message = format!("“{shown}” has no meaning in an equation. Remove it.");
        let diagnostic = self.error("stray-character", from, end, message);
        self.diagnostics
            .push(diagnostic.suggest("remove it", span, ""));
        self.push(TokenKind::Bad, from, end);
    }

    fn is_markup(&self, from: usize) -> bool {
        let name = from + 1 + usize::from(matches!(self.plain_at(from + 1), Some('/' | '!' | '?')));
        let named = self
            .plain_at(name)
            .is_some_and(|c| c.is_ascii_alphabetic() || c == '-');
        named && self.tag_end(from).is_some()
    }

    /// One past the `>` that closes the tag at `from`, on the same line.
    fn tag_end(&self, from: usize) -> Option<usize> {
        let rest = self.glyphs.get(from + 1..)?;
        let length = rest.iter().position(|g| matches!(g.c, '>' | '<' | '\n'))?;
        (rest.get(length)?.c == '>').then_some(from + length + 2)
    }

    /// One past the `;` of `&nbsp;`.
    fn entity_end(&self, from: usize) -> Option<usize> {
        let rest = self.glyphs.get(from + 1..)?;
        let length = rest.iter().take(10).position(|g| g.c == ';')?;
        let name = rest.get(..length)?;
        let is_name = name
            .iter()
            .all(|g| g.c.is_ascii_alphanumeric() || g.c == '#');
        (length > 1 && is_name).then_some(from + length + 2)
    }

    fn markup(&mut self, from: usize) {
        let end = self.tag_end(from).or_else(|| self.entity_end(from));
        let end = end.unwrap_or(from + 1);
        let span = self.span(from, end);
        let message = "This is markup, not mathematics. Type the formula as plain text.";
        let diagnostic = self.error("markup", from, end, message);
        self.diagnostics
            .push(diagnostic.suggest("remove it", span, ""));
        self.push(TokenKind::Bad, from, end);
    }
}
