//! The benchmark's problems as functions of a WebAssembly module, timed from outside by
//! `tests/bench/series_wasm.mjs` (there is no clock inside).
#![allow(unsafe_code, reason = "exported names; there is no unsafe block")]

mod cases;

/// Bytes of a problem's name, for the caller to see that both sides have the same list.
#[unsafe(no_mangle)]
pub extern "C" fn name_length(index: usize) -> usize {
    cases::cases().get(index).map_or(0, |case| case.name.len())
}

/// How many problems there are.
#[unsafe(no_mangle)]
pub extern "C" fn case_count() -> usize {
    cases::cases().len()
}

/// Solves one problem. The sum of the 32-bit digits of the last coefficient's numerator, by which
/// the caller sees that the result is the same as elsewhere; 0 when there is none.
#[unsafe(no_mangle)]
pub extern "C" fn solve(index: usize, degree: usize) -> u32 {
    let cases = cases::cases();
    let found = cases
        .get(index)
        .and_then(|case| cases::solve(case, degree).ok().flatten());
    found
        .and_then(|found| {
            found
                .last()
                .map(|last| last.numer().iter_u32_digits().fold(0, u32::wrapping_add))
        })
        .unwrap_or(0)
}
