//! Worksheet files in the page. A module of its own, so that nobody who only works a problem has to
//! fetch a Markdown parser.

pub mod markdown;
pub mod math;
#[cfg(target_arch = "wasm32")]
pub mod page;
pub mod reading;
