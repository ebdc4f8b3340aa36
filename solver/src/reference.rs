//! A high-accuracy numerical solution by adaptive Taylor steps, run twice with other step, order
//! and precision; only digits on which both runs agree are kept. An **estimate**, and called so.

use crate::number::Rational;

/// A decimal number whose shown digits agree between two runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Estimate {
    /// Decimal digits, e.g. `-0.35502805388781724` or `1.25e-9`; only digits both runs share.
    pub text: String,
    /// The nearest double.
    pub value: f64,
    /// How many significant digits are shown.
    pub digits: u32,
}

/// The solution at one place.
#[derive(Clone, Debug, PartialEq)]
pub struct Point {
    /// Where, as a double (for drawing).
    pub x: f64,
    /// Where, exact text for the table.
    pub x_text: String,
    /// The solution's value there.
    pub value: Estimate,
}

/// Why the solution was not followed to an end of the interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Stop {
    /// To the right (true) or to the left of the centre.
    pub right: bool,
    /// About where.
    pub x: f64,
    /// Why.
    pub reason: StopReason,
}

/// Why it stopped. Estimates all.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StopReason {
    /// Steps shrink and values grow without bound: a pole or a blow-up.
    Pole,
    /// The right-hand side stops being analytic (a divisor or radicand reaches zero, …).
    DomainEnd,
    /// The two runs share too few digits.
    LostDigits,
    /// Out of budget.
    Budget,
}

/// The solution over an interval.
#[derive(Clone, Debug, PartialEq)]
pub struct Reference {
    /// Interval asked for.
    pub interval: (f64, f64),
    /// Points for drawing, ascending in x.
    pub points: Vec<Point>,
    /// Points asked for by name.
    pub asked: Vec<Point>,
    /// At most one per direction.
    pub stops: Vec<Stop>,
    /// About how far the nearest singularity is, from the growth of the coefficients at the centre
    /// (`None`: no sign of one). An estimate.
    pub radius_estimate: Option<f64>,
    /// What the two runs were, for the page's note.
    pub evidence: Evidence,
}

/// The two runs compared.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Evidence {
    /// Order of the Taylor steps.
    pub orders: (usize, usize),
    /// Bits of precision.
    pub bits: (usize, usize),
    /// Steps taken.
    pub steps: (usize, usize),
}

/// Asks for no more than this many significant digits.
pub const DIGITS: u32 = 18;

/// A point given exactly.
pub type Place = Rational;
