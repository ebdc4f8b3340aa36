//! Order by order: what each line demands, and that the checker agrees.

use super::super::{
    Convergence, Demand, Derivation, Deriver, RowKind, StopReason, check, every_order,
};
use super::support::show;
use crate::budget::Budget;
use crate::problem::{Problem, Route, understand};

fn problem(equation: &str, conditions: &str) -> Problem {
    let (problem, said) = understand(equation, conditions, "5", &Budget::PAGE);
    problem.unwrap_or_else(|| panic!("{equation}: {said:?}"))
}

fn rows(problem: &Problem, up_to: usize) -> Derivation {
    let mut deriver = Deriver::new(problem, Route::Solved, &Budget::PAGE);
    while deriver.next_order() <= up_to && deriver.next_row().is_some() {}
    let derivation = deriver.finish();
    let report = check(problem, &derivation);
    assert!(report.defects.is_empty(), "{:?}", report.defects);
    derivation
}

/// The values in order, `=` where a line demanded nothing, and why the work ended.
fn story(derivation: &Derivation) -> String {
    let words: Vec<String> = derivation
        .rows
        .iter()
        .map(|row| match &row.kind {
            RowKind::Holds { .. } => "=".to_owned(),
            RowKind::Stopped { reason, .. } => match reason {
                StopReason::Demand(Demand::Several(values)) => {
                    let values: Vec<String> = values.iter().map(show).collect();
                    format!("several {}", values.join(" "))
                }
                StopReason::Demand(Demand::Some(values)) => {
                    let values: Vec<String> = values.iter().map(show).collect();
                    format!("also {}", values.join("|"))
                }
                StopReason::Demand(Demand::Free { .. }) => "free".to_owned(),
                StopReason::Demand(Demand::Contradiction(value)) => format!("0≠{}", show(value)),
                StopReason::Demand(Demand::NotAsGiven(value)) => format!("not {}", show(value)),
                StopReason::Demand(Demand::Inexact(found)) => format!("inexact {}", found.len()),
                StopReason::Demand(other) => format!("{other:?}"),
                other => format!("{other:?}"),
            },
            _ => row.value.as_ref().map_or("?".to_owned(), show),
        })
        .collect();
    words.join(", ")
}

#[test]
fn each_line_is_taken_for_what_it_demands() {
    for (equation, conditions, expected) in [
        ("x y'' + y' + x y = 0", "y(0) = 1", "1, 0, -1/2, 0, 3/8"),
        (
            "x^2 y'' + x y' + x^2 y = 0",
            "y(0) = 1",
            "=, 1, 0, -1/2, 0, 3/8",
        ),
        (
            "x y'' + y' + x y = 0",
            "y(0) = 1, y'(0) = 0",
            "1, 0, -1/2, 0, 3/8",
        ),
        ("x y'' + y' + x y = 0", "y(0) = 1, y'(0) = 1", "1, not 0"),
        ("x y'' + y' + x y = 0", "y'(0) = 0", "free"),
        ("x y' = 2y", "y(0) = 0", "0, 0, =, free"),
        ("x y' = 2y", "y(0) = 1", "not 0"),
        ("x y' = 2y", "y(0) = 0, y''(0) = 3", "0, 0, =, 3, 0, 0"),
        ("x y' = y + x", "y(0) = 0", "0, 0≠1"),
        ("x^2 y' = y - x", "y(0) = 0", "0, 1, 2, 12, 144"),
        ("x y' = x^3", "y(0) = 1", "=, 1, 0, 0, 2, 0"),
        (
            "(1 - x^2) y'' - 2x y' + 6y = 0",
            "y(1) = 1",
            "1, 3, 3, 0, 0",
        ),
        // Lane and Emden; Clairaut's equation and its envelope y = −x²/4.
        ("x y'' + 2y' + x y^5 = 0", "y(0) = 1", "1, 0, -1/3, 0, 1"),
        ("y = x y' + y'^2", "y(0) = 1, y'(0) = 1", "1, 1, 0, 0, 0"),
        ("y = x y' + y'^2", "y(0) = 1", "1, several -1 1"),
        ("y = x y' + y'^2", "y(0) = 0", "0, 0, =, several -1/2 0"),
        ("y = x y' + y'^2", "y(0) = -1", "-1, NoReal"),
        ("y y' = x", "y(0) = 0", "0, =, several -1 1"),
        ("y y' = x", "y(0) = 0, y'(0) = -1", "0, =, -1, 0, 0, 0"),
        ("y'^2 = y", "y(0) = 0, y''(0) = 1/2", "0, 0, =, 1/2, 0, 0"),
        (
            "y'^3 = 27 y^2",
            "y(0) = 0, y'''(0) = 6",
            "0, 0, =, =, 0, =, =, 6, 0",
        ),
        ("y' + e^(y') = 1 + x", "y(0) = 0", "0, 0, 1/2, -1/8, 1/32"),
        (
            "y' + e^(y') = 1 + x",
            "y(0) = 0, y'(0) = 1",
            "0, GivenFails",
        ),
        ("y'^3 - 3y' + 1 = y", "y(0) = 0", "0, several r r r"),
        (
            "y'^3 - 3y' + 1 = y",
            "y(0) = 0, y'(0) ≈ 0.3",
            "0, r, 1/9 r^2 + 2/9 r - 2/9, 1/9 - 1/9 r - 2/27 r^2, 31/243 r^2 + 47/243 r - 32/243",
        ),
        ("y'^3 + y' = x + 2", "y(0) = 0", "0, 1, 1/4, -3/32, 21/256"),
    ] {
        let problem = problem(equation, conditions);
        assert_eq!(
            story(&rows(&problem, 4)),
            expected,
            "{equation}, {conditions}"
        );
    }
}

