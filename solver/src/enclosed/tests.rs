//! Expansions and their tails against exact coefficients, longer expansions and known radii.

use super::{Ball, Expansion, expansion};
use crate::budget::Budget;
use crate::number::{Rational, decimal};
use crate::problem::{Problem, understand};
use crate::series::{SeriesError, Tape};

pub(super) fn problem(equation: &str, conditions: &str) -> Problem {
    let (problem, diagnostics) = understand(equation, conditions, "5", &Budget::PAGE);
    problem.unwrap_or_else(|| panic!("{equation}: {diagnostics:?}"))
}

/// Problems with every operation and every function of the tape, and a radius that surely is below
/// that of convergence.
const SUITE: [(&str, &str, f64); 27] = [
    ("y' = y", "y(0) = 1", 2.0),
    ("y' = y^2", "y(0) = 1", 0.8),
    ("y' = x^2 + y^2", "y(0) = 0", 1.6),
    ("y'' = x y", "y(0) = 1, y'(0) = 0", 3.0),
    ("y'' + sin y = 0", "y(0) = 1, y'(0) = 1/2", 1.0),
    ("y'' = cos(y) - y'/3", "y(1) = 1, y'(1) = pi", 0.5),
    ("y' = 1/y", "y(0) = 1", 0.4),
    ("y' = sqrt(1 + y)", "y(0) = 1", 1.5),
    ("y' = y^(1/3) + x", "y(0) = 2", 0.7),
    ("(4 + x^2) y'' + 3 y = 0", "y(0) = 1, y'(0) = 1", 1.5),
    ("y' = exp(-y) + x", "y(0) = 0", 0.5),
    ("y' = ln(2 + y)", "y(0) = 1", 0.8),
    ("y' = tan(x + y)", "y(0) = 1/4", 0.3),
    ("y' = arctan y + 1", "y(0) = 0", 0.5),
    ("y' = arcsin(x y) + 1/2", "y(0) = 1/2", 0.4),
    ("y' = arccos(x/2) y", "y(0) = 1", 0.8),
    ("y' = sinh y - cosh x", "y(0) = 1/2", 0.4),
    ("y' = tanh(x y) + sech y", "y(0) = 1", 0.5),
    ("y' = arsinh(x + y)", "y(0) = 1", 0.5),
    ("y' = arcosh(2 + y)", "y(0) = 1", 0.8),
    ("y' = artanh(y/3) + cot(1 + x)", "y(0) = 1", 0.3),
    ("y' = sec x + csc(1 + y)", "y(0) = 0", 0.2),
    ("y' = coth(1 + y) + csch(2 + x)", "y(0) = 0", 0.25),
    ("y' = arccot(y) + |y|", "y(0) = 1", 0.3),
    ("y' = x^y", "y(1) = 1", 0.5),
    ("u' = u (3 - v); v' = v (u - 2)", "u(0) = 1, v(0) = 2", 0.3),
    (
        "u'' = v - u; v' = u' v",
        "u(0) = sqrt 2, u'(0) = 0, v(0) = 1",
        0.5,
    ),
];

fn expanded<'a>(problem: &Problem, tape: &'a Tape, degree: usize, bits: usize) -> Expansion<'a> {
    expansion(problem, tape, degree, bits, &Budget::PAGE)
        .unwrap_or_else(|error| panic!("{error:?}"))
}

fn contains(wide: &Ball, narrow: &Ball) -> bool {
    let (low, high) = wide.ends().unwrap();
    let (below, above) = narrow.ends().unwrap();
    low <= below && above <= high
}

#[test]
fn balls_contain_more_precise_ones_and_are_tight() {
    for (equation, conditions, _) in SUITE {
        let problem = problem(equation, conditions);
        let tape = Tape::of_problem(&problem).unwrap();
        let coarse = expanded(&problem, &tape, 30, 106);
        let fine = expanded(&problem, &tape, 30, 220);
        for unknown in 0..problem.unknowns.len() {
            let (coarse, fine) = (coarse.coefficients(unknown), fine.coefficients(unknown));
            assert!(coarse.len() > 30 && coarse.len() == fine.len());
            let largest = fine.iter().map(|ball| ball.mid.to_f64().abs());
            let largest = largest.fold(0.0, f64::max);
            for (k, (a, b)) in coarse.iter().zip(&fine).enumerate() {
                assert!(contains(a, b), "{equation}: coefficient {k}: {a:?} {b:?}");
                assert!(a.radius < 1e-18 * largest, "{equation}: {k}: {a:?}");
                assert!(b.radius < 1e-52 * largest, "{equation}: {k}: {b:?}");
            }
        }
    }
}

