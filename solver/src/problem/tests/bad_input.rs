//! Input that is no problem: the code, the place, the outcome, and where the repair leads.

use super::*;

/// Equation and conditions; below them the code, the marked text and the outcome; below that the
/// first repair, which must then be a good problem (`-`: none is asserted).
const BAD: &str = "
# The equation.
y' = = y ~ y(0)=1
  doubled-equals ~ = ~ Unreadable
  y' = y ~ y(0)=1
y = y ~ y(0)=1
  no-derivative ~ y = y ~ Unreadable
  y' = y ~ y(0)=1
0 = 0 ~ y(0)=1
  no-unknown ~ 0 = 0 ~ Unreadable
  -
y' = y' ~ y(0)=1
  identity ~ y' = y' ~ NotDetermined
  -
y'' - y'' + y = 0 ~ y(0)=1, y'(0)=0
  highest-derivative-cancels ~ y'' - y'' + y = 0 ~ Unreadable
  -
y' = z' + y ~ y(0)=1
  two-unknowns ~ z' ~ Unable
  -
y'' = -z' ~ y(0)=1, y'(0)=0
  two-unknowns ~ z' ~ Unable
  y'' = -y' ~ y(0)=1, y'(0)=0
z' + y'' = 0 ~ y(0)=1, y'(0)=0
  two-unknowns ~ z' ~ Unable
  y' + y'' = 0 ~ y(0)=1, y'(0)=0
y' = z ~ y(0)=1, z(0)=2
  two-unknowns ~ z ~ Unable
  -
y'' = y ~ y(0)=1, y'(0)=2, x = 1
  two-points ~ 1 ~ Contradictory
  y'' = y ~ y(0)=1, y'(0)=2
y' = y ~ y(2)=1 at x = 3
  two-points ~ 3 ~ Contradictory
  y' = y ~ y(2)=1
y' = k y ~ y(0)=1, k = 2
  number-for-letter ~ k = 2 ~ Unreadable
  y' = 2 y ~ y(0)=1
y' = 3k y^k ~ k = -1/2; y(0)=1
  number-for-letter ~ k = -1/2 ~ Unreadable
  y' = 3(-1/2) y^(-1/2) ~ y(0)=1
y' = y; z' = y ~ y(0)=1
  missing-condition ~  ~ Unreadable
  y' = y; z' = y ~ y(0)=1, z(0) = 1
u' = v; v = u^2 ~ u(0)=1, v(0)=1
  algebraic-equation ~ v = u^2 ~ Unable
  -
u' = v'; v' = w'' ~ u(0)=1
  too-few-equations ~ w'' ~ NotDetermined
  -
u' = t; u' = 2t; v' = u ~ u(0)=1, v(0)=1
  too-many-equations ~ v' = u ~ Unable
  -
u' = v + w; v' = u ~ u(0)=1, v(0)=1, w(0)=1
  unknown-without-equation ~ w ~ NotDetermined
  -
u'' = v; u' = v' + u; v' = u ~ u(0)=1, u'(0)=1, v(0)=1
  too-many-equations ~ v' = u ~ Unable
  -
u'' = v; u' + v = t v' ~ u(0)=1, u'(0)=1, v(0)=1
  singular-center ~ t v' ~ Unable
  u'' = v; u' + v = t v' ~ u(1)=1, u'(1)=1, v(1)=1
x'' + y' = 0; x' = y + y' - y' ~ x(0)=1, x'(0)=1, y(0)=1
  singular-system ~ x'' + y' = 0 ~ Unable
  -
x'' + y' = 0; x' = y ~ x(0)=1, x'(0)=1, y(0)=1
  constraint-equation ~ x' = y ~ Unable
  -
v u' + v' = 0; u' + v' = 1 ~ u(0)=2, v(0)=1
  leading-zero ~ v u' ~ Unable
  -
