//! Closed constants as polynomials over the rational numbers in a few atoms (√2, sin 1, e, …), for
//! long calculations: adding and multiplying cost no more than the terms there are, and the form
//! for readers is made once, at the end.
//!
//! Exponents may be negative and fractional (they are counted in twelfths). Known relations are
//! used as they arise: roots of numbers, eᵃ·eᵇ = eᵃ⁺ᵇ, and cos² = 1 − sin² with its five relatives
//! (`pythagoras`). A sum under a root or in a denominator is an atom of its own, so two
//! forms that differ may still be equal.

use num_bigint::BigInt;
use num_traits::{One, Signed, ToPrimitive, Zero};

use super::constant::tidied;
use super::function::Function;
use super::pythagoras::PAIRS;
use super::radical::number_power;
use super::root_of::roots_in;
use super::tree::{Expr, Node};
use crate::number::Rational;
use crate::number::gcd::{gcd, lcm};
use crate::number::rational::integer;
use crate::ordered::Map;

/// More atoms than this are not followed.
const ATOMS: usize = 12;
/// One, as an exponent.
pub(super) const UNIT: i32 = 12;
/// Exponents beyond this are not followed; sums of two stay far inside 32 bits.
const LARGEST_EXPONENT: i32 = 1 << 24;

/// The exponents of the atoms, in twelfths.
pub(super) type Exponents = [i32; ATOMS];

#[derive(Clone, Debug)]
enum Relation {
    None,
    /// The atom is this number.
    Number(BigInt),
    /// atom² = a + b·kept².
    Square {
        kept: usize,
        a: i64,
        b: i64,
    },
    /// The atom to the power `limit` is this (its equation says so: `root_of`).
    Instead {
        limit: i32,
        instead: Polynomial,
    },
}

#[derive(Clone, Debug)]
struct Atom {
    base: Expr,
    relation: Relation,
}

/// The atoms met so far, and how much work may still be done.
#[derive(Clone, Debug)]
pub struct Atoms {
    known: Vec<Atom>,
    /// Products of two terms that may still be formed.
    work: u64,
    /// Longest polynomial, in terms.
    longest: usize,
}

/// A polynomial in the atoms of one [`Atoms`]: integers over a common denominator, no common factor.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Polynomial {
    pub(super) terms: Vec<(Exponents, BigInt)>,
    pub(super) denominator: BigInt,
    overgrown: bool,
}

impl Polynomial {
    /// Terms with whole numbers, no two alike.
    pub(super) fn whole(terms: Vec<(Exponents, BigInt)>) -> Self {
        Self {
            terms,
            denominator: BigInt::one(),
            overgrown: false,
        }
    }

    /// A fraction.
    pub fn number(value: &Rational) -> Self {
        let terms = if value.is_zero() {
            Vec::new()
        } else {
            vec![([0; ATOMS], value.numer().clone())]
        };
        Self {
            terms,
            denominator: value.denom().clone(),
            overgrown: false,
        }
    }

    /// What stands for a result that would be too long.
    fn overgrown() -> Self {
        Self {
            terms: Vec::new(),
            denominator: BigInt::one(),
            overgrown: true,
        }
    }

    /// Was it, or something that it is made of, too long to be worked out?
    pub fn is_overgrown(&self) -> bool {
        self.overgrown
    }

    /// Surely zero.
    pub fn is_zero(&self) -> bool {
        self.terms.is_empty() && !self.overgrown
    }

    /// Bits of all numbers in it.
    pub fn bits(&self) -> u64 {
        let numerators: u64 = self.terms.iter().map(|(_, n)| n.bits()).sum();
        numerators + self.denominator.bits()
    }

    /// `self · numerator/denominator`, denominator > 0.
    #[must_use]
    pub fn scale(&self, numerator: &BigInt, denominator: &BigInt) -> Self {
        if self.overgrown || numerator.is_zero() {
            return if self.overgrown {
                Self::overgrown()
            } else {
                Self::number(&Rational::zero())
            };
        }
        let terms = self.terms.iter().map(|(e, n)| (*e, n * numerator));
        lowest_terms(terms.collect(), &self.denominator * denominator)
    }

