//! Leibniz's rule for the n-th derivative of a polynomial times a derivative of an unknown.

use num_bigint::BigInt;
use num_traits::One;

use crate::expression::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::number::rational::integer;

/// One term of Leibniz's rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LeibnizTerm {
    /// C(n, j).
    pub binomial: BigInt,
    /// p⁽ʲ⁾; p itself keeps its brackets.
    pub factor: Expr,
    /// y⁽ᵐ⁺ⁿ⁻ʲ⁾.
    pub derivative: Expr,
    /// The three multiplied, in normal form.
    pub product: Expr,
}

/// The terms C(n,j) p⁽ʲ⁾ y⁽ᵐ⁺ⁿ⁻ʲ⁾, j = 0, 1, …, of the n-th derivative of `term` = p y⁽ᵐ⁾, in that
/// order; they end where the polynomial p in the independent variable has been used up. `None`
/// when `term` is not of this kind.
pub fn leibniz(term: &Expr, times: u32) -> Option<Vec<LeibnizTerm>> {
    let (derivatives, others): (Vec<Expr>, Vec<Expr>) =
        term.factors().into_iter().partition(Expr::has_derivative);
    let [unknown_factor] = derivatives.as_slice() else {
        return None;
    };
    let Node::Symbol(Symbol::Derivative { unknown, order }) = unknown_factor.node() else {
        return None;
    };
    let highest = order.checked_add(times)?;
    let polynomial = Expr::product(others);
    let mut coefficients = polynomial.polynomial_coefficients(&Symbol::Variable)?;
    let mut binomial = BigInt::one();
    let mut terms = Vec::new();
    for j in 0..=times {
        if j > 0 {
            differentiate_polynomial(&mut coefficients);
            binomial = binomial * (times - j + 1) / j;
        }
        if coefficients.iter().all(Expr::is_zero) {
            break;
        }
        let factor = if j == 0 {
            polynomial.clone()
        } else {
            polynomial_from(&coefficients)
        };
        let derivative = Expr::derivative(*unknown, highest - j);
        terms.push(LeibnizTerm {
            product: Expr::product(vec![
                Expr::number(Rational::from_integer(binomial.clone())),
                factor.clone(),
                derivative.clone(),
            ]),
            binomial: binomial.clone(),
            factor,
            derivative,
        });
    }
    Some(terms)
}

fn differentiate_polynomial(coefficients: &mut Vec<Expr>) {
    for (coefficient, power) in coefficients.iter_mut().zip(0..) {
        *coefficient = coefficient.scale(&integer(power));
    }
    if !coefficients.is_empty() {
        coefficients.remove(0);
    }
}

fn polynomial_from(coefficients: &[Expr]) -> Expr {
    let terms = coefficients
        .iter()
        .zip(0_i64..)
        .map(|(coefficient, power)| {
            Expr::product(vec![coefficient.clone(), Expr::variable().pow_int(power)])
        });
    Expr::sum(terms.collect())
}
