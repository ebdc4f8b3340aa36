//! Singular points of linear equations whose coefficients are quotients of polynomials, exactly.
//!
//! In normal form y⁽ᵐ⁾ + p₁ y⁽ᵐ⁻¹⁾ + … + pₘ y = g, a place x₀ is ordinary where all pₖ are analytic,
//! and regular singular where all (x − x₀)ᵏ pₖ are (Fuchs; Coddington, Levinson, *Theory of Ordinary
//! Differential Equations*, ch. 4, sec. 5; locator from memory). With all pₖ in lowest terms a zero
//! of the leading coefficient that cancels is seen to be no singular point.

use std::cmp::Ordering;

use num_traits::{One, Signed, ToPrimitive, Zero};

use super::fraction::{Fraction, basis};
use super::place::Place;
use super::sites::MOST_PLACES;
use super::zeros::zeros;
use super::{Kind, Limit, LimitValue, SingularPoint};
use crate::expression::{Expr, Symbol, Truth, evaluate, zero_test};
use crate::number::rational::integer;
use crate::number::{Polynomial, Rational, to_f64};
use crate::problem::Equation;

/// Σ coefficients[j] y⁽ʲ⁾ + free = 0.
#[derive(Clone, Debug)]
pub(super) struct Linear {
    /// By rising order of the derivative; the last is not zero.
    pub(super) coefficients: Vec<Expr>,
    /// What is without the unknown.
    pub(super) free: Expr,
}

impl Linear {
    /// `None` when the equation is not linear in its (one) unknown.
    pub(super) fn of(equation: &Equation, order: u32) -> Option<Self> {
        let (left, right) = &equation.standing;
        let whole = Expr::sum(left.clone()).sub(&Expr::sum(right.clone()));
        let symbol = |order| Symbol::Derivative { unknown: 0, order };
        let coefficients: Vec<Expr> = (0..=order).map(|j| whole.partial(&symbol(j))).collect();
        if coefficients.iter().any(Expr::has_derivative) || coefficients.last()?.is_zero() {
            return None;
        }
        let free = whole.substitute(&|symbol| match symbol {
            Symbol::Derivative { .. } => Some(Expr::zero()),
            Symbol::Variable | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        });
        Some(Self { coefficients, free })
    }

    /// p₁, …, pₘ and the right side, as expressions.
    pub(super) fn normal_form(&self) -> Option<Vec<Expr>> {
        let (leading, lower) = self.coefficients.split_last()?;
        let divided = |e: &Expr| e.div(leading);
        let mut all: Vec<Expr> = lower.iter().rev().map(divided).collect();
        all.push(divided(&self.free.neg()));
        Some(all)
    }
}

/// All singular points, and the zeros of the leading coefficient that are none; `None` when a
/// coefficient is no quotient of polynomials, or zeros could not be told apart.
pub(super) fn singular_points(linear: &Linear, center: &Expr) -> Option<Vec<SingularPoint>> {
    let all: Option<Vec<Fraction>> = linear.coefficients.iter().map(Fraction::of).collect();
    let all = all?;
    let (leading, lower) = all.split_last()?;
    // p₁, …, pₘ.
    let normal: Option<Vec<Fraction>> = lower.iter().rev().map(|a| a.over(leading)).collect();
    let normal = normal?;
    let forcing = Fraction::of(&linear.free)?.over(leading)?;
    let mut parts: Vec<Polynomial> = normal.iter().map(|p| p.below.clone()).collect();
    parts.push(forcing.below.clone());
    // Factors as they were written tell zeros apart that belong together only by accident.
    let leading_expression = linear.coefficients.last()?;
    for factor in leading_expression.factors() {
        if let Some(factor) = Fraction::of(&factor) {
            parts.extend([factor.above, factor.below]);
        }
    }
    parts.push(leading.above.clone());
    let mut points = Vec::new();
    for factor in basis(&parts) {
        let order = |p: &Fraction| p.below.without(&factor).0;
        let orders: Vec<usize> = normal.iter().map(order).collect();
        let forced = order(&forcing);
        let kind = if orders.iter().zip(1..).any(|(order, k)| *order > k) {
            Kind::Irregular
        } else if orders.iter().any(|order| *order > 0) {
            Kind::Regular
        } else if forced > 0 {
            Kind::Forcing
        } else {
            Kind::Removable
        };
        if kind == Kind::Removable && leading.above.without(&factor).0 == 0 {
            continue;
        }
        let found = zeros(&factor)?;
        if points.len() + found.len() > MOST_PLACES {
            return None;
        }
        for place in found {
            let distance = place.distance(center)?;
            let limits = match kind {
                Kind::Regular | Kind::Irregular => {
                    let limits = normal.iter().zip(1..);
                    limits.map(|(p, k)| limit(p, k, &factor, &place)).collect()
                }
                _ => Vec::new(),
            };
            points.push(SingularPoint {
                place,
                distance,
                kind,
                limits,
                exponents: Vec::new(),
                cause: None,
            });
        }
    }
    Some(points)
}

