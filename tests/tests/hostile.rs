//! Whatever is typed, there is an answer: no panic, marked places that can be underlined, messages
//! that are sentences, repairs that can be carried out. Fixed seeds.

use solver::budget::Budget;
use solver::diagnostic::{Diagnostic, Severity};
use solver::document::typed;
use solver::span::Field;
use solver::worksheet::{Request, Worksheet, prepare};

/// The page's limits, but for the work of one answer: thousands are worked here.
const BUDGET: Budget = Budget {
    steps: 200_000,
    terms: 40,
    nodes: 2_000,
    ..Budget::PAGE
};

/// Xorshift (Marsaglia 2003), enough for tests.
struct Random(u64);

impl Random {
    fn below(&mut self, limit: usize) -> usize {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        usize::try_from((self.0 >> 11) % limit as u64).expect("small")
    }

    fn pick<'a>(&mut self, from: &[&'a str]) -> &'a str {
        from[self.below(from.len())]
    }
}

const TOKENS: &[&str] = &[
    "y",
    "y'",
    "y''",
    "y'''",
    "y^(4)",
    "dy/dx",
    "x",
    "t",
    "θ",
    "pi",
    "e",
    "sin",
    "ln",
    "sqrt",
    "tan",
    "abs",
    "|",
    "(",
    ")",
    "[",
    "]",
    "+",
    "-",
    "*",
    "/",
    "^",
    "=",
    "==",
    ",",
    ";",
    "\n",
    " ",
    "0",
    "1",
    "2",
    "1/2",
    "0.5",
    "1e9999",
    "1e-9",
    "²",
    "½",
    "√",
    "−",
    "·",
    "×",
    "′",
    "∫",
    "∂",
    "∞",
    "≤",
    "у",
    "х",
    "<b>",
    "&nbsp;",
    "\\frac",
    "\\frac{dy}{dx}",
    "\\frac{",
    "\\sqrt[3]{x}",
    "\\left(",
    "\\dot{y}",
    "\\",
    "\\\\",
    "&",
    "{",
    "}",
    "|_{x=0}",
    "dx",
    " dy",
    "ẏ",
    "log_2 ",
    "arcsec",
    " at x = 0",
    "when",
    "🙂",
    "\u{301}",
    "sine",
    "y(0)",
    "y(x-1)",
    "y_1",
    "!",
    "$",
    "'",
    "\u{202e}",
    "200",
    "10^9",
    "y(0)=1",
    "7777777777777777777777",
];

const GOOD: &[(&str, &str)] = &[
    ("T' = -(T - 12)/5", "T(0) = 80"),
    ("x'' + x + x^3 = 0", "x(0) = 1, x'(0) = 0"),
    ("y'' + (3 - 2 cos(2t)) y = 0", "y(0) = 1, y'(0) = 0"),
    ("y'' = x y", "y(0) = 1, y'(0) = -1"),
    ("y'' = sqrt(1 + y'^2)/3", "y(0) = 3, y'(0) = 0"),
    ("P' = P(1 - P/4)", "P(0) = 1"),
    ("θ'' = −sin θ", "θ(0) = 0, θ'(0) = 1/2"),
    ("x y'' - 2y' = x²", "y(3) = 1, y'(3) = 0"),
    ("d^2y/dx^2 + |x - 1| y = e^x", "y(0) = 1, y'(0) = 0"),
    ("y' = ln(2 + x) y + ½", "y(-1) = 1e-3"),
    ("u' = u(3 - v); v' = v(u - 2)", "u(0) = 1; v(0) = 2"),
    ("x'' = -3y, y' = x", "x(0) = 1, x'(0) = 0, y(0) = 2"),
    ("u' + v' = t - u\nu' - v' = 2v", "u(0) = 4; v(0) = 1"),
];

/// The worksheet without its numerical solution.
fn worked(equation: &str, conditions: &str, degree: &str) -> Worksheet {
    let request = Request {
        equation: equation.to_owned(),
        conditions: conditions.to_owned(),
        degree: degree.to_owned(),
        ..Request::default()
    };
    prepare(&request, &BUDGET, &mut |_| true)
}

/// A repair carried out, in one field.
fn repaired(text: &str, field: Field, diagnostic: &Diagnostic) -> Option<String> {
    let mut edits: Vec<_> = diagnostic
        .suggestions
        .first()?
        .edits
        .iter()
        .filter(|edit| edit.field == field)
        .collect();
    edits.sort_by_key(|edit| std::cmp::Reverse((edit.span.start, edit.span.end)));
    let mut text = text.to_owned();
    for edit in edits {
        text.replace_range(edit.span.start..edit.span.end, &edit.replacement);
    }
    Some(text)
}

