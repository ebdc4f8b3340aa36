//! Leibniz's notation: `dy/dx`, `(dy)/(dx)`, `d^2y/dx^2`, `d²θ/dt²`, `d/dx y`.

use super::{Lexer, greek_name, greek_prefix, order_from, superscript};
use crate::syntax::token::TokenKind;

/// A derivative found in the text.
pub(super) struct Leibniz {
    of: String,
    variable: String,
    /// Order above and, if it is written there, below.
    orders: (u32, u32),
    end: usize,
}

impl Lexer<'_> {
    /// Leibniz's notation whose first `d`, or the bracket around its numerator, is glyph number
    /// `start`.
    pub(super) fn leibniz(&self, start: usize) -> Option<Leibniz> {
        let (d, brackets) = self.opened(start);
        if self.plain_at(d) != Some('d') {
            return None;
        }
        let (above, at) = self.order_at(self.skip_spaces(d + 1));
        let at = self.skip_spaces(at);
        let in_front = self.plain_at(at) == Some('/');
        let (of, at) = if in_front {
            (None, at)
        } else {
            let (of, at) = self.name_at(at)?;
            (Some(of), self.skip_spaces(self.closed(at, brackets)?))
        };
        let (variable, below, mut end) = self.below(at)?;
        let of = if let Some(of) = of {
            of
        } else {
            let (name, brackets) = self.opened(self.skip_spaces(end));
            let (of, after) = self.name_at(name)?;
            end = self.closed(after, brackets)?;
            of
        };
        let orders = (above.unwrap_or(1), below.unwrap_or(1));
        let positive = orders.0 > 0 && orders.1 > 0;
        positive.then_some(Leibniz {
            of,
            variable,
            orders,
            end,
        })
    }

    /// `/dx^2` at glyph `at`: the letter, the order, and where it ends.
    fn below(&self, at: usize) -> Option<(String, Option<u32>, usize)> {
        if self.plain_at(at) != Some('/') {
            return None;
        }
        let (d, brackets) = self.opened(self.skip_spaces(at + 1));
        if self.plain_at(d) != Some('d') {
            return None;
        }
        let (variable, at) = self.name_at(self.skip_spaces(d + 1))?;
        let (order, end) = match self.order_at(self.skip_spaces(at)) {
            (Some(order), end) => (Some(order), end),
            (None, _) => (None, at),
        };
        Some((variable, order, self.closed(end, brackets)?))
    }

    /// Where it goes on behind a round bracket that opens at glyph `at`, and whether one does.
    fn opened(&self, at: usize) -> (usize, bool) {
        match self.plain_at(at) {
            Some('(') => (self.skip_spaces(at + 1), true),
            _ => (at, false),
        }
    }

    /// Where it goes on behind the bracket that must close there, if one was opened.
    fn closed(&self, at: usize, brackets: bool) -> Option<usize> {
        if !brackets {
            return Some(at);
        }
        let at = self.skip_spaces(at);
        (self.plain_at(at) == Some(')')).then_some(at + 1)
    }

    /// `d/dx` at glyph `d` in front of brackets: where it ends. Their derivative is not worked out
    /// while reading.
    pub(super) fn before_brackets(&self, d: usize) -> Option<usize> {
        let (_, at) = self.order_at(self.skip_spaces(d + 1));
        let (_, _, end) = self.below(self.skip_spaces(at))?;
        matches!(self.plain_at(self.skip_spaces(end)), Some('(' | '[' | '{')).then_some(end)
    }

    pub(super) fn refuse_before_brackets(&mut self, from: usize, to: usize) {
        let message = "Only the derivative of the unknown itself is read, as in dy/dx. Write out the \
                       derivative of what stands in the brackets.";
        let diagnostic = self.error("derivative-of-brackets", from, to, message);
        self.diagnostics.push(diagnostic);
        self.push(TokenKind::Bad, from, to);
    }

    /// `dx` at glyph `d`: the letter, and where it ends.
    pub(super) fn differential_at(&self, d: usize) -> Option<(String, usize)> {
        if self.plain_at(d) != Some('d') {
            return None;
        }
        let (name, to) = self.name_at(d + 1)?;
        let goes_on = |c: char| c.is_alphanumeric() || matches!(c, '_' | '(');
        (!self.plain_at(to).is_some_and(goes_on)).then_some((name, to))
    }

    /// Are there differentials of two letters, and no other sign of a derivative?
    pub(super) fn has_differentials(&self) -> bool {
        let mut first: Option<String> = None;
        let mut two = false;
        for (at, glyph) in self.glyphs.iter().enumerate() {
            if matches!(glyph.c, '\'' | '"' | '‴' | '⁗') || self.leibniz(at).is_some() {
                return false;
            }
            if let Some((name, _)) = self.differential_at(at) {
                two |= first.as_ref().is_some_and(|first| *first != name);
                first.get_or_insert(name);
            }
        }
        two
    }

    pub(super) fn push_leibniz(&mut self, from: usize, leibniz: Leibniz) {
        let Leibniz {
            of,
            variable,
            orders,
            end,
        } = leibniz;
        if orders.0 != orders.1 {
            let span = self.span(from, end);
            let message = "The order above and below must be the same, as in d^2y/dx^2.";
            let mut diagnostic = self.error("leibniz-mismatch", from, end, message);
            let order = orders.0.max(orders.1);
            let derivative = format!("d^{order}{of}/d{variable}^{order}");
            diagnostic = diagnostic.suggest(format!("write {derivative}"), span, derivative);
            if orders.0 == 1 {
                let power = format!("(d{of}/d{variable})^{order}");
                diagnostic = diagnostic.suggest(format!("write {power}"), span, power);
            }
            self.diagnostics.push(diagnostic);
        }
        let order = orders.0.max(orders.1);
        let kind = TokenKind::Leibniz {
            of,
            variable,
            order,
        };
        self.push(kind, from, end);
    }

    pub(super) fn skip_spaces(&self, mut at: usize) -> usize {
        while self.plain_at(at) == Some(' ') {
            at += 1;
        }
        at
    }

    /// `^2`, `^{2}`, `^(2)` or `²` at glyph number `at`, and where it ends.
    fn order_at(&self, at: usize) -> (Option<u32>, usize) {
        let mut end = at;
        let mut digits = String::new();
        while let Some(c) = self
            .plain_at(end)
            .and_then(superscript)
            .filter(char::is_ascii_digit)
        {
            digits.push(c);
            end += 1;
        }
        if !digits.is_empty() {
            return (Some(order_from(&digits)), end);
        }
        if self.plain_at(at) != Some('^') {
            return (None, at);
        }
        let first = self.skip_spaces(at + 1);
        let bracketed = matches!(self.plain_at(first), Some('(' | '{' | '['));
        let first = first + usize::from(bracketed);
        let end = self.digits(first);
        if end == first || (bracketed && !matches!(self.plain_at(end), Some(')' | '}' | ']'))) {
            return (None, at);
        }
        let order = order_from(&self.collect(first, end));
        (Some(order), end + usize::from(bracketed))
    }

    /// A letter or Greek name, with its index, at glyph number `at`.
    pub(super) fn name_at(&self, at: usize) -> Option<(String, usize)> {
        let c = self.plain_at(at)?;
        let letters: String = (at..at + 8)
            .map_while(|i| self.plain_at(i).filter(char::is_ascii_alphabetic))
            .collect();
        let (name, to) = if let Some(name) = greek_name(c) {
            (name.to_string(), at + 1)
        } else if let Some((name, length)) = greek_prefix(&letters) {
            (name.to_string(), at + length)
        } else if c.is_ascii_alphabetic() {
            (c.to_string(), at + 1)
        } else {
            return None;
        };
        match self.index(to) {
            (Some(index), end) => Some((format!("{name}_{index}"), end)),
            (None, _) => Some((name, to)),
        }
    }
}
