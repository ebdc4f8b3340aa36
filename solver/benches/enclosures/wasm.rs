//! The benchmark's problems as functions of a WebAssembly module, timed from outside by
//! `tests/bench/enclosures_wasm.mjs` (there is no clock inside).
#![allow(unsafe_code, reason = "exported names; there is no unsafe block")]

mod cases;

/// How many problems there are.
#[unsafe(no_mangle)]
pub extern "C" fn case_count() -> usize {
    cases::CASES.len()
}

/// How many of 400 places were enclosed.
#[unsafe(no_mangle)]
pub extern "C" fn solve(index: usize, digits: u32) -> usize {
    cases::problem(index).map_or(0, |problem| cases::solve(&problem, index, digits).0)
}
