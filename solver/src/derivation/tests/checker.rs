//! The checker notices whatever is tampered with.

use super::support::*;
use crate::budget::Budget;
use crate::derivation::{
    DefectKind, Derivation, Row, RowKind, Rule, Side, StopReason, Trace, check, derive,
};
use crate::expression::Expr;
use crate::expression::Function::{Cos, Sin};
use crate::expression::{Undefined, UndefinedReason};
use crate::problem::{Problem, Route};

/// (2 + x) y″ + sin y · y′ − 3 y = x/(1 + y) at 0 with y(0) = 1, y′(0) = 0: every rule but the
/// variable exponent occurs.
fn rich() -> Problem {
    let left = vec![
        n(2).add(&x()).mul(&y(2)),
        call(Sin, &y(0)).mul(&y(1)),
        n(-3).mul(&y(0)),
    ];
    let right = vec![x().div(&n(1).add(&y(0)))];
    let leading = n(2).add(&x());
    let solved = vec![
        right[0].div(&leading),
        left[1].neg().div(&leading),
        left[2].neg().div(&leading),
    ];
    standing(n(0), vec![n(1), n(0)], solved, (left, right))
}

fn sides(derivation: &mut Derivation, order: usize) -> (&mut Side, &mut Side) {
    match &mut derivation.rows[order].kind {
        RowKind::Worked { left, right, .. } => (left, right),
        other => panic!("row {order} is {other:?}"),
    }
}

fn found(problem: &Problem, derivation: &Derivation) -> Vec<(usize, DefectKind)> {
    let defects = check(problem, derivation).defects;
    defects.iter().map(|d| (d.row, d.kind)).collect()
}

fn twice(expression: &Expr) -> Expr {
    n(2).mul(expression)
}

