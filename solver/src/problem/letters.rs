//! Parameters: which letters stand for constants, what is required of them.

use super::names::{Meaning, Names, letter};
use super::walk::nodes;
use super::wording::typeset;
use super::{Checked, Parameter, Problem, Requirement, SolveRule};
use crate::diagnostic::{Diagnostic, Outcome};
use crate::expression::{Expr, Node as Form, factored, sign};
use crate::span::{Field, Span};
use crate::syntax::{Condition, Kind, Multiplication, Node, Relation};

/// The letters that stand for constants, in the order in which they are read, and where the first
/// one of them stands.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Letters {
    pub(super) found: Vec<String>,
    first: Option<(Field, Span)>,
}

impl Letters {
    /// Those of settled equations and of their conditions.
    pub(super) fn of(relations: &[Relation], conditions: &[Condition], names: &Names) -> Self {
        let mut letters = Self::default();
        let mut look = |root, field| {
            for node in nodes(root) {
                let Some(seen) = letter(node) else { continue };
                if names.meaning(seen.name) == Meaning::Other
                    && !letters.found.iter().any(|own| own == seen.name)
                {
                    letters.found.push(seen.name.to_owned());
                    letters.first = letters.first.or(Some((field, seen.span)));
                }
            }
        };
        for relation in relations {
            look(&relation.left, Field::Equation);
            look(&relation.right, Field::Equation);
        }
        for condition in conditions {
            look(&condition.value, Field::Conditions);
            look(&condition.point, Field::Conditions);
        }
        letters
    }

    /// What is said about them.
    pub(super) fn notice(&self) -> Option<Diagnostic> {
        let (field, span) = self.first?;
        let printed: Vec<String> = self.found.iter().map(|name| typeset(name)).collect();
        let mut message = match printed.split_last() {
            Some((last, [])) => format!(
                "{last} is a parameter: a letter that stands for a constant. The ledger keeps it; the plot takes a number for it."
            ),
            Some((last, others)) => format!(
                "{} and {last} are parameters: letters that stand for constants. The ledger keeps them; the plot takes numbers for them.",
                others.join(", ")
            ),
            None => return None,
        };
        if self.found.iter().any(|name| name == "i") {
            message.push_str(" All numbers are real here: i is not the imaginary unit.");
        }
        Some(Diagnostic::notice("parameters", field, span, message))
    }
}

/// `p(x)`, where p is nothing known, is a function that is not given; only as a product could it be
/// worked with, and nobody means that. `H(t - 1)` and `δ(t)` are the trade's names of a step and of
/// an impulse (common practice).
pub(super) fn functions_not_given(relation: &Relation, names: &Names, out: &mut Vec<Diagnostic>) {
    for node in nodes(&relation.left)
        .into_iter()
        .chain(nodes(&relation.right))
    {
        let Kind::Product(before, Multiplication::Juxtaposed, brackets) = &node.kind else {
            continue;
        };
        let head = match &before.kind {
            Kind::Product(_, _, last) | Kind::Quotient(_, last) => last,
            _ => before,
        };
        let (Kind::Name(name), Kind::Bracketed(argument)) = (&head.kind, &brackets.kind) else {
            continue;
        };
        if head.span.end != brackets.span.start || names.meaning(name) != Meaning::Other {
            continue;
        }
        let inside = nodes(argument);
        let variable =
            |node: &&Node| matches!(&node.kind, Kind::Name(own) if *own == names.variable);
        if !inside.iter().any(variable) {
            continue;
        }
        let jump = matches!(name.as_str(), "H" | "delta");
        if inside.len() > 1 && !jump {
            continue;
        }
        let shown = typeset(name);
        let message = if jump {
            format!(
                "If {shown}(…) is a step or an impulse, it has no Taylor series where it acts: write what holds around the center. A * in between makes it a product."
            )
        } else {
            format!(
                "{shown}({}) looks like a function of {} that is not given. Write its formula in its place; a * in between makes it a product.",
                typeset(&names.variable),
                typeset(&names.variable)
            )
        };
        let between = Span::new(head.span.end, head.span.end);
        out.push(
            Diagnostic::error(
                "function-not-given",
                Field::Equation,
                head.span.to(brackets.span),
                message,
            )
            .outcome(Outcome::Unable)
            .suggest("write the *", between, "*"),
        );
    }
}

