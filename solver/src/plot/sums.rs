//! Partial sums and their errors at every drawn place.

use super::{BesideRow, Other};
use crate::expression::Expr;
use crate::number::big_float::Precision;
use crate::number::{BigFloat, Rational, to_f64};
use crate::reference::{Point, Reference, constant_value, drawn_places};

/// A drawn place, with the reference solution where it is known.
#[derive(Clone, Debug)]
pub(super) struct Place<'a> {
    pub(super) x: f64,
    pub(super) text: String,
    pub(super) exact: Rational,
    pub(super) point: Option<&'a Point>,
}

/// Partial sums of a place, and their errors.
pub(super) type Sums = (Vec<f64>, Vec<Option<f64>>);

/// Bits for partial sums: digits to spare over what the reference shows.
const BITS: usize = 160;

/// All places of the reference, those asked for by name, and round ones over the rest of the
/// window; ascending.
pub(super) fn places(reference: &Reference, window: (f64, f64)) -> Vec<Place<'_>> {
    let known = |point| Place::of(point);
    let mut places: Vec<Place<'_>> = reference
        .asked
        .iter()
        .chain(&reference.points)
        .map(known)
        .collect();
    let first = reference.points.first().map_or(f64::INFINITY, |p| p.x);
    let last = reference.points.last().map_or(f64::NEG_INFINITY, |p| p.x);
    places.extend(
        drawn_places(window, &reference.center_place)
            .into_iter()
            .filter_map(|(exact, text)| {
                let x = to_f64(&exact);
                (x < first || x > last).then_some(Place {
                    x,
                    text,
                    exact,
                    point: None,
                })
            }),
    );
    // A stable sort: of equal places the one asked for by name stays first, and is kept.
    crate::sorting::sort_by(&mut places, |a, b| a.exact.cmp(&b.exact));
    places.dedup_by(|later, earlier| later.exact == earlier.exact);
    places
}

impl<'a> Place<'a> {
    fn of(point: &'a Point) -> Self {
        Self {
            x: point.x,
            text: point.x_text.clone(),
            exact: point.place.clone(),
            point: Some(point),
        }
    }
}

/// For each place the values of the partial sums of degree 0, 1, …, rounded once, and their
/// errors: near the center by the tail of the expansion, so that nothing cancels; elsewhere by the
/// difference from the reference, 0 where that is not above the doubt about the reference.
pub(super) fn partial_sums(
    coefficients: &[Expr],
    reference: &Reference,
    places: &[Place<'_>],
) -> Vec<Sums> {
    let precision = Precision::new(BITS);
    let coefficients: Vec<BigFloat> = coefficients
        .iter()
        .map(|c| constant_value(c, &precision))
        .collect();
    let tail = Tail::new(reference);
    places
        .iter()
        .map(|place| {
            let distance = &place.exact - &reference.center_place;
            let sums = sums_at(&coefficients, &distance, &precision);
            let t = to_f64(&distance);
            let tails = tail.errors(t, coefficients.len());
            let errors = sums
                .iter()
                .zip(tails)
                .map(|(sum, tail)| tail.or_else(|| difference(sum, place.point?, &precision)))
                .collect();
            (sums.iter().map(BigFloat::to_f64).collect(), errors)
        })
        .collect()
}

/// What is set beside the first solution, at its places.
pub(super) fn beside(other: &Other<'_>, places: &[Place<'_>]) -> Vec<BesideRow> {
    let precision = Precision::new(BITS);
    let coefficients: Vec<BigFloat> = other
        .coefficients
        .iter()
        .map(|c| constant_value(c, &precision))
        .collect();
    let center = constant_value(other.center, &precision).to_rational();
    let point = |index| {
        let asked = &other.reference?.asked;
        asked.iter().find(|point| point.asked == Some(index))
    };
    places
        .iter()
        .enumerate()
        .map(|(index, place)| {
            let point = point(index);
            let sums = center.as_ref().map_or_else(Vec::new, |center| {
                sums_at(&coefficients, &(&place.exact - center), &precision)
            });
            BesideRow {
                reference: point.map(|point| point.value.text.clone()),
                reference_value: point
                    .map(|point| point.value.value)
                    .filter(|v| v.is_finite()),
                partial_sums: sums.iter().map(BigFloat::to_f64).collect(),
            }
        })
        .collect()
}

fn sums_at(coefficients: &[BigFloat], distance: &Rational, precision: &Precision) -> Vec<BigFloat> {
    let t = BigFloat::from_rational(distance, precision);
    let mut power = BigFloat::from_i64(1);
    let mut sum = BigFloat::ZERO;
    coefficients
        .iter()
        .map(|coefficient| {
            if !coefficient.is_zero() {
                sum = sum.plus(&coefficient.times(&power, precision), precision);
            }
            power = power.times(&t, precision);
            sum.clone()
        })
        .collect()
}

fn difference(sum: &BigFloat, point: &Point, precision: &Precision) -> Option<f64> {
    let error = sum.minus(&point.precise, precision);
    if !error.is_finite() {
        return None;
    }
    Some(if error.log2_abs() > point.doubt + 1.0 {
        libm::fabs(error.to_f64())
    } else {
        0.0
    })
}

/// What the partial sums leave out, from the coefficients at the center.
struct Tail {
    coefficients: Vec<f64>,
    /// Not used beyond this distance.
    limit: f64,
}

/// Terms at the end of the expansion that must be negligible.
const LAST: usize = 8;

impl Tail {
    fn new(reference: &Reference) -> Self {
        Self {
            coefficients: reference.expansion.iter().map(BigFloat::to_f64).collect(),
            limit: reference.radius_estimate.map_or(f64::INFINITY, |r| 0.7 * r),
        }
    }

    /// `|Σ_{k>n} c_k t^k|` for n = 0, 1, …, `count` − 1, where the expansion is long enough for it.
    fn errors(&self, t: f64, count: usize) -> Vec<Option<f64>> {
        let none = vec![None; count];
        let size = libm::fabs(t);
        if size > self.limit || self.coefficients.len() < count + LAST {
            return none;
        }
        // rest[k] = c_k + c_(k+1) t + …, bulk[k] the same of absolute values.
        let mut rest = 0.0;
        let mut bulk = 0.0;
        let mut last = 0.0_f64;
        let mut errors = none;
        let length = self.coefficients.len();
        for (k, c) in self.coefficients.iter().enumerate().rev() {
            rest = c + t * rest;
            bulk = libm::fabs(*c) + size * bulk;
            // The largest of the last terms, counted from c_k.
            last = if k + LAST >= length {
                (last * size).max(libm::fabs(*c))
            } else {
                last * size
            };
            let Some(n) = k.checked_sub(1).filter(|n| *n < count) else {
                continue;
            };
            let size_of_sum = libm::fabs(rest);
            // The neglected terms go on like the last ones; rounding stays below a part in 10³.
            let converged = 64.0 * last <= 1e-3 * size_of_sum;
            let clean = bulk * 1e-12 <= size_of_sum;
            let vanishes = bulk.classify() == std::num::FpCategory::Zero;
            if vanishes || (rest.is_finite() && converged && clean) {
                let power = (0..k).fold(1.0, |power, _| power * size);
                if let Some(error) = errors.get_mut(n) {
                    *error = Some(size_of_sum * power);
                }
            }
        }
        errors
    }
}
