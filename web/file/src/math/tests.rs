use super::*;

fn inside(source: &str) -> String {
    let (xml, unknown) = typeset(source, false);
    assert!(unknown.is_empty(), "{source}: {unknown:?}");
    let xml = xml.strip_prefix("<math>").unwrap();
    xml.strip_suffix("</math>").unwrap().to_owned()
}

#[test]
fn what_teachers_write_is_typeset() {
    for (source, expected) in [
        ("x", "<mi>x</mi>"),
        ("12.5", "<mn>12.5</mn>"),
        ("x^2", "<msup><mi>x</mi><mn>2</mn></msup>"),
        ("x^{10}", "<msup><mi>x</mi><mrow><mn>10</mn></mrow></msup>"),
        (
            "y''",
            "<msup><mi>y</mi><mo lspace=\"0\" rspace=\"0\">″</mo></msup>",
        ),
        ("c_n", "<msub><mi>c</mi><mi>n</mi></msub>"),
        (
            "-x",
            "<mo form=\"prefix\" lspace=\"0\" rspace=\"0\">−</mo><mi>x</mi>",
        ),
        ("a-b", "<mi>a</mi><mo form=\"infix\">−</mo><mi>b</mi>"),
        (
            "a=-b",
            "<mi>a</mi><mo>=</mo><mo form=\"prefix\" lspace=\"0\" rspace=\"0\">−</mo><mi>b</mi>",
        ),
        ("\\frac12", "<mfrac><mn>1</mn><mn>2</mn></mfrac>"),
        ("\\sqrt{x}", "<msqrt><mrow><mi>x</mi></mrow></msqrt>"),
        (
            "\\sqrt[3]x",
            "<mroot><mi>x</mi><mrow><mn>3</mn></mrow></mroot>",
        ),
        ("\\alpha\\le\\pi", "<mi>α</mi><mo>≤</mo><mi>π</mi>"),
        (
            "\\sin x",
            "<mi>sin</mi><mo>&#x2061;</mo><mspace width=\"0.1667em\"/><mi>x</mi>",
        ),
        (
            "\\sin(x)",
            "<mi>sin</mi><mo>&#x2061;</mo><mo form=\"prefix\" stretchy=\"false\">(</mo><mi>x</mi><mo form=\"postfix\" stretchy=\"false\">)</mo>",
        ),
        ("\\text{if }x", "<mtext>if\u{a0}</mtext><mi>x</mi>"),
        ("\\mathbb R", "<mi mathvariant=\"normal\">ℝ</mi>"),
        (
            "n!",
            "<mi>n</mi><mo form=\"postfix\" lspace=\"0\" rspace=\"0\">!</mo>",
        ),
        ("\\not=", "<mo>≠</mo>"),
        (
            "\\hat y",
            "<mover accent=\"true\"><mi>y</mi><mo stretchy=\"false\">^</mo></mover>",
        ),
        ("a % remark", "<mi>a</mi>"),
        (
            "\\left(\\frac ab\\right)",
            "<mrow><mo form=\"prefix\" fence=\"true\" stretchy=\"true\">(</mo><mfrac><mi>a</mi><mi>b</mi></mfrac><mo form=\"postfix\" fence=\"true\" stretchy=\"true\">)</mo></mrow>",
        ),
        (
            "\\begin{pmatrix}a&b\\\\c&d\\end{pmatrix}",
            "<mrow><mo form=\"prefix\" fence=\"true\" stretchy=\"true\">(</mo><mtable><mtr><mtd><mi>a</mi></mtd><mtd><mi>b</mi></mtd></mtr><mtr><mtd><mi>c</mi></mtd><mtd><mi>d</mi></mtd></mtr></mtable><mo form=\"postfix\" fence=\"true\" stretchy=\"true\">)</mo></mrow>",
        ),
        ("", ""),
    ] {
        assert_eq!(inside(source), expected, "{source}");
    }
}

