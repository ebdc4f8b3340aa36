//! Multiplying out, and polynomials in one letter.

use num_bigint::BigInt;
use num_traits::{One, Signed, ToPrimitive};

use super::order::base_and_exponent;
use super::tree::{Expr, Node, Symbol};
use crate::number::Rational;

impl Expr {
    /// Multiplies out products of sums and positive integer powers of sums, everywhere except
    /// inside functions, exponents and negative powers. Gives the expression back unchanged when
    /// an intermediate result would have more than `max_terms` terms.
    #[must_use]
    pub fn expand(&self, max_terms: usize) -> Self {
        expanded(self, max_terms).unwrap_or_else(|| self.clone())
    }

    /// Numerator and denominator: the factors with negative exponents, turned over, are the
    /// denominator. Sums are left alone.
    pub fn numerator_denominator(&self) -> (Self, Self) {
        let (mut above, mut below) = (Vec::new(), Vec::new());
        for factor in self.factors() {
            match factor.node() {
                Node::Number(value) => {
                    above.push(Self::number(value.numer().clone().into()));
                    below.push(Self::number(value.denom().clone().into()));
                }
                Node::Power(base, exponent) if exponent_is_negative(exponent) => {
                    below.push(Self::power(base.clone(), exponent.neg()));
                }
                _ => above.push(factor),
            }
        }
        (Self::product(above), Self::product(below))
    }

    /// The coefficients by rising power, if this is a polynomial in `symbol` (after multiplying
    /// out) whose coefficients do not contain it. At least one entry; the last is not the number 0
    /// unless it is the only one.
    pub fn polynomial_coefficients(&self, symbol: &Symbol) -> Option<Vec<Self>> {
        const MAX_TERMS: usize = 2000;
        const MAX_DEGREE: usize = 1000;
        if !self.contains(symbol) {
            return Some(vec![self.clone()]);
        }
        let mut by_power: Vec<Vec<Self>> = Vec::new();
        for term in expanded(self, MAX_TERMS)?.terms() {
            let (power, coefficient) = power_of_symbol(&term, symbol)?;
            if power > MAX_DEGREE {
                return None;
            }
            if by_power.len() <= power {
                by_power.resize_with(power + 1, Vec::new);
            }
            by_power.get_mut(power)?.push(coefficient);
        }
        let mut coefficients: Vec<Self> = by_power.into_iter().map(Self::sum).collect();
        while coefficients.len() > 1 && coefficients.last().is_some_and(Self::is_zero) {
            coefficients.pop();
        }
        Some(coefficients)
    }

    /// Degree as a polynomial in `symbol`; `None` when it is not one.
    pub fn degree_in(&self, symbol: &Symbol) -> Option<usize> {
        self.polynomial_coefficients(symbol).map(|c| c.len() - 1)
    }
}

fn exponent_is_negative(exponent: &Expr) -> bool {
    match exponent.node() {
        Node::Number(value) => value.is_negative(),
        _ => super::build::starts_negative(exponent),
    }
}

/// Power of the symbol in a term, and the rest of the term; `None` if the rest contains it too.
fn power_of_symbol(term: &Expr, symbol: &Symbol) -> Option<(usize, Expr)> {
    let mut power = 0_usize;
    let mut rest = Vec::new();
    for factor in term.factors() {
        let (base, exponent) = base_and_exponent(&factor);
        if matches!(base.node(), Node::Symbol(own) if own == symbol) {
            let exponent = match exponent {
                None => 1,
                Some(e) => {
                    let value = e.as_number()?;
                    if !value.is_integer() {
                        return None;
                    }
                    value.numer().to_usize()?
                }
            };
            power = power.checked_add(exponent)?;
        } else if factor.contains(symbol) {
            return None;
        } else {
            rest.push(factor);
        }
    }
    Some((power, Expr::product(rest)))
}