#[test]
fn balls_contain_the_exact_coefficients() {
    for (equation, conditions, _) in SUITE {
        let problem = problem(equation, conditions);
        let tape = Tape::of_problem(&problem).unwrap();
        let balls = expanded(&problem, &tape, 12, 106).coefficients(0);
        let found = crate::series::coefficients_as_far(&problem, 12, &Budget::PAGE);
        let exact = &found.coefficients[0];
        let mut compared = 0;
        for (ball, value) in balls.iter().zip(exact) {
            let Ok(text) = crate::expression::decimal(value, 40) else {
                continue;
            };
            let value = decimal::parse(&text).unwrap();
            let slack = Rational::new(1.into(), num_traits::pow(10.into(), 36));
            let (low, high) = ball.ends().unwrap();
            assert!(
                low - &slack <= value && value <= high + &slack,
                "{equation}"
            );
            compared += 1;
        }
        assert!(compared > 3, "{equation}: {compared}");
    }
}

#[test]
fn tails_bound_what_longer_expansions_show() {
    for (equation, conditions, radius) in SUITE {
        let problem = problem(equation, conditions);
        let tape = Tape::of_problem(&problem).unwrap();
        let short = expanded(&problem, &tape, 40, 106);
        let tail = short
            .tail(radius)
            .unwrap_or_else(|| panic!("{equation}: nothing proved at {radius}"));
        let long = expanded(&problem, &tape, 160, 300);
        for (unknown, (bound, degree)) in tail.bounds.iter().zip(&tail.degrees).enumerate() {
            let shown: f64 = long
                .coefficients(unknown)
                .iter()
                .enumerate()
                .skip(degree + 1)
                .map(|(k, ball)| {
                    ball.mid.to_f64().abs()
                        * libm::pow(radius, f64::from(u32::try_from(k).unwrap()))
                })
                .sum();
            assert!(shown <= *bound, "{equation}: {shown} {bound}");
            assert!(*bound < 1e5 * shown + 1e-20, "{equation}: {shown} {bound}");
        }
    }
}

#[test]
fn nothing_is_proved_beyond_the_radius_and_nearly_all_below() {
    // Poles at 1 (1/(1 − x)), 2.00314735942688… (Riccati) and π/2 − 1/4 …; branch point at −1/2.
    for (equation, conditions, radius) in [
        ("y' = y^2", "y(0) = 1", 1.0),
        ("y' = x^2 + y^2", "y(0) = 0", 2.003_147_359_426_88),
        ("y' = 1 + y^2", "y(0) = 0", std::f64::consts::FRAC_PI_2),
        ("y' = 1/y", "y(0) = 1", 0.5),
        ("(1 + x^2) y' = 1", "y(0) = 0", 1.0),
        ("y' = -y/(3 + x)", "y(0) = 1", 3.0),
        ("y' = 1/sqrt(2 - x)", "y(0) = 1", 2.0),
        ("y' = ln(1 - x)", "y(0) = 1", 1.0),
        ("y' = tan x", "y(0) = 0", std::f64::consts::FRAC_PI_2),
    ] {
        let problem = problem(equation, conditions);
        let tape = Tape::of_problem(&problem).unwrap();
        let expansion = expanded(&problem, &tape, 120, 106);
        assert!(expansion.tail(1.0001 * radius).is_none(), "{equation}");
        assert!(expansion.tail(0.85 * radius).is_some(), "{equation}");
    }
}

#[test]
fn what_is_not_analytic_is_refused() {
    for (equation, conditions) in [
        ("y' = sqrt(y - 1)", "y(0) = 1 + 1/10^60"),
        ("y' = |y - 1|", "y(0) = 1 + 1/10^60"),
    ] {
        let problem = problem(equation, conditions);
        let tape = Tape::of_problem(&problem).unwrap();
        // Double-doubles cannot tell; 250 bits can.
        let refused = expansion(&problem, &tape, 10, 106, &Budget::PAGE);
        assert!(
            refused.is_err_and(|error| matches!(error, SeriesError::Undefined(_))),
            "{equation}"
        );
        assert!(expansion(&problem, &tape, 10, 250, &Budget::PAGE).is_ok());
    }
}
