//! The phase plane from the data of two unknowns.

use crate::protocol::{CurveData, Numbers, PictureData, PlotData};
use solver::plot::phase::trace;

/// The empty picture: one unknown across, another upwards.
pub fn frame(across: &PlotData, up: &PlotData) -> PictureData {
    PictureData {
        x: across.across.clone(),
        y: up.curves.y.clone(),
        curves: Vec::new(),
        beyond: Vec::new(),
        kept: Vec::new(),
        proved: Vec::new(),
    }
}

/// The picture with its curves: a pair of partial sums for each degree, the solution last.
pub fn picture(across: &PlotData, up: &PlotData) -> PictureData {
    let mut picture = frame(across, up);
    let windows = (
        (picture.x.low, picture.x.high),
        (picture.y.low, picture.y.high),
    );
    let within = (across.curves.x.low, across.curves.x.high);
    let curve = |degree: Option<usize>| {
        let rows = across.table_at.0.iter().enumerate();
        let shown = rows.filter(|(_, at)| **at >= within.0 && **at <= within.1);
        let points = shown.map(|(row, _)| (value(across, row, degree), value(up, row, degree)));
        let piece =
            |piece: Vec<(f64, f64)>| Numbers(piece.into_iter().flat_map(|(x, y)| [x, y]).collect());
        CurveData {
            degree,
            pieces: trace(points, windows.0, windows.1)
                .into_iter()
                .map(piece)
                .collect(),
        }
    };
    let degrees = across.curves.curves.iter().map(|one| one.degree);
    picture.curves = degrees.map(curve).collect();
    picture
}

/// The value of a partial sum, or of the solution, in a row; NaN where there is none.
pub fn value(plot: &PlotData, row: usize, degree: Option<usize>) -> f64 {
    let found = match degree {
        None => plot.table_value.0.get(row),
        Some(degree) => {
            let rows = plot.table_x.len();
            let width = plot.table_sums.0.len().checked_div(rows).unwrap_or(0);
            plot.table_sums
                .0
                .get(row * width + degree)
                .filter(|_| degree < width)
        }
    };
    found.copied().unwrap_or(f64::NAN)
}
