//! The two canvases: drawn sharp at any density, with the read-out's hairline over them.

use super::{dom, with_state};
use crate::appearance::{DARK, LIGHT, PRINTED, Paper};
use crate::draw::fine::{FINE, Fine, units};
use crate::draw::layout::Layout;
use crate::draw::picture::{Look, draw};
use crate::draw::svg;
use crate::protocol::{Drawing, PictureData};
use crate::state::State;
use plotters::drawing::IntoDrawingArea;
use plotters_canvas::CanvasBackend;
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, HtmlElement, ResizeObserver};

/// The canvases, with the element that wraps each.
const PICTURES: [(&str, bool); 2] = [("curves", false), ("errors", true)];

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
    if asked("(prefers-color-scheme: dark)") && !asked("print") {
        &DARK
    } else {
        &LIGHT
    }
}

fn look<'a>(
    drawing: &'a Drawing,
    shown: usize,
    paper: &'a Paper,
    size: (f64, f64),
    logarithmic: bool,
) -> Look<'a> {
    Look {
        paper,
        size,
        shown,
        unknown: &drawing.names.1,
        independent: &drawing.names.0,
        dot: drawing
            .plot
            .as_ref()
            .and_then(|plot| plot.center)
            .filter(|_| !logarithmic),
        beside: drawing
            .plot
            .as_ref()
            .filter(|_| !logarithmic)
            .map_or(&[], |plot| &plot.beside),
        candidate: drawing
            .plot
            .as_ref()
            .filter(|_| !logarithmic)
            .map_or(&[], |plot| &plot.candidate),
        logarithmic,
        font_scale: 1.0,
    }
}

fn data(drawing: &Drawing, logarithmic: bool) -> Option<&PictureData> {
    let plot = drawing.plot.as_ref()?;
    Some(if logarithmic {
        &plot.errors
    } else {
        &plot.curves
    })
}

/// Draws one of the pictures: the curves, or the errors on their logarithmic scale.
pub(super) fn paint(state: &State, logarithmic: bool) {
    let [curves, errors] = PICTURES;
    let (id, _) = if logarithmic { errors } else { curves };
    let Some(drawing) = &state.drawing else {
        return;
    };
    let (Some(canvas), Some(picture)) = (
        dom::by_id_as::<HtmlCanvasElement>(id),
        data(drawing, logarithmic),
    ) else {
        return;
    };
    let density = dom::window().map_or(1.0, |window| window.device_pixel_ratio());
    let _ = on_canvas(
        &canvas,
        picture,
        &look(drawing, state.shown, paper(), size(&canvas), logarithmic),
        density,
    );
}

fn size(canvas: &HtmlCanvasElement) -> (f64, f64) {
    (
        f64::from(canvas.client_width().max(120)),
        f64::from(canvas.client_height().max(90)),
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
    };
    let look = Look {
        paper: &LIGHT,
        size: (200.0, 150.0),
        shown: 0,
        unknown: "y",
        independent: "x",
        beside: &[],
        candidate: &[],
        dot: None,
        logarithmic: false,
        font_scale: 1.0,
    };
    let _ = on_canvas(&canvas, &picture, &look, 1.0);
}

/// The row of the table nearest to a place on the canvas.
pub(super) fn row_at(x: f64) -> Option<usize> {
    with_state(|state| {
        let plot = state.plot()?;
        let canvas = dom::by_id_as::<HtmlCanvasElement>("curves")?;
        let (width, height) = size(&canvas);
        let value = Layout::new(&plot.curves, width, height).value_at(x);
        let distance = |at: &f64| (at - value).abs();
        let nearest = plot
            .table_at
            .0
            .iter()
            .enumerate()
            .min_by(|a, b| distance(a.1).total_cmp(&distance(b.1)))?;
        Some(nearest.0)
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
    for (id, logarithmic) in PICTURES {
        let (Some(canvas), Some(drawing)) =
            (dom::by_id_as::<HtmlCanvasElement>(id), &state.drawing)
        else {
            continue;
        };
        let Some(picture) = data(drawing, logarithmic) else {
            continue;
        };
        let (width, height) = size(&canvas);
        let layout = Layout::new(picture, width, height);
        move_to(
            &format!("{id}-hair"),
            x.map(|x| (layout.x(x), layout.frame.top)),
        );
        if !logarithmic {
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
        dom::set_style(
            &element,
            "transform",
            &format!("translate({x:.1}px,{y:.1}px)"),
        );
    }
}

/// The first picture as SVG text, on light paper.
pub(super) fn as_svg(state: &State) -> Option<String> {
    let drawing = state.drawing.as_ref()?;
    svg::write(
        data(drawing, false)?,
        &look(drawing, state.shown, &LIGHT, (640.0, 440.0), false),
    )
}

/// Both pictures as SVG text, the curves above the errors.
pub(super) fn for_paper(state: &State) -> Option<String> {
    let drawing = state.drawing.as_ref()?;
    let strokes = |logarithmic, height| {
        svg::write(
            data(drawing, logarithmic)?,
            &look(drawing, state.shown, &PRINTED, (480.0, height), logarithmic),
        )
    };
    Some(strokes(false, 310.0)? + &strokes(true, 190.0)?)
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
        data(drawing, false)?,
        &look(drawing, state.shown, &LIGHT, (640.0, 440.0), false),
        3.0,
    )?;
    Some(canvas)
}
