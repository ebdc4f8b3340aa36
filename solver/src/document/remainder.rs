//! Rows on the remainder: the bound as a course writes it, the tolerance, the degree that is needed.

use super::build;
use super::closing::partial_sum;
use super::far::{Known, number};
use super::formula::{Formula, MINUS};
use super::ledger::{LedgerRow, Line, Prose, Role};
use super::line::{chain, lead, value_piece};
use super::names::Names;
use super::opening::plain_row;
use super::strip;
use crate::convergence::{Radius, rounded_down, rounded_up};
use crate::expression::Expr;
use crate::number::rational::integer;
use crate::number::{BigFloat, Rational, decimal};
use crate::problem::Problem;
use crate::remainder::{About, AboutDegree, Needed, OfDegree, Remainder, Side, shown_end};

/// 1 and a few roundings.
const NEARLY_ONE: f64 = 1.0 + 1e-9;
/// Digits of a bound.
const DIGITS: u32 = 3;

/// The rows for every unknown and every degree, then the degree that is needed.
pub(super) fn rows(known: &Known<'_>, problem: &Problem, names: &Names) -> Vec<LedgerRow> {
    let mut out = Vec::new();
    for own in known.remainders {
        for (degree, found) in own.degrees.iter().enumerate() {
            out.push(bound_row(own, degree, found, problem, names));
            if let Some(tolerance) = known.tolerance {
                out.push(within_row(own, degree, (found, tolerance), problem, names));
            }
        }
        if let (Some(tolerance), Some(place)) = (known.tolerance, known.place) {
            out.extend(needed_row(own, tolerance, place, (known, problem), names));
        }
    }
    for own in known.abouts {
        for (degree, found) in own.degrees.iter().enumerate() {
            out.extend(about_row(own, degree, found, known.tolerance, names));
        }
        if let (Some(tolerance), Some(place), Some(kept)) =
            (known.tolerance, known.place, &own.needed)
        {
            let last = own.degrees.len().saturating_sub(1);
            let text = kept_by(kept, last, names_at(place, names), " (estimated).");
            let reason = needed_reason(own.unknown, (tolerance, place), names);
            let lines = vec![Line::Text(text)];
            out.push(plain_row(format!("needed-{}", own.unknown), reason, lines));
        }
    }
    out
}

/// `at x = 1`
fn names_at(place: &Expr, names: &Names) -> Formula {
    Formula::row([
        names.variable(),
        Formula::Operator('='),
        build::formula(place, names),
    ])
}

/// Estimates of one partial sum, in a row of its own.
fn about_row(
    own: &About,
    degree: usize,
    found: &AboutDegree,
    tolerance: Option<&Expr>,
    names: &Names,
) -> Option<LedgerRow> {
    let about = |value: f64, digits: u32| {
        let text = decimal::significant_of(&exact(value)?, digits);
        Some(number(&text))
    };
    let range = |(low, high): (f64, f64)| {
        let between = [about(low, 2)?, Formula::Operator('≤'), names.variable()];
        let end = [Formula::Operator('≤'), about(high, 2)?];
        Some(Formula::row(between.into_iter().chain(end)))
    };
    let left = difference(own.unknown, degree, names);
    let largest = about(found.largest, 2)?;
    let mut text = Prose::words("The largest difference that was seen where ")
        .math(range(own.interval)?)
        .text(" is about ")
        .math(largest.clone())
        .text(". Nothing is proved: the solution itself is an estimate here.");
    if let Some(tolerance) = tolerance {
        let kept = Formula::row([
            left.clone(),
            Formula::Operator('≤'),
            build::formula(tolerance, names),
        ]);
        text = text
            .text(" At the points drawn ")
            .math(kept)
            .text(" for about ")
            .math(range(found.kept)?)
            .text(".");
    }
    let lines = vec![
        chain(
            "",
            vec![
                lead(left),
                lead(Formula::Text(" up to about ".to_owned())),
                value_piece(largest, Role::Value),
            ],
        ),
        Line::Text(text),
    ];
    let head = of_unknown(Prose::words("Remainder"), own.unknown, names);
    let key = format!("remainder-{}-{degree}", own.unknown);
    let mut row = plain_row(key, head.text(", **an estimate**"), lines);
    row.degree = Some(degree);
    Some(row)
}

/// `of u`, where there are several unknowns.
fn of_unknown(head: Prose, unknown: usize, names: &Names) -> Prose {
    if names.unknowns.len() > 1 {
        head.text(" of ").math(names.derivative(unknown, 0))
    } else {
        head
    }
}

fn exact(value: f64) -> Option<Rational> {
    BigFloat::from_f64(value).to_rational()
}

