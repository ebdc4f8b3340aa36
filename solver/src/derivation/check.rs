//! The checker: replays a derivation and trusts nothing in it.
//!
//! Rules are written out here once more, in their textbook form, and compared by value
//! ([`super::fingerprint`]); every line is also compared with its predecessor differentiated
//! forward without any trace; values are found again by putting everything known into the terms
//! as obtained.

use std::collections::{BTreeMap, BTreeSet};

use num_traits::Signed;

use crate::expression::evaluate;
use crate::expression::{Expr, Node, Symbol};
use crate::expression::{Truth, zero_test};
use crate::problem::Problem;

use super::deriver::first_line;
use super::fingerprint::{is_derivative, same_sum};
use super::replay::replay;
use super::{Demand, Derivation, Row, RowKind, Side, StopReason, Term, TermValue};

/// What the checker found.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Check {
    /// Rows looked at.
    pub rows: usize,
    /// Applications of rules replayed.
    pub traces: usize,
    /// Comparisons that could not be decided.
    pub undecided: usize,
    /// What is wrong; empty when all is well.
    pub defects: Vec<Defect>,
}

/// Something wrong in one row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Defect {
    /// Index into [`Derivation::rows`].
    pub row: usize,
    /// What.
    pub kind: DefectKind,
}

/// What can be wrong.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum DefectKind {
    /// Orders are not consecutive, an unknown or a predecessor does not exist, or there is a row
    /// after the last.
    RowOrder,
    /// Not the value that the problem gives.
    InitialValue,
    /// The first line is not the equation.
    Given,
    /// An identifier occurs twice.
    Identifier,
    /// A trace does not fit the term it is for, or a child the part it is for.
    TraceInput,
    /// A trace's result is not what its rule says.
    TraceOutput,
    /// Terms as obtained are not the sum that the trace gives.
    Obtained,
    /// A line is not the derivative of the line before.
    Derivative,
    /// A term's sources do not exist, or are not where they should be.
    Sources,
    /// Combining like terms changed the sum.
    Combined,
    /// Like terms were left uncombined, or are out of order.
    LikeTerms,
    /// A term's value at the initial data is wrong or missing.
    TermValue,
    /// A factor said to be zero is not, or is no factor.
    ZeroFactor,
    /// The two sides do not agree with the row's value put in.
    Value,
    /// Value, leading value and rest do not belong together.
    Leading,
    /// A stopped row could have gone on.
    Stopped,
}

/// Replays `derivation` of `problem`.
pub fn check(problem: &Problem, derivation: &Derivation) -> Check {
    let mut checker = Checker {
        problem,
        derivation,
        known: BTreeMap::new(),
        last: BTreeMap::new(),
        ids: BTreeSet::new(),
        row: 0,
        report: Check::default(),
    };
    for (index, row) in derivation.rows.iter().enumerate() {
        checker.row = index;
        checker.check_row(row);
        checker.report.rows += 1;
    }
    checker.report
}

struct Checker<'a> {
    problem: &'a Problem,
    derivation: &'a Derivation,
    known: BTreeMap<Symbol, Expr>,
    /// For each unknown the last worked row's sides.
    last: BTreeMap<usize, (&'a Side, &'a Side)>,
    ids: BTreeSet<usize>,
    row: usize,
    report: Check,
}

impl<'a> Checker<'a> {
    fn defect(&mut self, kind: DefectKind) {
        self.report.defects.push(Defect {
            row: self.row,
            kind,
        });
    }

    fn require(&mut self, holds: bool, kind: DefectKind) {
        if !holds {
            self.defect(kind);
        }
    }

    fn require_decided(&mut self, holds: Option<bool>, kind: DefectKind) {
        match holds {
            Some(holds) => self.require(holds, kind),
            None => self.report.undecided += 1,
        }
    }

