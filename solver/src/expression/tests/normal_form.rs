//! What the constructors give, in examples.

use crate::expression::{Expr, Function};
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

fn q(numerator: i64, denominator: i64) -> Expr {
    Expr::number(ratio(numerator, denominator))
}

fn text(expression: &Expr) -> String {
    format!("{expression:?}")
}

#[test]
fn like_terms_and_factors_merge_in_reading_order() {
    let table = [
        (y(1).mul(&x()).mul(&n(3)).mul(&x()), "(3 x^2 u0_1)"),
        (x().mul(&n(2)).add(&y(0)).sub(&x()), "(x + u0_0)"),
        (y(0).square().add(&x().square()), "(x^2 + u0_0^2)"),
        (n(1).sub(&x().square()), "(1 + (-1 x^2))"),
        (x().add(&n(1)).neg().neg(), "(1 + x)"),
        (x().square().sub(&q(1, 4)), "(x^2 + -1/4)"),
        (x().add(&y(0)).add(&n(1)), "(x + u0_0 + 1)"),
        (n(1).sub(&x()).neg(), "(x + -1)"),
        (
            y(1).square().add(&y(0).mul(&y(2))),
            "((u0_0 u0_2) + u0_1^2)",
        ),
        (x().mul(&y(0)).sub(&y(0).mul(&x())), "0"),
        (Expr::sum(vec![]), "0"),
        (Expr::product(vec![]), "1"),
        (x().div(&x()), "1"),
        (x().add(&n(1)).mul(&n(2)), "(2 + (2 x))"),
        (
            y(2).mul(&x().add(&n(1))).mul(&Expr::pi()),
            "(pi (1 + x) u0_2)",
        ),
        (
            n(1).sub(&y(0).square()).mul(&y(1)),
            "((1 + (-1 u0_0^2)) u0_1)",
        ),
        (n(1).sub(&y(0)).mul(&y(0)), "(u0_0 (1 + (-1 u0_0)))"),
        (x().sqrt().mul(&x().sqrt()), "x"),
        (x().square().sqrt(), "x^2^1/2"),
        (x().mul(&n(4)).sqrt(), "(2 x^1/2)"),
    ];
    for (value, expected) in table {
        assert_eq!(text(&value), expected);
    }
}

#[test]
fn roots_of_numbers_are_reduced() {
    let table = [
        (n(12).sqrt(), "(2 3^1/2)"),
        (n(2).sqrt().pow_int(-1), "(1/2 2^1/2)"),
        (q(4, 9).sqrt(), "2/3"),
        (Expr::power(n(-8), q(1, 3)), "-2"),
        (Expr::power(n(-8), q(2, 3)), "4"),
        (Expr::power(n(16), q(1, 3)), "(2 2^1/3)"),
        (n(6).sqrt().mul(&n(3).sqrt()), "(3 2^1/2)"),
        (n(2).sqrt().mul(&n(3).sqrt()), "6^1/2"),
        (n(-4).sqrt(), "-4^1/2"),
        (n(-4).sqrt().mul(&n(-4).sqrt()), "(-4^1/2 -4^1/2)"),
        (Expr::zero().pow_int(-1).mul(&n(0)), "(0 0^-1)"),
        (n(1).div(&n(0)), "0^-1"),
        (n(2).pow_int(10), "1024"),
        (n(2).pow_int(1_000_000_000), "2^1000000000"),
        (x().pow_int(1_000_000_000), "x^1000000000"),
        (n(4_294_967_297).sqrt(), "4294967297^1/2"),
    ];
    for (value, expected) in table {
        assert_eq!(text(&value), expected);
    }
}

#[test]
fn functions_fold_where_every_reader_would() {
    let exp = |u: &Expr| Expr::call(Function::Exp, u.clone());
    let table = [
        (exp(&x()).mul(&exp(&x().neg())), "1"),
        (exp(&x()).mul(&exp(&y(0))), "exp[(x + u0_0)]"),
        (exp(&x()).square(), "exp[(2 x)]"),
        (Expr::call(Function::Sin, x().neg()), "(-1 sin[x])"),
        (Expr::call(Function::Cos, x().neg()), "cos[x]"),
        (Expr::call(Function::Ln, Expr::e()), "1"),
        (Expr::call(Function::Ln, q(1, 2)), "(-1 ln[2])"),
        (
            exp(&Expr::call(Function::Ln, n(3)).scale(&ratio(2, 1))),
            "9",
        ),
        // The domain of the logarithm must not get lost.
        (
            exp(&x().add(&Expr::call(Function::Ln, y(0)))),
            "exp[(x + ln[u0_0])]",
        ),
        (
            exp(&x().add(&Expr::call(Function::Ln, exp(&y(0)).add(&n(1))))),
            "((1 + exp[u0_0]) exp[x])",
        ),
        (
            Expr::call(Function::Sin, Expr::call(Function::Arcsin, x())),
            "sin[arcsin[x]]",
        ),
        (
            Expr::call(Function::Tan, Expr::call(Function::Arctan, x())),
            "x",
        ),
        (
            Expr::call(Function::Abs, x().scale(&ratio(-2, 1))),
            "(2 abs[x])",
        ),
        (Expr::power(n(2), x().add(&n(3))), "(8 2^x)"),
    ];
    for (value, expected) in table {
        assert_eq!(text(&value), expected);
    }
}

#[test]
fn multiplying_out() {
    let sum = x().add(&n(1));
    assert_eq!(
        text(&sum.pow_int(3).expand(10)),
        "(1 + (3 x) + (3 x^2) + x^3)"
    );
    assert_eq!(text(&sum.mul(&x().sub(&n(1))).expand(10)), "(x^2 + -1)");
    let big = sum.add(&y(0)).pow_int(40);
    assert_eq!(big.expand(100), big);
    let root = sum.sqrt();
    assert_eq!(text(&root.add(&n(1)).mul(&root.sub(&n(1))).expand(10)), "x");
}
