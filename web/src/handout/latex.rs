//! The paper as `LaTeX` source that a plain installation compiles: the article class, geometry,
//! graphicx, color and amsmath; pictures are drawn by the picture environment (see `strokes`).

use super::html::{LEFT_OUT, counted};
use super::tables::Table;
use super::{Block, Head, Kind, Paper, Row};
use crate::html::pieces;
use solver::document::formula::Formula;
use solver::document::latex::{escape, latex};
use solver::document::ledger::Prose;
use solver::document::whole::{Latex, Marks, line_text, prose_text};
use std::fmt::Write as _;

mod strokes;

/// `\piece` shrinks what is wider than the line. `\ledgerrow` is reason, lines, marks: kept together
/// on a page if it takes less than half of one.
const PREAMBLE: &str = r"\usepackage[utf8]{inputenc}
\usepackage{amsmath}
\usepackage{color}
\usepackage{graphicx}
\usepackage[margin=20mm]{geometry}
\providecommand{\square}{\framebox[1ex]{\rule{0pt}{1ex}}}
\setlength{\parindent}{0pt}
\setlength{\parskip}{2pt}
\setlength{\lineskip}{3pt}
\setlength{\lineskiplimit}{3pt}
\raggedbottom
\newsavebox{\wide}
\newcommand{\piece}[1]{\sbox{\wide}{$\displaystyle #1$}\ifdim\wd\wide>.98\linewidth\resizebox{.98\linewidth}{!}{\usebox{\wide}}\else#1\fi}
\newcommand{\why}[1]{\begin{minipage}[t]{.235\textwidth}\raggedright\emergencystretch=2em\small\itshape\strut #1\end{minipage}}
\newcommand{\rowmarks}[1]{\makebox[.06\textwidth][r]{\small #1}}
\newcommand{\ledgerlines}{\raggedright\emergencystretch=3em\setlength{\parskip}{3pt}}
\newsavebox{\lines}
\newcommand{\ledgerrow}[3]{\par\vspace{4pt plus 2pt}%
\sbox{\lines}{\begin{minipage}[t]{.67\textwidth}\ledgerlines #2\end{minipage}}%
\ifdim\dp\lines<.45\textheight\why{#1}\hfill\usebox{\lines}\hfill\rowmarks{#3}\par
\else{\ledgerlines\setlength{\leftskip}{.26\textwidth}\addtolength{\rightskip}{.07\textwidth}\setlength{\linewidth}{.67\textwidth}\interlinepenalty=500
\leavevmode\llap{\makebox[.26\textwidth][l]{\smash{\why{#1}}}}#2\hfill\rlap{\rowmarks{#3}}\par}\fi}
";

/// The whole document.
pub fn write(paper: &Paper, letter: bool) -> String {
    let Head {
        title,
        course,
        date,
        version,
    } = &paper.head;
    let size = if letter { "letterpaper" } else { "a4paper" };
    let mut out =
        format!("\\documentclass[11pt,{size}]{{article}}\n{PREAMBLE}\\begin{{document}}\n");
    let (name, kind) = if title.is_empty() {
        (paper.kind.title(), "")
    } else {
        (title.as_str(), paper.kind.title())
    };
    let ends = |left: &str, right: &str, out: &mut String| {
        if !left.is_empty() || !right.is_empty() {
            let _ = writeln!(out, "{}\\hfill {}\\par", words(left), words(right));
        }
    };
    ends(course, date, &mut out);
    let _ = writeln!(out, "{{\\raggedright\\LARGE {}\\par}}", words(name));
    ends(kind, version, &mut out);
    if paper.kind == Kind::Problems {
        out.push_str("\\bigskip\nName: \\hrulefill\\hspace*{.4\\textwidth}\\par\n");
    }
    out.push_str("\\medskip\\hrule\\medskip\n");
    for block in &paper.blocks {
        self::block(block, &mut out);
    }
    out + "\\end{document}\n"
}

/// Words that are no `LaTeX`, line breaks included.
fn words(text: &str) -> String {
    escape(&text.replace(['\n', '\r'], " "))
}

fn block(block: &Block, out: &mut String) {
    match block {
        Block::Problem {
            number,
            title,
            marks,
        } => {
            let number = number.map_or_else(String::new, |number| format!("{number}. "));
            let marks = match marks {
                0 => String::new(),
                more => format!(" \\textnormal{{({})}}", counted(*more)),
            };
            let _ = writeln!(
                out,
                "\\subsection*{{\\raggedright {number}{}{marks}}}",
                words(title)
            );
        }
        Block::Words(prose) => paragraph(prose, out),
        Block::Heading(words) => {
            let _ = writeln!(out, "\\subsubsection*{{{words}}}");
        }
        Block::Given(lines) => {
            out.push_str("\\begin{quote}\\raggedright\n");
            for line in lines {
                let _ = writeln!(out, "{}\\par", line_text(line, &Tex));
            }
            out.push_str("\\end{quote}\n");
        }
        Block::Row(row) => self::row(row, out),
        Block::Room(lines) => {
            for _ in 0..*lines {
                out.push_str("\\vspace{8mm}\\hrule height .1pt\n");
            }
        }
        Block::Picture(figure) => {
            out.push_str("\\begin{center}\n");
            out.push_str(&strokes::picture(figure));
            let _ = writeln!(
                out,
                "\\par{{\\small {}.}}\\end{{center}}",
                words(&figure.words)
            );
        }
        Block::Table(table) => self::table(table, out),
    }
}

fn paragraph(prose: &Prose, out: &mut String) {
    let _ = writeln!(
        out,
        "{{\\raggedright {}\\par}}\\nopagebreak",
        prose_text(prose, &Latex)
    );
}

fn row(row: &Row, out: &mut String) {
    let mut lines: Vec<String> = row.lines.iter().map(|line| line_text(line, &Tex)).collect();
    if row.shortened {
        lines.push(format!("\\emph{{{LEFT_OUT}}}"));
    }
    if let Some(remark) = &row.remark {
        lines.push(format!("\\emph{{{}}}", prose_text(remark, &Tex)));
    }
    let marks = row
        .marks
        .map_or_else(String::new, |marks| marks.to_string());
    let _ = writeln!(
        out,
        "\\ledgerrow{{{}}}{{{}}}{{{marks}}}",
        prose_text(&row.reason, &Narrow),
        lines.join("\\par\n")
    );
}

/// More rows of a table than this go on in another one, which can stand on the next page.
const TABLE_ROWS: usize = 30;

fn table(table: &Table, out: &mut String) {
    let columns = "l".repeat(table.head.len());
    let line =
        |cells: &mut dyn Iterator<Item = String>| cells.collect::<Vec<_>>().join(" & ") + " \\\\\n";
    let head = line(&mut table.head.iter().map(|head| prose_text(head, &Latex)));
    for (number, rows) in table.rows.chunks(TABLE_ROWS).enumerate() {
        let caption = prose_text(&table.caption, &Latex);
        let again = if number > 0 { ", continued" } else { "" };
        let _ = writeln!(
            out,
            "\\begin{{center}}\n{caption}{again}\\par\\nobreak\\smallskip\n\\small\\renewcommand{{\\arraystretch}}{{1.35}}\\begin{{tabular}}{{@{{}}{columns}@{{}}}}\\hline"
        );
        out.push_str(&head);
        out.push_str("\\hline\n");
        for row in rows {
            out.push_str(&line(&mut row.iter().map(|cell| Latex.math(cell))));
        }
        out.push_str("\\hline\\end{tabular}\\end{center}\n");
    }
}

/// Formulas in display style that may break between their pieces.
struct Tex;

impl Marks for Tex {
    fn math(&self, formula: &Formula) -> String {
        format!("$\\displaystyle {}$", breaking(formula))
    }
    fn words(&self, text: &str) -> String {
        Latex.words(text)
    }
}

/// The same in the size of the text, for the margin.
struct Narrow;

impl Marks for Narrow {
    fn math(&self, formula: &Formula) -> String {
        format!("${}$", breaking(formula))
    }
    fn words(&self, text: &str) -> String {
        Latex.words(text)
    }
}

/// A piece with more characters of source than this may be wider than its line.
const WIDE: usize = 60;

fn breaking(formula: &Formula) -> String {
    let pieces = pieces(formula).into_iter().map(|piece| {
        let source = latex(&piece);
        if source.len() > WIDE {
            format!("\\piece{{{source}}}")
        } else {
            source
        }
    });
    pieces.collect::<Vec<_>>().join("\\allowbreak ")
}
