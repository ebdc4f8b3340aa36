//! Writing a file: the reverse of reading.

use super::read::{is_condition, split_key};
use super::{Document, Part, ProblemBlock};
use crate::inputs::{Choice, Inputs};
use std::fmt::Write;

/// The whole file.
pub(super) fn document(document: &Document) -> String {
    let mut blocks = Vec::new();
    if !document.title.trim().is_empty() {
        blocks.push(format!("# {}", one_line(&document.title)));
    }
    let mut sheet = String::new();
    for (key, value) in [
        ("course", &document.course),
        ("date", &document.date),
        ("version", &document.version),
        ("author", &document.author),
    ] {
        line(&mut sheet, key, value);
    }
    if !sheet.is_empty() {
        blocks.push(format!("```sheet\n{sheet}```"));
    }
    blocks.extend(document.parts.iter().map(|part| match part {
        Part::Prose(text) => text.trim_end().to_owned(),
        Part::Problem(problem) => block(problem),
    }));
    let mut out = blocks.join("\n\n");
    out.push('\n');
    out
}

/// A problem's fenced block, without a line break at its end.
pub(super) fn block(block: &ProblemBlock) -> String {
    let inputs = &block.inputs;
    let fresh = Inputs::default();
    let mut out = String::from("```ivp\n");
    for text in inputs.equation.lines().map(str::trim) {
        if is_condition(text) || split_key(text).is_some() {
            line(&mut out, "equation", text);
        } else if !text.is_empty() {
            let _ = writeln!(out, "{text}");
        }
    }
    for text in inputs.conditions.lines().map(str::trim) {
        if !is_condition(text) || split_key(text).is_some() {
            line(&mut out, "conditions", text);
        } else {
            let _ = writeln!(out, "{text}");
        }
    }
    line(&mut out, "title", &block.title);
    line(&mut out, "degree", &inputs.degree);
    line(&mut out, "formula", &inputs.candidate);
    line(&mut out, "from", &inputs.from);
    line(&mut out, "to", &inputs.to);
    line(&mut out, "beside", &inputs.beside);
    let numbers = inputs.numbers.iter().filter(|(_, text)| !text.is_empty());
    let numbers: Vec<String> = numbers
        .map(|(letter, text)| format!("{letter} = {}", text.replace(',', " ")))
        .collect();
    line(&mut out, "numbers", &numbers.join(", "));
    choice(&mut out, "route", inputs.route, fresh.route);
    choice(&mut out, "depth", inputs.depth, fresh.depth);
    choice(&mut out, "figures", inputs.figures, fresh.figures);
    choice(&mut out, "digits", inputs.digits, fresh.digits);
    line(&mut out, "unknown", &inputs.unknown);
    line(&mut out, "across", &inputs.across);
    line(&mut out, "up", &inputs.up);
    line(&mut out, "show", &block.show.join(", "));
    line(&mut out, "tolerance", &inputs.tolerance);
    line(&mut out, "ask", &block.ask);
    if let Some(room) = block.room {
        line(&mut out, "room", &room.to_string());
    }
    let marks = block.marks.iter();
    let marks: Vec<String> = marks
        .map(|(row, marks)| format!("{row} = {marks}"))
        .collect();
    line(&mut out, "marks", &marks.join(", "));
    for (row, text) in &block.rewordings {
        line(&mut out, &format!("reason {row}"), text);
    }
    for (row, text) in &block.remarks {
        line(&mut out, &format!("remark {row}"), text);
    }
    out.push_str("```");
    out
}

fn choice<T: Choice>(out: &mut String, key: &str, value: T, fresh: T) {
    if value != fresh {
        line(out, key, value.name());
    }
}

/// A key with its value; nothing where there is no value.
fn line(out: &mut String, key: &str, value: &str) {
    let value = one_line(value);
    if !value.is_empty() {
        let _ = writeln!(out, "{key}: {value}");
    }
}

/// The text on one line.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}
