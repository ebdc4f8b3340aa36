//! The worksheet's page: what the solver found, as HTML and pictures, and the page's behaviour.
//!
//! Everything but `page`, `worker` and `links` is plain Rust that runs (and is tested) natively; those
//! exist for the browser only, and only move values in and out of it.

pub mod address;
pub mod answer;
pub mod appearance;
pub mod block;
pub mod draw;
pub mod examples;
pub mod file;
pub mod far;
pub mod figure;
pub mod first_paint;
pub mod handout;
pub mod html;
pub mod inputs;
pub mod ledger;
#[cfg(all(target_arch = "wasm32", feature = "page"))]
pub mod links;
pub mod markup;
pub mod numerals;
#[cfg(all(target_arch = "wasm32", feature = "page"))]
pub mod page;
pub mod patch;
pub mod present;
pub mod prose;
pub mod protocol;
pub mod share;
pub mod sheet;
pub mod state;
pub mod view;
pub mod wire;
#[cfg(all(target_arch = "wasm32", feature = "page"))]
pub mod worker;
