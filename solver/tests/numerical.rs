//! The numerical solution and its pictures, from the problem's text: where and why it stops, and
//! that axes can be read.

use std::f64::consts::FRAC_PI_2;

use solver::budget::Budget;
use solver::plot::{Axis, Plot};
use solver::reference::{Reference, StopReason};
use solver::worksheet::{Request, work};

fn solved(
    equation: &str,
    conditions: &str,
    interval: (&str, &str),
    degree: &str,
) -> (Reference, Plot) {
    let request = Request {
        equation: equation.to_owned(),
        conditions: conditions.to_owned(),
        degree: degree.to_owned(),
        interval: (interval.0.to_owned(), interval.1.to_owned()),
        ..Request::default()
    };
    let worksheet = work(&request, &Budget::PAGE, &mut |_| true);
    let problem = format!("{equation}: {:?}", worksheet.diagnostics);
    (
        worksheet.reference.expect(&problem),
        worksheet.plot.expect(&problem),
    )
}

use StopReason::{DomainEnd, Pole, SingularPoint};

/// Equation, conditions, interval; then for each end that is not reached: to the right?, where,
/// exactly where (if that can be known), why. Places from the closed solutions or, for singular
/// points, from the coefficients themselves.
type Case<'a> = (
    &'a str,
    &'a str,
    (&'a str, &'a str),
    &'a [(bool, f64, Option<&'a str>, StopReason)],
);

const STOPS: &[Case<'_>] = &[
    // (x² − 4)/(x² + 4) is smooth at 0, the equation is not.
    (
        "x y' + y^2 = 1",
        "y(2) = 0",
        ("-1", "4"),
        &[(false, 0.0, Some("0"), SingularPoint)],
    ),
    // An Euler equation: powers of t, one of them unbounded at 0.
    (
        "t^2 x'' = 3x",
        "x(1) = 1, x'(1) = 2",
        ("-1", "3"),
        &[(false, 0.0, Some("0"), SingularPoint)],
    ),
    (
        "(1-x^2) y'' - 2x y' + 6y = 0",
        "y(0) = 1, y'(0) = 0",
        ("-2", "2"),
        &[
            (false, -1.0, Some("-1"), SingularPoint),
            (true, 1.0, Some("1"), SingularPoint),
        ],
    ),
    (
        "x y'' - 2y' = x^2",
        "y(3) = 1, y'(3) = 0",
        ("-1", "5"),
        &[(false, 0.0, Some("0"), SingularPoint)],
    ),
    // 1/x: unbounded at 0, where the leading coefficient vanishes too.
    (
        "x y' = -y",
        "y(1) = 1",
        ("-1", "2"),
        &[(false, 0.0, Some("0"), SingularPoint)],
    ),
    // e^(1/(2x²) − 1/2): beyond every number before 0 is reached.
    (
        "x^3 y' = -y",
        "y(1) = 1",
        ("-1", "2"),
        &[(false, 0.0, Some("0"), SingularPoint)],
    ),
    (
        "(3x - 1) y' = y",
        "y(0) = 1",
        ("-1", "1"),
        &[(true, 1.0 / 3.0, Some("1/3"), SingularPoint)],
    ),
    // Not rational: about.
    (
        "(x^2 - 2) y'' + y = 0",
        "y(0) = 1, y'(0) = 0",
        ("0", "3"),
        &[(true, std::f64::consts::SQRT_2, None, SingularPoint)],
    ),
    (
        "y' = y tan x",
        "y(0) = 1",
        ("0", "3"),
        &[(true, FRAC_PI_2, None, SingularPoint)],
    ),
    (
        "y' = 1/(x - 2)^2",
        "y(0) = 0",
        ("0", "3"),
        &[(true, 2.0, Some("2"), SingularPoint)],
    ),
    // Two singular points close together on a long way.
    (
        "(x - 1)(x - 11/10) y' = y",
        "y(0) = 1",
        ("0", "100000"),
        &[(true, 1.0, Some("1"), SingularPoint)],
    ),
    (
        "y' = y ln x",
        "y(1) = 1",
        ("-1", "3"),
        &[(false, 0.0, Some("0"), DomainEnd)],
    ),
    (
        "y' = sqrt(1 - x) y",
        "y(0) = 1",
        ("0", "3"),
        &[(true, 1.0, Some("1"), DomainEnd)],
    ),
    // √(1 − 2x).
    (
        "y y' = -1",
        "y(0) = 1",
        ("-1", "3"),
        &[(true, 0.5, None, DomainEnd)],
    ),
    // tan x, 1/(1 − x), and the pole of a Bernoulli equation: y = 1/(2e^(−x) − 1).
    (
        "y' = 1 + y^2",
        "y(0) = 0",
        ("-2", "2"),
        &[
            (false, -FRAC_PI_2, None, Pole),
            (true, FRAC_PI_2, None, Pole),
        ],
    ),
    (
        "y' = y^2",
        "y(0) = 1",
        ("-1", "3"),
        &[(true, 1.0, None, Pole)],
    ),
    (
        "y' = y + y^2",
        "y(0) = 1",
        ("-1", "3"),
        &[(true, std::f64::consts::LN_2, None, Pole)],
    ),
    // 1/(1 + ln(1 − x)): a pole before the singular point at 1.
    (
        "(1 - x) y' = y^2",
        "y(0) = 1",
        ("0", "2"),
        &[(true, 1.0 - 1.0 / std::f64::consts::E, None, Pole)],
    ),
    // Nothing in the way.
    (
        "(4 + x^2) y'' + 3y = 0",
        "y(0) = 1, y'(0) = 2",
        ("-6", "6"),
        &[],
    ),
    // A solution from which all others depart: rounding would lead away from it.
    ("y' = cot y", "y(0) = pi/2", ("-200", "200"), &[]),
];

