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
            "candidate" => request.candidate = value,
            "beside" => request.beside = value,
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

/// All fixtures that have a ledger.
fn ledgers() -> Vec<(PathBuf, Worksheet)> {
    files()
        .into_iter()
        .map(|path| {
            let text = std::fs::read_to_string(&path).expect("a readable file");
            let (_, request, _) = source(&text);
            let worksheet = prepare(&request, &Budget::PAGE, &mut |_| true);
            (path, worksheet)
        })
        .filter(|(_, worksheet)| !worksheet.document.rows.is_empty())
        .collect()
}

#[test]
fn latex_documents_are_balanced() {
    for (path, worksheet) in ledgers() {
        for depth in [Depth::Lines, Depth::Rules] {
            let latex = whole::to_latex(&worksheet.document, depth);
            let place = format!("{} {depth:?}", path.display());
            let mut open = 0_i32;
            let mut dollars = 0_u32;
            let mut escaped = false;
            for c in latex.chars() {
                match c {
                    _ if escaped => escaped = false,
                    '\\' => escaped = true,
                    '{' => open += 1,
                    '}' => open -= 1,
                    '$' => dollars += 1,
                    _ => {}
                }
                assert!(open >= 0, "{place}");
            }
            assert_eq!(open, 0, "{place}");
            assert_eq!(dollars % 2, 0, "{place}");
            let count = |piece: &str| latex.matches(piece).count();
            assert_eq!(count("\\left("), count("\\right)"), "{place}");
            assert_eq!(count("\\begin{"), count("\\end{"), "{place}");
            assert_eq!(count("\\item[{"), worksheet.document.rows.len(), "{place}");
            // Nothing that needs more than the plain fonts.
            let odd: String = latex.chars().filter(|c| !c.is_ascii()).collect();
            assert_eq!(odd, "", "{place}");
        }
    }
}

#[test]
fn markdown_documents_are_one_list_with_a_paragraph_for_each_line() {
    use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
    for (path, worksheet) in ledgers() {
        let document = &worksheet.document;
        for depth in [Depth::Lines, Depth::Rules] {
            let markdown = whole::to_markdown(document, depth);
            let place = format!("{} {depth:?}", path.display());
            let (mut items, mut lists, mut paragraphs, mut math) = (0, 0, 0, 0);
            for event in Parser::new_ext(&markdown, Options::ENABLE_MATH | Options::ENABLE_TABLES) {
                match event {
                    Event::Start(Tag::Item) => items += 1,
                    Event::Start(Tag::List(None)) => lists += 1,
                    Event::Start(Tag::Paragraph) => paragraphs += 1,
                    Event::InlineMath(tex) => {
                        math += 1;
                        assert!(!tex.trim().is_empty(), "{place}");
                    }
                    Event::Start(Tag::Emphasis | Tag::Strong)
                    | Event::End(
                        TagEnd::Emphasis
                        | TagEnd::Strong
                        | TagEnd::Item
                        | TagEnd::List(_)
                        | TagEnd::Paragraph,
                    ) => {}
                    // A dollar sign or an asterisk left over is markup that was not understood.
                    Event::Text(text) => assert!(!text.contains(['$', '*']), "{place}: {text}"),
                    other => panic!("{place}: {other:?}"),
                }
            }
            assert_eq!((items, lists), (document.rows.len(), 1), "{place}");
            let dollars = markdown.matches('$').count() - markdown.matches("\\$").count();
            assert_eq!(2 * math, dollars, "{place}");
            assert!(paragraphs > items, "{place}");
        }
    }
}