u' + v' = t; 2u' + 2v' = 1 ~ u(0)=1, v(0)=1
  singular-system ~ u' + v' = t ~ Unable
  -
u' v' = 1; u' + v' = 2 ~ u(0)=1, v(0)=1
  highest-derivative-not-linear ~ u' v' = 1 ~ Unable
  -
u' = v; v' = u ~ u(0)=1, v(1)=1
  boundary-value-problem ~ 1 ~ Unable
  u' = v; v' = u ~ u(0)=1, v(0)=1
u' = v; v' = u ~ u(0)=1, v(0)=1, w(0)=2
  other-unknown ~ w ~ Unreadable
  -
u' = v; v' = u ~ u(0)=1, v'(0)=2
  condition-order ~ v'(0)=2 ~ Unreadable
  u' = v; v' = u ~ u(0)=1, v(0) = 2
du/dv = u; dv/dt = 1 ~ u(0)=1, v(0)=1
  derivative-by-itself ~ du/dv ~ Unreadable
  -
y' = y; y(0) = 1 ~
  condition-in-equation ~ y(0) = 1 ~ Unreadable
  y' = y ~ y(0) = 1
y'' = y; y'(0) = 1 ~ y(0)=2
  condition-in-equation ~ y'(0) = 1 ~ Unreadable
  y'' = y ~ y(0)=2, y'(0) = 1
y'' = y, y(0) = 1, y'(0) = 2 ~
  condition-in-equation ~ y(0) = 1 ~ Unreadable
  y'' = y ~ y(0) = 1, y'(0) = 2
y'' = y, y(0) = 1, y'(0) = 2 ~ y(1) = 3, y'(1) = 0
  condition-in-equation ~ y(0) = 1 ~ Unreadable
  y'' = y ~ y(0) = 1, y'(0) = 2
\\[ y'' + y = 0, \\quad y(0)=1,\\ y'(0)=0 \\] ~
  condition-in-equation ~ y(0)=1 ~ Unreadable
  \\[ y'' + y = 0 \\] ~ y(0)=1, y'(0)=0
du/dt = d^2u/dx^2 ~ u(0)=1
  partial-equation ~ d^2u/dx^2 ~ Unable
  -
dy/dy = y ~ y(0)=1
  derivative-by-itself ~ dy/dy ~ Unreadable
  -
y' = y(x-1) ~ y(0)=1
  delay-equation ~ y(x-1) ~ Unable
  y' = y*(x-1) ~ y(0)=1
y' = y(2x) ~ y(0)=1
  delay-equation ~ y(2x) ~ Unable
  y' = y*(2x) ~ y(0)=1
y'' = y'( x - 2 ) ~ y(0)=1, y'(0)=1
  delay-equation ~ y'( x - 2 ) ~ Unable
  y'' = y'*( x - 2 ) ~ y(0)=1, y'(0)=1
y' = y(2) ~ y(0)=1
  value-at-point ~ y(2) ~ Unable
  y' = y*(2) ~ y(0)=1
y' + 2p(x) y = 0 ~ y(0)=1
  function-not-given ~ p(x) ~ Unable
  y' + 2p*(x) y = 0 ~ y(0)=1
y'' + y = H(t - 1) ~ y(0)=1, y'(0)=0
  function-not-given ~ H(t - 1) ~ Unable
  y'' + y = H*(t - 1) ~ y(0)=1, y'(0)=0
y' = abs(y - a) ~ y(0)=b
  sign-not-known ~ abs(y - a) ~ Unable
  -
y' = k/(k - k) y ~ y(0)=1
  division-by-zero ~ (k - k) ~ Undefined
  -
y' = ln y ~ y(0) = -e^a
  log-of-nonpositive ~ ln y ~ Undefined
  -
y' = y^n ~ y(0) = 0
  power-of-nonpositive ~ y ~ Undefined
  -
y^(9) = y ~ y(0)=1
  order-too-high ~ y^(9) ~ Unable
  -
y' = y + 1/0 ~ y(0)=1
  division-by-zero ~ 0 ~ Undefined
  -
y' = y/(x - x) ~ y(0)=1
  division-by-zero ~ (x - x) ~ Undefined
  -
y' = ((3x)^200)^200 )^200 ~ y(0)=1
  unbalanced-bracket ~ ) ~ Unreadable
  -