#[test]
fn every_stop_says_where_and_why() {
    for (equation, conditions, interval, expected) in STOPS {
        let (reference, _) = solved(equation, conditions, *interval, "4");
        let found = &reference.stops;
        assert_eq!(found.len(), expected.len(), "{equation}: {found:?}");
        for (stop, (right, place, exact, reason)) in found.iter().zip(*expected) {
            assert_eq!(
                (stop.right, stop.reason),
                (*right, *reason),
                "{equation}: {stop:?}"
            );
            assert!((stop.x - place).abs() < 1e-6, "{equation}: {stop:?}");
            let text = stop.place.as_ref().map(ToString::to_string);
            assert_eq!(text.as_deref(), *exact, "{equation}");
        }
    }
}

/// Labels differ, stand side by side on a narrow screen, and have no hyphen for a minus and no
/// negative zero.
fn check_axis(axis: &Axis, horizontal: bool, problem: &str) {
    assert!(axis.low < axis.high, "{problem}: {axis:?}");
    assert!(!axis.ticks.is_empty(), "{problem}: {axis:?}");
    let characters: usize = axis
        .ticks
        .iter()
        .map(|(_, label)| label.chars().count())
        .sum();
    // 360 pixels less margins, about 7 to a digit.
    assert!(!horizontal || characters <= 40, "{problem}: {axis:?}");
    for (value, label) in &axis.ticks {
        assert!(
            (axis.low..=axis.high).contains(value),
            "{problem}: {axis:?}"
        );
        assert!(
            !label.contains('-') && !label.is_empty(),
            "{problem}: {label}"
        );
        assert!(
            label != "\u{2212}0" && label != "10⁻⁰",
            "{problem}: {label}"
        );
    }
    for pair in axis.ticks.windows(2) {
        assert!(
            pair[0].0 < pair[1].0 && pair[0].1 != pair[1].1,
            "{problem}: {axis:?}"
        );
    }
}

#[test]
fn axes_can_be_read() {
    let none = ("", "");
    for (equation, conditions, interval, degree) in [
        ("y' = 1 + y^2", "y(0) = 0", ("-1.6", "1.6"), "9"),
        ("y' = y", "y(0) = 10^(-30)", none, "5"),
        ("y' = y", "y(0) = 10^30", none, "5"),
        ("y' = y", "y(0) = 1", ("0", "800"), "3"),
        ("y' = y", "y(0) = 0", none, "4"),
        ("y' = y - 1/3", "y(0) = 1/3", none, "4"),
        ("y' = y - 1/10^9", "y(0) = 1/10^9", none, "4"),
        ("y' = -y", "y(0) = 1", none, "50"),
        ("y'' = -y", "y(0) = 1, y'(0) = 0", ("50", "60"), "12"),
        (
            "y'' = -y",
            "y(1000) = 1, y'(1000) = 0",
            ("1000", "1000.001"),
            "3",
        ),
        (
            "y'' = -y",
            "y(0) = 1, y'(0) = 0",
            ("-1/10^9", "1/10^9"),
            "3",
        ),
        (
            "y'' = -y",
            "y(0) = 1, y'(0) = 0",
            ("-100000", "100000"),
            "3",
        ),
        ("x y'' - 2y' = x^2", "y(3) = 1, y'(3) = 0", none, "6"),
    ] {
        let (_, plot) = solved(equation, conditions, interval, degree);
        let problem = format!("{equation}, {conditions}, {interval:?}");
        for picture in [&plot.curves, &plot.errors] {
            check_axis(&picture.x, true, &problem);
            check_axis(&picture.y, false, &problem);
            for (x, y) in picture
                .curves
                .iter()
                .flat_map(|c| c.pieces.iter().flatten())
            {
                assert!((picture.x.low..=picture.x.high).contains(x), "{problem}");
                assert!((picture.y.low..=picture.y.high).contains(y), "{problem}");
            }
        }
        let solution = plot.curves.curves.last();
        assert!(
            solution.is_some_and(|curve| curve.degree.is_none() && !curve.pieces.is_empty()),
            "{problem}: no solution to be seen"
        );
    }
}

#[test]
fn a_constant_solution_stands_in_the_middle() {
    for (equation, conditions, value) in [
        ("y' = y", "y(0) = 0", 0.0),
        ("y' = y - 1/3", "y(0) = 1/3", 1.0 / 3.0),
        ("y' = y - 1/10^9", "y(0) = 1/10^9", 1e-9),
        ("y' = 2000 - y", "y(0) = 2000", 2000.0),
    ] {
        let (_, plot) = solved(equation, conditions, ("", ""), "4");
        let y = &plot.curves.y;
        let share = (value - y.low) / (y.high - y.low);
        assert!((0.2..0.8).contains(&share), "{equation}: {y:?}");
    }
}

/// The longest problems end within a fixed amount of work: what is known by then is there.
#[test]
fn hard_problems_keep_what_is_known() {
    for (equation, conditions, interval) in [
        (
            "y' = sin(sin(sin(sin(x + y)))) exp(-cos(cos y))",
            "y(0) = 1",
            ("-20", "20"),
        ),
        ("y' = -1000000 (y - x)", "y(0) = 1", ("0", "3")),
        ("y' = x^(x^(x^(x^x)))", "y(1) = 1", ("1/2", "3/2")),
    ] {
        let (reference, _) = solved(equation, conditions, interval, "3");
        assert!(reference.points.len() > 100, "{equation}");
        assert!(
            reference.points.iter().all(|point| point.value.digits >= 1),
            "{equation}"
        );
    }
}
