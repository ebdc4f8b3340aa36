//! Radii and singular points, against published ones where a source is named.

use super::*;
use crate::budget::Budget;
use crate::document::names::Names;
use crate::document::plain;
use crate::worksheet::{Request, prepare};

fn of(equation: &str, conditions: &str, degree: &str, candidate: &str) -> (Problem, Convergence) {
    let request = Request {
        equation: equation.to_owned(),
        conditions: conditions.to_owned(),
        degree: degree.to_owned(),
        candidate: candidate.to_owned(),
        ..Request::default()
    };
    let sheet = prepare(&request, &Budget::PAGE, &mut |_| true);
    let problem = sheet
        .problem
        .clone()
        .unwrap_or_else(|| panic!("{equation}: {:?}", sheet.diagnostics));
    let found = convergence(
        &problem,
        &sheet.coefficients(),
        sheet.candidate.as_ref(),
        sheet.every_order.as_ref(),
    );
    (problem, found)
}

fn text(e: &Expr, problem: &Problem) -> String {
    plain::expression(e, &Names::of(problem))
}

fn radius(problem: &Problem, found: &Convergence) -> String {
    let distance = |d: &Distance| {
        let exact = d.exact.as_ref().map(|e| text(e, problem));
        exact.unwrap_or_else(|| rounded_down(&d.low, 6))
    };
    match &found.radius {
        Radius::Infinite => "infinite".to_owned(),
        Radius::Exact(d) => format!("= {}", distance(d)),
        Radius::AtLeast(d) => format!(">= {}", distance(d)),
        Radius::Unknown => "unknown".to_owned(),
    }
}

fn place(place: &Place, problem: &Problem) -> String {
    match place {
        Place::Exact { re, im } => format!("{} + {} i", text(re, problem), text(im, problem)),
        Place::Disc { re, im, .. } => format!(
            "about {:.6} + {:.6} i",
            crate::number::to_f64(re),
            crate::number::to_f64(im)
        ),
    }
}

