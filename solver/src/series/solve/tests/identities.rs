//! Series that must be equal, for functions with random arguments and against the functions' own
//! differential equations.

use super::*;
use crate::budget::Budget;
use crate::expression::atoms::Polynomial;
use crate::expression::{Truth, zero_test};
use crate::series::closed::ClosedContext;

/// Degree to which identities are checked.
const DEGREE: usize = 10;

/// A small generator of test data (Steele, Lea & Flood's `SplitMix64`), fixed seed.
struct Random(u64);

impl Random {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        (z ^ (z >> 31)) % limit
    }

    fn fraction(&mut self) -> Rational {
        let part = |n: u64| i64::try_from(n).unwrap();
        ratio(part(self.below(11)) - 5, part(self.below(4)) + 1)
    }

    /// A polynomial in x of degree at most 3 that is zero at 0.
    fn argument(&mut self) -> Expr {
        let terms = [1, 2, 3].map(|n| product(&[Expr::number(self.fraction()), power(x(), n, 1)]));
        sum(&terms)
    }
}

fn minus(a: &Expr, b: &Expr) -> Expr {
    sum(&[a.clone(), product(&[number(-1, 1), b.clone()])])
}

fn plus_one(a: &Expr) -> Expr {
    sum(&[number(1, 1), a.clone()])
}

fn square(a: &Expr) -> Expr {
    power(a.clone(), 2, 1)
}

/// Pairs of expressions in the arguments `a` and `b` that are equal.
fn identities(a: &Expr, b: &Expr, random: &mut Random) -> Vec<(&'static str, Expr, Expr)> {
    use Function::{
        Abs, Arcsin, Arctan, Arsinh, Artanh, Cos, Cosh, Exp, Ln, Sec, Sech, Sin, Sinh, Tan, Tanh,
    };
    let f = |function: Function| call(function, a.clone());
    let of = |outer: Function, inner: Function| call(outer, call(inner, a.clone()));
    let one = number(1, 1);
    let exponents = [(1, 2), (2, 3), (-3, 2), (5, 1), (-2, 1), (-1, 3)];
    let (p, q) = exponents[usize::try_from(random.below(6)).unwrap()];
    let (inverse_p, inverse_q) = if p < 0 { (-q, -p) } else { (q, p) };
    vec![
        (
            "exp(a + b) = exp a · exp b",
            call(Exp, sum(&[a.clone(), b.clone()])),
            product(&[f(Exp), call(Exp, b.clone())]),
        ),
        (
            "sin² + cos² = 1",
            sum(&[square(&f(Sin)), square(&f(Cos))]),
            one.clone(),
        ),
        (
            "cosh² − sinh² = 1",
            minus(&square(&f(Cosh)), &square(&f(Sinh))),
            one.clone(),
        ),
        ("tan · cos = sin", product(&[f(Tan), f(Cos)]), f(Sin)),
        ("tanh · cosh = sinh", product(&[f(Tanh), f(Cosh)]), f(Sinh)),
        ("sec · cos = 1", product(&[f(Sec), f(Cos)]), one.clone()),
        ("sech · cosh = 1", product(&[f(Sech), f(Cosh)]), one),
        (
            "(a/(1 + b))·(1 + b) = a",
            product(&[
                sum(&[product(&[a.clone(), power(plus_one(b), -1, 1)])]),
                plus_one(b),
            ]),
            a.clone(),
        ),
        (
            "((1 + a)^r)^(1/r) = 1 + a",
            power(power(plus_one(a), p, q), inverse_p, inverse_q),
            plus_one(a),
        ),
        ("ln(exp a) = a", of(Ln, Exp), a.clone()),
        (
            "exp(ln(1 + a)) = 1 + a",
            call(Exp, call(Ln, plus_one(a))),
            plus_one(a),
        ),
        ("arcsin(sin a) = a", of(Arcsin, Sin), a.clone()),
        ("arctan(tan a) = a", of(Arctan, Tan), a.clone()),
        ("arsinh(sinh a) = a", of(Arsinh, Sinh), a.clone()),
        ("artanh(tanh a) = a", of(Artanh, Tanh), a.clone()),
        (
            "|a − 1| = 1 − a",
            call(Abs, minus(a, &number(1, 1))),
            minus(&number(1, 1), a),
        ),
        (
            "(1 + a)^(1 + b) = exp((1 + b)·ln(1 + a))",
            Expr::raw(Node::Power(plus_one(a), plus_one(b))),
            call(Exp, product(&[plus_one(b), call(Ln, plus_one(a))])),
        ),
    ]
}

#[test]
fn identities_hold_for_random_arguments() {
    let mut random = Random(1_725);
    for _ in 0..20 {
        let (a, b) = (random.argument(), random.argument());
        for (name, left, right) in identities(&a, &b, &mut random) {
            let left = series(&left, &ratio(0, 1), DEGREE);
            assert!(left.is_ok(), "{name}: {left:?} for a = {a:?}, b = {b:?}");
            assert_eq!(
                left,
                series(&right, &ratio(0, 1), DEGREE),
                "{name}: a = {a:?}, b = {b:?}"
            );
        }
    }
}

