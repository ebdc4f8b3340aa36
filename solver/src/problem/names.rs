//! Which letter is the unknown, which the variable, and what brackets behind a letter mean.
//!
//! The rules, in order. The *unknown* is the letter that is differentiated (several equations have
//! several). The *variable* is the
//! one that Leibniz's notation names, or else the bare argument of the unknown (`y(t)`), or else the
//! letter with which words give the conditions' point (“at t = 0”), or else t where dots stand for
//! derivatives and no other usual variable is there, or else a
//! letter of the equation that is used for variables ([`VARIABLES`], in that order, and
//! [`PERHAPS_VARIABLES`]), or else x (t, if the unknown is x or an angle, or for a system). π and e are
//! constants unless they are one of the two. A letter that is left over is a parameter.

use super::system;
use super::walk::{nodes, unbracketed};
use super::wording::{listed, typeset};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Suggestion};
use crate::span::{Field, Span};
use crate::syntax::{self, Condition, Kind, Node, Relation};

/// Letters commonly used for an independent variable, the most common first (common practice).
const VARIABLES: [&str; 12] = [
    "x", "t", "s", "z", "tau", "xi", "eta", "zeta", "theta", "phi", "X", "T",
];

/// Letters used for variables and for constants alike: a variable only when no other letter is
/// left, and then it is said. All others (a, b, c, k, m, w, λ, ω, …) are commonly constants.
const PERHAPS_VARIABLES: [&str; 2] = ["u", "v"];

/// The letters of one problem.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Names {
    /// The function to be found; of several the one that is spoken of.
    pub(super) unknown: String,
    /// The independent variable.
    pub(super) variable: String,
    /// Order of the unknown's highest derivative.
    pub(super) order: u32,
    /// Do other letters stand for constants? (Otherwise they have no value.)
    pub(super) parameters: bool,
    /// All functions to be found, with the orders of their highest derivatives.
    pub(super) unknowns: Vec<(String, u32)>,
}

/// What a letter stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    Unknown,
    Variable,
    Pi,
    E,
    /// A parameter, or nothing with a value.
    Other,
}

/// What brackets right behind the unknown (or a derivative of it) mean.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reading {
    /// `y(x)`: the value at x.
    Value,
    /// A factor. `certain`: the unknown itself is in the brackets, as in `y(1-y)`.
    Product { certain: bool },
    /// `y(x-1)`, `y(2x)`: the value somewhere else.
    Elsewhere,
    /// `y(2)`: the value at a fixed point.
    AtPoint,
}

impl Names {
    /// Which of the functions to be found has this name.
    pub(super) fn index(&self, name: &str) -> Option<usize> {
        self.unknowns.iter().position(|(own, _)| own == name)
    }

    /// The same names, speaking of another unknown.
    pub(super) fn about(&self, index: usize) -> Self {
        let mut names = self.clone();
        if let Some((unknown, order)) = self.unknowns.get(index) {
            names.unknown.clone_from(unknown);
            names.order = *order;
        }
        names
    }

    /// Is there more than one function to be found?
    pub(super) fn is_system(&self) -> bool {
        self.unknowns.len() > 1
    }

    /// Place of an initial value in the list of all of them, one unknown's after the other's.
    pub(super) fn place(&self, name: &str, order: u32) -> Option<usize> {
        let index = self.index(name)?;
        let (_, own) = self.unknowns.get(index)?;
        let before: u32 = self.unknowns.iter().take(index).map(|(_, m)| m).sum();
        usize::try_from(before + order)
            .ok()
            .filter(|_| order < *own)
    }

    /// The unknowns in words: `y`, `u and v`.
    pub(super) fn list(&self) -> String {
        let names: Vec<&str> = self
            .unknowns
            .iter()
            .map(|(name, _)| name.as_str())
            .collect();
        listed(&names)
    }

    /// What `name` stands for.
    pub(super) fn meaning(&self, name: &str) -> Meaning {
        if self.index(name).is_some() {
            Meaning::Unknown
        } else if name == self.variable {
            Meaning::Variable
        } else {
            match name {
                "pi" => Meaning::Pi,
                "e" => Meaning::E,
                _ => Meaning::Other,
            }
        }
    }

