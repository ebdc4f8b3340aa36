//! Places in the complex plane, and how far they are from the center.

use std::cmp::Ordering;

use num_bigint::BigInt;
use num_traits::{Signed, Zero};

use crate::expression::{Expr, Truth, enclose, evaluate, sign, to_f64, zero_test};
use crate::number::rational::integer;
use crate::number::{Rational, decimal};

/// A place in the complex plane.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Place {
    /// re + im·i, closed constants.
    Exact {
        /// Real part.
        re: Expr,
        /// Imaginary part.
        im: Expr,
    },
    /// Somewhere in this disc, proved.
    Disc {
        /// Real part of its center.
        re: Rational,
        /// Imaginary part.
        im: Rational,
        /// Its radius.
        radius: Rational,
    },
}

/// A distance: surely between `low` and `high`, exactly `exact` where that is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Distance {
    /// Closed constant.
    pub exact: Option<Expr>,
    /// Lower bound.
    pub low: Rational,
    /// Upper bound.
    pub high: Rational,
}

/// Bits of an enclosure.
const BITS: usize = 128;

impl Place {
    /// A place on the real axis.
    pub fn real(value: Expr) -> Self {
        Self::Exact {
            re: value,
            im: Expr::zero(),
        }
    }

    /// re + im·i as simple as it gets; `None` where one has no value.
    pub(super) fn exact(re: &Expr, im: &Expr) -> Option<Self> {
        Some(Self::Exact {
            re: evaluate(re).ok()?,
            im: evaluate(im).ok()?,
        })
    }

    /// Nearest doubles, for drawing.
    pub fn approximate(&self) -> Option<(f64, f64)> {
        match self {
            Self::Exact { re, im } => Some((to_f64(re)?, to_f64(im)?)),
            Self::Disc { re, im, .. } => {
                Some((crate::number::to_f64(re), crate::number::to_f64(im)))
            }
        }
    }

    /// Surely on the real axis?
    pub fn is_real(&self) -> bool {
        match self {
            Self::Exact { im, .. } => im.is_zero(),
            // Its conjugate is in the disc, too, which holds one zero only.
            Self::Disc { im, .. } => im.is_zero(),
        }
    }

    /// The distance from a center on the real axis; `None` when it cannot be enclosed.
    pub(super) fn distance(&self, center: &Expr) -> Option<Distance> {
        match self {
            Self::Exact { re, im } => {
                let along = evaluate(&re.sub(center).expand(100)).ok()?;
                let exact = if im.is_zero() {
                    match sign(&along)? {
                        Ordering::Less => along.neg(),
                        Ordering::Equal | Ordering::Greater => along,
                    }
                } else {
                    let square = along.square().add(&im.square());
                    evaluate(&square.expand(100).sqrt()).ok()?
                };
                let (low, high) = bounds(&exact)?;
                Some(Distance {
                    exact: Some(exact),
                    low: low.max(Rational::zero()),
                    high,
                })
            }
            Self::Disc { re, im, radius } => {
                let (a, b) = bounds(center)?;
                let (near, far) = ((re - &a).abs(), (re - &b).abs());
                let least = if (re - &a).is_negative() == (re - &b).is_negative() {
                    near.clone().min(far.clone())
                } else {
                    Rational::zero()
                };
                let most = near.max(far);
                let low = root(&(&least * &least + im * im)).0 - radius;
                let high = root(&(&most * &most + im * im)).1 + radius;
                Some(Distance {
                    exact: None,
                    low: low.max(Rational::zero()),
                    high,
                })
            }
        }
    }

    /// Surely the same place.
    pub(super) fn same(&self, other: &Self) -> bool {
        match (self, other) {
            (Self::Exact { re, im }, Self::Exact { re: a, im: b }) => {
                let equal = |u: &Expr, v: &Expr| u == v || zero_test(&u.sub(v)) == Truth::Zero;
                equal(re, a) && equal(im, b)
            }
            _ => self == other,
        }
    }
}

