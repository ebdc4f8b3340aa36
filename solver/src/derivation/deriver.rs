//! Row by row: initial values, the equation at the initial data, then its derivatives.

use crate::budget::{Budget, Fuel};
use crate::expression::{Expr, Node, Symbol, Truth, UndefinedReason, factored, zero_test};
use crate::problem::{Equation, Problem, Route};

use super::differentiate::differentiate;
use super::like_terms::combine;
use super::values::{self, Known};
use super::{Derivation, Row, RowKind, Side, StopReason, Term};

/// Units of work for a whole derivation, as a multiple of [`Budget::nodes`]. One unit is about one
/// node written down by a rule, or evaluated.
const WORK: u64 = 50;

/// The last line of one equation.
#[derive(Clone, Debug)]
enum Last {
    /// No line yet: the equation itself is next.
    Nothing,
    /// Left and right side, like terms combined.
    Line(Vec<Term>, Vec<Term>),
    /// It has outgrown the budget, and its derivatives with it.
    Outgrown,
}

/// Works out a derivation one row at a time, as far as it is asked for.
#[derive(Clone, Debug)]
pub struct Deriver<'a> {
    pub(super) problem: &'a Problem,
    pub(super) budget: Budget,
    pub(super) known: Known,
    last: Vec<Last>,
    pub(super) fuel: Fuel,
    next_id: usize,
    stopped: bool,
    /// Order by order: a line that needs a value first.
    pub(super) waiting: Option<(Side, Side)>,
    /// Order by order: lines in a row that demanded nothing.
    pub(super) idle: usize,
    /// The value of some row was left open: what comes after depends on it.
    outgrown: bool,
    derivation: Derivation,
}

/// Rows of order 0 to `up_to` for every unknown (fewer when a row has no value). Values of
/// [`RowKind::SeriesOnly`] rows are left open.
pub fn derive(problem: &Problem, route: Route, up_to: usize, budget: &Budget) -> Derivation {
    let mut deriver = Deriver::new(problem, route, budget);
    while deriver.next_order() <= up_to && deriver.next_row().is_some() {}
    deriver.finish()
}

impl<'a> Deriver<'a> {
    /// A derivation without rows.
    pub fn new(problem: &'a Problem, route: Route, budget: &Budget) -> Self {
        let nodes = u64::try_from(budget.nodes).unwrap_or(u64::MAX);
        Self {
            problem,
            budget: *budget,
            fuel: Fuel::new(nodes.saturating_mul(WORK)),
            known: Known::new(problem),
            last: vec![Last::Nothing; problem.unknowns.len()],
            next_id: 0,
            stopped: false,
            waiting: None,
            idle: 0,
            outgrown: false,
            derivation: Derivation {
                route: match problem.order_by_order() {
                    None => route,
                    Some(_) => Route::Standing,
                },
                rows: Vec::new(),
            },
        }
    }

    /// The rows so far.
    pub fn derivation(&self) -> &Derivation {
        &self.derivation
    }

    /// The rows, for good.
    pub fn finish(self) -> Derivation {
        self.derivation
    }

    /// The lowest order that some unknown has no row for.
    pub fn next_order(&self) -> usize {
        (0..self.problem.unknowns.len())
            .map(|unknown| self.rows_of(unknown))
            .min()
            .unwrap_or(usize::MAX)
    }

    /// Works out one more row; `None` after a [`RowKind::Stopped`] row, and for a problem without
    /// equations.
    ///
    /// Unknowns take turns so that every equation is differentiated equally often: the k-th
    /// derivative of any equation needs nothing but what the first k rounds have found.
    pub fn next_row(&mut self) -> Option<&Row> {
        if self.stopped {
            return None;
        }
        let unknown = (0..self.problem.unknowns.len()).min_by_key(|&unknown| {
            let order = self.rows_of(unknown);
            let given = self.problem.initial.get(unknown).map_or(0, Vec::len);
            // Initial values first.
            order.checked_sub(given).map_or(0, |round| round + 1)
        })?;
        let order = self.rows_of(unknown);
        let initial = self.problem.initial.get(unknown)?;
        let row = if self.problem.order_by_order().is_some() {
            self.row_in_steps()?
        } else if let Some(value) = initial.get(order) {
            Row {
                unknown,
                order,
                kind: RowKind::Initial,
                value: Some(value.clone()),
            }
        } else {
            self.worked_row(unknown, order)?
        };
        if let Some(value) = &row.value {
            self.known.push(unknown, value.clone());
        }
        self.stopped = matches!(row.kind, RowKind::Stopped { .. });
        self.outgrown |= row.kind == RowKind::SeriesOnly;
        self.derivation.rows.push(row);
        self.derivation.rows.last()
    }