/// What must hold of every answer.
fn check(worksheet: &Worksheet) {
    let request = &worksheet.request;
    let name = format!("{:?} {:?}", request.equation, request.conditions);
    for diagnostic in &worksheet.diagnostics {
        let text = worksheet.field_text(diagnostic.field);
        let span = diagnostic.span;
        assert!(
            text.get(span.start..span.end).is_some(),
            "{name}: {diagnostic:?}"
        );
        assert!(
            diagnostic.message.ends_with(['.', '?']) && diagnostic.message.len() > 12,
            "{name}: {diagnostic:?}"
        );
        for edit in diagnostic.suggestions.iter().flat_map(|s| &s.edits) {
            let text = worksheet.field_text(edit.field);
            assert!(
                text.get(edit.span.start..edit.span.end).is_some(),
                "{name}: {edit:?}"
            );
        }
        assert_ne!(diagnostic.code, "routes-disagree", "{name}");
    }
    if worksheet.has_error() {
        assert!(
            worksheet.problem.is_none() || worksheet.table.is_empty(),
            "{name}"
        );
    } else {
        assert!(
            worksheet.problem.is_some(),
            "{name}: neither answer nor error"
        );
        assert!(!worksheet.document.rows.is_empty(), "{name}: no ledger");
        // What remains of the equation begins where the degree lets it, not below.
        for residual in worksheet.residuals.iter().flatten() {
            let reached = residual.power.unwrap_or(residual.computed);
            assert!(reached >= residual.expected, "{name}: {residual:?}");
        }
    }
}

#[test]
fn random_tokens_get_an_answer() {
    let mut random = Random(2026);
    let mut errors = 0;
    for _ in 0..3000 {
        let text = |random: &mut Random, start: &str, most: usize| {
            let mut text = start.to_owned();
            for _ in 0..random.below(most) {
                text.push_str(random.pick(TOKENS));
            }
            text
        };
        let equation = if random.below(2) == 0 { "y' = " } else { "" };
        let equation = text(&mut random, equation, 12);
        let conditions = text(&mut random, "y(0) = 1", 4);
        let worksheet = worked(&equation, &conditions, "4");
        check(&worksheet);
        errors += usize::from(worksheet.has_error());
    }
    assert!((1500..3000).contains(&errors), "{errors} errors");
}

#[test]
fn good_problems_with_slips_get_an_answer_and_most_repairs_help() {
    let mut random = Random(7);
    let (mut good, mut offered, mut helped) = (0, 0, 0);
    for index in 0..1500 {
        let (equation, conditions) = GOOD[index % GOOD.len()];
        let mut texts = [equation.to_owned(), conditions.to_owned()];
        for _ in 0..=random.below(2) {
            let text = &mut texts[random.below(2)];
            let places: Vec<usize> = text.char_indices().map(|(at, _)| at).collect();
            if places.is_empty() {
                continue;
            }
            let at = places[random.below(places.len())];
            match random.below(3) {
                0 => {
                    text.remove(at);
                }
                1 => text.insert_str(at, random.pick(TOKENS)),
                _ => {
                    text.remove(at);
                    text.insert_str(at, random.pick(TOKENS));
                }
            }
        }
        let [equation, conditions] = &texts;
        let worksheet = worked(equation, conditions, "4");
        check(&worksheet);
        let errors: Vec<&Diagnostic> = worksheet
            .diagnostics
            .iter()
            .filter(|d| d.severity == Severity::Error)
            .collect();
        let [error] = errors.as_slice() else {
            good += usize::from(errors.is_empty());
            continue;
        };
        let (Some(equation), Some(conditions)) = (
            repaired(equation, Field::Equation, error),
            repaired(conditions, Field::Conditions, error),
        ) else {
            continue;
        };
        offered += 1;
        let again = worked(&equation, &conditions, "4");
        check(&again);
        let same = again
            .diagnostics
            .iter()
            .any(|d| d.severity == Severity::Error && d.code == error.code && d.span == error.span);
        helped += usize::from(!same);
    }
    assert!(good > 150, "{good} still good");
    assert!(offered > 200, "{offered} repairs offered");
    // A repair that leaves the same complaint in the same place is none.
    assert!(helped * 100 >= offered * 97, "{helped} of {offered} helped");
}