#[test]
fn what_every_later_line_demands() {
    use Convergence::{Converges, Diverges, Unknown};
    for (equation, conditions, shift, factor, zeros, convergence) in [
        (
            "x y'' + y' + x y = 0",
            "y(0) = 1",
            1,
            "1 1",
            &[][..],
            Converges,
        ),
        (
            "x^2 y'' + x y' + x^2 y = 0",
            "y(0) = 1",
            0,
            "0 0 1",
            &[0],
            Converges,
        ),
        (
            "x^2 y'' + x y' + (x^2 - 4) y = 0",
            "y(0) = 0, y'(0) = 0, y''(0) = 1",
            0,
            "-4 0 1",
            &[2],
            Converges,
        ),
        (
            "x y' = 2y",
            "y(0) = 0, y''(0) = 1",
            0,
            "-2 1",
            &[2],
            Converges,
        ),
        ("x^2 y' = y - x", "y(0) = 0", 0, "-1", &[], Diverges),
        // y = x satisfies it: the coefficients end.
        ("x^2 y' = y - x + x^2", "y(0) = 0", 0, "-1", &[], Unknown),
        (
            "x^2 y' = y + y^2 - x",
            "y(0) = 0, y'(0) = 1",
            0,
            "-1",
            &[],
            Unknown,
        ),
        (
            "x y'' + 2y' + x y^5 = 0",
            "y(0) = 1",
            1,
            "2 1",
            &[],
            Converges,
        ),
        (
            "y'^2 = 1 + y",
            "y(0) = 3, y'(0) = 2",
            1,
            "4",
            &[],
            Converges,
        ),
        (
            "y'^2 = y",
            "y(0) = 0, y''(0) = 1/2",
            0,
            "-1 1",
            &[],
            Converges,
        ),
    ] {
        let problem = problem(equation, conditions);
        let found =
            every_order(&problem, &rows(&problem, 12).values(), &Budget::PAGE).expect(equation);
        let words: Vec<String> = found.factor.iter().map(show).collect();
        assert_eq!(
            (
                found.shift,
                words.join(" ").as_str(),
                found.zeros.as_deref(),
                found.convergence
            ),
            (shift, factor, Some(zeros), convergence),
            "{equation}"
        );
    }
}

