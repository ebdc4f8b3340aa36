//! Rows of the section on how far the series converges: reason, line, value, like the ledger's.

mod why;

use super::build;
use super::formula::Formula;
use super::ledger::{LedgerRow, Line, Prose, Role};
use super::line::{chain, equals_behind, lead, value_piece};
use super::names::Names;
use super::opening::plain_row;
use super::strip;
use crate::convergence::{
    Convergence, Distance, Kind, Limit, LimitValue, Place, Radius, Side, SingularPoint,
    ordinary_near, rounded_down, rounded_up,
};
use crate::expression::Expr;
use crate::number::rational::integer;
use crate::number::{BigFloat, Rational, decimal};
use crate::problem::Problem;
use crate::reference::{Nearest, Test};
use crate::remainder::{About, Remainder};
use why::reason;

/// So many singular points have a row of their own.
const LISTED: usize = 8;

/// Digits of a bound, and of what is rounded.
const DIGITS: u32 = 6;

/// Digits of a bracketed radius.
pub const BRACKET: u32 = 18;

/// re + im·i, for reading; i is an upright-free letter like any other.
pub fn complex(re: &Expr, im: &Expr) -> Expr {
    re.add(&im.mul(&Expr::parameter("i")))
}

/// A place as text: `2 i`, `-1`, or decimals with the word "about" where it is only enclosed.
fn place_formula(place: &Place, both: bool, names: &Names) -> Formula {
    match place {
        Place::Exact { re, im } if both && !im.is_zero() => {
            let unit = Expr::parameter("i");
            let size = build::formula(&im.mul(&unit), names);
            if re.is_zero() {
                Formula::row([Formula::Sign('±'), size])
            } else {
                Formula::row([build::formula(re, names), Formula::Operator('±'), size])
            }
        }
        Place::Exact { re, im } => build::formula(&complex(re, im), names),
        Place::Disc { re, im, .. } => {
            let sign = if both { '±' } else { '+' };
            rounded_complex(re, im, sign)
        }
    }
}

fn rounded_complex(re: &Rational, im: &Rational, sign: char) -> Formula {
    use num_traits::{Signed, Zero};
    if im.is_zero() {
        return number(&decimal::significant_of(re, DIGITS));
    }
    let minus = im.is_negative() && sign == '+';
    Formula::row([
        number(&decimal::significant_of(re, DIGITS)),
        Formula::Operator(if minus { super::formula::MINUS } else { sign }),
        number(&decimal::significant_of(&im.abs(), DIGITS)),
        Formula::Juxtaposition,
        Formula::Identifier("i".to_owned()),
    ])
}

/// Decimal text as a formula, minus sign and power of ten set properly.
pub fn number(text: &str) -> Formula {
    let (digits, exponent) = text.split_once('e').unwrap_or((text, ""));
    let (sign, digits) = digits.strip_prefix('-').map_or((None, digits), |rest| {
        (Some(Formula::Sign(super::formula::MINUS)), rest)
    });
    let mut parts: Vec<Formula> = sign.into_iter().collect();
    parts.push(Formula::Number(digits.to_owned()));
    if !exponent.is_empty() {
        let power = match exponent.strip_prefix('-') {
            Some(size) => Formula::row([
                Formula::Sign(super::formula::MINUS),
                Formula::Number(size.to_owned()),
            ]),
            None => Formula::Number(exponent.to_owned()),
        };
        parts.push(Formula::Operator('×'));
        parts.push(Formula::power(Formula::digits(10), power));
    }
    Formula::row(parts)
}

/// A distance: exact, or a lower bound in decimals.
pub fn distance(distance: &Distance, names: &Names) -> Formula {
    match &distance.exact {
        Some(exact) => build::formula(exact, names),
        None => number(&rounded_down(&distance.low, DIGITS)),
    }
}

/// What the rows are about.
#[derive(Clone, Copy, Debug)]
pub struct Known<'a> {
    /// Singular points and the radius.
    pub found: &'a Convergence,
    /// What is proved of the polynomials.
    pub remainders: &'a [Remainder],
    /// What is seen of them where nothing is proved.
    pub abouts: &'a [About],
    /// What the growth of the coefficients tells: an estimate.
    pub nearest: Option<&'a Nearest>,
    /// The tolerance.
    pub tolerance: Option<&'a Expr>,
    /// The place at which a degree is asked for.
    pub place: Option<&'a Expr>,
}

