//! From text to problem: the stages in order.

use super::build::{self, Form};
use super::check::Stage;
use super::conditions;
use super::differentials;
use super::justify::justify;
use super::letters::{self, Letters};
use super::names::{self, Names};
use super::point::InitialData;
use super::settle::settle;
use super::solve::{self, Obstacle, Solution};
use super::walk::{nodes, unbracketed};
use super::wording::derivative;
use super::{Checked, DegreeRequest, Equation, Justification, Problem, Route, Unknown};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Severity, Suggestion};
use crate::expression::Expr;
use crate::span::{Field, Span};
use crate::syntax::{self, Condition, Kind, Node, Relation};

/// The texts and their trees.
struct Sheet<'a> {
    equation: &'a str,
    conditions_text: &'a str,
    conditions: Vec<Condition>,
    budget: &'a Budget,
}

/// Reads a problem: the equation, the initial conditions, how many terms.
///
/// Gives the problem in normal form, and what is to be said about the input, in reading order.
/// There is a problem exactly when no diagnostic is an error.
///
/// Every suggestion has been tried: it mends its diagnostic and leaves no more errors than before.
pub fn understand(
    equation: &str,
    conditions: &str,
    degree: &str,
    budget: &Budget,
) -> (Option<Problem>, Vec<Diagnostic>) {
    let (problem, mut diagnostics) = understand_untried(equation, conditions, degree, budget);
    let errors = |list: &[Diagnostic]| {
        list.iter()
            .filter(|d| d.severity == Severity::Error)
            .count()
    };
    let with = |list: &[Diagnostic], code| list.iter().filter(|d| d.code == code).count();
    let before = diagnostics.clone();
    for diagnostic in &mut diagnostics {
        let code = diagnostic.code;
        diagnostic.suggestions.retain(|suggestion| {
            let text = |own, field| applied_to(own, field, suggestion);
            let (_, after) = understand_untried(
                &text(equation, Field::Equation),
                &text(conditions, Field::Conditions),
                &text(degree, Field::Degree),
                budget,
            );
            with(&after, code) < with(&before, code) && errors(&after) <= errors(&before)
        });
    }
    (problem, diagnostics)
}

/// One field's text after a suggestion.
fn applied_to(text: &str, field: Field, suggestion: &Suggestion) -> String {
    let own = Suggestion {
        label: String::new(),
        edits: suggestion
            .edits
            .iter()
            .filter(|e| e.field == field)
            .cloned()
            .collect(),
    };
    syntax::applied(text, &own)
}

/// [`understand`] without trying the suggestions: they may not mend what they are offered for.
pub fn understand_untried(
    equation: &str,
    conditions: &str,
    degree: &str,
    budget: &Budget,
) -> (Option<Problem>, Vec<Diagnostic>) {
    let (relations, mut out) = syntax::parse_equations(equation, budget);
    let equation_good = !has_error(&out);
    // Without any condition it is the equation that tells what is missing.
    let (conditions_read, more) = if conditions.trim().is_empty() {
        (Vec::new(), Vec::new())
    } else {
        syntax::parse_conditions(conditions, budget)
    };
    let conditions_good = !has_error(&more);
    out.extend(more);
    let (request, more) = syntax::parse_degree(degree, budget);
    out.extend(more);
    let sheet = Sheet {
        equation,
        conditions_text: conditions,
        conditions: conditions_read,
        budget,
    };
    let found = if equation_good {
        sheet
            .single(&relations, &mut out)
            .and_then(|relation| sheet.problem(relation, conditions_good, request, &mut out))
    } else {
        None
    };
    crate::sorting::sort_by_key(&mut out, |d| (d.field, d.span.start));
    let found = found.filter(|_| !has_error(&out));
    (found, out)
}

/// The value of a closed constant: an end of the interval, a point at which a value is asked.
///
/// # Errors
/// A diagnostic in `field` when it has no value or holds a letter other than π and e.
pub fn constant_from(
    node: &Node,
    text: &str,
    field: Field,
    budget: &Budget,
) -> Result<Expr, Diagnostic> {
    // No letter is an unknown or a variable here.
    let names = Names {
        unknown: String::new(),
        variable: String::new(),
        order: 0,
        parameters: false,
    };
    conditions::constant_value(node, &names, text, field, budget, &mut Vec::new()).map_err(|d| *d)
}

