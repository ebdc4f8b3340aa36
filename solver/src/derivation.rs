//! Successive differentiation: the trace that the reader reads.

mod ahead;
mod check;
mod deriver;
mod differentiate;
mod every_order;
mod fingerprint;
mod inverse;
mod isolate;
mod leibniz;
mod like_terms;
mod raw;
mod replay;
mod roots;
mod rules;
mod steps;
mod values;

pub use ahead::{Ahead, look_ahead};
pub use check::{Check, Defect, DefectKind, check};
pub use deriver::{Deriver, derive};
pub use every_order::{Convergence, EveryOrder, every_order};
pub use leibniz::{LeibnizTerm, leibniz};
pub use rules::{RULES, RuleEntry};

use crate::expression::Expr;
use crate::expression::Undefined;
use crate::number::Rational;
use crate::problem::Route;

/// Rules of differentiation (calculus) named in the reasons; one table gives each its name,
/// statement and side condition.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Rule {
    /// (c)′ = 0.
    Constant,
    /// (x)′ = 1.
    Variable,
    /// (y⁽ᵏ⁾)′ = y⁽ᵏ⁺¹⁾.
    Unknown,
    /// (c u)′ = c u′.
    ConstantMultiple,
    /// (u + v)′ = u′ + v′.
    Sum,
    /// (u v)′ = u′ v + u v′, and for more factors.
    Product,
    /// (u / v)′ = (u′ v − u v′) / v².
    Quotient,
    /// (uʳ)′ = r uʳ⁻¹ u′.
    Power,
    /// (f(u))′ = f′(u) u′.
    Chain,
    /// (uᵛ)′ with the variable in the exponent.
    Exponential,
    /// (u v)⁽ⁿ⁾ = Σ C(n,k) u⁽ᵏ⁾ v⁽ⁿ⁻ᵏ⁾ (Leibniz).
    Leibniz,
}

/// One application of a rule; its children are the derivatives it needed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trace {
    /// The rule.
    pub rule: Rule,
    /// What was differentiated.
    pub input: Expr,
    /// The result exactly as the rule gives it (raw).
    pub output: Expr,
    /// The inner derivatives.
    pub children: Vec<Trace>,
}

/// A term of a row. Identifiers are unique in one [`Derivation`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Term {
    /// Its identifier.
    pub id: usize,
    /// The term; raw in `obtained`, normal form in `combined`.
    pub expression: Expr,
    /// Identifiers of the terms it comes from: for `obtained` one term of the previous row's
    /// `combined`; for `combined` the like terms of this row's `obtained` (or `before_put_in`).
    pub sources: Vec<usize>,
}

/// The value of a term of `combined` at the initial data.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct TermValue {
    /// Which term.
    pub term: usize,
    /// Its value (closed constant); `None` when the term holds the new, still unknown value.
    pub value: Option<Expr>,
    /// When it vanishes: the factor that is zero there (`x`, `y'`, `sin x`), in normal form.
    pub zero_factor: Option<Expr>,
}

/// One side of the equation in one row.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Side {
    /// As the rules give it; a constant's derivative is a visible 0.
    pub obtained: Vec<Term>,
    /// Like terms combined, before the equation's right side was put in for its highest derivative.
    /// Empty when it was not. Sources are terms of `obtained`.
    pub before_put_in: Vec<Term>,
    /// Like terms combined, in order of first appearance. Empty when nothing is left (the side is 0).
    pub combined: Vec<Term>,
    /// Every term of `combined` at the initial data.
    pub values: Vec<TermValue>,
    /// How `obtained` came about, one tree for each term of the previous row (empty in the first row).
    pub traces: Vec<Trace>,
}

impl Side {
    /// The line as obtained with like terms combined.
    pub fn collected(&self) -> &[Term] {
        if self.before_put_in.is_empty() {
            &self.combined
        } else {
            &self.before_put_in
        }
    }

    /// Is the line with like terms combined worth writing: does it read differently from the line
    /// as obtained (but for the order of factors)?
    pub fn combines(&self) -> bool {
        self.obtained.len() != self.combined.len()
            || self
                .obtained
                .iter()
                .zip(&self.combined)
                .any(|(before, after)| {
                    !like_terms::reads_alike(&before.expression, &after.expression)
                })
    }
}

