//! A worksheet file: a Markdown document (`CommonMark`) whose fenced blocks named `ivp` hold
//! problems, and whose block named `sheet` says what it is for. How the rest becomes HTML is not
//! known here, so that whoever needs only the problems need not bring a Markdown parser.
//!
//! ````text
//! # The bright edge of the rainbow
//!
//! ```sheet
//! course: Differential equations
//! ```
//!
//! The brightness follows $y'' = x y$.
//!
//! ```ivp
//! y'' = x y
//! y(0) = 1, y'(0) = 0
//! degree: 6
//! ```
//! ````

mod fences;
mod keys;
mod places;
mod read;
#[cfg(test)]
mod tests;
mod write;

use crate::inputs::Inputs;
use crate::protocol::Note;
use std::ops::Range;

pub use fences::{Fence, Kind};
pub use keys::{KEYS, Key, SHEET_KEYS, nearest};
pub use places::{Places, position};

/// A longer file is not opened: nobody reads one, and working on it would hold the page up.
pub const LONGEST: usize = 400_000;
/// So many problems of a file are worked.
pub const MOST_PROBLEMS: usize = 60;
/// A problem sheet leaves at most so many lines of room.
pub const MOST_ROOM: u32 = 60;
/// A line of the key has at most so many marks.
pub const MOST_MARKS: u32 = 1000;

/// A worksheet file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Document {
    /// The heading it begins with; may be empty.
    pub title: String,
    /// For which course.
    pub course: String,
    /// When it is used.
    pub date: String,
    /// Which version of the sheet this is.
    pub version: String,
    /// Who wrote it.
    pub author: String,
    /// Prose and problems in turn.
    pub parts: Vec<Part>,
}

/// A part of a file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Part {
    /// Markdown without problems, its outer blank lines left out.
    Prose(String),
    /// A problem.
    Problem(Box<ProblemBlock>),
}

/// A problem of a file and what is to be made of it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct ProblemBlock {
    /// What the worksheet's fields hold.
    pub inputs: Inputs,
    /// Its heading; may be empty.
    pub title: String,
    /// The names of what is shown, in the order of the file; empty: what is shown usually.
    pub show: Vec<String>,
    /// What is asked before the values are shown; may be empty.
    pub ask: String,
    /// How many lines of room a problem sheet leaves.
    pub room: Option<u32>,
    /// Marks by the key of a row (`order-2`, `polynomial`).
    pub marks: Vec<(String, u32)>,
    /// Reasons in the teacher's words, by the key of a row.
    pub rewordings: Vec<(String, String)>,
    /// Remarks below a line, by the key of a row.
    pub remarks: Vec<(String, String)>,
    /// Where in the file all this stands; empty for a block that was not read from one.
    pub places: Places,
}

impl Document {
    /// The problems in order.
    pub fn problems(&self) -> impl Iterator<Item = &ProblemBlock> {
        self.parts.iter().filter_map(|part| match part {
            Part::Problem(block) => Some(&**block),
            Part::Prose(_) => None,
        })
    }

    /// The file's text. What [`parse`] makes of it is this document again.
    pub fn write(&self) -> String {
        write::document(self)
    }
}

impl ProblemBlock {
    /// The marks of all lines together.
    pub fn all_marks(&self) -> u32 {
        self.marks.iter().map(|(_, marks)| *marks).sum()
    }

    /// The fenced block as it stands in a file.
    pub fn write(&self) -> String {
        write::block(self)
    }

    /// The same without the places, as a block made by a program is.
    #[must_use]
    pub fn without_places(mut self) -> Self {
        self.places = Places::default();
        self
    }
}

