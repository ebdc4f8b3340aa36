//! Where a tolerance is kept, and which degree keeps it.

use super::offset;
use super::pieces::{Source, Way};
use crate::expression::Expr;
use crate::number::Rational;
use crate::number::upward::{down, up};

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
    /// Proved: no longer everywhere up to this distance. `None`: kept as far as was looked, or not known.
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
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Needed {
    /// Is the place in the disc about the center in which something is proved of all degrees?
    pub inside: bool,
    /// The first that does, and that none before it does is proved, too.
    pub first: Option<usize>,
    /// From this one on all do.
    pub all: Option<usize>,
    /// Proved: of the degrees below [`Self::looked`] just these do. `None`: of some it is not known.
    pub single: Option<Vec<usize>>,
    /// So many degrees were looked at.
    pub looked: usize,
}

/// For each degree how far the tolerance is kept to one side.
pub(super) fn sides(way: &Way, count: usize, tolerance: Tolerance) -> Vec<Side> {
    let none = Side {
        kept: 0.0,
        broken: None,
        whole: way.whole,
    };
    let mut sides = vec![none; count];
    let mut going = vec![true; count];
    for piece in &way.pieces {
        let both = piece.above.iter().zip(&piece.below);
        for ((side, going), (above, below)) in sides.iter_mut().zip(&mut going).zip(both) {
            if *going && *above <= tolerance.low {
                side.kept = piece.end;
            } else {
                *going = false;
                if side.broken.is_none() && *below > tolerance.high {
                    side.broken = Some(piece.end);
                }
            }
        }
        if sides.iter().all(|side| side.broken.is_some()) {
            break;
        }
    }
    sides
}

impl Source<'_> {
    /// Which degrees keep the tolerance at a place; `None` when it cannot be placed.
    pub(super) fn needed(
        &self,
        tolerance: Tolerance,
        place: &Expr,
        center: &Expr,
    ) -> Option<Needed> {
        let (t, half) = offset(place, center)?;
        let errors = self.errors(t, half);
        let kept = |at: &(f64, f64)| at.1 <= tolerance.low;
        let first = errors
            .iter()
            .position(|(below, _)| *below <= tolerance.high);
        let first = first.filter(|n| errors.get(*n).is_some_and(kept));
        let known = |at: &(f64, f64)| kept(at) || at.0 > tolerance.high;
        let single = errors.iter().all(known).then(|| {
            let all = errors.iter().enumerate();
            all.filter(|(_, at)| kept(at)).map(|(n, _)| n).collect()
        });
        let reach = libm::fabs(t) + half;
        let inside = reach < self.proved.radius;
        let all = if inside {
            // All later ones: behind the last known coefficient by the falling bounds, before by looking.
            let bounds = self.proved.bounds(self.unknown, reach);
            let surely = bounds.iter().position(|bound| *bound <= tolerance.low);
            surely.map(|from| {
                from - errors
                    .iter()
                    .take(from)
                    .rev()
                    .take_while(|at| kept(at))
                    .count()
            })
        } else {
            None
        };
        Some(Needed {
            inside,
            first,
            all,
            single,
            looked: errors.len(),
        })
    }
}
