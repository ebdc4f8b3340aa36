//! Sums of products of big floats: every product is added into one fixed-point number, which is
//! rounded once. Faster than a rounding after every multiplication and addition, and no less
//! precise: nothing is lost but what lies far below the largest product's last bit.

use num_bigint::BigUint;

use super::BigFloat;
use super::big_float::Precision;

/// What the machine multiplies at once. The results do not depend on it.
#[cfg(target_pointer_width = "64")]
type Word = u64;
#[cfg(target_pointer_width = "64")]
type DoubleWord = u128;
#[cfg(not(target_pointer_width = "64"))]
type Word = u32;
#[cfg(not(target_pointer_width = "64"))]
type DoubleWord = u64;

const WORD_BITS: usize = Word::BITS as usize;

#[cfg(target_pointer_width = "64")]
fn digits(magnitude: &BigUint) -> impl Iterator<Item = Word> {
    magnitude.iter_u64_digits()
}
#[cfg(not(target_pointer_width = "64"))]
fn digits(magnitude: &BigUint) -> impl Iterator<Item = Word> {
    magnitude.iter_u32_digits()
}

/// A magnitude's words, least first; `None` when they are too many.
fn words<'a>(magnitude: &BigUint, room: &'a mut [Word; MOST_WORDS]) -> Option<&'a [Word]> {
    let mut used = 0;
    for digit in digits(magnitude) {
        *room.get_mut(used)? = digit;
        used += 1;
    }
    room.get(..used)
}

#[cfg(not(target_pointer_width = "64"))]
fn from_words(words: &[Word]) -> BigUint {
    BigUint::from_slice(words)
}
#[cfg(target_pointer_width = "64")]
fn from_words(words: &[Word]) -> BigUint {
    let bytes: Vec<u8> = words.iter().flat_map(|word| word.to_le_bytes()).collect();
    BigUint::from_bytes_le(&bytes)
}

/// Bits kept below the precision of the largest product: what is cut off the others adds up to
/// far less than a unit of the last place.
const GUARD: usize = 48;
/// Room above the largest product for the sum, and the sign.
const HEADROOM: usize = 32;

/// Words of the longest sum and of the longest product that are worked out here.
const MOST_WORDS: usize = 64;

/// `Σ left[i] · right[n − 1 − i]`, as precise as if the largest product had been rounded once;
/// `None` when some number has no value, or more bits than are provided for.
pub(crate) fn convolve(
    left: &[BigFloat],
    right: &[BigFloat],
    precision: &Precision,
) -> Option<BigFloat> {
    let mut top = None;
    for (a, b) in left.iter().zip(right.iter().rev()) {
        if !(a.is_finite() && b.is_finite()) {
            return None;
        }
        if let (Some(a), Some(b)) = (a.end(), b.end()) {
            top = top.max(Some(a + b));
        }
    }
    let Some(top) = top else {
        return Some(BigFloat::ZERO);
    };
    let kept = precision.bits() + GUARD;
    let bottom = top - i64::try_from(kept).ok()?;
    let width = (kept + HEADROOM).div_ceil(WORD_BITS);
    let mut room = [0; MOST_WORDS];
    let sum = room.get_mut(..width)?;
    let (mut room_a, mut room_b) = ([0; MOST_WORDS], [0; MOST_WORDS]);
    for (a, b) in left.iter().zip(right.iter().rev()) {
        let ((magnitude_a, exponent_a), (magnitude_b, exponent_b)) = (a.parts(), b.parts());
        let words_a = words(magnitude_a, &mut room_a)?;
        let words_b = words(magnitude_b, &mut room_b)?;
        if words_a.is_empty() || words_b.is_empty() {
            continue;
        }
        let mut product = [0; MOST_WORDS];
        let product = product.get_mut(..words_a.len() + words_b.len())?;
        multiply(words_a, words_b, product);
        let shift = isize::try_from(exponent_a + exponent_b - bottom).ok()?;
        accumulate(sum, product, shift, a.is_negative() != b.is_negative());
    }
    let negative = sum.last().is_some_and(|word| word >> (WORD_BITS - 1) == 1);
    if negative {
        negate(sum);
    }
    let sum = from_words(sum);
    Some(BigFloat::nearest(negative, sum, bottom, precision.bits()))
}

/// The product of two magnitudes, least word first; `product` holds zeros and is as long as both.
fn multiply(a: &[Word], b: &[Word], product: &mut [Word]) {
    for (i, &x) in a.iter().enumerate() {
        let mut carry = 0;
        let mut places = product.iter_mut().skip(i);
        for (&y, place) in b.iter().zip(&mut places) {
            // Never overflows: (2^w − 1)² + 2(2^w − 1) = 2^(2w) − 1.
            let t = DoubleWord::from(x) * DoubleWord::from(y)
                + DoubleWord::from(*place)
                + DoubleWord::from(carry);
            *place = low(t);
            carry = low(t >> WORD_BITS);
        }
        if let Some(place) = places.next() {
            *place = carry;
        }
    }
}

