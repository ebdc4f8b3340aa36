//! One picture on any backend.

use super::clear;
use super::dashes;
use super::fine::{stroke, units};
use super::inside;
use super::labels::{self, Edge, Wanted};
use super::layout::Layout;
use super::proved::{self, Taken};
use super::selection::{Selected, select, select_beside};
use crate::appearance::{self, Color, Paper};
use crate::protocol::{BesideData, Numbers, PictureData};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, DrawingAreaErrorKind};
use plotters::element::{Circle, PathElement, Polygon, Rectangle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle};
use plotters_backend::DrawingBackend;

/// What is drawn besides the data.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look<'a> {
    /// Colors.
    pub paper: &'a Paper,
    /// Width and height in CSS pixels.
    pub size: (f64, f64),
    /// The degree shown; `None`: no partial sum at all.
    pub shown: Option<usize>,
    /// The reference's name: the unknown.
    pub unknown: &'a str,
    /// The partial sums' letter.
    pub sum: &'a str,
    /// What is drawn across: the independent variable, or an unknown.
    pub independent: &'a str,
    /// What is set beside the picture's own curves.
    pub beside: &'a [BesideData],
    /// A tested formula's curve.
    pub candidate: &'a [Numbers],
    /// What is drawn upwards, where no curve has that name (phase plane); the curves may then go
    /// to and fro, and are named at their ends.
    pub upwards: Option<&'a str>,
    /// A dot at the center.
    pub dot: Option<(f64, f64)>,
    /// The values are decimal logarithms.
    pub logarithmic: bool,
    /// How much larger the backend wants its font sizes (plotters' SVG divides them by 1.24).
    pub font_scale: f64,
}

/// Text face of the pictures.
const FACE: &str =
    "'Ordinary Point Text', 'TeX Gyre Pagella', 'Palatino Linotype', Palatino, serif";
pub(super) const TICK: f64 = 12.5;
const NAME: f64 = 15.0;
const INDEX: f64 = 10.5;
pub(super) const SMALL: f64 = 11.5;

pub(super) type Drawn<B, T = ()> =
    Result<T, DrawingAreaErrorKind<<B as DrawingBackend>::ErrorType>>;

pub(super) struct Pen<'a, B: DrawingBackend> {
    pub(super) area: &'a DrawingArea<B, Shift>,
    pub(super) font_scale: f64,
}

/// Draws the picture over the whole area, background included.
///
/// # Errors
/// Those of the backend.
pub fn draw<B: DrawingBackend>(
    area: &DrawingArea<B, Shift>,
    picture: &PictureData,
    look: &Look<'_>,
) -> Drawn<B> {
    let pen = Pen {
        area,
        font_scale: look.font_scale,
    };
    let layout = Layout::new(picture, look.size.0, look.size.1);
    let frame = layout.frame;
    let paper = look.paper;
    pen.rectangle((0.0, 0.0), look.size, paper.paper)?;
    for (from, to) in &picture.beyond {
        let (left, right) = (
            layout.x(*from).max(frame.left),
            layout.x(*to).min(frame.right),
        );
        if right > left {
            pen.rectangle((left, frame.top), (right, frame.bottom), paper.wash)?;
        }
    }
    proved::band(&pen, picture, &layout, look)?;
    axes(&pen, picture, &layout, look)?;
    proved::band_name(&pen, picture, &layout, look)?;
    let mut selected = look
        .shown
        .map_or_else(Vec::new, |shown| select_beside(look.beside, shown));
    selected.extend(select(picture, look.shown));
    for one in &selected {
        curve(&pen, one, &layout, look)?;
    }
    proved::bound(&pen, picture, &layout, look)?;
    formula(&pen, &layout, look)?;
    if let Some((x, y)) = look.dot.filter(|dot| layout.holds_y(dot.1)) {
        pen.dot((layout.x(x), layout.y(y)), 3.4, paper.ink)?;
    }
    if let Some(upwards) = look.upwards {
        pen.text(
            upwards,
            (frame.left, frame.top - 10.0),
            NAME,
            FontStyle::Italic,
            HPos::Center,
            paper.soft,
        )?;
        names_at_ends(&pen, &selected, &layout, look)?;
    } else if look.logarithmic {
        let taken = names_inside(&pen, &selected, &layout, look)?;
        proved::name(&pen, picture, &layout, look, &taken)?;
    } else {
        names(&pen, &selected, &layout, look)?;
    }
    area.present()
}

