//! An answer as one block of HTML to read: nothing in it is a control, everything it needs for its
//! looks are the classes of `block.css`. Other people's pages, worksheet files and sheets for a
//! class are made of such blocks.

use crate::answer;
use crate::appearance::{self, Color, LIGHT};
use crate::far;
use crate::figure::{self, Kind};
use crate::html::escape;
use crate::inputs::{Choice, Depth, Figures, Inputs};
use crate::markup::{self, Content, Markup};
use crate::protocol::{Drawing, Note, Reply, Sheet};
use crate::state::State;
use crate::view;
use crate::wire;
use std::fmt::Write;

/// A part of an answer that a block can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Part {
    /// The equation and the conditions, as they are read.
    Problem,
    /// Every line with its reason.
    Ledger,
    /// The polynomial, a term for each degree.
    Polynomial,
    /// Partial sums against the numerical solution; of a system the phase plane, too.
    Plot,
    /// The differences, on a logarithmic scale.
    Errors,
    /// A few values of the plot.
    Table,
    /// How far the polynomial may be trusted: singular points, radius, remainder, the complex plane.
    Far,
}

impl Choice for Part {
    const NAMES: &'static [(Self, &'static str)] = &[
        (Self::Problem, "problem"),
        (Self::Ledger, "ledger"),
        (Self::Polynomial, "polynomial"),
        (Self::Plot, "plot"),
        (Self::Errors, "errors"),
        (Self::Table, "table"),
        (Self::Far, "far"),
    ];
}

/// What is shown where nothing is asked for.
pub const USUAL: [Part; 4] = [Part::Problem, Part::Ledger, Part::Polynomial, Part::Plot];

/// The parts of a list of names, separated by anything but letters, in the block's own order. Names
/// that are not known are passed over; without a known one, the usual parts.
pub fn parts(names: &str) -> Vec<Part> {
    let words: Vec<&str> = names.split(|c: char| !c.is_ascii_alphabetic()).collect();
    let known = Part::NAMES.iter();
    let wanted = known.filter(|(_, name)| words.contains(name));
    let found: Vec<Part> = wanted.map(|(part, _)| *part).collect();
    if found.is_empty() {
        USUAL.to_vec()
    } else {
        found
    }
}

/// What tells a block from the others of its page.
#[derive(Clone, Copy, Debug)]
pub struct Frame<'a> {
    /// Begins every id in the block.
    pub prefix: &'a str,
    /// Its heading; empty: what it is, in words.
    pub heading: &'a str,
    /// The heading's level, 1 to 6.
    pub level: u8,
}

/// Works a problem out and shows it. What goes wrong is said in the block.
pub fn of_problem(inputs: Inputs, wanted: &[Part], frame: Frame<'_>) -> String {
    in_words(inputs, wanted, frame, "")
}

/// The same with a teacher's words: on each line `reason`, a row's key and a text in place of the
/// row's reason, or `remark`, a key and a text to put below the row's work, with tabs between them.
pub fn in_words(inputs: Inputs, wanted: &[Part], frame: Frame<'_>, words: &str) -> String {
    let (mut sheet, mut drawing) = (Sheet::default(), None);
    let mut last = answer::Last::default();
    answer::answer(0, &inputs, &mut last, &mut |reply| match reply {
        Reply::Ledger(found) => sheet = *found,
        Reply::Picture(found) => drawing = Some(*found),
        Reply::Died(_) | Reply::Data(_) => {}
    });
    for line in words.lines() {
        let mut fields = line.splitn(3, '\t');
        if let (Some(kind), Some(key), Some(text)) = (fields.next(), fields.next(), fields.next()) {
            let mut rows = sheet.rows.iter_mut();
            if let Some(row) = rows.find(|row| row.key() == Some(key)) {
                put_words(row, kind, text);
            }
        }
    }
    of_answer(inputs, sheet, drawing, wanted, frame)
}

fn put_words(row: &mut Markup, kind: &str, text: &str) {
    let Content::Parts(parts) = &mut row.content else {
        return;
    };
    let place = if kind == "reason" { kind } else { "work" };
    let mut parts = parts.iter_mut();
    let Some(part) = parts.find(|part| part.attribute("class") == Some(place)) else {
        return;
    };
    match &mut part.content {
        Content::Parts(lines) if kind == "remark" => {
            lines.push(Markup::leaf("p", "remark", escape(text)));
        }
        content if kind == "reason" => *content = Content::Html(escape(text)),
        _ => {}
    }
}

