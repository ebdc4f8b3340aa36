//! Reading the inside of a block.

use super::fences::Fence;
use super::keys::{self, KEYS, Key, SHEET_KEYS, SHOWN};
use super::{Document, MOST_MARKS, MOST_ROOM, ProblemBlock, add_repair, note};
use crate::inputs::{Choice, Inputs};
use crate::protocol::Note;
use std::ops::Range;

/// The degree where none is written.
const DEGREE: &str = "5";

/// A value with its place in the file.
struct Value<'a> {
    text: &'a str,
    at: Range<usize>,
    /// Lines that go on below, if any, joined to it.
    joined: String,
}

impl Value<'_> {
    /// The whole value on one line.
    fn whole(&self) -> String {
        if self.joined.is_empty() {
            self.text.to_owned()
        } else {
            self.joined.clone()
        }
    }
}

/// A line of a block.
enum Entry<'a> {
    /// Without a key.
    Bare(&'a str, Range<usize>),
    /// Key, the rest of what is in front of the colon, where that stands, value.
    Keyed(&'static Key, &'a str, Range<usize>, Value<'a>),
}

/// What a line begins with in front of a colon: words of letters, digits, `-` and spaces.
pub(super) fn split_key(line: &str) -> Option<(&str, &str)> {
    let (front, value) = line.split_once(':')?;
    let fits = |c: char| c.is_alphanumeric() || c == '-' || c == '_' || c == ' ';
    let starts = front.starts_with(|c: char| c.is_alphabetic());
    (starts && front.chars().all(fits)).then_some((front, value))
}

/// Is this line conditions? `y(0) = 1, y'(0) = 0`, `y = 2 at x = 1`, `y^(4)(0) = 1`; but not
/// `y''(x) + y(x) = 0`, where what is in brackets is a letter.
pub(super) fn is_condition(line: &str) -> bool {
    if line.contains(" at ") {
        return true;
    }
    let line = line.trim();
    let name = line
        .find(|c: char| !(c.is_alphanumeric() || c == '_' || c == '\\'))
        .unwrap_or(line.len());
    if name == 0 {
        return false;
    }
    let mut rest = line.get(name..).unwrap_or("").trim_start();
    // An order in brackets.
    if let Some(order) = rest.strip_prefix('^') {
        let order = order.trim_start_matches(['(', '{']);
        let end = order.find(|c: char| !c.is_ascii_digit()).unwrap_or(0);
        rest = order
            .get(end..)
            .unwrap_or("")
            .trim_start_matches([')', '}']);
    }
    let primes = |c: char| "'′″‴’\"´".contains(c) || c.is_whitespace();
    let Some((argument, behind)) = rest
        .trim_start_matches(primes)
        .strip_prefix('(')
        .and_then(|rest| rest.split_once(')'))
    else {
        return false;
    };
    let argument = argument.trim();
    let letter = argument.chars().all(char::is_alphabetic) && !matches!(argument, "pi" | "π" | "e");
    !letter
        && behind
            .trim_start()
            .starts_with(['=', ')', '/', '+', '-', '*'])
}

/// The lines of a block: empty ones are passed over, and one that begins with a space goes on with
/// the value above.
fn entries<'a>(
    text: &'a str,
    fence: &Fence,
    known: &'static [Key],
    notes: &mut Vec<Note>,
) -> Vec<Entry<'a>> {
    let mut out: Vec<Entry<'a>> = Vec::new();
    let mut start = fence.content.start;
    let content = text.get(fence.content.clone()).unwrap_or("");
    for whole in content.split_inclusive('\n') {
        let from = start;
        start += whole.len();
        let line = whole.trim_end();
        let trimmed = line.trim_start();
        if trimmed.is_empty() {
            continue;
        }
        let at = from + (line.len() - trimmed.len())..from + line.len();
        if line.len() > trimmed.len()
            && let Some(Entry::Keyed(_, _, _, value)) = out.last_mut()
        {
            value.joined = format!("{} {trimmed}", value.whole());
            continue;
        }
        let Some((front, value)) = split_key(trimmed) else {
            out.push(Entry::Bare(trimmed, at));
            continue;
        };
        let front_at = at.start..at.start + front.len();
        let (word, row) = front.split_once(' ').unwrap_or((front, ""));
        let row = row.trim();
        let key = known
            .iter()
            .find(|key| key.name == word && key.of_row != row.is_empty());
        let Some(key) = key else {
            notes.push(unknown_key(front, front_at, known));
            continue;
        };
        let bare = value.trim();
        let value_at = at.end - value.trim_start().len()..at.end;
        let row_at = front_at.end - row.len()..front_at.end;
        let value = Value {
            text: bare,
            at: value_at,
            joined: String::new(),
        };
        out.push(Entry::Keyed(key, row, row_at, value));
    }
    out
}