    fn check_row(&mut self, row: &'a Row) {
        let rows_before = self.derivation.rows.iter().take(self.row);
        let mut own = rows_before.clone().filter(|r| r.unknown == row.unknown);
        let outgrown = own.any(|r| r.kind == RowKind::SeriesOnly);
        let expected_order = rows_before
            .clone()
            .filter(|r| r.unknown == row.unknown && !matches!(r.kind, RowKind::Holds { .. }))
            .count();
        let mut before = rows_before;
        let ended = before.any(|r| matches!(r.kind, RowKind::Stopped { .. }));
        self.require(
            row.order == expected_order && !ended && row.unknown < self.problem.unknowns.len(),
            DefectKind::RowOrder,
        );
        let initial = self.problem.initial.get(row.unknown);
        let in_steps = self.problem.order_by_order().is_some();
        let given = if in_steps {
            self.problem.fixed(row.unknown, row.order)
        } else {
            initial.and_then(|values| values.get(row.order))
        };
        if outgrown {
            self.require(row.kind == RowKind::SeriesOnly, DefectKind::RowOrder);
        }
        match &row.kind {
            RowKind::Initial => {
                let given = self.problem.given(row.unknown, row.order);
                self.require(
                    given.is_some() && row.value.as_ref() == given,
                    DefectKind::InitialValue,
                );
            }
            RowKind::SeriesOnly => self.require(given.is_none(), DefectKind::RowOrder),
            RowKind::Worked {
                left,
                right,
                leading_value,
                rest_value,
            } => {
                self.check_agrees(given.filter(|_| in_steps), row);
                self.require(in_steps || given.is_none(), DefectKind::InitialValue);
                self.check_lines(row, left, right);
                self.check_values(row, left, right);
                self.check_leading(row, leading_value.as_ref(), rest_value.as_ref());
            }
            RowKind::Chosen {
                left,
                right,
                values,
            } => {
                self.require(in_steps, DefectKind::RowOrder);
                self.check_agrees(given, row);
                let near = self.problem.near(row.unknown, row.order).is_some();
                let several = values.len() != 1 && given.is_none() && !near;
                self.require(!several, DefectKind::InitialValue);
                self.check_lines(row, left, right);
                self.check_values(row, left, right);
            }
            RowKind::Holds { left, right } => {
                self.require(in_steps && row.value.is_none(), DefectKind::Value);
                self.check_lines(row, left, right);
                let difference = difference(left, right);
                let zero = self.value_of(&difference).map(|value| is_zero(&value));
                self.require_decided(zero.unwrap_or(Some(false)), DefectKind::Value);
            }
            RowKind::Stopped {
                left,
                right,
                reason,
            } => {
                self.require(row.value.is_none(), DefectKind::Value);
                self.check_lines(row, left, right);
                self.check_stop(row, reason, &difference(left, right));
            }
        }
        if let (Some(symbol), Some(value)) = (symbol_of(row), &row.value) {
            self.known.insert(symbol, value.clone());
        }
    }

    fn check_lines(&mut self, row: &Row, left: &'a Side, right: &'a Side) {
        match self.last.insert(row.unknown, (left, right)) {
            None => {
                self.check_given(row, left, right);
            }
            Some((last_left, last_right)) => {
                self.check_side(last_left, left);
                self.check_side(last_right, right);
            }
        }
        for side in [left, right] {
            self.check_identifiers(side);
            if side.before_put_in.is_empty() {
                self.check_combined(&side.obtained, &side.combined);
            } else {
                self.check_combined(&side.obtained, &side.before_put_in);
                self.check_put_in(row.unknown, side);
            }
        }
    }

    /// The equation put in for its highest derivative, and like terms combined.
    fn check_put_in(&mut self, unknown: usize, side: &Side) {
        let (Some(equation), Some(own)) = (
            self.problem.equations.get(unknown),
            self.problem.unknowns.get(unknown),
        ) else {
            self.defect(DefectKind::RowOrder);
            return;
        };
        let symbol = Symbol::Derivative {
            unknown,
            order: own.equation_order,
        };
        let instead = Expr::raw_sum(equation.solved.clone());
        let before: Vec<Term> = side
            .before_put_in
            .iter()
            .map(|term| Term {
                expression: put_in(&term.expression, &symbol, &instead),
                ..term.clone()
            })
            .collect();
        self.check_combined(&before, &side.combined);
    }

    fn check_given(&mut self, row: &Row, left: &Side, right: &Side) {
        let equation = self.problem.equations.get(row.unknown);
        let (Some(equation), Some(symbol)) = (equation, symbol_of(row)) else {
            self.defect(DefectKind::RowOrder);
            return;
        };
        let (given_left, given_right) = first_line(equation, self.derivation.route, &symbol);
        for (side, given) in [(left, given_left), (right, given_right)] {
            self.require(expressions(&side.obtained) == given, DefectKind::Given);
            let rootless = side.obtained.iter().all(|term| term.sources.is_empty());
            self.require(rootless, DefectKind::Sources);
            self.require(side.traces.is_empty(), DefectKind::TraceInput);
        }
    }

    /// A side against the same side of the line before.
    fn check_side(&mut self, last: &Side, side: &Side) {
        self.require(
            side.traces.len() == last.combined.len(),
            DefectKind::TraceInput,
        );
        for (term, trace) in last.combined.iter().zip(&side.traces) {
            self.require(trace.input == term.expression, DefectKind::TraceInput);
            let replayed = replay(trace);
            self.report.traces += replayed.traces;
            self.report.undecided += replayed.undecided;
            for kind in replayed.defects {
                self.defect(kind);
            }
            let from_term: Vec<Expr> = side
                .obtained
                .iter()
                .filter(|obtained| obtained.sources == [term.id])
                .map(|obtained| obtained.expression.clone())
                .collect();
            self.require(!from_term.is_empty(), DefectKind::Sources);
            let same = same_sum(&from_term, std::slice::from_ref(&trace.output));
            self.require_decided(same, DefectKind::Obtained);
        }
        let known_source = |term: &Term| match term.sources.as_slice() {
            [source] => last.combined.iter().any(|before| before.id == *source),
            _ => false,
        };
        self.require(side.obtained.iter().all(known_source), DefectKind::Sources);
        let derived = is_derivative(&expressions(&last.combined), &expressions(&side.obtained));
        self.require_decided(derived, DefectKind::Derivative);
    }

