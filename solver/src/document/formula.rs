//! One tree for everything typeset; writers turn it into MathML, LaTeX, Markdown and plain text.

/// A piece of typeset mathematics. Brackets, signs and spacing are decided when the tree is
/// built, not by the writers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Formula {
    /// Digits, e.g. `24` or `0.25`.
    Number(String),
    /// A variable, unknown or parameter, by its typed name (`theta`, `y_1`).
    Identifier(String),
    /// π, e: upright constants are a writer's choice.
    Constant(&'static str),
    /// The name of a function, upright: `sin`.
    FunctionName(&'static str),
    /// A binary operator with space around: + − = ·.
    Operator(char),
    /// A sign in front, without space.
    Sign(char),
    /// Things side by side.
    Row(Vec<Formula>),
    /// Numerator and denominator.
    Fraction(Box<Formula>, Box<Formula>),
    /// Base and exponent.
    Power(Box<Formula>, Box<Formula>),
    /// Base and index.
    Index(Box<Formula>, Box<Formula>),
    /// √, or the n-th root.
    Root(Box<Formula>, Option<u32>),
    /// Round brackets.
    Brackets(Box<Formula>),
    /// |…|.
    Bars(Box<Formula>),
    /// The `order`-th derivative of a name by primes: y, y′, y″, y‴, y⁽⁴⁾.
    Derivative(String, u32),
    /// Words inside mathematics.
    Text(String),
}
