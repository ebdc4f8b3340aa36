//! Rows of the solved form, compared with work by hand.

use super::support::*;
use crate::budget::Budget;
use crate::derivation::{Rule, Trace, check, derive};
use crate::expression::Expr;
use crate::expression::Function::{Cos, Exp, Sin};
use crate::problem::{Problem, Route};

fn assert_rows(problem: &Problem, expected: &[&str]) {
    let given = problem.initial.iter().map(Vec::len).sum::<usize>();
    let derivation = derived(problem, Route::Solved, expected.len() + given - 1);
    assert_eq!(texts(&derivation), expected);
}

fn assert_values(problem: &Problem, expected: &[&str]) {
    for route in [Route::Solved, Route::Standing] {
        let derivation = derived(problem, route, expected.len() - 1);
        assert_eq!(values(&derivation), expected, "{route:?}");
    }
}

/// The clock's pendulum: chain rule, product rule, power rule.
fn pendulum() -> Problem {
    explicit(n(0), vec![n(0), n(1)], vec![call(Sin, &y(0)).neg()])
}

#[test]
fn pendulum_rows() {
    assert_rows(
        &pendulum(),
        &[
            "y'' = -sin(y) | 0 [sin(y)] | 0",
            "y''' = -cos(y) y' | -1 | -1",
            "y(4) = -y'' cos(y) + y' sin(y) y' \
             | y(4) = -y'' cos(y) + y'^2 sin(y) | 0 [y''], 0 [sin(y)] | 0",
            "y(5) = -y''' cos(y) + y'' sin(y) y' + 2 y' y'' sin(y) + y'^2 cos(y) y' \
             | y(5) = -y''' cos(y) + 3 y' y'' sin(y) + y'^3 cos(y) \
             | 1, 0 [y''], 1 | 2",
        ],
    );
}

/// Oyster beds: y′ = y − y². The solution 1/2 + (1/2) tanh(x/2) has y⁽⁵⁾(0) = 5!/480.
#[test]
fn logistic_rows() {
    let beds = explicit(n(0), vec![q(1, 2)], vec![y(0), y(0).square().neg()]);
    assert_rows(
        &beds,
        &[
            "y' = y - y^2 | 1/2, -1/4 | 1/4",
            "y'' = y' - 2 y y' | 1/4, -1/4 | 0",
            "y''' = y'' - 2 y' y' - 2 y y'' | y''' = y'' - 2 y'^2 - 2 y y'' \
             | 0 [y''], -1/8, 0 [y''] | -1/8",
            "y(4) = y''' - 4 y' y'' - 2 y' y'' - 2 y y''' \
             | y(4) = y''' - 6 y' y'' - 2 y y''' | -1/8, 0 [y''], 1/8 | 0",
            "y(5) = y(4) - 6 y'' y'' - 6 y' y''' - 2 y' y''' - 2 y y(4) \
             | y(5) = y(4) - 6 y''^2 - 8 y' y''' - 2 y y(4) \
             | 0 [y(4)], 0 [y''], 1/4, 0 [y(4)] | 1/4",
        ],
    );
}

/// The lamp that cools: a constant's derivative is a visible 0 that then goes.
#[test]
fn cooling_rows() {
    let lamp = explicit(n(0), vec![n(80)], vec![y(0).mul(&q(-1, 10)), n(2)]);
    assert_rows(
        &lamp,
        &[
            "y' = -1/10 y + 2 | -8, 2 | -6",
            "y'' = -1/10 y' + 0 | y'' = -1/10 y' | 3/5 | 3/5",
            "y''' = -1/10 y'' | -3/50 | -3/50",
        ],
    );
}

/// A right-hand side that becomes nothing stays nothing.
#[test]
fn polynomial_solution_rows() {
    let line = explicit(n(0), vec![n(1)], vec![n(3)]);
    assert_rows(
        &line,
        &[
            "y' = 3 | 3 | 3",
            "y'' = 0 | y'' = 0 |  | 0",
            "y''' = 0 |  | 0",
        ],
    );
}

