//! The ledger's rows and the polynomial strip as markup.

use crate::appearance;
use crate::html::{broken, escape, is_wide, math};
use crate::markup::{self, Markup};
use crate::prose;
use solver::document::formula::Formula;
use solver::document::ledger::{Document, LedgerRow, Line, Piece, Role, Strip, StripTerm};
use solver::document::rows::ENCLOSURE;
use solver::document::strip::Figures;
use solver::document::whole;
use std::fmt::Write;

/// So many known values stand openly in a row's margin; more are folded away.
const OPEN_VALUES: usize = 5;

/// A term with more characters than this gets a scroll bar where it is too wide. (A scroll bar for
/// every term would cost the browser as much as the terms do.)
const WIDE_TERM: usize = 24;
/// The same for a term of a value in the margin.
const WIDE_VALUE: usize = 12;

/// Of a line that is too long to read so much is shown, in bytes of HTML; the page would be tens of
/// megabytes otherwise.
const LONG_LINE: usize = 4_000;
/// A term of the polynomial that is longer has its decimals in its place.
const LONG_TERM: usize = 2_500;

/// All rows. Each row's margin holds what is known by then.
pub fn rows(document: &Document) -> Vec<Markup> {
    let mut known: Vec<&Formula> = Vec::new();
    document
        .rows
        .iter()
        .map(|row| {
            let made = row_markup(row, &known);
            known.extend(&row.known);
            made
        })
        .collect()
}

/// One row by itself; its margin holds what it makes known.
pub fn row(row: &LedgerRow) -> Markup {
    row_markup(row, &[])
}

fn row_markup(row: &LedgerRow, known: &[&Formula]) -> Markup {
    let mut class = String::from("row");
    let mut button = String::new();
    if let Some(degree) = row.degree {
        class.push_str(" of ");
        class.push_str(&appearance::classes(degree));
        let _ = write!(
            button,
            "<button type=\"button\" data-show=\"{degree}\" title=\"show degree {degree} in the plot\" \
             aria-label=\"Degree {degree}: show it in the plot\">{degree}</button>"
        );
    }
    if row.checked == Some(false) {
        class.push_str(" defect");
    }
    let parts = vec![
        Markup::leaf("div", "reason", prose::inline(&row.reason)),
        Markup::leaf("div", "degree", button),
        Markup::around("div", "work", work(row)),
        Markup::around("div", "known", margin(row.known.as_ref(), known)),
    ];
    let made = Markup::around("div", &class, parts).keyed(&row.key);
    match row.degree {
        Some(degree) => made.with("data-degree", degree.to_string()),
        None => made,
    }
}

fn work(row: &LedgerRow) -> Vec<Markup> {
    let mut out = Vec::new();
    if row.checked == Some(false) {
        out.push(Markup::leaf(
            "p",
            "alarm",
            "Defect: differentiation and series arithmetic give different values here. \
             Trust neither; please report this problem.",
        ));
    }
    // One tab stop for each row: its first term; arrow keys go on from there.
    let mut stop = "0";
    let most = row.folded.map_or(usize::MAX, |_| LONG_LINE);
    let mut folded = Vec::new();
    for line in &row.lines {
        let made = line_markup(line, &mut stop, most);
        // What a folded value is in numbers is seen without opening anything.
        let hidden = row.folded.is_some()
            && !matches!(line, Line::Formula { label, .. } if *label == ENCLOSURE);
        if hidden { &mut folded } else { &mut out }.push(made);
    }
    if let Some(count) = row.folded {
        let words = format!("{count} terms: too long to read, folded");
        folded.insert(0, Markup::leaf("summary", "", words));
        out.push(Markup::around("details", "folded", folded));
    }
    out
}

fn margin(newest: Option<&Formula>, before: &[&Formula]) -> Vec<Markup> {
    let value = |class: &str, formula: &Formula| {
        let html = broken(formula);
        let wide = html.split("</math>").any(|term| is_wide(term, WIDE_VALUE));
        let class = if wide {
            format!("{class} wide")
        } else {
            class.into()
        };
        Markup::leaf("span", class.trim_start(), html)
    };
    let Some(newest) = newest else {
        return Vec::new();
    };
    let mut out = vec![value("new", newest)];
    let earlier = before.iter().rev().map(|formula| value("", formula));
    if before.len() > OPEN_VALUES {
        let summary = Markup::leaf("summary", "", format!("and {} before", before.len()));
        let mut folded = vec![summary];
        let mut left = LONG_LINE;
        for value in earlier {
            let Some(less) = left.checked_sub(value.cost()) else {
                folded.push(Markup::leaf("span", "", "… see the rows above"));
                break;
            };
            left = less;
            folded.push(value);
        }
        out.push(Markup::leaf("details", "", markup::html(&folded)));
    } else {
        out.extend(earlier);
    }
    out
}

