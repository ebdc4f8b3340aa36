//! Names near the ends of curves that go to and fro, where no curve crosses them.

use super::labels::Frame;

/// A curve: pieces of points, in CSS pixels.
pub type Curve = Vec<Vec<(f64, f64)>>;

/// Half the height of a name, and the room around it.
const HALF_HEIGHT: f64 = 8.0;
const ROOM: f64 = 2.5;
/// Places along the curve at which a name may stand, from its end backwards, and how far apart.
const ANCHORS: usize = 12;
const APART: f64 = 14.0;
/// Directions from a place, as parts of the name's half width and height.
const DIRECTIONS: [(f64, f64); 8] = [
    (0.0, -1.0),
    (1.0, 0.0),
    (0.0, 1.0),
    (-1.0, 0.0),
    (1.0, -1.0),
    (-1.0, -1.0),
    (1.0, 1.0),
    (-1.0, 1.0),
];

/// Middle, half width and half height of a rectangle.
#[derive(Clone, Copy)]
struct Spot {
    at: (f64, f64),
    half: (f64, f64),
}

impl Spot {
    fn within(&self, frame: &Frame) -> bool {
        self.at.0 - self.half.0 >= frame.left
            && self.at.0 + self.half.0 <= frame.right
            && self.at.1 - self.half.1 >= frame.top
            && self.at.1 + self.half.1 <= frame.bottom
    }

    fn apart(&self, other: &Self) -> bool {
        (self.at.0 - other.at.0).abs() >= self.half.0 + other.half.0
            || (self.at.1 - other.at.1).abs() >= self.half.1 + other.half.1
    }

    /// Does the line from `a` to `b` go through it? (Separating axes: across, down, and the normal
    /// of the line.)
    fn crossed(&self, a: (f64, f64), b: (f64, f64)) -> bool {
        let (a, b) = (
            (a.0 - self.at.0, a.1 - self.at.1),
            (b.0 - self.at.0, b.1 - self.at.1),
        );
        let beside = |a: f64, b: f64, half: f64| a.min(b) > half || a.max(b) < -half;
        if beside(a.0, b.0, self.half.0) || beside(a.1, b.1, self.half.1) {
            return false;
        }
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        (dx * a.1 - dy * a.0).abs() <= dx.abs() * self.half.1 + dy.abs() * self.half.0
    }
}

/// The places of the names, with the curve's number: the last curve first, each as near to its end
/// as it can stand without being crossed by a curve or touching another name. `widths` are those of
/// the names. A name that finds no place is left out.
pub fn place(curves: &[Curve], widths: &[f64], frame: &Frame) -> Vec<(usize, (f64, f64))> {
    let mut taken: Vec<Spot> = Vec::new();
    let mut out = Vec::new();
    for (index, (curve, width)) in curves.iter().zip(widths).enumerate().rev() {
        let half = (width / 2.0 + ROOM, HALF_HEIGHT);
        let free = |spot: &Spot| {
            let pieces = curves.iter().flatten();
            spot.within(frame)
                && taken.iter().all(|other| spot.apart(other))
                && !pieces
                    .flat_map(|piece| piece.windows(2))
                    .any(|pair| matches!(pair, [a, b] if spot.crossed(*a, *b)))
        };
        let found = anchors(curve).into_iter().find_map(|anchor| {
            let spots = DIRECTIONS.iter().map(|(right, down)| Spot {
                at: (
                    anchor.0 + right * (half.0 + 2.0 * ROOM),
                    anchor.1 + down * (half.1 + 2.0 * ROOM),
                ),
                half,
            });
            spots.into_iter().find(&free)
        });
        if let Some(spot) = found {
            taken.push(spot);
            out.push((index, spot.at));
        }
    }
    out
}

/// The end of a curve, and places before it.
fn anchors(curve: &Curve) -> Vec<(f64, f64)> {
    let mut out: Vec<(f64, f64)> = Vec::new();
    for point in curve.iter().rev().flat_map(|piece| piece.iter().rev()) {
        let far =
            |last: &(f64, f64)| (last.0 - point.0).abs().max((last.1 - point.1).abs()) >= APART;
        if out.len() < ANCHORS && out.last().is_none_or(far) {
            out.push(*point);
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Frame = Frame {
        left: 0.0,
        top: 0.0,
        right: 300.0,
        bottom: 200.0,
    };

    /// Turns of a spiral that ends at its outermost point.
    fn spiral(turns: f64) -> Curve {
        let point = |n: u32| {
            let part = f64::from(n) / 400.0;
            let (angle, radius) = (part * turns * core::f64::consts::TAU, 90.0 * part);
            (
                150.0 + radius * libm::cos(angle),
                100.0 + radius * libm::sin(angle),
            )
        };
        vec![(0..=400).map(point).collect()]
    }

    /// Is any point of a fine walk along the curves within the name?
    fn touched(curves: &[Curve], at: (f64, f64), width: f64) -> bool {
        let points = curves.iter().flatten().flat_map(|piece| piece.windows(2));
        points
            .filter_map(|pair| pair.first().copied().zip(pair.get(1).copied()))
            .flat_map(|(a, b)| {
                (0..=20).map(move |n| {
                    let part = f64::from(n) / 20.0;
                    (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part)
                })
            })
            .any(|(x, y)| (x - at.0).abs() < width / 2.0 && (y - at.1).abs() < 7.0)
    }

    #[test]
    fn no_curve_crosses_a_name() {
        let ring = |radius: f64| {
            let point = |n: u32| {
                let angle = f64::from(n) / 60.0 * core::f64::consts::TAU;
                (
                    150.0 + radius * libm::cos(angle),
                    100.0 + 0.6 * radius * libm::sin(angle),
                )
            };
            vec![(0..=60).map(point).collect::<Vec<_>>()]
        };
        for curves in [
            vec![spiral(1.0), spiral(2.5), ring(80.0)],
            vec![ring(30.0), ring(60.0), ring(90.0), spiral(1.5)],
            vec![ring(80.0), ring(80.0)],
        ] {
            let widths = [22.0, 22.0, 22.0, 54.0];
            let widths = widths.get(4 - curves.len()..).unwrap_or_default();
            let placed = place(&curves, widths, &FRAME);
            assert_eq!(placed.first().map(|one| one.0), Some(curves.len() - 1));
            assert!(placed.len() > 1, "{}", placed.len());
            for (index, at) in placed {
                assert!(!touched(&curves, at, widths[index]), "{index} at {at:?}");
            }
        }
    }

    #[test]
    fn a_name_without_a_free_place_is_left_out() {
        // Lines so close together that nothing fits between them.
        let lines: Curve = (0..60_u32)
            .map(|n| vec![(0.0, 3.4 * f64::from(n)), (300.0, 3.4 * f64::from(n))])
            .collect();
        assert_eq!(place(&[lines], &[20.0], &FRAME), vec![]);
    }
}
