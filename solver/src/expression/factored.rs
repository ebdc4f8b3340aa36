//! The form in which values with parameters are read: one fraction, common factors cancelled,
//! products kept as products: −n (n + 1), and a value that is linear in the initial values collected
//! by them: −k a − (c² − k) b, but −k (a − m) where that is all.
//!
//! Only factors that can be found quickly are: numbers and powers of letters, sums that stand in a
//! denominator, linear factors of polynomials in one letter (rational root theorem) and of forms in
//! two letters of the same degree throughout, and factors in separate letters. So a sum that is left
//! may still have factors; but the numerator is a polynomial that is multiplied out and collected, so
//! that a value that is zero whatever the letters are is the number 0.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, Zero};

use super::atoms::{Atoms, Exponents, Polynomial, UNIT};
use super::tree::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::ordered::Map;

/// Products of terms that may be formed for one value, and its longest polynomial.
const WORK: u64 = 200_000;
const LONGEST: usize = 400;
/// Roots p/q are looked for with numerators and denominators up to these.
const LARGEST_NUMERATOR: i32 = 64;
const LARGEST_DENOMINATOR: i32 = 12;

/// Terms with integers in front, no two alike; sorted by exponents.
type Terms = Vec<(Exponents, BigInt)>;

/// The value of a constant in the form in which it is read, if parameters or divisors stand in it; `initial` tells the
/// letters that stand for initial values. What holds no parameter, or grows too long on the way, is
/// returned as it is.
#[must_use]
pub fn factored(value: &Expr, initial: &dyn Fn(&str) -> bool) -> Expr {
    let matters = value.has_parameter() || has_divisor(value);
    if !matters || matches!(value.node(), Node::Symbol(_)) {
        return value.clone();
    }
    let mut work = Work {
        atoms: Atoms::new(WORK, LONGEST),
        parameters: value.has_parameter(),
    };
    work.fraction(value)
        .and_then(|fraction| work.written(fraction, initial))
        .unwrap_or_else(|| value.clone())
}

/// Is a sum divided by something else than a number, in a term of it?
fn has_divisor(value: &Expr) -> bool {
    let divides = |factor: &Expr| match factor.node() {
        Node::Power(base, exponent) => {
            base.as_number().is_none() && exponent.as_number().is_some_and(Signed::is_negative)
        }
        _ => false,
    };
    matches!(value.node(), Node::Sum(terms) if terms.iter().any(|term| term.factors().iter().any(divides)))
}

/// Numerator and divisors (sums with their powers), over a number and with letters left over.
struct Fraction {
    numerator: Terms,
    denominator: BigInt,
    divisors: Vec<(Terms, u32)>,
}

struct Work {
    atoms: Atoms,
    /// Are there letters?
    parameters: bool,
}

impl Work {
    fn fraction(&mut self, value: &Expr) -> Option<Fraction> {
        let value = super::constant::tidied(value);
        let polynomial = self.atoms.polynomial(&value)?;
        if polynomial.is_overgrown() {
            return None;
        }
        let mut fraction = Fraction {
            numerator: polynomial.terms,
            denominator: polynomial.denominator,
            divisors: Vec::new(),
        };
        // Sums to whole powers are multiplied out, or become divisors.
        let mut place = 0;
        while let Some(base) = self.atoms.base(place).cloned() {
            place += 1;
            if !matches!(base.node(), Node::Sum(_)) {
                continue;
            }
            self.without_sum(&mut fraction, place - 1, &base)?;
        }
        Some(fraction)
    }

