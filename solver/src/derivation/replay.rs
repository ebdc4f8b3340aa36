//! Replays the rules of one trace, each in its textbook form.

use crate::expression::{Expr, Function, Node, Symbol};

use super::check::DefectKind;
use super::fingerprint::same_sum;
use super::{Rule, Trace};

/// What replaying a trace found.
#[derive(Clone, Debug, Default)]
pub(super) struct Replayed {
    pub(super) traces: usize,
    pub(super) undecided: usize,
    pub(super) defects: Vec<DefectKind>,
}

/// Checks that every node's rule applies to its input, that its children differentiate the parts
/// that the rule needs, and that its output is what the rule makes of their outputs.
pub(super) fn replay(trace: &Trace) -> Replayed {
    let mut report = Replayed::default();
    let mut open = vec![trace];
    while let Some(node) = open.pop() {
        report.traces += 1;
        open.extend(&node.children);
        match expected(node) {
            None => report.defects.push(DefectKind::TraceInput),
            Some(expected) => match same_sum(&[expected], std::slice::from_ref(&node.output)) {
                Some(true) => {}
                Some(false) => report.defects.push(DefectKind::TraceOutput),
                None => report.undecided += 1,
            },
        }
    }
    report
}

/// What the node's rule gives, from its input and its children's results. `None`: the rule does
/// not apply to this input, or the children are for something else.
fn expected(trace: &Trace) -> Option<Expr> {
    let children = trace.children.as_slice();
    let minus_one = || Expr::int(-1);
    match (trace.rule, trace.input.node(), children) {
        (Rule::Constant, _, []) if trace.input.is_constant() => Some(Expr::zero()),
        (Rule::Variable, Node::Symbol(Symbol::Variable), []) => Some(Expr::one()),
        (Rule::Unknown, Node::Symbol(Symbol::Derivative { unknown, order }), []) => {
            Some(Expr::derivative(*unknown, order.checked_add(1)?))
        }
        (Rule::ConstantMultiple, Node::Product(factors), [child]) => {
            let (constants, rest): (Vec<Expr>, Vec<Expr>) =
                factors.iter().cloned().partition(Expr::is_constant);
            if constants.is_empty() || child.input.factors() != rest {
                return None;
            }
            Some(Expr::raw_product(
                constants
                    .into_iter()
                    .chain([child.output.clone()])
                    .collect(),
            ))
        }
        (Rule::Sum, Node::Sum(terms), _) => {
            inputs_are(children, terms)?;
            Some(Expr::raw_sum(
                children.iter().map(|child| child.output.clone()).collect(),
            ))
        }
        (Rule::Product, Node::Product(factors), _) => {
            inputs_are(children, factors)?;
            let mut terms = Vec::with_capacity(factors.len());
            for (place, child) in children.iter().enumerate() {
                let mut term = factors.clone();
                *term.get_mut(place)? = child.output.clone();
                terms.push(Expr::raw_product(term));
            }
            Some(Expr::raw_sum(terms))
        }
        (Rule::Quotient, Node::Product(_), [above, below]) => {
            let (u, v) = (above.input.clone(), below.input.clone());
            let whole = Expr::raw_product(vec![u.clone(), Expr::raw_power(v.clone(), minus_one())]);
            if same_sum(&[whole], std::slice::from_ref(&trace.input)) != Some(true) {
                return None;
            }
            let first = Expr::raw_product(vec![above.output.clone(), v.clone()]);
            let second = Expr::raw_product(vec![minus_one(), u, below.output.clone()]);
            Some(Expr::raw_product(vec![
                Expr::raw_sum(vec![first, second]),
                Expr::raw_power(v, Expr::int(-2)),
            ]))
        }
        (Rule::Power, Node::Power(base, exponent), [child])
            if exponent.is_constant() && child.input == *base =>
        {
            let lower = Expr::sum(vec![exponent.clone(), minus_one()]);
            Some(Expr::raw_product(vec![
                exponent.clone(),
                Expr::raw_power(base.clone(), lower),
                child.output.clone(),
            ]))
        }
        (Rule::Chain, Node::Call(function, argument), [child]) if child.input == *argument => {
            Some(Expr::raw_product(vec![
                function.derivative(argument),
                child.output.clone(),
            ]))
        }
        (Rule::Exponential, Node::Power(base, exponent), [outer, rest @ ..])
            if outer.input == *exponent =>
        {
            let logarithm = Expr::raw_call(Function::Ln, base.clone());
            let mut inner = vec![Expr::raw_product(vec![outer.output.clone(), logarithm])];
            match rest {
                [] if base.is_constant() => {}
                [child] if child.input == *base => inner.push(Expr::raw_product(vec![
                    exponent.clone(),
                    child.output.clone(),
                    Expr::raw_power(base.clone(), minus_one()),
                ])),
                _ => return None,
            }
            Some(Expr::raw_product(vec![
                trace.input.clone(),
                Expr::raw_sum(inner),
            ]))
        }
        _ => None,
    }
}

fn inputs_are(children: &[Trace], parts: &[Expr]) -> Option<()> {
    let same = children.len() == parts.len()
        && children
            .iter()
            .zip(parts)
            .all(|(child, part)| child.input == *part);
    same.then_some(())
}
