//! Hand-outs: one sheet of problems as three papers (problems with room to work, worked solutions,
//! answer key), for the printer, as `LaTeX`, as Markdown and as HTML with `MathML`, and its tables
//! as CSV.
//!
//! `blocks` decides once what stands on which paper; the writers only write it.

pub mod blocks;
pub mod changes;
pub mod csv;
pub mod html;
pub mod latex;
pub mod markdown;
pub mod picture;
pub mod sheet;
pub mod statement;
pub mod tables;
#[cfg(test)]
mod tests;

use crate::file::{Document, ProblemBlock};
use crate::inputs::{Choice, Depth};
use solver::document::formula::Formula;
use solver::document::ledger::{Line, Prose};
use solver::worksheet::Worksheet;

/// Which of the three papers.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Kind {
    /// The problems, with room to work. For students: no value, no check.
    #[default]
    Problems,
    /// Every line with its reason. For students: no check.
    Solution,
    /// What is marked, with marks, values and checks. For teachers.
    Key,
}

impl Choice for Kind {
    const NAMES: &'static [(Self, &'static str)] = &[
        (Self::Problems, "problems"),
        (Self::Solution, "solution"),
        (Self::Key, "key"),
    ];
}

impl Kind {
    /// What stands on the paper.
    pub fn title(self) -> &'static str {
        match self {
            Self::Problems => "Problems",
            Self::Solution => "Worked solutions",
            Self::Key => "Answer key",
        }
    }
}

/// The head of the paper. Any of it may be empty.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Head {
    /// Title of the sheet.
    pub title: String,
    /// Course.
    pub course: String,
    /// Date, as typed.
    pub date: String,
    /// Version.
    pub version: String,
}

impl Head {
    /// The head that a worksheet file asks for.
    pub fn of(document: &Document) -> Self {
        Self {
            title: document.title.clone(),
            course: document.course.clone(),
            date: document.date.clone(),
            version: document.version.clone(),
        }
    }
}

/// What to put on the paper.
#[allow(
    clippy::struct_excessive_bools,
    reason = "independent switches, each with its name"
)]
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Settings {
    /// Which paper.
    pub kind: Kind,
    /// How much of the differentiation is written out on the worked solution.
    pub depth: Depth,
    /// Pictures of partial sums and solution.
    pub plot: bool,
    /// The table behind them.
    pub table: bool,
    /// How far the series converges, and why.
    pub far: bool,
    /// Lines of room under a problem that does not say how many it wants.
    pub room: u32,
}

/// A problem with the teacher's words, and its worksheet.
#[derive(Clone, Copy, Debug)]
pub struct Task<'a> {
    /// The problem as its file has it.
    pub block: &'a ProblemBlock,
    /// What the solver found.
    pub worksheet: &'a Worksheet,
}

/// What stands on a paper, in order.
#[derive(Clone, Debug, PartialEq)]
pub enum Block {
    /// A problem begins.
    Problem {
        /// Its number; `None` where there is only one.
        number: Option<usize>,
        /// Its title; may be empty.
        title: String,
        /// All its marks.
        marks: u32,
    },
    /// A paragraph.
    Words(Prose),
    /// The problem's equations and conditions.
    Given(Vec<Line>),
    /// A small heading.
    Heading(&'static str),
    /// A row of the ledger.
    Row(Box<Row>),
    /// So many lines to write on.
    Room(u32),
    /// A picture.
    Picture(picture::Figure),
    /// A table.
    Table(tables::Table),
}

/// A row of the ledger as it is handed out.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Which problem, from 0.
    pub problem: usize,
    /// The ledger row's key.
    pub key: String,
    /// Degree that it belongs to.
    pub degree: Option<usize>,
    /// Why; in the teacher's words where there are any.
    pub reason: Prose,
    /// What.
    pub lines: Vec<Line>,
    /// Lines were left out that are too long to read.
    pub shortened: bool,
    /// The teacher's remark.
    pub remark: Option<Prose>,
    /// Marks, on the key.
    pub marks: Option<u32>,
    /// Did the other route find the same value? (Shown on the key.)
    pub checked: Option<bool>,
}

/// A paper: its head, and what stands on it.
#[derive(Clone, Debug, PartialEq)]
pub struct Paper {
    /// Which.
    pub kind: Kind,
    /// The head.
    pub head: Head,
    /// The rest.
    pub blocks: Vec<Block>,
}

/// A number typed or computed in decimal digits, as a formula.
fn decimal(text: &str) -> Formula {
    use solver::document::formula::MINUS;
    use solver::document::strip::decimal_number;
    match text.strip_prefix('-') {
        Some(size) => Formula::row([Formula::Sign(MINUS), decimal_number(size)]),
        None => decimal_number(text),
    }
}