#[test]
fn a_function_and_its_own_differential_equation_have_the_same_series() {
    use Function::{Arcsin, Arctan, Arsinh, Artanh, Cos, Exp, Ln, Sec, Sech, Sin, Sinh, Tan, Tanh};
    let of = |function| call(function, x());
    let cube = || power(y(0), 3, 1);
    let x2 = || power(x(), 2, 1);
    let negative = |e: Expr| product(&[number(-1, 1), e]);
    let twice = |e: Expr| product(&[number(2, 1), e]);
    let one = || number(1, 1);
    let table: Vec<(Expr, Vec<Expr>, &[i64])> = vec![
        (of(Exp), vec![y(0)], &[1]),
        (of(Tan), vec![one(), square(&y(0))], &[0]),
        (of(Tanh), vec![one(), negative(square(&y(0)))], &[0]),
        (of(Sin), vec![negative(y(0))], &[0, 1]),
        (of(Cos), vec![negative(y(0))], &[1, 0]),
        (of(Sinh), vec![y(0)], &[0, 1]),
        (of(Sec), vec![twice(cube()), negative(y(0))], &[1, 0]),
        (of(Sech), vec![y(0), negative(twice(cube()))], &[1, 0]),
        (
            call(Ln, plus_one(&x())),
            vec![power(plus_one(&x()), -1, 1)],
            &[0],
        ),
        (of(Arctan), vec![power(plus_one(&x2()), -1, 1)], &[0]),
        (of(Artanh), vec![power(minus(&one(), &x2()), -1, 1)], &[0]),
        (of(Arcsin), vec![power(minus(&one(), &x2()), -1, 2)], &[0]),
        (of(Arsinh), vec![power(plus_one(&x2()), -1, 2)], &[0]),
        (
            power(plus_one(&x()), 1, 2),
            vec![power(twice(y(0)), -1, 1)],
            &[1],
        ),
    ];
    for (function, right_side, initial) in table {
        let initial: Vec<Rational> = initial.iter().map(|&value| integer(value)).collect();
        let solved = solve(&right_side, &ratio(0, 1), &initial, 15);
        assert_eq!(series(&function, &ratio(0, 1), 15), solved, "{function:?}");
    }
}

#[test]
fn functions_with_irrational_values_keep_their_identities() {
    use Function::{Arccos, Arccot, Arcsin, Arctan, Cos, Cot, Coth, Csc, Csch, Sin, Sinh, Tanh};
    let f = |function| call(function, x());
    let inverse = |e: Expr| power(e, -1, 1);
    // (name, center, left, right)
    let table = [
        (
            "cot · sin = cos",
            ratio(1, 1),
            product(&[f(Cot), f(Sin)]),
            f(Cos),
        ),
        ("csc = 1/sin", ratio(1, 1), f(Csc), inverse(f(Sin))),
        (
            "coth · tanh = 1",
            ratio(1, 1),
            product(&[f(Coth), f(Tanh)]),
            number(1, 1),
        ),
        (
            "csch · sinh = 1",
            ratio(1, 1),
            product(&[f(Csch), f(Sinh)]),
            number(1, 1),
        ),
        (
            "arcsin + arccos = π/2",
            ratio(1, 2),
            sum(&[f(Arcsin), f(Arccos)]),
            product(&[number(1, 2), Expr::pi()]),
        ),
        (
            "arctan + arccot = π/2",
            ratio(1, 1),
            sum(&[f(Arctan), f(Arccot)]),
            product(&[number(1, 2), Expr::pi()]),
        ),
    ];
    for (name, center, left, right) in table {
        let difference = minus(&left, &right);
        let tape = Tape::compile(&[difference], 1).unwrap();
        let found = in_closed_form(&tape, &Expr::number(center), &[Expr::zero()], 4);
        for (k, coefficient) in found.iter().enumerate() {
            assert_eq!(
                zero_test(coefficient),
                Truth::Zero,
                "{name}, {k}: {coefficient:?}"
            );
        }
    }
}

/// The first coefficients in closed form.
fn in_closed_form(tape: &Tape, center: &Expr, initial: &[Expr], degree: usize) -> Vec<Expr> {
    let context = ClosedContext::new(&Budget::PAGE);
    let value = |constant: &Expr| Polynomial::from_constant(constant, &context).unwrap();
    let initial: Vec<Polynomial> = initial.iter().map(value).collect();
    let mut solver = Solver::new(tape, &value(center), &initial, context.clone()).unwrap();
    solver.extend(degree, &mut Fuel::new(1_000_000)).unwrap();
    let found = solver.coefficients().iter().take(degree + 1);
    found.map(|c| context.expression(c).unwrap()).collect()
}

#[test]
fn arcosh_has_the_series_of_its_derivative() {
    // At 5/4, where √(x² − 1) = 3/4: y = ∫ arcosh x and y″ = (x² − 1)^(−1/2).
    let center = number(5, 4);
    let value = Expr::call(Function::Arcosh, center.clone());
    let solved = |right_side: Expr, initial: &[Expr]| {
        let order = u32::try_from(initial.len()).unwrap();
        let tape = Tape::compile(&[right_side], order).unwrap();
        in_closed_form(&tape, &center, initial, 8)
    };
    let root = power(minus(&power(x(), 2, 1), &number(1, 1)), -1, 2);
    let found = solved(call(Function::Arcosh, x()), &[Expr::zero()]);
    assert_eq!(found, solved(root, &[Expr::zero(), value]));
    assert_eq!(found[2], number(2, 3), "half of 1/√(25/16 − 1)");
}
