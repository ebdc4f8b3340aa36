//! Places where the equation itself stops being analytic whatever the solution does: zeros of
//! divisors, radicands and the like in which only the independent variable occurs. Found by
//! sampling, so estimates; a rational place is proved by putting it in.

use num_traits::{Signed, Zero};

use super::StopReason;
use super::growth::{to_f64, to_i32};
use super::integrate::approximate;
use crate::expression::{Expr, Function, Node, Symbol, Truth, zero_test};
use crate::number::big_float::Precision;
use crate::number::rational::integer;
use crate::number::{BigFloat, Rational};
use crate::series::floats::evaluate;

/// Where the equation stops being analytic, seen from the center in one direction.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Barrier {
    /// How far from the center.
    pub(super) distance: f64,
    /// The place itself, when it is rational and the function is surely zero there.
    pub(super) place: Option<Rational>,
    /// What stops there.
    pub(super) reason: StopReason,
}

/// A function of the independent variable that must not be zero.
#[derive(Clone, Debug, PartialEq)]
struct Guard {
    argument: Expr,
    shape: Shape,
    reason: StopReason,
}

/// What of the argument must not be zero.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    /// u.
    Itself,
    /// 1 − u².
    InsideUnit,
    /// u − 1.
    AboveOne,
    /// cos u.
    Cosine,
    /// sin u.
    Sine,
}

/// Evenly spaced samples in each direction, and those before the first of them.
const SAMPLES: usize = 160;
const CLOSE_SAMPLES: usize = 24;

/// The nearest such place from `center` in one direction, not beyond `length`. Of a divisor and
/// a radicand that vanish together the divisor counts.
pub(super) fn nearest(
    right_side: &[Expr],
    center: &Rational,
    length: &Rational,
    right: bool,
) -> Option<Barrier> {
    let mut guards = Vec::new();
    for term in right_side {
        collect(term, 0, &mut guards);
    }
    let precision = Precision::new(80);
    let origin = BigFloat::from_rational(center, &precision);
    // A little further: the end itself may be the place, and rounded below it.
    let length = BigFloat::from_rational(length, &precision).to_f64() * (1.0 + 1e-9);
    let found: Vec<Barrier> = guards
        .iter()
        .filter_map(|guard| {
            let value = |distance: f64| {
                let offset = BigFloat::from_f64(if right { distance } else { -distance });
                guard.value(&origin.plus(&offset, &precision), &precision)
            };
            let distance = first_zero(&value, length)?;
            let place = guard.rational_zero(center, if right { distance } else { -distance });
            Some(Barrier {
                distance: place
                    .as_ref()
                    .map_or(distance, |place| approximate(&(place - center).abs())),
                place,
                reason: guard.reason,
            })
        })
        .collect();
    let first = found
        .iter()
        .map(|barrier| barrier.distance)
        .fold(f64::INFINITY, f64::min);
    found
        .into_iter()
        .filter(|barrier| barrier.distance <= first * (1.0 + 1e-6))
        .min_by_key(|barrier| {
            (
                barrier.reason != StopReason::SingularPoint,
                barrier.place.is_none(),
            )
        })
}

/// The same where the equation is singular at the center itself.
pub(super) fn beyond(
    right_side: &[Expr],
    center: &Rational,
    length: &Rational,
    right: bool,
) -> Option<Barrier> {
    let aside = length / Rational::from_integer((1 << 20).into());
    let from = if right {
        center + &aside
    } else {
        center - &aside
    };
    nearest(right_side, &from, &(length - &aside), right).map(|barrier| Barrier {
        distance: barrier.distance + approximate(&aside),
        ..barrier
    })
}

/// A rational zero is looked for within this part of the distance (a touch is found to half the
/// digits only), …
const AROUND: f64 = 1e-5;
/// … among so many convergents.
const CONVERGENTS: usize = 24;

impl Guard {
    /// A fraction close to `center + distance` at which the function is surely zero: one of the
    /// convergents of the place's continued fraction, put in.
    fn rational_zero(&self, center: &Rational, distance: f64) -> Option<Rational> {
        if matches!(self.shape, Shape::Cosine | Shape::Sine) {
            return None;
        }
        let about = center + BigFloat::from_f64(distance).to_rational()?;
        let near = BigFloat::from_f64(AROUND * distance).to_rational()?.abs();
        let (mut before, mut last) = (
            (integer(0).to_integer(), integer(1).to_integer()),
            (integer(1).to_integer(), integer(0).to_integer()),
        );
        let mut rest = about.clone();
        for _ in 0..CONVERGENTS {
            let whole = rest.floor().to_integer();
            let next = (&whole * &last.0 + &before.0, &whole * &last.1 + &before.1);
            (before, last) = (last, next);
            let convergent = Rational::new(last.0.clone(), last.1.clone());
            if (&convergent - &about).abs() <= near && self.vanishes(&convergent) {
                return Some(convergent);
            }
            rest -= Rational::from_integer(whole);
            if rest.is_zero() {
                break;
            }
            rest = rest.recip();
        }
        None
    }

