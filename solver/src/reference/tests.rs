//! The numerical solution against published and independently computed values.

use super::{Aim, DIGITS, Reference, StopReason, solve};
use crate::budget::Budget;
use crate::expression::{Expr, Function, Node};
use crate::number::rational::{integer, ratio};
use crate::number::{Rational, decimal};
use crate::problem::{DegreeRequest, Equation, Justification, Problem, Route, Unknown};

fn aim(degree: usize) -> Aim {
    Aim {
        degree,
        digits: DIGITS,
    }
}

pub(crate) fn number(value: Rational) -> Expr {
    Expr::number(value)
}

pub(crate) fn int(n: i64) -> Expr {
    number(integer(n))
}

pub(crate) fn x() -> Expr {
    Expr::variable()
}

/// The unknown's derivative of this order.
pub(crate) fn y(order: u32) -> Expr {
    Expr::derivative(0, order)
}

pub(crate) fn sum(terms: Vec<Expr>) -> Expr {
    Expr::raw(Node::Sum(terms))
}

pub(crate) fn product(factors: Vec<Expr>) -> Expr {
    Expr::raw(Node::Product(factors))
}

pub(crate) fn power(base: Expr, exponent: Rational) -> Expr {
    Expr::raw(Node::Power(base, number(exponent)))
}

pub(crate) fn call(function: Function, argument: Expr) -> Expr {
    Expr::raw(Node::Call(function, argument))
}

/// A problem solved for its highest derivative; `initial` has as many values as its order.
pub(crate) fn problem(solved: Vec<Expr>, center: Expr, initial: Vec<Expr>) -> Problem {
    let equation_order = u32::try_from(initial.len()).unwrap();
    let highest = y(equation_order);
    Problem {
        independent: "x".to_owned(),
        unknowns: vec![Unknown {
            name: "y".to_owned(),
            equation_order,
        }],
        center,
        initial: vec![initial],
        also_given: Vec::new(),
        near: Vec::new(),
        equations: vec![Equation {
            given: (vec![highest.clone()], solved.clone()),
            unknown: 0,
            standing: (vec![highest], solved.clone()),
            leading: int(1),
            solved,
            steps: Vec::new(),
            standing_steps: 0,
            default_route: Route::Solved,
            justification: Justification::AnalyticRightSide {
                polynomial: true,
                checked: Vec::new(),
            },
        }],
        parameters: Vec::new(),
        side_conditions: Vec::new(),
        degree: DegreeRequest::Degree(8),
    }
}

/// Solves for degree 8.
fn solved(problem: &Problem, interval: Option<(Expr, Expr)>, at: &[Expr]) -> Reference {
    let mut always = |_: u32| true;
    solve(problem, interval, at, aim(8), &Budget::PAGE, &mut always).remove(0)
}

/// [`solved`] with a tenth of the work, for problems that are given up however much is allowed.
fn solved_briefly(problem: &Problem, interval: (i64, i64)) -> Reference {
    let budget = Budget {
        steps: Budget::PAGE.steps / 5,
        ..Budget::PAGE
    };
    let ends = Some((int(interval.0), int(interval.1)));
    solve(problem, ends, &[], aim(0), &budget, &mut |_| true).remove(0)
}

/// Significant digits of `shown` that are right, its last place counted as right when off by one.
fn right_digits(shown: &str, exact: &str) -> f64 {
    let shown = decimal::parse(shown).unwrap();
    let exact = decimal::parse(exact).unwrap();
    let error = super::approximate(&((&shown - &exact) / &exact)).abs();
    if error > 0.0 {
        -libm::log10(error)
    } else {
        40.0
    }
}

fn airy() -> Problem {
    // Ai: DLMF 9.2.3 and 9.2.4, Ai(0) = 3^(−2/3)/Γ(2/3), Ai′(0) = −3^(−1/3)/Γ(1/3); decimals
    // computed with mpmath at 40 digits.
    let value = decimal::parse("0.3550280538878172392600631860041831763979").unwrap();
    let slope = decimal::parse("-0.2588194037928067984051835601892039634793").unwrap();
    problem(
        vec![product(vec![x(), y(0)])],
        int(0),
        vec![number(value), number(slope)],
    )
}

