//! Is a curve's name ever crossed by a curve, by the line that leads another name to its curve, or by
//! another name? Asked of the strokes as they are drawn: over the examples and the worksheet files
//! that ship, every degree, and the sizes that the pictures have where they are presented.

use super::picture::width;
use crate::appearance::LIGHT;
use crate::examples::EXAMPLES;
use crate::figure::{self, Kind};
use crate::file;
use crate::inputs::Inputs;
use crate::protocol::Sheet;
use crate::sheet;
use crate::state::State;
use solver::budget::Budget;
use solver::worksheet::{complete, prepare};

/// Sizes of the pictures in a presentation at 1280 × 720, 1920 × 1080 and 1024 × 768 (of one equation
/// and of a system, as measured in Chromium), on paper, and on a narrow screen.
const SIZES: [(f64, f64); 8] = [
    (396.8, 475.2),
    (396.8, 320.4),
    (595.2, 712.8),
    (595.2, 481.1),
    (356.3, 506.9),
    (356.3, 310.2),
    (480.0, 310.0),
    (320.0, 300.0),
];

type Point = (f64, f64);

/// What is drawn: curves, lines that lead from names to curves, and the boxes of names.
#[derive(Debug, Default)]
struct Seen {
    curves: Vec<Vec<Point>>,
    leaders: Vec<Vec<Point>>,
    names: Vec<Name>,
}

#[derive(Clone, Debug)]
struct Name {
    text: String,
    low: Point,
    high: Point,
}

fn attribute<'a>(element: &'a str, name: &str) -> &'a str {
    let start = format!(" {name}=\"");
    element
        .split_once(&start)
        .and_then(|(_, rest)| rest.split('"').next())
        .unwrap_or("")
}

/// Reads a picture's strokes. Units are those of the picture's own box, eight to a pixel.
fn seen(svg: &str) -> Seen {
    let number = |element: &str, name: &str| -> f64 {
        attribute(element, name)
            .trim_end_matches("px")
            .parse()
            .unwrap_or(0.0)
    };
    let soft = "#686358";
    let mut out = Seen::default();
    for element in svg.split('<').skip(1) {
        if element.starts_with("polyline") {
            let points: Vec<Point> = attribute(element, "points")
                .split_whitespace()
                .filter_map(|pair| pair.split_once(','))
                .filter_map(|(x, y)| {
                    Some((x.parse::<f64>().ok()? / 8.0, y.parse::<f64>().ok()? / 8.0))
                })
                .collect();
            let (width, color) = (
                number(element, "stroke-width") / 8.0,
                attribute(element, "stroke"),
            );
            if width > 1.2 {
                out.curves.push(points);
            } else if color != soft && !["#D9D3C4"].contains(&color) {
                out.leaders.push(points);
            }
        } else if element.starts_with("text") && attribute(element, "fill") != soft {
            let text = element
                .split_once('>')
                .map_or("", |(_, text)| text.trim())
                .to_owned();
            let size = number(element, "font-size") / 8.0;
            let (x, y) = (number(element, "x") / 8.0, number(element, "y") / 8.0);
            assert_eq!(attribute(element, "text-anchor"), "start", "{element}");
            // A letter is about as high above its middle as half its size.
            let name = Name {
                low: (x, y - 0.4 * size),
                high: (x + width(&text, size), y + 0.4 * size),
                text,
            };
            out.names.push(name);
        }
    }
    out
}

impl Name {
    /// Does a line go through it? (Cohen and Sutherland's clipping would say where; it is enough to
    /// walk along it in steps of a tenth of a pixel's part of the picture.)
    fn crossed(&self, line: &[Point]) -> bool {
        line.windows(2).any(|pair| {
            let [a, b] = [pair[0], pair[1]];
            let steps = ((b.0 - a.0).abs().max((b.1 - a.1).abs()) * 4.0)
                .ceil()
                .max(1.0);
            let mut step = 0.0;
            while step <= steps {
                let part = step / steps;
                let (x, y) = (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part);
                if x > self.low.0 && x < self.high.0 && y > self.low.1 && y < self.high.1 {
                    return true;
                }
                step += 1.0;
            }
            false
        })
    }

    fn touches(&self, other: &Self) -> bool {
        self.low.0 < other.high.0 - 0.2
            && other.low.0 < self.high.0 - 0.2
            && self.low.1 < other.high.1
            && other.low.1 < self.high.1
    }
}

