//! Numbers that are known as the one zero of an equation between two fractions, under a letter of
//! their own: r, the root of r³ + r² = 1 near 0.7549.
//!
//! Where the equation is an irreducible polynomial over the rational numbers, values with the letter
//! are polynomials of lower degree in it, and that form is canonical: powers from the polynomial's
//! degree on are reduced by it, and 1/p(r) is the polynomial q(r) with p q ≡ 1 (the extended
//! Euclidean algorithm; von zur Gathen & Gerhard, *Modern Computer Algebra*, 4.2 and 5.10; locators
//! from memory). Otherwise the first power of one function, or one power, is what the equation says
//! it is (e^r = 2 − r), and whatever differs from zero is shown to by enclosures alone.

use std::cmp::Ordering;
use std::hash::{Hash, Hasher};
use std::sync::Arc;

use num_traits::{One, Signed, ToPrimitive, Zero};

use super::enclosure::{enclose_between, sign_by_enclosure};
use super::function::Function;
use super::pythagoras::PAIRS;
use super::tree::{Expr, Node, Symbol};
use crate::number::rational::{integer, ratio};
use crate::number::{Polynomial, Rational};

/// Precision at which a slope is shown not to be zero, in bits.
const BITS: usize = 64;
/// Precision up to which a sign is looked for, in bits.
const SIGN_BITS: usize = 1024;
/// Halvings of an interval until the slope has one sign in it, and until it is this narrow.
const HALVINGS: usize = 200;
const NARROW: i64 = 100_000;

/// A number with a letter.
#[derive(Clone, Debug)]
pub struct RootOf {
    letter: Arc<str>,
    /// Zero at the number; [`Symbol::Variable`] stands for it.
    equation: Expr,
    /// The equation's derivative: not zero between `low` and `high`.
    slope: Expr,
    low: Rational,
    high: Rational,
    relation: Relation,
}

/// What the equation says about powers and functions of the number.
#[derive(Clone, Debug)]
pub(super) enum Relation {
    /// It is zero of this irreducible polynomial, and of none of lower degree.
    Minimal(Polynomial),
    /// The `power`-th power of `base` is `instead`; [`Symbol::Variable`] stands for the number.
    Power {
        base: Expr,
        power: i64,
        instead: Expr,
    },
}

impl RootOf {
    /// The number as an expression, proved to be the only zero of `equation` (where the variable stands
    /// for it) between `low` and `high`: the signs at the ends differ and the slope has one sign.
    /// `minimal`: the equation is this polynomial, irreducible over the rational numbers. `None`: it
    /// could not be proved, or no power or function in the equation stands alone.
    pub fn between(
        letter: &str,
        equation: &Expr,
        (mut low, mut high): (Rational, Rational),
        minimal: Option<&Polynomial>,
    ) -> Option<Expr> {
        let slope = equation.partial(&Symbol::Variable);
        let sign_at = |place: &Rational| sign_at(equation, minimal, place);
        let below = sign_at(&low)?;
        if below == Ordering::Equal || sign_at(&high)? != below.reverse() {
            return None;
        }
        let narrow = ratio(1, NARROW);
        for _ in 0..HALVINGS {
            let simple = enclose_between(&slope, (&low, &high), BITS)
                .is_some_and(|(a, b)| a.is_positive() || b.is_negative());
            if simple && &high - &low <= narrow {
                let relation = match minimal {
                    Some(minimal) => Relation::Minimal(minimal.clone()),
                    None => relation(equation, low.is_positive() || high.is_negative())?,
                };
                return Some(Expr::raw(Node::Symbol(Symbol::Root(Arc::new(Self {
                    letter: Arc::from(letter),
                    equation: equation.clone(),
                    slope,
                    low,
                    high,
                    relation,
                })))));
            }
            let middle = (&low + &high) * ratio(1, 2);
            match sign_at(&middle)? {
                // A fraction satisfies it: no letter is needed.
                Ordering::Equal => return None,
                own if own == below => low = middle,
                _ => high = middle,
            }
        }
        None
    }

