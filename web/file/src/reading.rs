//! A file as the page shows it: pieces of HTML, problems to work, notes with their places.

use crate::markdown::{self, Placed};
use std::fmt::Write as _;
use web::file::{self, Document, MOST_PROBLEMS, ProblemBlock};
use web::html::escape;
use web::protocol::Note;
use web::{address, block};

/// A file's text as it is read.
#[derive(Debug)]
pub struct Reading {
    /// The text.
    pub text: String,
    /// What it says.
    pub document: Document,
    /// What the page shows, in order.
    pub pieces: Vec<Placed>,
    /// What is to be said about it.
    pub notes: Vec<Note>,
}

/// A problem as the page asks for it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Asked {
    /// HTML above the block.
    pub above: String,
    /// The inputs as an address fragment.
    pub inputs: String,
    /// The names of what is shown.
    pub parts: String,
    /// The block's heading.
    pub heading: String,
    /// The address of the problem's own worksheet.
    pub address: String,
    /// The teacher's words for rows (see [`block::in_words`]).
    pub words: String,
}

impl Reading {
    /// Reads a text.
    pub fn new(text: &str) -> Self {
        let (document, mut notes) = file::parse(text);
        // A text that is too long has no document; nothing of it is shown either.
        let (pieces, prose) = if text.len() > file::LONGEST {
            (Vec::new(), Vec::new())
        } else {
            markdown::pieces(text, &file::fences(text))
        };
        notes.extend(prose);
        notes.sort_by_key(|note| note.start);
        Self {
            text: text.to_owned(),
            document,
            pieces,
            notes,
        }
    }

    /// What a block says about its problem, as notes about the file.
    pub fn block_notes(&self, number: usize, html: &str) -> Vec<Note> {
        let Some(problem) = self.document.problems().nth(number) else {
            return Vec::new();
        };
        let notes = block::messages(html);
        notes
            .iter()
            .map(|note| problem.places.shift(note))
            .collect()
    }

    /// How many units of UTF-16 are in front of a byte: scripts count so.
    pub fn unit(&self, at: usize) -> u32 {
        let mut at = at.min(self.text.len());
        while !self.text.is_char_boundary(at) {
            at -= 1;
        }
        let before = self.text.get(..at).unwrap_or("");
        u32::try_from(before.encode_utf16().count()).unwrap_or(u32::MAX)
    }
}

/// What the file is for, in a line below its title.
pub fn head(document: &Document) -> String {
    let version = match document.version.as_str() {
        "" => String::new(),
        version => format!("version {version}"),
    };
    let words = [&document.course, &document.date, &version, &document.author];
    let words: Vec<String> = words
        .iter()
        .filter(|text| !text.is_empty())
        .map(|text| escape(text))
        .collect();
    if words.is_empty() {
        return String::new();
    }
    format!("<p class=\"head\">{}</p>", words.join(" · "))
}

/// What the page asks for a problem.
pub fn asked(problem: &ProblemBlock, number: usize) -> Asked {
    let mut above = String::new();
    if !problem.inputs.tolerance.is_empty() {
        let _ = write!(
            above,
            "<p class=\"wanted\">Wanted: an error of at most {}.</p>",
            escape(&problem.inputs.tolerance)
        );
    }
    let marks = problem.all_marks();
    if marks > 0 {
        let plural = if marks == 1 { "" } else { "s" };
        let _ = write!(above, "<p class=\"worth\">{marks} mark{plural}</p>");
    }
    let heading = if problem.title.is_empty() {
        format!("Problem {}", number + 1)
    } else {
        problem.title.clone()
    };
    let mut inputs = problem.inputs.clone();
    // A question to the room is asked in the presentation, too.
    inputs.ask = !problem.ask.is_empty();
    let own = address::encode(&inputs);
    let mut words = String::new();
    for (kind, list) in [
        ("reason", &problem.rewordings),
        ("remark", &problem.remarks),
    ] {
        for (row, text) in list {
            let _ = writeln!(words, "{kind}\t{row}\t{text}");
        }
    }
    Asked {
        above,
        inputs: if number < MOST_PROBLEMS {
            own.clone()
        } else {
            String::new()
        },
        parts: problem.show.join(","),
        heading,
        address: format!("index.html#{own}"),
        words,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use web::block::Frame;

    const TEXT: &str = "# Ä\n\n```sheet\ncourse: <b>\nversion: 2\n```\n\n```ivp\ny' = bluub(y)\ny(0) = 1\nask: which?\nmarks: order-1 = 1\ntolerance: 0.1\nremark order-1: see\n```\n";

    #[test]
    fn a_file_becomes_what_the_page_shows() {
        let reading = Reading::new(TEXT);
        assert_eq!(reading.pieces.len(), 3);
        assert_eq!(
            head(&reading.document),
            "<p class=\"head\">&lt;b&gt; · version 2</p>"
        );
        let asked = asked(reading.document.problems().next().unwrap(), 0);
        assert_eq!(asked.heading, "Problem 1");
        assert!(asked.inputs.contains("ask=yes"), "{}", asked.inputs);
        assert!(asked.above.contains("1 mark<") && asked.above.contains("0.1"));
        assert_eq!(asked.words, "remark\torder-1\tsee\n");
        assert_eq!(asked.address, format!("index.html#{}", asked.inputs));
    }

    #[test]
    fn what_a_block_says_points_into_the_file() {
        let reading = Reading::new(TEXT);
        let problem = reading.document.problems().next().unwrap();
        let frame = Frame {
            prefix: "p-",
            heading: "",
            level: 3,
        };
        let html = block::of_problem(problem.inputs.clone(), &block::parts(""), frame);
        let notes = reading.block_notes(0, &html);
        let first = &notes[0];
        assert_eq!(&TEXT[first.start..first.end], "bluub");
        assert_eq!(file::position(TEXT, first.start), (9, 6));
        // One character of two bytes stands in front.
        assert_eq!(
            usize::try_from(reading.unit(first.start)).unwrap(),
            first.start - 1
        );
        assert!(reading.block_notes(1, &html).is_empty());
    }

    #[test]
    fn a_text_that_is_too_long_is_said() {
        let reading = Reading::new(&"a ".repeat(file::LONGEST));
        assert!(reading.pieces.is_empty());
        assert_eq!(reading.notes[0].code, "file-too-long");
    }
}
