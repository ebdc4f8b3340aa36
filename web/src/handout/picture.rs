//! Pictures for the printer, in strokes.

use crate::appearance::PRINTED;
use crate::draw::picture::Look;
use crate::draw::svg;
use crate::sheet;
use crate::view::sum_letter;
use solver::worksheet::Worksheet;

/// A picture.
#[derive(Clone, Debug, PartialEq)]
pub struct Figure {
    /// The strokes.
    pub svg: String,
    /// Width and height, in CSS pixels.
    pub size: (f64, f64),
    /// What it shows, in words.
    pub words: String,
}

const WIDTH: f64 = 480.0;
const CURVES: f64 = 310.0;
const ERRORS: f64 = 190.0;

/// For each unknown the curves, and the difference on a logarithmic scale.
pub fn figures(worksheet: &Worksheet) -> Vec<Figure> {
    let drawing = sheet::drawing(0, worksheet, String::new());
    let (independent, unknowns) = &drawing.names;
    let mut out = Vec::new();
    for (index, (plot, unknown)) in drawing.plots.iter().zip(unknowns).enumerate() {
        let sum = sum_letter(unknowns, index);
        let own = worksheet.table.get(index);
        let look = Look {
            paper: &PRINTED,
            size: (WIDTH, CURVES),
            shown: own.map(|entries| entries.len().saturating_sub(1)),
            unknown,
            sum,
            independent,
            beside: &plot.beside,
            candidate: &plot.candidate,
            upwards: None,
            dot: plot.center,
            logarithmic: false,
            font_scale: 1.0,
        };
        let errors = Look {
            size: (WIDTH, ERRORS),
            beside: &[],
            candidate: &[],
            dot: None,
            logarithmic: true,
            ..look
        };
        let titles = [
            format!("Partial sums and the numerical solution {unknown}, an estimate"),
            format!(
                "How far the partial sums are from the numerical solution {unknown}, on a logarithmic scale"
            ),
        ];
        let drawn = [(&plot.curves, look), (&plot.errors, errors)];
        for ((picture, look), words) in drawn.into_iter().zip(titles) {
            if picture.curves.iter().all(|curve| curve.pieces.is_empty()) {
                continue;
            }
            out.extend(svg::write(picture, &look).map(|svg| Figure {
                svg,
                size: look.size,
                words,
            }));
        }
    }
    out
}
