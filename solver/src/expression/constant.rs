//! Values of closed constants: expressions without variable and unknowns.
//!
//! The value is brought to a form that is as canonical as is reasonable: special values of the
//! functions, products multiplied out, cos² replaced by 1 − sin² where sin² of the same argument
//! occurs beside it (likewise the other five pairs), roots and reciprocals of sums by three rules. Whether two forms that differ are equal is a question for [`super::zero_test`].

use std::cmp::Ordering;

use num_traits::{Signed, Zero};

use super::function::{Domain, Function};
use super::gaussian::without_arctangents;
use super::pythagoras;
use super::root_of;
use super::roots;
use super::sign::sign;
use super::tree::{Expr, Node, Symbol};
use super::undefined::{Undefined, UndefinedReason};
use super::zero_test::{Truth, zero_test_evaluated};
use crate::number::rational::is_even;

/// Products are multiplied out as long as the value has no more terms than this.
const MAX_TERMS: usize = 500;

/// The value of a closed constant. Odd roots of negative numbers are real. Parameters are kept as
/// letters and taken to be such that everything has a value.
///
/// # Errors
/// [`Undefined`] with the part that has no value.
pub fn evaluate(expression: &Expr) -> Result<Expr, Undefined> {
    Evaluator::default().evaluate(expression)
}

/// Most values that an [`Evaluator`] remembers.
const REMEMBERED: usize = 128;

/// [`evaluate`] with a memory: a derivative has the same few functions of the known values in
/// nearly every term, and the sign that a function's or a root's argument must have is dear.
#[derive(Clone, Debug, Default)]
pub struct Evaluator {
    known: Vec<(Expr, Expr)>,
}

impl Evaluator {
    /// The value of a closed constant.
    ///
    /// # Errors
    /// As [`evaluate`].
    pub fn evaluate(&mut self, expression: &Expr) -> Result<Expr, Undefined> {
        match expression.node() {
            Node::Number(_) | Node::Symbol(Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_)) => {
                Ok(expression.clone())
            }
            Node::Symbol(Symbol::Variable | Symbol::Derivative { .. }) => Err(Undefined::new(
                UndefinedReason::NotConstant,
                expression.clone(),
            )),
            Node::Sum(terms) => {
                let sum = tidied(&Expr::sum(self.all(terms)?));
                Ok(without_arctangents(&sum).unwrap_or(sum))
            }
            Node::Product(factors) => Ok(tidied(&Expr::product(self.all(factors)?))),
            Node::Power(..) | Node::Call(..) => {
                if let Some((_, value)) = self.known.iter().find(|(of, _)| of == expression) {
                    return Ok(value.clone());
                }
                let value = match expression.node() {
                    Node::Power(base, exponent) => {
                        power(&self.evaluate(base)?, &self.evaluate(exponent)?)?
                    }
                    Node::Call(function, argument) => call(*function, &self.evaluate(argument)?)?,
                    _ => return Ok(expression.clone()),
                };
                if self.known.len() < REMEMBERED {
                    self.known.push((expression.clone(), value.clone()));
                }
                Ok(value)
            }
        }
    }

    fn all(&mut self, parts: &[Expr]) -> Result<Vec<Expr>, Undefined> {
        parts.iter().map(|part| self.evaluate(part)).collect()
    }
}

/// Multiplied out, with the squares of sine and cosine (and their like) reduced.
pub(super) fn tidied(value: &Expr) -> Expr {
    match value.node() {
        Node::Sum(_) | Node::Product(_) | Node::Power(..) => {
            let expanded = root_of::reduced(&value.expand(MAX_TERMS), MAX_TERMS);
            pythagoras::reduced(&expanded, MAX_TERMS)
        }
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) => value.clone(),
    }
}

/// Is it zero? With a parameter in it we take it not to be.
fn must_be_nonzero(value: &Expr, reason: UndefinedReason) -> Result<(), Undefined> {
    match zero_test_evaluated(value) {
        Truth::NotZero => Ok(()),
        Truth::Zero => Err(Undefined::new(reason, value.clone())),
        Truth::Undecided if value.has_parameter() => Ok(()),
        Truth::Undecided => Err(Undefined::new(UndefinedReason::CannotDecide, value.clone())),
    }
}

/// The sign; `None` only with a parameter.
fn must_have_sign(value: &Expr) -> Result<Option<Ordering>, Undefined> {
    match sign(value) {
        Some(sign) => Ok(Some(sign)),
        None if value.has_parameter() => Ok(None),
        None => Err(Undefined::new(UndefinedReason::CannotDecide, value.clone())),
    }
}

