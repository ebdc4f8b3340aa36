//! Which letter is the independent variable.

use super::super::walk::unbracketed;
use super::super::wording::typeset;
use super::{Seen, letter};
use crate::diagnostic::{Diagnostic, Outcome};
use crate::span::{Field, Span};
use crate::syntax::{self, Condition, Kind, Node};

/// Letters commonly used for an independent variable, the most common first (common practice).
const VARIABLES: [&str; 12] = [
    "x", "t", "s", "z", "tau", "xi", "eta", "zeta", "theta", "phi", "X", "T",
];

/// Letters used for variables and for constants alike: a variable only when no other letter is
/// left, and then it is said. All others (a, b, c, k, m, w, λ, ω, …) are commonly constants.
const PERHAPS_VARIABLES: [&str; 2] = ["u", "v"];

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

pub(super) fn find_variable(
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