/// A bound, rounded upward.
fn above(value: f64) -> Formula {
    match exact(value) {
        Some(value) => number(&rounded_up(&value, DIGITS)),
        None => Formula::Text("(no bound)".to_owned()),
    }
}

/// `|y − P₅|`
fn difference(unknown: usize, degree: usize, names: &Names) -> Formula {
    Formula::Bars(Box::new(Formula::row([
        names.derivative(unknown, 0),
        Formula::Operator(MINUS),
        partial_sum(unknown, degree, names),
    ])))
}

/// `|x − c|`
fn distance(problem: &Problem, names: &Names) -> Formula {
    let inner = match strip::distance(&problem.center, names) {
        Formula::Brackets(inner) => *inner,
        other => other,
    };
    Formula::Bars(Box::new(inner))
}

fn bound_row(
    own: &Remainder,
    degree: usize,
    found: &OfDegree,
    problem: &Problem,
    names: &Names,
) -> LedgerRow {
    let left = difference(own.unknown, degree, names);
    let reach = number(&short(&own.reach));
    let range = Formula::row([distance(problem, names), Formula::Operator('≤'), reach]);
    let derivative = |order: usize| {
        let order = u32::try_from(order).unwrap_or(u32::MAX);
        Formula::Derivative(names.unknown(own.unknown).to_owned(), order)
    };
    let mut lines = Vec::new();
    if let (Some(most), Some(value)) = (found.derivative, found.lagrange) {
        let power = if degree == 0 {
            distance(problem, names)
        } else {
            Formula::power(distance(problem, names), Formula::digits(degree + 1))
        };
        let quotient = Formula::fraction(
            Formula::Identifier("M".to_owned()),
            Formula::factorial(degree + 1),
        );
        lines.push(chain(
            "",
            vec![
                lead(Formula::row([left.clone(), Formula::Operator('≤')])),
                value_piece(
                    Formula::row([quotient, Formula::Juxtaposition, power]),
                    Role::Term,
                ),
                lead(Formula::row([Formula::Operator('≤'), above(value)])),
            ],
        ));
        let bars = Formula::Bars(Box::new(derivative(degree + 1)));
        let bounded = Formula::row([
            bars,
            Formula::Operator('≤'),
            Formula::Identifier("M".to_owned()),
            Formula::Operator('='),
            above(most),
        ]);
        lines.push(Line::Text(
            Prose::words("Lagrange’s form, with ")
                .math(bounded)
                .text(" where ")
                .math(range)
                .text(": known coefficients term by term, what stands behind them by Cauchy’s estimate."),
        ));
    }
    lines.push(chain(
        "",
        vec![
            lead(Formula::row([left, Formula::Operator('≤')])),
            value_piece(above(found.bound), Role::Value),
        ],
    ));
    let mut text = Prose::words("Proved where ")
        .math(covered(own, problem, names))
        .text(", from the enclosed solution");
    let same = found.lagrange.is_some_and(|value| value >= found.bound)
        && own.covered.0.max(own.covered.1) <= crate::number::to_f64(&own.reach) * NEARLY_ONE;
    text = text.text(if same {
        ": sharper than Lagrange’s form."
    } else {
        "."
    });
    if let Some(least) = exact(found.least).filter(|_| found.least > 0.0) {
        text = text
            .text(" Somewhere in it the difference is at least ")
            .math(number(&rounded_down(&least, DIGITS)))
            .text(", which is proved, too.");
    }
    let ends = match own.whole {
        (true, true) => None,
        (false, true) => Some("left end"),
        (true, false) => Some("right end"),
        (false, false) => Some("ends"),
    };
    if let Some(ends) = ends {
        text = text.text(format!(
            " Toward the {ends} of the plotted interval nothing is proved: the solution is not enclosed as far as that.",
        ));
    }
    lines.push(Line::Text(text));
    let head = of_unknown(Prose::words("Remainder"), own.unknown, names);
    let mut row = plain_row(
        format!("remainder-{}-{degree}", own.unknown),
        head.text(", a proved bound"),
        lines,
    );
    row.degree = Some(degree);
    row
}

/// The part of the interval in which the bounds hold.
fn covered(own: &Remainder, problem: &Problem, names: &Names) -> Formula {
    let center = crate::expression::to_f64(&problem.center).unwrap_or(0.0);
    let end = |distance: f64, plotted: f64, whole: bool, right: bool| {
        let typed = exact(plotted).map(|end| short(&end));
        let typed = typed.filter(|text| {
            let value = decimal::parse(text).map(|v| crate::number::to_f64(&v));
            value.is_some_and(|v| v.to_bits() == plotted.to_bits())
        });
        if let Some(text) = typed.filter(|_| whole) {
            return number(&text);
        }
        let place = shown_end(center, distance, right);
        let fits = |places: &u32| {
            (&place * integer(10).pow(i32::try_from(*places).unwrap_or(0))).is_integer()
        };
        let places = (0..20).find(fits).unwrap_or(20);
        number(&decimal::plain(&place, places))
    };
    let (low, high) = own.interval;
    Formula::row([
        end(own.covered.0, low, own.whole.0, false),
        Formula::Operator('≤'),
        names.variable(),
        Formula::Operator('≤'),
        end(own.covered.1, high, own.whole.1, true),
    ])
}

