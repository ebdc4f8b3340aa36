//! A picture's strokes in `LaTeX`'s picture environment: the same ones as in its SVG, whose elements
//! (those that plotters writes) are read here one by one. Slanted strokes are Bézier curves with
//! their middle on the stroke, because the environment has lines in few directions only.

use super::super::picture::Figure;
use crate::numerals::{number, plain};
use solver::document::latex::escape;
use std::fmt::Write as _;

/// The picture is so wide, in millimeters.
const WIDTH: f64 = 120.0;
/// Strokes shorter than this, in millimeters, are joined with the next.
const SHORT: f64 = 0.9;
/// A mark has so many corners at most.
const MARK: usize = 8;
/// A Bézier curve is drawn as so many dots a millimeter.
const DOTS: f64 = 6.0;

/// The environment.
pub(super) fn picture(figure: &Figure) -> String {
    let (width, height) = figure.size;
    // The SVG counts in fine units; its view box says how many.
    let fine = attribute(&figure.svg, "viewBox")
        .and_then(|view| number(view.split(' ').nth(2)?))
        .unwrap_or(width);
    let pen = Pen {
        scale: WIDTH / fine,
        height: WIDTH * height / width,
    };
    let mut out = format!(
        "\\setlength{{\\unitlength}}{{1mm}}\\begin{{picture}}({},{})\n",
        millimeters(WIDTH),
        millimeters(pen.height)
    );
    for element in figure.svg.split('<').skip(1) {
        pen.element(element, &mut out);
    }
    out + "\\end{picture}\n"
}

struct Pen {
    scale: f64,
    height: f64,
}

/// The value of an attribute in the text of an element.
fn attribute<'t>(element: &'t str, name: &str) -> Option<&'t str> {
    let (_, rest) = element.split_once(&format!(" {name}=\""))?;
    rest.split_once('"').map(|(value, _)| value)
}

fn millimeters(length: f64) -> String {
    // Hundredths are enough for a printer.
    let hundredths = (length * 100.0).round() / 100.0;
    let text = plain(hundredths, 5);
    let short = if text.contains('.') && !text.contains('e') {
        text.trim_end_matches('0').trim_end_matches('.')
    } else {
        &text
    };
    if short.contains('e') {
        "0".to_owned()
    } else {
        short.to_owned()
    }
}

impl Pen {
    fn place(&self, x: f64, y: f64) -> (f64, f64) {
        (x * self.scale, self.height - y * self.scale)
    }

    fn element(&self, element: &str, out: &mut String) {
        let get = |name: &str| attribute(element, name).and_then(number);
        let kind = element.split([' ', '>']).next().unwrap_or("");
        match kind {
            "polyline" => {
                color(attribute(element, "stroke"), out);
                let width = get("stroke-width").unwrap_or(1.0) * self.scale;
                let _ = writeln!(out, "\\linethickness{{{}mm}}", millimeters(width));
                self.strokes(attribute(element, "points").unwrap_or(""), out);
            }
            "rect" => {
                let fill = attribute(element, "fill").unwrap_or("none");
                let (Some(x), Some(y), Some(width), Some(height)) =
                    (get("x"), get("y"), get("width"), get("height"))
                else {
                    return;
                };
                if fill == "none" || fill == "#FFFFFF" && width * self.scale > WIDTH / 2.0 {
                    return;
                }
                color(Some(fill), out);
                let (x, y) = self.place(x, y + height);
                let _ = writeln!(
                    out,
                    "\\put({},{}){{\\rule{{{}mm}}{{{}mm}}}}",
                    millimeters(x),
                    millimeters(y),
                    millimeters(width * self.scale),
                    millimeters(height * self.scale)
                );
            }
            "circle" => {
                let (Some(x), Some(y), Some(r)) = (get("cx"), get("cy"), get("r")) else {
                    return;
                };
                color(attribute(element, "fill"), out);
                let (x, y) = self.place(x, y);
                let _ = writeln!(
                    out,
                    "\\put({},{}){{\\circle*{{{}}}}}",
                    millimeters(x),
                    millimeters(y),
                    millimeters(2.0 * r * self.scale)
                );
            }
            // The environment fills nothing slanted: a mark is drawn as its outline. A disc has a rim
            // of its own.
            "polygon" => {
                let corners = attribute(element, "points").unwrap_or("");
                let mut places = corners.split_whitespace();
                if places.clone().count() <= MARK {
                    color(attribute(element, "fill"), out);
                    let first = places.next().unwrap_or("");
                    let _ = writeln!(out, "\\linethickness{{0.4mm}}");
                    self.strokes(&format!("{corners} {first}"), out);
                }
            }
            "text" => self.text(element, out),
            _ => {}
        }
    }

