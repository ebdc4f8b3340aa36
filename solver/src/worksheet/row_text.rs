//! What a row of the table says about its derivative, as machine text.

use super::Worksheet;
use crate::derivation::{Row, RowKind, Side};
use crate::document::names::Names;
use crate::document::plain;
use crate::expression::{Expr, Node, Symbol};
use crate::problem::Route;

/// The derivative of this order as an expression in the independent variable, the unknown and its
/// lower derivatives; for initial values its own name. `None` where it has grown too long to be
/// worked out.
pub(super) fn expression(
    worksheet: &Worksheet,
    unknown: usize,
    order: usize,
    names: &Names,
) -> Option<String> {
    let (route, row) = find(worksheet, unknown, order)?;
    let order = u32::try_from(order).ok()?;
    match (&row.kind, route) {
        (RowKind::SeriesOnly | RowKind::Chosen { .. } | RowKind::Holds { .. }, _) => None,
        (RowKind::Initial, _) => Some(plain::derivative(names.unknown(unknown), order)),
        (RowKind::Worked { right, .. } | RowKind::Stopped { right, .. }, Route::Solved) => {
            Some(plain::sum(terms(right), names))
        }
        (
            RowKind::Worked { left, right, .. } | RowKind::Stopped { left, right, .. },
            Route::Standing,
        ) => {
            let new = Symbol::Derivative { unknown, order };
            let solved = solved_for(&new, left, right);
            Some(match solved.node() {
                // As many terms as were found, in their order.
                Node::Sum(terms) => plain::sum(terms, names),
                _ => plain::expression(&solved, names),
            })
        }
    }
}

/// The line as differentiated, where the equation was differentiated as it stands.
pub(super) fn equation(
    worksheet: &Worksheet,
    unknown: usize,
    order: usize,
    names: &Names,
) -> Option<String> {
    match find(worksheet, unknown, order)? {
        (
            Route::Standing,
            Row {
                kind:
                    RowKind::Worked { left, right, .. }
                    | RowKind::Chosen { left, right, .. }
                    | RowKind::Stopped { left, right, .. },
                ..
            },
        ) => Some(format!(
            "{} = {}",
            plain::sum(terms(left), names),
            plain::sum(terms(right), names)
        )),
        _ => None,
    }
}

fn find(worksheet: &Worksheet, unknown: usize, order: usize) -> Option<(Route, &Row)> {
    let derivation = worksheet.derivation.as_ref()?;
    let is_it = |row: &&Row| {
        row.unknown == unknown && row.order == order && !matches!(row.kind, RowKind::Holds { .. })
    };
    Some((derivation.route, derivation.rows.iter().find(is_it)?))
}

fn terms(side: &Side) -> impl Iterator<Item = &Expr> {
    side.combined.iter().map(|term| &term.expression)
}

/// `left = right`, linear in `new`, solved for it: (what is known) / (what multiplies `new`).
fn solved_for(new: &Symbol, left: &Side, right: &Side) -> Expr {
    let minus = Expr::int(-1);
    let mut leading = Vec::new();
    let mut known = Vec::new();
    // Right side first: what stands there stays in front.
    for (side_sign, side) in [(Expr::one(), right), (minus.clone(), left)] {
        for term in terms(side) {
            let signed = |value: Expr| Expr::product(vec![side_sign.clone(), value]);
            if !term.contains(new) {
                known.push(signed(term.clone()));
                continue;
            }
            // The term is linear in `new`: a·new + b, with b its value at 0 and a + b at 1.
            let at = |value: i64| term.substitute(&|own| (own == new).then(|| Expr::int(value)));
            let (at_zero, at_one) = (at(0).normal(), at(1).normal());
            leading.push(signed(at_one.sub(&at_zero)).mul(&minus));
            if !at_zero.is_zero() {
                known.push(signed(at_zero));
            }
        }
    }
    let leading = Expr::sum(leading);
    if leading.is_constant() {
        let reciprocal = Expr::one().div(&leading);
        let divided = known.into_iter().map(|term| term.mul(&reciprocal));
        return Expr::raw_sum(divided.collect());
    }
    if known.is_empty() {
        return Expr::zero();
    }
    match known.as_slice() {
        [only] => only.div(&leading),
        _ => Expr::raw_product(vec![Expr::raw_sum(known), Expr::raw_power(leading, minus)]),
    }
}
