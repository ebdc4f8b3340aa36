use super::*;
use crate::expression::{Expr, Node};
use crate::number::rational::{integer, ratio};
use crate::series::Solver;
use crate::series::rational::RationalContext;

const BITS: u64 = 1 << 20;

/// A small generator of test data (Steele, Lea & Flood's `SplitMix64`), fixed seed.
struct Random(u64);

impl Random {
    fn word(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    fn below(&mut self, limit: u64) -> u64 {
        self.word() % limit
    }

    fn integer(&mut self, size: i64) -> i64 {
        i64::try_from(self.below(2 * u64::try_from(size).unwrap() + 1)).unwrap() - size
    }

    fn fraction(&mut self) -> Rational {
        let denominator =
            [1, 1, 1, 2, 3, 4, 6, 7, 10, 13][usize::try_from(self.below(10)).unwrap()];
        ratio(self.integer(9), denominator)
    }
}

fn generic(tape: &Tape, center: &Rational, initial: &[Rational], degree: usize) -> Vec<Rational> {
    let mut solver = Solver::new(tape, center, initial, RationalContext { bits: BITS }).unwrap();
    solver.extend(degree, &mut Fuel::new(u64::MAX)).unwrap();
    solver
        .coefficients()
        .iter()
        .take(degree + 1)
        .cloned()
        .collect()
}

/// A random product of a fraction, powers of x and derivatives of y below `order`.
fn random_term(random: &mut Random, order: u32) -> Expr {
    let mut factors = vec![Expr::number(random.fraction())];
    for _ in 0..random.below(4) {
        factors.push(if random.below(3) == 0 {
            Expr::variable()
        } else {
            Expr::derivative(0, u32::try_from(random.below(u64::from(order))).unwrap())
        });
    }
    Expr::raw(Node::Product(factors))
}

#[test]
fn random_polynomial_right_sides_agree_with_the_generic_road() {
    let mut random = Random(20_260_611);
    let mut taken = 0;
    for case in 0..260 {
        let order = u32::try_from(1 + random.below(3)).unwrap();
        let terms: Vec<Expr> = (0..=random.below(3))
            .map(|_| random_term(&mut random, order))
            .collect();
        let center = if case % 2 == 0 {
            integer(0)
        } else {
            random.fraction()
        };
        let initial: Vec<Rational> = (0..order).map(|_| random.fraction()).collect();
        let tape = Tape::compile(&terms, order).unwrap();
        let degree = 6 + usize::try_from(random.below(14)).unwrap();
        let fast = polynomial(
            &tape,
            &center,
            &initial,
            degree,
            BITS,
            &mut Fuel::new(u64::MAX),
        );
        if let Some(found) = fast.unwrap() {
            taken += 1;
            assert_eq!(
                found,
                generic(&tape, &center, &initial, degree),
                "{terms:?} {center} {initial:?}"
            );
            let lowest = found
                .iter()
                .all(|c| *c == Rational::new(c.numer().clone(), c.denom().clone()));
            assert!(lowest, "lowest terms: {terms:?}");
        }
    }
    assert!(
        taken >= 200,
        "only {taken} cases were taken by the fast road"
    );
}

/// A random polynomial in x with small fractions.
fn random_polynomial(random: &mut Random, constant: Option<i64>) -> Expr {
    let mut terms = vec![Expr::number(
        constant.map_or_else(|| random.fraction(), integer),
    )];
    for power in 1..=random.below(3) {
        let coefficient = if random.below(2) == 0 {
            integer(0)
        } else {
            random.fraction()
        };
        let power = Expr::raw(Node::Power(
            Expr::variable(),
            Expr::number(integer(i64::try_from(power).unwrap())),
        ));
        terms.push(Expr::raw(Node::Product(vec![
            Expr::number(coefficient),
            power,
        ])));
    }
    Expr::raw(Node::Sum(terms))
}

#[test]
fn random_linear_equations_agree_with_the_generic_road() {
    let mut random = Random(20_261_125);
    let mut taken = 0;
    for case in 0..260 {
        let order = u32::try_from(1 + random.below(3)).unwrap();
        let lead = 1 + i64::try_from(random.below(5)).unwrap();
        let leading = random_polynomial(&mut random, Some(lead));
        let product = |a: &Expr, b: Expr| Expr::raw(Node::Product(vec![a.clone(), b]));
        let mut lower = Vec::new();
        for k in 0..order {
            if random.below(3) > 0 {
                lower.push(product(
                    &random_polynomial(&mut random, None),
                    Expr::derivative(0, k),
                ));
            }
        }
        if random.below(3) == 0 {
            lower.push(random_polynomial(&mut random, None));
        }
        let center = if case % 3 == 0 {
            random.fraction()
        } else {
            integer(0)
        };
        let initial: Vec<Rational> = (0..order).map(|_| random.fraction()).collect();
        let left = [product(&leading, Expr::derivative(0, order))];
        let degree = 6 + usize::try_from(random.below(40)).unwrap();
        let mut fuel = Fuel::new(u64::MAX);
        let fast = linear((&left, &lower), &center, &initial, degree, BITS, &mut fuel);
        let Some(found) = fast.unwrap() else { continue };
        let inverse = Expr::raw(Node::Power(leading, Expr::number(integer(-1))));
        let solved = [product(&inverse, Expr::raw(Node::Sum(lower.clone())))];
        let tape = Tape::compile(&solved, order).unwrap();
        taken += 1;
        assert_eq!(
            found,
            generic(&tape, &center, &initial, degree),
            "{left:?} = {lower:?}"
        );
        let lowest = found
            .iter()
            .all(|c| *c == Rational::new(c.numer().clone(), c.denom().clone()));
        assert!(lowest, "lowest terms: {left:?} = {lower:?}");
    }
    assert!(
        taken >= 200,
        "only {taken} cases were taken by the fast road"
    );
}
