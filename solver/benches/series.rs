//! Exact Taylor coefficients of high degree: prints one JSON line per problem with the shortest
//! time in milliseconds of several runs. `tests/bench/series_flint.py` runs it beside a reference
//! library and beside the same code in WebAssembly.
//! `cargo bench -p solver --bench series [-- DEGREE]`.

use std::hint::black_box;
use std::time::Instant;

#[path = "series/cases.rs"]
mod cases;

/// Runs of each problem.
const RUNS: usize = 7;

fn main() {
    let mut numbers = std::env::args().filter_map(|argument| argument.parse().ok());
    let degree = numbers.next_back().unwrap_or(1000);
    for case in cases::cases() {
        let mut times = Vec::new();
        let mut last = Ok(None);
        for _ in 0..RUNS {
            let start = Instant::now();
            last = black_box(cases::solve(black_box(&case), degree));
            times.push(start.elapsed().as_secs_f64() * 1e3);
        }
        let shortest = times.into_iter().fold(f64::INFINITY, f64::min);
        // The last coefficient lets the caller see that everyone computed the same.
        match last
            .as_ref()
            .map(|found| found.as_ref().and_then(|found| found.last()))
        {
            Ok(Some(last)) => println!(
                "{{\"case\":\"{}\",\"degree\":{degree},\"ms\":{shortest:.3},\"last\":\"{last}\"}}",
                case.name
            ),
            other => println!("{{\"case\":\"{}\",\"error\":\"{other:?}\"}}", case.name),
        }
    }
}
