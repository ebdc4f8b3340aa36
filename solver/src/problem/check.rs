//! The data put into the equation: is the leading coefficient not zero, is everything analytic?

use super::build::{self, Form};
use super::conditions::Given;
use super::justify::is_linear;
use super::letters::{Letters, value_letters};
use super::names::Names;
use super::point::InitialData;
use super::solve::Solution;
use super::walk::{nodes, terms};
use super::wording::{derivative, typed_derivative, typeset};
use super::{Checked, Equation, Justification, OrderByOrder, Route};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Suggestion};
use crate::expression::{Expr, Symbol, Truth, evaluate, zero_test};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::span::{Field, Span};
use crate::syntax::{Condition, Kind, Relation};

/// Everything known before the data are put into the equation.
pub(super) struct Stage<'a> {
    /// The equation's text.
    pub(super) text: &'a str,
    pub(super) conditions: &'a [Condition],
    pub(super) budget: &'a Budget,
    /// Speaking of the unknown that the equation is solved for.
    pub(super) names: Names,
    pub(super) relation: &'a Relation,
    pub(super) solution: &'a Solution,
    pub(super) given: &'a Given,
}

type Checks = Result<(Expr, Vec<Checked>), Box<Diagnostic>>;

impl Stage<'_> {
    /// Must each order show what it demands, because the highest derivative is not given by the
    /// equation at the data? `None` also where that cannot be told.
    pub(super) fn order_by_order(&self) -> Option<OrderByOrder> {
        if self.solution.leading.is_zero() {
            return Some(OrderByOrder::NotLinear);
        }
        let value = evaluate(&self.put_in(&self.solution.leading, &self.given.center)).ok()?;
        if zero_test(&value) != Truth::Zero {
            return None;
        }
        Some(if is_linear(self.solution) {
            OrderByOrder::SingularPoint
        } else {
            OrderByOrder::LeadingVanishes
        })
    }

    /// Is everything that the equation is built from analytic at the data, as far as they are
    /// known? A singular point is said, with a way out.
    ///
    /// # Errors
    /// A diagnostic when it is not.
    pub(super) fn check_given(
        &self,
        why: OrderByOrder,
        out: &mut Vec<Diagnostic>,
    ) -> Result<(), Box<Diagnostic>> {
        let other = || self.another_center(std::slice::from_ref(self)).into_iter();
        self.analytic(&self.given.center, &self.given.center_text)
            .map_err(|mut diagnostic| {
                if diagnostic.outcome == Outcome::Undefined {
                    diagnostic.suggestions.extend(other());
                }
                diagnostic
            })?;
        let Some((code, message)) = self.leading_vanishes(why) else {
            return Ok(());
        };
        let message = format!(
            "{message} {}",
            match why {
                OrderByOrder::SingularPoint =>
                    "The equation is differentiated as it stands, and each order shows what it demands.",
                _ => "It is differentiated as it stands, and each order shows what it demands.",
            }
        );
        let mut notice = Diagnostic::notice(code, Field::Equation, self.leading_place(), message);
        notice.suggestions.extend(other());
        out.push(notice);
        Ok(())
    }

    /// What is said of a system where the highest derivative is not given at the data: it is not
    /// worked out order by order.
    pub(super) fn system_stops(&self, why: OrderByOrder, all: &[Self]) -> Option<Diagnostic> {
        let (code, message) = self.leading_vanishes(why)?;
        let message = format!(
            "{message} A system is worked out only where the equations give all highest derivatives."
        );
        let mut error = Diagnostic::error(code, Field::Equation, self.leading_place(), message)
            .outcome(Outcome::Unable);
        error.suggestions.extend(self.another_center(all));
        Some(error)
    }

    /// A leading coefficient that is zero at the data, in words.
    fn leading_vanishes(&self, why: OrderByOrder) -> Option<(&'static str, String)> {
        let text = &self.given.center_text;
        let highest = derivative(&self.names.unknown, self.names.order);
        let x = typeset(&self.names.variable);
        match why {
            OrderByOrder::NotLinear => None,
            OrderByOrder::SingularPoint => Some((
                "singular-center",
                format!(
                    "{x} = {text} is a singular point: the coefficient of {highest} vanishes there."
                ),
            )),
            OrderByOrder::LeadingVanishes => Some((
                "leading-zero",
                format!(
                    "The coefficient of {highest} is 0 at {}, so the equation{} not give {highest} there.",
                    self.words(text),
                    if self.names.is_system() {
                        "s do"
                    } else {
                        " does"
                    },
                ),
            )),
        }
    }

    /// The equation of the unknown with this index.
    pub(super) fn equation(&self, unknown: usize, justification: Justification) -> Equation {
        let solution = self.solution.clone();
        Equation {
            given: build::sides(self.relation, &self.names, Form::Typed),
            unknown,
            // Dividing by the leading coefficient would divide by zero.
            default_route: match justification {
                Justification::OrderByOrder(_) => Route::Standing,
                Justification::OrdinaryPoint { .. } | Justification::AnalyticRightSide { .. } => {
                    solution.default_route
                }
            },
            justification,
            standing: solution.standing,
            leading: solution.leading,
            solved: solution.solved,
            steps: solution.steps,
            standing_steps: solution.standing_steps,
        }
    }

    /// What was checked for both sides' being analytic at the data.
    fn analytic(&self, center: &Expr, center_text: &str) -> Result<Vec<Checked>, Box<Diagnostic>> {
        let data = InitialData {
            names: &self.names,
            text: self.text,
            field: Field::Equation,
            budget: self.budget,
            center: Some(center.clone()),
            initial: self.given.values.clone(),
            words: self.all_words(center_text),
        };
        let mut checked = Vec::new();
        data.value(&self.relation.left, &mut checked)?;
        data.value(&self.relation.right, &mut checked)?;
        Ok(checked)
    }

    /// The leading coefficient's value, and what else was checked. Another center is proposed
    /// only where all equations can be worked with.
    pub(super) fn check(&self, all: &[Self]) -> Checks {
        let text = &self.given.center_text;
        match self.check_at(&self.given.center, text) {
            Ok(found) => Ok(found),
            Err(mut diagnostic) => {
                if diagnostic.outcome == Outcome::Undefined {
                    diagnostic.suggestions.extend(self.another_center(all));
                }
                Err(diagnostic)
            }
        }
    }

    fn check_at(&self, center: &Expr, center_text: &str) -> Checks {
        let leading_value = self.leading_value(center, center_text)?;
        let checked = self.analytic(center, center_text)?;
        match leading_value {
            Some(value) => Ok((value, checked)),
            // It has no value, and yet every part of it has.
            None => Err(Box::new(
                Diagnostic::error(
                    "undefined-value",
                    Field::Equation,
                    self.leading_place(),
                    format!(
                        "The coefficient of {} has no value at {}.",
                        derivative(&self.names.unknown, self.names.order),
                        self.words(center_text)
                    ),
                )
                .outcome(Outcome::Undefined),
            )),
        }
    }

    /// `None`: it has no value.
    fn leading_value(
        &self,
        center: &Expr,
        center_text: &str,
    ) -> Result<Option<Expr>, Box<Diagnostic>> {
        let value = self.put_in(&self.solution.leading, center);
        let Ok(value) = evaluate(&value) else {
            return Ok(None);
        };
        match zero_test(&value) {
            Truth::NotZero => Ok(Some(value)),
            // At another center than the one given, which `order_by_order` has looked at.
            Truth::Zero => Ok(None),
            Truth::Undecided => Err(Box::new(
                Diagnostic::error(
                    "undecided",
                    Field::Equation,
                    self.leading_place(),
                    format!(
                        "Whether the coefficient of {} is exactly zero at {} cannot be decided here, and the work depends on it.",
                        derivative(&self.names.unknown, self.names.order),
                        self.words(center_text)
                    ),
                )
                .outcome(Outcome::Unable),
            )),
        }
    }

    /// An expression with the data put in.
    fn put_in(&self, expression: &Expr, center: &Expr) -> Expr {
        expression.substitute(&|symbol| match symbol {
            Symbol::Variable => Some(center.clone()),
            Symbol::Derivative { unknown, order } => {
                let order = usize::try_from(*order).ok()?;
                self.given.values.get(*unknown)?.get(order).cloned()
            }
            Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        })
    }

    /// The term with the highest derivative.
    fn leading_place(&self) -> Span {
        [&self.relation.left, &self.relation.right]
            .into_iter()
            .flat_map(terms)
            .map(|(_, term)| term)
            .find(|term| {
                nodes(term).into_iter().any(|n| {
                    matches!(&n.kind, Kind::Derivative { of, order, .. }
                    if *of == self.names.unknown && *order == self.names.order)
                })
            })
            .map_or(self.relation.span, |term| term.span)
    }

    /// `x = 0`, then `y = 1`, `y′ = 2`, ….
    fn all_words(&self, center_text: &str) -> Vec<String> {
        let center = format!("{} = {center_text}", typeset(&self.names.variable));
        let mut words = vec![center];
        for ((name, _), texts) in self.names.unknowns.iter().zip(&self.given.value_texts) {
            for (order, text) in (0..).zip(texts) {
                words.push(format!("{} = {text}", derivative(name, order)));
            }
        }
        words
    }

    /// `x = 0, y = 1, y′ = 2`, the unknowns only where the equation holds them.
    fn words(&self, center_text: &str) -> String {
        let used = |place: usize| {
            nodes(&self.relation.left)
                .into_iter()
                .chain(nodes(&self.relation.right))
                .any(|n| match &n.kind {
                    Kind::Name(name) => self.names.place(name, 0) == Some(place),
                    Kind::Derivative { of, order, .. } => {
                        self.names.place(of, *order) == Some(place)
                    }
                    _ => false,
                })
        };
        let parts: Vec<String> = self
            .all_words(center_text)
            .into_iter()
            .enumerate()
            .filter(|(place, _)| match place.checked_sub(1) {
                None => true,
                Some(value) => used(value),
            })
            .map(|(_, words)| words)
            .collect();
        parts.join(", ")
    }

    /// The nearest whole or half number about the center where everything is analytic.
    fn another_center(&self, all: &[Self]) -> Option<Suggestion> {
        let own = self.given.center.as_number()?;
        let steps: [Rational; 6] = [
            integer(1),
            integer(-1),
            ratio(1, 2),
            ratio(-1, 2),
            integer(2),
            integer(-2),
        ];
        let place = steps.iter().map(|step| own + step).find(|place| {
            let text = place.to_string();
            let at = Expr::number(place.clone());
            all.iter().all(|stage| stage.check_at(&at, &text).is_ok())
        })?;
        let mut edits: Vec<Edit> = Vec::new();
        for condition in self.conditions {
            let span = condition.point.span;
            // A point given in words is shared.
            if edits.iter().all(|edit| edit.span != span) {
                edits.push(Edit {
                    field: Field::Conditions,
                    span,
                    replacement: place.to_string(),
                });
            }
        }
        let added = self.with_letters(all, &place.to_string());
        let also = if added.is_some() {
            ", with letters for the missing values"
        } else {
            ""
        };
        edits.extend(added);
        Some(Suggestion {
            label: format!(
                "take {} = {place} as center{also}",
                typeset(&self.names.variable)
            ),
            edits,
        })
    }

    /// At an ordinary point every derivative below the highest needs a value: letters for those that
    /// have no condition.
    fn with_letters(&self, all: &[Self], place: &str) -> Option<Edit> {
        let relations: Vec<Relation> = all.iter().map(|stage| stage.relation.clone()).collect();
        let used = Letters::of(&relations, self.conditions, &self.names);
        let unknowns = self.names.unknowns.iter();
        let orders = unknowns.flat_map(|(name, order)| (0..*order).map(move |k| (name, k)));
        let letters = value_letters(
            self.names.unknowns.iter().map(|(_, order)| order).sum(),
            &used,
        );
        let missing: Vec<String> = orders
            .zip(&letters)
            .filter(|((name, order), _)| {
                !self
                    .conditions
                    .iter()
                    .any(|own| own.unknown == **name && own.order == *order)
            })
            .map(|((name, order), letter)| {
                format!("{}({place}) = {letter}", typed_derivative(name, order))
            })
            .collect();
        if missing.is_empty() {
            return None;
        }
        let end = self.conditions.iter().map(|own| own.span.end).max();
        let separator = if end.is_some() { ", " } else { "" };
        let end = end.unwrap_or(0);
        Some(Edit {
            field: Field::Conditions,
            span: Span::new(end, end),
            replacement: format!("{separator}{}", missing.join(", ")),
        })
    }
}