fn unknown_key(front: &str, at: Range<usize>, known: &'static [Key]) -> Note {
    let word = front.split(' ').next().unwrap_or(front);
    let names = || known.iter().map(|key| key.name);
    if let Some(key) = known.iter().find(|key| key.name == word) {
        let words = if key.of_row {
            format!("Behind {word} the row is named, as in: {word} order-2: …")
        } else {
            format!("Behind {word} comes its colon: {word}: …")
        };
        return note("key-form", true, at, words);
    }
    let meant = keys::nearest(word, names());
    let words = if let Some(meant) = meant {
        format!("There is no key {word} here. Perhaps {meant} is meant?")
    } else {
        let all: Vec<&str> = names().collect();
        format!(
            "There is no key {word} here. The keys are: {}.",
            all.join(", ")
        )
    };
    let place = at.start..at.start + word.len();
    let mut note = note("unknown-key", true, place.clone(), words);
    if let Some(meant) = meant {
        add_repair(&mut note, &format!("write {meant}"), place, meant.into());
    }
    note
}

/// Reads what the file is for.
pub(super) fn sheet(document: &mut Document, text: &str, fence: &Fence, notes: &mut Vec<Note>) {
    for entry in entries(text, fence, SHEET_KEYS, notes) {
        match entry {
            Entry::Keyed(key, _, _, value) => {
                let slot = match key.name {
                    "course" => &mut document.course,
                    "date" => &mut document.date,
                    "version" => &mut document.version,
                    _ => &mut document.author,
                };
                *slot = value.whole();
            }
            Entry::Bare(_, at) => {
                let words =
                    "A line here is a key with its value, such as: course: Differential equations";
                notes.push(note("no-key", true, at, words.into()));
            }
        }
    }
}

/// Reads a problem.
pub(super) fn problem(text: &str, fence: &Fence, notes: &mut Vec<Note>) -> ProblemBlock {
    let mut block = ProblemBlock::default();
    block.places.block = fence.range.clone();
    block.places.head = fence.head.clone();
    block.places.content = fence.content.clone();
    for entry in entries(text, fence, KEYS, notes) {
        match entry {
            Entry::Bare(line, at) => {
                let field = if is_condition(line) {
                    "conditions"
                } else {
                    "equation"
                };
                add_line(&mut block, field, line, at);
            }
            Entry::Keyed(key, row, row_at, value) => {
                take(&mut block, key.name, (row, row_at), &value, notes);
            }
        }
    }
    if block.inputs.degree.is_empty() {
        DEGREE.clone_into(&mut block.inputs.degree);
    }
    if block.inputs.equation.is_empty() {
        let words =
            "This block has no equation. Write it on the first line, for example: y'' = x y";
        notes.push(note("no-equation", true, fence.head.clone(), words.into()));
    }
    block
}

/// A line of the equation's or the conditions' field.
fn add_line(block: &mut ProblemBlock, field: &str, line: &str, at: Range<usize>) {
    let text = if field == "equation" {
        &mut block.inputs.equation
    } else {
        &mut block.inputs.conditions
    };
    if !text.is_empty() {
        text.push('\n');
    }
    block.places.add(field, text.len(), at);
    text.push_str(line);
}

fn take(
    block: &mut ProblemBlock,
    key: &'static str,
    (row, row_at): (&str, Range<usize>),
    value: &Value<'_>,
    notes: &mut Vec<Note>,
) {
    let whole = value.whole();
    let at = || value.at.clone();
    match key {
        "equation" | "conditions" => add_line(block, key, value.text, at()),
        "title" => block.title = whole,
        "ask" => block.ask = whole,
        "show" => block.show = shown(value, notes),
        "marks" => block.marks = marks(value, notes),
        "room" => block.room = number(value, "lines of room", MOST_ROOM, notes),
        "numbers" => {
            for (letter, text, _) in pairs(value, notes, "k = 1/2, m = 3") {
                block.inputs.set_number(letter, text.to_owned());
            }
            block.places.add("parameters", 0, at());
        }
        "reason" | "remark" => {
            let row = row_key(row);
            let list = if key == "reason" {
                &mut block.rewordings
            } else {
                &mut block.remarks
            };
            if list.iter().any(|(own, _)| *own == row) {
                let words = format!("The row {row} has its {key} already; the first is kept.");
                notes.push(note("twice", false, row_at, words));
            } else if !whole.is_empty() {
                list.push((row, whole));
            }
        }
        "route" => choice(value, &mut block.inputs.route, notes),
        "depth" => choice(value, &mut block.inputs.depth, notes),
        "figures" => choice(value, &mut block.inputs.figures, notes),
        "digits" => choice(value, &mut block.inputs.digits, notes),
        _ => {
            if let Some((slot, field)) = text_field(&mut block.inputs, key) {
                whole.clone_into(slot);
                block.places.add(field, 0, at());
            }
        }
    }
}

