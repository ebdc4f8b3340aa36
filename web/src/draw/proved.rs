//! What is proved, in the pictures: the band in which the tolerance is kept, and a bound beside the
//! errors. Both belong to the degree shown.

use super::dashes;
use super::layout::Layout;
use super::picture::{Drawn, Look, Pen, SMALL, places, width};
use crate::protocol::{CurveData, PictureData};
use plotters::style::FontStyle;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;

/// The name of the bound.
const BOUND: &str = "proved bound";
/// The name of the band.
const BAND: &str = "within tolerance";
/// Long dashes, which no degree has.
const DASHES: [f64; 2] = [8.0, 5.0];
/// So many places along the bound are tried for its name.
const TRIED: usize = 24;

/// A name that stands already: its middle, and half its width.
pub(super) type Taken = ((f64, f64), f64);

/// The band, with a thin line at each end that is in the picture.
pub(super) fn band<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    picture: &PictureData,
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B> {
    let Some((low, high)) = kept(picture, look) else {
        return Ok(());
    };
    let frame = layout.frame;
    let Some((left, right)) = sides(low, high, layout) else {
        return Ok(());
    };
    pen.rectangle((left, frame.top), (right, frame.bottom), look.paper.kept)?;
    for end in [low, high] {
        if layout.holds_x(end) {
            let x = layout.x(end);
            pen.line(&[(x, frame.top), (x, frame.bottom)], 0.9, look.paper.soft)?;
        }
    }
    Ok(())
}

/// The band's name at its foot, over the lines of the grid, if there is room for it.
pub(super) fn band_name<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    picture: &PictureData,
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B> {
    let sides = kept(picture, look).and_then(|(low, high)| sides(low, high, layout));
    let half = width(BAND, SMALL) / 2.0 + 2.0;
    let Some((left, right)) = sides.filter(|(left, right)| right - left > 2.0 * half + 4.0) else {
        return Ok(());
    };
    let at = (f64::midpoint(left, right), layout.frame.bottom - 9.0);
    pen.rectangle(
        (at.0 - half, at.1 - 7.0),
        (at.0 + half, at.1 + 7.0),
        look.paper.kept,
    )?;
    let face = FontStyle::Normal;
    pen.text(BAND, at, SMALL, face, HPos::Center, look.paper.soft)
}

/// The interval on which the degree shown keeps the tolerance.
fn kept(picture: &PictureData, look: &Look<'_>) -> Option<(f64, f64)> {
    let own = look.shown.and_then(|shown| picture.kept.get(shown));
    own.copied().filter(|(low, high)| low < high)
}

/// Its part in the picture.
fn sides(low: f64, high: f64, layout: &Layout) -> Option<(f64, f64)> {
    let (left, right) = (
        layout.x(low).max(layout.frame.left),
        layout.x(high).min(layout.frame.right),
    );
    (left < right).then_some((left, right))
}

/// The bound of the degree shown.
fn shown<'a>(picture: &'a PictureData, look: &Look<'_>) -> Option<&'a CurveData> {
    let own = |curve: &&CurveData| curve.degree.is_some() && curve.degree == look.shown;
    picture.proved.iter().find(own)
}

/// The bound as a thin dashed line on top of the errors, since it can lie close to them.
pub(super) fn bound<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    picture: &PictureData,
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B> {
    let pieces = shown(picture, look).map_or(&[][..], |curve| &curve.pieces);
    for piece in pieces {
        for dash in dashes::cut(&places(piece, layout), &DASHES) {
            pen.line(&dash, 1.3, look.paper.ink)?;
        }
    }
    Ok(())
}

