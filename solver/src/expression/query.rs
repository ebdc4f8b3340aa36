//! Questions about an expression.

use std::sync::Arc;

use num_traits::{One, Zero};

use super::root_of::{self, RootOf};
use super::tree::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::sorting::sort_by;

impl Expr {
    /// The value, if this is a number.
    pub fn as_number(&self) -> Option<&Rational> {
        match self.node() {
            Node::Number(value) => Some(value),
            _ => None,
        }
    }

    /// The number 0 (no thinking: see [`super::zero_test`] for constants).
    pub fn is_zero(&self) -> bool {
        self.as_number().is_some_and(Zero::is_zero)
    }

    /// The number 1.
    pub fn is_one(&self) -> bool {
        self.as_number().is_some_and(One::is_one)
    }

    /// Contains neither the independent variable nor an unknown. Parameters are constants.
    pub fn is_constant(&self) -> bool {
        let facts = self.facts();
        !facts.variable && facts.derivatives == 0
    }

    /// Contains the independent variable.
    pub fn has_variable(&self) -> bool {
        self.facts().variable
    }

    /// Contains an unknown or a derivative of one.
    pub fn has_derivative(&self) -> bool {
        self.facts().derivatives > 0
    }

    /// Contains a parameter.
    pub fn has_parameter(&self) -> bool {
        self.facts().parameter
    }

    /// Contains a number that is known as the zero of an equation.
    pub fn has_root(&self) -> bool {
        self.facts().root
    }

    /// The numbers known as zeros of equations that occur, each once.
    pub fn roots(&self) -> Vec<Arc<RootOf>> {
        root_of::roots_in(self)
    }

    /// How many nodes, counting shared parts as often as they occur (saturates).
    pub fn size(&self) -> usize {
        self.facts().size
    }

    /// Longest path from the root to a leaf, in nodes.
    pub fn depth(&self) -> u32 {
        self.facts().depth
    }

    /// Direct parts.
    pub fn children(&self) -> Vec<&Self> {
        match self.node() {
            Node::Number(_) | Node::Symbol(_) => Vec::new(),
            Node::Call(_, argument) => vec![argument],
            Node::Power(base, exponent) => vec![base, exponent],
            Node::Product(children) | Node::Sum(children) => children.iter().collect(),
        }
    }

    /// Does `symbol` occur?
    pub fn contains(&self, symbol: &Symbol) -> bool {
        let facts = self.facts();
        let possible = match symbol {
            Symbol::Variable => return facts.variable,
            Symbol::Derivative { order, .. } => facts.derivatives > *order,
            Symbol::Parameter(_) => facts.parameter,
            Symbol::Root(_) => facts.root,
            Symbol::Pi => true,
        };
        possible
            && match self.node() {
                Node::Symbol(own) => own == symbol,
                _ => self.children().into_iter().any(|c| c.contains(symbol)),
            }
    }

    /// Highest order to which the unknown is differentiated here; `None` when it does not occur.
    pub fn highest_order(&self, unknown: usize) -> Option<u32> {
        if !self.has_derivative() {
            return None;
        }
        match self.node() {
            Node::Symbol(Symbol::Derivative { unknown: u, order }) if *u == unknown => Some(*order),
            _ => self
                .children()
                .into_iter()
                .filter_map(|child| child.highest_order(unknown))
                .max(),
        }
    }

    /// All letters that occur, in order, each once.
    pub fn symbols(&self) -> Vec<Symbol> {
        fn collect(expression: &Expr, into: &mut Vec<Symbol>) {
            if let Node::Symbol(symbol) = expression.node()
                && !into.contains(symbol)
            {
                into.push(symbol.clone());
            }
            for child in expression.children() {
                collect(child, into);
            }
        }
        let mut symbols = Vec::new();
        collect(self, &mut symbols);
        sort_by(&mut symbols, Ord::cmp);
        symbols
    }

    /// Terms of a sum; anything else (also 0) is its own only term.
    pub fn terms(&self) -> Vec<Self> {
        match self.node() {
            Node::Sum(terms) => terms.clone(),
            _ => vec![self.clone()],
        }
    }

    /// Factors of a product; anything else is its own only factor.
    pub fn factors(&self) -> Vec<Self> {
        match self.node() {
            Node::Product(factors) => factors.clone(),
            _ => vec![self.clone()],
        }
    }

    /// The number in front and what it multiplies: `3 x y` is (3, `x y`), `5` is (5, 1).
    pub fn split_coefficient(&self) -> (Rational, Self) {
        let (coefficient, factors) = split_number(self);
        match coefficient {
            None => (Rational::one(), self.clone()),
            Some(value) => (value.clone(), Self::joined(factors)),
        }
    }

    /// Factors that are already sorted and merged, without a number.
    pub(super) fn joined(factors: &[Self]) -> Self {
        match factors {
            [] => Self::one(),
            [single] => single.clone(),
            _ => Self::raw_product(factors.to_vec()),
        }
    }
}

/// The number in front of a term (`None`: 1) and its other factors.
pub(super) fn split_number(term: &Expr) -> (Option<&Rational>, &[Expr]) {
    match term.node() {
        Node::Number(value) => (Some(value), &[]),
        Node::Product(factors) => match factors.split_first() {
            Some((first, rest)) if first.as_number().is_some() => (first.as_number(), rest),
            _ => (None, factors),
        },
        _ => (None, std::slice::from_ref(term)),
    }
}