/// A field of the worksheet that is one line of text, with its name in the solver's messages.
fn text_field<'a>(inputs: &'a mut Inputs, key: &str) -> Option<(&'a mut String, &'static str)> {
    Some(match key {
        "degree" => (&mut inputs.degree, "degree"),
        "tolerance" => (&mut inputs.tolerance, "tolerance"),
        "formula" => (&mut inputs.candidate, "candidate"),
        "from" => (&mut inputs.from, "from"),
        "to" => (&mut inputs.to, "to"),
        "beside" => (&mut inputs.beside, "beside"),
        "unknown" => (&mut inputs.unknown, "unknown"),
        "across" => (&mut inputs.across, "across"),
        "up" => (&mut inputs.up, "up"),
        _ => return None,
    })
}

/// The key of a row as it is in a ledger: `order 2` is `order-2`.
fn row_key(row: &str) -> String {
    row.split_whitespace().collect::<Vec<_>>().join("-")
}

fn choice<T: Choice>(value: &Value<'_>, slot: &mut T, notes: &mut Vec<Note>) {
    match T::parse(value.text) {
        Some(found) => *slot = found,
        None => notes.push(not_one_of(
            value.text,
            value.at.clone(),
            T::NAMES.iter().map(|(_, name)| *name).collect(),
        )),
    }
}

/// Says that a word is none of those that can stand here.
fn not_one_of(typed: &str, at: Range<usize>, names: Vec<&'static str>) -> Note {
    let words = format!("{typed} cannot stand here, only: {}.", names.join(", "));
    let mut note = note("unknown-value", true, at.clone(), words);
    let offered = match keys::nearest(typed, names.iter().copied()) {
        Some(name) => vec![name],
        None if names.len() <= 3 => names,
        None => Vec::new(),
    };
    for name in offered {
        add_repair(&mut note, &format!("write {name}"), at.clone(), name.into());
    }
    note
}

/// The pieces between commas, with their places. (Of the first line: nothing here goes on below.)
fn pieces<'a>(value: &Value<'a>) -> Vec<(&'a str, Range<usize>)> {
    let mut from = value.at.start;
    let mut out = Vec::new();
    for piece in value.text.split(',') {
        let bare = piece.trim();
        let start = from + (piece.len() - piece.trim_start().len());
        if !bare.is_empty() {
            out.push((bare, start..start + bare.len()));
        }
        from += piece.len() + 1;
    }
    out
}

fn shown(value: &Value<'_>, notes: &mut Vec<Note>) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for (name, at) in pieces(value) {
        let plain = name.to_lowercase();
        let plain = plain.split_whitespace().collect::<Vec<_>>().join(" ");
        if !SHOWN.contains(&plain.as_str()) {
            notes.push(not_one_of(name, at, SHOWN.to_vec()));
        } else if !out.contains(&plain) {
            out.push(plain);
        }
    }
    out
}

/// Pairs `name = text` between commas.
fn pairs<'a>(
    value: &Value<'a>,
    notes: &mut Vec<Note>,
    example: &str,
) -> Vec<(&'a str, &'a str, Range<usize>)> {
    let mut out = Vec::new();
    for (piece, at) in pieces(value) {
        match piece.split_once('=') {
            Some((name, text)) if !name.trim().is_empty() && !text.trim().is_empty() => {
                let text = text.trim();
                let place = at.end - text.len()..at.end;
                out.push((name.trim(), text, place));
            }
            _ => {
                let words = format!("Write a name, an equals sign and a value, as in: {example}");
                notes.push(note("no-pair", true, at, words));
            }
        }
    }
    out
}

fn marks(value: &Value<'_>, notes: &mut Vec<Note>) -> Vec<(String, u32)> {
    let mut out = Vec::new();
    for (row, text, at) in pairs(value, notes, "order-2 = 3, polynomial = 2") {
        let value = Value {
            text,
            at,
            joined: String::new(),
        };
        if let Some(marks) = number(&value, "marks", MOST_MARKS, notes) {
            out.push((row_key(row), marks));
        }
    }
    out
}

/// A whole number up to a limit.
fn number(value: &Value<'_>, of: &str, most: u32, notes: &mut Vec<Note>) -> Option<u32> {
    let found = value.text.parse().ok().filter(|number| *number <= most);
    if found.is_none() {
        let words = format!("A whole number of {of} is needed here, from 0 to {most}.");
        let mut note = note("not-a-number", true, value.at.clone(), words);
        if value.text.bytes().all(|b| b.is_ascii_digit()) && !value.text.is_empty() {
            add_repair(
                &mut note,
                &format!("write {most}"),
                value.at.clone(),
                most.to_string(),
            );
        }
        notes.push(note);
    }
    found
}
