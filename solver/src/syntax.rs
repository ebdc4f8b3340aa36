//! Text to tree: as typed, with spans. Never fails: always a tree and diagnostics.
//!
//! Names are resolved later (`problem`): the parser does not know which letter is the unknown, so
//! `y(x+1)` stays [`Kind::Applied`] here.

mod conditions;
mod degree;
mod differentiated;
pub mod functions;
mod letters;
mod lexer;
mod parser;
mod print;
mod reading;
mod relation;
mod token;
mod words;

#[cfg(test)]
mod tests;

pub use conditions::parse_conditions;
pub use degree::parse_degree;
pub use letters::{greek_letter, has_dots};
pub use print::print;
pub use reading::applied;
pub use relation::{parse_candidate, parse_constant, parse_equations};
pub use words::edit_distance;

use crate::number::Rational;
use crate::span::Span;

/// A piece of the text as typed.
#[derive(Clone, Debug, PartialEq)]
pub struct Node {
    /// Where it stands.
    pub span: Span,
    /// What it is.
    pub kind: Kind,
}

/// How a product was written; kept so that the reading can be shown back as typed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Multiplication {
    /// `2 y`, `x y'`.
    Juxtaposed,
    /// `2*y`, `2·y`, `2×y`.
    Sign,
}

/// What a [`Node`] is.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// `2`, `0.25`, `1e-3`, `½`: exact.
    Number(Rational),
    /// A letter or Greek name, look-alikes normalised: `x`, `y`, `theta`, `pi`, `e`, `y_1`.
    Name(String),
    /// `y'`, `y^(4)`, `d^2y/dx^2` (then `variable` is `x`), `y''(0)` (then with an argument).
    Derivative {
        /// The differentiated name.
        of: String,
        /// The variable, if Leibniz's notation names it.
        variable: Option<String>,
        /// How often (at least 1).
        order: u32,
        /// What stands in brackets right behind it.
        argument: Option<Box<Node>>,
    },
    /// A name directly followed by brackets: a value of the unknown, or a product. `problem` decides.
    Applied {
        /// The name.
        name: String,
        /// Where the name stands.
        name_span: Span,
        /// What is in the brackets.
        argument: Box<Node>,
    },
    /// A known function of one argument, by its spelling in [`crate::syntax::functions`]: `sin`, `ln`, `sqrt`, `exp`, …
    /// `power` is the exponent in `sin^2 x`.
    Call {
        /// Canonical spelling (`sin`, `arcsin`, `ln`, `sqrt`, `abs`, …).
        function: &'static str,
        /// `sin^2 x` has power 2.
        power: Option<Box<Node>>,
        /// The argument.
        argument: Box<Node>,
    },
    /// `−a`.
    Negated(Box<Node>),
    /// `a + b − c`: pairs of "subtracted?" and term; at least two.
    Sum(Vec<(bool, Node)>),
    /// `a b`.
    Product(Box<Node>, Multiplication, Box<Node>),
    /// `a / b`.
    Quotient(Box<Node>, Box<Node>),
    /// `a ^ b`.
    Power(Box<Node>, Box<Node>),
    /// Explicit brackets (kept: they matter for showing the reading as typed).
    Bracketed(Box<Node>),
    /// Nothing where something is needed; a diagnostic says so.
    Missing,
}

/// The letter of a differential: `x` for the name `dx`. Such names are read only where no derivative
/// is marked in another way.
pub fn differential(node: &Node) -> Option<&str> {
    match &node.kind {
        Kind::Name(name) => differential_name(name),
        _ => None,
    }
}

/// The letter in the name of a differential.
fn differential_name(name: &str) -> Option<&str> {
    name.strip_prefix('d')
        .filter(|letter| letter.starts_with(char::is_alphabetic) && !name.starts_with("delta"))
}

/// `left = right`, or one side missing (with a diagnostic).
#[derive(Clone, Debug, PartialEq)]
pub struct Relation {
    /// The whole.
    pub span: Span,
    /// Left of `=`.
    pub left: Node,
    /// Right of `=`.
    pub right: Node,
}

/// One initial condition, `y'(0) = 1`.
#[derive(Clone, Debug, PartialEq)]
pub struct Condition {
    /// The whole.
    pub span: Span,
    /// The unknown's name.
    pub unknown: String,
    /// Where the unknown stands, its primes included, its brackets not.
    pub unknown_span: Span,
    /// Which derivative (0: the unknown itself).
    pub order: u32,
    /// The point.
    pub point: Node,
    /// The variable's letter, where the point is given as in “at x = 1”.
    pub variable: Option<Node>,
    /// The same point said once more, as in “y(1) = 2 at x = 1”.
    pub again: Option<Place>,
    /// The value there.
    pub value: Node,
    /// The value is near this one: `y'(0) ≈ 0.75`.
    pub near: bool,
}

/// A point that stands beside the conditions.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// The variable's letter, if it is there.
    pub variable: Option<Node>,
    /// The point.
    pub point: Node,
    /// All that says so, and what separates it from the conditions.
    pub span: Span,
}

/// How many terms are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DegreeRequest {
    /// The Taylor polynomial of this degree.
    Degree(usize),
    /// As far as the k-th non-zero term.
    NonzeroTerms(usize),
}

/// Is this the code of an error that a half-typed text has? Not worth scolding while typing goes on.
pub fn is_incomplete(code: &str) -> bool {
    matches!(
        code,
        "empty-field"
            | "missing-operand"
            | "missing-argument"
            | "missing-equals"
            | "missing-side"
            | "unclosed-bracket"
            | "condition-without-value"
            | "condition-without-point"
            | "unfinished-command"
    )
}
