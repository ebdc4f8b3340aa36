//! When the two ways of finding the values do not agree.

use super::*;
use crate::document::whole::{self, Depth};
use crate::number::rational::ratio;

/// The float that leans (u″ = −u − u³/5), with the coefficient of degree `order` by series
/// arithmetic replaced.
fn tampered(order: usize, change: &dyn Fn(&Expr) -> Expr) -> Worksheet {
    let request = Request {
        equation: "u'' + u + u^3/5 = 0".to_owned(),
        conditions: "u(0) = 1, u'(0) = 0".to_owned(),
        degree: "6".to_owned(),
        ..Request::default()
    };
    let budget = Budget::PAGE;
    let (problem, diagnostics) = problem::understand(
        &request.equation,
        &request.conditions,
        &request.degree,
        &budget,
    );
    assert_eq!(diagnostics, []);
    let problem = problem.expect("a problem");
    let mut wanted = terms::degree(&problem, &request.degree, &budget);
    wanted.coefficients[0][order] = change(&wanted.coefficients[0][order]);
    let derivation = derivation::derive(&problem, Route::Solved, 6, &budget);
    let comparison = check::compare(&derivation, &wanted.coefficients, 6);
    let worksheet = Worksheet {
        request,
        ..Worksheet::default()
    };
    present(
        worksheet,
        problem,
        derivation,
        comparison,
        &wanted,
        (&budget, &mut |_| true),
    )
}

fn row_text(worksheet: &Worksheet, key: &str) -> String {
    let rows = worksheet.document.rows.iter().filter(|row| row.key == key);
    let document = Document {
        rows: rows.cloned().collect(),
        ..Document::default()
    };
    whole::to_plain(&document, Depth::Lines)
}

#[test]
fn values_that_differ_are_an_error_and_a_marked_row() {
    let worksheet = tampered(4, &|c| c.add(&Expr::int(1)));
    assert!(worksheet.has_error());
    let codes: Vec<&str> = worksheet.diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(codes, ["routes-disagree"]);
    assert!(worksheet.diagnostics[0].message.contains("order 4"));
    // The page keeps its ledger; only the row in question is marked.
    let marked: Vec<&str> = worksheet
        .document
        .rows
        .iter()
        .filter(|row| row.checked == Some(false))
        .map(|row| row.key.as_str())
        .collect();
    assert_eq!(marked, ["order-4"]);
    // 4! (2/25 + 1)
    let text = row_text(&worksheet, "order-4");
    assert!(
        text.contains("Series arithmetic gives u^(4)(0) = 648/25, another value"),
        "{text}"
    );
    assert!(!row_text(&worksheet, "order-6").contains("Series arithmetic"));
    // The command has nothing but the diagnostic, and no numerical solution is built on it.
    let json: serde_json::Value = serde_json::from_str(&export::json(&worksheet)).expect("JSON");
    let keys: Vec<&String> = json.as_object().expect("an object").keys().collect();
    assert_eq!(keys, ["diagnostics"]);
    let whole = complete(worksheet, &Budget::PAGE, &mut |_| true);
    assert!(whole.reference.is_none() && whole.plot.is_none());
    assert_eq!(whole.document.strip.len(), 7);
}

#[test]
fn values_that_cannot_be_told_apart_are_said_to_be_undecided() {
    // Zero, but no normal form shows it: ∛(∛2 − 1) = ∛(1/9) − ∛(2/9) + ∛(4/9) (Ramanujan,
    // J. Indian Math. Soc., question 525; from memory).
    let cube_root = |value: Expr| Expr::power(value, Expr::number(ratio(1, 3)));
    let ninth = |n: i64| cube_root(Expr::number(ratio(n, 9)));
    let hidden = cube_root(cube_root(Expr::int(2)).sub(&Expr::one()))
        .sub(&ninth(1))
        .add(&ninth(2))
        .sub(&ninth(4));
    assert_eq!(
        crate::expression::zero_test(&hidden),
        crate::expression::Truth::Undecided,
        "the example is not hard enough"
    );
    let worksheet = tampered(4, &|c| c.add(&hidden));
    assert!(!worksheet.has_error());
    let codes: Vec<&str> = worksheet.diagnostics.iter().map(|d| d.code).collect();
    assert_eq!(codes, ["agreement-undecided"]);
    let text = row_text(&worksheet, "order-4");
    assert!(text.contains("cannot be decided"), "{text}");
    assert_eq!(worksheet.table[0][4].agreed(), None);
    assert_eq!(worksheet.table[0][6].agreed(), Some(true));
}

#[test]
fn a_value_taken_from_series_arithmetic_is_not_called_compared() {
    let request = Request {
        equation: "h' = (1 + t h)^3 (2 + h^2) / (1 + t^2)".to_owned(),
        conditions: "h(0) = 1".to_owned(),
        degree: "30".to_owned(),
        ..Request::default()
    };
    let worksheet = prepare(&request, &Budget::PAGE, &mut |_| true);
    assert!(!worksheet.has_error());
    let last = worksheet.table[0].last().expect("entries");
    assert_eq!(last.agreement, check::Agreement::OneRoute);
    let row = worksheet
        .document
        .rows
        .iter()
        .find(|row| row.key == "order-30");
    assert_eq!(row.and_then(|row| row.checked), None);
    assert!(row_text(&worksheet, "order-30").contains("from series arithmetic alone"));
}

/// Numbers that only their equation gives, with functions and irrational numbers in it: the values have
/// them in their divisors, and both routes must be seen to agree on every one.
#[test]
fn values_with_roots_beyond_the_rational_are_seen_to_agree() {
    for (equation, conditions, first) in [
        ("y' = cos y' + x y", "y(0) = 1", 2),
        ("e^(y') + y' = 2 + x y", "y(0) = 1", 2),
        ("y'^3 + √2 y' = 1 + x y", "y(0) = 1", 2),
        ("y'^3 + y' = π + y", "y(0) = 0", 2),
        ("y'' = cos y'' + x y", "y(0) = 1, y'(0) = 0", 3),
        ("y' e^(y') = 1 + x + y", "y(0) = 0, y'(0) ≈ 0.57", 2),
    ] {
        let request = Request {
            equation: equation.to_owned(),
            conditions: conditions.to_owned(),
            degree: "9".to_owned(),
            ..Request::default()
        };
        let worksheet = prepare(&request, &Budget::PAGE, &mut |_| true);
        assert!(worksheet.diagnostics.is_empty(), "{equation}");
        let own = worksheet.table.first().expect("one unknown");
        assert_eq!(own.len(), 10, "{equation}");
        for entry in own.iter().skip(first) {
            assert_eq!(entry.agreed(), Some(true), "{equation}: {}", entry.order);
        }
    }
}