    fn check_identifiers(&mut self, side: &Side) {
        let terms = side.obtained.iter().chain(&side.before_put_in);
        for term in terms.chain(&side.combined) {
            if !self.ids.insert(term.id) {
                self.defect(DefectKind::Identifier);
            }
        }
    }

    /// Groups that share sources must keep their sums. Where a quotient's part cancels against
    /// another term the affected groups and everything that is gone are compared together.
    fn check_combined(&mut self, obtained: &[Term], combined: &[Term]) {
        let place_of = |id: &usize| obtained.iter().position(|term| term.id == *id);
        let mut group_of: Vec<usize> = (0..obtained.len()).collect();
        let mut first_places = Vec::new();
        let mut members: Vec<(usize, &Term)> = Vec::new();
        for term in combined {
            let places: Option<Vec<usize>> = term.sources.iter().map(place_of).collect();
            let Some(places) = places.filter(|places| !places.is_empty()) else {
                self.defect(DefectKind::Sources);
                return;
            };
            first_places.extend(places.iter().min().copied());
            let groups: BTreeSet<usize> = places
                .iter()
                .filter_map(|place| group_of.get(*place).copied())
                .collect();
            let target = groups.first().copied().unwrap_or_default();
            for group in &mut group_of {
                if groups.contains(group) {
                    *group = target;
                }
            }
            for (group, _) in &mut members {
                if groups.contains(group) {
                    *group = target;
                }
            }
            members.push((target, term));
        }
        let mut changed: (Vec<Expr>, Vec<Expr>) = (Vec::new(), Vec::new());
        for group in group_of.iter().copied().collect::<BTreeSet<usize>>() {
            let before: Vec<Expr> = obtained
                .iter()
                .zip(&group_of)
                .filter(|(_, own)| **own == group)
                .map(|(term, _)| term.expression.clone())
                .collect();
            let after: Vec<Expr> = members
                .iter()
                .filter(|(own, _)| *own == group)
                .map(|(_, term)| term.expression.clone())
                .collect();
            match same_sum(&before, &after) {
                Some(true) => {}
                Some(false) => {
                    changed.0.extend(before);
                    changed.1.extend(after);
                }
                None => self.report.undecided += 1,
            }
        }
        self.require_decided(same_sum(&changed.0, &changed.1), DefectKind::Combined);
        let rests: BTreeSet<Expr> = combined
            .iter()
            .map(|term| term.expression.split_coefficient().1)
            .collect();
        let in_order = first_places.is_sorted();
        let zeros = combined.iter().any(|term| term.expression.is_zero());
        self.require(
            rests.len() == combined.len() && in_order && !zeros,
            DefectKind::LikeTerms,
        );
    }

    fn check_values(&mut self, row: &Row, left: &Side, right: &Side) {
        let (Some(symbol), Some(row_value)) = (symbol_of(row), &row.value) else {
            self.defect(DefectKind::Value);
            return;
        };
        self.require(row_value.is_constant(), DefectKind::Value);
        for side in [left, right] {
            self.require(
                side.values.len() == side.combined.len(),
                DefectKind::TermValue,
            );
            for (term, value) in side.combined.iter().zip(&side.values) {
                self.check_term_value(term, value, &symbol);
            }
        }
        // Both sides as obtained with the new value put in must agree.
        self.known.insert(symbol, row_value.clone());
        let zero = self
            .value_of(&difference(left, right))
            .map(|value| is_zero(&value));
        self.require_decided(zero.unwrap_or(Some(false)), DefectKind::Value);
    }

    /// The value is the given one, where one is given.
    fn check_agrees(&mut self, given: Option<&Expr>, row: &Row) {
        if let (Some(given), Some(value)) = (given, &row.value) {
            self.require_decided(is_zero(&given.sub(value)), DefectKind::InitialValue);
        }
    }

