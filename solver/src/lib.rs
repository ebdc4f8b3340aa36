//! Taylor polynomials of initial value problems, every line with its reason.
//!
//! A pure function: problem text and settings in, a [`worksheet::Worksheet`] out. Every stage is a
//! value; a later stage may read an earlier one, never the reverse. No I/O, clock, randomness,
//! threads or global state, and no platform-dependent `f64` function, so the same input gives the
//! same bytes natively and in every browser.
//!
//! Modules in reading order; a module uses only those above it.
#![forbid(unsafe_code)]

pub mod budget;
pub mod derivation;
pub mod diagnostic;
pub mod document;
pub mod expression;
pub mod number;
pub mod plot;
pub mod problem;
pub mod reference;
pub mod series;
pub mod span;
pub mod syntax;
pub mod worksheet;
