//! The test of a formula, as a row of the ledger.

use super::build;
use super::closing::remaining;
use super::formula::Formula;
use super::ledger::{LedgerRow, Line, Prose, Role};
use super::line::{chain, lead, value_piece};
use super::names::Names;
use super::opening::plain_row;
use super::strip;
use crate::candidate::{Candidate, Tested, Verdict};
use crate::expression::Expr;
use crate::problem::Problem;

/// Derivatives with more nodes are not written out.
const READABLE: usize = 200;

/// The formula, its derivatives, both tests, the comparison of coefficients and the verdict.
pub fn row(candidate: &Candidate, problem: &Problem, names: &Names, center: &Formula) -> LedgerRow {
    let equals = |left: Formula| Formula::row([left, Formula::Operator('=')]);
    let equation = |label: &'static str, left: Formula, right: &Expr| {
        let value = build::formula(right, names);
        chain(label, vec![lead(left), value_piece(value, Role::Value)])
    };
    let mut lines: Vec<Line> = candidate
        .derivatives
        .iter()
        .enumerate()
        .filter(|(_, f)| f.size() <= READABLE)
        .map(|(order, f)| equation("", equals(names.derivative(0, order)), f))
        .collect();
    for tested in &candidate.conditions {
        lines.push(Line::Text(condition(tested, names, center)));
    }
    if let Some((left, right)) = &candidate.sides {
        lines.push(equation("left side", Formula::Operator('='), left));
        lines.push(equation("right side", Formula::Operator('='), right));
    }
    lines.push(Line::Text(sides(candidate, problem, names)));
    lines.push(Line::Text(coefficients(candidate, names)));
    lines.push(Line::Text(Prose::words(match candidate.verdict {
        Verdict::Satisfied => "**Satisfied**: this formula is the solution.",
        Verdict::NotSatisfied => "**Not satisfied**: this formula is not the solution.",
        Verdict::CannotDecide => "**Cannot decide** whether this formula is the solution.",
    })));
    plain_row(
        "candidate",
        Prose::words("The formula to test, put in"),
        lines,
    )
}

fn condition(tested: &Tested, names: &Names, center: &Formula) -> Prose {
    let head = Formula::value_at(names.derivative(0, tested.order), center.clone());
    let Some(value) = &tested.value else {
        return Prose::words("Condition: the formula gives no value for ")
            .math(head)
            .text(".");
    };
    let says =
        Prose::words("Condition: ").math(Formula::equation(head, build::formula(value, names)));
    match tested.verdict {
        Verdict::Satisfied => says.text(", as given: satisfied."),
        Verdict::NotSatisfied => says
            .text(", but ")
            .math(build::formula(&tested.wanted, names))
            .text(" is given: **not satisfied**."),
        Verdict::CannotDecide => says
            .text("; whether this is exactly ")
            .math(build::formula(&tested.wanted, names))
            .text(" cannot be decided."),
    }
}

fn sides(candidate: &Candidate, problem: &Problem, names: &Names) -> Prose {
    let power = |n: usize| {
        strip::power_of_distance(&problem.center, n, names).unwrap_or_else(|| Formula::digits(1))
    };
    match (candidate.equation, &candidate.remains) {
        (Verdict::Satisfied, _) => Prose::words(
            "Equation: both sides are the same for every value of the variable: satisfied.",
        ),
        (_, Some((found, coefficient))) => {
            let term = remaining(coefficient, *found, &power, names);
            let rest = Formula::row([term, Formula::Operator('+'), Formula::Text("⋯".to_owned())]);
            Prose::words("Equation: left side minus right side is ")
                .math(rest)
                .text(", not zero: **not satisfied**.")
        }
        (_, None) if candidate.vanishing > 0 => {
            Prose::words("Equation: left side minus right side has no term up to ")
                .math(power(candidate.vanishing - 1))
                .text(", which is no proof; that it is zero everywhere could not be shown.")
        }
        (_, None) => Prose::words("Equation: whether both sides are the same cannot be decided."),
    }
}

fn coefficients(candidate: &Candidate, names: &Names) -> Prose {
    if let Some(different) = &candidate.different {
        return Prose::words(format!(
            "Taylor coefficients: at degree {} the formula has ",
            different.degree
        ))
        .math(build::formula(&different.own, names))
        .text(", the solution ")
        .math(build::formula(&different.solution, names))
        .text(".");
    }
    Prose::words(match candidate.agreeing {
        0 => "Taylor coefficients: not compared.".to_owned(),
        1 => "Taylor coefficients: the same at degree 0.".to_owned(),
        n => format!("Taylor coefficients: the same up to degree {}.", n - 1),
    })
}