    /// Its letter.
    pub fn letter(&self) -> &str {
        &self.letter
    }

    /// What is zero at it; the variable stands for the number.
    pub fn equation(&self) -> &Expr {
        &self.equation
    }

    /// The equation's derivative.
    pub(super) fn slope(&self) -> &Expr {
        &self.slope
    }

    /// It lies between these, and no other zero does.
    pub fn between_ends(&self) -> (&Rational, &Rational) {
        (&self.low, &self.high)
    }

    /// The irreducible polynomial of which it is a zero, where that is known.
    pub fn minimal(&self) -> Option<&Polynomial> {
        match &self.relation {
            Relation::Minimal(minimal) => Some(minimal),
            Relation::Power { .. } => None,
        }
    }

    /// What is put in for what: r³ and 1 − r²; the variable stands for the number.
    pub fn replaced(&self) -> (Expr, Expr) {
        match &self.relation {
            Relation::Minimal(minimal) => {
                let degree = minimal.degree();
                let leading = minimal.coefficient(degree);
                let factor = -leading.recip();
                let lower = minimal.coefficients().iter().take(degree);
                let lower: Vec<Rational> = lower.map(|c| c * &factor).collect();
                let power = i64::try_from(degree).unwrap_or(i64::MAX);
                (
                    Expr::variable().pow_int(power),
                    in_powers(&lower, &Expr::variable()),
                )
            }
            Relation::Power {
                base,
                power,
                instead,
            } => (base.pow_int(*power), instead.clone()),
        }
    }
}

impl RootOf {
    /// [`Self::replaced`] with the number itself for the variable; of cos r = r also sin² r = 1 − r²
    /// (and likewise with its relatives).
    pub(super) fn replaced_here(self: &Arc<Self>) -> Vec<(Expr, Expr)> {
        let number = Expr::raw(Node::Symbol(Symbol::Root(self.clone())));
        let here =
            |e: &Expr| e.substitute(&|own| (*own == Symbol::Variable).then(|| number.clone()));
        let (from, to) = self.replaced();
        let (from, to) = (here(&from), here(&to));
        let mut all = Vec::new();
        if let Node::Call(function, argument) = from.node() {
            for (replaced, kept, a, b) in PAIRS {
                let square = |f| Expr::raw_call(f, argument.clone()).square();
                let (a, b) = (integer(a), integer(b));
                if *function == replaced {
                    // b kept² = replaced² − a, and b is 1 or −1
                    let rest = to.square().sub(&Expr::number(a)).scale(&b);
                    all.push((square(kept), rest.expand(MAX_TERMS)));
                } else if *function == kept {
                    let rest = to.square().scale(&b).add(&Expr::number(a));
                    all.push((square(replaced), rest.expand(MAX_TERMS)));
                }
            }
        }
        all.insert(0, (from, to));
        all
    }
}

fn sign_at(equation: &Expr, minimal: Option<&Polynomial>, place: &Rational) -> Option<Ordering> {
    if let Some(minimal) = minimal {
        return Some(minimal.at(place).cmp(&Rational::zero()));
    }
    let number = Expr::number(place.clone());
    let value = equation.substitute(&|own| (*own == Symbol::Variable).then(|| number.clone()));
    if value.is_zero() {
        return Some(Ordering::Equal);
    }
    sign_by_enclosure(&value, SIGN_BITS)
}