/// Division: the quotient rule while the divisor stands alone, powers afterwards. The solution
/// is 2(1 + x).
#[test]
fn quotient_rows() {
    let problem = explicit(n(0), vec![n(2)], vec![y(0).div(&n(1).add(&x()))]);
    assert_rows(
        &problem,
        &[
            "y' = y (1 + x)^-1 | 2 | 2",
            "y'' = (y' (1 + x) - y) (1 + x)^-2 \
             | y'' = y' (1 + x)^-1 - y (1 + x)^-2 | 2, -2 | 0",
            "y''' = (y'' (1 + x) - y') (1 + x)^-2 - y' (1 + x)^-2 + 2 y (1 + x)^-3 \
             | y''' = y'' (1 + x)^-1 - 2 y' (1 + x)^-2 + 2 y (1 + x)^-3 \
             | 0 [y''], -4, 4 | 0",
        ],
    );
}

/// A bracket above the line stays a bracket, and the factor that vanishes is the bracket.
#[test]
fn quotient_of_brackets_rows() {
    let problem = explicit(n(1), vec![n(1)], vec![x().sub(&y(0)).div(&x().add(&y(0)))]);
    assert_rows(
        &problem,
        &[
            "y' = (x - y) (x + y)^-1 | 0 [x - y] | 0",
            "y'' = ((1 - y') (x + y) - (x - y) (1 + y')) (x + y)^-2 \
             | y'' = (1 - y') (x + y)^-1 - (x - y) (1 + y') (x + y)^-2 \
             | 1/2, 0 [x - y] | 1/2",
            "y''' = (-y'' (x + y) - (1 - y') (1 + y')) (x + y)^-2 \
             - (1 - y') (1 + y') (x + y)^-2 - (x - y) y'' (x + y)^-2 \
             + 2 (x - y) (1 + y') (x + y)^-3 (1 + y') \
             | y''' = -y'' (x + y)^-1 - 2 (1 + y') (1 - y') (x + y)^-2 \
             - (x - y) y'' (x + y)^-2 + 2 (x - y) (1 + y')^2 (x + y)^-3 \
             | -1/4, -1/2, 0 [x - y], 0 [x - y] | -3/4",
        ],
    );
}

/// y′ = √(1+y), y(0) = 0: the solution x + x²/4 ends, and with the equation put in the lines show it.
#[test]
fn root_rows() {
    let problem = explicit(n(0), vec![n(0)], vec![n(1).add(&y(0)).sqrt()]);
    assert_rows(
        &problem,
        &[
            "y' = (1 + y)^(1/2) | 1 | 1",
            "y'' = 1/2 (1 + y)^-1/2 y' | y'' = 1/2 | 1/2 | 1/2",
            "y''' = 0 | y''' = 0 |  | 0",
        ],
    );
}

/// The rainbow's bright edge: y″ = x y.
fn airy() -> Problem {
    explicit(n(0), vec![n(1), n(0)], vec![x().mul(&y(0))])
}

#[test]
fn airy_rows() {
    assert_rows(
        &airy(),
        &[
            "y'' = x y | 0 [x] | 0",
            "y''' = y + x y' | 1, 0 [x] | 1",
            "y(4) = y' + y' + x y'' | y(4) = 2 y' + x y'' | 0 [y'], 0 [x] | 0",
            "y(5) = 2 y'' + y'' + x y''' | y(5) = 3 y'' + x y''' | 0 [y''], 0 [x] | 0",
            "y(6) = 3 y''' + y''' + x y(4) | y(6) = 4 y''' + x y(4) | 4, 0 [x] | 4",
        ],
    );
}

/// Hermite's equation with n = 3: about 0 the solution is 8x³ − 12x.
#[test]
fn hermite_rows() {
    let problem = explicit(
        n(0),
        vec![n(0), n(-12)],
        vec![n(2).mul(&x()).mul(&y(1)), n(-6).mul(&y(0))],
    );
    assert_rows(
        &problem,
        &[
            "y'' = 2 x y' - 6 y | 0 [x], 0 [y] | 0",
            "y''' = 2 y' + 2 x y'' - 6 y' | y''' = -4 y' + 2 x y'' | 48, 0 [x] | 48",
            "y(4) = -4 y'' + 2 y'' + 2 x y''' | y(4) = -2 y'' + 2 x y''' \
             | 0 [y''], 0 [x] | 0",
            "y(5) = -2 y''' + 2 y''' + 2 x y(4) | y(5) = 2 x y(4) | 0 [x] | 0",
        ],
    );
}

