//! The reasons in the margin: which rule was used on which term.

use super::build;
use super::formula::Formula;
use super::ledger::Prose;
use super::names::Names;
use crate::derivation::{Rule, Trace};
use crate::expression::Expr;
use crate::problem::Problem;

/// More inputs of one rule than this are counted, not listed.
const LISTED_INPUTS: usize = 3;
/// An input with more nodes than this is too wide for the margin.
const WIDE_INPUT: usize = 24;

/// The rule that a reader names for a term, and what it is used on: a constant in front is passed
/// over when something more than a letter stands behind it.
fn telling(trace: &Trace) -> &Trace {
    let mut trace = trace;
    while trace.rule == Rule::ConstantMultiple
        && let [inner] = trace.children.as_slice()
        && !matches!(inner.rule, Rule::Variable | Rule::Unknown | Rule::Constant)
    {
        trace = inner;
    }
    trace
}

/// The rule by the name that a reader has for it. What needs no rule is a *derivative* known by
/// heart: of the unknown, of the variable, and of a function of the variable itself, where the chain
/// rule would multiply by 1.
fn named(trace: &Trace) -> Rule {
    match (trace.rule, trace.children.as_slice()) {
        (Rule::Unknown, _) => Rule::Variable,
        (Rule::Chain, [inner]) if inner.rule == Rule::Variable => Rule::Variable,
        (rule, _) => rule,
    }
}

/// "Differentiate both sides: *power rule* on x², *product rule* on yy′".
pub fn differentiation(traces: &[&Trace], again: bool, names: &Names) -> Prose {
    let mut groups: Vec<(Rule, Vec<&Expr>)> = Vec::new();
    for trace in traces.iter().map(|trace| telling(trace)) {
        let (rule, input) = (named(trace), &trace.input);
        match groups.iter_mut().find(|(own, _)| *own == rule) {
            Some((_, inputs)) if inputs.contains(&input) => {}
            Some((_, inputs)) => inputs.push(input),
            None => groups.push((rule, vec![input])),
        }
    }
    let mut prose = Prose::words(if again {
        "Differentiate again"
    } else {
        "Differentiate both sides"
    });
    for (position, (rule, inputs)) in groups.into_iter().enumerate() {
        prose = prose.text(if position == 0 { ": " } else { ", " });
        prose = match rule {
            Rule::Constant => prose.text("*constant* "),
            Rule::Variable => prose.text("*derivative* of "),
            other => prose.text(format!("*{}* on ", other.entry().name)),
        };
        let wide = inputs.iter().any(|input| input.size() > WIDE_INPUT);
        prose = match inputs.len() {
            1 if wide => prose.text("one long term"),
            count if wide || count > LISTED_INPUTS => prose.text(format!("{count} terms")),
            _ => prose.list(inputs.into_iter().map(|input| build::formula(input, names))),
        };
    }
    prose
}

/// "… Then put in y″ = √(1 + y′²) once more: that makes the line shorter".
pub fn then_put_in(reason: Prose, problem: &Problem, unknown: usize, names: &Names) -> Prose {
    let order = problem.initial.get(unknown).map_or(0, Vec::len);
    let equation = problem.equations.get(unknown);
    let solved = equation.map(|equation| equation.solved.clone());
    let right = build::formula(&Expr::sum(solved.unwrap_or_default()), names);
    reason
        .text(". Then put in ")
        .math(Formula::equation(names.derivative(unknown, order), right))
        .text(" once more: that makes the line shorter")
}

/// The rule beside a line of its own: "*product rule* on yy′".
pub fn single(trace: &Trace, names: &Names) -> Prose {
    let words = match trace.rule {
        Rule::Constant => "*constant*".to_owned(),
        Rule::Unknown => "the next derivative".to_owned(),
        Rule::Variable => "the variable itself".to_owned(),
        Rule::Chain if named(trace) == Rule::Variable => "*derivative*".to_owned(),
        other => format!("*{}*", other.entry().name),
    };
    let prose = Prose::words(words);
    match trace.rule {
        Rule::Unknown | Rule::Variable | Rule::Constant => prose,
        Rule::Chain if named(trace) == Rule::Variable => {
            prose.text(" of ").math(build::formula(&trace.input, names))
        }
        _ => prose.text(" on ").math(build::formula(&trace.input, names)),
    }
}
