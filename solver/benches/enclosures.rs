//! Enclosed solutions at 400 places: prints one JSON line per problem with the shortest time in
//! milliseconds of several runs. `tests/bench/enclosures.py` runs it beside other programs and
//! beside the same code in WebAssembly. `cargo bench -p solver --bench enclosures [-- DIGITS]`.

use std::hint::black_box;
use std::time::Instant;

#[path = "enclosures/cases.rs"]
mod cases;

/// Runs of each problem.
const RUNS: usize = 5;

fn main() {
    let mut numbers = std::env::args().filter_map(|argument| argument.parse().ok());
    let digits = numbers.next_back().unwrap_or(15);
    for (index, (equation, ..)) in cases::CASES.iter().enumerate() {
        let Some(problem) = cases::problem(index) else {
            println!("{{\"case\":\"{equation}\",\"error\":\"not understood\"}}");
            continue;
        };
        let mut shortest = f64::INFINITY;
        let mut found = (0, 0.0);
        for _ in 0..RUNS {
            let start = Instant::now();
            found = black_box(cases::solve(black_box(&problem), index, digits));
            shortest = shortest.min(start.elapsed().as_secs_f64() * 1e3);
        }
        println!(
            "{{\"case\":\"{equation}\",\"ms\":{shortest:.3},\"enclosed\":{},\"digits\":{:.1}}}",
            found.0, found.1
        );
    }
}
