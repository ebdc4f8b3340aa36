//! Proof that a solution grows without bound, and where: by its reciprocal here, by comparison with
//! powers in [`super::blow_up`].
//!
//! For y′ = A(x) + B(x) y + C(x) y² the reciprocal w = 1/y satisfies w′ = −(A w² + B w + C), which is
//! regular where w = 0. Where an enclosure of w changes its sign between two places, w has a zero
//! between them, and y = 1/w leaves every bound there, or earlier between them.

use num_traits::{Signed, Zero};

use super::blow_up::Powers;
use super::integrate::{approximate, short};
use crate::budget::Fuel;
use crate::enclosed::Arithmetic;
use crate::enclosed::walk::{Segment, Walker};
use crate::expression::{Expr, Symbol};
use crate::number::Rational;
use crate::number::rational::integer;
use crate::series::Tape;
use crate::series::floats::Real;

/// Steps beyond the last one of the solution itself.
const STEPS: usize = 40;
/// The places between which w changes its sign are brought together by halving so often.
const HALVINGS: usize = 120;

/// How poles of an equation can be proved.
pub(super) enum Proof {
    /// The equation of 1/y.
    Reciprocal(Tape),
    /// By the powers of y and y′ in it.
    Powers(Powers),
}

impl Proof {
    /// For the equations of a problem as solved.
    pub(super) fn of(solved: &[Expr], tape: &Tape) -> Option<Self> {
        if tape.blocks().len() != 1 {
            return None;
        }
        let own = (tape.states() == 1).then(|| reciprocal(solved)).flatten();
        own.map(Self::Reciprocal)
            .or_else(|| Some(Self::Powers(Powers::of(solved, tape.states())?)))
    }

    /// Places between which the solution surely grows without bound, which seems to be so at the
    /// distance `about`; the walker stands near there, and goes on.
    pub(super) fn places<C: Real>(
        &self,
        walker: &mut Walker<'_, C>,
        origin: &Rational,
        right: bool,
        about: f64,
        fuel: &mut Fuel,
    ) -> Option<(Rational, Rational)> {
        let found = match self {
            Self::Reciprocal(tape) => bracket(walker, tape, right, about, fuel),
            Self::Powers(powers) => powers.bracket(walker, origin, right, fuel),
        };
        Some(places(origin, &found?))
    }
}

/// The equation of 1/y, for an equation of first order that is quadratic in its unknown.
fn reciprocal(solved: &[Expr]) -> Option<Tape> {
    let y = Symbol::Derivative {
        unknown: 0,
        order: 0,
    };
    let coefficients = Expr::sum(solved.to_vec()).polynomial_coefficients(&y)?;
    let [constant, linear, square] = coefficients.as_slice() else {
        return None;
    };
    let w = Expr::derivative(0, 0);
    let terms = vec![
        constant.mul(&w.mul(&w)).neg(),
        linear.mul(&w).neg(),
        square.neg(),
    ];
    Tape::compile(&[Expr::sum(terms)], 1).ok()
}

/// Signed distances from the center between which the solution surely grows without bound; the
/// walker stands near there.
fn bracket<C: Real>(
    walker: &Walker<'_, C>,
    reciprocal: &Tape,
    right: bool,
    about: f64,
    fuel: &mut Fuel,
) -> Option<(Rational, Rational)> {
    let arithmetic = walker.arithmetic();
    let mut inverse = walker.inverted(reciprocal)?;
    let start = inverse.position.clone();
    let positive = inverse.sign(0)?;
    // As far behind the place as the walk stands before it, and a little more.
    let far = short((about - approximate(&start.abs())) * 3.0);
    for _ in 0..STEPS {
        inverse.expand(fuel).ok()?;
        let reach = inverse.reach(&far, &short)?;
        let segment = inverse.advance(&reach, right)?;
        if inverse.sign(0) == Some(!positive) {
            return Some(narrowed(&segment, positive, &arithmetic));
        }
        if (&inverse.position - &start).abs() > far {
            return None;
        }
    }
    None
}

/// The last place found where the sign of w is still certain, and the first where its opposite is.
fn narrowed<C: Real>(
    segment: &Segment<C>,
    positive: bool,
    arithmetic: &Arithmetic,
) -> (Rational, Rational) {
    let has_sign = |place: &Rational, positive: bool| {
        segment.value(0, place, arithmetic).is_some_and(|found| {
            found.mid.lead().abs() > found.radius * 1.001 && found.mid.is_negative() != positive
        })
    };
    let closest = |from: &Rational, to: &Rational, positive: bool| {
        let (mut sure, mut other) = (from.clone(), to.clone());
        for _ in 0..HALVINGS {
            let middle = (&sure + &other) / integer(2);
            if has_sign(&middle, positive) {
                sure = middle;
            } else {
                other = middle;
            }
        }
        sure
    };
    let near = closest(&segment.from, &segment.to, positive);
    let far = closest(&segment.to, &near, !positive);
    if near < far { (near, far) } else { (far, near) }
}

/// The same as places: the center's fraction may be a little off.
fn places(center: &Rational, (low, high): &(Rational, Rational)) -> (Rational, Rational) {
    let slack = if center.denom().bits() > 200 {
        Rational::new(1.into(), num_traits::pow(10.into(), 60))
    } else {
        Rational::zero()
    };
    (center + low - &slack, center + high + slack)
}
