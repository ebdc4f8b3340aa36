//! Partial derivatives.

use super::function::Function;
use super::tree::{Expr, Node, Symbol};

impl Expr {
    /// ∂/∂`symbol`, every other letter constant; in normal form.
    #[must_use]
    pub fn partial(&self, symbol: &Symbol) -> Self {
        if !self.contains(symbol) {
            return Self::zero();
        }
        match self.node() {
            Node::Number(_) | Node::Symbol(_) => Self::one(),
            Node::Call(function, argument) => function
                .derivative(argument)
                .normal()
                .mul(&argument.partial(symbol)),
            Node::Power(base, exponent) => {
                let lower = Self::power(base.clone(), exponent.sub(&Self::one()));
                let by_base = Self::product(vec![exponent.clone(), lower, base.partial(symbol)]);
                if !exponent.contains(symbol) {
                    return by_base;
                }
                let logarithm = Self::call(Function::Ln, base.clone());
                let by_exponent =
                    Self::product(vec![self.clone(), logarithm, exponent.partial(symbol)]);
                by_base.add(&by_exponent)
            }
            Node::Product(factors) => {
                let terms = (0..factors.len()).map(|place| {
                    let own = factors.iter().enumerate().map(|(position, factor)| {
                        if position == place {
                            factor.partial(symbol)
                        } else {
                            factor.clone()
                        }
                    });
                    Self::product(own.collect())
                });
                Self::sum(terms.collect())
            }
            Node::Sum(terms) => Self::sum(terms.iter().map(|t| t.partial(symbol)).collect()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn partial_derivatives_leave_other_letters_alone() {
        let (x, y, z) = (
            Expr::variable(),
            Expr::derivative(0, 0),
            Expr::derivative(0, 1),
        );
        let second = |e: &Expr| {
            e.partial(&Symbol::Derivative {
                unknown: 0,
                order: 1,
            })
        };
        // ∂/∂y′ of x y y′² + y′ sin y′ + y^y′ + x
        let sine = Expr::call(Function::Sin, z.clone());
        let cosine = Expr::call(Function::Cos, z.clone());
        let power = Expr::power(y.clone(), z.clone());
        let whole = Expr::sum(vec![
            Expr::product(vec![x.clone(), y.clone(), z.square()]),
            z.mul(&sine),
            power.clone(),
            x.clone(),
        ]);
        let expected = Expr::sum(vec![
            Expr::product(vec![Expr::int(2), x.clone(), y.clone(), z.clone()]),
            sine,
            z.mul(&cosine),
            power.mul(&Expr::call(Function::Ln, y)),
        ]);
        assert_eq!(second(&whole), expected);
        assert!(second(&x).is_zero());
    }
}