    /// Surely zero at a fraction?
    fn vanishes(&self, place: &Rational) -> bool {
        let put_in =
            |symbol: &Symbol| (*symbol == Symbol::Variable).then(|| Expr::number(place.clone()));
        let u = self.argument.substitute(&put_in);
        let value = match self.shape {
            Shape::Itself => u,
            Shape::InsideUnit => Expr::one().sub(&u.square()),
            Shape::AboveOne => u.sub(&Expr::one()),
            Shape::Cosine | Shape::Sine => return false,
        };
        zero_test(&value.normal()) == Truth::Zero
    }

    fn value(&self, variable: &BigFloat, precision: &Precision) -> f64 {
        let p = precision;
        let u = evaluate(&self.argument, variable, p);
        let one = BigFloat::from_i64(1);
        match self.shape {
            Shape::Itself => u,
            Shape::InsideUnit => one.minus(&u.times(&u, p), p),
            Shape::AboveOne => u.minus(&one, p),
            Shape::Cosine => u.cos(p),
            Shape::Sine => u.sin(p),
        }
        .to_f64()
    }
}

/// Deepest nesting that is searched.
const DEPTH: usize = 200;

fn collect(expression: &Expr, depth: usize, guards: &mut Vec<Guard>) {
    if depth > DEPTH {
        return;
    }
    let mut guard = |argument: &Expr, shape: Shape, reason: StopReason| {
        let guard = Guard {
            argument: argument.clone(),
            shape,
            reason,
        };
        if only_variable(argument, 0) && !guards.contains(&guard) {
            guards.push(guard);
        }
    };
    match expression.node() {
        Node::Number(_) | Node::Symbol(_) => {}
        Node::Call(function, argument) => {
            match function {
                Function::Ln | Function::Abs | Function::Sign => {
                    guard(argument, Shape::Itself, StopReason::DomainEnd);
                }
                Function::Arcsin | Function::Arccos | Function::Artanh => {
                    guard(argument, Shape::InsideUnit, StopReason::DomainEnd);
                }
                Function::Arcosh => guard(argument, Shape::AboveOne, StopReason::DomainEnd),
                Function::Tan | Function::Sec => {
                    guard(argument, Shape::Cosine, StopReason::SingularPoint);
                }
                Function::Cot | Function::Csc => {
                    guard(argument, Shape::Sine, StopReason::SingularPoint);
                }
                Function::Coth | Function::Csch => {
                    guard(argument, Shape::Itself, StopReason::SingularPoint);
                }
                Function::Exp
                | Function::Sin
                | Function::Cos
                | Function::Arctan
                | Function::Arccot
                | Function::Sinh
                | Function::Cosh
                | Function::Tanh
                | Function::Sech
                | Function::Arsinh => {}
            }
            collect(argument, depth + 1, guards);
        }
        Node::Power(base, exponent) => {
            match exponent.node() {
                Node::Number(number) if number.is_integer() => {
                    if *number < integer(0) {
                        guard(base, Shape::Itself, StopReason::SingularPoint);
                    }
                }
                _ => guard(base, Shape::Itself, StopReason::DomainEnd),
            }
            collect(base, depth + 1, guards);
            collect(exponent, depth + 1, guards);
        }
        Node::Product(parts) | Node::Sum(parts) => {
            for part in parts {
                collect(part, depth + 1, guards);
            }
        }
    }
}

/// Contains the independent variable and no unknown.
fn only_variable(expression: &Expr, depth: usize) -> bool {
    fn scan(expression: &Expr, depth: usize, variable: &mut bool) -> bool {
        if depth > DEPTH {
            return false;
        }
        match expression.node() {
            Node::Number(_) | Node::Symbol(Symbol::Pi | Symbol::Root(_)) => true,
            Node::Symbol(Symbol::Variable) => {
                *variable = true;
                true
            }
            Node::Symbol(Symbol::Derivative { .. } | Symbol::Parameter(_)) => false,
            Node::Call(_, argument) => scan(argument, depth + 1, variable),
            Node::Power(base, exponent) => {
                scan(base, depth + 1, variable) && scan(exponent, depth + 1, variable)
            }
            Node::Product(parts) | Node::Sum(parts) => {
                parts.iter().all(|part| scan(part, depth + 1, variable))
            }
        }
    }
    let mut variable = false;
    scan(expression, depth, &mut variable) && variable
}

