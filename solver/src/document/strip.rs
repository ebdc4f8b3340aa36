//! The polynomial, term by term.

use num_bigint::BigInt;
use num_traits::One;

use super::build;
use super::formula::{DOT, Formula, MINUS};
use super::ledger::StripTerm;
use super::names::Names;
use crate::check::Entry;
use crate::expression::{Expr, Node};

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

/// n!
pub fn factorial(n: usize) -> BigInt {
    (2..=n).fold(BigInt::one(), |product, k| product * k)
}

/// −28/5!
pub fn over_factorial(entry: &Entry, names: &Names) -> Formula {
    Formula::fraction(
        build::formula(&entry.value, names),
        Formula::factorial(entry.order),
    )
}

/// −28/120
pub fn over_product(entry: &Entry, names: &Names) -> Formula {
    let product = factorial(entry.order);
    if product.is_one() {
        return build::formula(&entry.value, names);
    }
    Formula::fraction(
        build::formula(&entry.value, names),
        Formula::digits(product),
    )
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
    let size = match build::formula(center, names) {
        Formula::Row(parts) => match parts.split_first() {
            Some((Formula::Sign(_), rest)) => Formula::row(rest.to_vec()),
            _ => Formula::Row(parts).bracketed(),
        },
        other => other,
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
fn signed_term(coefficient: &Expr, power: Option<Formula>, names: &Names, first: bool) -> Formula {
    let negative = build::is_negative(coefficient);
    let whole = build::formula(coefficient, names);
    let size = match whole {
        Formula::Row(parts) if negative => match parts.split_first() {
            Some((Formula::Sign(_), rest)) => Formula::row(rest.to_vec()),
            _ => Formula::Row(parts),
        },
        other => other,
    };
    let size = match (coefficient.node(), &power) {
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

/// The strip's terms. `decimal` gives a closed constant's decimal digits (and whether they are
/// exact), where it can.
pub fn terms(
    entries: &[Entry],
    center: &Expr,
    names: &Names,
    decimal: &dyn Fn(&Expr) -> Option<(String, bool)>,
) -> Vec<StripTerm> {
    let mut first = true;
    entries
        .iter()
        .map(|entry| {
            let power = power_of_distance(center, entry.order, names);
            let mut term = StripTerm {
                degree: entry.order,
                with_factorial: over_factorial(entry, names),
                factorial_term: None,
                simplified: None,
                decimal: None,
            };
            if !entry.coefficient.is_zero() {
                term.factorial_term = Some(factorial_term(entry, center, names, first));
                term.simplified =
                    Some(signed_term(&entry.coefficient, power.clone(), names, first));
                term.decimal = decimal(&entry.coefficient)
                    .map(|(digits, _)| decimal_term(&digits, power, first));
                first = false;
            }
            term
        })
        .collect()
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
    let negative = build::is_negative(&entry.value);
    let value = match build::formula(&entry.value, names) {
        Formula::Row(parts) if negative => match parts.split_first() {
            Some((Formula::Sign(_), rest)) => Formula::row(rest.to_vec()),
            _ => Formula::Row(parts),
        },
        other => other,
    };
    let fraction = Formula::fraction(value, Formula::factorial(entry.order));
    let body = match power_of_distance(center, entry.order, names) {
        None => fraction,
        Some(power) => Formula::row([fraction, Formula::Juxtaposition, power]),
    };
    with_sign(negative, body, first)
}
