//! Real zeros of a polynomial in one unknown value.

use num_traits::{One, Signed, Zero};

use super::isolate::{number, zeros};
use crate::expression::{Expr, Truth, enclose, evaluate, sign, zero_test};
use crate::number::factor::irreducible_factors;
use crate::number::rational::{integer, ratio};
use crate::number::{Polynomial, Rational};

/// Precision of enclosures, in bits.
const BITS: usize = 64;

/// Values that are polynomials in a root of higher degree are beyond reading, and dear.
const LARGEST_DEGREE: usize = 10;

/// Bisections of an interval that holds one zero.
const HALVINGS: usize = 40;

/// The real zeros.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Roots {
    /// All of them, exactly, each once, in rising order where they could be compared.
    All(Vec<Expr>),
    /// These, exactly; whether there are others is not known.
    Some(Vec<Expr>),
    /// Intervals that hold exactly one each, all together; they have no exact form here.
    Inexact(Vec<(Rational, Rational)>),
    /// Not a polynomial, or nothing could be told.
    Unknown,
}

/// The real zeros of the polynomial with these coefficients (closed constants, by rising power; the
/// last is not zero). Those without a closed form are numbers under `letter`. Fewer than two
/// coefficients: [`Roots::Unknown`].
pub(super) fn real_roots(coefficients: &[Expr], letter: &str) -> Roots {
    if coefficients.len() < 2 {
        return Roots::Unknown;
    }
    if let Some(numbers) = coefficients
        .iter()
        .map(|c| c.as_number().cloned())
        .collect::<Option<Vec<Rational>>>()
    {
        let found = of_rational(&Polynomial::new(numbers.clone()), letter);
        return found.map_or_else(
            || isolated(&numbers).map_or(Roots::Unknown, Roots::Inexact),
            |values| Roots::All(sorted(values)),
        );
    }
    match exact(coefficients) {
        Some(values) => Roots::All(sorted(values)),
        None => of_closed(coefficients, letter).unwrap_or(Roots::Unknown),
    }
}

/// Factor by factor.
fn of_rational(polynomial: &Polynomial, letter: &str) -> Option<Vec<Expr>> {
    let mut values: Vec<Expr> = Vec::new();
    for (part, _) in polynomial.by_multiplicity() {
        for factor in irreducible_factors(&part)? {
            let numbers = factor.coefficients();
            let coefficients: Vec<Expr> = numbers.iter().cloned().map(Expr::number).collect();
            if let Some(more) = exact(&coefficients) {
                values.extend(more);
                continue;
            }
            if factor.degree() > LARGEST_DEGREE {
                return None;
            }
            let equation = equation(&coefficients);
            for (low, high) in isolated(numbers)? {
                values.push(number(&equation, letter, (&low, &high), Some(&factor))?);
            }
        }
    }
    Some(values)
}

/// Coefficients such as √2: no factors are known, so simple zeros only.
fn of_closed(coefficients: &[Expr], letter: &str) -> Option<Roots> {
    let mut bound = Rational::one();
    let (leading, lower) = coefficients.split_last()?;
    for c in lower {
        let (low, high) = enclose(&evaluate(&c.div(leading)).ok()?, BITS)
            .ok()?
            .to_rationals()?;
        bound += low.abs().max(high.abs());
    }
    // A fraction that no zero is likely to be.
    let bound = bound.ceil() + ratio(1, 7);
    let found = zeros(&equation(coefficients), letter, (-&bound, bound));
    Some(if found.all {
        Roots::All(found.values)
    } else if found.values.is_empty() {
        Roots::Unknown
    } else {
        Roots::Some(found.values)
    })
}

fn equation(coefficients: &[Expr]) -> Expr {
    let terms = coefficients.iter().zip(0..);
    let terms = terms.map(|(c, power)| c.mul(&Expr::variable().pow_int(power)));
    Expr::sum(terms.collect())
}

