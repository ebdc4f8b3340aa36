//! Letters that stand for constants.

use super::*;

/// The notices' codes, the parameters (initial values in brackets), the side conditions.
fn letters(equation: &str, conditions: &str) -> (Vec<&'static str>, String, String) {
    let (problem, diagnostics) = understand(equation, conditions, "5", &BUDGET);
    let problem = problem.unwrap_or_else(|| panic!("{equation}: {diagnostics:?}"));
    let shown = |p: &Parameter| {
        if p.initial {
            format!("({})", p.name)
        } else {
            p.name.clone()
        }
    };
    let parameters: Vec<String> = problem.parameters.iter().map(shown).collect();
    let conditions: Vec<String> = problem
        .side_conditions
        .iter()
        .map(|c| format!("{}: {:?}", show(&c.value), c.requirement))
        .collect();
    (
        diagnostics.iter().map(|d| d.code).collect(),
        parameters.join(" "),
        conditions.join("; "),
    )
}

#[test]
fn letters_that_are_left_over_are_parameters() {
    for (equation, conditions, parameters, required) in [
        ("y'' + c y' + k y = 0", "y(0)=a, y'(0)=b", "c k (a) (b)", ""),
        ("k y'' + y = 0", "y(0)=1, y'(0)=0", "k", "k: NotZero"),
        ("y' = r y (1 - y/K)", "y(0)=a", "r K (a)", "K: NotZero"),
        ("y' = ln y + sqrt(y)", "y(0)=a", "(a)", "a: Positive"),
        ("y' = a y", "y(0)=a", "a", ""),
        ("y' = y + sqrt(k) x", "y(0)=1/k", "k", "k: Positive"),
        (
            "y' = y/(k^2 - 1)",
            "y(0)=1",
            "k",
            "k - 1: NotZero; k + 1: NotZero",
        ),
        (
            "y' = arcsin(y) + tan(y)",
            "y(0)=a",
            "(a)",
            "a: InsideUnitInterval; cos(a): NotZero",
        ),
        ("y' = y^n", "y(0)=1", "n", ""),
        ("y' = y^n", "y(0)=a", "n (a)", "a: Positive"),
        ("y' = e^(-k x) y", "y(0)=y_0", "k (y_0)", ""),
        ("y' = 2/(k^2 + 1) - y/e^k", "y(0)=1", "k", ""),
        ("y' = x y", "y(c)=1", "c", ""),
        ("dT/dt = -k (T - S)", "T(0) = T_0", "k S (T_0)", ""),
    ] {
        let (codes, found, checked) = letters(equation, conditions);
        assert_eq!(
            (found.as_str(), checked.as_str()),
            (parameters, required),
            "{equation}"
        );
        assert_eq!(codes, ["parameters"], "{equation}");
    }
}

#[test]
fn without_conditions_the_initial_values_are_letters() {
    for (equation, parameters) in [
        ("y'' = x y", "(c_0) (c_1)"),
        ("y' = y", "(c_0)"),
        ("y'' + c y = 0", "c (a_0) (a_1)"),
        ("y'' + c y = a_1", "c a_1 (b_0) (b_1)"),
        ("y^(4) = y", "(c_0) (c_1) (c_2) (c_3)"),
    ] {
        let (codes, found, _) = letters(equation, "");
        assert_eq!(found, parameters, "{equation}");
        assert!(codes.contains(&"general-solution"), "{equation}: {codes:?}");
    }
    let (_, diagnostics) = understand("y'' = y", " ", "5", &BUDGET);
    let repair = &diagnostics[0].suggestions[0];
    assert_eq!(repair.label, "write y(0) = 1, y'(0) = 0");
}

#[test]
fn one_missing_condition_may_become_a_letter() {
    for (equation, conditions, label) in [
        ("y'' = y", "y(0)=1", "write y'(0) = b"),
        ("y'' = b y", "y(2)=1", "write y'(2) = c"),
        ("y''' = y", "y'(0)=1", "write y(0) = a, y''(0) = c"),
    ] {
        let (_, diagnostics) = understand(equation, conditions, "5", &BUDGET);
        let missing = diagnostics
            .iter()
            .find(|d| d.code == "missing-condition")
            .expect("a message");
        let labels: Vec<&str> = missing
            .suggestions
            .iter()
            .map(|s| s.label.as_str())
            .collect();
        assert!(labels.contains(&label), "{equation}: {labels:?}");
    }
}

#[test]
fn a_letter_that_may_be_the_variable_is_said_to_be_read_so() {
    let (codes, parameters, _) = letters("T' = -k (T - s)", "T(0)=1");
    assert_eq!(codes, ["parameters", "variable-guessed"]);
    assert_eq!(parameters, "k");
    let (codes, ..) = letters("y' = k y + t", "y(0)=1");
    assert_eq!(codes, ["parameters"]);
}

/// Longer words are slips, not letters.
#[test]
fn words_are_no_letters() {
    for equation in ["y' = sine x + y", "y' = alpa y", "y' = foo y", "y' = erf y"] {
        let (_, diagnostics) = understand(equation, "y(0)=1", "5", &BUDGET);
        assert_eq!(diagnostics[0].code, "unknown-name", "{equation}");
    }
}
