//! Which letter is the unknown, which the variable, and what brackets behind a letter mean.
//!
//! The rules, in order. The *unknown* is the letter that is differentiated (several equations have
//! several). The *variable* is the one that Leibniz's notation names, or else the bare argument of the
//! unknown (`y(t)`), or else the letter with which words give the conditions' point (“at t = 0”), or
//! else t where dots stand for derivatives and no other usual variable is there, or else a letter of
//! the equation that is used for variables (the lists stand in `variable`), or else x (t, if the
//! unknown is x or an angle, or for a system). π and e are constants unless they are one of the two. A
//! letter that is left over is a parameter.

mod meanings;
mod unknowns;
mod variable;

use self::meanings::{check_arguments, check_letters};
use self::unknowns::find_unknowns;
use self::variable::find_variable;
use super::walk::{nodes, unbracketed};
use super::wording::listed;
use crate::budget::Budget;
use crate::diagnostic::Diagnostic;
use crate::span::Span;
use crate::syntax::{Condition, Kind, Node, Relation};

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
