//! The paper as HTML: for the page, where terms may break, and as a file of its own, with one
//! `math` element a line, for pasting into word processors.

use super::tables::Table;
use super::{Block, Head, Paper, Row};
use crate::address;
use crate::file::Document;
use crate::html::{broken, escape, math};
use crate::prose::inline;
use solver::document::formula::Formula;
use solver::document::ledger::{Line, Piece, Role};
use solver::document::whole::{Markdown, Marks, line_text, prose_text};
use std::fmt::Write as _;

/// Said where lines are left out.
pub const LEFT_OUT: &str =
    "Lines that are too long to print are left out; the data of the worksheet have them.";

/// The head of the first sheet.
pub fn head(paper: &Paper) -> String {
    let Head {
        title,
        course,
        date,
        version,
    } = &paper.head;
    let mut out = String::from("<header class=\"head\"><p class=\"course\">");
    let _ = write!(
        out,
        "<span>{}</span><span>{}</span></p><h1>{}</h1><p class=\"kind\"><span>{}</span><span>{}</span></p>",
        escape(course),
        escape(date),
        escape(if title.is_empty() {
            paper.kind.title()
        } else {
            title
        }),
        if title.is_empty() {
            ""
        } else {
            paper.kind.title()
        },
        escape(version),
    );
    if paper.kind == super::Kind::Problems {
        out.push_str("<p class=\"name\"><span>Name</span><span class=\"rule\"></span></p>");
    }
    out + "</header>"
}

/// A block for the page.
pub fn block(block: &Block) -> String {
    match block {
        Block::Problem { .. } => format!("<h2 class=\"keep\">{}</h2>", problem(block)),
        Block::Words(prose) => format!("<p class=\"words keep\">{}</p>", inline(prose)),
        Block::Heading(words) => format!("<h3 class=\"keep\">{words}</h3>"),
        Block::Given(lines) => {
            let lines: String = lines.iter().map(line).collect();
            format!("<div class=\"given keep\">{lines}</div>")
        }
        Block::Row(row) => self::row(row),
        Block::Room(lines) => format!(
            "<div class=\"room\">{}</div>",
            "<p></p>".repeat(*lines as usize)
        ),
        Block::Picture(figure) => format!(
            "<div class=\"figure\" role=\"img\" aria-label=\"{}\">{}<p aria-hidden=\"true\">{0}.</p></div>",
            escape(&figure.words),
            figure.svg
        ),
        Block::Table(table) => self::table(table, ""),
    }
}

/// "2. The lamp that cools (7 marks)".
fn problem(block: &Block) -> String {
    let Block::Problem {
        number,
        title,
        marks,
    } = block
    else {
        return String::new();
    };
    let mut out = String::new();
    if let Some(number) = number {
        let _ = write!(out, "<span class=\"number\">{number}.</span> ");
    }
    out.push_str(&escape(title));
    if *marks > 0 {
        let _ = write!(out, " <span class=\"total\">({})</span>", counted(*marks));
    }
    out
}

/// "1 mark", "3 marks".
pub fn counted(marks: u32) -> String {
    format!("{marks} mark{}", if marks == 1 { "" } else { "s" })
}

fn row(row: &Row) -> String {
    let lines: String = row.lines.iter().map(line).collect();
    let marks = row
        .marks
        .map_or_else(String::new, |marks| marks.to_string());
    let mut out = format!(
        "<div class=\"row\" data-problem=\"{}\" data-key=\"{}\" data-reason=\"{}\" data-remark=\"{}\" data-marks=\"{marks}\"><div class=\"why\">{}</div><div class=\"lines\">{lines}",
        row.problem,
        escape(&row.key),
        escape(&prose_text(&row.reason, &Markdown)),
        escape(
            &row.remark
                .as_ref()
                .map_or_else(String::new, |remark| prose_text(remark, &Markdown))
        ),
        inline(&row.reason),
    );
    if row.shortened {
        let _ = write!(out, "<p class=\"words\">{LEFT_OUT}</p>");
    }
    if let Some(remark) = &row.remark {
        let _ = write!(out, "<p class=\"remark\">{}</p>", inline(remark));
    }
    let _ = write!(out, "</div><div class=\"marks\">{marks}</div></div>");
    out
}

/// A line that may break between its terms.
fn line(line: &Line) -> String {
    match line {
        Line::Text(prose) => format!("<p>{}</p>", inline(prose)),
        Line::Formula {
            label,
            pieces,
            reason,
            ..
        } => {
            let mut out = String::from("<p class=\"line\">");
            if !label.is_empty() {
                let _ = write!(out, "<span class=\"label\">{}</span> ", escape(label));
            }
            for piece in pieces {
                out.push_str(&term(piece));
                if ends_in_comma(&piece.formula) {
                    out.push(' ');
                }
            }
            if let Some(reason) = reason {
                let _ = write!(out, " <span class=\"because\">{}</span>", inline(reason));
            }
            out + "</p>"
        }
    }
}

/// A comma at the end of a formula has lost the space behind it.
fn ends_in_comma(formula: &Formula) -> bool {
    match formula {
        Formula::Row(parts) => parts.last().is_some_and(ends_in_comma),
        Formula::Punctuation(_) => true,
        _ => false,
    }
}

fn term(piece: &Piece) -> String {
    let shown = broken(&piece.formula);
    match (&piece.vanishes, piece.role) {
        (Some(why), _) => format!(
            "<span class=\"t gone\">{shown}<small>{}</small></span>",
            math(why)
        ),
        (None, Role::Value) => format!("<span class=\"t value\">{shown}</span>"),
        (None, _) => shown,
    }
}

