//! A settled syntax tree as an expression: exactly as typed, or in normal form.

use num_traits::{One, Zero};

use super::names::{Meaning, Names};
use super::walk::{Place, factors, terms, unbracketed};
use crate::expression::{self, Expr, Function, Symbol};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::syntax::{Kind, Node, Relation};

/// Which of the two ways of building.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Form {
    /// Order and grouping kept.
    Typed,
    /// Normal form.
    Normal,
}

impl Form {
    fn sum(self, terms: Vec<Expr>) -> Expr {
        match self {
            Self::Typed => Expr::raw_sum(terms),
            Self::Normal => Expr::sum(terms),
        }
    }

    fn product(self, factors: Vec<Expr>) -> Expr {
        match self {
            Self::Typed => Expr::raw_product(factors),
            Self::Normal => Expr::product(factors),
        }
    }

    fn power(self, base: Expr, exponent: Expr) -> Expr {
        match self {
            Self::Typed => Expr::raw_power(base, exponent),
            Self::Normal => Expr::power(base, exponent),
        }
    }

    fn call(self, function: Function, argument: Expr) -> Expr {
        match self {
            Self::Typed => Expr::raw_call(function, argument),
            Self::Normal => Expr::call(function, argument),
        }
    }
}

/// The expression that a settled tree stands for. Nothing where something is missing counts as 0
/// (the parser has already said that it is missing).
pub(super) fn expression(node: &Node, names: &Names, form: Form) -> Expr {
    match &node.kind {
        Kind::Number(value) => Expr::number(value.clone()),
        Kind::Name(name) | Kind::Applied { name, .. } => letter(name, names),
        Kind::Derivative { of, order, .. } => {
            Expr::derivative(names.index(of).unwrap_or(0), *order)
        }
        Kind::Call {
            function,
            power,
            argument,
        } => {
            let value = call(function, expression(argument, names, form), form);
            match power {
                None => value,
                Some(exponent) => form.power(value, expression(exponent, names, form)),
            }
        }
        Kind::Negated(inner) => negative(expression(inner, names, form), form),
        Kind::Bracketed(inner) => expression(inner, names, form),
        Kind::Sum(_) => form.sum(side(node, names, form)),
        Kind::Product(..) | Kind::Quotient(..) => chain(node, names, form),
        Kind::Power(base, exponent) => {
            let exponent = expression(exponent, names, form);
            match &unbracketed(base).kind {
                Kind::Name(name) if names.meaning(name) == Meaning::E => {
                    form.call(Function::Exp, exponent)
                }
                _ => form.power(expression(base, names, form), exponent),
            }
        }
        Kind::Missing => Expr::zero(),
    }
}

/// The terms of one side of an equation, signs included.
pub(super) fn side(node: &Node, names: &Names, form: Form) -> Vec<Expr> {
    terms(node)
        .into_iter()
        .map(|(minus, term)| {
            let value = expression(term, names, form);
            if minus { negative(value, form) } else { value }
        })
        .collect()
}

/// Both sides.
pub(super) fn sides(relation: &Relation, names: &Names, form: Form) -> (Vec<Expr>, Vec<Expr>) {
    (
        side(&relation.left, names, form),
        side(&relation.right, names, form),
    )
}

fn letter(name: &str, names: &Names) -> Expr {
    match names.meaning(name) {
        Meaning::Unknown => Expr::derivative(names.index(name).unwrap_or(0), 0),
        Meaning::Variable => Expr::variable(),
        Meaning::Pi => Expr::raw(expression::Node::Symbol(Symbol::Pi)),
        Meaning::E => Expr::call(Function::Exp, Expr::one()),
        Meaning::Other => Expr::parameter(name),
    }
}

fn call(function: &str, argument: Expr, form: Form) -> Expr {
    if let Some(root) = root(function) {
        return form.power(argument, Expr::number(root));
    }
    match Function::from_name(function) {
        Some(function) => form.call(function, argument),
        // The parser gives no other names.
        None => argument,
    }
}

/// The exponent that stands for a root.
pub(super) fn root(function: &str) -> Option<Rational> {
    match function {
        "sqrt" => Some(ratio(1, 2)),
        "cbrt" => Some(ratio(1, 3)),
        _ => None,
    }
}

/// The opposite. As typed, the sign goes into the number in front.
fn negative(value: Expr, form: Form) -> Expr {
    if form == Form::Normal {
        return Expr::product(vec![Expr::int(-1), value]);
    }
    match value.node() {
        expression::Node::Number(number) => Expr::number(-number),
        expression::Node::Product(factors) => match factors.split_first() {
            Some((first, rest)) => {
                let mut signed = match first.as_number() {
                    Some(number) => vec![Expr::number(-number)],
                    None => vec![Expr::int(-1), first.clone()],
                };
                signed.extend_from_slice(rest);
                Expr::raw_product(signed)
            }
            None => Expr::int(-1),
        },
        expression::Node::Symbol(_)
        | expression::Node::Call(..)
        | expression::Node::Power(..)
        | expression::Node::Sum(_) => Expr::raw_product(vec![Expr::int(-1), value]),
    }
}

fn chain(node: &Node, names: &Names, form: Form) -> Expr {
    let mut parts: Vec<Expr> = Vec::new();
    for (place, factor) in factors(node) {
        let value = expression(factor, names, form);
        match place {
            Place::Above => match value.node() {
                expression::Node::Product(inner) if form == Form::Typed => {
                    parts.extend(inner.iter().cloned());
                }
                _ => parts.push(value),
            },
            Place::Below => divide(&mut parts, value, form),
        }
    }
    if parts.len() == 1 {
        return parts.remove(0);
    }
    form.product(parts)
}

/// Appends a divisor: a fraction of numbers becomes one number.
fn divide(parts: &mut Vec<Expr>, divisor: Expr, form: Form) {
    if let (Some(last), Some(value)) = (parts.last(), divisor.as_number())
        && let Some(number) = last.as_number()
        && !value.is_zero()
    {
        let fraction = Expr::number(number / value);
        parts.pop();
        parts.push(fraction);
        return;
    }
    if form == Form::Typed
        && let expression::Node::Power(base, exponent) = divisor.node()
        && let Some(number) = exponent.as_number()
        && *number > Rational::zero()
    {
        let inverse = Expr::raw_power(base.clone(), Expr::number(-number));
        parts.push(inverse);
        return;
    }
    // 1/u is u⁻¹ alone.
    if parts.len() == 1
        && parts
            .first()
            .is_some_and(|p| p.as_number().is_some_and(One::is_one))
    {
        parts.clear();
    }
    parts.push(form.power(divisor, Expr::number(integer(-1))));
}
