//! Irreducible factors over the rational numbers of a polynomial in one letter.
//!
//! With one large prime: the factors modulo p (distinct degrees, then equal degrees by Cantor and
//! Zassenhaus), put together so that they divide over the integers. p exceeds twice Mignotte's bound
//! of a factor's coefficients, so nothing has to be lifted, and what no combination divides is
//! irreducible. (von zur Gathen & Gerhard, *Modern Computer Algebra*, 14.2–14.3, 15.2, cor. 6.33;
//! locators from memory.) The primes are Mersenne's: known, and large enough at once.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, Zero};

use super::Rational;
use super::gcd::{gcd, lcm};
use super::polynomial::Polynomial;

/// Exponents of Mersenne primes.
const EXPONENTS: [u32; 7] = [61, 89, 107, 127, 521, 607, 1279];
/// Highest degree that is factored.
const LARGEST_DEGREE: usize = 16;
/// Degree squared times bits of the prime: what a multiplication and the powers of it cost.
const LARGEST_WORK: usize = 35_000;
/// Trial elements for one split; half of them split on average.
const TRIES: u32 = 200;

/// The irreducible factors of a polynomial without multiple zeros, with whole coefficients without a
/// common factor and a positive leading one, in rising degree. `None`: it is too large, has multiple
/// zeros, or is a number.
pub fn irreducible_factors(polynomial: &Polynomial) -> Option<Vec<Polynomial>> {
    if polynomial.degree() == 0 || polynomial.degree() > LARGEST_DEGREE {
        return None;
    }
    let mut rest = whole(polynomial);
    let affordable = |exponent: &&u32| {
        let work = polynomial
            .degree()
            .pow(2)
            .saturating_mul(**exponent as usize);
        work <= LARGEST_WORK
    };
    let mut exponents = EXPONENTS.iter().filter(affordable);
    let (field, modular) = exponents.find_map(|exponent| {
        let field = Field((BigInt::one() << *exponent) - 1);
        let large_enough = field.0 > bound(&rest) * 2;
        let own = field.monic(rest.clone());
        let whole_degree = own.len() == rest.len();
        let common = field.common(&own, &field.derivative(&own));
        (large_enough && whole_degree && common.len() == 1).then_some((field, own))
    })?;
    let mut open = field.factors(modular)?;
    let mut found = Vec::new();
    let mut taken = 1;
    while 2 * taken <= open.len() {
        match field.dividing(&rest, &open, taken) {
            Some((chosen, factor, quotient)) => {
                open = open
                    .into_iter()
                    .enumerate()
                    .filter(|(place, _)| !chosen.contains(place))
                    .map(|(_, own)| own)
                    .collect();
                found.push(polynomial_of(&factor));
                rest = quotient;
            }
            None => taken += 1,
        }
    }
    if rest.len() > 1 {
        found.push(polynomial_of(&rest));
    }
    crate::sorting::sort_by(&mut found, |a, b| a.degree().cmp(&b.degree()));
    Some(found)
}

/// Whole numbers without a common factor, by rising power, the last positive.
pub fn whole(polynomial: &Polynomial) -> Vec<BigInt> {
    let coefficients = polynomial.coefficients();
    let below = coefficients
        .iter()
        .fold(BigInt::one(), |common, c| lcm(&common, c.denom()));
    let above = coefficients
        .iter()
        .map(|c| c.numer() * (&below / c.denom()));
    primitive(above.collect())
}

fn primitive(mut numbers: Vec<BigInt>) -> Vec<BigInt> {
    let mut common = numbers
        .iter()
        .fold(BigInt::zero(), |common, c| gcd(&common, c));
    if numbers.last().is_some_and(Signed::is_negative) {
        common = -common;
    }
    if !common.is_zero() {
        for c in &mut numbers {
            *c /= &common;
        }
    }
    numbers
}

fn polynomial_of(numbers: &[BigInt]) -> Polynomial {
    Polynomial::new(
        numbers
            .iter()
            .cloned()
            .map(Rational::from_integer)
            .collect(),
    )
}

/// No coefficient of a factor, times the leading coefficient, is larger: 2ⁿ ‖f‖₁ |lc f|.
fn bound(numbers: &[BigInt]) -> BigInt {
    let norm: BigInt = numbers.iter().map(Signed::abs).sum();
    let leading = numbers.last().map(Signed::abs).unwrap_or_default();
    (norm * leading) << numbers.len()
}

/// Numbers modulo a prime; polynomials by rising power, the last coefficient not zero.
struct Field(BigInt);

