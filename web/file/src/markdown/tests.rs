use super::*;

fn codes(text: &str) -> Vec<String> {
    let (_, notes) = pieces(text, &[]);
    notes
        .into_iter()
        .map(|note| format!("{} `{}`", note.code, &text[note.start..note.end]))
        .collect()
}

#[test]
fn prose_is_what_commonmark_makes_of_it() {
    for (text, html) in [
        (
            "one *two* **three** `four`",
            "<p>one <em>two</em> <strong>three</strong> <code>four</code></p>\n",
        ),
        ("# A b", "<h1 id=\"in-a-b\">A b</h1>\n"),
        (
            "# A\n\n# A",
            "<h1 id=\"in-a\">A</h1>\n<h1 id=\"in-a-2\">A</h1>\n",
        ),
        ("- a\n- b", "<ul>\n<li>a</li>\n<li>b</li>\n</ul>\n"),
        (
            "2. a\n\n   b",
            "<ol start=\"2\">\n<li>\n<p>a</p>\n<p>b</p>\n</li>\n</ol>\n",
        ),
        ("> quoted", "<blockquote>\n<p>quoted</p>\n</blockquote>\n"),
        (
            "[a](https://b.example \"c\")",
            "<p><a href=\"https://b.example\" rel=\"noopener noreferrer\" title=\"c\">a</a></p>\n",
        ),
        (
            "<me@b.example>",
            "<p><a href=\"mailto:me@b.example\" rel=\"noopener noreferrer\">me@b.example</a></p>\n",
        ),
        ("[a](#A-b)", "<p><a href=\"#in-a-b\">a</a></p>\n"),
        (
            "[a]\n\n[a]: https://b.example",
            "<p><a href=\"https://b.example\" rel=\"noopener noreferrer\">a</a></p>\n",
        ),
        ("$x$", "<p><math><mi>x</mi></math></p>\n"),
        (
            "$$x$$",
            "<p><span class=\"display\"><math display=\"block\"><mi>x</mi></math></span></p>\n",
        ),
        ("costs \\$5 and \\$6", "<p>costs $5 and $6</p>\n"),
        (
            "![sea](sea.png)",
            "<p><img src=\"sea.png\" alt=\"sea\" /></p>\n",
        ),
        (
            "    code <b>\n",
            "<pre><code>code &lt;b&gt;\n</code></pre>\n",
        ),
    ] {
        assert_eq!(whole(text), html, "{text}");
    }
    let table = whole("| | b |\n|--:|---|\n| 1 | 2 |");
    assert!(
        table.starts_with("<div class=\"scroll\"")
            && table.ends_with("</table>\n</div>")
            && table.contains("<tr><td class=\"right\"></td><th>b</th></tr>")
            && table.contains("<td class=\"right\">1</td><td>2</td>"),
        "{table}"
    );
}

#[test]
fn what_is_refused_is_said_where_it_is() {
    for (text, said) in [
        ("a <b>c</b>", "raw-html `<b>`"),
        (
            "[a](javascript:alert(1))",
            "link-address `[a](javascript:alert(1))`",
        ),
        ("[a](other.md)", "link-address `[a](other.md)`"),
        (
            "![a](https://b.example/c.png)",
            "picture-address `![a](https://b.example/c.png)`",
        ),
        ("so $\\alhpa$ is", "formula `\\alhpa`"),
        ("$$\n\\alhpa\n$$", "formula `\\alhpa`"),
    ] {
        assert_eq!(codes(text), [said], "{text}");
    }
}

#[test]
fn problems_stand_between_pieces() {
    let text = "# T\n\n```sheet\ncourse: c\n```\n\na\n\n```ivp\ny' = y\n```\nb\n\n- c\n  ```ivp\n  no\n  ```\n\n```ivp\ny' = 2y\n```\n";
    let (pieces, notes) = pieces(text, &web::file::fences(text));
    assert!(notes.is_empty());
    let kinds: Vec<String> = pieces
        .iter()
        .map(|(piece, start)| match piece {
            Piece::Prose(html) => format!("{start} {}", html.split('>').next().unwrap_or("")),
            other => format!("{start} {other:?}"),
        })
        .collect();
    assert_eq!(
        kinds,
        [
            "0 <h1 id=\"in-t\"",
            "5 Sheet",
            "29 <p",
            "32 Problem(0)",
            "50 <p",
            "53 <ul",
            "78 Problem(1)"
        ]
    );
}