/// lim (x − x₀)ᵏ p as x → x₀, a zero of `factor`. With p = a/(factorᵏ r) it is a/(factor′ᵏ r) at x₀,
/// worked out among the remainders of division by `factor`.
fn limit(p: &Fraction, k: usize, factor: &Polynomial, place: &Place) -> Limit {
    let (order, rest) = p.below.without(factor);
    let value = match order.cmp(&k) {
        Ordering::Greater => LimitValue::None,
        Ordering::Less => LimitValue::Exact(Expr::zero(), Expr::zero()),
        Ordering::Equal => {
            let slope = factor.derivative();
            let below = (0..k).fold(rest, |product, _| {
                let product = product.times(&slope);
                product.divided(factor).map_or(product, |(_, rest)| rest)
            });
            let inverse = below.inverse(factor).unwrap_or_default();
            let remainder = |p: Polynomial| p.divided(factor).map(|(_, rest)| rest);
            match remainder(p.above.times(&inverse)) {
                Some(value) => at(&value, place),
                None => LimitValue::None,
            }
        }
    };
    Limit { power: k, value }
}

/// Exact up to this degree of what is evaluated.
const SHORT: usize = 3;

fn at(value: &Polynomial, place: &Place) -> LimitValue {
    if value.degree() == 0 {
        return LimitValue::Exact(Expr::number(value.coefficient(0)), Expr::zero());
    }
    if let Place::Exact { re, im } = place
        && value.degree() <= SHORT
        && let Some((a, b)) = horner(value, re, im)
    {
        return LimitValue::Exact(a, b);
    }
    let Some((x, y)) = place.approximate() else {
        return LimitValue::None;
    };
    let (mut a, mut b) = (0.0, 0.0);
    for coefficient in value.coefficients().iter().rev() {
        (a, b) = (a * x - b * y + to_f64(coefficient), a * y + b * x);
    }
    LimitValue::About(a, b)
}

fn horner(value: &Polynomial, re: &Expr, im: &Expr) -> Option<(Expr, Expr)> {
    let (mut a, mut b) = (Expr::zero(), Expr::zero());
    let tidy = |e: Expr| evaluate(&e.expand(200)).ok();
    for coefficient in value.coefficients().iter().rev() {
        let next = a
            .mul(re)
            .sub(&b.mul(im))
            .add(&Expr::number(coefficient.clone()));
        b = tidy(a.mul(im).add(&b.mul(re)))?;
        a = tidy(next)?;
    }
    Some((a, b))
}

/// The exact radius where the recurrence relation of the coefficients has two terms.
///
/// Counted from the center, tⁱ y⁽ʲ⁾ gives n(n−1)…(n−j+1) cₙ to the power n + i − j. Where only two
/// differences i − j occur, Q(n + d) cₙ₊d = −S(n) cₙ, so that each chain n, n + d, … either ends (a
/// zero of S), or has the ratio of neighbors tend to that of the leading coefficients of S and Q.
pub(super) enum TwoTerm {
    /// All chains end: the solution is a polynomial.
    Ends,
    /// Every chain that goes on is of an entire function.
    Entire,
    /// |cₙ₊d/cₙ| tends to `ratio` along a chain that goes on: the radius is ratio^(−1/d).
    Ratio {
        /// d.
        step: usize,
        /// Limit of the ratio.
        ratio: Rational,
    },
}

