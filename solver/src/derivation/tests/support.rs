//! Problems by hand, and rows as short text.

use num_traits::Signed;

use crate::budget::Budget;
use crate::derivation::{Derivation, Row, RowKind, Side, check, derive};
use crate::expression::{Expr, Function, Node, Symbol};
use crate::number::rational::ratio;
use crate::problem::{DegreeRequest, Equation, Justification, Problem, Route, Unknown};

pub(super) fn x() -> Expr {
    Expr::variable()
}

pub(super) fn y(order: u32) -> Expr {
    Expr::derivative(0, order)
}

pub(super) fn n(value: i64) -> Expr {
    Expr::int(value)
}

pub(super) fn q(numerator: i64, denominator: i64) -> Expr {
    Expr::number(ratio(numerator, denominator))
}

pub(super) fn call(function: Function, argument: &Expr) -> Expr {
    Expr::call(function, argument.clone())
}

/// y⁽ᵐ⁾ = `solved`, m initial values; standing form: everything on the right moved nowhere.
pub(super) fn explicit(center: Expr, initial: Vec<Expr>, solved: Vec<Expr>) -> Problem {
    let order = u32::try_from(initial.len()).expect("small");
    standing(center, initial, solved.clone(), (vec![y(order)], solved))
}

/// The same with a form to be differentiated as it stands.
pub(super) fn standing(
    center: Expr,
    initial: Vec<Expr>,
    solved: Vec<Expr>,
    sides: (Vec<Expr>, Vec<Expr>),
) -> Problem {
    let equation_order = u32::try_from(initial.len()).expect("small");
    Problem {
        independent: "x".into(),
        unknowns: vec![Unknown {
            name: "y".into(),
            equation_order,
        }],
        center,
        initial: vec![initial],
        also_given: Vec::new(),
        near: Vec::new(),
        equations: vec![Equation {
            given: sides.clone(),
            unknown: 0,
            standing: sides,
            leading: Expr::one(),
            solved,
            steps: Vec::new(),
            standing_steps: 0,
            default_route: Route::Solved,
            justification: Justification::AnalyticRightSide {
                polynomial: false,
                checked: Vec::new(),
            },
        }],
        parameters: Vec::new(),
        side_conditions: Vec::new(),
        degree: DegreeRequest::Degree(5),
    }
}

/// Derives, lets the checker replay it, and insists that it finds nothing and decides everything.
pub(super) fn derived(problem: &Problem, route: Route, up_to: usize) -> Derivation {
    let derivation = derive(problem, route, up_to, &Budget::PAGE);
    let report = check(problem, &derivation);
    assert_eq!(report.defects, [], "{:#?}", texts(&derivation));
    assert_eq!(report.undecided, 0);
    assert_eq!(report.rows, up_to + 1);
    derivation
}

pub(super) fn values(derivation: &Derivation) -> Vec<String> {
    let value = |row: &Row| row.value.as_ref().map_or("none".into(), show);
    derivation.rows.iter().map(value).collect()
}

/// One text per worked row; see [`row_text`].
pub(super) fn texts(derivation: &Derivation) -> Vec<String> {
    derivation
        .rows
        .iter()
        .filter(|row| row.kind != RowKind::Initial)
        .map(row_text)
        .collect()
}

/// `left = right, as obtained | the same with like terms combined, if that differs | values of
/// the terms, with the factor that is zero | the new value`.
pub(super) fn row_text(row: &Row) -> String {
    match &row.kind {
        RowKind::Initial => format!("initial {:?}", row.value),
        RowKind::SeriesOnly => format!("series {:?}", row.value),
        RowKind::Stopped {
            left,
            right,
            reason,
        } => format!("{} stopped {reason:?}", lines(left, right)),
        RowKind::Holds { left, right } => format!("{} holds", lines(left, right)),
        RowKind::Worked { left, right, .. } | RowKind::Chosen { left, right, .. } => {
            let value = row.value.as_ref().map_or("none".into(), show);
            let values: Vec<String> = left
                .values
                .iter()
                .chain(&right.values)
                .filter_map(|term| {
                    let value = show(term.value.as_ref()?);
                    Some(match &term.zero_factor {
                        Some(factor) => format!("{value} [{}]", show(factor)),
                        None => value,
                    })
                })
                .collect();
            format!("{} | {} | {value}", lines(left, right), values.join(", "))
        }
    }
}

fn lines(left: &Side, right: &Side) -> String {
    let line = |pick: fn(&Side) -> &Vec<super::super::Term>| {
        let side = |side| {
            let terms: Vec<Expr> = pick(side).iter().map(|t| t.expression.clone()).collect();
            show_sum(&terms)
        };
        format!("{} = {}", side(left), side(right))
    };
    let obtained = line(|side| &side.obtained);
    if left.combines() || right.combines() {
        format!("{obtained} | {}", line(|side| &side.combined))
    } else {
        obtained
    }
}

fn show_sum(terms: &[Expr]) -> String {
    let mut text = String::new();
    for term in terms {
        let shown = show(term);
        match (text.is_empty(), shown.strip_prefix('-')) {
            (true, _) => text = shown,
            (false, Some(rest)) => text = format!("{text} - {rest}"),
            (false, None) => text = format!("{text} + {shown}"),
        }
    }
    if text.is_empty() { "0".into() } else { text }
}

/// Textbook-like plain text.
pub(super) fn show(expression: &Expr) -> String {
    match expression.node() {
        Node::Number(value) => value.to_string(),
        Node::Symbol(Symbol::Variable) => "x".into(),
        Node::Symbol(Symbol::Pi) => "pi".into(),
        Node::Symbol(Symbol::Parameter(name)) => name.to_string(),
        Node::Symbol(Symbol::Root(root)) => root.letter().to_owned(),
        Node::Symbol(Symbol::Derivative { unknown, order }) => {
            let name = ["y", "z"].get(*unknown).copied().unwrap_or("u");
            match order {
                0..4 => format!("{name}{}", "'".repeat(*order as usize)),
                _ => format!("{name}({order})"),
            }
        }
        Node::Call(function, argument) => format!("{}({})", function.name(), show(argument)),
        Node::Power(base, exponent) => format!("{}^{}", atom(base), atom(exponent)),
        Node::Product(factors) => {
            let sign = factors.first().and_then(Expr::as_number);
            let (front, rest) = match (sign, factors.split_first()) {
                (Some(value), Some((_, rest))) if *value == ratio(-1, 1) => ("-".to_owned(), rest),
                (Some(value), Some((_, rest))) => (format!("{value} "), rest),
                _ => (String::new(), factors.as_slice()),
            };
            let rest: Vec<String> = rest.iter().map(atom).collect();
            front + &rest.join(" ")
        }
        Node::Sum(terms) => show_sum(terms),
    }
}

fn atom(expression: &Expr) -> String {
    let bare = match expression.node() {
        Node::Number(value) => value.is_integer() || value.is_negative(),
        Node::Symbol(_) | Node::Call(..) | Node::Power(..) => true,
        Node::Product(_) | Node::Sum(_) => false,
    };
    if bare {
        show(expression)
    } else {
        format!("({})", show(expression))
    }
}
