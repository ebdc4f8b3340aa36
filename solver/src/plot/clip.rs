//! Cutting a polyline at the window's horizontal edges and at gaps.

/// Pieces of the polyline inside `low ≤ y ≤ high`, with the crossing points put in by linear
/// interpolation. A missing value ends a piece. Ascending in x.
pub(super) fn cut(line: &[(f64, Option<f64>)], (low, high): (f64, f64)) -> Vec<Vec<(f64, f64)>> {
    let mut pieces = Vec::new();
    let mut piece: Vec<(f64, f64)> = Vec::new();
    let mut previous: Option<(f64, f64)> = None;
    for &(x, value) in line {
        let Some(y) = value else {
            finish(&mut pieces, &mut piece);
            previous = None;
            continue;
        };
        let here = (x, y);
        if let Some(before) = previous
            && let Some((from, to)) = inside(before, here, low, high)
        {
            if piece.last() != Some(&from) {
                finish(&mut pieces, &mut piece);
                piece.push(from);
            }
            piece.push(to);
        } else if previous.is_none() && (low..=high).contains(&y) {
            piece.push(here);
        }
        previous = Some(here);
    }
    finish(&mut pieces, &mut piece);
    pieces
}

/// Keeps a piece of at least two points (one alone draws nothing).
fn finish(pieces: &mut Vec<Vec<(f64, f64)>>, piece: &mut Vec<(f64, f64)>) {
    let done = std::mem::take(piece);
    if done.len() > 1 {
        pieces.push(done);
    }
}

type Segment = ((f64, f64), (f64, f64));

/// The part of a segment inside the band.
fn inside(a: (f64, f64), b: (f64, f64), low: f64, high: f64) -> Option<Segment> {
    if (a.1 < low && b.1 < low) || (a.1 > high && b.1 > high) {
        return None;
    }
    Some((towards(a, b, low, high), towards(b, a, low, high)))
}

/// `a` itself if inside, else where the segment from `b` crosses the edge beyond which `a` lies.
fn towards(a: (f64, f64), b: (f64, f64), low: f64, high: f64) -> (f64, f64) {
    let edge = if a.1 < low {
        low
    } else if a.1 > high {
        high
    } else {
        return a;
    };
    // Halves first: the difference of two huge values must not overflow.
    let share = (edge * 0.5 - a.1 * 0.5) / (b.1 * 0.5 - a.1 * 0.5);
    (a.0 + (b.0 - a.0) * share, edge)
}

#[cfg(test)]
mod tests {
    use super::cut;

    #[test]
    fn crossings_are_interpolated() {
        let line = [(0.0, Some(0.0)), (1.0, Some(4.0)), (2.0, Some(0.0))];
        let pieces = cut(&line, (-1.0, 2.0));
        assert_eq!(
            pieces,
            vec![vec![(0.0, 0.0), (0.5, 2.0)], vec![(1.5, 2.0), (2.0, 0.0)]]
        );
    }

    #[test]
    fn a_line_straight_through_the_window_is_kept() {
        let line = [(0.0, Some(-1e300)), (1.0, Some(1e300))];
        let pieces = cut(&line, (-1.0, 1.0));
        assert_eq!(pieces.len(), 1);
        assert!(pieces[0].iter().all(|p| (p.0 - 0.5).abs() < 1e-9));
    }

    #[test]
    fn gaps_and_lonely_points_end_pieces() {
        let line = [
            (0.0, Some(0.0)),
            (1.0, Some(1.0)),
            (2.0, None),
            (3.0, Some(1.0)),
            (4.0, None),
            (5.0, Some(9.0)),
            (6.0, Some(8.0)),
        ];
        assert_eq!(cut(&line, (-2.0, 2.0)), vec![vec![(0.0, 0.0), (1.0, 1.0)]]);
    }
}
