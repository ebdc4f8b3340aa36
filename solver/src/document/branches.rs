//! An equation that is quadratic in its highest derivative, solved for it by radicals.

use std::cmp::Ordering;

use super::build;
use super::formula::Formula;
use super::ledger::{LedgerRow, Line, Prose, Role};
use super::line::{chain, lead, value_piece};
use super::names::Names;
use super::opening::plain_row;
use crate::derivation::{Demand, Derivation, RowKind, StopReason};
use crate::expression::{Expr, Symbol, Truth, evaluate, sign, zero_test};
use crate::number::rational::integer;
use crate::problem::Problem;

/// Longest radicand that is multiplied out.
const TERMS: usize = 20;

/// y′ = ±√(1 + y), and which sign the value at the center belongs to. `None` where the equation is not
/// quadratic in its highest derivative.
pub(super) fn row(
    problem: &Problem,
    derivation: &Derivation,
    names: &Names,
    center: &Formula,
) -> Option<LedgerRow> {
    let (left, right) = &problem.equations.first()?.standing;
    let minus = right.iter().map(Expr::neg);
    let whole = Expr::sum(left.iter().cloned().chain(minus).collect()).expand(TERMS * 4);
    let order = problem.unknowns.first()?.equation_order;
    let highest = Symbol::Derivative { unknown: 0, order };
    let coefficients = whole.polynomial_coefficients(&highest)?;
    let [c, b, a] = coefficients.as_slice() else {
        return None;
    };
    let root = |radicand: Expr| {
        let radicand = radicand.expand(TERMS);
        Formula::Root(Box::new(build::formula(&radicand, names)), None)
    };
    let solved = if b.is_zero() {
        Formula::row([Formula::Sign('±'), root(c.neg().div(a))])
    } else {
        let discriminant = b.square().sub(&a.mul(c).scale(&integer(4)));
        let above = Formula::row([
            build::formula(&b.neg(), names),
            Formula::Operator('±'),
            root(discriminant),
        ]);
        let below = build::formula(&a.scale(&integer(2)), names);
        Formula::Fraction(Box::new(above), Box::new(below))
    };
    let derivative = names.derivative(0, order as usize);
    let relation = Formula::row([Formula::Operator('='), solved]);
    let mut lines = vec![chain(
        "",
        vec![lead(derivative.clone()), value_piece(relation, Role::Term)],
    )];
    let head = Formula::value_at(derivative, center.clone());
    lines.extend(selected(problem, derivation, [a, b, c], &head, names).map(Line::Text));
    Some(plain_row(
        "branches",
        Prose::words("Solve for the highest derivative by radicals: two branches"),
        lines,
    ))
}

/// Which branch the value at the center belongs to.
fn selected(
    problem: &Problem,
    derivation: &Derivation,
    [a, b, c]: [&Expr; 3],
    head: &Formula,
    names: &Names,
) -> Option<Prose> {
    let order = problem.unknowns.first()?.equation_order as usize;
    let known: Vec<&Expr> = derivation
        .rows
        .iter()
        .filter_map(|row| row.value.as_ref())
        .collect();
    let at_data = |expression: &Expr| {
        evaluate(&expression.substitute(&|symbol| match symbol {
            Symbol::Variable => Some(problem.center.clone()),
            Symbol::Derivative { order, .. } => known.get(*order as usize).map(|v| (*v).clone()),
            Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        }))
        .ok()
    };
    // The sign of 2a y⁽ᵐ⁾ + b is that before the root; before √(−c/a), of y⁽ᵐ⁾ itself.
    let which = |value: &Expr| {
        let slope = a.mul(value).scale(&integer(2)).add(b);
        let slope = if b.is_zero() { value.clone() } else { slope };
        sign(&at_data(&slope)?)
    };
    let relation = |value: &Expr| Formula::equation(head.clone(), build::formula(value, names));
    let branch = |prose: Prose, sign: Ordering| {
        let sign = if sign == Ordering::Less { '−' } else { '+' };
        prose.math(Formula::Sign(sign))
    };
    let last = derivation.rows.last()?;
    if let RowKind::Stopped {
        reason: StopReason::Demand(Demand::Several(values)),
        ..
    } = &last.kind
        && last.order == order
    {
        let mut prose = Prose::words("At the data ");
        for (place, value) in values.iter().enumerate() {
            let start = prose.text(if place == 0 { "" } else { ", " });
            prose = branch(start, which(value)?)
                .text(" gives ")
                .math(relation(value));
        }
        return Some(prose.text(": the value that is added to the conditions chooses."));
    }
    let value = known.get(order)?;
    let meets = "At the data the root is zero: **the branches meet there**";
    // A root is not differentiable where its radicand has a simple zero.
    let discriminant = b.square().sub(&a.mul(c).scale(&integer(4)));
    let simple = discriminant.symbols().iter().any(|symbol| {
        at_data(&discriminant.partial(symbol))
            .is_some_and(|slope| zero_test(&slope) == Truth::NotZero)
    });
    let meets = Prose::words(meets).text(if simple {
        ", and the root is not differentiable. So neither branch is analytic at the data, and several solutions can go through them."
    } else {
        "."
    });
    let goes_on = " The equation as it stands is differentiated, which needs no root: a value chooses, once and for all orders.";
    Some(match which(value)? {
        Ordering::Equal => meets,
        own => branch(
            Prose::words("The value ")
                .math(relation(value))
                .text(" belongs to the branch with "),
            own,
        )
        .text(".")
        .text(goes_on),
    })
}
