//! The elementary functions of one argument.

/// An elementary function. Everything about one stands in one place: spellings, derivative,
/// domain, special values, enclosure.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
#[allow(missing_docs, reason = "the names are the definitions")]
pub enum Function {
    Exp,
    Ln,
    Sin,
    Cos,
    Tan,
    Cot,
    Sec,
    Csc,
    Arcsin,
    Arccos,
    Arctan,
    Arccot,
    Sinh,
    Cosh,
    Tanh,
    Coth,
    Sech,
    Csch,
    Arsinh,
    Arcosh,
    Artanh,
    Abs,
    /// −1, 0 or 1; appears only as the derivative of `Abs`.
    Sign,
}
