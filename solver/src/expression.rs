//! Immutable expressions in normal form, the one list of elementary functions, closed constants.

pub mod atoms;
mod build;
pub mod constant;
mod deep;
pub mod enclosure;
mod expand;
mod factored;
pub mod function;
mod gaussian;
mod order;
mod parameters;
mod partial;
mod power;
mod pythagoras;
mod query;
mod radical;
mod root_of;
mod roots;
mod sign;
pub mod tree;
mod undefined;
mod zero_test;

#[cfg(test)]
mod tests;

pub use constant::{Evaluator, evaluate};
pub(crate) use enclosure::enclose_between;
pub use enclosure::{Enclosure, decimal, enclose, to_f64};
pub use factored::factored;
pub use function::{Domain, Function, Parity};
pub use root_of::RootOf;
pub use sign::sign;
pub use tree::{Expr, Node, Symbol};
pub use undefined::{Undefined, UndefinedReason};
pub use zero_test::{Truth, zero_test};
