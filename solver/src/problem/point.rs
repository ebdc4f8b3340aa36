//! Values of what was typed at the initial data, and whether everything is analytic there.
//!
//! The syntax tree is walked, not the expression: so the diagnostics can point at the place, and
//! `x y / x` at x = 0 is a division by zero although its normal form is y. What is required of an
//! argument is where the function is analytic over the reals (DLMF 4.2, 4.23, 4.37).

use std::cmp::Ordering;

use num_traits::{Signed, ToPrimitive, Zero};

use super::build::{self, Form};
use super::names::{Meaning, Names};
use super::walk::{Place, factors, unbracketed};
use super::{Checked, Requirement};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Outcome};

use crate::expression::{
    Domain, Expr, Function, Truth, UndefinedReason, evaluate, sign, zero_test,
};
use crate::number::Rational;
use crate::span::Field;
use crate::syntax::{Kind, Node};

/// Where values are taken.
pub(super) struct InitialData<'a> {
    pub(super) names: &'a Names,
    /// Text that the spans point into.
    pub(super) text: &'a str,
    pub(super) field: Field,
    pub(super) budget: &'a Budget,
    /// Value of the variable; `None`: not known (only constants get values).
    pub(super) center: Option<Expr>,
    /// Values of the unknown and its derivatives.
    pub(super) initial: Vec<Expr>,
    /// How the data read, e.g. `x = 0, y = 1`; empty when nothing is known.
    pub(super) words: String,
}

type Value = Result<Option<Expr>, Box<Diagnostic>>;