    /// Fills in the value of a [`RowKind::SeriesOnly`] row; true if there was such a row without
    /// a value.
    pub fn supply(&mut self, unknown: usize, order: usize, value: Expr) -> bool {
        let open = self.derivation.rows.iter_mut().find(|row| {
            row.unknown == unknown
                && row.order == order
                && row.value.is_none()
                && row.kind == RowKind::SeriesOnly
        });
        let Some(row) = open else {
            return false;
        };
        row.value = Some(value);
        true
    }

    pub(super) fn rows_of(&self, unknown: usize) -> usize {
        let rows = self.derivation.rows.iter();
        rows.filter(|row| row.unknown == unknown && !matches!(row.kind, RowKind::Holds { .. }))
            .count()
    }

    /// The equation, then its derivatives; `None` when the line outgrows the budget. It counts as
    /// outgrown until [`Deriver::keep_line`].
    pub(super) fn next_line(
        &mut self,
        unknown: usize,
        first: impl FnOnce() -> (Vec<Expr>, Vec<Expr>),
    ) -> Option<(Side, Side)> {
        let last = self.last.get_mut(unknown)?;
        let sides = match std::mem::replace(last, Last::Outgrown) {
            Last::Nothing => {
                let (left, right) = first();
                (self.given_side(left), self.given_side(right))
            }
            Last::Line(left, right) => self.differentiated(&left, &right)?,
            Last::Outgrown => return None,
        };
        self.fits(&sides.0, &sides.1).then_some(sides)
    }

    /// The line that is differentiated next.
    pub(super) fn keep_line(&mut self, unknown: usize, (left, right): &(Side, Side)) {
        if let Some(last) = self.last.get_mut(unknown) {
            *last = Last::Line(left.combined.clone(), right.combined.clone());
        }
    }

    fn worked_row(&mut self, unknown: usize, order: usize) -> Option<Row> {
        let problem = self.problem;
        let equation = problem.equations.get(unknown)?;
        let symbol = Symbol::Derivative {
            unknown,
            order: u32::try_from(order).ok()?,
        };
        let row = |kind, value| Row {
            unknown,
            order,
            kind,
            value,
        };
        let route = self.derivation.route;
        let next = if self.outgrown {
            None
        } else {
            self.next_line(unknown, || first_line(equation, route, &symbol))
        };
        let Some((mut left, mut right)) = next else {
            return Some(row(RowKind::SeriesOnly, None));
        };
        let solved = solve(
            &mut left,
            &mut right,
            route,
            &self.known,
            &symbol,
            &mut self.fuel,
        );
        Some(match solved {
            Ok(solution) => {
                let sides = (left, right);
                self.keep_line(unknown, &sides);
                let (left, right) = sides;
                let read = |value: &Expr| factored(value, &|name| problem.is_initial_letter(name));
                let kind = RowKind::Worked {
                    left,
                    right,
                    leading_value: solution.leading_value.as_ref().map(read),
                    rest_value: solution.rest_value.as_ref().map(read),
                };
                row(kind, Some(read(&solution.value)))
            }
            Err(StopReason::Undefined { because, .. })
                if because.reason == UndefinedReason::TooLarge =>
            {
                row(RowKind::SeriesOnly, None)
            }
            Err(reason) => {
                let kind = RowKind::Stopped {
                    left,
                    right,
                    reason,
                };
                row(kind, None)
            }
        })
    }

    fn fits(&self, left: &Side, right: &Side) -> bool {
        let terms = left.combined.len().max(right.combined.len());
        let nodes = [left, right]
            .iter()
            .flat_map(|side| &side.combined)
            .fold(0_usize, |sum, term| {
                sum.saturating_add(term.expression.size())
            });
        terms <= self.budget.terms && nodes <= self.budget.nodes
    }

    /// The equation's own terms; they come from nowhere.
    fn given_side(&mut self, terms: Vec<Expr>) -> Side {
        let obtained: Vec<Term> = terms
            .into_iter()
            .map(|expression| Term {
                id: self.fresh_id(),
                expression,
                sources: Vec::new(),
            })
            .collect();
        let parts: Vec<(usize, Expr)> = obtained
            .iter()
            .map(|term| (term.id, term.expression.clone()))
            .collect();
        let combined = combine(&parts, &mut self.next_id);
        Side {
            obtained,
            combined,
            ..Side::default()
        }
    }

    fn differentiated(&mut self, left: &[Term], right: &[Term]) -> Option<(Side, Side)> {
        let left = self.differentiated_side(left)?;
        let mut right = self.differentiated_side(right)?;
        self.put_in_equation(&mut right);
        Some((left, right))
    }

