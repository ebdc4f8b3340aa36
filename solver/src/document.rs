//! What a person reads: blocks, ledger rows, one formula tree, writers.

pub mod beside;
mod branches;
pub mod build;
pub mod candidate;
pub mod closing;
pub mod compose;
mod detail;
pub mod far;
pub mod formula;
pub mod general;
pub mod latex;
pub mod ledger;
pub mod line;
pub mod long;
pub mod mathml;
pub mod names;
pub mod opening;
pub mod plain;
pub mod reasons;
pub mod rows;
pub mod remainder;
mod several;
mod steps;
mod stops;
pub mod strip;
pub mod typed;
pub mod whole;

#[cfg(test)]
mod tests;
