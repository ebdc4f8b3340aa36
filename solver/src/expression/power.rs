//! Powers in normal form.

use num_traits::{One, Signed, ToPrimitive, Zero};

use super::Function;
use super::build::without_value;
use super::radical;
use super::tree::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::number::rational::is_even;

/// base^exponent in normal form; see [`Expr::power`].
pub(super) fn power_of(base: &Expr, exponent: &Expr) -> Expr {
    match exponent.as_number() {
        Some(value) => number_exponent(base, exponent, value),
        None => symbolic_exponent(base, exponent),
    }
}

fn number_exponent(base: &Expr, exponent: &Expr, value: &Rational) -> Expr {
    if value.is_one() {
        return base.clone();
    }
    let unchanged = || Expr::raw_power(base.clone(), exponent.clone());
    if without_value(base) {
        return unchanged();
    }
    match base.node() {
        Node::Number(number) => radical::number_power(number, value),
        _ if value.is_zero() => Expr::one(),
        Node::Call(Function::Exp, argument) => Function::Exp.apply(&argument.scale(value)),
        Node::Call(Function::Abs, argument) if value.is_integer() && is_even(value.numer()) => {
            power_of(argument, exponent)
        }
        Node::Power(inner, inner_exponent) => {
            if powers_multiply(inner, inner_exponent, value) {
                power_of(inner, &inner_exponent.scale(value))
            } else {
                unchanged()
            }
        }
        Node::Product(factors) => power_of_product(factors, exponent, value),
        Node::Sum(_) | Node::Symbol(_) | Node::Call(..) => unchanged(),
    }
}

/// May (uᵃ)ᵇ be written u^(ab), over the real numbers and wherever the left side has a value?
///
/// b an integer: always. a with an even denominator: u ≥ 0 there. a = odd/odd and b with an odd
/// denominator: both sides have the same sign, odd roots being real. u surely positive: always.
/// A symbolic a does not tell.
fn powers_multiply(base: &Expr, a: &Expr, b: &Rational) -> bool {
    if b.is_integer() || surely_positive(base) {
        return true;
    }
    a.as_number()
        .is_some_and(|a| is_even(a.denom()) || (!is_even(a.numer()) && !is_even(b.denom())))
}

/// Positive wherever it has a value, seen without computing.
pub(super) fn surely_positive(factor: &Expr) -> bool {
    match factor.node() {
        Node::Number(value) => value.is_positive(),
        Node::Symbol(symbol) => *symbol == Symbol::Pi,
        Node::Call(Function::Exp | Function::Cosh | Function::Sech, _) => true,
        Node::Call(..) => false,
        Node::Power(base, _) => surely_positive(base),
        Node::Product(parts) | Node::Sum(parts) => parts.iter().all(surely_positive),
    }
}

/// An integer exponent goes to every factor. A fractional one only to what is surely positive,
/// and to a minus sign when the root is odd: √(4x) = 2√x, but √(x y) stays.
fn power_of_product(factors: &[Expr], exponent: &Expr, value: &Rational) -> Expr {
    if value.is_integer() {
        return Expr::product(factors.iter().map(|f| power_of(f, exponent)).collect());
    }
    let mut outside = Vec::new();
    let mut inside = Vec::new();
    for factor in factors {
        if surely_positive(factor) {
            outside.push(power_of(factor, exponent));
        } else {
            match factor.as_number() {
                Some(number) if !number.is_one() && !number.is_zero() => {
                    // negative: its size goes out; the sign does for odd roots
                    outside.push(radical::number_power(&number.abs(), value));
                    if is_even(value.denom()) {
                        inside.push(Expr::int(-1));
                    } else if !is_even(value.numer()) {
                        outside.push(Expr::int(-1));
                    }
                }
                _ => inside.push(factor.clone()),
            }
        }
    }
    if outside.is_empty() {
        return Expr::raw_power(Expr::raw_product(factors.to_vec()), exponent.clone());
    }
    let inside = Expr::product(inside);
    outside.push(match inside.node() {
        Node::Product(_) => Expr::raw_power(inside, exponent.clone()),
        _ => power_of(&inside, exponent),
    });
    Expr::product(outside)
}

fn symbolic_exponent(base: &Expr, exponent: &Expr) -> Expr {
    match base.node() {
        Node::Call(Function::Exp, argument) => {
            Function::Exp.apply(&Expr::product(vec![argument.clone(), exponent.clone()]))
        }
        Node::Number(number) if number.is_one() => Expr::one(),
        Node::Number(number) if number.is_positive() => {
            // (1/2)^x = 2^(−x)
            if number < &Rational::one() && number.numer().is_one() {
                return power_of(&Expr::number(number.recip()), &exponent.neg());
            }
            // 2^(x+3) = 8·2^x: powers of one number have one form.
            let constant = match exponent.node() {
                Node::Sum(terms) => terms.iter().find(|t| t.as_number().is_some()).cloned(),
                _ => None,
            };
            match constant {
                Some(constant) if constant.as_number().is_some_and(moderate) => {
                    let rest = exponent.sub(&constant);
                    Expr::product(vec![power_of(base, &constant), power_of(base, &rest)])
                }
                _ => Expr::raw_power(base.clone(), exponent.clone()),
            }
        }
        Node::Power(inner, a) if powers_of_positive(inner, a) => {
            power_of(inner, &Expr::product(vec![a.clone(), exponent.clone()]))
        }
        _ => Expr::raw_power(base.clone(), exponent.clone()),
    }
}

/// (uᵃ)ᵛ = u^(av) with a symbolic v asks for u > 0, or for an exponent a that does.
fn powers_of_positive(base: &Expr, a: &Expr) -> bool {
    surely_positive(base) || a.as_number().is_some_and(|a| is_even(a.denom()))
}

fn moderate(value: &Rational) -> bool {
    value.to_i64().is_some_and(|n| n.unsigned_abs() <= 1000) || !value.is_integer()
}