    /// Takes the atom at `place`, which stands for the sum `base`, out of the numerator.
    fn without_sum(&mut self, fraction: &mut Fraction, place: usize, base: &Expr) -> Option<()> {
        let exponent = |e: &Exponents| e.get(place).copied().unwrap_or(0);
        let lowest = fraction.numerator.iter().map(|(e, _)| exponent(e)).min();
        let Some(lowest) = lowest else {
            return Some(());
        };
        let whole = |e: i32| e % UNIT == 0;
        if fraction.numerator.iter().all(|(e, _)| exponent(e) == 0)
            || !fraction.numerator.iter().all(|(e, _)| whole(exponent(e)))
        {
            return Some(());
        }
        let sum = self.atoms.polynomial(base)?;
        let power = u32::try_from(-lowest.min(0) / UNIT).ok()?;
        // By Horner's rule: what stands with each power of the sum.
        let mut rows: Vec<Terms> = Vec::new();
        for (mut exponents, number) in std::mem::take(&mut fraction.numerator) {
            let times = exponent(&exponents) / UNIT + i32::try_from(power).ok()?;
            let times = usize::try_from(times).ok().filter(|n| *n <= LONGEST)?;
            set(&mut exponents, place, 0);
            rows.resize(rows.len().max(times + 1), Terms::new());
            rows.get_mut(times)?.push((exponents, number));
        }
        let mut total = Polynomial::number(&Rational::zero());
        for row in rows.into_iter().rev() {
            if !total.is_zero() {
                total = self.product(&total, &sum)?;
            }
            total = total.add(&Polynomial::whole(row));
        }
        fraction.numerator = total.terms;
        fraction.denominator *= total.denominator;
        if power > 0 {
            // 1/(p/q) = q/p
            let raised = num_traits::pow(sum.denominator.clone(), usize::try_from(power).ok()?);
            for (_, number) in &mut fraction.numerator {
                *number *= &raised;
            }
            fraction.divisors.push((sum.terms, power));
        }
        Some(())
    }

    fn product(&mut self, a: &Polynomial, b: &Polynomial) -> Option<Polynomial> {
        let zero = Polynomial::number(&Rational::zero());
        let product = self.atoms.sum_of_products(&zero, [(a, b)].into_iter());
        (!product.is_overgrown()).then_some(product)
    }

    fn expression(&self, terms: &[(Exponents, BigInt)]) -> Option<Expr> {
        self.atoms.expression(&Polynomial::whole(terms.to_vec()))
    }

    fn written(&self, fraction: Fraction, initial: &dyn Fn(&str) -> bool) -> Option<Expr> {
        let Fraction {
            mut numerator,
            denominator,
            divisors,
        } = fraction;
        if numerator.is_empty() {
            return Some(Expr::zero());
        }
        // No letter in a denominator of the numerator.
        let mut below: Exponents = [0; _];
        for (exponents, _) in &numerator {
            for (lowest, own) in below.iter_mut().zip(exponents) {
                *lowest = (*lowest).min(*own);
            }
        }
        for (exponents, _) in &mut numerator {
            for (own, less) in exponents.iter_mut().zip(&below) {
                *own -= less;
            }
        }
        let mut factors = vec![
            Expr::number(Rational::new(BigInt::one(), denominator)),
            self.expression(&[(below, BigInt::one())])?,
        ];
        // What an initial value divides is not linear in it.
        let mut divides = below;
        for (exponents, _) in divisors.iter().flat_map(|(divisor, _)| divisor) {
            for (own, other) in divides.iter_mut().zip(exponents) {
                *own |= other;
            }
        }
        for (divisor, power) in divisors {
            let (number, letters, parts) = self.split(divisor);
            let power = i64::from(power);
            factors.push(Expr::number(number.into()).pow_int(-power));
            factors.push(
                self.expression(&[(letters, BigInt::one())])?
                    .pow_int(-power),
            );
            for part in parts {
                let mut left = power;
                while left > 0
                    && let Some(quotient) = divided(&numerator, &part)
                {
                    numerator = quotient;
                    left -= 1;
                }
                factors.push(self.expression(&part)?.pow_int(-left));
            }
        }
        let groups = self.by_initial_value(&numerator, &divides, initial);
        let mut terms = Vec::with_capacity(groups.len());
        for group in groups {
            let (number, letters, parts) = self.split(group);
            let mut product = factors.clone();
            product.push(Expr::number(number.into()));
            product.push(self.expression(&[(letters, BigInt::one())])?);
            for part in parts {
                product.push(self.expression(&part)?);
            }
            terms.push(Expr::product(product));
        }
        Some(Expr::sum(terms))
    }