    /// What brackets with this content mean behind the unknown. The documented rule: the bare
    /// variable is the argument; `x − c`, `c x` and `x / c` with a number c are arguments too (a
    /// delay, or a stretched argument); a number is a point; everything else is a factor.
    pub(super) fn reading(&self, argument: &Node) -> Reading {
        let argument = unbracketed(argument);
        let mentions = |wanted: Meaning| {
            nodes(argument).into_iter().any(|n| match &n.kind {
                Kind::Name(name) | Kind::Applied { name, .. } => self.meaning(name) == wanted,
                Kind::Derivative { of, .. } => self.meaning(of) == wanted,
                Kind::Number(_)
                | Kind::Call { .. }
                | Kind::Negated(_)
                | Kind::Sum(_)
                | Kind::Product(..)
                | Kind::Quotient(..)
                | Kind::Power(..)
                | Kind::Bracketed(_)
                | Kind::Missing => false,
            })
        };
        let is_variable = |n: &Node| matches!(&n.kind, Kind::Name(name) if self.meaning(name) == Meaning::Variable);
        let is_number = |n: &Node| matches!(&unbracketed(n).kind, Kind::Number(_));
        if is_variable(argument) {
            return Reading::Value;
        }
        if mentions(Meaning::Unknown) {
            return Reading::Product { certain: true };
        }
        if !mentions(Meaning::Variable) && !mentions(Meaning::Other) {
            return Reading::AtPoint;
        }
        let elsewhere = match &argument.kind {
            Kind::Sum(terms) => match terms.as_slice() {
                [(false, first), (true, second)] => {
                    is_variable(first) && !mentions_variable(self, second)
                }
                _ => false,
            },
            Kind::Product(a, _, b) => is_number(a) && is_variable(b),
            Kind::Quotient(a, b) => is_variable(a) && is_number(b),
            Kind::Negated(a) => is_variable(a),
            Kind::Number(_)
            | Kind::Name(_)
            | Kind::Derivative { .. }
            | Kind::Applied { .. }
            | Kind::Call { .. }
            | Kind::Power(..)
            | Kind::Bracketed(_)
            | Kind::Missing => false,
        };
        if elsewhere {
            Reading::Elsewhere
        } else {
            Reading::Product { certain: false }
        }
    }
}

fn mentions_variable(names: &Names, node: &Node) -> bool {
    nodes(node)
        .into_iter()
        .any(|n| matches!(&n.kind, Kind::Name(name) if names.meaning(name) == Meaning::Variable))
}

/// A letter where it stands.
pub(super) struct Seen<'a> {
    pub(super) name: &'a str,
    pub(super) span: Span,
}

/// Finds the letters' meanings. `None` and an error in `out` when that is not possible.
pub(super) fn resolve(
    relations: &[Relation],
    text: &str,
    conditions: &[Condition],
    budget: &Budget,
    out: &mut Vec<Diagnostic>,
) -> Option<Names> {
    let all: Vec<&Node> = relations
        .iter()
        .flat_map(|relation| [&relation.left, &relation.right])
        .flat_map(nodes)
        .collect();
    let unknowns = find_unknowns(relations, text, &all, conditions, budget, out)?;
    let variable = find_variable(&all, text, &unknowns, conditions, out)?;
    let (unknown, order) = unknowns.first()?.clone();
    let names = Names {
        unknown,
        variable,
        order,
        unknowns,
        parameters: true,
    };
    let before = out.len();
    check_letters(&all, &names, conditions, out);
    check_arguments(&all, text, &names, out);
    let good = out[before..]
        .iter()
        .all(|d| d.severity == crate::diagnostic::Severity::Notice);
    good.then_some(names)
}