fn pendulum() -> Problem {
    problem(
        vec![product(vec![int(-1), call(Function::Sin, y(0))])],
        int(0),
        vec![int(1), int(0)],
    )
}

fn riccati() -> Problem {
    problem(
        vec![power(x(), integer(2)), power(y(0), integer(2))],
        int(0),
        vec![int(0)],
    )
}

fn tangent() -> Problem {
    problem(vec![power(y(0), integer(2)), int(1)], int(0), vec![int(0)])
}

/// y″ = −y − y³, y(0) = 2, y′(0) = 0 (the buoy that leans).
fn duffing() -> Problem {
    let cube = product(vec![int(-1), power(y(0), integer(3))]);
    problem(
        vec![product(vec![int(-1), y(0)]), cube],
        int(0),
        vec![int(2), int(0)],
    )
}

/// y″ = 2(1 − y²)y′ − y, y(0) = 1/2, y′(0) = 1.
fn van_der_pol() -> Problem {
    let bracket = sum(vec![
        product(vec![int(-1), power(y(0), integer(2))]),
        int(1),
    ]);
    problem(
        vec![
            product(vec![int(2), bracket, y(1)]),
            product(vec![int(-1), y(0)]),
        ],
        int(0),
        vec![number(ratio(1, 2)), int(1)],
    )
}

/// y′ = y(1 − y/4), y(0) = 1 (the oyster bed).
fn logistic() -> Problem {
    problem(
        vec![
            y(0),
            product(vec![number(ratio(-1, 4)), power(y(0), integer(2))]),
        ],
        int(0),
        vec![int(1)],
    )
}

/// y′ = exp(−x²), y(0) = 0.
fn bell() -> Problem {
    let exponent = product(vec![int(-1), power(x(), integer(2))]);
    problem(vec![call(Function::Exp, exponent)], int(0), vec![int(0)])
}

/// y″ = −y with sine's values at 0.
fn sine() -> Problem {
    problem(
        vec![product(vec![int(-1), y(0)])],
        int(0),
        vec![int(0), int(1)],
    )
}

/// Every value was computed with mpmath 1.3 at 50 digits: Ai by `airyai` (its values at 0 are DLMF
/// 9.2.3), the pendulum and the Duffing equation by Jacobi's elliptic functions (DLMF 22.19.2 and
/// 22.19.6), the Riccati equation by Bessel functions, van der Pol's by `odefun` at 40 digits.
#[test]
fn shown_digits_are_right() {
    let cases: Vec<(Problem, Vec<(Expr, &str)>)> = vec![
        (
            airy(),
            vec![
                (int(1), "0.13529241631288141552414742351547"),
                (int(-2), "0.22740742820168557599192443603787"),
                (int(10), "1.1047532552898685933550205657992e-10"),
                (int(-10), "0.040241238486443190689430314029935"),
            ],
        ),
        (
            pendulum(),
            vec![
                (int(1), "0.60008536612750643779047453580995"),
                (int(-3), "-0.94875159694619818661066165734531"),
                (int(10), "-0.99894981462385065173066787022741"),
                (int(20), "0.99580067712436811532644273906306"),
            ],
        ),
        (
            riccati(),
            vec![
                (int(1), "0.35023184431675577784938227410474"),
                (int(-1), "-0.35023184431675577784938227410474"),
                (number(ratio(19, 10)), "9.5669953443461049608362447916525"),
                (int(2), "317.72246067575030839907204681018"),
            ],
        ),
        (
            tangent(),
            vec![(number(ratio(3, 2)), "14.101419947171719387646083651988")],
        ),
        (
            logistic(),
            vec![
                (int(-3), "0.065299074659016357544736446483969"),
                (int(6), "3.9704745328280622940192001511561"),
            ],
        ),
        (
            bell(),
            vec![
                (number(ratio(1, 2)), "0.46128100641279244875570293674045"),
                (int(2), "0.88208139076242167996748103591405"),
                (int(-3), "-0.88620734825952123389448457791185"),
            ],
        ),
        (
            duffing(),
            vec![
                (int(1), "-0.70466705676608232083440772094603"),
                (int(5), "-1.7487852157198023073992409325798"),
                (int(-12), "0.2631428211129016681009855096909"),
            ],
        ),
        (
            van_der_pol(),
            vec![
                (int(2), "0.96222265958165482970895654866633"),
                (int(8), "1.8478930195359699031417515836481"),
                (int(20), "-1.6295968477168971712954617986158"),
            ],
        ),
        (
            sine(),
            vec![(int(10), "-0.54402111088936981340474766185138")],
        ),
    ];
    for (problem, values) in cases {
        let at: Vec<Expr> = values.iter().map(|(x, _)| x.clone()).collect();
        let reference = solved(&problem, None, &at);
        assert_eq!(reference.asked.len(), at.len(), "{:?}", reference.stops);
        for (point, (_, exact)) in reference.asked.iter().zip(&values) {
            let shown = point.value.digits;
            assert!(shown >= 15, "{} at {}", point.value.text, point.x_text);
            // Right to half a unit of the last place, and the agreement is not mere luck.
            let right = right_digits(&point.value.text, exact);
            assert!(
                right >= f64::from(shown) - 1.0,
                "{} at {}: {right} of {shown}",
                point.value.text,
                point.x_text
            );
        }
    }
}

