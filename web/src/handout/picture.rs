//! Pictures for the printer, in strokes.

use super::tables::is_proved;
use crate::appearance::PRINTED;
use crate::draw::plane;
use crate::far;
use crate::figure::{self, Kind};
use crate::inputs::Inputs;
use crate::protocol::Sheet;
use crate::sheet;
use crate::state::State;
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

/// The complex plane with the disc of convergence, where there is something to say about it.
pub fn plane(worksheet: &Worksheet) -> Option<Figure> {
    far::plane(worksheet, &PRINTED).map(|svg| Figure {
        svg,
        size: plane::SIZE,
        words: far::PLANE.to_owned(),
    })
}

/// For each unknown the curves, and the difference on a logarithmic scale; of a system the phase
/// plane, too.
pub fn figures(worksheet: &Worksheet) -> Vec<Figure> {
    let drawing = sheet::drawing(0, worksheet);
    if drawing.plots.is_empty() {
        return Vec::new();
    }
    let (unknowns, names) = (sheet::unknowns(worksheet), drawing.names.1.clone());
    let answer = Sheet {
        unknowns: unknowns.clone(),
        degree: sheet::degree(worksheet),
        ..Sheet::default()
    };
    let mut state = State::answered(Inputs::default(), answer, Some(drawing));
    let kind = if is_proved(worksheet) {
        "(values guaranteed)"
    } else {
        "(an estimate)"
    };
    let mut out = Vec::new();
    let mut add = |state: &State, kind, height, words| {
        let size = (WIDTH, height);
        out.extend(
            figure::strokes(state, kind, &PRINTED, size).map(|svg| Figure { svg, size, words }),
        );
    };
    for (unknown, name) in unknowns.into_iter().zip(names) {
        state.inputs.unknown = unknown;
        let words = format!("Partial sums and the numerical solution {name} {kind}");
        add(&state, Kind::Curves, CURVES, words);
        let words = format!(
            "How far the partial sums are from the numerical solution {name}, on a logarithmic scale"
        );
        add(&state, Kind::Errors, ERRORS, words);
    }
    let words = format!("Phase plane: one unknown against another {kind}");
    add(&state, Kind::Phase, CURVES, words);
    out
}
