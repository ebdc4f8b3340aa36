//! All zeros of an analytic function in a disc about the center, where no formula gives them.
//!
//! h = p + r on |t| ≤ R, t the distance from the center, p the first terms of the Taylor series in doubles
//! and |r| ≤ ε there, with all that its coefficients and their tail may be off ([`crate::enclosed`]).
//!
//! *How many* there are is told by the argument principle on a convex polygon with its corners on
//! |t| = R. From a corner tⱼ, h changes on a side of length δ by at most δ|p′(tⱼ)| + δ²M/2 + 2ε, M a bound of
//! |p″|. Where that is less than |h(tⱼ)|, h(t)/h(tⱼ) stays in the right half-plane, so along the side the argument
//! changes by the principal value of that of the quotient. The values in doubles may be off by less than
//! half their size, which turns them by less than π/4: no principal value becomes another one, and
//! around the polygon what they are off cancels. So the sum is 2π times the number of zeros.
//!
//! *Where* they are: in the disc of radius ρ about z there is exactly one if
//! |p′(z)|ρ > |p(z)| + ρ²M/2 + ε (Rouché's theorem, with p′(z)(t − z)). If such discs apart from each other are as many
//! as there are zeros in the polygon, these are all; about a real z the one is real, since its conjugate is in
//! the disc, too. (L. Ahlfors, *Complex Analysis*, ch. 4, section 5.2, from memory.)

use num_traits::Zero;

use super::place::{Place, bounds};
use super::zeros::{Complex, aberth, over, times};
use crate::budget::Budget;
use crate::enclosed::function_expansion;
use crate::expression::{Expr, Symbol, enclose, evaluate};
use crate::number::rational::integer;
use crate::number::upward::{down, up};
use crate::number::{BigFloat, Polynomial, Rational, to_f64};
use crate::series::Tape;

/// Terms of the series.
const DEGREE: usize = 60;
/// Radii that are tried one after the other: the first, each in comparison with the one before, the last.
const FIRST: f64 = 0.1;
const GROWTH: f64 = 1.25;
const LAST: f64 = 12.0;
/// The nearest zero known, others are looked for up to so many times the radius.
const BEYOND: f64 = 3.0;
/// So many zeros are enough.
const ENOUGH: usize = 4;
/// Places are known to this part of their distance, or not listed.
const KNOWN: f64 = 1e-11;
/// Real ones at first to this part.
const ROUGHLY: f64 = 1e-3;
/// Bits of signs.
const BITS: usize = 128;
/// Halvings of the interval about a real zero.
const HALVINGS: usize = 80;
/// A tail is bounded on a disc so many times as large.
const WIDER: [f64; 4] = [2.0, 1.5, 1.2, 1.05];
/// Most corners of a polygon, and most zeros in it.
const MOST_CORNERS: usize = 6000;
const MOST_ZEROS: usize = 16;
/// Sides are not longer than this part of the radius, …
const LONGEST: f64 = 0.2;
/// … so that the polygon holds the disc of this part of it.
const INSIDE: f64 = 0.99;

fn size(z: Complex) -> f64 {
    libm::hypot(z.0, z.1)
}

/// p in doubles on a disc, with all bounds there.
struct Local {
    coefficients: Vec<f64>,
    radius: f64,
    /// ε, with what a value in doubles is off.
    off: f64,
    /// What a slope in doubles is off.
    slope_off: f64,
    /// M
    bend: f64,
}