    /// `self + other`.
    #[must_use]
    pub fn add(&self, other: &Self) -> Self {
        if self.overgrown || other.overgrown {
            return Self::overgrown();
        }
        let denominator = lcm(&self.denominator, &other.denominator);
        let mut sum = Map::new();
        for part in [self, other] {
            let factor = &denominator / &part.denominator;
            for (exponents, numerator) in &part.terms {
                *sum.value_or(*exponents, BigInt::zero) += numerator * &factor;
            }
        }
        lowest_terms(sum.into_entries(), denominator)
    }
}

/// Without zeros and common factors.
fn lowest_terms(mut terms: Vec<(Exponents, BigInt)>, mut denominator: BigInt) -> Polynomial {
    terms.retain(|(_, numerator)| !numerator.is_zero());
    let mut common = denominator.clone();
    for (_, numerator) in &terms {
        if common.is_one() {
            break;
        }
        common = gcd(&common, numerator);
    }
    if !common.is_one() {
        for (_, numerator) in &mut terms {
            *numerator /= &common;
        }
        denominator /= &common;
    }
    Polynomial {
        terms,
        denominator,
        overgrown: false,
    }
}

impl Atoms {
    /// No atoms yet; so many products of two terms may be formed, and so many terms may stand in
    /// one polynomial.
    pub fn new(work: u64, longest: usize) -> Self {
        Self {
            known: Vec::new(),
            work,
            longest,
        }
    }

    /// What an atom stands for.
    pub(super) fn base(&self, place: usize) -> Option<&Expr> {
        self.known.get(place).map(|atom| &atom.base)
    }

    /// How many atoms there are.
    pub(super) fn count(&self) -> usize {
        self.known.len()
    }

    /// The polynomial of a value that [`super::evaluate`] gave; `None` with too many atoms.
    pub fn polynomial(&mut self, value: &Expr) -> Option<Polynomial> {
        let mut terms = Vec::new();
        for term in value.terms() {
            let (coefficient, rest) = term.split_coefficient();
            let mut exponents = [0; ATOMS];
            for factor in rest.factors() {
                self.factor(&factor, &mut exponents)?;
            }
            terms.push((exponents, coefficient));
        }
        let denominator = terms
            .iter()
            .fold(BigInt::one(), |common, (_, c)| lcm(&common, c.denom()));
        let mut sum = Map::new();
        for (exponents, c) in terms {
            *sum.value_or(exponents, BigInt::zero) += c.numer() * (&denominator / c.denom());
        }
        let (terms, times) = self.reduced(sum);
        Some(lowest_terms(terms, denominator * times))
    }

    /// Adds the exponents of one factor.
    fn factor(&mut self, factor: &Expr, exponents: &mut Exponents) -> Option<()> {
        match factor.node() {
            Node::Number(value) if value.is_one() => Some(()),
            Node::Call(Function::Exp, argument) => {
                for term in argument.terms() {
                    let (coefficient, core) = term.split_coefficient();
                    let base = Expr::call(Function::Exp, core);
                    self.power(&base, &coefficient, exponents)?;
                }
                Some(())
            }
            Node::Power(base, exponent) => match (base.as_number(), exponent.as_number()) {
                (Some(base), Some(exponent)) if base.is_integer() && base.is_positive() => {
                    for (prime, times) in super::radical::factor(base.numer()) {
                        let base = Expr::number(Rational::from_integer(prime));
                        self.power(&base, &(exponent * integer(times)), exponents)?;
                    }
                    Some(())
                }
                (_, Some(exponent)) => self.power(base, exponent, exponents),
                // uᵛ⁺¹ = uᵛ u, so that powers with letters in them are not taken for unrelated.
                (_, None) => {
                    for term in exponent.terms() {
                        let (times, core) = term.split_coefficient();
                        if core.is_one() {
                            self.power(base, &times, exponents)?;
                        } else if times.is_integer() {
                            let base = Expr::power(base.clone(), core);
                            self.power(&base, &times, exponents)?;
                        } else {
                            let base = Expr::power(base.clone(), term);
                            self.power(&base, &Rational::one(), exponents)?;
                        }
                    }
                    Some(())
                }
            },
            _ => self.power(factor, &Rational::one(), exponents),
        }
    }

