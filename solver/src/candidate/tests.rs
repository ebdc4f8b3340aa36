//! Formulas put to the test.

use super::Verdict::{NotSatisfied, Satisfied};
use super::*;
use crate::document::names::Names;
use crate::document::plain;
use crate::problem::{candidate_from, understand};
use crate::worksheet::{Request, prepare};

const BUDGET: Budget = Budget::PAGE;

fn tested(equation: &str, conditions: &str, formula: &str) -> Candidate {
    let request = Request {
        equation: equation.to_owned(),
        conditions: conditions.to_owned(),
        degree: "6".to_owned(),
        candidate: formula.to_owned(),
        ..Request::default()
    };
    let worksheet = prepare(&request, &BUDGET, &mut |_| true);
    let diagnostics = worksheet.diagnostics;
    worksheet
        .candidate
        .unwrap_or_else(|| panic!("{formula}: {diagnostics:?}"))
}

/// Problems with the solution that books give for them.
const SOLUTIONS: &[(&str, &str, &str)] = &[
    ("y' = y", "y(0) = 1", "y = e^x"),
    ("T' = -(T - 12)/5", "T(0) = 80", "T = 12 + 68 e^(-x/5)"),
    (
        "y'' + 4y = 0",
        "y(0) = 1, y'(0) = 2",
        "y(x) = cos 2x + sin 2x",
    ),
    (
        "y'' + 2y' + 5y = 0",
        "y(0) = 1, y'(0) = 0",
        "e^(-x)(cos 2x + 1/2 sin 2x)",
    ),
    ("N' = N(1 - N/4)", "N(0) = 1", "N = 4/(1 + 3e^(-x))"),
    ("y' = 1 + y^2", "y(0) = 0", "y = tan x"),
    ("y' = y^2", "y(0) = 1", "y = 1/(1 - x)"),
    (
        "y'' = sqrt(1 + y'^2)/4",
        "y(0) = 4, y'(0) = 0",
        "y = 4 cosh(x/4)",
    ),
    ("x y' + y = 0", "y(1) = 2", "y = 2/x"),
    ("x^2 y'' - 2y = 0", "y(1) = 1, y'(1) = 2", "y = x^2"),
    (
        "x^2 y'' + x y' + y = 0",
        "y(1) = 1, y'(1) = 0",
        "y = cos ln x",
    ),
    ("(1+x^2) y' = 1", "y(0) = pi/4", "y = arctan x + pi/4"),
    ("y' = x y", "y(0) = 3", "y = 3 e^(x^2/2)"),
    ("(x + y)dx + x dy = 0", "y(1) = 2", "y = 5/(2x) - x/2"),
    ("y' = 1", "y(-1) = 1 - 2", "y = -sqrt(x^2)"),
    ("y' = y", "y(0) = sqrt 2", "y = 2/sqrt(2) e^x"),
];

#[test]
fn solutions_from_books_are_satisfied() {
    for (equation, conditions, formula) in SOLUTIONS {
        let candidate = tested(equation, conditions, formula);
        assert_eq!(
            (candidate.verdict, candidate.agreeing, candidate.different),
            (Satisfied, 7, None),
            "{equation} | {formula}"
        );
        assert_eq!(candidate.remains, None, "{formula}");
    }
}

/// The same formulas with a slip are not: the conditions catch a wrong constant, the equation a
/// wrong function, the coefficients both.
#[test]
fn formulas_that_are_no_solutions_are_not_satisfied() {
    for (equation, conditions, formula) in SOLUTIONS {
        let right = formula.split_once('=').map_or(*formula, |(_, right)| right);
        for slip in [format!("{right} + 1/1000"), format!("{right} + x - x^2")] {
            let candidate = tested(equation, conditions, &slip);
            assert_eq!(candidate.verdict, NotSatisfied, "{equation} | {slip}");
            assert!(candidate.different.is_some(), "{equation} | {slip}");
        }
    }
}

