//! Small random expressions from fixed seeds, for property tests here and in other modules.

use crate::expression::{Expr, Function};
use crate::number::Rational;
use crate::number::rational::ratio;

/// A linear congruential generator (Knuth's MMIX constants, TAOCP vol. 2, 3.3.4, table 1 line 26;
/// from memory); only the high bits are used.
pub(crate) struct Random(u64);

impl Random {
    pub(crate) fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(2).wrapping_add(1))
    }

    /// From 0 to below `bound`.
    pub(crate) fn below(&mut self, bound: u32) -> u32 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        let high = u32::try_from(self.0 >> 33).unwrap_or(0);
        high % bound.max(1)
    }

    /// A fraction with small numerator and denominator.
    pub(crate) fn fraction(&mut self) -> Rational {
        ratio(i64::from(self.below(13)) - 6, i64::from(self.below(4)) + 1)
    }

    /// A polynomial-like expression in the variable, y, y′ and y″: sums, products, small powers.
    pub(crate) fn polynomial(&mut self, depth: u32) -> Expr {
        let choice = self.below(6);
        if depth == 0 {
            return match choice {
                0..=1 => Expr::number(self.fraction()),
                2..=3 => Expr::variable(),
                _ => Expr::derivative(0, self.below(3)),
            };
        }
        match choice {
            0..=2 => {
                let terms = 2 + self.below(2);
                Expr::sum((0..terms).map(|_| self.polynomial(depth - 1)).collect())
            }
            3..=4 => {
                let factors = 2 + self.below(2);
                Expr::product((0..factors).map(|_| self.polynomial(depth - 1)).collect())
            }
            _ => self
                .polynomial(depth - 1)
                .pow_int(i64::from(self.below(3)) + 1),
        }
    }

    /// Any expression in the same letters: also quotients, roots and functions.
    pub(crate) fn expression(&mut self, depth: u32) -> Expr {
        if depth == 0 {
            return self.polynomial(0);
        }
        match self.below(8) {
            0..=1 => Expr::sum(vec![self.expression(depth - 1), self.expression(depth - 1)]),
            2..=3 => Expr::product(vec![self.expression(depth - 1), self.expression(depth - 1)]),
            4 => {
                let (above, below) = (self.expression(depth - 1), self.expression(depth - 1));
                above.div(&below)
            }
            5 => {
                let base = self.expression(depth - 1);
                let exponent = ratio(i64::from(self.below(7)) - 3, i64::from(self.below(3)) + 1);
                Expr::power(base, Expr::number(exponent))
            }
            _ => {
                let function = self.function();
                Expr::call(function, self.expression(depth - 1))
            }
        }
    }

    /// One of the functions.
    pub(crate) fn function(&mut self) -> Function {
        let count = u32::try_from(Function::ALL.len()).unwrap_or(1);
        Function::ALL[self.below(count) as usize]
    }

    /// The list in another order.
    pub(crate) fn shuffled<T: Clone>(&mut self, list: &[T]) -> Vec<T> {
        let mut rest = list.to_vec();
        let mut result = Vec::with_capacity(rest.len());
        while !rest.is_empty() {
            let index = self.below(u32::try_from(rest.len()).unwrap_or(1)) as usize;
            result.push(rest.swap_remove(index));
        }
        result
    }
}