/// The zeros within some radius of the center, all of them and at least one; `None` where that was not
/// proved, or the center is one.
pub(super) fn zeros_around(h: &Expr, center: &Expr) -> Option<Vec<Place>> {
    if h.has_derivative() || h.has_parameter() {
        return None;
    }
    let here = h.substitute(&|symbol| match symbol {
        Symbol::Variable => Some(center.clone()),
        Symbol::Derivative { .. } | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
    });
    let value = evaluate(&here).ok()?;
    let tape = Tape::compile(&[h.partial(&Symbol::Variable)], 1).ok()?;
    let expansion = function_expansion(&tape, center, &value, DEGREE, &Budget::PAGE).ok()?;
    let balls = expansion.coefficients(0);
    let first = balls.first()?;
    if libm::fabs(first.mid.to_f64()) <= first.radius {
        return None;
    }
    let exact: Option<Vec<Rational>> = balls.iter().map(|ball| ball.mid.to_rational()).collect();
    let near = aberth(&Polynomial::new(exact?))?;
    let mut best: Option<Vec<(Complex, f64)>> = None;
    let (mut radius, mut last) = (FIRST, LAST);
    while radius < last {
        let tail = WIDER
            .iter()
            .find_map(|wider| expansion.tail(radius * wider));
        let Some(tail) = tail else {
            break;
        };
        let mut beyond = *tail.bounds.first()?;
        for _ in 0..balls.len() {
            beyond = up(beyond * up(up(radius * (1.0 + 1e-9)) / tail.radius));
        }
        let local = Local::new(&balls, radius, beyond);
        match local.all(&near) {
            Some(found) if found.is_empty() => {}
            Some(found) => {
                if best.is_none() {
                    last = last.min(BEYOND * radius);
                }
                let enough = found.len() >= ENOUGH;
                best = Some(found);
                if enough {
                    break;
                }
            }
            None => {}
        }
        radius *= GROWTH;
    }
    let (low, high) = bounds(center)?;
    let middle = (&low + &high) / integer(2);
    let doubt = (high - low) / integer(2);
    let place = |((re, im), radius): (Complex, f64)| {
        let exact = |value: f64| BigFloat::from_f64(value).to_rational();
        let (mut along, mut off) = (&middle + exact(re)?, exact(radius)? + &doubt);
        if im.abs() <= 0.0 {
            (along, off) = halved(h, &along, &off)?;
        }
        Some(Place::Disc {
            re: along,
            im: exact(im)?,
            radius: off,
        })
    };
    best?.into_iter().map(place).collect()
}

/// A smaller interval about the only zero in this one, by the signs of h.
fn halved(h: &Expr, middle: &Rational, radius: &Rational) -> Option<(Rational, Rational)> {
    let sign = |place: &Rational| {
        let here = h.substitute(&|symbol| match symbol {
            Symbol::Variable => Some(Expr::number(place.clone())),
            Symbol::Derivative { .. } | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        });
        enclose(&here, BITS).ok()?.sign()
    };
    let (mut low, mut high) = (middle - radius, middle + radius);
    let (first, last) = (sign(&low)?, sign(&high)?);
    for _ in 0..HALVINGS {
        let half = (&low + &high) / integer(2);
        match sign(&half) {
            Some(own) if own == first => low = half,
            Some(own) if own == last => high = half,
            _ => break,
        }
    }
    let (middle, radius) = ((&low + &high) / integer(2), (high - low) / integer(2));
    (to_f64(&radius) < KNOWN * to_f64(&middle).abs().max(1e-6)).then_some((middle, radius))
}

impl Local {
    fn new(balls: &[crate::enclosed::Ball], radius: f64, beyond: f64) -> Self {
        let coefficients: Vec<f64> = balls.iter().map(|ball| ball.mid.to_f64()).collect();
        // A little farther than corners in doubles are.
        let reach = up(radius * (1.0 + 1e-9));
        let (mut whole, mut off, mut slope, mut bend, mut power) = (0.0, beyond, 0.0, 0.0, 1.0);
        let (mut before, mut twice_before) = (0.0, 0.0);
        for (k, (own, ball)) in (0_u32..).zip(coefficients.iter().zip(balls)) {
            let own = up(own.abs());
            let k = f64::from(k);
            whole += own * power;
            off += up(ball.radius + own * 3e-16) * power;
            slope += k * own * before;
            bend += k * (k - 1.0).max(0.0) * own * twice_before;
            (twice_before, before, power) = (before, power, up(power * reach));
        }
        // Each of the complex steps is off by less than 8 units, and there are as many as terms.
        let rounding =
            8.0 * 2.3e-16 * f64::from(u32::try_from(balls.len() + 2).unwrap_or(u32::MAX));
        Self {
            coefficients,
            radius,
            off: up(off + rounding * up(whole)),
            slope_off: up(2.0 * rounding * up(slope) + up(off) / radius),
            bend: up(bend),
        }
    }

