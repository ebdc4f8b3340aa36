//! Which names of a field are differentiated somewhere: decides what `y^(4)` and `y(x)` mean.

use super::token::{Token, TokenKind, order_from};
use num_traits::One;

/// What kind of text is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Mode {
    /// Equations.
    Equations,
    /// Initial conditions: every name in front of a bracket is an unknown.
    Conditions,
    /// A constant: no name is an unknown.
    Constant,
}

/// The names that carry a derivative in one field's text.
#[derive(Debug)]
pub(super) struct Differentiated {
    mode: Mode,
    /// By primes, Leibniz's notation or `^{(4)}`: beyond doubt.
    certain: Vec<String>,
    /// With a number in round brackets as a superscript, as in `y^(4)`.
    raised: Vec<String>,
}

impl Differentiated {
    pub(super) fn of(tokens: &[Token], mode: Mode) -> Self {
        let mut found = Self {
            mode,
            certain: Vec::new(),
            raised: Vec::new(),
        };
        for (place, token) in tokens.iter().enumerate() {
            match &token.kind {
                TokenKind::Leibniz { of, .. } => {
                    found.certain.push(of.clone());
                }
                TokenKind::Name(name) if !is_constant(name) => {
                    let rest = tokens.get(place + 1..).unwrap_or(&[]);
                    match rest.first().map(|t| &t.kind) {
                        Some(TokenKind::Prime(_) | TokenKind::RaisedOrder(_)) => {
                            found.certain.push(name.clone());
                        }
                        Some(TokenKind::Caret { raised: false }) => match raised_order(rest) {
                            Some((_, _, true)) => {
                                found.certain.push(name.clone());
                            }
                            Some((_, _, false)) => {
                                found.raised.push(name.clone());
                            }
                            None => {}
                        },
                        _ => {}
                    }
                }
                _ => {}
            }
        }
        found
    }

    /// Is `name^(n)` its n-th derivative? With doubled brackets (`y^{(4)}`) it is. Otherwise: if some name is differentiated beyond doubt: for those
    /// names. If none is: for all, except that x and t are then the variable when another name has
    /// such a superscript too.
    pub(super) fn by_superscript(&self, name: &str, double: bool) -> bool {
        let constant = is_constant(name) || self.mode == Mode::Constant;
        if constant || double || self.mode == Mode::Conditions {
            return !constant;
        }
        if !self.certain.is_empty() {
            return has(&self.certain, name);
        }
        let other = |names: &[&str]| self.raised.iter().any(|n| !names.contains(&n.as_str()));
        match name {
            "t" => !other(&["t"]),
            "x" => !other(&["x", "t"]),
            _ => true,
        }
    }

    /// Can `name(…)` be a value of an unknown?
    pub(super) fn applicable(&self, name: &str) -> bool {
        let constant = is_constant(name) || self.mode == Mode::Constant;
        if constant || self.mode == Mode::Conditions {
            return !constant;
        }
        if !self.certain.is_empty() {
            return has(&self.certain, name);
        }
        self.raised.is_empty() || (has(&self.raised, name) && self.by_superscript(name, false))
    }
}

fn has(names: &[String], name: &str) -> bool {
    names.iter().any(|own| own == name)
}

/// Is `name` a number, always?
pub(super) fn is_constant(name: &str) -> bool {
    matches!(name, "e" | "pi")
}

/// An order in Roman numerals, as in `y^(iv)`, and how many letters it has. One letter alone may be
/// a letter of the problem.
fn roman(tokens: &[Token]) -> Option<(u32, usize)> {
    let letters = |word: &str| {
        let mut own = tokens.iter().map(|t| &t.kind);
        word.chars().all(|c| {
            let name = own.next();
            matches!(name, Some(TokenKind::Name(name)) if name.chars().eq([c]))
        })
    };
    let found = [("viii", 8), ("vii", 7), ("vi", 6), ("iv", 4)];
    let (word, order) = found.into_iter().find(|(word, _)| letters(word))?;
    Some((order, word.len()))
}

/// `^(4)`, `^{(4)}` or `^(iv)` at the beginning of `tokens` (`^{4}` is a power): the order, how many
/// tokens, beyond doubt?
pub(super) fn raised_order(tokens: &[Token]) -> Option<(u32, usize, bool)> {
    let kind = |i: usize| tokens.get(i).map(|t| &t.kind);
    let Some(TokenKind::Open { curly }) = kind(1) else {
        return None;
    };
    let double = matches!(kind(2), Some(TokenKind::Open { .. }));
    let place = if double { 3 } else { 2 };
    if let Some((order, letters)) = roman(tokens.get(place..)?) {
        let closed =
            (0..=usize::from(double)).all(|i| kind(place + letters + i) == Some(&TokenKind::Close));
        let length = place + letters + 1 + usize::from(double);
        return closed.then_some((order, length, true));
    }
    let Some(TokenKind::Number(number)) = kind(place) else {
        return None;
    };
    let written = kind(0) == Some(&TokenKind::Caret { raised: false }) && (double || !curly);
    let closed = kind(place + 1) == Some(&TokenKind::Close)
        && (!double || kind(place + 2) == Some(&TokenKind::Close));
    let whole = number.is_integer() && *number >= One::one();
    let order = order_from(&number.to_integer().to_string());
    let length = if double { 6 } else { 4 };
    (written && closed && whole).then_some((order, length, double))
}
