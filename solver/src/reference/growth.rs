//! What the growth of Taylor coefficients tells about the nearest singularity. Estimates only.
//!
//! Three-term and six-term tests: Y. F. Chang & G. Corliss, "Ratio-like and recurrence relation
//! tests for convergence of series", J. Inst. Math. Appl. 25 (1980), and G. Corliss & Y. F. Chang,
//! "Solving ordinary differential equations using Taylor series", ACM TOMS 8(2), 1982. Behind
//! them: the coefficients behave like those of the model `(1 − t/s)^(−α)`, or of a conjugate pair
//! of such factors, the closer the nearest singularity is in comparison with all others.

use crate::series::floats::Real;

/// Coefficients as doubles: `scaled[k] = c_k · 2^(k·unit) / 2^top`, so that nothing overflows.
#[derive(Clone, Debug)]
pub(super) struct Growth {
    scaled: Vec<f64>,
    /// log₂ of the length that the scaling takes as unit.
    unit: i32,
    /// Some coefficient has no value.
    broken: bool,
}

/// A singularity on the real axis.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct RealSingularity {
    /// Signed distance from the center.
    pub(super) distance: f64,
    /// α: 1 for a simple pole, 0 for a logarithm, −1/2 for a square root.
    pub(super) exponent: f64,
    /// Relative difference of two neighbouring estimates of the distance.
    pub(super) doubt: f64,
}

/// A conjugate pair of singularities, in powers of t^gap.
struct Pair {
    radius: f64,
    angle: f64,
    exponent: f64,
}

/// Which test the coefficients passed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Test {
    /// Ratios of three neighboring terms: one real singularity (of t^gap).
    ThreeTerm,
    /// Six neighboring terms: a conjugate pair.
    SixTerm,
    /// The n-th roots of the coefficients only.
    Root,
    /// Poles of Padé approximants with these degrees, which agree in so many digits.
    Pade {
        /// Of the derivative of this order.
        order: usize,
        /// Degree of the numerator.
        above: usize,
        /// Of the denominator.
        below: usize,
        /// Digits.
        digits: u32,
    },
}

/// Binary digits by which the last terms may be smaller than the largest one.
const LARGEST_FALL: f64 = 60.0;

/// What the growth of the coefficients tells about the nearest singularity. Estimates all.
#[derive(Clone, Debug, PartialEq)]
pub struct Nearest {
    /// Its distance.
    pub radius: f64,
    /// Its angle as seen from the center, from 0 to π; with it come the conjugate and, where only every
    /// gap-th coefficient is not zero, their images turned by 2π/gap.
    pub angle: Option<f64>,
    /// Steps between the non-zero coefficients.
    pub gap: usize,
    /// α of (1 − t/s)^(−α): n for a pole of order n, 0 for a logarithm, else a branch point.
    pub exponent: Option<f64>,
    /// What it rests on.
    pub test: Test,
    /// Poles of a Padé approximant, counted from the center, the nearest first.
    pub poles: Vec<(f64, f64)>,
}

impl Nearest {
    /// Significant digits of the radius that are worth showing: the root test settles slowly.
    pub fn digits(&self) -> u32 {
        match self.test {
            Test::ThreeTerm | Test::SixTerm => 5,
            Test::Root => 2,
            Test::Pade { digits, .. } => digits,
        }
    }
}

impl Nearest {
    /// Where the nearest singularities are, as seen from a center: real and imaginary parts. Each once;
    /// none where the test does not tell.
    pub fn places(&self, center: f64) -> Vec<(f64, f64)> {
        let mut found: Vec<(f64, f64)> = Vec::new();
        let Some(angle) = self.angle else {
            return self.poles.iter().map(|(x, y)| (center + x, *y)).collect();
        };
        let turn = 2.0 * std::f64::consts::PI / to_f64(self.gap);
        for image in 0..self.gap {
            for sign in [1.0, -1.0] {
                let angle = sign * angle + turn * to_f64(image);
                let place = (
                    center + self.radius * libm::cos(angle),
                    self.radius * libm::sin(angle),
                );
                let near = |other: &(f64, f64)| {
                    libm::hypot(other.0 - place.0, other.1 - place.1) < 1e-6 * self.radius
                };
                if !found.iter().any(near) {
                    found.push(place);
                }
            }
        }
        found
    }
}