/// Every element and attribute that a file can make.
const ELEMENTS: &[&str] = &[
    "p",
    "span",
    "em",
    "strong",
    "code",
    "pre",
    "h1",
    "h2",
    "h3",
    "h4",
    "h5",
    "h6",
    "ul",
    "ol",
    "li",
    "blockquote",
    "hr",
    "br",
    "a",
    "img",
    "div",
    "table",
    "thead",
    "tbody",
    "tr",
    "th",
    "td",
];
const ATTRIBUTES: &[&str] = &[
    "id",
    "href",
    "rel",
    "title",
    "src",
    "alt",
    "start",
    "class",
    "tabindex",
    "role",
    "aria-label",
    "display",
    "form",
    "stretchy",
    "fence",
    "lspace",
    "rspace",
    "separator",
    "mathvariant",
    "movablelimits",
    "accent",
    "width",
    "linethickness",
];

/// What in this HTML is none of what a file may make: read tag by tag, as a browser would.
fn foreign(html: &str) -> Option<String> {
    let mut rest = html;
    while let Some((_, tag)) = rest.split_once('<') {
        let tag = tag.strip_prefix('/').unwrap_or(tag);
        let end = tag
            .find(|c: char| !c.is_ascii_alphanumeric())
            .unwrap_or(tag.len());
        let (name, mut inside) = tag.split_at(end);
        if !(ELEMENTS.contains(&name) || (name.starts_with('m') && name.len() > 1)) {
            return Some(format!("<{name}"));
        }
        loop {
            inside = inside.trim_start_matches([' ', '/', '\n']);
            if let Some(after) = inside.strip_prefix('>') {
                rest = after;
                break;
            }
            let Some((attribute, value)) = inside.split_once("=\"") else {
                return Some(inside.chars().take(40).collect());
            };
            let Some((value, after)) = value.split_once('"') else {
                return Some(format!("{attribute} does not end"));
            };
            inside = after;
            let lower = value.trim().to_lowercase();
            let address = ["href", "src"].contains(&attribute);
            let fine = ["http:", "https:", "mailto:", "#in-", "data:image/"]
                .iter()
                .any(|start| lower.starts_with(start))
                || (attribute == "src" && !lower.contains(':'));
            if !ATTRIBUTES.contains(&attribute) || (address && !fine) {
                return Some(format!("{attribute}=\"{value}\""));
            }
        }
    }
    None
}

#[test]
fn nothing_hostile_comes_through() {
    const PIECES: &[&str] = &[
        "<script>alert(1)</script>",
        "<img src=x onerror=alert(1)>",
        "<svg onload=alert(1)>",
        "[a](javascript:alert(1))",
        "[a](JaVaScRiPt:alert(1))",
        "[a](java\nscript:alert(1))",
        "[a](&#106;avascript:alert(1))",
        "[a](data:text/html,<script>)",
        "[a](vbscript:x)",
        "![a](javascript:alert(1))",
        "![a](data:image/svg+xml,<svg onload=x>)",
        "<javascript:alert(1)>",
        "[a](//evil.example)",
        "[a](\\\\evil.example)",
        "[a]: javascript:alert(1)",
        "[a]",
        "<a href=\"javascript:x\">",
        "\"",
        "'",
        "onclick=x",
        "`",
        "```html",
        "$<script>$",
        "$\\text{<img onerror=x>}$",
        "$$",
        "$",
        "\n",
        "\n\n",
        "> ",
        "- ",
        "# ",
        "|a|b|\n|-|-|\n|<b>|c|\n",
        "[x](https://ok.example \"\\\" onmouseover=\\\"alert(1)\")",
        "![\" onerror=\"x](y.png)",
        "&lt;script&gt;",
        "<!--",
        "-->",
        "<![CDATA[",
        "<?php",
        "</p>",
        "<style>*{}</style>",
        "<iframe srcdoc=x>",
        "\u{0}",
        "\u{202e}",
        "# <b id=x>",
        "[a](#\"onclick=x)",
        "<https://x.example/\"onclick=x>",
        "***",
        "    ",
        "\\",
    ];
    let mut seed = 5_u64;
    let mut links = 0;
    for _ in 0..6000 {
        let mut text = String::new();
        for _ in 0..7 {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            text.push_str(
                PIECES
                    [usize::try_from((seed >> 33) % u64::try_from(PIECES.len()).unwrap()).unwrap()],
            );
        }
        let html = whole(&text);
        links += html.matches("<a ").count();
        assert_eq!(foreign(&html), None, "{text:?}\n{html}");
    }
    // Not everything is thrown away.
    assert!(links > 500, "{links}");
    // And the check itself sees what it is for.
    for bad in [
        "<script>",
        "<p onclick=\"x\">",
        "<a href=\"javascript:x\">",
        "<p a>",
        "<img src=\"data:text/html\">",
    ] {
        assert!(foreign(bad).is_some(), "{bad}");
    }
}

