//! Elementary functions of [`BigFloat`]: argument reduction, a series in integers scaled by a power
//! of two, and rounding at the end. Working precision exceeds the precision asked for by
//! [`GUARD`] bits and by what cancels, so that every result is within one unit in its last place.
//!
//! *Bound.* Let w be the working precision of a function, at least `GUARD` bits above the one asked for.
//! A series has at most 2w + 8 terms, as each is at most half of the one before, and each term and
//! the scaled argument are cut off by at most two units 2^−w of a sum that is above 1/2 (the exponential, the
//! cosine) or has been scaled by the argument's size (sine, arctan, artanh): at most 8w + 40 units in
//! all. Each halving of the exponential's argument doubles the error and has a bit of w of its own; a
//! reduction by ln 2 or π/2 is worked out with as many more bits as the quotient is long or the
//! difference cancels, and adds one unit. What is put together from these takes at most a dozen more
//! operations, each off by a unit, and √(1 + x²), (1 − x)(1 + x) and the quotients used are not
//! ill-conditioned where they are used. So the relative error before the last rounding is at most
//! (8w + 64)·2^−(w − 4), which for w < 2¹³ is below 2^−(bits + 11): enclosures may count on one
//! unit in the last place, and those of `enclosed`, which ask for 24 bits more than they keep, on
//! far less than one unit of what they keep.
//! (Brent & Zimmermann, *Modern Computer Arithmetic*, Cambridge 2010, sections 4.2–4.4 and 4.9.)

use num_bigint::BigInt;
use num_traits::{One, Zero};

use super::{BigFloat, Precision};

/// Bits carried beyond those asked for.
const GUARD: usize = 32;

/// Arguments of exp, sinh, cosh above 2^22 would overflow; those of sin, cos, tan would need
/// millions of digits of π.
const ARGUMENT_LOG2: f64 = 22.0;

/// π, ln 2 as integers, scaled by 2^bits.
#[derive(Default)]
pub(super) struct Constants {
    pi: Option<(usize, BigInt)>,
    ln2: Option<(usize, BigInt)>,
}

/// `value · 2^bits` from what was kept, or worked out now.
fn kept(place: &mut Option<(usize, BigInt)>, bits: usize, find: fn(usize) -> BigInt) -> BigInt {
    match place {
        Some((known, value)) if *known >= bits => &*value >> (*known - bits),
        _ => {
            let value = find(bits);
            *place = Some((bits, value.clone()));
            value
        }
    }
}

/// `arctan(1/n)·2^bits`, or `artanh(1/n)·2^bits`, by its power series.
fn inverse_of_integer(n: u32, bits: usize, alternating: bool) -> BigInt {
    let mut power = (BigInt::one() << bits) / n;
    let mut sum = power.clone();
    let square = n * n;
    let (mut odd, mut positive) = (1_u32, true);
    while !power.is_zero() {
        power /= square;
        odd += 2;
        positive = !positive;
        let term = &power / odd;
        if alternating && !positive {
            sum -= term;
        } else {
            sum += term;
        }
    }
    sum
}

/// Machin: π = 16·arctan(1/5) − 4·arctan(1/239).
fn pi_scaled(bits: usize) -> BigInt {
    let wide = bits + GUARD;
    let value = inverse_of_integer(5, wide, true) * 16 - inverse_of_integer(239, wide, true) * 4;
    value >> GUARD
}

/// ln 2 = 18·artanh(1/26) − 2·artanh(1/4801) + 8·artanh(1/8749).
fn ln2_scaled(bits: usize) -> BigInt {
    let wide = bits + GUARD;
    let value = inverse_of_integer(26, wide, false) * 18
        - inverse_of_integer(4801, wide, false) * 2
        + inverse_of_integer(8749, wide, false) * 8;
    value >> GUARD
}

/// x + s·x³/3 + s²·x⁵/5 + … for a scaled x, s = ±1: arctan or artanh.
fn odd_reciprocals(x: &BigInt, bits: usize, alternating: bool) -> BigInt {
    let square = (x * x) >> bits;
    let (mut power, mut sum) = (x.clone(), x.clone());
    let mut odd = 1_u64;
    let mut positive = true;
    loop {
        power = (power * &square) >> bits;
        odd += 2;
        positive = !positive;
        let term = &power / odd;
        if term.is_zero() || term == -BigInt::one() {
            return sum;
        }
        if alternating && !positive {
            sum -= term;
        } else {
            sum += term;
        }
    }
}

