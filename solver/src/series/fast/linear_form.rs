//! Recognises linear equations with polynomial coefficients and moves them to the center.

use num_bigint::BigInt;
use num_traits::{One, Signed, ToPrimitive, Zero};

use crate::expression::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::number::gcd::{gcd, lcm};

/// Coefficients by rising power.
type Polynomial = Vec<Rational>;

/// Deepest expression and highest degree of a coefficient looked at.
const LARGEST_DEPTH: u32 = 100;
const LARGEST_DEGREE: usize = 64;

/// Largest integer coefficient after clearing denominators.
const LARGEST_COEFFICIENT: i64 = 1 << 40;

/// `Σ coefficients[i](t)·y^(i) = right(t)` with integer polynomials, `t` counted from the center,
/// and `coefficients[m](0) ≠ 0`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct LinearEquation {
    pub(super) coefficients: Vec<Vec<i64>>,
    pub(super) right: Vec<i64>,
}

/// A polynomial without the unknown, and one for each derivative.
#[derive(Clone)]
struct Form {
    free: Polynomial,
    parts: Vec<Polynomial>,
}

impl LinearEquation {
    /// The equation `Σ left = Σ right` of the given order about the center; `None` when it is not
    /// linear with polynomial coefficients, singular at the center, or has huge coefficients.
    pub(super) fn new(
        left: &[Expr],
        right: &[Expr],
        order: usize,
        center: &Rational,
    ) -> Option<Self> {
        let mut form = sum(left, order)?;
        form.add(&sum(right, order)?, &-Rational::one());
        let mut polynomials: Vec<Polynomial> = form
            .parts
            .iter()
            .chain([&form.free])
            .map(|p| shifted(p, center))
            .collect();
        let common = polynomials
            .iter()
            .flatten()
            .fold(BigInt::one(), |common, value| lcm(&common, value.denom()));
        let content = polynomials
            .iter()
            .flatten()
            .fold(BigInt::zero(), |content, value| {
                gcd(&content, &(value.numer() * (&common / value.denom())))
            });
        if content.is_zero() {
            return None;
        }
        let factor = Rational::new(common, content);
        let free = polynomials.pop()?;
        Some(Self {
            coefficients: polynomials
                .iter()
                .map(|polynomial| integers(polynomial, &factor))
                .collect::<Option<_>>()?,
            right: integers(&free, &-factor)?,
        })
        .filter(|equation| equation.leading() != 0)
    }

    /// Value of the leading coefficient at the center.
    pub(super) fn leading(&self) -> i64 {
        self.coefficients
            .last()
            .and_then(|leading| leading.first())
            .copied()
            .unwrap_or(0)
    }
}

fn integers(polynomial: &[Rational], factor: &Rational) -> Option<Vec<i64>> {
    polynomial
        .iter()
        .map(|value| {
            let value = value * factor;
            value
                .to_integer()
                .to_i64()
                .filter(|n| value.is_integer() && n.abs() <= LARGEST_COEFFICIENT)
        })
        .collect()
}

/// `p(c + t)` by repeated synthetic division.
fn shifted(polynomial: &[Rational], center: &Rational) -> Polynomial {
    let mut shifted = polynomial.to_vec();
    if center.is_zero() {
        return shifted;
    }
    for start in 0..shifted.len() {
        let mut carry = Rational::zero();
        for value in shifted.iter_mut().skip(start).rev() {
            *value += &carry * center;
            carry.clone_from(value);
        }
    }
    shifted
}

fn add_scaled(sum: &mut Polynomial, other: &[Rational], factor: &Rational) {
    if sum.len() < other.len() {
        sum.resize(other.len(), Rational::zero());
    }
    for (value, other) in sum.iter_mut().zip(other) {
        *value += other * factor;
    }
    while sum.last().is_some_and(Zero::is_zero) {
        sum.pop();
    }
}

fn multiplied(a: &[Rational], b: &[Rational]) -> Option<Polynomial> {
    // Neither ends with zeros, so that this is the product's length.
    let length = (a.len() + b.len()).saturating_sub(1);
    if a.is_empty() || b.is_empty() {
        return Some(Polynomial::new());
    }
    if length > LARGEST_DEGREE {
        return None;
    }
    let mut product = vec![Rational::zero(); length];
    for (degree, value) in a.iter().enumerate().filter(|(_, value)| !value.is_zero()) {
        for (sum, other) in product.iter_mut().skip(degree).zip(b) {
            if !other.is_zero() {
                *sum += value * other;
            }
        }
    }
    Some(product)
}

fn sum(terms: &[Expr], order: usize) -> Option<Form> {
    let mut sum = Form::constant(Rational::zero(), order);
    for term in terms {
        sum.add(&form(term, order)?, &Rational::one());
    }
    Some(sum)
}

fn form(expression: &Expr, order: usize) -> Option<Form> {
    if expression.depth() > LARGEST_DEPTH {
        return None;
    }
    match expression.node() {
        Node::Number(value) => Some(Form::constant(value.clone(), order)),
        Node::Symbol(Symbol::Variable) => {
            let mut form = Form::constant(Rational::zero(), order);
            form.free = vec![Rational::zero(), Rational::one()];
            Some(form)
        }
        Node::Symbol(Symbol::Derivative {
            unknown: 0,
            order: k,
        }) => {
            let mut form = Form::constant(Rational::zero(), order);
            *form.parts.get_mut(*k as usize)? = vec![Rational::one()];
            Some(form)
        }
        Node::Sum(terms) => sum(terms, order),
        Node::Product(factors) => {
            let mut product = Form::constant(Rational::one(), order);
            for factor in factors {
                product = product.multiply(&form(factor, order)?)?;
            }
            Some(product)
        }
        Node::Power(base, exponent) => {
            let exponent = exponent
                .as_number()
                .filter(|exponent| exponent.is_integer())?;
            let base = form(base, order)?;
            let times = exponent
                .numer()
                .magnitude()
                .to_usize()
                .filter(|&n| n <= LARGEST_DEGREE)?;
            let base = if exponent.is_negative() {
                base.reciprocal()?
            } else {
                base
            };
            let mut power = Form::constant(Rational::one(), order);
            for _ in 0..times {
                power = power.multiply(&base)?;
            }
            Some(power)
        }
        Node::Call(..) | Node::Symbol(_) => None,
    }
}

impl Form {
    fn constant(value: Rational, order: usize) -> Self {
        let free = if value.is_zero() {
            Vec::new()
        } else {
            vec![value]
        };
        Self {
            free,
            parts: vec![Vec::new(); order + 1],
        }
    }

    fn add(&mut self, other: &Self, factor: &Rational) {
        add_scaled(&mut self.free, &other.free, factor);
        for (part, other) in self.parts.iter_mut().zip(&other.parts) {
            add_scaled(part, other, factor);
        }
    }

    fn has_unknown(&self) -> bool {
        self.parts.iter().any(|part| !part.is_empty())
    }

    fn multiply(&self, other: &Self) -> Option<Self> {
        let (plain, other) = match (self.has_unknown(), other.has_unknown()) {
            (true, true) => return None,
            (true, false) => (other, self),
            _ => (self, other),
        };
        let parts = other.parts.iter().map(|part| multiplied(&plain.free, part));
        Some(Self {
            free: multiplied(&plain.free, &other.free)?,
            parts: parts.collect::<Option<_>>()?,
        })
    }

    fn reciprocal(&self) -> Option<Self> {
        match self.free.as_slice() {
            [value] if !self.has_unknown() => {
                Some(Self::constant(value.recip(), self.parts.len() - 1))
            }
            _ => None,
        }
    }
}