/// Where, and why, to the right and to the left.
fn stops(problem: &Problem, low: i64, high: i64) -> Vec<(bool, f64, StopReason)> {
    solved(problem, Some((int(low), int(high))), &[])
        .stops
        .iter()
        .map(|stop| (stop.right, stop.x, stop.reason))
        .collect()
}

#[test]
fn poles_are_found_and_not_crossed() {
    let half_pi = std::f64::consts::FRAC_PI_2;
    // The Riccati equation's pole: first zero of J_(−1/4)(x²/2), computed with mpmath.
    for (problem, pole) in [(tangent(), half_pi), (riccati(), 2.003_147_359_426_885)] {
        let reference = solved(&problem, Some((int(-3), int(3))), &[int(2), int(3)]);
        assert_eq!(reference.stops.len(), 2);
        for stop in &reference.stops {
            assert_eq!(stop.reason, StopReason::Pole);
            let expected = if stop.right { pole } else { -pole };
            assert!((stop.x - expected).abs() < 1e-9, "{stop:?}");
        }
        let radius = reference.radius_estimate.unwrap();
        assert!((radius - pole).abs() < 1e-5, "{radius}");
        assert!(reference.points.iter().all(|p| p.x.abs() < pole));
        assert!(reference.points.last().unwrap().x > 0.998 * pole);
        assert!(reference.asked.iter().all(|p| p.x < pole));
    }
    // y′ = e^y, y(0) = 0: −ln(1 − x) grows without bound, slowly.
    let logarithm = problem(vec![call(Function::Exp, y(0))], int(0), vec![int(0)]);
    let [(true, place, StopReason::Pole)] = stops(&logarithm, -1, 2)[..] else {
        panic!("{:?}", stops(&logarithm, -1, 2));
    };
    assert!((place - 1.0).abs() < 1e-6);
}

#[test]
fn domains_end() {
    // y′ = −x/y, y(0) = 1: the half circle, ±1.
    let circle = problem(
        vec![product(vec![int(-1), x(), power(y(0), integer(-1))])],
        int(0),
        vec![int(1)],
    );
    let found = stops(&circle, -2, 2);
    assert_eq!(found.len(), 2);
    for (right, place, reason) in found {
        assert_eq!(reason, StopReason::DomainEnd);
        assert!(
            (place - if right { 1.0 } else { -1.0 }).abs() < 1e-6,
            "{place}"
        );
    }
    // y′ = −1/y, y(0) = 1: √(1 − 2x).
    let root = problem(
        vec![product(vec![int(-1), power(y(0), integer(-1))])],
        int(0),
        vec![int(1)],
    );
    let [(true, place, StopReason::DomainEnd)] = stops(&root, -2, 2)[..] else {
        panic!("{:?}", stops(&root, -2, 2));
    };
    assert!((place - 0.5).abs() < 1e-6);
    // y′ = √(1 + y), y(0) = 3: (2 + x/2)² − 1 goes on as a series beyond x = −4, but there √(1 + y)
    // is no longer its derivative.
    let branch = problem(
        vec![power(sum(vec![y(0), int(1)]), ratio(1, 2))],
        int(0),
        vec![int(3)],
    );
    let [(false, place, StopReason::DomainEnd)] = stops(&branch, -8, 3)[..] else {
        panic!("{:?}", stops(&branch, -8, 3));
    };
    assert!((place + 4.0).abs() < 1e-3, "{place}");
    // y′ = y ln x about 1: ends at 0.
    let log = problem(
        vec![product(vec![y(0), call(Function::Ln, x())])],
        int(1),
        vec![int(1)],
    );
    let [(false, place, StopReason::DomainEnd)] = stops(&log, -1, 3)[..] else {
        panic!("{:?}", stops(&log, -1, 3));
    };
    assert!(place.abs() < 1e-6, "{place}");
}