/// What the Taylor coefficients c₀, c₁, … tell; `None` when there is no sign of a singularity, or
/// there are too few (at least 24).
pub fn nearest(coefficients: &[crate::number::BigFloat]) -> Option<Nearest> {
    // The tests look back from the last coefficient: with gaps it must be one that is not zero.
    let length = coefficients
        .iter()
        .rposition(|c| !c.is_zero())
        .map_or(0, |last| last + 1);
    Growth::new(coefficients.get(..length)?).nearest()
}

impl Growth {
    /// From the first coefficients of a series; stops at one that has no value.
    pub(super) fn new<C: Real>(coefficients: &[C]) -> Self {
        let finite: Vec<&C> = coefficients.iter().take_while(|c| c.is_finite()).collect();
        let logs: Vec<f64> = finite.iter().map(|c| c.log2_abs()).collect();
        let slope = envelope_slope(&logs);
        // 2^unit close to the radius of convergence.
        let unit = to_i32(libm::floor(-slope));
        let top = logs
            .iter()
            .enumerate()
            .map(|(k, log)| log + to_f64(k) * f64::from(unit))
            .fold(f64::NEG_INFINITY, f64::max);
        let top = if top.is_finite() {
            to_i32(libm::floor(top))
        } else {
            0
        };
        let scaled = finite
            .iter()
            .enumerate()
            .map(|(k, c)| {
                let shift = i32::try_from(k)
                    .unwrap_or(i32::MAX)
                    .saturating_mul(unit)
                    .saturating_sub(top);
                c.scaled_f64(shift)
            })
            .collect();
        Self {
            scaled,
            unit,
            broken: finite.len() < coefficients.len(),
        }
    }

    /// The same for coefficients in powers of (distance/2^scale).
    pub(super) fn stretched(mut self, scale: i32) -> Self {
        self.unit = self.unit.saturating_add(scale);
        self
    }

    /// Some coefficient has no value (overflow).
    pub(super) fn is_broken(&self) -> bool {
        self.broken
    }

    fn length(&self, in_units: f64) -> f64 {
        libm::ldexp(in_units, self.unit)
    }

    /// The three-term test on every `gap`-th coefficient, the last one included.
    fn three_term(&self, gap: usize) -> Option<RealSingularity> {
        let picked: Vec<f64> = self
            .scaled
            .iter()
            .rev()
            .step_by(gap)
            .take(4)
            .copied()
            .collect();
        let &[c0, c1, c2, c3] = picked.as_slice() else {
            return None;
        };
        if [c0, c1, c2, c3].iter().any(|c| libm::fabs(*c) < 1e-250) {
            return None;
        }
        // In powers of t^gap the index of the last coefficient is n (not an integer when the
        // series starts with a power of its own; the model is a fit anyway).
        let n = to_f64(self.scaled.len() - 1) / to_f64(gap);
        // (k + 1) r_k − k r_(k−1) = 1/s with r_k = c_(k+1)/c_k.
        let inverse = n * (c0 / c1) - (n - 1.0) * (c1 / c2);
        let before = (n - 1.0) * (c1 / c2) - (n - 2.0) * (c2 / c3);
        if inverse.classify() == std::num::FpCategory::Zero {
            return None;
        }
        let distance = 1.0 / inverse;
        Some(RealSingularity {
            distance,
            exponent: n * (c0 / c1) * distance - (n - 1.0),
            doubt: libm::fabs(before / inverse - 1.0),
        })
    }

    /// A singularity on the real axis that dominates the series.
    pub(super) fn real_singularity(&self) -> Option<RealSingularity> {
        let found = self.three_term(1)?;
        let distance = self.length(found.distance);
        self.carries(libm::fabs(distance))
            .then_some(RealSingularity { distance, ..found })
    }

    /// About how far the nearest singularity is; `None` when the coefficients fall faster than
    /// those of any such series, or there are too few.
    pub(super) fn radius(&self) -> Option<f64> {
        self.nearest().map(|nearest| nearest.radius)
    }

    /// What the coefficients tell about the nearest singularity; `None` as for [`Self::radius`].
    pub(super) fn nearest(&self) -> Option<Nearest> {
        self.told().filter(|found| self.carries(found.radius))
    }

