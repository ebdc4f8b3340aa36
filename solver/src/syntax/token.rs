//! Tokens.

use super::Kind;
use super::functions::Spelling;
use crate::number::Rational;
use crate::span::Span;

/// What ends one equation or condition and begins the next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Separator {
    Comma,
    Semicolon,
    Newline,
    And,
    /// “at”, “when”, “for” in front of the point of conditions.
    At,
}

/// What a token is.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum TokenKind {
    Number(Rational),
    Name(String),
    Function(&'static Spelling),
    /// `log_2`: the logarithm to this base (a number or a name).
    Logarithm(Kind),
    /// `√` or `∛`: covers the one thing that follows.
    Root(&'static str),
    /// `\frac`: numerator and denominator follow in brackets.
    Fraction,
    /// `d^2y/dx^2`.
    Leibniz {
        of: String,
        variable: String,
        order: u32,
    },
    /// So many primes.
    Prime(u32),
    /// `⁽⁴⁾`.
    RaisedOrder(u32),
    /// `^`, or the place where a superscript begins.
    Caret {
        raised: bool,
    },
    Plus,
    Minus,
    Times,
    Divide,
    /// `(` or `[`; `{` is curly.
    Open {
        curly: bool,
    },
    Close,
    Bar,
    Equals,
    Separator(Separator),
    /// Something that a diagnostic already speaks of.
    Bad,
}

/// A token and its place.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Token {
    pub(super) kind: TokenKind,
    pub(super) span: Span,
    /// White space stands before it.
    pub(super) spaced: bool,
}

/// Reads at most seven digits; more saturate, which is beyond every limit on an order anyway.
pub(super) fn order_from(digits: &str) -> u32 {
    digits.parse().unwrap_or(u32::MAX)
}