/// Letters for the initial values of every order when none is given: c₀, c₁, … as textbooks name
/// arbitrary constants, or the same with another letter where c is taken.
pub(super) fn free_letters(order: u32, used: &Letters) -> Vec<String> {
    let taken = |base: &str| {
        let own = |name: &String| name.split('_').next() == Some(base);
        used.found.iter().any(own)
    };
    let base = ["c", "a", "b", "C", "A", "B", "K"]
        .into_iter()
        .find(|base| !taken(base))
        .unwrap_or("c");
    (0..order).map(|order| format!("{base}_{order}")).collect()
}

/// Letters for single missing values: a, b, … by order.
pub(super) fn value_letters(order: u32, used: &Letters) -> Vec<String> {
    let usual = ["a", "b", "c", "d"];
    let is_free = |name: &&str| !used.found.iter().any(|own| own == name);
    if usize::try_from(order).is_ok_and(|order| order <= usual.len()) && usual.iter().all(is_free) {
        return usual.iter().map(ToString::to_string).collect();
    }
    let free: Vec<String> = usual
        .iter()
        .filter(|n| is_free(n))
        .map(ToString::to_string)
        .collect();
    if usize::try_from(order).is_ok_and(|order| order <= free.len()) {
        return free;
    }
    free_letters(order, used)
}

/// The parameters of a problem: those found, then those that were made up for initial values.
pub(super) fn parameters(found: &[String], problem: &Problem) -> Vec<Parameter> {
    let values = problem.initial.iter().flatten();
    let alone = |name: &str| {
        let own = |value: &Expr| *value == Expr::parameter(name);
        let inside = |value: &Expr| value.parameters().iter().any(|other| other == name);
        let elsewhere = inside(&problem.center)
            || problem
                .initial
                .iter()
                .flatten()
                .filter(|v| inside(v))
                .count()
                > 1
            || problem
                .equations
                .iter()
                .any(|equation| equation.solved.iter().any(inside));
        !elsewhere && problem.initial.iter().flatten().any(own)
    };
    let mut names: Vec<String> = found.to_vec();
    for name in values.flat_map(Expr::parameters) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
        .into_iter()
        .map(|name| Parameter {
            initial: alone(&name),
            name,
        })
        .collect()
}

/// What must hold of the parameters: of the leading value, of what was divided by, and of what was
/// looked at on the way. Each once, in the simplest form.
pub(super) fn side_conditions(
    problem: &Problem,
    leading_values: &[Expr],
    checked: &[Checked],
) -> Vec<Checked> {
    let divided = problem.equations.iter().flat_map(|equation| {
        equation.steps.iter().filter_map(|step| match &step.rule {
            SolveRule::DivideBy(divisor) if divisor.is_constant() => Some(divisor),
            _ => None,
        })
    });
    let mut found: Vec<Checked> = Vec::new();
    let mut add = |value: &Expr, requirement| {
        if !value.has_parameter() {
            return;
        }
        let value = factored(value, &|_| false);
        let requirement = match requirement {
            Requirement::NotZeroInBars | Requirement::NotZeroUnderOddRoot => Requirement::NotZero,
            other => other,
        };
        let parts = match requirement {
            Requirement::NotZero => value.factors(),
            _ => vec![value],
        };
        for part in parts {
            let base = match (part.node(), requirement) {
                (Form::Power(base, _), Requirement::NotZero) => base.clone(),
                _ => part,
            };
            let known = found.iter().any(|own| {
                own.value == base
                    && (own.requirement == requirement || requirement == Requirement::NotZero)
            });
            // A sign that its form shows asks for nothing.
            let shown = match requirement {
                Requirement::NotZero => sign(&base).is_some(),
                Requirement::Positive => sign(&base).is_some_and(std::cmp::Ordering::is_gt),
                _ => false,
            };
            if base.has_parameter() && !known && !shown {
                found.push(Checked {
                    expression: base.clone(),
                    value: base,
                    requirement,
                });
            }
        }
    };
    for check in checked {
        add(&check.value, check.requirement);
    }
    for value in leading_values.iter().chain(divided) {
        add(value, Requirement::NotZero);
    }
    found
}