fn find_unknowns(
    relations: &[Relation],
    text: &str,
    all: &[&Node],
    conditions: &[Condition],
    budget: &Budget,
    out: &mut Vec<Diagnostic>,
) -> Option<Vec<(String, u32)>> {
    let mut derived: Vec<(&str, u32, Span)> = Vec::new();
    for node in all {
        if let Kind::Derivative { of, order, .. } = &node.kind {
            match derived.iter_mut().find(|d| d.0 == of) {
                Some(d) if d.1 >= *order => {}
                Some(d) => (d.1, d.2) = (*order, node.span),
                None => derived.push((of, *order, node.span)),
            }
        }
    }
    match (relations, derived.as_slice()) {
        ([], _) => return None,
        ([relation, ..], []) => {
            out.push(no_derivative(relation, all));
            return None;
        }
        ([_], [_]) => {}
        ([_, _, ..], _) => {
            let before = out.len();
            out.extend(system::counted(relations, &derived));
            if out.len() > before {
                return None;
            }
        }
        ([_], [first, second, ..]) => {
            // The one with conditions is meant; the other may be a slip of the pen.
            let named = |n: &str| conditions.iter().any(|c| c.unknown == n);
            let (keep, other) = if named(second.0) && !named(first.0) {
                (first_two(second), first)
            } else {
                (first_two(first), second)
            };
            let mut diagnostic = Diagnostic::error(
                "two-unknowns",
                Field::Equation,
                other.2,
                format!(
                    "Both {} and {} are differentiated, so there are two unknown functions in one equation. One equation determines one unknown.",
                    first.0, second.0
                ),
            )
            .outcome(Outcome::Unable);
            if derived.len() == 2 {
                diagnostic
                    .suggestions
                    .push(rename(all, text, other.0, keep.0));
            }
            out.push(diagnostic);
            return None;
        }
    }
    let too_high = |d: &&(&str, u32, Span)| d.1 > budget.equation_order;
    if let Some((_, order, span)) = derived.iter().find(too_high) {
        out.push(
            Diagnostic::error(
                "order-too-high",
                Field::Equation,
                *span,
                format!(
                    "This derivative has order {order}; equations up to order {} are worked out here.",
                    budget.equation_order
                ),
            )
            .outcome(Outcome::Unable),
        );
        return None;
    }
    Some(
        derived
            .into_iter()
            .map(|(name, order, _)| (name.to_owned(), order))
            .collect(),
    )
}

fn first_two<'a>(d: &(&'a str, u32, Span)) -> (&'a str, u32) {
    (d.0, d.1)
}

/// One click: another letter for `from` wherever it stands.
fn rename(all: &[&Node], text: &str, from: &str, to: &str) -> Suggestion {
    let edits = all
        .iter()
        .filter_map(|node| letter(node))
        .filter(|seen| seen.name == from)
        .map(|seen| Edit {
            field: Field::Equation,
            span: letter_span(text, &seen),
            replacement: to.to_owned(),
        })
        .collect();
    Suggestion {
        label: format!("write {to} for {from}"),
        edits,
    }
}

/// Where the letter itself stands, without primes: its name as typed, or one character (θ).
fn letter_span(text: &str, seen: &Seen<'_>) -> Span {
    let rest = text.get(seen.span.start..).unwrap_or("");
    let length = if rest.starts_with(seen.name) {
        seen.name.len()
    } else if let Some(command) = rest.strip_prefix('\\') {
        let end = command.find(|c: char| !c.is_ascii_alphabetic());
        1 + end.unwrap_or(command.len())
    } else {
        rest.chars().next().map_or(0, char::len_utf8)
    };
    Span::new(seen.span.start, seen.span.start + length)
}

/// The letter at the head of a node.
pub(super) fn letter(node: &Node) -> Option<Seen<'_>> {
    match &node.kind {
        Kind::Name(name) => Some(Seen {
            name,
            span: node.span,
        }),
        Kind::Applied {
            name, name_span, ..
        } => Some(Seen {
            name,
            span: *name_span,
        }),
        Kind::Derivative {
            of, variable: None, ..
        } => Some(Seen {
            name: of,
            span: node.span,
        }),
        Kind::Derivative { .. }
        | Kind::Number(_)
        | Kind::Call { .. }
        | Kind::Negated(_)
        | Kind::Sum(_)
        | Kind::Product(..)
        | Kind::Quotient(..)
        | Kind::Power(..)
        | Kind::Bracketed(_)
        | Kind::Missing => None,
    }
}