/// A term c·f or c·fⁿ of the equation, whose f stands nowhere else in a higher power. Powers of the
/// letter beside f are divided by where it is surely not zero (`apart`).
fn relation(equation: &Expr, apart: bool) -> Option<Relation> {
    let letter = Symbol::Variable;
    if let Some(coefficients) = equation.polynomial_coefficients(&letter) {
        let (leading, lower) = coefficients.split_last()?;
        let power = i64::try_from(lower.len()).ok()?;
        let terms = lower.iter().zip(0..).map(|(c, k)| {
            let power = Expr::variable().pow_int(k);
            Expr::product(vec![c.neg(), leading.pow_int(-1), power])
        });
        let instead = super::constant::evaluate_around(&Expr::sum(terms.collect()))?;
        return Some(Relation::Power {
            base: Expr::variable(),
            power,
            instead,
        });
    }
    let terms = equation.terms();
    terms.iter().enumerate().find_map(|(place, term)| {
        let moving = |e: &Expr| e.contains(&letter);
        let (own, others): (Vec<Expr>, Vec<Expr>) = term.factors().into_iter().partition(moving);
        let (bases, powers): (Vec<Expr>, Vec<Expr>) = own
            .into_iter()
            .partition(|factor| matches!(factor.node(), Node::Call(..)));
        let ([base], true) = (bases.as_slice(), powers.is_empty() || apart) else {
            return None;
        };
        let plain = |power: &Expr| super::order::base_and_exponent(power).0 == &Expr::variable();
        if !powers.iter().all(plain) {
            return None;
        }
        let others = Expr::product(others);
        let rest = terms
            .iter()
            .enumerate()
            .filter(|(other, _)| *other != place);
        let rest = Expr::sum(rest.map(|(_, term)| term.clone()).collect());
        let free = !inside(&rest, base) && sign_by_enclosure(&others, SIGN_BITS).is_some();
        free.then(|| Relation::Power {
            base: base.clone(),
            power: 1,
            instead: rest
                .neg()
                .div(&others)
                .div(&Expr::product(powers))
                .expand(MAX_TERMS),
        })
    })
}

/// Terms to which a relation is multiplied out.
const MAX_TERMS: usize = 100;

fn inside(expression: &Expr, part: &Expr) -> bool {
    expression == part
        || expression
            .children()
            .into_iter()
            .any(|own| inside(own, part))
}

/// Σ cₖ uᵏ.
fn in_powers(coefficients: &[Rational], of: &Expr) -> Expr {
    let terms = coefficients.iter().zip(0..);
    Expr::sum(terms.map(|(c, k)| of.pow_int(k).scale(c)).collect())
}

/// The numbers of this kind that occur, each once.
pub(super) fn roots_in(value: &Expr) -> Vec<Arc<RootOf>> {
    if !value.has_root() {
        return Vec::new();
    }
    let symbols = value.symbols().into_iter();
    symbols
        .filter_map(|symbol| match symbol {
            Symbol::Root(root) => Some(root),
            _ => None,
        })
        .collect()
}

/// A constant that is multiplied out, with what the equations of its letters say put in.
pub(super) fn reduced(value: &Expr, max_terms: usize) -> Expr {
    let mut value = value.clone();
    for root in roots_in(&value) {
        value = if let Relation::Minimal(minimal) = &root.relation {
            let number = Expr::raw(Node::Symbol(Symbol::Root(root.clone())));
            by_polynomial(&value, &number, minimal)
        } else {
            let start = value.clone();
            let all = root.replaced_here().into_iter();
            all.fold(start, |value, (from, to)| {
                let (base, power) = super::order::base_and_exponent(&from);
                let power = power.and_then(Expr::as_number);
                let power = power.and_then(Rational::to_i64).unwrap_or(1);
                by_power(value, (base, power), &to, max_terms)
            })
        };
    }
    value
}