/// first + first·x/(a·(a+1)) + …: with `x` scaled and every factor `step` followed by the next one.
/// The exponential's, the sine's and the cosine's power series are of this kind.
fn factorials(first: BigInt, x: &BigInt, bits: usize, mut factor: u64, pairs: bool) -> BigInt {
    let (mut term, mut sum) = (first.clone(), first);
    loop {
        term = (term * x) >> bits;
        term /= factor;
        factor += 1;
        if pairs {
            term /= factor;
            factor += 1;
        }
        if term.is_zero() || term == -BigInt::one() {
            return sum;
        }
        sum += &term;
    }
}

fn as_bits(log2: f64) -> usize {
    num_traits::ToPrimitive::to_usize(&libm::ceil(log2.max(0.0))).unwrap_or(0)
}

impl Precision {
    fn wider(&self, more: usize) -> Self {
        Self {
            bits: self.bits + more,
            constants: self.constants.clone(),
        }
    }

    fn pi(&self) -> BigFloat {
        let wide = self.bits + GUARD;
        let value = kept(&mut self.constants.borrow_mut().pi, wide, pi_scaled);
        BigFloat::from_scaled(&value, wide, self)
    }

    fn ln2(&self) -> BigFloat {
        let wide = self.bits + GUARD;
        let value = kept(&mut self.constants.borrow_mut().ln2, wide, ln2_scaled);
        BigFloat::from_scaled(&value, wide, self)
    }
}

/// Is the argument so small that two terms of the power series suffice at this precision?
fn tiny(x: &BigFloat, precision: &Precision) -> bool {
    #[allow(clippy::cast_precision_loss, reason = "a few thousand bits")]
    let half = precision.bits as f64 / -2.0;
    x.log2_abs() < half
}

impl BigFloat {
    /// π.
    pub fn pi(precision: &Precision) -> Self {
        precision.wider(GUARD).pi().rounded(precision)
    }

    /// x + x³·numerator/denominator, for tiny x.
    fn two_terms(&self, numerator: i64, denominator: i64, p: &Precision) -> Self {
        let cube = self.times(self, p).times(self, p);
        self.plus(&cube.scaled(numerator, denominator, p), p)
    }

    fn unable_to_reduce(&self) -> bool {
        !self.is_finite() || self.log2_abs() > ARGUMENT_LOG2
    }

    /// eˣ.
    #[must_use]
    pub fn exp(&self, precision: &Precision) -> Self {
        if self.unable_to_reduce() {
            return Self::NONE;
        }
        // Halved so often that the series has about as many terms.
        let halvings = num_integer::Roots::sqrt(&precision.bits) / 2 + 2;
        let w = precision.wider(GUARD + halvings + as_bits(self.log2_abs()));
        let turns = self.over(&w.ln2(), &w).nearest_integer();
        let rest = self.minus(&Self::from_i64(turns).times(&w.ln2(), &w), &w);
        let x = rest.scaled_by(w.bits) >> halvings;
        let mut value = factorials(BigInt::one() << w.bits, &x, w.bits, 1, false);
        for _ in 0..halvings {
            value = (&value * &value) >> w.bits;
        }
        let result = Self::from_scaled(&value, w.bits, precision);
        result.shifted(i32::try_from(turns).unwrap_or(0))
    }

    /// The natural logarithm.
    #[must_use]
    pub fn ln(&self, precision: &Precision) -> Self {
        if !self.is_finite() || self.is_zero() || self.is_negative() {
            return Self::NONE;
        }
        let w = precision.wider(GUARD + 32);
        // self = m·2^e with m from about 0.7 to 1.4.
        let exponent = num_traits::ToPrimitive::to_i32(&libm::round(self.log2_abs())).unwrap_or(0);
        let m = self.shifted(-exponent);
        let one = Self::from_i64(1);
        let z = m.minus(&one, &w).over(&m.plus(&one, &w), &w);
        let ln_m = z.artanh_series(&w).shifted(1);
        let powers = Self::from_i64(i64::from(exponent)).times(&w.ln2(), &w);
        powers.plus(&ln_m, precision)
    }

    /// artanh for |self| ≤ 1/4.
    fn artanh_series(&self, w: &Precision) -> Self {
        self.odd_series(w, false)
    }