fn axes<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    picture: &PictureData,
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B> {
    let (frame, paper) = (layout.frame, look.paper);
    let zero = |value: f64| value.abs() < 1e-12;
    for (value, label) in &picture.x.ticks {
        let x = layout.x(*value);
        let heavy = zero(*value);
        pen.line(
            &[(x, frame.top), (x, frame.bottom)],
            if heavy { 1.0 } else { 0.7 },
            if heavy { paper.soft } else { paper.hair },
        )?;
        pen.text(
            label,
            (x, frame.bottom + 27.0),
            TICK,
            FontStyle::Normal,
            HPos::Center,
            paper.soft,
        )?;
    }
    for (value, label) in &picture.y.ticks {
        let y = layout.y(*value);
        let heavy = zero(*value) && !look.logarithmic;
        pen.line(
            &[(frame.left, y), (frame.right, y)],
            if heavy { 1.0 } else { 0.7 },
            if heavy { paper.soft } else { paper.hair },
        )?;
        pen.tick(label, (frame.left - 7.0, y), paper.soft)?;
    }
    pen.text(
        look.independent,
        (frame.right + 8.0, frame.bottom + 27.0),
        NAME,
        FontStyle::Italic,
        HPos::Left,
        paper.soft,
    )
}

fn curve<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    one: &Selected<'_>,
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B> {
    let (color, pattern, width) = match one.degree() {
        None if one.number > 1 => (look.paper.soft, &[][..], 1.8),
        None => (look.paper.ink, &[][..], 2.6),
        Some(degree) => {
            let current = look.shown.is_some_and(|shown| one.degrees.contains(&shown));
            (
                appearance::color(degree, look.paper),
                appearance::dash(degree),
                if current { 2.4 } else { 1.4 },
            )
        }
    };
    for piece in &one.curve.pieces {
        for dash in dashes::cut(&places(piece, layout), pattern) {
            pen.line(&dash, width, color)?;
        }
    }
    Ok(())
}

/// The tested formula: dots on (or off) the solution's curve, so that both stay to be seen.
fn formula<B: DrawingBackend>(pen: &Pen<'_, B>, layout: &Layout, look: &Look<'_>) -> Drawn<B> {
    for piece in look.candidate {
        for dash in dashes::cut(&places(piece, layout), &[2.5, 7.0]) {
            pen.line(&dash, 5.5, look.paper.soft)?;
        }
    }
    Ok(())
}

/// The name of a tested formula's curve.
const FORMULA: &str = "f";

/// A curve's name: `P` and its degrees, or the unknown.
struct Name<'a> {
    letter: &'a str,
    index: String,
    color: Color,
}

impl<'a> Name<'a> {
    fn of(one: &Selected<'_>, look: &Look<'a>) -> Self {
        let (letter, mut index) = match (one.degrees.first(), one.degrees.last()) {
            (Some(first), Some(last)) if first == last => (look.sum, first.to_string()),
            (Some(first), Some(last)) => (look.sum, format!("{first}, {last}")),
            _ => (look.unknown, String::new()),
        };
        if look.upwards.is_some() && !index.is_empty() {
            // A pair of partial sums has no letter of its own.
            index = format!("n = {index}");
        }
        if one.number > 1 {
            let apart = if index.is_empty() { "" } else { "; " };
            index = format!("{index}{apart}{}", one.number);
        }
        let color = one.degree().map_or(look.paper.ink, |degree| {
            appearance::color(degree, look.paper)
        });
        Self {
            letter,
            index,
            color,
        }
    }

    fn width(&self) -> f64 {
        width(self.letter, NAME) + width(&self.index, INDEX)
    }

