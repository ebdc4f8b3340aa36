//! Constructors that give the normal form.
//!
//! Arguments are expected in normal form (raw trees go through [`Expr::normal`]). The normal form
//! is flat, numbers are folded, like terms and like factors are merged, the order is fixed. It is
//! an algebraic form: x⁰ = 1 and x·x⁻¹ = 1 wherever both sides have a value.

use std::cmp::Ordering;

use num_traits::{One, Signed, Zero};

use super::Function;
use super::order;
use super::power::power_of;
use super::query::split_number;
use super::radical;
use super::tree::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::number::rational::{self, integer};

#[allow(
    clippy::needless_pass_by_value,
    reason = "callers build the arguments for the call and have no use for them afterwards"
)]
impl Expr {
    /// The number 0.
    pub fn zero() -> Self {
        Self::number(Rational::zero())
    }

    /// The number 1.
    pub fn one() -> Self {
        Self::number(Rational::one())
    }

    /// An integer.
    pub fn int(value: i64) -> Self {
        Self::number(integer(value))
    }

    /// π.
    pub fn pi() -> Self {
        Self::raw(Node::Symbol(Symbol::Pi))
    }

    /// e, the base of natural logarithms: exp(1).
    pub fn e() -> Self {
        Self::raw_call(Function::Exp, Self::one())
    }

    /// The sum in normal form.
    pub fn sum(terms: Vec<Self>) -> Self {
        sum_of(&terms)
    }

    /// The product in normal form. A number times a sum is distributed; other products of sums
    /// keep their brackets ([`Expr::expand`] multiplies them out).
    pub fn product(factors: Vec<Self>) -> Self {
        product_of(&factors)
    }

    /// The power in normal form. Never fails: 0⁻¹, 0⁰ and √(−1) stay as they are, and evaluating
    /// them says what is wrong. Odd roots of negative numbers are real: (−8)^(1/3) = −2.
    pub fn power(base: Self, exponent: Self) -> Self {
        power_of(&base, &exponent)
    }

    /// The function's value in normal form (parity, values at 0 and 1, inverse functions).
    pub fn call(function: Function, argument: Self) -> Self {
        function.apply(&argument)
    }

    /// −self.
    #[must_use]
    pub fn neg(&self) -> Self {
        self.scale(&-Rational::one())
    }

    /// self + other.
    #[must_use]
    pub fn add(&self, other: &Self) -> Self {
        Self::sum(vec![self.clone(), other.clone()])
    }

    /// self − other.
    #[must_use]
    pub fn sub(&self, other: &Self) -> Self {
        Self::sum(vec![self.clone(), other.neg()])
    }

    /// self · other.
    #[must_use]
    pub fn mul(&self, other: &Self) -> Self {
        Self::product(vec![self.clone(), other.clone()])
    }

    /// self / other; other = 0 leaves the factor 0⁻¹, which no evaluation accepts.
    #[must_use]
    pub fn div(&self, other: &Self) -> Self {
        Self::product(vec![self.clone(), other.pow_int(-1)])
    }

    /// self².
    #[must_use]
    pub fn square(&self) -> Self {
        self.pow_int(2)
    }

    /// self to an integer power.
    #[must_use]
    pub fn pow_int(&self, exponent: i64) -> Self {
        power_of(self, &Self::int(exponent))
    }

    /// √self.
    #[must_use]
    pub fn sqrt(&self) -> Self {
        power_of(self, &Self::number(rational::ratio(1, 2)))
    }

    /// self times a number.
    #[must_use]
    pub fn scale(&self, factor: &Rational) -> Self {
        if factor.is_one() {
            return self.clone();
        }
        match self.node() {
            Node::Sum(terms) if !factor.is_zero() => {
                let scaled = terms.iter().map(|term| scale_term(term, factor)).collect();
                in_reading_order(scaled)
            }
            _ => scale_term(self, factor),
        }
    }

    /// The normal form of a raw tree.
    #[must_use]
    pub fn normal(&self) -> Self {
        self.rebuild(&|_| None)
    }

    /// Replaces letters and brings the result to normal form; `None` keeps the letter.
    #[must_use]
    pub fn substitute(&self, replacement: &dyn Fn(&Symbol) -> Option<Self>) -> Self {
        self.rebuild(replacement)
    }

    fn rebuild(&self, replacement: &dyn Fn(&Symbol) -> Option<Self>) -> Self {
        match self.node() {
            Node::Number(_) => self.clone(),
            Node::Symbol(symbol) => replacement(symbol).unwrap_or_else(|| self.clone()),
            Node::Call(function, argument) => function.apply(&argument.rebuild(replacement)),
            Node::Power(base, exponent) => {
                power_of(&base.rebuild(replacement), &exponent.rebuild(replacement))
            }
            Node::Product(factors) => {
                let factors: Vec<_> = factors.iter().map(|f| f.rebuild(replacement)).collect();
                product_of(&factors)
            }
            Node::Sum(terms) => {
                let terms: Vec<_> = terms.iter().map(|t| t.rebuild(replacement)).collect();
                sum_of(&terms)
            }
        }
    }
}

