//! The complex zeros of a polynomial with rational coefficients: exact where formulas are short,
//! otherwise discs of which each surely holds one.
//!
//! Approximations by Aberth's iteration (O. Aberth, Math. Comp. 27 (1973) 339–344). The proof needs
//! none of it: for any different z₁, …, zₙ the discs |z − zᵢ| ≤ n |p(zᵢ)/(a ∏(zᵢ − zⱼ))| together
//! hold all zeros of p, and each group of discs that touches no other holds as many zeros as it has
//! discs (B. T. Smith, J. ACM 17 (1970) 661–674; locators from memory). They are worked out in exact
//! fractions.

use std::cmp::Ordering;

use num_traits::{One, Signed, ToPrimitive, Zero};

use super::place::{Place, root};
use crate::expression::{Expr, Function, evaluate, sign};
use crate::number::rational::{integer, ratio};
use crate::number::{BigFloat, Polynomial, Rational, to_f64};

/// Highest degree of a polynomial whose zeros are sought: their number, and the work to tell each from
/// all others, grow with it.
const LARGEST_DEGREE: usize = 24;
const ROUNDS: usize = 200;

/// All complex zeros of a polynomial that has no multiple ones; `None` when they could not be told
/// apart.
pub(super) fn zeros(polynomial: &Polynomial) -> Option<Vec<Place>> {
    if polynomial.degree() == 0 {
        return (!polynomial.is_zero()).then(Vec::new);
    }
    if polynomial.degree() > LARGEST_DEGREE {
        return None;
    }
    if let Some(found) = by_formula(polynomial) {
        return Some(found);
    }
    if !polynomial.is_small() {
        return None;
    }
    let near = aberth(polynomial)?;
    if let Some(place) = near.iter().find_map(|z| rational_near(polynomial, *z)) {
        let factor = Polynomial::new(vec![-place.clone(), Rational::one()]);
        let mut found = vec![Place::real(Expr::number(place))];
        found.extend(zeros(&polynomial.quotient(&factor)?)?);
        return Some(found);
    }
    discs(polynomial, &near)
}

/// Rational, quadratic and biquadratic zeros, and n-th roots, each about any rational place.
fn by_formula(polynomial: &Polynomial) -> Option<Vec<Place>> {
    let degree = polynomial.degree();
    let number = |value: Rational| Expr::number(value);
    let own = polynomial.monic();
    let moved = -(own.coefficient(degree - 1) / integer(i64::try_from(degree).ok()?));
    let centered = own.shifted(&moved);
    let at = |re: &Expr, im: &Expr| Place::exact(&re.add(&number(moved.clone())), im);
    let only = |powers: &[usize]| {
        let coefficients = centered.coefficients().iter().enumerate();
        coefficients
            .filter(|(_, c)| !c.is_zero())
            .all(|(k, _)| k == degree || powers.contains(&k))
    };
    let mut found = Vec::new();
    if degree == 1 {
        found.push(at(&Expr::zero(), &Expr::zero())?);
    } else if only(&[0]) {
        // tⁿ = c: |c|^(1/n) at the angles (π or 0 + 2πk)/n.
        let power = -centered.coefficient(0);
        let size = Expr::power(
            number(power.abs()),
            number(ratio(1, i64::try_from(degree).ok()?)),
        );
        for k in 0..degree {
            let turns = 2 * i64::try_from(k).ok()? + i64::from(power.is_negative());
            let angle = Expr::pi().scale(&ratio(turns, i64::try_from(degree).ok()?));
            let part = |function| Some(size.mul(&Expr::call(function, evaluate(&angle).ok()?)));
            found.push(at(&part(Function::Cos)?, &part(Function::Sin)?)?);
        }
    } else if degree == 4 && only(&[0, 2]) {
        // t² = −b/2 ± √(b²/4 − c)
        let half = centered.coefficient(2) * ratio(-1, 2);
        let inner = &half * &half - centered.coefficient(0);
        let outer = evaluate(&number(inner.abs()).sqrt()).ok()?;
        for up in [1, -1] {
            let part = outer.scale(&integer(up));
            let (re, im) = if inner.is_negative() {
                (number(half.clone()), part)
            } else {
                (number(half.clone()).add(&part), Expr::zero())
            };
            let (a, b) = complex_root(&re, &im)?;
            found.push(at(&a, &b)?);
            found.push(at(&a.neg(), &b.neg())?);
        }
    } else {
        return None;
    }
    Some(found)
}

/// A square root of re + im·i.
pub(super) fn complex_root(re: &Expr, im: &Expr) -> Option<(Expr, Expr)> {
    let value = |e: &Expr| evaluate(e).ok();
    let (re, im) = (value(re)?, value(im)?);
    if im.is_zero() {
        return Some(match sign(&re)? {
            Ordering::Less => (Expr::zero(), value(&re.neg().sqrt())?),
            _ => (value(&re.sqrt())?, Expr::zero()),
        });
    }
    let size = value(&re.square().add(&im.square()).sqrt())?;
    let half = |e: Expr| value(&value(&e.scale(&ratio(1, 2)))?.sqrt());
    let (a, b) = (half(size.add(&re))?, half(size.sub(&re))?);
    Some((
        a,
        if sign(&im)? == Ordering::Less {
            b.neg()
        } else {
            b
        },
    ))
}

