//! The tree.

use std::sync::Arc;

use super::Function;
use crate::number::Rational;

/// A letter with a meaning.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Symbol {
    /// The independent variable.
    Variable,
    /// The `order`-th derivative of unknown number `unknown` (0: the unknown itself).
    Derivative {
        /// Index into [`crate::problem::Problem::unknowns`].
        unknown: usize,
        /// How often differentiated.
        order: u32,
    },
    /// π.
    Pi,
    /// A letter that stands for a constant.
    Parameter(Arc<str>),
}

/// What an expression is. e is `Call(Exp, 1)`; a root is a `Power` with a rational exponent; a
/// quotient is a `Product` with a negative power.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Node {
    /// An exact fraction.
    Number(Rational),
    /// A letter.
    Symbol(Symbol),
    /// An elementary function of one argument.
    Call(Function, Expr),
    /// Base and exponent.
    Power(Expr, Expr),
    /// Factors; in normal form at least two, the number (if not 1) first.
    Product(Vec<Expr>),
    /// Terms; in normal form at least two, the number (if not 0) last.
    Sum(Vec<Expr>),
}

/// A shared, immutable expression. Two ways to build one:
/// `raw_*` keeps exactly what it is given (lines "as obtained", as typed);
/// the plain constructors give the **normal form**, in which equal polynomials are equal values.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Expr(Arc<Node>);

impl Expr {
    /// Wraps a node as it is.
    pub fn raw(node: Node) -> Self {
        Self(Arc::new(node))
    }

    /// The outermost node.
    pub fn node(&self) -> &Node {
        &self.0
    }

    /// An exact number.
    pub fn number(value: Rational) -> Self {
        Self::raw(Node::Number(value))
    }

    /// The independent variable.
    pub fn variable() -> Self {
        Self::raw(Node::Symbol(Symbol::Variable))
    }

    /// The `order`-th derivative of an unknown.
    pub fn derivative(unknown: usize, order: u32) -> Self {
        Self::raw(Node::Symbol(Symbol::Derivative { unknown, order }))
    }
}