fn scale_term(term: &Expr, factor: &Rational) -> Expr {
    let (coefficient, factors) = split_number(term);
    if matches!(factors, [single] if matches!(single.node(), Node::Sum(_))) || factor.is_zero() {
        return product_of(&[Expr::number(factor.clone()), term.clone()]);
    }
    match coefficient {
        None => with_coefficient(factor.clone(), factors),
        Some(own) => with_coefficient(own * factor, factors),
    }
}

/// Coefficient times factors that are already sorted and merged.
fn with_coefficient(coefficient: Rational, factors: &[Expr]) -> Expr {
    if factors.is_empty() || coefficient.is_zero() {
        return Expr::number(coefficient);
    }
    if coefficient.is_one() {
        return Expr::joined(factors);
    }
    let mut all = Vec::with_capacity(factors.len() + 1);
    all.push(Expr::number(coefficient));
    all.extend_from_slice(factors);
    Expr::raw_product(all)
}

/// Is a term's number negative?
pub(super) fn starts_negative(term: &Expr) -> bool {
    split_number(term).0.is_some_and(Signed::is_negative)
}

/// Turns merged, sorted terms round when that avoids a minus sign at the front, or puts a positive
/// constant there.
fn in_reading_order(mut terms: Vec<Expr>) -> Expr {
    // A multiple of a sum may come in turned round already.
    if !is_descending(&terms) {
        terms.reverse();
    }
    let turned = match terms.as_slice() {
        [first, .., last] if starts_negative(first) => !starts_negative(last),
        [first, .., before, last] => order::constant_first(first, before, last),
        [first, last] => order::constant_first(first, first, last),
        _ => false,
    };
    if turned {
        terms.reverse();
    }
    match terms.len() {
        0 => Expr::zero(),
        1 => terms.swap_remove(0),
        _ => Expr::raw_sum(terms),
    }
}

fn is_descending(terms: &[Expr]) -> bool {
    match (terms.first(), terms.last()) {
        (Some(first), Some(last)) => {
            let (first, last) = (split_number(first).1, split_number(last).1);
            order::term_key(first)
                .cmp(&order::term_key(last))
                .then_with(|| order::terms(first, last))
                .is_le()
        }
        _ => true,
    }
}

struct Summand<'a> {
    key: order::TermKey,
    factors: &'a [Expr],
    coefficient: Option<Rational>,
    /// The term itself while nothing was merged into it.
    original: Option<&'a Expr>,
}

fn sum_of(terms: &[Expr]) -> Expr {
    fn flatten<'a>(terms: &'a [Expr], into: &mut Vec<Summand<'a>>) {
        for term in terms {
            match term.node() {
                Node::Sum(inner) => flatten(inner, into),
                Node::Number(value) if value.is_zero() => {}
                _ => {
                    let (coefficient, factors) = split_number(term);
                    into.push(Summand {
                        key: order::term_key(factors),
                        factors,
                        coefficient: coefficient.cloned(),
                        original: Some(term),
                    });
                }
            }
        }
    }
    if let [single] = terms {
        return single.clone();
    }
    let mut summands = Vec::with_capacity(terms.len());
    flatten(terms, &mut summands);
    crate::sorting::sort_by(&mut summands, |a, b| {
        a.key
            .cmp(&b.key)
            .then_with(|| order::terms(a.factors, b.factors))
    });
    let mut merged: Vec<Summand<'_>> = Vec::with_capacity(summands.len());
    for next in summands {
        match merged.last_mut() {
            Some(last) if last.key == next.key && last.factors == next.factors => {
                let one = Rational::one();
                last.coefficient = Some(
                    last.coefficient.as_ref().unwrap_or(&one)
                        + next.coefficient.as_ref().unwrap_or(&one),
                );
                last.original = None;
            }
            _ => merged.push(next),
        }
    }
    let terms: Vec<Expr> = merged
        .into_iter()
        .filter(|s| s.coefficient.as_ref().is_none_or(|c| !c.is_zero()) || undefined(s.factors))
        .map(|s| match (s.original, s.coefficient) {
            (Some(original), _) => original.clone(),
            (None, coefficient) => {
                let coefficient = coefficient.unwrap_or_else(Rational::one);
                if coefficient.is_zero() {
                    return keep_undefined(s.factors);
                }
                with_coefficient(coefficient, s.factors)
            }
        })
        .collect();
    in_reading_order(terms)
}

/// 0⁻¹, 0⁰, √(−1): numbers without a value. They must not vanish by a factor 0.
pub(super) fn without_value(factor: &Expr) -> bool {
    let Node::Power(base, exponent) = factor.node() else {
        return false;
    };
    match (base.as_number(), exponent.as_number()) {
        (Some(base), Some(exponent)) => {
            (base.is_zero() && !exponent.is_positive())
                || (base.is_negative() && rational::is_even(exponent.denom()))
        }
        _ => false,
    }
}