#[test]
fn the_checker_notices_a_line_that_does_not_hold_and_a_wrong_choice() {
    let problem = problem("y'^2 = y", "y(0) = 0, y''(0) = 1/2");
    let mut derivation = rows(&problem, 3);
    for row in &mut derivation.rows {
        if matches!(row.kind, RowKind::Chosen { .. }) && row.order == 2 {
            row.value = Some(crate::expression::Expr::int(2));
        }
    }
    assert!(!check(&problem, &derivation).defects.is_empty());
}

#[test]
fn later_lines_decide_what_is_free() {
    use super::super::{Ahead, look_ahead};
    use crate::expression::Expr;
    // Exponents 0 and 4, the series from 0 would need a logarithm; without y it is x + … all the same.
    let bent = "x^2 y'' - 3x y' + x y = 0";
    for (equation, conditions, order, expected) in [
        ("x y' = 2y", "y(0) = 0", 2, Some(Ahead::Free)),
        (bent, "y'(0) = 0", 0, Some(Ahead::Forced(Expr::zero()))),
        (bent, "y''''(0) = 24", 0, Some(Ahead::Forced(Expr::zero()))),
        (bent, "y'(0) = 1", 0, Some(Ahead::Contradiction)),
        ("x y' = 9y + x^9", "y(0) = 0", 9, Some(Ahead::Contradiction)),
        ("y y' = x", "y(0) = 0", 1, None),
    ] {
        let problem = problem(equation, conditions);
        let derivation = {
            let mut deriver = Deriver::new(&problem, Route::Standing, &Budget::PAGE);
            while deriver.next_order() <= 5 && deriver.next_row().is_some() {}
            deriver.finish()
        };
        let every = every_order(&problem, &derivation.values(), &Budget::PAGE);
        let found = every.and_then(|every| look_ahead(&problem, &every, order, &Budget::PAGE));
        assert_eq!(found, expected, "{equation}, {conditions}");
    }
}

#[test]
fn what_is_around_the_highest_derivative_is_undone() {
    for (equation, conditions, expected) in [
        ("e^(y') = 1 + x + y", "y(0) = 0", "0, 0, 1, 0"),
        ("1/y' = x + y", "y(0) = 1", "1, 1, -2, 10"),
        ("sqrt(y') + y' = 2 + x", "y(0) = 1", "1, 1, 2/3, 2/27"),
        ("arctan y' = x + y", "y(0) = 0", "0, 0, 1, 1"),
        (
            "2^(y') = x + 2",
            "y(0) = 0",
            "0, 1, 1/2 ln(2)^-1, -1/4 ln(2)^-1",
        ),
        // Clairaut's equation: straight lines.
        ("y = x y' + e^(y')", "y(0) = 1", "1, 0, 0, 0"),
        // Two arguments have the same value.
        (
            "cosh(y') = 2 + x",
            "y(0) = 0",
            "0, several -arcosh(2) arcosh(2)",
        ),
        ("y' + 2/y' = 3 + x", "y(0) = 1", "1, several 1 2"),
        (
            "e^(2y') - 3e^(y') + 2 = x",
            "y(0) = 0",
            "0, several 0 ln(2)",
        ),
        ("(y')^(2/3) = 4 + x", "y(0) = 0", "0, several -8 8"),
        // tanh takes no value beyond 1.
        ("tanh(y') = y", "y(0) = 2", "2, NoReal"),
        // With letters, a root of the letter: real on a side condition.
        ("y'^2 = k y", "y(0) = 1", "1, several -k^(1/2) k^(1/2)"),
        // Others may exist.
        ("y'^2 = sin(y')", "y(0) = 0", "0, also 0|r"),
        ("y' + sin(y') = x", "y(0) = 0", "0, 0, 1/2, 0"),
        (
            "y' + cos(y') = x",
            "y(0) = 0",
            "0, r, (1 - sin(r))^-1, -r (1 - sin(r))^-3",
        ),
    ] {
        assert_eq!(
            story(&rows(&problem(equation, conditions), 3)),
            expected,
            "{equation}"
        );
    }
}
