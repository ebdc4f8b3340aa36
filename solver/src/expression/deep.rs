//! A stronger normal form of constants, only for recognising zero: nobody reads it.
//!
//! Functions are written with few of them (sin, cos, exp, ln, arcsin, arctan), logarithms of
//! numbers with logarithms of primes, arctangents with those of Gaussian primes, products of sines
//! and cosines as sums; then denominators are multiplied away and products multiplied out.

use num_traits::{Signed, ToPrimitive, Zero};

use super::constant::tidied;
use super::function::Function;
use super::gaussian::arctan_of_primes;
use super::order::base_and_exponent;
use super::radical::factor;
use super::tree::{Expr, Node};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::ordered::Map;

/// Denominators inside denominators are followed this far.
const ROUNDS: usize = 4;
/// Highest power of a sine or cosine that is written as a sum.
const MAX_POWER: usize = 32;

/// Forms larger than this (in nodes) are given up.
const MAX_SIZE: usize = 20_000;

/// Is a constant that has a value zero by an identity known here?
pub(super) fn is_identically_zero(value: &Expr) -> bool {
    let mut form = simplest(&few_functions(value));
    if form.size() > MAX_SIZE {
        return false;
    }
    for _ in 0..ROUNDS {
        if form.is_zero() {
            return true;
        }
        match without_denominators(&form) {
            Some(next) if next.size() <= MAX_SIZE => form = simplest(&next),
            Some(_) | None => break,
        }
    }
    form.is_zero()
}

fn few_functions(e: &Expr) -> Expr {
    match e.node() {
        Node::Number(_) | Node::Symbol(_) => e.clone(),
        Node::Sum(terms) => Expr::sum(terms.iter().map(few_functions).collect()),
        Node::Product(factors) => Expr::product(factors.iter().map(few_functions).collect()),
        Node::Power(base, exponent) => {
            Expr::power(simplest(&few_functions(base)), few_functions(exponent))
        }
        Node::Call(function, argument) => {
            let argument = simplest(&few_functions(argument));
            if argument.size() > MAX_SIZE {
                // Each level may double the size: stop before it costs anything.
                return e.clone();
            }
            rewritten(*function, &argument)
        }
    }
}

fn rewritten(function: Function, u: &Expr) -> Expr {
    let call = |f: Function| Expr::call(f, u.clone());
    let exp = || Expr::call(Function::Exp, u.clone());
    let exp_minus = || Expr::call(Function::Exp, u.neg());
    let half = ratio(1, 2);
    let half_pi = || Expr::pi().scale(&half);
    let one = Expr::one;
    let ln = |v: Expr| rewritten(Function::Ln, &tidied(&v));
    match function {
        Function::Tan => call(Function::Sin).div(&call(Function::Cos)),
        Function::Cot => call(Function::Cos).div(&call(Function::Sin)),
        Function::Sec => call(Function::Cos).pow_int(-1),
        Function::Csc => call(Function::Sin).pow_int(-1),
        Function::Arccos => half_pi().sub(&rewritten(Function::Arcsin, u)),
        Function::Arccot => half_pi().sub(&rewritten(Function::Arctan, u)),
        Function::Arctan => {
            let number = u.as_number();
            number
                .and_then(arctan_of_primes)
                .unwrap_or_else(|| call(Function::Arctan))
        }
        Function::Arcsin => arctan_of_arcsin(u).unwrap_or_else(|| call(Function::Arcsin)),
        Function::Sinh => exp().sub(&exp_minus()).scale(&half),
        Function::Cosh => exp().add(&exp_minus()).scale(&half),
        Function::Tanh => exp().sub(&exp_minus()).div(&exp().add(&exp_minus())),
        Function::Coth => exp().add(&exp_minus()).div(&exp().sub(&exp_minus())),
        Function::Sech => exp().add(&exp_minus()).pow_int(-1).scale(&integer(2)),
        Function::Csch => exp().sub(&exp_minus()).pow_int(-1).scale(&integer(2)),
        Function::Arsinh => ln(u.add(&u.square().add(&one()).sqrt())),
        Function::Arcosh => ln(u.add(&u.square().sub(&one()).sqrt())),
        Function::Artanh => ln(one().add(u)).sub(&ln(one().sub(u))).scale(&half),
        Function::Ln => match u.as_number() {
            Some(value) if value.is_positive() => ln_of_primes(value),
            _ => call(Function::Ln),
        },
        Function::Exp | Function::Sin | Function::Cos | Function::Abs | Function::Sign => {
            call(function)
        }
    }
}

/// arcsin u = arctan(u/√(1 − u²)) where both are fractions.
fn arctan_of_arcsin(u: &Expr) -> Option<Expr> {
    let number = u.as_number()?;
    let cosine = Expr::one().sub(&u.square()).sqrt();
    let cosine = cosine.as_number().filter(|cosine| cosine.is_positive())?;
    arctan_of_primes(&(number / cosine))
}