/// The formula of a candidate, `y = …`, as a function of the variable, in normal form.
///
/// # Errors
/// A diagnostic when it cannot be read, or is not a formula in the variable alone.
pub fn candidate_from(text: &str, problem: &Problem, budget: &Budget) -> Result<Expr, Diagnostic> {
    let error =
        |code, span, message: String| Diagnostic::error(code, Field::Candidate, span, message);
    let (read, diagnostics) = syntax::parse_candidate(text, budget);
    if let Some(first) = diagnostics
        .into_iter()
        .find(|d| d.severity == Severity::Error)
    {
        return Err(first);
    }
    let whole = Span::new(0, text.len());
    let unknown = problem.unknowns.first().map_or("y", |u| u.name.as_str());
    let variable = problem.independent.as_str();
    let form = |span| {
        error(
            "candidate-form",
            span,
            format!("Write a formula for {unknown} in terms of {variable} alone: {unknown} = … ."),
        )
    };
    let Some((left, right)) = read else {
        return Err(form(whole));
    };
    let names = Names {
        unknown: unknown.to_owned(),
        variable: variable.to_owned(),
        order: 0,
        parameters: !problem.parameters.is_empty(),
    };
    let parameter = |name: &str| problem.parameters.iter().any(|p| p.name == name);
    if let Some(left) = left {
        let is_unknown = match &unbracketed(&left).kind {
            Kind::Name(name) => name == unknown,
            Kind::Applied { name, argument, .. } => {
                name == unknown && names.reading(argument) == names::Reading::Value
            }
            _ => false,
        };
        if !is_unknown {
            return Err(form(left.span));
        }
    }
    let settled = settle(&right, &names);
    for node in nodes(&settled) {
        let known = match &node.kind {
            Kind::Name(name) => match names.meaning(name) {
                names::Meaning::Unknown => false,
                names::Meaning::Variable | names::Meaning::Pi | names::Meaning::E => true,
                names::Meaning::Other => parameter(name),
            },
            Kind::Derivative { .. } | Kind::Missing => false,
            _ => true,
        };
        if !known {
            return Err(form(node.span));
        }
    }
    let nowhere = InitialData {
        names: &names,
        text,
        field: Field::Candidate,
        budget,
        center: None,
        initial: Vec::new(),
        words: Vec::new(),
    };
    nowhere.within_budget(&settled).map_err(|d| *d)?;
    nowhere.value(&settled, &mut Vec::new()).map_err(|d| *d)?;
    Ok(build::expression(&settled, &names, Form::Normal))
}

fn has_error(diagnostics: &[Diagnostic]) -> bool {
    diagnostics.iter().any(|d| d.severity == Severity::Error)
}

impl Sheet<'_> {
    /// The one equation.
    fn single<'r>(
        &self,
        relations: &'r [Relation],
        out: &mut Vec<Diagnostic>,
    ) -> Option<&'r Relation> {
        let (first, rest) = match relations {
            // The parser has said so.
            [] => return None,
            [first, rest @ ..] => (first, rest),
        };
        let mut previous = first;
        for relation in rest {
            if is_condition(relation) {
                out.push(self.condition_in_equation(previous, relation));
                return None;
            }
            previous = relation;
        }
        if let Some(second) = rest.first() {
            out.push(
                Diagnostic::error(
                    "system",
                    Field::Equation,
                    second.span,
                    "There is a second equation here: a system. One equation with one unknown is worked out in this version.",
                )
                .outcome(Outcome::Unable),
            );
            return None;
        }
        Some(first)
    }

    fn condition_in_equation(&self, previous: &Relation, relation: &Relation) -> Diagnostic {
        let text = self
            .equation
            .get(relation.span.start..relation.span.end)
            .unwrap_or("")
            .trim();
        let end = self.conditions_text.trim_end().len();
        let separator = if end == 0 { "" } else { ", " };
        let mut diagnostic = Diagnostic::error(
            "condition-in-equation",
            Field::Equation,
            relation.span,
            "This is an initial condition; it belongs in the field for conditions.",
        );
        diagnostic.suggestions.push(Suggestion {
            label: format!("move {text} there"),
            edits: vec![
                Edit {
                    field: Field::Equation,
                    span: Span::new(previous.span.end, relation.span.end),
                    replacement: String::new(),
                },
                Edit {
                    field: Field::Conditions,
                    span: Span::new(end, end),
                    replacement: format!("{separator}{text}"),
                },
            ],
        });
        diagnostic
    }

    fn problem(
        &self,
        relation: &Relation,
        conditions_good: bool,
        request: Option<DegreeRequest>,
        out: &mut Vec<Diagnostic>,
    ) -> Option<Problem> {
        let read = differentials::as_derivative(
            relation,
            (self.equation, self.conditions_text),
            &self.conditions,
            out,
        );
        let read = match read {
            Ok(read) => read,
            Err(diagnostic) => {
                out.push(*diagnostic);
                return None;
            }
        };
        let relation = read.as_ref().unwrap_or(relation);
        let names = names::resolve(relation, self.equation, &self.conditions, self.budget, out)?;
        let relation = Relation {
            span: relation.span,
            left: settle(&relation.left, &names),
            right: settle(&relation.right, &names),
        };
        let solution = match self.solved(&relation, &names) {
            Ok(solution) => Some(solution),
            Err(diagnostic) => {
                out.push(*diagnostic);
                None
            }
        };
        if !conditions_good {
            return None;
        }
        let before = out.len();
        letters::functions_not_given(&relation, &names, out);
        if out.len() > before {
            return None;
        }
        let letters = Letters::of(&relation, &self.conditions, &names);
        let given = conditions::read(
            &self.conditions,
            &names,
            self.conditions_text,
            self.budget,
            &letters,
            out,
        )?;
        let mut solution = solution?;
        let stage = Stage {
            text: self.equation,
            conditions: &self.conditions,
            budget: self.budget,
            names: &names,
            relation: &relation,
            solution: &solution,
            given: &given,
        };
        let (justification, leading_value, mut all_checked) = justified(&stage, out)?;
        all_checked.extend(given.checked.iter().cloned());
        if matches!(justification, Justification::OrderByOrder(_)) {
            // Dividing by the leading coefficient would divide by zero.
            solution.default_route = Route::Standing;
        }
        out.extend(letters.notice());
        let equation = Equation {
            given: build::sides(&relation, &names, Form::Typed),
            unknown: 0,
            standing: solution.standing,
            leading: solution.leading,
            solved: solution.solved,
            steps: solution.steps,
            standing_steps: solution.standing_steps,
            default_route: solution.default_route,
            justification,
        };
        let mut problem = Problem {
            independent: names.variable,
            unknowns: vec![Unknown {
                name: names.unknown,
                equation_order: names.order,
            }],
            center: given.center,
            initial: vec![given.values],
            also_given: given.also,
            equations: vec![equation],
            parameters: Vec::new(),
            side_conditions: Vec::new(),
            degree: request?,
        };
        problem.parameters = letters::parameters(&letters.found, &problem);
        problem.side_conditions =
            letters::side_conditions(&problem, leading_value.as_slice(), &all_checked);
        Some(problem)
    }

    fn solved(&self, relation: &Relation, names: &Names) -> Result<Solution, Box<Diagnostic>> {
        let nowhere = InitialData {
            names,
            text: self.equation,
            field: Field::Equation,
            budget: self.budget,
            center: None,
            initial: Vec::new(),
            words: Vec::new(),
        };
        for side in [&relation.left, &relation.right] {
            nowhere.within_budget(side)?;
            // What has no value whatever the conditions are.
            nowhere.value(side, &mut Vec::new())?;
        }
        let sides = build::sides(relation, names, Form::Normal);
        match solve::solve(sides.clone(), names.order) {
            Err(Obstacle::NotLinear) => Ok(solve::unsolved(sides)),
            other => {
                other.map_err(|obstacle| Box::new(obstacle_message(obstacle, relation, names)))
            }
        }
    }
}

