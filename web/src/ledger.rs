//! The ledger's rows and the polynomial strip as HTML.

use crate::appearance;
use crate::html::{escape, math};
use crate::prose;
use crate::protocol::RowMarkup;
use solver::document::formula::Formula;
use solver::document::ledger::{Document, LedgerRow, Line, Piece, Role, StripTerm};
use solver::document::strip::Figures;
use solver::document::whole;
use std::fmt::Write;

/// So many known values stand openly in a row's margin; more are folded away.
const OPEN_VALUES: usize = 5;

/// All rows. Each row's margin holds what is known by then.
pub fn rows(document: &Document) -> Vec<RowMarkup> {
    let mut known: Vec<&Formula> = Vec::new();
    document
        .rows
        .iter()
        .map(|row| {
            let html = row_html(row, &known);
            known.extend(&row.known);
            RowMarkup {
                key: row.key.clone(),
                class: class(row),
                degree: row.degree,
                html,
            }
        })
        .collect()
}

fn class(row: &LedgerRow) -> String {
    let mut class = String::from("row");
    if let Some(degree) = row.degree {
        class.push_str(" of ");
        class.push_str(&appearance::classes(degree));
    }
    if row.checked == Some(false) {
        class.push_str(" defect");
    }
    class
}

fn row_html(row: &LedgerRow, known: &[&Formula]) -> String {
    let mut out = format!(
        "<div class=\"reason\">{}</div><div class=\"degree\">",
        prose::inline(&row.reason)
    );
    if let Some(degree) = row.degree {
        let _ = write!(
            out,
            "<button type=\"button\" data-show=\"{degree}\" title=\"show degree {degree} in the plot\" \
             aria-label=\"Degree {degree}: show it in the plot\">{degree}</button>"
        );
    }
    out.push_str("</div><div class=\"work\">");
    if row.checked == Some(false) {
        out.push_str(
            "<p class=\"alarm\">Defect: differentiation and series arithmetic give different values here. \
             Trust neither; please report this problem.</p>",
        );
    }
    let mut body = String::new();
    let mut terms = 0;
    for line in &row.lines {
        line_html(&mut body, line, &mut terms);
    }
    match row.folded {
        Some(count) => {
            let _ = write!(
                out,
                "<details class=\"folded\"><summary>{count} terms: too long to read, folded</summary>{body}</details>"
            );
        }
        None => out.push_str(&body),
    }
    out.push_str("</div><div class=\"known\">");
    known_html(&mut out, row.known.as_ref(), known);
    out.push_str("</div>");
    out
}

fn known_html(out: &mut String, newest: Option<&Formula>, before: &[&Formula]) {
    let Some(newest) = newest else { return };
    let _ = write!(out, "<span class=\"new\">{}</span>", math(newest));
    let folded = before.len() > OPEN_VALUES;
    if folded {
        let _ = write!(
            out,
            "<details><summary>and {} before</summary>",
            before.len()
        );
    }
    for formula in before.iter().rev() {
        let _ = write!(out, "<span>{}</span>", math(formula));
    }
    if folded {
        out.push_str("</details>");
    }
}

fn line_html(out: &mut String, line: &Line, terms: &mut usize) {
    match line {
        Line::Text(text) => {
            let _ = write!(out, "<p>{}</p>", prose::inline(text));
        }
        Line::Formula {
            label,
            pieces,
            detail,
            reason,
        } => {
            let _ = write!(
                out,
                "<div class=\"line{}{}\">",
                if *detail { " detail" } else { "" },
                if label.is_empty() { "" } else { " named" }
            );
            if !label.is_empty() {
                let _ = write!(out, "<span class=\"label\">{}</span>", escape(label));
            }
            out.push_str("<div class=\"terms\">");
            for piece in pieces {
                piece_html(out, piece, terms);
            }
            out.push_str("</div>");
            if let Some(reason) = reason {
                let _ = write!(
                    out,
                    "<span class=\"because\">{}</span>",
                    prose::inline(reason)
                );
            }
            out.push_str("</div>");
        }
    }
}

/// One tab stop for each row: its first term; arrow keys go on from there.
fn piece_html(out: &mut String, piece: &Piece, terms: &mut usize) {
    let mut class = String::from(match piece.role {
        Role::Lead => "t lead",
        Role::Term => "t",
        Role::Value => "t value",
    });
    if piece.vanishes.is_some() {
        class.push_str(" gone");
    }
    let _ = write!(out, "<span class=\"{class}\"");
    if let Some(id) = piece.id {
        let sources: Vec<String> = piece.sources.iter().map(usize::to_string).collect();
        let stop = if *terms == 0 { 0 } else { -1 };
        let _ = write!(
            out,
            " data-term=\"{id}\" data-from=\"{}\" tabindex=\"{stop}\"",
            sources.join(" ")
        );
        *terms += 1;
    }
    let _ = write!(out, ">{}", math(&piece.formula));
    if let Some(why) = &piece.vanishes {
        let _ = write!(out, "<small>{}</small>", math(why));
    }
    out.push_str("</span>");
}

/// The items of the polynomial strip.
pub fn strip(document: &Document) -> String {
    let mut out = String::new();
    if let (Some(exact), Some(decimal)) = (
        whole::polynomial_lead(document, Figures::Simplified),
        whole::polynomial_lead(document, Figures::Decimals),
    ) {
        let _ = write!(
            out,
            "<li class=\"lead\"><span class=\"coefficient\"><span class=\"same\">{}</span>\
             <span class=\"decimal\">{}</span></span></li>",
            math(&exact),
            math(&decimal)
        );
    }
    for term in &document.strip {
        term_html(&mut out, term);
    }
    out
}

