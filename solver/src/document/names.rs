//! How letters and functions are written.

use super::formula::Formula;
use crate::expression::{Expr, Node, Symbol};
use crate::problem::{Justification, Problem};

/// The typed names behind the symbols of an expression.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Names {
    /// The independent variable.
    pub independent: String,
    /// The unknowns, by index.
    pub unknowns: Vec<String>,
    /// Terms of sums in the order in which they were typed: who writes 4 + x² wants to read
    /// 4 + x², not x² + 4. Terms are in normal form.
    pub typed_sums: Vec<Vec<Expr>>,
    /// Letters that stand for initial values of linear equations; they are written behind their
    /// coefficients.
    pub initial_letters: Vec<String>,
}

/// More sums than this are not remembered; looking them up would take its time.
const TYPED_SUMS: usize = 32;

impl Names {
    /// The names of a problem.
    pub fn of(problem: &Problem) -> Self {
        Self {
            independent: problem.independent.clone(),
            unknowns: problem.unknowns.iter().map(|u| u.name.clone()).collect(),
            typed_sums: typed_sums(problem),
            initial_letters: initial_letters(problem),
        }
    }

    /// Is it a letter that stands for an initial value?
    pub fn is_initial_letter(&self, factor: &Expr) -> bool {
        matches!(factor.node(), Node::Symbol(Symbol::Parameter(name))
            if self.initial_letters.iter().any(|own| **own == **name))
    }

    /// The same terms in the order in which they were typed, where they were.
    pub fn typed_order(&self, terms: &[Expr]) -> Option<&[Expr]> {
        let same = |typed: &&Vec<Expr>| {
            typed.len() == terms.len() && terms.iter().all(|term| typed.contains(term))
        };
        self.typed_sums.iter().find(same).map(Vec::as_slice)
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

fn initial_letters(problem: &Problem) -> Vec<String> {
    let linear = problem
        .equations
        .iter()
        .all(|e| matches!(e.justification, Justification::OrdinaryPoint { .. }));
    let letters = problem.parameters.iter().filter(|p| p.initial && linear);
    letters.map(|parameter| parameter.name.clone()).collect()
}

/// The sums inside the equations as typed that normal form keeps as sums of the same terms.
fn typed_sums(problem: &Problem) -> Vec<Vec<Expr>> {
    let mut found: Vec<Vec<Expr>> = Vec::new();
    for equation in &problem.equations {
        let (left, right) = &equation.given;
        let mut waiting: Vec<&Expr> = left.iter().chain(right).collect();
        while let Some(expr) = waiting.pop() {
            if found.len() >= TYPED_SUMS {
                return found;
            }
            waiting.extend(expr.children());
            if let Node::Sum(terms) = expr.node() {
                let typed: Vec<Expr> = terms.iter().map(Expr::normal).collect();
                let kept = expr.normal().terms();
                if kept.len() == typed.len() && kept.iter().all(|term| typed.contains(term)) {
                    found.push(typed);
                }
            }
        }
    }
    found
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

/// The name of a Greek letter; omicron, which `LaTeX` does not name, has none.
pub fn greek_name(letter: char) -> Option<&'static str> {
    let mut own = [0; 4];
    let letter: &str = letter.encode_utf8(&mut own);
    let mut names = GREEK.iter().filter(|(name, _)| *name != "omicron");
    names.find(|(_, own)| *own == letter).map(|(name, _)| *name)
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
