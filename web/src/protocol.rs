//! What passes between the page and its worker: twins of the solver's answer, with
//! everything that is read already turned into HTML. A question travels as a pair of a number and a
//! text (inputs alone ask for the worksheet's data); an answer, which can be long, as one block of
//! bytes (see [`crate::wire`]) that changes hands instead of being copied and taken apart on the
//! main thread.

use crate::markup::Markup;
use crate::wire::{Wire, wire};

/// What the page asks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ask {
    /// Counts up; an answer carries the number of its question.
    pub sequence: u32,
    /// The inputs as an address fragment (see [`crate::address`]).
    pub inputs: String,
}

/// What the worker says, in this order: `Ledger` (not when only numbers for letters have changed),
/// then `Picture`. `Died` may come at any time.
#[derive(Clone, Debug, PartialEq)]
pub enum Reply {
    /// The work on paper.
    Ledger(Box<Sheet>),
    /// The numerical solution and the plot.
    Picture(Box<Drawing>),
    /// A defect: the message of a panic.
    Died(String),
    /// A worksheet's data as JSON, where they were asked for.
    Data(String),
}

/// A change of a field's text: field, first byte, one past the last byte, replacement.
pub type Change = (String, usize, usize, String);

/// A place in a field that something is said about.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Note {
    /// Stable name of the kind of mistake.
    pub code: String,
    /// Does the work stop here?
    pub error: bool,
    /// `equation`, `conditions`, `degree`, `interval` or `at`.
    pub field: String,
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
    /// What is said.
    pub message: String,
    /// Repairs: what the button says, and the changes.
    pub repairs: Vec<(String, Vec<Change>)>,
}

/// The polynomial in the forms that it can be copied in: `LaTeX`, `MathML`, Markdown, plain text.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Copies {
    /// `LaTeX`, without dollar signs.
    pub latex: String,
    /// A whole `math` element.
    pub mathml: String,
    /// Markdown with `$…$`.
    pub markdown: String,
    /// Plain text.
    pub plain: String,
}

/// The first stage of an answer.
#[allow(
    clippy::struct_excessive_bools,
    reason = "independent facts, each with its name"
)]
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Sheet {
    /// Whose answer.
    pub sequence: u32,
    /// Is there a worksheet? (No: only `notes` hold anything.)
    pub worked: bool,
    /// Errors and notices.
    pub notes: Vec<Note>,
    /// The ledger.
    pub rows: Vec<Markup>,
    /// The unknowns' names as typed.
    pub unknowns: Vec<String>,
    /// The polynomial strip's list items, for each unknown.
    pub strips: Vec<Vec<Markup>>,
    /// How far the two routes agree, in words; empty when there is nothing to say.
    pub checked: String,
    /// Do the two routes disagree anywhere?
    pub defect: bool,
    /// Degree of the polynomial.
    pub degree: usize,
    /// Which route was taken.
    pub standing: bool,
    /// Would the other route be another ledger?
    pub has_routes: bool,
    /// Exact, with factorials, in decimals: in the order of [`crate::inputs::Figures`].
    pub copies: Vec<Copies>,
}

/// The second stage.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    /// Whose answer.
    pub sequence: u32,
    /// For each unknown the curves and the errors; empty when there is nothing to draw.
    pub plots: Vec<PlotData>,
    /// Names for the read-out: the independent variable and the unknowns.
    pub names: (String, Vec<String>),
    /// The plotted interval's ends, as they are read; empty when there is nothing to draw.
    pub interval: (String, String),
    /// The letters that stand for constants, with their numbers.
    pub letters: Vec<LetterData>,
    /// How far the series converges, and how well the polynomials hold.
    pub far: FarData,
    /// What is said below the plot: evidence, stops, radius. HTML.
    pub remarks: String,
    /// Errors and notices of this stage.
    pub notes: Vec<Note>,
}

/// The section "How far?".
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FarData {
    /// Rows, with the degree that they belong to.
    pub rows: Vec<(Option<usize>, Markup)>,
    /// The complex plane.
    pub plane: Option<PlaneData>,
}

/// A picture of the complex plane.
#[derive(Clone, Debug, PartialEq)]
pub struct PlaneData {
    /// The center of the series.
    pub center: f64,
    /// The radius of the disc; `None`: no disc.
    pub radius: Option<f64>,
    /// Is it proved? (Otherwise an estimate.)
    pub sure: bool,
    /// What is written at the radius, or in its place.
    pub word: String,
    /// The plotted interval.
    pub interval: (f64, f64),
    /// Singular points: real and imaginary part, and kind.
    pub points: Vec<((f64, f64), u32)>,
}

