//! Every kind of mistake and ambiguity: its code, its place (between « and ») and what the text
//! becomes by the first repair.

use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Severity};
use crate::span::Field;
use crate::syntax::{applied, is_incomplete, parse_constant, parse_equations};

/// A text with its place marked, the code, and the text after the first repair.
type Case = (&'static str, &'static str, Option<&'static str>);

fn check(cases: &[Case], severity: Severity, read: fn(&str) -> Vec<Diagnostic>) {
    for (marked, code, repaired) in cases {
        let text = marked.replace(['«', '»'], "");
        let diagnostics = read(&text);
        let found: Vec<String> = diagnostics
            .iter()
            .map(|d| {
                let (before, rest) = text.split_at(d.span.start);
                let (inside, after) = rest.split_at(d.span.end - d.span.start);
                format!("{before}«{inside}»{after} {}", d.code)
            })
            .collect();
        assert_eq!(found, [format!("{marked} {code}")]);
        let diagnostic = &diagnostics[0];
        assert_eq!(diagnostic.severity, severity, "{marked}");
        assert!(diagnostic.message.ends_with('.'), "{}", diagnostic.message);
        let first = diagnostic.suggestions.first().map(|s| applied(&text, s));
        assert_eq!(first.as_deref(), *repaired, "{marked}");
    }
}

fn equations(text: &str) -> Vec<Diagnostic> {
    parse_equations(text, &Budget::PAGE).1
}

fn errors(cases: &[Case]) {
    check(cases, Severity::Error, equations);
}

#[test]
fn brackets() {
    errors(&[
        ("y' = «(»1+x", "unclosed-bracket", Some("y' = (1+x)")),
        ("y' «(»1+x = 2", "unclosed-bracket", Some("y' (1+x) = 2")),
        ("y' = «[»1+x", "unclosed-bracket", Some("y' = [1+x)")),
        ("y' = 1+x«)»", "unbalanced-bracket", Some("y' = 1+x")),
        (
            "y' = (1+x))«»".replace("))«»", ")«)»").leak(),
            "unbalanced-bracket",
            Some("y' = (1+x)"),
        ),
        ("y' = «|»x", "unclosed-bracket", Some("y' = |x|")),
        ("y' = 2«()»", "missing-operand", None),
        ("y' = sin(x«,» y)", "comma-in-brackets", None),
    ]);
}

#[test]
fn half_typed() {
    let cases: &[Case] = &[
        ("«»", "empty-field", None),
        ("y'' = 2x «-»", "missing-operand", None),
        ("y'' = 2«/»", "missing-operand", None),
        ("y'' = x«^»", "missing-operand", None),
        ("y'' = 2 +«+»", "missing-operand", None),
        ("y'' = «sin»", "missing-argument", None),
        ("y'' = «√»", "missing-operand", None),
        ("y'' «=»", "missing-side", None),
        ("«=» 2x", "missing-side", None),
        ("«y''»", "missing-equals", Some("y'' = 0")),
        (
            "«y'' + 2y»; z' = 1",
            "missing-equals",
            Some("y'' + 2y = 0; z' = 1"),
        ),
        ("y'' = 2(x + 1«*»)", "missing-operand", None),
        ("y'' = «\\»", "unfinished-command", None),
        ("y'' = «\\fra»", "unfinished-command", None),
        ("y'' = «\\frac»", "missing-operand", None),
        ("y'' = «\\sqrt»", "missing-operand", None),
        ("y'' = «\\sin»", "missing-argument", None),
        ("y'' = x \\cdot «\\lef»", "unfinished-command", None),
        ("y'' = «(»", "missing-operand", None),
    ];
    for case in cases {
        assert!(is_incomplete(case.1), "{}", case.1);
    }
    // The bracket that nothing follows is told of twice: it is open and empty.
    errors(&cases[..cases.len() - 1]);
    let codes: Vec<&str> = equations("y'' = (").iter().map(|d| d.code).collect();
    assert_eq!(codes, ["missing-operand", "unclosed-bracket"]);
}

#[test]
fn equals_signs() {
    errors(&[
        ("y' «==» x", "doubled-equals", Some("y' = x")),
        ("y' = x «=» 2", "doubled-equals", None),
        ("y' «<» x", "inequality", Some("y' = x")),
        ("y' «≥» x", "inequality", Some("y' = x")),
        ("y' «<=» x", "inequality", Some("y' = x")),
        ("y' «≈» x", "inequality", Some("y' = x")),
    ]);
}

#[test]
fn names() {
    errors(&[
        ("y' = «sine» x", "unknown-name", Some("y' = sin x")),
        ("y' = «cosine»(x)", "unknown-name", Some("y' = cos(x)")),
        ("y' = «squareroot»(x)", "unknown-name", Some("y' = sqrt(x)")),
        ("y' = «foo»", "unknown-name", Some("y' = f o o")),
        ("y' = «velocity»", "unknown-name", None),
        ("y' = «max»(x)", "piecewise", None),
        ("y' = «u_x» + u", "partial-equation", None),
        ("y' = «x2»", "number-behind-letter", Some("y' = x^2")),
        ("y' = «у»+x", "look-alike-letter", Some("y' = y+x")),
        ("«у»' = х+у", "look-alike-letter", Some("y' = x+y")),
    ]);
}

#[test]
fn other_kinds_of_equation() {
    errors(&[
        ("y' = «∫» y dx", "integral-equation", None),
        ("«∂»u/∂t = u", "partial-equation", None),
        ("«u_x» = u", "partial-equation", None),
        ("«u_{xx}» = u_t", "partial-equation", None),
        ("y' = «lim» x", "limit", None),
        ("y' = «∑» x", "sum-sign", None),
        ("«→»y = x", "vector", None),
        ("y' = ±x".replace('±', "«±»").leak(), "plus-minus", None),
    ]);
}

#[test]
fn signs_without_meaning() {
    errors(&[
        ("y' = «<script>»alert(1)</script>", "markup", None),
        ("y' = «<b>»x</b>", "markup", None),
        ("y' = x«&nbsp;»+ 1", "markup", Some("y' = x+ 1")),
        ("y' = «\\foo»{x}{2}", "latex-command", None),
        ("y' = «if» x", "piecewise", None),
        (
            "y' = «\\begin{cases}» x \\\\ 0 \\end{cases}",
            "piecewise",
            None,
        ),
        ("y' = x «🙂»", "stray-character", Some("y' = x ")),
        ("y' = x «#@»", "stray-character", Some("y' = x ")),
        ("y' = 5«!»", "factorial", None),
        ("y' = «∞»", "infinity", None),
        ("y' = x«**»2", "power-sign", Some("y' = x^2")),
        (
            "y' = «0,5» x".replace("«0,5»", "0«,»5").leak(),
            "decimal-comma",
            Some("y' = 0.5 x"),
        ),
        ("y' = «1.2.3»", "two-decimal-points", None),
        ("y' = «1e999999»", "number-too-large", None),
        ("y' = «2 3»", "two-numbers", Some("y' = 2*3")),
        (
            "y' = (y y«)'»".replace("«)'»", ")«'»").leak(),
            "stray-prime",
            Some("y' = (y y)"),
        ),
        ("y' = «'»x", "stray-prime", Some("y' = x")),
        ("«d^2y/dx^3» = x", "leibniz-mismatch", Some("d^3y/dx^3 = x")),
        ("«dy/dx^2» = x", "leibniz-mismatch", Some("d^2y/dx^2 = x")),
        (
            "y' = sin^«√2» cos x",
            "function-exponent",
            Some("y' = sin^(√2) cos x"),
        ),
        ("«dy/dx»^n = x", "leibniz-power", Some("(dy/dx)^n = x")),
        ("y' = «sec^-1» x", "inverse-function", Some("y' = 1/sec  x")),
    ]);
}

#[test]
fn notices_on_how_it_was_read() {
    check(
        &[
            ("y' = «1/2x»", "quotient-product", Some("y' = (1/2)x")),
            (
                "y' = «x/(1+x)y»",
                "quotient-product",
                Some("y' = (x/(1+x))y"),
            ),
            (
                "y' = «sin x/2»",
                "function-quotient",
                Some("y' = (sin x)/2"),
            ),
            (
                "y' = «sin x cos x»",
                "function-product",
                Some("y' = (sin x) (cos x)"),
            ),
            (
                "y' = sin «x y»",
                "function-argument",
                Some("y' = sin (x y)"),
            ),
            (
                "y' = sin «x(1+x)»",
                "function-argument",
                Some("y' = sin (x(1+x))"),
            ),
            ("y' = «e^2x»", "power-product", Some("y' = e^(2x)")),
            ("y' = «x^1/2»", "power-quotient", Some("y' = x^(1/2)")),
            ("y' = «x^y^2»", "stacked-powers", Some("y' = x^(y^2)")),
            ("y' = «√x»^2", "root-extent", Some("y' = √(x)^2")),
            ("y' = «√2»x", "root-extent", Some("y' = √(2)x")),
            ("y' = «sinx»", "run-together", Some("y' = sin x")),
            ("y' = 2«pix»", "run-together", Some("y' = 2pi x")),
            ("y' = «log» x", "natural-logarithm", Some("y' = ln x")),
            ("y' = «log_2» x", "logarithm-base", None),
            ("y' = «lg» x", "logarithm-base", Some("y' = l g  x")),
            ("y' = «arcsec» x", "reciprocal-argument", None),
            (
                "y' = «sin^-1» x",
                "inverse-function",
                Some("y' = arcsin  x"),
            ),
            ("y' = «k^(2)» y", "superscript-power", Some("y' = k^2 y")),
        ],
        Severity::Notice,
        equations,
    );
}

#[test]
fn no_notice_where_nothing_else_is_meant() {
    for text in [
        "y'' + 2y' + y/2 = x^2/2",
        "y' = 1/2 x",
        "y' = x²y",
        "y' = ½x",
        "y' = sin 2x",
        "y' = sin(x)/2",
        "y' = sin(x) cos(x)",
        "y' = e^x y",
        "y' = e^-x^2",
        "y' = -x^2",
        "y' = x/2 + y",
        "(4+x^2)y'' + 3y = 0",
        "x y'' - 2y' = x^2",
        "θ'' = −sin θ",
    ] {
        assert_eq!(equations(text), [], "{text}");
    }
}

#[test]
fn constants() {
    let read = |text: &str| parse_constant(text, Field::At, &Budget::PAGE).1;
    check(
        &[
            ("2 «=» 3", "not-a-constant", None),
            ("1«,» 2", "not-a-constant", None),
            ("«»", "empty-field", None),
            ("1«,»5", "decimal-comma", Some("1.5")),
            ("«∞»", "infinity", None),
        ],
        Severity::Error,
        read,
    );
}

#[test]
fn limits() {
    let deep = format!("y' = {}x{}", "(".repeat(1000), ")".repeat(1000));
    let tower = format!("y' = x{}", "^x".repeat(1000));
    let chain = format!("y' = x{}", "*x".repeat(1500));
    let signs = format!("y' = {}x", "-".repeat(1000));
    let nested_chains = format!("y' = {}", "(x*x*x*x*x*x*x*x*x*x*".repeat(60));
    let calls = format!("y' = {}x", "sin ".repeat(900));
    let roots = format!("y' = {}x", "√".repeat(900));
    for text in [
        &deep,
        &tower,
        &chain,
        &signs,
        &nested_chains,
        &calls,
        &roots,
    ] {
        let codes: Vec<&str> = equations(text).iter().map(|d| d.code).collect();
        assert_eq!(codes, ["too-deep"], "{}", &text[..20]);
    }
    let long = format!("y' = {}x{}", "(".repeat(10_000), ")".repeat(10_000));
    let longer = format!("y' = {}", "é".repeat(50_000));
    for text in [&long, &longer] {
        let codes: Vec<&str> = equations(text).iter().map(|d| d.code).collect();
        assert_eq!(codes, ["too-long"]);
    }
    // Long, but flat: no reason to refuse.
    assert_eq!(equations(&format!("y' = x{}", " + x".repeat(1000))), []);
}

/// With no limit on the length, still no overflow.
#[test]
fn limits_without_a_limit_on_length() {
    let budget = Budget {
        text_bytes: usize::MAX,
        ..Budget::PAGE
    };
    for part in [
        "(", "^x", "*x", "-", "/x", "sin ", "√", "|", "x(", "{[", " x", "2^-",
    ] {
        let text = format!("y' = x{}", part.repeat(100_000 / part.len()));
        let codes: Vec<&str> = parse_equations(&text, &budget)
            .1
            .iter()
            .map(|d| d.code)
            .collect();
        assert_eq!(codes, ["too-deep"], "{part}");
    }
}
