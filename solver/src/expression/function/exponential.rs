//! exp and ln.
//!
//! Derivatives: DLMF 4.7.1 and 4.7.5 (<https://dlmf.nist.gov/4.7>).

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, ToPrimitive};

use super::{Definition, Domain, Function, Parity, argument_of};
use crate::expression::power::surely_positive;
use crate::expression::radical::factor;
use crate::expression::tree::{Expr, Node};
use crate::number::{Rational, rational};

pub(super) const EXP: Definition = Definition {
    name: "exp",
    parity: Parity::Neither,
    domain: Domain::Everywhere,
    derivative: |u| Function::Exp.apply(u),
    fold: |u| {
        if u.is_zero() {
            return Some(Expr::one());
        }
        without_logarithms(u, &surely_positive)
    },
    special: |u, _| without_logarithms(u, &|_| true),
};

pub(super) const LN: Definition = Definition {
    name: "ln",
    parity: Parity::Neither,
    domain: Domain::Positive,
    derivative: |u| u.pow_int(-1),
    fold: fold_ln,
    special: |u, _| special_ln(u),
};

/// exp(a + c ln u) = uᶜ exp a for a number c, where u is admitted: what is surely positive, so that
/// the logarithm's domain is not lost, or any u of which it is known that its logarithm has a value.
fn without_logarithms(u: &Expr, admitted: &dyn Fn(&Expr) -> bool) -> Option<Expr> {
    let terms = match u.node() {
        Node::Sum(terms) => terms.as_slice(),
        _ => std::slice::from_ref(u),
    };
    if !terms.iter().any(|t| multiple_of_ln(t, admitted).is_some()) {
        return None;
    }
    let mut factors = Vec::new();
    let mut rest = Vec::new();
    for term in terms {
        match multiple_of_ln(term, admitted) {
            Some(power) => factors.push(power),
            None => rest.push(term.clone()),
        }
    }
    factors.push(Function::Exp.apply(&Expr::sum(rest)));
    Some(Expr::product(factors))
}

/// uᶜ, if the term is c ln u with a number c and an admitted u.
fn multiple_of_ln(term: &Expr, admitted: &dyn Fn(&Expr) -> bool) -> Option<Expr> {
    let (coefficient, rest) = term.split_coefficient();
    let argument = argument_of(&rest, Function::Ln)?;
    admitted(argument).then(|| Expr::power(argument.clone(), Expr::number(coefficient)))
}

/// ln 1 = 0; ln(exp u) = u; ln(1/n) = −ln n.
fn fold_ln(u: &Expr) -> Option<Expr> {
    if let Some(argument) = argument_of(u, Function::Exp) {
        return Some(argument.clone());
    }
    let value = u.as_number()?;
    if value.is_one() {
        return Some(Expr::zero());
    }
    if value.numer().is_one() {
        return Some(Expr::raw_call(Function::Ln, Expr::number(value.recip())).neg());
    }
    None
}

/// ln of powers and products of what is surely positive: ln 8 = 3 ln 2, ln √2 = ½ ln 2,
/// ln(2 e) = ln 2 + 1, ln(p/q) = −ln(q/p) when p < q.
fn special_ln(u: &Expr) -> Option<Expr> {
    match u.node() {
        Node::Number(value) => ln_of_number(value),
        Node::Power(base, exponent) => {
            let value = exponent.as_number()?;
            surely_positive(base).then(|| ln(base).scale(value))
        }
        Node::Product(factors) => {
            let splits = |f: &Expr| {
                matches!(f.node(), Node::Power(base, exponent)
                    if surely_positive(base) && exponent.as_number().is_some())
                    || argument_of(f, Function::Exp).is_some()
            };
            if !factors.iter().any(splits) || !factors.iter().all(surely_positive) {
                return None;
            }
            // Roots of numbers join the number: ln(3√2) = ½ ln 18.
            let (numbers, others): (Vec<Expr>, Vec<Expr>) =
                factors.iter().cloned().partition(is_root_or_number);
            let mut terms: Vec<Expr> = others.iter().map(ln).collect();
            terms.push(ln_of_root(&Expr::product(numbers))?);
            Some(Expr::sum(terms))
        }
        Node::Symbol(_) | Node::Call(..) | Node::Sum(_) => None,
    }
}

fn ln(u: &Expr) -> Expr {
    special_ln(u)
        .or_else(|| fold_ln(u))
        .unwrap_or_else(|| Expr::raw_call(Function::Ln, u.clone()))
}

fn is_root_or_number(factor: &Expr) -> bool {
    match factor.node() {
        Node::Number(_) => true,
        Node::Power(base, exponent) => base.as_number().is_some() && exponent.as_number().is_some(),
        _ => false,
    }
}

/// ln of a number times at most one root.
fn ln_of_root(u: &Expr) -> Option<Expr> {
    const MAX_INDEX: u64 = 60;
    if u.as_number().is_some() {
        return Some(ln(u));
    }
    let index = u.factors().iter().find_map(|f| match f.node() {
        Node::Power(_, exponent) => exponent.as_number().map(|e| e.denom().clone()),
        _ => None,
    })?;
    let index = index.to_u64().filter(|index| *index <= MAX_INDEX)?;
    let power = u.pow_int(i64::try_from(index).ok()?);
    let value = power.as_number()?;
    Some(ln(&Expr::number(value.clone())).scale(&Rational::new(1.into(), index.into())))
}

/// ln of a positive fraction: the largest exact power taken out, the argument above 1.
fn ln_of_number(value: &Rational) -> Option<Expr> {
    if value.is_one() {
        return Some(Expr::zero());
    }
    if value < &Rational::one() {
        return Some(ln(&Expr::number(value.recip())).neg());
    }
    let primes: Vec<(BigInt, i64)> = factor(value.numer())
        .into_iter()
        .chain(factor(value.denom()).into_iter().map(|(p, n)| (p, -n)))
        .collect();
    let power = primes.iter().fold(0_i64, |gcd, (_, n)| gcd.gcd(n));
    if power <= 1 {
        return None;
    }
    let root = primes.iter().fold(Rational::one(), |root, (prime, n)| {
        let exponent = i32::try_from(n / power).unwrap_or(0);
        root * rational::pow(&Rational::from_integer(prime.clone()), exponent)
    });
    Some(Expr::raw_call(Function::Ln, Expr::number(root)).scale(&rational::integer(power)))
}
