mod identities;

use super::*;
use crate::expression::{Expr, Function, Node};
use crate::number::Rational;
use crate::series::rational::RationalContext;

const LIMITS: RationalContext = RationalContext { bits: 1_000_000 };

fn x() -> Expr {
    Expr::variable()
}

fn y(order: u32) -> Expr {
    Expr::derivative(0, order)
}

fn call(function: Function, argument: Expr) -> Expr {
    Expr::raw(Node::Call(function, argument))
}

fn number(numerator: i64, denominator: i64) -> Expr {
    Expr::number(ratio(numerator, denominator))
}

fn power(base: Expr, numerator: i64, denominator: i64) -> Expr {
    Expr::raw(Node::Power(base, number(numerator, denominator)))
}

fn product(factors: &[Expr]) -> Expr {
    Expr::raw(Node::Product(factors.to_vec()))
}

fn sum(terms: &[Expr]) -> Expr {
    Expr::raw(Node::Sum(terms.to_vec()))
}

/// Coefficients of the solution of `y^(m) = right_side`.
fn solve(
    right_side: &[Expr],
    center: &Rational,
    initial: &[Rational],
    degree: usize,
) -> Result<Vec<Rational>, SeriesError> {
    let tape = Tape::compile(right_side, u32::try_from(initial.len()).unwrap())?;
    let mut solver = Solver::new(&tape, center, initial, LIMITS)?;
    solver.extend(degree, &mut Fuel::new(100_000_000))?;
    Ok(solver
        .coefficients()
        .iter()
        .take(degree + 1)
        .cloned()
        .collect())
}

/// Taylor coefficients of an expression in x: those of its integral, differentiated.
fn series(
    expression: &Expr,
    center: &Rational,
    degree: usize,
) -> Result<Vec<Rational>, SeriesError> {
    let integral = solve(
        std::slice::from_ref(expression),
        center,
        &[ratio(0, 1)],
        degree + 1,
    )?;
    Ok((1_i64..)
        .zip(integral.into_iter().skip(1))
        .map(|(k, c)| c * integer(k))
        .collect())
}

fn fractions(list: &[(i64, i64)]) -> Vec<Rational> {
    list.iter().map(|&(n, d)| ratio(n, d)).collect()
}

fn check(table: Vec<(Expr, &[(i64, i64)])>) {
    for (expression, expected) in table {
        let found = series(&expression, &ratio(0, 1), expected.len() - 1);
        assert_eq!(found, Ok(fractions(expected)), "{expression:?}");
    }
}

#[test]
fn exponential_and_circular_functions_have_their_maclaurin_series() {
    // DLMF 4.19 (circular), 4.6.1 (logarithm), 4.2.19 (exponential).
    let one_plus = |e| sum(&[number(1, 1), e]);
    let table: Vec<(Expr, &[(i64, i64)])> = vec![
        (
            call(Function::Exp, x()),
            &[(1, 1), (1, 1), (1, 2), (1, 6), (1, 24), (1, 120)],
        ),
        (
            call(Function::Ln, one_plus(x())),
            &[(0, 1), (1, 1), (-1, 2), (1, 3), (-1, 4), (1, 5)],
        ),
        (
            call(Function::Sin, x()),
            &[(0, 1), (1, 1), (0, 1), (-1, 6), (0, 1), (1, 120)],
        ),
        (
            call(Function::Cos, x()),
            &[(1, 1), (0, 1), (-1, 2), (0, 1), (1, 24), (0, 1)],
        ),
        (
            call(Function::Tan, x()),
            &[
                (0, 1),
                (1, 1),
                (0, 1),
                (1, 3),
                (0, 1),
                (2, 15),
                (0, 1),
                (17, 315),
                (0, 1),
                (62, 2835),
            ],
        ),
        (
            call(Function::Sec, x()),
            &[(1, 1), (0, 1), (1, 2), (0, 1), (5, 24), (0, 1), (61, 720)],
        ),
    ];
    check(table);
}

