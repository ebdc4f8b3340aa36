//! The initial conditions: all at one point, mostly one for each order below the equation's. Without
//! any the initial values are letters.

use super::letters::{Letters, free_letters, value_letters};
use super::names::Names;
use super::point::{InitialData, slice};
use super::settle::settle;
use super::walk::nodes;
use super::wording::{derivative, typed_derivative, typeset};
use super::{AlsoGiven, Checked};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Suggestion};
use crate::expression::{Expr, Truth, zero_test};
use crate::span::{Field, Span};
use crate::syntax::{Condition, Kind, Node};

/// The conditions, evaluated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Given {
    pub(super) center: Expr,
    /// By order, as far as there is no gap, and not beyond what the equation's order needs.
    pub(super) values: Vec<Expr>,
    /// As typed.
    pub(super) center_text: String,
    /// As typed, by order.
    pub(super) value_texts: Vec<String>,
    /// What was required of parameters in them.
    pub(super) checked: Vec<Checked>,
    /// The other ones.
    pub(super) also: Vec<AlsoGiven>,
    /// What is wrong with them, if the equation can be solved for its highest derivative.
    pub(super) unfit: Vec<Diagnostic>,
}

/// One condition with its values.
struct Read<'a> {
    condition: &'a Condition,
    /// Position in the list as typed.
    place: usize,
    point: Expr,
    value: Expr,
    checked: Vec<Checked>,
}

/// What every step needs.
struct Reader<'a> {
    conditions: &'a [Condition],
    names: &'a Names,
    text: &'a str,
    budget: &'a Budget,
    letters: &'a Letters,
}

/// Reads the conditions; `letters` are those in use. `None` and errors in `out` when they do not fit.
pub(super) fn read(
    conditions: &[Condition],
    names: &Names,
    text: &str,
    budget: &Budget,
    letters: &Letters,
    out: &mut Vec<Diagnostic>,
) -> Option<Given> {
    let reader = Reader {
        conditions,
        names,
        text,
        budget,
        letters,
    };
    if conditions.is_empty() && text.trim().is_empty() {
        return Some(reader.general(out));
    }
    let before = out.len();
    let mut all = Vec::with_capacity(conditions.len());
    for (place, condition) in conditions.iter().enumerate() {
        match reader.evaluate(place, condition) {
            Ok(read) => all.push(read),
            Err(diagnostic) => out.push(*diagnostic),
        }
    }
    if out.len() > before {
        return None;
    }
    let center = reader.common_point(&all, out)?;
    let chosen = reader.by_order(&all, out)?;
    let mut given = Given {
        center: center.point.clone(),
        values: Vec::new(),
        center_text: slice(text, &center.condition.point).to_owned(),
        value_texts: Vec::new(),
        checked: Vec::new(),
        also: Vec::new(),
        unfit: reader.unfit(&all, &chosen),
    };
    for (order, read) in chosen.iter().enumerate() {
        let Some(read) = read else {
            continue;
        };
        given.checked.extend(read.checked.iter().cloned());
        if order < reader.order() && order == given.values.len() {
            given.values.push(read.value.clone());
            given
                .value_texts
                .push(slice(text, &read.condition.value).to_owned());
        } else {
            given.also.push(AlsoGiven {
                unknown: 0,
                order,
                value: read.value.clone(),
                span: read.condition.span,
            });
        }
    }
    Some(given)
}

/// The value of a closed constant that stands alone (an end of the interval, a point).
///
/// # Errors
/// A diagnostic when it has no value or holds a letter.
pub(super) fn constant_value(
    node: &Node,
    names: &Names,
    text: &str,
    field: Field,
    budget: &Budget,
    checked: &mut Vec<Checked>,
) -> Result<Expr, Box<Diagnostic>> {
    let settled = settle(node, names);
    let nowhere = InitialData {
        names,
        text,
        field,
        budget,
        center: None,
        initial: Vec::new(),
        words: Vec::new(),
    };
    for part in nodes(&settled) {
        let Kind::Name(name) = &part.kind else {
            continue;
        };
        if nowhere.letter_has_no_value(name) {
            return Err(Box::new(
                Diagnostic::error(
                    "unknown-letter",
                    field,
                    part.span,
                    format!("{name} has no value here. Write a number, such as 1/2 or pi/6."),
                )
                .outcome(Outcome::Unable)
                .suggest(format!("write 1 for {name}"), part.span, "1"),
            ));
        }
    }
    nowhere.within_budget(&settled)?;
    nowhere.value(&settled, checked)?.ok_or_else(|| {
        Box::new(Diagnostic::error(
            "not-a-number",
            field,
            node.span,
            "A number is needed here, such as 1/2, 0.25 or pi/6.",
        ))
    })
}

