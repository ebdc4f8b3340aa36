//! Which interval to draw when none is given, and at which places the solution is evaluated.

use num_traits::{Signed, Zero};

use super::growth::to_f64;
use super::integrate::approximate;
use crate::number::rational::{integer, ratio};
use crate::number::{Rational, decimal};

/// A place at which the solution is wanted.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Place {
    /// Exact signed distance from the center.
    pub(super) distance: Rational,
    /// The independent variable there.
    pub(super) x: Rational,
    /// The same as text.
    pub(super) text: String,
}

impl Place {
    /// The place `x` of the independent variable.
    pub(super) fn new(x: Rational, center: &Rational) -> Self {
        Self {
            distance: &x - center,
            text: text(&x),
            x,
        }
    }
}

/// Drawn places are about so many.
const DRAWN: i64 = 200;

/// Plain decimals as long as they are short, else a fraction of short numbers, else 18 digits.
pub(super) fn text(x: &Rational) -> String {
    if (decimal::ten_to(12) % x.denom()).is_zero() {
        decimal::plain(x, 12)
    } else if x.denom().bits() <= 30 && x.numer().bits() <= 60 {
        x.to_string()
    } else {
        decimal::significant_of(x, 18)
    }
}

/// The largest of 1, 2, 2.5, 5 times a power of ten that is not above `value`.
pub(crate) fn nice_below(value: &Rational) -> Rational {
    let mut power = integer(1);
    let ten = integer(10);
    // Bounded: values are between 2^-900 and 2^900.
    for _ in 0..300 {
        if power <= *value {
            break;
        }
        power /= &ten;
    }
    for _ in 0..300 {
        if &power * &ten > *value {
            break;
        }
        power *= &ten;
    }
    [ratio(5, 1), ratio(5, 2), ratio(2, 1)]
        .into_iter()
        .map(|factor| &power * factor)
        .find(|nice| nice <= value)
        .unwrap_or(power)
}

/// The largest round decimal not above a distance that differs from it by at most one part in
/// 40 000 (less than what is left out before a stop).
pub(super) fn shortened(distance: &Rational) -> Rational {
    if !distance.is_positive() {
        return distance.clone();
    }
    let step = nice_below(&(distance / integer(40_000)));
    (distance / &step).floor() * step
}

/// A rounded half-width for the picture: the nearest of a few round numbers times a power of ten.
fn nice_half_width(value: f64) -> Rational {
    const ROUND: [(i64, i64); 11] = [
        (1, 1),
        (6, 5),
        (3, 2),
        (2, 1),
        (5, 2),
        (3, 1),
        (4, 1),
        (5, 1),
        (6, 1),
        (8, 1),
        (10, 1),
    ];
    let value = value.clamp(1e-250, 1e250);
    let exponent = libm::floor(libm::log10(value));
    let mantissa = value / libm::pow(10.0, exponent);
    let best = ROUND
        .into_iter()
        .min_by(|a, b| {
            let away =
                |(n, d): (i64, i64)| libm::fabs(libm::log2(approximate(&ratio(n, d)) / mantissa));
            away(*a).total_cmp(&away(*b))
        })
        .map_or_else(|| integer(1), |(n, d)| ratio(n, d));
    let shift = super::growth::to_i32(exponent);
    let power = num_traits::pow(integer(10), shift.unsigned_abs() as usize);
    if shift >= 0 {
        best * power
    } else {
        best / power
    }
}

/// Fewer bits than a double-double has.
const UNSEEN_BITS: f64 = 90.0;

/// How far to both sides of the center the picture goes. `logs`: `log₂ |c_k|` of the solution's
/// coefficients; `degree`: of the partial sum that is looked at.
///
/// With a radius of convergence ρ: a little beyond it, so that the partial sums are seen to part
/// from the solution there. Else, or where that would show nothing, as far as the first neglected
/// term reaches a tenth of the largest: there the last partial sum leaves the solution.
pub(super) fn default_half_width(radius: Option<f64>, logs: &[f64], degree: usize) -> Rational {
    let degree = degree.clamp(6, 12);
    let next = logs
        .iter()
        .enumerate()
        .skip(degree + 1)
        .find(|(k, log)| log.is_finite() && !is_rounding(logs, *k));
    let mut width: f64 = radius.map_or(3.0, |r| 1.3 * r);
    if let Some((k, next)) = next {
        let mut log_width = 0.0;
        for _ in 0..40 {
            let largest = logs
                .iter()
                .take(degree + 1)
                .enumerate()
                .map(|(j, log)| log + to_f64(j) * log_width)
                .fold(f64::NEG_INFINITY, f64::max);
            if !largest.is_finite() {
                break;
            }
            // Half a step towards the fixed point: the largest term changes with the width.
            log_width = 0.5 * (log_width + (largest - 3.3 - next) / to_f64(k));
        }
        let parting = libm::exp2(log_width);
        width = match radius {
            Some(_) => width.min(2.0 * parting),
            None => parting,
        };
    }
    if width.is_finite() && width > 0.0 {
        nice_half_width(width)
    } else {
        integer(3)
    }
}

