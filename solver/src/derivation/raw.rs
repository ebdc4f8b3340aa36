//! Lines as a teacher writes them down first: numbers multiplied and in front, then powers of the
//! independent variable, factors 1 left out, nothing else merged or moved.

use num_traits::{One, Signed, Zero};

use crate::expression::{Expr, Node, Symbol};
use crate::number::Rational;

/// The product of `factors`: products inside are opened, numbers multiplied and put in front, then
/// powers of the independent variable; a factor 1 left out, one factor 0 leaves 0. Equal factors
/// are not merged and keep their order.
pub(super) fn product(factors: impl IntoIterator<Item = Expr>) -> Expr {
    let mut number = Rational::one();
    let mut rest = Vec::new();
    for factor in factors {
        open(factor, &mut number, &mut rest);
    }
    if number.is_zero() {
        return Expr::zero();
    }
    crate::sorting::sort_by_key(&mut rest, |factor| !is_power_of_variable(factor));
    if !number.is_one() || rest.is_empty() {
        rest.insert(0, Expr::number(number));
    }
    single_or(rest, Expr::raw_product)
}

fn is_power_of_variable(factor: &Expr) -> bool {
    match factor.node() {
        Node::Symbol(symbol) => *symbol == Symbol::Variable,
        Node::Power(base, exponent) => {
            exponent.as_number().is_some_and(Signed::is_positive)
                && *base.node() == Node::Symbol(Symbol::Variable)
        }
        Node::Number(_) | Node::Call(..) | Node::Product(_) | Node::Sum(_) => false,
    }
}

fn open(factor: Expr, number: &mut Rational, rest: &mut Vec<Expr>) {
    match factor.node() {
        Node::Number(value) => *number *= value,
        Node::Product(inner) => {
            for factor in inner {
                open(factor.clone(), number, rest);
            }
        }
        Node::Symbol(_) | Node::Call(..) | Node::Power(..) | Node::Sum(_) => rest.push(factor),
    }
}

/// The sum of `terms`: sums inside are opened, zeros left out; no like terms combined.
pub(super) fn sum(terms: impl IntoIterator<Item = Expr>) -> Expr {
    let mut flat = Vec::new();
    for term in terms {
        match term.node() {
            Node::Sum(inner) => flat.extend(inner.iter().filter(|t| !t.is_zero()).cloned()),
            _ if term.is_zero() => {}
            _ => flat.push(term),
        }
    }
    if flat.is_empty() {
        return Expr::zero();
    }
    single_or(flat, Expr::raw_sum)
}

/// The same with every 0 in sight.
pub(super) fn sum_with_zeros(terms: impl IntoIterator<Item = Expr>) -> Expr {
    let mut flat = Vec::new();
    for term in terms {
        match term.node() {
            Node::Sum(inner) => flat.extend(inner.iter().cloned()),
            _ => flat.push(term),
        }
    }
    single_or(flat, Expr::raw_sum)
}

/// `base^exponent`, and `base` itself for the exponent 1.
pub(super) fn power(base: Expr, exponent: Expr) -> Expr {
    if exponent.is_one() {
        base
    } else {
        Expr::raw_power(base, exponent)
    }
}

fn single_or(mut parts: Vec<Expr>, several: fn(Vec<Expr>) -> Expr) -> Expr {
    match parts.pop() {
        Some(only) if parts.is_empty() => only,
        Some(last) => {
            parts.push(last);
            several(parts)
        }
        None => several(parts),
    }
}