    fn power(&mut self, base: &Expr, exponent: &Rational, exponents: &mut Exponents) -> Option<()> {
        let twelfths = exponent * integer(i64::from(UNIT));
        let (base, twelfths) = if twelfths.is_integer() {
            (base.clone(), twelfths.to_i32()?)
        } else {
            let whole = Expr::power(base.clone(), Expr::number(exponent.clone()));
            (whole, UNIT)
        };
        let place = exponents.get_mut(self.place(&base)?)?;
        *place = place.checked_add(twelfths)?;
        (place.abs() <= LARGEST_EXPONENT).then_some(())
    }

    /// Where the exponent of an atom stands.
    fn place(&mut self, base: &Expr) -> Option<usize> {
        if let Some(place) = self.known.iter().position(|atom| atom.base == *base) {
            return Some(place);
        }
        if self.known.len() == ATOMS {
            return None;
        }
        let place = self.known.len();
        let relation = match base.as_number() {
            Some(value) if value.is_integer() => Relation::Number(value.numer().clone()),
            _ => Relation::None,
        };
        self.known.push(Atom {
            base: base.clone(),
            relation,
        });
        self.relate(base);
        if base.has_root() {
            self.relate_to_equation(place, base)?;
        }
        Some(place)
    }

    /// Notes what the equation of a number in `base` says about a power of it.
    fn relate_to_equation(&mut self, place: usize, base: &Expr) -> Option<()> {
        let rules = roots_in(base).into_iter();
        for (from, to) in rules.flat_map(|root| root.replaced_here()) {
            let (core, power) = super::order::base_and_exponent(&from);
            if core != base {
                continue;
            }
            let power = power.map_or(Some(1), |power| power.as_number()?.to_i32())?;
            let instead = self.polynomial(&to)?;
            if let Some(atom) = self.known.get_mut(place) {
                let limit = power.checked_mul(UNIT)?;
                atom.relation = Relation::Instead { limit, instead };
            }
        }
        Some(())
    }

    /// Notes that sine and cosine (and their like) of one argument are both there.
    fn relate(&mut self, base: &Expr) {
        let Node::Call(_, argument) = base.node() else {
            return;
        };
        for (replaced, kept, a, b) in PAIRS {
            let find = |known: &[Atom], function| {
                let call = Expr::raw_call(function, argument.clone());
                known.iter().position(|atom| atom.base == call)
            };
            if let (Some(place), Some(kept)) =
                (find(&self.known, replaced), find(&self.known, kept))
                && let Some(atom) = self.known.get_mut(place)
            {
                atom.relation = Relation::Square { kept, a, b };
            }
        }
    }