    /// At its radius of convergence the last terms of a series are about as large as the first
    /// ones. Where they are smaller by more than half the digits, they are rounding: of an entire
    /// solution it grows as the singular points of the equation let it.
    fn carries(&self, radius: f64) -> bool {
        let step = libm::log2(radius / self.length(1.0));
        let size = |(k, c): (usize, &f64)| libm::log2(libm::fabs(*c)) + to_f64(k) * step;
        let sizes: Vec<f64> = self.scaled.iter().enumerate().map(size).collect();
        let top = |part: &[f64]| part.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let last = sizes
            .get(sizes.len() - sizes.len() / 4..)
            .map_or(f64::NEG_INFINITY, top);
        last > top(&sizes) - LARGEST_FALL
    }

    fn told(&self) -> Option<Nearest> {
        if self.scaled.len() < 24 || self.falls_faster_than_geometrically() {
            return None;
        }
        let gap = self.gap();
        let rooted = |power: f64| self.length(libm::pow(power, 1.0 / to_f64(gap)));
        let made = |radius: f64, angle: f64, exponent: f64, test: Test| Nearest {
            radius,
            angle: (test != Test::Root).then(|| angle / to_f64(gap)),
            gap,
            exponent: (test != Test::Root).then_some(exponent),
            test,
            poles: Vec::new(),
        };
        if let Some(found) = self.three_term(gap).filter(|f| f.doubt < 1e-3) {
            let angle = if found.distance < 0.0 {
                std::f64::consts::PI
            } else {
                0.0
            };
            let radius = rooted(libm::fabs(found.distance));
            return Some(made(radius, angle, found.exponent, Test::ThreeTerm));
        }
        if let Some((found, doubt)) = self.six_term(gap)
            && doubt < 1e-3
        {
            let radius = rooted(found.radius);
            return Some(made(radius, found.angle, found.exponent, Test::SixTerm));
        }
        // The root test on the envelope of the second half.
        let logs: Vec<f64> = self
            .scaled
            .iter()
            .map(|c| libm::log2(libm::fabs(*c)))
            .collect();
        let radius = self.length(libm::exp2(-envelope_slope(&logs)));
        Some(made(radius, 0.0, 0.0, Test::Root))
    }

    /// Steps between non-zero coefficients (1 when there is no pattern).
    fn gap(&self) -> usize {
        let places: Vec<usize> = self
            .scaled
            .iter()
            .enumerate()
            .skip(self.scaled.len() / 3)
            .filter(|(_, c)| libm::fabs(**c) > 1e-200)
            .map(|(k, _)| k)
            .collect();
        let gap = places
            .iter()
            .zip(places.iter().skip(1))
            .map(|(a, b)| b - a)
            .fold(0, num_integer::gcd);
        let last = self.scaled.len() - 1;
        // The tests start at the last coefficient: it must be one of the pattern.
        if gap > 1 && places.last() == Some(&last) {
            gap
        } else {
            1
        }
    }

    /// Envelope slopes over three windows: the coefficients of an entire function of order ρ
    /// fall like (k!)^(−1/ρ), so that the apparent radius grows like k^(1/ρ); at a singularity
    /// it approaches a limit with differences of order α/k.
    fn falls_faster_than_geometrically(&self) -> bool {
        let n = self.scaled.len();
        let logs: Vec<f64> = self
            .scaled
            .iter()
            .map(|c| libm::log2(libm::fabs(*c)))
            .collect();
        let window = |from: usize, to: usize| {
            logs.get(from..to).map_or(f64::NEG_INFINITY, |part| {
                part.iter().copied().fold(f64::NEG_INFINITY, f64::max)
            })
        };
        let w = n / 8;
        let (a, b, c, d) = (
            window(n - 7 * w, n - 6 * w),
            window(n - 5 * w, n - 4 * w),
            window(n - 3 * w, n - 2 * w),
            window(n - w, n),
        );
        if !(a.is_finite() && b.is_finite() && c.is_finite() && d.is_finite()) {
            // A tail of zeros: a polynomial, or so small that it does not count.
            return true;
        }
        let length = to_f64(2 * w);
        let (first, second, third) = ((a - b) / length, (b - c) / length, (c - d) / length);
        // log₂ of the apparent radius rises by more than 4 % from each window to the next.
        second - first > 0.05 && third - second > 0.05
    }