#[test]
fn deep_text_is_shown_back_at_once() {
    for (open, close) in [
        ("sin(", ")"),
        ("exp(", ")"),
        ("sqrt(1 + ", ")"),
        ("1/(1 + ", ")"),
        ("(", ")"),
        ("-", ""),
        ("x^(", ")"),
        ("|", "|"),
    ] {
        for depth in [30, 60, 500, 10_000] {
            let equation = format!("y' = {}y{}", open.repeat(depth), close.repeat(depth));
            let shown = typed::reading(&equation, "y(0) = 1", &BUDGET);
            assert!(!shown.is_empty(), "{open} {depth}");
            check(&worked(&equation, "y(0) = 1", "4"));
        }
    }
}

/// Equations, conditions, the code of the error; without one there is an answer.
const SYSTEMS: &[(&str, &str, &str)] = &[
    // Contradictory, or not about one function each.
    ("u' = v; u' = -v", "u(0)=1, v(0)=1", "too-many-equations"),
    (
        "u' = v; v' = u",
        "u(0)=1, v(0)=1, v(0)=2",
        "contradictory-conditions",
    ),
    ("u' = v; v' = u", "u(0)=1, v(0)=1, u'(0)=2", "forced-value"),
    ("u' = v; v' = u", "u(0)=1, v(1)=1", "boundary-value-problem"),
    (
        "u' + v' = 1; 2u' + 2v' = 3",
        "u(0)=1, v(0)=1",
        "singular-system",
    ),
    ("u' = v; v' = v'", "u(0)=1, v(0)=1", "identity"),
    // Algebraic equations, and letters without an equation.
    (
        "x' = y; x^2 + y^2 = 1",
        "x(0)=0, y(0)=1",
        "algebraic-equation",
    ),
    (
        "x'' = -x; y'' = -y; x^2 + y^2 = 1",
        "x(0)=1",
        "algebraic-equation",
    ),
    (
        "x'' + y' = 0; x' = y",
        "x(0)=1, x'(0)=1, y(0)=1",
        "constraint-equation",
    ),
    (
        "x' = y + z; y' = x",
        "x(0)=1, y(0)=1, z(0)=2",
        "unknown-without-equation",
    ),
    ("x' = y'", "x(0)=1, y(0)=1", "two-unknowns"),
    // Not given by the equations at the center.
    ("t u' = v; v' = u", "u(0)=1, v(0)=0", "singular-center"),
    (
        "v u' + v' = 0; u' + v' = 1",
        "u(0)=2, v(0)=1",
        "leading-zero",
    ),
    (
        "u' v' = 1; u' + v' = 2",
        "u(0)=1, v(0)=1",
        "highest-derivative-not-linear",
    ),
    // Other kinds of equations.
    ("dx/dt = y, dy/ds = x", "x(0)=1, y(0)=1", "partial-equation"),
    (
        "x'(t) = y(t - 1); y'(t) = x",
        "x(0)=1, y(0)=1",
        "delay-equation",
    ),
    // Mixed orders, high orders, many unknowns, terms that swell.
    (
        "x' = y; y'' = x z; z''' = x + y",
        "x(0)=1, y(0)=0, y'(0)=1, z(0)=1, z'(0)=0, z''(0)=-1",
        "",
    ),
    (
        "u' = tan(sin v + exp u); v' = tan(sin u + exp v)",
        "u(0)=0, v(0)=1/3",
        "",
    ),
    (
        "u' = (u + v + w)^40; v' = (u - v)^40; w' = (v w)^20",
        "u(0)=1, v(0)=1/2, w(0)=1/3",
        "",
    ),
    (
        "u'' + u v' w'' = 1; v'' + u' w'' v = t; w'' - u'' v w' = u",
        "u(0)=1, u'(0)=1, v(0)=2, v'(0)=1, w(0)=1, w'(0)=2",
        "",
    ),
    ("x' = a x - b x y; y' = c x y - d y", "", ""),
    (
        "x' = sqrt(2) y + pi; y' = x^2 e^t",
        "x(sqrt 2) = ln 3, y(sqrt 2) = sin 1",
        "",
    ),
];