/// What is wrong is told apart: condition, equation, or both.
#[test]
fn the_line_that_fails_is_known() {
    let verdicts = |formula: &str| {
        let candidate = tested("y'' + y = 0", "y(0) = 1, y'(0) = 2", formula);
        let conditions: Vec<Verdict> = candidate.conditions.iter().map(|c| c.verdict).collect();
        (
            conditions,
            candidate.equation,
            candidate.remains.map(|r| r.0),
        )
    };
    assert_eq!(
        verdicts("cos x + 3 sin x"),
        (vec![Satisfied, NotSatisfied], Satisfied, None)
    );
    assert_eq!(
        verdicts("1 + 2x"),
        (vec![Satisfied, Satisfied], NotSatisfied, Some(0))
    );
    assert_eq!(
        verdicts("1 + 2x - x^2/2"),
        (vec![Satisfied, Satisfied], NotSatisfied, Some(1))
    );
    // No value at the center.
    assert_eq!(
        verdicts("1/x"),
        (
            vec![NotSatisfied, NotSatisfied],
            Verdict::CannotDecide,
            None
        )
    );
}

/// Equal for positive x only, or by an identity that the normal form does not know: no proof, and
/// none is claimed.
#[test]
fn what_cannot_be_decided_is_said() {
    let candidate = tested("y' = 1", "y(1) = 1", "y = sqrt(x^2)/2 + (x^4)^(1/4)/2");
    assert_eq!(candidate.verdict, Verdict::CannotDecide);
    assert_eq!((candidate.vanishing, candidate.agreeing), (POWERS, 7));
    let candidate = tested(
        "y' = 0",
        "y(1) = pi/4",
        "y = arctan x + arctan((1-x)/(1+x))",
    );
    assert_ne!(candidate.verdict, NotSatisfied);
}

#[test]
fn formulas_that_cannot_be_tested_are_refused() {
    let (problem, _) = understand("y' = x y", "y(0) = 1", "5", &BUDGET);
    let problem = problem.expect("a problem");
    for (text, code, place) in [
        ("y = y", "candidate-form", "y"),
        ("y = k x", "candidate-form", "k"),
        ("z = x", "candidate-form", "z"),
        ("y' = x", "candidate-form", "y'"),
        ("y = x; y = 1", "candidate-form", "y"),
        ("y = ", "missing-side", "="),
        ("y = 2(x", "unclosed-bracket", "("),
        ("y = x/0", "division-by-zero", "0"),
        (
            "y = (((3x)^200)^200)^200",
            "number-too-large",
            "(((3x)^200)^200)^200",
        ),
    ] {
        let error = candidate_from(text, &problem, &BUDGET).expect_err(text);
        let marked = &text[error.span.start..error.span.end];
        assert_eq!((error.code, marked), (code, place), "{text}");
    }
}

/// d/dx by the rules, compared with the derivation's own series of u′ = formula.
#[test]
fn derivatives_of_formulas() {
    let (problem, _) = understand("y' = x", "y(0) = 0", "5", &BUDGET);
    let problem = problem.expect("a problem");
    let names = Names::of(&problem);
    for (formula, expected) in [
        ("3", "0"),
        ("x^3", "3*x^2"),
        ("sin 2x", "2*cos(2*x)"),
        ("x e^x", "exp(x) + x*exp(x)"),
        ("1/(1 + x)", "-1/(1 + x)^2"),
        ("(1 + x)^x", "((x/(1 + x)) + ln(1 + x))*(1 + x)^x"),
        ("ln(1 + x^2)", "2*x/(1 + x^2)"),
    ] {
        let read = candidate_from(formula, &problem, &BUDGET).expect(formula);
        let found = derivative(&read);
        let found_text = plain::expression(&found, &names);
        let wanted = candidate_from(&expected.replace('*', " * "), &problem, &BUDGET);
        let difference = found.sub(&wanted.expect(expected));
        let at_half = evaluate(&at(
            &difference,
            &Expr::number(crate::number::rational::ratio(1, 3)),
        ));
        assert_eq!(
            at_half.map(|value| zero_test(&value)),
            Ok(Truth::Zero),
            "{formula}: {found_text}"
        );
    }
}
