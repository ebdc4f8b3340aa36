//! One tree for everything typeset; writers turn it into `MathML`, `LaTeX`, Markdown and plain text.

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
    /// Between a function's name and its argument: nothing is seen, but assistive technology reads it.
    Application,
    /// A product written by putting the factors side by side; read aloud as "times".
    Juxtaposition,
    /// A binary operator with space around: + − = ⋅ ≈ ….
    Operator(char),
    /// A sign in front, without space.
    Sign(char),
    /// A comma and the like, with space behind only.
    Punctuation(char),
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
    /// The derivative of something by one prime: (x²)′.
    Primed(Box<Formula>),
    /// n!
    Factorial(Box<Formula>),
    /// Words inside mathematics.
    Text(String),
    /// An empty box where something is still to be typed.
    Placeholder,
}

/// The minus sign of typeset mathematics (U+2212).
pub const MINUS: char = '−';
/// The multiplication dot (U+22C5).
pub const DOT: char = '⋅';

impl Formula {
    /// Digits of a whole number.
    pub fn digits(value: impl std::fmt::Display) -> Self {
        Self::Number(format!("{value}"))
    }

    /// Things side by side; nested rows are flattened and a single thing stays itself.
    pub fn row(parts: impl IntoIterator<Item = Self>) -> Self {
        let mut flat = Vec::new();
        for part in parts {
            match part {
                Self::Row(inner) => flat.extend(inner),
                other => flat.push(other),
            }
        }
        match (flat.pop(), flat.is_empty()) {
            (Some(only), true) => only,
            (Some(last), false) => {
                flat.push(last);
                Self::Row(flat)
            }
            (None, _) => Self::Row(flat),
        }
    }

    /// `left = right`.
    pub fn equation(left: Self, right: Self) -> Self {
        Self::row([left, Self::Operator('='), right])
    }

    /// Round brackets around this.
    #[must_use]
    pub fn bracketed(self) -> Self {
        Self::Brackets(Box::new(self))
    }

    /// `numerator / denominator` as a built-up fraction.
    pub fn fraction(numerator: Self, denominator: Self) -> Self {
        Self::Fraction(Box::new(numerator), Box::new(denominator))
    }

    /// `base ^ exponent`.
    pub fn power(base: Self, exponent: Self) -> Self {
        Self::Power(Box::new(base), Box::new(exponent))
    }

    /// `n!`
    pub fn factorial(n: usize) -> Self {
        Self::Factorial(Box::new(Self::digits(n)))
    }

    /// `f(argument)`, the name directly followed by brackets.
    pub fn value_at(name: Self, argument: Self) -> Self {
        Self::row([name, Self::Application, argument.bracketed()])
    }

    /// Taller than one line of text: brackets around it must grow.
    pub fn is_tall(&self) -> bool {
        match self {
            Self::Fraction(..) => true,
            Self::Row(parts) => parts.iter().any(Self::is_tall),
            Self::Power(base, _) | Self::Index(base, _) => base.is_tall(),
            Self::Root(inner, _)
            | Self::Brackets(inner)
            | Self::Bars(inner)
            | Self::Primed(inner)
            | Self::Factorial(inner) => inner.is_tall(),
            _ => false,
        }
    }
}
