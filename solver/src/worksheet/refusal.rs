//! Messages for problems that are worked out order by order and have no Taylor polynomial, or not one.

use super::Request;
use super::steps::{derive, ended, is_explicit};
use crate::budget::Budget;
use crate::derivation::Demand;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Severity, Suggestion};
use crate::document::names::Names;
use crate::document::plain;
use crate::expression::{Expr, Symbol, decimal};
use crate::problem::{self, Problem};
use crate::span::{Field, Span};
use crate::syntax::{self, Condition};

/// The answer where there is no Taylor polynomial, or not one.
pub(super) fn refusal(
    request: &Request,
    problem: &Problem,
    (unknown, order): (usize, usize),
    demand: &Demand,
    budget: &Budget,
) -> Diagnostic {
    let text = &request.conditions;
    let (conditions, _) = syntax::parse_conditions(text, budget);
    let names = Names::of(problem);
    let writer = Writer {
        text,
        conditions: &conditions,
        names: &names,
        unknown: problem.unknowns.get(unknown).map_or("y", |u| &u.name),
        order,
    };
    let head = writer.head();
    let own = conditions.iter().find(|condition| writer.is_own(condition));
    let end = text.trim_end().len();
    let (field, span) = match own {
        Some(condition) => (Field::Conditions, condition.span),
        None => (Field::Conditions, Span::new(end, end)),
    };
    let mut diagnostic = message(request, (field, span), &head, demand, &|value| {
        let typeset = value.substitute(&|symbol| match symbol {
            Symbol::Parameter(name) => Some(Expr::parameter(&problem::typeset(name))),
            Symbol::Variable | Symbol::Derivative { .. } | Symbol::Pi | Symbol::Root(_) => None,
        });
        writer.value(&typeset)
    });
    let proposals: Vec<Expr> = match demand {
        Demand::NotAsGiven(value) => vec![value.clone()],
        Demand::Free { .. } => vec![Expr::one()],
        Demand::Several(values) | Demand::Some(values) => values.clone(),
        _ => Vec::new(),
    };
    let digits = telling_apart(&proposals);
    let proposals = proposals.iter().map(|value| {
        if value.has_root() {
            writer.condition(own, "≈", &nearly(value, digits))
        } else {
            writer.condition(own, "=", &writer.value(value))
        }
    });
    diagnostic.suggestions = proposals
        .chain(own.and_then(|_| writer.leave_out()))
        .filter(|suggestion| mends(request, suggestion, diagnostic.code, budget))
        .collect();
    diagnostic
}

/// The value to so many digits.
fn nearly(value: &Expr, digits: u32) -> String {
    decimal(value, digits).unwrap_or_default()
}

/// So many digits that no two of the values look alike.
fn telling_apart(values: &[Expr]) -> u32 {
    let distinct = |digits: &u32| {
        let written: Vec<String> = values.iter().map(|value| nearly(value, *digits)).collect();
        let alike =
            |(place, own): (usize, &String)| written.iter().skip(place + 1).any(|o| o == own);
        !written.iter().enumerate().any(alike)
    };
    [4, 8, 16].into_iter().find(distinct).unwrap_or(32)
}

/// What is said; `head` is the derivative's value in question, `here` its condition or where one
/// is to be added.
#[allow(clippy::too_many_lines, reason = "one sentence for each demand")]
fn message(
    request: &Request,
    here: (Field, Span),
    head: &str,
    demand: &Demand,
    written: &dyn Fn(&Expr) -> String,
) -> Diagnostic {
    let whole = Span::new(0, request.equation.len());
    let relation = |value: &Expr| {
        if value.has_root() {
            format!("≈ {}", nearly(value, 6))
        } else {
            format!("= {}", written(value))
        }
    };
    let error = |code, (field, span), outcome, message: String| {
        Diagnostic::error(code, field, span, message).outcome(outcome)
    };
    match demand {
        Demand::Contradiction(value) => error(
            "no-analytic-solution",
            (Field::Equation, whole),
            Outcome::Contradictory,
            format!(
                "A line reads 0 = {}: {}no function that is analytic at the center satisfies the equation with these data.",
                written(value),
                if value.has_parameter() {
                    "where that is not zero, "
                } else {
                    ""
                }
            ),
        ),
        Demand::NotAsGiven(value) => error(
            "forced-value",
            here,
            Outcome::Contradictory,
            format!(
                "The equation forces {head} = {}; this condition contradicts it.",
                written(value)
            ),
        ),
        Demand::GivenFails => error(
            "forced-value",
            here,
            Outcome::Contradictory,
            format!("The equation is not satisfied with this value of {head}."),
        ),
        Demand::Free { sure } => error(
            "free-value",
            here,
            Outcome::NotDetermined,
            format!(
                "The equation leaves {head} free{}. Add a condition for it.",
                if *sure {
                    ": each value gives another solution"
                } else {
                    " as far as was looked"
                }
            ),
        ),
        Demand::FailsLater => error(
            "no-analytic-solution",
            (Field::Equation, whole),
            Outcome::Contradictory,
            format!(
                "Later lines contradict whatever {head} is: no function that is analytic at the center satisfies the equation with these data."
            ),
        ),
        Demand::Several(values) => error(
            "several-values",
            here,
            Outcome::NotDetermined,
            format!(
                "The equation leaves {} values for {head}, each with a solution of its own. Add the one that is meant.",
                values.len()
            ),
        ),
        Demand::Some(values) => error(
            "several-values",
            here,
            Outcome::NotDetermined,
            format!(
                "{head} {} satisfies the equation; whether other values do, too, is not known here. Add the one that is meant.",
                values.iter().map(relation).collect::<Vec<_>>().join(" or ")
            ),
        ),
        Demand::NoReal => error(
            "no-real-value",
            (Field::Equation, whole),
            Outcome::Contradictory,
            format!("No real value of {head} satisfies the equation with these data."),
        ),
        Demand::Inexact(_) => error(
            "value-not-exact",
            here,
            Outcome::Unable,
            format!(
                "The equation does not give {head} in closed form here. If you know the value, add it to the conditions; it is tested."
            ),
        ),
        Demand::OfLetters(letters) => error(
            "value-of-letters",
            here,
            Outcome::Unable,
            format!(
                "{head} is a root that depends on {}: which root it is, and how many there are, changes with the numbers. Write numbers for the letters, or add the value of {head} to the conditions.",
                letters
                    .iter()
                    .map(|name| problem::typeset(name))
                    .collect::<Vec<_>>()
                    .join(", ")
            ),
        ),
        Demand::Undecided(_) => error(
            "undecided",
            here,
            Outcome::Unable,
            format!("Whether the value of {head} fits exactly cannot be decided here."),
        ),
        Demand::Nothing => error(
            "free-value",
            (Field::Equation, whole),
            Outcome::NotDetermined,
            format!(
                "So many derivatives of the equation demand nothing of {head} that it is left open."
            ),
        ),
    }
}

