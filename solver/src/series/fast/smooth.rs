//! Fractions whose denominator is made of known small primes, brought to lowest terms without a
//! long greatest common divisor: divisibility by all the primes is read off a few word residues.

use super::words::{Odd, Words, divide_exactly, gcd, residues, shift_right, trailing_zeros};

/// Divisors looked at together.
const LANES: usize = 4;

/// A prime's test for divisibility of a word: `word·inverse ≤ limit` modulo 2⁶⁴ (Granlund and
/// Montgomery, "Division by invariant integers using multiplication", PLDI 1994, section 9).
#[derive(Clone, Copy, Debug)]
struct Test {
    inverse: u64,
    limit: u64,
}

/// A word with several odd primes in it.
#[derive(Clone, Debug)]
struct Group {
    divisor: Odd,
    tests: Vec<Test>,
    /// The least of its primes; 1 for a word that is not known to be prime.
    least: u64,
}

/// The odd primes (and other odd words) that a denominator may be made of.
#[derive(Clone, Debug)]
pub(super) struct Smooth {
    groups: Vec<Group>,
}

/// Odd primes up to `limit`, by trial of the smaller ones.
fn odd_primes(limit: u64) -> Vec<u64> {
    let mut primes: Vec<u64> = Vec::new();
    for candidate in (3..=limit).step_by(2) {
        let prime = primes
            .iter()
            .take_while(|&&p| p * p <= candidate)
            .all(|p| candidate % p != 0);
        if prime {
            primes.push(candidate);
        }
    }
    primes
}

impl Smooth {
    /// For denominators whose prime factors are at most `largest_prime` or divide one of `others`.
    pub(super) fn new(largest_prime: u64, others: &[u64]) -> Self {
        let mut groups: Vec<Group> = Vec::new();
        let mut product = 1_u64;
        let mut tests = Vec::new();
        let mut least = 3;
        for prime in odd_primes(largest_prime) {
            // Small primes occur with high powers: let one residue see several at once. Of larger
            // ones a second power is so rare that it costs less to look again.
            let bits = match prime {
                0..10 => 63,
                10..32 => 20,
                _ => 0,
            };
            let mut power = prime;
            while power.leading_zeros() + bits > 64 && power <= (1_u64 << bits) / prime {
                power *= prime;
            }
            if product.checked_mul(power).is_none() {
                let tests = std::mem::take(&mut tests);
                groups.push(Group {
                    divisor: Odd::new(product),
                    tests,
                    least,
                });
                product = 1;
                least = prime;
            }
            product *= power;
            tests.push(Test::new(prime));
        }
        if product > 1 {
            groups.push(Group {
                divisor: Odd::new(product),
                tests,
                least,
            });
        }
        for &other in others.iter().filter(|&&other| other != 0) {
            let odd = other >> other.trailing_zeros();
            if odd > 1 {
                // Not known to be prime: looked at by a greatest common divisor every time.
                groups.push(Group {
                    divisor: Odd::new(odd),
                    tests: Vec::new(),
                    least: 1,
                });
            }
        }
        Self { groups }
    }

    /// Divides all numbers by their greatest common divisor, as far as it is made of 2 and the
    /// known primes up to `largest`. The first number should be the one least likely to be
    /// divisible. Zeros are ignored.
    pub(super) fn reduce(&self, numbers: &mut [&mut Words], largest: u64) {
        let twos = numbers
            .iter()
            .filter(|n| !n.is_empty())
            .map(|n| trailing_zeros(n))
            .min();
        for number in numbers.iter_mut() {
            shift_right(number, twos.unwrap_or(0));
        }
        let mut groups: Vec<&Group> = self
            .groups
            .iter()
            .filter(|group| group.least <= largest)
            .collect();
        while !groups.is_empty() {
            let hits = hits(&groups, numbers);
            let common = packed(hits.iter().map(|(_, factor)| *factor));
            let mut divided = false;
            for word in common {
                divided |= divide_by_common(numbers, word);
            }
            if !divided {
                return;
            }
            // What was divided by may be there once more.
            groups = hits.into_iter().map(|(group, _)| group).collect();
        }
    }
}

/// The groups that have a factor in common with the first number that is not zero, and that factor.
fn hits<'a>(groups: &[&'a Group], numbers: &[&mut Words]) -> Vec<(&'a Group, u64)> {
    let mut found = Vec::new();
    let Some(first) = numbers.iter().find(|number| !number.is_empty()) else {
        return found;
    };
    for lane in groups.chunks(LANES) {
        let divisors: [Odd; LANES] =
            std::array::from_fn(|i| lane.get(i).map_or(Odd::ONE, |group| group.divisor));
        for (group, residue) in lane.iter().zip(residues(first, &divisors)) {
            if group.suspect(residue) {
                let factor = gcd(residue, group.divisor.value);
                if factor > 1 {
                    found.push((*group, factor));
                }
            }
        }
    }
    found
}

/// Products of the factors, each as long as a word holds.
fn packed(factors: impl Iterator<Item = u64>) -> Vec<u64> {
    let mut words: Vec<u64> = Vec::new();
    for factor in factors {
        let product = words.last().and_then(|last| last.checked_mul(factor));
        match (words.last_mut(), product) {
            (Some(last), Some(product)) => *last = product,
            _ => words.push(factor),
        }
    }
    words
}

/// Divides all numbers by what they have in common with the odd `word`, if that is more than 1.
fn divide_by_common(numbers: &mut [&mut Words], word: u64) -> bool {
    let mut common = word;
    for number in numbers.iter().filter(|number| !number.is_empty()) {
        let [residue] = residues(number, &[Odd::new(common)]);
        common = gcd(residue, common);
        if common == 1 {
            return false;
        }
    }
    let common = Odd::new(common);
    for number in numbers.iter_mut() {
        divide_exactly(number, common);
    }
    true
}

impl Test {
    fn new(prime: u64) -> Self {
        Self {
            inverse: Odd::new(prime).inverse,
            limit: u64::MAX / prime,
        }
    }
}

impl Group {
    /// Whether a number with this residue may share a factor with the group.
    fn suspect(&self, residue: u64) -> bool {
        self.tests.is_empty()
            || self
                .tests
                .iter()
                .any(|test| residue.wrapping_mul(test.inverse) <= test.limit)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::series::fast::words::multiply;

    /// The product of the factors.
    fn product(factors: &[u64]) -> Words {
        let mut words = vec![1];
        for factor in factors {
            multiply(&mut words, *factor);
        }
        words
    }

    #[test]
    fn common_factors_go_however_often_they_occur() {
        let smooth = Smooth::new(1000, &[35 * 1009]);
        let often = [
            64, 729, 729, 3, 31, 31, 31, 31, 31, 37, 37, 37, 997, 997, 1009,
        ];
        let mut above = product(&[often.as_slice(), &[1013, 5]].concat());
        let mut below = product(&[often.as_slice(), &[3, 41]].concat());
        smooth.reduce(&mut [&mut above, &mut below], 1000);
        assert_eq!((above, below), (vec![1013 * 5], vec![3 * 41]));

        // Zeros say nothing; a prime beyond the bound that the caller gives may be left.
        let mut numbers = [
            Words::new(),
            product(&[3, 5, 7]),
            product(&[3, 3, 7]),
            vec![42],
        ];
        let [zero, first, second, third] = &mut numbers;
        smooth.reduce(&mut [zero, first, second, third], 7);
        assert_eq!(numbers, [vec![], vec![5], vec![3], vec![2]]);
    }
}
