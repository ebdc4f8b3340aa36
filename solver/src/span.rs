//! Places in what the user typed.

/// A half-open range of byte offsets into one [`Field`]'s text; always on character boundaries.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct Span {
    /// First byte.
    pub start: usize,
    /// One past the last byte.
    pub end: usize,
}

impl Span {
    /// The range `start..end`.
    pub fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The smallest span that covers both.
    #[must_use]
    pub fn to(self, other: Self) -> Self {
        Self {
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }
}

/// Which of the labelled fields a span points into.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Field {
    /// The differential equation.
    Equation,
    /// The initial conditions.
    Conditions,
    /// The degree, or how many non-zero terms.
    Degree,
    /// The plotted interval.
    Interval,
    /// A point at which a value is asked.
    At,
    /// What is set beside the problem: other initial values, another center.
    Beside,
    /// Numbers for the letters.
    Parameters,
    /// A formula to test.
    Candidate,
    /// How large the remainder may be.
    Tolerance,
}
