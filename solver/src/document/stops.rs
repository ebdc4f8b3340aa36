//! Why the work stops at a row.

use super::build;
use super::formula::Formula;
use super::ledger::Prose;
use super::names::Names;
use crate::derivation::StopReason;
use crate::expression::UndefinedReason;

/// Why a row has no value, or none that we can find.
pub(super) fn why_stopped(head: Formula, reason: &StopReason, names: &Names) -> Prose {
    match reason {
        StopReason::Undefined { term, because }
            if because.reason == UndefinedReason::CannotDecide =>
        {
            Prose::words("Here the work stops: whether ")
                .math(build::formula(term, names))
                .text(" has a value at the initial data cannot be decided (")
                .math(build::formula(&because.expression, names))
                .text(").")
        }
        StopReason::Undefined { term, because } => Prose::words("Here the work stops: ")
            .math(build::formula(term, names))
            .text(" has no value at the initial data: ")
            .text(undefined_words(because.reason))
            .text(" (")
            .math(build::formula(&because.expression, names))
            .text(")."),
        StopReason::LeadingZero => Prose::words("Here the work stops: what multiplies ")
            .math(head)
            .text(" is zero, so the equation does not determine it."),
        StopReason::LeadingUndecided(factor) => {
            Prose::words("Here the work stops: what multiplies ")
                .math(head)
                .text(" is ")
                .math(build::formula(factor, names))
                .text(", and whether that is zero cannot be decided.")
        }
        StopReason::NotLinear(term) => Prose::words("Here the work stops: in ")
            .math(build::formula(term, names))
            .text(" the new derivative does not stand as a plain factor."),
        // Written by `steps::demand`.
        StopReason::Demand(_) => Prose::default(),
    }
}

/// What is wrong, in words that go before the part it is wrong with.
fn undefined_words(reason: UndefinedReason) -> &'static str {
    match reason {
        UndefinedReason::DivisionByZero => "a divisor is zero",
        UndefinedReason::ZeroToTheZero => "zero to the power zero",
        UndefinedReason::LogOfNonPositive => "the logarithm of a number that is not positive",
        UndefinedReason::RootOfNegative => "an even root of a negative number",
        UndefinedReason::PowerOfNonPositive => "a power of a number that is not positive",
        UndefinedReason::OutsideUnitInterval => "an argument that is not between −1 and 1",
        UndefinedReason::BelowOne => "an argument below 1",
        UndefinedReason::Pole => "a pole",
        UndefinedReason::KinkOfAbs => "the kink of an absolute value",
        UndefinedReason::NotConstant => "a letter without a value",
        UndefinedReason::CannotDecide => "whether it is defined cannot be decided",
        UndefinedReason::TooLarge => "beyond what is computed here",
    }
}
