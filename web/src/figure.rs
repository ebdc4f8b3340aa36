//! Which picture is drawn of an answer, and how it looks: on the page's canvases, on paper, and in
//! a block to read.

use crate::appearance::Paper;
use crate::draw::phase;
use crate::draw::picture::Look;
use crate::draw::svg;
use crate::protocol::{Drawing, PictureData};
use crate::state::State;
use crate::view;
use std::borrow::Cow;

/// What a picture shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Partial sums against the numerical solution.
    Curves,
    /// Their differences, on a logarithmic scale.
    Errors,
    /// One unknown against another.
    Phase,
}

/// Colors, size and names for a picture of the state's answer.
pub fn look<'a>(
    state: &'a State,
    drawing: &'a Drawing,
    paper: &'a Paper,
    size: (f64, f64),
    kind: Kind,
) -> Look<'a> {
    let (independent, unknowns) = &drawing.names;
    let name = |index: usize| unknowns.get(index).map_or("", String::as_str);
    let followed = state.followed();
    let plain = Look {
        paper,
        size,
        shown: (!state.bare).then_some(state.shown),
        unknown: name(followed),
        sum: view::sum_letter(unknowns, followed),
        independent,
        upwards: None,
        dot: state
            .plot()
            .and_then(|plot| plot.center)
            .filter(|_| kind == Kind::Curves),
        beside: state
            .plot()
            .filter(|_| kind == Kind::Curves)
            .map_or(&[], |plot| &plot.beside),
        candidate: state
            .plot()
            .filter(|_| kind == Kind::Curves)
            .map_or(&[], |plot| &plot.candidate),
        logarithmic: kind == Kind::Errors,
        font_scale: 1.0,
    };
    match state.pair().filter(|_| kind == Kind::Phase) {
        Some((across, up)) => Look {
            unknown: "solution",
            sum: "",
            independent: name(across),
            upwards: Some(name(up)),
            dot: state
                .phase()
                .and_then(|(across, up)| across.center.zip(up.center).map(|(a, u)| (a.1, u.1))),
            ..plain
        },
        None => plain,
    }
}

/// The picture; of the phase plane only the axes unless the curves are asked for.
pub fn data(state: &State, kind: Kind, with_curves: bool) -> Option<Cow<'_, PictureData>> {
    Some(match kind {
        Kind::Curves => Cow::Borrowed(&state.plot()?.curves),
        Kind::Errors => Cow::Borrowed(&state.plot()?.errors),
        Kind::Phase => {
            let (across, up) = state.phase()?;
            Cow::Owned(if with_curves {
                phase::picture(across, up)
            } else {
                phase::frame(across, up)
            })
        }
    })
}

/// A picture as SVG text; `None` when there is nothing to draw.
pub fn strokes(state: &State, kind: Kind, paper: &Paper, size: (f64, f64)) -> Option<String> {
    let drawing = state.drawing.as_ref()?;
    svg::write(
        data(state, kind, true)?.as_ref(),
        &look(state, drawing, paper, size, kind),
    )
}