#[test]
fn hyperbolic_and_inverse_functions_and_roots_have_their_maclaurin_series() {
    // DLMF 4.24 (inverse circular), 4.33 (hyperbolic), 4.38 (inverse hyperbolic), 4.6.7 (binomial).
    let one_plus = |e| sum(&[number(1, 1), e]);
    let table: Vec<(Expr, &[(i64, i64)])> = vec![
        (
            call(Function::Tanh, x()),
            &[
                (0, 1),
                (1, 1),
                (0, 1),
                (-1, 3),
                (0, 1),
                (2, 15),
                (0, 1),
                (-17, 315),
            ],
        ),
        (
            call(Function::Sech, x()),
            &[(1, 1), (0, 1), (-1, 2), (0, 1), (5, 24), (0, 1), (-61, 720)],
        ),
        (
            call(Function::Sinh, x()),
            &[(0, 1), (1, 1), (0, 1), (1, 6), (0, 1), (1, 120)],
        ),
        (
            call(Function::Cosh, x()),
            &[(1, 1), (0, 1), (1, 2), (0, 1), (1, 24), (0, 1)],
        ),
        (
            call(Function::Arcsin, x()),
            &[
                (0, 1),
                (1, 1),
                (0, 1),
                (1, 6),
                (0, 1),
                (3, 40),
                (0, 1),
                (5, 112),
                (0, 1),
                (35, 1152),
            ],
        ),
        (
            call(Function::Arctan, x()),
            &[
                (0, 1),
                (1, 1),
                (0, 1),
                (-1, 3),
                (0, 1),
                (1, 5),
                (0, 1),
                (-1, 7),
            ],
        ),
        (
            call(Function::Arsinh, x()),
            &[
                (0, 1),
                (1, 1),
                (0, 1),
                (-1, 6),
                (0, 1),
                (3, 40),
                (0, 1),
                (-5, 112),
            ],
        ),
        (
            call(Function::Artanh, x()),
            &[
                (0, 1),
                (1, 1),
                (0, 1),
                (1, 3),
                (0, 1),
                (1, 5),
                (0, 1),
                (1, 7),
            ],
        ),
        (
            power(one_plus(x()), 1, 2),
            &[(1, 1), (1, 2), (-1, 8), (1, 16), (-5, 128), (7, 256)],
        ),
        (
            power(one_plus(x()), -1, 1),
            &[(1, 1), (-1, 1), (1, 1), (-1, 1)],
        ),
        (
            power(sum(&[number(4, 1), x()]), -1, 2),
            &[(1, 2), (-1, 16), (3, 256), (-5, 2048)],
        ),
    ];
    check(table);
}

#[test]
fn airy_equation_about_zero() {
    // DLMF 9.4.1: y″ = x·y with y(0) = 1, y′(0) = 0 is 1 + x³/3! + 1·4·x⁶/6! + ….
    let found = solve(
        &[product(&[x(), y(0)])],
        &ratio(0, 1),
        &[ratio(1, 1), ratio(0, 1)],
        9,
    );
    let mut expected = vec![ratio(0, 1); 10];
    for (degree, value) in [
        (0, ratio(1, 1)),
        (3, ratio(1, 6)),
        (6, ratio(4, 720)),
        (9, ratio(28, 362_880)),
    ] {
        expected[degree] = value;
    }
    assert_eq!(found, Ok(expected));
}

#[test]
fn a_solver_starts_again_at_another_center() {
    let tape = Tape::compile(&[product(&[x(), power(y(0), 2, 1)])], 1).unwrap();
    let mut fresh = Solver::new(&tape, &ratio(1, 2), &[ratio(3, 1)], LIMITS).unwrap();
    let mut reused = Solver::new(&tape, &ratio(0, 1), &[ratio(1, 1)], LIMITS).unwrap();
    let mut fuel = Fuel::new(1_000_000);
    reused.extend(12, &mut fuel).unwrap();
    reused.restart(&ratio(1, 2), &[ratio(3, 1)]).unwrap();
    reused.extend(9, &mut fuel).unwrap();
    fresh.extend(9, &mut fuel).unwrap();
    assert_eq!(fresh.coefficients(), reused.coefficients());
    assert_eq!(fresh.coefficients()[1], ratio(9, 2), "y′ = x·y² = ½·9");
}
