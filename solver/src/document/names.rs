//! How letters and functions are written.

use super::formula::Formula;
use crate::problem::Problem;

/// The typed names behind the symbols of an expression.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    /// The independent variable.
    pub independent: String,
    /// The unknowns, by index.
    pub unknowns: Vec<String>,
}

impl Names {
    /// The names of a problem.
    pub fn of(problem: &Problem) -> Self {
        Self {
            independent: problem.independent.clone(),
            unknowns: problem.unknowns.iter().map(|u| u.name.clone()).collect(),
        }
    }

    /// The name of an unknown; `?` for an index the problem does not have.
    pub fn unknown(&self, index: usize) -> &str {
        self.unknowns.get(index).map_or("?", String::as_str)
    }

    /// The independent variable.
    pub fn variable(&self) -> Formula {
        Formula::Identifier(self.independent.clone())
    }

    /// The `order`-th derivative of an unknown.
    pub fn derivative(&self, unknown: usize, order: usize) -> Formula {
        Formula::Derivative(
            self.unknown(unknown).to_owned(),
            u32::try_from(order).unwrap_or(u32::MAX),
        )
    }
}

/// From this order on a derivative is written with its order in brackets.
pub const FIRST_NUMBERED_DERIVATIVE: u32 = 4;

/// The single character for one, two or three primes.
pub fn primes(order: u32) -> Option<&'static str> {
    match order {
        1 => Some("′"),
        2 => Some("″"),
        3 => Some("‴"),
        _ => None,
    }
}

/// A name split at its first underscore: `y_1` is y with index 1.
pub fn split_index(name: &str) -> (&str, Option<&str>) {
    match name.split_once('_') {
        Some((base, index)) if !base.is_empty() && !index.is_empty() => (base, Some(index)),
        _ => (name, None),
    }
}

/// The letter of a Greek name, as typeset.
pub fn greek_letter(name: &str) -> Option<&'static str> {
    GREEK
        .iter()
        .find(|(spelled, _)| *spelled == name)
        .map(|(_, letter)| *letter)
}

const GREEK: [(&str, &str); 35] = [
    ("alpha", "α"),
    ("beta", "β"),
    ("gamma", "γ"),
    ("delta", "δ"),
    ("epsilon", "ε"),
    ("zeta", "ζ"),
    ("eta", "η"),
    ("theta", "θ"),
    ("iota", "ι"),
    ("kappa", "κ"),
    ("lambda", "λ"),
    ("mu", "μ"),
    ("nu", "ν"),
    ("xi", "ξ"),
    ("omicron", "ο"),
    ("pi", "π"),
    ("rho", "ρ"),
    ("sigma", "σ"),
    ("tau", "τ"),
    ("upsilon", "υ"),
    ("phi", "φ"),
    ("chi", "χ"),
    ("psi", "ψ"),
    ("omega", "ω"),
    ("Gamma", "Γ"),
    ("Delta", "Δ"),
    ("Theta", "Θ"),
    ("Lambda", "Λ"),
    ("Xi", "Ξ"),
    ("Pi", "Π"),
    ("Sigma", "Σ"),
    ("Upsilon", "Υ"),
    ("Phi", "Φ"),
    ("Psi", "Ψ"),
    ("Omega", "Ω"),
];
