//! Values at the initial data.

use std::cell::RefCell;

use num_traits::Signed;

use crate::budget::{Budget, Exhausted, Fuel};
use crate::expression::{Evaluator, Expr, Node, Symbol, Undefined, UndefinedReason};
use crate::number::rational::{self, integer};
use crate::problem::Problem;

use super::{Side, StopReason, Term, TermValue};

/// Multiplying out is what costs when values are sums of many terms: measured, about so many units
/// for each node of the result.
const MULTIPLYING_OUT: u64 = 16;

/// Deeply nested constants are multiplied out at every level, and the terms compared to the bottom:
/// the work of a node grows by one unit for so many pairs of levels.
const LEVEL_PAIRS: u64 = 64;

/// Closed forms with more nodes than this are far beyond reading, and so are the lines that they
/// are put into.
const LONGEST_VALUE: usize = 1000;

/// What is known so far at the center.
#[derive(Clone, Debug)]
pub(super) struct Known {
    center: Expr,
    /// For each unknown its derivatives at the center, from order 0, without gaps.
    values: Vec<Vec<Expr>>,
    /// Values found so far: those of the functions return in row after row.
    evaluator: RefCell<Evaluator>,
}

impl Known {
    /// Nothing but the center.
    pub(super) fn new(problem: &Problem) -> Self {
        Self {
            center: problem.center.clone(),
            values: vec![Vec::new(); problem.unknowns.len()],
            evaluator: RefCell::default(),
        }
    }

    /// The next derivative of `unknown` becomes known.
    pub(super) fn push(&mut self, unknown: usize, value: Expr) {
        if let Some(values) = self.values.get_mut(unknown) {
            values.push(value);
        }
    }

    fn of(&self, symbol: &Symbol) -> Option<Expr> {
        match symbol {
            Symbol::Variable => Some(self.center.clone()),
            Symbol::Derivative { unknown, order } => self
                .values
                .get(*unknown)?
                .get(usize::try_from(*order).ok()?)
                .cloned(),
            Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        }
    }

    /// The value of `expression`, a closed constant in normal form.
    ///
    /// # Errors
    /// [`Undefined`] when it has none, contains something that is not known yet, or `fuel` runs
    /// out ([`UndefinedReason::TooLarge`]).
    pub(super) fn value(&self, expression: &Expr, fuel: &mut Fuel) -> Result<Expr, Undefined> {
        self.evaluated(&expression.substitute(&|symbol| self.of(symbol)), fuel)
    }

    /// `expression` with everything known in place, in normal form.
    pub(super) fn put_in(&self, expression: &Expr) -> Expr {
        expression.substitute(&|symbol| self.of(symbol))
    }

    /// The same with `new` standing for `symbol`, a derivative that is not known yet.
    pub(super) fn value_assuming(
        &self,
        expression: &Expr,
        symbol: &Symbol,
        new: &Expr,
        fuel: &mut Fuel,
    ) -> Result<Expr, Undefined> {
        let letter = |own: &Symbol| {
            if own == symbol {
                Some(new.clone())
            } else {
                self.of(own)
            }
        };
        self.evaluated(&expression.substitute(&letter), fuel)
    }

    /// The first factor of `term` that is zero at the initial data; of a power with a positive
    /// exponent the base.
    pub(super) fn zero_factor(&self, term: &Expr, fuel: &mut Fuel) -> Option<Expr> {
        term.factors().into_iter().find_map(|factor| {
            let suspect = match factor.node() {
                Node::Power(base, exponent)
                    if exponent.as_number().is_some_and(Signed::is_positive) =>
                {
                    base.clone()
                }
                _ => factor,
            };
            self.value(&suspect, fuel)
                .ok()?
                .is_zero()
                .then_some(suspect)
        })
    }

    fn evaluated(&self, constant: &Expr, fuel: &mut Fuel) -> Result<Expr, Undefined> {
        let too_large = |_| Undefined {
            reason: UndefinedReason::TooLarge,
            expression: constant.clone(),
        };
        let nodes = |expression: &Expr| u64::try_from(expression.size()).unwrap_or(u64::MAX);
        let depth = u64::from(constant.depth());
        let per_node = 1 + depth * depth / LEVEL_PAIRS;
        fuel.spend(nodes(constant).saturating_mul(per_node))
            .map_err(too_large)?;
        let value = self.evaluator.borrow_mut().evaluate(constant)?;
        let long = match value.as_number() {
            Some(number) => rational::bits(number) > Budget::PAGE.bits,
            None => value.size() > LONGEST_VALUE,
        };
        if long {
            return Err(too_large(Exhausted));
        }
        if value.as_number().is_none() {
            let work = nodes(&value).saturating_mul(MULTIPLYING_OUT);
            fuel.spend(work).map_err(too_large)?;
        }
        Ok(value)
    }