    /// The six-term test: radius in units of the gap's power, and the relative difference of two
    /// neighbouring estimates.
    fn six_term(&self, gap: usize) -> Option<(Pair, f64)> {
        let n = to_f64(self.scaled.len() - 1) / to_f64(gap);
        let picked: Vec<f64> = self
            .scaled
            .iter()
            .rev()
            .step_by(gap)
            .take(8)
            .copied()
            .collect();
        let pair = |skip: usize| -> Option<Pair> {
            let part = picked.get(skip..skip + 6)?;
            let top = n - to_f64(skip);
            // For each k: (k+1) c_(k+1) = A·k c_k + B·c_k + C·(k−1) c_(k−1) + D·c_(k−1),
            // C = −1/R² (the recurrence of Gegenbauer's generating function, DLMF 18.12.4 with
            // 18.9.1). Four equations from six coefficients.
            let mut rows = [[0.0_f64; 5]; 4];
            for (row, window) in rows.iter_mut().zip(part.windows(3).enumerate()) {
                let (i, terms) = window;
                let &[next, this, previous] = terms else {
                    return None;
                };
                let k = top - to_f64(i) - 1.0;
                *row = [
                    k * this,
                    this,
                    (k - 1.0) * previous,
                    previous,
                    (k + 1.0) * next,
                ];
            }
            let solution = solve_4(rows)?;
            // With the angle θ and the exponent λ: A = 2 cos θ/R, D = −2λ/R².
            let minus_c = -solution[2];
            if minus_c <= 0.0 {
                return None;
            }
            let radius = 1.0 / libm::sqrt(minus_c);
            let cosine = 0.5 * solution[0] * radius;
            Some(Pair {
                radius,
                angle: libm::acos(cosine.clamp(-1.0, 1.0)),
                exponent: -0.5 * solution[3] * radius * radius,
            })
        };
        let (now, before) = (pair(0)?, pair(1)?);
        let doubt = libm::fabs(now.radius / before.radius - 1.0);
        Some((now, doubt))
    }
}

/// Gaussian elimination with row exchanges; `None` when singular.
#[allow(
    clippy::indexing_slicing,
    clippy::needless_range_loop,
    reason = "fixed sizes, constant bounds"
)]
fn solve_4(mut rows: [[f64; 5]; 4]) -> Option<[f64; 4]> {
    for column in 0..4 {
        let pivot = (column..4)
            .max_by(|&a, &b| libm::fabs(rows[a][column]).total_cmp(&libm::fabs(rows[b][column])))?;
        rows.swap(column, pivot);
        if libm::fabs(rows[column][column]) < 1e-280 {
            return None;
        }
        for below in column + 1..4 {
            let factor = rows[below][column] / rows[column][column];
            for k in column..5 {
                rows[below][k] -= factor * rows[column][k];
            }
        }
    }
    let mut solution = [0.0; 4];
    for column in (0..4).rev() {
        let mut rest = rows[column][4];
        for k in column + 1..4 {
            rest -= rows[column][k] * solution[k];
        }
        solution[column] = rest / rows[column][column];
    }
    Some(solution)
}

/// Slope of the upper envelope of the second half of a list of logarithms (0 when there is none):
/// from the largest of the third quarter to the largest of the last.
fn envelope_slope(logs: &[f64]) -> f64 {
    let n = logs.len();
    let peak = |from: usize, to: usize| {
        logs.iter()
            .enumerate()
            .skip(from)
            .take(to - from)
            .filter(|(_, log)| log.is_finite())
            .max_by(|a, b| a.1.total_cmp(b.1))
            .map(|(k, log)| (to_f64(k), *log))
    };
    match (peak(n / 2, 3 * n / 4), peak(3 * n / 4, n)) {
        (Some((k1, a)), Some((k2, b))) if k2 > k1 => (b - a) / (k2 - k1),
        _ => 0.0,
    }
}

/// An index as a double.
pub(super) fn to_f64(index: usize) -> f64 {
    u32::try_from(index).map_or(f64::from(u32::MAX), f64::from)
}