    /// The terms with each initial value, where all are of the first degree in them and none is
    /// among the atoms of a denominator; otherwise all terms together, as also where one factor
    /// taken out of all of them leaves a short bracket.
    fn by_initial_value(
        &self,
        terms: &Terms,
        divides: &Exponents,
        initial: &dyn Fn(&str) -> bool,
    ) -> Vec<Terms> {
        let is_initial = |place: usize| match self.atoms.base(place).map(Expr::node) {
            Some(Node::Symbol(Symbol::Parameter(name))) => initial(name),
            _ => false,
        };
        let places: Vec<usize> = (0..self.atoms.count()).filter(|p| is_initial(*p)).collect();
        if places.iter().any(|place| at(divides, *place) != 0) {
            return vec![terms.clone()];
        }
        let mut groups: Vec<(Option<usize>, Terms)> = Vec::new();
        for (exponents, number) in terms {
            let mut own = None;
            for place in &places {
                match exponents.get(*place) {
                    None | Some(0) => {}
                    Some(&UNIT) if own.is_none() => own = Some(*place),
                    Some(_) => return vec![terms.clone()],
                }
            }
            let term = (*exponents, number.clone());
            match groups.iter_mut().find(|(place, _)| *place == own) {
                Some((_, group)) => group.push(term),
                None => groups.push((own, vec![term])),
            }
        }
        // k a − k m, where m is no initial value: k (a − m) says more; so does (m − k a)/c.
        if groups.iter().any(|(place, _)| place.is_none())
            && groups.iter().all(|(_, group)| group.len() == 1)
        {
            return vec![terms.clone()];
        }
        groups.into_iter().map(|(_, group)| group).collect()
    }

    /// A number, powers of atoms, and sums without either: the factors that are found.
    fn split(&self, mut terms: Terms) -> (BigInt, Exponents, Vec<Terms>) {
        let mut number = terms.iter().fold(BigInt::zero(), |gcd, (_, n)| gcd.gcd(n));
        let mut letters: Exponents = terms.first().map_or([0; _], |(e, _)| *e);
        for (exponents, _) in &terms {
            for (lowest, own) in letters.iter_mut().zip(exponents) {
                *lowest = (*lowest).min(*own);
            }
        }
        // Roots are not taken out: k h + √h, not √h (k √h + 1).
        for lowest in letters.iter_mut().filter(|lowest| **lowest > 0) {
            *lowest -= *lowest % UNIT;
        }
        // The term that comes first in reading is positive.
        let single = terms.len() == 1;
        if single {
            letters = terms.first().map_or(letters, |(e, _)| *e);
        }
        if terms.last().is_some_and(|(_, n)| n.is_negative()) {
            number = -number;
        }
        for (exponents, own) in &mut terms {
            *own = &*own / &number;
            for (exponent, lowest) in exponents.iter_mut().zip(&letters) {
                *exponent -= lowest;
            }
        }
        let mut parts = if single {
            Vec::new()
        } else {
            self.parts(terms)
        };
        // a (K − a) rather than −a (a − K); and (1 − 3 ln 2)/2.
        let no_number = |part: &&mut Terms| {
            let has = |(e, _): &(Exponents, BigInt)| e.iter().any(|e| *e != 0);
            let negative = |(_, n): &(Exponents, BigInt)| n.is_negative();
            let plain = !self.parameters || (part.len() == 2 && part.iter().all(has));
            plain && part.iter().any(negative)
        };
        if number.is_negative()
            && let Some(part) = parts.iter_mut().find(no_number)
        {
            number = -number;
            for (_, own) in part {
                *own = -&*own;
            }
        }
        (number, letters, parts)
    }

    /// Factors of a sum that has no number and no letter as a factor.
    fn parts(&self, terms: Terms) -> Vec<Terms> {
        let used: Vec<usize> = (0..self.atoms.count())
            .filter(|place| terms.iter().any(|(e, _)| at(e, *place) != 0))
            .collect();
        for place in &used {
            if let Some((own, others)) = separated(&terms, *place) {
                let mut parts = self.parts(own);
                parts.extend(self.parts(others));
                return parts;
            }
        }
        match used.as_slice() {
            [place] => linear_factors(terms, *place, None),
            [place, other] => {
                let degree = |e: &Exponents| at(e, *place) + at(e, *other);
                let first = terms.first().map_or(0, |(e, _)| degree(e));
                if terms.iter().all(|(e, _)| degree(e) == first) {
                    linear_factors(terms, *place, Some(*other))
                } else {
                    vec![terms]
                }
            }
            _ => vec![terms],
        }
    }
}

fn at(exponents: &Exponents, place: usize) -> i32 {
    exponents.get(place).copied().unwrap_or(0)
}

fn set(exponents: &mut Exponents, place: usize, to: i32) {
    if let Some(own) = exponents.get_mut(place) {
        *own = to;
    }
}