/// All rows: singular points, radius, remainder, tolerance, degree needed. Those that belong to a
/// degree carry it.
pub fn rows(known: &Known<'_>, problem: &Problem) -> Vec<LedgerRow> {
    let names = Names::of(problem);
    let mut out = equation_rows(known, problem, &names);
    out.extend(nearest_row(known, problem, &names));
    out.extend(super::remainder::rows(known, problem, &names));
    out
}

fn equation_rows(known: &Known<'_>, problem: &Problem, names: &Names) -> Vec<LedgerRow> {
    let found = known.found;
    let mut out = Vec::new();
    let order = problem.unknowns.first().map_or(1, |u| u.equation_order);
    let several = problem.unknowns.len() > 1;
    if let Some(kind) = found.center {
        out.push(center_row(kind, found, problem, names));
    }
    let mut listed = 0;
    for (index, point) in found.points.iter().enumerate() {
        if is_lower_of_pair(&found.points, index) {
            continue;
        }
        if listed == LISTED {
            let more = Prose::words("There are further singular points, farther from the center.");
            out.push(plain_row(
                "far-more",
                Prose::default(),
                vec![Line::Text(more)],
            ));
            break;
        }
        let both = is_conjugate_of_another(&found.points, index);
        out.push(point_row(listed, point, both, (order, several), names));
        listed += 1;
    }
    if found.more && listed < LISTED {
        let enclosed =
            |p: &SingularPoint| p.cause.is_some() && matches!(p.place, Place::Disc { .. });
        let more = Prose::words(if found.points.iter().any(enclosed) {
            "That none is nearer to the center is proved; there may be others, farther away."
        } else {
            "These repeat; the further ones are farther from the center."
        });
        out.push(plain_row(
            "far-more",
            Prose::default(),
            vec![Line::Text(more)],
        ));
    }
    out.push(radius_row(known, problem, names));
    out
}

fn conjugate(a: &Place, b: &Place) -> bool {
    match (a, b) {
        (Place::Exact { re, im }, Place::Exact { re: x, im: y }) => {
            !im.is_zero() && re == x && *im == y.neg()
        }
        (Place::Disc { re, im, .. }, Place::Disc { re: x, im: y, .. }) => {
            let near = |a: &Rational, b: &Rational| {
                let gap = crate::number::to_f64(&(a - b));
                libm::fabs(gap) < 1e-9 * (1.0 + libm::fabs(crate::number::to_f64(a)))
            };
            let zero = integer(0);
            !near(im, &zero) && near(re, x) && near(im, &-y.clone())
        }
        _ => false,
    }
}

fn is_conjugate_of_another(points: &[SingularPoint], index: usize) -> bool {
    let Some(own) = points.get(index) else {
        return false;
    };
    points
        .iter()
        .any(|other| conjugate(&own.place, &other.place))
}

/// The one below the axis of a conjugate pair: it stands in the row of the other.
fn is_lower_of_pair(points: &[SingularPoint], index: usize) -> bool {
    let below = points
        .get(index)
        .and_then(|p| p.place.approximate())
        .is_some_and(|(_, im)| im < 0.0);
    below && is_conjugate_of_another(points, index)
}

fn center_row(kind: Kind, found: &Convergence, problem: &Problem, names: &Names) -> LedgerRow {
    let text = match kind {
        Kind::Regular => {
            "A regular singular point: besides the power series worked out here there can be solutions with a power of the distance that is no whole number, or with a logarithm (Frobenius’s method). The series converges at least up to the nearest other singular point."
        }
        Kind::Irregular => {
            "An irregular singular point: Frobenius’s method does not give all solutions, and a power series may satisfy the equation term by term without converging."
        }
        Kind::Apparent => {
            "An apparent singularity: all solutions are analytic here, but their first derivatives cannot all be chosen."
        }
        Kind::Removable | Kind::Forcing | Kind::Branch | Kind::Singular => {
            "A singular point of the equation; what kind was not found out."
        }
    };
    let mut lines = vec![Line::Text(Prose::words(text))];
    if let Some((place, reach)) = ordinary_near(found, &problem.center) {
        let place = Formula::equation(names.variable(), build::formula(&place, names));
        let mut offer = Prose::words("About ").math(place).text(
            ", for one, the equation is ordinary: a power series there takes any initial values",
        );
        if let Some(reach) = &reach {
            offer = offer
                .text(" and converges at least up to the distance ")
                .math(distance(reach, names));
        }
        lines.push(Line::Text(offer.text(".")));
    }
    plain_row(
        "far-center",
        Prose::words("The center itself is singular"),
        lines,
    )
}

