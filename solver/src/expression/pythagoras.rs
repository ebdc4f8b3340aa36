//! cos² = 1 − sin² and its five relatives, for constants (DLMF 4.21.12–14, 4.35.11–13).
//!
//! A square is replaced only where its partner's square stands beside it in the same sum. That is
//! enough to see that a polynomial in sin u and cos u is zero: a multiple of sin² + cos² − 1 that
//! is not plainly zero contains both squares.

use num_traits::{Signed, ToPrimitive};

use super::function::Function;
use super::order::base_and_exponent;
use super::tree::{Expr, Node};
use crate::sorting::sort_by;

/// (replaced, kept, a, b): replaced² = a + b·kept².
pub(super) const PAIRS: [(Function, Function, i64, i64); 6] = [
    (Function::Cos, Function::Sin, 1, -1),
    (Function::Sec, Function::Tan, 1, 1),
    (Function::Csc, Function::Cot, 1, 1),
    (Function::Cosh, Function::Sinh, 1, 1),
    (Function::Sech, Function::Tanh, 1, -1),
    (Function::Csch, Function::Coth, -1, 1),
];

/// The sum with partners' squares reduced; anything else as it is.
pub(super) fn reduced(value: &Expr, max_terms: usize) -> Expr {
    let Node::Sum(terms) = value.node() else {
        return value.clone();
    };
    let mut squares: Vec<(Function, Expr)> = terms
        .iter()
        .flat_map(|term| {
            let factors = match term.node() {
                Node::Product(factors) => factors.as_slice(),
                _ => std::slice::from_ref(term),
            };
            factors.iter().filter_map(squared_call).collect::<Vec<_>>()
        })
        .map(|(function, argument, _)| (function, argument))
        .collect();
    sort_by(&mut squares, Ord::cmp);
    squares.dedup();
    if squares.len() < 2 {
        return value.clone();
    }
    let mut result = value.clone();
    for (replaced, kept, a, b) in PAIRS {
        for (function, argument) in &squares {
            if *function == replaced && squares.contains(&(kept, argument.clone())) {
                let other = Expr::raw_call(kept, argument.clone()).square();
                let instead = Expr::int(a).add(&other.scale(&crate::number::rational::integer(b)));
                let terms = result
                    .terms()
                    .iter()
                    .map(|term| with_square_replaced(term, replaced, argument, &instead))
                    .collect();
                result = Expr::sum(terms).expand(max_terms);
            }
        }
    }
    result
}

/// f(u)ⁿ with n ≥ 2.
fn squared_call(factor: &Expr) -> Option<(Function, Expr, i64)> {
    let (base, exponent) = base_and_exponent(factor);
    let exponent = exponent?.as_number()?;
    match base.node() {
        Node::Call(function, argument) if exponent.is_integer() && exponent.is_positive() => {
            Some((*function, argument.clone(), exponent.numer().to_i64()?))
        }
        _ => None,
    }
}

fn with_square_replaced(term: &Expr, function: Function, argument: &Expr, instead: &Expr) -> Expr {
    let factors = term
        .factors()
        .into_iter()
        .map(|factor| match squared_call(&factor) {
            Some((f, u, exponent)) if f == function && u == *argument => {
                let single = Expr::raw_call(f, u).pow_int(exponent % 2);
                single.mul(&instead.pow_int(exponent / 2))
            }
            _ => factor,
        })
        .collect();
    Expr::product(factors)
}