    /// The sum of closed constants.
    ///
    /// # Errors
    /// [`StopReason::Undefined`] if it has no value.
    pub(super) fn total(
        &self,
        values: impl IntoIterator<Item = Expr>,
        fuel: &mut Fuel,
    ) -> Result<Expr, StopReason> {
        let sum = Expr::sum(values.into_iter().collect());
        self.evaluated(&sum, fuel)
            .map_err(|because| undefined(&sum, because))
    }
}

/// Values of all terms of a line; terms that contain `new` (the derivative that the row is about)
/// have none.
///
/// # Errors
/// [`StopReason::Undefined`] for the first term that has no value.
pub(super) fn of_terms(
    terms: &[Term],
    known: &Known,
    new: &Symbol,
    fuel: &mut Fuel,
) -> Result<Vec<TermValue>, StopReason> {
    let mut values = Vec::with_capacity(terms.len());
    for term in terms {
        let expression = &term.expression;
        let value = if expression.contains(new) {
            None
        } else {
            match known.value(expression, fuel) {
                Ok(value) => Some(value),
                // Order by order a line may hold derivatives beyond the new one.
                Err(because) if because.reason == UndefinedReason::NotConstant => None,
                Err(because) => return Err(undefined(expression, because)),
            }
        };
        let zero_factor = match &value {
            Some(value) if !value.is_zero() => None,
            _ => known.zero_factor(expression, fuel),
        };
        values.push(TermValue {
            term: term.id,
            value,
            zero_factor,
        });
    }
    Ok(values)
}

pub(super) fn undefined(term: &Expr, because: Undefined) -> StopReason {
    StopReason::Undefined {
        term: term.clone(),
        because,
    }
}

/// A side, linear in the new derivative, as `leading · new + rest`.
#[derive(Clone, Debug)]
pub(super) struct Linear {
    pub(super) leading: Expr,
    pub(super) rest: Expr,
}

/// Splits a side whose values are filled in.
///
/// # Errors
/// [`StopReason::Undefined`] for a term without a value, [`StopReason::NotLinear`].
pub(super) fn linear(
    side: &Side,
    known: &Known,
    new: &Symbol,
    fuel: &mut Fuel,
) -> Result<Linear, StopReason> {
    let mut leading = Vec::new();
    let mut rest = Vec::new();
    for (term, value) in side.combined.iter().zip(&side.values) {
        if let Some(value) = &value.value {
            rest.push(value.clone());
            continue;
        }
        let expression = &term.expression;
        let without_value = |because| undefined(expression, because);
        let factors = expression.factors();
        let is_new = |factor: &Expr| matches!(factor.node(), Node::Symbol(symbol) if symbol == new);
        let (own, others): (Vec<Expr>, Vec<Expr>) = factors.into_iter().partition(is_new);
        if own.len() == 1 && !others.iter().any(|factor| factor.contains(new)) {
            let coefficient = known.value(&Expr::product(others), fuel);
            leading.push(coefficient.map_err(without_value)?);
            continue;
        }
        // The new derivative stands inside a bracket: a linear function is known from its values
        // at 0 and 1, and shows at 2 whether it is one.
        let at = |place: Expr, fuel: &mut Fuel| {
            known
                .value_assuming(expression, new, &place, fuel)
                .map_err(without_value)
        };
        let (at_zero, at_one) = (at(Expr::zero(), fuel)?, at(Expr::one(), fuel)?);
        let at_two = at(Expr::int(2), fuel)?;
        let slope = known.total([at_one, at_zero.neg()], fuel)?;
        let bend = known.total([at_two, slope.scale(&integer(-2)), at_zero.neg()], fuel)?;
        if !bend.is_zero() {
            return Err(StopReason::NotLinear(expression.clone()));
        }
        leading.push(slope);
        rest.push(at_zero);
    }
    Ok(Linear {
        leading: known.total(leading, fuel)?,
        rest: known.total(rest, fuel)?,
    })
}