/// Shows an answer; without its second half there are no pictures.
pub fn of_answer(
    inputs: Inputs,
    sheet: Sheet,
    drawing: Option<Drawing>,
    wanted: &[Part],
    frame: Frame<'_>,
) -> String {
    let state = State::answered(inputs, sheet, drawing);
    let Frame { prefix, level, .. } = frame;
    let prefix = escape(prefix);
    let level = level.clamp(1, 6);
    let sheet = state.sheet.as_ref();
    let worked = sheet.is_some_and(|sheet| sheet.worked);
    let heading = if frame.heading.is_empty() {
        match sheet.filter(|sheet| sheet.strips.iter().any(|strip| !strip.is_empty())) {
            Some(sheet) => format!("Taylor polynomial of degree {}", sheet.degree),
            None => "Initial value problem".to_owned(),
        }
    } else {
        escape(frame.heading)
    };
    let mut out = format!(
        "<section class=\"block\" aria-labelledby=\"{prefix}title\" data-state=\"{}\">\
         <h{level} id=\"{prefix}title\" class=\"title\">{heading}</h{level}>",
        if worked { "worked" } else { "stopped" },
    );
    // Without an answer the problem is all there is to see.
    if wanted.contains(&Part::Problem) || !worked {
        problem(&state, &mut out);
    }
    notes(&state, &mut out);
    for part in wanted {
        match part {
            Part::Problem => {}
            Part::Ledger => ledger(&state, &heading, &mut out),
            Part::Polynomial => polynomial(&state, &mut out),
            Part::Plot => {
                let label = "Partial sums of each degree and the numerical solution";
                picture(&state, Kind::Curves, label, &mut out);
                let label = "Phase plane: one unknown against another";
                picture(&state, Kind::Phase, label, &mut out);
                // The same data for those who cannot see the picture.
                if !wanted.contains(&Part::Table) {
                    table(
                        &state,
                        &heading,
                        "<details><summary>Table of the data</summary>",
                        "</details>",
                        &mut out,
                    );
                }
            }
            Part::Errors => {
                let label = "Difference from the numerical solution, on a logarithmic scale";
                picture(&state, Kind::Errors, label, &mut out);
            }
            Part::Table => table(&state, &heading, "", "", &mut out),
            Part::Far => {
                far_rows(&state, &mut out);
                remarks(&state, &mut out);
            }
        }
    }
    // A plot brings its evidence along.
    if wanted.contains(&Part::Plot) && !wanted.contains(&Part::Far) {
        remarks(&state, &mut out);
    }
    out.push_str("</section>");
    out
}

fn problem(state: &State, out: &mut String) {
    let formulas = answer::reading(&state.inputs);
    let _ = write!(
        out,
        "<p class=\"reads\">{}</p>",
        markup::html(&view::reading(&formulas))
    );
}

/// The attribute in front of a message's note.
const NOTE: &str = "data-note=";

/// The messages that a block shows.
pub fn messages(block: &str) -> Vec<Note> {
    let attribute = format!(" {NOTE}\"");
    let found = block.split(attribute.as_str()).skip(1);
    found
        .filter_map(|rest| wire::from_bytes(&wire::from_hex(rest.split('"').next()?)?))
        .collect()
}

/// The messages, without the buttons that would change the problem.
fn notes(state: &State, out: &mut String) {
    for note in &state.notes {
        let kind = if note.error { "error" } else { "notice" };
        // All of the note, for those who show the block beside the text that it was made from.
        let whole = wire::to_hex(&wire::to_bytes(note));
        let words = escape(&note.message);
        let _ = write!(out, "<p class=\"{kind}\" {NOTE}\"{whole}\">{words}</p>");
    }
}

fn ledger(state: &State, heading: &str, out: &mut String) {
    let Some(sheet) = state.sheet.as_ref().filter(|sheet| !sheet.rows.is_empty()) else {
        return;
    };
    let details = state.inputs.depth == Depth::Rules;
    let figures = state.inputs.figures;
    // There may be several blocks on a page, and whoever lists its regions wants to tell them apart.
    let _ = write!(
        out,
        "<div class=\"ledger\" role=\"region\" aria-label=\"Ledger: {heading}\" tabindex=\"0\">"
    );
    for row in markup::at_depth(&sheet.rows, details) {
        out.push_str(&to_read(&row, figures).html());
    }
    out.push_str("</div>");
}

