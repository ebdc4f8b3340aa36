//! Values that are longer than a reader can use.

use super::formula::{Formula, MINUS};
use super::strip;
use crate::expression::{Expr, Node, decimal};
use crate::number::rational::bits;

/// A value with more nodes than this is folded away.
const LONG_VALUE: usize = 150;
/// The same for nodes and digits of a value with a root without a closed form.
const LONG_WITH_ROOT: usize = 60;
/// A value with more nodes than this is too wide for the margin.
const WIDE_VALUE: usize = 40;
/// Digits that stand for a folded value.
const DIGITS: u32 = 12;

/// Is a value longer than a reader can use? Polynomials in a root have few terms and long numbers.
pub fn is_long(value: &Expr) -> bool {
    if value.has_root() {
        value.size() + digits(value) > LONG_WITH_ROOT
    } else {
        value.size() > LONG_VALUE
    }
}

/// Digits of all numbers in a value.
fn digits(value: &Expr) -> usize {
    if let Node::Number(number) = value.node() {
        // log₁₀ 2 is about 3/10
        return usize::try_from(bits(number) * 3 / 10).unwrap_or(usize::MAX);
    }
    let parts = value.children().into_iter().map(digits);
    parts.fold(0, usize::saturating_add)
}

/// How many terms stand in a value, those in brackets included.
pub(super) fn count_terms(value: &Expr) -> usize {
    match value.node() {
        Node::Sum(terms) => terms.iter().map(count_terms).sum(),
        Node::Product(factors) => {
            let brackets = factors.iter().map(count_terms).filter(|count| *count > 1);
            brackets.sum::<usize>().max(1)
        }
        Node::Power(base, _) => count_terms(base),
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) => 1,
    }
}

/// What stands in place of a long value: its digits, all of them right, or how long it is.
pub(super) fn in_place_of(head: &Formula, value: &Expr) -> Formula {
    let (sign, shown) = match decimal(value, DIGITS) {
        Ok(digits) => {
            let size = strip::decimal_number(digits.trim_start_matches('-'));
            let minus = digits.starts_with('-').then_some(Formula::Sign(MINUS));
            ('≈', Formula::row(minus.into_iter().chain([size])))
        }
        Err(_) => ('=', Formula::Text(format!("{} terms", count_terms(value)))),
    };
    Formula::row([head.clone(), Formula::Operator(sign), shown])
}

/// Two decimals between which a long closed constant surely lies: `4.1 < y″(0) < 4.3`. They are one
/// unit of the last place beside its rounded digits, which are all right. `None` for fractions and
/// letters.
pub(super) fn enclosure(head: &Formula, value: &Expr) -> Option<Formula> {
    if value.size() <= WIDE_VALUE {
        return None;
    }
    let rounded = decimal(value, DIGITS).ok()?;
    let (mantissa, exponent) = match rounded.split_once('e') {
        Some((mantissa, exponent)) => (mantissa, Some(exponent)),
        None => (rounded.as_str(), None),
    };
    let places = mantissa
        .split_once('.')
        .map_or(0, |(_, behind)| behind.len());
    let units: i64 = mantissa.replace('.', "").parse().ok()?;
    let end = |units: i64| {
        let digits = format!("{:0>width$}", units.unsigned_abs(), width = places + 1);
        let (before, behind) = digits.split_at(digits.len() - places);
        let point = if places == 0 { "" } else { "." };
        let power = exponent.map_or(String::new(), |exponent| format!("e{exponent}"));
        let size = strip::decimal_number(&format!("{before}{point}{behind}{power}"));
        let minus = (units < 0).then_some(Formula::Sign(MINUS));
        Formula::row(minus.into_iter().chain([size]))
    };
    Some(Formula::row([
        end(units - 1),
        Formula::Operator('<'),
        head.clone(),
        Formula::Operator('<'),
        end(units + 1),
    ]))
}

/// What stands in the margin for a value that is too wide for it, if it is long or has digits.
pub(super) fn in_the_margin(head: &Formula, value: &Expr) -> Option<Formula> {
    let width = value.size() + if value.has_root() { digits(value) } else { 0 };
    let wide = width > WIDE_VALUE && decimal(value, DIGITS).is_ok();
    (wide || is_long(value)).then(|| in_place_of(head, value))
}