/// Few digits as they are.
fn short(value: &Rational) -> String {
    let text = decimal::significant_of(value, 6);
    match text.split_once('.') {
        Some((_, part)) if !part.contains('e') => {
            text.trim_end_matches('0').trim_end_matches('.').to_owned()
        }
        _ => text,
    }
}

/// The center plus or minus a distance, rounded toward the center (`inward`) or away from it, to so
/// many digits as the step of the search has.
fn place(
    problem: &Problem,
    distance: f64,
    right: bool,
    inward: bool,
    unit: &Rational,
) -> Option<Formula> {
    let distance = exact(distance)?;
    let (low, high) = crate::expression::enclose(&problem.center, 128)
        .ok()?
        .to_rationals()?;
    let value = if right {
        low + distance
    } else {
        high - distance
    };
    let scaled = value / unit;
    let whole = if right == inward {
        scaled.floor()
    } else {
        scaled.ceil()
    };
    let rounded = whole * unit;
    let places = u32::try_from(unit.denom().to_string().len()).unwrap_or(1) - 1;
    let text = decimal::plain(&rounded, places);
    Some(number(&text))
}

/// A power of ten that is fine enough for the ends of the search, and no finer.
fn unit(own: &Remainder) -> Rational {
    let width = own.interval.1 - own.interval.0;
    let mut unit = integer(1);
    while crate::number::to_f64(&unit) > width / 400.0 && unit.denom().bits() < 40 {
        unit *= crate::number::rational::ratio(1, 10);
    }
    unit
}

fn within_row(
    own: &Remainder,
    degree: usize,
    (found, tolerance): (&OfDegree, &Expr),
    problem: &Problem,
    names: &Names,
) -> LedgerRow {
    let unit = unit(own);
    let within = &found.within;
    let tolerance = build::formula(tolerance, names);
    let end = |side: &Side, right: bool| place(problem, side.kept, right, true, &unit);
    let mut lines = Vec::new();
    if let (Some(low), Some(high)) = (end(&within.left, false), end(&within.right, true)) {
        let held = Formula::row([
            difference(own.unknown, degree, names),
            Formula::Operator('≤'),
            tolerance.clone(),
            // Where lines are written without gaps nothing else would part it from the range.
            Formula::Punctuation(','),
        ]);
        let range = Formula::row([
            low,
            Formula::Operator('≤'),
            names.variable(),
            Formula::Operator('≤'),
            high,
        ]);
        lines.push(chain("", vec![lead(held), value_piece(range, Role::Value)]));
    }
    let beyond = |side: &Side, right: bool| {
        let broken = place(problem, side.broken?, right, false, &unit)?;
        Some(Formula::row([
            names.variable(),
            Formula::Operator('='),
            broken,
        ]))
    };
    let broken: Vec<Formula> = [beyond(&within.left, false), beyond(&within.right, true)]
        .into_iter()
        .flatten()
        .collect();
    let mut text = Prose::words("Proved.");
    if !broken.is_empty() {
        text = text
            .text(" It is exceeded before ")
            .list(broken)
            .text(", which is proved, too.");
    }
    let ended = |side: &Side| side.broken.is_none() && !side.whole;
    if ended(&within.left) || ended(&within.right) {
        text = text.text(" Where the proof ends the tolerance may be kept farther out.");
    }
    lines.push(Line::Text(text));
    let head = of_unknown(Prose::words("Within the tolerance"), own.unknown, names);
    let mut row = plain_row(format!("within-{}-{degree}", own.unknown), head, lines);
    row.degree = Some(degree);
    row
}

/// What is known about the convergence at a place.
enum There {
    Converges,
    Diverges,
    Open,
}

fn there(known: &Known<'_>, problem: &Problem, place: &Expr) -> There {
    let gap = crate::expression::enclose(&place.sub(&problem.center), 128);
    let Some((low, high)) = gap.ok().and_then(|gap| gap.to_rationals()) else {
        return There::Open;
    };
    let zero = integer(0);
    let (least, most) = (low.clone().max(-high.clone()).max(zero), high.max(-low));
    match &known.found.radius {
        Radius::Infinite => There::Converges,
        Radius::Exact(own) | Radius::AtLeast(own) if most < own.low => There::Converges,
        Radius::Exact(own) if least > own.high => There::Diverges,
        Radius::Exact(_) | Radius::AtLeast(_) | Radius::Unknown => There::Open,
    }
}