/// `terms / divisor`, if that leaves no remainder. Both sorted by exponents.
fn divided(terms: &Terms, divisor: &Terms) -> Option<Terms> {
    let ((lead, lead_number), lower) = divisor.split_last()?;
    let mut rest: Map<Exponents, BigInt> = Map::new();
    for (exponents, number) in terms {
        rest.insert(*exponents, number.clone());
    }
    let mut quotient = Vec::new();
    while let Some((mut step, number)) = rest.pop_last() {
        if number.is_zero() {
            continue;
        }
        for (own, less) in step.iter_mut().zip(lead) {
            *own -= less;
        }
        let (times, left) = number.div_rem(lead_number);
        if !left.is_zero() || step.iter().any(|e| *e < 0) {
            return None;
        }
        for (exponents, number) in lower {
            let mut product = *exponents;
            for (own, more) in product.iter_mut().zip(&step) {
                *own += more;
            }
            *rest.value_or(product, BigInt::zero) -= &times * number;
        }
        quotient.push((step, times));
    }
    quotient.reverse();
    Some(quotient)
}

/// A factor in the atom at `place` alone and one without it, if the terms are such a product with
/// two sums.
fn separated(terms: &Terms, place: usize) -> Option<(Terms, Terms)> {
    let mut rows: Vec<(i32, Terms)> = Vec::new();
    for (exponents, number) in terms {
        let power = at(exponents, place);
        let mut rest = *exponents;
        set(&mut rest, place, 0);
        match rows.iter_mut().find(|(own, _)| *own == power) {
            Some((_, row)) => row.push((rest, number.clone())),
            None => rows.push((power, vec![(rest, number.clone())])),
        }
    }
    let (_, first) = rows.first()?;
    if rows.len() < 2 || first.len() < 2 {
        return None;
    }
    let content = first.iter().fold(BigInt::zero(), |gcd, (_, n)| gcd.gcd(n));
    let other: Terms = first.iter().map(|(e, n)| (*e, n / &content)).collect();
    let mut own = Vec::new();
    for (power, row) in &rows {
        let quotient = divided(row, &other)?;
        let [(exponents, number)] = quotient.as_slice() else {
            return None;
        };
        if exponents.iter().any(|e| *e != 0) {
            return None;
        }
        let mut exponents = [0; _];
        set(&mut exponents, place, *power);
        own.push((exponents, number.clone()));
    }
    crate::sorting::sort_by(&mut own, Ord::cmp);
    Some((own, other))
}

/// Linear factors of a polynomial in the atom at `place` (or a form in that and `other`), found by
/// their rational roots, and what is left.
fn linear_factors(mut terms: Terms, place: usize, other: Option<usize>) -> Vec<Terms> {
    let mut parts = Vec::new();
    if terms.iter().any(|(e, _)| at(e, place) % UNIT != 0) {
        return vec![terms];
    }
    for below in 1..=LARGEST_DENOMINATOR {
        for above in (1..=LARGEST_NUMERATOR).flat_map(|size| [size, -size]) {
            if above.gcd(&below) != 1 {
                continue;
            }
            // below · x − above (· z)
            let (mut high, mut low) = ([0; _], [0; _]);
            set(&mut high, place, UNIT);
            if let Some(other) = other {
                set(&mut low, other, UNIT);
            }
            let mut candidate = vec![(low, BigInt::from(-above)), (high, BigInt::from(below))];
            crate::sorting::sort_by(&mut candidate, Ord::cmp);
            if candidate.last().is_some_and(|(_, n)| n.is_negative()) {
                for (_, number) in &mut candidate {
                    *number = -&*number;
                }
            }
            while terms.len() > 1
                && may_divide(&candidate, &terms)
                && let Some(quotient) = divided(&terms, &candidate)
            {
                parts.push(candidate.clone());
                terms = quotient;
            }
        }
    }
    match terms.as_slice() {
        [(exponents, number)] if number.is_one() && exponents.iter().all(|e| *e == 0) => {}
        _ => parts.push(terms),
    }
    parts
}

/// The numbers at both ends divide.
fn may_divide(candidate: &Terms, terms: &Terms) -> bool {
    let divides = |a: Option<&(Exponents, BigInt)>, b: Option<&(Exponents, BigInt)>| {
        a.zip(b).is_some_and(|((_, a), (_, b))| (b % a).is_zero())
    };
    divides(candidate.first(), terms.first()) && divides(candidate.last(), terms.last())
}
