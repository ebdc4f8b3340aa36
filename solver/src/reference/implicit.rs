//! Equations that are not linear in their highest derivative, for the numerical solution.
//!
//! Differentiated once, F(x, y, …, y^(m)) = 0 is linear in y^(m+1), with the factor ∂F/∂y^(m). As long
//! as that is not zero, the solution with the found value of y^(m) is the one of that explicit equation
//! with one condition more (implicit function theorem).

use crate::expression::{Expr, Symbol, Truth, evaluate, to_f64, zero_test};
use crate::number::{BigFloat, Rational};
use crate::problem::{Justification, Problem};

/// The explicit equation, and what must not be zero.
pub(super) struct Explicit {
    pub(super) problem: Problem,
    /// ∂F/∂y^(m)
    pub(super) separant: Expr,
}

/// `None` where ∂F/∂y^(m) is not surely different from zero at the data, or y^(m) is not known.
pub(super) fn explicit(problem: &Problem) -> Option<Explicit> {
    let (left, right) = &problem.equations.first()?.standing;
    let minus = right.iter().map(Expr::neg);
    let whole = Expr::sum(left.iter().cloned().chain(minus).collect());
    let order = problem.unknowns.first()?.equation_order;
    let highest = Symbol::Derivative { unknown: 0, order };
    let separant = whole.partial(&highest);
    let mut initial = problem.initial.first()?.clone();
    initial.truncate(order as usize + 1);
    if initial.len() <= order as usize {
        return None;
    }
    let at_data = separant.substitute(&|symbol| match symbol {
        Symbol::Variable => Some(problem.center.clone()),
        Symbol::Derivative { order, .. } => initial.get(*order as usize).cloned(),
        Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
    });
    if zero_test(&evaluate(&at_data).ok()?) != Truth::NotZero {
        return None;
    }
    let known = (0..order).map(|j| {
        let own = Symbol::Derivative {
            unknown: 0,
            order: j,
        };
        whole.partial(&own).mul(&Expr::derivative(0, j + 1))
    });
    let rest = known.fold(whole.partial(&Symbol::Variable), |sum, term| sum.add(&term));
    let mut explicit = problem.clone();
    let equation = explicit.equations.first_mut()?;
    equation.solved = vec![rest.neg().div(&separant)];
    equation.justification = Justification::AnalyticRightSide {
        polynomial: false,
        checked: Vec::new(),
    };
    explicit.unknowns.first_mut()?.equation_order = order + 1;
    explicit.initial = vec![initial];
    Some(Explicit {
        problem: explicit,
        separant,
    })
}

/// The value of the separant, to about a double's digits; `None`: it has none.
pub(super) fn value(separant: &Expr, x: &Rational, derivatives: &[BigFloat]) -> Option<f64> {
    let value = separant.substitute(&|symbol| match symbol {
        Symbol::Variable => Some(Expr::number(x.clone())),
        Symbol::Derivative { order, .. } => {
            let value = derivatives.get(*order as usize)?;
            // A double's digits keep the fractions short.
            BigFloat::from_f64(value.to_f64())
                .to_rational()
                .map(Expr::number)
        }
        Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
    });
    to_f64(&value)
}