/// `None`: too many terms.
fn expanded(expression: &Expr, max_terms: usize) -> Option<Expr> {
    match expression.node() {
        Node::Sum(terms) => {
            let terms: Option<Vec<_>> = terms.iter().map(|t| expanded(t, max_terms)).collect();
            within(Expr::sum(terms?), max_terms)
        }
        Node::Product(factors) => {
            let mut plain = Vec::new();
            let mut sums = Vec::new();
            for factor in factors {
                let factor = expanded(factor, max_terms)?;
                if matches!(factor.node(), Node::Sum(_)) {
                    sums.push(factor);
                } else {
                    plain.push(factor);
                }
            }
            let mut result = again(Expr::product(plain), max_terms)?;
            for sum in sums {
                result = multiplied(&result, &sum, max_terms)?;
            }
            Some(result)
        }
        Node::Power(base, exponent) => {
            let sum = match base.node() {
                Node::Sum(_) => base,
                _ => return Some(expression.clone()),
            };
            let Some(value) = exponent
                .as_number()
                .filter(|e| e.is_integer() && e.is_positive())
            else {
                return Some(expression.clone());
            };
            let times = value.numer().to_usize()?;
            // (a + b)^n has at least n + 1 terms unless some cancel.
            if times > max_terms {
                return None;
            }
            let sum = expanded(sum, max_terms)?;
            if nothing_cancels(&sum) && power_terms(sum.terms().len(), times) > max_terms {
                return None;
            }
            if let [u, v] = sum.terms().as_slice() {
                return binomial((u, v), times, max_terms);
            }
            let mut result = sum.clone();
            for _ in 1..times {
                result = multiplied(&result, &sum, max_terms)?;
            }
            Some(result)
        }
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) => Some(expression.clone()),
    }
}

/// A sum of different letters, and perhaps a number: no two products of its terms are alike.
fn nothing_cancels(sum: &Expr) -> bool {
    sum.terms().iter().all(|term| {
        let rest = term.split_coefficient().1;
        rest.is_one() || matches!(rest.node(), Node::Symbol(_))
    })
}

/// Terms of the n-th power of such a sum of m terms: C(n + m − 1, n); saturates.
fn power_terms(m: usize, n: usize) -> usize {
    (1..=n).fold(1, |count: usize, k| count.saturating_mul(m - 1 + k) / k)
}

/// (u + v)ⁿ by the binomial theorem.
fn binomial((u, v): (&Expr, &Expr), times: usize, max_terms: usize) -> Option<Expr> {
    let power = |base: &Expr, exponent: usize| Some(base.pow_int(i64::try_from(exponent).ok()?));
    let mut coefficient = BigInt::one();
    let mut terms = Vec::with_capacity(times + 1);
    for k in 0..=times {
        let product = power(u, times - k)?.mul(&power(v, k)?);
        terms.push(again(product, max_terms)?.scale(&Rational::from_integer(coefficient.clone())));
        coefficient = coefficient * (times - k) / (k + 1);
    }
    within(Expr::sum(terms), max_terms)
}

fn multiplied(a: &Expr, b: &Expr, max_terms: usize) -> Option<Expr> {
    let (a, b) = (a.terms(), b.terms());
    // Like terms may merge, so the limit is on the result; this guards the work.
    if a.len().saturating_mul(b.len()) > max_terms.saturating_mul(16) {
        return None;
    }
    let products: Option<Vec<Expr>> = a
        .iter()
        .flat_map(|s| b.iter().map(|t| again(s.mul(t), max_terms)))
        .collect();
    within(Expr::sum(products?), max_terms)
}

/// Two roots of a sum may have met and become the sum.
fn again(product: Expr, max_terms: usize) -> Option<Expr> {
    match product.node() {
        Node::Product(factors) if factors.iter().any(is_power_of_sum) => {
            expanded(&product, max_terms)
        }
        _ => Some(product),
    }
}

fn is_power_of_sum(factor: &Expr) -> bool {
    let (base, exponent) = base_and_exponent(factor);
    matches!(base.node(), Node::Sum(_))
        && exponent.is_none_or(|e| {
            e.as_number()
                .is_some_and(|e| e.is_integer() && e.is_positive())
        })
}

fn within(sum: Expr, max_terms: usize) -> Option<Expr> {
    match sum.node() {
        Node::Sum(terms) if terms.len() > max_terms => None,
        _ => Some(sum),
    }
}
