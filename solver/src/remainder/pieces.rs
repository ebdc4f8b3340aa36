//! The way from the center to an end of the interval in pieces, with bounds of |y − Pₙ| on each: from
//! the expansion at the center, and beyond its disc from the enclosed steps.

use super::Proved;
use crate::enclosed::{Stretch, Sums};
use crate::number::upward::up;

/// So many pieces.
const PIECES: u32 = 256;
/// Beyond this share of the disc about the center its bounds widen: both are tried.
const NEAR_RIM: f64 = 0.6;

/// A piece; distances from the center.
pub(super) struct Piece {
    pub(super) end: f64,
    /// For each degree: proved of |y − Pₙ|, everywhere in the piece.
    pub(super) above: Vec<f64>,
    /// For each degree: |y − Pₙ| is at least this at its end, or very near to it.
    pub(super) below: Vec<f64>,
}

/// One side.
pub(super) struct Way {
    pub(super) pieces: Vec<Piece>,
    /// Do they reach the end that was asked for?
    pub(super) whole: bool,
}

/// What is known of one unknown.
#[derive(Clone, Copy)]
pub(super) struct Source<'a> {
    pub(super) proved: &'a Proved,
    pub(super) unknown: usize,
    pub(super) stretches: &'a [Stretch],
    /// So many degrees.
    pub(super) count: usize,
}

/// Toward a pole a bound over a piece is of use while it is at most so many times what is proved from below at
/// the piece's end.
const SHARP: f64 = 1.05;

impl Way {
    /// Toward an end that is not reached: the bounds are finite and sharp up to this distance, if it is more
    /// than the one given.
    pub(super) fn sharp(&self, from: f64) -> f64 {
        let beyond = self.pieces.iter().filter(|piece| piece.end > from);
        let sharp = |piece: &&Piece| {
            let mut both = piece.above.iter().zip(&piece.below);
            let fine = |(above, below): (&f64, &f64)| above.is_finite() && *above <= SHARP * *below;
            both.next_back().is_some_and(fine) && piece.above.iter().all(|above| above.is_finite())
        };
        beyond
            .take_while(sharp)
            .last()
            .map_or(from, |piece| piece.end)
    }
}

impl Source<'_> {
    /// For all degrees up to the last known coefficient.
    pub(super) fn all(self) -> Self {
        Self {
            count: self.proved.degrees(self.unknown),
            ..self
        }
    }

    /// For each degree bounds of |y − Pₙ| where |t − middle| ≤ half: from below at the middle, from above everywhere.
    pub(super) fn errors(&self, middle: f64, half: f64) -> Vec<(f64, f64)> {
        let reach = up(libm::fabs(middle) + half);
        let radius = self.proved.radius;
        let mut found = if reach <= radius {
            self.proved.errors(self.unknown, middle, half)
        } else {
            Vec::new()
        };
        found.resize(self.count, (0.0, f64::INFINITY));
        if reach > NEAR_RIM * radius {
            let stepped = self.stepped(middle, half).unwrap_or_default();
            for ((below, above), own) in found.iter_mut().zip(stepped) {
                *below = below.max(own.0);
                *above = above.min(own.1);
            }
        }
        found
    }

    /// The same from the enclosed steps, each for its part; `None` where they do not cover all of it.
    fn stepped(&self, middle: f64, half: f64) -> Option<Vec<(f64, f64)>> {
        let proved = self.proved.unknowns.get(self.unknown)?;
        let sums = Sums {
            balls: &proved.balls,
            count: self.count,
        };
        let (low, high) = (middle - half, middle + half);
        let mut found: Option<Vec<(f64, f64)>> = None;
        // Toward the center first: the way there is covered from one side to the other.
        let mut done = if middle < 0.0 { high } else { low };
        let mut over = false;
        for stretch in self.stretches {
            let (from, to) = stretch.ends();
            if to < low || from > high {
                continue;
            }
            let (part, next) = if middle < 0.0 {
                ((from.max(low), done.min(to)), from)
            } else {
                ((done.max(from), to.min(high)), to)
            };
            let gap = if middle < 0.0 { to < done } else { from > done };
            if gap || over || part.0 > part.1 {
                continue;
            }
            let center = f64::midpoint(part.0, part.1);
            let reach = up((part.1 - center).max(center - part.0));
            let own = stretch.errors(&sums, center, if half > 0.0 { reach } else { 0.0 });
            found = Some(match found {
                None => own,
                Some(mut known) => {
                    for (known, own) in known.iter_mut().zip(own) {
                        *known = (known.0.max(own.0), known.1.max(own.1));
                    }
                    known
                }
            });
            done = next;
            over = if middle < 0.0 {
                done <= low
            } else {
                done >= high
            };
        }
        found.filter(|_| over)
    }

    /// How far the solution is proved on one side.
    fn reached(&self, sign: f64) -> f64 {
        let mut reached = self.proved.radius;
        for stretch in self.stretches {
            let (low, high) = stretch.ends();
            let (near, far) = if sign < 0.0 {
                (-high, -low)
            } else {
                (low, high)
            };
            if near <= reached {
                reached = reached.max(far);
            }
        }
        reached
    }

    /// One piece; `inside`: its end, or very near to it.
    fn piece(&self, sign: f64, start: f64, end: f64, inside: f64) -> Piece {
        let center = f64::midpoint(start, end);
        let half = up((end - center).max(center - start));
        let middle = self.errors(sign * center, half);
        let point = self.errors(sign * inside, 0.0);
        Piece {
            end,
            above: middle.into_iter().map(|(_, above)| above).collect(),
            below: point.into_iter().map(|(below, _)| below).collect(),
        }
    }

    /// The piece of a way that ends at this distance.
    pub(super) fn last_piece(&self, way: &Way, sign: f64, end: f64) -> Piece {
        let before = way.pieces.iter().map(|piece| piece.end);
        let start = before.take_while(|own| *own < end).last().unwrap_or(0.0);
        self.piece(sign, start, end, end)
    }

    /// The pieces to one side, up to `length` or as far as anything is proved.
    pub(super) fn way(&self, sign: f64, length: f64) -> Way {
        // The length may have been rounded.
        let length = length * (1.0 + f64::EPSILON);
        let reached = self.reached(sign);
        let whole = length <= reached;
        let end = length.max(0.0).min(reached);
        // A step with few digits, so that its multiples are exact.
        let step = rough(end / f64::from(PIECES));
        let mut pieces = Vec::new();
        if step > 0.0 {
            for piece in 1..=PIECES {
                let start = f64::from(piece - 1) * step;
                if piece == PIECES {
                    pieces.push(self.piece(sign, start, end, end * (1.0 - 4.0 * f64::EPSILON)));
                } else {
                    pieces.push(self.piece(sign, start, start + step, start + step));
                }
            }
        }
        let bounded = |piece: &Piece| piece.above.iter().all(|above| above.is_finite());
        let whole = whole && pieces.iter().all(bounded);
        Way { pieces, whole }
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
