//! The initial conditions: all at one point, mostly one for each order below the equation's (of a
//! system: for each unknown). Without any the initial values are letters.

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
use crate::syntax::{Condition, Kind, Node, Place};

/// The conditions, evaluated.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Given {
    pub(super) center: Expr,
    /// For each unknown, by order, as far as there is no gap, and not beyond what the equation's order
    /// needs.
    pub(super) values: Vec<Vec<Expr>>,
    /// As typed.
    pub(super) center_text: String,
    /// As typed, for each unknown, by order.
    pub(super) value_texts: Vec<Vec<String>>,
    /// What was required of parameters in them.
    pub(super) checked: Vec<Checked>,
    /// The other ones.
    pub(super) also: Vec<AlsoGiven>,
    /// Those that only say which of several values is meant.
    pub(super) near: Vec<AlsoGiven>,
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

/// What every step needs. `names` speak of the unknown that is looked at.
struct Reader<'a> {
    conditions: &'a [Condition],
    names: Names,
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
    let about = |index: usize| Reader {
        conditions,
        names: names.about(index),
        text,
        budget,
        letters,
    };
    let reader = about(0);
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
    let center = match common_point(&about, &all) {
        Ok(center) => center,
        Err(diagnostic) => {
            out.push(*diagnostic);
            return None;
        }
    };
    let unknowns = 0..names.unknowns.len();
    let mut chosen = Vec::with_capacity(unknowns.len());
    for index in unknowns {
        chosen.extend(about(index).by_order(&all, out));
    }
    if chosen.len() < names.unknowns.len() {
        return None;
    }
    let unfit = unfit(&about, &all, &chosen);
    let Some(center) = center else {
        out.extend(unfit);
        return None;
    };
    let mut given = Given {
        center: center.point.clone(),
        values: Vec::new(),
        center_text: slice(text, &center.condition.point).to_owned(),
        value_texts: Vec::new(),
        checked: Vec::new(),
        also: Vec::new(),
        near: Vec::new(),
        unfit,
    };
    for (unknown, reads) in chosen.iter().enumerate() {
        let needed = about(unknown).order();
        let (mut values, mut texts) = (Vec::new(), Vec::new());
        for (order, read) in reads.iter().enumerate() {
            let Some(read) = read else {
                continue;
            };
            given.checked.extend(read.checked.iter().cloned());
            if read.condition.near {
                given.near.push(AlsoGiven {
                    unknown,
                    order,
                    value: read.value.clone(),
                    span: read.condition.span,
                });
            } else if order < needed && order == values.len() {
                values.push(read.value.clone());
                texts.push(slice(text, &read.condition.value).to_owned());
            } else {
                given.also.push(AlsoGiven {
                    unknown,
                    order,
                    value: read.value.clone(),
                    span: read.condition.span,
                });
            }
        }
        given.values.push(values);
        given.value_texts.push(texts);
    }
    Some(given)
}

/// The one that names the center, if there is one; all others must stand at the same point.
///
/// # Errors
/// When they do not.
fn common_point<'r, 'a>(
    about: &dyn Fn(usize) -> Reader<'a>,
    all: &'r [Read<'a>],
) -> Result<Option<&'r Read<'a>>, Box<Diagnostic>> {
    let Some(first) = all.first() else {
        return Ok(None);
    };
    for read in all {
        match zero_test(&read.point.sub(&first.point)) {
            Truth::Zero => {}
            Truth::NotZero => {
                let names = about(0).names;
                let reader = about(names.index(&read.condition.unknown).unwrap_or(0));
                return Err(Box::new(reader.boundary_value_problem(all, first, read)));
            }
            Truth::Undecided => return Err(Box::new(undecided(read.condition.point.span))),
        }
    }
    Ok(Some(first))
}