/// a + b u, a + b u + c u², a + c uⁿ.
fn exact(coefficients: &[Expr]) -> Option<Vec<Expr>> {
    let value = |e: Expr| evaluate(&e).ok();
    match coefficients {
        [_] => Some(Vec::new()),
        [a, b] => Some(vec![value(a.neg().div(b))?]),
        [a, b, c] => {
            let discriminant = value(b.square().sub(&a.mul(c).scale(&integer(4))))?;
            let center = value(b.neg().div(c).scale(&ratio(1, 2)))?;
            match sign_or_positive(&discriminant)? {
                std::cmp::Ordering::Less => Some(Vec::new()),
                std::cmp::Ordering::Equal => Some(vec![center]),
                std::cmp::Ordering::Greater => {
                    let half = discriminant.sqrt().div(c).scale(&ratio(1, 2));
                    Some(vec![value(center.sub(&half))?, value(center.add(&half))?])
                }
            }
        }
        [a, between @ .., last] if between.iter().all(Expr::is_zero) => {
            let power = value(a.neg().div(last))?;
            let exponent = ratio(1, i64::try_from(coefficients.len() - 1).ok()?);
            let root = |of: &Expr| value(Expr::power(of.clone(), Expr::number(exponent.clone())));
            match (
                coefficients.len().is_multiple_of(2),
                sign_or_positive(&power)?,
            ) {
                (_, std::cmp::Ordering::Equal) => Some(vec![Expr::zero()]),
                (true, _) => Some(vec![root(&power)?]),
                (false, std::cmp::Ordering::Less) => Some(Vec::new()),
                (false, std::cmp::Ordering::Greater) => {
                    let root = root(&power)?;
                    Some(vec![root.neg(), root])
                }
            }
        }
        _ => None,
    }
}

/// The sign; where it depends on letters, they are taken so that a root of it is real: that becomes
/// a side condition, as with every root over letters.
fn sign_or_positive(value: &Expr) -> Option<std::cmp::Ordering> {
    sign(value).or_else(|| {
        (value.has_parameter() && zero_test(value) == Truth::NotZero)
            .then_some(std::cmp::Ordering::Greater)
    })
}

fn sorted(mut values: Vec<Expr>) -> Vec<Expr> {
    // A handful: exchange neighbours that are surely in the wrong order.
    for end in (1..values.len()).rev() {
        for place in 0..end {
            if let (Some(a), Some(b)) = (values.get(place), values.get(place + 1))
                && sign(&a.sub(b)) == Some(std::cmp::Ordering::Greater)
            {
                values.swap(place, place + 1);
            }
        }
    }
    values.dedup_by(|a, b| zero_test(&a.sub(b)) == Truth::Zero);
    values
}

fn at(numbers: &[Rational], place: &Rational) -> Rational {
    numbers
        .iter()
        .rev()
        .fold(Rational::zero(), |sum, c| sum * place + c)
}

/// Intervals with one zero each, by Sturm's theorem (e.g. Basu, Pollack, Roy, *Algorithms in Real
/// Algebraic Geometry*, th. 2.62; locator from memory).
fn isolated(numbers: &[Rational]) -> Option<Vec<(Rational, Rational)>> {
    let chain = sturm(numbers);
    let leading = numbers.last()?.abs();
    // Cauchy's bound.
    let bound = numbers
        .iter()
        .map(|c| c.abs() / &leading)
        .fold(Rational::one(), |sum, c| sum + c);
    let count =
        |low: &Rational, high: &Rational| changes(&chain, low).checked_sub(changes(&chain, high));
    let mut found = Vec::new();
    let mut open = vec![(-bound.clone(), bound, 0)];
    while let Some((low, high, halved)) = open.pop() {
        let zeros = count(&low, &high)?;
        if zeros == 0 {
            continue;
        }
        if zeros == 1 && halved >= HALVINGS {
            found.push((low, high));
            continue;
        }
        if halved > 4 * HALVINGS {
            return None;
        }
        let middle = (&low + &high) * ratio(1, 2);
        open.push((middle.clone(), high, halved + 1));
        open.push((low, middle, halved + 1));
    }
    Some(found)
}