#[test]
fn singular_points_of_the_equation_stop_the_solution() {
    // Legendre's equation of degree 1: y″ = (2x y′ − 2y)/(1 − x²); y = x goes through ±1, the
    // equation does not.
    let divisor = power(
        sum(vec![product(vec![int(-1), power(x(), integer(2))]), int(1)]),
        integer(-1),
    );
    let legendre = problem(
        vec![
            product(vec![int(2), x(), y(1), divisor.clone()]),
            product(vec![int(-2), y(0), divisor]),
        ],
        int(0),
        vec![int(0), int(1)],
    );
    let found = stops(&legendre, -2, 2);
    assert_eq!(found.len(), 2);
    for (right, place, reason) in found {
        assert_eq!(reason, StopReason::SingularPoint);
        assert!(
            (place - if right { 1.0 } else { -1.0 }).abs() < 1e-9,
            "{place}"
        );
    }
}

#[test]
fn the_mirror_image_has_the_mirrored_values() {
    // y″ = −sin y + x/2, and with x → −x: y″ = −sin y − x/2.
    let tilted = |sign: i64| {
        problem(
            vec![
                product(vec![int(-1), call(Function::Sin, y(0))]),
                product(vec![number(ratio(sign, 2)), x()]),
            ],
            int(0),
            vec![int(1), int(sign)],
        )
    };
    let ends = || Some((int(-3), int(3)));
    let (one, other) = (
        solved(&tilted(1), ends(), &[]),
        solved(&tilted(-1), ends(), &[]),
    );
    assert_eq!(one.points.len(), other.points.len());
    for (a, b) in one.points.iter().zip(other.points.iter().rev()) {
        assert_eq!(a.value, b.value, "{} and {}", a.x_text, b.x_text);
    }
}

#[test]
fn the_same_input_gives_the_same_answer() {
    let once = solved(&van_der_pol(), None, &[int(4)]);
    assert_eq!(once, solved(&van_der_pol(), None, &[int(4)]));
}

/// Drawn values too are right as far as they are shown: compared with a run of 400 bits alone.
#[test]
fn a_run_of_400_bits_contradicts_no_digit() {
    for problem in [
        airy(),
        pendulum(),
        riccati(),
        duffing(),
        van_der_pol(),
        logistic(),
    ] {
        let reference = solved(&problem, Some((int(-8), int(8))), &[]);
        let careful = super::levels::careful(&problem, &reference);
        let mut compared = 0;
        for point in &reference.points {
            let Some(value) = careful(&point.place) else {
                continue;
            };
            compared += 1;
            let shown = decimal::parse(&point.value.text).unwrap();
            let exact = value.to_rational().unwrap();
            let error = super::approximate(&(&shown - &exact)).abs();
            let size = super::approximate(&exact).abs();
            let unit = size * libm::exp10(1.0 - f64::from(point.value.digits));
            assert!(
                error <= unit.max(1e-20),
                "{} at {}: off by {error:e}",
                point.value.text,
                point.x_text
            );
        }
        assert!(compared > 150, "{compared}");
    }
}

