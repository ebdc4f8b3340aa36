//! The rows above the first order: the problem, the assumption, the formula, solving for the
//! highest derivative.

use super::build;
use super::formula::Formula;
use super::ledger::{LedgerRow, Line, Piece, Prose, Role};
use super::line::{chain, lead, value_piece};
use super::names::Names;
use super::several;
use super::steps;
use super::strip;
use crate::expression::{Expr, Node, Symbol, sign};
use crate::problem::{
    Checked, Equation, Justification, Parameter, Problem, Requirement, Route, SolveRule, SolveStep,
};
use crate::sorting::sort_by;
use std::cmp::Ordering;

/// Degrees up to this one are all written out in Taylor's formula.
const WRITTEN_OUT: usize = 3;

/// A row that belongs to no degree.
pub fn plain_row(key: impl Into<String>, reason: Prose, lines: Vec<Line>) -> LedgerRow {
    LedgerRow {
        key: key.into(),
        degree: None,
        reason,
        lines,
        known: None,
        folded: None,
        checked: None,
    }
}

/// `x = 0`
pub fn at_center(names: &Names, center: &Formula) -> Formula {
    Formula::equation(names.variable(), center.clone())
}

/// The problem; `typed` are the equation and the conditions as typed.
pub fn given(
    problem: &Problem,
    typed: (&[Formula], &[Formula]),
    route: Route,
    names: &Names,
) -> LedgerRow {
    let (equations, conditions) = typed;
    let numbered = problem
        .equations
        .iter()
        .flat_map(|equation| &equation.steps)
        .any(|step| matches!(step.rule, SolveRule::Combine(_)));
    let mut lines: Vec<Line> = equations
        .iter()
        .enumerate()
        .map(|(place, formula)| {
            let mut pieces = vec![lead(formula.clone())];
            if numbered {
                let number = Formula::digits(place + 1).bracketed();
                let space = Formula::Text("\u{a0}\u{a0}".to_owned());
                pieces.push(lead(Formula::row([space, number])));
            }
            chain("", pieces)
        })
        .collect();
    let pieces: Vec<Piece> = conditions
        .iter()
        .enumerate()
        .map(|(position, condition)| {
            let formula = if position + 1 < conditions.len() {
                Formula::row([condition.clone(), Formula::Punctuation(',')])
            } else {
                condition.clone()
            };
            value_piece(formula, Role::Lead)
        })
        .collect();
    if pieces.is_empty() {
        let unknowns = 0..problem.unknowns.len();
        lines.extend(unknowns.filter_map(|unknown| letters_as_values(problem, unknown, names)));
    } else {
        lines.push(chain("", pieces));
    }
    let printed = |list: &mut dyn Iterator<Item = &Parameter>| -> Vec<Formula> {
        list.map(|p| Formula::Identifier(p.name.clone())).collect()
    };
    let all = printed(&mut problem.parameters.iter());
    if !all.is_empty() {
        let one = all.len() == 1;
        lines.push(Line::Text(Prose::default().list(all).text(if one {
            " is a parameter: it stands for a constant."
        } else {
            " are parameters: they stand for constants."
        })));
    }
    let all = problem.equations.iter();
    match route {
        Route::Solved if all.clone().all(|equation| equation.steps.is_empty()) => {
            let highest = all.map(|equation| highest(problem, equation, names));
            lines.push(Line::Text(
                Prose::words("Already solved for ").list(highest).text("."),
            ));
        }
        Route::Solved => {}
        Route::Standing if problem.order_by_order().is_some() => {}
        Route::Standing => {
            let mut text = Prose::words(match problem.equations.len() {
                1 => "Differentiated as it stands: ",
                _ => "Differentiated as they stand: ",
            });
            let several = problem.equations.len() > 1;
            let moving = all.filter(|equation| !several || !equation.leading.is_constant());
            for (position, equation) in moving.enumerate() {
                text = text
                    .text(if position == 0 {
                        "the coefficient of "
                    } else {
                        ", that of "
                    })
                    .math(highest(problem, equation, names))
                    .text(" is ")
                    .math(build::formula(&equation.leading, names));
            }
            lines.push(Line::Text(text.text(
                ", and dividing by it would bring the quotient rule into every line. Each order is solved for its one new value instead.",
            )));
        }
    }
    plain_row("given", Prose::words("Given"), lines)
}

