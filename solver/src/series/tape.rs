//! The list of elementary operations ("tape") that a right-hand side is flattened to.
//!
//! Besides the arithmetic operations there are only four kinds of step, because every elementary
//! function `w = f(u)` satisfies one of two equations between series:
//! `w′ = v·u′` with a companion series `v` built from `w` ([`Operation::Chain`]: exp, sin, tan, …),
//! or `g·w′ = u′` with a companion `g` built from `u` ([`Operation::ChainQuotient`]: ln, arctan,
//! arcsin, …). These are the entries of Griewank & Walther, *Evaluating Derivatives*, 2nd ed.,
//! table 13.2, written with the companions as series of their own so that they are shared.

use crate::expression::{Expr, Function};

/// Position of an operation in its tape, and of the series that it computes.
pub type Slot = usize;

/// One elementary operation on series; the operands stand before it on the tape, but for the
/// companion of a chain, of which only lower coefficients are needed.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Operation {
    /// An unknown or one of its derivatives below its equation order. These stand in front: the
    /// first unknown, its derivatives, then the next unknown's.
    State,
    /// The constant of this index in the list of constants.
    Constant(usize),
    /// The independent variable.
    Variable,
    /// `a + b`.
    Add(Slot, Slot),
    /// `a − b`.
    Subtract(Slot, Slot),
    /// `a · b`.
    Multiply(Slot, Slot),
    /// `a²`, by symmetry half the work of a product.
    Square(Slot),
    /// `a / b`.
    Divide(Slot, Slot),
    /// The coefficients `k·u_k`, that is `(x − c)·u′`.
    Slope(Slot),
    /// `u^(numerator/denominator)` for a value `u₀ > 0`; `slope` is that of `u`, the slope of the
    /// result stands in the next slot.
    Power {
        /// `u`.
        base: Slot,
        /// `(x − c)·u′`.
        slope: Slot,
        /// Numerator of the exponent.
        numerator: i64,
        /// Denominator of the exponent, positive.
        denominator: i64,
    },
    /// The `w` with `w′ = ±v·u′` and `w₀ = f(u₀)`.
    Chain {
        /// `f`, for the value at the center.
        function: Function,
        /// `u`.
        argument: Slot,
        /// `(x − c)·u′`.
        slope: Slot,
        /// `v`; may stand later on the tape.
        factor: Slot,
        /// Minus instead of plus.
        negative: bool,
    },
    /// The `w` with `g·w′ = ±u′` and `w₀ = f(u₀)`; the slope of the result stands in the next slot.
    ChainQuotient {
        /// `f`, for the value at the center.
        function: Function,
        /// `u`.
        argument: Slot,
        /// `(x − c)·u′`.
        slope: Slot,
        /// `g`.
        divisor: Slot,
        /// Minus instead of plus.
        negative: bool,
    },
    /// The sign of `u₀`, a constant; an error when it is zero.
    Sign(Slot),
}

/// Right-hand sides as a list of elementary operations, common sub-expressions shared.
/// Made by [`Tape::compile`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Tape {
    /// The operations, in the order in which they are done.
    pub(super) operations: Vec<Operation>,
    /// For each slot the degree of its series when it surely is a polynomial in the independent
    /// variable; no work is done and nothing kept beyond it.
    pub(super) extents: Vec<Option<usize>>,
    /// The closed constants that occur.
    pub(super) constants: Vec<Expr>,
    /// Slot of each unknown's right-hand side.
    pub(super) results: Vec<Slot>,
    /// For each unknown the slot where it stands, and its equation order.
    pub(super) blocks: Vec<(Slot, usize)>,
}

impl Tape {
    /// How many initial values a solution needs, all unknowns together.
    pub fn states(&self) -> usize {
        self.blocks.last().map_or(0, |(start, order)| start + order)
    }

    /// The smallest equation order: so many coefficients of every unknown are given.
    pub(crate) fn least_order(&self) -> usize {
        self.blocks.iter().map(|block| block.1).min().unwrap_or(0)
    }

    /// For each unknown where its initial values begin among all, and its equation order.
    pub fn blocks(&self) -> &[(Slot, usize)] {
        &self.blocks
    }

    /// How many elementary operations one order of coefficients takes.
    pub fn len(&self) -> usize {
        self.operations.len()
    }

    /// Never: a tape holds at least the unknown.
    pub fn is_empty(&self) -> bool {
        self.operations.is_empty()
    }

    /// Slot of each unknown's right-hand side.
    pub(crate) fn results(&self) -> &[Slot] {
        &self.results
    }

    /// The closed constants that occur.
    pub(crate) fn constants(&self) -> &[Expr] {
        &self.constants
    }

    /// The degree of a slot's series where it surely is a polynomial in the independent variable.
    pub(crate) fn extent(&self, slot: Slot) -> Option<usize> {
        self.extents.get(slot).copied().flatten()
    }

    /// The operations, in the order in which they are done.
    pub fn operations(&self) -> &[Operation] {
        &self.operations
    }
}
