//! Are two expressions the same? Decided by their values at pseudo-random points of a large prime
//! field: the checker's own eyes, independent of the normal form that built the lines.
//!
//! Two different polynomials of total degree d agree at a random point of `F_p` with probability at
//! most d / p (J. T. Schwartz, *J. ACM* 27 (1980) 701–717, Corollary 1; stated from memory). Here
//! p > 2^61, and [`POINTS`] points must agree. Points come from a fixed generator, so the answer
//! is always the same one.
//!
//! Roots and exponentials stay consistent with the laws that a normal form uses: p = 2q + 1 with q
//! prime, so the squares of `F_p` form a cyclic group of prime order q, in which u^(1/2), u^v and
//! e^v mean powers with the exponent taken modulo q: u^a u^b = u^(a+b) and (u^a)^b = u^(ab) hold.
//! A point at which a radicand is not a square is passed over. Every other function value is an
//! opaque number that depends on the function and the argument's value only.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::ToPrimitive;

use crate::expression::{Expr, Function, Node, Symbol};
use crate::number::Rational;

/// Safe primes p (p and (p − 1)/2 both prime) below 2^62 for which 2, 3, 5, 7, 11, …, 31 are all
/// squares, so that roots of small constants exist.
const PRIMES: [u64; 3] = [
    4_611_686_018_427_079_679,
    4_611_686_018_420_055_119,
    4_611_686_018_409_905_399,
];

/// Points that must agree.
const POINTS: usize = 2;

/// Points that may be tried before giving up.
const TRIES: u64 = 400;

/// Arithmetic modulo an odd prime.
#[derive(Clone, Copy)]
struct Field {
    prime: u64,
}

impl Field {
    fn add(self, a: u64, b: u64) -> u64 {
        // Both are below 2^62: no overflow.
        (a + b) % self.prime
    }

    fn multiply(self, a: u64, b: u64) -> u64 {
        let wide = u128::from(a) * u128::from(b) % u128::from(self.prime);
        u64::try_from(wide).unwrap_or(0) // below the prime: always fits
    }

    fn power(self, base: u64, mut exponent: u64) -> u64 {
        let mut result = 1;
        let mut square = base % self.prime;
        while exponent > 0 {
            if exponent & 1 == 1 {
                result = self.multiply(result, square);
            }
            square = self.multiply(square, square);
            exponent >>= 1;
        }
        result
    }

    fn inverse(self, a: u64) -> Option<u64> {
        (a != 0).then(|| self.power(a, self.prime - 2))
    }

    fn integer(self, value: &BigInt) -> u64 {
        let prime = BigInt::from(self.prime);
        let residue = ((value % &prime) + &prime) % &prime;
        residue.to_u64().unwrap_or(0) // below the prime: always fits
    }

    fn rational(self, value: &Rational) -> Option<u64> {
        let denominator = self.inverse(self.integer(value.denom()))?;
        Some(self.multiply(self.integer(value.numer()), denominator))
    }

    fn is_square(self, a: u64) -> bool {
        a != 0 && self.power(a, (self.prime - 1) / 2) == 1
    }
}

