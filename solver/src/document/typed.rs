//! The reading shown back as typed: from the syntax tree to a formula, nothing reordered.

use super::formula::{DOT, Formula, MINUS};
use super::plain;
use crate::syntax::{Kind, Multiplication, Node};
use num_traits::{One, Signed};

/// The formula of what was typed. An empty box stands where something is missing.
pub fn formula(node: &Node) -> Formula {
    match &node.kind {
        Kind::Number(value) => {
            let magnitude = value.abs();
            let body = if magnitude.denom().is_one() {
                Formula::digits(magnitude.numer())
            } else {
                Formula::fraction(
                    Formula::digits(magnitude.numer()),
                    Formula::digits(magnitude.denom()),
                )
            };
            if value.is_negative() {
                Formula::row([Formula::Sign(MINUS), body])
            } else {
                body
            }
        }
        Kind::Name(name) => self::name(name),
        Kind::Derivative {
            of,
            variable,
            order,
            argument,
        } => {
            let head = match variable {
                None => Formula::Derivative(of.clone(), *order),
                Some(variable) => leibniz(of, variable, *order),
            };
            match argument {
                None => head,
                Some(argument) => Formula::value_at(head, formula(argument)),
            }
        }
        Kind::Applied { name, argument, .. } => {
            Formula::value_at(self::name(name), formula(argument))
        }
        Kind::Call {
            function,
            power,
            argument,
        } => call(function, power.as_deref(), argument),
        Kind::Negated(inner) => Formula::row([Formula::Sign(MINUS), formula(inner)]),
        Kind::Sum(terms) => Formula::row(terms.iter().enumerate().flat_map(
            |(position, (subtracted, term))| {
                let sign = match (position, subtracted) {
                    (0, false) => None,
                    (0, true) => Some(Formula::Sign(MINUS)),
                    (_, false) => Some(Formula::Operator('+')),
                    (_, true) => Some(Formula::Operator(MINUS)),
                };
                sign.into_iter().chain([formula(term)])
            },
        )),
        Kind::Product(left, how, right) => {
            let between = match how {
                Multiplication::Juxtaposed => Formula::Juxtaposition,
                Multiplication::Sign => Formula::Operator(DOT),
            };
            Formula::row([formula(left), between, formula(right)])
        }
        Kind::Quotient(above, below) => {
            Formula::fraction(without_brackets(above), without_brackets(below))
        }
        Kind::Power(base, exponent) => {
            let shown = match &base.kind {
                Kind::Number(_)
                | Kind::Name(_)
                | Kind::Bracketed(_)
                | Kind::Missing
                | Kind::Derivative { order: 0, .. } => formula(base),
                _ => formula(base).bracketed(),
            };
            Formula::power(shown, without_brackets(exponent))
        }
        Kind::Bracketed(inner) => formula(inner).bracketed(),
        Kind::Missing => Formula::Placeholder,
    }
}

fn name(name: &str) -> Formula {
    match name {
        "pi" => Formula::Constant("π"),
        _ => Formula::Identifier(name.to_owned()),
    }
}

/// What brackets held, where the layout itself (a fraction bar, a raised exponent) groups.
fn without_brackets(node: &Node) -> Formula {
    match &node.kind {
        Kind::Bracketed(inner) => formula(inner),
        _ => formula(node),
    }
}

/// dⁿy/dxⁿ.
fn leibniz(of: &str, variable: &str, order: u32) -> Formula {
    let d = || Formula::Identifier("d".to_owned());
    let raised = |base: Formula| {
        if order == 1 {
            base
        } else {
            Formula::power(base, Formula::digits(order))
        }
    };
    Formula::fraction(
        Formula::row([raised(d()), Formula::Identifier(of.to_owned())]),
        Formula::row([d(), raised(Formula::Identifier(variable.to_owned()))]),
    )
}

fn call(function: &'static str, power: Option<&Node>, argument: &Node) -> Formula {
    let inner = without_brackets(argument);
    let raised = |base: Formula| match power {
        None => base,
        Some(exponent) => Formula::power(base, without_brackets(exponent)),
    };
    match function {
        "sqrt" => raised(Formula::Root(Box::new(inner), None)),
        "cbrt" => raised(Formula::Root(Box::new(inner), Some(3))),
        "abs" => raised(Formula::Bars(Box::new(inner))),
        "exp" if power.is_none() => Formula::power(Formula::Constant("e"), inner),
        _ => Formula::row([
            raised(Formula::FunctionName(function)),
            Formula::Application,
            match &argument.kind {
                // f(x) with one letter in the brackets needs none.
                Kind::Bracketed(only) if is_letter(only) => inner,
                _ => formula(argument),
            },
        ]),
    }
}

fn is_letter(node: &Node) -> bool {
    matches!(node.kind, Kind::Name(_) | Kind::Number(_))
}

/// The exact value of a number as typed, in one line.
pub fn plain(node: &Node) -> String {
    plain::formula(&formula(node))
}
