//! exp and ln.
//!
//! Derivatives: DLMF 4.7.1 and 4.7.5 (<https://dlmf.nist.gov/4.7>).

use num_traits::One;

use super::{Definition, Domain, Function, Parity, argument_of};
use crate::expression::tree::{Expr, Node};

pub(super) const EXP: Definition = Definition {
    name: "exp",
    spellings: &[],
    parity: Parity::Neither,
    domain: Domain::Everywhere,
    derivative: |u| Function::Exp.apply(u),
    fold: fold_exp,
};

pub(super) const LN: Definition = Definition {
    name: "ln",
    spellings: &["log"],
    parity: Parity::Neither,
    domain: Domain::Positive,
    derivative: |u| u.pow_int(-1),
    fold: fold_ln,
};

/// exp 0 = 1; exp(a + c ln u) = uᶜ exp a for a number c.
fn fold_exp(u: &Expr) -> Option<Expr> {
    if u.is_zero() {
        return Some(Expr::one());
    }
    let terms = match u.node() {
        Node::Sum(terms) => terms.as_slice(),
        _ => std::slice::from_ref(u),
    };
    if !terms.iter().any(|term| multiple_of_ln(term).is_some()) {
        return None;
    }
    let mut factors = Vec::new();
    let mut rest = Vec::new();
    for term in terms {
        match multiple_of_ln(term) {
            Some(power) => factors.push(power),
            None => rest.push(term.clone()),
        }
    }
    factors.push(Function::Exp.apply(&Expr::sum(rest)));
    Some(Expr::product(factors))
}

/// uᶜ, if the term is c ln u with a number c.
fn multiple_of_ln(term: &Expr) -> Option<Expr> {
    let (coefficient, rest) = term.split_coefficient();
    let argument = argument_of(&rest, Function::Ln)?;
    Some(Expr::power(argument.clone(), Expr::number(coefficient)))
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
