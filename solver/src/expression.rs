//! Immutable expressions in normal form, the one list of elementary functions, closed constants.

pub mod function;
pub mod tree;

pub use function::Function;
pub use tree::{Expr, Node, Symbol};