/// `y(0) = c₀, y′(0) = c₁`, where no conditions were typed; not those that the equation gives.
fn letters_as_values(problem: &Problem, unknown: usize, names: &Names) -> Option<Line> {
    let is_letter = |value: &Expr| match value.node() {
        Node::Symbol(Symbol::Parameter(name)) => problem.is_initial_letter(name),
        _ => false,
    };
    let values = problem.initial.get(unknown)?.iter().enumerate();
    let values: Vec<(usize, &Expr)> = values.filter(|(_, value)| is_letter(value)).collect();
    let center = build::formula(&problem.center, names);
    let pieces: Vec<Piece> = values
        .iter()
        .enumerate()
        .map(|(place, (order, value))| {
            let head = Formula::value_at(names.derivative(unknown, *order), center.clone());
            let condition = Formula::equation(head, build::formula(value, names));
            let comma = (place + 1 < values.len()).then_some(Formula::Punctuation(','));
            value_piece(
                Formula::row(std::iter::once(condition).chain(comma)),
                Role::Lead,
            )
        })
        .collect();
    (!pieces.is_empty()).then(|| chain("", pieces))
}

pub(super) fn highest(problem: &Problem, equation: &Equation, names: &Names) -> Formula {
    let order = problem
        .unknowns
        .get(equation.unknown)
        .map_or(1, |unknown| unknown.equation_order);
    names.derivative(equation.unknown, order as usize)
}

/// `left = right`, each term a piece of its own.
fn relation(label: &'static str, left: &[Expr], right: &[Expr], names: &Names) -> Line {
    let mut pieces = terms(left, names);
    pieces.push(lead(Formula::Operator('=')));
    pieces.extend(terms(right, names));
    chain(label, pieces)
}

fn terms(side: &[Expr], names: &Names) -> Vec<Piece> {
    if side.is_empty() {
        return vec![value_piece(Formula::digits(0), Role::Term)];
    }
    side.iter()
        .enumerate()
        .map(|(position, t)| value_piece(build::term(t, names, position == 0), Role::Term))
        .collect()
}

/// What is assumed, what was checked, and which theorem says that it is justified.
pub fn assumption(problem: &Problem, names: &Names, center: &Formula) -> LedgerRow {
    let place = at_center(names, center);
    let start = Prose::words("A solution that is analytic at ")
        .math(place.clone())
        .text(". ");
    let text = match problem.equations.as_slice() {
        [equation] => assumption_of_one(problem, equation, names, place, start),
        _ => several::assumption(problem, names, place, start),
    };
    plain_row(
        "assumption",
        Prose::words(match problem.order_by_order() {
            Some(_) => "Assumption",
            None => "Assumption, checked",
        }),
        vec![Line::Text(text)],
    )
}

fn assumption_of_one(
    problem: &Problem,
    equation: &Equation,
    names: &Names,
    place: Formula,
    start: Prose,
) -> Prose {
    match &equation.justification {
        Justification::OrdinaryPoint {
            leading_value,
            polynomial,
            checked,
        } => {
            let highest = highest(problem, equation, names);
            let start = start.text("The equation is linear; ").text(if *polynomial {
                "its coefficients are polynomials"
            } else if checked.is_empty() {
                "its coefficients are built from functions that are analytic everywhere"
            } else {
                "its coefficients are analytic there"
            });
            let start = checks(start, ": ", checked, names);
            let (about_others, about_leading) = if leading_value.has_parameter() {
                (Prose::default(), provided(problem, names))
            } else {
                (provided(problem, names), Prose::words(", not zero"))
            };
            let start = start.prose(about_others);
            let value = build::formula(leading_value, names);
            if equation.leading.is_constant() {
                start
                    .text(". The coefficient of ")
                    .math(highest)
                    .text(" is the constant ")
                    .math(value)
            } else {
                start
                    .text(". The coefficient of ")
                    .math(highest)
                    .text(", which is ")
                    .math(build::formula(&equation.leading, names))
                    .text(", has the value ")
                    .math(value)
                    .text(" there")
            }
                .prose(about_leading)
                .text(". So ")
                .math(place)
                .text(" is an *ordinary point*: there is exactly one solution with these initial values, and it is analytic there (existence theorem at an ordinary point).")
        }
        Justification::OrderByOrder(why) => steps::assumption(problem, *why, names, place),
        Justification::AnalyticRightSide {
            polynomial,
            checked,
        } => {
            let letters = letters(&equation.solved, names);
            let start = if *polynomial && letters.is_empty() {
                start.text("The right-hand side is constant")
            } else if *polynomial {
                start
                    .text("The right-hand side is a polynomial in ")
                    .list(letters)
            } else {
                start.text(if checked.is_empty() {
                    "The right-hand side is built from functions that are analytic everywhere"
                } else {
                    "The right-hand side is analytic at the initial data"
                })
            };
            let before = if *polynomial { "; also " } else { ": " };
            let start = checks(start, before, checked, names);
            start
                .prose(provided(problem, names))
                .text(". So near ")
                .math(place)
                .text(" there is exactly one solution with these initial values, and it is analytic there (Cauchy's existence theorem for analytic equations).")
        }
    }
}

