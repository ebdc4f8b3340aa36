//! The tree.

use std::cmp::Ordering;
use std::fmt;
use std::hash::{Hash, Hasher};
use std::sync::Arc;

use super::{Function, RootOf};
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
    /// A number known as the zero of an equation, under a letter of its own.
    Root(Arc<RootOf>),
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
    /// Terms in reading order; in normal form at least two. A number stands last, or first where
    /// the order is turned round (`1 − x^2`, `4 + x^2`).
    Sum(Vec<Expr>),
}

/// A shared, immutable expression. Two ways to build one:
/// `raw_*` keeps exactly what it is given (lines "as obtained", as typed);
/// the plain constructors give the **normal form**, in which equal polynomials that are multiplied
/// out ([`Expr::expand`]) are equal values.
///
/// `Ord` is a structural order for keys of maps; the order in which a reader meets terms and
/// factors is another matter and is decided by the constructors.
#[derive(Clone)]
pub struct Expr(Arc<Inner>);

struct Inner {
    node: Node,
    facts: Facts,
}

/// What is known about a tree without walking it.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) struct Facts {
    /// Nodes, counting shared ones as often as they occur; saturates.
    pub(super) size: usize,
    /// Longest path from the root; a leaf has 1.
    pub(super) depth: u32,
    /// Contains the independent variable.
    pub(super) variable: bool,
    /// One more than the highest order of a derivative; 0 without unknowns.
    pub(super) derivatives: u32,
    /// Contains a parameter.
    pub(super) parameter: bool,
    /// Contains a number that is the zero of an equation.
    pub(super) root: bool,
}

impl Facts {
    const LEAF: Self = Self {
        size: 1,
        depth: 1,
        variable: false,
        derivatives: 0,
        parameter: false,
        root: false,
    };

    fn of(node: &Node) -> Self {
        match node {
            Node::Number(_) | Node::Symbol(Symbol::Pi) => Self::LEAF,
            Node::Symbol(Symbol::Variable) => Self {
                variable: true,
                ..Self::LEAF
            },
            Node::Symbol(Symbol::Derivative { order, .. }) => Self {
                derivatives: order.saturating_add(1),
                ..Self::LEAF
            },
            Node::Symbol(Symbol::Parameter(_)) => Self {
                parameter: true,
                ..Self::LEAF
            },
            Node::Symbol(Symbol::Root(_)) => Self {
                root: true,
                ..Self::LEAF
            },
            Node::Call(_, argument) => Self::above(std::slice::from_ref(argument)),
            Node::Power(base, exponent) => Self::above([base, exponent]),
            Node::Product(children) | Node::Sum(children) => Self::above(children),
        }
    }

    fn above<'a>(children: impl IntoIterator<Item = &'a Expr>) -> Self {
        let mut all = Self {
            depth: 0,
            ..Self::LEAF
        };
        for child in children {
            let facts = child.facts();
            all.size = all.size.saturating_add(facts.size);
            all.depth = all.depth.max(facts.depth);
            all.variable |= facts.variable;
            all.derivatives = all.derivatives.max(facts.derivatives);
            all.parameter |= facts.parameter;
            all.root |= facts.root;
        }
        all.depth = all.depth.saturating_add(1);
        all
    }
}

impl Expr {
    /// Wraps a node as it is.
    pub fn raw(node: Node) -> Self {
        let facts = Facts::of(&node);
        Self(Arc::new(Inner { node, facts }))
    }

    /// The outermost node.
    pub fn node(&self) -> &Node {
        &self.0.node
    }

    pub(super) fn facts(&self) -> &Facts {
        &self.0.facts
    }

    /// The very same tree in memory (so: equal, without looking).
    pub fn same(&self, other: &Self) -> bool {
        Arc::ptr_eq(&self.0, &other.0)
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

    /// A letter that stands for a constant.
    pub fn parameter(name: &str) -> Self {
        Self::raw(Node::Symbol(Symbol::Parameter(Arc::from(name))))
    }

    /// A sum exactly as given.
    pub fn raw_sum(terms: Vec<Self>) -> Self {
        Self::raw(Node::Sum(terms))
    }

    /// A product exactly as given.
    pub fn raw_product(factors: Vec<Self>) -> Self {
        Self::raw(Node::Product(factors))
    }

    /// A power exactly as given.
    pub fn raw_power(base: Self, exponent: Self) -> Self {
        Self::raw(Node::Power(base, exponent))
    }

    /// A function's value exactly as given.
    pub fn raw_call(function: Function, argument: Self) -> Self {
        Self::raw(Node::Call(function, argument))
    }
}

impl PartialEq for Expr {
    fn eq(&self, other: &Self) -> bool {
        self.same(other) || (self.0.facts == other.0.facts && self.0.node == other.0.node)
    }
}

impl Eq for Expr {}

impl PartialOrd for Expr {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Expr {
    fn cmp(&self, other: &Self) -> Ordering {
        if self.same(other) {
            Ordering::Equal
        } else {
            self.0.node.cmp(&other.0.node)
        }
    }
}

impl Hash for Expr {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.0.node.hash(state);
    }
}

/// A compact text for tests and messages to maintainers; what a reader sees is written elsewhere.
impl fmt::Debug for Expr {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let list = |f: &mut fmt::Formatter<'_>, children: &[Self], separator: &str| {
            f.write_str("(")?;
            for (index, child) in children.iter().enumerate() {
                if index > 0 {
                    f.write_str(separator)?;
                }
                write!(f, "{child:?}")?;
            }
            f.write_str(")")
        };
        match self.node() {
            Node::Number(value) => write!(f, "{value}"),
            Node::Symbol(Symbol::Variable) => f.write_str("x"),
            Node::Symbol(Symbol::Pi) => f.write_str("pi"),
            Node::Symbol(Symbol::Parameter(name)) => f.write_str(name),
            Node::Symbol(Symbol::Root(root)) => f.write_str(root.letter()),
            Node::Symbol(Symbol::Derivative { unknown, order }) => {
                write!(f, "u{unknown}_{order}")
            }
            Node::Call(function, argument) => write!(f, "{}[{argument:?}]", function.name()),
            Node::Power(base, exponent) => write!(f, "{base:?}^{exponent:?}"),
            Node::Product(factors) => list(f, factors, " "),
            Node::Sum(terms) => list(f, terms, " + "),
        }
    }
}
