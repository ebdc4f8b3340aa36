//! What kind a singular point is, and the limits that show it, from expansions about the place.
//!
//! With y⁽ᵐ⁾ + p₁ y⁽ᵐ⁻¹⁾ + … + pₘ y = g and t = x − x₀, a regular singular point is *apparent* when all
//! solutions are analytic there. tᵐ times the equation, with tᵏ pₖ = Σ aₖᵢ tⁱ and y = Σ cⱼ tʲ, demands
//! Σ Fₙ₋ⱼ(j) cⱼ = gₙ (j ≤ n), Fᵢ(j) = Σₖ aₖᵢ j(j−1)…(j−m+k+1). F₀ is the indicial polynomial. If its
//! zeros are m different whole numbers, not negative, and the demand for each of them leaves its cₙ free
//! whatever the earlier free ones are, there are m independent power series (they converge: the point is
//! regular), and hence no others. (Coddington, Levinson, *Theory of Ordinary Differential Equations*, ch. 4;
//! locator from memory.)

use super::laurent::{Complex, Expander, Laurent, none, plus, scaled, times, vanishes};
use super::{Kind, Limit, LimitValue, SingularPoint};
use std::cmp::Ordering;

use num_traits::Signed;

use super::around::{middle, real_interval};
use crate::expression::{Expr, Symbol, enclose_between};
use crate::number::Rational;
use crate::number::rational::integer;

/// So many coefficients more than the limits ask for are worked out, for what cancels.
const SPARE: usize = 4;
/// Bits of limits.
const BITS: usize = 128;
/// Exponents are looked for up to this one.
const LARGEST_EXPONENT: u32 = 20;

/// Works out kind and limits of a point where they are not known. `normal`: p₁, …, pₘ and the right
/// side. `false`: all of them are analytic there.
pub(super) fn settle(point: &mut SingularPoint, normal: &[Expr]) -> bool {
    let order = normal.len().saturating_sub(1);
    // Few coefficients are enough where nothing cancels, and are shorter.
    let counts = [order + 2, 2 * order + SPARE];
    let settled = |terms| settled(point, normal, terms);
    if let Some(between) = real_interval(&point.place) {
        if point.kind != Kind::Forcing {
            settle_between(point, normal, &between);
        }
        return true;
    }
    match counts.into_iter().find_map(settled) {
        Some((Some(kind), limits)) => {
            (point.kind, point.limits) = (kind, limits);
            true
        }
        Some((None, _)) => false,
        None => true,
    }
}

/// Kind and limits, no kind where all is analytic; `None`: not found out from so many coefficients.
fn settled(
    point: &SingularPoint,
    normal: &[Expr],
    terms: usize,
) -> Option<(Option<Kind>, Vec<Limit>)> {
    let (right, coefficients) = normal.split_last()?;
    let expander = Expander::new(&point.place, terms)?;
    let all = coefficients.iter().map(|p| known(&expander, p));
    let all: Vec<Laurent> = all.collect::<Option<_>>()?;
    let powers = || (1_i64..).zip(&all);
    if powers().all(|(_, own)| own.start >= 0) {
        let analytic = known(&expander, right).is_some_and(|own| own.start >= 0);
        return Some(((!analytic).then_some(Kind::Forcing), Vec::new()));
    }
    let limits = (1..).zip(powers()).map(|(power, (k, own))| {
        let value = if own.start < -k {
            LimitValue::None
        } else {
            let (re, im) = own.part(-k)?;
            LimitValue::Exact(re, im)
        };
        Some(Limit { power, value })
    });
    let limits = limits.collect::<Option<_>>()?;
    let regular = powers().all(|(k, own)| own.start >= -k);
    let kind = if regular {
        Kind::Regular
    } else {
        Kind::Irregular
    };
    Some((Some(kind), limits))
}

/// Powers of the cause that are tried beyond those of a regular singular point.
const BEYOND: usize = 4;

/// Kind and limits at a real place that is only enclosed, a simple zero of h, the cause: where hʲ pₖ has a value that
/// is surely not zero, pₖ has a pole of order j, and (x − x₀)ʲ pₖ tends to that value over h′ʲ.
fn settle_between(point: &mut SingularPoint, normal: &[Expr], between: &(Rational, Rational)) {
    let Some((_, coefficients)) = normal.split_last() else {
        return;
    };
    let found = between_limits(point, coefficients, between);
    (point.kind, point.limits) = found.unwrap_or((Kind::Singular, Vec::new()));
}

