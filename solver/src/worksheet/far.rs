//! How far the series converges, as JSON.

use super::json::json;
use crate::convergence::{
    Convergence, Distance, Kind, LimitValue, Place, Radius, Reason, rounded_down,
};
use crate::document::far::complex;
use crate::document::names::Names;
use crate::document::plain;
use crate::number::{BigFloat, decimal};

pub(super) struct RadiusOut {
    /// `infinite`, `exact`, `at_least`, `estimate` or `unknown`.
    kind: &'static str,
    /// Exact where it is exact; else a decimal (a bound is rounded to the safe side).
    value: Option<String>,
    reason: &'static str,
    singular_points: Vec<SingularPointOut>,
    /// Are there more, farther away?
    more: bool,
}

struct SingularPointOut {
    location: String,
    kind: &'static str,
    /// The limits of `(x - x0)^k p_k`, k = 1, 2, …; `null` where there is none.
    limits: Vec<Option<String>>,
    distance: String,
}

json! {
    RadiusOut { kind, value, reason, singular_points, more }
    SingularPointOut { location, kind, limits, distance }
}

/// Significant digits of decimals.
const DIGITS: u32 = 10;

/// The value of `radius`.
pub(super) fn radius_out(found: &Convergence, names: &Names) -> RadiusOut {
    let shown = |distance: &Distance| match &distance.exact {
        Some(exact) => plain::expression(exact, names),
        None => rounded_down(&distance.low, DIGITS),
    };
    let (kind, value) = match &found.radius {
        Radius::Infinite => ("infinite", None),
        Radius::Exact(distance) => ("exact", Some(shown(distance))),
        Radius::AtLeast(distance) => ("at_least", Some(shown(distance))),
        Radius::Unknown => ("unknown", None),
    };
    RadiusOut {
        kind,
        value,
        reason: match found.reason {
            Reason::NoSingularPoint => "no singular point",
            Reason::Polynomial => "the solution is a polynomial",
            Reason::EntireFormula => "a proved formula is entire",
            Reason::Formula => "nearest singularity of a proved formula",
            Reason::Nearest => "nearest singular point",
            Reason::TwoTerm { .. } | Reason::RatioToZero => "two-term recurrence",
            Reason::Separated(_) => "separated variables",
            Reason::Formal => "the series diverges",
            Reason::NoTheorem => "no theorem found",
        },
        singular_points: found
            .points
            .iter()
            .map(|point| SingularPointOut {
                location: location(&point.place, names),
                kind: match point.kind {
                    Kind::Removable => "ordinary",
                    Kind::Regular => "regular singular",
                    Kind::Irregular => "irregular singular",
                    Kind::Forcing => "right side singular",
                    Kind::Singular => "singular",
                },
                limits: point
                    .limits
                    .iter()
                    .map(|limit| match &limit.value {
                        LimitValue::Exact(re, im) => {
                            Some(plain::expression(&complex(re, im), names))
                        }
                        LimitValue::About(re, im) => rounded(*re, *im),
                        LimitValue::None => None,
                    })
                    .collect(),
                distance: shown(&point.distance),
            })
            .collect(),
        more: found.more,
    }
}

fn location(place: &Place, names: &Names) -> String {
    match place {
        Place::Exact { re, im } => plain::expression(&complex(re, im), names),
        Place::Disc { re, im, .. } => {
            let (re, im) = (
                decimal::significant_of(re, DIGITS),
                decimal::significant_of(im, DIGITS),
            );
            format!("about {re} + {im} i").replace("+ -", "- ")
        }
    }
}

fn rounded(re: f64, im: f64) -> Option<String> {
    let text = |x: f64| {
        Some(decimal::significant_of(
            &BigFloat::from_f64(x).to_rational()?,
            6,
        ))
    };
    Some(format!("about {} + {} i", text(re)?, text(im)?).replace("+ -", "- "))
}