/// `N = 3`
fn degree_is(n: usize) -> Formula {
    Formula::row([
        Formula::Identifier("N".to_owned()),
        Formula::Operator('='),
        Formula::digits(n),
    ])
}

/// So many single degrees are named.
const NAMED: usize = 8;

/// Which degrees keep a tolerance where later ones need not.
fn single_degrees(needed: &Needed, where_: Formula) -> Prose {
    let Some(single) = &needed.single else {
        return match needed.first {
            Some(first) => Prose::words("The first degree that keeps it there: ")
                .math(degree_is(first))
                .text(" (proved)."),
            None => Prose::words("Which single degrees keep it there was not found out."),
        };
    };
    let last = needed.looked.saturating_sub(1);
    kept_by(single, last, where_, " (proved).")
}

/// Of the degrees up to `last` just these keep the tolerance.
fn kept_by(single: &[usize], last: usize, where_: Formula, ending: &str) -> Prose {
    let degrees = single.iter().take(NAMED).copied().map(degree_is);
    let text = if single.is_empty() {
        Prose::words("No degree keeps it at ").math(where_)
    } else {
        let text = Prose::words("At ")
            .math(where_)
            .text(" it is kept by ")
            .list(degrees);
        let more = if single.len() > NAMED {
            " and others"
        } else {
            ""
        };
        text.text(more)
    };
    text.text(", of those up to ")
        .math(degree_is(last))
        .text(ending)
}

/// `Degree needed at x = 1 for the tolerance 1/1000`
fn needed_reason(unknown: usize, (tolerance, place): (&Expr, &Expr), names: &Names) -> Prose {
    of_unknown(Prose::words("Degree needed"), unknown, names)
        .text(" at ")
        .math(names_at(place, names))
        .text(" for the tolerance ")
        .math(build::formula(tolerance, names))
}

fn needed_row(
    own: &Remainder,
    tolerance: &Expr,
    place: &Expr,
    (known, problem): (&Known<'_>, &Problem),
    names: &Names,
) -> Option<LedgerRow> {
    let needed = own.needed.as_ref()?;
    let words = |text: &str| Line::Text(Prose::words(text));
    let mut lines = Vec::new();
    if needed.inside {
        if let Some(first) = needed.first {
            lines.push(Line::Text(
                Prose::words("The first degree that keeps it: ")
                    .math(degree_is(first))
                    .text("."),
            ));
        }
        match needed.all {
            Some(all) => {
                let from = Formula::row([
                    Formula::Identifier("N".to_owned()),
                    Formula::Operator('≥'),
                    Formula::digits(all),
                ]);
                lines.push(chain("", vec![lead(Formula::Text("all ".to_owned())), value_piece(from, Role::Value)]));
                lines.push(words(
                    "From there on all degrees keep it: proved by a bound of everything behind.",
                ));
            }
            None => lines.push(words(
                "From which degree on all keep it is not proved: it is higher than what was worked out.",
            )),
        }
    } else {
        lines.push(words(match there(known, problem, place) {
            There::Converges => {
                "The series converges there, so from some degree on all keep it; from which on is not proved: it is higher than what was worked out."
            }
            There::Diverges => {
                "This place is beyond the radius of convergence: single degrees may still come near, but the errors do not settle, and more terms do not help."
            }
            There::Open => {
                "This place is not in the disc in which the series is proved to converge. Beyond the radius of convergence single degrees may still come near, but the errors do not settle, and more terms do not help."
            }
        }));
        lines.push(Line::Text(single_degrees(needed, names_at(place, names))));
    }
    let reason = needed_reason(own.unknown, (tolerance, place), names);
    Some(plain_row(format!("needed-{}", own.unknown), reason, lines))
}

/// For the data: an end as decimal text, rounded toward the center.
pub fn kept_text(own: &Remainder, side: &Side, right: bool, center: f64) -> Option<String> {
    let unit = unit(own);
    let value = exact(if right {
        center + side.kept
    } else {
        center - side.kept
    })?;
    let scaled = value / &unit;
    let whole = if right { scaled.floor() } else { scaled.ceil() };
    let places = u32::try_from(unit.denom().to_string().len()).unwrap_or(1) - 1;
    Some(decimal::plain(&(whole * unit), places))
}

/// A proved radius as text, rounded down.
pub fn disc_text(own: &Remainder) -> Option<String> {
    Some(rounded_down(&exact(own.disc)?, 4))
}
