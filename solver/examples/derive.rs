//! Prints the worksheet of a problem as JSON.
//!
//! ```text
//! derive EQUATION CONDITIONS [--degree N] [--interval A B] [--at X]… [--tolerance T] [--beside CONDITIONS|PLACE] [--parameter k=4]…
//!     [--digits 15|30|50] [--candidate "y = …"]
//! ```
//!
//! Exits 0 with the worksheet, or 1 with `{"diagnostics": […]}` when there is none. The degree is
//! a number or words such as "first 4 non-zero terms" (5 when not given). `--at` may be repeated.
//! `--tolerance` is how far a partial sum may be from the solution (1/1000 when not given); the degree
//! that is needed is told for the first `--at`.
//! `--beside` takes other conditions, or a place such as `x = 1` at which to recenter; several with
//! the word "or" between them.
//! `--digits`: so many certain digits of the solution's values are wanted.
//! `--parameter` gives a letter its number for the numerical solution; the table keeps the letter.
//! Whatever follows an option is its value, also when it starts with a minus sign.

use std::io::Write;
use std::process::ExitCode;

use solver::budget::Budget;
use solver::diagnostic::Diagnostic;
use solver::span::{Field, Span};
use solver::worksheet::{Request, Worksheet, export, work};

/// The degree when none is given.
const DEGREE: &str = "5";

fn main() -> ExitCode {
    let (text, worked) = run(std::env::args().skip(1));
    let printed = writeln!(std::io::stdout(), "{text}");
    if printed.is_ok() && worked {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    }
}

/// What is printed for a command line, and whether there is a worksheet.
pub(crate) fn run(words: impl Iterator<Item = String>) -> (String, bool) {
    let worksheet = match request(words) {
        Ok(request) => {
            let mut worksheet = work(&request, &Budget::PAGE, &mut |_| true);
            worksheet.diagnostics.extend(no_such_letter(&worksheet));
            worksheet
        }
        Err(message) => Worksheet {
            diagnostics: vec![Diagnostic::error(
                "command-line",
                Field::Equation,
                Span::new(0, 0),
                format!(
                    "{message} Write: derive EQUATION CONDITIONS [--degree N] [--interval A B] [--at X] [--tolerance T] [--beside CONDITIONS] [--parameter k=4] [--digits 15|30|50] [--candidate FORMULA]"
                ),
            )],
            ..Worksheet::default()
        },
    };
    (export::json(&worksheet), !worksheet.has_error())
}

/// A number for a letter that the problem does not have is a slip.
fn no_such_letter(worksheet: &Worksheet) -> Option<Diagnostic> {
    let problem = worksheet.problem.as_ref()?;
    let known = |name: &str| problem.parameters.iter().any(|own| own.name == name);
    let mut typed = worksheet.request.parameters.iter();
    let (name, _) = typed.find(|(name, _)| !known(name))?;
    Some(Diagnostic::error(
        "command-line",
        Field::Equation,
        Span::new(0, 0),
        format!("The problem has no letter {name} that stands for a constant."),
    ))
}

/// Reads the command line; the message says what is missing.
fn request(mut words: impl Iterator<Item = String>) -> Result<Request, String> {
    let mut positional = Vec::new();
    let mut request = Request {
        degree: DEGREE.to_owned(),
        ..Request::default()
    };
    while let Some(word) = words.next() {
        let mut value = |option: &str| {
            words
                .next()
                .ok_or_else(|| format!("{option} needs a value behind it."))
        };
        match word.as_str() {
            "--degree" => request.degree = value("--degree")?,
            "--interval" => request.interval = (value("--interval")?, value("--interval")?),
            "--candidate" => request.candidate = value("--candidate")?,
            "--tolerance" => request.tolerance = value("--tolerance")?,
            "--digits" => {
                request.digits = Some(match value("--digits")?.as_str() {
                    "15" => 15,
                    "30" => 30,
                    "50" => 50,
                    _ => return Err("--digits takes 15, 30 or 50.".to_owned()),
                });
            }
            "--at" => request.at.push(value("--at")?),
            "--beside" => request.beside = value("--beside")?,
            "--parameter" => {
                let text = value("--parameter")?;
                let (name, number) = text.split_once('=').ok_or_else(|| {
                    "--parameter is written like this: --parameter k=4.".to_owned()
                })?;
                let pair = (name.trim().to_owned(), number.trim().to_owned());
                request.parameters.push(pair);
            }
            option if option.starts_with("--") && option[2..].starts_with(char::is_alphabetic) => {
                return Err(format!("There is no option {option}."));
            }
            _ => positional.push(word),
        }
    }
    let mut positional = positional.into_iter();
    match (positional.next(), positional.next(), positional.next()) {
        (Some(equation), Some(conditions), None) => {
            request.equation = equation;
            request.conditions = conditions;
            Ok(request)
        }
        (_, _, None) => Err("An equation and its conditions are needed.".to_owned()),
        _ => Err("There are more than an equation and its conditions.".to_owned()),
    }
}
