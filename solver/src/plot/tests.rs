//! The pictures of known problems.

use super::{Plot, build};
use crate::budget::Budget;
use crate::expression::{Expr, Function};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::problem::Problem;
use crate::reference::tests::{call, int, number, power, problem, product, y};
use crate::reference::{Aim, DIGITS, solve};

fn plot(problem: &Problem, coefficients: &[Rational], at: &[Expr]) -> Plot {
    let coefficients: Vec<Expr> = coefficients.iter().cloned().map(number).collect();
    let mut always = |_: u32| true;
    let degree = coefficients.len() - 1;
    let reference = solve(
        problem,
        None,
        at,
        Aim {
            degree,
            digits: DIGITS,
        },
        &Budget::PAGE,
        &mut always,
    )
    .remove(0);
    build(&coefficients, &reference, &[])
}

fn exponential(degree: i64) -> (Problem, Vec<Rational>) {
    let mut factorial = integer(1);
    let coefficients = (0..=degree)
        .map(|k| {
            if k > 0 {
                factorial *= integer(k);
            }
            integer(1) / &factorial
        })
        .collect();
    (problem(vec![y(0)], int(0), vec![int(1)]), coefficients)
}

/// tan x to degree 7: 1, 1/3, 2/15, 17/315 (DLMF 4.19.3).
fn tangent() -> (Problem, Vec<Rational>) {
    let zero = integer(0);
    let coefficients = vec![
        zero.clone(),
        integer(1),
        zero.clone(),
        ratio(1, 3),
        zero.clone(),
        ratio(2, 15),
        zero,
        ratio(17, 315),
    ];
    let solved = vec![power(y(0), integer(2)), int(1)];
    (problem(solved, int(0), vec![int(0)]), coefficients)
}

#[test]
fn errors_near_the_center_do_not_cancel() {
    let (problem, coefficients) = exponential(12);
    let plot = plot(&problem, &coefficients, &[number(ratio(1, 1000))]);
    let row = plot.table.iter().find(|row| row.x == "0.001").unwrap();
    // |P_12 − e^x| = x¹³/13! + x¹⁴/14! + … = 1.6059…e-10 · 1e-39 · (1 + x/14 + …).
    let expected = 1e-39 / 6_227_020_800.0 * (1.0 + 0.001 / 14.0);
    let got = row.errors[12].unwrap();
    assert!((got / expected - 1.0).abs() < 1e-6, "{got:e}");
    assert!(row.round);
    // At the center nothing is left.
    let center = plot.table.iter().find(|row| row.x == "0").unwrap();
    assert!(center.errors.iter().all(|e| e.unwrap().abs() <= 0.0));
}

#[test]
fn errors_far_out_are_differences() {
    let (problem, coefficients) = exponential(5);
    let plot = plot(&problem, &coefficients, &[int(3)]);
    let row = plot.table.iter().find(|row| row.x == "3").unwrap();
    // P_5(3) = 18.4; e³ = 20.085536923187668 (DLMF 4.2.11 cubed; double).
    assert!((row.partial_sums[5] - 18.4).abs() < 1e-12);
    assert!((row.errors[5].unwrap() - 1.685_536_923_187_668).abs() < 1e-12);
    assert_eq!(row.reference.as_deref(), Some("20.0855369231876677"));
}

#[test]
fn the_picture_of_tan_stops_at_its_poles_and_shades_beyond() {
    let (problem, coefficients) = tangent();
    let plot = plot(&problem, &coefficients, &[]);
    let half_pi = std::f64::consts::FRAC_PI_2;
    assert_eq!((plot.curves.x.low, plot.curves.x.high), (-2.0, 2.0));
    let [(a, b), (c, d)] = plot.curves.beyond[..] else {
        panic!("{:?}", plot.curves.beyond);
    };
    assert!(a <= -2.0 && (b + half_pi).abs() < 1e-6 && (c - half_pi).abs() < 1e-6 && d >= 2.0);
    // The window shows the middle, not the poles' thousands.
    assert!(
        plot.curves.y.high < 60.0 && plot.curves.y.high > 1.5,
        "{:?}",
        plot.curves.y
    );
    let reference = plot.curves.curves.last().unwrap();
    assert_eq!(reference.degree, None);
    for piece in &reference.pieces {
        for (x, y) in piece {
            assert!(x.abs() < half_pi);
            assert!(*y >= plot.curves.y.low && *y <= plot.curves.y.high);
        }
    }
    // The partial sums are drawn over the whole window, also where there is no solution.
    let seventh = &plot.curves.curves[7];
    assert_eq!(seventh.degree, Some(7));
    assert!(seventh.pieces.iter().flatten().any(|(x, _)| *x > half_pi));
    let beyond = plot.table.iter().find(|row| row.x == "1.8").unwrap();
    assert_eq!(beyond.reference, None);
    assert!(beyond.errors.iter().all(Option::is_none));
}

#[test]
fn degrees_that_are_missing_draw_the_same_curve() {
    let (problem, coefficients) = tangent();
    let plot = plot(&problem, &coefficients, &[]);
    let curve = |n: usize| &plot.curves.curves[n].pieces;
    assert_eq!(curve(3), curve(4));
    assert_ne!(curve(3), curve(5));
}

#[test]
fn a_polynomial_solution_has_no_error_left() {
    // y″ = 2: 1 + x².
    let problem = problem(vec![int(2)], int(0), vec![int(1), int(0)]);
    let coefficients = [integer(1), integer(0), integer(1), integer(0)];
    let plot = plot(&problem, &coefficients, &[]);
    assert!(plot.table.iter().all(|row| row.errors[2] == Some(0.0)));
    assert!(plot.errors.curves[2].pieces.is_empty());
    assert!(!plot.errors.curves[1].pieces.is_empty());
    assert!(plot.errors.y.low < plot.errors.y.high);
}

#[test]
fn the_read_out_finds_the_nearest_row() {
    let (problem, coefficients) = exponential(4);
    let plot = plot(&problem, &coefficients, &[]);
    let row = plot.read_out(0.501).unwrap();
    assert!((row.x_value - 0.5).abs() < 0.03);
    assert!(plot.read_out(1e9).unwrap().x_value >= plot.curves.x.high);
    assert!(plot.table.windows(2).all(|w| w[0].x_value < w[1].x_value));
    let round: Vec<_> = plot.table.iter().filter(|row| row.round).collect();
    assert!((9..=45).contains(&round.len()), "{}", round.len());
}

#[test]
fn pendulum_pictures_are_complete() {
    let solved = vec![product(vec![int(-1), call(Function::Sin, y(0))])];
    let problem = problem(solved, int(0), vec![int(1), int(0)]);
    let coefficients = [integer(1), integer(0), ratio(-42, 100)];
    let plot = plot(&problem, &coefficients, &[]);
    assert!(plot.table.len() > 150);
    assert!(plot.table.iter().all(|row| row.reference.is_some()));
}
