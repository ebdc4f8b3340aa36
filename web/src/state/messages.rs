//! What can happen to the page, and what it can be told to do about it.

use crate::inputs::{Depth, Digits, Figures, Inputs, RouteChoice};
use crate::present::Step;
use crate::protocol::{Ask, Drawing, Sheet};

/// A text field of the page.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TextField {
    /// The equation.
    Equation,
    /// The conditions.
    Conditions,
    /// The degree.
    Degree,
    /// Left end of the plot.
    From,
    /// Right end of the plot.
    To,
    /// The tolerance.
    Tolerance,
    /// Where a degree is asked for.
    At,
    /// What is set beside the problem.
    Beside,
    /// A formula to test.
    Candidate,
}

impl TextField {
    /// All of them with their element's id.
    pub const ALL: [(Self, &'static str); 9] = [
        (Self::Equation, "equation"),
        (Self::Conditions, "conditions"),
        (Self::Degree, "degree"),
        (Self::From, "from"),
        (Self::To, "to"),
        (Self::Tolerance, "tolerance"),
        (Self::At, "at"),
        (Self::Beside, "beside"),
        (Self::Candidate, "candidate"),
    ];

    /// The text in it.
    pub fn of(self, inputs: &Inputs) -> &String {
        match self {
            Self::Equation => &inputs.equation,
            Self::Conditions => &inputs.conditions,
            Self::Degree => &inputs.degree,
            Self::From => &inputs.from,
            Self::To => &inputs.to,
            Self::Tolerance => &inputs.tolerance,
            Self::At => &inputs.at,
            Self::Beside => &inputs.beside,
            Self::Candidate => &inputs.candidate,
        }
    }

    pub(super) fn of_mut(self, inputs: &mut Inputs) -> &mut String {
        match self {
            Self::Equation => &mut inputs.equation,
            Self::Conditions => &mut inputs.conditions,
            Self::Degree => &mut inputs.degree,
            Self::From => &mut inputs.from,
            Self::To => &mut inputs.to,
            Self::Tolerance => &mut inputs.tolerance,
            Self::At => &mut inputs.at,
            Self::Beside => &mut inputs.beside,
            Self::Candidate => &mut inputs.candidate,
        }
    }
}

/// Something to be reminded of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Timer {
    /// The typing has paused.
    Work,
    /// The worker may be replaced now.
    Supersede,
    /// The work has become slow.
    Slow,
    /// Mistakes may be shown now.
    Notes,
}

/// A form of the polynomial to copy.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CopyForm {
    /// `LaTeX`.
    Latex,
    /// `MathML`.
    Mathml,
    /// Markdown.
    Markdown,
    /// Plain text.
    Plain,
}

/// A file to keep.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum File {
    /// The picture in pixels.
    Png,
    /// The picture in strokes.
    Svg,
    /// The complex plane in strokes.
    Plane,
}

/// What happened.
#[derive(Clone, Debug, PartialEq)]
pub enum Message {
    /// A field's text changed.
    Typed(TextField, String),
    /// A letter's number changed.
    Number(String, String),
    /// A field was left.
    Left,
    /// A route was chosen.
    Route(RouteChoice),
    /// A depth was chosen.
    Depth(Depth),
    /// A way of writing coefficients was chosen.
    Figures(Figures),
    /// How many certain digits are wanted.
    Digits(Digits),
    /// Another unknown is followed.
    Unknown(String),
    /// Another unknown is drawn across in the phase plane.
    Across(String),
    /// Another unknown is drawn upwards.
    Up(String),
    /// An example was chosen.
    Example(usize),
    /// A repair was accepted: which note, which of its repairs.
    Repair(usize, usize),
    /// A reminder.
    Timer(Timer),
    /// The first stage of an answer.
    Ledger(Box<Sheet>),
    /// The second stage.
    Picture(Box<Drawing>),
    /// The worksheet's data as JSON.
    Data(String),
    /// The worker is gone; what is to be said about it.
    Died(String),
    /// The rows of the last ledger are all on the page.
    Painted,
    /// All that was to be put on the page is there.
    Settled,
    /// Another degree is to be shown.
    Show(usize),
    /// The read-out is moved to this row of the table.
    Cursor(usize),
    /// The read-out is moved by so many rows.
    Step(isize),
    /// The polynomial is to be recentered at the row that is read out.
    Recenter,
    /// The work is not to go on.
    Stop,
    /// The address changed (back, forward, or by hand).
    Address(String),
    /// Copy the polynomial.
    Copy(CopyForm),
    /// Whether copying worked.
    Copied(bool),
    /// Keep a file that is made from what is on the page.
    Keep(File),
    /// Keep the data.
    Fetch,
    /// A step of the presentation.
    Present(Step),
}

/// What the page is to do about it.
#[derive(Clone, Debug, PartialEq)]
pub enum Effect {
    /// Put the fields' texts on the page.
    Fields,
    /// Put the switches on the page.
    Switches,
    /// Typeset the reading.
    Reading,
    /// Put the rows on the page.
    Ledger,
    /// Put the strip on the page.
    Strip,
    /// Put the messages on the page.
    Notes,
    /// Put the state's name on the page.
    Status,
    /// Draw the plot anew, with everything around it.
    Plot,
    /// Put the letters' numbers on the page.
    Letters,
    /// Move the read-out.
    Readout,
    /// Mark the shown degree in rows and strip.
    Shown,
    /// Bring its term into the strip's view.
    Follow,
    /// Say something in passing.
    Say(String),
    /// Ask the worker.
    Ask(Ask),
    /// Ask the worker for the data of these inputs.
    Fetch(String),
    /// End the worker and start another.
    Replace,
    /// Be reminded.
    Later(Timer, f64),
    /// Keep what was typed until the address has it.
    Draft,
    /// Put the inputs into the address; as a new entry of the history?
    Remember(bool),
    /// Put a text on the clipboard.
    Copy(String),
    /// Offer a file that is made from what is on the page.
    Offer(File),
    /// Offer the data.
    OfferData(String),
    /// Put the presentation's place on the screen.
    Present,
}
