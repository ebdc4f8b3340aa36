//! From text to problem: the stages in order.

use super::build::{self, Form};
use super::check::Stage;
use super::clear::Clearing;
use super::conditions;
use super::differentials;
use super::justify::justify;
use super::letter_value;
use super::letters::{self, Letters};
use super::names::{self, Names};
use super::point::InitialData;
use super::settle::settle;
use super::solve::{self, Obstacle, Solution};
use super::system::{self, Trouble};
use super::walk::{nodes, unbracketed};
use super::wording::derivative;
use super::{Checked, DegreeRequest, Justification, Problem, SolveStep, Unknown};
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
            // What is no differential equation any more is no repair of one.
            let cancels = |list: &[Diagnostic]| with(list, "highest-derivative-cancels") > 0;
            with(&after, code) < with(&before, code)
                && errors(&after) <= errors(&before)
                && (!cancels(&after) || cancels(&before))
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
    let (conditions_read, mut more) = if conditions.trim().is_empty() {
        (Vec::new(), Vec::new())
    } else {
        syntax::parse_conditions(conditions, budget)
    };
    let conditions_good = !has_error(&more);
    letter_value::explain(&mut more, &relations, (equation, conditions));
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
            .without_conditions(&relations, &mut out)
            .and_then(|relations| sheet.problem(relations, conditions_good, request, &mut out))
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
        unknowns: Vec::new(),
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
        unknowns: vec![(unknown.to_owned(), 0)],
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
    /// The equations, if there is no condition among them.
    fn without_conditions<'r>(
        &self,
        relations: &'r [Relation],
        out: &mut Vec<Diagnostic>,
    ) -> Option<&'r [Relation]> {
        let (first, rest) = match relations {
            // The parser has said so.
            [] => return None,
            [first, rest @ ..] => (first, rest),
        };
        // Each with the end of what stands in front of it.
        let mut found: Vec<(usize, &Relation)> = Vec::new();
        let mut end = first.span.end;
        for relation in rest {
            if is_condition(relation) {
                found.push((end, relation));
            }
            end = relation.span.end;
        }
        let Some((_, own)) = found.first() else {
            return Some(relations);
        };
        let mut diagnostic = Diagnostic::error(
            "condition-in-equation",
            Field::Equation,
            own.span,
            "This is an initial condition; it belongs in the field for conditions.",
        );
        diagnostic.suggestions.push(self.conditions_moved(&found));
        out.push(diagnostic);
        None
    }

    /// Conditions behind an equation, moved where they belong; they replace all that stand there if
    /// one of them is given there, too.
    fn conditions_moved(&self, found: &[(usize, &Relation)]) -> Suggestion {
        let texts: Vec<&str> = found
            .iter()
            .filter_map(|(_, relation)| {
                let text = self.equation.get(relation.span.start..relation.span.end)?;
                Some(text.trim())
            })
            .collect();
        let text = texts.join(", ");
        let again = found.iter().any(|(_, relation)| {
            let left = unbracketed(&relation.left);
            self.conditions.iter().any(|own| match &left.kind {
                Kind::Applied { name, .. } => own.unknown == *name && own.order == 0,
                Kind::Derivative { of, order, .. } => own.unknown == *of && own.order == *order,
                _ => false,
            })
        });
        let end = self.conditions_text.trim_end().len();
        let start = if again { 0 } else { end };
        let separator = if start == 0 { "" } else { ", " };
        let mut edits: Vec<Edit> = found
            .iter()
            .map(|(from, relation)| Edit {
                field: Field::Equation,
                span: Span::new(*from, relation.span.end),
                replacement: String::new(),
            })
            .collect();
        edits.push(Edit {
            field: Field::Conditions,
            span: Span::new(start, end),
            replacement: format!("{separator}{text}"),
        });
        Suggestion {
            label: format!("move {text} there"),
            edits,
        }
    }

    /// The equations, one with differentials as one with a derivative.
    fn with_derivatives(
        &self,
        relations: &[Relation],
        out: &mut Vec<Diagnostic>,
    ) -> Option<Vec<Relation>> {
        let mut relations = relations.to_vec();
        if let [relation] = relations.as_mut_slice() {
            let read = differentials::as_derivative(
                relation,
                (self.equation, self.conditions_text),
                &self.conditions,
                out,
            );
            match read {
                Ok(Some(read)) => *relation = read,
                Ok(None) => {}
                Err(diagnostic) => {
                    out.push(*diagnostic);
                    return None;
                }
            }
        }
        Some(relations)
    }

    fn problem(
        &self,
        relations: &[Relation],
        conditions_good: bool,
        request: Option<DegreeRequest>,
        out: &mut Vec<Diagnostic>,
    ) -> Option<Problem> {
        let relations = self.with_derivatives(relations, out)?;
        let names = names::resolve(
            &relations,
            self.equation,
            &self.conditions,
            self.budget,
            out,
        )?;
        let mut relations: Vec<Relation> = relations
            .iter()
            .map(|relation| Relation {
                span: relation.span,
                left: settle(&relation.left, &names),
                right: settle(&relation.right, &names),
            })
            .collect();
        let cleared = self.cleared(&mut relations, &names, out);
        let solutions = match self.solved(&relations, &names) {
            Ok(solutions) => Some(solutions),
            Err(diagnostic) => {
                out.push(*diagnostic);
                None
            }
        };
        if !conditions_good {
            return None;
        }
        let before = out.len();
        for relation in &relations {
            letters::functions_not_given(relation, &names, out);
        }
        if out.len() > before {
            return None;
        }
        let letters = Letters::of(&relations, &self.conditions, &names);
        let given = conditions::read(
            &self.conditions,
            &names,
            self.conditions_text,
            self.budget,
            &letters,
            out,
        )?;
        let solutions = solutions?;
        let stages: Vec<Stage<'_>> = solutions
            .iter()
            .enumerate()
            .filter_map(|(unknown, (place, solution))| {
                Some(Stage {
                    text: self.equation,
                    conditions: &self.conditions,
                    budget: self.budget,
                    names: names.about(unknown),
                    relation: relations.get(*place)?,
                    solution,
                    given: &given,
                })
            })
            .collect();
        let found = justified(&stages, out)?;
        out.extend(letters.notice());
        let mut equations = Vec::with_capacity(found.len());
        let mut leading_values = Vec::with_capacity(found.len());
        let mut all_checked = Vec::new();
        for (unknown, (stage, own)) in stages.iter().zip(found).enumerate() {
            let (justification, leading_value, checked) = own;
            leading_values.extend(leading_value);
            all_checked.extend(checked);
            equations.push(stage.equation(unknown, justification));
        }
        all_checked.extend(given.checked.iter().cloned());
        let unknown = |(name, equation_order): (String, u32)| Unknown {
            name,
            equation_order,
        };
        let mut problem = Problem {
            independent: names.variable,
            unknowns: names.unknowns.into_iter().map(unknown).collect(),
            center: given.center,
            initial: given.values,
            also_given: given.also,
            near: given.near,
            equations,
            parameters: Vec::new(),
            side_conditions: Vec::new(),
            degree: request?,
        };
        if let (Some(step), Some(equation)) = (cleared, problem.equations.first_mut()) {
            equation.steps.insert(0, step);
            equation.standing_steps += 1;
        }
        problem.parameters = letters::parameters(&letters.found, &problem);
        problem.side_conditions = letters::side_conditions(&problem, &leading_values, &all_checked);
        Some(problem)
    }

    /// Clears the only equation of what is zero at the data; the step, if there was something.
    fn cleared(
        &self,
        relations: &mut [Relation],
        names: &Names,
        out: &mut Vec<Diagnostic>,
    ) -> Option<SolveStep> {
        let [only] = relations else {
            return None;
        };
        let clearing = Clearing {
            names,
            conditions: &self.conditions,
            budget: self.budget,
            text: self.equation,
        };
        let found = clearing.clear(only)?;
        out.push(found.notice);
        *only = found.relation;
        Some(found.step)
    }

    /// For each unknown the place of the equation that stands for it, and its solved form.
    fn solved(
        &self,
        relations: &[Relation],
        names: &Names,
    ) -> Result<Vec<(usize, Solution)>, Box<Diagnostic>> {
        let nowhere = InitialData {
            names,
            text: self.equation,
            field: Field::Equation,
            budget: self.budget,
            center: None,
            initial: Vec::new(),
            words: Vec::new(),
        };
        let mut sides = Vec::with_capacity(relations.len());
        for relation in relations {
            for side in [&relation.left, &relation.right] {
                nowhere.within_budget(side)?;
                // What has no value whatever the conditions are.
                nowhere.value(side, &mut Vec::new())?;
            }
            sides.push(build::sides(relation, names, Form::Normal));
        }
        let orders: Vec<u32> = names.unknowns.iter().map(|(_, order)| *order).collect();
        match (system::solve(&sides, &orders), sides.as_slice()) {
            // One equation is worked out order by order then.
            (Err(Trouble::In(_, _, Obstacle::NotLinear)), [only]) => {
                Ok(vec![(0, solve::unsolved(only.clone()))])
            }
            (solved, _) => solved.map_err(|trouble| {
                Box::new(match trouble {
                    Trouble::In(place, unknown, obstacle) => {
                        let span = relations.get(place).map_or(Span::new(0, 0), |r| r.span);
                        obstacle_message(obstacle, span, &names.about(unknown))
                    }
                    Trouble::Whole(structure) => system::diagnosed(&structure, relations, names),
                })
            }),
        }
    }
}

