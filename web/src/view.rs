//! What stands around the ledger and the plot, as HTML.

use crate::appearance;
use crate::html::{escape, math};
use crate::inputs::Digits;
use crate::markup::Markup;
use crate::numerals::{self, cut, significant, typeset};
use crate::protocol::{BesideData, LetterData, Note, PlotData};
use crate::sheet::letter;
use crate::state::State;
use solver::document::formula::Formula;
use std::fmt::Write;

/// Is it about a field that stands by the plot?
pub fn is_about_plot(note: &Note) -> bool {
    ["from", "to", "beside"].contains(&note.field.as_str())
}

/// Is it about how far the polynomial may be trusted?
pub fn is_about_far(note: &Note) -> bool {
    ["tolerance", "at"].contains(&note.field.as_str())
}

/// Is it about the numbers for the letters, which stand by the plot?
pub fn is_about_letters(note: &Note) -> bool {
    note.field == "parameters"
}

/// A number field and a slider for each letter.
pub fn letters(letters: &[LetterData]) -> String {
    let mut out = String::new();
    for (index, letter) in letters.iter().enumerate() {
        let name = escape(&letter.name);
        let _ = write!(
            out,
            "<div class=\"letter\"><label id=\"letter-{index}\" for=\"number-{index}\">{}</label>\
             <input id=\"number-{index}\" data-letter=\"{name}\" type=\"text\" spellcheck=\"false\" autocapitalize=\"none\" aria-describedby=\"letters-notes\">\
             <input id=\"slide-{index}\" data-letter=\"{name}\" type=\"range\" aria-labelledby=\"letter-{index}\" min=\"{}\" max=\"{}\" step=\"{}\"></div>",
            letter.label,
            letter.low,
            letter.high,
            letter.high / 50.0,
        );
    }
    out
}

/// The rows by name, as the options of a list.
pub fn row_names(rows: &[&Markup]) -> String {
    let mut out = String::new();
    for (index, row) in rows.iter().enumerate() {
        let name = row.part("reason").map(Markup::words).unwrap_or_default();
        let short: String = name.chars().take(48).collect();
        // Not in the middle of an escaped character.
        let short = match short.rsplit_once('&') {
            Some((before, begun)) if !begun.contains(';') => before,
            _ => short.as_str(),
        };
        let more = if short.len() < name.len() { "…" } else { "" };
        let _ = write!(
            out,
            "<option value=\"{index}\">{}. {short}{more}</option>",
            index + 1
        );
    }
    out
}

/// The messages that `wanted` picks.
pub fn notes(notes: &[Note], wanted: impl Fn(&Note) -> bool) -> String {
    let mut out = String::new();
    for (index, note) in notes.iter().enumerate().filter(|(_, note)| wanted(note)) {
        let kind = if note.error { "error" } else { "notice" };
        let _ = write!(
            out,
            "<p class=\"{kind}\" data-diagnostic=\"{}\">{}",
            escape(&note.code),
            escape(&note.message)
        );
        for (choice, (label, _)) in note.repairs.iter().enumerate() {
            let _ = write!(
                out,
                " <button type=\"button\" data-repair=\"{index} {choice}\">{}</button>",
                escape(label)
            );
        }
        out.push_str("</p>");
    }
    out
}

/// A field's text with the places of its mistakes marked, to lie under the field.
pub fn marked(text: &str, field: &str, notes: &[Note]) -> String {
    let mut spans: Vec<(usize, usize)> = notes
        .iter()
        .filter(|note| {
            (note.error || matches!(field, "beside" | "candidate")) && note.field == field
        })
        .map(|note| widen(text, note.start, note.end))
        .collect();
    solver::sorting::sort_by(&mut spans, Ord::cmp);
    let mut out = String::new();
    let mut at = 0;
    for (start, end) in spans {
        let start = start.max(at);
        if let (Some(before), Some(inside)) = (text.get(at..start), text.get(start..end)) {
            let _ = write!(out, "{}<mark>{}</mark>", escape(before), escape(inside));
            at = end;
        }
    }
    if at == 0 {
        return String::new();
    }
    out.push_str(&escape(text.get(at..).unwrap_or("")));
    out
}

