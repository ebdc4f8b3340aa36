//! The phase plane: one unknown against another, the independent variable left out.

use super::axis::horizontal_axis;
use super::clip::cut;
use super::{Axis, Plot};

/// The axis of an unknown that is drawn across instead of upwards.
pub fn across(plot: &Plot) -> Axis {
    let upwards = &plot.curves.y;
    horizontal_axis(upwards.low, upwards.high)
}

/// The curve through points (one unknown, another), cut at the window's edges and where a point is
/// missing (no finite number).
pub fn trace(
    points: impl IntoIterator<Item = (f64, f64)>,
    across: (f64, f64),
    up: (f64, f64),
) -> Vec<Vec<(f64, f64)>> {
    let line: Vec<(f64, Option<f64>)> = points
        .into_iter()
        .map(|(x, y)| (x, Some(y).filter(|y| y.is_finite() && x.is_finite())))
        .collect();
    let turned = |piece: &[(f64, f64)]| -> Vec<(f64, Option<f64>)> {
        piece.iter().map(|&(x, y)| (y, Some(x))).collect()
    };
    cut(&line, up)
        .iter()
        .flat_map(|piece| cut(&turned(piece), across))
        .map(|piece| piece.into_iter().map(|(y, x)| (x, y)).collect())
        .collect()
}

#[cfg(test)]
mod tests {
    use super::trace;

    #[test]
    fn a_curve_is_cut_at_all_four_edges_and_at_gaps() {
        let window = ((-1.0, 1.0), (-1.0, 1.0));
        let cut = |points: &[(f64, f64)]| trace(points.iter().copied(), window.0, window.1);
        // Through the window from the lower left to the upper right.
        assert_eq!(
            cut(&[(-3.0, -3.0), (3.0, 3.0)]),
            [vec![(-1.0, -1.0), (1.0, 1.0)]]
        );
        // Out to the right and back: two pieces.
        let out = cut(&[(0.0, 0.0), (2.0, 0.0), (0.0, 0.5)]);
        assert_eq!(
            out,
            [vec![(0.0, 0.0), (1.0, 0.0)], vec![(1.0, 0.25), (0.0, 0.5)]]
        );
        // A gap ends a piece.
        let gap = cut(&[
            (0.0, 0.0),
            (0.5, 0.0),
            (f64::NAN, 0.0),
            (0.0, 0.5),
            (0.0, 0.7),
        ]);
        assert_eq!(gap.len(), 2);
        assert!(cut(&[(2.0, 0.0), (2.0, 1.0)]).is_empty());
    }
}
