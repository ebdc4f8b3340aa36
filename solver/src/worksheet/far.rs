//! How far the polynomial may be trusted: the radius, the remainder, and the rows about them.

use super::{TOLERANCE, Worksheet, points};
use crate::budget::Budget;
use crate::convergence::{Convergence, Distance, Radius, Reason, Side, convergence};
use crate::diagnostic::Diagnostic;
use crate::document;
use crate::expression::{Expr, Node, enclose, sign, to_f64};
use crate::number::Rational;
use crate::plot::{Plot, TableRow};
use crate::problem::Problem;
use crate::reference::{Nearest, Reference, Test};
use crate::remainder::{
    About, Proved, Question, Remainder, Seen, Tolerance, about, prove, reach, remainder,
};
use crate::span::{Field, Span};

/// An estimate of a radius that is known tells the type of the singularity when it is this near.
const AGREES: f64 = 1e-3;

/// The root test's two digits may be this share short of a radius that is proved.
const SHORT: f64 = 0.98;

/// Singular points and the radius of convergence of a problem without letters.
pub(super) fn radius(worksheet: &mut Worksheet, problem: &Problem, coefficients: &[Vec<Expr>]) {
    let found = convergence(
        problem,
        coefficients,
        worksheet.candidate.as_ref(),
        worksheet.every_order.as_ref(),
    );
    worksheet.convergence = Some(found);
}

/// A radius that is known takes the place of an estimate in the pictures.
pub(super) fn prefer(worksheet: &mut Worksheet, problem: &Problem, references: &mut [Reference]) {
    let Some(found) = &mut worksheet.convergence else {
        return;
    };
    if found.radius == Radius::Unknown
        && let Some((side, distance)) = bracketed(found, problem, references)
    {
        found.radius = Radius::Exact(distance);
        found.reason = Reason::Pole(side);
    }
    for reference in references {
        match &found.radius {
            Radius::Infinite => reference.radius_estimate = None,
            Radius::Exact(known) => {
                reference.radius_estimate = Some(crate::number::to_f64(&known.low));
            }
            Radius::AtLeast(_) | Radius::Unknown => {}
        }
    }
}

/// The distance of a proved pole that must be the nearest singularity. By Pringsheim's theorem the
/// series has a singularity where its disc of convergence meets the real axis on this side; up to
/// the pole the solution is analytic, and at the pole it has no bound.
fn bracketed(
    found: &Convergence,
    problem: &Problem,
    references: &[Reference],
) -> Option<(Side, Distance)> {
    let side = found.side?;
    let Node::Number(center) = problem.center.node() else {
        return None;
    };
    let right = side == Side::Right;
    let mut stops = references.iter().flat_map(|reference| &reference.stops);
    let (low, high) = stops
        .find(|stop| stop.right == right && stop.between.is_some())?
        .between
        .as_ref()?;
    let (low, high) = if right {
        (low - center, high - center)
    } else {
        (center - high, center - low)
    };
    Some((
        side,
        Distance {
            exact: None,
            low,
            high,
        },
    ))
}

/// The rows. `at`: the places that were asked for.
pub(super) fn write(worksheet: &mut Worksheet, problem: &Problem, at: &[Expr]) {
    if let Some(found) = &worksheet.convergence {
        let known = document::far::Known {
            found,
            remainders: &worksheet.remainders,
            abouts: &worksheet.abouts,
            nearest: worksheet.nearest.as_ref(),
            tolerance: worksheet.tolerance.as_ref(),
            place: at.first(),
        };
        worksheet.far = document::far::rows(&known, problem);
    }
}

