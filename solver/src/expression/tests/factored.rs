//! Values with parameters: the form in which they are read, and zero tests.

use super::random::Random;
use crate::expression::{Expr, Function, Truth, evaluate, factored, zero_test};
use crate::number::rational::ratio;

fn n(value: i64) -> Expr {
    Expr::int(value)
}

fn l(name: &str) -> Expr {
    Expr::parameter(name)
}

fn shown(value: &Expr) -> String {
    format!("{:?}", factored(value, &|name| name == "a" || name == "b"))
}

#[test]
fn products_stay_products() {
    let (k, c, a, b, m) = (l("k"), l("c"), l("a"), l("b"), l("m"));
    let expanded = |factors: &[&Expr]| {
        let product = Expr::product(factors.iter().map(|f| (*f).clone()).collect());
        product.expand(500)
    };
    let (e, ln2) = (Expr::e(), Expr::call(Function::Ln, n(2)));
    let (below, above) = (m.sub(&n(1)), m.add(&n(2)));
    for (value, expected) in [
        // Legendre's equation.
        (
            expanded(&[&n(-1), &m, &m.add(&n(1)), &a]),
            "(-1 a m (m + 1))",
        ),
        (
            expanded(&[&m, &m.sub(&n(2)), &m.add(&n(1)), &m.add(&n(3)), &a]),
            "(a m (m + -2) (m + 1) (m + 3))",
        ),
        // Collected by initial value.
        (
            expanded(&[&c.square().sub(&k), &b]).add(&expanded(&[&a, &c, &k])),
            "((a c k) + (b (c^2 + (-1 k))))",
        ),
        (
            expanded(&[&below, &above]).scale(&ratio(1, 2)),
            "(1/2 (m + -1) (m + 2))",
        ),
        // One short bracket with a letter that is no initial value, or two terms.
        (expanded(&[&k, &a.sub(&m)]), "(k (a + (-1 m)))"),
        (a.mul(&k).sub(&c), "((a k) + (-1 c))"),
        (m.div(&c).sub(&a.mul(&k).div(&c)), "((m + (-1 a k)) c^-1)"),
        (k.neg().sub(&c).div(&m), "(-1 (c + k) m^-1)"),
        // Closed constants over one divisor.
        (
            n(1).div(&e.add(&n(2))).sub(&e.div(&e.add(&n(2)).square())),
            "(2 (exp[1] + 2)^-2)",
        ),
        (
            n(1).div(&ln2.square()).sub(&n(3).div(&ln2)),
            "((1 + (-3 ln[2])) ln[2]^-2)",
        ),
        // Not linear in the initial values: all terms together.
        (a.square().sub(&a.mul(&k)), "(a (a + (-1 k)))"),
        // A form of the second degree in two letters.
        (
            expanded(&[
                &c.sub(&k.scale(&ratio(2, 1))),
                &c.scale(&ratio(3, 1)).add(&k),
            ]),
            "((c + (-2 k)) ((3 c) + k))",
        ),
        // Letters apart.
        (
            expanded(&[&c.add(&n(2)), &k.square().add(&n(1))]),
            "((c + 2) (k^2 + 1))",
        ),
        // One fraction, cancelled.
        (
            n(1).div(&m.add(&n(1))).sub(&n(1).div(&m.sub(&n(1)))),
            "(-2 (m + -1)^-1 (m + 1)^-1)",
        ),
        (
            expanded(&[&below, &above]).div(&m.square().sub(&n(1))),
            "((m + 2) (m + 1)^-1)",
        ),
        (k.div(&c).add(&c.div(&k)), "((c^2 + k^2) c^-1 k^-1)"),
        (k.sqrt().add(&k), "(k + k^1/2)"),
        (l("lambda").mul(&Expr::pi()), "(pi lambda)"),
    ] {
        assert_eq!(shown(&value), expected, "{value:?}");
    }
}