/// Why there is a solution, the leading coefficient's value if it has to be one that is not zero,
/// and what was checked.
type Justified = (Justification, Option<Expr>, Vec<Checked>);

/// For each equation why there is a solution. `None`, with a diagnostic, where the data do not fit.
fn justified(stages: &[Stage<'_>], out: &mut Vec<Diagnostic>) -> Option<Vec<Justified>> {
    if let Some((stage, why)) = stages
        .iter()
        .find_map(|stage| Some((stage, stage.order_by_order()?)))
    {
        if stages.len() > 1 {
            out.extend(stage.system_stops(why, stages));
            return None;
        }
        let checked = stage.check_given(why, out);
        return checked
            .map(|()| vec![(Justification::OrderByOrder(why), None, Vec::new())])
            .map_err(|diagnostic| out.push(*diagnostic))
            .ok();
    }
    let unfit = &stages.first()?.given.unfit;
    if !unfit.is_empty() {
        out.extend(unfit.iter().cloned());
        return None;
    }
    let mut found = Vec::with_capacity(stages.len());
    for stage in stages {
        let checked = stage.check(stages);
        let (leading, checked) = checked.map_err(|diagnostic| out.push(*diagnostic)).ok()?;
        let justification = justify(stage.solution, leading.clone(), checked.clone());
        found.push((justification, Some(leading), checked));
    }
    Some(found)
}

fn obstacle_message(obstacle: Obstacle, span: Span, names: &Names) -> Diagnostic {
    let highest = derivative(&names.unknown, names.order);
    match obstacle {
        Obstacle::Identity => Diagnostic::error(
            "identity",
            Field::Equation,
            span,
            "Both sides are the same, so every function satisfies this: nothing determines the unknown.",
        )
        .outcome(Outcome::NotDetermined),
        Obstacle::Cancels => Diagnostic::error(
            "highest-derivative-cancels",
            Field::Equation,
            span,
            format!("The terms with {highest} cancel, so this is not an equation of order {}. Leave them out.", names.order),
        ),
        Obstacle::NotLinear => Diagnostic::error(
            "highest-derivative-not-linear",
            Field::Equation,
            span,
            format!("{highest} does not stand to the first power. One equation is then worked out order by order; a system is not."),
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