fn line_markup(line: &Line, stop: &mut &str, most: usize) -> Markup {
    match line {
        Line::Text(text) => Markup::leaf("p", "", prose::inline(text)),
        Line::Formula {
            label,
            pieces,
            detail,
            reason,
        } => {
            let mut parts = Vec::new();
            if !label.is_empty() {
                parts.push(Markup::leaf("span", "label", escape(label)));
            }
            // The tab stop must be a term that is always shown.
            let mut none = "-1";
            let stop = if *detail { &mut none } else { stop };
            parts.push(Markup::around("div", "terms", terms(pieces, stop, most)));
            if let Some(reason) = reason {
                parts.push(Markup::leaf("span", "because", prose::inline(reason)));
            }
            let class = match (*detail, label.is_empty()) {
                (true, true) => "line detail",
                (true, false) => "line detail named",
                (false, true) => "line",
                (false, false) => "line named",
            };
            Markup {
                detail: *detail,
                ..Markup::around("div", class, parts)
            }
        }
    }
}

/// The pieces of a line, as many as there is room for.
fn terms(pieces: &[Piece], stop: &mut &str, most: usize) -> Vec<Markup> {
    let (mut out, mut left) = (Vec::<Markup>::new(), most);
    for (at, piece) in pieces.iter().enumerate() {
        let mut made = piece_markup(piece, stop);
        // An equals sign stays with the last term: `= 0` is not torn apart.
        let equals = |piece: &&Piece| piece.formula == Formula::Operator('=');
        let sign = at.checked_sub(1).and_then(|before| pieces.get(before));
        if at + 1 == pieces.len() && at > 1 && sign.as_ref().is_some_and(equals) {
            made = Markup::around(
                "span",
                "kept",
                out.pop().into_iter().chain([made]).collect(),
            );
        }
        let cost = made.cost();
        if cost > left {
            let words = match pieces.len() - at {
                1 => "… (the rest is too long to read; data (JSON) has all of it)".to_owned(),
                more => format!("… and {more} terms more; data (JSON) has all of them"),
            };
            out.push(Markup::leaf("span", "because", words));
            break;
        }
        left -= cost;
        out.push(made);
    }
    out
}

fn piece_markup(piece: &Piece, stop: &mut &str) -> Markup {
    let mut class = String::from(match piece.role {
        Role::Lead => "t lead",
        Role::Term => "t",
        Role::Value => "t value",
    });
    let mut html = math(&piece.formula);
    if is_wide(&html, WIDE_TERM) {
        class.push_str(" wide");
        html = broken(&piece.formula);
    }
    if let Some(why) = &piece.vanishes {
        class.push_str(" gone");
        // Its parts stand side by side, above the reason.
        html = format!("<span>{html}</span><small>{}</small>", math(why));
    }
    let made = Markup::leaf("span", &class, html);
    match piece.id {
        Some(id) => {
            let sources: Vec<String> = piece.sources.iter().map(usize::to_string).collect();
            made.with("data-term", id.to_string())
                .with("data-from", sources.join(" "))
                .with("tabindex", std::mem::replace(stop, "-1"))
        }
        None => made,
    }
}

/// The items of the polynomial strip, for each unknown.
pub fn strips(document: &Document) -> Vec<Vec<Markup>> {
    document.strips().iter().map(strip).collect()
}

fn strip(strip: &Strip) -> Vec<Markup> {
    let lead = whole::polynomial_lead(strip, Figures::Simplified)
        .zip(whole::polynomial_lead(strip, Figures::Decimals))
        .map(|(exact, decimal)| {
            let ways = vec![
                Markup::leaf("span", "same", math(&exact)),
                Markup::leaf("span", "decimal", math(&decimal)),
            ];
            let coefficient = Markup::around("span", "coefficient", ways);
            Markup::around("li", "lead", vec![coefficient])
        });
    lead.into_iter()
        .chain(strip.terms.iter().map(term_markup))
        .collect()
}

