//! Writes the hand-out of problems given as address fragments, one a line of the input.
//!
//! ```text
//! handout problems|solution|key latex|markdown|html|coefficients|values [plot] [table] < FRAGMENTS
//! ```
use std::io::Read;
use std::process::ExitCode;
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
    let worksheets: Vec<_> = text
        .lines()
        .filter_map(web::address::decode)
        .map(|inputs| {
            solver::worksheet::work(
                &inputs.request(),
                &solver::budget::Budget::PAGE,
                &mut |_| true,
            )
        })
        .collect();
    let tasks: Vec<Task<'_>> = worksheets
        .iter()
        .map(|worksheet| Task {
            title: "",
            ask: "",
            room: None,
            marks: &[],
            rewordings: &[],
            remarks: &[],
            worksheet,
        })
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
        room: 8,
    };
    let paper = blocks::paper(Head::default(), &settings, &tasks);
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