    /// `start + Σ left·right`.
    pub fn sum_of_products<'a>(
        &mut self,
        start: &Polynomial,
        pairs: impl Iterator<Item = (&'a Polynomial, &'a Polynomial)>,
    ) -> Polynomial {
        let pairs: Vec<_> = pairs.collect();
        let products: u64 = pairs
            .iter()
            .map(|(a, b)| 1 + (a.terms.len() as u64).saturating_mul(b.terms.len() as u64))
            .sum();
        let any_overgrown =
            start.overgrown || pairs.iter().any(|(a, b)| a.overgrown || b.overgrown);
        let Some(left) = self.work.checked_sub(products).filter(|_| !any_overgrown) else {
            return Polynomial::overgrown();
        };
        self.work = left;
        let mut denominator = start.denominator.clone();
        for (a, b) in &pairs {
            denominator = lcm(&denominator, &(&a.denominator * &b.denominator));
        }
        let mut sum: Map<Exponents, BigInt> = Map::new();
        let factor = &denominator / &start.denominator;
        for (exponents, numerator) in &start.terms {
            sum.insert(*exponents, numerator * &factor);
        }
        for (a, b) in pairs {
            let factor = &denominator / (&a.denominator * &b.denominator);
            for (left, m) in &a.terms {
                let m = m * &factor;
                for (right, n) in &b.terms {
                    let mut exponents = *left;
                    for (e, more) in exponents.iter_mut().zip(right) {
                        *e += more;
                    }
                    *sum.value_or(exponents, BigInt::zero) += &m * n;
                }
            }
        }
        let too_high = |exponents: &Exponents| exponents.iter().any(|e| e.abs() > LARGEST_EXPONENT);
        let (terms, times) = self.reduced(sum);
        denominator *= times;
        if terms.len() > self.longest || terms.iter().any(|(e, _)| too_high(e)) {
            return Polynomial::overgrown();
        }
        lowest_terms(terms, denominator)
    }

    /// Uses the relations until none applies; the terms are then to be divided by the number, too.
    fn reduced(&self, mut sum: Map<Exponents, BigInt>) -> (Vec<(Exponents, BigInt)>, BigInt) {
        let mut divisor = BigInt::one();
        for (place, atom) in self.known.iter().enumerate() {
            let limit = match atom.relation {
                Relation::None => continue,
                Relation::Number(_) => UNIT,
                Relation::Square { .. } => 2 * UNIT,
                Relation::Instead { limit, .. } => limit,
            };
            let exponent = |exponents: &Exponents| exponents.get(place).copied().unwrap_or(0);
            // Each round lowers the highest exponent.
            while sum
                .iter()
                .any(|(exponents, _)| exponent(exponents) >= limit)
            {
                let factor = match &atom.relation {
                    Relation::Instead { instead, .. } => instead.denominator.clone(),
                    _ => BigInt::one(),
                };
                let mut next: Map<Exponents, BigInt> = Map::new();
                for (mut exponents, numerator) in sum.into_entries() {
                    if exponent(&exponents) < limit {
                        *next.value_or(exponents, BigInt::zero) += numerator * &factor;
                        continue;
                    }
                    if let Some(e) = exponents.get_mut(place) {
                        *e -= limit;
                    }
                    match &atom.relation {
                        Relation::None => {}
                        Relation::Number(value) => {
                            *next.value_or(exponents, BigInt::zero) += numerator * value;
                        }
                        Relation::Square { kept, a, b } => {
                            *next.value_or(exponents, BigInt::zero) += &numerator * a;
                            if let Some(e) = exponents.get_mut(*kept) {
                                *e += 2 * UNIT;
                            }
                            *next.value_or(exponents, BigInt::zero) += numerator * b;
                        }
                        Relation::Instead { instead, .. } => {
                            for (more, number) in &instead.terms {
                                let mut exponents = exponents;
                                for (e, more) in exponents.iter_mut().zip(more) {
                                    *e += more;
                                }
                                *next.value_or(exponents, BigInt::zero) += &numerator * number;
                            }
                        }
                    }
                }
                sum = next;
                divisor *= factor;
            }
        }
        (sum.into_entries(), divisor)
    }

    /// The constant in normal form; `None` when it was not worked out.
    pub fn expression(&self, polynomial: &Polynomial) -> Option<Expr> {
        if polynomial.overgrown {
            return None;
        }
        let mut multiply_out = false;
        let mut terms = Vec::with_capacity(polynomial.terms.len());
        for (exponents, numerator) in &polynomial.terms {
            let coefficient = Rational::new(numerator.clone(), polynomial.denominator.clone());
            let mut factors = vec![Expr::number(coefficient)];
            for (atom, twelfths) in self.known.iter().zip(exponents) {
                if *twelfths == 0 {
                    continue;
                }
                let exponent = Rational::new((*twelfths).into(), UNIT.into());
                multiply_out |= *twelfths >= UNIT && matches!(atom.base.node(), Node::Sum(_));
                factors.push(match atom.base.as_number() {
                    Some(number) => number_power(number, &exponent),
                    None => Expr::power(atom.base.clone(), Expr::number(exponent)),
                });
            }
            terms.push(Expr::product(factors));
        }
        let sum = Expr::sum(terms);
        Some(if multiply_out { tidied(&sum) } else { sum })
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Truth, evaluate, zero_test};
    use super::*;
    use crate::number::rational::ratio;

    fn call(function: Function, argument: i64) -> Expr {
        Expr::call(function, Expr::int(argument))
    }

    /// Sums of products, found here and by the constructors.
    #[test]
    fn products_are_those_of_the_normal_form() {
        let nested = Expr::one().add(&call(Function::Sin, 1)).sqrt();
        let values = [
            call(Function::Sin, 1).add(&Expr::int(2)),
            call(Function::Cos, 1).sub(&Expr::number(ratio(1, 3))),
            Expr::int(6).sqrt().add(&Expr::int(3).sqrt()),
            Expr::int(2).sqrt().mul(&Expr::e()),
            Expr::call(Function::Exp, Expr::number(ratio(-1, 2))),
            call(Function::Sinh, 2).add(&call(Function::Cosh, 2)),
            Expr::pi().scale(&ratio(1, 6)),
            nested.clone(),
            nested.pow_int(-1),
        ];
        let mut atoms = Atoms::new(10_000, 100);
        let zero = Polynomial::number(&Rational::zero());
        for a in &values {
            for b in &values {
                let product = evaluate(&Expr::raw_product(vec![a.clone(), b.clone()]));
                let (Some(p), Some(q)) = (atoms.polynomial(a), atoms.polynomial(b)) else {
                    panic!("{a:?} or {b:?} has too many atoms");
                };
                let found = atoms.sum_of_products(&zero, [(&p, &q)].into_iter());
                let found = atoms.expression(&found).expect("short enough");
                let difference = product.expect("a value").sub(&found);
                assert_eq!(zero_test(&difference), Truth::Zero, "{a:?} · {b:?}");
            }
        }
    }

    #[test]
    fn relations_are_used() {
        let mut atoms = Atoms::new(1000, 100);
        let (sin, cos) = (call(Function::Sin, 1), call(Function::Cos, 1));
        let polynomials: Vec<Polynomial> = [&sin, &cos, &Expr::int(8).sqrt(), &Expr::e()]
            .into_iter()
            .filter_map(|value| atoms.polynomial(value))
            .collect();
        let [sin, cos, root, e] = polynomials.as_slice() else {
            panic!("four polynomials");
        };
        let minus_one = Polynomial::number(&-Rational::one());
        let identity = atoms.sum_of_products(&minus_one, [(sin, sin), (cos, cos)].into_iter());
        assert!(identity.is_zero());
        let eight = atoms.sum_of_products(
            &Polynomial::number(&Rational::zero()),
            [(root, root)].into_iter(),
        );
        assert_eq!(eight, Polynomial::number(&integer(8)));
        let inverse = Expr::call(Function::Exp, Expr::int(-1));
        let inverse = atoms.polynomial(&inverse).expect("one atom");
        assert!(
            atoms
                .sum_of_products(&minus_one, [(e, &inverse)].into_iter())
                .is_zero()
        );
    }

    #[test]
    fn what_grows_too_long_says_so() {
        let sum = call(Function::Sin, 1).add(&Expr::pi()).add(&Expr::e());
        let one = Polynomial::number(&Rational::one());
        for (work, longest) in [(5, 100), (1000, 5)] {
            let mut atoms = Atoms::new(work, longest);
            let value = atoms.polynomial(&sum).expect("three atoms");
            let square = atoms.sum_of_products(&one, [(&value, &value)].into_iter());
            assert!(square.is_overgrown() && !square.is_zero());
            assert_eq!(atoms.expression(&square.add(&one)), None);
        }
    }
}