/// The first zero of a function on [0, length]: a change of sign, a touch, or the last place with
/// a value before one without.
fn first_zero(value: &dyn Fn(f64) -> f64, length: f64) -> Option<f64> {
    if !(length.is_finite() && length > 0.0) {
        return None;
    }
    let start = value(0.0);
    if !start.is_finite() || start.classify() == std::num::FpCategory::Zero {
        return None;
    }
    let side = |v: f64| v.is_finite() && (v > 0.0) == (start > 0.0) && libm::fabs(v) > 0.0;
    // Ever wider apart at first: what is near the center matters however long the way is.
    let near = (0..CLOSE_SAMPLES)
        .map(|i| libm::ldexp(length, -to_i32(to_f64(CLOSE_SAMPLES - i))) / to_f64(SAMPLES));
    let even = (1..=SAMPLES).map(|i| length * to_f64(i) / to_f64(SAMPLES));
    let mut previous = (0.0, start);
    let mut before = previous;
    for place in near.chain(even) {
        let here = (place, value(place));
        if !side(here.1) {
            return Some(bisect(value, &side, previous.0, here.0));
        }
        // |g| fell and rises again: does it touch zero between?
        if libm::fabs(previous.1) <= libm::fabs(before.1)
            && libm::fabs(previous.1) <= libm::fabs(here.1)
            && let Some(touch) = touch(value, &side, before.0, here.0)
        {
            return Some(touch);
        }
        before = previous;
        previous = here;
    }
    None
}

fn bisect(
    value: &dyn Fn(f64) -> f64,
    side: &dyn Fn(f64) -> bool,
    mut good: f64,
    mut bad: f64,
) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (good + bad);
        if side(value(middle)) {
            good = middle;
        } else {
            bad = middle;
        }
    }
    bad
}

/// The smallest |g| between two places by halving; a zero if it is next to nothing there.
fn touch(
    value: &dyn Fn(f64) -> f64,
    side: &dyn Fn(f64) -> bool,
    mut low: f64,
    mut high: f64,
) -> Option<f64> {
    let scale = libm::fabs(value(low)).max(libm::fabs(value(high)));
    for _ in 0..60 {
        let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
        let (at_a, at_b) = (value(a), value(b));
        if !side(at_a) {
            return Some(a);
        }
        if !side(at_b) {
            return Some(bisect(value, side, a, b));
        }
        if libm::fabs(at_a) < libm::fabs(at_b) {
            high = b;
        } else {
            low = a;
        }
    }
    (libm::fabs(value(low)) < 1e-12 * scale).then_some(low)
}

#[cfg(test)]
mod tests {
    use super::nearest;
    use crate::expression::{Expr, Function, Node};
    use crate::number::Rational;
    use crate::number::rational::{integer, ratio};
    use crate::reference::StopReason;

    fn x() -> Expr {
        Expr::variable()
    }

    fn sum(terms: Vec<Expr>) -> Expr {
        Expr::raw(Node::Sum(terms))
    }

    fn power(base: Expr, exponent: i64) -> Expr {
        Expr::raw(Node::Power(base, Expr::number(integer(exponent))))
    }

    fn found(expression: Expr, right: bool) -> Option<(f64, StopReason)> {
        nearest(&[expression], &ratio(1, 4), &integer(4), right)
            .map(|barrier| (barrier.distance, barrier.reason))
    }

    #[test]
    fn rational_places_are_exact() {
        let exact = |divisor: Expr| {
            nearest(&[power(divisor, -1)], &ratio(1, 4), &integer(4), true)
                .and_then(|barrier| barrier.place)
        };
        let minus = |value: Rational| Expr::number(-value);
        let third = ratio(1, 3);
        assert_eq!(exact(sum(vec![x(), minus(third.clone())])), Some(third));
        // (x − 2)² touches; √2 is not rational.
        let touching = power(sum(vec![x(), minus(integer(2))]), 2);
        assert_eq!(exact(touching), Some(integer(2)));
        assert_eq!(exact(sum(vec![power(x(), 2), minus(integer(2))])), None);
    }

    #[test]
    fn divisors_radicands_and_touches() {
        let minus_square = Expr::raw(Node::Product(vec![
            Expr::number(integer(-1)),
            power(x(), 2),
        ]));
        let legendre = power(sum(vec![minus_square, Expr::number(integer(1))]), -1);
        let (place, reason) = found(legendre.clone(), true).unwrap();
        assert!((place - 0.75).abs() < 1e-12 && reason == StopReason::SingularPoint);
        let (place, _) = found(legendre, false).unwrap();
        assert!((place - 1.25).abs() < 1e-12);
        // 1/(x − 2)² touches.
        let touching = power(power(sum(vec![x(), Expr::number(integer(-2))]), 2), -1);
        let (place, _) = found(touching, true).unwrap();
        assert!((place - 1.75).abs() < 1e-6, "{place}");
        // ln x ends at 0.
        let log = Expr::raw(Node::Call(Function::Ln, x()));
        let (place, reason) = found(log.clone(), false).unwrap();
        assert!((place - 0.25).abs() < 1e-12 && reason == StopReason::DomainEnd);
        assert_eq!(found(log, true), None);
        // 1/(4 + x²) has no real zero; x² in a numerator is no divisor.
        let safe = power(sum(vec![power(x(), 2), Expr::number(integer(4))]), -1);
        assert_eq!(found(safe, true), None);
        assert_eq!(found(power(x(), 2), false), None);
    }
}