/// A zero of S is looked for among so many whole numbers.
const LAST_SOUGHT: usize = 10_000;

/// `first`: the coefficients below the order of the equation. `None`: more than two terms, a forcing
/// term, coefficients that are no polynomials, or a singular center.
pub(super) fn two_term(linear: &Linear, center: &Expr, first: &[Expr]) -> Option<TwoTerm> {
    if !linear.free.is_zero() {
        return None;
    }
    let center = center.as_number()?;
    let mut by_shift: Vec<(i64, Polynomial)> = Vec::new();
    for (j, coefficient) in linear.coefficients.iter().enumerate() {
        let fraction = Fraction::of(coefficient)?;
        if fraction.below.degree() > 0 {
            return None;
        }
        let scale = fraction.below.coefficient(0).recip();
        let own = fraction.above.scaled(&scale).shifted(center);
        // n(n − 1)…(n − j + 1)
        let falling = (0..j).fold(Polynomial::constant(Rational::one()), |product, k| {
            let k = integer(i64::try_from(k).unwrap_or(i64::MAX));
            product.times(&Polynomial::new(vec![-k, Rational::one()]))
        });
        for (i, c) in own
            .coefficients()
            .iter()
            .enumerate()
            .filter(|(_, c)| !c.is_zero())
        {
            let shift = i64::try_from(i).ok()? - i64::try_from(j).ok()?;
            let part = falling.scaled(c);
            match by_shift.iter_mut().find(|(s, _)| *s == shift) {
                Some((_, sum)) => *sum = sum.plus(&part, &Rational::one()),
                None => by_shift.push((shift, part)),
            }
        }
    }
    by_shift.retain(|(_, p)| !p.is_zero());
    crate::sorting::sort_by(&mut by_shift, |a, b| a.0.cmp(&b.0));
    let [(low, q), (high, s)] = by_shift.as_slice() else {
        return None;
    };
    let order = linear.coefficients.len() - 1;
    // The center is ordinary: Q(n) = a n(n − 1)…(n − m + 1), not zero from n = m on.
    if *low != -i64::try_from(order).ok()? {
        return None;
    }
    let step = usize::try_from(high - low).ok()?;
    let mut goes_on = false;
    for start in 0..order.min(step) {
        // Of the chain start, start + d, … the values below the order are all given; what comes after
        // them hangs on the last.
        let Some(from) = (start..order).step_by(step).next_back() else {
            continue;
        };
        match zero_test(first.get(from)?) {
            Truth::Zero => continue,
            Truth::NotZero => {}
            Truth::Undecided => return None,
        }
        // A zero of S among from, from + d, … ends it; beyond Cauchy's bound there is none.
        let monic = s.monic();
        let bound = monic
            .coefficients()
            .iter()
            .fold(Rational::one(), |sum, c| sum + c.abs());
        let bound = bound.ceil().numer().to_usize()?;
        if bound > LAST_SOUGHT {
            return None;
        }
        let mut places = (from..=bound.max(from)).step_by(step);
        let ends = places.any(|n| {
            s.at(&integer(i64::try_from(n).unwrap_or(i64::MAX)))
                .is_zero()
        });
        goes_on |= !ends;
    }
    if !goes_on {
        return Some(TwoTerm::Ends);
    }
    if s.degree() < q.degree() {
        return Some(TwoTerm::Entire);
    }
    // A power higher than Q's cannot be: the center is ordinary, and d orders lie between.
    (s.degree() == q.degree()).then(|| TwoTerm::Ratio {
        step,
        ratio: (s.coefficient(s.degree()) / q.coefficient(q.degree())).abs(),
    })
}