/// p, q for second order; p₁, p₂, … otherwise.
fn coefficient_name(k: usize, order: u32, names: &Names) -> Formula {
    let taken = |letter: &str| {
        names.independent == letter || names.unknowns.iter().any(|own| own == letter)
    };
    let free = !taken("p") && !taken("q");
    match (order, k) {
        (1 | 2, 1) if free => Formula::Identifier("p".to_owned()),
        (2, 2) if free => Formula::Identifier("q".to_owned()),
        _ => Formula::Index(
            Box::new(Formula::Identifier("p".to_owned())),
            Box::new(Formula::digits(k)),
        ),
    }
}

fn point_row(
    place_number: usize,
    point: &SingularPoint,
    both: bool,
    (order, several): (u32, bool),
    names: &Names,
) -> LedgerRow {
    let kind = match point.kind {
        Kind::Removable => {
            "**Ordinary point**: the leading coefficient is zero there, but the factor cancels."
        }
        Kind::Regular if point.limits.is_empty() => {
            "**Regular singular point**: the coefficients have poles of low enough order there. (The limits are not worked out.)"
        }
        Kind::Regular => "**Regular singular point**: each of these has a limit.",
        Kind::Apparent => {
            "**Apparent singularity**: a regular singular point at which every solution is analytic, so that it does not bound the radius."
        }
        Kind::Irregular => "**Irregular singular point**: not each of these has a limit.",
        Kind::Forcing => {
            "Ordinary point of the equation without right side; **the right side is singular** there."
        }
        Kind::Branch => {
            "**Branch point of a coefficient**: a root, logarithm or inverse function in it branches there. Unless such parts cancel, it is no regular singular point: the method of Frobenius does not apply, and solutions as a rule branch there, too."
        }
        Kind::Singular if several => {
            "**Singular point**: a coefficient of the system is not analytic there."
        }
        Kind::Singular if matches!(point.place, Place::Disc { .. }) => {
            "**Singular point**, as far as is known: a divisor in a coefficient is zero there; which kind was not found out."
        }
        Kind::Singular => {
            "**Singular point**: a coefficient is not analytic there; which kind was not found out."
        }
    };
    let name = names.variable();
    let zero = Formula::Index(Box::new(name.clone()), Box::new(Formula::digits(0)));
    let about = matches!(point.place, Place::Disc { .. });
    let equals = if about { '≈' } else { '=' };
    let mut lines = vec![chain(
        "",
        vec![
            lead(Formula::row([zero.clone(), Formula::Operator(equals)])),
            value_piece(place_formula(&point.place, both, names), Role::Value),
        ],
    )];
    if let Some(cause) = &point.cause {
        let there = Formula::equation(build::formula(cause, names), Formula::digits(0));
        lines.push(Line::Text(Prose::words("There ").math(there).text(".")));
    }
    for limit in &point.limits {
        lines.push(limit_line(limit, both, &zero, order, names));
    }
    if !point.exponents.is_empty() {
        let exponents = point.exponents.iter().map(Formula::digits);
        let (head, tail) = if point.exponents.len() == 1 {
            (
                "The exponent there, ",
                ", is a whole number: no solution has a logarithm.",
            )
        } else {
            (
                "The exponents there, ",
                ", are different whole numbers, and up to the largest of them the power series method leaves the coefficient of each one free: no solution has a logarithm.",
            )
        };
        lines.push(Line::Text(Prose::words(head).list(exponents).text(tail)));
    }
    let mut row = plain_row(
        format!("far-point-{place_number}"),
        Prose::words(kind),
        lines,
    );
    row.known = Some(Formula::row([
        Formula::Text("distance ".to_owned()),
        Formula::Operator(if point.distance.exact.is_some() {
            '='
        } else {
            '≥'
        }),
        distance(&point.distance, names),
    ]));
    row
}

