//! Why a closed constant has no value.

use super::tree::Expr;

/// What is wrong. The last three are not about mathematics but about us.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum UndefinedReason {
    /// The divisor is 0 (also: 0 to a negative power).
    DivisionByZero,
    /// 0⁰.
    ZeroToTheZero,
    /// The logarithm of a number that is not positive.
    LogOfNonPositive,
    /// An even root of a negative number.
    RootOfNegative,
    /// A power with an irrational exponent of a number that is not positive.
    PowerOfNonPositive,
    /// arcsin, arccos, artanh of a number that is not between −1 and 1.
    OutsideUnitInterval,
    /// arcosh of a number below 1.
    BelowOne,
    /// tan, cot, sec, csc, coth, csch at a pole.
    Pole,
    /// The derivative of |u| at u = 0.
    KinkOfAbs,
    /// Not a closed constant: a variable or an unknown occurs, or a parameter where a value is needed.
    NotConstant,
    /// Could not be told from such a case.
    CannotDecide,
    /// Beyond what is computed here.
    TooLarge,
}

/// A part of an expression that has no value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Undefined {
    /// What is wrong.
    pub reason: UndefinedReason,
    /// The divisor, the radicand, the argument, … that it is wrong with.
    pub expression: Expr,
}

impl Undefined {
    pub(super) fn new(reason: UndefinedReason, expression: Expr) -> Self {
        Self { reason, expression }
    }
}