fn power(base: &Expr, exponent: &Expr) -> Result<Expr, Undefined> {
    let Some(value) = exponent.as_number() else {
        if let Some(Ordering::Less | Ordering::Equal) = must_have_sign(base)? {
            return Err(Undefined::new(
                UndefinedReason::PowerOfNonPositive,
                base.clone(),
            ));
        }
        return Ok(tidied(&Expr::power(base.clone(), exponent.clone())));
    };
    if value.is_negative() {
        must_be_nonzero(base, UndefinedReason::DivisionByZero)?;
        if value.is_integer()
            && base.has_root()
            && let Some(inverse) = root_of::inverse(base)
        {
            let exponent = Expr::number(-value);
            return Ok(tidied(&Expr::power(inverse, exponent)));
        }
    } else if value.is_zero() {
        return match zero_test_evaluated(base) {
            Truth::Zero => Err(Undefined::new(UndefinedReason::ZeroToTheZero, base.clone())),
            Truth::NotZero => Ok(Expr::one()),
            Truth::Undecided if base.has_parameter() => Ok(Expr::one()),
            Truth::Undecided => Err(Undefined::new(UndefinedReason::CannotDecide, base.clone())),
        };
    }
    if !value.is_integer() {
        match must_have_sign(base)? {
            Some(Ordering::Equal) => return Ok(Expr::zero()),
            Some(Ordering::Less) if is_even(value.denom()) => {
                return Err(Undefined::new(
                    UndefinedReason::RootOfNegative,
                    base.clone(),
                ));
            }
            Some(Ordering::Less) => {
                let size = tidied(&Expr::power(base.neg(), exponent.clone()));
                return Ok(if is_even(value.numer()) {
                    size
                } else {
                    size.neg()
                });
            }
            Some(Ordering::Greater) | None => {}
        }
    }
    Ok(tidied(&roots::power(base, value)))
}

fn call(function: Function, argument: &Expr) -> Result<Expr, Undefined> {
    require_domain(function, argument)?;
    if function == Function::Exp
        && let Some(value) = exp_of_logarithms(argument)
    {
        return Ok(tidied(&value));
    }
    Ok(tidied(&function.value(argument, &sign)))
}

/// e^(v ln u + w) = u^v eʷ: the logarithm has a value, so u is positive.
fn exp_of_logarithms(argument: &Expr) -> Option<Expr> {
    let mut factors = Vec::new();
    let mut rest = Vec::new();
    for term in argument.terms() {
        let (mut logarithms, others): (Vec<Expr>, Vec<Expr>) = term
            .factors()
            .into_iter()
            .partition(|factor| matches!(factor.node(), Node::Call(Function::Ln, _)));
        match (logarithms.pop(), logarithms.is_empty()) {
            (Some(logarithm), true) => {
                let base = logarithm.children().first().map(|u| (*u).clone())?;
                factors.push(Expr::power(base, Expr::product(others)));
            }
            _ => rest.push(term),
        }
    }
    if factors.is_empty() {
        return None;
    }
    factors.push(Expr::call(Function::Exp, Expr::sum(rest)));
    Some(Expr::product(factors))
}

/// [`evaluate`] of every coefficient of an expression in the variable, multiplied out.
pub(super) fn evaluate_around(expression: &Expr) -> Option<Expr> {
    let coefficients = expression.polynomial_coefficients(&Symbol::Variable)?;
    let terms = coefficients.iter().zip(0..).map(|(c, power)| {
        let value = evaluate(c).ok()?;
        Some(value.mul(&Expr::variable().pow_int(power)))
    });
    Some(Expr::sum(terms.collect::<Option<Vec<Expr>>>()?).expand(MAX_TERMS))
}

fn require_domain(function: Function, u: &Expr) -> Result<(), Undefined> {
    let err = |reason| Err(Undefined::new(reason, u.clone()));
    let one_minus_square = || tidied(&Expr::one().sub(&u.square()));
    match function.domain() {
        Domain::Positive => match must_have_sign(u)? {
            Some(Ordering::Greater) | None => Ok(()),
            Some(_) => err(UndefinedReason::LogOfNonPositive),
        },
        Domain::UnitInterval => match must_have_sign(&one_minus_square())? {
            Some(Ordering::Less) => err(UndefinedReason::OutsideUnitInterval),
            Some(_) | None => Ok(()),
        },
        Domain::InsideUnitInterval => match must_have_sign(&one_minus_square())? {
            Some(Ordering::Less | Ordering::Equal) => err(UndefinedReason::OutsideUnitInterval),
            Some(Ordering::Greater) | None => Ok(()),
        },
        Domain::FromOne => match must_have_sign(&u.sub(&Expr::one()))? {
            Some(Ordering::Less) => err(UndefinedReason::BelowOne),
            Some(_) | None => Ok(()),
        },
        Domain::CosineNotZero => require_no_pole(Function::Cos, u),
        Domain::SineNotZero => require_no_pole(Function::Sin, u),
        Domain::NotZero => must_be_nonzero(u, UndefinedReason::Pole),
        Domain::Kink if function == Function::Sign => {
            must_be_nonzero(u, UndefinedReason::KinkOfAbs)
        }
        Domain::Everywhere | Domain::Kink => Ok(()),
    }
}

fn require_no_pole(function: Function, u: &Expr) -> Result<(), Undefined> {
    let value = tidied(&function.value(u, &sign));
    match must_be_nonzero(&value, UndefinedReason::Pole) {
        Ok(()) => Ok(()),
        Err(undefined) => Err(Undefined::new(undefined.reason, u.clone())),
    }
}