/// Carried out, does the suggestion remove this message and leave no error that was not there?
pub(super) fn mends(
    request: &Request,
    suggestion: &Suggestion,
    code: &str,
    budget: &Budget,
) -> bool {
    let changed = Request {
        conditions: syntax::applied(&request.conditions, suggestion),
        ..request.clone()
    };
    let (found, said) = problem::understand_untried(
        &changed.equation,
        &changed.conditions,
        &changed.degree,
        budget,
    );
    let failed = said.iter().any(|d| d.severity == Severity::Error);
    let Some(mut found) = found.filter(|_| !failed) else {
        return false;
    };
    if found.order_by_order().is_none() {
        return is_explicit(&found, budget);
    }
    let after = derive(&mut found, &changed, budget).derivation;
    match ended(&after) {
        None => true,
        // The next choice may wait behind this one.
        Some((_, Demand::Several(_) | Demand::Some(_) | Demand::Free { .. })) => {
            matches!(code, "several-values" | "free-value" | "forced-value")
        }
        Some(_) => false,
    }
}

/// Writes conditions in the way of those that are there.
struct Writer<'a> {
    text: &'a str,
    conditions: &'a [Condition],
    names: &'a Names,
    /// As typed.
    unknown: &'a str,
    order: usize,
}

impl Writer<'_> {
    /// Is it the condition for the derivative in question?
    fn is_own(&self, condition: &Condition) -> bool {
        condition.unknown == self.unknown && condition.order as usize == self.order
    }

    fn value(&self, value: &Expr) -> String {
        plain::expression(value, self.names)
    }

    fn slice(&self, span: Span) -> &str {
        self.text.get(span.start..span.end).unwrap_or("0")
    }

    fn point(&self) -> &str {
        let first = self.conditions.first();
        first.map_or("0", |condition| self.slice(condition.point.span))
    }

    /// y'(0)
    fn head(&self) -> String {
        let order = u32::try_from(self.order).unwrap_or(u32::MAX);
        let derivative = plain::derivative(self.unknown, order);
        format!("{derivative}({})", self.point())
    }

    /// Adds the condition, or changes its value.
    fn condition(&self, own: Option<&Condition>, sign: &str, value: &str) -> Suggestion {
        let whole = format!("{} {sign} {value}", self.head());
        let edit = |span, replacement| Edit {
            field: Field::Conditions,
            span,
            replacement,
        };
        let end = self.text.trim_end().len();
        Suggestion {
            label: format!("write {whole}"),
            edits: vec![match own {
                Some(own) => edit(own.value.span, value.to_owned()),
                None if end == 0 => edit(Span::new(0, 0), whole),
                None => edit(Span::new(end, end), format!(", {whole}")),
            }],
        }
    }

    /// Deletes the condition together with the separator before or behind it.
    fn leave_out(&self) -> Option<Suggestion> {
        let place = self
            .conditions
            .iter()
            .position(|condition| self.is_own(condition))?;
        let own = self.conditions.get(place)?;
        let before = place.checked_sub(1).and_then(|p| self.conditions.get(p));
        let span = match (before, self.conditions.get(place + 1)) {
            (Some(before), _) => Span::new(before.span.end, own.span.end),
            (None, Some(next)) => Span::new(own.span.start, next.span.start),
            (None, None) => return None,
        };
        Some(Suggestion {
            label: "leave it out".to_owned(),
            edits: vec![Edit {
                field: Field::Conditions,
                span,
                replacement: String::new(),
            }],
        })
    }
}
