//! Small things that every piece of markup needs.

use solver::document::formula::Formula;
pub use solver::document::mathml::escape;

/// A formula as a `math` element of its own.
pub fn math(formula: &Formula) -> String {
    solver::document::mathml::write(formula)
}
