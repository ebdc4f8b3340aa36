//! Zeros of an equation in one letter, each between two fractions with a proof that it is the only one
//! there: intervals are halved until the equation's values, or its slope's, surely keep one sign.
//! (Moore, Kearfott & Cloud, *Introduction to Interval Analysis*, SIAM 2009, 8.1; Sturm's theorem where
//! the coefficients are rational is in `roots`.)

use std::cmp::Ordering;

use num_traits::{Signed, Zero};

use super::steps::SMALL;
use crate::expression::{Expr, Function, Node, RootOf, Symbol, enclose, enclose_between, sign};
use crate::number::rational::{integer, ratio};
use crate::number::{Polynomial, Rational};
use crate::sorting::sort_by;

/// Precision of enclosures, in bits.
const BITS: usize = 64;
/// Intervals looked at.
const LOOKS: usize = 300;
/// No zeros are looked for in larger equations (in nodes).
const LARGEST: usize = 200;
/// Halvings of one interval.
const DEPTH: usize = 48;
/// Equations that are not polynomials are searched for zeros between minus this and this.
pub(super) const REACH: i64 = 64;
/// First they are looked for this close to zero.
pub(super) const NEAR: i64 = 8;
/// Significant digits of the ends that are shown.
const DIGITS: i64 = 100_000;

/// What was found.
pub(super) struct Found {
    /// In rising order.
    pub(super) values: Vec<Expr>,
    /// Nothing was left undecided between the ends.
    pub(super) all: bool,
}

/// The zeros of `equation` (the variable is its letter) between two fractions, under `letter` where they
/// are no small fractions.
pub(super) fn zeros(equation: &Expr, letter: &str, ends: (Rational, Rational)) -> Found {
    let slope = equation.partial(&Symbol::Variable);
    let mut values: Vec<(Rational, Expr)> = Vec::new();
    let mut all = true;
    // Wide intervals before narrow ones, so that no part is left out when there are too many.
    let mut open = vec![(ends.0, ends.1, 0)];
    let mut looks = 0;
    while let Some((low, high, depth)) = open.get(looks).cloned() {
        looks += 1;
        if looks > LOOKS || equation.size() > LARGEST {
            all = false;
            break;
        }
        let away = |e: &Expr| {
            enclose_between(e, (&low, &high), BITS)
                .is_some_and(|(a, b)| a.is_positive() || b.is_negative())
        };
        if away(equation) {
            continue;
        }
        if away(&slope) {
            match (at(equation, &low), at(equation, &high)) {
                (Some(a), Some(b)) if a == b && a != Ordering::Equal => {}
                (Some(a), Some(b)) if a == b.reverse() && a != Ordering::Equal => {
                    match number(equation, letter, (&low, &high), None) {
                        Some(value) => values.push((low, value)),
                        None => all = false,
                    }
                }
                _ => all = false,
            }
            continue;
        }
        if depth >= DEPTH {
            all = false;
            continue;
        }
        // Not at the middle, where zeros of equations made by hand like to be.
        let middle = &low + (&high - &low) * ratio(499, 1000);
        open.push((low, middle.clone(), depth + 1));
        open.push((middle, high, depth + 1));
    }
    sort_by(&mut values, |a, b| a.0.cmp(&b.0));
    Found {
        values: values.into_iter().map(|(_, value)| value).collect(),
        all,
    }
}

