//! Like terms combined, in order of first appearance.

use num_traits::Zero;

use crate::expression::{Expr, Node};
use crate::number::Rational;
use crate::ordered::Map;

use super::Term;

struct Group {
    coefficient: Rational,
    rest: Expr,
    sources: Vec<usize>,
}

/// Adds up the terms that differ by a number only. `parts` are (identifier of the obtained term,
/// what it contributes in normal form); identifiers of the result start at `next_id`, which moves
/// on. Terms that cancel are left out.
pub(super) fn combine(parts: &[(usize, Expr)], next_id: &mut usize) -> Vec<Term> {
    let mut groups: Vec<Group> = Vec::new();
    let mut places: Map<Expr, usize> = Map::new();
    for (source, part) in parts {
        for term in part.terms() {
            let (coefficient, rest) = term.split_coefficient();
            let place = *places.value_or(rest.clone(), || groups.len());
            match groups.get_mut(place) {
                Some(group) => {
                    group.coefficient += coefficient;
                    if !group.sources.contains(source) {
                        group.sources.push(*source);
                    }
                }
                None => groups.push(Group {
                    coefficient,
                    rest,
                    sources: vec![*source],
                }),
            }
        }
    }
    groups
        .into_iter()
        .filter(|group| !group.coefficient.is_zero())
        .map(|group| {
            let id = *next_id;
            *next_id += 1;
            Term {
                id,
                expression: Expr::product(vec![Expr::number(group.coefficient), group.rest]),
                sources: group.sources,
            }
        })
        .collect()
}

/// Do these read the same, but for the order of factors and of terms in brackets?
pub(super) fn reads_alike(left: &Expr, right: &Expr) -> bool {
    left == right || sorted(left) == sorted(right)
}

fn sorted(expression: &Expr) -> Expr {
    let all = |children: &[Expr]| {
        let mut children: Vec<Expr> = children.iter().map(sorted).collect();
        crate::sorting::sort_by(&mut children, Ord::cmp);
        children
    };
    match expression.node() {
        Node::Number(_) | Node::Symbol(_) => expression.clone(),
        Node::Call(function, argument) => Expr::raw_call(*function, sorted(argument)),
        Node::Power(base, exponent) => Expr::raw_power(sorted(base), sorted(exponent)),
        Node::Product(factors) => Expr::raw_product(all(factors)),
        Node::Sum(terms) => Expr::raw_sum(all(terms)),
    }
}