/// Real and imaginary part.
pub(super) type Complex = (f64, f64);

pub(super) fn times(a: Complex, b: Complex) -> Complex {
    (a.0 * b.0 - a.1 * b.1, a.0 * b.1 + a.1 * b.0)
}

/// a/b; not finite where b is zero.
pub(super) fn over(a: Complex, b: Complex) -> Complex {
    let square = b.0 * b.0 + b.1 * b.1;
    let product = times(a, (b.0, -b.1));
    (product.0 / square, product.1 / square)
}

/// Approximate zeros, in doubles.
pub(crate) fn aberth(polynomial: &Polynomial) -> Option<Vec<Complex>> {
    let own = polynomial.monic();
    let coefficients: Vec<f64> = own.coefficients().iter().map(to_f64).collect();
    let degree = u32::try_from(own.degree()).ok()?;
    let n = f64::from(degree);
    // All zeros are within twice the largest |aₖ|^(1/(n − k)).
    let size = (0..degree)
        .zip(&coefficients)
        .map(|(k, c)| libm::pow(libm::fabs(*c), 1.0 / f64::from(degree - k)))
        .fold(0.0, f64::max);
    if !size.is_finite() {
        return None;
    }
    let mut all: Vec<Complex> = (0..degree)
        .map(|k| {
            let angle = std::f64::consts::TAU * f64::from(k) / n + 0.7;
            (size * libm::cos(angle), size * libm::sin(angle))
        })
        .collect();
    for _ in 0..ROUNDS {
        let mut largest = 0.0_f64;
        for place in 0..all.len() {
            let z = *all.get(place)?;
            let (mut value, mut slope) = ((0.0, 0.0), (0.0, 0.0));
            for c in coefficients.iter().rev() {
                let next = times(slope, z);
                slope = (next.0 + value.0, next.1 + value.1);
                let next = times(value, z);
                value = (next.0 + c, next.1);
            }
            if value.0.abs() + value.1.abs() < f64::MIN_POSITIVE {
                continue;
            }
            let newton = over(value, slope);
            let mut pull = (0.0, 0.0);
            for (other, w) in all.iter().enumerate() {
                if other != place {
                    let inverse = over((1.0, 0.0), (z.0 - w.0, z.1 - w.1));
                    pull = (pull.0 + inverse.0, pull.1 + inverse.1);
                }
            }
            let below = times(newton, pull);
            let step = over(newton, (1.0 - below.0, -below.1));
            if !(step.0.is_finite() && step.1.is_finite()) {
                continue;
            }
            *all.get_mut(place)? = (z.0 - step.0, z.1 - step.1);
            largest = largest.max((step.0.abs() + step.1.abs()) / size);
        }
        if largest < 1e-15 {
            break;
        }
    }
    Some(all)
}

/// The rational zero near an approximate one: among its convergents, tested exactly.
fn rational_near(polynomial: &Polynomial, (re, im): Complex) -> Option<Rational> {
    if im.abs() > 1e-6 * re.abs().max(1e-300) && re.abs() + im.abs() > 1e-9 {
        return None;
    }
    let mut rest = re;
    let (mut before, mut last) = ((0_i64, 1_i64), (1_i64, 0_i64));
    for _ in 0..20 {
        let whole = libm::floor(rest).to_i64()?;
        let next = (
            whole.checked_mul(last.0)?.checked_add(before.0)?,
            whole.checked_mul(last.1)?.checked_add(before.1)?,
        );
        (before, last) = (last, next);
        if last.1.abs() > 1_000_000 {
            return None;
        }
        let place = ratio(last.0, last.1);
        if polynomial.at(&place).is_zero() {
            return Some(place);
        }
        rest = 1.0 / (rest - libm::floor(rest));
    }
    None
}

/// A disc for each zero; `None` when some touch.
fn discs(polynomial: &Polynomial, near: &[Complex]) -> Option<Vec<Place>> {
    let own = polynomial.monic();
    let exact = |value: f64| BigFloat::from_f64(value).to_rational();
    let mut centers = Vec::new();
    for (re, im) in near {
        centers.push((exact(*re)?, exact(*im)?));
    }
    let square = |(a, b): &(Rational, Rational)| a * a + b * b;
    let count = integer(i64::try_from(near.len()).ok()?);
    let mut found: Vec<(Rational, Rational, Rational)> = Vec::new();
    for (place, z) in centers.iter().enumerate() {
        let above = square(&own.at_complex((&z.0, &z.1)));
        let mut below = Rational::one();
        for (other, w) in centers.iter().enumerate() {
            if other != place {
                below *= square(&(&z.0 - &w.0, &z.1 - &w.1));
            }
        }
        if below.is_zero() {
            return None;
        }
        let radius = &count * root(&(above / below)).1;
        found.push((z.0.clone(), z.1.clone(), radius));
    }
    for (place, (re, im, radius)) in found.iter().enumerate() {
        for (a, b, other) in found.iter().take(place) {
            let apart = square(&(re - a, im - b));
            let together = radius + other;
            if apart <= &together * &together {
                return None;
            }
        }
    }
    let disc = |(re, im, radius)| Place::Disc { re, im, radius };
    Some(found.into_iter().map(disc).collect())
}
