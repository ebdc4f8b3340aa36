//! How long the derivative table with its reasons takes: `cargo bench -p solver --bench derive_table`.

use std::hint::black_box;
use std::time::Instant;

use solver::budget::Budget;
use solver::derivation::{RowKind, check, derive};
use solver::expression::{Expr, Function};
use solver::number::rational::ratio;
use solver::problem::{DegreeRequest, Equation, Justification, Problem, Route, Unknown};

fn x() -> Expr {
    Expr::variable()
}

fn y(order: u32) -> Expr {
    Expr::derivative(0, order)
}

fn n(value: i64) -> Expr {
    Expr::int(value)
}

fn problem(initial: &[Expr], solved: Vec<Expr>, standing: (Vec<Expr>, Vec<Expr>)) -> Problem {
    let equation_order = u32::try_from(initial.len()).unwrap_or(1);
    Problem {
        independent: "x".into(),
        unknowns: vec![Unknown {
            name: "y".into(),
            equation_order,
        }],
        center: n(0),
        initial: vec![initial.to_vec()],
        also_given: Vec::new(),
        near: Vec::new(),
        equations: vec![Equation {
            given: standing.clone(),
            unknown: 0,
            standing,
            leading: n(1),
            solved,
            steps: Vec::new(),
            standing_steps: 0,
            default_route: Route::Solved,
            justification: Justification::AnalyticRightSide {
                polynomial: false,
                checked: Vec::new(),
            },
        }],
        parameters: Vec::new(),
        side_conditions: Vec::new(),
        degree: DegreeRequest::Degree(8),
    }
}

fn explicit(initial: &[Expr], solved: Vec<Expr>) -> Problem {
    let order = u32::try_from(initial.len()).unwrap_or(1);
    problem(initial, solved.clone(), (vec![y(order)], solved))
}

/// Equations whose derivatives or values outgrow everything.
fn hostile() -> Vec<(&'static str, Problem)> {
    let call = |function, u: &Expr| Expr::call(function, u.clone());
    let base = n(1).add(&x());
    let tower = Expr::power(base.clone(), Expr::power(n(1).add(&y(0)), base.clone()));
    let nested = (0..60).fold(y(0), |u, _| call(Function::Sin, &u.add(&x())));
    let cubes = (0..20).fold(y(0), |u, _| u.pow_int(3).add(&x()));
    let product = (1..20).fold(n(1), |u, k| u.mul(&y(0).add(&x().mul(&n(k)))));
    vec![
        (
            "many functions",
            explicit(
                &[n(1)],
                vec![
                    call(Function::Sin, &x().mul(&y(0)).add(&n(1))),
                    call(Function::Exp, &y(0)).mul(&call(Function::Cos, &base)),
                    call(Function::Ln, &n(2).add(&y(0).square())).mul(&base.sqrt()),
                    call(Function::Arctan, &x().add(&y(0).mul(&n(2)))),
                ],
            ),
        ),
        ("power tower", explicit(&[n(1)], vec![tower])),
        ("60 nested sines", explicit(&[n(1)], vec![nested])),
        ("20 nested cubes", explicit(&[n(1)], vec![cubes])),
        ("20 brackets", explicit(&[n(1)], vec![product])),
    ]
}

fn main() {
    let sin = |u: Expr| Expr::call(Function::Sin, u);
    let gauge = n(4).add(&x().square());
    let cases = [
        (
            "rainbow edge (Airy)",
            explicit(&[n(1), n(0)], vec![x().mul(&y(0))]),
        ),
        (
            "pendulum clock",
            explicit(&[n(0), n(1)], vec![sin(y(0)).neg()]),
        ),
        (
            "pendulum clock from y = 1",
            explicit(&[n(1), n(0)], vec![sin(y(0)).neg()]),
        ),
        (
            "Riccati",
            explicit(&[n(0)], vec![x().square(), y(0).square()]),
        ),
        (
            "buoy (Duffing)",
            explicit(
                &[n(1), n(0)],
                vec![
                    y(1).mul(&Expr::number(ratio(-1, 2))),
                    y(0).neg(),
                    y(0).pow_int(3).neg(),
                ],
            ),
        ),
        (
            "van der Pol",
            explicit(
                &[n(1), n(1)],
                vec![n(1).sub(&y(0).square()).mul(&y(1)), y(0).neg()],
            ),
        ),
        (
            "mooring cable",
            explicit(&[n(1), n(0)], vec![n(1).add(&y(1).square()).sqrt()]),
        ),
        (
            "oyster beds (logistic)",
            explicit(
                &[Expr::number(ratio(1, 2))],
                vec![y(0), y(0).square().neg()],
            ),
        ),
        (
            "quotient",
            explicit(
                &[n(1)],
                vec![x().sub(&y(0)).div(&n(1).add(&x()).add(&y(0)))],
            ),
        ),
        (
            "(4 + x^2) y'' + 3 y = 0",
            problem(
                &[n(1), n(2)],
                vec![n(-3).mul(&y(0)).div(&gauge)],
                (vec![gauge.mul(&y(2)), n(3).mul(&y(0))], vec![]),
            ),
        ),
    ];
    let cases = cases.into_iter().chain(hostile()).collect::<Vec<_>>();
    println!(
        "{:<28}{:>9}{:>12}{:>12}{:>12}",
        "problem", "degree", "route", "table/ms", "check/ms"
    );
    for (name, problem) in &cases {
        for route in [Route::Solved, Route::Standing] {
            for degree in [8, 50] {
                report(name, problem, route, degree);
            }
        }
    }
}

fn report(name: &str, problem: &Problem, route: Route, degree: usize) {
    let budget = Budget::PAGE;
    let derivation = derive(problem, route, degree, &budget);
    let full = derivation
        .rows
        .iter()
        .filter(|row| row.kind != RowKind::SeriesOnly)
        .count();
    let table = best(|| derive(black_box(problem), route, degree, &budget));
    let replay = best(|| check(problem, black_box(&derivation)));
    let defects = check(problem, &derivation).defects.len();
    assert_eq!(defects, 0, "{name}");
    println!(
        "{name:<28}{degree:>9}{:>12}{table:>12.3}{replay:>12.3}   rows in full: {full}",
        format!("{route:?}")
    );
}

/// Best of several runs, in milliseconds.
fn best<T>(mut run: impl FnMut() -> T) -> f64 {
    let mut best = f64::INFINITY;
    let begin = Instant::now();
    for round in 0..50 {
        let start = Instant::now();
        black_box(run());
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
        if round >= 2 && begin.elapsed().as_secs_f64() > 0.5 {
            break;
        }
    }
    best
}