fn polynomial(state: &State, out: &mut String) {
    let Some(sheet) = &state.sheet else { return };
    for strip in sheet.strips.iter().filter(|strip| !strip.is_empty()) {
        out.push_str("<ol class=\"strip\" aria-label=\"Polynomial\">");
        for term in strip {
            out.push_str(&to_read(term, state.inputs.figures).html());
        }
        out.push_str("</ol>");
    }
    if !sheet.checked.is_empty() {
        let class = if sheet.defect { "error" } else { "tail" };
        let _ = write!(out, "<p class=\"{class}\">{}</p>", escape(&sheet.checked));
    }
}

/// The same without controls: no buttons, no tab stops, no names that scripts use; of a coefficient's
/// ways of writing only the one that is asked for.
fn to_read(made: &Markup, figures: Figures) -> Markup {
    const KEPT: [&str; 1] = ["class"];
    let class = made.attribute("class").unwrap_or_default();
    let content = match &made.content {
        Content::Html(_) if class == "degree" => Content::Html(made.words()),
        Content::Html(html) => Content::Html(html.clone()),
        Content::Parts(parts) => Content::Parts(
            parts
                .iter()
                .filter(|part| is_asked_for(part, figures))
                .map(|part| to_read(part, figures))
                .collect(),
        ),
    };
    let attributes = made.attributes.iter();
    Markup {
        tag: made.tag.clone(),
        attributes: attributes
            .filter(|(name, _)| KEPT.contains(&name.as_str()))
            .cloned()
            .collect(),
        detail: made.detail,
        content,
    }
}

fn is_asked_for(part: &Markup, figures: Figures) -> bool {
    match part.attribute("class") {
        Some("exact") => figures == Figures::Exact,
        Some("factorial") => figures == Figures::Factorials,
        Some("decimal") => figures == Figures::Decimals,
        // The first item is the same exact and with factorials.
        Some("same") => figures != Figures::Decimals,
        _ => true,
    }
}

fn picture(state: &State, kind: Kind, label: &str, out: &mut String) {
    let size = match kind {
        Kind::Errors => (560.0, 230.0),
        Kind::Curves | Kind::Phase => (560.0, 360.0),
    };
    if let Some(svg) = figure::strokes(state, kind, &LIGHT, size) {
        named(&svg, label, out);
    }
}

/// A picture with its name.
fn named(svg: &str, label: &str, out: &mut String) {
    let named = format!("<svg role=\"img\" aria-label=\"{label}\" ");
    out.push_str(&named_colors(svg).replacen("<svg ", &named, 1));
}

/// The picture's colors by their names in the style sheet, so that they follow the page's scheme.
fn named_colors(svg: &str) -> String {
    let own = [
        (LIGHT.paper, "paper"),
        (LIGHT.ink, "ink"),
        (LIGHT.soft, "soft"),
        (LIGHT.hair, "hair"),
        (LIGHT.wash, "wash"),
        (LIGHT.kept, "kept"),
    ];
    let mut out = svg.to_owned();
    let mut name = |(r, g, b): Color, name: &str| {
        out = out.replace(
            &format!("\"#{r:02X}{g:02X}{b:02X}\""),
            &format!("\"var(--{name})\""),
        );
    };
    for (color, own) in own {
        name(color, own);
    }
    for degree in 0..appearance::COLORS {
        name(
            appearance::color(degree, &LIGHT),
            &format!("degree-{degree}"),
        );
    }
    out
}

fn table(state: &State, heading: &str, before: &str, after: &str, out: &mut String) {
    let rows = view::short_table(state);
    if !rows.is_empty() {
        let _ = write!(
            out,
            "{before}<div class=\"scroll\" role=\"region\" aria-label=\"Data: {heading}\" tabindex=\"0\">\
             <table>{rows}</table></div>{after}"
        );
    }
}

/// The rows on how far the polynomial may be trusted, and the complex plane.
fn far_rows(state: &State, out: &mut String) {
    let Some(drawing) = &state.drawing else {
        return;
    };
    let rows = far::rows(&drawing.far, state.shown);
    if rows.is_empty() {
        return;
    }
    out.push_str("<div class=\"ledger\" role=\"region\" aria-label=\"How far?\" tabindex=\"0\">");
    for row in &rows {
        out.push_str(&to_read(row, state.inputs.figures).html());
    }
    out.push_str("</div>");
    named(&far::picture(&drawing.far, &LIGHT), far::PLANE, out);
}