#[test]
fn limits_go_below_in_displays_only() {
    let sum = "\\sum_{k=0}^n c_k";
    assert!(typeset(sum, true).0.contains("<munderover><mo>∑</mo>"));
    assert!(typeset(sum, false).0.contains("<msubsup><mo>∑</mo>"));
    assert!(typeset("\\int_0^1", true).0.contains("<msubsup><mo>∫</mo>"));
    assert!(
        typeset("\\lim_{x\\to0}", true)
            .0
            .contains("<munder><mo movablelimits")
    );
}

#[test]
fn what_is_not_known_is_shown_and_said() {
    for (source, shown, meant) in [
        ("\\alhpa", "\\alhpa", Some("\\alpha")),
        ("x + \\usepackage{y}", "\\usepackage", None),
        ("\\begin{tikz}", "\\begin{tikz}", None),
        ("a}", "}", None),
        ("a & b", "&amp;", None),
    ] {
        let (xml, unknown) = typeset(source, false);
        assert!(
            xml.contains(&format!("<mtext class=\"unread\">{shown}</mtext>")),
            "{source}: {xml}"
        );
        assert_eq!(unknown[0].meant.as_deref(), meant, "{source}");
    }
    for open in [
        "\\left( x",
        "\\begin{matrix} a",
        "{x",
        "x_1_2",
        "\\frac{",
        "\\sqrt[",
        "^",
        "\\left\\foo x\\right)",
    ] {
        let (xml, _) = typeset(open, false);
        assert!(balanced(&xml), "{open}: {xml}");
    }
    assert_eq!(typeset("{x", false).1.len(), 1);
    assert_eq!(typeset("x_1_2", false).1.len(), 1);
}

/// Is every element closed where it was opened?
fn balanced(xml: &str) -> bool {
    let mut open = Vec::new();
    for piece in xml.split('<').skip(1) {
        let Some((tag, _)) = piece.split_once('>') else {
            return false;
        };
        if let Some(name) = tag.strip_prefix('/') {
            if open.pop() != Some(name.to_owned()) {
                return false;
            }
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().unwrap_or("").to_owned());
        }
    }
    open.is_empty()
}

#[test]
fn nothing_hostile_comes_through() {
    const PIECES: &[&str] = &[
        "<script>",
        "</math>",
        "\"",
        "'",
        "&",
        "\\frac",
        "{",
        "}",
        "\\left",
        "\\right",
        "(",
        "^",
        "_",
        "\\begin{matrix}",
        "\\end{matrix}",
        "\\text{<b onload=x>}",
        "\\\\",
        "\\",
        "\\href{javascript:alert(1)}{x}",
        "x",
        "1",
        "\\sqrt[",
        "]",
        "\\not",
        "\\hat",
        "\u{202e}",
        "\0",
        "%",
        "\n",
        "\\operatorname{<i>}",
        "\\mathbb{\"}",
        "é",
        "𝔸",
        "~",
    ];
    let mut seed = 11_u64;
    let mut said = 0;
    for _ in 0..4000 {
        let mut source = String::new();
        for _ in 0..8 {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            let at = usize::try_from((seed >> 33) % u64::try_from(PIECES.len()).unwrap()).unwrap();
            source.push_str(PIECES[at]);
        }
        let (xml, unknown) = typeset(&source, true);
        said += unknown.len();
        assert!(balanced(&xml), "{source:?}\n{xml}");
        for tag in xml.split('<').skip(1) {
            let name: String = tag
                .trim_start_matches('/')
                .chars()
                .take_while(char::is_ascii_alphabetic)
                .collect();
            assert!(name.starts_with('m'), "{source:?}\n{xml}");
            let inside = tag.split('>').next().unwrap_or("");
            assert!(!inside.contains(" on"), "{xml}");
        }
        for unknown in unknown {
            assert!(
                source.get(unknown.place.clone()).is_some(),
                "{source:?} {unknown:?}"
            );
        }
    }
    assert!(said > 1000, "{said}");
}

#[test]
fn depth_ends_somewhere() {
    for piece in [
        "{",
        "\\frac{",
        "\\sqrt{",
        "x^{",
        "\\left(",
        "\\begin{matrix}",
        "\\hat",
        "x_",
        "\\sqrt[",
    ] {
        let (xml, unknown) = typeset(&piece.repeat(20_000), false);
        assert!(!unknown.is_empty() && balanced(&xml), "{piece}");
    }
}
