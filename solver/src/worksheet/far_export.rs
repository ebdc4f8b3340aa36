//! How far the series converges, as JSON.

use super::Worksheet;
use super::json::json;
use crate::convergence::{
    Convergence, Distance, Kind, LimitValue, Place, Radius, Reason, rounded_down, rounded_up,
};
use crate::document::far::{BRACKET, complex};
use crate::document::names::Names;
use crate::document::plain;
use crate::document::remainder::{disc_text, kept_text};
use crate::number::{BigFloat, decimal};
use crate::remainder::{About, Remainder, Within, shown_end};

pub(super) struct RadiusOut {
    /// `infinite`, `exact`, `at_least`, `estimate` or `unknown`.
    kind: &'static str,
    /// Exact where it is exact; else a decimal (a bound is rounded to the safe side).
    value: Option<String>,
    reason: &'static str,
    /// Proved, where the radius itself is not known: it is at least this.
    lower_bound: Option<String>,
    /// Proved, where `value` is a lower bound and there is an upper one.
    upper_bound: Option<String>,
    /// About so much, from the growth of the coefficients.
    estimate: Option<String>,
    /// About where the nearest singularities of the solution are, where the evidence tells.
    estimated_singularities: Vec<String>,
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

/// What is known of the remainder of the polynomial, and of each partial sum.
pub(super) struct RemainderOut {
    /// `guaranteed`, or `estimate` where nothing could be proved.
    kind: &'static str,
    /// The part of the plotted interval in which the bounds of the error hold.
    interval: Vec<f64>,
    /// Those of derivatives hold up to this distance from the center.
    reach: Option<String>,
    bound: Option<String>,
    tolerance: String,
    within: Vec<String>,
    degree_needed: Option<NeededOut>,
    degrees: Vec<DegreeOut>,
}

struct DegreeOut {
    degree: usize,
    bound: Option<String>,
    derivative_bound: Option<String>,
    /// The largest difference in the interval is at least this.
    least: Option<String>,
    /// About the largest difference, where nothing is proved.
    largest: Option<String>,
    within: Vec<String>,
}

struct NeededOut {
    at: String,
    inside: bool,
    first: Option<usize>,
    all: Option<usize>,
    /// Beyond the disc in which something is proved of all degrees: those of the first ones that keep it.
    single: Option<Vec<usize>>,
}

/// The value of `remainder`, for one unknown.
pub(super) fn remainder_out(
    worksheet: &Worksheet,
    unknown: usize,
    names: &Names,
) -> Option<RemainderOut> {
    let proved = worksheet.remainders.get(unknown);
    let proved = proved.map(|own| proved_out(worksheet, own, names));
    proved.or_else(|| {
        let own = worksheet.abouts.get(unknown)?;
        Some(about_out(worksheet, own, names))
    })
}

fn proved_out(worksheet: &Worksheet, own: &Remainder, names: &Names) -> RemainderOut {
    let center = worksheet.reference.as_ref().map_or(0.0, |r| r.center);
    let up = |value: f64| Some(rounded_up(&BigFloat::from_f64(value).to_rational()?, 4));
    let within = |within: &Within| -> Vec<String> {
        let ends = [(&within.left, false), (&within.right, true)];
        let ends = ends.into_iter();
        ends.filter_map(|(side, right)| kept_text(own, side, right, center))
            .collect()
    };
    let degrees: Vec<DegreeOut> = own
        .degrees
        .iter()
        .enumerate()
        .map(|(degree, found)| DegreeOut {
            degree,
            bound: up(found.bound),
            derivative_bound: found.derivative.and_then(up),
            least: BigFloat::from_f64(found.least)
                .to_rational()
                .map(|least| rounded_down(&least, 4)),
            largest: None,
            within: within(&found.within),
        })
        .collect();
    let last = own.degrees.last();
    RemainderOut {
        kind: "guaranteed",
        interval: covered(own, center),
        reach: Some(decimal::significant_of(&own.reach, 6)),
        bound: last.and_then(|found| up(found.bound)),
        tolerance: tolerance_text(worksheet, names),
        within: last.map(|found| within(&found.within)).unwrap_or_default(),
        degree_needed: own.needed.as_ref().map(|needed| NeededOut {
            at: worksheet.request.at.first().cloned().unwrap_or_default(),
            inside: needed.inside,
            first: needed.first,
            all: needed.all,
            single: needed.single.clone().filter(|_| !needed.inside),
        }),
        degrees,
    }
}

fn tolerance_text(worksheet: &Worksheet, names: &Names) -> String {
    let tolerance = worksheet.tolerance.as_ref();
    tolerance
        .map(|t| plain::expression(t, names))
        .unwrap_or_default()
}

/// The same where nothing is proved.
fn about_out(worksheet: &Worksheet, own: &About, names: &Names) -> RemainderOut {
    let text = |value: f64| {
        Some(decimal::significant_of(
            &BigFloat::from_f64(value).to_rational()?,
            2,
        ))
    };
    let within = |(low, high): (f64, f64)| [low, high].into_iter().filter_map(text).collect();
    let degrees = own.degrees.iter().enumerate();
    let degrees: Vec<DegreeOut> = degrees
        .map(|(degree, found)| DegreeOut {
            degree,
            bound: None,
            derivative_bound: None,
            least: None,
            largest: text(found.largest),
            within: within(found.kept),
        })
        .collect();
    RemainderOut {
        kind: "estimate",
        interval: vec![own.interval.0, own.interval.1],
        reach: None,
        bound: None,
        tolerance: tolerance_text(worksheet, names),
        within: own
            .degrees
            .last()
            .map(|found| within(found.kept))
            .unwrap_or_default(),
        degree_needed: own.needed.as_ref().map(|kept| NeededOut {
            at: worksheet.request.at.first().cloned().unwrap_or_default(),
            inside: false,
            first: kept.first().copied(),
            all: None,
            single: Some(kept.clone()),
        }),
        degrees,
    }
}

fn covered(own: &Remainder, center: f64) -> Vec<f64> {
    let (low, high) = own.interval;
    let (left, right) = own.covered;
    let end = |distance, right| crate::number::to_f64(&shown_end(center, distance, right));
    let low = if own.whole.0 { low } else { end(left, false) };
    vec![low, if own.whole.1 { high } else { end(right, true) }]
}

json! {
    RadiusOut { kind, value, reason, lower_bound, upper_bound, estimate, estimated_singularities, singular_points, more }
    RemainderOut { kind, interval, reach, bound, tolerance, within, degree_needed, degrees }
    DegreeOut { degree, bound, derivative_bound, least, largest, within }
    NeededOut { at, inside, first, all, single }
    SingularPointOut { location, kind, limits, distance }
}

/// Significant digits of decimals.
const DIGITS: u32 = 10;

/// The value of `radius`.
pub(super) fn radius_out(worksheet: &Worksheet, found: &Convergence, names: &Names) -> RadiusOut {
    let lower = worksheet.remainders.first().and_then(disc_text);
    let estimate = worksheet.nearest.as_ref().and_then(|nearest| {
        let about = BigFloat::from_f64(nearest.radius).to_rational()?;
        Some(decimal::significant_of(&about, nearest.digits()))
    });
    let shown = |distance: &Distance| match &distance.exact {
        Some(exact) => plain::expression(exact, names),
        None => rounded_down(&distance.low, DIGITS),
    };
    let (kind, value) = match &found.radius {
        Radius::Infinite => ("infinite", None),
        Radius::Exact(distance) if distance.exact.is_some() => ("exact", Some(shown(distance))),
        Radius::Exact(distance) => ("at_least", Some(rounded_down(&distance.low, BRACKET))),
        Radius::AtLeast(distance) => ("at_least", Some(shown(distance))),
        Radius::Unknown => match (&estimate, &lower) {
            (Some(about), _) => ("estimate", Some(about.clone())),
            (None, Some(lower)) => ("at_least", Some(lower.clone())),
            (None, None) => ("unknown", None),
        },
    };
    RadiusOut {
        kind,
        value,
        reason: match found.reason {
            Reason::NoSingularPoint if found.center.is_some() => "no other singular point",
            Reason::NoSingularPoint if has_apparent(found) => "only apparent singularities",
            Reason::NoSingularPoint => "no singular point",
            Reason::Polynomial => "the solution is a polynomial",
            Reason::EntireFormula => "a proved formula is entire",
            Reason::Formula => "nearest singularity of a proved formula",
            Reason::Nearest => "nearest singular point",
            Reason::TwoTerm { .. } | Reason::RatioToZero => "two-term recurrence",
            Reason::Separated(_) => "separated variables",
            Reason::Pole(_) => "bracketed pole",
            Reason::Formal => "the series diverges",
            Reason::NoTheorem if estimate.is_some() => "growth of the coefficients",
            Reason::NoTheorem if lower.is_some() => "a disc with a proof",
            Reason::NoTheorem => "no theorem found",
        },
        lower_bound: lower.filter(|_| found.radius == Radius::Unknown),
        upper_bound: match &found.radius {
            Radius::Exact(distance) if distance.exact.is_none() => {
                Some(rounded_up(&distance.high, BRACKET))
            }
            _ => None,
        },
        estimate,
        estimated_singularities: estimated(worksheet),
        singular_points: found
            .points
            .iter()
            .map(|point| SingularPointOut {
                location: location(&point.place, names),
                kind: match point.kind {
                    Kind::Removable => "ordinary",
                    Kind::Regular => "regular singular",
                    Kind::Irregular => "irregular singular",
                    Kind::Apparent => "apparent singularity",
                    Kind::Forcing => "right side singular",
                    Kind::Branch => "branch point of a coefficient",
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

/// `1.23 + 4.56 i`
fn estimated(worksheet: &Worksheet) -> Vec<String> {
    let (Some(nearest), Some(reference)) = (&worksheet.nearest, &worksheet.reference) else {
        return Vec::new();
    };
    let digits = nearest.digits();
    let small = libm::pow(10.0, -f64::from(digits)) * nearest.radius;
    let text = |x: f64| {
        let x = if libm::fabs(x) < small { 0.0 } else { x };
        let exact = BigFloat::from_f64(x).to_rational()?;
        Some(decimal::significant_of(&exact, digits))
    };
    let places = nearest.places(reference.center).into_iter();
    places
        .filter_map(|(re, im)| Some(complex_text(&text(re)?, &text(im)?)))
        .collect()
}

fn has_apparent(found: &Convergence) -> bool {
    found.points.iter().any(|p| p.kind == Kind::Apparent)
}

fn location(place: &Place, names: &Names) -> String {
    match place {
        Place::Exact { re, im } => plain::expression(&complex(re, im), names),
        Place::Disc { re, im, .. } => real_or_complex_text(
            &decimal::significant_of(re, DIGITS),
            &decimal::significant_of(im, DIGITS),
        ),
    }
}

fn complex_text(re: &str, im: &str) -> String {
    format!("about {re} + {im} i").replace("+ -", "- ")
}

/// The same where the place is proved to be real.
fn real_or_complex_text(re: &str, im: &str) -> String {
    if im == "0" {
        format!("about {re}")
    } else {
        complex_text(re, im)
    }
}

fn rounded(re: f64, im: f64) -> Option<String> {
    let text = |x: f64| {
        Some(decimal::significant_of(
            &BigFloat::from_f64(x).to_rational()?,
            6,
        ))
    };
    Some(real_or_complex_text(&text(re)?, &text(im)?))
}
