//! How large numbers may become before anything is computed.

use num_traits::{ToPrimitive, Zero};

use super::walk::{factors, unbracketed};
use crate::syntax::{Kind, Node};

/// Could the normal form of this tree hold numbers beyond the budget, as in `((2x)^200)^200`?
/// An upper bound of the bits of any coefficient: powers multiply, products add.
pub(super) fn coefficient_bits(node: &Node) -> u64 {
    match &node.kind {
        Kind::Number(value) if value.is_zero() => 1,
        Kind::Number(value) => value.numer().bits().saturating_add(value.denom().bits()),
        Kind::Name(_) | Kind::Derivative { .. } | Kind::Applied { .. } | Kind::Missing => 1,
        Kind::Call { argument, .. } => coefficient_bits(argument),
        Kind::Negated(inner) | Kind::Bracketed(inner) => coefficient_bits(inner),
        Kind::Sum(terms) => terms
            .iter()
            .map(|(_, t)| coefficient_bits(t))
            .fold(0, u64::saturating_add),
        Kind::Product(..) | Kind::Quotient(..) => factors(node)
            .into_iter()
            .map(|(_, f)| coefficient_bits(f))
            .fold(0, u64::saturating_add),
        Kind::Power(base, exponent) => {
            let mut exponent = unbracketed(exponent);
            while let Kind::Negated(inner) = &exponent.kind {
                exponent = unbracketed(inner);
            }
            let times = match &exponent.kind {
                Kind::Number(value) => value
                    .numer()
                    .magnitude()
                    .to_u64()
                    .unwrap_or(u64::MAX)
                    .max(1),
                _ => 1,
            };
            coefficient_bits(base)
                .saturating_mul(times)
                .max(coefficient_bits(exponent))
        }
    }
}
