//! Questions, polynomials, substitution.

use crate::expression::{Expr, Function, Symbol};
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

const Y2: Symbol = Symbol::Derivative {
    unknown: 0,
    order: 2,
};

#[test]
fn letters_and_orders() {
    let e = Expr::call(Function::Sin, x().mul(&y(2))).add(&Expr::derivative(1, 5));
    assert_eq!(e.highest_order(0), Some(2));
    assert_eq!(e.highest_order(1), Some(5));
    assert_eq!(e.highest_order(2), None);
    assert!(e.contains(&Symbol::Variable) && e.contains(&Y2) && !e.contains(&Symbol::Pi));
    assert!(!e.is_constant() && Expr::pi().add(&Expr::parameter("a")).is_constant());
    let five = Symbol::Derivative {
        unknown: 1,
        order: 5,
    };
    assert_eq!(e.symbols(), [Symbol::Variable, Y2, five]);
    assert_eq!(x().mul(&y(2)).size(), 3);
}

#[test]
fn numbers_in_front() {
    let split = |e: Expr| e.split_coefficient();
    assert_eq!(
        split(x().mul(&y(0)).scale(&ratio(3, 4))),
        (ratio(3, 4), x().mul(&y(0)))
    );
    assert_eq!(split(x().neg()), (ratio(-1, 1), x()));
    assert_eq!(split(n(5)), (ratio(5, 1), n(1)));
    assert_eq!(split(x()), (ratio(1, 1), x()));
}

#[test]
fn fractions_come_apart() {
    let e = x()
        .scale(&ratio(3, 4))
        .div(&y(0).square())
        .mul(&Expr::power(n(1).add(&x()), Expr::number(ratio(-1, 2))));
    assert_eq!(
        e.numerator_denominator(),
        (
            x().scale(&ratio(3, 1)),
            Expr::product(vec![n(4), y(0).square(), n(1).add(&x()).sqrt()])
        )
    );
    assert_eq!(n(3).numerator_denominator(), (n(3), n(1)));
}

#[test]
fn polynomials_in_a_letter() {
    let e = n(4)
        .add(&x().square())
        .mul(&y(2))
        .add(&y(0).scale(&ratio(3, 1)));
    assert_eq!(
        e.polynomial_coefficients(&Y2),
        Some(vec![y(0).scale(&ratio(3, 1)), x().square().add(&n(4))])
    );
    assert_eq!(e.degree_in(&Symbol::Variable), Some(2));
    assert_eq!(y(2).sqrt().degree_in(&Y2), None);
    assert_eq!(y(2).pow_int(-1).degree_in(&Y2), None);
    assert_eq!(Expr::call(Function::Exp, y(2)).degree_in(&Y2), None);
    assert_eq!(y(2).sub(&y(2)).degree_in(&Y2), Some(0));
    // (y″ + 1)² − y″² − 2y″ is the constant 1.
    let hidden = y(2)
        .add(&n(1))
        .square()
        .sub(&y(2).square())
        .sub(&y(2).scale(&ratio(2, 1)));
    assert_eq!(hidden.polynomial_coefficients(&Y2), Some(vec![n(1)]));
}

#[test]
fn substitution_gives_normal_form() {
    let e = x().square().sub(&y(0).mul(&y(1)));
    let value = e.substitute(&|symbol| match symbol {
        Symbol::Variable => Some(n(3)),
        Symbol::Derivative { order, .. } => Some(n(i64::from(*order) + 2)),
        Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
    });
    assert_eq!(value, n(3));
    let renamed = e.substitute(&|symbol| (*symbol == Symbol::Variable).then(|| y(0)));
    assert_eq!(renamed, y(0).square().sub(&y(0).mul(&y(1))));
}

#[test]
fn constants_stand_before_letters_and_negative_powers_last() {
    let e = Expr::product(vec![
        y(1),
        n(1).add(&x()).pow_int(-1),
        x(),
        Expr::e().square(),
        Expr::pi(),
        n(2).sqrt(),
        Expr::call(Function::Sin, x()),
        Expr::parameter("a"),
        y(0),
        n(3),
    ]);
    assert_eq!(
        format!("{e:?}"),
        "(3 2^1/2 pi a exp[2] x u0_0 u0_1 sin[x] (1 + x)^-1)"
    );
}
