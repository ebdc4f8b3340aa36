//! The reading shown back as typed: from the syntax tree to a formula, nothing reordered.

use super::formula::{DOT, Formula, MINUS};
use super::ledger::Prose;
use super::strip;
use crate::budget::Budget;
use crate::diagnostic::Severity;
use crate::syntax::{self, Kind, Multiplication, Node};
use num_traits::{One, Signed};

/// The formula of what was typed in `text`. An empty box stands where something is missing.
pub fn formula(node: &Node, text: &str) -> Formula {
    match &node.kind {
        Kind::Number(value) => {
            if let Some(typed) = decimal_as_typed(node, text) {
                return strip::decimal_number(typed);
            }
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
                Some(argument) => applied(head, argument, text),
            }
        }
        Kind::Applied { name, argument, .. } => applied(self::name(name), argument, text),
        Kind::Call {
            function,
            power,
            argument,
        } => call(function, power.as_deref(), argument, text),
        Kind::Negated(inner) => Formula::row([Formula::Sign(MINUS), formula(inner, text)]),
        Kind::Sum(terms) => Formula::row(terms.iter().enumerate().flat_map(
            |(position, (subtracted, term))| {
                let sign = match (position, subtracted) {
                    (0, false) => None,
                    (0, true) => Some(Formula::Sign(MINUS)),
                    (_, false) => Some(Formula::Operator('+')),
                    (_, true) => Some(Formula::Operator(MINUS)),
                };
                sign.into_iter().chain([formula(term, text)])
            },
        )),
        Kind::Product(left, how, right) => {
            let between = match how {
                Multiplication::Juxtaposed => Formula::Juxtaposition,
                Multiplication::Sign => Formula::Operator(DOT),
            };
            Formula::row([formula(left, text), between, formula(right, text)])
        }
        Kind::Quotient(above, below) => {
            Formula::fraction(without_brackets(above, text), without_brackets(below, text))
        }
        Kind::Power(base, exponent) => {
            let shown = match &base.kind {
                Kind::Number(_)
                | Kind::Name(_)
                | Kind::Bracketed(_)
                | Kind::Missing
                | Kind::Derivative { order: 0, .. } => formula(base, text),
                _ => formula(base, text).bracketed(),
            };
            Formula::power(shown, without_brackets(exponent, text))
        }
        Kind::Bracketed(inner) => formula(inner, text).bracketed(),
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
fn without_brackets(node: &Node, text: &str) -> Formula {
    match &node.kind {
        Kind::Bracketed(inner) => formula(inner, text),
        _ => formula(node, text),
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

fn call(function: &'static str, power: Option<&Node>, argument: &Node, text: &str) -> Formula {
    // Written out once only, whichever way: twice at each level would be without end for deep nesting.
    let inner = || without_brackets(argument, text);
    let raised = |base: Formula| match power {
        None => base,
        Some(exponent) => Formula::power(base, without_brackets(exponent, text)),
    };
    match function {
        "sqrt" => raised(Formula::Root(Box::new(inner()), None)),
        "cbrt" => raised(Formula::Root(Box::new(inner()), Some(3))),
        "abs" => raised(Formula::Bars(Box::new(inner()))),
        "exp" if power.is_none() => Formula::power(Formula::Constant("e"), inner()),
        _ => Formula::row([
            raised(Formula::FunctionName(function)),
            Formula::Application,
            formula(argument, text),
        ]),
    }
}

/// A number typed with a point or an exponent, as its own text.
fn decimal_as_typed<'t>(node: &Node, text: &'t str) -> Option<&'t str> {
    let typed = text.get(node.span.start..node.span.end)?;
    let digits_and = |c: char| c.is_ascii_digit() || matches!(c, '.' | 'e' | '-' | '+');
    let decimal = typed.contains(['.', 'e']) && typed.chars().all(digits_and);
    (decimal && typed.starts_with(|c: char| c.is_ascii_digit() || c == '.')).then_some(typed)
}

/// What has been typed so far, for showing it back: the equations, then the conditions. Half-typed
/// text shows what is there, with a box where something is still missing.
pub fn reading(equation: &str, conditions: &str, budget: &Budget) -> Vec<Formula> {
    let mut shown = equations(equation, budget);
    shown.extend(self::conditions(conditions, budget));
    shown
}

/// Words with formulas between dollar signs, written as in the page's fields (or as the `LaTeX`
/// source that these read). What is no formula stays words, dollar signs included.
pub fn words(text: &str, budget: &Budget) -> Prose {
    let pieces: Vec<&str> = text.split('$').collect();
    let last = pieces.len().saturating_sub(1);
    let mut prose = Prose::default();
    for (position, piece) in pieces.into_iter().enumerate() {
        let inside = position % 2 == 1;
        prose = match single(piece, budget) {
            Some(formula) if inside && position < last => prose.math(formula),
            // A dollar sign of its own is a formula for the writers: it has no second meaning there.
            _ if inside => {
                let close = if position < last { "$" } else { "" };
                prose.math(Formula::Text(format!("${piece}{close}")))
            }
            _ => prose.text(piece),
        };
    }
    prose
}

/// One formula or equation without mistakes.
fn single(text: &str, budget: &Budget) -> Option<Formula> {
    let (read, diagnostics) = syntax::parse_candidate(text, budget);
    let (left, right) =
        read.filter(|_| diagnostics.iter().all(|d| d.severity != Severity::Error))?;
    let right = formula(&right, text);
    Some(match left {
        Some(left) => Formula::equation(formula(&left, text), right),
        None => right,
    })
}

/// Brackets behind a letter: around a letter or a number they hold an argument, else a factor.
fn applied(head: Formula, argument: &Node, text: &str) -> Formula {
    let content = formula(argument, text);
    match argument.kind {
        Kind::Name(_) | Kind::Number(_) => Formula::value_at(head, content),
        _ => Formula::row([head, Formula::Juxtaposition, content.bracketed()]),
    }
}

/// The equations as typed.
pub fn equations(text: &str, budget: &Budget) -> Vec<Formula> {
    let (relations, _) = syntax::parse_equations(text, budget);
    relations
        .iter()
        .map(|relation| {
            Formula::equation(
                formula(&relation.left, text),
                formula(&relation.right, text),
            )
        })
        .collect()
}

/// The conditions as typed.
pub fn conditions(text: &str, budget: &Budget) -> Vec<Formula> {
    let (conditions, _) = syntax::parse_conditions(text, budget);
    conditions
        .iter()
        .map(|condition| {
            let name = Formula::Derivative(condition.unknown.clone(), condition.order);
            let sign = if condition.near { '≈' } else { '=' };
            Formula::row([
                Formula::value_at(name, formula(&condition.point, text)),
                Formula::Operator(sign),
                formula(&condition.value, text),
            ])
        })
        .collect()
}
