//! The canvases: drawn sharp at any density, with the read-out's hairline over them.

use super::{dom, present, with_state};
use crate::appearance::{DARK, DARK_ROOM, LIGHT, LIGHT_ROOM, PRINTED, Paper};
use crate::draw::fine::{FINE, Fine, units};
use crate::draw::layout::Layout;
use crate::draw::phase;
use crate::draw::picture::{Look, draw};
use crate::far;
use crate::figure::{Kind, data, look, strokes};
use crate::protocol::PictureData;
use crate::state::State;
use plotters::drawing::IntoDrawingArea;
use plotters_canvas::CanvasBackend;
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, HtmlElement, ResizeObserver};

/// The canvases by their elements' ids.
const PICTURES: [(&str, Kind); 3] = [
    ("curves", Kind::Curves),
    ("errors", Kind::Errors),
    ("phase", Kind::Phase),
];

/// Draws anew whenever the room for the pictures changes.
pub(super) fn observe() {
    let changed = Closure::<dyn Fn()>::new(super::redraw);
    if let Ok(observer) = ResizeObserver::new(changed.as_ref().unchecked_ref()) {
        if let Some(element) = dom::by_id("curves") {
            observer.observe(&element);
        }
        // Lives as long as the page, like its observer.
        std::mem::forget(observer);
    }
    changed.forget();
}

fn paper() -> &'static Paper {
    let asked = |query: &str| {
        dom::window()
            .and_then(|window| window.match_media(query).ok().flatten())
            .is_some_and(|answer| answer.matches())
    };
    let dark = asked("(prefers-color-scheme: dark)") && !asked("print");
    match (dark, present::is_on()) {
        (false, false) => &LIGHT,
        (false, true) => &LIGHT_ROOM,
        (true, false) => &DARK,
        (true, true) => &DARK_ROOM,
    }
}

/// Draws one of the pictures.
pub(super) fn paint(state: &State, kind: Kind) {
    let Some((id, _)) = PICTURES.into_iter().find(|(_, own)| *own == kind) else {
        return;
    };
    let Some(drawing) = &state.drawing else {
        return;
    };
    let (Some(canvas), Some(picture)) = (
        dom::by_id_as::<HtmlCanvasElement>(id),
        data(state, kind, true),
    ) else {
        return;
    };
    let density = dom::window().map_or(1.0, |window| window.device_pixel_ratio());
    let _ = on_canvas(
        &canvas,
        &picture,
        &look(state, drawing, paper(), size(&canvas), kind),
        density * present::scale(),
    );
}

/// In the pixels that the drawing counts: those of CSS, or larger ones for a room.
fn size(canvas: &HtmlCanvasElement) -> (f64, f64) {
    let scale = present::scale();
    (
        (f64::from(canvas.client_width()) / scale).max(120.0),
        (f64::from(canvas.client_height()) / scale).max(90.0),
    )
}

fn on_canvas(
    canvas: &HtmlCanvasElement,
    picture: &PictureData,
    look: &Look<'_>,
    density: f64,
) -> Option<()> {
    let whole = |pixels: f64| u32::try_from(units(pixels * density / FINE)).ok();
    let (width, height) = (whole(look.size.0)?, whole(look.size.1)?);
    if canvas.width() != width || canvas.height() != height {
        canvas.set_width(width);
        canvas.set_height(height);
    }
    let context: CanvasRenderingContext2d = canvas.get_context("2d").ok()??.dyn_into().ok()?;
    let scale = density / FINE;
    context
        .set_transform(scale, 0.0, 0.0, scale, 0.0, 0.0)
        .ok()?;
    let fine = (
        u32::try_from(units(look.size.0)).ok()?,
        u32::try_from(units(look.size.1)).ok()?,
    );
    let backend = Fine::new(CanvasBackend::with_canvas_object(canvas.clone())?, fine);
    draw(&backend.into_drawing_area(), picture, look).ok()
}

/// The complex plane, as strokes in the page.
pub(super) fn plane(state: &State) {
    let Some(drawing) = &state.drawing else {
        return;
    };
    let drawn = far::picture(&drawing.far, paper());
    dom::set_hidden("plane", drawn.is_empty());
    dom::set_html("plane", &drawn);
}

/// Draws a little something out of sight, so that the first real plot finds everything warm.
pub(super) fn warm_up() {
    let Some(canvas) = dom::document().and_then(|document| document.create_element("canvas").ok())
    else {
        return;
    };
    let Ok(canvas) = canvas.dyn_into::<HtmlCanvasElement>() else {
        return;
    };
    let axis = crate::protocol::AxisData {
        low: 0.0,
        high: 1.0,
        ticks: vec![(0.0, "0".into())],
    };
    let picture = PictureData {
        x: axis.clone(),
        y: axis,
        curves: Vec::new(),
        beyond: Vec::new(),
        kept: Vec::new(),
        proved: Vec::new(),
    };
    let look = Look {
        paper: &LIGHT,
        size: (200.0, 150.0),
        shown: Some(0),
        unknown: "y",
        sum: "P",
        independent: "x",
        upwards: None,
        beside: &[],
        candidate: &[],
        dot: None,
        logarithmic: false,
        font_scale: 1.0,
    };
    let _ = on_canvas(&canvas, &picture, &look, 1.0);
}