#[test]
fn radii() {
    let table = [
        // DLMF 9.2(i): Airy functions are entire.
        ("y'' = x y", "y(0) = 1, y'(0) = 0", "infinite"),
        ("(4 + x^2) y'' + 3y = 0", "y(0) = 1, y'(0) = 0", "= 2"),
        // DLMF 14.2(i), 14.20 with a degree that is no integer: singular at ±1.
        (
            "(1 - x^2) y'' - 2x y' + 3/4 y = 0",
            "y(0) = 1, y'(0) = 0",
            "= 1",
        ),
        // A polynomial among the solutions of an equation with singular points (Legendre's P₂).
        (
            "(1 - x^2) y'' - 2x y' + 6 y = 0",
            "y(0) = 1, y'(0) = 0",
            "infinite",
        ),
        (
            "(1 - x^2) y'' - 2x y' + 6 y = 0",
            "y(0) = 0, y'(0) = 1",
            "= 1",
        ),
        // DLMF 10.2(i): Bessel's equation is singular at 0 only.
        ("x^2 y'' + x y' + x^2 y = 0", "y(1) = 1, y'(1) = 0", ">= 1"),
        // An apparent singularity: y = x² + c is a solution about 1.
        ("x y'' - y' = 0", "y(1) = 1, y'(1) = 2", "infinite"),
        ("x y'' - y' - x y = 0", "y(1) = 1, y'(1) = 2", ">= 1"),
        // eˣ and 1 + x, eˣ and x: an apparent singularity bounds nothing.
        (
            "x y'' - (1 + x) y' + y = 0",
            "y(1) = 1, y'(1) = 1",
            "infinite",
        ),
        (
            "(1 - x) y'' + x y' - y = 0",
            "y(0) = 1, y'(0) = 1",
            "infinite",
        ),
        // The next one, which is none, does: y′ = x³(1 + x²)eˣ/(x − 3) + …
        (
            "(x^2 - 2) (x - 3) y'' - 2x (x - 3) y' = (x^2 - 2)^2",
            "y(0) = 1, y'(0) = 0",
            ">= 3",
        ),
        // A zero of the leading coefficient that cancels.
        (
            "(x - 1) y'' + (x^2 - 1) y' + (x - 1) y = 0",
            "y(0) = 1, y'(0) = 0",
            "infinite",
        ),
        // Every fourth coefficient only.
        ("(1 + x^4) y'' = y'", "y(0) = 1, y'(0) = 1", ">= 1"),
        ("(1 + x^4) y' + 4x^3 y = 0", "y(0) = 1", "= 1"),
        (
            "(x^2 + 2x + 5) y'' + y = 0",
            "y(0) = 0, y'(0) = 1",
            ">= sqrt(5)",
        ),
        (
            "(x^4 + x^2 + 1) y'' + x y = 0",
            "y(0) = 0, y'(0) = 1",
            ">= 1",
        ),
        (
            "(x^5 - x - 1) y'' + x y = 0",
            "y(0) = 0, y'(0) = 1",
            ">= 0.842190",
        ),
        ("y'' + tan(x) y = 0", "y(0) = 0, y'(0) = 1", ">= pi/2"),
        ("y'' + y/cos(2x) = 0", "y(0) = 0, y'(0) = 1", ">= pi/4"),
        ("y'' + y = 1/(1 + e^x)", "y(0) = 0, y'(0) = 1", ">= pi"),
        ("y'' + ln(2 + x) y = 0", "y(0) = 0, y'(0) = 1", ">= 2"),
        (
            "y'' + tan(x^2) y = 0",
            "y(0) = 0, y'(0) = 1",
            ">= sqrt(2)*sqrt(pi)/2",
        ),
        (
            "y' = y/(x^2 - 2x + 2) + 1/(x - 3)",
            "y(0) = 1",
            ">= sqrt(2)",
        ),
        // Separated by hand: tan x, 1/(1 − x), the logistic curve.
        ("y' = 1 + y^2", "y(0) = 0", "= pi/2"),
        ("y' = 1 + y^2", "y(0) = 1", "= pi/4"),
        ("y' = y^2", "y(0) = 1", "= 1"),
        ("y' = y(1 - y)", "y(0) = 1/2", "= pi"),
        ("y' = y(1 - y)", "y(0) = 2", "= ln(2)"),
        ("y' = y(1 - y)", "y(0) = 1", "infinite"),
        ("y'' = 6y^2 + x", "y(0) = 0, y'(0) = 0", "unknown"),
    ];
    let mut wrong = Vec::new();
    for (equation, conditions, expected) in table {
        let (problem, found) = of(equation, conditions, "8", "");
        let shown = radius(&problem, &found);
        if shown != expected {
            wrong.push(format!(
                "{equation}, {conditions}: {shown}, not {expected} {:?}",
                found
                    .points
                    .iter()
                    .map(|p| place(&p.place, &problem))
                    .collect::<Vec<_>>()
            ));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

fn points(problem: &Problem, found: &Convergence) -> Vec<String> {
    let value = |limit: &LimitValue| match limit {
        LimitValue::Exact(re, im) => text(&crate::document::far::complex(re, im), problem),
        LimitValue::About(re, im) => format!("about {re:.4} + {im:.4} i"),
        LimitValue::None => "none".to_owned(),
    };
    let one = |point: &SingularPoint| {
        let limits: Vec<String> = point.limits.iter().map(|l| value(&l.value)).collect();
        let kind = format!("{:?}", point.kind);
        format!(
            "{}: {kind} [{}]",
            place(&point.place, problem),
            limits.join(", ")
        )
    };
    found.points.iter().map(one).collect()
}

#[test]
fn singular_points_with_the_limits_that_show_them() {
    let table: [(&str, &str, &[&str]); 10] = [
        // Legendre's equation: exponents 0, 0 at ±1 (DLMF 14.2(i)), so (x − 1) p → 1.
        (
            "(1 - x^2) y'' - 2x y' + 3/4 y = 0",
            "y(0) = 1, y'(0) = 0",
            &["1 + 0 i: Regular [1, 0]", "-1 + 0 i: Regular [1, 0]"],
        ),
        // Bessel's equation of order 1/3: regular at 0 with limits 1 and −1/9.
        (
            "x^2 y'' + x y' + (x^2 - 1/9) y = 0",
            "y(2) = 1, y'(2) = 0",
            &["0 + 0 i: Regular [1, -1/9]"],
        ),
        (
            "x^3 y'' + y = 0",
            "y(1) = 1, y'(1) = 0",
            &["0 + 0 i: Irregular [0, none]"],
        ),
        (
            "(x - 1) y'' + (x^2 - 1) y' + (x - 1) y = 0",
            "y(0) = 1, y'(0) = 0",
            &["1 + 0 i: Removable []"],
        ),
        // (x² + 1)² y″ + 3(x² + 1) y′ + 4y = 0: at i, 3/(2i) and 4/(2i)².
        (
            "(x^2 + 1)^2 y'' + 3(x^2 + 1) y' + 4 y = 0",
            "y(0) = 1, y'(0) = 0",
            &[
                "0 + 1 i: Regular [-3*i/2, -1]",
                "0 + -1 i: Regular [3*i/2, -1]",
            ],
        ),
        (
            "(x^2 - 2) y'' + x y' + y = 0",
            "y(0) = 1, y'(0) = 0",
            &[
                "sqrt(2) + 0 i: Regular [1/2, 0]",
                "-sqrt(2) + 0 i: Regular [1/2, 0]",
            ],
        ),
        (
            "y'' + y = 1/(x - 3)",
            "y(0) = 0, y'(0) = 0",
            &["3 + 0 i: Forcing []"],
        ),
        // sin(x)/x and (1 − cos x)/x² have no singularity at 0.
        (
            "y'' + (1 - cos(x))/x^2 y' + sin(x)/x y = 0",
            "y(1) = 0, y'(1) = 1",
            &[],
        ),
        (
            "y''' + y/(x - 2)^2 = 0",
            "y(0) = 1, y'(0) = 0, y''(0) = 0",
            &["2 + 0 i: Regular [0, 0, 0]"],
        ),
        ("y' = sqrt(x + 2) y", "y(0) = 1", &["-2 + 0 i: Branch []"]),
    ];
    assert_points(&table);
}

#[test]
fn limits_of_other_coefficients() {
    let table: [(&str, &str, &[&str]); 8] = [
        // Coefficients that are no quotients of polynomials. tan x has simple poles: exponents 0 and 1.
        (
            "y'' + tan(x) y = 0",
            "y(0) = 0, y'(0) = 1",
            &[
                "-pi/2 + 0 i: Regular [0, 0]",
                "pi/2 + 0 i: Regular [0, 0]",
                "-3*pi/2 + 0 i: Regular [0, 0]",
            ],
        ),
        // Legendre's equation in the polar angle (DLMF 14.30.10 with m = 0, from memory).
        (
            "y'' + cot(x) y' + 2 y = 0",
            "y(pi/2) = 0, y'(pi/2) = 1",
            &[
                "0 + 0 i: Regular [1, 0]",
                "pi + 0 i: Regular [1, 0]",
                "2*pi + 0 i: Regular [1, 0]",
            ],
        ),
        (
            "y'' + y/sin(x)^3 = 0",
            "y(1) = 0, y'(1) = 1",
            &[
                "0 + 0 i: Irregular [0, none]",
                "pi + 0 i: Irregular [0, none]",
                "-pi + 0 i: Irregular [0, none]",
            ],
        ),
        // 1 + eˣ is zero at πi, with the slope −1; but y′ = c (1 + e⁻ˣ).
        (
            "y'' + y'/(1 + e^x) = 0",
            "y(0) = 0, y'(0) = 1",
            &[
                "0 + -pi i: Apparent [-1, 0]",
                "0 + pi i: Apparent [-1, 0]",
                "0 + -3*pi i: Apparent [-1, 0]",
            ],
        ),
        (
            "y'' + tanh(x) y' + y = 0",
            "y(0) = 0, y'(0) = 1",
            &[
                "0 + -pi/2 i: Regular [1, 0]",
                "0 + pi/2 i: Regular [1, 0]",
                "0 + -3*pi/2 i: Regular [1, 0]",
            ],
        ),
        // x/(eˣ − 1) has no singularity at 0; 2πi/1 at 2πi.
        (
            "(e^x - 1) y'' + x y' = 0",
            "y(0) = 0, y'(0) = 1",
            &[
                "0 + 0 i: Removable []",
                "0 + -2*pi i: Regular [-2*pi*i, 0]",
                "0 + 2*pi i: Regular [2*pi*i, 0]",
            ],
        ),
        // 1/x − 1/sin x has none at 0, in no term of its own.
        (
            "y'' + (1/x - 1/sin(x)) y' = 0",
            "y(1) = 0, y'(1) = 1",
            &["pi + 0 i: Regular [1, 0]", "-pi + 0 i: Regular [1, 0]"],
        ),
        // ln and √ are analytic at 1, with ln x = (x − 1) + …
        (
            "y'' + sqrt(x + 3) y'/(x - 1) + ln(x + 4)/(x - 1)^2 y = 0",
            "y(0) = 0, y'(0) = 1",
            &[
                "1 + 0 i: Regular [2, ln(5)]",
                "-3 + 0 i: Branch []",
                "-4 + 0 i: Branch []",
            ],
        ),
    ];
    assert_points(&table);
}

#[test]
fn apparent_singularities() {
    let table: [(&str, &str, &[&str]); 4] = [
        // The exponents are 0 and 2, and eˣ and 1 + x are all solutions.
        (
            "x y'' - (1 + x) y' + y = 0",
            "y(1) = 1, y'(1) = 1",
            &["0 + 0 i: Apparent [-1, 0]"],
        ),
        // The same exponents, but with a logarithm.
        (
            "x y'' - y' - x y = 0",
            "y(1) = 1, y'(1) = 2",
            &["0 + 0 i: Regular [-1, 0]"],
        ),
        // y′ = (1 + x²)(c + eˣ); beside the axis, and with a right side.
        (
            "(1 + x^2) y'' - 2x y' = (1 + x^2)^2 e^x",
            "y(0) = 1, y'(0) = 0",
            &["0 + 1 i: Apparent [-1, 0]", "0 + -1 i: Apparent [-1, 0]"],
        ),
        // With this right side y′ = (1 + x²)(c + arctan x): a logarithm.
        (
            "(1 + x^2) y'' - 2x y' = 1 + x^2",
            "y(0) = 1, y'(0) = 0",
            &["0 + 1 i: Regular [-1, 0]", "0 + -1 i: Regular [-1, 0]"],
        ),
    ];
    assert_points(&table);
}

fn assert_points(table: &[(&str, &str, &[&str])]) {
    let mut wrong = Vec::new();
    for (equation, conditions, expected) in table {
        let (problem, found) = of(equation, conditions, "4", "");
        let shown = points(&problem, &found);
        if shown != *expected {
            wrong.push(format!("{equation}: {shown:?}"));
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn singular_centers() {
    // Bessel's J₀ about 0: regular singular, no other singular point.
    let (problem, found) = of("x y'' + y' + x y = 0", "y(0) = 1", "6", "");
    assert_eq!(found.center, Some(Kind::Regular));
    assert_eq!(radius(&problem, &found), "infinite");
    // Euler's series Σ (−1)ⁿ n! xⁿ⁺¹: irregular, and divergent.
    let (problem, found) = of("x^2 y' + y = x", "y(0) = 0", "6", "");
    assert_eq!(found.center, Some(Kind::Irregular));
    assert_eq!(radius(&problem, &found), "= 0");
}

#[test]
fn beside_a_singular_center_there_is_an_ordinary_one() {
    for (equation, conditions, expected) in [
        ("x^2 y'' + x y' + (x^2 - 1/4) y = 0", "y(0) = 0", "1, 1"),
        ("x y'' + y = 0", "y(0) = 0, y'(0) = 1", "1, 1"),
        // 1 and -1 are singular, too.
        ("x (1 - x^2) y'' + y = 0", "y(0) = 0, y'(0) = 1", "1/2, 1/2"),
        // One on the right only.
        ("x (1 - x) y'' + y = 0", "y(0) = 0, y'(0) = 1", "-1, 1"),
    ] {
        let (problem, found) = of(equation, conditions, "4", "");
        let (place, reach) = ordinary_near(&found, &problem.center).unwrap();
        let reach = reach.and_then(|d| d.exact).unwrap();
        let written = format!("{}, {}", text(&place, &problem), text(&reach, &problem));
        assert_eq!(written, expected, "{equation}");
    }
}

#[test]
fn formulas_that_were_proved() {
    let table = [
        ("y' = 2 x y^2", "y(0) = 1", "y = 1/(1 - x^2)", "= 1"),
        (
            "y' = y^2 cos(x)/4",
            "y(0) = 1",
            "y = 4/(4 - sin(x))",
            ">= sqrt(pi^2 + 4*arcosh(4)^2)/2",
        ),
        (
            "y'' = y'^2 + 1",
            "y(0) = 0, y'(0) = 0",
            "y = -ln(cos(x))",
            ">= pi/2",
        ),
        ("y y'' = y'^2", "y(0) = 1, y'(0) = 1", "y = e^x", "infinite"),
    ];
    for (equation, conditions, formula, expected) in table {
        let (problem, found) = of(equation, conditions, "4", formula);
        assert_eq!(radius(&problem, &found), expected, "{equation}");
    }
}

#[test]
fn where_the_search_would_take_too_long_nothing_is_said() {
    let product = |count: u32| -> String {
        let one = |k| format!("(x^20 + {k})");
        (2..2 + count).map(one).collect::<Vec<_>>().join(" ")
    };
    let table = [
        ("y' = (1 + x^100)^(1/100) y".to_owned(), "unknown"),
        ("(1 + x^100) y' = y".to_owned(), "unknown"),
        ("(1 + x^24) y' = y".to_owned(), ">= 1"),
        (format!("{} y' = y", product(2)), ">= 2^(1/20)"),
        (format!("{} y' = y", product(6)), "unknown"),
        (format!("y' = sqrt({}) y", product(6)), "unknown"),
    ];
    for (equation, expected) in table {
        let (problem, found) = of(&equation, "y(0) = 1", "3", "");
        assert_eq!(radius(&problem, &found), expected, "{equation}");
        let none = found.points.is_empty();
        assert_eq!(none, expected == "unknown", "{equation}");
    }
}

#[test]
fn sides_by_pringsheim() {
    let table = [
        ("y' = x^2 + y^2", "y(0) = 0", Some(Side::Right)),
        ("y' = x^2 + y^2", "y(0) = -1", Some(Side::Left)),
        ("y' = x - y^2", "y(0) = 1", Some(Side::Left)),
        ("y' = 1 - y^2", "y(0) = 0", None),
        ("y' = 1 + y^2", "y(0) = -1", Some(Side::Left)),
        ("y'' = 6y^2 + x", "y(0) = 1, y'(0) = 0", Some(Side::Right)),
        ("y'' = e^y", "y(0) = 0, y'(0) = 0", Some(Side::Right)),
        ("y'' = -e^(-y)", "y(0) = 0, y'(0) = 0", Some(Side::Right)),
        ("y'' + sin(y) = 0", "y(0) = 1, y'(0) = 0", None),
    ];
    for (equation, conditions, expected) in table {
        let (_, found) = of(equation, conditions, "3", "");
        assert_eq!(found.side, expected, "{equation}, {conditions}");
    }
}
