//! The complex plane: the center, the disc of convergence, singular points, the plotted interval.
//! Kinds are told apart by shape and by a word.

use super::fine::units;
use super::picture::{Drawn, Pen, TICK, width};
use super::svg::FONT_SCALE;
use crate::appearance::{Color, Paper};
use crate::numerals::significant;
use crate::protocol::PlaneData;
use plotters::drawing::IntoDrawingArea;
use plotters::style::FontStyle;
use plotters::style::text_anchor::HPos;
use plotters_backend::DrawingBackend;
use plotters_svg::SVGBackend;

/// Width and height in CSS pixels.
pub const SIZE: (f64, f64) = (420.0, 300.0);
/// The disc takes at most this share of half the height.
const SHARE: f64 = 0.62;
/// Corners of the circle.
const CORNERS: u32 = 144;
/// Cosine and sine of a full turn over that many.
const TURN: (f64, f64) = (0.999_048_221_581_857_8, 0.043_619_387_365_336);
/// Half the size of a mark.
const MARK: f64 = 5.0;

/// The words for the kinds, in the order of [`crate::far::kind_number`].
const WORDS: [&str; 7] = [
    "ordinary",
    "regular",
    "irregular",
    "right side",
    "singular",
    "about",
    "apparent",
];

/// As SVG text; `None` if it can't be drawn.
pub fn write(plane: &PlaneData, paper: &Paper) -> Option<String> {
    let size = (
        u32::try_from(units(SIZE.0)).ok()?,
        u32::try_from(units(SIZE.1)).ok()?,
    );
    let mut text = String::new();
    {
        let area = SVGBackend::with_string(&mut text, size).into_drawing_area();
        let pen = Pen {
            area: &area,
            font_scale: FONT_SCALE,
        };
        draw(&pen, plane, paper).ok()?;
        area.present().ok()?;
    }
    let fine = format!("width=\"{}\" height=\"{}\"", size.0, size.1);
    let shown = format!("width=\"{}\" height=\"{}\"", SIZE.0, SIZE.1);
    Some(text.replacen(&fine, &shown, 1))
}

/// How many units of the plane half the height is.
fn extent(plane: &PlaneData) -> f64 {
    let distance =
        |((x, y), _): &((f64, f64), u32)| ((x - plane.center) * (x - plane.center) + y * y).sqrt();
    let nearest = plane
        .points
        .iter()
        .map(distance)
        .fold(f64::INFINITY, f64::min);
    let ends = (plane.interval.0 - plane.center)
        .abs()
        .max((plane.interval.1 - plane.center).abs());
    let wanted = match plane.radius {
        Some(radius) if nearest.is_finite() => radius.max(nearest.min(2.0 * radius)),
        Some(radius) => radius,
        None if nearest.is_finite() => nearest,
        None => ends,
    };
    (wanted / SHARE).max(f64::MIN_POSITIVE)
}

