//! Which partial sums are drawn: more than a handful of curves can't be told apart.

use crate::protocol::{BesideData, CurveData, PictureData};

/// So many partial sums at most.
const MOST: usize = 7;

/// A curve to draw, with every degree that it stands for (a zero coefficient gives the same curve
/// again).
#[derive(Clone, Debug, PartialEq)]
pub struct Selected<'a> {
    /// Degrees, ascending; empty for the reference.
    pub degrees: Vec<usize>,
    /// The curve.
    pub curve: &'a CurveData,
    /// 1 for the worksheet's own solution, 2 and up for those set beside it.
    pub number: usize,
}

impl Selected<'_> {
    /// The degree whose color and dash it has: the lowest. `None` for the reference.
    pub fn degree(&self) -> Option<usize> {
        self.degrees.first().copied()
    }
}

/// The partial sums up to the degree shown, the highest few of them, and the reference last.
pub fn select(picture: &PictureData, shown: Option<usize>) -> Vec<Selected<'_>> {
    let mut sums: Vec<Selected<'_>> = Vec::new();
    let mut reference = Vec::new();
    for curve in &picture.curves {
        match curve.degree {
            None => reference.push(Selected {
                degrees: Vec::new(),
                curve,
                number: 1,
            }),
            Some(degree) if shown.is_some_and(|shown| degree <= shown) => match sums
                .last_mut()
                .filter(|last| last.curve.pieces == curve.pieces)
            {
                Some(last) => last.degrees.push(degree),
                None => sums.push(Selected {
                    degrees: vec![degree],
                    curve,
                    number: 1,
                }),
            },
            Some(_) => {}
        }
    }
    let skip = sums.len().saturating_sub(MOST);
    sums.into_iter().skip(skip).chain(reference).collect()
}

/// Of what is set beside: the partial sum of the degree shown, and the numerical solution.
pub fn select_beside(beside: &[BesideData], shown: usize) -> Vec<Selected<'_>> {
    (2..)
        .zip(beside)
        .flat_map(|(number, beside)| {
            let highest = beside.curves.iter().filter_map(|curve| curve.degree).max();
            let wanted = highest.map(|highest| highest.min(shown));
            beside
                .curves
                .iter()
                .filter(move |curve| curve.degree.is_none() || curve.degree == wanted)
                .map(move |curve| Selected {
                    degrees: curve.degree.into_iter().collect(),
                    curve,
                    number,
                })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::protocol::{AxisData, Numbers};

    fn picture(heights: &[f64]) -> PictureData {
        let axis = AxisData {
            low: 0.0,
            high: 1.0,
            ticks: vec![],
        };
        let curve = |degree, y| CurveData {
            degree,
            pieces: vec![Numbers(vec![0.0, y, 1.0, y])],
        };
        PictureData {
            x: axis.clone(),
            y: axis,
            curves: heights
                .iter()
                .enumerate()
                .map(|(n, y)| curve(Some(n), *y))
                .chain([curve(None, 9.0)])
                .collect(),
            beyond: vec![],
            kept: vec![],
            proved: vec![],
        }
    }

    fn degrees(picture: &PictureData, shown: usize) -> Vec<Vec<usize>> {
        select(picture, Some(shown))
            .into_iter()
            .map(|one| one.degrees)
            .collect()
    }

    #[test]
    fn equal_sums_are_one_curve_with_both_names() {
        let picture = picture(&[1.0, 1.0, 2.0, 2.0]);
        assert_eq!(degrees(&picture, 3), [vec![0, 1], vec![2, 3], vec![]]);
        assert_eq!(degrees(&picture, 2), [vec![0, 1], vec![2], vec![]]);
        assert_eq!(select(&picture, None).len(), 1);
    }

    #[test]
    fn only_the_last_few_degrees_are_drawn() {
        let heights: Vec<f64> = (0..20).map(f64::from).collect();
        let picture = picture(&heights);
        let drawn = degrees(&picture, 15);
        assert_eq!(drawn.len(), MOST + 1);
        assert_eq!(drawn.first(), Some(&vec![9]));
        assert_eq!(drawn.get(MOST - 1), Some(&vec![15]));
    }
}