/// What was checked, each with its value; `before` goes in front of the first.
pub(super) fn checks(mut prose: Prose, before: &str, checked: &[Checked], names: &Names) -> Prose {
    // What depends on letters is among the side conditions.
    let decided = checked.iter().filter(|check| !check.value.has_parameter());
    for (position, check) in decided.enumerate() {
        let negative = sign(&check.value).is_some_and(Ordering::is_lt);
        let value = build::formula(&check.value, names);
        let subject = build::formula(&check.expression, names);
        let bars = (check.requirement == Requirement::NotZeroInBars).then(|| {
            let inside = if negative {
                build::formula(&check.expression.neg(), names)
            } else {
                subject.clone()
            };
            Formula::equation(Formula::Bars(Box::new(subject.clone())), inside)
        });
        prose = prose
            .text(if position == 0 { before } else { "; " })
            .math(Formula::equation(subject, value))
            .text(" there, ")
            .text(match check.requirement {
                Requirement::NotZeroInBars if negative => "negative, so around it ",
                Requirement::NotZeroInBars => "positive, so around it ",
                Requirement::NotZeroUnderOddRoot if negative => {
                    "not zero; an odd root of a negative number is real"
                }
                Requirement::NotZero | Requirement::NotZeroUnderOddRoot => "not zero",
                Requirement::Positive => "positive",
                Requirement::InsideUnitInterval => "strictly between −1 and 1",
                Requirement::GreaterThanOne => "greater than 1",
                Requirement::NotAPole => "not a pole of the function it stands in",
            });
        if let Some(bars) = bars {
            prose = prose.math(bars);
        }
    }
    prose
}

/// The side conditions as words behind a statement: `, provided k ≠ 0 and a > 0`; nothing when
/// there are none.
pub(super) fn provided(problem: &Problem, names: &Names) -> Prose {
    if problem.side_conditions.is_empty() {
        return Prose::default();
    }
    let all = problem.side_conditions.iter();
    Prose::words(", provided ").list(all.map(|condition| side_condition(condition, names)))
}

/// `k ≠ 0`, `a > 0`, `|a| < 1`.
pub fn side_condition(condition: &Checked, names: &Names) -> Formula {
    let value = build::formula(&condition.value, names);
    let (left, sign, right) = match condition.requirement {
        Requirement::NotZero
        | Requirement::NotZeroInBars
        | Requirement::NotZeroUnderOddRoot
        | Requirement::NotAPole => (value, '≠', Formula::digits(0)),
        Requirement::Positive => (value, '>', Formula::digits(0)),
        Requirement::InsideUnitInterval => {
            (Formula::Bars(Box::new(value)), '<', Formula::digits(1))
        }
        Requirement::GreaterThanOne => (value, '>', Formula::digits(1)),
    };
    Formula::row([left, Formula::Operator(sign), right])
}

/// The variable and the derivatives that occur, in that order.
pub(super) fn letters(terms: &[Expr], names: &Names) -> Vec<Formula> {
    let mut found: Vec<Symbol> = Vec::new();
    let mut waiting: Vec<&Expr> = terms.iter().collect();
    while let Some(expr) = waiting.pop() {
        match expr.node() {
            Node::Number(_) => {}
            Node::Symbol(symbol) if found.contains(symbol) => {}
            Node::Symbol(symbol) => found.push(symbol.clone()),
            Node::Call(_, argument) => waiting.push(argument),
            Node::Power(base, exponent) => waiting.extend([base, exponent]),
            Node::Product(parts) | Node::Sum(parts) => waiting.extend(parts),
        }
    }
    sort_by(&mut found, Ord::cmp);
    found
        .into_iter()
        .filter(|symbol| matches!(symbol, Symbol::Variable | Symbol::Derivative { .. }))
        .map(|symbol| build::formula(&Expr::raw(Node::Symbol(symbol)), names))
        .collect()
}

/// y(x) = y(0) + y′(0)/1! x + …
pub fn taylor_formula(
    problem: &Problem,
    degree: usize,
    names: &Names,
    center: &Formula,
) -> LedgerRow {
    let unknowns = 0..problem.unknowns.len();
    let mut lines: Vec<Line> = unknowns
        .clone()
        .map(|unknown| taylor_line(problem, unknown, degree, names, center))
        .collect();
    let letters = unknowns.clone().map(|unknown| names.derivative(unknown, 0));
    let text = Prose::words("Wanted: the values of ")
        .list(letters)
        .text(if unknowns.len() == 1 {
            " and its derivatives at "
        } else {
            " and their derivatives at "
        })
        .math(at_center(names, center))
        .text(".");
    lines.push(Line::Text(text));
    plain_row(
        "formula",
        Prose::words("Taylor's formula about ").math(at_center(names, center)),
        lines,
    )
}

