//! The polynomial, term by term.

use num_traits::One;

use super::build;
use super::formula::{DOT, Formula, MINUS};
use super::ledger::StripTerm;
use super::names::Names;
use crate::check::{Entry, factorial};
use crate::expression::{Expr, Node};
use crate::number::Rational;

/// Which figures the polynomial is written with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Figures {
    /// Exact and simplified.
    Simplified,
    /// Exact, value over factorial.
    Factorials,
    /// Rounded decimals.
    Decimals,
}

/// −28/5!; for a value that is itself a fraction −163/(240⋅2!), sign in front: a fraction within a
/// fraction is hard to read at the back of a room.
pub fn over_factorial(entry: &Entry, names: &Names) -> Formula {
    let (negative, value) = unsigned(&entry.value, names);
    let factorial = Formula::factorial(entry.order);
    match value {
        Formula::Fraction(..) => with_sign(negative, divided(value, factorial), true),
        _ => Formula::fraction(build::formula(&entry.value, names), factorial),
    }
}

/// `value/factorial`, with one fraction bar.
fn divided(value: Formula, factorial: Formula) -> Formula {
    match value {
        Formula::Fraction(numerator, denominator) => {
            let denominator = match *denominator {
                product @ Formula::Row(_) => product.bracketed(),
                other => other,
            };
            let below = Formula::row([denominator, Formula::Operator(DOT), factorial]);
            Formula::fraction(*numerator, below)
        }
        value => Formula::fraction(value, factorial),
    }
}

/// −28/120, the factorial worked out: for whole numbers over more than 1.
pub fn over_product(entry: &Entry, names: &Names) -> Option<Formula> {
    let whole = entry.value.as_number().is_some_and(Rational::is_integer);
    let product = factorial(entry.order);
    if !whole || product.is_one() {
        return None;
    }
    let (negative, size) = unsigned(&entry.value, names);
    let fraction = Formula::fraction(size, Formula::digits(product));
    Some(with_sign(negative, fraction, true))
}

/// A constant's sign, and the formula without it.
fn unsigned(value: &Expr, names: &Names) -> (bool, Formula) {
    match build::formula(value, names) {
        Formula::Row(parts) => match parts.split_first() {
            Some((Formula::Sign(_), rest)) if build::is_negative(value) => {
                (true, Formula::row(rest.to_vec()))
            }
            _ => (false, Formula::Row(parts)),
        },
        other => (false, other),
    }
}

/// x, or (x − c) in brackets where a power or factor needs it.
pub fn distance(center: &Expr, names: &Names) -> Formula {
    if center.is_zero() {
        return names.variable();
    }
    let sign = if build::is_negative(center) {
        '+'
    } else {
        MINUS
    };
    let (_, size) = unsigned(center, names);
    let size = match center.node() {
        Node::Sum(_) => size.bracketed(),
        _ => size,
    };
    Formula::row([names.variable(), Formula::Operator(sign), size]).bracketed()
}

/// `(x − c)ⁿ`; nothing for n = 0.
pub fn power_of_distance(center: &Expr, n: usize, names: &Names) -> Option<Formula> {
    let base = distance(center, names);
    match n {
        0 => None,
        1 => Some(base),
        _ => Some(Formula::power(base, Formula::digits(n))),
    }
}

/// A coefficient with its power, sign in front: an operator with space unless it comes first.
pub(super) fn signed_term(
    coefficient: &Expr,
    power: Option<Formula>,
    names: &Names,
    first: bool,
) -> Formula {
    let (negative, size) = unsigned(coefficient, names);
    let size = match (coefficient.node(), &power) {
        // A sum over one number.
        _ if matches!(size, Formula::Fraction(..)) => size,
        // The constant term's sum stands as it is; before a power it needs brackets.
        (Node::Sum(_), Some(_)) => size.bracketed(),
        (Node::Sum(_), None) if !first => size.bracketed(),
        // A function's argument would swallow the power.
        (Node::Call(..) | Node::Product(_), Some(_)) if ends_open(&size) => size.bracketed(),
        _ => size,
    };
    let body = match power {
        None => size,
        Some(power) if size == Formula::digits(1) => power,
        Some(power) => Formula::row([size, Formula::Juxtaposition, power]),
    };
    with_sign(negative, body, first)
}

fn with_sign(negative: bool, body: Formula, first: bool) -> Formula {
    match (first, negative) {
        (true, false) => body,
        (true, true) => Formula::row([Formula::Sign(MINUS), body]),
        (false, false) => Formula::row([Formula::Operator('+'), body]),
        (false, true) => Formula::row([Formula::Operator(MINUS), body]),
    }
}