fn no_derivative(relation: &Relation, all: &[&Node]) -> Diagnostic {
    if !all.iter().any(|n| letter(n).is_some()) {
        return Diagnostic::error(
            "no-unknown",
            Field::Equation,
            relation.span,
            "There are only numbers here: nothing about an unknown function. Write an equation with a derivative, such as y' = y.",
        );
    }
    let diagnostic = Diagnostic::error(
        "no-derivative",
        Field::Equation,
        relation.span,
        "There is no derivative in this equation, so it is not a differential equation. Mark a derivative with a prime, as in y', or write dy/dx.",
    );
    if all.iter().any(|n| letter(n).is_some_and(|l| l.name == "D")) {
        let mut diagnostic = diagnostic;
        diagnostic.message.push_str(
            " If D is the operator d/dx, write out what it does: y'' + 4y for (D^2 + 4) y.",
        );
        return diagnostic;
    }
    match letter(unbracketed(&relation.left)) {
        Some(seen) if seen.name != "pi" => {
            let end = Span::new(seen.span.end, seen.span.end);
            diagnostic.suggest(format!("write {}'", seen.name), end, "'")
        }
        _ => diagnostic,
    }
}

fn partial_derivative(span: Span, first: &str) -> Diagnostic {
    Diagnostic::error(
        "partial-equation",
        Field::Equation,
        span,
        format!("{first} Taylor's method as shown here needs one independent variable."),
    )
    .outcome(Outcome::Unable)
}

/// There is an error, and it has been told.
struct Told;

/// The letter that Leibniz's notation names as variable, if it is used.
///
/// # Errors
/// When it cannot be the variable.
fn differentiated_by(
    all: &[&Node],
    is_unknown: &dyn Fn(&str) -> bool,
    out: &mut Vec<Diagnostic>,
) -> Result<Option<String>, Told> {
    let mut found: Option<(&str, &str)> = None;
    for node in all {
        let Kind::Derivative {
            of,
            variable: Some(variable),
            ..
        } = &node.kind
        else {
            continue;
        };
        if is_unknown(variable) {
            let what = if variable == of { "itself" } else { variable };
            out.push(Diagnostic::error(
                "derivative-by-itself",
                Field::Equation,
                node.span,
                format!("{of} is differentiated by {what} here. The letter below must be the independent variable, another one than {variable}."),
            ));
            return Err(Told);
        }
        match found {
            Some((_, first)) if first != variable => {
                let (subject, verb) = match found {
                    Some((earlier, _)) if earlier != of => (format!("{earlier} and {of}"), "are"),
                    _ => (of.clone(), "is"),
                };
                out.push(partial_derivative(
                    node.span,
                    &format!("{subject} {verb} differentiated by {first} and by {variable}, so this is a partial differential equation."),
                ));
                return Err(Told);
            }
            _ => found = Some((of, variable)),
        }
    }
    Ok(found.map(|(_, name)| name.to_owned()))
}

