//! Properties of random expressions.

use super::random::Random;
use crate::expression::{
    Domain, Enclosure, Expr, Function, Node, Symbol, Truth, Undefined, enclose, evaluate, zero_test,
};
use crate::number::Rational;
use crate::number::rational::ratio;

const CASES: u64 = 300;

/// Values of the letters: the variable, y, y′, y″.
fn at(point: &[Rational]) -> impl Fn(&Symbol) -> Option<Expr> + '_ {
    |symbol| match symbol {
        Symbol::Variable => point.first().cloned().map(Expr::number),
        Symbol::Derivative { order, .. } => {
            point.get(*order as usize + 1).cloned().map(Expr::number)
        }
        Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
    }
}

fn point(random: &mut Random) -> Vec<Rational> {
    (0..4).map(|_| random.fraction()).collect()
}

/// The letters replaced, nothing simplified.
fn raw_at(e: &Expr, point: &[Rational]) -> Expr {
    match e.node() {
        Node::Number(_) => e.clone(),
        Node::Symbol(symbol) => at(point)(symbol).unwrap_or_else(|| e.clone()),
        Node::Call(f, u) => Expr::raw_call(*f, raw_at(u, point)),
        Node::Power(b, x) => Expr::raw_power(raw_at(b, point), raw_at(x, point)),
        Node::Product(v) => Expr::raw_product(v.iter().map(|e| raw_at(e, point)).collect()),
        Node::Sum(v) => Expr::raw_sum(v.iter().map(|e| raw_at(e, point)).collect()),
    }
}

#[test]
fn the_normal_form_is_stable() {
    let mut random = Random::new(1);
    for _ in 0..CASES {
        let e = random.expression(4);
        assert_eq!(e.normal(), e);
    }
}

#[test]
fn sums_and_products_do_not_depend_on_order_or_grouping() {
    let mut random = Random::new(2);
    for _ in 0..CASES {
        let parts: Vec<Expr> = (0..4).map(|_| random.expression(2)).collect();
        let mixed = random.shuffled(&parts);
        let (left, right) = mixed.split_at(2);
        let sum = Expr::sum(parts.clone());
        assert_eq!(sum, Expr::sum(mixed.clone()));
        assert_eq!(
            sum,
            Expr::sum(left.to_vec()).add(&Expr::sum(right.to_vec()))
        );
        let product = Expr::product(parts.clone());
        assert_eq!(product, Expr::product(mixed.clone()), "{parts:?}");
    }
}

#[test]
fn equal_polynomials_multiplied_out_are_equal_values() {
    let mut random = Random::new(3);
    for _ in 0..CASES {
        let (a, b, c) = (
            random.polynomial(2),
            random.polynomial(2),
            random.polynomial(1),
        );
        let left = a.add(&b).mul(&c).expand(5000);
        let right = a.mul(&c).expand(5000).add(&b.mul(&c).expand(5000));
        assert_eq!(left, right);
        assert!(left.sub(&right).is_zero());
    }
}

#[test]
fn multiplying_out_keeps_the_value() {
    let mut random = Random::new(4);
    for _ in 0..CASES {
        let e = random.polynomial(3);
        let place = point(&mut random);
        let before = evaluate(&e.substitute(&at(&place))).expect("a polynomial has a value");
        let after = evaluate(&e.expand(3000).substitute(&at(&place))).expect("a value");
        assert_eq!(before, after, "{e:?}");
    }
}

/// The value in normal form lies in the enclosure of the raw tree, at both precisions.
#[test]
fn simplifying_keeps_the_value_and_enclosures_contain_it() {
    let mut random = Random::new(5);
    let (mut compared, mut vacuous) = (0, 0);
    for _ in 0..4 * CASES {
        let e = random.expression(3);
        let place = point(&mut random);
        let raw = raw_at(&e, &place);
        let outcome = || -> Result<(Enclosure, Enclosure, Enclosure), Undefined> {
            let value = evaluate(&e.substitute(&at(&place)))?;
            Ok((
                enclose(&raw, 60)?,
                enclose(&raw, 120)?,
                enclose(&value, 120)?,
            ))
        };
        match outcome() {
            Ok((coarse, fine, simplified)) => {
                assert!(coarse.overlaps(&fine), "{raw:?}");
                assert!(
                    fine.overlaps(&simplified),
                    "{raw:?}: {fine:?} {simplified:?}"
                );
                let (Some((low, high)), Some((fine_low, fine_high))) =
                    (coarse.to_rationals(), fine.to_rationals())
                else {
                    panic!("ends are finite");
                };
                assert!(low <= fine_low && fine_high <= high, "{raw:?}");
                compared += 1;
            }
            Err(_) => vacuous += 1,
        }
    }
    assert!(
        compared > vacuous / 2,
        "{compared} compared, {vacuous} without a value"
    );
}

