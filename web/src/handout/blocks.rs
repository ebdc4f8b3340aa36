//! What stands on which paper.

use super::{Block, Head, Kind, Paper, Row, Settings, Task, picture, statement, tables};
use crate::inputs::Depth;
use solver::budget::Budget;
use solver::diagnostic::Severity;
use solver::document::closing::sum_line;
use solver::document::formula::Formula;
use solver::document::ledger::{LedgerRow, Line, Prose, Strip};
use solver::document::rows::OTHER_ROUTE;
use solver::document::strip::Figures;
use solver::document::typed;
use solver::document::whole::{self, is_written};
use solver::worksheet::Worksheet;

/// What is said where two ways to a value disagree, on every paper that shows values.
const DEFECT: &str = "**A defect of this worksheet: differentiation and series arithmetic give different values in one of these lines. Trust neither.**";

/// The paper for these problems.
pub fn paper(head: Head, settings: Settings, tasks: &[Task<'_>]) -> Paper {
    let mut blocks = Vec::new();
    let to_work: Vec<bool> = tasks.iter().map(is_to_work).collect();
    let count = to_work.iter().filter(|wanted| **wanted).count();
    let several = if count == 0 { tasks.len() } else { count };
    let mut number = 0;
    for ((index, task), wanted) in tasks.iter().enumerate().zip(to_work) {
        // Where nothing asks for work, all of it is work.
        if !wanted && count > 0 {
            illustration(index, task, settings, &mut blocks);
            continue;
        }
        number += 1;
        blocks.push(Block::Problem {
            number: (several > 1).then_some(number),
            title: if task.block.title.is_empty() && tasks.len() == 1 {
                "Problem".to_owned()
            } else {
                task.block.title.clone()
            },
            marks: task.block.all_marks(),
        });
        blocks.push(Block::Words(statement::sentence(task.worksheet)));
        blocks.push(Block::Given(statement::given(task.worksheet)));
        if !task.block.ask.trim().is_empty() {
            blocks.push(Block::Words(typed::words(
                task.block.ask.trim(),
                &Budget::PAGE,
            )));
        }
        match settings.kind {
            Kind::Problems => {
                blocks.push(Block::Room(task.block.room.unwrap_or(settings.room)));
            }
            Kind::Solution => {
                worked(index, task, settings, &mut blocks);
                shown(index, task, settings, &mut blocks);
            }
            Kind::Key => {
                key(index, task, &mut blocks);
                shown(index, task, settings, &mut blocks);
            }
        }
    }
    Paper {
        kind: settings.kind,
        head,
        blocks,
    }
}

/// What is shown besides the work.
fn shown(index: usize, task: &Task<'_>, settings: Settings, blocks: &mut Vec<Block>) {
    let worksheet = task.worksheet;
    if settings.far && !worksheet.far.is_empty() {
        blocks.push(Block::Heading("How far?"));
        // Of the remainders that of the polynomial.
        let highest = worksheet.far.iter().filter_map(|row| row.degree).max();
        let wanted = |row: &&LedgerRow| row.degree.is_none() || row.degree == highest;
        for row in worksheet.far.iter().filter(wanted) {
            let made = handed_out(index, task, row, whole::Depth::Lines);
            blocks.push(Block::Row(Box::new(made)));
        }
        if settings.plot {
            blocks.extend(picture::plane(worksheet).map(Block::Picture));
        }
    }
    if settings.plot {
        blocks.extend(picture::figures(worksheet).into_iter().map(Block::Picture));
    }
    if settings.table {
        blocks.extend(tables::values(worksheet).into_iter().map(Block::Table));
    }
}

/// Why there is no solution to show.
fn refused(worksheet: &Worksheet, blocks: &mut Vec<Block>) {
    let errors = worksheet.diagnostics.iter();
    for error in errors.filter(|d| d.severity == Severity::Error) {
        // A dollar sign that the message quotes would begin a formula.
        let message = error.message.replace('$', "");
        blocks.push(Block::Words(Prose::words(format!(
            "This problem could not be worked: {message}"
        ))));
    }
}

fn warned(worksheet: &Worksheet, blocks: &mut Vec<Block>) {
    let mut rows = worksheet.document.rows.iter();
    if rows.any(|row| row.checked == Some(false)) {
        blocks.push(Block::Words(Prose::words(DEFECT)));
    }
}

/// Rows that check the work and are no part of it.
fn is_check(row: &LedgerRow) -> bool {
    row.key.starts_with("residual")
}

/// The statement has said it already.
fn is_statement(row: &LedgerRow) -> bool {
    row.key == "given"
}

/// Is it a problem to be worked? One that a file shows without its statement illustrates the prose.
fn is_to_work(task: &Task<'_>) -> bool {
    let show = &task.block.show;
    show.is_empty() || show.iter().any(|part| part == "problem")
}

/// What illustrates the prose: its polynomial, where pictures or tables are on the paper.
fn illustration(index: usize, task: &Task<'_>, settings: Settings, blocks: &mut Vec<Block>) {
    if settings.kind == Kind::Problems || !(settings.plot || settings.table) {
        return;
    }
    blocks.push(Block::Problem {
        number: None,
        title: task.block.title.clone(),
        marks: 0,
    });
    blocks.push(Block::Given(statement::given(task.worksheet)));
    refused(task.worksheet, blocks);
    warned(task.worksheet, blocks);
    let rows = &task.worksheet.document.rows;
    for row in rows.iter().filter(|row| row.key.starts_with("polynomial")) {
        let mut made = handed_out(index, task, row, whole::Depth::Lines);
        made.marks = None;
        made.checked = None;
        blocks.push(Block::Row(Box::new(made)));
    }
    shown(index, task, settings, blocks);
}

fn worked(index: usize, task: &Task<'_>, settings: Settings, blocks: &mut Vec<Block>) {
    refused(task.worksheet, blocks);
    warned(task.worksheet, blocks);
    let depth = match settings.depth {
        Depth::Lines => whole::Depth::Lines,
        Depth::Rules => whole::Depth::Rules,
    };
    for row in &task.worksheet.document.rows {
        if !is_statement(row) && !is_check(row) {
            let mut made = handed_out(index, task, row, depth);
            made.marks = None;
            made.checked = None;
            blocks.push(Block::Row(Box::new(made)));
        }
    }
}

/// What is marked, and the checks.
fn key(index: usize, task: &Task<'_>, blocks: &mut Vec<Block>) {
    refused(task.worksheet, blocks);
    warned(task.worksheet, blocks);
    let document = &task.worksheet.document;
    let strips = document.strips();
    let mut polynomials = strips.iter();
    for row in &document.rows {
        let is_polynomial = row.key.starts_with("polynomial");
        let answers = row.degree.is_some()
            || is_polynomial
            || ["general", "later", "candidate"].contains(&row.key.as_str());
        let mut made = handed_out(index, task, row, whole::Depth::Lines);
        if is_polynomial {
            made.lines.extend(polynomials.next().and_then(decimals));
        }
        let wanted = answers || made.marks.is_some() || made.remark.is_some();
        if wanted && !is_check(row) {
            blocks.push(Block::Row(Box::new(made)));
        }
    }
    blocks.extend(
        tables::coefficients(task.worksheet)
            .into_iter()
            .map(Block::Table),
    );
    let checks: Vec<&LedgerRow> = document.rows.iter().filter(|row| is_check(row)).collect();
    let agreement = agreement(task.worksheet);
    if checks.is_empty() && agreement.is_none() {
        return;
    }
    blocks.push(Block::Heading("Checks"));
    blocks.extend(agreement.map(Block::Words));
    for row in checks {
        let made = handed_out(index, task, row, whole::Depth::Lines);
        blocks.push(Block::Row(Box::new(made)));
    }
}

/// The polynomial in decimals, where that is another line.
fn decimals(strip: &Strip) -> Option<Line> {
    let rounded = strip.terms.iter().any(|term| term.rounded);
    let decimal = whole::polynomial(strip, Figures::Decimals);
    let equals = Formula::Operator(if rounded { '≈' } else { '=' });
    (decimal != whole::polynomial(strip, Figures::Simplified)).then(|| {
        let terms = strip.terms.iter().filter_map(|term| term.decimal.clone());
        sum_line("decimals", equals, terms)
    })
}

/// How many values were found twice.
fn agreement(worksheet: &Worksheet) -> Option<Prose> {
    let entries = || worksheet.table.iter().flatten();
    let (all, twice) = (
        entries().count(),
        entries()
            .filter(|entry| entry.agreed() == Some(true))
            .count(),
    );
    let two = "by differentiation and by series arithmetic.";
    Some(match (all, twice) {
        (0, _) => return None,
        (all, twice) if all == twice => Prose::words(format!("Each value was found twice: {two}")),
        (all, twice) => Prose::words(format!(
            "{twice} of the {all} values were found twice, {two} The others have one way only, or could not be compared."
        )),
    })
}

fn handed_out(index: usize, task: &Task<'_>, row: &LedgerRow, depth: whole::Depth) -> Row {
    let words = |list: &[(String, String)]| {
        let mut own = list
            .iter()
            .filter(|(key, text)| *key == row.key && !text.trim().is_empty());
        own.next()
            .map(|(_, text)| typed::words(text.trim(), &Budget::PAGE))
    };
    let mut marks = task.block.marks.iter();
    let folded = row.folded.is_some();
    let (lines, left_out): (Vec<&Line>, Vec<&Line>) = row
        .lines
        .iter()
        .filter(|line| is_written(line, false, depth) && !compares(line))
        .partition(|line| is_written(line, folded, depth));
    Row {
        problem: index,
        key: row.key.clone(),
        degree: row.degree,
        reason: words(&task.block.rewordings).unwrap_or_else(|| row.reason.clone()),
        lines: lines.into_iter().cloned().collect(),
        shortened: !left_out.is_empty(),
        remark: words(&task.block.remarks),
        marks: marks
            .find(|(key, _)| *key == row.key)
            .map(|(_, marks)| *marks),
        checked: row.checked,
    }
}

/// A line that compares with the other route: said once, among the checks.
fn compares(line: &Line) -> bool {
    matches!(line, Line::Text(prose) if prose.markdown.starts_with(OTHER_ROUTE))
}
