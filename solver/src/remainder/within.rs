//! Where a tolerance is kept, and which degree keeps it.

use super::{Proved, offset};
use crate::expression::Expr;
use crate::number::Rational;
use crate::number::upward::{down, up};

/// The way from the center to an end of the interval is looked at in so many pieces.
const PIECES: u32 = 256;

/// A tolerance between two doubles.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Not above it.
    pub low: f64,
    /// Not below it.
    pub high: f64,
}

impl Tolerance {
    /// Around a positive fraction.
    pub fn new(value: &Rational) -> Self {
        let near = crate::number::to_f64(value);
        Self {
            low: down(near, 0.0),
            high: up(near),
        }
    }
}

/// How far from the center a tolerance is kept, to one side.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Side {
    /// Proved: everywhere up to this distance.
    pub kept: f64,
    /// Proved: not at this distance any more. `None`: kept as far as was looked.
    pub broken: Option<f64>,
    /// Was it looked as far as the interval reaches? (Otherwise the proof ended before.)
    pub whole: bool,
}

/// Where |y − Pₙ| is at most the tolerance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Within {
    /// To the left of the center.
    pub left: Side,
    /// To the right.
    pub right: Side,
}

/// The degrees that keep a tolerance at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Needed {
    /// Is the place in the disc in which something is proved?
    pub inside: bool,
    /// The first that does, and that none before it does is proved, too.
    pub first: Option<usize>,
    /// From this one on all do.
    pub all: Option<usize>,
}

impl Proved {
    /// For each degree 0, …, `degree`: where the tolerance is kept, looking from the center as far
    /// as the interval goes (distances to its left and right end) or the proof does.
    pub fn within(
        &self,
        unknown: usize,
        degree: usize,
        tolerance: Tolerance,
        (left, right): (f64, f64),
    ) -> Vec<Within> {
        let left = self.side(unknown, degree, tolerance, (-1.0, left));
        let right = self.side(unknown, degree, tolerance, (1.0, right));
        let both = left.into_iter().zip(right);
        both.map(|(left, right)| Within { left, right }).collect()
    }

    fn side(
        &self,
        unknown: usize,
        degree: usize,
        tolerance: Tolerance,
        (sign, length): (f64, f64),
    ) -> Vec<Side> {
        let whole = length <= self.radius;
        let end = length.max(0.0).min(self.radius);
        // A step with few digits, so that its multiples are exact.
        let step = rough(end / f64::from(PIECES));
        let none = Side {
            kept: 0.0,
            broken: None,
            whole,
        };
        let count = (degree + 1).min(self.degrees(unknown));
        let mut sides = vec![none; count];
        let mut going = vec![true; count];
        if step <= 0.0 {
            return sides;
        }
        for piece in 0..PIECES {
            let start = f64::from(piece) * step;
            let middle = self.errors(unknown, sign * (start + 0.5 * step), 0.5 * step);
            let point = self.errors(unknown, sign * (start + step), 0.0);
            let both = middle.iter().zip(&point);
            for ((side, going), (middle, point)) in sides.iter_mut().zip(&mut going).zip(both) {
                if *going && middle.1 <= tolerance.low {
                    side.kept = start + step;
                } else {
                    *going = false;
                    if side.broken.is_none() && point.0 > tolerance.high {
                        side.broken = Some(start + step);
                    }
                }
            }
            if sides.iter().all(|side| side.broken.is_some()) {
                break;
            }
        }
        sides
    }

    /// Which degrees keep the tolerance at a place; `None` when it cannot be placed.
    pub fn needed(
        &self,
        unknown: usize,
        tolerance: Tolerance,
        place: &Expr,
        center: &Expr,
    ) -> Option<Needed> {
        let (t, half) = offset(place, center)?;
        let outside = Needed {
            inside: false,
            first: None,
            all: None,
        };
        if libm::fabs(t) + half >= self.radius {
            return Some(outside);
        }
        let errors = self.errors(unknown, t, half);
        let bounds = self.bounds(unknown, libm::fabs(t) + half);
        // All later ones: behind the last known coefficient by the falling bounds, before by looking.
        let surely = bounds.iter().position(|bound| *bound <= tolerance.low);
        let all = surely.map(|from| {
            let before = errors.iter().take(from).rev();
            from - before
                .take_while(|(_, above)| *above <= tolerance.low)
                .count()
        });
        let first = errors
            .iter()
            .position(|(below, _)| *below <= tolerance.high);
        let first = first.filter(|n| {
            errors
                .get(*n)
                .is_some_and(|(_, above)| *above <= tolerance.low)
        });
        Some(Needed {
            inside: true,
            first,
            all,
        })
    }
}

/// The value cut to 20 bits.
fn rough(value: f64) -> f64 {
    if value <= 0.0 || !value.is_finite() {
        return 0.0;
    }
    let unit = libm::ldexp(1.0, libm::ilogb(value) - 20);
    libm::floor(value / unit) * unit
}