/// A letter that stands for a constant, and its number in the plot.
#[derive(Clone, Debug, PartialEq)]
pub struct LetterData {
    /// As typed.
    pub name: String,
    /// As printed. HTML.
    pub label: String,
    /// The number as typed or chosen; empty where there is none.
    pub text: String,
    /// The number.
    pub value: f64,
    /// Ends of its slider.
    pub low: f64,
    /// The other end.
    pub high: f64,
}

/// A list of doubles.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Numbers(pub Vec<f64>);

/// An axis.
#[derive(Clone, Debug, PartialEq)]
pub struct AxisData {
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Ticks with labels.
    pub ticks: Vec<(f64, String)>,
}

/// A curve: for each piece x₀, y₀, x₁, y₁, ….
#[derive(Clone, Debug, PartialEq)]
pub struct CurveData {
    /// `None`: the reference solution.
    pub degree: Option<usize>,
    /// The pieces.
    pub pieces: Vec<Numbers>,
}

/// A picture.
#[derive(Clone, Debug, PartialEq)]
pub struct PictureData {
    /// Horizontal axis.
    pub x: AxisData,
    /// Vertical axis.
    pub y: AxisData,
    /// The curves, the reference last.
    pub curves: Vec<CurveData>,
    /// Shaded ranges.
    pub beyond: Vec<(f64, f64)>,
    /// For each degree the range in which the tolerance is kept.
    pub kept: Vec<(f64, f64)>,
    /// Proved bounds of the errors, by degree.
    pub proved: Vec<CurveData>,
}

/// What is set beside the first solution.
#[derive(Clone, Debug, PartialEq)]
pub struct BesideData {
    /// Partial sums, then the numerical solution if there is one.
    pub curves: Vec<CurveData>,
    /// The numerical solution in each row of the table, as text; empty where it does not reach.
    pub reference: Vec<String>,
    /// For each row the partial sums.
    pub sums: Numbers,
}

/// The pictures and the table.
#[derive(Clone, Debug, PartialEq)]
pub struct PlotData {
    /// The center of the series and the value there, where they are drawn as a dot.
    pub center: Option<(f64, f64)>,
    /// The axis of the unknown where it is drawn across (phase plane).
    pub across: AxisData,
    /// Partial sums against the reference.
    pub curves: PictureData,
    /// |error|, log₁₀.
    pub errors: PictureData,
    /// What is set beside them.
    pub beside: Vec<BesideData>,
    /// The pieces of a tested formula's curve.
    pub candidate: Vec<Numbers>,
    /// x of each row as text.
    pub table_x: Vec<String>,
    /// x of each row.
    pub table_at: Numbers,
    /// Reference value of each row as text; empty where it does not reach.
    pub table_reference: Vec<String>,
    /// Are all of these surely right in the digits given? (Else they are estimates.)
    pub proved: bool,
    /// Reference value of each row; NaN where it does not reach.
    pub table_value: Numbers,
    /// For each row the partial sums, degree 0 to N.
    pub table_sums: Numbers,
    /// For each row the errors, degree 0 to N; NaN where not known.
    pub table_errors: Numbers,
}

wire! {
    Note { code, error, field, start, end, message, repairs }
    Copies { latex, mathml, markdown, plain }
    Sheet { sequence, worked, notes, rows, unknowns, strips, checked, defect, degree, standing, has_routes, copies }
    Drawing { sequence, plots, interval, names, letters, far, remarks, notes }
    FarData { rows, plane }
    PlaneData { center, radius, sure, word, interval, points }
    LetterData { name, label, text, value, low, high }
    AxisData { low, high, ticks }
    CurveData { degree, pieces }
    PictureData { x, y, curves, beyond, kept, proved }
    BesideData { curves, reference, sums }
    PlotData { center, across, curves, errors, beside, candidate, table_x, table_at, table_reference, proved, table_value, table_sums, table_errors }
}

impl Wire for Numbers {
    fn write(&self, out: &mut Vec<u8>) {
        self.0.write(out);
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        Wire::read(from).map(Self)
    }
}

impl Wire for Reply {
    fn write(&self, out: &mut Vec<u8>) {
        match self {
            Self::Ledger(sheet) => {
                out.push(0);
                sheet.write(out);
            }
            Self::Picture(drawing) => {
                out.push(1);
                drawing.write(out);
            }
            Self::Died(words) => {
                out.push(2);
                words.write(out);
            }
            Self::Data(json) => {
                out.push(3);
                json.write(out);
            }
        }
    }
    fn read(from: &mut &[u8]) -> Option<Self> {
        let (kind, rest) = from.split_first()?;
        *from = rest;
        Some(match kind {
            0 => Self::Ledger(Box::new(Wire::read(from)?)),
            1 => Self::Picture(Box::new(Wire::read(from)?)),
            2 => Self::Died(Wire::read(from)?),
            3 => Self::Data(Wire::read(from)?),
            _ => return None,
        })
    }
}
