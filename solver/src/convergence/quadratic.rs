//! y′ = a y² + b y + c with constant a, b, c, solved by separating the variables.
//!
//! With D = b² − 4ac and t counted from the center: for D < 0 the solution is a tangent, for D = 0 a
//! reciprocal, and otherwise (y − r₁)/(y − r₂) = C exp(√D t) with the zeros r₁ > r₂ of a y² + b y + c
//! (for a > 0) and C its value at the start. Its only singularities are the poles listed here.

use std::cmp::Ordering;

use super::place::Place;
use super::{Distance, Radius};
use crate::expression::{Expr, Function, Symbol, Truth, evaluate, sign, zero_test};
use crate::number::rational::{integer, ratio};
use crate::problem::Problem;

/// The exact radius, and the nearest pole counted from the center (one of a pair); no pole: the
/// solution is constant. `None` when the problem is not of this kind, or a sign cannot be decided.
pub(super) fn radius(problem: &Problem) -> Option<(Radius, Option<Place>)> {
    let ([equation], [unknown], [initial]) = (
        problem.equations.as_slice(),
        problem.unknowns.as_slice(),
        problem.initial.as_slice(),
    ) else {
        return None;
    };
    if unknown.equation_order != 1 {
        return None;
    }
    let right = Expr::sum(equation.solved.clone());
    let y = Symbol::Derivative {
        unknown: 0,
        order: 0,
    };
    let coefficients = right.polynomial_coefficients(&y)?;
    let [c, b, a] = coefficients.as_slice() else {
        return None;
    };
    if coefficients.iter().any(Expr::has_variable) {
        return None;
    }
    let value = |e: Expr| evaluate(&e.expand(100)).ok();
    let start = initial.first()?;
    let speed = value(a.mul(&start.square()).add(&b.mul(start)).add(c))?;
    match zero_test(&speed) {
        Truth::Zero => return Some((Radius::Infinite, None)),
        Truth::NotZero => {}
        Truth::Undecided => return None,
    }
    let discriminant = value(b.square().sub(&a.mul(c).scale(&integer(4))))?;
    // 2 a y₀ + b
    let slope = value(a.mul(start).scale(&integer(2)).add(b))?;
    let place = match sign(&discriminant)? {
        // 2ay + b = −2/(t − T) with T = 2/(2ay₀ + b).
        Ordering::Equal => Place::exact(&Expr::int(2).div(&slope), &Expr::zero())?,
        Ordering::Less => {
            // 2ay + b = d tan(d t/2 + φ), φ = arctan((2ay₀ + b)/d), d = √(−D)
            let d = value(discriminant.neg().sqrt())?;
            let phase = value(Expr::call(Function::Arctan, value(slope.div(&d))?))?;
            let half = Expr::pi().scale(&ratio(1, 2));
            let end = match sign(&slope)? {
                Ordering::Less => half.neg(),
                Ordering::Equal | Ordering::Greater => half,
            };
            let time = end.sub(&phase).scale(&integer(2)).div(&d);
            Place::exact(&time.expand(50), &Expr::zero())?
        }
        Ordering::Greater => {
            // w = 2ay + b: (w − d)/(w + d) = C exp(d t), a pole where the right side is 1.
            let d = value(discriminant.sqrt())?;
            let quotient = value(slope.sub(&d).div(&slope.add(&d)))?;
            let (size, angle) = match sign(&quotient)? {
                Ordering::Greater => (quotient, Expr::zero()),
                Ordering::Less => (value(quotient.neg())?, Expr::pi()),
                Ordering::Equal => return None,
            };
            let logarithm = value(Expr::call(Function::Ln, size))?;
            Place::exact(&logarithm.neg().div(&d), &angle.div(&d))?
        }
    };
    let distance: Distance = place.distance(&Expr::zero())?;
    Some((Radius::Exact(distance), Some(place)))
}
