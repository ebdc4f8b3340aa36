//! The initial value problem in normal form, or diagnostics.
//!
//! [`understand`] goes through the stages in order: which letter is what (`names`), what brackets
//! behind a letter mean (`settle`), the tree as expressions (`build`), solving for the highest
//! derivative (`solve`; which equation of a system gives which unknown: `system`), the conditions (`conditions`), the data put into the equation (`check`,
//! `point`), why there is one analytic solution (`justify`).

mod build;
mod check;
mod clear;
mod conditions;
mod differentials;
mod justify;
mod letter_value;
mod letters;
mod names;
mod point;
mod read;
mod settle;
mod size;
mod solve;
mod system;
mod walk;
mod wording;

pub(crate) use wording::{derivative, typeset};

pub use read::{candidate_from, constant_from, understand, understand_untried};

use crate::expression::{Expr, Node, Symbol};
use crate::span::Span;
pub use crate::syntax::DegreeRequest;

/// A function to be found.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Unknown {
    /// As typed: `y`, `theta`, `y_1` (writers turn Greek names into letters).
    pub name: String,
    /// Order of its highest derivative in the equation.
    pub equation_order: u32,
}

/// What is differentiated.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Route {
    /// The equation solved for its highest derivative.
    Solved,
    /// The equation as it stands (Leibniz's rule); each order is solved for its one new value.
    Standing,
}

/// A step from the equation as given to the solved form. `left`/`right` after the step are in
/// [`SolveStep`].
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SolveRule {
    /// Products of sums were multiplied out.
    MultiplyOut,
    /// Like terms were put together.
    CombineLikeTerms,
    /// The two sides were swapped.
    SwapSides,
    /// These terms were added to both sides.
    AddToBothSides(Vec<Expr>),
    /// These terms were subtracted from both sides.
    SubtractFromBothSides(Vec<Expr>),
    /// The highest derivative was taken out of several terms.
    TakeOut,
    /// Both sides were multiplied by this.
    MultiplyBy(Expr),
    /// Both sides were raised to this odd power.
    RaiseTo(u32),
    /// Both sides were divided by this; it is not zero at the initial data.
    DivideBy(Expr),
    /// Equations of a system (by number, from 1) were multiplied by these factors and added, so
    /// that only one highest derivative is left; what does not hold it is on the right.
    Combine(Vec<(usize, Expr)>),
}

/// One line of solving for the highest derivative.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SolveStep {
    /// What was done.
    pub rule: SolveRule,
    /// Terms of the left side afterwards.
    pub left: Vec<Expr>,
    /// Terms of the right side afterwards.
    pub right: Vec<Expr>,
}

/// Why there is exactly one analytic solution.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Justification {
    /// Linear equation, leading coefficient not zero at the center, coefficients analytic there.
    OrdinaryPoint {
        /// The leading coefficient's value at the center.
        leading_value: Expr,
        /// All coefficients are polynomials.
        polynomial: bool,
        /// Where they are not: what was checked for their being analytic at the center.
        checked: Vec<Checked>,
    },
    /// Nonlinear: the right-hand side is analytic at the initial data (Cauchy's theorem).
    AnalyticRightSide {
        /// The right-hand side is a polynomial in everything.
        polynomial: bool,
        /// Sub-expressions whose being analytic there was checked, with what was checked
        /// (e.g. `1+y` "is not zero", value 3).
        checked: Vec<Checked>,
    },
    /// Whether there is one is found out by differentiating the equation as it stands and looking
    /// at what each line demands.
    OrderByOrder(OrderByOrder),
}

/// Why no theorem settles beforehand that there is one analytic solution.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OrderByOrder {
    /// Linear equation, leading coefficient zero at the center.
    SingularPoint,
    /// Nonlinear equation, leading coefficient zero at the initial data.
    LeadingVanishes,
    /// The equation is not linear in its highest derivative.
    NotLinear,
}

/// A condition beyond the values that an equation of this order needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AlsoGiven {
    /// Which unknown.
    pub unknown: usize,
    /// Order of the derivative.
    pub order: usize,
    /// Its value at the center (closed constant, normal form).
    pub value: Expr,
    /// The condition as typed; [`Self::BY_LATER_LINES`] for none.
    pub span: Span,
}

impl AlsoGiven {
    /// In place of a condition's text: the value is the only one with which later lines hold.
    pub const BY_LATER_LINES: Span = Span { start: 0, end: 0 };
}

/// A condition on the initial data that makes the right-hand side analytic.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Checked {
    /// A divisor, a root's radicand, a logarithm's argument, ….
    pub expression: Expr,
    /// Its value at the initial data.
    pub value: Expr,
    /// What is required.
    pub requirement: Requirement,
}

/// What a sub-expression must be for its function to be analytic there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Requirement {
    /// Divisors.
    NotZero,
    /// u in |u|: not zero; the sign says whether |u| is u or −u.
    NotZeroInBars,
    /// What stands under an odd root: not zero; of a negative number the root is real.
    NotZeroUnderOddRoot,
    /// Logarithms, real powers, roots.
    Positive,
    /// arcsin, arccos, artanh: strictly between −1 and 1.
    InsideUnitInterval,
    /// arcosh: greater than 1.
    GreaterThanOne,
    /// Arguments of tan, sec: their cosine is not zero. Of cot, csc: their sine is not zero.
    NotAPole,
}