impl Field {
    fn trimmed(&self, mut a: Vec<BigInt>) -> Vec<BigInt> {
        for c in &mut a {
            *c = c.mod_floor(&self.0);
        }
        while a.last().is_some_and(Zero::is_zero) {
            a.pop();
        }
        a
    }

    fn monic(&self, a: Vec<BigInt>) -> Vec<BigInt> {
        let a = self.trimmed(a);
        let inverse = a.last().and_then(|leading| leading.modinv(&self.0));
        match inverse {
            Some(inverse) => self.trimmed(a.iter().map(|c| c * &inverse).collect()),
            None => a,
        }
    }

    fn minus(&self, a: &[BigInt], b: &[BigInt]) -> Vec<BigInt> {
        let mut difference = a.to_vec();
        difference.resize(a.len().max(b.len()), BigInt::zero());
        for (own, other) in difference.iter_mut().zip(b) {
            *own -= other;
        }
        self.trimmed(difference)
    }

    fn times(&self, a: &[BigInt], b: &[BigInt]) -> Vec<BigInt> {
        let mut product = vec![BigInt::zero(); (a.len() + b.len()).saturating_sub(1)];
        for (start, own) in a.iter().enumerate() {
            for (sum, other) in product.iter_mut().skip(start).zip(b) {
                *sum += own * other;
            }
        }
        self.trimmed(product)
    }

    /// Quotient and remainder by a monic divisor.
    fn divided(&self, a: &[BigInt], monic: &[BigInt]) -> (Vec<BigInt>, Vec<BigInt>) {
        let mut rest = a.to_vec();
        let mut quotient = Vec::new();
        while rest.len() >= monic.len() {
            let Some(factor) = rest.pop() else {
                break;
            };
            let factor = factor.mod_floor(&self.0);
            let start = rest.len() + 1 - monic.len();
            for (own, other) in rest.iter_mut().skip(start).zip(monic) {
                *own -= &factor * other;
            }
            quotient.push(factor);
        }
        quotient.reverse();
        (self.trimmed(quotient), self.trimmed(rest))
    }

    fn common(&self, a: &[BigInt], b: &[BigInt]) -> Vec<BigInt> {
        let (mut a, mut b) = (self.monic(a.to_vec()), self.monic(b.to_vec()));
        while !b.is_empty() {
            let rest = self.monic(self.divided(&a, &b).1);
            a = std::mem::replace(&mut b, rest);
        }
        a
    }

    fn derivative(&self, a: &[BigInt]) -> Vec<BigInt> {
        let terms = (1_u32..).zip(a.iter().skip(1));
        self.trimmed(terms.map(|(k, c)| c * k).collect())
    }

    fn power(&self, a: &[BigInt], exponent: &BigInt, modulus: &[BigInt]) -> Vec<BigInt> {
        let mut result = vec![BigInt::one()];
        for bit in (0..exponent.bits()).rev() {
            result = self.divided(&self.times(&result, &result), modulus).1;
            if exponent.bit(bit) {
                result = self.divided(&self.times(&result, a), modulus).1;
            }
        }
        result
    }

    /// The monic irreducible factors of a monic polynomial without multiple zeros.
    fn factors(&self, polynomial: Vec<BigInt>) -> Option<Vec<Vec<BigInt>>> {
        let letter = vec![BigInt::zero(), BigInt::one()];
        let mut found = Vec::new();
        let (mut rest, mut power, mut degree) = (polynomial, letter.clone(), 0);
        while rest.len() > 1 {
            degree += 1;
            if 2 * degree >= rest.len() {
                found.push(rest);
                break;
            }
            // The zeros of x^(p^d) − x are those of all irreducible polynomials of degrees dividing d.
            power = self.power(&self.divided(&power, &rest).1, &self.0, &rest);
            let product = self.common(&self.minus(&power, &letter), &rest);
            if product.len() > 1 {
                rest = self.divided(&rest, &product).0;
                self.split(product, degree, &mut found)?;
            }
        }
        Some(found)
    }