fn term_markup(term: &StripTerm) -> Markup {
    let degree = term.degree;
    let ways = match &term.simplified {
        Some(simplified) => [
            ("exact", Some(simplified)),
            ("factorial", term.factorial_term.as_ref()),
            ("decimal", term.decimal.as_ref()),
        ]
        .into_iter()
        .map(|(class, way)| {
            let html = math(way.unwrap_or(simplified));
            let shorter = term.decimal.as_ref().filter(|_| html.len() > LONG_TERM);
            let html = shorter.map_or(html, |decimal| {
                format!("<small>about</small> {}", math(decimal))
            });
            Markup::leaf("span", class, html)
        })
        .collect(),
        None => vec![Markup::leaf(
            "span",
            "none",
            format!("degree {degree} missing"),
        )],
    };
    let missing = if term.simplified.is_none() {
        " missing"
    } else {
        ""
    };
    let raw = Some(math(&term.with_factorial)).filter(|html| html.len() <= LONG_TERM);
    let raw = raw.unwrap_or_else(|| "exact value too long to read".into());
    let parts = vec![
        Markup::leaf("span", "raw", raw),
        Markup::around("span", "coefficient", ways),
    ];
    let class = format!("of{missing} {}", appearance::classes(degree));
    Markup::around("li", &class, parts).with("data-degree", degree.to_string())
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
        let html = &made[0].html();
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
        assert!(
            made[0].attribute("class").unwrap().ends_with(" defect")
                && made[0].html().contains("Defect")
        );
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
        let third = &made[2].html();
        let (new, old) = (
            third.find(&math(&number("102"))).unwrap(),
            third.find(&math(&number("101"))).unwrap(),
        );
        assert!(new < old && !third.contains("before</summary>"), "{third}");
        assert!(made[7].html().contains("and 7 before</summary>"));
        assert_eq!(
            (0..8)
                .filter(|n| made[7].html().contains(&math(&number(&format!("10{n}")))))
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
        assert!(made[0].html().contains("<summary>312 terms"));
        assert_eq!(
            count(&made[0].html(), "<details"),
            count(&made[0].html(), "</details>")
        );
    }

    #[test]
    fn of_a_line_too_long_to_read_the_beginning_is_shown() {
        let mut long = row("order-9", Some(9), None);
        let pieces = |count: usize| -> Vec<Piece> {
            let piece = |n: usize| Piece {
                formula: number(&n.to_string()),
                id: Some(n),
                sources: vec![],
                vanishes: None,
                role: Role::Term,
            };
            (1000..1000 + count).map(piece).collect()
        };
        let line = |pieces| Line::Formula {
            label: "",
            pieces,
            detail: false,
            reason: None,
        };
        long.lines = vec![line(pieces(900)), line(pieces(3))];
        let html = |row: &LedgerRow| row_markup(row, &[]).html();
        assert!(count(&html(&long), "data-term") == 903, "not folded");
        long.folded = Some(900);
        let html = html(&long);
        let shown = count(&html, "data-term");
        assert!((10..100).contains(&shown) && html.len() < 3 * LONG_LINE);
        let rest = format!(
            "and {} terms more; data (JSON) has all of them",
            903 - shown
        );
        assert!(html.contains(&rest), "{html}");
        assert!(html.contains("1002"), "the short line is whole");
    }

    #[test]
    fn an_equals_sign_stays_with_what_is_behind_it() {
        let mut made = row("order-1", Some(1), None);
        let Some(Line::Formula { pieces, .. }) = made.lines.first_mut() else {
            panic!("a line");
        };
        pieces[1].formula = Formula::Operator('=');
        let html = row_markup(&made, &[]).html();
        let kept = html.split("<span class=\"kept\">").nth(1).unwrap();
        assert!(kept.contains(&math(&Formula::Operator('='))) && kept.contains("data-term=\"4\""));
    }

    #[test]
    fn the_strip_names_missing_degrees() {
        let polynomial = Strip {
            lead: Some(number("99")),
            terms: vec![
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
        let html = markup::html(&strip(&polynomial));
        assert!(
            html.contains("degree 1 missing") && html.contains(&math(&number("22"))),
            "{html}"
        );
        assert_eq!(count(&html, "<li"), 3);
        assert!(!html.contains("about"));
        let long = StripTerm {
            simplified: Some(number(&"7".repeat(LONG_TERM))),
            ..polynomial.terms[0].clone()
        };
        let html = term_markup(&long).html();
        assert!(html.contains(&format!("<small>about</small> {}", math(&number("22")))));
        assert!(html.len() < LONG_TERM, "{html}");
    }
}
