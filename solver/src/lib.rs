//! Taylor polynomials of initial value problems, every line with its reason.
//!
//! A pure function: problem text and settings in, a [`worksheet::Worksheet`] out. Every stage is a
//! value; a later stage may read an earlier one, never the reverse. No I/O, clock, randomness,
//! threads or global state, and no platform-dependent `f64` function, so the same input gives the
//! same bytes natively and in every browser.
//!
//! Modules in reading order; a module uses only those above it.
#![forbid(unsafe_code)]

pub mod sorting;
pub mod ordered;
pub mod span;
pub mod diagnostic;
pub mod budget;
pub mod number;
pub mod syntax;
pub mod expression;
pub mod problem;
pub mod derivation;
pub mod series;
pub mod enclosed;
pub mod check;
pub mod candidate;
pub mod reference;
pub mod convergence;
pub mod remainder;
pub mod document;
pub mod plot;
pub mod worksheet;
