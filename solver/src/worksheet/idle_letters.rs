//! Letters for initial values, where no conditions were typed, on which nothing depends.

use crate::derivation::Derivation;
use crate::document::names::Names;
use crate::document::plain;
use crate::expression::{Expr, Node, Symbol};
use crate::problem::{Problem, derivative, typeset};

/// Takes away the letters for initial values that the equation itself gives: nothing depends on them.
/// The orders of these.
pub(super) fn without_idle_letters(problem: &mut Problem, derivation: &Derivation) -> Vec<usize> {
    let values = || {
        let rows = derivation.rows.iter();
        rows.filter_map(|row| Some((row.order, row.value.as_ref()?)))
    };
    let initial = problem.initial.first().into_iter().flatten();
    let (mut forced, mut idle) = (Vec::new(), Vec::new());
    for (order, value) in initial.enumerate() {
        let found = values().any(|(own, _)| own == order);
        match value.node() {
            Node::Symbol(letter @ Symbol::Parameter(name))
                if found && !values().any(|(_, value)| value.contains(letter)) =>
            {
                forced.push(order);
                idle.push(name.clone());
            }
            _ => {}
        }
    }
    let own = &mut problem.parameters;
    own.retain(|own| !own.initial || !idle.iter().any(|name| **name == *own.name));
    forced
}

/// What is said where no conditions are given and the equation gives some of the initial values.
pub(super) fn letters_told(problem: &Problem, forced: &[usize]) -> String {
    let names = Names::of(problem);
    let place = plain::expression(&problem.center, &names);
    let list = |wanted: &dyn Fn(usize, &Expr) -> Option<String>| {
        let initial = problem.initial.first().into_iter().flatten();
        let parts = initial
            .enumerate()
            .filter_map(|(order, value)| wanted(order, value));
        parts.collect::<Vec<String>>().join(", ")
    };
    let head = |order: usize| {
        let order = u32::try_from(order).unwrap_or(u32::MAX);
        format!("{}({place})", derivative(names.unknown(0), order))
    };
    let given = list(&|order, _| forced.contains(&order).then(|| head(order)));
    let open = list(&|order, value| match value.node() {
        Node::Symbol(Symbol::Parameter(name)) if problem.is_initial_letter(name) => {
            Some(format!("{} = {}", head(order), typeset(name)))
        }
        _ => None,
    });
    if open.is_empty() {
        format!("No initial conditions are given. The equation itself gives {given}.")
    } else {
        format!(
            "No initial conditions are given. The equation itself gives {given}; letters stand for the other initial values: {open}."
        )
    }
}