    /// p and p′.
    fn at(&self, z: Complex) -> (Complex, Complex) {
        let (mut value, mut slope) = ((0.0, 0.0), (0.0, 0.0));
        for c in self.coefficients.iter().rev() {
            let next = times(slope, z);
            slope = (next.0 + value.0, next.1 + value.1);
            let next = times(value, z);
            value = (next.0 + c, next.1);
        }
        (value, slope)
    }

    /// The number of zeros in the polygon.
    fn count(&self) -> Option<usize> {
        let corner = |angle: f64| {
            (
                self.radius * libm::cos(angle),
                self.radius * libm::sin(angle),
            )
        };
        let begin = corner(0.0);
        let (mut angle, mut z, mut turned) = (0.0, begin, 0.0);
        for _ in 0..MOST_CORNERS {
            let (value, slope) = self.at(z);
            let sure = down(size(value) * (1.0 - 1e-12), self.off);
            if sure <= 0.5 * size(value) {
                return None;
            }
            let steep = up(size(slope) + self.slope_off);
            let step = (0.4 * sure / steep).min(libm::sqrt(0.4 * sure / self.bend.max(1e-300)));
            angle += step.min(LONGEST * self.radius) / self.radius;
            let last = angle >= std::f64::consts::TAU;
            let next = if last { begin } else { corner(angle) };
            let side = up(size((next.0 - z.0, next.1 - z.1)) * (1.0 + 1e-12));
            if up(side * steep + side * side * self.bend + 2.0 * self.off) >= sure {
                return None;
            }
            let (there, _) = self.at(next);
            let quotient = over(there, value);
            turned += libm::atan2(quotient.1, quotient.0);
            if last {
                let count = libm::round(turned / std::f64::consts::TAU);
                return num_traits::ToPrimitive::to_usize(&count);
            }
            z = next;
        }
        None
    }

    /// A disc about a place near this one that surely holds exactly one zero.
    fn disc(&self, near: Complex) -> Option<(Complex, f64)> {
        let mut z = near;
        if z.1.abs() < 1e-7 * size(z) {
            z.1 = 0.0;
        }
        for _ in 0..4 {
            let (value, slope) = self.at(z);
            let step = over(value, slope);
            z = (z.0 - step.0, z.1 - step.1);
        }
        let (value, slope) = self.at(z);
        let value = up(size(value) * (1.0 + 1e-12) + self.off);
        let slope = down(size(slope) * (1.0 - 1e-12), self.slope_off);
        let radius = up(2.0 * value / slope);
        let inside = up(size(z) * (1.0 + 1e-12) + radius) < 0.97 * INSIDE * self.radius;
        let one = down(slope * radius, up(value + radius * radius * self.bend)) > 0.0;
        // Real ones are halved later.
        let real = z.1.abs() <= 0.0;
        let known = radius < size(z) * if real { ROUGHLY } else { KNOWN };
        (slope > 0.0 && inside && one && known).then_some((z, radius))
    }

    /// All zeros in the polygon.
    fn all(&self, near: &[Complex]) -> Option<Vec<(Complex, f64)>> {
        let count = self.count()?;
        if count > MOST_ZEROS {
            return None;
        }
        let mut found: Vec<(Complex, f64)> = Vec::new();
        for place in near.iter().filter(|z| size(**z) < self.radius) {
            let Some((z, radius)) = self.disc(*place) else {
                continue;
            };
            let apart = |(w, other): &(Complex, f64)| {
                size((z.0 - w.0, z.1 - w.1)) * (1.0 - 1e-12) > up(radius + other)
            };
            if found.iter().all(apart) {
                found.push((z, radius));
            }
        }
        (found.len() == count).then_some(found)
    }
}

/// The interval, where a place is proved to be real but only enclosed.
pub(super) fn real_interval(place: &Place) -> Option<(Rational, Rational)> {
    match place {
        Place::Disc { re, im, radius } if im.is_zero() => Some((re - radius, re + radius)),
        _ => None,
    }
}

/// The middle of an interval, as a double.
pub(super) fn middle(low: &Rational, high: &Rational) -> f64 {
    to_f64(&((low + high) / integer(2)))
}
