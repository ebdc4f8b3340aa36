//! Why the radius of convergence is what it is, in words.

use super::place_formula;
use crate::convergence::{Convergence, Kind, Place, Reason};
use crate::document::build;
use crate::document::formula::Formula;
use crate::document::ledger::Prose;
use crate::document::names::Names;
use crate::expression::Expr;
use crate::problem::Problem;

/// Why the radius is what it is.
pub(super) fn reason(found: &Convergence, proved: bool, problem: &Problem, names: &Names) -> Prose {
    let apparent = found.points.iter().any(|p| p.kind == Kind::Apparent);
    match &found.reason {
        Reason::NoSingularPoint if apparent && found.center.is_none() => Prose::words(
            "All singular points in the complex plane are apparent ones: every solution is analytic everywhere, so the series converges everywhere (Fuchs’s theorem)",
        ),
        Reason::Nearest if apparent && found.center.is_none() => Prose::words(
            "The series converges at least up to the nearest singular point that is not an apparent one (Fuchs’s theorem); a single solution may be better than its equation",
        ),
        Reason::NoSingularPoint if found.center.is_some() => Prose::words(
            "No coefficient has another singular point in the complex plane, and a power series that converges goes on up to the nearest other one: so it converges everywhere (Fuchs’s theorem)",
        ),
        Reason::Nearest if found.center.is_some() => Prose::words(
            "The series converges at least up to the nearest other singular point (Fuchs’s theorem); a single solution may be better than its equation",
        ),
        Reason::NoSingularPoint => Prose::words(
            "No coefficient has a singular point in the complex plane, so the series converges everywhere (Fuchs’s theorem)",
        ),
        Reason::Polynomial => {
            Prose::words("The solution is a polynomial: put into the equation, nothing is left")
        }
        Reason::EntireFormula => {
            Prose::words("The formula that was put into the equation is analytic everywhere")
        }
        Reason::Formula => Prose::words(
            "The formula that was put into the equation is analytic up to its nearest singularity",
        ),
        Reason::Nearest => Prose::words(
            "The series converges at least up to the nearest singular point (Fuchs’s theorem); a single solution may be better than its equation",
        ),
        Reason::TwoTerm { step, ratio } => {
            let coefficient = |index: Formula| {
                Formula::Index(
                    Box::new(Formula::Identifier("c".to_owned())),
                    Box::new(index),
                )
            };
            let n = Formula::Identifier("n".to_owned());
            let ahead = Formula::row([n.clone(), Formula::Operator('+'), Formula::digits(step)]);
            let quotient = Formula::Bars(Box::new(Formula::fraction(
                coefficient(ahead),
                coefficient(n),
            )));
            let limit = Formula::row([
                quotient,
                Formula::Operator('→'),
                build::formula(&Expr::number(ratio.clone()), names),
            ]);
            Prose::words("The recurrence relation has two terms, and does not end: ")
                .math(limit)
                .text(" (ratio test)")
        }
        Reason::RatioToZero => Prose::words(
            "The recurrence relation has two terms, and their ratio tends to zero (ratio test)",
        ),
        Reason::Separated(place) => {
            let pole = match place {
                Place::Exact { re, im } => Place::Exact {
                    re: problem.center.add(re),
                    im: im.clone(),
                },
                Place::Disc { .. } => place.clone(),
            };
            let both = matches!(place, Place::Exact { im, .. } if !im.is_zero());
            Prose::words(
                "Solved by separating the variables; the nearest pole of the solution is at ",
            )
            .math(Formula::equation(
                names.variable(),
                place_formula(&pole, both, names),
            ))
        }
        Reason::Pole(_) => Prose::words(
            "The solution is enclosed up to a pole, which is proved, and no singularity is nearer",
        ),
        Reason::Formal => Prose::words("The ratio of the coefficients grows without bound"),
        Reason::NoTheorem if proved => Prose::words(
            "A disc in which the solution is proved to be analytic: the known coefficients and the equation bound all later ones",
        ),
        Reason::NoTheorem => Prose::words("No theorem was found that gives the radius"),
    }
}
