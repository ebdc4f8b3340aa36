//! A sheet at work: the text of a worksheet file and the settings in, the paper out. Problems that
//! have not changed are not worked again.

use super::{Head, Kind, Paper, Settings, Task, blocks, changes, csv, html, latex, markdown};
use crate::address;
use crate::file::{self, Document};
use crate::inputs::{Choice, Depth};
use solver::budget::Budget;
use solver::worksheet::{Request, Worksheet, work};

/// Worksheets by their requests.
pub type Known = Vec<(Request, Worksheet)>;

/// Lines of room where nothing else is said.
const ROOM: u32 = 8;

/// The settings of a query string; what is not in it is as usual.
pub fn settings(text: &str) -> Settings {
    let mut settings = Settings {
        kind: Kind::default(),
        depth: Depth::default(),
        plot: false,
        table: false,
        far: true,
        room: ROOM,
    };
    for (name, value) in address::pairs(text) {
        let yes = value == "yes";
        match name {
            "kind" => settings.kind = Choice::parse(&value).unwrap_or_default(),
            "depth" => settings.depth = Choice::parse(&value).unwrap_or_default(),
            "plot" => settings.plot = yes,
            "table" => settings.table = yes,
            "far" => settings.far = yes,
            "room" => {
                let room = value.parse().unwrap_or(ROOM);
                settings.room = room.min(file::MOST_ROOM);
            }
            _ => {}
        }
    }
    settings
}

/// The worksheets of a file's problems.
fn worked(document: &Document, known: &mut Known) {
    let mut next = Known::new();
    for block in document.problems().take(file::MOST_PROBLEMS) {
        let request = block.inputs.request();
        if next.iter().any(|(own, _)| *own == request) {
            continue;
        }
        let old = known.iter().position(|(own, _)| *own == request);
        next.push(if let Some(at) = old {
            known.swap_remove(at)
        } else {
            let worksheet = work(&request, &Budget::PAGE, &mut |_| true);
            (request, worksheet)
        });
    }
    *known = next;
}

/// Each problem with its worksheet.
fn tasks<'a>(document: &'a Document, known: &'a Known) -> Vec<Task<'a>> {
    let task = |block: &'a file::ProblemBlock| {
        let request = block.inputs.request();
        let (_, worksheet) = known.iter().find(|(own, _)| *own == request)?;
        Some(Task { block, worksheet })
    };
    document.problems().filter_map(task).collect()
}

fn paper(document: &Document, settings: &str, known: &Known) -> Paper {
    let tasks = tasks(document, known);
    blocks::paper(Head::of(document), self::settings(settings), &tasks)
}

/// Changes a sheet (see [`changes`]) and shows it: the file's text; its head as a query string for
/// the page's fields; its problems as the items of a list; the head of the paper; each block of it.
pub fn show(text: &str, settings: &str, change: &str, known: &mut Known) -> Vec<String> {
    let (mut document, _) = file::parse(text);
    changes::apply(&mut document, change);
    worked(&document, known);
    let paper = paper(&document, settings, known);
    let written = if change.is_empty() {
        text.to_owned()
    } else {
        document.write()
    };
    let mut out = vec![
        written,
        html::fields(&document),
        html::problems(&document),
        html::head(&paper),
    ];
    out.extend(paper.blocks.iter().map(html::block));
    out
}

/// The paper as a file: `latex`, `markdown`, `html`, or a table as CSV, `coefficients` or `values`.
pub fn download(text: &str, settings: &str, format: &str, known: &mut Known) -> String {
    let (document, _) = file::parse(text);
    worked(&document, known);
    let letter = address::pairs(settings).any(|pair| pair == ("paper", "letter".to_owned()));
    match format {
        "coefficients" => csv::coefficients(&tasks(&document, known)),
        "values" => csv::values(&tasks(&document, known)),
        "latex" => latex::write(&paper(&document, settings, known), letter),
        "markdown" => markdown::write(&paper(&document, settings, known)),
        _ => html::file(&paper(&document, settings, known)),
    }
}