y' = (((3x)^200)^200)^200 y ~ y(0)=1
  number-too-large ~ (((3x)^200)^200)^200 y ~ Unable
  -
x dx + y = dy ~ y(0)=1
  differential-degree ~ x dx + y ~ Unreadable
  -
dx dy = 0 ~ y(0)=1
  differential-degree ~ dx dy ~ Unreadable
  -
dx + dy = dz ~ y(0)=1
  differential-degree ~ dz ~ Unreadable
  -
sin(dx) = dy ~ y(0)=1
  differential-degree ~ sin(dx) ~ Unreadable
  -
y' = |x| if x > 0 ~ y(0)=1
  piecewise ~ if ~ Unable
  -
dy/dx = y ~ y = 1 at t = 0
  other-variable ~ t ~ Unreadable
  dy/dx = y ~ y = 1 at x = 0
y' = y ~ y = 1
  condition-without-point ~ y = 1 ~ Unreadable
  y' = y ~ y(0) = 1
# What the parser refuses, seen through to the repaired problem.
y' = sine x + y ~ y(0)=1
  unknown-name ~ sine ~ Unreadable
  y' = sin x + y ~ y(0)=1
у' = x y ~ y(0)=1
  look-alike-letter ~ у ~ Unreadable
  y' = x y ~ y(0)=1