    fn check_term_value(&mut self, term: &Term, value: &TermValue, new: &Symbol) {
        self.require(value.term == term.id, DefectKind::TermValue);
        let own = self.value_of(&term.expression);
        match (&value.value, own) {
            (Some(stated), Some(own)) => {
                let same = is_zero(&own.sub(stated));
                self.require_decided(same, DefectKind::TermValue);
            }
            (None, None) => {
                let expected = self.problem.order_by_order().is_some();
                self.require(
                    expected || term.expression.contains(new),
                    DefectKind::TermValue,
                );
            }
            (Some(_), None) | (None, Some(_)) => self.defect(DefectKind::TermValue),
        }
        if let Some(factor) = &value.zero_factor {
            let is_factor = term
                .expression
                .factors()
                .iter()
                .any(|own| match own.node() {
                    Node::Power(base, exponent) => {
                        own == factor
                            || base == factor
                                && exponent.as_number().is_some_and(Signed::is_positive)
                    }
                    _ => own == factor,
                });
            let vanishes = self.value_of(factor).map(|value| is_zero(&value));
            self.require(
                is_factor && vanishes == Some(Some(true)),
                DefectKind::ZeroFactor,
            );
        }
    }

    fn check_leading(&mut self, row: &Row, leading: Option<&Expr>, rest: Option<&Expr>) {
        let standing = self.derivation.route == crate::problem::Route::Standing;
        match (leading, rest, &row.value) {
            (Some(leading), Some(rest), Some(value)) if standing => {
                let product = Expr::product(vec![leading.clone(), value.clone()]);
                let holds = is_zero(&product.sub(rest));
                self.require_decided(holds, DefectKind::Leading);
                self.require(zero_test(leading) == Truth::NotZero, DefectKind::Leading);
            }
            (None, None, _) if !standing => {}
            _ => self.defect(DefectKind::Leading),
        }
    }

    fn check_stop(&mut self, row: &Row, reason: &StopReason, difference: &Expr) {
        let given = self.problem.fixed(row.unknown, row.order);
        let justified = match reason {
            StopReason::Demand(Demand::Contradiction(value)) => {
                let left = self.value_of(difference);
                left.is_some_and(|left| is_zero(&left.add(value)) == Some(true))
                    && zero_test(value) == Truth::NotZero
            }
            StopReason::Demand(Demand::NotAsGiven(value)) => {
                given.is_some_and(|given| is_zero(&given.sub(value)) == Some(false))
            }
            StopReason::Demand(Demand::GivenFails) => given.is_some(),
            StopReason::Demand(_) => self.problem.order_by_order().is_some() && given.is_none(),
            StopReason::Undefined { term, .. } => self.value_of(term).is_none(),
            StopReason::LeadingUndecided(leading) => zero_test(leading) == Truth::Undecided,
            StopReason::LeadingZero | StopReason::NotLinear(_) => true,
        };
        self.require(justified, DefectKind::Stopped);
    }

    /// Everything known put in; `None`: no value, or something unknown is left.
    fn value_of(&self, expression: &Expr) -> Option<Expr> {
        let substituted = expression.substitute(&|symbol| match symbol {
            Symbol::Variable => Some(self.problem.center.clone()),
            other => self.known.get(other).cloned(),
        });
        let value = evaluate(&substituted).ok()?;
        value.is_constant().then_some(value)
    }
}

/// Left side minus right side, as obtained.
fn difference(left: &Side, right: &Side) -> Expr {
    let left = left.obtained.iter().map(|term| term.expression.clone());
    let right = right.obtained.iter().map(|term| term.expression.neg());
    Expr::raw_sum(left.chain(right).collect())
}

/// `instead` in place of a letter, nothing else touched.
fn put_in(expression: &Expr, symbol: &Symbol, instead: &Expr) -> Expr {
    let all = |parts: &[Expr]| {
        parts
            .iter()
            .map(|part| put_in(part, symbol, instead))
            .collect()
    };
    match expression.node() {
        Node::Symbol(own) if own == symbol => instead.clone(),
        Node::Number(_) | Node::Symbol(_) => expression.clone(),
        Node::Call(function, argument) => {
            Expr::raw_call(*function, put_in(argument, symbol, instead))
        }
        Node::Power(base, exponent) => Expr::raw_power(
            put_in(base, symbol, instead),
            put_in(exponent, symbol, instead),
        ),
        Node::Product(factors) => Expr::raw_product(all(factors)),
        Node::Sum(terms) => Expr::raw_sum(all(terms)),
    }
}

fn symbol_of(row: &Row) -> Option<Symbol> {
    Some(Symbol::Derivative {
        unknown: row.unknown,
        order: u32::try_from(row.order).ok()?,
    })
}

fn expressions(terms: &[Term]) -> Vec<Expr> {
    terms.iter().map(|term| term.expression.clone()).collect()
}

/// Three-valued: `None` when it cannot be decided, or the difference has no value.
fn is_zero(difference: &Expr) -> Option<bool> {
    let value = evaluate(difference).ok()?;
    match zero_test(&value) {
        Truth::Zero => Some(true),
        Truth::NotZero => Some(false),
        Truth::Undecided => None,
    }
}
