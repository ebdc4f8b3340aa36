//! Where the names of the curves stand: outside the frame, beside the place where each curve
//! leaves it, so that no curve crosses them; moved apart where they would touch.

/// An edge of the frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Right edge.
    Right,
    /// Top edge.
    Top,
    /// Bottom edge.
    Bottom,
}

/// The frame, in CSS pixels from the picture's top left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Frame {
    /// Left edge.
    pub left: f64,
    /// Top edge.
    pub top: f64,
    /// Right edge.
    pub right: f64,
    /// Bottom edge.
    pub bottom: f64,
}

/// A name to be placed.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wanted {
    /// Where the curve ends.
    pub end: (f64, f64),
    /// Width of the name.
    pub width: f64,
    /// The larger, the sooner it is kept when there is no room for all.
    pub weight: usize,
}

/// A placed name.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placed {
    /// Which of the wanted ones.
    pub index: usize,
    /// At which edge.
    pub edge: Edge,
    /// The middle of the name.
    pub middle: (f64, f64),
}

/// Height of a name.
const HEIGHT: f64 = 17.0;
/// A name farther from its curve's end than this no longer belongs to it for the eye.
const FAR: f64 = 44.0;
/// Room between names.
const GAP: f64 = 4.0;

/// The edge at which a curve that ends at `end` leaves; curves that end inside (the solution goes
/// no further) count as leaving on the right if they go no nearer to top or bottom.
fn edge(end: (f64, f64), frame: &Frame) -> Edge {
    let (right, top, bottom) = (frame.right - end.0, end.1 - frame.top, frame.bottom - end.1);
    if right <= 1.0 || (right <= top && right <= bottom) {
        Edge::Right
    } else if top <= bottom {
        Edge::Top
    } else {
        Edge::Bottom
    }
}

/// Places the names. Those that find no room at their edge near their curve's end are left out,
/// the lightest first.
pub fn place(wanted: &[Wanted], frame: &Frame) -> Vec<Placed> {
    let mut out = Vec::new();
    for side in [Edge::Right, Edge::Top, Edge::Bottom] {
        let mut here: Vec<(usize, &Wanted)> = wanted
            .iter()
            .enumerate()
            .filter(|(_, want)| edge(want.end, frame) == side)
            .collect();
        solver::sorting::sort_by(&mut here, |a, b| {
            let along = |want: &Wanted| along(want.end, side);
            along(a.1).total_cmp(&along(b.1)).then(a.0.cmp(&b.0))
        });
        let (low, high) = if side == Edge::Right {
            (frame.top, frame.bottom)
        } else {
            (frame.left, frame.right + 20.0)
        };
        let middles = loop {
            let ends: Vec<f64> = here.iter().map(|(_, w)| along(w.end, side)).collect();
            let sizes: Vec<f64> = here.iter().map(|(_, w)| size(w, side)).collect();
            let middles = spread(&ends, &sizes, low, high);
            let near = ends
                .iter()
                .zip(&middles)
                .all(|(end, middle)| (end - middle).abs() <= FAR);
            let room = sizes.iter().sum::<f64>() <= high - low;
            let lightest = (0..here.len()).min_by_key(|at| here.get(*at).map(|(_, w)| w.weight));
            match lightest.filter(|_| here.len() > 1 && !(near && room)) {
                Some(at) => here.remove(at),
                None => break middles,
            };
        };
        for ((index, want), at) in here.into_iter().zip(middles) {
            let middle = match side {
                Edge::Right => (frame.right + 6.0 + want.width / 2.0, at),
                // Higher than it need be: lines to other names pass below it.
                Edge::Top => (at, frame.top - 12.0),
                Edge::Bottom => (at, frame.bottom + 9.0),
            };
            out.push(Placed {
                index,
                edge: side,
                middle,
            });
        }
    }
    out
}

/// Where an end is along its edge.
fn along(end: (f64, f64), side: Edge) -> f64 {
    if side == Edge::Right { end.1 } else { end.0 }
}

fn size(want: &Wanted, side: Edge) -> f64 {
    if side == Edge::Right {
        HEIGHT
    } else {
        want.width + GAP
    }
}

