//! Upper bounds in doubles, without rounding modes.

/// Added to every bound: more than all that underflow can have lost.
const TINY: f64 = 1e-300;

/// 1 + 2⁻⁴⁰.
const RAISED: f64 = 1.0 + 9.094_947_017_729_282e-13;

/// At least the exact value of an expression that came out as `value`, when it is made of at most
/// 2¹² additions, multiplications and divisions, each rounded to nearest, of numbers that are not
/// negative, and no factor above 2⁷⁰ stands behind an underflow: each operation is off by a factor
/// of at most 1 ± 2⁻⁵³, or by 2⁻¹⁰⁷⁵. Overflow gives infinity or "not a number", never less.
#[inline]
pub(crate) fn up(value: f64) -> f64 {
    value * RAISED + TINY
}

/// At most the exact value of an expression, in which bounds from above may be subtracted once at
/// the end: `positive` as in [`up`], `subtracted` itself an upper bound.
#[inline]
pub(crate) fn down(positive: f64, subtracted: f64) -> f64 {
    positive * (2.0 - RAISED) - subtracted * RAISED - TINY
}