fn between_limits(
    point: &SingularPoint,
    coefficients: &[Expr],
    (low, high): &(Rational, Rational),
) -> Option<(Kind, Vec<Limit>)> {
    let cause = point.cause.as_ref()?;
    let value = |e: &Expr| enclose_between(e, (low, high), BITS);
    let slope = cause.partial(&Symbol::Variable);
    let lifted = |p: &Expr, times: usize| {
        let power = cause.pow_int(i64::try_from(times).ok()?);
        // Factors that are quotients by the cause meet it.
        let terms = p.terms().into_iter().map(|term| term.mul(&power));
        Some(Expr::sum(terms.collect()))
    };
    let (mut limits, mut singular, mut regular) = (Vec::new(), false, true);
    for (k, p) in (1_usize..).zip(coefficients) {
        let (poles, lifted) = (0..=k + BEYOND).find_map(|times| {
            let lifted = lifted(p, times)?;
            Some((times, value(&lifted).map(|_| lifted)?))
        })?;
        // Else there may be fewer.
        let (a, b) = value(&lifted)?;
        if poles > 0 && !a.is_positive() && !b.is_negative() {
            return None;
        }
        singular |= poles > 0;
        regular &= poles <= k;
        let limit = match poles.cmp(&k) {
            Ordering::Less => LimitValue::Exact(Expr::zero(), Expr::zero()),
            Ordering::Equal => {
                let below = slope.pow_int(i64::try_from(k).ok()?);
                let (a, b) = value(&lifted.div(&below))?;
                LimitValue::About(middle(&a, &b), 0.0)
            }
            Ordering::Greater => LimitValue::None,
        };
        limits.push(Limit {
            power: k,
            value: limit,
        });
    }
    let kind = if regular {
        Kind::Regular
    } else {
        Kind::Irregular
    };
    singular.then_some((kind, limits))
}

/// An expansion whose first part is known not to be zero, or that has no negative powers.
fn known(expander: &Expander, e: &Expr) -> Option<Laurent> {
    let own = expander.expand(e)?;
    (own.start >= 0 || !own.parts.is_empty()).then_some(own)
}

/// Marks a regular singular point at which all solutions are analytic, with its exponents.
pub(super) fn find_apparent(point: &mut SingularPoint, normal: &[Expr]) {
    if point.kind == Kind::Regular
        && let Some(exponents) = exponents(point, normal)
    {
        point.kind = Kind::Apparent;
        point.exponents = exponents;
    }
}

/// j (j − 1) … with so many factors.
fn falling(j: i64, factors: usize) -> Option<i64> {
    (0..i64::try_from(factors).ok()?).try_fold(1_i64, |product, k| product.checked_mul(j - k))
}

/// The exponents of an apparent singularity; `None`: it is none, or not seen to be one.
fn exponents(point: &SingularPoint, normal: &[Expr]) -> Option<Vec<u32>> {
    let (right, coefficients) = normal.split_last()?;
    let order = coefficients.len();
    // First the indicial polynomial, which costs nothing.
    let limits = point.limits.iter().map(|limit| match &limit.value {
        LimitValue::Exact(re, im) if im.is_zero() => re.as_number().cloned(),
        _ => None,
    });
    let limits: Vec<Rational> = limits.collect::<Option<_>>()?;
    let indicial = |n: i64| {
        let mut sum = integer(falling(n, order)?);
        for (limit, factors) in limits.iter().zip((0..order).rev()) {
            sum += limit * integer(falling(n, factors)?);
        }
        Some(sum)
    };
    let zero = Rational::default();
    let is_zero = |n: &u32| indicial(i64::from(*n)).is_some_and(|value| value == zero);
    let found: Vec<u32> = (0..=LARGEST_EXPONENT).filter(is_zero).collect();
    let largest = *found.last()?;
    if found.len() != order {
        return None;
    }
    let terms = usize::try_from(largest).ok()? + 2 * order + SPARE;
    let expander = Expander::new(&point.place, terms)?;
    let all = coefficients.iter().map(|p| expander.expand(p));
    let all: Vec<Laurent> = all.collect::<Option<_>>()?;
    let right = expander.expand(right)?;
    let shift = i64::try_from(order).ok()?;
    if right.start < -shift {
        return None;
    }
    // Each coefficient as a sum over the free ones, and a number of its own.
    let mut series: Vec<Vec<Complex>> = Vec::new();
    for n in 0..=i64::from(largest) {
        let mut sums = vec![none(); order + 1];
        let given = right.part(n - shift)?;
        *sums.last_mut()? = scaled(&given, -1, 1)?;
        for (j, own) in (0..n).zip(&series) {
            // Fₙ₋ⱼ(j)
            let mut factor = none();
            for ((k, p), factors) in (1..).zip(&all).zip((0..order).rev()) {
                let part = scaled(&p.part(n - j - k)?, falling(j, factors)?, 1)?;
                factor = plus(&factor, &part)?;
            }
            for (sum, own) in sums.iter_mut().zip(own) {
                *sum = plus(sum, &times(&factor, own)?)?;
            }
        }
        let exponent = found.iter().position(|own| i64::from(*own) == n);
        let next = if let Some(index) = exponent {
            if !sums.iter().all(|sum| vanishes(sum) == Some(true)) {
                return None;
            }
            let mut free = vec![none(); order + 1];
            free.get_mut(index)?.0 = Expr::one();
            free
        } else {
            let by = -indicial(n)?.recip();
            let divided = |(re, im): Complex| (re.scale(&by), im.scale(&by));
            sums.into_iter().map(divided).collect()
        };
        series.push(next);
    }
    Some(found)
}