/// Why there is a solution, the leading coefficient's value if it has to be one that is not zero,
/// and what was checked. `None`, with a diagnostic, where the data do not fit.
fn justified(
    stage: &Stage<'_>,
    out: &mut Vec<Diagnostic>,
) -> Option<(Justification, Option<Expr>, Vec<Checked>)> {
    let found = match stage.order_by_order() {
        Some(why) => stage
            .check_given(why, out)
            .map(|()| (Justification::OrderByOrder(why), None, Vec::new())),
        None if stage.given.unfit.is_empty() => stage.check().map(|(leading, checked)| {
            let justification = justify(stage.solution, leading.clone(), checked.clone());
            (justification, Some(leading), checked)
        }),
        None => {
            out.extend(stage.given.unfit.iter().cloned());
            return None;
        }
    };
    found.map_err(|diagnostic| out.push(*diagnostic)).ok()
}

fn obstacle_message(obstacle: Obstacle, relation: &Relation, names: &Names) -> Diagnostic {
    let highest = derivative(&names.unknown, names.order);
    match obstacle {
        Obstacle::Identity => Diagnostic::error(
            "identity",
            Field::Equation,
            relation.span,
            "Both sides are the same, so every function satisfies this: nothing determines the unknown.",
        )
        .outcome(Outcome::NotDetermined),
        Obstacle::Cancels => Diagnostic::error(
            "highest-derivative-cancels",
            Field::Equation,
            relation.span,
            format!("The terms with {highest} cancel, so this is not an equation of order {}. Leave them out.", names.order),
        ),
        Obstacle::NotLinear => Diagnostic::error(
            "highest-derivative-not-linear",
            Field::Equation,
            relation.span,
            format!("{highest} does not stand to the first power."),
        )
        .outcome(Outcome::Unable),
    }
}

/// `y(0) = 1`, `y'(0) = 1`: brackets with a number.
fn is_condition(relation: &Relation) -> bool {
    let (Kind::Applied { argument, .. }
    | Kind::Derivative {
        argument: Some(argument),
        ..
    }) = &unbracketed(&relation.left).kind
    else {
        return false;
    };
    nodes(argument).into_iter().all(|n| match &n.kind {
        Kind::Name(name) => name == "pi" || name == "e",
        Kind::Derivative { .. } | Kind::Applied { .. } | Kind::Missing => false,
        _ => true,
    })
}