fn find_variable(
    all: &[&Node],
    text: &str,
    unknowns: &[(String, u32)],
    conditions: &[Condition],
    out: &mut Vec<Diagnostic>,
) -> Option<String> {
    let is_unknown = |name: &str| unknowns.iter().any(|(own, _)| own == name);
    if let Some(name) = differentiated_by(all, &is_unknown, out).ok()? {
        return Some(name);
    }
    let argument = all.iter().find_map(|node| match &node.kind {
        Kind::Applied { name, argument, .. } if is_unknown(name) => {
            bare_letter(argument).filter(|letter| !is_unknown(letter))
        }
        Kind::Derivative {
            argument: Some(argument),
            ..
        } => bare_letter(argument).filter(|letter| !is_unknown(letter)),
        _ => None,
    });
    if let Some(name) = argument {
        return Some(name.to_owned());
    }
    let pointed = conditions
        .iter()
        .filter_map(|c| {
            let again = || c.again.as_ref()?.variable.as_ref();
            c.variable.as_ref().or_else(again)
        })
        .find_map(|letter| match &letter.kind {
            Kind::Name(name) if !is_unknown(name) => Some(name.clone()),
            _ => None,
        });
    if pointed.is_some() {
        return pointed;
    }
    let present = |wanted: &str| {
        all.iter()
            .filter_map(|n| letter(n))
            .any(|seen| seen.name == wanted)
    };
    // What has a condition is no variable.
    let function = |name: &str| is_unknown(name) || conditions.iter().any(|c| c.unknown == name);
    let dotted = || {
        all.iter().any(|n| {
            matches!(n.kind, Kind::Derivative { .. })
                && text
                    .get(n.span.start..n.span.end)
                    .is_some_and(syntax::has_dots)
        })
    };
    if !is_unknown("t") && present("t") && dotted() {
        return Some("t".to_owned());
    }
    // Systems, like dots and angles, are mostly about time.
    let angle = ["theta", "phi"].into_iter().any(is_unknown);
    let usually = if unknowns.len() > 1 || angle || dotted() {
        ["t", "x", "s"]
    } else {
        ["x", "t", "s"]
    };
    let as_constant = |seen: &Seen<'_>| {
        let other = usually
            .into_iter()
            .find(|name| !is_unknown(name) && !present(name));
        variable_guessed(seen, all, other)
    };
    if let Some(usual) = VARIABLES
        .into_iter()
        .find(|name| !function(name) && present(name))
    {
        // Beside x and t these letters are common for constants too.
        let rare = !VARIABLES.iter().take(2).any(|name| *name == usual);
        let mut seen = all.iter().filter_map(|n| letter(n));
        let others = |seen: &Seen<'_>| {
            seen.name != usual && !function(seen.name) && seen.name != "pi" && seen.name != "e"
        };
        let has_parameters = seen.clone().any(|seen| others(&seen));
        if let Some(place) = seen.find(|seen| seen.name == usual)
            && rare
            && has_parameters
        {
            out.push(as_constant(&place));
        }
        return Some(usual.to_owned());
    }
    if let Some(seen) = only_letter_left(all, &function)
        && PERHAPS_VARIABLES.contains(&seen.name)
    {
        out.push(as_constant(&seen));
        return Some(seen.name.to_owned());
    }
    let free = usually.into_iter().find(|name| !is_unknown(name));
    free.map(str::to_owned)
}

/// One click names the variable behind the first derivative, so that the letter is a constant.
fn variable_guessed(seen: &Seen<'_>, all: &[&Node], other: Option<&str>) -> Diagnostic {
    let derivative = all.iter().find_map(|node| match &node.kind {
        Kind::Derivative {
            of, argument: None, ..
        } => Some((of.as_str(), node)),
        _ => None,
    });
    let of = typeset(derivative.map_or("y", |(of, _)| of));
    let by = typeset(other.unwrap_or("x"));
    let diagnostic = Diagnostic::notice(
        "variable-guessed",
        Field::Equation,
        seen.span,
        format!(
            "{} is read as the independent variable. If it stands for a constant, name the variable: write {of}({by}), or d{of}/d{by}.",
            typeset(seen.name)
        ),
    );
    match (derivative, other) {
        (Some((_, node)), Some(other)) => diagnostic.suggest(
            format!("take {} as a constant", typeset(seen.name)),
            Span::new(node.span.end, node.span.end),
            format!("({other})"),
        ),
        _ => diagnostic,
    }
}

/// The letter besides functions and constants, if there is exactly one; where it stands first.
fn only_letter_left<'a>(all: &[&'a Node], function: &dyn Fn(&str) -> bool) -> Option<Seen<'a>> {
    let mut left = all
        .iter()
        .filter_map(|n| letter(n))
        .filter(|seen| !function(seen.name) && seen.name != "pi" && seen.name != "e");
    let first = left.next()?;
    left.all(|seen| seen.name == first.name).then_some(first)
}