/// How a row's value was found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum RowKind {
    /// Given by the initial conditions.
    Initial,
    /// The equation itself at the initial data, or its derivative, worked out in full. On the
    /// solved route `left` is the one new derivative; on the standing route both sides are worked.
    Worked {
        /// Left side.
        left: Side,
        /// Right side.
        right: Side,
        /// Standing route: what multiplies the new derivative at the initial data.
        leading_value: Option<Expr>,
        /// Standing route: value of everything else, moved to the right side; the row's value is
        /// `rest_value / leading_value`.
        rest_value: Option<Expr>,
    },
    /// Order by order: a line that is not linear in the new derivative; one of the values that
    /// satisfy it.
    Chosen {
        /// Left side.
        left: Side,
        /// Right side.
        right: Side,
        /// All values that satisfy the line, where they could be found; otherwise empty, and the
        /// value is the given one, put in and found to satisfy it.
        values: Vec<Expr>,
    },
    /// Order by order: a line that is satisfied whatever the next derivative is. Its order is that
    /// of the next row.
    Holds {
        /// Left side.
        left: Side,
        /// Right side.
        right: Side,
    },
    /// The derivative has outgrown its budget; the value comes from series arithmetic.
    SeriesOnly,
    /// The line can be written down, but has no value at the initial data. The last row.
    Stopped {
        /// Left side.
        left: Side,
        /// Right side.
        right: Side,
        /// Why.
        reason: StopReason,
    },
}

/// Why a row has no value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum StopReason {
    /// This term (normal form) has no value at the initial data, or none that we can find.
    Undefined {
        /// The term.
        term: Expr,
        /// What is wrong with which part of it, values put in.
        because: Undefined,
    },
    /// Standing route: what multiplies the new derivative is zero at the initial data.
    LeadingZero,
    /// Standing route: it cannot be decided whether this (closed constant), which multiplies the
    /// new derivative, is zero.
    LeadingUndecided(Expr),
    /// Standing route: this term (normal form) does not contain the new derivative linearly.
    NotLinear(Expr),
    /// Order by order: why the next derivative has no value.
    Demand(Demand),
}

/// What a line demands of the next derivative, where that is not one value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Demand {
    /// The line reads 0 = this, which is not zero.
    Contradiction(Expr),
    /// The line gives this value, and the conditions another one.
    NotAsGiven(Expr),
    /// The given value does not satisfy the line.
    GivenFails,
    /// No line so far gives the value, and this one already needs it; nor do the conditions.
    Free {
        /// It is proved that no later line gives it either, and that each value has a solution.
        sure: bool,
    },
    /// As before, but later lines contradict whatever the value is.
    FailsLater,
    /// Several values satisfy the line, and the conditions give none.
    Several(Vec<Expr>),
    /// These values satisfy the line; whether others do, too, is not known.
    Some(Vec<Expr>),
    /// No real value satisfies it.
    NoReal,
    /// The values that satisfy it were not found exactly; some that surely lie between two
    /// numbers, in rising order.
    Inexact(Vec<(Rational, Rational)>),
    /// The line is not solved for the value, which depends on these letters.
    OfLetters(Vec<String>),
    /// Whether this closed constant is zero cannot be decided.
    Undecided(Expr),
    /// Many lines in a row were satisfied by anything.
    Nothing,
}

/// One order.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// Which unknown.
    pub unknown: usize,
    /// Order of the derivative that becomes known.
    pub order: usize,
    /// How.
    pub kind: RowKind,
    /// Its value at the center (closed constant, normal form); `None` only for
    /// [`RowKind::SeriesOnly`] (until supplied) and [`RowKind::Stopped`].
    pub value: Option<Expr>,
}

/// All rows, from order 0.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Derivation {
    /// What was differentiated.
    pub route: Route,
    /// One row per order.
    pub rows: Vec<Row>,
}

impl Derivation {
    /// The values found, of one equation: those of y, y′, … at the center.
    pub fn values(&self) -> Vec<Expr> {
        self.rows
            .iter()
            .filter_map(|row| row.value.clone())
            .collect()
    }
}

#[cfg(test)]
mod tests;
