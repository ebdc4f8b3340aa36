//! Systems: every line replays on both routes, and mixed-up unknowns are noticed.

use crate::budget::Budget;
use crate::derivation::{DefectKind, Derivation, RowKind, check, derive};
use crate::expression::{Expr, Symbol};
use crate::problem::{Problem, Route, understand};

/// Equations and conditions of every kind: explicit, mixed orders, moving coefficients, highest
/// derivatives tied together, functions, letters.
const SYSTEMS: &[(&str, &str)] = &[
    ("N' = N(3 - C); C' = C(N - 2)", "N(0) = 1; C(0) = 2"),
    ("x'' = -3y; y' = x", "x(0) = 1, x'(0) = 0, y(0) = 2"),
    (
        "x' = y; y'' = x z; z''' = x + y",
        "x(1)=1, y(1)=0, y'(1)=1, z(1)=1, z'(1)=0, z''(1)=-1",
    ),
    (
        "(1 + t^2) u' = v; (2 + t) v'' = u v'",
        "u(0) = 1, v(0) = 2, v'(0) = -1",
    ),
    ("u' + t v' = u; u' - v' = 2v", "u(1/2) = 4; v(1/2) = 1"),
    (
        "(1 + u)u' + v' = w; u' + (2 + w) v' - w' = u v; v' + w' + u' = 1",
        "u(0)=1, v(0)=2, w(0)=1/5",
    ),
    ("u' = sin v; v' = e^(u - v)/(3 + u^2)", "u(0) = 0; v(0) = 1"),
    ("x' = a x - b x y; y' = b x y - y", "x(0) = c; y(0) = 1"),
];

fn read(equations: &str, conditions: &str) -> Problem {
    let (problem, said) = understand(equations, conditions, "5", &Budget::PAGE);
    problem.unwrap_or_else(|| panic!("{equations}: {said:?}"))
}

#[test]
fn every_line_of_a_system_replays_on_both_routes() {
    for (equations, conditions) in SYSTEMS {
        let problem = read(equations, conditions);
        for route in [Route::Solved, Route::Standing] {
            let derivation = derive(&problem, route, 5, &Budget::PAGE);
            let report = check(&problem, &derivation);
            assert_eq!(report.defects, [], "{equations} {route:?}");
            assert_eq!(report.undecided, 0, "{equations} {route:?}");
            for unknown in 0..problem.unknowns.len() {
                let own = derivation.rows.iter().filter(|row| row.unknown == unknown);
                assert!(own.clone().all(|row| row.value.is_some()), "{equations}");
                assert!(own.count() >= 6, "{equations} {route:?}");
            }
        }
    }
}

/// The other one of two unknowns in its place.
fn swapped(expression: &Expr) -> Expr {
    expression.substitute(&|symbol| match symbol {
        Symbol::Derivative { unknown, order } => Some(Expr::derivative(1 - unknown, *order)),
        _ => None,
    })
}

#[test]
fn mixed_up_unknowns_are_noticed() {
    let (equations, conditions) = SYSTEMS[0];
    let problem = read(equations, conditions);
    let derivation = derive(&problem, Route::Solved, 4, &Budget::PAGE);
    let tampered = |tamper: &dyn Fn(&mut Derivation)| -> Vec<(usize, DefectKind)> {
        let mut copy = derivation.clone();
        tamper(&mut copy);
        let defects = check(&problem, &copy).defects;
        defects.iter().map(|d| (d.row, d.kind)).collect()
    };
    assert_eq!(tampered(&|_| {}), []);
    // N″ with a term of C in place of one of N.
    let row = 4;
    let found = tampered(&|d| {
        if let RowKind::Worked { right, .. } = &mut d.rows[row].kind {
            let term = &mut right.obtained[1].expression;
            *term = swapped(term);
        }
    });
    assert!(found.contains(&(row, DefectKind::Obtained)), "{found:?}");
    let found = tampered(&|d| {
        if let RowKind::Worked { right, .. } = &mut d.rows[row].kind {
            let term = &mut right.combined[0].expression;
            *term = swapped(term);
        }
    });
    assert!(found.contains(&(row, DefectKind::Combined)), "{found:?}");
    // The value of C′ said of N′, and rows in another's place.
    let found = tampered(&|d| d.rows[2].value = d.rows[3].value.clone());
    assert!(found.contains(&(2, DefectKind::Value)), "{found:?}");
    let found = tampered(&|d| d.rows[row].unknown = 1);
    assert!(found.iter().any(|(at, _)| *at == row), "{found:?}");
    let found = tampered(&|d| d.rows.swap(0, 1));
    assert_eq!(found, [], "initial values may come in any order");
    let found = tampered(&|d| d.rows.swap(2, 4));
    assert!(!found.is_empty());
}
