//! The elementary functions of one argument: one list, everything about one function in one place.

mod circular;
mod exponential;
mod hyperbolic;
mod inverse_circular;
mod inverse_hyperbolic;
mod modulus;
pub(super) mod special_angles;

use std::cmp::Ordering;

use super::build::starts_negative;
use super::constant::tidied;
use super::tree::{Expr, Node};

/// An elementary function. Everything about one stands in its [`Definition`].
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
    /// With values between 0 and π, so that it is analytic everywhere.
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

/// f(−u) compared with f(u).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Parity {
    /// f(−u) = f(u).
    Even,
    /// f(−u) = −f(u).
    Odd,
    /// Neither.
    Neither,
}

/// Where a function has a value, and where it is analytic.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Domain {
    /// Analytic for every real argument.
    Everywhere,
    /// u > 0.
    Positive,
    /// −1 ≤ u ≤ 1; analytic inside.
    UnitInterval,
    /// −1 < u < 1.
    InsideUnitInterval,
    /// u ≥ 1; analytic for u > 1.
    FromOne,
    /// cos u ≠ 0.
    CosineNotZero,
    /// sin u ≠ 0.
    SineNotZero,
    /// u ≠ 0 (a pole at 0).
    NotZero,
    /// Has a value everywhere; not differentiable at u = 0.
    Kink,
}

/// Everything about one function.
pub struct Definition {
    /// The name in plain text and in formulas; the spelling that the parser hands on.
    pub name: &'static str,
    /// Symmetry.
    pub parity: Parity,
    /// Where it has a value.
    pub domain: Domain,
    /// f′(u) as a function of u (the inner derivative is not multiplied in).
    pub derivative: fn(&Expr) -> Expr,
    /// Simplifications that hold for every argument and lose no domain: values at 0 and 1, inverse
    /// functions (tan arctan u = u, but not sin arcsin u, which has no value beyond 1).
    fold: fn(&Expr) -> Option<Expr>,
    /// Values at special constants (the argument lies in the domain). The result may still be
    /// multiplied out.
    special: fn(&Expr, SignOf<'_>) -> Option<Expr>,
}

/// How to ask for the sign of a constant (`None`: cannot be decided).
pub(super) type SignOf<'a> = &'a dyn Fn(&Expr) -> Option<Ordering>;

impl Function {
    /// All functions.
    pub const ALL: [Self; 23] = [
        Self::Exp,
        Self::Ln,
        Self::Sin,
        Self::Cos,
        Self::Tan,
        Self::Cot,
        Self::Sec,
        Self::Csc,
        Self::Arcsin,
        Self::Arccos,
        Self::Arctan,
        Self::Arccot,
        Self::Sinh,
        Self::Cosh,
        Self::Tanh,
        Self::Coth,
        Self::Sech,
        Self::Csch,
        Self::Arsinh,
        Self::Arcosh,
        Self::Artanh,
        Self::Abs,
        Self::Sign,
    ];

    /// What there is to know about it.
    pub fn definition(self) -> &'static Definition {
        match self {
            Self::Exp => &exponential::EXP,
            Self::Ln => &exponential::LN,
            Self::Sin => &circular::SIN,
            Self::Cos => &circular::COS,
            Self::Tan => &circular::TAN,
            Self::Cot => &circular::COT,
            Self::Sec => &circular::SEC,
            Self::Csc => &circular::CSC,
            Self::Arcsin => &inverse_circular::ARCSIN,
            Self::Arccos => &inverse_circular::ARCCOS,
            Self::Arctan => &inverse_circular::ARCTAN,
            Self::Arccot => &inverse_circular::ARCCOT,
            Self::Sinh => &hyperbolic::SINH,
            Self::Cosh => &hyperbolic::COSH,
            Self::Tanh => &hyperbolic::TANH,
            Self::Coth => &hyperbolic::COTH,
            Self::Sech => &hyperbolic::SECH,
            Self::Csch => &hyperbolic::CSCH,
            Self::Arsinh => &inverse_hyperbolic::ARSINH,
            Self::Arcosh => &inverse_hyperbolic::ARCOSH,
            Self::Artanh => &inverse_hyperbolic::ARTANH,
            Self::Abs => &modulus::ABS,
            Self::Sign => &modulus::SIGN,
        }
    }

    /// The name in plain text: `sin`, `arcsin`, `ln`, `exp`, `abs`, ….
    pub fn name(self) -> &'static str {
        self.definition().name
    }

    /// The function with this name (other spellings are the parser's concern; a square root is a
    /// power here, not a function).
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL
            .into_iter()
            .find(|function| function.name() == name)
    }

    /// f′(u), in normal form, without the inner derivative.
    pub fn derivative(self, argument: &Expr) -> Expr {
        (self.definition().derivative)(argument)
    }

    /// Symmetry.
    pub fn parity(self) -> Parity {
        self.definition().parity
    }

    /// Where it has a value.
    pub fn domain(self) -> Domain {
        self.definition().domain
    }

    /// f(argument) in normal form.
    pub(super) fn apply(self, argument: &Expr) -> Expr {
        let definition = self.definition();
        if definition.parity != Parity::Neither && is_negative_form(argument) {
            let positive = self.apply(&argument.neg());
            return match definition.parity {
                Parity::Odd => positive.neg(),
                Parity::Even | Parity::Neither => positive,
            };
        }
        (definition.fold)(argument).unwrap_or_else(|| Expr::raw_call(self, argument.clone()))
    }
}

impl Function {
    /// f(argument) for a constant in its domain, as simple as it gets.
    pub(super) fn value(self, argument: &Expr, sign: SignOf<'_>) -> Expr {
        let definition = self.definition();
        if let Some(value) = (definition.special)(argument, sign) {
            return value;
        }
        // A letter that stands for a negative number is written without a sign all the same.
        let negative = if argument.has_root() {
            is_negative_form(argument)
        } else {
            sign(argument) == Some(Ordering::Less)
        };
        if definition.parity != Parity::Neither && negative {
            let positive = (definition.fold)(&argument.neg())
                .unwrap_or_else(|| Expr::raw_call(self, argument.neg()));
            return if definition.parity == Parity::Odd {
                positive.neg()
            } else {
                positive
            };
        }
        (definition.fold)(argument).unwrap_or_else(|| Expr::raw_call(self, argument.clone()))
    }
}

/// Written with a minus sign in front, so that −u is written without.
fn is_negative_form(argument: &Expr) -> bool {
    match argument.node() {
        Node::Sum(terms) => terms.first().is_some_and(starts_negative),
        _ => starts_negative(argument),
    }
}

/// The argument of `function`, if `expression` is one of its values.
fn argument_of(expression: &Expr, function: Function) -> Option<&Expr> {
    match expression.node() {
        Node::Call(own, argument) if *own == function => Some(argument),
        _ => None,
    }
}

/// f(0) = `value`; nothing else.
fn at_zero(argument: &Expr, value: i64) -> Option<Expr> {
    argument.is_zero().then(|| Expr::int(value))
}

fn call(function: Function, argument: &Expr) -> Expr {
    function.apply(argument)
}

/// 1/value for a non-zero constant.
fn inverse(value: &Expr) -> Option<Expr> {
    super::constant::evaluate(&value.pow_int(-1)).ok()
}

/// √(a + b u²)
fn root(a: i64, b: i64, u: &Expr) -> Expr {
    let square = u.square().scale(&crate::number::rational::integer(b));
    tidied(&Expr::int(a).add(&square)).sqrt()
}

fn has_calls(value: &Expr) -> bool {
    matches!(value.node(), Node::Call(..)) || value.children().into_iter().any(has_calls)
}
