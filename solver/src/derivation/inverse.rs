//! Real solutions of an equation in one unknown value that stands inside a function, a root or a
//! power: what is around it is undone from the outside, e.g. e^p = 2, √(1 + p) = 3, p + 1/p = 2.

use std::cmp::Ordering;

use num_integer::Integer;
use num_traits::{Signed, ToPrimitive, Zero};

use super::roots::{Roots, real_roots};
use crate::expression::{Expr, Function, Node, Symbol, evaluate, sign};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};

/// Functions around functions.
const DEPTH: usize = 8;

/// Terms that an equation may have after its powers were made whole.
const TERMS: usize = 200;

/// A power that is sought beyond this is not worked out.
const HIGHEST_POWER: i64 = 100;

/// Every real value of `symbol` at which `total` (nothing else in it is unknown) is zero, in closed
/// form, each once. `None`: they could not all be found; sines, for instance, have infinitely many.
pub(super) fn real_values(total: &Expr, symbol: &Symbol, letter: &str) -> Option<Vec<Expr>> {
    let mut values = Vec::new();
    for value in solved(total, (symbol, letter), DEPTH)? {
        let put_in = total.substitute(&|own| (own == symbol).then(|| value.clone()));
        // A zero of a denominator is none of the equation.
        if evaluate(&put_in).is_ok() && !values.contains(&value) {
            values.push(value);
        }
    }
    Some(values)
}

fn solved(total: &Expr, (symbol, letter): (&Symbol, &str), depth: usize) -> Option<Vec<Expr>> {
    let depth = depth.checked_sub(1)?;
    let mut inner = Inner::default();
    inner.collect(total, symbol)?;
    let base = inner.base?;
    let mut out = Vec::new();
    for value in values_of(total, &base, &inner.exponents, letter)? {
        match base.node() {
            Node::Symbol(_) => out.push(value),
            Node::Call(function, argument) => {
                for value in undone(*function, &value)? {
                    out.extend(solved(&argument.sub(&value), (symbol, letter), depth)?);
                }
            }
            // A constant to an unknown power.
            Node::Power(constant, exponent) => match sign(&value)? {
                Ordering::Greater => {
                    let logarithm = |of: &Expr| Expr::call(Function::Ln, of.clone());
                    let value = evaluate(&logarithm(&value).div(&logarithm(constant))).ok()?;
                    out.extend(solved(&exponent.sub(&value), (symbol, letter), depth)?);
                }
                Ordering::Less | Ordering::Equal => {}
            },
            Node::Sum(_) => out.extend(solved(&base.sub(&value), (symbol, letter), depth)?),
            Node::Number(_) | Node::Product(_) => return None,
        }
    }
    Some(out)
}

/// The one expression that holds the unknown value, and the powers to which it stands.
#[derive(Default)]
struct Inner {
    base: Option<Expr>,
    exponents: Vec<Rational>,
}

impl Inner {
    /// `None`: there are two.
    fn collect(&mut self, expression: &Expr, symbol: &Symbol) -> Option<()> {
        if !expression.contains(symbol) {
            return Some(());
        }
        let (base, exponent) = match expression.node() {
            Node::Sum(parts) | Node::Product(parts) => {
                return parts.iter().try_for_each(|part| self.collect(part, symbol));
            }
            Node::Power(base, exponent)
                if exponent.as_number().is_none() && base.contains(symbol) =>
            {
                return None;
            }
            _ => as_power(expression),
        };
        if *self.base.get_or_insert_with(|| base.clone()) != base {
            return None;
        }
        self.exponents.push(exponent);
        Some(())
    }
}

/// Base and exponent; e^(3u) is the third power of e^u.
fn as_power(expression: &Expr) -> (Expr, Rational) {
    match expression.node() {
        Node::Power(base, exponent) if let Some(exponent) = exponent.as_number() => {
            (base.clone(), exponent.clone())
        }
        Node::Call(Function::Exp, argument) => {
            let (coefficient, rest) = argument.split_coefficient();
            (Expr::call(Function::Exp, rest), coefficient)
        }
        _ => (expression.clone(), integer(1)),
    }
}