/// What is proved about the polynomials. `at`: the places that were asked for.
pub(super) fn remainders(
    worksheet: &mut Worksheet,
    problem: &Problem,
    at: &[Expr],
    budget: &Budget,
) {
    let (tolerance, value) = tolerance(worksheet, budget);
    worksheet.tolerance = Some(tolerance);
    let Some(reference) = &worksheet.reference else {
        return;
    };
    let degree = worksheet
        .table
        .first()
        .map_or(0, |entries| entries.len().saturating_sub(1));
    let (center, interval) = (reference.center, reference.interval);
    let Some(proved) = prove(problem, degree, reach(center, interval), budget) else {
        let plots = worksheet.plot.iter();
        let plots = plots.chain(worksheet.others.iter().map(|(_, plot)| plot));
        let count = degree + 1;
        let tolerance = crate::number::to_f64(&value);
        let place = at.first().and_then(to_f64);
        let abouts = plots.enumerate().filter_map(|(unknown, plot)| {
            estimated(unknown, plot, (center, count), interval, (tolerance, place))
        });
        worksheet.abouts = abouts.collect();
        return;
    };
    let question = Question {
        degree,
        center: (&problem.center, center),
        interval,
        tolerance: Tolerance::new(&value),
        place: at.first(),
    };
    let others = worksheet.others.iter().map(|(reference, _)| reference);
    let all = std::iter::once(reference).chain(others).enumerate();
    let remainders =
        all.map(|(unknown, own)| remainder(&proved, unknown, &question, &own.stretches));
    worksheet.remainders = remainders.collect();
    let plots = worksheet.plot.iter_mut();
    let plots = plots.chain(worksheet.others.iter_mut().map(|(_, plot)| plot));
    for (plot, own) in plots.zip(&worksheet.remainders) {
        draw(plot, own, &proved, center);
    }
    worksheet.nearest = proved.nearest.first().cloned().flatten();
    if worksheet
        .convergence
        .as_ref()
        .is_some_and(|c| match &c.radius {
            Radius::Infinite => true,
            Radius::Exact(known) => {
                let agrees = |nearest: &Nearest| {
                    let known = crate::number::to_f64(&known.low);
                    libm::fabs(nearest.radius - known) <= AGREES * known
                };
                !(matches!(c.reason, Reason::Pole(_))
                    && worksheet.nearest.as_ref().is_some_and(agrees))
            }
            Radius::AtLeast(_) | Radius::Unknown => false,
        })
    {
        // Where the radius is known an estimate of it only confuses, unless it tells the type.
        worksheet.nearest = None;
    }
    // An estimate that a proof contradicts is wrong.
    let proved = match worksheet.convergence.as_ref().map(|found| &found.radius) {
        Some(Radius::AtLeast(own)) => crate::number::to_f64(&own.low).max(proved.radius),
        _ => proved.radius,
    };
    worksheet.nearest = worksheet
        .nearest
        .take()
        .filter(|nearest| nearest.radius >= SHORT * proved);
    if let (Some(nearest), Some(reference), Some(plot)) = (
        &worksheet.nearest,
        &mut worksheet.reference,
        &mut worksheet.plot,
    ) && matches!(nearest.test, Test::Pade { .. })
    {
        // A better estimate than the numerical solution's own.
        reference.radius_estimate = Some(nearest.radius);
        plot.shade(reference);
    }
}

fn seen(row: &TableRow) -> Seen<'_> {
    Seen {
        x: row.x_value,
        errors: &row.errors,
    }
}

/// What the points of an estimated solution show.
fn estimated(
    unknown: usize,
    plot: &Plot,
    polynomial: (f64, usize),
    (low, high): (f64, f64),
    (tolerance, place): (f64, Option<f64>),
) -> Option<About> {
    let rows = plot.table.iter();
    let inside = rows.filter(|row| (low..=high).contains(&row.x_value));
    let all: Vec<Seen<'_>> = inside.map(seen).collect();
    let same = |row: &&TableRow| place.is_some_and(|x| x.to_bits() == row.x_value.to_bits());
    let asked = plot.table.iter().find(same).map(seen);
    about(unknown, polynomial, &all, tolerance, asked.as_ref())
}

/// What is proved, in the pictures.
fn draw(plot: &mut Plot, own: &Remainder, proved: &Proved, center: f64) {
    plot.draw_bounds(&|x| own.bounds(proved, center, x));
    let kept = own.degrees.iter().map(|found| {
        let within = &found.within;
        (center - within.left.kept, center + within.right.kept)
    });
    plot.curves.kept = kept.collect();
}

/// The tolerance and a fraction that is not above it; what is wrong with the typed one is a notice.
fn tolerance(worksheet: &mut Worksheet, budget: &Budget) -> (Expr, Rational) {
    let text = worksheet.request.tolerance.trim();
    let whole = Span::new(0, worksheet.request.tolerance.len());
    let usual = crate::number::rational::ratio(1, 1000);
    if text.is_empty() {
        return (Expr::number(usual.clone()), usual);
    }
    let notice = match points::value(&worksheet.request.tolerance, Field::Tolerance, budget) {
        Ok(value) => {
            let below = enclose(&value, 64).ok().and_then(|e| e.to_rationals());
            match below {
                Some((below, _)) if sign(&value) == Some(std::cmp::Ordering::Greater) => {
                    return (value, below);
                }
                _ => Diagnostic::notice(
                    "tolerance",
                    Field::Tolerance,
                    whole,
                    format!("A tolerance is a positive number; {TOLERANCE} is taken instead."),
                )
                .suggest("take 1/1000", whole, TOLERANCE.to_owned()),
            }
        }
        Err(mut diagnostic) => {
            diagnostic.severity = crate::diagnostic::Severity::Notice;
            diagnostic
        }
    };
    worksheet.diagnostics.push(notice);
    (Expr::number(usual.clone()), usual)
}