fn table(table: &Table, class: &str) -> String {
    let mut out = format!(
        "<table{class}><caption>{}</caption><thead><tr>",
        inline(&table.caption)
    );
    for head in &table.head {
        let _ = write!(out, "<th scope=\"col\">{}</th>", inline(head));
    }
    out.push_str("</tr></thead><tbody>");
    for row in &table.rows {
        out.push_str("<tr>");
        for cell in row {
            let empty = *cell == Formula::Text(String::new());
            let shown = if empty { String::new() } else { math(cell) };
            let _ = write!(out, "<td>{shown}</td>");
        }
        out.push_str("</tr>");
    }
    out + "</tbody></table>"
}

/// Words and formulas of a line in the file.
struct Html;

impl Marks for Html {
    fn math(&self, formula: &Formula) -> String {
        math(formula)
    }
    fn words(&self, text: &str) -> String {
        inline(&solver::document::ledger::Prose::words(text))
    }
}

/// The whole paper as a file: well-formed XML, without scripts; formulas are presentation `MathML`.
pub fn file(paper: &Paper) -> String {
    let Head {
        title,
        course,
        date,
        version,
    } = &paper.head;
    let name = if title.is_empty() {
        paper.kind.title()
    } else {
        title
    };
    let mut out = format!(
        "<!DOCTYPE html>\n<html xmlns=\"http://www.w3.org/1999/xhtml\" lang=\"en\">\n<head>\n<meta charset=\"utf-8\"/>\n<title>{}</title>\n</head>\n<body>\n<h1>{}</h1>\n",
        escape(name),
        escape(name)
    );
    let about = [course.as_str(), date, version, paper.kind.title()];
    let about: Vec<String> = about
        .into_iter()
        .filter(|text| !text.is_empty())
        .map(escape)
        .collect();
    let _ = writeln!(out, "<p>{}</p>", about.join(" · "));
    for block in &paper.blocks {
        match block {
            Block::Problem { .. } => {
                let _ = writeln!(out, "<h2>{}</h2>", problem(block));
            }
            Block::Words(prose) => {
                let _ = writeln!(out, "<p>{}</p>", prose_text(prose, &Html));
            }
            Block::Heading(words) => {
                let _ = writeln!(out, "<h3>{words}</h3>");
            }
            Block::Given(lines) => paragraphs(lines, &mut out),
            Block::Row(row) => {
                let marks = row
                    .marks
                    .map_or_else(String::new, |marks| format!(" ({})", counted(marks)));
                let _ = writeln!(
                    out,
                    "<p><em>{}</em>{marks}</p>",
                    prose_text(&row.reason, &Html)
                );
                paragraphs(&row.lines, &mut out);
                if row.shortened {
                    let _ = writeln!(out, "<p>{LEFT_OUT}</p>");
                }
                if let Some(remark) = &row.remark {
                    let _ = writeln!(
                        out,
                        "<p><strong>Remark.</strong> {}</p>",
                        prose_text(remark, &Html)
                    );
                }
            }
            Block::Room(lines) => {
                for _ in 0..*lines {
                    out.push_str("<p>&#160;</p>\n");
                }
            }
            Block::Picture(figure) => {
                let _ = writeln!(
                    out,
                    "<p>{}</p>\n<p>{}.</p>",
                    figure.svg,
                    escape(&figure.words)
                );
            }
            Block::Table(table) => {
                out.push_str(&self::table(table, " border=\"1\""));
                out.push('\n');
            }
        }
    }
    out + "</body>\n</html>\n"
}

fn paragraphs(lines: &[Line], out: &mut String) {
    for line in lines {
        let _ = writeln!(out, "<p>{}</p>", line_text(line, &Html));
    }
}

/// The sheet's own words for the page's fields, as a query string.
pub fn fields(document: &Document) -> String {
    let fields = [
        ("title", &document.title),
        ("course", &document.course),
        ("date", &document.date),
        ("version", &document.version),
    ];
    let pairs = fields.map(|(name, value)| format!("{name}={}", address::escape(value)));
    pairs.join("&")
}

/// The problems of a sheet, as items of a list with what can be done to them.
pub fn problems(document: &Document) -> String {
    let mut out = String::new();
    for (index, block) in document.problems().enumerate() {
        let name = if block.title.is_empty() {
            block.inputs.equation.replace('\n', "; ")
        } else {
            block.title.clone()
        };
        let name = escape(&name);
        let room = block.room.map_or_else(String::new, |room| room.to_string());
        let _ = write!(
            out,
            "<li data-problem=\"{index}\" data-title=\"{}\" data-ask=\"{}\" data-room=\"{room}\"><span>{name}</span> \
             <button type=\"button\" data-do=\"problem\" aria-label=\"words of problem {number}: {name}\">words</button>",
            escape(&block.title),
            escape(&block.ask),
            number = index + 1,
        );
        if index > 0 {
            let _ = write!(
                out,
                " <button type=\"button\" data-do=\"earlier\" aria-label=\"up: problem {}, {name}\">up</button>",
                index + 1
            );
        }
        let _ = write!(
            out,
            " <button type=\"button\" data-do=\"remove\" aria-label=\"take out problem {}: {name}\">take out</button></li>",
            index + 1
        );
    }
    out
}
