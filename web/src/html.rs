//! Small things that every piece of markup needs.

use solver::document::formula::Formula;

/// Text made safe for element content and quoted attributes.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for character in text.chars() {
        match character {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

/// A formula as a `math` element of its own.
pub fn math(formula: &Formula) -> String {
    solver::document::mathml::write(formula)
}
