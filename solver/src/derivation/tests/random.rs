//! Random equations, fixed seeds: whatever comes, the trace replays and both routes agree.

use super::support::*;
use crate::budget::Budget;
use crate::derivation::{RowKind, check, derive};
use crate::expression::Expr;
use crate::expression::Function::{Arctan, Cos, Exp, Ln, Sin, Sinh, Tan};
use crate::expression::evaluate;
use crate::expression::{Truth, zero_test};
use crate::problem::{Problem, Route};

/// A small linear congruential generator (Knuth's MMIX constants, from memory; any would do).
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    fn small(&mut self) -> Expr {
        let value = i64::try_from(self.below(7)).expect("small") - 3;
        if value == 0 { q(1, 2) } else { n(value) }
    }

    fn letter(&mut self, equation_order: u32) -> Expr {
        if self.below(3) == 0 {
            return x();
        }
        let order = self.below(u64::from(equation_order));
        y(u32::try_from(order).expect("small"))
    }

    fn expression(&mut self, equation_order: u32, depth: u32) -> Expr {
        if depth == 0 {
            return if self.below(4) == 0 {
                self.small()
            } else {
                self.letter(equation_order)
            };
        }
        let part = |dice: &mut Self| dice.expression(equation_order, depth - 1);
        let (first, second) = (part(self), part(self));
        match self.below(12) {
            0..3 => first.add(&second),
            3..6 => first.mul(&second),
            6 => first.mul(&n(2).add(&second.square()).pow_int(-1)),
            7 => first.square().add(&n(1)).sqrt().mul(&second),
            8 => Expr::power(first, n(3)),
            9 => {
                let functions = [Sin, Cos, Exp, Tan, Sinh, Arctan];
                let index = usize::try_from(self.below(6)).expect("small");
                call(functions[index], &first).add(&second)
            }
            10 => call(Ln, &n(3).add(&first.square())),
            _ => Expr::power(n(1).add(&x().square()), first).add(&second),
        }
    }
}

/// y⁽ᵐ⁾ = f, and the same equation multiplied by a polynomial that is not zero at the center.
fn problem(dice: &mut Dice) -> Problem {
    let equation_order = 1 + u32::try_from(dice.below(2)).expect("small");
    let terms: Vec<Expr> = (0..=dice.below(2))
        .map(|_| dice.expression(equation_order, 2))
        .collect();
    let solved = Expr::sum(terms).terms();
    let center = n(i64::try_from(dice.below(3)).expect("small") - 1);
    let initial = (0..equation_order).map(|_| dice.small()).collect();
    let factor = n(2).add(&x().square());
    let left = vec![factor.mul(&y(equation_order)), y(0)];
    let right = solved
        .iter()
        .map(|term| factor.mul(term))
        .chain([y(0)])
        .collect();
    standing(center, initial, solved, (left, right))
}

#[test]
fn every_derivation_replays_and_the_routes_agree() {
    let budget = Budget {
        terms: 60,
        nodes: 2000,
        ..Budget::PAGE
    };
    let mut dice = Dice(2024);
    let (mut worked, mut traces, mut cut_short, mut undecided) = (0, 0, 0, 0);
    for index in 0..120 {
        let problem = problem(&mut dice);
        let up_to = problem.initial[0].len() + 2;
        let derivations =
            [Route::Solved, Route::Standing].map(|route| derive(&problem, route, up_to, &budget));
        for derivation in &derivations {
            let report = check(&problem, derivation);
            assert_eq!(
                report.defects,
                [],
                "{index}: {:?}\n{:#?}",
                problem.equations[0].solved,
                texts(derivation)
            );
            traces += report.traces;
            undecided += report.undecided;
            let full = |row: &&crate::derivation::Row| matches!(row.kind, RowKind::Worked { .. });
            worked += derivation.rows.iter().filter(full).count();
            cut_short += usize::from(derivation.rows.iter().any(|row| row.value.is_none()));
        }
        let [solved, standing] = &derivations;
        for (one, other) in solved.rows.iter().zip(&standing.rows) {
            if let (Some(a), Some(b)) = (&one.value, &other.value) {
                let zero = evaluate(&a.sub(b)).expect("a value");
                let truth = zero_test(&zero);
                assert_ne!(
                    truth,
                    Truth::NotZero,
                    "{index}: {a:?} {b:?} {:?}",
                    problem.equations[0].solved
                );
                undecided += usize::from(truth == Truth::Undecided);
            }
        }
    }
    // How much of this was vacuous.
    assert!(worked > 550, "{worked} rows worked");
    assert!(traces > 10_000, "{traces} traces");
    assert!(cut_short < 50, "{cut_short} cut short");
    assert!(undecided < 25, "{undecided} undecided");
}
