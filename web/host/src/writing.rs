//! Pages of documentation: Markdown in `www`, as HTML. (`www/writing.md` is written by a test of the
//! solver.)

use pulldown_cmark::{Options, Parser, html};
use std::fmt::Write;

const HEAD: &str = r#"<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'self'; font-src 'self'; img-src 'self' data:; base-uri 'none'; form-action 'none'">
<link rel="icon" href="icon.svg" type="image/svg+xml">
<link rel="stylesheet" href="style.css">
</head>
<body class="ways">
<main>
<p><a href="index.html">Back to the worksheet</a></p>
"#;

/// The whole page. Its title is the heading that the text begins with.
pub(crate) fn page(markdown: &str) -> String {
    let heading = markdown
        .lines()
        .next()
        .unwrap_or("")
        .trim_start_matches("# ");
    let title = format!("<title>{heading}: Ordinary Point</title>\n<link rel=\"icon\"");
    let mut out = HEAD.replacen("<link rel=\"icon\"", &title, 1);
    html::push_html(&mut out, Parser::new_ext(markdown, Options::ENABLE_TABLES));
    // On a narrow screen a table scrolls by itself; each has a name of its own.
    let mut parts = out.split("<table>");
    let mut whole = parts.next().unwrap_or("").to_owned();
    for (number, part) in (1..).zip(parts) {
        let _ = write!(
            whole,
            "<div class=\"scroll\" tabindex=\"0\" role=\"region\" aria-label=\"Table {number}\"><table>"
        );
        whole += &part.replace("</table>", "</table></div>");
    }
    whole + "</main>\n</body>\n</html>\n"
}