impl InitialData<'_> {
    /// The value of a settled tree; `None` when it depends on something without a value. What was
    /// required on the way is appended to `checked`.
    ///
    /// # Errors
    /// A diagnostic when something has no value, or is not analytic, here.
    pub(super) fn value(&self, node: &Node, checked: &mut Vec<Checked>) -> Value {
        let value = self.walk(node, checked)?;
        value.map(|v| self.evaluate(node, &v)).transpose()
    }

    /// The value in normal form, but not simplified: only what is tested needs to be.
    fn walk(&self, node: &Node, checked: &mut Vec<Checked>) -> Value {
        match &node.kind {
            Kind::Number(value) => Ok(Some(Expr::number(value.clone()))),
            Kind::Name(name) | Kind::Applied { name, .. } => Ok(match self.names.meaning(name) {
                Meaning::Unknown => self.initial.first().cloned(),
                Meaning::Variable => self.center.clone(),
                Meaning::Pi => Some(Expr::pi()),
                Meaning::E => Some(Expr::e()),
                Meaning::Other => None,
            }),
            Kind::Derivative { order, .. } => Ok(usize::try_from(*order)
                .ok()
                .and_then(|order| self.initial.get(order))
                .cloned()),
            Kind::Negated(inner) => Ok(self.walk(inner, checked)?.map(|v| v.neg())),
            Kind::Bracketed(inner) => self.walk(inner, checked),
            Kind::Sum(terms) => {
                let mut values = Some(Vec::with_capacity(terms.len()));
                for (minus, term) in terms {
                    let value = self.walk(term, checked)?;
                    let signed = value.map(|v| if *minus { v.neg() } else { v });
                    values = collect(values, signed);
                }
                Ok(values.map(Expr::sum))
            }
            Kind::Product(..) | Kind::Quotient(..) => self.chain(node, checked),
            Kind::Power(base, exponent) => self.power(node, base, exponent, checked),
            Kind::Call {
                function,
                power,
                argument,
            } => {
                let value = self.call(node, function, argument, checked)?;
                match power {
                    None => Ok(value),
                    Some(exponent) => self.raised(node, node, value, exponent, checked),
                }
            }
            Kind::Missing => Ok(None),
        }
    }

    /// Neither a constant nor something with a value here.
    pub(super) fn letter_has_no_value(&self, name: &str) -> bool {
        match self.names.meaning(name) {
            Meaning::Pi | Meaning::E => false,
            Meaning::Unknown | Meaning::Variable => self.center.is_none(),
            Meaning::Other => true,
        }
    }

    /// The normal form of the tree holds no number beyond the budget.
    ///
    /// # Errors
    /// A diagnostic when it might.
    pub(super) fn within_budget(&self, node: &Node) -> Result<(), Box<Diagnostic>> {
        if coefficient_bits(node) <= self.budget.bits {
            return Ok(());
        }
        self.too_large(node)
    }

    fn too_large<T>(&self, node: &Node) -> Result<T, Box<Diagnostic>> {
        Err(Box::new(
            self.error(
                "number-too-large",
                node,
                "The numbers in this power are too large to be worked out exactly here. Use a smaller exponent.".to_owned(),
            )
            .outcome(Outcome::Unable),
        ))
    }

    fn chain(&self, node: &Node, checked: &mut Vec<Checked>) -> Value {
        let mut values = Some(Vec::new());
        for (place, factor) in factors(node) {
            let mut value = self.walk(factor, checked)?;
            if place == Place::Below {
                self.not_zero(factor, value.as_ref(), checked)?;
                value = value.map(|v| v.pow_int(-1));
            }
            values = collect(values, value);
        }
        Ok(values.map(Expr::product))
    }

    /// A divisor, or the base of a negative power.
    fn not_zero(
        &self,
        node: &Node,
        value: Option<&Expr>,
        checked: &mut Vec<Checked>,
    ) -> Result<(), Box<Diagnostic>> {
        let always_zero = || {
            let normal = self.normal(node);
            normal.is_zero() || normal.expand(self.budget.terms).is_zero()
        };
        let zero = match value {
            Some(value) => self.is_zero(node, value)?,
            None => always_zero(),
        };
        if zero {
            let what = self.slice(node);
            return self.undefined(
                "division-by-zero",
                node,
                format!(
                    "Division by zero: {what} is 0{}, and nothing can be divided by 0.",
                    self.at()
                ),
            );
        }
        self.note(node, value, Requirement::NotZero, checked)
    }

    fn power(
        &self,
        node: &Node,
        base: &Node,
        exponent: &Node,
        checked: &mut Vec<Checked>,
    ) -> Value {
        if let Kind::Name(name) = &unbracketed(base).kind
            && self.names.meaning(name) == Meaning::E
        {
            let value = self.walk(exponent, checked)?;
            return Ok(value.map(|v| Expr::call(Function::Exp, v)));
        }
        let value = self.walk(base, checked)?;
        self.raised(node, base, value, exponent, checked)
    }

    fn raised(
        &self,
        node: &Node,
        base: &Node,
        value: Option<Expr>,
        exponent: &Node,
        checked: &mut Vec<Checked>,
    ) -> Value {
        let exponent_value = self.walk(exponent, checked)?;
        let fixed = self.normal(exponent);
        match fixed.as_number() {
            // x⁰ is the constant 1, also at x = 0; the number 0⁰ has no value.
            Some(number) if number.is_zero() && !self.normal(base).is_constant() => {
                return Ok(value.map(|_| Expr::one()));
            }
            Some(number) if number.is_integer() => {
                if number.is_negative() {
                    self.not_zero(base, value.as_ref(), checked)?;
                }
                self.size(node, value.as_ref(), number)?;
            }
            Some(number) => self.root(node, base, value.as_ref(), number, checked)?,
            None => self.positive_base(base, value.as_ref(), checked)?,
        }
        let both = value.zip(exponent_value);
        Ok(both.map(|(b, e)| Expr::power(b, e)))
    }

    /// Whole powers of numbers must stay within the budget.
    fn size(
        &self,
        node: &Node,
        value: Option<&Expr>,
        exponent: &Rational,
    ) -> Result<(), Box<Diagnostic>> {
        let bits = value
            .and_then(Expr::as_number)
            .map_or(1, |v| v.numer().bits().saturating_add(v.denom().bits()));
        let times = exponent.abs().to_u64().unwrap_or(u64::MAX);
        if bits.saturating_mul(times) <= self.budget.bits {
            return Ok(());
        }
        self.too_large(node)
    }

    fn root(
        &self,
        node: &Node,
        base: &Node,
        value: Option<&Expr>,
        exponent: &Rational,
        checked: &mut Vec<Checked>,
    ) -> Result<(), Box<Diagnostic>> {
        let even = !exponent.denom().bit(0);
        let requirement = if even {
            Requirement::Positive
        } else {
            Requirement::NotZero
        };
        let Some(value) = value else {
            return Ok(());
        };
        match self.sign(base, value)? {
            Ordering::Greater => {}
            Ordering::Less if !even => {}
            Ordering::Less => {
                return self.undefined(
                    "root-of-negative",
                    node,
                    format!(
                        "{} is negative{}, and a negative number has no real root of even order.",
                        self.slice(base),
                        self.at()
                    ),
                );
            }
            // A root of the number 0 is the number 0; only a root that moves away has a kink.
            Ordering::Equal if self.normal(base).is_constant() && exponent.is_positive() => {}
            Ordering::Equal if exponent.is_negative() => {
                return self.not_zero(base, Some(value), checked);
            }
            Ordering::Equal => {
                return self.undefined(
                    "root-at-kink",
                    node,
                    format!(
                        "{} is 0{}. A root is not differentiable at 0 (its slope is infinite or jumps), so the right-hand side has no Taylor series there; nor is it sure that the solution is unique.",
                        self.slice(base),
                        self.at()
                    ),
                );
            }
        }
        self.note(base, Some(value), requirement, checked)
    }

    /// uᵛ with a v that moves, or is irrational, is exp(v ln u).
    fn positive_base(
        &self,
        base: &Node,
        value: Option<&Expr>,
        checked: &mut Vec<Checked>,
    ) -> Result<(), Box<Diagnostic>> {
        let Some(value) = value else {
            return Ok(());
        };
        if self.sign(base, value)? != Ordering::Greater {
            return self.undefined(
                "power-of-nonpositive",
                base,
                format!(
                    "{} is not positive{}. A power with such an exponent means exp(exponent · ln base), which needs a positive base.",
                    self.slice(base),
                    self.at()
                ),
            );
        }
        self.note(base, Some(value), Requirement::Positive, checked)
    }

    fn call(&self, node: &Node, name: &str, argument: &Node, checked: &mut Vec<Checked>) -> Value {
        let value = self.walk(argument, checked)?;
        if let Some(exponent) = build::root(name) {
            self.root(node, argument, value.as_ref(), &exponent, checked)?;
            return Ok(value.map(|v| Expr::power(v, Expr::number(exponent.clone()))));
        }
        let Some(function) = Function::from_name(name) else {
            return Ok(None);
        };
        if let Some(value) = &value {
            self.in_domain(function, node, argument, value, checked)?;
        }
        Ok(value.map(|v| Expr::call(function, v)))
    }

    fn in_domain(
        &self,
        function: Function,
        node: &Node,
        argument: &Node,
        value: &Expr,
        checked: &mut Vec<Checked>,
    ) -> Result<(), Box<Diagnostic>> {
        let what = self.slice(argument);
        let at = self.at();
        let moving = !self.normal(argument).is_constant();
        match function.domain() {
            Domain::Everywhere => {}
            Domain::Positive => {
                if self.sign(argument, value)? != Ordering::Greater {
                    return self.undefined(
                        "log-of-nonpositive",
                        node,
                        format!(
                            "The logarithm needs a positive number, but {what} is not positive{at}."
                        ),
                    );
                }
                self.note(argument, Some(value), Requirement::Positive, checked)?;
            }
            Domain::Kink => {
                if moving && self.is_zero(argument, value)? {
                    return self.undefined(
                        "abs-at-kink",
                        node,
                        format!("{what} is 0{at}. The absolute value has a kink at 0, so there is no Taylor series there."),
                    );
                }
                self.note(argument, Some(value), Requirement::NotZero, checked)?;
            }
            Domain::UnitInterval | Domain::InsideUnitInterval => {
                let below = self.sign(argument, &Expr::one().sub(value))?;
                let above = self.sign(argument, &Expr::one().add(value))?;
                let inside = below == Ordering::Greater && above == Ordering::Greater;
                // A constant may sit on the edge: arcsin 1 is π/2.
                let edge = !moving
                    && function.domain() == Domain::UnitInterval
                    && below != Ordering::Less
                    && above != Ordering::Less;
                if !inside && !edge {
                    return self.undefined(
                        "outside-domain",
                        node,
                        format!("This needs an argument strictly between −1 and 1, but {what} is not{at}."),
                    );
                }
                self.note(
                    argument,
                    Some(value),
                    Requirement::InsideUnitInterval,
                    checked,
                )?;
            }
            Domain::FromOne => {
                let above = self.sign(argument, &value.sub(&Expr::one()))?;
                if above == Ordering::Less || (above == Ordering::Equal && moving) {
                    return self.undefined(
                        "outside-domain",
                        node,
                        format!("This needs an argument greater than 1, but {what} is not{at}."),
                    );
                }
                self.note(argument, Some(value), Requirement::GreaterThanOne, checked)?;
            }
            Domain::CosineNotZero => {
                let divisor = Expr::call(Function::Cos, value.clone());
                self.no_pole(node, argument, Function::Cos, &divisor, checked)?;
            }
            Domain::SineNotZero => {
                let divisor = Expr::call(Function::Sin, value.clone());
                self.no_pole(node, argument, Function::Sin, &divisor, checked)?;
            }
            Domain::NotZero => {
                if self.is_zero(argument, value)? {
                    return self.pole(node, argument);
                }
                self.note(argument, Some(value), Requirement::NotZero, checked)?;
            }
        }
        Ok(())
    }

    /// `below` is the function in the denominator, `divisor` its value.
    fn no_pole(
        &self,
        node: &Node,
        argument: &Node,
        below: Function,
        divisor: &Expr,
        checked: &mut Vec<Checked>,
    ) -> Result<(), Box<Diagnostic>> {
        let divisor = self.evaluate(node, divisor)?;
        if self.is_zero(node, &divisor)? {
            return self.pole(node, argument);
        }
        let expression = Expr::call(below, self.normal(argument));
        if !expression.is_constant() {
            record(expression, divisor, Requirement::NotAPole, checked);
        }
        Ok(())
    }

    fn pole<T>(&self, node: &Node, argument: &Node) -> Result<T, Box<Diagnostic>> {
        let message = format!(
            "{} has a pole for this value of {}{}, so there is no Taylor series there.",
            self.slice(node),
            self.slice(argument),
            self.at()
        );
        self.undefined("pole", node, message)
    }

    fn note(
        &self,
        node: &Node,
        value: Option<&Expr>,
        requirement: Requirement,
        checked: &mut Vec<Checked>,
    ) -> Result<(), Box<Diagnostic>> {
        let expression = self.normal(node);
        if let (Some(value), false) = (value, expression.is_constant()) {
            let value = self.evaluate(node, value)?;
            record(expression, value, requirement, checked);
        }
        Ok(())
    }

    fn normal(&self, node: &Node) -> Expr {
        build::expression(node, self.names, Form::Normal)
    }

    fn evaluate(&self, node: &Node, value: &Expr) -> Result<Expr, Box<Diagnostic>> {
        evaluate(value).or_else(|undefined| match undefined.reason {
            UndefinedReason::CannotDecide => self.undecided(node),
            UndefinedReason::TooLarge => self.too_large(node),
            UndefinedReason::DivisionByZero
            | UndefinedReason::ZeroToTheZero
            | UndefinedReason::LogOfNonPositive
            | UndefinedReason::RootOfNegative
            | UndefinedReason::PowerOfNonPositive
            | UndefinedReason::OutsideUnitInterval
            | UndefinedReason::BelowOne
            | UndefinedReason::Pole
            | UndefinedReason::KinkOfAbs
            | UndefinedReason::NotConstant => self.undefined(
                "undefined-value",
                node,
                format!("{} has no value{}.", self.slice(node), self.at()),
            ),
        })
    }

    fn is_zero(&self, node: &Node, value: &Expr) -> Result<bool, Box<Diagnostic>> {
        match zero_test(&self.evaluate(node, value)?) {
            Truth::Zero => Ok(true),
            Truth::NotZero => Ok(false),
            Truth::Undecided => self.undecided(node),
        }
    }

    fn sign(&self, node: &Node, value: &Expr) -> Result<Ordering, Box<Diagnostic>> {
        match sign(&self.evaluate(node, value)?) {
            Some(sign) => Ok(sign),
            None => self.undecided(node),
        }
    }

    fn undecided<T>(&self, node: &Node) -> Result<T, Box<Diagnostic>> {
        Err(Box::new(
            self.error(
                "undecided",
                node,
                format!(
                    "Whether {} is exactly zero{} cannot be decided here, and the work depends on it.",
                    self.slice(node),
                    self.at()
                ),
            )
            .outcome(Outcome::Unable),
        ))
    }

    fn undefined<T>(
        &self,
        code: &'static str,
        node: &Node,
        message: String,
    ) -> Result<T, Box<Diagnostic>> {
        Err(Box::new(
            self.error(code, node, message).outcome(Outcome::Undefined),
        ))
    }

    fn error(&self, code: &'static str, node: &Node, message: String) -> Diagnostic {
        Diagnostic::error(code, self.field, node.span, message)
    }

    fn slice(&self, node: &Node) -> &str {
        slice(self.text, unbracketed(node))
    }

    fn at(&self) -> String {
        if self.words.is_empty() {
            String::new()
        } else {
            format!(" at {}", self.words)
        }
    }
}