fn draw<B: DrawingBackend>(pen: &Pen<'_, B>, plane: &PlaneData, paper: &Paper) -> Drawn<B> {
    let scale = SIZE.1 / 2.0 / extent(plane);
    let middle = (SIZE.0 / 2.0, SIZE.1 / 2.0);
    let at = |x: f64, y: f64| (middle.0 + (x - plane.center) * scale, middle.1 - y * scale);
    pen.rectangle((0.0, 0.0), SIZE, paper.paper)?;
    if let Some(radius) = plane.radius {
        disc(pen, middle, radius * scale, plane.sure, paper)?;
    }
    pen.line(&[(0.0, middle.1), (SIZE.0, middle.1)], 0.8, paper.soft)?;
    let zero = at(0.0, 0.0).0;
    if (0.0..SIZE.0).contains(&zero) {
        pen.line(&[(zero, 0.0), (zero, SIZE.1)], 0.8, paper.hair)?;
    }
    // The interval: thick, with ends.
    let (left, right) = (
        at(plane.interval.0, 0.0).0.clamp(4.0, SIZE.0 - 4.0),
        at(plane.interval.1, 0.0).0.clamp(4.0, SIZE.0 - 4.0),
    );
    pen.line(&[(left, middle.1), (right, middle.1)], 3.0, paper.ink)?;
    for x in [left, right] {
        pen.line(&[(x, middle.1 - 5.0), (x, middle.1 + 5.0)], 2.0, paper.ink)?;
    }
    points(
        pen,
        plane,
        paper,
        &at,
        plane.radius.map(|radius| radius * scale),
    )?;
    pen.dot(middle, 3.6, paper.ink)?;
    let center = significant(plane.center, 3);
    let below = (middle.0 + 8.0, middle.1 + 15.0);
    pen.text(
        &center,
        below,
        TICK,
        FontStyle::Normal,
        HPos::Left,
        paper.soft,
    )?;
    if let Some(radius) = plane.radius {
        // The radius, drawn where no point of the axes is.
        let tip = (
            middle.0 + radius * scale * 0.8,
            middle.1 - radius * scale * 0.6,
        );
        pen.line(&[middle, tip], 0.8, paper.soft)?;
        let beside = (tip.0 + 6.0, tip.1 - 5.0);
        pen.text(
            &plane.word,
            beside,
            TICK,
            FontStyle::Normal,
            HPos::Left,
            paper.soft,
        )?;
    } else {
        // In a corner, where neither axis nor its name is.
        let corner = (8.0, SIZE.1 - 12.0);
        pen.text(
            &plane.word,
            corner,
            TICK,
            FontStyle::Normal,
            HPos::Left,
            paper.soft,
        )?;
    }
    pen.text(
        "real",
        (SIZE.0 - 6.0, middle.1 - 10.0),
        TICK,
        FontStyle::Italic,
        HPos::Right,
        paper.soft,
    )?;
    pen.text(
        "imaginary",
        (zero.clamp(0.0, SIZE.0 - 70.0) + 6.0, 12.0),
        TICK,
        FontStyle::Italic,
        HPos::Left,
        paper.soft,
    )
}

/// The singular points with their words.
fn points<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    plane: &PlaneData,
    paper: &Paper,
    at: &dyn Fn(f64, f64) -> (f64, f64),
    rim: Option<f64>,
) -> Drawn<B> {
    let middle = (SIZE.0 / 2.0, SIZE.1 / 2.0);
    let mut taken: Vec<(f64, f64)> = vec![at(plane.center, 0.0)];
    for ((x, y), kind) in &plane.points {
        let place = at(*x, *y);
        if !(8.0..SIZE.0 - 8.0).contains(&place.0) || !(8.0..SIZE.1 - 8.0).contains(&place.1) {
            continue;
        }
        mark(pen, place, *kind, paper.ink, paper.paper)?;
        let word = usize::try_from(*kind).ok().and_then(|kind| WORDS.get(kind));
        let Some(word) = word else { continue };
        // A word above or below the mark, or farther out, where no other word is and not on the rim.
        let half = width(word, TICK) / 2.0;
        let outward = if place.0 < middle.0 { -1.0 } else { 1.0 };
        let spots = [0.0, 0.5, 1.0, 1.5].into_iter().flat_map(|out| {
            let x = place.0 + outward * out * half;
            let x = x.clamp(half + 4.0, SIZE.0 - half - 4.0);
            [-13.0, 15.0, -27.0, 29.0].map(|down| (x, place.1 + down))
        });
        let free = |(x, y): &(f64, f64)| {
            taken
                .iter()
                .all(|(a, b)| (a - x).abs() > 56.0 || (b - y).abs() > 13.0)
        };
        let spots: Vec<(f64, f64)> = spots.filter(free).collect();
        let off_rim = |at: &&(f64, f64)| !rim.is_some_and(|rim| on_rim(**at, half, middle, rim));
        if let Some(at) = spots.iter().find(off_rim).or(spots.first()) {
            let face = FontStyle::Normal;
            pen.text(word, *at, TICK, face, HPos::Center, paper.soft)?;
            taken.push(*at);
        }
    }
    Ok(())
}

/// Does the rim go through a word of this half width?
fn on_rim(at: (f64, f64), half: f64, middle: (f64, f64), rim: f64) -> bool {
    const HALF_HEIGHT: f64 = 6.0;
    let (across, down) = ((at.0 - middle.0).abs(), (at.1 - middle.1).abs());
    let square = |x: f64, y: f64| x * x + y * y;
    square((across - half).max(0.0), (down - HALF_HEIGHT).max(0.0)) <= rim * rim
        && rim * rim <= square(across + half, down + HALF_HEIGHT)
}

