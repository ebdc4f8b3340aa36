//! Problems as they are typed, and what is understood.

mod bad_input;
mod good_input;
mod letters;
mod random;

use super::*;
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Severity, Suggestion};
use crate::expression::{Node, Symbol};
use crate::span::Field;

const BUDGET: Budget = Budget::PAGE;

/// The problem, which must be good.
fn good(equation: &str, conditions: &str) -> Problem {
    let (problem, diagnostics) = understand(equation, conditions, "5", &BUDGET);
    let errors: Vec<_> = diagnostics
        .iter()
        .filter(|d| d.severity == Severity::Error)
        .collect();
    assert!(errors.is_empty(), "{equation} | {conditions}: {errors:?}");
    problem.unwrap_or_else(|| panic!("{equation} | {conditions}: no problem and no error"))
}

/// A flat text of an expression, with y for the unknown and x for the variable.
fn show(expression: &Expr) -> String {
    let atom = |e: &Expr| match e.node() {
        Node::Sum(_) | Node::Product(_) => format!("({})", show(e)),
        Node::Number(value)
            if !value.is_integer() || *value < crate::number::Rational::default() =>
        {
            format!("({value})")
        }
        _ => show(e),
    };
    match expression.node() {
        Node::Number(value) => value.to_string(),
        Node::Symbol(Symbol::Variable) => "x".to_owned(),
        Node::Symbol(Symbol::Pi) => "pi".to_owned(),
        Node::Symbol(Symbol::Parameter(name)) => name.to_string(),
        Node::Symbol(Symbol::Root(root)) => root.letter().to_owned(),
        Node::Symbol(Symbol::Derivative { order, .. }) => wording::typed_derivative("y", *order),
        Node::Call(function, argument) => format!("{}({})", function.name(), show(argument)),
        Node::Power(base, exponent) => format!("{}^{}", atom(base), atom(exponent)),
        Node::Product(factors) => {
            let mut parts: Vec<String> = factors.iter().map(atom).collect();
            if let Some(number) = factors.first().and_then(Expr::as_number)
                && let Some(first) = parts.first_mut()
            {
                *first = number.to_string();
            }
            parts.join(" ").replacen("-1 ", "-", 1)
        }
        Node::Sum(_) => show_terms(&expression.terms()),
    }
}

/// Terms with `+` between, or `-` where a term begins with a minus sign.
fn show_terms(terms: &[Expr]) -> String {
    let mut text = String::new();
    for term in terms {
        let part = show(term);
        match (text.is_empty(), part.strip_prefix('-')) {
            (true, _) => text.push_str(&part),
            (false, Some(rest)) => {
                text.push_str(" - ");
                text.push_str(rest);
            }
            (false, None) => {
                text.push_str(" + ");
                text.push_str(&part);
            }
        }
    }
    text
}

/// The steps in short: `add 3 y; divide x`.
fn show_steps(steps: &[SolveStep]) -> String {
    let words: Vec<String> = steps
        .iter()
        .map(|step| match &step.rule {
            SolveRule::MultiplyOut => "multiply out".to_owned(),
            SolveRule::CombineLikeTerms => "like terms".to_owned(),
            SolveRule::SwapSides => "swap".to_owned(),
            SolveRule::AddToBothSides(terms) => format!("add {}", show_terms(terms)),
            SolveRule::SubtractFromBothSides(terms) => format!("subtract {}", show_terms(terms)),
            SolveRule::TakeOut => "take out".to_owned(),
            SolveRule::MultiplyBy(factor) => format!("multiply by {}", show(factor)),
            SolveRule::RaiseTo(power) => format!("raise to {power}"),
            SolveRule::DivideBy(divisor) => format!("divide by {}", show(divisor)),
            SolveRule::Combine(parts) => {
                let parts: Vec<String> = parts
                    .iter()
                    .map(|(number, factor)| format!("({number}) times {}", show(factor)))
                    .collect();
                format!("add {}", parts.join(", "))
            }
        })
        .collect();
    words.join("; ")
}

/// The texts of the fields after one click.
fn apply(suggestion: &Suggestion, equation: &str, conditions: &str, degree: &str) -> [String; 3] {
    let mut texts = [
        equation.to_owned(),
        conditions.to_owned(),
        degree.to_owned(),
    ];
    let mut edits = suggestion.edits.clone();
    edits.sort_by_key(|e| std::cmp::Reverse(e.span.start));
    for edit in edits {
        let text = match edit.field {
            Field::Equation => &mut texts[0],
            Field::Conditions => &mut texts[1],
            Field::Degree => &mut texts[2],
            Field::Interval
            | Field::At
            | Field::Beside
            | Field::Parameters
            | Field::Candidate
            | Field::Tolerance => {
                panic!("no such field here")
            }
        };
        text.replace_range(edit.span.start..edit.span.end, &edit.replacement);
    }
    texts
}

fn errors(diagnostics: &[Diagnostic]) -> Vec<&Diagnostic> {
    diagnostics
        .iter()
        .filter(|d| d.severity == Severity::Error)
        .collect()
}