/// One equation of the problem, in the forms that the derivation needs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Equation {
    /// Terms of the two sides as typed (order and grouping kept, raw); where that has no value at the
    /// data: cleared of it (the first of `steps`).
    pub given: (Vec<Expr>, Vec<Expr>),
    /// The unknown whose highest derivative it is solved for.
    pub unknown: usize,
    /// The equation as differentiated on the [`Route::Standing`]: terms of both sides, each in
    /// normal form but sums in brackets kept (`(4+x^2) y''` is one product).
    pub standing: (Vec<Expr>, Vec<Expr>),
    /// Coefficient of the highest derivative, normal form.
    pub leading: Expr,
    /// Terms of the right side of the solved form, each in normal form, in reading order.
    pub solved: Vec<Expr>,
    /// From `given` to `solved`; empty when it already is.
    pub steps: Vec<SolveStep>,
    /// How many of `steps` (from the first on) lead from `given` to `standing`: all terms with the
    /// highest derivative on the left, in one product with it. Mostly 0.
    pub standing_steps: usize,
    /// What a person would differentiate.
    pub default_route: Route,
    /// Why the solution exists.
    pub justification: Justification,
}

/// A problem that has exactly one Taylor polynomial, or (worked out order by order) may have one.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// The independent variable's name.
    pub independent: String,
    /// The functions to be found; everything else indexes into it.
    pub unknowns: Vec<Unknown>,
    /// Where the series is centered (closed constant).
    pub center: Expr,
    /// For each unknown its value and derivatives at the center, orders 0 to equation order − 1
    /// (closed constants, normal form). Where the equation is worked out order by order: as many
    /// of these as are given without a gap.
    pub initial: Vec<Vec<Expr>>,
    /// What else is given; it must agree with the equation, or chooses among several values.
    pub also_given: Vec<AlsoGiven>,
    /// Values near which those are that the conditions choose among several.
    pub near: Vec<AlsoGiven>,
    /// One per unknown, in that order.
    pub equations: Vec<Equation>,
    /// Letters that stand for constants, in the order in which they were read.
    pub parameters: Vec<Parameter>,
    /// What is taken to hold of the parameters; without it the work would stop.
    pub side_conditions: Vec<Checked>,
    /// How many terms.
    pub degree: DegreeRequest,
}

/// A letter that stands for a constant.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Parameter {
    /// As typed: `k`, `lambda`, `c_0`.
    pub name: String,
    /// Is it an initial value, and nothing else?
    pub initial: bool,
}

impl Problem {
    /// Does this letter stand for an initial value and nothing else?
    pub fn is_initial_letter(&self, name: &str) -> bool {
        self.parameters.iter().any(|p| p.initial && p.name == name)
    }

    /// The problem with numbers (closed constants) in place of all its letters.
    #[must_use]
    pub fn with_numbers(&self, numbers: &[(String, Expr)]) -> Self {
        let one = |value: &Expr| value.with_numbers(numbers);
        let all = |values: &[Expr]| values.iter().map(one).collect::<Vec<Expr>>();
        let both = |sides: &(Vec<Expr>, Vec<Expr>)| (all(&sides.0), all(&sides.1));
        Self {
            center: one(&self.center),
            initial: self.initial.iter().map(|values| all(values)).collect(),
            equations: self
                .equations
                .iter()
                .map(|equation| Equation {
                    given: both(&equation.given),
                    standing: both(&equation.standing),
                    leading: one(&equation.leading),
                    solved: all(&equation.solved),
                    ..equation.clone()
                })
                .collect(),
            parameters: Vec::new(),
            side_conditions: Vec::new(),
            ..self.clone()
        }
    }

    /// The value that the conditions fix for a derivative: a given one, but no letter that stands for
    /// whatever it may be, nor one that stands for nothing because the equation gives the value.
    pub fn fixed(&self, unknown: usize, order: usize) -> Option<&Expr> {
        self.given(unknown, order)
            .filter(|value| match value.node() {
                Node::Symbol(Symbol::Parameter(name)) => !self.is_initial_letter(name),
                _ => true,
            })
            .filter(|value| !self.is_idle(value))
    }

    /// A letter for an initial value that the equation gives: it stands for nothing.
    pub fn is_idle(&self, value: &Expr) -> bool {
        match value.node() {
            Node::Symbol(Symbol::Parameter(name)) => {
                self.parameters.iter().all(|own| *own.name != **name)
            }
            _ => false,
        }
    }

    /// Why the work goes order by order, if it does.
    pub fn order_by_order(&self) -> Option<OrderByOrder> {
        match self.equations.first()?.justification {
            Justification::OrderByOrder(why) => Some(why),
            Justification::OrdinaryPoint { .. } | Justification::AnalyticRightSide { .. } => None,
        }
    }

    /// Adds what must hold of the letters so that none of these values, divided by, is zero.
    pub fn divided_by(&mut self, values: &[Expr]) {
        self.side_conditions = letters::side_conditions(self, values, &self.side_conditions);
    }

    /// Is the value given because later lines hold with no other?
    pub fn by_later_lines(&self, unknown: usize, order: usize) -> bool {
        self.also_given.iter().any(|also| {
            (also.unknown, also.order, also.span) == (unknown, order, AlsoGiven::BY_LATER_LINES)
        })
    }

    /// Near which value a derivative is to be chosen.
    pub fn near(&self, unknown: usize, order: usize) -> Option<&Expr> {
        let mut near = self.near.iter();
        let own = near.find(|near| near.unknown == unknown && near.order == order)?;
        Some(&own.value)
    }

    /// The value that the conditions give to a derivative.
    pub fn given(&self, unknown: usize, order: usize) -> Option<&Expr> {
        let initial = self.initial.get(unknown)?;
        initial.get(order).or_else(|| {
            let also = self.also_given.iter();
            also.filter(|given| given.unknown == unknown && given.order == order)
                .map(|given| &given.value)
                .next()
        })
    }
}

#[cfg(test)]
mod tests;