fn remarks(state: &State, out: &mut String) {
    let Some(drawing) = state
        .drawing
        .as_ref()
        .filter(|drawing| !drawing.remarks.is_empty())
    else {
        return;
    };
    // An id of the worksheet's own page would be there twice.
    let remarks = drawing.remarks.replace(" id=\"drawn-for\"", "");
    let _ = write!(out, "<div class=\"remarks\">{remarks}</div>");
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: Frame<'_> = Frame {
        prefix: "one-",
        heading: "",
        level: 3,
    };

    fn inputs(equation: &str, conditions: &str) -> Inputs {
        Inputs {
            equation: equation.into(),
            conditions: conditions.into(),
            degree: "4".into(),
            ..Inputs::default()
        }
    }

    fn airy() -> Inputs {
        inputs("y'' = x y", "y(0) = 1, y'(0) = 0")
    }

    #[test]
    fn parts_are_named_in_any_order() {
        assert_eq!(parts("plot, ledger"), [Part::Ledger, Part::Plot]);
        assert_eq!(parts("ledger ledgers"), [Part::Ledger]);
        assert_eq!(parts(""), USUAL);
        assert_eq!(parts("<script>"), USUAL);
    }

    #[test]
    fn a_block_is_there_to_read() {
        let all: Vec<Part> = Part::NAMES.iter().map(|(part, _)| *part).collect();
        let html = of_problem(airy(), &all, FRAME);
        for control in [
            "<button",
            "<input",
            "data-term",
            "data-show",
            "tabindex=\"-1\"",
            " style=",
        ] {
            assert!(!html.contains(control), "{control}");
        }
        for part in [
            "<h3 id=\"one-title\"",
            "Taylor polynomial of degree 4",
            "product rule",
            "<ol class=\"strip\"",
            "var(--degree-3)",
            "<table>",
            "Guaranteed",
        ] {
            assert!(html.contains(part), "{part}");
        }
        // Plot, errors, and the complex plane; of the remainders only that of the degree shown.
        assert_eq!(html.matches("<svg role=\"img\" aria-label=").count(), 3);
        assert_eq!(html.matches("Within the tolerance").count(), 1);
        assert!(html.contains("aria-label=\"How far?\"") && html.contains("Fuchs"));
        // Every id begins with the prefix, so that blocks can stand side by side.
        assert_eq!(
            html.matches(" id=\"").count(),
            html.matches(" id=\"one-").count()
        );
        // All colors follow the page: none is left as a number.
        assert!(
            !html.contains("\"#"),
            "{}",
            html.split("\"#").nth(1).unwrap_or("")
        );
    }

    #[test]
    fn a_teacher_has_words_of_their_own() {
        let words = "reason\torder-2\tput <in> the data\nremark\torder-3\tmind the sign\nreason\tno-row\tnothing\nodd";
        let html = in_words(airy(), &USUAL, FRAME, words);
        assert!(html.contains("<div class=\"reason\">put &lt;in&gt; the data</div>"));
        assert!(html.contains("<p class=\"remark\">mind the sign</p>"));
        assert!(!html.contains("nothing"));
    }

    #[test]
    fn only_what_is_asked_for_is_shown() {
        let html = of_problem(airy(), &[Part::Polynomial], FRAME);
        assert!(html.contains("class=\"strip\"") && !html.contains("class=\"ledger\""));
        assert!(!html.contains("<svg") && !html.contains("<table"));
        let mut decimals = airy();
        decimals.figures = Figures::Decimals;
        let html = of_problem(decimals, &[Part::Polynomial], FRAME);
        assert!(html.contains("class=\"decimal\"") && !html.contains("class=\"exact\""));
    }

    #[test]
    fn what_is_wrong_is_said_and_nothing_gets_in() {
        let html = of_problem(
            inputs("y'' = <img src=x onerror=alert(1)>", ""),
            &USUAL,
            Frame {
                prefix: "\"><b>",
                heading: "<i>mine</i>",
                level: 9,
            },
        );
        assert!(html.contains("data-state=\"stopped\"") && html.contains("class=\"error\""));
        let said = messages(&html);
        assert!(
            said.iter()
                .any(|note| note.error && note.field == "equation")
        );
        assert!(
            said.iter()
                .all(|note| html.contains(&escape(&note.message)))
        );
        assert!(!html.contains("<img") && !html.contains("<b>") && !html.contains("<i>mine"));
        assert!(html.contains("<h6 "));
    }

    #[test]
    fn a_system_shows_all_its_polynomials_and_its_phase_plane() {
        let system = inputs("u' = u(3 - v); v' = v(u - 2)", "u(0) = 1, v(0) = 2");
        let html = of_problem(system, &[Part::Polynomial, Part::Plot], FRAME);
        assert_eq!(html.matches("<ol class=\"strip\"").count(), 2);
        assert_eq!(html.matches("<svg ").count(), 2);
    }
}
