//! Cutting a curve into dashes. plotters only knows one dash and one gap, and the canvas and the
//! SVG should show the same thing.

/// Longest list of dashes for one curve; beyond it the rest is drawn solid.
const MOST: usize = 4000;

/// The drawn parts of a polyline under a pattern of lengths: drawn, left out, drawn, …. An empty
/// pattern (or one without length) draws everything.
pub fn cut(points: &[(f64, f64)], pattern: &[f64]) -> Vec<Vec<(f64, f64)>> {
    let Some(first) = points.first() else {
        return Vec::new();
    };
    if pattern.iter().sum::<f64>() <= 0.0 || pattern.iter().any(|length| *length <= 0.0) {
        return vec![points.to_vec()];
    }
    let mut lengths = pattern.iter().copied().cycle();
    let mut left = lengths.next().unwrap_or(f64::MAX);
    let mut drawing = true;
    let mut current = vec![*first];
    let mut out = Vec::new();
    let mut at = *first;
    for next in points.iter().skip(1) {
        let (across, down) = (next.0 - at.0, next.1 - at.1);
        let length = (across * across + down * down).sqrt();
        if !length.is_finite() {
            continue;
        }
        let start = at;
        let mut done = 0.0;
        while length - done > left && out.len() < MOST {
            done += left;
            let share = done / length;
            at = (
                start.0 + (next.0 - start.0) * share,
                start.1 + (next.1 - start.1) * share,
            );
            if drawing {
                current.push(at);
                out.push(std::mem::take(&mut current));
            } else {
                current = vec![at];
            }
            drawing = !drawing;
            left = lengths.next().unwrap_or(f64::MAX);
        }
        left -= length - done;
        at = *next;
        if drawing {
            current.push(at);
        }
    }
    if drawing && current.len() > 1 {
        out.push(current);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_follow_the_curve_round_corners() {
        let corner = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0)];
        assert_eq!(
            cut(&corner, &[3.0, 2.0]),
            [vec![(0.0, 0.0), (3.0, 0.0)], vec![(4.0, 1.0), (4.0, 4.0)]]
        );
        assert_eq!(cut(&corner, &[]), [corner.to_vec()]);
        assert_eq!(cut(&corner, &[0.0, 0.0]), [corner.to_vec()]);
        assert!(cut(&[], &[1.0, 1.0]).is_empty());
    }

    #[test]
    fn half_of_a_long_curve_is_drawn() {
        let line: Vec<_> = (0..=1000).map(|n| (f64::from(n), 0.0)).collect();
        let drawn: f64 = cut(&line, &[2.5, 2.5])
            .iter()
            .map(|dash| {
                dash.windows(2)
                    .map(|pair| pair[1].0 - pair[0].0)
                    .sum::<f64>()
            })
            .sum();
        assert!((drawn - 500.0).abs() < 1e-6, "{drawn}");
    }
}