impl Distance {
    /// Surely not more than the other one.
    pub(super) fn at_most(&self, other: &Self) -> bool {
        self.high <= other.low
            || match (&self.exact, &other.exact) {
                (Some(own), Some(other)) => {
                    own == other
                        || matches!(
                            sign(&other.sub(own)),
                            Some(Ordering::Greater | Ordering::Equal)
                        )
                }
                _ => false,
            }
    }
}

/// Fractions below and above a closed constant (the constant itself, if it is a fraction).
pub(super) fn bounds(value: &Expr) -> Option<(Rational, Rational)> {
    if let Some(number) = value.as_number() {
        return Some((number.clone(), number.clone()));
    }
    enclose(value, BITS).ok()?.to_rationals()
}

/// Fractions below and above the root of a fraction that is not negative.
pub(super) fn root(square: &Rational) -> (Rational, Rational) {
    // √(n/d) = √(n d 4ᵏ)/(d 2ᵏ)
    const SHIFT: usize = 80;
    let scaled: BigInt = (square.numer() * square.denom()) << (2 * SHIFT);
    let below = scaled.sqrt();
    let exact = &below * &below == scaled;
    let unit = Rational::from_integer(square.denom() << SHIFT);
    let above = if exact { below.clone() } else { &below + 1 };
    (
        Rational::from_integer(below) / &unit,
        Rational::from_integer(above) / &unit,
    )
}

/// A decimal with so many digits that is not above the positive value, and near it.
pub fn rounded_down(value: &Rational, digits: u32) -> String {
    directed(value, digits, false)
}

/// A decimal with so many digits that is not below the positive value, and near it.
pub fn rounded_up(value: &Rational, digits: u32) -> String {
    directed(value, digits, true)
}

fn directed(value: &Rational, digits: u32, up: bool) -> String {
    let nearest = decimal::significant_of(value, digits);
    let fine = |text: &str| {
        decimal::parse(text).is_some_and(|shown| if up { shown >= *value } else { shown <= *value })
    };
    if fine(&nearest) {
        return nearest;
    }
    // One unit in the last place shown.
    let (figures, exponent) = nearest.split_once('e').unwrap_or((&nearest, "0"));
    let (whole, part) = figures.split_once('.').unwrap_or((figures, ""));
    let count = |text: &str| i64::try_from(text.len()).unwrap_or(0);
    let padding = if part.is_empty() {
        count(whole.trim_start_matches('-')) - i64::from(digits)
    } else {
        0
    };
    let places = exponent.parse::<i64>().unwrap_or(0) - count(part) + padding.max(0);
    let unit = integer(10).pow(i32::try_from(places).unwrap_or(0));
    match decimal::parse(&nearest) {
        Some(shown) if up => decimal::significant_of(&(shown + unit), digits),
        Some(shown) => decimal::significant_of(&(shown - unit), digits),
        None => nearest,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::rational::ratio;

    #[test]
    fn decimals_are_rounded_to_the_side_that_is_asked_for() {
        let third = ratio(2, 3);
        assert_eq!(rounded_down(&third, 4), "0.6666");
        assert_eq!(rounded_up(&third, 4), "0.6667");
        assert_eq!(rounded_down(&ratio(1, 2), 4), "0.5000");
        assert_eq!(rounded_up(&ratio(1, 3), 3), "0.334");
        assert_eq!(rounded_up(&ratio(1, 3_000_000_000), 3), "3.34e-10");
        assert_eq!(rounded_down(&ratio(5_678_999, 1), 3), "5.67e6");
        assert_eq!(rounded_down(&ratio(999_999, 1_000_000), 3), "0.990");
    }

    #[test]
    fn roots_are_enclosed() {
        let (low, high) = root(&integer(2));
        assert!(&low * &low < integer(2) && &high * &high > integer(2));
        assert!((high - low) < ratio(1, 1 << 60));
        assert_eq!(root(&ratio(9, 4)), (ratio(3, 2), ratio(3, 2)));
    }
}