/// `(x − x₀) p → 1/2`
fn limit_line(limit: &Limit, both: bool, zero: &Formula, order: u32, names: &Names) -> Line {
    let gap = Formula::row([
        names.variable(),
        Formula::Operator(super::formula::MINUS),
        zero.clone(),
    ])
    .bracketed();
    let power = if limit.power == 1 {
        gap
    } else {
        Formula::power(gap, Formula::digits(limit.power))
    };
    let left = Formula::row([
        power,
        Formula::Juxtaposition,
        coefficient_name(limit.power, order, names),
        Formula::Operator('→'),
    ]);
    let value = match &limit.value {
        LimitValue::Exact(re, im) => {
            let place = Place::Exact {
                re: re.clone(),
                im: im.clone(),
            };
            let negative = crate::expression::to_f64(im).is_some_and(|im| im < 0.0);
            if both && negative {
                let unit = Expr::parameter("i");
                let size = build::formula(&im.neg().mul(&unit), names);
                if re.is_zero() {
                    Formula::row([Formula::Sign('∓'), size])
                } else {
                    Formula::row([build::formula(re, names), Formula::Operator('∓'), size])
                }
            } else {
                place_formula(&place, both, names)
            }
        }
        LimitValue::About(re, im) => {
            let exact = |x: &f64| BigFloat::from_f64(*x).to_rational();
            match (exact(re), exact(im)) {
                (Some(re), Some(im)) => Formula::row([
                    Formula::Text("about ".to_owned()),
                    rounded_complex(&re, &im, '+'),
                ]),
                _ => Formula::Text("unknown".to_owned()),
            }
        }
        LimitValue::None => Formula::Text("no limit".to_owned()),
    };
    chain("", vec![lead(left), value_piece(value, Role::Term)])
}

/// The letter R.
pub fn radius_name() -> Formula {
    Formula::Identifier("R".to_owned())
}

fn radius_row(known_of: &Known<'_>, problem: &Problem, names: &Names) -> LedgerRow {
    let found = known_of.found;
    let disc = known_of.remainders.first().map(|r| r.disc);
    let value = |operator: char, value: Formula| {
        chain(
            "",
            vec![
                lead(Formula::row([radius_name(), Formula::Operator(operator)])),
                value_piece(value, Role::Value),
            ],
        )
    };
    let (line, known) = match &found.radius {
        Radius::Infinite => {
            let infinite = Formula::Text("∞".to_owned());
            (
                Some(value('=', infinite.clone())),
                Some(Formula::equation(radius_name(), infinite)),
            )
        }
        Radius::Exact(own) if own.exact.is_none() => {
            let (low, high) = (
                number(&rounded_down(&own.low, BRACKET)),
                number(&rounded_up(&own.high, BRACKET)),
            );
            let between = [
                lead(Formula::row([low, Formula::Operator('≤')])),
                value_piece(radius_name(), Role::Value),
                lead(Formula::row([Formula::Operator('≤'), high])),
            ];
            let short = number(&rounded_down(&own.low, 4));
            (
                Some(chain("", between.into())),
                Some(Formula::row([radius_name(), Formula::Operator('≥'), short])),
            )
        }
        Radius::Exact(own) => {
            let shown = distance(own, names);
            (
                Some(value('=', shown.clone())),
                Some(Formula::row([equals_behind(radius_name()), shown])),
            )
        }
        Radius::AtLeast(own) => {
            let shown = distance(own, names);
            (
                Some(value('≥', shown.clone())),
                Some(Formula::row([radius_name(), Formula::Operator('≥'), shown])),
            )
        }
        Radius::Unknown => match disc.and_then(|disc| BigFloat::from_f64(disc).to_rational()) {
            Some(disc) => {
                let shown = number(&rounded_down(&disc, 4));
                (
                    Some(value('≥', shown.clone())),
                    Some(Formula::row([radius_name(), Formula::Operator('≥'), shown])),
                )
            }
            None => (None, None),
        },
    };
    let mut lines: Vec<Line> = line.into_iter().collect();
    if let Some(side) = found.side {
        let way = match side {
            Side::Left => "left",
            Side::Right => "right",
        };
        lines.push(Line::Text(Prose::words(format!(
            "Looking to the {way}, no coefficient is negative (or none is positive): so of all singularities the one on the real axis to the {way} is the nearest (Pringsheim’s theorem).",
        ))));
    }
    if lines.is_empty() {
        lines.push(Line::Text(Prose::words(
            "The radius of convergence is not known exactly.",
        )));
    }
    let gap = strip::distance(&problem.center, names);
    let where_it_converges = if found.radius == Radius::Infinite {
        Prose::words("The series converges everywhere.")
    } else {
        Prose::words("The series converges where ")
            .math(Formula::row([
                Formula::Bars(Box::new(gap)),
                Formula::Operator('<'),
                radius_name(),
            ]))
            .text(".")
    };
    lines.push(Line::Text(where_it_converges));
    let mut row = plain_row(
        "far-radius",
        reason(found, disc.is_some(), problem, names),
        lines,
    );
    row.known = known;
    row
}

/// Exponents this near to a whole number (or a half) are taken for it.
const NEAR: f64 = 0.02;