/// Is the coefficient of degree `k` nothing but rounding: too small to be seen in double-doubles even
/// where some term before it is as large as the first one?
fn is_rounding(logs: &[f64], k: usize) -> bool {
    let mut terms = logs
        .iter()
        .take(k)
        .enumerate()
        .filter(|(_, log)| log.is_finite());
    let Some((first, size)) = terms.next() else {
        return false;
    };
    let width = terms.map(|(j, log)| (size - log) / to_f64(j - first));
    let width = width.fold(f64::INFINITY, f64::min);
    let own = logs.get(k).copied().unwrap_or(f64::NEG_INFINITY);
    width.is_finite() && own + to_f64(k - first) * width < size - UNSEEN_BITS
}

/// Round places from `low` to `high`, both included; the center too when it is between.
pub(super) fn drawn(low: &Rational, high: &Rational, center: &Rational) -> Vec<Place> {
    if low > high {
        return Vec::new();
    }
    let width = high - low;
    let mut xs = vec![low.clone(), high.clone()];
    if low <= center && center <= high {
        xs.push(center.clone());
    }
    if width.is_positive() {
        let step = nice_below(&(width / integer(DRAWN)));
        let mut x = (low / &step).ceil() * &step;
        // At most 2.5 · DRAWN rounds, by the choice of the step.
        while x < *high {
            xs.push(x.clone());
            x += &step;
        }
    }
    crate::sorting::sort_by(&mut xs, Ord::cmp);
    xs.dedup();
    xs.into_iter().map(|x| Place::new(x, center)).collect()
}

/// Halfway between two places, as a short decimal if the gap allows one.
pub(super) fn between(left: &Place, right: &Place, center: &Rational) -> Option<Place> {
    let gap = &right.x - &left.x;
    if !gap.is_positive() || gap.denom().bits() > 400 {
        return None;
    }
    let step = nice_below(&(&gap / integer(4)));
    let middle = (&left.x + &right.x) / integer(2);
    let x = (middle / &step).round() * step;
    (x > left.x && x < right.x).then(|| Place::new(x, center))
}

#[cfg(test)]
mod tests {
    use super::{default_half_width, drawn, nice_below, shortened, text};
    use crate::number::rational::{integer, ratio};

    #[test]
    fn steps_are_round() {
        for (value, expected) in [
            (ratio(3, 100), ratio(1, 40)),
            (ratio(1, 100), ratio(1, 100)),
            (ratio(999, 1), ratio(500, 1)),
            (ratio(2, 1), ratio(2, 1)),
        ] {
            assert_eq!(nice_below(&value), expected);
        }
    }

    #[test]
    fn distances_are_shortened_downwards() {
        let short = shortened(&ratio(51427, 32768));
        assert_eq!(text(&short), "1.569425");
        assert_eq!(shortened(&integer(0)), integer(0));
    }

    #[test]
    fn places_cover_the_interval() {
        let places = drawn(&ratio(-1, 3), &integer(2), &integer(0));
        assert_eq!(places.first().unwrap().text, "-1/3");
        assert_eq!(places.last().unwrap().text, "2");
        assert!(places.iter().any(|p| p.text == "0"));
        assert!(places.iter().any(|p| p.text == "0.5"));
        assert!(places.len() > 200 && places.len() < 520);
        assert!(places.windows(2).all(|w| w[0].x < w[1].x));
        assert_eq!(drawn(&integer(1), &integer(1), &integer(0)).len(), 1);
        assert!(drawn(&integer(2), &integer(1), &integer(0)).is_empty());
    }

    #[test]
    fn texts_are_exact_where_short() {
        assert_eq!(text(&ratio(-3, 4)), "-0.75");
        assert_eq!(text(&ratio(22, 7)), "22/7");
    }

    #[test]
    fn pictures_fit_the_problem() {
        // tan x: a little beyond π/2.
        let half_pi = std::f64::consts::FRAC_PI_2;
        let tan: Vec<f64> = (0..40)
            .map(|k| {
                if k % 2 == 1 {
                    1.0 - f64::from(k + 1) * libm::log2(half_pi)
                } else {
                    f64::NEG_INFINITY
                }
            })
            .collect();
        assert_eq!(default_half_width(Some(half_pi), &tan, 7), integer(2));
        // exp: the partial sum of degree 8 leaves it between 3 and 5.
        let exp: Vec<f64> = (0..40)
            .scan(0.0, |log, k| {
                if k > 0 {
                    *log -= libm::log2(f64::from(k));
                }
                Some(*log)
            })
            .collect();
        let width = default_half_width(None, &exp, 8);
        assert!(width >= integer(3) && width <= integer(5), "{width}");
        // A polynomial: something sensible.
        assert_eq!(default_half_width(None, &[0.0, 0.0], 8), integer(3));
    }
}