/// What was typed for a node.
pub(super) fn slice<'a>(text: &'a str, node: &Node) -> &'a str {
    text.get(node.span.start..node.span.end)
        .unwrap_or("this")
        .trim()
}

fn collect(values: Option<Vec<Expr>>, value: Option<Expr>) -> Option<Vec<Expr>> {
    let (mut values, value) = values.zip(value)?;
    values.push(value);
    Some(values)
}

/// Keeps what was checked, once.
fn record(expression: Expr, value: Expr, requirement: Requirement, checked: &mut Vec<Checked>) {
    let entry = Checked {
        expression,
        value,
        requirement,
    };
    if !checked.contains(&entry) {
        checked.push(entry);
    }
}

/// Could the normal form of this tree hold numbers beyond the budget, as in `((2x)^200)^200`?
/// An upper bound of the bits of any coefficient: powers multiply, products add.
fn coefficient_bits(node: &Node) -> u64 {
    match &node.kind {
        Kind::Number(value) if value.is_zero() => 1,
        Kind::Number(value) => value.numer().bits().saturating_add(value.denom().bits()),
        Kind::Name(_) | Kind::Derivative { .. } | Kind::Applied { .. } | Kind::Missing => 1,
        Kind::Call { argument, .. } => coefficient_bits(argument),
        Kind::Negated(inner) | Kind::Bracketed(inner) => coefficient_bits(inner),
        Kind::Sum(terms) => terms
            .iter()
            .map(|(_, t)| coefficient_bits(t))
            .fold(0, u64::saturating_add),
        Kind::Product(..) | Kind::Quotient(..) => factors(node)
            .into_iter()
            .map(|(_, f)| coefficient_bits(f))
            .fold(0, u64::saturating_add),
        Kind::Power(base, exponent) => {
            let mut exponent = unbracketed(exponent);
            while let Kind::Negated(inner) = &exponent.kind {
                exponent = unbracketed(inner);
            }
            let times = match &exponent.kind {
                Kind::Number(value) => value
                    .numer()
                    .magnitude()
                    .to_u64()
                    .unwrap_or(u64::MAX)
                    .max(1),
                _ => 1,
            };
            coefficient_bits(base)
                .saturating_mul(times)
                .max(coefficient_bits(exponent))
        }
    }
}
