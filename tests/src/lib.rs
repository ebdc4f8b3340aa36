//! Checks that cross crates live in this package; see `tests/`.