    fn odd_series(&self, w: &Precision, alternating: bool) -> Self {
        if self.is_zero() {
            return Self::ZERO;
        }
        if tiny(self, w) {
            return self.two_terms(if alternating { -1 } else { 1 }, 3, w);
        }
        let bits = w.bits + GUARD + as_bits(-self.log2_abs());
        Self::from_scaled(
            &odd_reciprocals(&self.scaled_by(bits), bits, alternating),
            bits,
            w,
        )
    }

    /// The sine and the cosine.
    fn sin_cos(&self, precision: &Precision) -> (Self, Self) {
        if self.unable_to_reduce() {
            return (Self::NONE, Self::NONE);
        }
        let w = precision.wider(GUARD);
        let long = as_bits(self.log2_abs()) + 2;
        let quarter = |wide: &Precision| wide.pi().shifted(-1);
        let first = w.wider(long);
        let quarters = self.over(&quarter(&first), &first).nearest_integer();
        let turned = |wide: &Precision| {
            self.minus(&Self::from_i64(quarters).times(&quarter(wide), wide), wide)
        };
        // Near a multiple of π/2 the leading bits cancel.
        let mut rest = if quarters == 0 {
            self.clone()
        } else {
            turned(&first)
        };
        if quarters != 0 {
            let cancelled = if rest.is_zero() {
                first.bits
            } else {
                as_bits(-rest.log2_abs())
            };
            rest = turned(&first.wider(cancelled));
        }
        let (sin, cos) = if tiny(&rest, &w) {
            let half_square = rest.times(&rest, &w).shifted(-1);
            (
                rest.two_terms(-1, 6, &w),
                Self::from_i64(1).minus(&half_square, &w),
            )
        } else {
            let bits = w.bits + GUARD + as_bits(-rest.log2_abs());
            let x = rest.scaled_by(bits);
            let square: BigInt = -((&x * &x) >> bits);
            let sin = factorials(x, &square, bits, 2, true);
            let cos = factorials(BigInt::one() << bits, &square, bits, 1, true);
            (
                Self::from_scaled(&sin, bits, &w),
                Self::from_scaled(&cos, bits, &w),
            )
        };
        match quarters.rem_euclid(4) {
            0 => (sin, cos),
            1 => (cos, sin.negated()),
            2 => (sin.negated(), cos.negated()),
            _ => (cos.negated(), sin),
        }
    }

    /// The sine.
    #[must_use]
    pub fn sin(&self, precision: &Precision) -> Self {
        self.sin_cos(precision).0.rounded(precision)
    }

    /// The cosine.
    #[must_use]
    pub fn cos(&self, precision: &Precision) -> Self {
        self.sin_cos(precision).1.rounded(precision)
    }

    /// The tangent.
    #[must_use]
    pub fn tan(&self, precision: &Precision) -> Self {
        let (sin, cos) = self.sin_cos(precision);
        sin.over(&cos, precision)
    }

    /// The inverse tangent, in (−π/2, π/2).
    #[must_use]
    pub fn arctan(&self, precision: &Precision) -> Self {
        if !self.is_finite() {
            return Self::NONE;
        }
        let w = precision.wider(GUARD);
        self.arctan_wide(&w).rounded(precision)
    }

    fn arctan_wide(&self, w: &Precision) -> Self {
        let one = Self::from_i64(1);
        if self.log2_abs() > 0.5 {
            let rest = one.over(&self.absolute(), w).arctan_wide(w);
            let value = w.pi().shifted(-1).minus(&rest, w);
            return if self.is_negative() {
                value.negated()
            } else {
                value
            };
        }
        // arctan x = 2·arctan(x/(1 + √(1 + x²)))
        let mut x = self.clone();
        let mut doublings = 0;
        while x.log2_abs() > -3.0 {
            let root = one.plus(&x.times(&x, w), w).sqrt(w);
            x = x.over(&one.plus(&root, w), w);
            doublings += 1;
        }
        x.odd_series(w, true).shifted(doublings)
    }

    /// The inverse cotangent, in (0, π) and so continuous across 0.
    #[must_use]
    pub fn arccot(&self, precision: &Precision) -> Self {
        if !self.is_finite() {
            return Self::NONE;
        }
        let w = precision.wider(GUARD);
        let one = Self::from_i64(1);
        if !self.is_negative() && self.log2_abs() > 0.0 {
            // π/2 − arctan x would cancel.
            return one.over(self, &w).arctan(precision);
        }
        let quarter = w.pi().shifted(-1);
        quarter.minus(&self.arctan_wide(&w), precision)
    }

