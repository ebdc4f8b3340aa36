//! Immutable expressions in normal form, the one list of elementary functions, closed constants.

mod build;
pub mod expand;
pub mod function;
mod order;
mod power;
mod query;
mod radical;
pub mod tree;

#[cfg(test)]
mod tests;

pub use function::Function;
pub use tree::{Expr, Node, Symbol};