/// Systems that hang together in every way: an answer, or the message that says what is wrong.
#[test]
fn systems_of_every_shape_get_an_answer() {
    let eight = |name: &str| -> String {
        let order = |k: usize| format!("{name}{}(0)=1", "'".repeat(k));
        (0..8).map(order).collect::<Vec<_>>().join(", ")
    };
    let order_eight = format!("{}, {}, z(0)=1", eight("x"), eight("y"));
    let chain = |count: usize, next: &dyn Fn(usize) -> String| -> (String, String) {
        let lines: Vec<String> = (0..count).map(next).collect();
        let values: Vec<String> = (0..count).map(|k| format!("y_{k}(0)={k}")).collect();
        (lines.join("; "), values.join(", "))
    };
    let forty = chain(40, &|k| {
        format!("y_{k}' = y_{} y_{}", (k + 1) % 40, (k + 7) % 40)
    });
    let ring = chain(6, &|k| {
        format!("y_{k}' = y_{} y_{}", (k + 1) % 6, (k + 3) % 6)
    });
    let tied = chain(6, &|k| format!("y_{k}' + y_{}' = y_{k}", (k + 1) % 6));
    let long = [
        (tied.0.as_str(), tied.1.as_str(), "too-many-coupled"),
        (
            "x'''''''' = y; y'''''''' = x z; z' = x y'",
            order_eight.as_str(),
            "",
        ),
        (forty.0.as_str(), forty.1.as_str(), "too-many-unknowns"),
        (ring.0.as_str(), ring.1.as_str(), ""),
    ];
    for (equations, conditions, error) in SYSTEMS.iter().copied().chain(long) {
        for degree in ["4", "12"] {
            let worksheet = worked(equations, conditions, degree);
            check(&worksheet);
            let mut errors = worksheet.diagnostics.iter();
            let found = errors.find(|d| d.severity == Severity::Error);
            let code = found.map_or("", |error| error.code);
            assert_eq!(code, error, "{equations} {conditions}: {found:?}");
            let reached = worksheet.table.iter().map(|own| own.len() - 1).min();
            assert!(
                !error.is_empty() || reached >= Some(3),
                "{equations}: {reached:?}"
            );
        }
    }
}

/// Letters in every place: there is an answer within the limits, and what could not be done is said.
#[test]
fn letters_in_every_place_get_an_answer() {
    for (equation, conditions, degree) in [
        (
            "y' = a b c d f g h j k l m n p q r s u v w y",
            "y(0)=1",
            "12",
        ),
        (
            "y' = a+b+c+d+f+g+h+j+k+l+m+n+p+q+r+s x+u+v+w y",
            "y(0)=z",
            "8",
        ),
        ("y'' = a y' + b y + c x + d", "y(0)=f, y'(0)=g", "50"),
        ("y'' = a y'^2 + b y^2 + c x y + d", "y(0)=f, y'(0)=g", "20"),
        ("y' = y^a + x^2 b^y", "y(0)=c", "8"),
        ("y' = a^(b^(c^(d^f))) y", "y(0)=1", "8"),
        ("y' = y/(a+b x) + x/(c+d y) + 1/(a^2-b^2)", "y(0)=k", "8"),
        ("y''' = a y'' + b y' + c y", "y(p)=1,y'(p)=q,y''(p)=r", "12"),
        ("y' = sqrt(-1 - a^2) y", "y(0)=1", "4"),
        ("y' = y/(k - 1) + y/(1 - k)", "", "6"),
    ] {
        let worksheet = worked(equation, conditions, degree);
        check(&worksheet);
        let entries = worksheet.table.first().map_or(&[][..], Vec::as_slice);
        let said = !worksheet.diagnostics.is_empty();
        assert!(said, "{equation}: the letters are named");
        let defects = worksheet
            .diagnostics
            .iter()
            .filter(|d| d.code == "routes-disagree");
        assert_eq!(defects.count(), 0, "{equation}");
        let wanted: usize = degree.parse().expect("a number");
        let short = ["closed-form-too-long", "stopped-early"];
        assert!(
            worksheet.has_error()
                || entries.len() == wanted + 1
                || worksheet
                    .diagnostics
                    .iter()
                    .any(|d| short.contains(&d.code)),
            "{equation}: {} of {wanted}",
            entries.len()
        );
    }
}

