//! Problems that are understood: the solved form, the steps to it, the route, the justification.

use super::*;

/// Equation and conditions; below them the route, the steps and the solved form.
const PROBLEMS: &str = "
# The lamp that cools to 20 degrees.
y' = -1/5 (y - 20) ~ y(0) = 80
  Solved ~ multiply out ~ 4 - 1/5 y
T' = -0.2(T - 20) ~ T(0) = 80
  Solved ~ multiply out ~ 4 - 1/5 y
# The buoy that leans.
y'' + y + y^3 = 0 ~ y(0) = 1, y'(0) = 0
  Solved ~ subtract y + y^3 ~ -y - y^3
4y'' = 2y - y^3 - y' ~ y(0) = 1/2; y'(0) = 0
  Solved ~ divide by 4 ~ 1/2 y - 1/4 y^3 - 1/4 y'
# The tide gauge.
y'' + (2 - cos(2x)) y = 0 ~ y(0)=1, y'(0)=0
  Solved ~ subtract (2 - cos(2 x)) y; multiply out ~ y cos(2 x) - 2 y
# The rainbow's bright edge.
y'' = x y ~ y(0)=1, y'(0)=0
  Solved ~  ~ x y
y'' - x y = 0 ~ y(0)=0, y'(0)=1
  Solved ~ add x y ~ x y