type Mutation = (&'static str, usize, DefectKind, fn(&mut Derivation));

const MUTATIONS: &[Mutation] = &[
    ("a term as obtained", 4, DefectKind::Obtained, |d| {
        let term = &mut sides(d, 4).0.obtained[1];
        term.expression = twice(&term.expression);
    }),
    (
        "a term as obtained, against forward differentiation",
        4,
        DefectKind::Derivative,
        |d| {
            let term = &mut sides(d, 4).0.obtained[1];
            term.expression = twice(&term.expression);
        },
    ),
    (
        "a term as obtained is dropped",
        4,
        DefectKind::Obtained,
        |d| {
            sides(d, 4).0.obtained.pop();
        },
    ),
    ("a trace's output", 4, DefectKind::TraceOutput, |d| {
        let trace = &mut sides(d, 4).0.traces[0];
        trace.output = twice(&trace.output);
    }),
    ("an inner trace's output", 4, DefectKind::TraceOutput, |d| {
        let child = &mut sides(d, 4).0.traces[0].children[0];
        child.output = twice(&child.output);
    }),
    ("a trace's rule", 4, DefectKind::TraceInput, |d| {
        sides(d, 4).0.traces[0].rule = Rule::Quotient;
    }),
    ("a trace for another term", 4, DefectKind::TraceInput, |d| {
        sides(d, 4).0.traces.swap(0, 1);
    }),
    (
        "an inner trace for another factor",
        4,
        DefectKind::TraceInput,
        |d| {
            sides(d, 4).0.traces[0].children.reverse();
        },
    ),
    ("a missing trace", 4, DefectKind::TraceInput, |d| {
        sides(d, 4).1.traces.pop();
    }),
    ("a combined term", 4, DefectKind::Combined, |d| {
        let term = &mut sides(d, 4).0.combined[1];
        term.expression = twice(&term.expression);
    }),
    ("a combined term is dropped", 4, DefectKind::Combined, |d| {
        let side = sides(d, 4).0;
        side.combined.pop();
        side.values.pop();
    }),
    (
        "two combined terms change places",
        4,
        DefectKind::LikeTerms,
        |d| {
            sides(d, 4).0.combined.swap(0, 1);
        },
    ),
    (
        "a source that does not exist",
        4,
        DefectKind::Sources,
        |d| {
            sides(d, 4).0.combined[0].sources = vec![100_000];
        },
    ),
    (
        "a term from the wrong parent",
        4,
        DefectKind::Obtained,
        |d| {
            let side = sides(d, 4).0;
            let other = side.obtained.last().expect("terms").sources.clone();
            side.obtained[0].sources = other;
        },
    ),
    ("an identifier twice", 4, DefectKind::Identifier, |d| {
        let side = sides(d, 4).0;
        side.combined[0].id = side.obtained[0].id;
    }),
    ("a term's value", 4, DefectKind::TermValue, |d| {
        let value = sides(d, 4).0.values.last_mut().expect("values");
        value.value = value.value.as_ref().map(|v| v.add(&n(1)));
    }),
    ("a term's value is missing", 4, DefectKind::TermValue, |d| {
        sides(d, 4).0.values.last_mut().expect("values").value = None;
    }),
    ("a value is dropped", 4, DefectKind::TermValue, |d| {
        sides(d, 4).0.values.pop();
    }),
    (
        "a factor that is not zero",
        4,
        DefectKind::ZeroFactor,
        |d| {
            sides(d, 4).0.values[1].zero_factor = Some(n(2).add(&x()));
        },
    ),
    ("a factor of another term", 4, DefectKind::ZeroFactor, |d| {
        let x_is_zero = Some(x());
        sides(d, 4).0.values.last_mut().expect("values").zero_factor = x_is_zero;
    }),
    ("the row's value", 3, DefectKind::Value, |d| {
        d.rows[3].value = Some(n(17));
    }),
    (
        "the row's value, against the leading value",
        3,
        DefectKind::Leading,
        |d| {
            d.rows[3].value = Some(n(17));
        },
    ),
    ("no leading value", 3, DefectKind::Leading, |d| {
        if let RowKind::Worked { leading_value, .. } = &mut d.rows[3].kind {
            *leading_value = None;
        }
    }),
    ("a wrong leading value", 3, DefectKind::Leading, |d| {
        if let RowKind::Worked { leading_value, .. } = &mut d.rows[3].kind {
            *leading_value = Some(n(5));
        }
    }),
    ("an initial value", 1, DefectKind::InitialValue, |d| {
        d.rows[1].value = Some(n(9));
    }),
    ("the equation", 2, DefectKind::Given, |d| {
        let term = &mut sides(d, 2).1.obtained[0];
        term.expression = twice(&term.expression);
    }),
    ("a row is dropped", 3, DefectKind::RowOrder, |d| {
        d.rows.remove(3);
    }),
    ("a row after giving up", 4, DefectKind::RowOrder, |d| {
        d.rows[3] = Row {
            kind: RowKind::SeriesOnly,
            ..d.rows[3].clone()
        };
    }),
    ("a stop without a reason", 4, DefectKind::Stopped, |d| {
        let (left, right) = sides(d, 4);
        let (left, right) = (left.clone(), right.clone());
        let term = left.combined[2].expression.clone();
        let because = Undefined {
            reason: UndefinedReason::DivisionByZero,
            expression: term.clone(),
        };
        let reason = StopReason::Undefined { term, because };
        d.rows.truncate(5);
        d.rows[4].kind = RowKind::Stopped {
            left,
            right,
            reason,
        };
        d.rows[4].value = None;
    }),
];

#[test]
fn every_mutation_is_noticed_in_its_row() {
    let problem = rich();
    let clean = derived(&problem, Route::Standing, 5);
    for (what, row, kind, mutate) in MUTATIONS {
        let mut tampered = clean.clone();
        mutate(&mut tampered);
        assert_ne!(tampered, clean, "{what}: nothing was changed");
        let found = found(&problem, &tampered);
        assert!(found.contains(&(*row, *kind)), "{what}: {found:?}");
    }
}

/// Every output in every trace of every row matters.
#[test]
fn no_trace_output_can_be_changed() {
    fn outputs(trace: &mut Trace) -> Vec<&mut Expr> {
        let mut all = vec![&mut trace.output];
        for child in &mut trace.children {
            all.extend(outputs(child));
        }
        all
    }
    fn all_outputs(derivation: &mut Derivation) -> Vec<&mut Expr> {
        let mut all = Vec::new();
        for row in &mut derivation.rows {
            if let RowKind::Worked { left, right, .. } = &mut row.kind {
                for trace in left.traces.iter_mut().chain(&mut right.traces) {
                    all.extend(outputs(trace));
                }
            }
        }
        all
    }
    let problem = rich();
    for route in [Route::Standing, Route::Solved] {
        let mut derivation = derived(&problem, route, 4);
        let count = all_outputs(&mut derivation).len();
        assert!(count > 40, "{count}");
        for index in 0..count {
            let mut tampered = derivation.clone();
            if let Some(output) = all_outputs(&mut tampered).into_iter().nth(index) {
                *output = output.add(&x());
            }
            let found = found(&problem, &tampered);
            let noticed = found
                .iter()
                .any(|(_, kind)| *kind == DefectKind::TraceOutput);
            assert!(noticed, "{route:?} {index}: {found:?}");
        }
    }
}

#[test]
fn the_rich_problem_uses_the_rules_it_is_meant_to() {
    fn collect(trace: &Trace, into: &mut std::collections::BTreeSet<Rule>) {
        into.insert(trace.rule);
        for child in &trace.children {
            collect(child, into);
        }
    }
    let derivation = derived(&rich(), Route::Standing, 5);
    let mut rules = std::collections::BTreeSet::new();
    for row in &derivation.rows {
        if let RowKind::Worked { left, right, .. } = &row.kind {
            for trace in left.traces.iter().chain(&right.traces) {
                collect(trace, &mut rules);
            }
        }
    }
    let expected = [
        Rule::Constant,
        Rule::Variable,
        Rule::Unknown,
        Rule::ConstantMultiple,
        Rule::Sum,
        Rule::Product,
        Rule::Quotient,
        Rule::Power,
        Rule::Chain,
    ];
    assert_eq!(rules.into_iter().collect::<Vec<_>>(), expected);
}

#[test]
fn outgrown_rows_are_left_to_series_arithmetic() {
    let tight = Budget {
        terms: 4,
        ..Budget::PAGE
    };
    let product = call(Sin, &x()).mul(&call(Cos, &y(0))).mul(&y(1));
    let problem = explicit(n(0), vec![n(1), n(1)], vec![product]);
    let derivation = derive(&problem, Route::Solved, 6, &tight);
    let kinds: Vec<bool> = derivation
        .rows
        .iter()
        .map(|row| row.kind == RowKind::SeriesOnly)
        .collect();
    assert_eq!(kinds, [false, false, false, false, true, true, true]);
    assert_eq!(check(&problem, &derivation).defects, []);

    let few_nodes = Budget {
        nodes: 10,
        ..Budget::PAGE
    };
    let derivation = derive(&problem, Route::Solved, 6, &few_nodes);
    assert_eq!(derivation.rows[3].kind, RowKind::SeriesOnly);
    assert_eq!(derivation.rows[3].value, None);
}

#[test]
fn values_can_be_supplied_to_outgrown_rows_only() {
    let tight = Budget {
        terms: 1,
        ..Budget::PAGE
    };
    let problem = explicit(n(0), vec![n(1)], vec![y(0).mul(&x())]);
    let mut deriver = crate::derivation::Deriver::new(&problem, Route::Solved, &tight);
    for _ in 0..3 {
        deriver.next_row();
    }
    assert!(!deriver.supply(0, 1, n(5)));
    assert!(deriver.supply(0, 2, n(1)));
    assert!(!deriver.supply(0, 2, n(1)));
    assert!(!deriver.supply(0, 3, n(1)));
    let derivation = deriver.finish();
    assert_eq!(derivation.rows[2].value, Some(n(1)));
    assert_eq!(check(&problem, &derivation).defects, []);
}

#[test]
fn rows_without_a_value_stop_the_work() {
    // 1/x at 0 has no value; y^(1/2) at y = 0 has one, its derivative does not.
    let pole = explicit(n(0), vec![n(1)], vec![y(0).div(&x())]);
    let root = explicit(n(0), vec![n(0)], vec![x().add(&y(0).sqrt())]);
    for (problem, rows) in [(pole, 2), (root, 3)] {
        let derivation = derive(&problem, Route::Solved, 6, &Budget::PAGE);
        assert_eq!(derivation.rows.len(), rows);
        let last = derivation.rows.last().expect("rows");
        assert!(matches!(
            last.kind,
            RowKind::Stopped {
                reason: StopReason::Undefined { .. },
                ..
            }
        ));
        assert_eq!(check(&problem, &derivation).defects, []);
    }
}

/// As deep as the parser lets anything be: the derivative alone has thousands of nodes, and its
/// value would be multiplied out at sixty levels.
#[test]
fn deep_nesting_is_left_to_series_arithmetic() {
    let nested = (0..60).fold(y(0), |inner, _| call(Sin, &inner.add(&x())));
    let problem = explicit(n(0), vec![n(1)], vec![nested]);
    let derivation = derive(&problem, Route::Solved, 4, &Budget::PAGE);
    let in_full = |row: &&Row| row.kind != RowKind::SeriesOnly;
    assert_eq!(derivation.rows.len(), 5);
    assert_eq!(derivation.rows.iter().filter(in_full).count(), 2);
    assert_eq!(check(&problem, &derivation).defects, []);
}

/// y″ = √(1 + y′²)/3: the cable.
fn cable() -> Problem {
    let root = n(1).add(&y(1).square()).sqrt();
    explicit(n(0), vec![n(3), q(3, 4)], vec![root.mul(&q(1, 3))])
}

#[test]
fn a_root_cancels_when_the_equation_is_put_in() {
    let derivation = derive(&cable(), Route::Solved, 6, &Budget::PAGE);
    let line = |order: usize| -> Vec<Expr> {
        let RowKind::Worked { right, .. } = &derivation.rows[order].kind else {
            panic!("row {order}");
        };
        right
            .combined
            .iter()
            .map(|term| term.expression.clone())
            .collect()
    };
    let ninth = q(1, 9);
    assert_eq!(line(3), [y(1).mul(&ninth)]);
    assert_eq!(line(4), [y(2).mul(&ninth)]);
    assert_eq!(found(&cable(), &derivation), []);
    // Put in wrongly, or another line than the one that it was put into: noticed.
    let mut wrong = derivation.clone();
    let term = &mut sides(&mut wrong, 3).1.combined[0];
    term.expression = twice(&term.expression);
    assert!(found(&cable(), &wrong).contains(&(3, DefectKind::Combined)));
    let mut wrong = derivation;
    let term = &mut sides(&mut wrong, 3).1.before_put_in[0];
    term.expression = twice(&term.expression);
    assert!(found(&cable(), &wrong).contains(&(3, DefectKind::Combined)));
}

#[test]
fn what_gets_no_shorter_is_not_put_in() {
    // y′ = √(x + y) gives (1 + y′)/(2√(x + y)): longer with √(x + y) in place of y′.
    let problem = explicit(n(0), vec![n(1)], vec![x().add(&y(0)).sqrt()]);
    let derivation = derive(&problem, Route::Solved, 3, &Budget::PAGE);
    for row in &derivation.rows {
        if let RowKind::Worked { right, .. } = &row.kind {
            assert!(right.before_put_in.is_empty(), "row {}", row.order);
        }
    }
    assert_eq!(found(&problem, &derivation), []);
}
