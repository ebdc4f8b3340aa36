//! The section "How far?": its rows and its picture of the complex plane.

use crate::appearance::Paper;
use crate::draw::plane;
use crate::html::escape;
use crate::ledger;
use crate::markup::Markup;
use crate::numerals::{significant, typeset};
use crate::protocol::{FarData, PlaneData};
use solver::convergence::{Kind, Radius, rounded_down};
use solver::document::names::Names;
use solver::document::plain;
use solver::number::{BigFloat, Rational, decimal, to_f64};
use solver::plot::Plot;
use solver::worksheet::Worksheet;

/// So many singular points are drawn.
const DRAWN: usize = 24;

/// The shape and the word of a kind in the picture.
fn kind_number(kind: Kind) -> u32 {
    match kind {
        Kind::Removable => 0,
        Kind::Regular => 1,
        Kind::Irregular => 2,
        Kind::Forcing => 3,
        Kind::Branch | Kind::Singular => 4,
        Kind::Apparent => 6,
    }
}

/// A singularity that is only estimated.
const ABOUT: u32 = 5;

/// What the worker sends.
pub fn data(worksheet: &Worksheet) -> FarData {
    let rows = worksheet
        .far
        .iter()
        .map(|row| (row.degree, ledger::row(row)))
        .collect();
    FarData {
        rows,
        plane: plane_data(worksheet),
    }
}

/// Digits of the radius in the picture.
const RADIUS_DIGITS: u32 = 4;

fn plane_data(worksheet: &Worksheet) -> Option<PlaneData> {
    let found = worksheet.convergence.as_ref()?;
    let problem = worksheet.problem.as_ref()?;
    let center = match &worksheet.reference {
        Some(reference) => reference.center,
        None => solver::expression::to_f64(&problem.center)?,
    };
    let interval = worksheet
        .reference
        .as_ref()
        .map_or((center - 1.0, center + 1.0), |reference| reference.interval);
    let mut points: Vec<((f64, f64), u32)> = found
        .points
        .iter()
        .take(DRAWN)
        .filter_map(|point| {
            let (x, y) = point.place.approximate()?;
            Some(((x, y), kind_number(point.kind)))
        })
        .collect();
    let nearest = worksheet.nearest.as_ref();
    let at_least = |low: &Rational| {
        let shown = typeset(&rounded_down(low, RADIUS_DIGITS));
        (Some(to_f64(low)), true, format!("R ≥ {shown}"))
    };
    let (radius, sure, word) = match (&found.radius, nearest) {
        (Radius::Infinite, _) => (None, true, "the series converges everywhere".to_owned()),
        (Radius::Exact(own), _) if own.exact.is_some() => {
            let shown = decimal::significant_of(&own.low, RADIUS_DIGITS);
            let whole = decimal::parse(&shown).as_ref() == Some(&own.low);
            let sign = if whole { "=" } else { "≈" };
            (
                Some(to_f64(&own.low)),
                true,
                format!("R {sign} {}", typeset(&shown)),
            )
        }
        (Radius::Exact(own) | Radius::AtLeast(own), _) => at_least(&own.low),
        (Radius::Unknown, Some(nearest)) => {
            let digits = nearest.digits().min(RADIUS_DIGITS) as usize;
            let about = significant(nearest.radius, digits);
            (Some(nearest.radius), false, format!("R about {about}"))
        }
        (Radius::Unknown, None) => match worksheet.remainders.first() {
            Some(proved) => match BigFloat::from_f64(proved.disc).to_rational() {
                Some(disc) => at_least(&disc),
                None => (None, false, "the radius is not known".to_owned()),
            },
            None => (None, false, "the radius is not known".to_owned()),
        },
    };
    // Points of the equation are exact; these are marked as estimates.
    if let (Radius::Unknown | Radius::Exact(_), Some(nearest)) = (&found.radius, nearest) {
        let places = nearest.places(center).into_iter();
        points.extend(places.map(|place| (place, ABOUT)));
    }
    Some(PlaneData {
        center,
        radius: radius.filter(|radius| radius.is_finite() && *radius > 0.0),
        sure,
        word,
        interval,
        points,
    })
}

/// What the band and the thin dashed line in the plot are. HTML; empty where nothing is proved.
pub fn remark(worksheet: &Worksheet) -> String {
    let drawn = |plot: &Plot| {
        plot.errors
            .proved
            .iter()
            .any(|curve| !curve.pieces.is_empty())
    };
    let (Some(problem), Some(tolerance), true) = (
        &worksheet.problem,
        &worksheet.tolerance,
        worksheet.plot.as_ref().is_some_and(drawn),
    ) else {
        return String::new();
    };
    let tolerance = escape(&plain::expression(tolerance, &Names::of(problem)));
    format!(
        "<p>Of the degree shown: in the upper picture the band where the error is proved to be at most {tolerance}, in the lower one (thin long dashes) a proved bound of it.</p>"
    )
}

/// The rows that belong to no degree or to the one shown.
pub fn rows(far: &FarData, shown: usize) -> Vec<Markup> {
    let wanted = |(degree, _): &&(Option<usize>, Markup)| degree.is_none_or(|own| own == shown);
    let rows = far.rows.iter().filter(wanted);
    rows.map(|(_, row)| row.clone()).collect()
}

/// What the picture of the complex plane shows.
pub const PLANE: &str =
    "Complex plane: the center, the disc of convergence and the singular points";

/// The complex plane of a worksheet as SVG text.
pub fn plane(worksheet: &Worksheet, paper: &Paper) -> Option<String> {
    plane_data(worksheet).and_then(|own| plane::write(&own, paper))
}

/// The picture as SVG text; empty where there is none.
pub fn picture(far: &FarData, paper: &Paper) -> String {
    let drawn = far.plane.as_ref().and_then(|own| plane::write(own, paper));
    drawn.unwrap_or_default()
}