/// A bracket in a product: differentiated in place, kept as it is elsewhere.
#[test]
fn bracket_rows() {
    let problem = explicit(
        n(0),
        vec![n(1), n(1)],
        vec![n(1).sub(&y(0).square()).mul(&y(1)), y(0).neg()],
    );
    assert_rows(
        &problem,
        &[
            "y'' = (1 - y^2) y' - y | 0 [1 - y^2], -1 | -1",
            "y''' = -2 y y' y' + (1 - y^2) y'' - y' \
             | y''' = -2 y y'^2 + (1 - y^2) y'' - y' | -2, 0 [1 - y^2], -1 | -3",
            "y(4) = -2 y' y'^2 - 4 y y' y'' - 2 y y' y'' + (1 - y^2) y''' - y'' \
             | y(4) = -2 y'^3 - 6 y y' y'' + (1 - y^2) y''' - y'' \
             | -2, 6, 0 [1 - y^2], 1 | 5",
        ],
    );
}

/// The tide gauge: a chain rule inside a bracket inside a product.
#[test]
fn tide_gauge_rows() {
    let coefficient = n(2).add(&call(Cos, &n(2).mul(&x())));
    let gauge = explicit(n(0), vec![n(1), n(0)], vec![coefficient.mul(&y(0)).neg()]);
    assert_rows(
        &gauge,
        &[
            "y'' = -(2 + cos(2 x)) y | -3 | -3",
            "y''' = -(2 + cos(2 x)) y' + 2 sin(2 x) y | 0 [y'], 0 [sin(2 x)] | 0",
            "y(4) = -(2 + cos(2 x)) y'' + 2 sin(2 x) y' + 2 y' sin(2 x) + 4 y cos(2 x) \
             | y(4) = -(2 + cos(2 x)) y'' + 4 y' sin(2 x) + 4 y cos(2 x) \
             | 9, 0 [y'], 4 | 13",
        ],
    );
}

/// The variable in base and exponent.
#[test]
fn variable_exponent_rows() {
    let problem = explicit(n(0), vec![n(2)], vec![Expr::power(y(0), x())]);
    assert_rows(
        &problem,
        &[
            "y' = y^x | 1 | 1",
            "y'' = y^x (ln(y) + x y' y^-1) | ln(2) | ln(2)",
        ],
    );
    let only_exponent = explicit(n(0), vec![n(1)], vec![Expr::power(n(2), x())]);
    assert_rows(
        &only_exponent,
        &[
            "y' = 2^x | 1 | 1",
            "y'' = 2^x ln(2) | ln(2) | ln(2)",
            "y''' = ln(2) 2^x ln(2) | y''' = ln(2)^2 2^x | ln(2)^2 | ln(2)^2",
        ],
    );
}

#[test]
fn values_of_standard_equations() {
    // Tangent numbers 1, 2, 16, 272: DLMF §24.15(ii), (24.15.1) with Table 24.15.1; from memory.
    assert_values(
        &explicit(n(0), vec![n(0)], vec![n(1), y(0).square()]),
        &["0", "1", "0", "2", "0", "16", "0", "272"],
    );
    // f(z) = 1 + z³/3! + 1·4 z⁶/6! + 1·4·7 z⁹/9! + …: DLMF (9.4.1).
    assert_values(
        &airy(),
        &["1", "0", "0", "1", "0", "0", "4", "0", "0", "28"],
    );
    // ln(1 + x).
    assert_values(
        &explicit(n(0), vec![n(0)], vec![call(Exp, &y(0).neg())]),
        &["0", "1", "-1", "2", "-6", "24", "-120"],
    );
    // Mooring cable: y″ = √(1 + y′²), the catenary cosh x.
    assert_values(
        &explicit(
            n(0),
            vec![n(1), n(0)],
            vec![n(1).add(&y(1).square()).sqrt()],
        ),
        &["1", "0", "1", "0", "1", "0", "1"],
    );
    // The leaning buoy, with friction; values from sympy 1.14 (differentiate and substitute).
    assert_values(
        &explicit(
            n(0),
            vec![n(1), n(0)],
            vec![
                y(1).mul(&q(-1, 2)),
                y(0).neg(),
                Expr::power(y(0), n(3)).neg(),
            ],
        ),
        &["1", "0", "-2", "1", "15/2", "-31/4"],
    );
    // y y″ = −y′², that is y² = 4 + 4x; values from sympy 1.14.
    assert_values(
        &standing(
            n(0),
            vec![n(2), n(1)],
            vec![y(1).square().div(&y(0)).neg()],
            (vec![y(0).mul(&y(2))], vec![y(1).square().neg()]),
        ),
        &["2", "1", "-1/2", "3/4", "-15/8", "105/16", "-945/32"],
    );
}