/// A whole double as an integer, saturating.
pub(super) fn to_i32(whole: f64) -> i32 {
    #[allow(clippy::cast_possible_truncation, reason = "clamped before")]
    let value = whole.clamp(-1e9, 1e9) as i32;
    value
}

#[cfg(test)]
mod tests {
    use super::Growth;
    use crate::number::DoubleDouble;

    fn series(count: u32, coefficient: impl Fn(u32) -> f64) -> Growth {
        let coefficients: Vec<DoubleDouble> = (0..count)
            .map(|k| DoubleDouble::from_f64(coefficient(k)))
            .collect();
        Growth::new(&coefficients)
    }

    fn to_the(base: f64, power: u32) -> f64 {
        (0..power).fold(1.0, |product, _| product * base)
    }

    fn factorial(n: u32) -> f64 {
        (1..=n).map(f64::from).product()
    }

    #[test]
    fn singularities_on_the_axis_are_located_with_their_exponent() {
        // 1/(1 − t/3)², with coefficients (k+1)/3^k.
        let pole = series(40, |k| f64::from(k + 1) / to_the(3.0, k))
            .real_singularity()
            .unwrap();
        assert!((pole.distance - 3.0).abs() < 1e-9 && (pole.exponent - 2.0).abs() < 1e-7);
        // −ln(1 + 5t) has a singularity at t = −1/5, exponent 0.
        let log = series(40, |k| {
            if k == 0 {
                0.0
            } else {
                to_the(-5.0, k) / f64::from(k)
            }
        });
        let found = log.real_singularity().unwrap();
        assert!((found.distance + 0.2).abs() < 1e-9 && found.exponent.abs() < 1e-7);
    }

    #[test]
    fn radii_of_known_series() {
        // 1/(1 + t²): a conjugate pair at ±i, radius 1, every other coefficient zero.
        let arc = series(41, |k| [1.0, 0.0, -1.0, 0.0][k as usize % 4]);
        assert!((arc.radius().unwrap() - 1.0).abs() < 1e-6);
        // 1/(1 − t + t²): poles at exp(±iπ/3), radius 1; coefficients of period six.
        let pair = series(60, |k| [1.0, 1.0, 0.0, -1.0, -1.0, 0.0][k as usize % 6]);
        assert!((pair.radius().unwrap() - 1.0).abs() < 1e-6);
        let found = pair.nearest().unwrap();
        assert!((found.angle.unwrap() - std::f64::consts::PI / 3.0).abs() < 1e-6);
        assert!((found.exponent.unwrap() - 1.0).abs() < 1e-5 && found.test == super::Test::SixTerm);
        let found = arc.nearest().unwrap();
        assert_eq!(found.places(1.0).len(), 2);
        assert!((found.places(1.0)[0].1.abs() - 1.0).abs() < 1e-6);
        assert!((found.angle.unwrap() - std::f64::consts::FRAC_PI_2).abs() < 1e-6);
        assert_eq!((found.gap, found.test), (2, super::Test::ThreeTerm));
        // A geometric series with a tiny radius.
        let tiny = series(40, |k| to_the(1e6, k));
        assert!((tiny.radius().unwrap() * 1e6 - 1.0).abs() < 1e-6);
    }

    #[test]
    fn rounding_behind_an_entire_solution_is_no_singularity() {
        // e^x from an equation with a singular point at distance 1: the error of each coefficient
        // neither grows nor falls.
        let noisy = |noise: f64| series(64, |k| 1.0 / factorial(k) + noise);
        assert_eq!(noisy(1e-31).radius(), None);
        // A small part that does have a singularity there is told from it.
        assert!((noisy(1e-6).radius().unwrap() - 1.0).abs() < 1e-6);
    }

    #[test]
    fn entire_functions_show_no_radius() {
        assert_eq!(series(90, |k| 1.0 / factorial(k)).radius(), None);
        // exp(−t²).
        let bell = series(90, |k| {
            if k % 2 == 1 {
                0.0
            } else {
                to_the(-1.0, k / 2) / factorial(k / 2)
            }
        });
        assert_eq!(bell.radius(), None);
        // A polynomial.
        assert_eq!(series(90, |k| if k < 5 { 2.0 } else { 0.0 }).radius(), None);
    }
}
