//! Expansions and their tails against exact coefficients, longer expansions and known radii.

use super::form::{Arithmetic, Form};
use super::{Ball, Expansion, expansion, frame};
use crate::budget::Budget;
use crate::expression::Function;
use crate::number::big_float::Precision;
use crate::number::{BigFloat, DoubleDouble, Rational, decimal};
use crate::problem::{Problem, understand};
use crate::series::floats::apply;
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

/// Pseudo-random doubles in [−1, 1] (a linear congruential generator, fixed seed).
struct Dice(u64);

impl Dice {
    fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        f64::from(u32::try_from(self.0 >> 32).unwrap()) / 2_147_483_648.0 - 1.0
    }
}

/// Of every function, at arguments of all sizes and near the places where they are singular, zero or
/// extreme: the form of a form holds the values at its ends and between, worked out with 500 bits.
#[test]
fn functions_of_forms_hold_all_values() {
    let fine = Precision::new(500);
    let arithmetic = Arithmetic::new(106, 1);
    let mut dice = Dice(7);
    for function in Function::ALL {
        if matches!(function, Function::Abs | Function::Sign) {
            continue;
        }
        let (mut held, mut refused) = (0, 0);
        for round in 0..400 {
            let size = [1e-12, 1e-3, 0.5, 1.0, 3.0, 20.0, 300.0][round % 7];
            let near = [0.0, 0.0, 1.0, -1.0, std::f64::consts::FRAC_PI_2][round % 5];
            let m = near + size * dice.next();
            let wide = [0.0, 1e-30, 1e-20, 1e-9, 1e-4][round % 5] * m.abs();
            let (slope, radius) = (wide * dice.next(), 0.3 * wide);
            let mut form = arithmetic.known(DoubleDouble::from_f64(m));
            form.slopes[0] = slope;
            form.radius = radius;
            let Ok(found) = arithmetic.call(function, &form) else {
                refused += 1;
                continue;
            };
            for (xi, delta) in [
                (1.0, 1.0),
                (-1.0, -1.0),
                (1.0, -1.0),
                (0.25, 0.5),
                (0.0, 0.0),
            ] {
                let exact = |value: f64| BigFloat::from_f64(value);
                let moved = exact(slope)
                    .times(&exact(xi), &fine)
                    .plus(&exact(radius).times(&exact(delta), &fine), &fine);
                let truth = apply(function, &exact(m).plus(&moved, &fine), &fine);
                assert!(truth.is_finite(), "{function:?} at {m}");
                let line = exact(found.slopes[0]).times(&exact(xi), &fine);
                let line = BigFloat::from_double_double(found.mid).plus(&line, &fine);
                let off = truth.minus(&line, &fine).to_f64().abs();
                assert!(off <= found.radius, "{function:?} at {m}: {off} {found:?}");
                held += 1;
            }
        }
        assert!(
            held > 500 && refused < 300,
            "{function:?}: {held} {refused}"
        );
    }
}

#[test]
fn powers_of_forms_hold_all_values() {
    let fine = Precision::new(500);
    let arithmetic = Arithmetic::new(106, 1);
    let mut dice = Dice(11);
    for exponent in [(1, 2), (-1, 2), (1, 3), (-7, 3), (22, 7), (1, 100)] {
        let exponent = Rational::new(exponent.0.into(), exponent.1.into());
        for round in 0..200 {
            let m = [1e-6, 0.1, 1.0, 40.0, 1e9][round % 5] * (1.01 + dice.next());
            let slope = [0.0, 1e-25, 1e-9, 1e-3][round % 4] * m;
            let mut form = arithmetic.known(DoubleDouble::from_f64(m));
            form.slopes[0] = slope;
            form.radius = 0.0;
            let found = arithmetic.power(&form, &exponent).unwrap();
            for xi in [-1.0, 0.5, 1.0] {
                let exact = |value: f64| BigFloat::from_f64(value);
                let place = exact(m).plus(&exact(slope).times(&exact(xi), &fine), &fine);
                let truth = place.power(&exponent, &fine);
                let line = exact(found.slopes[0]).times(&exact(xi), &fine);
                let line = BigFloat::from_double_double(found.mid).plus(&line, &fine);
                let off = truth.minus(&line, &fine).to_f64().abs();
                assert!(off <= found.radius, "{m}^{exponent}: {off} {found:?}");
            }
        }
    }
}

/// The turned box holds the old one: corners of the old set, put into the new coordinates.
#[test]
fn turned_sets_hold_the_old_ones() {
    let mut dice = Dice(3);
    for count in [1, 2, 3, 6] {
        for round in 0..50 {
            let arithmetic = Arithmetic::new(106, count);
            let stretch = [1.0, 1e-7, 1e5][round % 3];
            let states: Vec<Form<DoubleDouble>> = (0..count)
                .map(|_| {
                    let mut form = arithmetic.known(DoubleDouble::from_f64(1.0));
                    for slope in form.slopes.iter_mut().take(count) {
                        *slope = 1e-10 * (1.0 + stretch * dice.next());
                    }
                    form.radius = 1e-14 * (1.0 + dice.next());
                    form
                })
                .collect();
            let new = frame::turned(&states);
            for form in &new {
                assert!(form.radius < 1e-13 * form.gap().max(1e-20));
            }
            // In the direction of every functional, and of its opposite, the new set reaches as far.
            for _ in 0..20 {
                let along: Vec<f64> = (0..count).map(|_| dice.next()).collect();
                let support = |forms: &[Form<DoubleDouble>]| {
                    let columns: f64 = (0..super::form::DIRECTIONS)
                        .map(|i| {
                            let parts = forms.iter().zip(&along);
                            parts.map(|(form, a)| form.slopes[i] * a).sum::<f64>().abs()
                        })
                        .sum();
                    let radii = forms.iter().zip(&along);
                    columns + radii.map(|(form, a)| form.radius * a.abs()).sum::<f64>()
                };
                assert!(support(&new) >= support(&states) * (1.0 - 1e-9));
            }
        }
    }
}