fn bare_letter(argument: &Node) -> Option<&str> {
    match &unbracketed(argument).kind {
        Kind::Name(name) if name != "pi" && name != "e" => Some(name),
        _ => None,
    }
}

/// Letters with a condition of their own, and e where it might have been meant otherwise.
fn check_letters(
    all: &[&Node],
    names: &Names,
    conditions: &[Condition],
    out: &mut Vec<Diagnostic>,
) {
    let exponential: Vec<Span> = all
        .iter()
        .filter_map(|n| match &n.kind {
            Kind::Power(base, _) => Some(unbracketed(base).span),
            _ => None,
        })
        .collect();
    let mut told: Vec<&str> = Vec::new();
    for seen in all.iter().filter_map(|n| letter(n)) {
        if told.contains(&seen.name) {
            continue;
        }
        match names.meaning(seen.name) {
            Meaning::Unknown | Meaning::Variable | Meaning::Pi => {}
            Meaning::E => {
                if !exponential.contains(&seen.span) {
                    told.push(seen.name);
                    out.push(Diagnostic::notice(
                        "e-is-constant",
                        Field::Equation,
                        seen.span,
                        "e is read as the number 2.718… here. For a quantity of your own choose another letter.",
                    ));
                }
            }
            Meaning::Other => {
                told.push(seen.name);
                out.extend(second_unknown(&seen, names, conditions));
            }
        }
    }
}

/// A letter with a condition of its own is no parameter.
fn second_unknown(seen: &Seen<'_>, names: &Names, conditions: &[Condition]) -> Option<Diagnostic> {
    let name = seen.name;
    if names.is_system() && conditions.iter().any(|c| c.unknown == name) {
        return Some(system::without_equation(name, seen.span));
    }
    conditions.iter().any(|c| c.unknown == name).then(|| {
        Diagnostic::error(
            "two-unknowns",
            Field::Equation,
            seen.span,
            format!(
                "The conditions give a value of {name} too, so {} and {name} would be two unknown functions. One equation determines one unknown.",
                names.unknown
            ),
        )
        .outcome(Outcome::Unable)
    })
}

/// Brackets behind the unknown.
fn check_arguments(all: &[&Node], text: &str, names: &Names, out: &mut Vec<Diagnostic>) {
    for node in all {
        let (name, head, argument) = match &node.kind {
            Kind::Applied {
                name,
                name_span,
                argument,
            } if names.meaning(name) == Meaning::Unknown => (name, *name_span, argument),
            Kind::Derivative {
                of,
                argument: Some(argument),
                ..
            } => {
                let head = text.get(node.span.start..argument.span.start).unwrap_or("");
                let end = node.span.start + head.rfind('(').unwrap_or(head.len());
                (of, Span::new(node.span.start, end), argument)
            }
            _ => continue,
        };
        let between = Span::new(head.end, head.end);
        match names.reading(argument) {
            Reading::Value | Reading::Product { certain: true } => {}
            Reading::Product { certain: false } => out.push(
                Diagnostic::notice(
                    "read-as-product",
                    Field::Equation,
                    node.span,
                    format!("This is read as a product: {name} times the brackets. A * in between makes it plain."),
                )
                .suggest("write the *", between, "*"),
            ),
            Reading::Elsewhere => out.push(
                Diagnostic::error(
                    "delay-equation",
                    Field::Equation,
                    node.span,
                    format!("This is the value of {name} at another place than {}, which makes it a delay (functional) equation; its solutions are not found by differentiating. If a product is meant, write a * in between.", names.variable),
                )
                .outcome(Outcome::Unable)
                .suggest("write the *", between, "*"),
            ),
            Reading::AtPoint => out.push(
                Diagnostic::error(
                    "value-at-point",
                    Field::Equation,
                    node.span,
                    format!("In the equation {name} must stand at {} itself, not at a fixed point. A value at a point belongs to the conditions; if a product is meant, write a * in between.", names.variable),
                )
                .outcome(Outcome::Unable)
                .suggest("write the *", between, "*"),
            ),
        }
    }
}
