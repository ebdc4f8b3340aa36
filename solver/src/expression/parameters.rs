//! Numbers in place of parameters.

use super::tree::{Expr, Symbol};
use crate::number::rational::ratio;

impl Expr {
    /// The names of the parameters that occur, sorted.
    pub fn parameters(&self) -> Vec<String> {
        if !self.has_parameter() {
            return Vec::new();
        }
        self.symbols()
            .into_iter()
            .filter_map(|symbol| match symbol {
                Symbol::Parameter(name) => Some(name.to_string()),
                Symbol::Variable | Symbol::Derivative { .. } | Symbol::Pi | Symbol::Root(_) => None,
            })
            .collect()
    }

    /// The expression with values in place of parameters, in normal form; letters without a value
    /// stay.
    #[must_use]
    pub fn with_numbers(&self, numbers: &[(String, Self)]) -> Self {
        if !self.has_parameter() {
            return self.clone();
        }
        self.substitute(&|symbol| match symbol {
            Symbol::Parameter(name) => numbers
                .iter()
                .find(|(own, _)| **own == **name)
                .map(|(_, value)| value.clone()),
            Symbol::Variable | Symbol::Derivative { .. } | Symbol::Pi | Symbol::Root(_) => None,
        })
    }
}

/// The value at one of several sets of numbers for the parameters: fractions between 0 and 1 in
/// even sets and above 1 in odd ones, so that most functions have values at some of them.
pub(super) fn at_sample(value: &Expr, sample: u32) -> Option<Expr> {
    let numbers: Vec<(String, Expr)> = value
        .parameters()
        .into_iter()
        .zip(0_i64..)
        .map(|(name, place)| {
            let step = 2 * place + i64::from(sample);
            let number = if sample.is_multiple_of(2) {
                ratio(5 + 3 * step, 17 + 7 * step)
            } else {
                ratio(29 + 11 * step, 13 + step)
            };
            (name, Expr::number(number))
        })
        .collect();
    (!numbers.is_empty()).then(|| value.with_numbers(&numbers))
}
