//! From an enclosed value to its certain digits, and from the values of two runs to those that both
//! show.

use super::Estimate;
use crate::enclosed::walk::Enclosed;
use crate::number::{BigFloat, decimal};

/// A value as it was enclosed, or as two runs found it.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Agreed {
    /// The value of the more careful run.
    pub(super) value: BigFloat,
    /// log₂ of the difference from the other run (at least the rounding of the coarser one), or of
    /// the radius.
    pub(super) doubt: f64,
    /// The proved distance from the value, at most.
    pub(super) radius: Option<f64>,
}

/// log₁₀ 2.
const LOG10_2: f64 = std::f64::consts::LOG10_2;

impl Agreed {
    /// Compares. `bits`: of the coarser run.
    pub(super) fn new(coarse: &BigFloat, fine: &BigFloat, bits: usize) -> Self {
        let precision = crate::number::big_float::Precision::new(2 * bits + 64);
        let difference = coarse.minus(fine, &precision).log2_abs();
        let rounding = fine.log2_abs() - super::growth::to_f64(bits) + 4.0;
        Self {
            value: fine.clone(),
            doubt: difference.max(rounding),
            radius: None,
        }
    }

    /// Proved.
    pub(super) fn enclosed(found: Enclosed) -> Self {
        Self {
            value: found.mid,
            // Nothing but what an underflow might have lost.
            doubt: if found.radius < 1e-290 {
                f64::NEG_INFINITY
            } else {
                libm::log2(found.radius)
            },
            radius: Some(found.radius),
        }
    }

    /// How many significant digits both runs share, less one for caution; not capped.
    pub(super) fn digits(&self) -> f64 {
        if self.value.is_zero() {
            return if self.doubt.is_finite() { 0.0 } else { 1e3 };
        }
        libm::floor((self.value.log2_abs() - self.doubt) * LOG10_2) - 1.0
    }

    /// Digits that the doubt leaves to a number of the size 2^`scale`.
    pub(super) fn digits_at(&self, scale: f64) -> f64 {
        (scale - self.doubt) * LOG10_2
    }

    /// The shown value; `None` when no digit of it is certain. `scale`: log₂ of the size of the
    /// solution nearby; a value that cannot be told from zero at all, and is nothing compared with
    /// it, is shown as 0.
    /// At most `most` digits.
    pub(super) fn estimate(&self, scale: f64, most: u32) -> Option<Estimate> {
        let digits = self.digits().min(f64::from(most));
        if self.value.is_zero() || (digits < 1.0 && self.digits_at(scale) > 20.0) {
            return Some(Estimate {
                text: "0".to_owned(),
                value: 0.0,
                digits: 1,
            });
        }
        let digits = u32::try_from(super::growth::to_i32(digits))
            .ok()
            .filter(|digits| *digits > 0)?;
        let (text, digits) = self.certain(digits);
        Some(Estimate {
            text,
            value: self.value.to_f64(),
            digits,
        })
    }

    /// So many digits, or a few less: of an enclosure only those to which both ends round.
    fn certain(&self, digits: u32) -> (String, u32) {
        let own = |digits| (decimal::significant(&self.value, digits), digits);
        let Some(radius) = self.radius else {
            return own(digits);
        };
        let least = digits.saturating_sub(4).max(1);
        decimal::shared(&self.value, radius, (least, digits)).unwrap_or_else(|| own(least))
    }
}

#[cfg(test)]
mod tests {
    use super::Agreed;
    use crate::number::BigFloat;
    use crate::number::big_float::Precision;
    use crate::number::rational::ratio;

    #[test]
    fn only_shared_digits_are_shown() {
        let p = Precision::new(128);
        let third = BigFloat::from_rational(&ratio(1, 3), &p);
        let off = third.plus(&BigFloat::from_f64(1e-12), &p);
        let agreed = Agreed::new(&off, &third, 106);
        // Shared: 11 digits; one less is shown.
        assert_eq!(agreed.estimate(0.0, 18).unwrap().text, "0.3333333333");
        let same = Agreed::new(&third, &third, 106);
        assert_eq!(same.estimate(0.0, 18).unwrap().text, "0.333333333333333333");
        // Never padded: a thousand with few certain digits, with one, with none.
        for (error, text) in [
            (5e-10, Some("1000.0000000")),
            (0.05, Some("1.00e3")),
            (5.0, Some("1e3")),
            (400.0, None),
        ] {
            let thousand = BigFloat::from_i64(1000);
            let other = BigFloat::from_f64(1000.0 + error);
            let shown = Agreed::new(&other, &thousand, 106).estimate(10.0, 18);
            assert_eq!(shown.as_ref().map(|e| e.text.as_str()), text, "{error}");
        }
    }

    #[test]
    fn what_cannot_be_told_from_zero_is_zero() {
        let tiny = BigFloat::from_f64(3e-30);
        let other = BigFloat::from_f64(-2e-30);
        assert_eq!(
            Agreed::new(&other, &tiny, 106)
                .estimate(0.0, 18)
                .unwrap()
                .text,
            "0"
        );
    }
}
