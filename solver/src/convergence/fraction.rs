//! Quotients of polynomials with rational coefficients.

use num_traits::{One, Signed, ToPrimitive, Zero};

use crate::expression::{Expr, Node, Symbol};
use crate::number::{Polynomial, Rational};

/// Deepest expression and largest exponent looked at.
const LARGEST_DEPTH: u32 = 100;
const LARGEST_EXPONENT: usize = 48;

/// above / below in lowest terms.
#[derive(Clone, Debug)]
pub(super) struct Fraction {
    pub(super) above: Polynomial,
    pub(super) below: Polynomial,
}

impl Fraction {
    fn new(above: &Polynomial, below: &Polynomial) -> Option<Self> {
        let common = above.common(below);
        let made = Self {
            above: above.quotient(&common)?,
            below: below.quotient(&common)?,
        };
        (made.above.is_small() && made.below.is_small()).then_some(made)
    }

    fn polynomial(above: Polynomial) -> Self {
        Self {
            above,
            below: Polynomial::constant(Rational::one()),
        }
    }

    /// The expression as one quotient of polynomials in the independent variable; `None` when it is
    /// none (or a very long one).
    pub(super) fn of(expression: &Expr) -> Option<Self> {
        if expression.depth() > LARGEST_DEPTH {
            return None;
        }
        match expression.node() {
            Node::Number(value) => Some(Self::polynomial(Polynomial::constant(value.clone()))),
            Node::Symbol(Symbol::Variable) => Some(Self::polynomial(Polynomial::letter())),
            Node::Sum(terms) => {
                let mut sum = Self::polynomial(Polynomial::default());
                for term in terms {
                    sum = sum.plus(&Self::of(term)?)?;
                }
                Some(sum)
            }
            Node::Product(factors) => {
                let mut product = Self::polynomial(Polynomial::constant(Rational::one()));
                for factor in factors {
                    product = product.times(&Self::of(factor)?)?;
                }
                Some(product)
            }
            Node::Power(base, exponent) => {
                let exponent = exponent.as_number().filter(|e| e.is_integer())?;
                let times = exponent.numer().magnitude().to_usize()?;
                if times > LARGEST_EXPONENT {
                    return None;
                }
                let mut base = Self::of(base)?;
                if exponent.is_negative() {
                    base = base.inverse()?;
                }
                let mut power = Self::polynomial(Polynomial::constant(Rational::one()));
                for _ in 0..times {
                    power = power.times(&base)?;
                }
                Some(power)
            }
            Node::Symbol(_) | Node::Call(..) => None,
        }
    }

    fn plus(&self, other: &Self) -> Option<Self> {
        let above = self
            .above
            .times(&other.below)
            .plus(&other.above.times(&self.below), &Rational::one());
        Self::new(&above, &self.below.times(&other.below))
    }

    fn times(&self, other: &Self) -> Option<Self> {
        Self::new(
            &self.above.times(&other.above),
            &self.below.times(&other.below),
        )
    }

    fn inverse(self) -> Option<Self> {
        (!self.above.is_zero()).then_some(Self {
            above: self.below,
            below: self.above,
        })
    }

    /// The quotient; `None` when the divisor is zero.
    pub(super) fn over(&self, other: &Self) -> Option<Self> {
        self.times(&other.clone().inverse()?)
    }
}

/// Monic polynomials without multiple zeros and without common ones, from whose powers all of
/// `given` can be put together.
pub(super) fn basis(given: &[Polynomial]) -> Vec<Polynomial> {
    let mut basis: Vec<Polynomial> = Vec::new();
    for (mut factor, _) in given.iter().flat_map(Polynomial::by_multiplicity) {
        let mut next = Vec::new();
        for own in basis {
            let common = own.common(&factor);
            if let (Some(a), Some(b)) = (own.quotient(&common), factor.quotient(&common)) {
                next.extend([a, common].into_iter().filter(|p| p.degree() > 0));
                factor = b;
            }
        }
        if factor.degree() > 0 {
            next.push(factor);
        }
        basis = next;
    }
    debug_assert!(
        basis
            .iter()
            .all(|p| !p.coefficients().iter().all(Zero::is_zero))
    );
    basis
}