/// A range that shows: an empty one takes the character before it (or the one after it).
fn widen(text: &str, start: usize, end: usize) -> (usize, usize) {
    let (start, end) = (start.min(text.len()), end.min(text.len()));
    if start < end {
        return (start, end);
    }
    match text
        .get(..start)
        .and_then(|before| before.chars().next_back())
    {
        Some(character) => (start - character.len_utf8(), start),
        None => (0, text.chars().next().map_or(0, char::len_utf8)),
    }
}

/// The reading, typeset.
pub fn reading(formulas: &[Formula]) -> Vec<Markup> {
    formulas
        .iter()
        .map(|formula| Markup::leaf("span", "", math(formula)))
        .collect()
}

/// The partial sum and its error in a row of the table.
struct Reading {
    solution: Option<f64>,
    sum: Option<f64>,
    error: Option<f64>,
}

/// The `row`-th value of the partial sum of a degree, or of the highest below it.
fn beside_sum(beside: &BesideData, row: usize, rows: usize, degree: usize) -> Option<f64> {
    let width = beside.sums.0.len().checked_div(rows)?;
    let degree = degree.min(width.checked_sub(1)?);
    let value = beside.sums.0.get(row * width + degree).copied();
    value.filter(|value| value.is_finite())
}

fn read(plot: &PlotData, row: usize, degree: usize) -> Reading {
    let width = plot
        .table_sums
        .0
        .len()
        .checked_div(plot.table_x.len())
        .unwrap_or(0);
    let at = if degree < width {
        Some(row * width + degree)
    } else {
        None
    };
    let find = |numbers: &[f64]| {
        at.and_then(|at| numbers.get(at))
            .copied()
            .filter(|value| !value.is_nan())
    };
    Reading {
        solution: plot
            .table_value
            .0
            .get(row)
            .copied()
            .filter(|value| !value.is_nan()),
        sum: find(&plot.table_sums.0),
        error: find(&plot.table_errors.0),
    }
}

/// So many digits of the partial sum that its difference from the solution can be seen.
fn digits(reading: &Reading) -> usize {
    match (reading.sum, reading.error) {
        (Some(sum), Some(error)) if error > 0.0 && sum != 0.0 => {
            let mut digits = 5;
            let mut unit = sum.abs() * 1e-4;
            while digits < 15 && unit > error / 10.0 {
                unit /= 10.0;
                digits += 1;
            }
            digits
        }
        _ => 6,
    }
}

/// No more digits of an estimate than a reader compares.
fn shorten(estimate: &str, value: Option<f64>, digits: usize) -> String {
    let shown = estimate.chars().filter(char::is_ascii_digit).count();
    match value {
        Some(value) if shown > digits && digits <= 15 => significant(value, digits),
        _ => typeset(estimate),
    }
}

/// The letters of the read-out, escaped.
struct Named {
    x: String,
    y: String,
    /// Of the partial sums.
    sum: String,
}

fn named(state: &State) -> Named {
    let Some(drawing) = &state.drawing else {
        return Named {
            x: String::new(),
            y: String::new(),
            sum: String::new(),
        };
    };
    let (x, unknowns) = &drawing.names;
    Named {
        x: escape(x),
        y: escape(unknowns.get(state.followed()).map_or("", String::as_str)),
        sum: escape(sum_letter(unknowns, state.followed())),
    }
}

/// The letter of the partial sums: P; of a system the unknown's own.
pub fn sum_letter(unknowns: &[String], followed: usize) -> &str {
    match unknowns {
        [] | [_] => "P",
        _ => unknowns.get(followed).map_or("P", String::as_str),
    }
}

/// A choice of unknowns, one radio button each.
pub fn unknowns(state: &State) -> String {
    let mut out = String::new();
    for name in state.unknowns() {
        let _ = write!(
            out,
            "<label><input type=\"radio\" name=\"unknown\" value=\"{}\"><span><i>{}</i></span></label>",
            escape(name),
            escape(&letter(name))
        );
    }
    out
}

/// The same as entries of a list.
pub fn options(state: &State) -> String {
    let mut out = String::new();
    for name in state.unknowns() {
        let _ = write!(
            out,
            "<option value=\"{}\">{}</option>",
            escape(name),
            escape(&letter(name))
        );
    }
    out
}

