//! Checks between the stages: the two routes against each other, the polynomial against the
//! equation.

use crate::expression::Expr;

/// A coefficient and where it stands.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// Degree.
    pub order: usize,
    /// y⁽ⁿ⁾ at the centre.
    pub value: Expr,
    /// value / n!.
    pub coefficient: Expr,
    /// Do differentiation and series arithmetic agree? `None`: only one of them reached here.
    pub agreed: Option<bool>,
}

/// The polynomial put back into the equation.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Residual {
    /// Power of (x − centre) of the first term that remains; `None`: nothing remains as far as computed.
    pub power: Option<usize>,
    /// Its coefficient.
    pub coefficient: Option<Expr>,
    /// The lowest power it could have had: degree − equation order + 1.
    pub expected: usize,
    /// Powers up to this one were computed.
    pub computed: usize,
}