/// What people ask that is no initial value problem of this kind, every code once:
/// equation ~ conditions ~ degree ~ code ~ outcome ~ marked text.
const BAD: &str = "
y' = 2(x + y ~ y(0)=1 ~ 5 ~ unclosed-bracket ~ Unreadable ~ (
y' = x + y) ~ y(0)=1 ~ 5 ~ unbalanced-bracket ~ Unreadable ~ )
y'' = y ~ y(0)=1 ~ 5 ~ missing-condition ~ Unreadable ~
y' = y ~ y(0)=1, y(0)=2 ~ 5 ~ contradictory-conditions ~ Contradictory ~ y(0)=2
y'' = y ~ y(0)=1, y'(2)=0 ~ 5 ~ boundary-value-problem ~ Unable ~ 2
y' = y ~ y(0)=1, y'(0)=2 ~ 5 ~ forced-value ~ Contradictory ~ y'(0)=2
x y'' = y ~ y(0)=1, y'(0)=0 ~ 5 ~ forced-value ~ Contradictory ~ y(0)=1
y' = 1/(x - y) ~ y(1)=1 ~ 5 ~ division-by-zero ~ Undefined ~ (x - y)
y' = ln(y - 2) ~ y(0)=1 ~ 5 ~ log-of-nonpositive ~ Undefined ~ ln(y - 2)
y' = |y| ~ y(0)=0 ~ 5 ~ abs-at-kink ~ Undefined ~ |y|
y' = sqrt y ~ y(0)=0 ~ 5 ~ root-at-kink ~ Undefined ~ sqrt y
y = x ~ y(0)=1 ~ 5 ~ no-derivative ~ Unreadable ~ y = x
y' = z' + y ~ y(0)=1 ~ 5 ~ two-unknowns ~ Unable ~ z'
∂u/∂t = u ~ u(0)=1 ~ 5 ~ partial-equation ~ Unable ~ ∂
du/dt = d^2u/dx^2 ~ u(0)=1 ~ 5 ~ partial-equation ~ Unable ~ d^2u/dx^2
y' = y(x-1) ~ y(0)=1 ~ 5 ~ delay-equation ~ Unable ~ y(x-1)
y' = ∫ y dx ~ y(0)=1 ~ 5 ~ integral-equation ~ Unable ~ ∫
у' = x ~ y(0)=1 ~ 5 ~ look-alike-letter ~ Unreadable ~ у
y' = sine x ~ y(0)=1 ~ 5 ~ unknown-name ~ Unreadable ~ sine
y^(9) = y ~ y(0)=1 ~ 5 ~ order-too-high ~ Unable ~ y^(9)
y' = y ~ y(0)=1 ~ 51 ~ degree-out-of-range ~ Unable ~ 51
y' = y ~ y(0)=1 ~ 1000000000 ~ degree-out-of-range ~ Unable ~ 1000000000
y' = y ~ y(0)=1 ~ 0 ~ degree-out-of-range ~ Unreadable ~ 0
y' = (a + b)^50 y ~ y(0)=1 ~ 5 ~ power-too-long ~ Unable ~ (a + b)^50
y' = |y - a| ~ y(0)=b ~ 5 ~ sign-not-known ~ Unable ~ |y - a|
y' = y^n ~ y(0)=0 ~ 5 ~ power-of-nonpositive ~ Undefined ~ y
<script>alert(1)</script> ~ y(0)=1 ~ 5 ~ markup ~ Unreadable ~ <script>
";

/// Code, outcome and marked text of the first error.
fn first_error(equation: &str, conditions: &str, degree: &str) -> Option<String> {
    let worksheet = worked(equation, conditions, degree);
    check(&worksheet);
    let mut errors = worksheet.diagnostics.iter();
    let error = errors.find(|d| d.severity == Severity::Error)?;
    let text = worksheet.field_text(error.field);
    let marked = &text[error.span.start..error.span.end];
    Some(format!("{} ~ {:?} ~ {marked}", error.code, error.outcome))
}

#[test]
fn each_kind_of_bad_input_has_its_answer() {
    let mut wrong = Vec::new();
    for line in BAD.lines().filter(|line| !line.is_empty()) {
        let mut parts = line.splitn(4, " ~ ");
        let (Some(equation), Some(conditions), Some(degree), Some(expected)) =
            (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            panic!("{line:?} is no whole case");
        };
        let found = first_error(equation, conditions, degree).unwrap_or_default();
        if found.trim_end() != expected {
            wrong.push(format!("{line}: found {found}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let tower = format!("y' = x{}", "^x".repeat(300));
    assert_eq!(
        first_error(&tower, "y(1)=1", "5").as_deref(),
        Some("too-deep ~ Unable ~ x")
    );
    let wall = "(".repeat(10_000);
    let beyond = format!("too-long ~ Unable ~ {}", &wall[BUDGET.text_bytes..]);
    assert_eq!(first_error(&wall, "y(0)=1", "5"), Some(beyond));
}