/// The disc: its rim whole where it is sure, dashed where it is an estimate.
fn disc<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    middle: (f64, f64),
    radius: f64,
    sure: bool,
    paper: &Paper,
) -> Drawn<B> {
    let (mut x, mut y) = (radius, 0.0);
    let mut corners = Vec::new();
    for _ in 0..=CORNERS {
        corners.push((middle.0 + x, middle.1 - y));
        (x, y) = (x * TURN.0 - y * TURN.1, x * TURN.1 + y * TURN.0);
    }
    pen.polygon(&corners, paper.wash)?;
    if sure {
        return pen.line(&corners, 1.6, paper.ink);
    }
    for piece in corners.chunks(4) {
        pen.line(piece, 1.6, paper.ink)?;
    }
    Ok(())
}

/// Ordinary: a ring. Regular: a cross. Irregular: a filled square. Right side: a triangle. Singular: a
/// diamond. Apparent: a ring with a dot. About: a plus.
fn mark<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    (x, y): (f64, f64),
    kind: u32,
    ink: Color,
    paper: Color,
) -> Drawn<B> {
    let m = MARK;
    match kind {
        0 => {
            pen.dot((x, y), m, ink)?;
            pen.dot((x, y), m - 1.6, paper)
        }
        1 => {
            pen.line(&[(x - m, y - m), (x + m, y + m)], 2.0, ink)?;
            pen.line(&[(x - m, y + m), (x + m, y - m)], 2.0, ink)
        }
        2 => pen.rectangle((x - m, y - m), (x + m, y + m), ink),
        3 => pen.polygon(&[(x - m, y + m), (x + m, y + m), (x, y - m)], ink),
        4 => pen.polygon(&[(x - m, y), (x, y - m), (x + m, y), (x, y + m)], ink),
        6 => {
            pen.dot((x, y), m, ink)?;
            pen.dot((x, y), m - 1.6, paper)?;
            pen.dot((x, y), 1.6, ink)
        }
        _ => {
            pen.line(&[(x - m, y), (x + m, y)], 1.6, ink)?;
            pen.line(&[(x, y - m), (x, y + m)], 1.6, ink)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::appearance::LIGHT;

    #[test]
    fn kinds_have_their_words_and_the_rim_tells_an_estimate() {
        let plane = PlaneData {
            center: 0.0,
            radius: Some(2.0),
            sure: true,
            word: "R = 2".into(),
            interval: (-3.0, 3.0),
            points: vec![((0.0, 2.0), 1), ((0.0, -2.0), 1), ((2.5, 0.0), 2)],
        };
        let sure = write(&plane, &LIGHT).unwrap();
        assert_eq!(sure.matches("\nregular\n").count(), 2, "{sure}");
        assert_eq!(sure.matches("\nirregular\n").count(), 1);
        assert!(sure.contains("R = 2\n") && !sure.contains("NaN"));
        let about = PlaneData {
            sure: false,
            ..plane
        };
        let about = write(&about, &LIGHT).unwrap();
        assert!(about.matches("<polyline").count() > sure.matches("<polyline").count() + 20);
    }

    #[test]
    fn the_rim_goes_through_no_word() {
        let middle = (SIZE.0 / 2.0, SIZE.1 / 2.0);
        // A point on the rim has its word beside it: above, the rim would go through.
        let above = (middle.0 - 100.0, middle.1 - 13.0);
        assert!(on_rim(above, 22.0, middle, 100.0));
        assert!(!on_rim((above.0 - 24.0, above.1), 22.0, middle, 100.0));
        assert!(!on_rim(middle, 22.0, middle, 100.0));
    }

    #[test]
    fn without_a_radius_the_plane_is_drawn_all_the_same() {
        let plane = PlaneData {
            center: 1.0,
            radius: None,
            sure: true,
            word: "converges everywhere".into(),
            interval: (0.0, 2.0),
            points: vec![],
        };
        let svg = write(&plane, &LIGHT).unwrap();
        assert!(svg.contains("converges everywhere") && !svg.contains("NaN"));
    }
}
