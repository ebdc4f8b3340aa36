//! Conditions and degrees.

use super::outline;
use crate::budget::Budget;
use crate::syntax::{DegreeRequest, applied, parse_conditions, parse_degree};

/// Unknown with primes as typed, order, point, value.
fn shown(text: &str) -> (Vec<String>, Vec<String>) {
    let (conditions, diagnostics) = parse_conditions(text, &Budget::PAGE);
    let conditions = conditions
        .iter()
        .map(|c| {
            format!(
                "{}:{}:{} at {} is {}",
                c.unknown,
                c.order,
                &text[c.unknown_span.start..c.unknown_span.end],
                outline(&c.point),
                outline(&c.value)
            )
        })
        .collect();
    let diagnostics = diagnostics
        .iter()
        .map(|d| format!("{} «{}»", d.code, &text[d.span.start..d.span.end]))
        .collect();
    (conditions, diagnostics)
}

#[test]
fn conditions() {
    let usual: &[&str] = &["y:0:y at 0 is 2", "y:1:y' at 0 is 1"];
    for (text, expected) in [
        ("y(0)=2, y'(0)=1", usual),
        ("y(0) = 2; y'(0) = 1", usual),
        ("y(0)=2\ny'(0)=1\n", usual),
        ("y(0) = 2 and y'(0) = 1", usual),
        ("y (0) = 2, y' (0) = 1", usual),
        ("2 = y(0), y'(0) = 1", usual),
        ("y(0)=y'(0)=0", &["y:0:y at 0 is 0", "y:1:y' at 0 is 0"]),
        ("y(-1/2) = -3/4", &["y:0:y at neg[[1/2]] is neg[[3/4]]"]),
        ("y(pi/2)=1e-3", &["y:0:y at [pi/2] is 1/1000"]),
        ("y^(4)(0)=1", &["y:4:y^(4) at 0 is 1"]),
        ("y⁽⁴⁾(0)=1", &["y:4:y⁽⁴⁾ at 0 is 1"]),
        ("y″(0)=1", &["y:2:y″ at 0 is 1"]),
        ("dy/dx(0)=1", &["y:1:dy/dx at 0 is 1"]),
        ("d^2y/dx^2(0)=1", &["y:2:d^2y/dx^2 at 0 is 1"]),
        (
            "θ(0)=½, theta'(0)=0",
            &["theta:0:θ at 0 is 1/2", "theta:1:theta' at 0 is 0"],
        ),
        (
            "y_1(0)=1, y_2(0)=a",
            &["y_1:0:y_1 at 0 is 1", "y_2:0:y_2 at 0 is a"],
        ),
        ("y[0]={1}", &["y:0:y at 0 is (1)"]),
        ("y = 2, y' = 1 at x = 0", usual),
        ("y = 2 when x=0, y' = 1 for x=0", usual),
        ("y = 2 and y' = 1 where x = 0", usual),
        ("at x = 0, y = 2, y' = 1", usual),
        ("When x = 0: y = 2 and y' = 1", usual),
        ("y = 2, y' = 1 at 0", usual),
        (
            "y' = 1 at x = 0; y = 2",
            &["y:1:y' at 0 is 1", "y:0:y at 0 is 2"],
        ),
        ("2 = y at x = 0, y' = 1", usual),
        ("y(x=0)=2, y'(x = 0) = 1", usual),
        (
            "y|_{x=0} = 2, y'|_0 = 1",
            &["y:0:y at 0 is 2", "y:1:y' at 0 is 1"],
        ),
        (
            "y = y' = 3 at x = -1/2",
            &["y:0:y at neg[[1/2]] is 3", "y:1:y' at neg[[1/2]] is 3"],
        ),
        (
            "y = 2 at x = 0 and y' = 1 at x = 1",
            &["y:0:y at 0 is 2", "y:1:y' at 1 is 1"],
        ),
    ] {
        let (conditions, diagnostics) = shown(text);
        assert!(diagnostics.is_empty(), "{text}: {diagnostics:?}");
        assert_eq!(conditions, expected, "{text}");
    }
}