/// Powers from the polynomial's degree on become lower ones.
fn by_polynomial(value: &Expr, number: &Expr, minimal: &Polynomial) -> Expr {
    let terms = value.terms();
    let split: Vec<(i64, Expr)> = terms.iter().map(|term| power_in(term, number)).collect();
    let degree = i64::try_from(minimal.degree()).unwrap_or(i64::MAX);
    if split.iter().all(|(power, _)| *power < degree) {
        return value.clone();
    }
    let letter = Polynomial::letter();
    let mut sum = Vec::with_capacity(terms.len());
    for ((power, others), term) in split.iter().zip(&terms) {
        if *power < degree {
            sum.push(term.clone());
            continue;
        }
        let mut rest = Polynomial::constant(Rational::one());
        for _ in 0..*power {
            rest = match rest.times(&letter).divided(minimal) {
                Some((_, rest)) => rest,
                None => return value.clone(),
            };
        }
        for (c, k) in rest.coefficients().iter().zip(0..) {
            sum.push(others.mul(&number.pow_int(k)).scale(c));
        }
    }
    Expr::sum(sum)
}

/// Whole positive power of `base` in a term, and what else is in it.
fn power_in(term: &Expr, base: &Expr) -> (i64, Expr) {
    let mut power = 0;
    let mut others = Vec::new();
    for factor in term.factors() {
        let (own, exponent) = super::order::base_and_exponent(&factor);
        let whole = match exponent {
            None => Some(1),
            Some(exponent) => exponent
                .as_number()
                .filter(|e| e.is_integer() && e.is_positive())
                .and_then(|e| e.numer().to_i64()),
        };
        match (whole.filter(|_| own == base), exponential(&factor, base)) {
            (Some(more), _) => power += more,
            (None, Some((more, rest))) => {
                power += more;
                others.push(rest);
            }
            (None, None) => others.push(factor),
        }
    }
    (power, Expr::product(others))
}

/// e^(n u + v) as the n-th power of e^u and e^v, for a whole positive n.
fn exponential(factor: &Expr, base: &Expr) -> Option<(i64, Expr)> {
    let (Node::Call(Function::Exp, whole), Node::Call(Function::Exp, u)) =
        (factor.node(), base.node())
    else {
        return None;
    };
    let terms = whole.terms();
    let (place, times) = terms.iter().enumerate().find_map(|(place, term)| {
        let (times, core) = term.split_coefficient();
        let fits = core == *u && times.is_integer() && times.is_positive();
        Some((place, times.numer().to_i64().filter(|_| fits)?))
    })?;
    let rest = terms
        .iter()
        .enumerate()
        .filter(|(other, _)| *other != place);
    let rest = Expr::sum(rest.map(|(_, term)| term.clone()).collect());
    Some((times, Expr::call(Function::Exp, rest)))
}

/// So many times at most is a relation put in.
const ROUNDS: usize = 64;

fn by_power(value: Expr, (base, power): (&Expr, i64), instead: &Expr, max_terms: usize) -> Expr {
    let mut value = value;
    for _ in 0..ROUNDS {
        let mut changed = false;
        let mut sum = Vec::new();
        for term in value.terms() {
            let (own, others) = power_in(&term, base);
            let times = own / power;
            changed |= times > 0;
            sum.push(if times > 0 {
                let rest = base.pow_int(own % power);
                Expr::product(vec![others, instead.pow_int(times), rest])
            } else {
                term
            });
        }
        if !changed {
            break;
        }
        value = Expr::sum(sum).expand(max_terms);
    }
    value
}

/// 1/base as a polynomial in the one number that is in it.
pub(super) fn inverse(base: &Expr) -> Option<Expr> {
    let [root] = roots_in(base).try_into().ok()?;
    let root: Arc<RootOf> = root;
    let minimal = root.minimal()?;
    let symbol = Symbol::Root(root.clone());
    let coefficients = base.polynomial_coefficients(&symbol)?;
    let numbers: Option<Vec<Rational>> = coefficients
        .iter()
        .map(|c| c.as_number().cloned())
        .collect();
    let inverse = Polynomial::new(numbers?).inverse(minimal)?;
    let number = Expr::raw(Node::Symbol(symbol));
    Some(in_powers(inverse.coefficients(), &number))
}

impl RootOf {
    fn key(&self) -> (&str, &Expr, &Rational, &Rational) {
        (&self.letter, &self.equation, &self.low, &self.high)
    }
}