/// About where the nearest singularity is, and of which type: from the growth of the coefficients.
fn nearest_row(known: &Known<'_>, problem: &Problem, names: &Names) -> Option<LedgerRow> {
    let nearest = known.nearest?;
    let about = |value: f64| {
        let exact = BigFloat::from_f64(value).to_rational().unwrap_or_default();
        number(&decimal::significant_of(&exact, nearest.digits()))
    };
    let line = chain(
        "",
        vec![
            lead(Formula::row([radius_name(), Formula::Operator('≈')])),
            value_piece(about(nearest.radius), Role::Value),
        ],
    );
    let test = match nearest.test {
        Test::ThreeTerm => "ratios of neighboring coefficients (three-term test)".to_owned(),
        Test::SixTerm => {
            "six neighboring coefficients, as a conjugate pair gives them (six-term test)"
                .to_owned()
        }
        Test::Root => {
            "roots of the coefficients (root test); where the singularity is they do not tell"
                .to_owned()
        }
        Test::Pade {
            order,
            above,
            below,
            ..
        } => {
            let of = match order {
                0 => "",
                1 => " of the first derivative",
                _ => " of the second derivative",
            };
            format!(
                "poles of two Padé approximants{of}, the larger of degrees [{above}/{below}], which agree in the digits shown"
            )
        }
    };
    let mut lines = vec![line];
    let places = places_of(nearest, problem, names, &about);
    if !places.is_empty() {
        let text = match (nearest.test, places.len()) {
            (Test::Pade { .. }, 1) | (Test::ThreeTerm | Test::SixTerm | Test::Root, _) => {
                "The nearest singularity is near "
            }
            (Test::Pade { .. }, _) => "The nearest singularities are near ",
        };
        let mut text = Prose::words(text).list(places);
        if nearest.gap > 1 && nearest.angle.is_some() {
            text = text.text(format!(
                " (and where turning by 1/{} of a full turn about the center takes it)",
                nearest.gap
            ));
        }
        lines.push(Line::Text(
            text.text(singularity_type(nearest.exponent)).text("."),
        ));
    }
    if matches!(known.found.radius, Radius::AtLeast(_)) {
        lines.push(Line::Text(Prose::words(
            "An estimate proves nothing; the bound above does.",
        )));
    }
    Some(plain_row(
        "far-nearest",
        Prose::words(format!("**Estimate**, from {test}")),
        lines,
    ))
}

/// `x = 1 ± 2 i`: where the nearest singularities are; each pair once.
fn places_of(
    nearest: &Nearest,
    problem: &Problem,
    names: &Names,
    about: &dyn Fn(f64) -> Formula,
) -> Vec<Formula> {
    let Some(center) = crate::expression::to_f64(&problem.center) else {
        return Vec::new();
    };
    let all = match nearest.angle {
        Some(angle) => vec![(
            nearest.radius * libm::cos(angle),
            nearest.radius * libm::sin(angle),
        )],
        None => nearest.poles.clone(),
    };
    // Rounding leaves a little beside the axes.
    let small = libm::pow(10.0, -f64::from(nearest.digits())) * nearest.radius;
    let clean = |x: f64| if libm::fabs(x) < small { 0.0 } else { x };
    let place = |(along, im): &(f64, f64)| {
        let (re, im) = (clean(center + along), clean(*im));
        let unit = Formula::row([
            about(im),
            Formula::Juxtaposition,
            Formula::Identifier("i".to_owned()),
        ]);
        let place = match (re.abs() > 0.0, im.abs() > 0.0) {
            (_, false) => about(re),
            (false, true) => Formula::row([Formula::Sign('±'), unit]),
            (true, true) => Formula::row([about(re), Formula::Operator('±'), unit]),
        };
        Formula::row([names.variable(), Formula::Operator('≈'), place])
    };
    all.iter()
        .filter(|(_, im)| clean(*im) >= 0.0)
        .map(place)
        .collect()
}

/// `, of the type of a pole of order 2`
fn singularity_type(exponent: Option<f64>) -> String {
    let Some(exponent) = exponent else {
        return String::new();
    };
    let whole = libm::round(exponent);
    let halves = libm::round(2.0 * exponent) / 2.0;
    if libm::fabs(exponent - whole) < NEAR && whole >= 1.0 {
        format!(", of the type of a pole of order {whole}")
    } else if libm::fabs(exponent) < NEAR {
        ", of the type of a logarithm".to_owned()
    } else if libm::fabs(exponent - halves) < NEAR && libm::fabs(halves - whole) > 0.25 {
        ", of the type of a branch point (a square root)".to_owned()
    } else {
        String::new()
    }
}
