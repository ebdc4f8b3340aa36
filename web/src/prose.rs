//! Prose in Markdown to HTML. Only words, *emphasis*, **strong**, code and formula holes come
//! through; raw HTML, links, images and everything else is dropped, its words kept.

use crate::html::{escape, math};
use pulldown_cmark::{Event, Options, Parser, Tag, TagEnd};
use solver::document::ledger::Prose;

/// The HTML of one run of prose, without a paragraph around it.
pub fn inline(prose: &Prose) -> String {
    let mut out = String::with_capacity(prose.markdown.len() * 2);
    let mut paragraphs = 0_usize;
    for event in Parser::new_ext(&prose.markdown, Options::ENABLE_MATH) {
        match event {
            Event::Start(Tag::Paragraph) => {
                if paragraphs > 0 {
                    out.push_str("<br>");
                }
                paragraphs += 1;
            }
            Event::Start(Tag::Emphasis) => out.push_str("<em>"),
            Event::End(TagEnd::Emphasis) => out.push_str("</em>"),
            Event::Start(Tag::Strong) => out.push_str("<strong>"),
            Event::End(TagEnd::Strong) => out.push_str("</strong>"),
            Event::Text(text) => out.push_str(&escape(&text)),
            Event::Code(text) => {
                out.push_str("<code>");
                out.push_str(&escape(&text));
                out.push_str("</code>");
            }
            Event::InlineMath(hole) | Event::DisplayMath(hole) => {
                match hole
                    .trim()
                    .parse::<usize>()
                    .ok()
                    .and_then(|index| prose.formulas.get(index))
                {
                    Some(formula) => out.push_str(&math(formula)),
                    None => out.push_str(&escape(&hole)),
                }
            }
            Event::SoftBreak | Event::HardBreak => out.push(' '),
            Event::Start(_)
            | Event::End(_)
            | Event::Html(_)
            | Event::InlineHtml(_)
            | Event::FootnoteReference(_)
            | Event::Rule
            | Event::TaskListMarker(_) => {}
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use solver::document::formula::Formula;

    fn prose(markdown: &str) -> Prose {
        Prose {
            markdown: markdown.into(),
            formulas: vec![Formula::Identifier("x".into()), Formula::Number("2".into())],
        }
    }

    #[test]
    fn holes_become_their_formulas() {
        let html = inline(&prose("*power rule* on $0$, **twice** $1$"));
        let (first, second) = (
            math(&Formula::Identifier("x".into())),
            math(&Formula::Number("2".into())),
        );
        assert_eq!(
            html,
            format!("<em>power rule</em> on {first}, <strong>twice</strong> {second}")
        );
        assert!(
            first.starts_with("<math") && first.ends_with("</math>"),
            "{first}"
        );
    }

    #[test]
    fn a_hole_without_a_formula_shows_its_text() {
        assert_eq!(inline(&prose("see $7$ and $<b>$")), "see 7 and &lt;b&gt;");
    }

    #[test]
    fn nothing_hostile_comes_through() {
        for (markdown, expected) in [
            ("<script>alert(1)</script>", ""),
            ("a <img src=x onerror=alert(1)> b", "a  b"),
            ("[a](javascript:alert(1))", "a"),
            ("![b](http://example.invalid/p.png)", "b"),
            ("<b onmouseover=x>c</b>", "c"),
            ("`<i>`", "<code>&lt;i&gt;</code>"),
            ("d & e \" '", "d &amp; e &quot; &#39;"),
            ("# f", "f"),
            ("<http://example.invalid/>", "http://example.invalid/"),
        ] {
            assert_eq!(inline(&prose(markdown)), expected, "{markdown}");
        }
    }
}
