//! Is a closed constant zero?

use std::cmp::Ordering;

use super::constant::evaluate;
use super::deep;
use super::enclosure::sign_by_enclosure;
use super::parameters::at_sample;
use super::tree::Expr;

/// The answer to a question that cannot always be decided.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Truth {
    /// Zero, by an identity.
    Zero,
    /// Not zero, by an enclosure or as a number.
    NotZero,
    /// Neither could be shown.
    Undecided,
}

/// Precisions tried before and after looking for an identity, in bits.
const QUICK_BITS: usize = 64;
const MAX_BITS: usize = 2048;

/// So many sets of numbers are tried for the parameters.
const SAMPLES: u32 = 4;

/// Is the closed constant zero? "Zero" only ever comes from an identity, "not zero" from a number
/// or an enclosure. A constant without a value is undecided. With parameters in it the question is
/// whether it is zero *whatever they are*; "not zero" then comes from one set of numbers for which
/// it is not.
pub fn zero_test(expression: &Expr) -> Truth {
    match evaluate(expression) {
        Ok(value) => zero_test_evaluated(&value),
        Err(_) => Truth::Undecided,
    }
}

/// [`zero_test`] of a value that [`evaluate`] gave.
pub(super) fn zero_test_evaluated(value: &Expr) -> Truth {
    if value.as_number().is_some() {
        return if value.is_zero() {
            Truth::Zero
        } else {
            Truth::NotZero
        };
    }
    if value.has_parameter() {
        let differs = |bits| {
            (0..SAMPLES).any(|sample| {
                at_sample(value, sample).is_some_and(|number| {
                    matches!(
                        sign_by_enclosure(&number, bits),
                        Some(Ordering::Less | Ordering::Greater)
                    )
                })
            })
        };
        return if differs(QUICK_BITS) {
            Truth::NotZero
        } else if deep::is_identically_zero(value) {
            Truth::Zero
        } else if differs(MAX_BITS) {
            Truth::NotZero
        } else {
            Truth::Undecided
        };
    }
    let not_zero = |bits| {
        matches!(
            sign_by_enclosure(value, bits),
            Some(Ordering::Less | Ordering::Greater)
        )
    };
    if not_zero(QUICK_BITS) {
        Truth::NotZero
    } else if deep::is_identically_zero(value) {
        Truth::Zero
    } else if not_zero(MAX_BITS) {
        Truth::NotZero
    } else {
        Truth::Undecided
    }
}