# The mooring cable.
y'' = 1/2 sqrt(1 + y'^2) ~ y(0) = 3, y'(0) = 0
  Solved ~  ~ 1/2 (1 + y'^2)^(1/2)
# Oyster beds.
y' = 3y(1 - y/4) ~ y(0) = 1
  Solved ~ multiply out ~ 3 y - 3/4 y^2
y' - 3y(1-y/4) = 0 ~ y(0)=1
  Solved ~ add 3 y (1 - 1/4 y); multiply out ~ 3 y - 3/4 y^2
# The pendulum clock.
theta'' + 9 sin theta = 0 ~ theta(0) = 1, theta'(0) = 0
  Solved ~ subtract 9 sin(y) ~ -9 sin(y)
θ″ = −9 sin θ ~ θ(0) = π/6, θ′(0) = 0
  Solved ~  ~ -9 sin(y)
# Batteries that discharge.
dq/dt + 2q = 3 cos t ~ q(0) = 0
  Solved ~ subtract 2 y ~ 3 cos(x) - 2 y
d^2q/dt^2 + 4 dq/dt + 5q = 0 ~ q(0) = 1, q'(0) = 0
  Solved ~ subtract 4 y' + 5 y ~ -4 y' - 5 y
# A leading coefficient that is not constant.
(4+x^2)y'' + 3y = 0 ~ y(0) = 1, y'(0) = 2
  Standing ~ subtract 3 y; divide by 4 + x^2 ~ -3 y (4 + x^2)^(-1)
y'' = -3y/(4+x^2) ~ y(0)=1, y'(0)=2
  Solved ~  ~ -3 y (4 + x^2)^(-1)
x y'' - 2y' = x^2 ~ y(3) = 1, y'(3) = 0
  Standing ~ add 2 y'; divide by x ~ x + 2 y' x^(-1)
(1-x^2) y'' - 2x y' + 6y = 0 ~ y(0) = 1, y'(0) = 0
  Standing ~ add 2 x y'; subtract 6 y; divide by 1 - x^2 ~ 2 x y' (1 - x^2)^(-1) - 6 y (1 - x^2)^(-1)
(1+y) y' = x ~ y(0) = 1
  Standing ~ divide by 1 + y ~ x (1 + y)^(-1)
e^x y' = y ~ y(0)=1
  Solved ~ divide by exp(x) ~ y exp(-x)
x y' = x^3 ~ y(1) = 0
  Solved ~ divide by x ~ x^2
y'/(1+x) = y ~ y(0) = 2
  Solved ~ multiply by 1 + x; multiply out ~ x y + y
# Numbers in front.
2y' = x ~ y(0)=1
  Solved ~ divide by 2 ~ 1/2 x
y'/3 = x y ~ y(0)=1
  Solved ~ multiply by 3 ~ 3 x y
-y' = y ~ y(0)=1
  Solved ~ multiply by -1 ~ -y
0.5 y'' = y ~ y(0)=1, y'(0)=1
  Solved ~ multiply by 2 ~ 2 y
# The highest derivative elsewhere.
x = y' + y ~ y(0)=1
  Solved ~ swap; subtract y ~ x - y
2(y'' + y) = x ~ y(0)=1, y'(0)=0
  Solved ~ multiply out; subtract 2 y; divide by 2 ~ 1/2 x - y
y'' = 3y'' + y ~ y(0)=1, y'(0)=0
  Solved ~ subtract 3 y''; like terms; divide by -2 ~ -1/2 y
(1+x)(y'' + y) = x ~ y(0)=1, y'(0)=0
  Standing ~ multiply out; subtract (1 + x) y; divide by 1 + x ~ x (1 + x)^(-1) - y
(x+y+1)^50 (1 + y') = 1 ~ y(0)=1
  Standing ~ multiply out; subtract (x + y + 1)^50; divide by (x + y + 1)^50 ~ (x + y + 1)^(-50) - 1
x (1 + y (y'' + 1)) = y ~ y(1)=1, y'(1)=0
  Standing ~ multiply out; subtract x + x y; divide by x y ~ x^(-1) - y^(-1) - 1
4y'' + x^2 y'' + 3y = 0 ~ y(0)=1, y'(0)=0
  Standing ~ take out; subtract 3 y; divide by 4 + x^2 ~ -3 y (4 + x^2)^(-1)
y y'' + x = y'' ~ y(0)=2, y'(0)=0
  Standing ~ subtract y''; take out; subtract x; divide by y - 1 ~ -x (y - 1)^(-1)
y'^2 + y'' = y'^2 - y ~ y(0)=1, y'(0)=0
  Solved ~ subtract y'^2; like terms ~ -y
# Right sides multiplied out only while they are short polynomials.
y' = (1 + x + y)^2 ~ y(0)=0
  Solved ~ multiply out ~ x^2 + 2 x + y^2 + 2 x y + 2 y + 1
y' = (x + y)^20 ~ y(0)=0
  Solved ~  ~ (x + y)^20
y' = (x - y)/(1 + x y) ~ y(0)=1
  Solved ~  ~ (x - y) (1 + x y)^(-1)
# Higher orders, any letters, other ways of writing.
y''' + y y'' = 0 ~ y(0)=0, y'(0)=0, y''(0)=1
  Solved ~ subtract y y'' ~ -y y''
y^(4) = y + x ~ y(0)=1, y'(0)=0, y''(0)=0, y'''(0)=0
  Solved ~  ~ y + x
y^(8) = y ~ y(0)=1,y'(0)=0,y''(0)=0,y'''(0)=0,y^(4)(0)=0,y^(5)(0)=0,y^(6)(0)=0,y^(7)(0)=0
  Solved ~  ~ y
x'' = -4x ~ x(0)=1, x'(0)=0
  Solved ~  ~ -4 y
y'(t) = y(t)^2 + t ~ y(0)=1
  Solved ~  ~ y^2 + x
y' = y ~ y(1/2)=1
  Solved ~  ~ y
y'' = x y ~ y = 2, y' = 5 at x = 1
  Solved ~  ~ x y
y'' = x y ~ y(1/2) = 2, y'(1/2) = 5, x = 0.5
  Solved ~  ~ x y
y' = y ~ y(0) = 1, x_0 = 0
  Solved ~  ~ y
ẍ + t x = 0 ~ x(0) = 1, ẋ(0) = 0
  Solved ~ subtract x y ~ -x y
\\ddot{\\theta} = -9\\sin\\theta ~ \\theta(0) = \\frac{\\pi}{6}, \\dot{\\theta}(0) = 0
  Solved ~  ~ -9 sin(y)
# Differentials: M dx + N dy = 0.
(x+y)dx + x dy = 0 ~ y(1) = 2
  Standing ~ subtract x + y; divide by x ~ (-x - y) x^(-1)
x dy = y dx ~ y(1) = 2
  Standing ~ divide by x ~ y x^(-1)
3x dx + (dy + y dx)/2 = 0 ~ y(0) = 1
  Solved ~ multiply out; subtract 3 x + 1/2 y; multiply by 2 ~ -6 x - y
y dx + dy = 0 ~ x(1) = 0
  Standing ~ subtract 1; divide by x ~ -x^(-1)
y' = log_2(x + 1) ~ y(0) = 1
  Solved ~  ~ ln(1 + x) ln(2)^(-1)
";

#[test]
fn problems_are_solved_for_the_highest_derivative() {
    let mut wrong = Vec::new();
    let lines: Vec<&str> = PROBLEMS
        .lines()
        .filter(|line| !line.is_empty() && !line.starts_with('#'))
        .collect();
    assert!(lines.len() > 60, "the table has shrunk");
    for case in lines.chunks(2) {
        let [input, expected] = case else {
            panic!("{case:?} is half a case");
        };
        let (equation_text, conditions) = input.split_once('~').expect("conditions");
        let problem = good(equation_text.trim(), conditions.trim());
        let equation = &problem.equations[0];
        let found = format!(
            "{:?} ~ {} ~ {}",
            equation.default_route,
            show_steps(&equation.steps),
            show_terms(&equation.solved)
        );
        if found != expected.trim_start() {
            wrong.push(format!(
                "{input}\n  found    {found}\n  expected {expected}"
            ));
        }
        // As typed and as it stands say the same.
        let difference = |sides: &(Vec<Expr>, Vec<Expr>)| {
            let normal = |terms: &[Expr]| Expr::sum(terms.iter().map(Expr::normal).collect());
            normal(&sides.0).sub(&normal(&sides.1)).expand(3000)
        };
        let (given, standing) = (difference(&equation.given), difference(&equation.standing));
        assert!(given == standing || given.neg() == standing, "{input}");
        if let Some(last) = equation.steps.last() {
            assert_eq!(last.right, equation.solved, "{input}");
            assert_eq!(last.left.len(), 1, "{input}");
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn what_is_differentiated_as_it_stands() {
    for (equation, conditions, left, right, steps) in [
        (
            "(4+x^2)y'' + 3y = 0",
            "y(0)=1, y'(0)=2",
            "(4 + x^2) y'' + 3 y",
            "0",
            0,
        ),
        (
            "x y'' - 2y' = x^2",
            "y(3)=1, y'(3)=0",
            "x y'' - 2 y'",
            "x^2",
            0,
        ),
        ("x^2 = x y' + y", "y(1)=1", "x y' + y", "x^2", 1),
        (
            "4y'' + x^2 y'' + 3y = 0",
            "y(0)=1, y'(0)=0",
            "(4 + x^2) y'' + 3 y",
            "0",
            1,
        ),
        (
            "y y'' + x = y''",
            "y(0)=2, y'(0)=0",
            "(y - 1) y'' + x",
            "0",
            2,
        ),
    ] {
        let equation = &good(equation, conditions).equations[0];
        let (l, r) = &equation.standing;
        assert_eq!(
            (show_terms(l), show_terms(r), equation.standing_steps),
            (left.to_owned(), right.to_owned(), steps)
        );
    }
}

#[test]
fn the_equation_as_typed_keeps_order_and_grouping() {
    for (equation, left, right) in [
        ("y'' + 2(1 + x) y = 3", "y'' + 2 (1 + x) y", "3"),
        ("y'' = 3 - 0.5 y*y'", "y''", "3 - 1/2 y y'"),
        ("y'' = y/(1+x)/2", "y''", "y (1 + x)^(-1) 2^(-1)"),
        ("y'' = y(1-y)^2", "y''", "y (1 - y)^2"),
        ("y'' = -(x + 1) y", "y''", "-(x + 1) y"),
    ] {
        let (l, r) = good(equation, "y(0)=1, y'(0)=1").equations[0].given.clone();
        assert_eq!(
            (show_terms(&l), show_terms(&r)),
            (left.to_owned(), right.to_owned())
        );
    }
}

#[test]
fn letters_conditions_and_degree() {
    let problem = good("θ'' = -9 sin θ", "θ(0) = π/6, θ'(0) = -1.5");
    assert_eq!(problem.unknowns[0].name, "theta");
    assert_eq!(problem.unknowns[0].equation_order, 2);
    assert_eq!(problem.independent, "t");
    let initial: Vec<String> = problem.initial[0].iter().map(show).collect();
    assert_eq!(initial, ["1/6 pi", "-3/2"]);
    assert!(problem.center.is_zero());
    assert_eq!(problem.degree, DegreeRequest::Degree(5));

    for (equation, conditions, unknown, variable) in [
        ("x' = -x", "x(0)=1", "x", "t"),
        ("x' = -x + t", "x(0)=1", "x", "t"),
        ("du/ds = u", "u(0)=1", "u", "s"),
        ("y' = y + z", "y(0)=1", "y", "z"),
        ("y'(r) = r y(r)", "y(1)=1", "y", "r"),
        ("da/dk = k a", "a(0)=1", "a", "k"),
    ] {
        let problem = good(equation, conditions);
        assert_eq!(
            (
                problem.unknowns[0].name.as_str(),
                problem.independent.as_str()
            ),
            (unknown, variable),
            "{equation}"
        );
    }

    // In any order, repeated with the same value, at a center that is not rational.
    let problem = good("y'' = y", "y'(pi/3) = 1/2, y(pi/3) = sqrt 4, y'(π/3) = 0.5");
    assert_eq!(show(&problem.center), "1/3 pi");
    let initial: Vec<String> = problem.initial[0].iter().map(show).collect();
    assert_eq!(initial, ["2", "1/2"]);
}

#[test]
fn why_there_is_one_analytic_solution() {
    let ordinary = |equation, conditions| match good(equation, conditions).equations[0]
        .justification
        .clone()
    {
        Justification::OrdinaryPoint {
            leading_value,
            polynomial,
            ..
        } => (show(&leading_value), polynomial),
        other => panic!("{equation}: {other:?}"),
    };
    assert_eq!(
        ordinary("y'' = x y", "y(0)=1, y'(0)=0"),
        ("1".to_owned(), true)
    );
    assert_eq!(
        ordinary("(4+x^2)y'' + 3y = 0", "y(1)=1, y'(1)=0"),
        ("5".to_owned(), true)
    );
    assert_eq!(ordinary("y' = y/(2+x)", "y(0)=1"), ("1".to_owned(), false));
    assert_eq!(
        ordinary("y' = e^x (y + 1)", "y(0)=1"),
        ("1".to_owned(), false)
    );

    let analytic = |equation, conditions| match good(equation, conditions).equations[0]
        .justification
        .clone()
    {
        Justification::AnalyticRightSide {
            polynomial,
            checked,
        } => {
            let checked: Vec<String> = checked
                .iter()
                .map(|c| {
                    format!(
                        "{} = {}: {:?}",
                        show(&c.expression),
                        show(&c.value),
                        c.requirement
                    )
                })
                .collect();
            (polynomial, checked.join("; "))
        }
        other => panic!("{equation}: {other:?}"),
    };
    for (equation, conditions, polynomial, checked) in [
        ("y' = 3y(1 - y/4)", "y(0)=1", true, ""),
        ("y' = x/(1+y)", "y(0)=2", false, "1 + y = 3: NotZero"),
        ("(1+y) y' = x", "y(0)=2", false, "1 + y = 3: NotZero"),
        ("y'/y = x y", "y(0)=2", true, "y = 2: NotZero"),
        (
            "y' = x/(x + y)^(3/2)",
            "y(0)=4",
            false,
            "x + y = 4: Positive",
        ),
        ("y' = sin^-2 y", "y(0)=pi/2", false, "sin(y) = 1: NotZero"),
        ("y' = sqrt(x + y)", "y(0)=4", false, "x + y = 4: Positive"),
        ("y' = ln y", "y(0)=1", false, "y = 1: Positive"),
        ("y' = |y|", "y(0)=-2", false, "y = -2: NotZeroInBars"),
        (
            "y' = arcsin y",
            "y(0)=1/2",
            false,
            "y = 1/2: InsideUnitInterval",
        ),
        ("y' = arcosh(y)", "y(0)=2", false, "y = 2: GreaterThanOne"),
        ("y' = tan y", "y(0)=0", false, "y = 0: NotAPole"),
        (
            "y' = y^(1/3)",
            "y(0)=-8",
            false,
            "y = -8: NotZeroUnderOddRoot",
        ),
        ("y' = y^x", "y(0)=2", false, "y = 2: Positive"),
    ] {
        assert_eq!(
            analytic(equation, conditions),
            (polynomial, checked.to_owned()),
            "{equation}"
        );
    }
}

#[test]
fn readings_that_are_pointed_out() {
    for (equation, conditions, code, marked) in [
        ("y' = y(x+1)", "y(0)=1", "read-as-product", "y(x+1)"),
        ("y' = e y", "y(0)=1", "e-is-constant", "e"),
        ("y' = u y", "y(0)=1", "variable-guessed", "u"),
        ("y' = r y", "y(0)=1", "parameters", "r"),
    ] {
        let (problem, diagnostics) = understand(equation, conditions, "5", &BUDGET);
        assert!(problem.is_some(), "{equation}: {diagnostics:?}");
        let found: Vec<_> = diagnostics
            .iter()
            .map(|d| (d.code, &equation[d.span.start..d.span.end], d.severity))
            .collect();
        assert_eq!(found, [(code, marked, Severity::Notice)]);
    }
    // Only one reading makes sense here.
    let (_, diagnostics) = understand("y' = 3y(1-y/4) + e^x", "y(0)=1", "5", &BUDGET);
    assert_eq!(diagnostics, []);
}
