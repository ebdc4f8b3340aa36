//! Prose to HTML. The solver's prose has words, *emphasis*, **strong** and formula holes
//! ([`Prose`]); nothing else of Markdown is read, and everything that HTML could take for markup is
//! escaped.

use crate::html::{escape, math};
use solver::document::ledger::Prose;
use std::fmt::Write as _;

/// The HTML of one run of prose, without a paragraph around it.
pub fn inline(prose: &Prose) -> String {
    let mut out = String::with_capacity(prose.markdown.len() * 2);
    // Between dollar signs stand the holes.
    let mut pieces = prose.markdown.split('$');
    words(pieces.next().unwrap_or_default(), &mut out);
    while let Some(hole) = pieces.next() {
        let mut behind = pieces.next().unwrap_or_default();
        let index = hole.trim().parse::<usize>().ok();
        match index.and_then(|index| prose.formulas.get(index)) {
            Some(formula) => {
                // Browsers break a line between a formula and whatever stands behind it.
                let (mark, rest) =
                    behind.split_at(behind.starts_with([',', '.', ';', ':', ')']).into());
                behind = rest;
                let formula = math(formula);
                let _ = match mark {
                    "" => write!(out, "{formula}"),
                    _ => write!(out, "<span class=\"joined\">{formula}{mark}</span>"),
                };
            }
            None => out.push_str(&escape(hole)),
        }
        words(behind, &mut out);
    }
    out
}

/// Words with marks of emphasis; a mark without its partner is a star.
fn words(text: &str, out: &mut String) {
    let mut rest = text;
    while let Some((before, marked)) = rest.split_once('*') {
        out.push_str(&escape(before));
        let (mark, tag, marked) = match marked.strip_prefix('*') {
            Some(strong) => ("**", "strong", strong),
            None => ("*", "em", marked),
        };
        match marked.split_once(mark) {
            Some((inner, after)) if inner.starts_with(|c: char| !c.is_whitespace()) => {
                let _ = write!(out, "<{tag}>{}</{tag}>", escape(inner));
                rest = after;
            }
            _ => {
                out.push_str(mark);
                rest = marked;
            }
        }
    }
    out.push_str(&escape(rest));
}

#[cfg(test)]
mod tests {
    use super::*;
    use solver::document::formula::Formula;
    use solver::document::ledger::Line;

    fn prose(markdown: &str) -> Prose {
        Prose {
            markdown: markdown.into(),
            formulas: vec![Formula::Identifier("x".into()), Formula::Number("2".into())],
        }
    }

    #[test]
    fn holes_become_their_formulas() {
        let html = inline(&prose("*power rule* on $0$ and **twice** $1$"));
        let (first, second) = (
            math(&Formula::Identifier("x".into())),
            math(&Formula::Number("2".into())),
        );
        assert_eq!(
            html,
            format!("<em>power rule</em> on {first} and <strong>twice</strong> {second}")
        );
        assert!(
            first.starts_with("<math") && first.ends_with("</math>"),
            "{first}"
        );
    }

    #[test]
    fn what_closes_stays_with_its_formula() {
        let (x, two) = (
            math(&Formula::Identifier("x".into())),
            math(&Formula::Number("2".into())),
        );
        assert_eq!(
            inline(&prose("at $0$, not $1$; or ($1$)")),
            format!(
                "at <span class=\"joined\">{x},</span> not <span class=\"joined\">{two};</span> or (<span class=\"joined\">{two})</span>"
            )
        );
    }

    #[test]
    fn a_hole_without_a_formula_shows_its_text() {
        assert_eq!(inline(&prose("see $7$ and $<b>$")), "see 7 and &lt;b&gt;");
    }

    #[test]
    fn nothing_hostile_comes_through() {
        for (markdown, expected) in [
            (
                "<script>alert(1)</script>",
                "&lt;script&gt;alert(1)&lt;/script&gt;",
            ),
            ("a *<b>* c", "a <em>&lt;b&gt;</em> c"),
            ("d & e \" '", "d &amp; e &quot; &#39;"),
            ("2 * 3 ** 4", "2 * 3 ** 4"),
            ("***", "***"),
        ] {
            assert_eq!(inline(&prose(markdown)), expected, "{markdown}");
        }
    }

    /// A Markdown library reads the same in what the solver says about every example.
    #[test]
    fn the_solvers_prose_is_markdown() {
        let mut seen = 0;
        for example in crate::examples::EXAMPLES {
            let request = example.inputs().request();
            let worksheet =
                solver::worksheet::work(&request, &solver::budget::Budget::PAGE, &mut |_| true);
            for prose in all_prose(&worksheet) {
                let html = inline(prose).replace("<span class=\"joined\">", "");
                assert_eq!(
                    html.replace("</span>", ""),
                    by_library(prose),
                    "{}",
                    prose.markdown
                );
                seen += 1;
            }
        }
        assert!(seen > 100, "{seen}");
    }

    fn all_prose(worksheet: &solver::worksheet::Worksheet) -> Vec<&Prose> {
        let rows = worksheet.document.rows.iter();
        rows.flat_map(|row| {
            row.lines
                .iter()
                .filter_map(|line| match line {
                    Line::Text(prose) => Some(prose),
                    Line::Formula { reason, .. } => reason.as_ref(),
                })
                .chain([&row.reason])
        })
        .collect()
    }

    fn by_library(prose: &Prose) -> String {
        use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
        let mut out = String::new();
        for event in Parser::new_ext(&prose.markdown, Options::ENABLE_MATH) {
            match event {
                Event::Start(Tag::Emphasis) => out.push_str("<em>"),
                Event::End(TagEnd::Emphasis) => out.push_str("</em>"),
                Event::Start(Tag::Strong) => out.push_str("<strong>"),
                Event::End(TagEnd::Strong) => out.push_str("</strong>"),
                Event::Text(text) => out.push_str(&escape(&text)),
                Event::InlineMath(hole) => {
                    let index: usize = hole.parse().expect("a hole");
                    out.push_str(&math(&prose.formulas[index]));
                }
                Event::Start(Tag::Paragraph) | Event::End(TagEnd::Paragraph) => {}
                other => panic!("{other:?} in {}", prose.markdown),
            }
        }
        out
    }
}