/// The values of `base` at which `total`, a sum of its powers with the `exponents`, is zero.
fn values_of(
    total: &Expr,
    base: &Expr,
    exponents: &[Rational],
    letter_for_zeros: &str,
) -> Option<Vec<Expr>> {
    // With base = uᵈ all powers are whole.
    let root = exponents
        .iter()
        .fold(integer(1).to_integer(), |all, e| all.lcm(e.denom()))
        .to_i64()
        .filter(|root| *root <= HIGHEST_POWER)?;
    let lowest = exponents.iter().min()?.clone().min(Rational::zero());
    let letter = Symbol::Parameter("\u{1}".into());
    let u = Expr::parameter("\u{1}");
    let whole = |exponent: &Rational| {
        let power = ((exponent - &lowest) * integer(root))
            .to_integer()
            .to_i64()?;
        (power <= HIGHEST_POWER).then(|| u.pow_int(power))
    };
    let mut terms = Vec::new();
    for term in total.expand(TERMS).terms() {
        let mut product = whole(&Rational::zero())?;
        for factor in term.factors() {
            let (own, exponent) = as_power(&factor);
            product = if own == *base {
                // The term has been made whole already; this adds its power.
                product.mul(&whole(&(exponent + &lowest))?)
            } else {
                product.mul(&factor)
            };
        }
        terms.push(product);
    }
    let mut coefficients = Vec::new();
    for coefficient in Expr::sum(terms).polynomial_coefficients(&letter)? {
        coefficients.push(evaluate(&coefficient).ok()?);
    }
    let Roots::All(found) = real_roots(&coefficients, letter_for_zeros) else {
        return None;
    };
    let mut values = Vec::new();
    for value in found {
        let fits = match sign(&value) {
            // Below an even root nothing is negative, and by zero nothing is divided.
            Some(Ordering::Less) => root % 2 == 1,
            Some(Ordering::Equal) => !lowest.is_negative(),
            Some(Ordering::Greater) => true,
            None => return None,
        };
        if fits {
            values.push(evaluate(&value.pow_int(root)).ok()?);
        }
    }
    Some(values)
}

/// The real arguments at which `function` has this value; `None` for those with a period, and where
/// the value cannot be compared.
fn undone(function: Function, value: &Expr) -> Option<Vec<Expr>> {
    let of = |inverse: Function| Some(vec![evaluate(&Expr::call(inverse, value.clone())).ok()?]);
    // Of the functions with values between two bounds: not outside.
    let within = |low: &Expr, high: &Expr, ends: bool, inverse: Function| {
        let (below, above) = (sign(&value.sub(low))?, sign(&value.sub(high))?);
        let inside = below == Ordering::Greater && above == Ordering::Less
            || ends && (below == Ordering::Equal || above == Ordering::Equal);
        if inside {
            of(inverse)
        } else {
            Some(Vec::new())
        }
    };
    let one = Expr::one();
    let right_angle = Expr::pi().scale(&ratio(1, 2));
    match function {
        Function::Exp => match sign(value)? {
            Ordering::Greater => of(Function::Ln),
            Ordering::Less | Ordering::Equal => Some(Vec::new()),
        },
        Function::Ln => of(Function::Exp),
        Function::Sinh => of(Function::Arsinh),
        Function::Arsinh => of(Function::Sinh),
        Function::Artanh => of(Function::Tanh),
        Function::Tanh => within(&one.neg(), &one, false, Function::Artanh),
        Function::Arctan => within(&right_angle.neg(), &right_angle, false, Function::Tan),
        Function::Arcsin => within(&right_angle.neg(), &right_angle, true, Function::Sin),
        Function::Arccos => within(&Expr::zero(), &Expr::pi(), true, Function::Cos),
        Function::Arcosh => match sign(value)? {
            Ordering::Less => Some(Vec::new()),
            Ordering::Equal | Ordering::Greater => of(Function::Cosh),
        },
        Function::Cosh => match sign(&value.sub(&one))? {
            Ordering::Less => Some(Vec::new()),
            Ordering::Equal => Some(vec![Expr::zero()]),
            Ordering::Greater => {
                let found = of(Function::Arcosh)?;
                Some(found.iter().flat_map(|v| [v.neg(), v.clone()]).collect())
            }
        },
        Function::Abs => match sign(value)? {
            Ordering::Less => Some(Vec::new()),
            Ordering::Equal => Some(vec![Expr::zero()]),
            Ordering::Greater => Some(vec![value.neg(), value.clone()]),
        },
        Function::Sin
        | Function::Cos
        | Function::Tan
        | Function::Cot
        | Function::Sec
        | Function::Csc
        | Function::Arccot
        | Function::Coth
        | Function::Sech
        | Function::Csch
        | Function::Sign => None,
    }
}
