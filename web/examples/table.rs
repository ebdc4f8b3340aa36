//! How long the derivative table with its reasons takes for each example of the page: prints one
//! JSON line each, with the solved form and the values, so that another program can do the same
//! work. `tests/bench/sympy_table.py` runs it. Argument: the highest order (8).

use std::fmt::Write;
use std::hint::black_box;
use std::time::{Duration, Instant};

use solver::budget::Budget;
use solver::derivation::{Derivation, derive};
use solver::document::{names::Names, plain};
use solver::problem::{Problem, Route, understand};
use web::examples::EXAMPLES;

/// Every table is worked out again and again for so long; the shortest time counts.
const LONG_ENOUGH: Duration = Duration::from_millis(60);

fn main() {
    let order = std::env::args()
        .nth(1)
        .and_then(|text| text.parse().ok())
        .unwrap_or(8);
    for example in EXAMPLES {
        let (problem, diagnostics) = understand(
            example.equation,
            example.conditions,
            example.degree,
            &Budget::PAGE,
        );
        match problem {
            // What it is compared with differentiates one equation.
            Some(problem) if problem.unknowns.len() > 1 => {}
            Some(problem) => println!("{}", line(example.title, &problem, order)),
            None => println!(
                "{{\"case\":\"{}\",\"error\":{:?}}}",
                example.title,
                diagnostics.len()
            ),
        }
    }
}

/// One example as JSON: nothing in it needs an escape.
fn line(title: &str, problem: &Problem, order: usize) -> String {
    let names = Names::of(problem);
    let route = problem
        .equations
        .first()
        .map_or(Route::Solved, |equation| equation.default_route);
    let mut best = f64::INFINITY;
    let mut made = table(problem, route, order);
    let begin = Instant::now();
    while begin.elapsed() < LONG_ENOUGH {
        let start = Instant::now();
        made = black_box(table(black_box(problem), route, order));
        best = best.min(start.elapsed().as_secs_f64() * 1e3);
    }
    let list = |texts: Vec<String>| {
        texts.iter().fold(String::new(), |mut list, text| {
            let separator = if list.is_empty() { "" } else { "," };
            // Writing into a string cannot fail.
            let _ = write!(list, "{separator}\"{text}\"");
            list
        })
    };
    let solved = problem.equations.first().map(|equation| &equation.solved);
    let solved = solved.into_iter().flatten();
    let text = |value: &solver::expression::Expr| plain::expression(value, &names);
    format!(
        "{{\"case\":\"{title}\",\"ms\":{best:.5},\"route\":\"{route:?}\",\"independent\":\"{}\",\"unknown\":\"{}\",\"center\":\"{}\",\"solved\":[{}],\"initial\":[{}],\"values\":[{}]}}",
        problem.independent,
        problem.unknowns.first().map_or("", |unknown| &unknown.name),
        text(&problem.center),
        list(solved.map(text).collect()),
        list(problem.initial.iter().flatten().map(text).collect()),
        list(
            made.rows
                .iter()
                .flat_map(|row| &row.value)
                .map(text)
                .collect()
        ),
    )
}

fn table(problem: &Problem, route: Route, order: usize) -> Derivation {
    derive(problem, route, order, &Budget::PAGE)
}
