//! Rows of the equation as it stands, and Leibniz's rule.

use super::support::*;
use crate::budget::Budget;
use crate::derivation::{RowKind, StopReason, derive, leibniz};
use crate::expression::Expr;
use crate::expression::Function::{Exp, Sin};
use crate::problem::{Problem, Route};

/// (4 + x²) y″ + 3 y = 0.
fn gauge() -> Problem {
    let coefficient = n(4).add(&x().square());
    standing(
        n(0),
        vec![n(1), n(2)],
        vec![n(-3).mul(&y(0)).div(&coefficient)],
        (vec![coefficient.mul(&y(2)), n(3).mul(&y(0))], vec![]),
    )
}

/// Legendre's equation with n = 3 about 0: P₃ = (5x³ − 3x)/2.
fn legendre() -> Problem {
    let leading = n(1).sub(&x().square());
    standing(
        n(0),
        vec![n(0), q(-3, 2)],
        vec![
            n(2).mul(&x()).mul(&y(1)).div(&leading),
            n(-12).mul(&y(0)).div(&leading),
        ],
        (
            vec![
                leading.mul(&y(2)),
                n(-2).mul(&x()).mul(&y(1)),
                n(12).mul(&y(0)),
            ],
            vec![n(0)],
        ),
    )
}

/// x y″ − 2 y′ = x² about 3.
fn about_three() -> Problem {
    standing(
        n(3),
        vec![n(1), n(1)],
        vec![n(2).mul(&y(1)).div(&x()), x()],
        (vec![x().mul(&y(2)), n(-2).mul(&y(1))], vec![x().square()]),
    )
}

#[test]
fn rows_with_a_bracket_in_front() {
    let derivation = derived(&gauge(), Route::Standing, 4);
    assert_eq!(
        texts(&derivation),
        [
            "(4 + x^2) y'' + 3 y = 0 | 3 | -3/4",
            "(4 + x^2) y''' + 2 x y'' + 3 y' = 0 | 0 [x], 6 | -3/2",
            "(4 + x^2) y(4) + 2 x y''' + 2 y'' + 2 x y''' + 3 y'' = 0 \
             | (4 + x^2) y(4) + 4 x y''' + 5 y'' = 0 | 0 [x], -15/4 | 15/16",
        ]
    );
    let RowKind::Worked {
        leading_value,
        rest_value,
        ..
    } = &derivation.rows[4].kind
    else {
        panic!("worked");
    };
    assert_eq!(leading_value.as_ref(), Some(&n(4)));
    assert_eq!(rest_value.as_ref(), Some(&q(15, 4)));
}

#[test]
fn rows_with_terms_on_both_sides() {
    let derivation = derived(&about_three(), Route::Standing, 6);
    assert_eq!(
        texts(&derivation)[..3],
        [
            "x y'' - 2 y' = x^2 | -2, 9 | 11/3",
            "y'' + x y''' - 2 y'' = 2 x | -y'' + x y''' = 2 x | -11/3, 6 | 29/9",
            "-y''' + y''' + x y(4) = 2 | x y(4) = 2 | 2 | 2/3",
        ]
    );
    // From sympy 1.14, differentiating the solved form.
    let expected = ["1", "1", "11/3", "29/9", "2/3", "-2/9", "4/27"];
    assert_eq!(values(&derivation), expected);
}

#[test]
fn both_routes_find_the_same_values() {
    for (problem, expected) in [
        (
            gauge(),
            vec![
                "1", "2", "-3/4", "-3/2", "15/16", "27/8", "-225/64", "-621/32",
            ],
        ),
        (legendre(), vec!["0", "-3/2", "0", "15", "0", "0", "0", "0"]),
        (
            about_three(),
            vec!["1", "1", "11/3", "29/9", "2/3", "-2/9", "4/27"],
        ),
    ] {
        for route in [Route::Solved, Route::Standing] {
            let derivation = derived(&problem, route, expected.len() - 1);
            assert_eq!(values(&derivation), expected, "{route:?}");
        }
    }
}

