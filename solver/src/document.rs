//! What a person reads: blocks, ledger rows, one formula tree, writers.

pub mod build;
pub mod formula;
pub mod latex;
pub mod ledger;
pub mod mathml;
pub mod names;
pub mod plain;
pub mod typed;