#[test]
fn values_may_be_closed_constants() {
    let swing = explicit(n(0), vec![n(1), n(0)], vec![call(Sin, &y(0)).neg()]);
    assert_rows(
        &swing,
        &[
            "y'' = -sin(y) | -sin(1) | -sin(1)",
            "y''' = -cos(y) y' | 0 [y'] | 0",
            "y(4) = -y'' cos(y) + y' sin(y) y' | y(4) = -y'' cos(y) + y'^2 sin(y) \
             | sin(1) cos(1), 0 [y'] | sin(1) cos(1)",
        ],
    );
}

#[test]
fn traces_name_the_rules_in_order() {
    fn names(trace: &Trace, depth: usize, into: &mut Vec<String>) {
        into.push(format!(
            "{}{}: {} -> {}",
            "  ".repeat(depth),
            trace.rule.entry().name,
            show(&trace.input),
            show(&trace.output)
        ));
        for child in &trace.children {
            names(child, depth + 1, into);
        }
    }
    let cubic = n(3).mul(&Expr::power(x(), n(2))).mul(&call(Sin, &y(0)));
    let problem = explicit(n(1), vec![n(0)], vec![cubic]);
    let derivation = derived(&problem, Route::Solved, 2);
    let crate::derivation::RowKind::Worked { right, .. } = &derivation.rows[2].kind else {
        panic!("worked");
    };
    let mut lines = Vec::new();
    names(&right.traces[0], 0, &mut lines);
    assert_eq!(
        lines,
        [
            "constant multiple: 3 x^2 sin(y) -> 3 (2 x sin(y) + x^2 cos(y) y')",
            "  product rule: x^2 sin(y) -> 2 x sin(y) + x^2 cos(y) y'",
            "    power rule: x^2 -> 2 x",
            "      independent variable: x -> 1",
            "    chain rule: sin(y) -> cos(y) y'",
            "      derivative of the unknown: y -> y'",
        ]
    );
    assert_eq!(right.traces[0].rule, Rule::ConstantMultiple);
}

#[test]
fn ancestry_leads_from_a_term_to_the_terms_before() {
    let derivation = derived(&airy(), Route::Solved, 4);
    let sides: Vec<_> = derivation
        .rows
        .iter()
        .filter_map(|row| match &row.kind {
            crate::derivation::RowKind::Worked { right, .. } => Some(right),
            _ => None,
        })
        .collect();
    let [first, second, third] = sides.as_slice() else {
        panic!("three rows");
    };
    let parent = first.combined[0].id;
    assert!(second.obtained.iter().all(|term| term.sources == [parent]));
    // 2 y' comes from the derivatives of y and of x y'.
    let two = &third.combined[0];
    assert_eq!(show(&two.expression), "2 y'");
    let origins: Vec<usize> = third
        .obtained
        .iter()
        .filter(|term| two.sources.contains(&term.id))
        .flat_map(|term| term.sources.clone())
        .collect();
    assert_eq!(origins, [second.combined[0].id, second.combined[1].id]);
}

/// Two ferries' batteries: y′ = z, z′ = −y with y(0) = 0, z(0) = 1. Unknowns take turns.
#[test]
fn systems_take_turns() {
    let mut problem = explicit(n(0), vec![n(0)], vec![Expr::derivative(1, 0)]);
    let mut second = explicit(n(0), vec![n(1)], vec![y(0).neg()]);
    problem.unknowns.append(&mut second.unknowns);
    problem.initial.append(&mut second.initial);
    problem.equations.append(&mut second.equations);
    problem.equations[1].unknown = 1;
    problem.equations[1].standing.0 = vec![Expr::derivative(1, 1)];
    for route in [Route::Solved, Route::Standing] {
        let derivation = derive(&problem, route, 3, &Budget::PAGE);
        assert_eq!(check(&problem, &derivation).defects, []);
        assert_eq!(
            texts(&derivation),
            [
                "y' = z | 1 | 1",
                "z' = -y | 0 [y] | 0",
                "y'' = z' | 0 [z'] | 0",
                "z'' = -y' | -1 | -1",
                "y''' = z'' | -1 | -1",
                "z''' = -y'' | 0 [y''] | 0",
            ]
        );
    }
}