/// The new derivative inside a bracket, and on both sides.
#[test]
fn highest_derivative_in_a_bracket() {
    // e^x (x + y″) + y = 2 y″ about 0, so y″(0) = 1 for y(0) = 1.
    let bracket = x().add(&y(2));
    let leading = call(Exp, &x()).sub(&n(2));
    let solved = y(0).add(&x().mul(&call(Exp, &x()))).neg().div(&leading);
    let problem = standing(
        n(0),
        vec![n(1), n(1)],
        vec![solved],
        (
            vec![call(Exp, &x()).mul(&bracket), y(0)],
            vec![n(2).mul(&y(2))],
        ),
    );
    let standing_route = derived(&problem, Route::Standing, 6);
    let solved_route = derived(&problem, Route::Solved, 6);
    assert_eq!(values(&standing_route), values(&solved_route));
    assert_eq!(values(&standing_route)[2], "1");
}

/// Row by row, and all at once by Leibniz's rule.
#[test]
fn leibniz_gives_the_same_as_row_by_row() {
    let shown = |term: &Expr, times| -> Option<Vec<String>> {
        Some(
            leibniz(term, times)?
                .iter()
                .map(|t| show(&t.product))
                .collect(),
        )
    };
    let product = n(4).add(&x().square()).mul(&y(2));
    assert_eq!(
        shown(&product, 3).expect("a polynomial in front"),
        ["(4 + x^2) y(5)", "6 x y(4)", "6 y'''"]
    );
    assert_eq!(shown(&n(3).mul(&y(0)), 5).expect("constant"), ["3 y(5)"]);
    assert_eq!(shown(&product, 0).expect("itself"), ["(4 + x^2) y''"]);
    assert_eq!(leibniz(&y(0).mul(&y(1)), 2), None);
    assert_eq!(leibniz(&call(Sin, &x()).mul(&y(1)), 2), None);
    assert_eq!(leibniz(&x().square(), 2), None);

    for problem in [gauge(), legendre(), about_three()] {
        let derivation = derived(&problem, Route::Standing, 9);
        let (terms, _) = &problem.equations[0].standing;
        for (row, times) in derivation.rows.iter().skip(2).zip(0..) {
            let RowKind::Worked { left, .. } = &row.kind else {
                panic!("worked");
            };
            let by_rows = Expr::sum(left.combined.iter().map(|t| t.expression.clone()).collect());
            let at_once: Vec<Expr> = terms
                .iter()
                .flat_map(|term| leibniz(term, times).expect("polynomial coefficients"))
                .map(|term| term.product)
                .collect();
            assert_eq!(by_rows, Expr::sum(at_once), "{times}");
        }
    }
}

#[test]
fn a_vanishing_leading_value_stops_the_work() {
    let problem = standing(
        n(0),
        vec![n(1), n(0)],
        vec![],
        (vec![x().mul(&y(2)), y(0)], vec![]),
    );
    let derivation = derive(&problem, Route::Standing, 5, &Budget::PAGE);
    let last = derivation.rows.last().expect("rows");
    assert!(matches!(
        last.kind,
        RowKind::Stopped {
            reason: StopReason::LeadingZero,
            ..
        }
    ));
    assert_eq!((derivation.rows.len(), &last.value), (3, &None));
}

#[test]
fn a_square_of_the_highest_derivative_is_refused() {
    let problem = standing(
        n(0),
        vec![n(1)],
        vec![],
        (vec![y(1).square(), y(1)], vec![y(0)]),
    );
    let derivation = derive(&problem, Route::Standing, 2, &Budget::PAGE);
    assert!(matches!(
        &derivation.rows[1].kind,
        RowKind::Stopped {
            reason: StopReason::NotLinear(term),
            ..
        } if *term == y(1).square()
    ));
}
