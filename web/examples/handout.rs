//! Writes the hand-out of a worksheet file.
//!
//! ```text
//! handout problems|solution|key latex|markdown|html|coefficients|values [plot] [table] [far] [rules] < FILE
//! ```

use solver::budget::Budget;
use solver::worksheet::work;
use std::io::Read;
use std::process::ExitCode;
use web::file;
use web::handout::{Head, Kind, Settings, Task, blocks, csv, html, latex, markdown};
use web::inputs::{Choice, Depth};

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let [kind, format, more @ ..] = words.as_slice() else {
        return ExitCode::FAILURE;
    };
    let mut text = String::new();
    if std::io::stdin().read_to_string(&mut text).is_err() {
        return ExitCode::FAILURE;
    }
    let has = |word: &str| more.iter().any(|own| own == word);
    let (document, _) = file::parse(&text);
    let worksheets: Vec<_> = document
        .problems()
        .map(|block| work(&block.inputs.request(), &Budget::PAGE, &mut |_| true))
        .collect();
    let tasks: Vec<Task<'_>> = document
        .problems()
        .zip(&worksheets)
        .map(|(block, worksheet)| Task { block, worksheet })
        .collect();
    let settings = Settings {
        kind: Kind::parse(kind).unwrap_or_default(),
        depth: if has("rules") {
            Depth::Rules
        } else {
            Depth::Lines
        },
        plot: has("plot"),
        table: has("table"),
        far: has("far"),
        room: 8,
    };
    let paper = blocks::paper(Head::of(&document), settings, &tasks);
    print!(
        "{}",
        match format.as_str() {
            "latex" => latex::write(&paper, false),
            "markdown" => markdown::write(&paper),
            "html" => html::file(&paper),
            "coefficients" => csv::coefficients(&tasks),
            _ => csv::values(&tasks),
        }
    );
    ExitCode::SUCCESS
}