#[test]
fn powers_with_letters_are_one_however_they_are_written() {
    let (k, n_) = (l("k"), l("n"));
    let exp = |u: &Expr| evaluate(&Expr::raw_call(Function::Exp, u.clone())).expect("a value");
    let ln = Expr::call(Function::Ln, k.clone());
    assert_eq!(exp(&n_.mul(&ln)), Expr::power(k.clone(), n_.clone()));
    assert_eq!(
        exp(&Expr::call(Function::Ln, n(3)).scale(&ratio(1, 2))),
        n(3).sqrt()
    );
    let both = exp(&n_.mul(&ln).add(&k));
    let expected = Expr::power(k.clone(), n_.clone()).mul(&Expr::call(Function::Exp, k.clone()));
    assert_eq!(both, expected);
    let lower = Expr::power(k.clone(), n_.sub(&n(1)));
    let quotient = Expr::power(k.clone(), n_.clone()).div(&k);
    assert_eq!(shown(&lower), shown(&quotient));
    assert_eq!(
        shown(&lower.add(&quotient.scale(&ratio(-1, 1)))),
        "0",
        "{lower:?}"
    );
}

#[test]
fn what_is_zero_for_all_letters_is_zero() {
    let (k, c) = (l("k"), l("c"));
    let sin = |u: &Expr| Expr::call(Function::Sin, u.clone());
    let cos = |u: &Expr| Expr::call(Function::Cos, u.clone());
    let one_over = |u: &Expr| n(1).div(u);
    for value in [
        k.div(&k.add(&n(1)))
            .add(&one_over(&k.add(&n(1))))
            .sub(&n(1)),
        one_over(&k.sub(&c)).add(&one_over(&c.sub(&k))),
        sin(&k).square().add(&cos(&k).square()).sub(&n(1)),
        k.add(&c)
            .square()
            .sub(&k.square())
            .sub(&c.square())
            .sub(&k.mul(&c).scale(&ratio(2, 1))),
        Expr::power(c.clone(), k.clone())
            .mul(&c)
            .sub(&Expr::power(c.clone(), k.add(&n(1)))),
    ] {
        assert_eq!(zero_test(&value), Truth::Zero, "{value:?}");
        let value = evaluate(&value).expect("a value");
        assert_eq!(factored(&value, &|_| false), n(0), "{value:?}");
    }
    for value in [
        k.clone(),
        k.sub(&c),
        k.square().sub(&k),
        sin(&k),
        k.sub(&n(1)).sqrt(),
    ] {
        assert_eq!(zero_test(&value), Truth::NotZero, "{value:?}");
    }
}

/// A random fraction in three letters: sums, products, quotients.
fn random(random_numbers: &mut Random, depth: u32) -> Expr {
    let letters = ["a", "k", "m"];
    if depth == 0 {
        return match random_numbers.below(4) {
            0 => Expr::number(random_numbers.fraction()),
            other => l(letters[other as usize - 1]),
        };
    }
    let (left, right) = (
        random(random_numbers, depth - 1),
        random(random_numbers, depth - 1),
    );
    match random_numbers.below(5) {
        0..=1 => left.add(&right),
        2..=3 => left.mul(&right),
        _ => left.div(&right),
    }
}

#[test]
fn the_value_stays_the_same() {
    let mut random_numbers = Random::new(20);
    let mut looked_at = 0;
    for _ in 0..400 {
        let Ok(value) = evaluate(&random(&mut random_numbers, 3)) else {
            continue;
        };
        let read = factored(&value, &|name| name == "a");
        assert_eq!(
            zero_test(&value.sub(&read)),
            Truth::Zero,
            "{value:?} is not {read:?}"
        );
        assert_eq!(
            factored(&read, &|name| name == "a"),
            read,
            "{read:?} once more"
        );
        let wrong = read.add(&Expr::number(ratio(1, 1_000_000)));
        assert_eq!(zero_test(&value.sub(&wrong)), Truth::NotZero);
        looked_at += u32::from(value.has_parameter());
    }
    assert!(looked_at > 250, "{looked_at}");
}
