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
    divisors: Vec<[Odd; LANES]>,
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
            // Small primes occur with high powers: let one residue see several at once.
            let bits = if prime < 10 { 63 } else { 20 };
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
        let divisors = groups
            .chunks(LANES)
            .map(|chunk| std::array::from_fn(|i| chunk.get(i).map_or(Odd::new(1), |g| g.divisor)))
            .collect();
        Self { divisors, groups }
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
        let Some(first) = numbers.iter().find(|n| !n.is_empty()) else {
            return;
        };
        let suspects: Vec<&Group> = self
            .divisors
            .iter()
            .zip(self.groups.chunks(LANES))
            .filter(|(_, groups)| groups.iter().any(|group| group.least <= largest))
            .flat_map(|(divisors, groups)| {
                let residues = residues(first, divisors);
                groups
                    .iter()
                    .zip(residues)
                    .filter(|(group, residue)| group.suspect(*residue))
            })
            .map(|(group, _)| group)
            .collect();
        for group in suspects {
            group.reduce(numbers);
        }
    }
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

    fn reduce(&self, numbers: &mut [&mut Words]) {
        loop {
            let mut common = self.divisor.value;
            for number in numbers.iter().filter(|number| !number.is_empty()) {
                let [residue] = residues(number, &[self.divisor]);
                common = gcd(residue, common);
                if common == 1 {
                    return;
                }
            }
            let common = Odd::new(common);
            for number in numbers.iter_mut() {
                divide_exactly(number, common);
            }
        }
    }
}
