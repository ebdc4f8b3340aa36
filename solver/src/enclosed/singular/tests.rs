//! Series at singular centers against exact coefficients, longer expansions and known radii.

use super::super::form::{Arithmetic, Form};
use super::super::rows::Rows;
use super::super::{Ball, balls, closed, tail};
use super::shares;
use crate::budget::Fuel;
use crate::expression::Expr;
use crate::number::{BigFloat, Rational};
use crate::series::Tape;
use crate::series::floats::Real;

fn u(j: u32) -> Expr {
    Expr::derivative(0, j)
}

fn t(power: i64) -> Expr {
    Expr::variable().pow_int(power)
}

/// H of x²y″ + x y′ + x² y = 0 at 0, of Legendre's equation with the product 3/4 at 1, and of
/// x y″ + 2 y′ + x y³ = 0 at 0; and the radius of convergence, or one that is surely below.
fn suite() -> Vec<(Tape, f64)> {
    let bessel = vec![u(1).neg(), t(2).mul(&u(0)).neg()];
    // (1 − x²) y″ = 2x y′ − 3/4 y with x = 1 + t: t² y″ = −(2(1 + t) u₁ − 3/4 t u₀)/(2 + t).
    let two = Expr::int(2);
    let above = two
        .mul(&Expr::one().add(&t(1)))
        .mul(&u(1))
        .sub(&t(1).mul(&u(0)).scale(&Rational::new(3.into(), 4.into())));
    let legendre = vec![above.mul(&two.add(&t(1)).pow_int(-1)).neg()];
    let star = vec![two.mul(&u(1)).neg(), t(2).mul(&u(0).pow_int(3)).neg()];
    [(bessel, 4.0), (legendre, 2.0), (star, 1.5)]
        .into_iter()
        .map(|(terms, radius)| (Tape::compile(&[Expr::sum(terms)], 2).unwrap(), radius))
        .collect()
}

fn expanded<C: Real>(tape: &Tape, bits: usize, orders: usize) -> Rows<'_, C> {
    let arithmetic = Arithmetic::new(bits, 2);
    let constants = tape.constants().iter();
    let constants = constants.map(|value| closed(value, &arithmetic).unwrap());
    let constants: Vec<Form<C>> = constants.collect();
    let one = closed(&Expr::one(), &arithmetic).unwrap();
    let zero = closed(&Expr::zero(), &arithmetic).unwrap();
    let mut rows = Rows::new(tape, arithmetic, constants, orders);
    rows.restart(zero, 0, &[]);
    rows.extend_singular(&[Some(one)], false, &mut Fuel::new(1_000_000_000))
        .unwrap();
    rows
}

fn holds(ball: &Ball, value: &Rational) -> bool {
    let (low, high) = ball.ends().unwrap();
    low <= *value && *value <= high
}

#[test]
fn the_bessel_functions_coefficients_are_held() {
    let suite = suite();
    let rows: Rows<'_, crate::number::DoubleDouble> = expanded(&suite[0].0, 106, 30);
    let mut exact = Rational::from_integer(1.into());
    for (k, ball) in balls(&rows, 0).iter().enumerate() {
        // (−1/4)ⁿ/n!² at k = 2n.
        if k % 2 == 1 {
            assert!(holds(ball, &Rational::from_integer(0.into())), "{k}");
            continue;
        }
        if k > 0 {
            let below = i64::try_from(k * k).unwrap();
            exact /= Rational::from_integer((-below).into());
        }
        assert!(holds(ball, &exact), "{k}");
        assert!(
            ball.radius <= 1e-26 * ball.mid.to_f64().abs() + 1e-290,
            "{k}"
        );
    }
}

#[test]
fn tails_at_singular_centers_bound_what_longer_expansions_show() {
    for (tape, radius) in &suite() {
        let radius = 0.75 * radius;
        let short: Rows<'_, crate::number::DoubleDouble> = expanded(tape, 106, 40);
        let bounds = tail::beyond(&short, radius).unwrap();
        let long: Rows<'_, BigFloat> = expanded(tape, 300, 160);
        for (state, bound) in bounds.iter().enumerate() {
            let known = short.all[state].len();
            let terms = balls(&long, state);
            let shown: f64 = terms
                .iter()
                .zip(0_u32..)
                .skip(known)
                .map(|(ball, k)| ball.mid.to_f64().abs() * libm::pow(radius, f64::from(k)))
                .sum();
            assert!(
                shown <= *bound && *bound < 1e5 * shown + 1e-20,
                "{shown} {bound}"
            );
        }
    }
}

#[test]
fn nothing_is_proved_beyond_the_next_singular_point() {
    let suite = suite();
    let rows: Rows<'_, crate::number::DoubleDouble> = expanded(&suite[1].0, 106, 120);
    assert!(tail::beyond(&rows, 2.001).is_none());
    assert!(tail::beyond(&rows, 1.7).is_some());
}

/// With a derivative as large as the order is, P(k) might be zero: no shares.
#[test]
fn large_factors_need_high_orders() {
    assert!(shares(&[0.0, 9.0], 9).is_none());
    let shares = shares(&[0.0, 9.0], 12).unwrap();
    assert!(shares[0] >= 1.0 / 132.0 && shares[1] >= 1.0 / 11.0 && shares[1] < 0.091);
}