/// Middles of intervals of the given sizes, in the given order, that don't overlap, stay between
/// `low` and `high`, and are together as near to `wanted` (ascending) as possible in the sense of
/// least squares: isotonic regression by pooling adjacent violators (Barlow, Bartholomew, Bremner
/// and Brunk, *Statistical Inference under Order Restrictions*, 1972, sec. 1.2).
fn spread(wanted: &[f64], sizes: &[f64], low: f64, high: f64) -> Vec<f64> {
    let mut before = Vec::with_capacity(sizes.len());
    let mut total = 0.0;
    for size in sizes {
        before.push(total + size / 2.0);
        total += size;
    }
    let mut pools: Vec<(f64, f64)> = Vec::new();
    for (want, offset) in wanted.iter().zip(&before) {
        let mut pool = (want - offset, 1.0);
        while let Some(last) = pools.last().copied().filter(|last| last.0 > pool.0) {
            pool = (
                (last.0 * last.1 + pool.0 * pool.1) / (last.1 + pool.1),
                last.1 + pool.1,
            );
            pools.pop();
        }
        pools.push(pool);
    }
    let mut out = Vec::with_capacity(wanted.len());
    let mut offsets = before.iter();
    for (start, count) in pools {
        let start = start.min(high - total).max(low);
        let mut left = count;
        while left > 0.5 {
            out.push(start + offsets.next().copied().unwrap_or(0.0));
            left -= 1.0;
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Frame = Frame {
        left: 40.0,
        top: 20.0,
        right: 340.0,
        bottom: 260.0,
    };

    fn want(x: f64, y: f64, weight: usize) -> Wanted {
        Wanted {
            end: (x, y),
            width: 16.0,
            weight,
        }
    }

    fn overlap(a: &Placed, b: &Placed) -> bool {
        (a.middle.0 - b.middle.0).abs() < 16.0 && (a.middle.1 - b.middle.1).abs() < HEIGHT - 1e-9
    }

    #[test]
    fn names_stand_outside_the_frame_and_apart() {
        let wanted: Vec<_> = (0..6_u32)
            .map(|n| want(340.0, 100.0 + f64::from(n % 3), 1))
            .chain((0..4_u32).map(|n| want(300.0 + f64::from(n), 20.0, 0)))
            .chain((0..3).map(|n| want(335.0, 260.0, n)))
            .collect();
        let placed = place(&wanted, &FRAME);
        assert_eq!(placed.len(), wanted.len());
        for (n, one) in placed.iter().enumerate() {
            let (x, y) = one.middle;
            assert!(
                x > FRAME.right || !(FRAME.top..=FRAME.bottom).contains(&y),
                "{one:?}"
            );
            assert!(
                placed.iter().skip(n + 1).all(|other| !overlap(one, other)),
                "{one:?}"
            );
        }
    }

    #[test]
    fn order_is_kept_and_lone_names_stand_at_their_curve() {
        let placed = place(
            &[
                want(340.0, 200.0, 0),
                want(340.0, 50.0, 0),
                want(340.0, 54.0, 0),
            ],
            &FRAME,
        );
        let at = |index| {
            placed
                .iter()
                .find(|one| one.index == index)
                .unwrap()
                .middle
                .1
        };
        assert!((at(0) - 200.0).abs() < 1e-9);
        assert!((at(1) - 43.5).abs() < 1e-9 && (at(2) - 60.5).abs() < 1e-9);
    }

    #[test]
    fn without_room_the_lightest_go() {
        let wanted: Vec<_> = (0..30).map(|n| want(340.0, 100.0, n)).collect();
        let placed = place(&wanted, &FRAME);
        assert!((4..=7).contains(&placed.len()), "{}", placed.len());
        assert!(placed.iter().all(|one| one.index >= 30 - placed.len()));
        assert!(placed.iter().all(|one| (one.middle.1 - 100.0).abs() <= FAR));
        assert!(
            placed
                .iter()
                .all(|one| one.middle.1 >= FRAME.top && one.middle.1 <= FRAME.bottom)
        );
    }

    #[test]
    fn a_curve_that_ends_inside_goes_to_its_nearest_edge() {
        assert_eq!(edge((200.0, 30.0), &FRAME), Edge::Top);
        assert_eq!(edge((330.0, 120.0), &FRAME), Edge::Right);
        assert_eq!(edge((150.0, 250.0), &FRAME), Edge::Bottom);
    }
}
