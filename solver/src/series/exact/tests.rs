use super::*;
use crate::expression::{Function, Truth, zero_test};
use crate::number::rational::ratio;
use crate::problem::understand;

fn problem(equation: &str, conditions: &str) -> Problem {
    let (problem, diagnostics) = understand(equation, conditions, "5", &Budget::PAGE);
    problem.unwrap_or_else(|| panic!("{equation} | {conditions}: {diagnostics:?}"))
}

/// The constant that `text` means, as the initial value of a problem.
fn constant(text: &str) -> Expr {
    problem("y' = y", &format!("y(0) = {text}")).initial[0][0].clone()
}

#[test]
fn values_of_derivatives() {
    // (equation, conditions, values of y, y′, y″, …), worked out by hand.
    let table: [(&str, &str, &[&str]); 8] = [
        // y′ = x + y: y = 2eˣ − x − 1.
        ("y' = x + y", "y(0) = 1", &["1", "1", "2", "2", "2", "2"]),
        // y = tan x: tangent numbers, DLMF 24.15.
        (
            "y' = 1 + y^2",
            "y(0) = 0",
            &["0", "1", "0", "2", "0", "16", "0", "272"],
        ),
        // About 3: x·y″ = x² + 2y′, so y″ = (9 + 2)/3; differentiated, x·y‴ = 2x + y″.
        (
            "x y'' - 2y' = x^2",
            "y(3) = 0, y'(3) = 1",
            &["0", "1", "11/3", "29/9"],
        ),
        // y″ = y′·cos y = sin y·cos y; y‴ = sin y·(cos²y − sin²y).
        (
            "y' = sin y",
            "y(0) = 1",
            &["1", "sin 1", "sin 1 cos 1", "sin 1 - 2 (sin 1)^3"],
        ),
        ("y' = e^y", "y(0) = 1", &["1", "e", "e^2", "2e^3", "6e^4"]),
        (
            "y'' = -sin y",
            "y(0) = pi/6, y'(0) = 0",
            &["pi/6", "0", "-1/2", "0", "sqrt(3)/4"],
        ),
        ("y' = |y|", "y(0) = -2", &["-2", "2", "-2", "2"]),
        // ∛(−8) = −2 and its derivative 1/(3·4).
        ("y' = (x - 8)^(1/3)", "y(0) = 0", &["0", "-2", "1/12"]),
    ];
    for (equation, conditions, expected) in table {
        let problem = problem(equation, conditions);
        let found = coefficients(&problem, expected.len() - 1, &Budget::PAGE).unwrap();
        assert_eq!(found.len(), expected.len(), "{equation}");
        for (k, (c, text)) in found.iter().zip(expected).enumerate() {
            let difference = derivative_value(c, k).sub(&constant(text));
            assert_eq!(
                zero_test(&difference),
                Truth::Zero,
                "{equation}, order {k}: {c:?}"
            );
        }
    }
}

#[test]
fn no_series_where_the_right_side_is_not_analytic() {
    let solve = |right_side: Expr, initial: i64| {
        let mut problem = problem("y' = y", "y(0) = 1");
        problem.equations[0].solved = vec![right_side];
        problem.equations[0].standing.1 = Vec::new();
        problem.equations[0].standing.0 = vec![Expr::call(Function::Exp, Expr::derivative(0, 1))];
        problem.initial = vec![vec![Expr::int(initial)]];
        coefficients_as_far(&problem, 4, &Budget::PAGE)
    };
    let y = || Expr::derivative(0, 0);
    let call = |function| Expr::raw_call(function, y());
    let table = [
        (Expr::raw_power(y(), Expr::int(-1)), 0, "division by zero"),
        (
            call(Function::Ln),
            -1,
            "the logarithm of a number that is not positive",
        ),
        (call(Function::Abs), 0, "the absolute value at its kink"),
        (call(Function::Cot), 0, "a pole"),
        (
            call(Function::Arcsin),
            1,
            "a root of a number that is not positive",
        ),
        (
            call(Function::Arcosh),
            1,
            "a root of a number that is not positive",
        ),
        (
            Expr::raw_power(y(), Expr::number(ratio(1, 2))),
            0,
            "a root of a number that is not positive",
        ),
    ];
    for (right_side, initial, expected) in table {
        let found = solve(right_side.clone(), initial);
        assert_eq!(
            found.stopped,
            Some(SeriesError::Undefined(expected)),
            "{right_side:?}"
        );
        assert_eq!(
            found.coefficients[0].len(),
            1,
            "the initial value stands: {right_side:?}"
        );
    }
}

#[test]
fn limits_are_kept_and_the_first_coefficients_given() {
    let riccati = problem("y' = x^2 + y^2", "y(0) = 1");
    let small = Budget {
        bits: 200,
        ..Budget::PAGE
    };
    let found = coefficients_as_far(&riccati, 1000, &small);
    assert_eq!(found.stopped, Some(SeriesError::Exhausted));
    let all = coefficients(&riccati, 60, &Budget::PAGE).unwrap();
    assert!(
        found.coefficients[0].len() > 10,
        "only {}",
        found.coefficients[0].len()
    );
    assert!(all.starts_with(&found.coefficients[0][..10]));
    assert_eq!(
        coefficients(&riccati, 1000, &small),
        Err(SeriesError::Exhausted)
    );
    let few_steps = Budget {
        steps: 50,
        ..Budget::PAGE
    };
    assert_eq!(
        coefficients(&riccati, 1000, &few_steps),
        Err(SeriesError::Exhausted)
    );
}

#[test]
fn degree_one_thousand_of_a_known_series() {
    // The lamp that cools: y′ = −y/2 gives c_n = (−1/2)ⁿ/n!.
    let lamp = problem("y' = -y/2", "y(0) = 1");
    let found = coefficients(&lamp, 1000, &Budget::PAGE).unwrap();
    let mut expected = ratio(1, 1);
    for n in 1..=1000 {
        expected = expected * ratio(-1, 2) / integer(n);
    }
    assert_eq!(found.last(), Some(&Expr::number(expected)));
}
#[test]
fn closed_constants_stop_at_the_budget_and_keep_what_was_found() {
    let problem = problem("y' = sin y", "y(0) = 1");
    let found = coefficients_as_far(&problem, 200, &Budget::PAGE);
    assert_eq!(found.stopped, Some(SeriesError::Exhausted));
    let known = found.coefficients[0].len();
    assert!(known > 20, "only {known} coefficients");
    assert_eq!(
        coefficients(&problem, 12, &Budget::PAGE).unwrap(),
        found.coefficients[0][..=12]
    );
}