    fn write<B: DrawingBackend>(&self, pen: &Pen<'_, B>, middle: (f64, f64)) -> Drawn<B> {
        let (left, y) = (middle.0 - self.width() / 2.0, middle.1);
        let upright = FontStyle::Normal;
        pen.text(
            self.letter,
            (left, y),
            NAME,
            FontStyle::Italic,
            HPos::Left,
            self.color,
        )?;
        let behind = (left + width(self.letter, NAME), y + 4.0);
        pen.text(&self.index, behind, INDEX, upright, HPos::Left, self.color)
    }
}

/// The names at the curves' ends.
fn names<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    selected: &[Selected<'_>],
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B> {
    let mut wanted = Vec::new();
    let mut what = Vec::new();
    for one in selected {
        let Some([x, y]) = one
            .curve
            .pieces
            .last()
            .and_then(|piece| piece.0.last_chunk::<2>())
        else {
            continue;
        };
        let name = Name::of(one, look);
        wanted.push(Wanted {
            end: (layout.x(*x), layout.y(*y)),
            width: name.width(),
            weight: one.degree().map_or(usize::MAX, |degree| degree + 1),
        });
        what.push(name);
    }
    let end = look.candidate.last().and_then(|piece| piece.0.last_chunk());
    if let Some([x, y]) = end {
        wanted.push(Wanted {
            end: (layout.x(*x), layout.y(*y)),
            width: width(FORMULA, NAME),
            weight: usize::MAX,
        });
        what.push(Name {
            letter: FORMULA,
            index: String::new(),
            color: look.paper.soft,
        });
    }
    for placed in labels::place(&wanted, &layout.frame) {
        let (Some(want), Some(name)) = (wanted.get(placed.index), what.get(placed.index)) else {
            continue;
        };
        let (x, y) = placed.middle;
        let (moved, from, to) = match placed.edge {
            Edge::Right => {
                let left = x - want.width / 2.0 - 2.0;
                ((y - want.end.1).abs(), want.end, (left, y))
            }
            Edge::Top => ((x - want.end.0).abs(), want.end, (x, y + 9.0)),
            Edge::Bottom => ((x - want.end.0).abs(), want.end, (x, y - 7.0)),
        };
        if moved > 6.0 {
            pen.line(&[from, to], 0.7, name.color)?;
        }
        name.write(pen, placed.middle)?;
    }
    Ok(())
}

/// The names on the curves, each on a little paper of its own; says where they are.
fn names_inside<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    selected: &[Selected<'_>],
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B, Vec<Taken>> {
    let mut taken = Vec::new();
    let curves: Vec<_> = selected
        .iter()
        .map(|one| one.curve.pieces.iter().map(|p| places(p, layout)).collect())
        .collect();
    let frame = layout.frame;
    let (across, down) = ((frame.left, frame.right), (frame.top, frame.bottom));
    for named in inside::place(&curves, across, down) {
        let Some(one) = selected.get(named.index) else {
            continue;
        };
        let name = Name::of(one, look);
        let (x, y) = named.at;
        let half = name.width() / 2.0 + 2.0;
        pen.rectangle((x - half, y - 7.0), (x + half, y + 8.0), look.paper.paper)?;
        name.write(pen, named.at)?;
        taken.push((named.at, half));
    }
    Ok(taken)
}

/// The names near the ends of curves that go to and fro, where no curve crosses them.
fn names_at_ends<B: DrawingBackend>(
    pen: &Pen<'_, B>,
    selected: &[Selected<'_>],
    layout: &Layout,
    look: &Look<'_>,
) -> Drawn<B> {
    let curves: Vec<clear::Curve> = selected
        .iter()
        .map(|one| one.curve.pieces.iter().map(|p| places(p, layout)).collect())
        .collect();
    let names: Vec<Name> = selected.iter().map(|one| Name::of(one, look)).collect();
    let widths: Vec<f64> = names.iter().map(Name::width).collect();
    for (index, at) in clear::place(&curves, &widths, &layout.frame) {
        if let Some(name) = names.get(index) {
            let half = name.width() / 2.0 + 2.0;
            pen.rectangle(
                (at.0 - half, at.1 - 7.0),
                (at.0 + half, at.1 + 8.0),
                look.paper.paper,
            )?;
            name.write(pen, at)?;
        }
    }
    Ok(())
}

/// Where a curve's points are.
pub(super) fn places(piece: &Numbers, layout: &Layout) -> Vec<(f64, f64)> {
    piece
        .0
        .chunks_exact(2)
        .filter_map(|pair| match pair {
            [x, y] => Some((layout.x(*x), layout.y(*y))),
            _ => None,
        })
        .collect()
}

/// About how wide a text is. Measuring it would ask the page for its layout.
pub(super) fn width(text: &str, size: f64) -> f64 {
    text.chars().map(advance).sum::<f64>() * size
}

/// At least how far a character's italic form, or upright one, takes a line in the page's text face,
/// in parts of its size.
fn advance(character: char) -> f64 {
    match character {
        ' ' | ',' | '.' | ';' | ':' | '′' | 'i' | 'j' | 'l' => 0.3,
        'f' | 'r' | 't' | 'I' | 'J' => 0.4,
        '0'..='9' | 'a' | 'c' | 'e' | 's' | 'z' => 0.5,
        'M' | 'W' => 1.0,
        'm' | 'w' | 'D' | 'G' | 'H' | 'N' | 'O' | 'Q' | 'U' | 'ω' => 0.89,
        'A' | 'C' | 'K' | 'R' | 'V' | 'X' | 'Y' | 'Z' | '=' | 'φ' | 'ψ' | 'π' => 0.78,
        'Α'..='Ω' => 0.96,
        _ => 0.63,
    }
}

impl<B: DrawingBackend> Pen<'_, B> {
    pub(super) fn line(&self, points: &[(f64, f64)], width: f64, color: Color) -> Drawn<B> {
        let points: Vec<(i32, i32)> = points.iter().map(|(x, y)| (units(*x), units(*y))).collect();
        self.area.draw(&PathElement::new(
            points,
            shape(color).stroke_width(stroke(width)),
        ))
    }

    pub(super) fn rectangle(&self, from: (f64, f64), to: (f64, f64), color: Color) -> Drawn<B> {
        self.area.draw(&Rectangle::new(
            [(units(from.0), units(from.1)), (units(to.0), units(to.1))],
            shape(color).filled(),
        ))
    }

    pub(super) fn polygon(&self, corners: &[(f64, f64)], color: Color) -> Drawn<B> {
        let corners: Vec<(i32, i32)> = corners
            .iter()
            .map(|(x, y)| (units(*x), units(*y)))
            .collect();
        self.area
            .draw(&Polygon::new(corners, shape(color).filled()))
    }

    pub(super) fn dot(&self, at: (f64, f64), radius: f64, color: Color) -> Drawn<B> {
        self.area.draw(&Circle::new(
            (units(at.0), units(at.1)),
            units(radius),
            shape(color).filled(),
        ))
    }

    pub(super) fn text(
        &self,
        text: &str,
        at: (f64, f64),
        size: f64,
        face: FontStyle,
        anchor: HPos,
        color: Color,
    ) -> Drawn<B> {
        if text.is_empty() {
            return Ok(());
        }
        let font = FontDesc::new(
            FontFamily::Name(FACE),
            size * super::fine::FINE * self.font_scale,
            face,
        );
        let rgb = RGBColor(color.0, color.1, color.2);
        let style = TextStyle::from(font)
            .color(&rgb)
            .pos(Pos::new(anchor, VPos::Center));
        self.area
            .draw_text(text, &style, (units(at.0), units(at.1)))
    }

    /// A label of the vertical axis; `10^−3` is set with a raised exponent.
    fn tick(&self, label: &str, at: (f64, f64), color: Color) -> Drawn<B> {
        match label.split_once('^') {
            None => self.text(label, at, TICK, FontStyle::Normal, HPos::Right, color),
            Some((base, exponent)) => {
                self.text(
                    exponent,
                    (at.0, at.1 - 4.0),
                    INDEX,
                    FontStyle::Normal,
                    HPos::Right,
                    color,
                )?;
                self.text(
                    base,
                    (at.0 - width(exponent, INDEX) - 1.0, at.1),
                    TICK,
                    FontStyle::Normal,
                    HPos::Right,
                    color,
                )
            }
        }
    }
}

fn shape(color: Color) -> ShapeStyle {
    ShapeStyle::from(&RGBColor(color.0, color.1, color.2))
}