impl<'a> Reader<'a> {
    fn evaluate(
        &self,
        place: usize,
        condition: &'a Condition,
    ) -> Result<Read<'a>, Box<Diagnostic>> {
        let unknown = &self.names.unknown;
        if condition.unknown != *unknown {
            return Err(Box::new(
                Diagnostic::error(
                    "other-unknown",
                    Field::Conditions,
                    condition.unknown_span,
                    format!(
                        "This condition is about {}, but the unknown of the equation is {unknown}.",
                        condition.unknown
                    ),
                )
                .suggest(
                    format!("write {unknown}"),
                    condition.unknown_span,
                    unknown,
                ),
            ));
        }
        let variable = &self.names.variable;
        if let Some(letter) = &condition.variable
            && !matches!(&letter.kind, Kind::Name(name) if name == variable)
        {
            let typed = slice(self.text, letter);
            return Err(Box::new(
                Diagnostic::error(
                    "other-variable",
                    Field::Conditions,
                    letter.span,
                    format!("The point is given for {typed}, but the variable of the equation is {variable}."),
                )
                .suggest(format!("write {variable}"), letter.span, variable),
            ));
        }
        let mut checked = Vec::new();
        let mut value_of = |node| {
            constant_value(
                node,
                self.names,
                self.text,
                Field::Conditions,
                self.budget,
                &mut checked,
            )
        };
        let point = value_of(&condition.point)?;
        let value = value_of(&condition.value)?;
        Ok(Read {
            condition,
            place,
            point,
            value,
            checked,
        })
    }

    /// Letters for all initial values, at 0.
    fn general(&self, out: &mut Vec<Diagnostic>) -> Given {
        let letters = free_letters(self.names.order, self.letters);
        let written: Vec<String> = (0..)
            .zip(&letters)
            .map(|(order, letter)| {
                let head = derivative(&self.names.unknown, order);
                format!("{head}(0) = {}", typeset(letter))
            })
            .collect();
        let numbers: Vec<String> = (0..self.names.order)
            .map(|order| self.written(order, "0", if order == 0 { "1" } else { "0" }))
            .collect();
        let numbers = numbers.join(", ");
        let whole = Span::new(0, self.text.len());
        out.push(
            Diagnostic::notice(
                "general-solution",
                Field::Conditions,
                whole,
                format!(
                    "No initial conditions are given, so letters stand for the initial values: {}.",
                    written.join(", ")
                ),
            )
            .suggest(format!("write {numbers}"), whole, numbers),
        );
        Given {
            center: Expr::zero(),
            values: letters.iter().map(|name| Expr::parameter(name)).collect(),
            center_text: "0".to_owned(),
            value_texts: letters,
            checked: Vec::new(),
            also: Vec::new(),
            unfit: Vec::new(),
        }
    }

    /// The one that names the center; all others must stand at the same point.
    fn common_point<'r>(
        &self,
        all: &'r [Read<'a>],
        out: &mut Vec<Diagnostic>,
    ) -> Option<&'r Read<'a>> {
        let Some(first) = all.first() else {
            out.push(self.missing(&vec![None; self.order()]));
            return None;
        };
        for read in all {
            match zero_test(&read.point.sub(&first.point)) {
                Truth::Zero => {}
                Truth::NotZero => {
                    out.push(self.boundary_value_problem(all, first, read));
                    return None;
                }
                Truth::Undecided => {
                    out.push(undecided(read.condition.point.span));
                    return None;
                }
            }
        }
        Some(first)
    }

    fn order(&self) -> usize {
        usize::try_from(self.names.order).unwrap_or(usize::MAX)
    }

    fn boundary_value_problem(
        &self,
        all: &[Read<'a>],
        first: &Read<'a>,
        other: &Read<'a>,
    ) -> Diagnostic {
        let here = slice(self.text, &first.condition.point);
        let there = slice(self.text, &other.condition.point);
        let x = &self.names.variable;
        let diagnostic = Diagnostic::error(
            "boundary-value-problem",
            Field::Conditions,
            other.condition.point.span,
            format!(
                "The conditions stand at {x} = {here} and at {x} = {there}: that is a boundary value problem. Successive differentiation needs all conditions at one point."
            ),
        )
        .outcome(Outcome::Unable);
        let order = other.condition.order;
        let taken = |order: u32| {
            all.iter()
                .any(|r| r.place != other.place && r.condition.order == order)
        };
        if !taken(order) && order < self.names.order {
            return diagnostic.suggest(
                format!("write {here} for {there}"),
                other.condition.point.span,
                here,
            );
        }
        match (0..self.names.order).find(|order| !taken(*order)) {
            Some(free) => {
                let whole = self.written(free, here, slice(self.text, &other.condition.value));
                diagnostic.suggest(format!("write {whole}"), other.condition.span, whole)
            }
            None => diagnostic,
        }
    }

    /// `y′(0)`, for messages.
    fn target(&self, read: &Read<'_>) -> String {
        format!(
            "{}({})",
            derivative(&self.names.unknown, read.condition.order),
            slice(self.text, &read.condition.point)
        )
    }

    /// `y'(0) = 1`.
    fn written(&self, order: u32, point: &str, value: &str) -> String {
        let head = typed_derivative(&self.names.unknown, order);
        format!("{head}({point}) = {value}")
    }

    /// Each order's condition.
    fn by_order<'r>(
        &self,
        all: &'r [Read<'a>],
        out: &mut Vec<Diagnostic>,
    ) -> Option<Vec<Option<&'r Read<'a>>>> {
        let limit = self.order().max(self.budget.degree + 1);
        let orders = all.iter().map(|r| r.condition.order as usize + 1);
        let count = orders.max().unwrap_or(0).clamp(self.order(), limit);
        let mut chosen: Vec<Option<&Read<'_>>> = vec![None; count];
        let present: Vec<u32> = all.iter().map(|r| r.condition.order).collect();
        let before = out.len();
        let mut notices = Vec::new();
        for read in all {
            let order = read.condition.order;
            let slot = usize::try_from(order).ok().and_then(|o| chosen.get_mut(o));
            let Some(slot) = slot else {
                out.push(self.beyond_order(read, &present));
                continue;
            };
            let Some(earlier) = slot else {
                *slot = Some(read);
                continue;
            };
            match zero_test(&read.value.sub(&earlier.value)) {
                Truth::Zero => notices.push(self.repeated(read)),
                Truth::NotZero => out.push(self.contradiction(earlier, read, &present)),
                Truth::Undecided => out.push(undecided(read.condition.value.span)),
            }
        }
        if out.len() > before {
            return None;
        }
        out.extend(notices);
        Some(chosen)
    }

    /// Conditions that an equation solved for its highest derivative does not need are accepted
    /// beside the ones that it needs, not in their place.
    fn unfit(&self, all: &[Read<'a>], chosen: &[Option<&Read<'a>>]) -> Vec<Diagnostic> {
        let needed = chosen.get(..self.order()).unwrap_or(chosen);
        if needed.iter().all(Option::is_some) {
            return Vec::new();
        }
        let present: Vec<u32> = all.iter().map(|r| r.condition.order).collect();
        let beyond: Vec<Diagnostic> = all
            .iter()
            .filter(|read| read.condition.order >= self.names.order)
            .map(|read| self.beyond_order(read, &present))
            .collect();
        if beyond.is_empty() {
            vec![self.missing(needed)]
        } else {
            beyond
        }
    }

    fn beyond_order(&self, read: &Read<'_>, present: &[u32]) -> Diagnostic {
        let order = self.names.order;
        let name = &self.names.unknown;
        let last = derivative(name, order.saturating_sub(1));
        let what = match order {
            1 => format!("{name} only"),
            2 => format!("{name} and {last}"),
            3 => format!("{name}, {} and {last}", derivative(name, 1)),
            _ => format!("{name} to {last}"),
        };
        let diagnostic = Diagnostic::error(
            "condition-order",
            Field::Conditions,
            read.condition.span,
            format!(
                "The equation has order {order}, so the conditions give {what}; {} follows from the equation.",
                derivative(name, read.condition.order)
            ),
        );
        let diagnostic = self.instead(diagnostic, read, present);
        self.leave_out(diagnostic, read.place)
    }

    /// Offers the first order that has no condition yet.
    fn instead(&self, diagnostic: Diagnostic, read: &Read<'_>, present: &[u32]) -> Diagnostic {
        let Some(free) = (0..self.names.order).find(|o| !present.contains(o)) else {
            return diagnostic;
        };
        let point = slice(self.text, &read.condition.point);
        let value = slice(self.text, &read.condition.value);
        let whole = self.written(free, point, value);
        diagnostic.suggest(format!("write {whole}"), read.condition.span, whole)
    }

    /// Offers to delete a condition together with the separator before (or behind) it.
    fn leave_out(&self, mut diagnostic: Diagnostic, place: usize) -> Diagnostic {
        let Some(own) = self.conditions.get(place) else {
            return diagnostic;
        };
        let previous = place.checked_sub(1).and_then(|p| self.conditions.get(p));
        let span = match (previous, self.conditions.get(place + 1)) {
            (Some(previous), _) => Span::new(previous.span.end, own.span.end),
            (None, Some(next)) => Span::new(own.span.start, next.span.start),
            (None, None) => own.span,
        };
        diagnostic.suggestions.push(Suggestion {
            label: "leave it out".to_owned(),
            edits: vec![Edit {
                field: Field::Conditions,
                span,
                replacement: String::new(),
            }],
        });
        diagnostic
    }

    fn repeated(&self, read: &Read<'_>) -> Diagnostic {
        let diagnostic = Diagnostic::notice(
            "duplicate-condition",
            Field::Conditions,
            read.condition.span,
            format!(
                "{} is given twice with the same value; once is enough.",
                self.target(read)
            ),
        );
        self.leave_out(diagnostic, read.place)
    }

    fn contradiction(&self, earlier: &Read<'_>, read: &Read<'_>, present: &[u32]) -> Diagnostic {
        let diagnostic = Diagnostic::error(
            "contradictory-conditions",
            Field::Conditions,
            read.condition.span,
            format!(
                "{} is given twice with different values, {} and {}: no function has both.",
                self.target(read),
                slice(self.text, &earlier.condition.value),
                slice(self.text, &read.condition.value),
            ),
        )
        .outcome(Outcome::Contradictory);
        let diagnostic = self.instead(diagnostic, read, present);
        self.leave_out(diagnostic, read.place)
    }

    fn missing(&self, chosen: &[Option<&Read<'_>>]) -> Diagnostic {
        let orders: Vec<u32> = (0..self.names.order)
            .zip(chosen)
            .filter(|(_, slot)| slot.is_none())
            .map(|(order, _)| order)
            .collect();
        let point = self
            .conditions
            .first()
            .map_or("0", |c| slice(self.text, &c.point));
        let list = |f: &dyn Fn(u32) -> String| -> String {
            orders
                .iter()
                .map(|order| f(*order))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let wanted = list(&|order| format!("{}({point})", derivative(&self.names.unknown, order)));
        let text = list(&|order| self.written(order, point, if order == 0 { "1" } else { "0" }));
        let free = value_letters(self.names.order, self.letters);
        let letters = list(&|order| {
            let letter = usize::try_from(order).ok().and_then(|o| free.get(o));
            self.written(order, point, letter.map_or("1", String::as_str))
        });
        let end = self.text.trim_end().len();
        let place = Span::new(end, end);
        let count = match self.names.order {
            1 => "one initial condition".to_owned(),
            n => format!("{n} initial conditions at one point"),
        };
        // A separator at the end is as good as a new one.
        let last = self.text.trim_end().chars().next_back();
        let separated = |text: &str| match last {
            None => text.to_owned(),
            Some(',' | ';') => format!(" {text}"),
            Some(_) => format!(", {text}"),
        };
        let insertion = separated(&text);
        Diagnostic::error(
            "missing-condition",
            Field::Conditions,
            place,
            format!(
                "An equation of order {} needs {count}; {wanted} {} missing.",
                self.names.order,
                if orders.len() == 1 { "is" } else { "are" }
            ),
        )
        .suggest(format!("write {text}"), place, insertion)
        .suggest(format!("write {letters}"), place, separated(&letters))
    }
}

fn undecided(span: Span) -> Diagnostic {
    Diagnostic::error(
        "undecided",
        Field::Conditions,
        span,
        "Whether this is exactly the same number as in the condition before cannot be decided here. Write both in the same way.",
    )
    .outcome(Outcome::Unable)
}