/// The read-out: values at one x.
pub fn readout(state: &State) -> String {
    let (Some(plot), Some(row)) = (state.plot(), state.read_row()) else {
        return String::new();
    };
    let Named { x, y, sum } = named(state);
    let reading = read(plot, row, state.shown);
    let at = plot
        .table_x
        .get(row)
        .map(|text| typeset(text))
        .unwrap_or_default();
    let estimate = plot
        .table_reference
        .get(row)
        .filter(|text| !text.is_empty());
    let many = digits(&reading) + 1;
    // All of them where the reader asked for many.
    let certain = match state.inputs.digits {
        Digits::Fifteen => many,
        Digits::Thirty | Digits::Fifty => usize::MAX,
    };
    let mut out = format!("<caption>at <i>{x}</i> = {}</caption>", escape(&at));
    let _ = write!(
        out,
        "<tr><th scope=\"row\"><i>{y}</i></th><td>{}</td></tr>",
        estimate.map_or_else(
            || "not reached".to_owned(),
            |text| {
                let about = if plot.proved {
                    typeset(&cut(text, certain))
                } else {
                    format!("about {}", shorten(text, reading.solution, many))
                };
                escape(&about)
            }
        )
    );
    let _ = write!(
        out,
        "<tr class=\"{}\"><th scope=\"row\"><i>{sum}</i><sub>{}</sub></th><td>{}</td></tr>",
        appearance::classes(state.shown),
        state.shown,
        reading
            .sum
            .map_or_else(|| "–".to_owned(), |sum| significant(sum, many))
    );
    let _ = write!(
        out,
        "<tr><th scope=\"row\">difference</th><td>{}</td></tr>",
        match reading.error {
            Some(error) if estimate.is_some() => format!("about {}", significant(error, 2)),
            _ => "not known".to_owned(),
        }
    );
    for (number, beside) in (2..).zip(&plot.beside) {
        if let Some(text) = beside.reference.get(row).filter(|text| !text.is_empty()) {
            let _ = write!(
                out,
                "<tr><th scope=\"row\"><i>{y}</i><sub>{number}</sub></th><td>about {}</td></tr>",
                escape(&shorten(text, numerals::number(text), 6))
            );
        }
        let sum = beside_sum(beside, row, plot.table_x.len(), state.shown);
        let _ = write!(
            out,
            "<tr class=\"{}\"><th scope=\"row\"><i>P</i><sub>{}; {number}</sub></th><td>{}</td></tr>",
            appearance::classes(state.shown),
            state.shown,
            sum.map_or_else(|| "–".to_owned(), |sum| significant(sum, 6))
        );
    }
    out
}

/// The same data as a table, for the degree shown.
pub fn table(state: &State) -> String {
    table_of(state, &|_| true)
}

/// The rows of the table nearest to the marks on the horizontal axis.
pub fn short_table(state: &State) -> String {
    let Some(plot) = state.plot() else {
        return String::new();
    };
    let nearest = |mark: f64| {
        let rows = plot.table_at.0.iter().enumerate();
        let away = rows.map(|(row, at)| (row, (at - mark).abs()));
        away.min_by(|a, b| a.1.total_cmp(&b.1)).map(|found| found.0)
    };
    let ticks = plot.curves.x.ticks.iter();
    let marked: Vec<usize> = ticks.filter_map(|(at, _)| nearest(*at)).collect();
    table_of(state, &|row| marked.contains(&row))
}

