//! An enclosed step in doubles: how far a polynomial is from the solution over a piece of it.

use super::jet::{Jet, Powers};
use super::walk::Segment;
use crate::number::to_f64;
use crate::number::upward::{down, up};
use crate::series::floats::Real;

/// What a double loses, generously.
const UNIT: f64 = f64::EPSILON;
/// Irrational places may be off by more than this share of a double's digits nowhere.
const PLACE: f64 = 1e-100;
/// Bounds are raised by 2⁻⁴⁰ (`up`): so much of that is left for the rounding of ends.
const INWARD: f64 = 2e-13;

/// One unknown over one step, both ways from its middle.
///
/// With τ = (t − from)/2^scale, t counted from the problem's center, the solution is Σ midsₖτᵏ up to
/// Σ slacksₖ|τ|ᵏ + beyond, for |τ| ≤ length.
#[derive(Clone, Debug, PartialEq)]
pub struct Stretch {
    from: f64,
    scale: i32,
    length: f64,
    mids: Vec<f64>,
    slacks: Vec<f64>,
    beyond: f64,
}

/// The values, and half the second derivative, of partial sums at one place: those of all degrees,
/// one after the other.
pub(crate) struct Sums<'a> {
    /// Middle and largest distance from it of the coefficients.
    pub(crate) balls: &'a [(f64, f64)],
    /// So many degrees.
    pub(crate) count: usize,
}

impl Stretch {
    /// Of one unknown of a segment; `None` where doubles are not enough.
    pub(crate) fn of<C: Real>(segment: &Segment<C>, unknown: usize) -> Option<Self> {
        let (scale, length, part) = segment.part(unknown)?;
        let from = to_f64(&segment.from);
        let mids: Vec<f64> = part.mids.iter().map(Real::lead).collect();
        let slacks = part.slacks.iter().zip(&mids);
        let slacks = slacks.map(|(slack, mid)| up(slack + UNIT * libm::fabs(*mid)));
        let own = Self {
            from,
            scale,
            length,
            slacks: slacks.collect(),
            mids,
            beyond: part.beyond,
        };
        own.mids.iter().all(|mid| mid.is_finite()).then_some(own)
    }

    /// The signed distances from the center between which it holds, a little inward.
    pub(crate) fn ends(&self) -> (f64, f64) {
        let reach = libm::ldexp(self.length, self.scale) * (1.0 - INWARD);
        // `down` would take all that `up` has added.
        let inside = (reach - self.shift(libm::fabs(self.from) + reach)).max(0.0);
        (self.from - inside, self.from + inside)
    }

    /// What the double `from`, and a difference from it, are off at most, up to this distance.
    fn shift(&self, distance: f64) -> f64 {
        up(2.0 * UNIT * (libm::fabs(self.from) + distance) + PLACE)
    }

    /// For each degree N: bounds from below and above of |y − Pₙ| for all t with |t − `middle`| ≤ `half`,
    /// inside [`Self::ends`]: below holds at the middle, above everywhere.
    ///
    /// y and Pₙ are expanded about the middle; their values, slopes and second derivatives are
    /// subtracted, so that what they have in common cancels, and the cubic rest of each is bounded.
    pub(crate) fn errors(&self, sums: &Sums<'_>, middle: f64, half: f64) -> Vec<(f64, f64)> {
        let unit = libm::ldexp(1.0, -self.scale);
        let tau = (middle - self.from) * unit;
        let eta = half * unit;
        let shift = self.shift(libm::fabs(middle));
        let far = up(libm::fabs(tau) + eta + shift * unit);
        let mut own = Jet::ZERO;
        let mut doubt = self.beyond;
        let mut powers = Powers::first(tau, far);
        for (k, (mid, slack)) in self.mids.iter().zip(&self.slacks).enumerate() {
            own.add(k, *mid, &powers);
            doubt += slack * powers.size();
            powers = powers.next();
        }
        let [value, slope, bent] = own.parts;
        let [slope, bent] = [slope * unit, bent * unit * unit];
        let fixed = up(doubt + own.slope * unit * shift + own.lost(self.mids.len()));
        let cube = eta * eta * eta * own.cubic;
        let mut sum = Jet::ZERO;
        let (mut radii, size) = (0.0, libm::fabs(middle));
        let mut powers = Powers::first(middle, up(size + half));
        let balls = sums.balls.iter().take(sums.count).enumerate();
        balls
            .map(|(k, (mid, radius))| {
                sum.add(k, *mid, &powers);
                radii += radius * powers.size();
                powers = powers.next();
                let gap = |a: f64, b: f64| libm::fabs(a - b);
                let off = up(fixed + radii + sum.lost(k));
                let curved = gap(slope, sum.parts[1]) * half
                    + gap(bent, sum.parts[2]) * half * half
                    + cube
                    + sum.cubic * half * half * half;
                let value = gap(value, sum.parts[0]);
                (down(value, off).max(0.0), up(value + up(curved) + off))
            })
            .collect()
    }
}