    fn strokes(&self, points: &str, out: &mut String) {
        let read = |point: &str| {
            let (x, y) = point.split_once(',')?;
            Some(self.place(number(x)?, number(y)?))
        };
        let points: Vec<(f64, f64)> = points.split_whitespace().filter_map(read).collect();
        let Some((first, rest)) = points.split_first() else {
            return;
        };
        let mut from = *first;
        for (position, to) in rest.iter().enumerate() {
            let (across, up) = (to.0 - from.0, to.1 - from.1);
            let length = across.hypot_of(up);
            if length < SHORT && position + 1 < rest.len() {
                continue;
            }
            let level = if up == 0.0 { "(1,0)" } else { "(0,1)" };
            if up == 0.0 || across == 0.0 {
                let start = (from.0.min(to.0), from.1.min(to.1));
                let _ = writeln!(
                    out,
                    "\\put({},{}){{\\line{level}{{{}}}}}",
                    millimeters(start.0),
                    millimeters(start.1),
                    millimeters(length)
                );
            } else {
                let dots = (length * DOTS).ceil().max(1.0);
                let _ = writeln!(
                    out,
                    "\\qbezier[{}]({},{})({},{})({},{})",
                    millimeters(dots),
                    millimeters(from.0),
                    millimeters(from.1),
                    millimeters(from.0 + across / 2.0),
                    millimeters(from.1 + up / 2.0),
                    millimeters(to.0),
                    millimeters(to.1)
                );
            }
            from = *to;
        }
    }

    fn text(&self, element: &str, out: &mut String) {
        let get = |name: &str| attribute(element, name).and_then(number);
        let (Some(x), Some(y)) = (get("x"), get("y")) else {
            return;
        };
        let words = element
            .split_once('>')
            .map_or("", |(_, words)| words)
            .trim();
        let words = words
            .replace("&lt;", "<")
            .replace("&gt;", ">")
            .replace("&amp;", "&");
        // The middle of a text stands at its place, whatever its height.
        let drop = attribute(element, "dy").and_then(|dy| number(dy.trim_end_matches("em")));
        let size = get("font-size").unwrap_or(0.0);
        let middle = y + (drop.unwrap_or(0.0) - 0.35) * size;
        let (x, y) = self.place(x, middle);
        let side = match attribute(element, "text-anchor") {
            Some("middle") => "",
            Some("end") => "[r]",
            _ => "[l]",
        };
        let face = if attribute(element, "font-style") == Some("italic") {
            "\\itshape "
        } else {
            ""
        };
        let small = if size * self.scale < 3.0 {
            "\\scriptsize"
        } else {
            "\\small"
        };
        color(attribute(element, "fill"), out);
        let _ = writeln!(
            out,
            "\\put({},{}){{\\makebox(0,0){side}{{{small}{face} {}}}}}",
            millimeters(x),
            millimeters(y),
            escape(&words)
        );
    }
}

/// Euclid's length.
trait Length {
    fn hypot_of(self, other: f64) -> f64;
}

impl Length for f64 {
    fn hypot_of(self, other: f64) -> f64 {
        (self * self + other * other).sqrt()
    }
}

/// Chooses a color given as `#RRGGBB`.
fn color(value: Option<&str>, out: &mut String) {
    let hex = value
        .and_then(|value| value.strip_prefix('#'))
        .unwrap_or("000000");
    let channel = |at: usize| {
        let digits = hex.get(at..at + 2)?;
        let value = u8::from_str_radix(digits, 16).ok()?;
        Some(plain(f64::from(value) / 255.0, 3))
    };
    if let (Some(red), Some(green), Some(blue)) = (channel(0), channel(2), channel(4)) {
        let _ = writeln!(out, "\\color[rgb]{{{red},{green},{blue}}}");
    }
}
