//! Whole worksheets as text: each file in `worksheets/` holds a problem, the ledger it must give,
//! and what must be said about the input.
//!
//! `BLESS=1 cargo test -p solver --test worksheets` writes what comes out now; read the difference
//! line by line before keeping it.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use solver::budget::Budget;
use solver::diagnostic::Severity;
use solver::document::strip::Figures;
use solver::document::whole::{self, Depth, copies};
use solver::problem::Route;
use solver::worksheet::{Request, Worksheet, prepare};

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/worksheets")
}

fn files() -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = std::fs::read_dir(folder())
        .expect("a readable folder")
        .map(|entry| entry.expect("a readable entry").path())
        .filter(|path| path.extension().is_some_and(|e| e == "md"))
        .collect();
    found.sort();
    found
}

/// What stands before the first block, the lines of the `ivp` block, and how much is to be written
/// down.
fn source(text: &str) -> (&str, Request, Depth) {
    let mut depth = Depth::Lines;
    let (head, rest) = text.split_once("```ivp\n").expect("an ivp block");
    let (block, _) = rest.split_once("\n```").expect("the block's end");
    let mut request = Request {
        degree: "5".to_owned(),
        ..Request::default()
    };
    for line in block.lines() {
        let (key, value) = line.split_once(':').expect("key: value");
        let value = value.trim().to_owned();
        match key {
            "equation" => request.equation = value,
            "conditions" => request.conditions = value,
            "degree" => request.degree = value,
            "depth" => {
                assert_eq!(value, "every rule");
                depth = Depth::Rules;
            }
            "route" => {
                request.route = Some(match value.as_str() {
                    "solved" => Route::Solved,
                    "as it stands" => Route::Standing,
                    other => panic!("unknown route {other}"),
                });
            }
            other => panic!("unknown key {other}"),
        }
    }
    let end = head.len() + "```ivp\n".len() + block.len() + "\n```\n".len();
    (&text[..end], request, depth)
}

fn rendered(head: &str, worksheet: &Worksheet, depth: Depth) -> String {
    let mut out = head.to_owned();
    if !worksheet.document.rows.is_empty() {
        let ledger = whole::to_plain(&worksheet.document, depth);
        let _ = write!(out, "\n## Ledger\n\n```text\n{ledger}```\n");
        let _ = write!(out, "\n## Polynomial\n\n```text\n");
        for figures in [Figures::Simplified, Figures::Factorials, Figures::Decimals] {
            let _ = writeln!(out, "{}", copies(&worksheet.document, figures).plain);
        }
        let _ = writeln!(
            out,
            "{}",
            copies(&worksheet.document, Figures::Simplified).markdown
        );
        out.push_str("```\n");
    }
    out.push_str("\n## Said about the input\n\n```text\n");
    for diagnostic in &worksheet.diagnostics {
        let kind = match diagnostic.severity {
            Severity::Error => format!("error ({:?})", diagnostic.outcome),
            Severity::Notice => "notice".to_owned(),
        };
        let text = worksheet.field_text(diagnostic.field);
        let place = text
            .get(diagnostic.span.start..diagnostic.span.end)
            .expect("a span on character boundaries");
        let _ = writeln!(
            out,
            "{kind} {} at `{place}`: {}",
            diagnostic.code, diagnostic.message
        );
        for suggestion in &diagnostic.suggestions {
            let _ = writeln!(out, "    {}", suggestion.label);
        }
    }
    out.push_str("```\n");
    out
}

#[test]
fn worksheets_read_as_written() {
    let bless = std::env::var_os("BLESS").is_some();
    let mut wrong = Vec::new();
    let files = files();
    assert!(files.len() >= 12, "only {} worksheets", files.len());
    for path in files {
        let text = std::fs::read_to_string(&path).expect("a readable file");
        let (head, request, depth) = source(&text);
        let worksheet = prepare(&request, &Budget::PAGE, &mut |_| true);
        let now = rendered(head, &worksheet, depth);
        if now == text {
            continue;
        }
        if bless {
            std::fs::write(&path, &now).expect("a writable file");
        } else {
            let end = std::iter::repeat("(end)");
            let pairs = text.lines().chain(end.clone()).zip(now.lines().chain(end));
            let (line, (was, is)) = pairs
                .enumerate()
                .find(|(_, (was, is))| was != is)
                .expect("a difference");
            wrong.push(format!(
                "{}:{}\n  was {was}\n  is  {is}",
                path.display(),
                line + 1
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}