fn low(word: DoubleWord) -> Word {
    #[allow(clippy::cast_possible_truncation, reason = "the low half is wanted")]
    let low = word as Word;
    low
}

/// Adds `product · 2^shift`, cut off below the units, to a number in two's complement; or
/// subtracts it.
fn accumulate(sum: &mut [Word], product: &[Word], shift: isize, subtract: bool) {
    let Ok(word_bits) = isize::try_from(WORD_BITS) else {
        return;
    };
    let (offset, bits) = (shift.div_euclid(word_bits), shift.rem_euclid(word_bits));
    // The sum's word j takes the product's words j − offset and the one below.
    let skipped = usize::try_from(-offset).unwrap_or(0);
    let first = usize::try_from(offset).unwrap_or(0);
    let mut below = skipped
        .checked_sub(1)
        .and_then(|i| product.get(i))
        .copied()
        .unwrap_or(0);
    let mut parts = product.iter().skip(skipped);
    let mut ended = false;
    let mut carry = false;
    for place in sum.iter_mut().skip(first) {
        let here = parts.next().copied().unwrap_or_else(|| {
            ended = true;
            0
        });
        let part = if bits == 0 {
            here
        } else {
            here << bits | below >> (word_bits - bits)
        };
        if ended && below == 0 && !carry {
            return;
        }
        below = here;
        let (once, twice);
        if subtract {
            (*place, once) = place.overflowing_sub(part);
            (*place, twice) = place.overflowing_sub(Word::from(carry));
        } else {
            (*place, once) = place.overflowing_add(part);
            (*place, twice) = place.overflowing_add(Word::from(carry));
        }
        carry = once || twice;
    }
}

fn negate(number: &mut [Word]) {
    let mut carry = true;
    for word in number {
        (*word, carry) = (!*word).overflowing_add(Word::from(carry));
    }
}

#[cfg(test)]
mod tests {
    use super::convolve;
    use crate::number::BigFloat;
    use crate::number::Rational;
    use crate::number::big_float::Precision;
    use crate::number::rational::ratio;

    /// Numbers of very different size and length, of both signs, zeros among them; from a
    /// multiplicative congruential generator.
    fn numbers(count: usize, seed: u64, spread: u64, precision: &Precision) -> Vec<BigFloat> {
        let mut state = seed;
        let mut draw = move |below: u64| {
            state = state
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1);
            (state >> 33) % below
        };
        (0..count)
            .map(|_| {
                let numerator = i64::try_from(draw(2_000_001)).unwrap() - 1_000_000;
                let denominator = i64::try_from(draw(999)).unwrap() + 1;
                let shift =
                    i32::try_from(draw(2 * spread)).unwrap() - i32::try_from(spread).unwrap();
                if draw(5) == 0 {
                    BigFloat::ZERO
                } else {
                    BigFloat::from_rational(&ratio(numerator, denominator), precision)
                        .shifted(shift)
                }
            })
            .collect()
    }

    #[test]
    fn sums_are_those_of_exact_fractions() {
        for (bits, count, spread, seed) in [
            (128, 1, 3, 1),
            (128, 40, 8, 2),
            (128, 60, 400, 3),
            (192, 50, 64, 4),
            (288, 70, 33, 5),
            (400, 100, 150, 6),
            (401, 99, 1, 7),
        ] {
            let precision = Precision::new(bits);
            let left = numbers(count, seed, spread, &precision);
            let right = numbers(count, seed + 100, spread, &precision);
            let got = convolve(&left, &right, &precision).unwrap();
            let products: Vec<Rational> = left
                .iter()
                .zip(right.iter().rev())
                .map(|(a, b)| a.to_rational().unwrap() * b.to_rational().unwrap())
                .collect();
            let exact: Rational = products.iter().sum();
            let wide = Precision::new(3000);
            let largest = products
                .iter()
                .map(|p| BigFloat::from_rational(p, &wide).log2_abs())
                .fold(f64::NEG_INFINITY, f64::max);
            let error = BigFloat::from_rational(&(got.to_rational().unwrap() - exact), &wide);
            let limit = largest - f64::from(u32::try_from(bits).unwrap()) + 7.0;
            assert!(error.log2_abs() < limit, "{bits} bits: {error:?}");
        }
    }

    #[test]
    fn cancellation_is_exact() {
        let precision = Precision::new(128);
        let third = BigFloat::from_rational(&ratio(1, 3), &precision);
        let tiny = BigFloat::power_of_two(-130);
        let one = BigFloat::from_i64(1);
        // 1/3 − 1/3 + 2^−130 with the pairing reversed.
        let left = [third.clone(), third.negated(), tiny.clone()];
        let right = [one.clone(), one.clone(), one];
        assert_eq!(convolve(&left, &right, &precision), Some(tiny));
        assert_eq!(
            convolve(&left[..2], &right[..2], &precision),
            Some(BigFloat::ZERO)
        );
        assert_eq!(convolve(&[], &[], &precision), Some(BigFloat::ZERO));
        assert_eq!(convolve(&[BigFloat::NONE], &[third], &precision), None);
    }
}