#[test]
fn hostile_problems_are_answered() {
    // A blow-up at once: y′ = 10⁶ y².
    let steep = problem(
        vec![product(vec![int(1_000_000), power(y(0), integer(2))])],
        int(0),
        vec![int(1)],
    );
    let [(true, place, StopReason::Pole)] = stops(&steep, -1, 1)[..] else {
        panic!("{:?}", stops(&steep, -1, 1));
    };
    assert!((place * 1e6 - 1.0).abs() < 1e-6, "{place}");
    // Values that no double holds: y′ = 10⁴⁰⁰ y².
    let beyond = problem(
        vec![product(vec![
            number(num_traits::pow(integer(10), 400)),
            power(y(0), integer(2)),
        ])],
        int(0),
        vec![int(1)],
    );
    assert!(stops(&beyond, -1, 1).len() <= 2);
    // A huge interval: given up, but what is known is there.
    let reference = solved_briefly(&pendulum(), (0, 1_000_000_000));
    assert_eq!(reference.stops.len(), 1);
    assert!(matches!(
        reference.stops[0].reason,
        StopReason::Budget | StopReason::LostDigits
    ));
    assert!(reference.points.len() > 100 && reference.stops[0].x > 10.0);
    // An interval that is a point, one that is reversed, one that leaves the center out.
    assert_eq!(solved(&airy(), Some((int(1), int(1))), &[]).points.len(), 1);
    assert_eq!(
        solved(&airy(), Some((int(2), int(-1))), &[]),
        solved(&airy(), Some((int(-1), int(2))), &[])
    );
    let aside = solved(&airy(), Some((int(1), int(2))), &[]);
    assert!(aside.points.first().unwrap().x >= 1.0 && aside.points.last().unwrap().x <= 2.0);
    assert!(aside.points.len() > 150 && aside.stops.is_empty());
    // Values beyond the largest double: more precise numbers have more room.
    let reference = solved(&airy(), Some((int(0), int(1))), &[int(-120)]);
    assert!(reference.stops.is_empty() && reference.asked.len() == 1);
    let growing = problem(vec![y(0)], int(0), vec![int(1)]);
    let reference = solved(&growing, Some((int(0), int(800))), &[int(800)]);
    assert!(reference.stops.is_empty(), "{:?}", reference.stops);
    // e^800, computed with mpmath.
    let right = right_digits(
        &reference.asked[0].value.text,
        "2.72637457211256656736477954637e347",
    );
    assert!(right > 15.0, "{right}");
    // Stiff: y′ = −10⁶ (y − x).
    let stiff = problem(
        vec![
            product(vec![int(-1_000_000), y(0)]),
            product(vec![int(1_000_000), x()]),
        ],
        int(0),
        vec![int(1)],
    );
    let reference = solved_briefly(&stiff, (0, 3));
    assert!(
        reference
            .stops
            .iter()
            .all(|s| s.reason == StopReason::Budget)
    );
    // Chaotic and long: whatever is shown was agreed on.
    let forced = problem(
        vec![
            product(vec![int(-1), power(y(0), integer(3))]),
            y(0),
            product(vec![number(ratio(1, 2)), call(Function::Cos, x())]),
            product(vec![number(ratio(-1, 10)), y(1)]),
        ],
        int(0),
        vec![int(1), int(0)],
    );
    let reference = solved_briefly(&forced, (-100, 100));
    assert!(reference.points.iter().all(|p| p.value.digits >= 1));
    assert!(!reference.points.is_empty());
}

#[test]
fn work_can_be_stopped_in_between() {
    let mut told = Vec::new();
    let mut stop_at_once = |percent: u32| {
        told.push(percent);
        false
    };
    let page = Budget::PAGE;
    let reference = solve(&airy(), None, &[], aim(2), &page, &mut stop_at_once).remove(0);
    // What was known by then stands.
    assert_eq!(told.len(), 1);
    assert!(reference.points.len() > 100 && reference.evidence.proved);
}

#[test]
fn irrational_places_and_centers_are_reached() {
    let pi = || Expr::raw(Node::Symbol(crate::expression::Symbol::Pi));
    let half_pi = product(vec![number(ratio(1, 2)), pi()]);
    let reference = solved(&sine(), None, &[half_pi, pi()]);
    assert_eq!(reference.asked[0].value.text, "1.00000000000000000");
    // sin π = 0: whatever is left is far below the solution's size.
    assert_eq!(reference.asked[1].value.text, "0");
    // y″ = −y about π with y(π) = 0, y′(π) = −1 is sine too.
    let about_pi = problem(
        vec![product(vec![int(-1), y(0)])],
        pi(),
        vec![int(0), int(-1)],
    );
    let reference = solved(&about_pi, None, &[int(10)]);
    let text = &reference.asked[0].value.text;
    assert!(
        right_digits(text, "-0.54402111088936981340474766185138") > 17.0,
        "{text}"
    );
}