impl PartialEq for RootOf {
    fn eq(&self, other: &Self) -> bool {
        self.key() == other.key()
    }
}

impl Eq for RootOf {}

impl PartialOrd for RootOf {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for RootOf {
    fn cmp(&self, other: &Self) -> Ordering {
        self.key().cmp(&other.key())
    }
}

impl Hash for RootOf {
    fn hash<H: Hasher>(&self, state: &mut H) {
        self.key().hash(state);
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Truth, decimal, evaluate, zero_test};
    use super::*;

    fn polynomial(numbers: &[i64]) -> (Expr, Polynomial) {
        let polynomial = Polynomial::new(numbers.iter().map(|n| integer(*n)).collect());
        (
            in_powers(polynomial.coefficients(), &Expr::variable()),
            polynomial,
        )
    }

    /// 2 cos 80°, of u³ − 3u + 1.
    fn third_of_an_angle() -> Expr {
        let (equation, minimal) = polynomial(&[1, -3, 0, 1]);
        let ends = (ratio(1, 4), ratio(1, 2));
        RootOf::between("r", &equation, ends, Some(&minimal)).expect("one zero")
    }

    #[test]
    fn it_is_enclosed_to_any_precision() {
        let angle = Expr::pi().scale(&ratio(4, 9));
        let other = Expr::call(Function::Cos, angle).scale(&integer(2));
        for digits in [6, 50, 300] {
            let (own, other) = (
                decimal(&third_of_an_angle(), digits),
                decimal(&other, digits),
            );
            assert_eq!(own.ok(), other.ok());
        }
    }

    #[test]
    fn values_have_one_form() {
        let r = third_of_an_angle();
        let value = |e: &Expr| evaluate(e).expect("a value");
        // r⁴ = 3r² − r
        let fourth = r.square().scale(&integer(3)).sub(&r);
        assert_eq!(value(&r.pow_int(4)), value(&fourth));
        // 1/r = 3 − r²
        assert_eq!(value(&r.pow_int(-1)), value(&Expr::int(3).sub(&r.square())));
        // The other two zeros are r² − 2 and 2 − r − r² (doubled angles).
        let second = r.square().sub(&Expr::int(2));
        let zero = second
            .pow_int(3)
            .sub(&second.scale(&integer(3)))
            .add(&Expr::one());
        assert_eq!(zero_test(&zero), Truth::Zero);
        assert_eq!(zero_test(&zero.add(&r.pow_int(40))), Truth::NotZero);
    }

    #[test]
    fn functions_of_it_are_what_its_equation_says() {
        // cos r = r
        let cosine = Expr::call(Function::Cos, Expr::variable());
        let equation = Expr::variable().sub(&cosine);
        let ends = (ratio(1, 2), ratio(1, 1));
        let r = RootOf::between("r", &equation, ends, None).expect("one zero");
        let call = |function| Expr::call(function, r.clone());
        let same = |a: &Expr, b: &Expr| evaluate(&a.sub(b)).is_ok_and(|rest| rest.is_zero());
        assert!(same(&call(Function::Cos).pow_int(3), &r.pow_int(3)));
        assert!(same(
            &call(Function::Sin).square(),
            &Expr::one().sub(&r.square())
        ));
        assert!(!same(&call(Function::Sin), &r));
    }

    #[test]
    fn what_is_not_proved_is_refused() {
        let between = |numbers: &[i64], low, high| {
            let (equation, minimal) = polynomial(numbers);
            RootOf::between(
                "r",
                &equation,
                (integer(low), integer(high)),
                Some(&minimal),
            )
        };
        // Two zeros, none, and a fraction.
        assert_eq!(between(&[1, -3, 0, 1], 0, 2), None);
        assert_eq!(between(&[1, -3, 0, 1], 2, 3), None);
        assert_eq!(between(&[-1, 2], 0, 1), None);
    }
}