/// Between which numbers the values lie wherever the letter is on the real line, as far as the form
/// tells; no values at all for what may be undefined somewhere.
fn range(e: &Expr) -> Option<(Option<Rational>, Option<Rational>)> {
    let one = || Some(integer(1));
    Some(match e.node() {
        Node::Number(value) => (Some(value.clone()), Some(value.clone())),
        Node::Sum(terms) => {
            let mut sum = (Some(integer(0)), Some(integer(0)));
            for term in terms {
                let (low, high) = range(term)?;
                sum = (
                    sum.0.zip(low).map(|(a, b)| a + b),
                    sum.1.zip(high).map(|(a, b)| a + b),
                );
            }
            sum
        }
        Node::Product(_) => {
            let (coefficient, rest) = e.split_coefficient();
            let parts = rest.factors();
            let ranges = parts.iter().map(range).collect::<Option<Vec<_>>>()?;
            let scaled = |end: Option<Rational>| end.map(|end| end * &coefficient);
            match ranges.as_slice() {
                [(low, high)] if coefficient.is_positive() => {
                    (scaled(low.clone()), scaled(high.clone()))
                }
                [(low, high)] => (scaled(high.clone()), scaled(low.clone())),
                _ => (None, None),
            }
        }
        Node::Power(base, exponent) => {
            let exponent = exponent.as_number()?;
            if !exponent.is_integer() {
                return None;
            }
            let (low, _) = range(base)?;
            if exponent.is_negative() {
                return low
                    .is_some_and(|low| low.is_positive())
                    .then(|| (Some(integer(0)), None));
            }
            let even = (exponent / integer(2)).is_integer();
            (even.then(|| integer(0)), None)
        }
        Node::Call(function, argument) => {
            range(argument)?;
            match function {
                Function::Sin | Function::Cos | Function::Tanh => (Some(integer(-1)), one()),
                Function::Exp => (Some(integer(0)), None),
                Function::Sech => (Some(integer(0)), one()),
                Function::Cosh => (one(), None),
                Function::Sinh | Function::Arsinh | Function::Arctan => (None, None),
                _ => return None,
            }
        }
        Node::Symbol(Symbol::Variable) => (None, None),
        Node::Symbol(_) => {
            let (low, high) = enclose(e, BITS).ok()?.to_rationals()?;
            (Some(low), Some(high))
        }
    })
}

/// Rises, or falls, on the whole real line: an analytic function whose slope never changes its sign.
/// So it is zero at one place at most.
pub(super) fn is_monotone(equation: &Expr) -> bool {
    let keeps = |slope: &Expr| {
        range(slope).is_some_and(|(low, high)| {
            low.is_some_and(|low| !low.is_negative())
                || high.is_some_and(|high| !high.is_positive())
        })
    };
    range(equation).is_some() && keeps(&equation.partial(&Symbol::Variable))
}

fn at(equation: &Expr, place: &Rational) -> Option<Ordering> {
    let place = Expr::number(place.clone());
    let value = equation.substitute(&|own| (*own == Symbol::Variable).then(|| place.clone()));
    sign(&crate::expression::evaluate(&value).ok()?)
}

/// The one zero between these: a small fraction that satisfies the equation, or a number with a letter,
/// between decimals that read well.
pub(super) fn number(
    equation: &Expr,
    letter: &str,
    (low, high): (&Rational, &Rational),
    minimal: Option<&Polynomial>,
) -> Option<Expr> {
    if minimal.is_none() {
        let mut inside = SMALL
            .iter()
            .map(|(a, b)| ratio(*a, *b))
            .filter(|place| low < place && place < high);
        if let Some(place) = inside.find(|place| at(equation, place) == Some(Ordering::Equal)) {
            return Some(Expr::number(place));
        }
    }
    let own = RootOf::between(letter, equation, (low.clone(), high.clone()), minimal)?;
    let Some((low, high)) = enclose(&own, BITS).ok().and_then(|e| e.to_rationals()) else {
        return Some(own);
    };
    let mut unit = ratio(1, DIGITS);
    while !low.is_zero() && low.abs() < &unit * integer(DIGITS) / integer(10) {
        unit *= ratio(1, 10);
    }
    let ends = (
        (&low / &unit).floor() * &unit,
        (&high / &unit).ceil() * &unit,
    );
    Some(RootOf::between(letter, equation, ends, minimal).unwrap_or(own))
}