#[test]
fn faulty_conditions() {
    for (text, expected) in [
        ("", "empty-field «»"),
        ("y(0)", "condition-without-value «y(0)»"),
        ("y(0) =", "missing-side «=»"),
        ("y(0) = 2 -", "missing-operand «-»"),
        ("y = 2", "condition-without-point «y = 2»"),
        ("y = 2 at", "condition-without-point «at»"),
        ("y = 2 at x", "condition-without-point «x»"),
        ("y = 2 at x =", "missing-side «=»"),
        ("y = 2 at 3 = x", "not-a-condition «3»"),
        ("y(0) = 2, y' = 1", "condition-without-point «y' = 1»"),
        ("2 = 3", "not-a-condition «2 = 3»"),
        ("y(0)=2 y'(0)=1", "doubled-equals «=»"),
        ("y(0)=0,5", "decimal-comma «,»"),
        ("y(0 = 1", "unclosed-bracket «(»"),
        ("y() = 1", "missing-operand «()»"),
        ("у(0) = 1", "look-alike-letter «у»"),
    ] {
        assert_eq!(shown(text).1, [expected], "{text}");
    }
}

#[test]
fn a_forgotten_comma_is_put_in() {
    for (text, expected) in [
        ("y(0)=2 y'(0)=1", "y(0)=2, y'(0)=1"),
        ("y(0)=-2 y'(0)=1", "y(0)=-2, y'(0)=1"),
    ] {
        let (_, diagnostics) = parse_conditions(text, &Budget::PAGE);
        let repaired = diagnostics
            .first()
            .and_then(|d| d.suggestions.first())
            .map(|s| applied(text, s));
        assert_eq!(repaired.as_deref(), Some(expected));
    }
}

#[test]
fn degrees() {
    use DegreeRequest::{Degree, NonzeroTerms};
    for (text, expected) in [
        ("5", Degree(5)),
        (" 12 ", Degree(12)),
        ("degree 5", Degree(5)),
        ("five", Degree(5)),
        ("up to degree 7", Degree(7)),
        ("４", Degree(4)),
        ("4 terms", NonzeroTerms(4)),
        ("first 4 non-zero terms", NonzeroTerms(4)),
        ("first four nonzero terms", NonzeroTerms(4)),
        ("First Four Non-Zero Terms", NonzeroTerms(4)),
        ("the first 4 non zero terms", NonzeroTerms(4)),
        ("first 4 non‑zero terms", NonzeroTerms(4)),
        ("1 term", NonzeroTerms(1)),
        ("50", Degree(50)),
    ] {
        assert_eq!(
            parse_degree(text, &Budget::PAGE),
            (Some(expected), Vec::new()),
            "{text}"
        );
    }
}

#[test]
fn faulty_degrees() {
    for (text, code, place, repaired) in [
        ("", "empty-field", "", None),
        ("0", "degree-out-of-range", "0", Some("1")),
        ("degree 51", "degree-out-of-range", "51", Some("degree 50")),
        (
            "99999999999999999999999",
            "degree-out-of-range",
            "99999999999999999999999",
            Some("50"),
        ),
        ("-3", "degree-out-of-range", "-3", Some("1")),
        ("2.5", "degree-not-whole", "2.5", None),
        ("5x", "degree-not-whole", "5x", None),
        ("many", "not-a-degree", "many", None),
        ("terms", "not-a-degree", "terms", None),
        ("5 6", "not-a-degree", "6", None),
        ("degree 5 terms", "not-a-degree", "degree 5 terms", None),
        ("<b>5</b>", "not-a-degree", "<", None),
    ] {
        let (request, diagnostics) = parse_degree(text, &Budget::PAGE);
        assert_eq!(request, None, "{text}");
        let [diagnostic] = diagnostics.as_slice() else {
            panic!("{text}: {diagnostics:?}")
        };
        assert_eq!(diagnostic.code, code, "{text}");
        assert_eq!(
            &text[diagnostic.span.start..diagnostic.span.end],
            place,
            "{text}"
        );
        let first = diagnostic.suggestions.first().map(|s| applied(text, s));
        assert_eq!(first.as_deref(), repaired, "{text}");
    }
}
