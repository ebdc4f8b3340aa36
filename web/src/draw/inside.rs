//! Names on the curves themselves, for pictures whose curves run together at the edges: all at one
//! place across, where most of them are far enough apart.

/// Heights at which curves are at one place across; `None` where a curve is not drawn.
pub type Heights = Vec<Option<f64>>;

/// A name needs so much height for itself.
const APART: f64 = 15.0;
/// So many places across are looked at.
const PLACES: u32 = 48;

/// A name on its curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Named {
    /// Which curve.
    pub index: usize,
    /// Where, in CSS pixels.
    pub at: (f64, f64),
}

/// Height of a polyline (pieces of points ascending across) at `x`.
pub fn height(pieces: &[Vec<(f64, f64)>], x: f64) -> Option<f64> {
    pieces.iter().find_map(|piece| {
        let after = piece.partition_point(|point| point.0 < x);
        let (from, to) = (piece.get(after.checked_sub(1)?)?, piece.get(after)?);
        let across = to.0 - from.0;
        if across <= 0.0 {
            return Some(from.1);
        }
        Some(from.1 + (to.1 - from.1) * (x - from.0) / across)
    })
}

/// Curves that can be named where they are that high: each at least [`APART`] from every other
/// named one; the later (higher degree) first.
fn fitting(heights: &Heights) -> Vec<(usize, f64)> {
    let mut out: Vec<(usize, f64)> = Vec::new();
    for (index, height) in heights.iter().enumerate().rev() {
        if let Some(height) = height
            && out.iter().all(|(_, other)| (other - height).abs() >= APART)
        {
            out.push((index, *height));
        }
    }
    out
}

/// The least distance between two curves, named or not.
fn least(heights: &Heights) -> f64 {
    let mut sorted: Vec<f64> = heights.iter().flatten().copied().collect();
    solver::sorting::sort_by(&mut sorted, f64::total_cmp);
    sorted
        .windows(2)
        .filter_map(|pair| Some(pair.get(1)? - pair.first()?))
        .fold(f64::INFINITY, f64::min)
}

/// Places the names between `left` and `right`, away from the edges `top` and `bottom`: where the
/// last curve has its name, most others find room, and the curves are farthest apart, in this order.
pub fn place(
    curves: &[Vec<Vec<(f64, f64)>>],
    (left, right): (f64, f64),
    (top, bottom): (f64, f64),
) -> Vec<Named> {
    let mut best = ((false, 0, 0.0), Vec::new());
    for n in 1..PLACES {
        let x = left + (right - left) * f64::from(n) / f64::from(PLACES);
        let heights: Heights = curves
            .iter()
            .map(|pieces| {
                height(pieces, x).filter(|y| *y > top + APART / 2.0 && *y < bottom - APART / 2.0)
            })
            .collect();
        let named = fitting(&heights);
        let last = named.iter().any(|(index, _)| index + 1 == curves.len());
        let score = (last, named.len(), least(&heights));
        if score > best.0 {
            let at = |(index, y)| Named { index, at: (x, y) };
            best = (score, named.into_iter().map(at).collect());
        }
    }
    best.1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// |x|ⁿ on a logarithmic scale: together at the edge, apart near the middle.
    fn powers(count: i32) -> Vec<Vec<Vec<(f64, f64)>>> {
        (1..=count)
            .map(|n| {
                let half = |side: f64| {
                    (1..=100)
                        .map(|k| {
                            let x = f64::from(k) / 100.0;
                            (
                                200.0 + side * 150.0 * x,
                                20.0 - 20.0 * f64::from(n) * libm::log(x),
                            )
                        })
                        .collect::<Vec<_>>()
                };
                let mut left = half(-1.0);
                left.reverse();
                vec![left, half(1.0)]
            })
            .collect()
    }

    #[test]
    fn names_stand_where_curves_are_apart() {
        let named = place(&powers(5), (50.0, 350.0), (20.0, 200.0));
        assert_eq!(named.len(), 5);
        let x = named.first().unwrap().at.0;
        assert!((x - 200.0).abs() < 120.0 && (x - 200.0).abs() > 5.0, "{x}");
        for (n, one) in named.iter().enumerate() {
            assert!(
                named
                    .iter()
                    .skip(n + 1)
                    .all(|other| (one.at.1 - other.at.1).abs() >= APART)
            );
        }
    }

    #[test]
    fn of_curves_that_run_together_the_last_is_named() {
        let same = vec![vec![vec![(0.0, 50.0), (100.0, 60.0)]]; 4];
        let named = place(&same, (0.0, 100.0), (0.0, 100.0));
        assert_eq!(named.len(), 1);
        assert_eq!(named.first().unwrap().index, 3);
        assert!(place(&[], (0.0, 1.0), (0.0, 1.0)).is_empty());
    }

    #[test]
    fn heights_between_points_are_interpolated() {
        let pieces = [
            vec![(0.0, 0.0), (10.0, 5.0)],
            vec![(20.0, 1.0), (30.0, 1.0)],
        ];
        assert_eq!(height(&pieces, 4.0), Some(2.0));
        assert_eq!(height(&pieces, 15.0), None);
        assert_eq!(height(&pieces, 25.0), Some(1.0));
    }
}