/// One step of the `SplitMix64` generator (Steele, Lea, Flood, OOPSLA 2014; constants from memory).
fn mix(seed: u64, value: u64) -> u64 {
    let mut z = seed
        .wrapping_mul(0x9E37_79B9_7F4A_7C15)
        .wrapping_add(value)
        .wrapping_add(0x9E37_79B9_7F4A_7C15);
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

/// A value and the derivative's value there.
#[derive(Clone, Copy, PartialEq, Eq)]
struct Dual {
    value: u64,
    slope: u64,
}

/// One assignment of residues to all letters.
#[derive(Clone, Copy)]
pub(super) struct Point {
    /// `F_p`, where values live.
    values: Field,
    /// `F_q`, where exponents live.
    exponents: Field,
    seed: u64,
}

impl Point {
    /// The `index`-th point.
    fn new(index: u64) -> Self {
        let [first, second, third] = PRIMES;
        let prime = match index % 3 {
            0 => first,
            1 => second,
            _ => third,
        };
        Self {
            values: Field { prime },
            exponents: Field {
                prime: (prime - 1) / 2,
            },
            seed: mix(0x6F72_6469_6E61_7279, index),
        }
    }

    /// The residue of a letter in `field`; a square, so that its real powers exist.
    fn letter(self, field: Field, symbol: &Symbol) -> u64 {
        let key = match symbol {
            Symbol::Variable => 1,
            Symbol::Pi => 2,
            Symbol::Derivative { unknown, order } => mix(
                mix(3, u64::try_from(*unknown).unwrap_or(0)),
                u64::from(*order),
            ),
            Symbol::Parameter(name) => name.bytes().fold(4, |key, byte| mix(key, byte.into())),
            Symbol::Root(root) => root
                .letter()
                .bytes()
                .fold(5, |key, byte| mix(key, byte.into())),
        };
        let root = mix(mix(self.seed, field.prime), key) % field.prime;
        field.multiply(root, root)
    }

    /// An opaque value that depends on what it stands for only.
    fn opaque(self, field: Field, tag: u64, arguments: [u64; 2]) -> u64 {
        let [first, second] = arguments;
        mix(mix(mix(mix(self.seed, field.prime), tag), first), second) % field.prime
    }

    fn tag(function: Function) -> u64 {
        // The position in the list of functions; 0 is kept for powers.
        1 + function as u64
    }

    /// Value in `F_q` of something in an exponent. Roots and functions there are opaque.
    fn exponent(self, expr: &Expr) -> Option<u64> {
        let field = self.exponents;
        match expr.node() {
            Node::Number(number) => field.rational(number),
            Node::Symbol(symbol) => Some(self.letter(field, symbol)),
            Node::Call(function, argument) => {
                let argument = self.exponent(argument)?;
                Some(self.opaque(field, Self::tag(*function), [argument, 0]))
            }
            Node::Power(base, exponent) => {
                let base = self.exponent(base)?;
                match integer_exponent(exponent) {
                    Some(n) => integer_power(field, base, n),
                    None => Some(self.opaque(field, 0, [base, self.exponent(exponent)?])),
                }
            }
            Node::Product(factors) => factors.iter().try_fold(1, |product, factor| {
                Some(field.multiply(product, self.exponent(factor)?))
            }),
            Node::Sum(terms) => terms
                .iter()
                .try_fold(0, |sum, term| Some(field.add(sum, self.exponent(term)?))),
        }
    }

    /// u^v for an exponent that is not an integer. A fraction with an odd denominator is a power
    /// that every residue has, uniquely (odd roots of negative numbers are real); everything else
    /// is a power in the group of squares.
    fn general_power(self, base: u64, exponent: &Expr) -> Option<u64> {
        if let Some(number) = exponent.as_number()
            && number.denom().is_odd()
        {
            let reduced = self.exponents.rational(number)?;
            let odd_numerator = number.numer().is_odd();
            let same_parity = (reduced % 2 == 1) == odd_numerator;
            let exponent = if same_parity {
                reduced
            } else {
                reduced + self.exponents.prime
            };
            return (base != 0).then(|| self.values.power(base, exponent));
        }
        if !self.values.is_square(base) {
            return None;
        }
        Some(self.values.power(base, self.exponent(exponent)?))
    }

    fn call(self, function: Function, argument: &Expr, value: u64) -> Option<u64> {
        match function {
            // e stands for a fixed square.
            Function::Exp => {
                let root = self.opaque(self.values, Self::tag(function), [0, 0]);
                let e = self.values.multiply(root, root);
                self.general_power(e, argument)
            }
            _ => Some(self.opaque(self.values, Self::tag(function), [value, 0])),
        }
    }

    /// Value in `F_p`. `None`: not at this point (division by zero, a radicand that is no square).
    fn value(self, expr: &Expr) -> Option<u64> {
        let field = self.values;
        match expr.node() {
            Node::Number(number) => field.rational(number),
            Node::Symbol(symbol) => Some(self.letter(field, symbol)),
            Node::Call(function, argument) => {
                let value = self.value(argument)?;
                self.call(*function, argument, value)
            }
            Node::Power(base, exponent) => {
                let base = self.value(base)?;
                match integer_exponent(exponent) {
                    Some(n) => integer_power(field, base, n),
                    None => self.general_power(base, exponent),
                }
            }
            Node::Product(factors) => factors.iter().try_fold(1, |product, factor| {
                Some(field.multiply(product, self.value(factor)?))
            }),
            Node::Sum(terms) => terms
                .iter()
                .try_fold(0, |sum, term| Some(field.add(sum, self.value(term)?))),
        }
    }

    /// Value and total derivative along the solution: forward differentiation, no trace involved.
    fn dual(self, expr: &Expr) -> Option<Dual> {
        let field = self.values;
        match expr.node() {
            Node::Number(_) => Some(Dual {
                value: self.value(expr)?,
                slope: 0,
            }),
            Node::Symbol(symbol) => Some(Dual {
                value: self.letter(field, symbol),
                slope: match symbol {
                    Symbol::Variable => 1,
                    Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => 0,
                    Symbol::Derivative { unknown, order } => self.letter(
                        field,
                        &Symbol::Derivative {
                            unknown: *unknown,
                            order: order.checked_add(1)?,
                        },
                    ),
                },
            }),
            Node::Call(function, argument) => {
                let inner = self.dual(argument)?;
                let outer = self.value(&function.derivative(argument))?;
                Some(Dual {
                    value: self.call(*function, argument, inner.value)?,
                    slope: field.multiply(outer, inner.slope),
                })
            }
            Node::Power(base, exponent) => self.dual_power(base, exponent),
            Node::Product(factors) => {
                let start = Dual { value: 1, slope: 0 };
                factors.iter().try_fold(start, |product, factor| {
                    let factor = self.dual(factor)?;
                    Some(Dual {
                        value: field.multiply(product.value, factor.value),
                        slope: field.add(
                            field.multiply(product.slope, factor.value),
                            field.multiply(product.value, factor.slope),
                        ),
                    })
                })
            }
            Node::Sum(terms) => {
                let start = Dual { value: 0, slope: 0 };
                terms.iter().try_fold(start, |sum, term| {
                    let term = self.dual(term)?;
                    Some(Dual {
                        value: field.add(sum.value, term.value),
                        slope: field.add(sum.slope, term.slope),
                    })
                })
            }
        }
    }

    /// (u^v)′ = u^v v′ ln u + v u^v u′ / u; the first part only when v varies.
    fn dual_power(self, base: &Expr, exponent: &Expr) -> Option<Dual> {
        let field = self.values;
        let inner = self.dual(base)?;
        let outer = self.dual(exponent)?;
        let value = match integer_exponent(exponent) {
            Some(n) => integer_power(field, inner.value, n)?,
            None => self.general_power(inner.value, exponent)?,
        };
        let mut slope = 0;
        if inner.slope != 0 {
            let quotient = field.multiply(inner.slope, field.inverse(inner.value)?);
            slope = field.multiply(outer.value, field.multiply(value, quotient));
        }
        if outer.slope != 0 {
            let logarithm = self.call(Function::Ln, base, inner.value)?;
            let part = field.multiply(value, field.multiply(outer.slope, logarithm));
            slope = field.add(slope, part);
        }
        Some(Dual { value, slope })
    }
}

fn integer_exponent(exponent: &Expr) -> Option<&BigInt> {
    match exponent.node() {
        Node::Number(number) if number.is_integer() => Some(number.numer()),
        _ => None,
    }
}

fn integer_power(field: Field, base: u64, exponent: &BigInt) -> Option<u64> {
    let group = Field {
        prime: field.prime - 1,
    };
    if base == 0 {
        return match exponent.sign() {
            num_bigint::Sign::Minus => None,
            num_bigint::Sign::NoSign => Some(1),
            num_bigint::Sign::Plus => Some(0),
        };
    }
    Some(field.power(base, group.integer(exponent)))
}

/// Compares two readings at [`POINTS`] points. `None`: no usable point was found.
fn compare(mut at: impl FnMut(Point) -> Option<(u64, u64)>) -> Option<bool> {
    let mut agreed = 0;
    for index in 0..TRIES {
        let Some((left, right)) = at(Point::new(index)) else {
            continue;
        };
        if left != right {
            return Some(false);
        }
        agreed += 1;
        if agreed == POINTS {
            return Some(true);
        }
    }
    None
}

/// Are the sums of these terms the same function of all letters? `None`: cannot tell.
pub(super) fn same_sum(left: &[Expr], right: &[Expr]) -> Option<bool> {
    compare(|point| Some((sum(point, left)?, sum(point, right)?)))
}

/// Is `derived` the total derivative of `original` (sums both)? `None`: cannot tell.
pub(super) fn is_derivative(original: &[Expr], derived: &[Expr]) -> Option<bool> {
    compare(|point| {
        let slope = original.iter().try_fold(0, |total, term| {
            Some(point.values.add(total, point.dual(term)?.slope))
        })?;
        Some((slope, sum(point, derived)?))
    })
}

fn sum(point: Point, terms: &[Expr]) -> Option<u64> {
    terms.iter().try_fold(0, |total, term| {
        Some(point.values.add(total, point.value(term)?))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::rational::ratio;

    fn x() -> Expr {
        Expr::variable()
    }

    fn y(order: u32) -> Expr {
        Expr::derivative(0, order)
    }

    fn n(value: i64) -> Expr {
        Expr::int(value)
    }

    fn product(factors: &[Expr]) -> Expr {
        Expr::raw_product(factors.to_vec())
    }

    fn sum(terms: &[Expr]) -> Expr {
        Expr::raw_sum(terms.to_vec())
    }

    fn power(base: &Expr, numerator: i64, denominator: i64) -> Expr {
        Expr::raw_power(base.clone(), Expr::number(ratio(numerator, denominator)))
    }

    fn call(function: Function, argument: Expr) -> Expr {
        Expr::raw_call(function, argument)
    }

    #[test]
    fn identities_hold_and_others_do_not() {
        let one_y = sum(&[n(1), y(0)]);
        let exp = |u: Expr| call(Function::Exp, u);
        let two_to = |u: Expr| Expr::raw_power(n(2), u);
        let square = sum(&[
            power(&x(), 2, 1),
            product(&[n(2), x(), y(1)]),
            power(&y(1), 2, 1),
        ]);
        let zero = sum(&[x(), product(&[n(-1), x()])]);
        let table = [
            (power(&sum(&[x(), y(1)]), 2, 1), square, Some(true)),
            (
                product(&[power(&one_y, 1, 2), power(&one_y, 1, 2)]),
                one_y.clone(),
                Some(true),
            ),
            (
                product(&[one_y.clone(), power(&one_y, -3, 2)]),
                power(&one_y, -1, 2),
                Some(true),
            ),
            (
                product(&[one_y.clone(), power(&one_y, -3, 1)]),
                power(&one_y, -2, 1),
                Some(true),
            ),
            (power(&power(&one_y, 1, 3), 3, 1), one_y.clone(), Some(true)),
            (power(&n(-8), 1, 3), n(-2), Some(true)),
            (
                product(&[power(&n(2), 1, 2), power(&n(3), 1, 2)]),
                power(&n(6), 1, 2),
                Some(true),
            ),
            (
                product(&[exp(x()), exp(y(0))]),
                exp(sum(&[y(0), x()])),
                Some(true),
            ),
            (
                product(&[two_to(x()), n(2)]),
                two_to(sum(&[x(), n(1)])),
                Some(true),
            ),
            (
                exp(sum(&[x(), y(0)])),
                sum(&[exp(x()), exp(y(0))]),
                Some(false),
            ),
            (power(&one_y, 1, 2), one_y.clone(), Some(false)),
            (
                call(Function::Sin, x()),
                call(Function::Cos, x()),
                Some(false),
            ),
            (
                call(Function::Sin, x()),
                call(Function::Sin, y(0)),
                Some(false),
            ),
            (sum(&[x(), n(1)]), x(), Some(false)),
            (Expr::pi(), n(3), Some(false)),
            // No point is usable: nothing can be said.
            (power(&zero, -1, 1), x(), None),
        ];
        for (left, right, same) in table {
            let found = same_sum(std::slice::from_ref(&left), std::slice::from_ref(&right));
            assert_eq!(found, same, "{left:?} and {right:?}");
        }
    }

    #[test]
    fn derivatives_are_total_and_follow_the_solution() {
        let sin = |u: Expr| call(Function::Sin, u);
        let cos = |u: Expr| call(Function::Cos, u);
        let self_power = Expr::raw_power(x(), x());
        let logarithm = sum(&[n(1), call(Function::Ln, x())]);
        let table = [
            (
                product(&[x(), y(0)]),
                sum(&[y(0), product(&[x(), y(1)])]),
                true,
            ),
            (product(&[x(), y(0)]), y(0), false),
            (sin(y(2)), product(&[cos(y(2)), y(3)]), true),
            (sin(y(2)), cos(y(2)), false),
            (
                power(&y(0), 1, 2),
                product(&[power(&y(0), -1, 2), y(1)]),
                false,
            ),
            (self_power.clone(), product(&[self_power, logarithm]), true),
            (Expr::pi(), n(0), true),
            (Expr::parameter("a"), n(0), true),
        ];
        for (original, derived, holds) in table {
            let found = is_derivative(
                std::slice::from_ref(&original),
                std::slice::from_ref(&derived),
            );
            assert_eq!(found, Some(holds), "{original:?} and {derived:?}");
        }
    }

    #[test]
    fn small_constants_have_roots_in_the_fields() {
        for prime in PRIMES {
            let field = Field { prime };
            let half = Field {
                prime: (prime - 1) / 2,
            };
            assert!(prime < 1 << 62 && prime > 1 << 61);
            for small in [2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31] {
                assert!(field.is_square(small), "{small} modulo {prime}");
                // Fermat's little theorem for q.
                assert_eq!(half.power(small, half.prime - 1), 1);
            }
        }
    }
}