fn ln_of_primes(value: &Rational) -> Expr {
    let above = factor(value.numer()).into_iter();
    let below = factor(value.denom()).into_iter().map(|(p, n)| (p, -n));
    let terms = above
        .chain(below)
        .map(|(prime, n)| {
            Expr::raw_call(Function::Ln, Expr::number(prime.into())).scale(&integer(n))
        })
        .collect();
    Expr::sum(terms)
}

/// Multiplies a sum by what stands in its terms' denominators; `None` when nothing does.
fn without_denominators(form: &Expr) -> Option<Expr> {
    let mut below: Map<Expr, Rational> = Map::new();
    let terms = form.terms();
    for term in &terms {
        for factor in term.factors() {
            let (base, exponent) = base_and_exponent(&factor);
            if let Some(exponent) = exponent.and_then(Expr::as_number)
                && exponent.is_negative()
            {
                let largest = below.value_or(base.clone(), Rational::zero);
                if *largest < -exponent {
                    *largest = -exponent;
                }
            }
        }
    }
    if below.is_empty() {
        return None;
    }
    let denominator: Vec<Expr> = below
        .into_entries()
        .into_iter()
        .map(|(base, exponent)| Expr::power(base, Expr::number(exponent)))
        .collect();
    let terms = terms
        .into_iter()
        .map(|term| {
            let mut factors = term.factors();
            factors.extend(denominator.iter().cloned());
            Expr::product(factors)
        })
        .collect();
    Some(Expr::sum(terms))
}

/// Products of sines and cosines written as sums (DLMF 4.21.15–17), everywhere but inside functions:
/// then there is one sine or cosine in a term. Those of different positive fractions are linearly
/// independent over the algebraic numbers, together with 1 (Lindemann and Weierstrass; A. Baker,
/// *Transcendental Number Theory* (1975), th. 1.4, from memory), so no relation among them is missed.
/// `None`: too long.
fn without_products(form: &Expr) -> Option<Expr> {
    match form.node() {
        Node::Sum(terms) => {
            let terms: Option<Vec<Expr>> = terms.iter().map(without_products).collect();
            Some(Expr::sum(terms?))
        }
        Node::Product(_) | Node::Power(..) => {
            let mut angles = Vec::new();
            let mut others = Vec::new();
            for factor in form.factors() {
                let (base, exponent) = base_and_exponent(&factor);
                let times = exponent.map_or(Some(1), whole_number);
                match (base.node(), times) {
                    (Node::Call(function @ (Function::Sin | Function::Cos), u), Some(times)) => {
                        angles.extend(std::iter::repeat_n((*function, u.clone()), times));
                    }
                    (Node::Sum(_), _) => others.push(Expr::power(
                        simplest(base),
                        exponent.cloned().unwrap_or_else(Expr::one),
                    )),
                    _ => others.push(factor),
                }
            }
            let mut product = Expr::product(others);
            for (function, u) in angles {
                let terms = product.terms().into_iter();
                product = Expr::sum(terms.flat_map(|term| times(&term, function, &u)).collect());
                if product.size() > MAX_SIZE {
                    return None;
                }
            }
            Some(product)
        }
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) => Some(form.clone()),
    }
}

/// A positive integer exponent that is worth following.
fn whole_number(exponent: &Expr) -> Option<usize> {
    let value = exponent.as_number().filter(|value| value.is_integer())?;
    value.numer().to_usize().filter(|n| *n <= MAX_POWER)
}

/// A term with at most one sine or cosine in it, times another.
fn times(term: &Expr, function: Function, u: &Expr) -> Vec<Expr> {
    let mut factors = term.factors();
    let is_angle =
        |factor: &Expr| matches!(factor.node(), Node::Call(Function::Sin | Function::Cos, _));
    let Some(place) = factors.iter().position(is_angle) else {
        factors.push(Expr::call(function, u.clone()));
        return vec![Expr::product(factors)];
    };
    let own = factors.swap_remove(place);
    let Node::Call(first, v) = own.node() else {
        return Vec::new();
    };
    // Sines come from one sine and one cosine.
    let result = if *first == function {
        Function::Cos
    } else {
        Function::Sin
    };
    let with = |angle: Expr, sign: i64| {
        let mut all = factors.clone();
        all.extend([Expr::number(ratio(sign, 2)), Expr::call(result, angle)]);
        Expr::product(all)
    };
    vec![
        with(
            v.sub(u),
            if *first == Function::Cos && function == Function::Sin {
                -1
            } else {
                1
            },
        ),
        with(
            v.add(u),
            if *first == Function::Sin && function == Function::Sin {
                -1
            } else {
                1
            },
        ),
    ]
}

/// Multiplied out, without products of sines and cosines.
fn simplest(form: &Expr) -> Expr {
    let form = tidied(form);
    without_products(&form).map_or(form, |linear| tidied(&linear))
}