/// (f(u + h) − f(u − h)) / 2h lies within h² of f′(u), times a bound of f‴/6 near u.
#[test]
fn derivatives_agree_with_difference_quotients() {
    let h = ratio(1, 1 << 20);
    for function in Function::ALL {
        if function == Function::Sign {
            continue;
        }
        for place in [ratio(1, 3), ratio(-2, 5), ratio(7, 3), ratio(-9, 4)] {
            let inside = match function.domain() {
                Domain::Positive => place > ratio(0, 1),
                Domain::UnitInterval | Domain::InsideUnitInterval => {
                    place < ratio(1, 1) && place > ratio(-1, 1)
                }
                Domain::FromOne => place > ratio(1, 1),
                Domain::Everywhere
                | Domain::CosineNotZero
                | Domain::SineNotZero
                | Domain::NotZero
                | Domain::Kink => true,
            };
            if !inside {
                continue;
            }
            let f = |v: Rational| Expr::raw_call(function, Expr::number(v));
            let quotient = f(&place + &h)
                .sub(&f(&place - &h))
                .scale(&(ratio(1, 2) / &h));
            let derivative = function.derivative(&Expr::number(place.clone()));
            let difference = enclose(&quotient.sub(&derivative), 200).expect("inside the domain");
            let (low, high) = difference.to_rationals().expect("finite");
            let bound = ratio(200, 1) * &h * &h;
            assert!(
                low > -bound.clone() && high < bound,
                "{function:?} at {place}: {low} {high}"
            );
        }
    }
}

#[test]
fn a_number_minus_itself_in_another_form_is_zero() {
    let mut random = Random::new(6);
    let (mut zero, mut other) = (0, 0);
    for _ in 0..CASES {
        let (a, b) = (random.expression(2), random.expression(2));
        let place = point(&mut random);
        let difference = Expr::raw_sum(vec![
            a.add(&b).square(),
            a.square().neg(),
            a.mul(&b).scale(&ratio(-2, 1)),
            b.square().neg(),
        ]);
        match zero_test(&difference.substitute(&at(&place))) {
            Truth::Zero => zero += 1,
            Truth::NotZero => panic!("{a:?} {b:?} at {place:?}"),
            Truth::Undecided => other += 1,
        }
    }
    assert!(zero > other, "{zero} zero, {other} undecided or undefined");
}

#[test]
fn huge_exponents_and_deep_trees_are_harmless() {
    let x = Expr::variable();
    let tower = x.pow_int(i64::MAX).pow_int(i64::MAX);
    assert_eq!(tower.mul(&tower.pow_int(-1)), Expr::one());
    assert_eq!(Expr::int(3).pow_int(1_000_000_000).expand(10).size(), 3);
    let big = Expr::int(3).pow_int(1_000_000_000).add(&Expr::one());
    assert_eq!(zero_test(&big.sub(&big)), Truth::Zero);
    let mut deep = x;
    for _ in 0..500 {
        deep = Expr::call(Function::Sin, deep.add(&Expr::one()));
    }
    assert_eq!(deep.depth(), 1001);
    assert_eq!(deep.normal(), deep);
    // Each rewriting of sinh doubles the tree: the zero test has to give up in time.
    let mut tower = Expr::one();
    for _ in 0..60 {
        tower = Expr::call(Function::Sinh, tower.scale(&ratio(1, 2)));
    }
    assert_eq!(
        zero_test(&tower.sub(&Expr::raw_call(Function::Arctan, tower.clone()))),
        Truth::NotZero
    );
    assert_eq!(
        zero_test(
            &Expr::raw_call(Function::Cosh, tower.clone()).sub(&Expr::raw_call(
                Function::Sec,
                Expr::raw_call(Function::Arccos, tower)
            ))
        ),
        Truth::NotZero
    );
}