fn taylor_line(
    problem: &Problem,
    unknown: usize,
    degree: usize,
    names: &Names,
    center: &Formula,
) -> Line {
    let value = |order: usize| Formula::value_at(names.derivative(unknown, order), center.clone());
    let term = |order: usize| {
        let Some(power) = strip::power_of_distance(&problem.center, order, names) else {
            return value(order);
        };
        Formula::row([
            Formula::Operator('+'),
            Formula::fraction(value(order), Formula::factorial(order)),
            Formula::Juxtaposition,
            power,
        ])
    };
    let mut pieces = vec![lead(Formula::row([
        Formula::value_at(names.derivative(unknown, 0), names.variable()),
        Formula::Operator('='),
    ]))];
    let dots = || {
        value_piece(
            Formula::row([Formula::Operator('+'), Formula::Text("⋯".to_owned())]),
            Role::Term,
        )
    };
    for order in 0..=degree.min(WRITTEN_OUT) {
        pieces.push(value_piece(term(order), Role::Term));
    }
    if degree > WRITTEN_OUT {
        if degree > WRITTEN_OUT + 1 {
            pieces.push(dots());
        }
        pieces.push(value_piece(term(degree), Role::Term));
    }
    pieces.push(dots());
    chain("", pieces)
}

/// One row for each step towards the form that is differentiated.
pub fn solving(
    problem: &Problem,
    equation: &Equation,
    names: &Names,
    center: &Formula,
    route: Route,
) -> Vec<LedgerRow> {
    let shown = match route {
        Route::Solved => equation.steps.len(),
        Route::Standing => equation.standing_steps,
    };
    equation
        .steps
        .iter()
        .take(shown)
        .enumerate()
        .map(|(position, step)| {
            let key = match problem.equations.len() {
                1 => format!("solve-{position}"),
                _ => format!("solve-{}-{position}", equation.unknown),
            };
            let mut reason = step_reason(step, problem, equation, names, center);
            if problem.equations.len() > 1 {
                reason = several::about(highest(problem, equation, names), reason);
            }
            plain_row(
                key,
                reason,
                vec![relation("", &step.left, &step.right, names)],
            )
        })
        .collect()
}

fn step_reason(
    step: &SolveStep,
    problem: &Problem,
    equation: &Equation,
    names: &Names,
    center: &Formula,
) -> Prose {
    let list = |terms: &[Expr]| -> Vec<Formula> {
        terms.iter().map(|t| build::formula(t, names)).collect()
    };
    match &step.rule {
        SolveRule::MultiplyOut => Prose::words("Multiply out"),
        SolveRule::CombineLikeTerms => Prose::words("Combine like terms"),
        SolveRule::SwapSides => Prose::words("Swap the sides"),
        SolveRule::AddToBothSides(terms) => Prose::words("Add ")
            .list(list(terms))
            .text(" to both sides"),
        SolveRule::SubtractFromBothSides(terms) => Prose::words("Subtract ")
            .list(list(terms))
            .text(" from both sides"),
        SolveRule::TakeOut => Prose::words("Take out ").math(highest(problem, equation, names)),
        SolveRule::MultiplyBy(factor) => {
            let prose = Prose::words("Multiply both sides by ").math(build::formula(factor, names));
            if factor.is_constant() {
                prose
            } else {
                prose
                    .text(", which is zero at ")
                    .math(at_center(names, center))
                    .text(": there the equation as given says nothing")
            }
        }
        SolveRule::Combine(parts) => {
            let mut prose = Prose::words("Add ");
            for (position, (number, factor)) in parts.iter().enumerate() {
                let between = match position {
                    0 => "equation ",
                    _ if position + 1 == parts.len() => " and equation ",
                    _ => ", equation ",
                };
                prose = prose.text(format!("{between}({number})"));
                if !factor.is_one() {
                    prose = prose.text(" times ").math(build::formula(factor, names));
                }
            }
            prose
                .text(": of the highest derivatives only ")
                .math(highest(problem, equation, names))
                .text(" is left")
        }
        SolveRule::RaiseTo(power) => Prose::words("Raise both sides to the power ")
            .math(Formula::digits(power))
            .text(", which is odd: the same solutions"),
        SolveRule::DivideBy(divisor) => {
            let prose = Prose::words("Divide both sides by ").math(build::formula(divisor, names));
            if divisor.has_parameter() {
                let condition = Checked {
                    expression: divisor.clone(),
                    value: divisor.clone(),
                    requirement: Requirement::NotZero,
                };
                let at = (!divisor.is_constant()).then(|| at_center(names, center));
                let prose = prose.text(", if ").math(side_condition(&condition, names));
                match at {
                    Some(place) => prose.text(" at ").math(place),
                    None => prose,
                }
            } else if divisor.is_constant() {
                prose
            } else {
                prose.text(", not zero at ").math(at_center(names, center))
            }
        }
    }
}