/// Reads a file's text. Nothing is fatal: what cannot be read is said, with its place in the text
/// (the notes' field is `file`), and left out.
pub fn parse(text: &str) -> (Document, Vec<Note>) {
    if text.len() > LONGEST {
        let words = format!(
            "This file is too long: {} bytes, and at most {LONGEST} are read. Make several files of it.",
            text.len()
        );
        let note = note("file-too-long", true, 0..0, words);
        return (Document::default(), vec![note]);
    }
    let (mut document, mut notes) = (Document::default(), Vec::new());
    let fences = fences::find(text);
    let mut at = 0;
    let mut has_sheet = false;
    let mut problems = 0;
    for fence in &fences {
        take_prose(&mut document, text, at..fence.range.start);
        at = fence.range.end;
        if fence.open_ended {
            let words = "This block does not end: a line with its closing marks is missing.";
            let mut note = note("open-block", false, fence.head.clone(), words.into());
            let marks = text.get(fence.marks.clone()).unwrap_or("```");
            let newline = if text.ends_with('\n') { "" } else { "\n" };
            add_repair(
                &mut note,
                "close it at the end",
                text.len()..text.len(),
                format!("{newline}{marks}\n"),
            );
            notes.push(note);
        }
        match fence.kind {
            Kind::Sheet if has_sheet => {
                let words = "There is a second block named sheet; only the first is read.";
                notes.push(note(
                    "second-sheet",
                    false,
                    fence.head.clone(),
                    words.into(),
                ));
            }
            Kind::Sheet => {
                has_sheet = true;
                read::sheet(&mut document, text, fence, &mut notes);
            }
            Kind::Problem => {
                problems += 1;
                let block = read::problem(text, fence, &mut notes);
                document.parts.push(Part::Problem(Box::new(block)));
            }
        }
    }
    take_prose(&mut document, text, at..text.len());
    if problems > MOST_PROBLEMS {
        let words = format!(
            "This file has {problems} problems; the first {MOST_PROBLEMS} are worked. Make several files of it."
        );
        notes.push(note("too-many-problems", false, 0..0, words));
    }
    solver::sorting::sort_by_key(&mut notes, |note| note.start);
    (document, notes)
}

/// Every fenced block of ours in a text, in order.
pub fn fences(text: &str) -> Vec<Fence> {
    fences::find(text)
}

/// Adds a piece of prose; the first heading of the file is its title.
fn take_prose(document: &mut Document, text: &str, range: Range<usize>) {
    let mut prose = text.get(range).unwrap_or_default();
    if document.parts.is_empty() && document.title.is_empty() {
        let trimmed = prose.trim_start_matches(['\n', '\r', '\u{feff}']);
        let (first, rest) = trimmed.split_once('\n').unwrap_or((trimmed, ""));
        if let Some(title) = heading(first) {
            title.clone_into(&mut document.title);
            prose = rest;
        }
    }
    let prose = prose
        .trim_start_matches(['\n', '\r', '\u{feff}'])
        .trim_end();
    if !prose.trim().is_empty() {
        document
            .parts
            .push(Part::Prose(prose.replace("\r\n", "\n")));
    }
}

/// The words of a heading of level 1 (`CommonMark` 0.31, section 4.2).
fn heading(line: &str) -> Option<&str> {
    let words = line.trim_end().strip_prefix("# ")?.trim();
    let bare = words.trim_end_matches('#');
    let closed = bare.is_empty() || bare.ends_with([' ', '\t']);
    let words = if closed { bare.trim_end() } else { words };
    (!words.is_empty()).then_some(words)
}

fn note(code: &str, error: bool, place: Range<usize>, message: String) -> Note {
    Note {
        code: code.into(),
        error,
        field: FIELD.into(),
        start: place.start,
        end: place.end,
        message,
        repairs: Vec::new(),
    }
}

fn add_repair(note: &mut Note, label: &str, place: Range<usize>, text: String) {
    let change = (FIELD.to_owned(), place.start, place.end, text);
    note.repairs.push((label.to_owned(), vec![change]));
}

/// The field of notes about a file.
pub const FIELD: &str = "file";