/// The polynomial, its derivative, and minus the remainders of Euclid's algorithm.
fn sturm(numbers: &[Rational]) -> Vec<Vec<Rational>> {
    let derivative = numbers
        .iter()
        .zip(0..)
        .skip(1)
        .map(|(c, n)| c * integer(n))
        .collect();
    let mut chain = vec![numbers.to_vec(), derivative];
    while let [.., a, b] = chain.as_slice() {
        let mut rest = a.clone();
        while rest.len() >= b.len() {
            let (Some(top), Some(divisor)) = (rest.pop(), b.last()) else {
                break;
            };
            let factor = top / divisor;
            let start = rest.len() + 1 - b.len();
            for (value, c) in rest.iter_mut().skip(start).zip(b) {
                *value -= &factor * c;
            }
        }
        while rest.last().is_some_and(Zero::is_zero) {
            rest.pop();
        }
        if rest.is_empty() {
            break;
        }
        chain.push(rest.into_iter().map(|c| -c).collect());
    }
    chain
}

fn changes(chain: &[Vec<Rational>], place: &Rational) -> usize {
    let signs: Vec<bool> = chain
        .iter()
        .map(|numbers| at(numbers, place))
        .filter(|value| !value.is_zero())
        .map(|value| value.is_negative())
        .collect();
    signs
        .windows(2)
        .filter(|pair| matches!(pair, [a, b] if a != b))
        .count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn roots(numbers: &[i64]) -> Roots {
        let coefficients: Vec<Expr> = numbers.iter().map(|n| Expr::int(*n)).collect();
        real_roots(&coefficients, "r")
    }

    #[test]
    fn zeros_are_exact_where_they_can_be() {
        let all = |values: &[Expr]| Roots::All(values.to_vec());
        // (u−2)(u+2); (u−1)²; u²+1; (u−1)(u²−2); u³−8; 2u³−1; u(u−1/2)
        assert_eq!(roots(&[-4, 0, 1]), all(&[Expr::int(-2), Expr::int(2)]));
        assert_eq!(roots(&[1, -2, 1]), all(&[Expr::one()]));
        assert_eq!(roots(&[1, 0, 1]), all(&[]));
        let root = Expr::int(2).sqrt();
        assert_eq!(
            roots(&[2, -2, -1, 1]),
            all(&[root.neg(), Expr::one(), root])
        );
        assert_eq!(roots(&[-8, 0, 0, 1]), all(&[Expr::int(2)]));
        assert_eq!(
            roots(&[0, -1, 2]),
            all(&[Expr::zero(), Expr::number(ratio(1, 2))])
        );
        assert_eq!(roots(&[3]), Roots::Unknown);
    }

    #[test]
    fn other_zeros_get_a_letter() {
        // u³ − 3u + 1 has three irrational real zeros, 2 cos 160°, 2 cos 80°, 2 cos 40°.
        let Roots::All(found) = roots(&[1, -3, 0, 1]) else {
            panic!("three numbers");
        };
        let near = [-1.879_385_241_6, 0.347_296_355_3, 1.532_088_886_2];
        assert_eq!(found.len(), near.len());
        for (value, near) in found.iter().zip(near) {
            let value = crate::expression::to_f64(value).expect("a number");
            assert!((value - near).abs() < 1e-9);
        }
        // With √2 no polynomial over the rational numbers is at hand, but the zero is as certain.
        let coefficients = [
            Expr::int(2).sqrt().neg(),
            Expr::one(),
            Expr::zero(),
            Expr::one(),
        ];
        let Roots::All(found) = real_roots(&coefficients, "r") else {
            panic!("one number");
        };
        let [value] = found.as_slice() else {
            panic!("one number, not {found:?}");
        };
        let cube = evaluate(&value.pow_int(3).add(value)).expect("a value");
        assert_eq!(cube, Expr::int(2).sqrt());
    }
}
