//! The paper in Markdown (`CommonMark`, tables, `$…$`). A picture is in the text itself, as a `data:`
//! address (RFC 2397), so that one file holds everything; its words stand below it, too, for readers
//! that show no such addresses.

use super::html::{LEFT_OUT, counted};
use super::tables::Table;
use super::{Block, Head, Paper};
use solver::document::formula::Formula;
use solver::document::ledger::{Line, Prose};
use solver::document::whole::{Markdown, Marks, line_text, prose_text};
use std::fmt::Write as _;

/// The whole paper.
pub fn write(paper: &Paper) -> String {
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
    let mut out = format!("# {}\n\n", literal(name));
    let about = [course.as_str(), date, version, paper.kind.title()];
    let about: Vec<String> = about
        .into_iter()
        .filter(|text| !text.is_empty())
        .map(literal)
        .collect();
    let _ = write!(out, "{}\n\n", about.join(" · "));
    for block in &paper.blocks {
        match block {
            Block::Problem {
                number,
                title,
                marks,
            } => {
                out.push_str("## ");
                if let Some(number) = number {
                    // The point is escaped: no list begins here.
                    let _ = write!(out, "{number}\\. ");
                }
                out.push_str(&literal(title));
                if *marks > 0 {
                    let _ = write!(out, " ({})", counted(*marks));
                }
                out.push_str("\n\n");
            }
            Block::Words(prose) => paragraph(prose, &mut out),
            Block::Heading(words) => {
                let _ = write!(out, "### {words}\n\n");
            }
            Block::Given(lines) => paragraphs(lines, "", &mut out),
            Block::Row(row) => {
                let marks = row
                    .marks
                    .map_or_else(String::new, |marks| format!(" ({})", counted(marks)));
                let _ = write!(out, "- {}{marks}\n\n", prose_text(&row.reason, &Markdown));
                paragraphs(&row.lines, "  ", &mut out);
                if row.shortened {
                    let _ = write!(out, "  {LEFT_OUT}\n\n");
                }
                if let Some(remark) = &row.remark {
                    let _ = write!(out, "  **Remark.** {}\n\n", prose_text(remark, &Markdown));
                }
            }
            Block::Room(lines) => out.push_str(&"&nbsp;\n\n".repeat(*lines as usize)),
            Block::Picture(figure) => {
                let words = literal(&figure.words);
                let _ = write!(
                    out,
                    "![{words}](data:image/svg+xml,{})\n\n*{words}*\n\n",
                    crate::address::escape(&figure.svg).replace('+', "%20")
                );
            }
            Block::Table(table) => self::table(table, &mut out),
        }
    }
    out
}

fn paragraph(prose: &Prose, out: &mut String) {
    let _ = write!(out, "{}\n\n", prose_text(prose, &Markdown));
}

fn paragraphs(lines: &[Line], indent: &str, out: &mut String) {
    for line in lines {
        let _ = write!(out, "{indent}{}\n\n", line_text(line, &Markdown));
    }
}

fn table(table: &Table, out: &mut String) {
    paragraph(&table.caption, out);
    let mut line = |cells: Vec<String>| {
        let _ = writeln!(out, "| {} |", cells.join(" | "));
    };
    line(
        table
            .head
            .iter()
            .map(|head| prose_text(head, &Markdown))
            .collect(),
    );
    line(table.head.iter().map(|_| "---".to_owned()).collect());
    for row in &table.rows {
        let cells = row.iter().map(|cell| {
            if *cell == Formula::Text(String::new()) {
                String::new()
            } else {
                Markdown.math(cell)
            }
        });
        line(cells.collect());
    }
    out.push('\n');
}

/// Words that are no Markdown: every mark escaped.
fn literal(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '\n' | '\r' => out.push(' '),
            '\\' | '`' | '*' | '_' | '{' | '}' | '[' | ']' | '<' | '>' | '#' | '|' | '$' | '&'
            | '~' | '!' => {
                out.push('\\');
                out.push(c);
            }
            other => out.push(other),
        }
    }
    out
}