    /// 1 − self² = (1 − self)·(1 + self), without cancellation.
    fn one_minus_square(&self, w: &Precision) -> Self {
        let one = Self::from_i64(1);
        one.minus(self, w).times(&one.plus(self, w), w)
    }

    /// The inverse sine, in [−π/2, π/2].
    #[must_use]
    pub fn arcsin(&self, precision: &Precision) -> Self {
        let w = precision.wider(GUARD);
        let rest = self.one_minus_square(&w);
        if !rest.is_finite() || rest.is_negative() {
            return Self::NONE;
        }
        if rest.is_zero() {
            let value = w.pi().shifted(-1).rounded(precision);
            return if self.is_negative() {
                value.negated()
            } else {
                value
            };
        }
        self.over(&rest.sqrt(&w), &w)
            .arctan_wide(&w)
            .rounded(precision)
    }

    /// The inverse cosine, in [0, π]: 2·arctan √((1 − x)/(1 + x)).
    #[must_use]
    pub fn arccos(&self, precision: &Precision) -> Self {
        let w = precision.wider(GUARD);
        let one = Self::from_i64(1);
        let (below, above) = (one.minus(self, &w), one.plus(self, &w));
        if !self.is_finite() || below.is_negative() || above.is_negative() {
            return Self::NONE;
        }
        if above.is_zero() {
            return w.pi().rounded(precision);
        }
        let root = below.over(&above, &w).sqrt(&w);
        root.arctan_wide(&w).shifted(1).rounded(precision)
    }

    /// The hyperbolic sine.
    #[must_use]
    pub fn sinh(&self, precision: &Precision) -> Self {
        if self.unable_to_reduce() {
            return Self::NONE;
        }
        let w = precision.wider(GUARD);
        if tiny(self, &w) {
            return self.two_terms(1, 6, &w).rounded(precision);
        }
        let w = w.wider(as_bits(-self.log2_abs()));
        let (up, down) = self.both_exponentials(&w);
        up.minus(&down, precision).shifted(-1)
    }

    /// The hyperbolic cosine.
    #[must_use]
    pub fn cosh(&self, precision: &Precision) -> Self {
        let w = precision.wider(GUARD);
        let (up, down) = self.both_exponentials(&w);
        up.plus(&down, precision).shifted(-1)
    }

    fn both_exponentials(&self, w: &Precision) -> (Self, Self) {
        let up = self.exp(w);
        let down = Self::from_i64(1).over(&up, w);
        (up, down)
    }

    /// The hyperbolic tangent.
    #[must_use]
    pub fn tanh(&self, precision: &Precision) -> Self {
        let w = precision.wider(GUARD);
        self.sinh(&w).over(&self.cosh(&w), precision)
    }

    /// The inverse hyperbolic sine.
    #[must_use]
    pub fn arsinh(&self, precision: &Precision) -> Self {
        if !self.is_finite() {
            return Self::NONE;
        }
        let w = precision.wider(GUARD);
        let one = Self::from_i64(1);
        let root = one.plus(&self.times(self, &w), &w).sqrt(&w);
        if self.log2_abs() < -2.0 {
            return self.over(&root, &w).artanh(precision);
        }
        let value = self.absolute().plus(&root, &w).ln(precision);
        if self.is_negative() {
            value.negated()
        } else {
            value
        }
    }

    /// The inverse hyperbolic cosine, ≥ 0: 2·arsinh √((x − 1)/2).
    #[must_use]
    pub fn arcosh(&self, precision: &Precision) -> Self {
        let w = precision.wider(GUARD);
        let above = self.minus(&Self::from_i64(1), &w);
        if !above.is_finite() || above.is_negative() {
            return Self::NONE;
        }
        above
            .shifted(-1)
            .sqrt(&w)
            .arsinh(&w)
            .shifted(1)
            .rounded(precision)
    }

    /// The inverse hyperbolic tangent.
    #[must_use]
    pub fn artanh(&self, precision: &Precision) -> Self {
        let w = precision.wider(GUARD);
        let one = Self::from_i64(1);
        let (below, above) = (one.minus(self, &w), one.plus(self, &w));
        if !self.is_finite() || !below.is_positive() || !above.is_positive() {
            return Self::NONE;
        }
        if self.log2_abs() <= -2.0 {
            return self.artanh_series(&w).rounded(precision);
        }
        above.over(&below, &w).ln(&w).shifted(-1).rounded(precision)
    }
}