fn table_of(state: &State, wanted: &dyn Fn(usize) -> bool) -> String {
    let Some(plot) = state.plot() else {
        return String::new();
    };
    let Named { x, y, sum } = named(state);
    let mut out = format!(
        "<thead><tr><th scope=\"col\"><i>{x}</i></th><th scope=\"col\"><i>{y}</i>{}</th>\
         <th scope=\"col\"><i>{sum}</i><sub>{}</sub></th><th scope=\"col\">difference, about</th>",
        if plot.proved { "" } else { ", about" },
        state.shown
    );
    for (number, beside) in (2..).zip(&plot.beside) {
        if beside.reference.iter().any(|text| !text.is_empty()) {
            let _ = write!(
                out,
                "<th scope=\"col\"><i>{y}</i><sub>{number}</sub>, about</th>"
            );
        }
        let _ = write!(
            out,
            "<th scope=\"col\"><i>P</i><sub>{}; {number}</sub></th>",
            state.shown
        );
    }
    out.push_str("</tr></thead><tbody>");
    let rows = plot.table_x.iter().enumerate();
    for (row, x) in rows.filter(|(row, _)| wanted(*row)) {
        let reading = read(plot, row, state.shown);
        let estimate = plot
            .table_reference
            .get(row)
            .map(String::as_str)
            .unwrap_or_default();
        let _ = write!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td>",
            escape(&typeset(x)),
            reached(estimate),
            reading
                .sum
                .map_or_else(|| "–".to_owned(), |sum| significant(sum, 10)),
            reading
                .error
                .map_or_else(|| "–".to_owned(), |error| significant(error, 2)),
        );
        for beside in &plot.beside {
            if beside.reference.iter().any(|text| !text.is_empty()) {
                let text = beside.reference.get(row).map_or("", String::as_str);
                let _ = write!(out, "<td>{}</td>", reached(text));
            }
            let sum = beside_sum(beside, row, plot.table_x.len(), state.shown);
            let _ = write!(
                out,
                "<td>{}</td>",
                sum.map_or_else(|| "–".to_owned(), |sum| significant(sum, 10))
            );
        }
        out.push_str("</tr>");
    }
    out.push_str("</tbody>");
    out
}

/// An estimate, where there is one.
fn reached(estimate: &str) -> String {
    if estimate.is_empty() {
        "not reached".to_owned()
    } else {
        escape(&typeset(estimate))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(field: &str, start: usize, end: usize, message: &str) -> Note {
        Note {
            code: "c".into(),
            error: true,
            field: field.into(),
            start,
            end,
            message: message.into(),
            repairs: vec![("write <x>".into(), vec![])],
        }
    }

    #[test]
    fn every_letter_has_a_field_and_a_slider() {
        let html = letters(&[LetterData {
            name: "omega_0".into(),
            label: "<i>ω</i><sub>0</sub>".into(),
            text: "2".into(),
            value: 2.0,
            low: 0.1,
            high: 5.0,
        }]);
        for part in [
            "<label id=\"letter-0\" for=\"number-0\"><i>ω</i><sub>0</sub></label>",
            "<input id=\"number-0\" data-letter=\"omega_0\" type=\"text\"",
            "<input id=\"slide-0\" data-letter=\"omega_0\" type=\"range\" aria-labelledby=\"letter-0\" min=\"0.1\" max=\"5\" step=\"0.1\"",
        ] {
            assert!(html.contains(part), "{html}");
        }
    }

    #[test]
    fn messages_and_marks_are_escaped() {
        let mixed = [note("to", 0, 1, "?"), note("equation", 0, 1, "<script>")];
        let html = notes(&mixed, |note| !is_about_plot(note));
        assert_eq!(
            html,
            "<p class=\"error\" data-diagnostic=\"c\">&lt;script&gt; \
             <button type=\"button\" data-repair=\"1 0\">write &lt;x&gt;</button></p>"
        );
        assert_eq!(
            marked("a<b>c", "equation", &[note("equation", 1, 4, "")]),
            "a<mark>&lt;b&gt;</mark>c"
        );
    }

    #[test]
    fn marks_stay_on_whole_characters_and_in_their_field() {
        assert_eq!(
            marked("y = ", "equation", &[note("equation", 4, 4, "")]),
            "y =<mark> </mark>"
        );
        assert_eq!(marked("θ", "equation", &[note("equation", 1, 9, "")]), "");
        assert_eq!(
            marked("abc", "equation", &[note("conditions", 0, 1, "")]),
            ""
        );
        assert_eq!(
            marked(
                "abcd",
                "equation",
                &[note("equation", 2, 3, ""), note("equation", 0, 1, "")]
            ),
            "<mark>a</mark>b<mark>c</mark>d"
        );
    }

    #[test]
    fn enough_digits_to_see_the_difference() {
        let of = |sum, error| {
            digits(&Reading {
                solution: None,
                sum: Some(sum),
                error: Some(error),
            })
        };
        assert_eq!(of(2.35, 0.11), 5);
        assert!(of(2.35, 1e-9) >= 10);
        assert_eq!(of(1.0, 0.0), 6);
        assert_eq!(
            shorten("2.4622212345678901", Some(2.462_221_234_567_89), 6),
            "2.46222"
        );
        assert_eq!(shorten("-1.25e-9", Some(-1.25e-9), 6), "−1.25 × 10⁻⁹");
    }
}
