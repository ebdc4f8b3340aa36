//! Polynomials that are the solution itself, proved by putting them into the equation.

use num_traits::Signed;

use crate::check;
use crate::expression::{Domain, Expr, Node, Symbol, Truth, evaluate, zero_test};
use crate::problem::Problem;

/// A polynomial with more nodes than this in its coefficients is not put into the equation:
/// solutions that are polynomials have short coefficients.
const LONGEST_POLYNOMIAL: usize = 600;
/// Terms to which an equation is multiplied out in looking whether a polynomial solves it.
const TERMS: usize = 2000;

/// Does the polynomial surely satisfy the equation?
pub(super) fn solves(problem: &Problem, coefficients: &[Expr]) -> bool {
    let nodes: usize = coefficients.iter().map(Expr::size).sum();
    if nodes > LONGEST_POLYNOMIAL {
        return false;
    }
    let Some(terms) = check::difference(problem, 0, &[coefficients.to_vec()]) else {
        return false;
    };
    let rest = Expr::raw_sum(terms).normal().expand(TERMS);
    rest.is_zero()
        || rest.is_constant() && evaluate(&rest).is_ok_and(|rest| zero_test(&rest) == Truth::Zero)
}

/// Where the polynomial is the solution, the problem y⁽ᵐ⁾ = its m-th derivative with the same data: the
/// numerical solution has nothing to estimate then, and no rounding leads away from a solution
/// from which others depart.
///
/// `None` also where the right-hand side may stop being analytic along the polynomial.
pub(super) fn followed(problem: &Problem, coefficients: &[Vec<Expr>]) -> Option<Problem> {
    let ([own], None, [equation]) = (
        coefficients,
        problem.order_by_order(),
        problem.equations.as_slice(),
    ) else {
        return None;
    };
    let order = problem.unknowns.first()?.equation_order as usize;
    let derivatives = check::derivatives_as_polynomials(own, &problem.center, order);
    let along = |part: &Expr| {
        let put_in = part.substitute(&|symbol| match symbol {
            Symbol::Derivative { order, .. } => derivatives.get(*order as usize).cloned(),
            Symbol::Variable | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        });
        put_in.normal().expand(TERMS)
    };
    let analytic = equation
        .solved
        .iter()
        .all(|term| is_analytic(term, &|part| along(part).is_constant()));
    if !analytic || !solves(problem, own) {
        return None;
    }
    let mut followed = problem.clone();
    followed.equations.first_mut()?.solved = vec![derivatives.get(order)?.normal().expand(TERMS)];
    Some(followed)
}

/// Is it analytic wherever its parts of this kind keep the value that they have at the data?
fn is_analytic(expression: &Expr, keeps: &dyn Fn(&Expr) -> bool) -> bool {
    let own = match expression.node() {
        Node::Call(function, argument) => {
            function.domain() == Domain::Everywhere || keeps(argument)
        }
        Node::Power(base, exponent) => {
            let natural = exponent
                .as_number()
                .is_some_and(|n| n.is_integer() && !n.is_negative());
            natural || keeps(base)
        }
        _ => true,
    };
    own && expression
        .children()
        .into_iter()
        .all(|part| is_analytic(part, keeps))
}
