//! Equations between differentials, `M dx + N dy = 0`, read as `M + N y′ = 0`.
//!
//! The lexer makes names such as `dx` only of texts without any other sign of a derivative. Such an
//! equation is divided by the differential of the variable: that differential becomes 1, the other
//! one the derivative (common practice; every term must hold exactly one differential).

use super::point::slice;
use super::walk::{nodes, unbracketed};
use crate::diagnostic::{Diagnostic, Edit, Suggestion};
use crate::number::rational::integer;
use crate::span::{Field, Span};
use crate::syntax::{Condition, Kind, Node, Relation, differential};

/// The relation with a derivative in place of differentials; `None` when it holds none. `text` are
/// the texts of the equation and of the conditions.
///
/// # Errors
/// A diagnostic when the equation is not of the first degree in the differentials.
pub(super) fn as_derivative(
    relation: &Relation,
    text: (&str, &str),
    conditions: &[Condition],
    out: &mut Vec<Diagnostic>,
) -> Result<Option<Relation>, Box<Diagnostic>> {
    let letters = letters(relation);
    let (first, second) = match letters.as_slice() {
        [] => return Ok(None),
        [first, second] => (*first, *second),
        [only] => return Err(Box::new(lonely(only))),
        [_, _, third, ..] => return Err(Box::new(lonely(third))),
    };
    for side in [&relation.left, &relation.right] {
        if is_nothing(side) {
            continue;
        }
        if degree(side) != Some(1) {
            return Err(Box::new(Diagnostic::error(
                "differential-degree",
                Field::Equation,
                side.span,
                format!(
                    "Every term needs exactly one differential, d{} or d{}, to the first power, as in (x + y) dx + x dy = 0.",
                    first.0, second.0
                ),
            )));
        }
    }
    let given = |name: &str| conditions.iter().any(|c| c.unknown == name);
    let usual = |name: &str| matches!(name, "x" | "t" | "theta");
    let swapped = given(first.0) != given(second.0) && given(first.0)
        || given(first.0) == given(second.0)
            && usual(second.0)
            && (!usual(first.0) || second.0 == "t");
    let ((variable, _), (unknown, place)) = if swapped {
        (second, first)
    } else {
        (first, second)
    };
    out.push(notice(
        relation,
        text,
        conditions,
        (variable, unknown, place),
    ));
    let replaced = |side: &Node| replace(side, variable, unknown);
    Ok(Some(Relation {
        span: relation.span,
        left: replaced(&relation.left),
        right: replaced(&relation.right),
    }))
}

fn lonely(letter: &(&str, Span)) -> Diagnostic {
    Diagnostic::error(
        "differential-degree",
        Field::Equation,
        letter.1,
        "An equation between differentials has two of them, as in (x + y) dx + x dy = 0.",
    )
}

/// Letters with a differential, and where it stands first.
fn letters(relation: &Relation) -> Vec<(&str, Span)> {
    let mut found: Vec<(&str, Span)> = Vec::new();
    for node in nodes(&relation.left)
        .into_iter()
        .chain(nodes(&relation.right))
    {
        if let Some(letter) = differential(node)
            && found.iter().all(|(known, _)| *known != letter)
        {
            found.push((letter, node.span));
        }
    }
    found
}

fn is_nothing(side: &Node) -> bool {
    matches!(&unbracketed(side).kind, Kind::Number(value) if *value == integer(0))
}

/// How many differentials each term holds, when it is the same number for all.
fn degree(node: &Node) -> Option<u32> {
    if differential(node).is_some() {
        return Some(1);
    }
    let none = |node: &Node| nodes(node).into_iter().all(|n| differential(n).is_none());
    // Long chains are left-nested: follow them in a loop.
    let mut sum = 0;
    let mut head = node;
    loop {
        match &head.kind {
            Kind::Product(a, _, b) => {
                sum += degree(b)?;
                head = a;
            }
            Kind::Quotient(a, b) if none(b) => head = a,
            Kind::Negated(a) | Kind::Bracketed(a) => head = a,
            Kind::Sum(terms) => {
                let mut degrees = terms.iter().map(|(_, term)| degree(term));
                let first = degrees.next()??;
                return degrees.all(|d| d == Some(first)).then_some(sum + first);
            }
            _ if differential(head).is_some() => return Some(sum + 1),
            _ => return none(head).then_some(sum),
        }
    }
}