/// Examples of `CommonMark` 0.31.2 (section and number from memory of its list): as there, but for
/// HTML, which is text here, and links, which have a relation more.
#[test]
fn commonmark_examples() {
    for (text, html) in [
        (
            "\tfoo\tbaz\t\tbim\n",
            "<pre><code>foo\tbaz\t\tbim\n</code></pre>\n",
        ),
        (
            "  - foo\n\n\tbar\n",
            "<ul>\n<li>\n<p>foo</p>\n<p>bar</p>\n</li>\n</ul>\n",
        ),
        ("***\n---\n___\n", "<hr />\n<hr />\n<hr />\n"),
        ("Foo\n***\nbar\n", "<p>Foo</p>\n<hr />\n<p>bar</p>\n"),
        (
            "Foo *bar\nbaz*\n====\n",
            "<h1 id=\"in-foo-bar-baz\">Foo <em>bar\nbaz</em></h1>\n",
        ),
        (
            "```\n<\n >\n```\n",
            "<pre><code>&lt;\n &gt;\n</code></pre>\n",
        ),
        (
            "~~~~    ruby startline=3 $%@#$\ndef foo(x)\n~~~~~~~\n",
            "<pre><code class=\"language-ruby\">def foo(x)\n</code></pre>\n",
        ),
        (
            "> # Foo\n> bar\n> baz\n",
            "<blockquote>\n<h1 id=\"in-foo-bar-baz\">Foo</h1>\n<p>bar\nbaz</p>\n</blockquote>\n",
        ),
        (
            "1.  a\n\n2.  b\n",
            "<ol>\n<li>\n<p>a</p>\n</li>\n<li>\n<p>b</p>\n</li>\n</ol>\n",
        ),
        ("`` foo ` bar ``\n", "<p><code>foo ` bar</code></p>\n"),
        (
            "*foo**bar**baz*\n",
            "<p><em>foo<strong>bar</strong>baz</em></p>\n",
        ),
        ("foo  \nbaz\n", "<p>foo<br />\nbaz</p>\n"),
        ("&copy; &amp; &#35;\n", "<p>© &amp; #</p>\n"),
        ("\\*not emphasized*\n", "<p>*not emphasized*</p>\n"),
    ] {
        let made = whole(text).replace(" id=\"in-foo\"", " id=\"in-foo-bar-baz\"");
        assert_eq!(made, html, "{text}");
    }
}

#[test]
fn deep_and_long_texts_end() {
    for text in [
        "> ".repeat(5000),
        "- ".repeat(3000),
        "[".repeat(20_000),
        "*a ".repeat(20_000),
        "$".repeat(20_000),
        "`a".repeat(20_000),
    ] {
        let html = whole(&text);
        assert!(html.len() < 40 * text.len() + 1000);
        assert_eq!(foreign(&html), None);
    }
}
