//! What a person reads: blocks, ledger rows, one formula tree, writers.

pub mod formula;
pub mod ledger;
