//! A stronger normal form of constants, only for recognising zero: nobody reads it.
//!
//! Functions are written with few of them (sin, cos, exp, ln, arcsin, arctan), logarithms of
//! numbers with logarithms of primes, sines and cosines of multiples of one angle with that angle;
//! then denominators are multiplied away and products multiplied out.

use num_traits::{Signed, ToPrimitive, Zero};

use super::constant::tidied;
use super::function::Function;
use super::order::base_and_exponent;
use super::radical::factor;
use super::tree::{Expr, Node};
use crate::number::Rational;
use crate::number::gcd::gcd;
use crate::number::rational::{integer, ratio};
use crate::ordered::Map;

/// Denominators inside denominators are followed this far.
const ROUNDS: usize = 4;
/// Largest multiple of an angle that is written with the angle itself.
const MAX_MULTIPLE: i64 = 24;

/// Forms larger than this (in nodes) are given up.
const MAX_SIZE: usize = 20_000;

/// Is a constant that has a value zero by an identity known here?
pub(super) fn is_identically_zero(value: &Expr) -> bool {
    let mut form = tidied(&few_functions(value));
    if form.size() > MAX_SIZE {
        return false;
    }
    if let Some(single) = single_angles(&form) {
        form = single;
    }
    for _ in 0..ROUNDS {
        if form.is_zero() {
            return true;
        }
        match without_denominators(&form) {
            Some(next) if next.size() <= MAX_SIZE => form = tidied(&next),
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
            Expr::power(tidied(&few_functions(base)), few_functions(exponent))
        }
        Node::Call(function, argument) => {
            let argument = tidied(&few_functions(argument));
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
        Function::Arccos => half_pi().sub(&call(Function::Arcsin)),
        Function::Arccot => half_pi().sub(&call(Function::Arctan)),
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
        Function::Exp
        | Function::Sin
        | Function::Cos
        | Function::Arcsin
        | Function::Arctan
        | Function::Abs
        | Function::Sign => call(function),
    }
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

/// sin and cos of multiples of one angle written with the angle; `None` when there is nothing to do.
fn single_angles(form: &Expr) -> Option<Expr> {
    fn collect(e: &Expr, into: &mut Map<Expr, Rational>) {
        if let Node::Call(Function::Sin | Function::Cos, u) = e.node() {
            let (coefficient, core) = u.split_coefficient();
            let measure = into.value_or(core, || coefficient.abs());
            *measure = common_measure(measure, &coefficient);
        }
        for child in e.children() {
            collect(child, into);
        }
    }
    fn replace(e: &Expr, measures: &Map<Expr, Rational>) -> Expr {
        match e.node() {
            Node::Call(function @ (Function::Sin | Function::Cos), u) => {
                let (coefficient, core) = u.split_coefficient();
                let Some(measure) = measures.get(&core) else {
                    return e.clone();
                };
                let multiple = (coefficient / measure).to_integer().to_i64();
                match multiple {
                    Some(n) if n.abs() <= MAX_MULTIPLE => {
                        multiple_angle(*function, n, &core.scale(measure))
                    }
                    _ => e.clone(),
                }
            }
            Node::Sum(terms) => Expr::sum(terms.iter().map(|t| replace(t, measures)).collect()),
            Node::Product(factors) => {
                Expr::product(factors.iter().map(|f| replace(f, measures)).collect())
            }
            Node::Power(base, exponent) => {
                Expr::power(tidied(&replace(base, measures)), exponent.clone())
            }
            Node::Number(_) | Node::Symbol(_) | Node::Call(..) => e.clone(),
        }
    }
    let mut measures = Map::new();
    collect(form, &mut measures);
    let replaced = replace(form, &measures);
    (replaced != *form).then(|| tidied(&replaced))
}

/// The largest number of which both are integer multiples.
fn common_measure(a: &Rational, b: &Rational) -> Rational {
    let (left, right) = (a.numer() * b.denom(), b.numer() * a.denom());
    Rational::new(gcd(&left, &right), a.denom() * b.denom())
}

/// sin nu or cos nu by f(n+1) = 2 cos u · f(n) − f(n−1) (the sum of the addition theorems for n+1 and n−1).
fn multiple_angle(function: Function, n: i64, u: &Expr) -> Expr {
    let cos = Expr::call(Function::Cos, u.clone());
    let (mut before, mut now) = match function {
        Function::Sin => (Expr::zero(), Expr::call(Function::Sin, u.clone())),
        _ => (Expr::one(), cos.clone()),
    };
    if n == 0 {
        return before;
    }
    for _ in 1..n.abs() {
        let next = tidied(&cos.mul(&now).scale(&integer(2)).sub(&before));
        before = now;
        now = next;
    }
    if n < 0 && function == Function::Sin {
        now.neg()
    } else {
        now
    }
}