/// The problems of the page and of its files.
fn problems() -> Vec<(String, Inputs)> {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../www/worksheets");
    let mut out: Vec<(String, Inputs)> = EXAMPLES
        .iter()
        .map(|example| (example.title.to_owned(), example.inputs()))
        .collect();
    for entry in std::fs::read_dir(folder).unwrap() {
        let text = std::fs::read_to_string(entry.unwrap().path()).unwrap();
        let (document, _) = file::parse(&text);
        out.extend(
            document
                .problems()
                .map(|block| (block.title.clone(), block.inputs.clone())),
        );
    }
    out
}

#[test]
fn no_name_of_a_curve_is_crossed() {
    let (mut names, mut wrong) = (0, Vec::new());
    for (title, inputs) in problems() {
        let prepared = prepare(&inputs.request(), &Budget::PAGE, &mut |_| true);
        let worksheet = complete(prepared, &Budget::PAGE, &mut |_| true);
        let drawing = sheet::drawing(0, &worksheet);
        let answer = Sheet {
            unknowns: sheet::unknowns(&worksheet),
            degree: sheet::degree(&worksheet),
            ..Sheet::default()
        };
        let (unknowns, degree) = (answer.unknowns.clone(), answer.degree);
        let mut state = State::answered(inputs, answer, Some(drawing));
        let followed = if unknowns.is_empty() {
            vec![String::new()]
        } else {
            unknowns
        };
        for unknown in followed {
            state.inputs.unknown.clone_from(&unknown);
            for shown in 0..=degree {
                state.shown = shown;
                for size in SIZES {
                    for kind in [Kind::Curves, Kind::Phase] {
                        let Some(svg) = figure::strokes(&state, kind, &LIGHT, size) else {
                            continue;
                        };
                        let seen = seen(&svg);
                        names += seen.names.len();
                        for (at, name) in seen.names.iter().enumerate() {
                            let by = if seen.curves.iter().any(|line| name.crossed(line)) {
                                "a curve"
                            } else if seen.leaders.iter().any(|line| name.crossed(line)) {
                                "another name's line"
                            } else if seen
                                .names
                                .iter()
                                .skip(at + 1)
                                .any(|other| name.touches(other))
                            {
                                "a name"
                            } else {
                                continue;
                            };
                            wrong.push(format!(
                                "{title}, {kind:?} of {unknown}, degree {shown}, {size:?}: {} is crossed by {by}",
                                name.text
                            ));
                        }
                    }
                }
            }
        }
    }
    assert!(names > 1000, "{names}");
    assert!(
        wrong.is_empty(),
        "{} of {names}:\n{}",
        wrong.len(),
        wrong.join("\n")
    );
}

#[test]
fn a_crossing_is_seen() {
    let name = |x: f64, y: f64| Name {
        text: "P".into(),
        low: (x, y),
        high: (x + 10.0, y + 12.0),
    };
    let own = name(100.0, 50.0);
    assert!(own.crossed(&[(90.0, 40.0), (120.0, 70.0)]));
    assert!(own.crossed(&[(0.0, 0.0), (105.0, 0.0), (105.0, 300.0)]));
    assert!(!own.crossed(&[(90.0, 40.0), (99.0, 80.0), (120.0, 63.0)]));
    assert!(own.touches(&name(109.0, 61.0)) && !own.touches(&name(110.0, 50.0)));
    // As it is drawn: a curve is one, its name has a box, the line to it is neither.
    let svg = "<polyline opacity=\"1\" stroke=\"#1D4A94\" stroke-width=\"19\" points=\"0,0 80,80\"/>\
               <polyline opacity=\"1\" stroke=\"#1D4A94\" stroke-width=\"6\" points=\"8,8 16,16\"/>\
               <text x=\"80\" y=\"40\" text-anchor=\"start\" font-size=\"120\" fill=\"#1D4A94\">\nP\n</text>";
    let seen = seen(svg);
    assert_eq!(seen.curves, [vec![(0.0, 0.0), (10.0, 10.0)]]);
    assert_eq!(seen.leaders.len(), 1);
    assert!(seen.names[0].low == (10.0, -1.0) && seen.names[0].high.1 > 10.9);
}