/// Its name below it, at its right end if there is room, else farther to the left.
pub(super) fn name<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    picture: &PictureData,
    layout: &Layout,
    look: &Look<'_>,
    taken: &[Taken],
) -> Drawn<B> {
    let last = shown(picture, look).and_then(|curve| curve.pieces.last());
    let Some(points) = last.map(|piece| places(piece, layout)) else {
        return Ok(());
    };
    let frame = layout.frame;
    let half = width(BOUND, SMALL) / 2.0 + 2.0;
    let step = points.len().div_ceil(TRIED).max(1);
    let candidates = points.iter().rev().step_by(step).map(|(x, _)| {
        let middle = (x - half).max(frame.left + half);
        // Below all of the bound that it stands at: no curve of a lower degree is there.
        let near = points.iter().filter(|(x, _)| (x - middle).abs() <= half);
        let lowest = near.map(|(_, y)| *y).fold(frame.top, f64::max);
        (middle, lowest + 10.0)
    });
    let free = |at: &(f64, f64)| {
        at.1 < frame.bottom - 8.0
            && taken
                .iter()
                .all(|((x, y), other)| (x - at.0).abs() > half + other || (y - at.1).abs() > 16.0)
    };
    if let Some(at) = candidates.into_iter().find(free) {
        pen.rectangle(
            (at.0 - half, at.1 - 7.0),
            (at.0 + half, at.1 + 7.0),
            look.paper.paper,
        )?;
        let face = FontStyle::Normal;
        pen.text(BOUND, at, SMALL, face, HPos::Center, look.paper.soft)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use crate::appearance::{DARK, LIGHT, Paper};
    use crate::draw::svg;
    use crate::examples::EXAMPLES;
    use crate::figure::{self, Kind};
    use crate::inputs::Inputs;
    use crate::protocol::Drawing;
    use crate::sheet;
    use solver::budget::Budget;
    use solver::worksheet::{complete, prepare};

    fn drawn(equation: &str, conditions: &str) -> Drawing {
        let inputs = Inputs {
            equation: equation.into(),
            conditions: conditions.into(),
            degree: "6".into(),
            ..EXAMPLES[0].inputs()
        };
        let prepared = prepare(&inputs.request(), &Budget::PAGE, &mut |_| true);
        let whole = complete(prepared, &Budget::PAGE, &mut |_| true);
        sheet::drawing(1, &whole)
    }

    fn strokes(drawing: &Drawing, kind: Kind, shown: Option<usize>, paper: &Paper) -> String {
        let mut state = crate::state::State::default();
        state.shown = shown.unwrap_or(0);
        state.bare = shown.is_none();
        let plot = &drawing.plots[0];
        let picture = match kind {
            Kind::Errors => &plot.errors,
            _ => &plot.curves,
        };
        let look = figure::look(&state, drawing, paper, (560.0, 300.0), kind);
        svg::write(picture, &look).unwrap()
    }

    #[test]
    fn the_band_and_the_bound_follow_the_degree() {
        let drawing = drawn("y'' = -y", "y(0) = 1, y'(0) = 0");
        let plot = &drawing.plots[0];
        let wide = |degree: usize| plot.curves.kept[degree].1;
        assert!(
            wide(2) > wide(0) && wide(4) > wide(2),
            "{:?}",
            plot.curves.kept
        );
        for paper in [&LIGHT, &DARK] {
            let (r, g, b) = paper.kept;
            let kept = format!("#{r:02X}{g:02X}{b:02X}");
            let three = strokes(&drawing, Kind::Curves, Some(3), paper);
            assert!(three.contains(&kept) && !three.contains("within tolerance"));
            // Its name, where it is wide enough.
            let six = strokes(&drawing, Kind::Curves, Some(6), paper);
            assert!(six.contains(&kept) && six.contains("within tolerance"));
            assert_ne!(three, strokes(&drawing, Kind::Curves, Some(5), paper));
            assert!(!strokes(&drawing, Kind::Curves, None, paper).contains(&kept));
            let errors = strokes(&drawing, Kind::Errors, Some(3), paper);
            assert_eq!(errors.matches("proved bound").count(), 1);
            assert!(!strokes(&drawing, Kind::Errors, None, paper).contains("proved bound"));
        }
        assert!(
            drawing.remarks.contains("at most 1/1000"),
            "{}",
            drawing.remarks
        );
    }

    #[test]
    fn where_nothing_is_proved_nothing_is_drawn() {
        // 1/(1 − x): to the left the solution is enclosed; from 1 on nothing can be proved.
        let drawing = drawn("y' = y^2", "y(0) = 1");
        let errors = &drawing.plots[0].errors;
        for curve in &errors.proved {
            for point in curve
                .pieces
                .iter()
                .flat_map(|piece| piece.0.chunks_exact(2))
            {
                assert!(point[0] < 1.0, "{point:?}");
            }
        }
        // The errors never are above the bound.
        for (error, bound) in errors.curves.iter().zip(&errors.proved) {
            let points = |curve: &crate::protocol::CurveData| -> Vec<(f64, f64)> {
                let all = curve
                    .pieces
                    .iter()
                    .flat_map(|piece| piece.0.chunks_exact(2));
                all.map(|point| (point[0], point[1])).collect()
            };
            let bounds = points(bound);
            let both = points(error).into_iter().filter_map(|(x, y)| {
                let at = bounds.iter().find(|at| (at.0 - x).abs() < 1e-12)?;
                Some((y, at.1))
            });
            let mut seen = 0;
            for (y, above) in both.filter(|(_, above)| *above < errors.y.high - 1e-9) {
                assert!(y <= above + 1e-9, "{y} {above}");
                seen += 1;
            }
            assert!(seen > 20);
        }
    }
}
