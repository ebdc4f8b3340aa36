//! Where in the file the text of a problem's fields stands, so that what the solver says about a
//! field points into the file.

use super::FIELD;
use crate::protocol::{Change, Note};
use std::ops::Range;

/// A piece of a field's text and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Piece {
    field: String,
    /// First byte in the field's text.
    from: usize,
    /// The piece in the file.
    at: Range<usize>,
}

/// The places of a problem in its file.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Places {
    /// The whole block.
    pub block: Range<usize>,
    /// Its first line.
    pub head: Range<usize>,
    /// What is between its first and its last line.
    pub content: Range<usize>,
    pieces: Vec<Piece>,
}

/// Fields that are lines of their own, and the keys of the others.
const LINES: [&str; 2] = ["equation", "conditions"];

impl Places {
    /// Notes where a piece of a field's text stands.
    pub(super) fn add(&mut self, field: &str, from: usize, at: Range<usize>) {
        self.pieces.push(Piece {
            field: field.into(),
            from,
            at,
        });
    }

    fn of<'a>(&'a self, field: &'a str) -> impl Iterator<Item = &'a Piece> {
        self.pieces.iter().filter(move |piece| piece.field == field)
    }

    /// The place in the file of a byte of a field.
    fn byte(&self, field: &str, at: usize) -> Option<usize> {
        let inside = |piece: &&Piece| (piece.from..=piece.from + piece.at.len()).contains(&at);
        let piece = self.of(field).find(inside)?;
        Some(piece.at.start + (at - piece.from))
    }

    /// The place in the file of a range of a field; where there is none, the block's first line.
    pub fn range(&self, field: &str, range: Range<usize>) -> Range<usize> {
        let ends = self
            .byte(field, range.start)
            .zip(self.byte(field, range.end));
        match (ends, self.of(field).next()) {
            (Some((start, end)), _) if start <= end => start..end,
            (_, Some(first)) => first.at.clone(),
            _ => self.head.clone(),
        }
    }

    /// What the solver says about a field, said about the file. Repairs that cannot be carried over
    /// are left out.
    pub fn shift(&self, note: &Note) -> Note {
        let place = self.range(&note.field, note.start..note.end);
        let repairs = note.repairs.iter().filter_map(|(label, changes)| {
            let changes: Option<Vec<Change>> = changes
                .iter()
                .map(|change| self.shift_change(change))
                .collect();
            Some((label.clone(), changes?))
        });
        Note {
            field: FIELD.into(),
            start: place.start,
            end: place.end,
            repairs: repairs.collect(),
            ..note.clone()
        }
    }

    fn shift_change(&self, (field, start, end, text): &Change) -> Option<Change> {
        if self.of(field).next().is_some() {
            let (start, end) = (self.byte(field, *start)?, self.byte(field, *end)?);
            let one_line = !text.contains('\n') || LINES.contains(&field.as_str());
            return (start <= end && one_line).then(|| (FIELD.into(), start, end, text.clone()));
        }
        // The field was empty: a line is added behind the equations, or at the end.
        let line = match field.as_str() {
            "conditions" => text.replace('\n', ", "),
            "candidate" => format!("formula: {text}"),
            "degree" | "from" | "to" | "beside" => format!("{field}: {text}"),
            _ => return None,
        };
        let behind = self.of("equation").map(|piece| piece.at.end).max();
        let (at, text) = behind.map_or_else(
            || (self.content.start, format!("{line}\n")),
            |at| (at, format!("\n{line}")),
        );
        Some((FIELD.into(), at, at, text))
    }
}

/// Line and column, both from 1, of a byte of a text.
pub fn position(text: &str, at: usize) -> (usize, usize) {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    let before = text.get(..at).unwrap_or("");
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    let line = 1 + before.matches('\n').count();
    let column = 1 + before.get(start..).unwrap_or("").chars().count();
    (line, column)
}
