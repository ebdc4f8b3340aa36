//! Builds the site and serves it.
fn main() {}