fn term_html(out: &mut String, term: &StripTerm) {
    let degree = term.degree;
    let missing = if term.simplified.is_none() {
        " missing"
    } else {
        ""
    };
    let _ = write!(
        out,
        "<li class=\"of{missing} {}\" data-degree=\"{degree}\"><span class=\"raw\">{}</span>",
        appearance::classes(degree),
        math(&term.with_factorial)
    );
    match &term.simplified {
        Some(simplified) => {
            let _ = write!(
                out,
                "<span class=\"coefficient\"><span class=\"exact\">{}</span><span class=\"factorial\">{}</span>\
                 <span class=\"decimal\">{}</span></span>",
                math(simplified),
                math(term.factorial_term.as_ref().unwrap_or(simplified)),
                math(term.decimal.as_ref().unwrap_or(simplified))
            );
        }
        None => {
            let _ = write!(
                out,
                "<span class=\"coefficient\"><span class=\"none\">degree {degree} missing</span></span>"
            );
        }
    }
    out.push_str("</li>");
}

#[cfg(test)]
mod tests {
    use super::*;
    use solver::document::ledger::Prose;

    fn number(text: &str) -> Formula {
        Formula::Number(text.into())
    }

    fn row(key: &str, degree: Option<usize>, checked: Option<bool>) -> LedgerRow {
        LedgerRow {
            key: key.into(),
            degree,
            reason: Prose {
                markdown: "*why* $0$".into(),
                formulas: vec![number("7")],
            },
            lines: vec![Line::Formula {
                label: "like terms",
                pieces: vec![
                    Piece {
                        formula: number("11"),
                        id: None,
                        sources: vec![],
                        vanishes: None,
                        role: Role::Lead,
                    },
                    Piece {
                        formula: number("12"),
                        id: Some(3),
                        sources: vec![1, 2],
                        vanishes: None,
                        role: Role::Term,
                    },
                    Piece {
                        formula: number("0"),
                        id: Some(4),
                        sources: vec![],
                        vanishes: Some(number("13")),
                        role: Role::Term,
                    },
                ],
                detail: false,
                reason: None,
            }],
            known: degree.map(|degree| number(&format!("10{degree}"))),
            folded: None,
            checked,
        }
    }

    fn count(text: &str, what: &str) -> usize {
        text.matches(what).count()
    }

    #[test]
    fn a_row_has_its_reason_terms_and_ancestry() {
        let made = rows(&Document {
            rows: vec![row("order-1", Some(1), Some(true))],
            ..Document::default()
        });
        let html = &made[0].html;
        assert!(
            html.contains(&format!("<em>why</em> {}", math(&number("7")))),
            "{html}"
        );
        assert!(
            html.contains("data-term=\"3\" data-from=\"1 2\" tabindex=\"0\""),
            "{html}"
        );
        assert!(
            html.contains("data-term=\"4\" data-from=\"\" tabindex=\"-1\""),
            "{html}"
        );
        assert!(
            html.contains(&format!("<small>{}</small>", math(&number("13")))),
            "{html}"
        );
        assert!(html.contains("like terms"));
        assert!(!html.contains("Defect"));
    }

    #[test]
    fn a_disagreement_is_loud() {
        let made = rows(&Document {
            rows: vec![row("order-1", Some(1), Some(false))],
            ..Document::default()
        });
        assert!(made[0].class.contains("defect") && made[0].html.contains("Defect"));
    }

    #[test]
    fn the_margin_lists_what_is_known_newest_first() {
        let document = Document {
            rows: (0..8)
                .map(|n| row(&format!("order-{n}"), Some(n), None))
                .collect(),
            ..Document::default()
        };
        let made = rows(&document);
        let third = &made[2].html;
        let (new, old) = (
            third.find(&math(&number("102"))).unwrap(),
            third.find(&math(&number("101"))).unwrap(),
        );
        assert!(new < old && !third.contains("before</summary>"), "{third}");
        assert!(made[7].html.contains("and 7 before</summary>"));
        assert_eq!(
            (0..8)
                .filter(|n| made[7].html.contains(&math(&number(&format!("10{n}")))))
                .count(),
            8
        );
    }

    #[test]
    fn a_folded_row_says_so() {
        let mut long = row("order-9", Some(9), None);
        long.folded = Some(312);
        let made = rows(&Document {
            rows: vec![long],
            ..Document::default()
        });
        assert!(made[0].html.contains("<summary>312 terms"));
        assert_eq!(
            count(&made[0].html, "<details"),
            count(&made[0].html, "</details>")
        );
    }

    #[test]
    fn the_strip_names_missing_degrees() {
        let document = Document {
            rows: vec![],
            strip_lead: Some(number("99")),
            strip: vec![
                StripTerm {
                    degree: 0,
                    with_factorial: number("20"),
                    factorial_term: Some(number("23")),
                    simplified: Some(number("21")),
                    decimal: Some(number("22")),
                    rounded: false,
                },
                StripTerm {
                    degree: 1,
                    with_factorial: number("30"),
                    factorial_term: None,
                    simplified: None,
                    decimal: None,
                    rounded: false,
                },
            ],
        };
        let html = strip(&document);
        assert!(
            html.contains("degree 1 missing") && html.contains(&math(&number("22"))),
            "{html}"
        );
        assert_eq!(count(&html, "<li"), 3);
    }
}