/// The simplified term of an entry; `None` when it is zero.
pub fn simplified_term(
    entry: &Entry,
    center: &Expr,
    names: &Names,
    first: bool,
) -> Option<Formula> {
    let power = power_of_distance(center, entry.order, names);
    (!entry.coefficient.is_zero()).then(|| signed_term(&entry.coefficient, power, names, first))
}

/// Ends with a function's argument without brackets.
fn ends_open(formula: &Formula) -> bool {
    match formula {
        Formula::Row(parts) => {
            let mut behind = parts.iter().rev();
            !matches!(behind.next(), Some(Formula::Brackets(_) | Formula::Bars(_)))
                && parts.contains(&Formula::Application)
        }
        _ => false,
    }
}

/// The strip's terms. `decimal` gives a closed constant's rounded decimal digits, where it
/// can.
pub fn terms(
    entries: &[Entry],
    center: &Expr,
    names: &Names,
    decimal: &dyn Fn(&Expr) -> Option<String>,
) -> Vec<StripTerm> {
    let mut first = true;
    entries
        .iter()
        .map(|entry| {
            let mut term = StripTerm {
                degree: entry.order,
                with_factorial: over_factorial(entry, names),
                factorial_term: None,
                simplified: None,
                decimal: None,
                rounded: false,
            };
            term.simplified = simplified_term(entry, center, names, first);
            if term.simplified.is_some() {
                term.factorial_term = Some(factorial_term(entry, center, names, first));
                // A coefficient without digits keeps its exact form: no term is dropped.
                term.decimal = match decimal(&entry.coefficient) {
                    Some(digits) => {
                        let (digits, exact) = shortened(&digits, &entry.coefficient);
                        let power = power_of_distance(center, entry.order, names);
                        term.rounded = !exact;
                        Some(decimal_term(&digits, power, first))
                    }
                    None => term.simplified.clone(),
                };
                first = false;
            }
            term
        })
        .collect()
}

/// Decimal digits without needless zeros where they are exact, and whether they are.
fn shortened(digits: &str, value: &Expr) -> (String, bool) {
    let exact = value.as_number().is_some_and(|value| {
        let (mantissa, exponent) = digits.split_once('e').unwrap_or((digits, "0"));
        let places = mantissa
            .split_once('.')
            .map_or(0, |(_, behind)| behind.len());
        let scale = i64::try_from(places)
            .ok()
            .zip(exponent.parse::<i64>().ok())
            .and_then(|(places, exponent)| i32::try_from(places - exponent).ok());
        // Exact when the value, moved by as many places as are shown, is a whole number.
        scale.is_some_and(|scale| {
            (value * Rational::from_integer(10.into()).pow(scale)).is_integer()
        })
    });
    if !exact || digits.contains('e') || !digits.contains('.') {
        return (digits.to_owned(), exact);
    }
    let short = digits.trim_end_matches('0').trim_end_matches('.');
    (short.to_owned(), true)
}

/// The number of decimal digits `text`, possibly `1.25e-9`, as a formula without its sign.
pub fn decimal_number(text: &str) -> Formula {
    match text.split_once('e') {
        None => Formula::Number(text.to_owned()),
        Some((mantissa, exponent)) => {
            let exponent = match exponent.strip_prefix('-') {
                Some(size) => Formula::row([Formula::Sign(MINUS), Formula::digits(size)]),
                None => Formula::digits(exponent.trim_start_matches('+')),
            };
            Formula::row([
                Formula::Number(mantissa.to_owned()),
                Formula::Operator(DOT),
                Formula::power(Formula::digits(10), exponent),
            ])
        }
    }
}

fn decimal_term(digits: &str, power: Option<Formula>, first: bool) -> Formula {
    let (negative, size) = match digits.strip_prefix('-') {
        Some(size) => (true, size),
        None => (false, digits),
    };
    let body = match power {
        None => decimal_number(size),
        Some(power) if size == "1" => power,
        Some(power) => Formula::row([decimal_number(size), Formula::Juxtaposition, power]),
    };
    with_sign(negative, body, first)
}

/// `+ −28/5! x⁵` with its sign taken out: the term with its factorial.
fn factorial_term(entry: &Entry, center: &Expr, names: &Names, first: bool) -> Formula {
    let (negative, value) = unsigned(&entry.value, names);
    let fraction = divided(value, Formula::factorial(entry.order));
    let body = match power_of_distance(center, entry.order, names) {
        None => fraction,
        Some(power) => Formula::row([fraction, Formula::Juxtaposition, power]),
    };
    with_sign(negative, body, first)
}