/// The row of the table nearest to a place on a canvas.
pub(super) fn row_at(id: &str, (x, y): (f64, f64)) -> Option<usize> {
    with_state(|state| {
        let plot = state.plot()?;
        let canvas = dom::by_id_as::<HtmlCanvasElement>(id)?;
        let (width, height) = size(&canvas);
        let (x, y) = (x / present::scale(), y / present::scale());
        let rows = 0..plot.table_at.0.len();
        let nearest = |distance: &dyn Fn(usize) -> f64| {
            rows.clone()
                .filter(|row| distance(*row).is_finite())
                .min_by(|a, b| distance(*a).total_cmp(&distance(*b)))
        };
        if id == "phase" {
            let (across, up) = state.phase()?;
            let layout = Layout::new(&phase::frame(across, up), width, height);
            return nearest(&|row| {
                let left = layout.x(phase::value(across, row, None)) - x;
                let down = layout.y(phase::value(up, row, None)) - y;
                left * left + down * down
            });
        }
        let value = Layout::new(&plot.curves, width, height).value_at(x);
        nearest(&|row| {
            plot.table_at
                .0
                .get(row)
                .map_or(f64::NAN, |at| (at - value).abs())
        })
    })
    .flatten()
}

/// Moves hairlines and dots to the row that is read out.
pub(super) fn hairline(state: &State) {
    let row = state.read_row();
    let find = |numbers: &[f64]| {
        row.and_then(|row| numbers.get(row))
            .copied()
            .filter(|value| value.is_finite())
    };
    let x = state.plot().and_then(|plot| find(&plot.table_at.0));
    let value = state.plot().and_then(|plot| find(&plot.table_value.0));
    let sum = state.plot().zip(row).and_then(|(plot, row)| {
        let width = plot.table_sums.0.len().checked_div(plot.table_x.len())?;
        plot.table_sums.0.get(row * width + state.shown).copied()
    });
    for (id, kind) in PICTURES {
        let (Some(canvas), Some(picture)) = (
            dom::by_id_as::<HtmlCanvasElement>(id),
            data(state, kind, false),
        ) else {
            continue;
        };
        let (width, height) = size(&canvas);
        let layout = Layout::new(&picture, width, height);
        if let (Some((across, up)), Some(row), Kind::Phase) = (state.phase(), row, kind) {
            for (id, degree) in [("phase-solution", None), ("phase-sum", Some(state.shown))] {
                let at = (
                    phase::value(across, row, degree),
                    phase::value(up, row, degree),
                );
                let inside = layout.holds_x(at.0) && layout.holds_y(at.1);
                move_to(id, inside.then(|| (layout.x(at.0), layout.y(at.1))));
            }
            continue;
        }
        move_to(
            &format!("{id}-hair"),
            x.map(|x| (layout.x(x), layout.frame.top)),
        );
        if kind == Kind::Curves {
            let place = |y: Option<f64>| {
                x.zip(y.filter(|y| layout.holds_y(*y)))
                    .map(|(x, y)| (layout.x(x), layout.y(y)))
            };
            move_to("dot-solution", place(value));
            move_to("dot-sum", place(sum));
        }
    }
}

fn move_to(id: &str, place: Option<(f64, f64)>) {
    let Some(element) = dom::by_id_as::<HtmlElement>(id) else {
        return;
    };
    element.set_hidden(place.is_none());
    if let Some((x, y)) = place {
        let (x, y) = (x * present::scale(), y * present::scale());
        dom::set_style(
            &element,
            "transform",
            &format!("translate({x:.1}px,{y:.1}px)"),
        );
    }
}

/// The first picture as SVG text, on light paper.
pub(super) fn as_svg(state: &State) -> Option<String> {
    strokes(state, Kind::Curves, &LIGHT, (640.0, 440.0))
}

/// All pictures as SVG text: the curves above the errors, then the phase plane.
pub(super) fn for_paper(state: &State) -> Option<String> {
    let on_paper = |kind, height| strokes(state, kind, &PRINTED, (480.0, height));
    let first = on_paper(Kind::Curves, 310.0)? + &on_paper(Kind::Errors, 190.0)?;
    Some(first + &on_paper(Kind::Phase, 310.0).unwrap_or_default())
}

/// The first picture on a canvas of its own, large enough to print, on light paper.
pub(super) fn as_canvas(state: &State) -> Option<HtmlCanvasElement> {
    let drawing = state.drawing.as_ref()?;
    let canvas: HtmlCanvasElement = dom::document()?
        .create_element("canvas")
        .ok()?
        .dyn_into()
        .ok()?;
    on_canvas(
        &canvas,
        data(state, Kind::Curves, true)?.as_ref(),
        &look(state, drawing, &LIGHT, (640.0, 440.0), Kind::Curves),
        3.0,
    )?;
    Some(canvas)
}
