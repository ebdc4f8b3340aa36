//! Values of what was typed at the initial data, and whether everything is analytic there.
//!
//! The syntax tree is walked, not the expression: so the diagnostics can point at the place, and
//! `x y / x` at x = 0 is a division by zero although its normal form is y. What is required of an
//! argument is where the function is analytic over the reals (DLMF 4.2, 4.23, 4.37).

use std::cmp::Ordering;

use num_traits::{Signed, ToPrimitive, Zero};

use super::build::{self, Form};
use super::names::{Meaning, Names};
use super::size::coefficient_bits;
use super::walk::{Place, factors, nodes, unbracketed};
use super::{Checked, Requirement};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Outcome};

use crate::expression::{
    self, Domain, Expr, Function, Truth, UndefinedReason, evaluate, sign, zero_test,
};
use crate::number::Rational;
use crate::span::Field;
use crate::syntax::{Kind, Node};

/// Sums with letters in them are raised to powers up to this one.
const LARGEST_POWER_OF_LETTERS: u64 = 8;

/// Where values are taken.
pub(super) struct InitialData<'a> {
    pub(super) names: &'a Names,
    /// Text that the spans point into.
    pub(super) text: &'a str,
    pub(super) field: Field,
    pub(super) budget: &'a Budget,
    /// Value of the variable; `None`: not known (only constants get values).
    pub(super) center: Option<Expr>,
    /// For each unknown the values of it and its derivatives.
    pub(super) initial: Vec<Vec<Expr>>,
    /// How the data read: `x = 0`, then `y = 1`, `y′ = 2`, …; empty when nothing is known.
    pub(super) words: Vec<String>,
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
                Meaning::Unknown => self.given(name, 0),
                Meaning::Variable => self.center.clone(),
                Meaning::Pi => Some(Expr::pi()),
                Meaning::E => Some(Expr::e()),
                Meaning::Other => self.names.parameters.then(|| Expr::parameter(name)),
            }),
            Kind::Derivative { of, order, .. } => Ok(self.given(of, *order)),
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
                let Some(exponent) = power else {
                    return Ok(value);
                };
                // sin² x: the base of the power is sin x.
                let base = Node {
                    span: node.span,
                    kind: Kind::Call {
                        function,
                        power: None,
                        argument: argument.clone(),
                    },
                };
                self.raised(node, &base, value, exponent, checked)
            }
            Kind::Missing => Ok(None),
        }
    }

    /// What is given of a derivative of an unknown.
    fn given(&self, name: &str, order: u32) -> Option<Expr> {
        let values = self.initial.get(self.names.index(name)?)?;
        values.get(usize::try_from(order).ok()?).cloned()
    }

    /// Neither a constant nor something with a value here.
    pub(super) fn letter_has_no_value(&self, name: &str) -> bool {
        match self.names.meaning(name) {
            Meaning::Pi | Meaning::E => false,
            Meaning::Unknown | Meaning::Variable => self.center.is_none(),
            Meaning::Other => !self.names.parameters,
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
            let message = if what == "0" {
                "Division by zero: nothing can be divided by 0.".to_owned()
            } else {
                let at = self.at(node);
                format!("Division by zero: {what} is 0{at}, and nothing can be divided by 0.")
            };
            return self.undefined("division-by-zero", node, message);
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
        let letters = value.is_some_and(|v| v.has_parameter() && v.terms().len() > 1);
        if letters && times > LARGEST_POWER_OF_LETTERS {
            return Err(Box::new(
                self.error(
                    "power-too-long",
                    node,
                    format!(
                        "This power of a sum of letters is too long when it is multiplied out. Use an exponent up to {LARGEST_POWER_OF_LETTERS}, or one letter for the sum."
                    ),
                )
                .outcome(Outcome::Unable),
            ));
        }
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
            Requirement::NotZeroUnderOddRoot
        };
        let Some(value) = value else {
            return Ok(());
        };
        match self.sign(base, value)? {
            Ordering::Greater => {}
            Ordering::Less if !even => {}
            Ordering::Less => {
                let what = self.what_it_is(base, value, "negative");
                return self.undefined(
                    "root-of-negative",
                    node,
                    format!("A negative number has no real square root (nor any of even order), but {what}."),
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
                        self.at(base)
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
                    "A power with this exponent means exp(exponent · ln base), which needs a positive base, but {}.",
                    self.what_it_is(base, value, "not positive")
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
        let moving = !self.normal(argument).is_constant();
        match function.domain() {
            Domain::Everywhere => {}
            Domain::Positive => {
                if self.sign(argument, value)? != Ordering::Greater {
                    return self.undefined(
                        "log-of-nonpositive",
                        node,
                        format!(
                            "The logarithm needs a positive number, but {}.",
                            self.what_it_is(argument, value, "not positive")
                        ),
                    );
                }
                self.note(argument, Some(value), Requirement::Positive, checked)?;
            }
            Domain::Kink if moving && value.has_parameter() && sign(value).is_none() => {
                return Err(Box::new(
                    self.error(
                        "sign-not-known",
                        node,
                        format!(
                            "Whether {} is positive or negative{} depends on the letters, and the absolute value has a different series for each. Write numbers, or the expression with its sign.",
                            self.slice(argument),
                            self.at(argument)
                        ),
                    )
                    .outcome(Outcome::Unable),
                ));
            }
            Domain::Kink => {
                if moving && self.is_zero(argument, value)? {
                    return self.undefined(
                        "abs-at-kink",
                        node,
                        format!("{} is 0{}. The absolute value has a kink at 0, so there is no Taylor series there.", self.slice(argument), self.at(argument)),
                    );
                }
                if moving {
                    let requirement = Requirement::NotZeroInBars;
                    self.note(argument, Some(value), requirement, checked)?;
                }
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
                        format!(
                            "This needs an argument strictly between −1 and 1, but {}.",
                            self.what_it_is(argument, value, "outside")
                        ),
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
                        format!(
                            "This needs an argument greater than 1, but {}.",
                            self.what_it_is(argument, value, "not")
                        ),
                    );
                }
                self.note(argument, Some(value), Requirement::GreaterThanOne, checked)?;
            }
            Domain::CosineNotZero => {
                self.no_pole(node, argument, value, Function::Cos, checked)?;
            }
            Domain::SineNotZero => {
                self.no_pole(node, argument, value, Function::Sin, checked)?;
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

    /// `below` is the function in the denominator.
    fn no_pole(
        &self,
        node: &Node,
        argument: &Node,
        value: &Expr,
        below: Function,
        checked: &mut Vec<Checked>,
    ) -> Result<(), Box<Diagnostic>> {
        let divisor = Expr::call(below, value.clone());
        if self.is_zero(node, &divisor)? {
            return self.pole(node, argument);
        }
        if value.has_parameter() {
            let divisor = self.evaluate(node, &divisor)?;
            record(
                self.normal(argument),
                divisor,
                Requirement::NotZero,
                checked,
            );
            return Ok(());
        }
        self.note(argument, Some(value), Requirement::NotAPole, checked)
    }

    fn pole<T>(&self, node: &Node, argument: &Node) -> Result<T, Box<Diagnostic>> {
        let place = match (&unbracketed(argument).kind, self.words.first()) {
            // "a pole at x = 0" is what the variable itself asks for.
            (Kind::Name(name), Some(center)) if self.names.meaning(name) == Meaning::Variable => {
                format!(" at {center}")
            }
            _ => self.at(argument),
        };
        let what = self.slice(node);
        let message = format!("{what} has a pole{place}, so there is no Taylor series there.");
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
        // A root in a divisor: its radicand has been seen to be positive, or not zero.
        if let expression::Node::Power(base, _) = expression.node()
            && checked.iter().any(|c| c.expression == *base)
        {
            return Ok(());
        }
        // A constant with a parameter in it is looked at like what moves: it becomes a condition.
        if let Some(value) = value
            && (!expression.is_constant() || value.has_parameter())
        {
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
                format!("{} has no value{}.", self.slice(node), self.at(node)),
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

    /// With a parameter in it, what may be positive is taken to be: the callers note that.
    fn sign(&self, node: &Node, value: &Expr) -> Result<Ordering, Box<Diagnostic>> {
        let value = self.evaluate(node, value)?;
        match sign(&value) {
            Some(sign) => Ok(sign),
            None if value.has_parameter() && zero_test(&value) == Truth::NotZero => {
                Ok(Ordering::Greater)
            }
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
                    self.at(node)
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

    /// ` at x = 0, y = 1`: the data that this part of the equation uses.
    fn at(&self, node: &Node) -> String {
        let (Some(center), false) = (self.words.first(), self.words.is_empty()) else {
            return String::new();
        };
        let is_value = |n: &Node| match &n.kind {
            Kind::Name(name) => self.names.meaning(name) == Meaning::Unknown,
            Kind::Derivative { .. } => true,
            _ => false,
        };
        let place_of = |n: &Node| match &n.kind {
            Kind::Name(name) => self.names.place(name, 0),
            Kind::Derivative { of, order, .. } => self.names.place(of, *order),
            _ => None,
        };
        let is_variable = |n: &Node| matches!(&n.kind, Kind::Name(name) if self.names.meaning(name) == Meaning::Variable);
        // "y is 0 at y = 0" says nothing.
        let bare = unbracketed(node);
        if is_variable(bare) {
            return " here".to_owned();
        }
        if is_value(bare) {
            return format!(" at {center}");
        }
        let parts = nodes(node);
        let mut used = Vec::new();
        if parts.iter().any(|n| is_variable(n)) {
            used.push(center.as_str());
        }
        for (place, words) in self.words.iter().skip(1).enumerate() {
            if parts.iter().any(|n| place_of(n) == Some(place)) {
                used.push(words);
            }
        }
        if used.is_empty() {
            String::new()
        } else {
            format!(" at {}", used.join(", "))
        }
    }

    /// `y - 2 is -1 at y = 1`; with `otherwise` where the value is not a short number.
    fn what_it_is(&self, node: &Node, value: &Expr, otherwise: &str) -> String {
        let what = self.slice(node);
        let number = evaluate(value)
            .ok()
            .and_then(|v| v.as_number().map(ToString::to_string))
            .filter(|text| text != what && text.len() <= 12);
        let is = number.as_deref().unwrap_or(otherwise);
        format!("{what} is {is}{}", self.at(node))
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