/// Conditions that an equation solved for its highest derivative does not need are accepted beside
/// the ones that it needs, not in their place.
fn unfit<'a>(
    about: &dyn Fn(usize) -> Reader<'a>,
    all: &[Read<'a>],
    chosen: &[Vec<Option<&Read<'a>>>],
) -> Vec<Diagnostic> {
    let near = all.iter().filter(|read| read.condition.near);
    let mut said: Vec<Diagnostic> = near
        .map(|read| {
            let index = about(0).names.index(&read.condition.unknown);
            about(index.unwrap_or(0)).only_near(read)
        })
        .collect();
    if !said.is_empty() {
        return said;
    }
    let mut missing = Vec::new();
    for (unknown, reads) in chosen.iter().enumerate() {
        let reader = about(unknown);
        let needed = reads.get(..reader.order()).unwrap_or(reads);
        if needed.iter().all(Option::is_some) {
            continue;
        }
        let own = || all.iter().filter(|read| reader.is_own(read));
        let present: Vec<u32> = own().map(|read| read.condition.order).collect();
        let beyond = own().filter(|read| read.condition.order >= reader.names.order);
        let before = said.len();
        said.extend(beyond.map(|read| reader.beyond_order(read, &present)));
        if said.len() == before {
            let orders = (0_u32..).zip(needed);
            let orders = orders.filter(|(_, slot)| slot.is_none());
            missing.extend(orders.map(|(order, _)| (reader.names.unknown.clone(), order)));
        }
    }
    if !missing.is_empty() {
        said.push(about(0).missing(&missing));
    }
    said
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
        if self.names.index(&condition.unknown).is_none() {
            let (many, list) = (self.names.is_system(), self.names.list());
            let words = if many {
                "unknowns of the equations are"
            } else {
                "unknown of the equation is"
            };
            let diagnostic = Diagnostic::error(
                "other-unknown",
                Field::Conditions,
                condition.unknown_span,
                format!(
                    "This condition is about {}, but the {words} {list}.",
                    condition.unknown
                ),
            );
            return Err(Box::new(if many {
                diagnostic
            } else {
                diagnostic.suggest(format!("write {unknown}"), condition.unknown_span, unknown)
            }));
        }
        let variable = &self.names.variable;
        let again = condition.again.as_ref();
        let letter = condition.variable.as_ref();
        if let Some(letter) = letter.or_else(|| again?.variable.as_ref())
            && !matches!(&letter.kind, Kind::Name(name) if name == variable)
        {
            let typed = slice(self.text, letter);
            return Err(Box::new(
                Diagnostic::error(
                    "other-variable",
                    Field::Conditions,
                    letter.span,
                    format!(
                        "The point is given for {typed}, but the variable of the equation is {}.",
                        typeset(variable)
                    ),
                )
                .suggest(format!("write {variable}"), letter.span, variable),
            ));
        }
        let mut checked = Vec::new();
        let mut value_of = |node| {
            constant_value(
                node,
                &self.names,
                self.text,
                Field::Conditions,
                self.budget,
                &mut checked,
            )
        };
        let point = value_of(&condition.point)?;
        let value = value_of(&condition.value)?;
        if let Some(again) = again {
            let same = zero_test(&value_of(&again.point)?.sub(&point));
            if same != Truth::Zero {
                return Err(Box::new(self.two_points(condition, again, same)));
            }
        }
        Ok(Read {
            condition,
            place,
            point,
            value,
            checked,
        })
    }

    /// `y(2) = 1 at x = 3`.
    fn two_points(&self, condition: &Condition, again: &Place, same: Truth) -> Diagnostic {
        if same == Truth::Undecided {
            return undecided(again.point.span);
        }
        let x = typeset(&self.names.variable);
        let here = slice(self.text, &condition.point);
        let there = slice(self.text, &again.point);
        let diagnostic = Diagnostic::error(
            "two-points",
            Field::Conditions,
            again.point.span,
            format!(
                "The conditions give their values at {x} = {here}, and {x} = {there} stands beside them. Only one of the two can be the center."
            ),
        )
        .outcome(Outcome::Contradictory);
        let whole = again.span;
        let own = condition.point.span;
        let diagnostic = diagnostic.suggest(format!("leave {x} = {there} out"), whole, "");
        if self.conditions.len() == 1 {
            diagnostic.suggest(format!("write {there} for {here}"), own, there)
        } else {
            diagnostic
        }
    }

    /// Letters for all initial values, at 0.
    fn general(&self, out: &mut Vec<Diagnostic>) -> Given {
        let all = self.names.unknowns.iter();
        let orders = || {
            let each = |(name, order): &'_ (String, u32)| -> Vec<(String, u32)> {
                (0..*order).map(|order| (name.clone(), order)).collect()
            };
            self.names.unknowns.iter().flat_map(each)
        };
        let letters = free_letters(all.map(|(_, order)| order).sum(), self.letters);
        let written: Vec<String> = orders()
            .zip(&letters)
            .map(|((name, order), letter)| {
                format!("{}(0) = {}", derivative(&name, order), typeset(letter))
            })
            .collect();
        let numbers: Vec<String> = orders()
            .map(|(name, order)| {
                let value = if order == 0 { "1" } else { "0" };
                format!("{}(0) = {value}", typed_derivative(&name, order))
            })
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
        let mut rest = letters.as_slice();
        let mut value_texts = Vec::new();
        for (_, order) in &self.names.unknowns {
            let count = usize::try_from(*order).unwrap_or(0).min(rest.len());
            let (own, others) = rest.split_at(count);
            value_texts.push(own.to_vec());
            rest = others;
        }
        let values = |texts: &Vec<String>| texts.iter().map(|name| Expr::parameter(name)).collect();
        Given {
            center: Expr::zero(),
            values: value_texts.iter().map(values).collect(),
            center_text: "0".to_owned(),
            value_texts,
            checked: Vec::new(),
            also: Vec::new(),
            near: Vec::new(),
            unfit: Vec::new(),
        }
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
        let x = typeset(&self.names.variable);
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
                .any(|r| r.place != other.place && self.is_own(r) && r.condition.order == order)
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

    /// Is it about the unknown that is looked at?
    fn is_own(&self, read: &Read<'_>) -> bool {
        read.condition.unknown == self.names.unknown
    }

    /// “Is about” where nothing is chosen.
    fn only_near(&self, read: &Read<'a>) -> Diagnostic {
        let condition = read.condition;
        let sign = Span::new(condition.span.start, condition.value.span.start);
        let message = format!(
            "≈ chooses among values that the equation leaves open; here the value of {} is needed exactly.",
            self.target(read)
        );
        let diagnostic = Diagnostic::error("only-near", Field::Conditions, condition.span, message);
        let head = self.text.get(sign.start..sign.end).unwrap_or_default();
        let at = head.find('≈').or_else(|| head.find("\\approx"));
        match at.map(|at| Span::new(sign.start + at, sign.end)) {
            Some(sign) => diagnostic.suggest("write = for ≈", sign, "= "),
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

    /// Each order's condition; none when something is wrong with them, and `out` says so.
    fn by_order<'r>(
        &self,
        all: &'r [Read<'a>],
        out: &mut Vec<Diagnostic>,
    ) -> Option<Vec<Option<&'r Read<'a>>>> {
        let limit = self.order().max(self.budget.degree + 1);
        let own = || all.iter().filter(|r| self.is_own(r));
        let orders = own().map(|r| r.condition.order as usize + 1);
        let count = orders.max().unwrap_or(0).clamp(self.order(), limit);
        let mut chosen: Vec<Option<&Read<'_>>> = vec![None; count];
        let present: Vec<u32> = own().map(|r| r.condition.order).collect();
        let before = out.len();
        let mut notices = Vec::new();
        for read in own() {
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
                "The equation {}has order {order}, so the conditions give {what}; {} follows from the equation.",
                if self.names.is_system() {
                    format!("of {name} ")
                } else {
                    String::new()
                },
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

    /// These derivatives have no condition.
    fn missing(&self, missing: &[(String, u32)]) -> Diagnostic {
        let point = self
            .conditions
            .first()
            .map_or("0", |c| slice(self.text, &c.point));
        let list = |f: &dyn Fn(&str, u32) -> String| -> String {
            let words: Vec<String> = missing
                .iter()
                .map(|(name, order)| f(name, *order))
                .collect();
            words.join(", ")
        };
        let wanted = list(&|name, order| format!("{}({point})", derivative(name, order)));
        let text = list(&|name, order| {
            let head = typed_derivative(name, order);
            format!("{head}({point}) = {}", if order == 0 { "1" } else { "0" })
        });
        let all = self.names.unknowns.iter();
        let free = value_letters(all.map(|(_, order)| order).sum(), self.letters);
        let letters = list(&|name, order| {
            let head = typed_derivative(name, order);
            let letter = self.names.place(name, order).and_then(|at| free.get(at));
            format!("{head}({point}) = {}", letter.map_or("1", String::as_str))
        });
        let end = self.text.trim_end().len();
        let place = Span::new(end, end);
        let needs = match self.names.order {
            _ if self.names.is_system() => "A system needs the values of all unknowns, and of their derivatives below the highest, at one point".to_owned(),
            1 => "An equation of order 1 needs one initial condition".to_owned(),
            n => format!("An equation of order {n} needs {n} initial conditions at one point"),
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
                "{needs}; {wanted} {} missing.",
                if missing.len() == 1 { "is" } else { "are" }
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