fn replace(node: &Node, variable: &str, unknown: &str) -> Node {
    let inner = |n: &Node| Box::new(replace(n, variable, unknown));
    let kind = match (differential(node), &node.kind) {
        (Some(letter), _) if letter == unknown => Kind::Derivative {
            of: unknown.to_owned(),
            variable: Some(variable.to_owned()),
            order: 1,
            argument: None,
        },
        (Some(_), _) => Kind::Number(integer(1)),
        (None, Kind::Sum(terms)) => Kind::Sum(
            terms
                .iter()
                .map(|(minus, term)| (*minus, replace(term, variable, unknown)))
                .collect(),
        ),
        (None, Kind::Negated(a)) => Kind::Negated(inner(a)),
        (None, Kind::Bracketed(a)) => Kind::Bracketed(inner(a)),
        (None, Kind::Product(..) | Kind::Quotient(..)) => {
            return chain(node, variable, unknown);
        }
        // No differential is inside anything else.
        (None, kind) => kind.clone(),
    };
    Node {
        span: node.span,
        kind,
    }
}

/// Long chains are left-nested: follow them in a loop. A factor 1 that comes in goes.
fn chain(node: &Node, variable: &str, unknown: &str) -> Node {
    let mut spine = Vec::new();
    let mut head = node;
    while let Kind::Product(a, _, _) | Kind::Quotient(a, _) = &head.kind {
        spine.push(head);
        head = a;
    }
    let is_one = |n: &Node| differential(n).is_some_and(|letter| letter == variable);
    let mut first = is_one(head);
    let mut result = replace(head, variable, unknown);
    for link in spine.into_iter().rev() {
        let kind = match &link.kind {
            Kind::Product(_, _, b) if is_one(b) => continue,
            Kind::Product(_, _, b) if first => replace(b, variable, unknown).kind,
            Kind::Product(_, how, b) => Kind::Product(
                Box::new(result),
                *how,
                Box::new(replace(b, variable, unknown)),
            ),
            Kind::Quotient(_, b) => Kind::Quotient(Box::new(result), b.clone()),
            _ => continue,
        };
        first = false;
        result = Node {
            span: link.span,
            kind,
        };
    }
    result
}

fn notice(
    relation: &Relation,
    (text, conditions_text): (&str, &str),
    conditions: &[Condition],
    (variable, unknown, place): (&str, &str, Span),
) -> Diagnostic {
    let mut diagnostic = Diagnostic::notice(
        "differentials",
        Field::Equation,
        place,
        format!(
            "The equation is read as divided by d{variable}: M d{variable} + N d{unknown} = 0 is M + N {unknown}′ = 0, with {unknown} as a function of {variable}."
        ),
    );
    // The other reading, written out; a condition turns round with it.
    let mut edits: Vec<Edit> = Vec::new();
    for node in nodes(&relation.left)
        .into_iter()
        .chain(nodes(&relation.right))
    {
        let Some(letter) = differential(node) else {
            continue;
        };
        let before = text.get(..node.span.start).unwrap_or("");
        let space = if before.ends_with(char::is_alphanumeric) {
            " "
        } else {
            ""
        };
        // Behind a factor the 1 is left out.
        let factor = before.trim_end();
        let (start, replacement) = if letter != unknown {
            let derivative = format!("{space}d{variable}/d{unknown}");
            (node.span.start, derivative)
        } else if factor.ends_with(|c: char| c.is_alphanumeric() || c == ')') {
            (factor.len(), String::new())
        } else {
            (node.span.start, "1".to_owned())
        };
        edits.push(Edit {
            field: Field::Equation,
            span: Span::new(start, node.span.end),
            replacement,
        });
    }
    // A point in words goes with the only condition.
    let whole = Span::new(0, conditions_text.trim_end().len());
    edits.extend(conditions.iter().map(|c| Edit {
        field: Field::Conditions,
        span: if conditions.len() == 1 { whole } else { c.span },
        replacement: format!(
            "{variable}({}) = {}",
            slice(conditions_text, &c.value),
            slice(conditions_text, &c.point)
        ),
    }));
    diagnostic.suggestions.push(Suggestion {
        label: format!("take {variable} as a function of {unknown}"),
        edits,
    });
    diagnostic
}