y' = 2(x + y ~ y(0)=1
  unclosed-bracket ~ ( ~ Unreadable
  y' = 2(x + y) ~ y(0)=1
# The conditions.
y'' = y ~ y(2) = 3
  missing-condition ~  ~ Unreadable
  y'' = y ~ y(2) = 3, y'(2) = 0
y''' = y ~ y'(1) = 3
  missing-condition ~  ~ Unreadable
  y''' = y ~ y'(1) = 3, y(1) = 1, y''(1) = 0
y' = y ~ z(0) = 1
  other-unknown ~ z ~ Unreadable
  y' = y ~ y(0) = 1
y'' = y ~ y(0)=1, y'(1)=0
  boundary-value-problem ~ 1 ~ Unable
  y'' = y ~ y(0)=1, y'(0)=0
y'' = y ~ y(0)=1, y(1)=2
  boundary-value-problem ~ 1 ~ Unable
  y'' = y ~ y(0)=1, y'(0) = 2
y' = y ~ y(0)=1, y(0)=2
  contradictory-conditions ~ y(0)=2 ~ Contradictory
  y' = y ~ y(0)=1
y'' = y ~ y(0)=1, y(0)=2
  contradictory-conditions ~ y(0)=2 ~ Contradictory
  y'' = y ~ y(0)=1, y'(0) = 2
y'' = y ~ y(0)=1, y''(0)=1
  condition-order ~ y''(0)=1 ~ Unreadable
  y'' = y ~ y(0)=1, y'(0) = 1
y' = y ~ y(0)=x
  unknown-letter ~ x ~ Unable
  y' = y ~ y(0)=1
y' = y ~ y(0)=1/0
  division-by-zero ~ 0 ~ Undefined
  -
y' = y ~ y(0)=0^0
  undefined-value ~ 0^0 ~ Undefined
  -
y'' = y ~ y(cbrt(cbrt(2) - 1))=1, y'(cbrt(1/9) - cbrt(2/9) + cbrt(4/9))=0
  undecided ~ cbrt(1/9) - cbrt(2/9) + cbrt(4/9) ~ Unable
  -
y' = y ~ y(0)=ln(-1)
  log-of-nonpositive ~ ln(-1) ~ Undefined
  -
# Both together.
y' = y/(cbrt(cbrt(2) - 1) - cbrt(1/9) + cbrt(2/9) - cbrt(4/9)) ~ y(1)=1
  undecided ~ (cbrt(cbrt(2) - 1) - cbrt(1/9) + cbrt(2/9) - cbrt(4/9)) ~ Unable
  -
(cbrt(cbrt(2) - 1) - cbrt(1/9) + cbrt(2/9) - cbrt(4/9)) y' = y ~ y(1)=1
  undecided ~ (cbrt(cbrt(2) - 1) - cbrt(1/9) + cbrt(2/9) - cbrt(4/9)) y' ~ Unable
  -
y' = 1/(x - y) ~ y(1)=1
  division-by-zero ~ (x - y) ~ Undefined
  y' = 1/(x - y) ~ y(2)=1
y'' + y'/sin(x y) + y = 0 ~ y(0)=1, y'(0)=0
  division-by-zero ~ sin(x y) ~ Undefined
  y'' + y'/sin(x y) + y = 0 ~ y(1)=1, y'(1)=0
y' = x y/x ~ y(0)=1
  division-by-zero ~ x ~ Undefined
  y' = x y/x ~ y(1)=1
y' = ln(x) + y ~ y(0)=1
  log-of-nonpositive ~ ln(x) ~ Undefined
  y' = ln(x) + y ~ y(1)=1
y' = ln(y - 2) ~ y(0)=1
  log-of-nonpositive ~ ln(y - 2) ~ Undefined
  -
y' = 3y^(2/3) + x ~ y(0)=0
  root-at-kink ~ y^(2/3) ~ Undefined
  -
y' = sqrt y ~ y(0)=0
  root-at-kink ~ sqrt y ~ Undefined
  -
y' = sqrt(y - 3) ~ y(0)=1
  root-of-negative ~ sqrt(y - 3) ~ Undefined
  -
y' = |y| + x ~ y(0)=0
  abs-at-kink ~ |y| ~ Undefined
  -
y' = arcsin(y) ~ y(0)=1
  outside-domain ~ arcsin(y) ~ Undefined
  -
y' = artanh(2y) ~ y(0)=1
  outside-domain ~ artanh(2y) ~ Undefined
  -
y' = arcosh(y) ~ y(0)=1
  outside-domain ~ arcosh(y) ~ Undefined
  -
y' = cot(x) + y ~ y(0)=1
  pole ~ cot(x) ~ Undefined
  y' = cot(x) + y ~ y(1)=1
y' = coth(y) ~ y(0)=0
  pole ~ coth(y) ~ Undefined
  -
y' = tan(y) ~ y(0)=pi/2
  pole ~ tan(y) ~ Undefined
  -
y' = y^x ~ y(0)=-1
  power-of-nonpositive ~ y ~ Undefined
  -
y' = e^(x^(-2)) + y ~ y(0)=1
  division-by-zero ~ x ~ Undefined
  y' = e^(x^(-2)) + y ~ y(1)=1
";

#[test]
fn each_mistake_has_its_code_place_and_repair() {
    let mut wrong = Vec::new();
    let lines: Vec<&str> = BAD
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
        .collect();
    assert!(lines.len() > 140, "the table has shrunk");
    for case in lines.chunks(3) {
        let [input, expected, repaired] = case else {
            panic!("{case:?} is no whole case");
        };
        let (equation, conditions) = input.split_once('~').expect("conditions");
        let (equation, conditions) = (equation.trim(), conditions.trim());
        let (problem, diagnostics) = understand(equation, conditions, "5", &BUDGET);
        let problems = errors(&diagnostics);
        let [error] = problems.as_slice() else {
            wrong.push(format!("{input}: {problems:#?}"));
            continue;
        };
        assert!(problem.is_none(), "{input}");
        let text = match error.field {
            Field::Conditions => conditions,
            _ => equation,
        };
        let marked = &text[error.span.start..error.span.end];
        let found = format!("{} ~ {marked} ~ {:?}", error.code, error.outcome);
        if found != expected.trim_start() {
            wrong.push(format!("{input}\n  found {found}: {}", error.message));
            continue;
        }
        if repaired.trim() == "-" {
            continue;
        }
        let Some(first) = error.suggestions.first() else {
            wrong.push(format!("{input}: no repair"));
            continue;
        };
        let [equation, conditions, _] = apply(first, equation, conditions, "5");
        if format!("{equation} ~ {conditions}") != repaired.trim_start() {
            wrong.push(format!("{input}: repaired to {equation} ~ {conditions}"));
            continue;
        }
        good(&equation, &conditions);
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn a_constant_coefficient_that_is_zero_cancels() {
    let (_, diagnostics) = understand("(sqrt(2) sqrt(3) - sqrt(6)) y' = y", "y(1)=1", "5", &BUDGET);
    let codes: Vec<_> = errors(&diagnostics).iter().map(|d| d.code).collect();
    assert_eq!(codes, ["highest-derivative-cancels"]);
}

#[test]
fn messages_name_the_place_in_words() {
    for (equation, conditions, message) in [
        (
            "y' = 1/(t - y)",
            "y(1)=1",
            "Division by zero: t - y is 0 at t = 1, y = 1, and nothing can be divided by 0.",
        ),
        (
            "y'' = y' + e^(1/x)",
            "y(0)=1, y'(0)=2",
            "Division by zero: x is 0 here, and nothing can be divided by 0.",
        ),
        (
            "y' = y + ln(y - 2)",
            "y(0)=1",
            "The logarithm needs a positive number, but y - 2 is -1 at y = 1.",
        ),
        (
            "y' = cot(x) + y",
            "y(0)=1",
            "cot(x) has a pole at x = 0, so there is no Taylor series there.",
        ),
        (
            "y' = arcsin(y)",
            "y(0)=1",
            "This needs an argument strictly between −1 and 1, but y is 1 at x = 0.",
        ),
        (
            "y'' = y",
            "y(0)=1, y'(1)=0",
            "The conditions stand at x = 0 and at x = 1: that is a boundary value problem. Successive differentiation needs all conditions at one point.",
        ),
        (
            "y'' = y",
            "y(0)=1",
            "An equation of order 2 needs 2 initial conditions at one point; y′(0) is missing.",
        ),
        (
            "y'' = y",
            "y(0)=1, y^(4)(0)=1",
            "The equation has order 2, so the conditions give y and y′; y⁽⁴⁾ follows from the equation.",
        ),
    ] {
        let (_, diagnostics) = understand(equation, conditions, "5", &BUDGET);
        let messages: Vec<&str> = errors(&diagnostics)
            .into_iter()
            .map(|d| d.message.as_str())
            .collect();
        assert_eq!(messages, [message]);
    }
}

#[test]
fn repeated_conditions_and_degrees() {
    let (problem, diagnostics) = understand("y' = y", "y(0)=1/2, y(0)=0.5", "3", &BUDGET);
    assert!(problem.is_some());
    let codes: Vec<_> = diagnostics.iter().map(|d| (d.code, d.severity)).collect();
    assert_eq!(codes, [("duplicate-condition", Severity::Notice)]);
    let repair = &diagnostics[0].suggestions[0];
    assert_eq!(
        apply(repair, "y' = y", "y(0)=1/2, y(0)=0.5", "3")[1],
        "y(0)=1/2"
    );

    let (problem, diagnostics) = understand("y' = y", "y(0)=1", "51", &BUDGET);
    assert!(problem.is_none());
    assert_eq!(diagnostics[0].code, "degree-out-of-range");
    assert_eq!(diagnostics[0].field, Field::Degree);
    assert_eq!(apply(&diagnostics[0].suggestions[0], "", "", "51")[2], "50");
}

#[test]
fn errors_of_all_fields_come_together_in_reading_order() {
    let (_, diagnostics) = understand("y' = 2 z'", "z(0)=1, y(0)=1/0", "70", &BUDGET);
    let codes: Vec<_> = diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(codes, ["two-unknowns", "degree-out-of-range"]);
    let (_, diagnostics) = understand("y' = 1/0", "z(0)=1, y(0)=1/0", "5", &BUDGET);
    let codes: Vec<_> = diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(
        codes,
        ["division-by-zero", "other-unknown", "division-by-zero"]
    );
}

#[test]
fn constants_stand_alone() {
    let value = |text: &str| {
        let (node, diagnostics) = crate::syntax::parse_constant(text, Field::Interval, &BUDGET);
        assert_eq!(diagnostics, [], "{text}");
        constant_from(&node, text, Field::Interval, &BUDGET)
    };
    for (text, expected) in [
        ("-3/4", "-3/4"),
        ("pi/2", "1/2 pi"),
        ("0.25", "1/4"),
        ("2^3", "8"),
    ] {
        assert_eq!(value(text).map(|v| show(&v)), Ok(expected.to_owned()));
    }
    for (text, code, marked) in [
        ("1/(2-2)", "division-by-zero", "(2-2)"),
        ("2x", "unknown-letter", "x"),
        ("sqrt(-1)", "root-of-negative", "sqrt(-1)"),
    ] {
        let error = value(text).expect_err(text);
        assert_eq!(
            (error.code, &text[error.span.start..error.span.end]),
            (code, marked)
        );
        assert_eq!(error.field, Field::Interval);
    }
    // An empty field: the parser says so, and there is no number either.
    let (node, diagnostics) = crate::syntax::parse_constant("", Field::At, &BUDGET);
    assert_eq!(diagnostics.len(), 1);
    let error = constant_from(&node, "", Field::At, &BUDGET).expect_err("no number");
    assert_eq!(error.code, "not-a-number");
}

#[test]
fn a_singular_point_is_said_with_a_way_out_and_worked_out_order_by_order() {
    use crate::problem::OrderByOrder;
    for (equation, conditions, code, why, repaired) in [
        (
            "x y'' - 2y' = x^2",
            "y(0)=1, y'(0)=0",
            Some("singular-center"),
            OrderByOrder::SingularPoint,
            Some("y(1)=1, y'(1)=0"),
        ),
        (
            "(1-x^2) y'' - 2x y' + 6y = 0",
            "y(1)=1, y'(1)=0",
            Some("singular-center"),
            OrderByOrder::SingularPoint,
            Some("y(2)=1, y'(2)=0"),
        ),
        (
            "x y' = x^3",
            "y(0)=1",
            Some("singular-center"),
            OrderByOrder::SingularPoint,
            Some("y(1)=1"),
        ),
        // Wherever one starts, y is 0 there.
        (
            "y y' = x",
            "y(0)=0",
            Some("leading-zero"),
            OrderByOrder::LeadingVanishes,
            None,
        ),
        (
            "y'^2 = 1 + y",
            "y(0)=1",
            None,
            OrderByOrder::NotLinear,
            None,
        ),
        (
            "sin(y'') = x",
            "y(0)=1, y'(0)=0",
            None,
            OrderByOrder::NotLinear,
            None,
        ),
    ] {
        let (problem, diagnostics) = understand(equation, conditions, "5", &BUDGET);
        let problem = problem.expect(equation);
        assert_eq!(problem.order_by_order(), Some(why), "{equation}");
        assert!(errors(&diagnostics).is_empty(), "{equation}");
        assert_eq!(diagnostics.first().map(|d| d.code), code, "{equation}");
        let suggestion = diagnostics.first().and_then(|d| d.suggestions.first());
        let after = suggestion.map(|s| apply(s, equation, conditions, "5")[1].clone());
        assert_eq!(after.as_deref(), repaired, "{equation}");
    }
}