    /// Factors that all have this degree.
    fn split(
        &self,
        product: Vec<BigInt>,
        degree: usize,
        found: &mut Vec<Vec<BigInt>>,
    ) -> Option<()> {
        let mut open = vec![product];
        let half = (self.0.pow(u32::try_from(degree).ok()?) - 1_u32) / 2_u32;
        let mut seed = 0_u32;
        while let Some(own) = open.pop() {
            if own.len() == degree + 1 {
                found.push(own);
                continue;
            }
            seed += 1;
            if seed > TRIES {
                return None;
            }
            // Any elements do; these are x^d + s x^(d − 1) + …, s changing from try to try.
            let trial = (0..=degree)
                .map(|k| BigInt::from(seed).pow(u32::try_from(degree - k).unwrap_or(0)));
            let power = self.power(&trial.collect::<Vec<_>>(), &half, &own);
            let part = self.common(&self.minus(&power, &[BigInt::one()]), &own);
            if part.len() > 1 && part.len() < own.len() {
                open.push(self.divided(&own, &part).0);
                open.push(part);
            } else {
                open.push(own);
            }
        }
        Some(())
    }

    /// So many of the factors modulo p whose product divides `whole` over the integers.
    fn dividing(
        &self,
        whole: &[BigInt],
        modular: &[Vec<BigInt>],
        taken: usize,
    ) -> Option<(Vec<usize>, Vec<BigInt>, Vec<BigInt>)> {
        let leading = whole.last()?;
        let of = polynomial_of(whole);
        let mut chosen: Vec<usize> = (0..taken).collect();
        loop {
            let mut product = vec![leading.clone()];
            for own in chosen.iter().filter_map(|place| modular.get(*place)) {
                product = self.times(&product, own);
            }
            let half: BigInt = &self.0 / 2;
            for c in &mut product {
                if *c > half {
                    *c -= &self.0;
                }
            }
            let factor = primitive(product);
            if let Some(quotient) = of.quotient(&polynomial_of(&factor)) {
                let quotient = self::whole(&quotient);
                return Some((chosen, factor, quotient));
            }
            next_choice(&mut chosen, modular.len())?;
        }
    }
}

/// The next set of so many places below `count`, in order.
fn next_choice(chosen: &mut [usize], count: usize) -> Option<()> {
    let taken = chosen.len();
    let place = (0..taken).rev().find(|place| {
        chosen
            .get(*place)
            .is_some_and(|own| own + taken < count + place)
    })?;
    let start = chosen.get(place)? + 1;
    for (value, own) in (start..).zip(chosen.iter_mut().skip(place)) {
        *own = value;
    }
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::number::rational;

    fn polynomial(numbers: &[i64]) -> Polynomial {
        Polynomial::new(numbers.iter().map(|n| rational::integer(*n)).collect())
    }

    fn factors(numbers: &[i64]) -> Vec<Vec<i64>> {
        use num_traits::ToPrimitive;
        let found = irreducible_factors(&polynomial(numbers)).expect("small");
        let whole = |f: &Polynomial| {
            f.coefficients()
                .iter()
                .filter_map(|c| c.numer().to_i64())
                .collect()
        };
        found.iter().map(whole).collect()
    }

    #[test]
    fn factors_are_irreducible_and_all_there() {
        // u⁵ + u − 1 = (u² − u + 1)(u³ + u² − 1)
        assert_eq!(
            factors(&[-1, 1, 0, 0, 0, 1]),
            [vec![1, -1, 1], vec![-1, 0, 1, 1]]
        );
        // Irreducible, though it has factors modulo every prime (Swinnerton-Dyer).
        assert_eq!(factors(&[1, 0, -10, 0, 1]), [vec![1, 0, -10, 0, 1]]);
        assert_eq!(factors(&[1, -3, 0, 1]), [vec![1, -3, 0, 1]]);
        // 6(u − 1/2)(u + 2/3)(u² + 5) times −1
        assert_eq!(
            factors(&[10, -5, -28, -1, -6]),
            [vec![-1, 2], vec![2, 3], vec![5, 0, 1]]
        );
        // u¹² − 1: the cyclotomic polynomials of 1, 2, 3, 4, 6, 12.
        let unity = [-1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0, 1];
        let mut found = factors(&unity);
        found.sort();
        let mut all = vec![
            vec![-1, 1],
            vec![1, 1],
            vec![1, 0, 1],
            vec![1, 1, 1],
            vec![1, -1, 1],
            vec![1, 0, -1, 0, 1],
        ];
        all.sort();
        assert_eq!(found, all);
    }

    #[test]
    fn what_is_not_factored_says_so() {
        assert_eq!(irreducible_factors(&polynomial(&[7])), None);
        // A double zero.
        assert_eq!(irreducible_factors(&polynomial(&[1, 2, 1])), None);
        assert_eq!(irreducible_factors(&polynomial(&[1; 18])), None);
    }
}
