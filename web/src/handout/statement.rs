//! What a problem asks: a sentence, and the equations and conditions as typed.

use solver::budget::Budget;
use solver::document::build;
use solver::document::formula::Formula;
use solver::document::ledger::{Line, Prose, Role};
use solver::document::line::{chain, value_piece};
use solver::document::names::Names;
use solver::document::opening::at_center;
use solver::document::typed;
use solver::problem::{DegreeRequest, Problem};
use solver::worksheet::Worksheet;

/// "Find the Taylor polynomial of degree 5 about x = 0 of the solution of the initial value problem".
pub fn sentence(worksheet: &Worksheet) -> Prose {
    let given = !worksheet.request.conditions.trim().is_empty();
    let what = if given {
        " the initial value problem"
    } else {
        " the equation"
    };
    let solution = if given {
        "solution"
    } else {
        "general solution"
    };
    let Some(problem) = &worksheet.problem else {
        return Prose::words(format!(
            "Find the Taylor polynomial of the {solution} of{what}"
        ));
    };
    let names = Names::of(problem);
    let several = names.unknowns.len() > 1;
    let mut prose = match problem.degree {
        DegreeRequest::NonzeroTerms(count) => Prose::words("Find the first ")
            .math(Formula::digits(count))
            .text(" non-zero terms of the Taylor series"),
        DegreeRequest::Degree(degree) => Prose::words(if several {
            "Find the Taylor polynomials of degree "
        } else {
            "Find the Taylor polynomial of degree "
        })
        .math(Formula::digits(degree)),
    };
    let center = build::formula(&problem.center, &names);
    prose = prose
        .text(" about ")
        .math(at_center(&names, &center))
        .text(if several {
            " of the unknowns "
        } else {
            " of the "
        });
    prose = if several {
        let unknowns = 0..names.unknowns.len();
        prose
            .list(unknowns.map(|unknown| names.derivative(unknown, 0)))
            .text(format!(" of{what}"))
    } else {
        prose.text(format!("{solution} of{what}"))
    };
    parameters(problem, prose)
}

/// "in which k is a constant".
fn parameters(problem: &Problem, prose: Prose) -> Prose {
    let letters: Vec<Formula> = problem
        .parameters
        .iter()
        .filter(|parameter| !parameter.initial)
        .map(|parameter| Formula::Identifier(parameter.name.clone()))
        .collect();
    match letters.len() {
        0 => prose,
        1 => prose
            .text(", in which ")
            .list(letters)
            .text(" is a constant"),
        _ => prose
            .text(", in which ")
            .list(letters)
            .text(" are constants"),
    }
}

/// The equations, a line each, and the conditions.
pub fn given(worksheet: &Worksheet) -> Vec<Line> {
    let request = &worksheet.request;
    let mut lines: Vec<Line> = typed::equations(&request.equation, &Budget::PAGE)
        .into_iter()
        .map(|equation| chain("", vec![value_piece(equation, Role::Lead)]))
        .collect();
    let conditions = typed::conditions(&request.conditions, &Budget::PAGE);
    let last = conditions.len().saturating_sub(1);
    let conditions = conditions.into_iter().enumerate().map(|(at, condition)| {
        let comma = (at < last).then_some(Formula::Punctuation(','));
        value_piece(
            Formula::row(std::iter::once(condition).chain(comma)),
            Role::Lead,
        )
    });
    let conditions: Vec<_> = conditions.collect();
    if !conditions.is_empty() {
        lines.push(chain("", conditions));
    }
    lines
}