fn undefined(factors: &[Expr]) -> bool {
    factors.iter().any(without_value)
}

fn keep_undefined(factors: &[Expr]) -> Expr {
    let mut all = vec![Expr::zero()];
    all.extend_from_slice(factors);
    Expr::raw_product(all)
}

/// The factors of a product sorted into kinds that merge among themselves.
#[derive(Default)]
struct Pool {
    coefficient: Rational,
    /// Positive numbers to fractional or huge powers.
    radicals: Vec<Expr>,
    /// Arguments of exponential functions, with the factor while there is only one.
    exponentials: Vec<Expr>,
    /// Base and exponent (`None`: 1); the whole factor, as it came.
    others: Vec<Expr>,
    /// Numbers without a value.
    undefined: Vec<Expr>,
}

impl Pool {
    fn take(&mut self, factors: &[Expr]) {
        for factor in factors {
            match factor.node() {
                Node::Product(inner) => self.take(inner),
                Node::Number(value) => {
                    if !value.is_one() {
                        self.coefficient *= value;
                    }
                }
                Node::Call(Function::Exp, _) => self.exponentials.push(factor.clone()),
                Node::Power(base, exponent)
                    if base.as_number().is_some() && exponent.as_number().is_some() =>
                {
                    if without_value(factor) {
                        self.undefined.push(factor.clone());
                    } else {
                        self.radicals.push(factor.clone());
                    }
                }
                Node::Symbol(_) | Node::Call(..) | Node::Power(..) | Node::Sum(_) => {
                    self.others.push(factor.clone());
                }
            }
        }
    }

    /// Merges each kind; the results may belong to another kind, which asks for another round.
    fn merge(self) -> (Self, bool) {
        let mut next = Self {
            coefficient: self.coefficient,
            undefined: self.undefined,
            ..Self::default()
        };
        let mut again = false;
        if self.radicals.len() > 1 {
            let (factor, radicals) = radical::combine(&self.radicals);
            next.coefficient *= factor;
            next.radicals = radicals;
        } else {
            next.radicals = self.radicals;
        }
        if self.exponentials.len() > 1 {
            let arguments: Vec<Expr> = self
                .exponentials
                .iter()
                .filter_map(|factor| match factor.node() {
                    Node::Call(_, argument) => Some(argument.clone()),
                    _ => None,
                })
                .collect();
            let merged = Function::Exp.apply(&sum_of(&arguments));
            again |= !matches!(
                merged.node(),
                Node::Call(Function::Exp, _) | Node::Number(_)
            );
            next.take(std::slice::from_ref(&merged));
        } else {
            next.exponentials.extend(self.exponentials);
        }
        let mut others = self.others;
        crate::sorting::sort_by(&mut others, |a, b| {
            order::base_and_exponent(a)
                .0
                .cmp(order::base_and_exponent(b).0)
        });
        let mut rest = others.as_slice();
        while let Some(first) = rest.first() {
            let base = order::base_and_exponent(first).0;
            let count = rest
                .iter()
                .take_while(|f| order::base_and_exponent(f).0.cmp(base) == Ordering::Equal)
                .count();
            let (group, tail) = rest.split_at(count);
            rest = tail;
            if count == 1 {
                next.others.push(first.clone());
                continue;
            }
            let merged = power_of(base, &added_exponents(group));
            let plain = matches!(merged.node(), Node::Number(_))
                || (order::base_and_exponent(&merged).0 == base
                    && !matches!(merged.node(), Node::Product(_)));
            again |= !plain;
            next.take(std::slice::from_ref(&merged));
        }
        (next, again)
    }
}

fn added_exponents(factors: &[Expr]) -> Expr {
    let exponents: Vec<Expr> = factors
        .iter()
        .map(|f| {
            order::base_and_exponent(f)
                .1
                .cloned()
                .unwrap_or_else(Expr::one)
        })
        .collect();
    sum_of(&exponents)
}

fn product_of(factors: &[Expr]) -> Expr {
    /// Each round merges strictly fewer factors; the bound only guards against a mistake here.
    const ROUNDS: usize = 16;
    if let [single] = factors {
        return single.clone();
    }
    let mut pool = Pool {
        coefficient: Rational::one(),
        ..Pool::default()
    };
    pool.take(factors);
    for _ in 0..ROUNDS {
        let (next, again) = pool.merge();
        pool = next;
        if !again {
            break;
        }
    }
    let Pool {
        coefficient,
        radicals,
        exponentials,
        others,
        undefined,
    } = pool;
    if coefficient.is_zero() {
        return if undefined.is_empty() {
            Expr::zero()
        } else {
            keep_undefined(&undefined)
        };
    }
    let mut all = radicals;
    all.extend(exponentials);
    all.extend(others);
    all.extend(undefined);
    crate::sorting::sort_by(&mut all, order::factors);
    match all.as_slice() {
        [single] if matches!(single.node(), Node::Sum(_)) => single.scale(&coefficient),
        _ => with_coefficient(coefficient, &all),
    }
}