    fn differentiated_side(&mut self, previous: &[Term]) -> Option<Side> {
        let mut side = Side::default();
        let mut parts = Vec::new();
        for term in previous {
            let derived = differentiate(&term.expression, &mut self.fuel).ok()?;
            for piece in derived.pieces {
                let id = self.fresh_id();
                parts.extend(piece.parts.into_iter().map(|part| (id, part)));
                side.obtained.push(Term {
                    id,
                    expression: piece.raw,
                    sources: vec![term.id],
                });
            }
            side.traces.push(derived.trace);
        }
        side.combined = combine(&parts, &mut self.next_id);
        Some(side)
    }

    /// Puts the equation's right side in for its highest derivative where the line gets shorter by
    /// that, as √(1 + y′²)·y″/(1 + y′²) does with y″ = √(1 + y′²). Only roots of the unknown make
    /// that likely enough to try; a long line is left alone.
    fn put_in_equation(&mut self, side: &mut Side) {
        const LONGEST: usize = 4;
        let ([unknown], [equation]) = (
            self.problem.unknowns.as_slice(),
            self.problem.equations.as_slice(),
        ) else {
            return;
        };
        let symbol = Symbol::Derivative {
            unknown: 0,
            order: unknown.equation_order,
        };
        if self.derivation.route != Route::Solved
            || side.combined.len() > LONGEST
            || !side
                .combined
                .iter()
                .any(|term| term.expression.contains(&symbol))
            || !equation.solved.iter().any(has_root_of_unknown)
        {
            return;
        }
        let instead = Expr::sum(equation.solved.clone());
        let parts: Vec<(usize, Expr)> = side
            .combined
            .iter()
            .map(|term| {
                let put_in = |own: &Symbol| (*own == symbol).then(|| instead.clone());
                (term.id, term.expression.substitute(&put_in))
            })
            .collect();
        let first_id = self.next_id;
        let shorter = combine(&parts, &mut self.next_id);
        let nodes = |terms: &[Term]| terms.iter().map(|t| t.expression.size()).sum::<usize>();
        if shorter.len() <= side.combined.len() && nodes(&shorter) < nodes(&side.combined) {
            side.before_put_in = std::mem::replace(&mut side.combined, shorter);
        } else {
            self.next_id = first_id;
        }
    }

    fn fresh_id(&mut self) -> usize {
        let id = self.next_id;
        self.next_id += 1;
        id
    }
}

/// Does an unknown stand under a root?
fn has_root_of_unknown(expression: &Expr) -> bool {
    expression.has_derivative()
        && (matches!(expression.node(), Node::Power(_, exponent)
            if exponent.as_number().is_some_and(|value| !value.is_integer()))
            || expression.children().into_iter().any(has_root_of_unknown))
}

/// The equation in the form that is differentiated.
pub(super) fn first_line(
    equation: &Equation,
    route: Route,
    new: &Symbol,
) -> (Vec<Expr>, Vec<Expr>) {
    let without_zero = |terms: &[Expr]| terms.iter().filter(|t| !t.is_zero()).cloned().collect();
    match route {
        Route::Solved => (
            vec![Expr::raw(Node::Symbol(new.clone()))],
            without_zero(&equation.solved),
        ),
        Route::Standing => {
            let (left, right) = &equation.standing;
            (without_zero(left), without_zero(right))
        }
    }
}

struct Solution {
    value: Expr,
    leading_value: Option<Expr>,
    rest_value: Option<Expr>,
}

/// Fills in the values of both sides and finds the new derivative.
fn solve(
    left: &mut Side,
    right: &mut Side,
    route: Route,
    known: &Known,
    new: &Symbol,
    fuel: &mut Fuel,
) -> Result<Solution, StopReason> {
    left.values = values::of_terms(&left.combined, known, new, fuel)?;
    right.values = values::of_terms(&right.combined, known, new, fuel)?;
    if route == Route::Solved {
        let mut terms = Vec::with_capacity(right.values.len());
        for (term, value) in right.combined.iter().zip(&right.values) {
            let not_solved = || StopReason::NotLinear(term.expression.clone());
            terms.push(value.value.clone().ok_or_else(not_solved)?);
        }
        let value = known.total(terms, fuel)?;
        return Ok(Solution {
            value,
            leading_value: None,
            rest_value: None,
        });
    }
    let on_left = values::linear(left, known, new, fuel)?;
    let on_right = values::linear(right, known, new, fuel)?;
    let leading = known.total([on_left.leading, on_right.leading.neg()], fuel)?;
    let rest = known.total([on_right.rest, on_left.rest.neg()], fuel)?;
    match zero_test(&leading) {
        Truth::Zero => return Err(StopReason::LeadingZero),
        Truth::Undecided => return Err(StopReason::LeadingUndecided(leading)),
        Truth::NotZero => {}
    }
    Ok(Solution {
        value: known.total([rest.div(&leading)], fuel)?,
        leading_value: Some(leading),
        rest_value: Some(rest),
    })
}
