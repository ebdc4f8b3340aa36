//! Elementary functions of forms.
//!
//! f(m + d) = f(m) + f′(m)·d + e with |e| ≤ ½·d²·max |f″| between (Taylor's theorem). f(m) comes from [`crate::number::BigFloat`] with bits to spare, see the bound
//! in `number/big_float/elementary.rs`. f′ and the bound of |f″| are worked out in doubles: an
//! error of the argument counts as if f′ had been taken beside it.

use super::form::{Arithmetic, Form, size};
use crate::expression::Function;
use crate::number::upward::{down, up};
use crate::number::{BigFloat, Rational};
use crate::series::SeriesError;
use crate::series::floats::{Real, apply};

/// What a derivative in doubles loses at most, relative to it.
const DERIVATIVE_UNIT: f64 = 1.0 / 1_099_511_627_776.0;
/// Relative difference between a midpoint and the double that stands for it, at most.
const LEAD_UNIT: f64 = 1.0 / 1_125_899_906_842_624.0;

const OUTSIDE: SeriesError = SeriesError::Undefined("an argument may be outside the domain");

/// f′ at the midpoint, and a bound of |f″| nearby.
struct Slopes {
    first: f64,
    second: f64,
}

impl Arithmetic {
    fn value<C: Real>(&self, function: Function, x: &Form<C>) -> Result<C, SeriesError> {
        let value = apply(function, &x.mid.to_big(), &self.wide);
        if value.is_finite() {
            Ok(C::from_big(&value, &self.precision))
        } else {
            Err(OUTSIDE)
        }
    }

    /// f(x) from f(m), f′(m) and the bound of |f″|.
    fn around<C: Real>(
        &self,
        x: &Form<C>,
        mid: C,
        slopes: &Slopes,
    ) -> Result<Form<C>, SeriesError> {
        let wide = x.spread();
        let gap = x.gap();
        let beside = LEAD_UNIT * size(&x.mid);
        let first = slopes.first.abs();
        let radius = self.operation() * size(&mid)
            + first * x.radius
            + DERIVATIVE_UNIT * first * gap
            + slopes.second * (beside * wide + wide * wide);
        let mut own = x.slopes;
        for slope in &mut own {
            *slope *= slopes.first;
        }
        let radius = up(radius);
        if !radius.is_finite() {
            return Err(OUTSIDE);
        }
        Ok(Form {
            mid,
            slopes: own,
            radius,
        })
    }

    /// The function of a form.
    ///
    /// # Errors
    /// Where an argument may be outside the domain.
    pub(super) fn call<C: Real>(
        &self,
        function: Function,
        x: &Form<C>,
    ) -> Result<Form<C>, SeriesError> {
        let ratio = |above, below| {
            let above: Form<C> = self.call(above, x)?;
            self.quotient(&above, &self.call(below, x)?)
        };
        let inverse = |below| {
            let one = self.known(C::from_big(&BigFloat::from_i64(1), &self.precision));
            self.quotient(&one, &self.call(below, x)?)
        };
        match function {
            Function::Tan => return ratio(Function::Sin, Function::Cos),
            Function::Cot => return ratio(Function::Cos, Function::Sin),
            Function::Tanh => return ratio(Function::Sinh, Function::Cosh),
            Function::Coth => return ratio(Function::Cosh, Function::Sinh),
            Function::Sec => return inverse(Function::Cos),
            Function::Csc => return inverse(Function::Sin),
            Function::Sech => return inverse(Function::Cosh),
            Function::Csch => return inverse(Function::Sinh),
            _ => {}
        }
        let value = self.value(function, x)?;
        let slopes = self.slopes(function, x, &value)?;
        self.around(x, value, &slopes)
    }

    /// f′ and the bound of |f″|, for what is not a quotient.
    fn slopes<C: Real>(
        &self,
        function: Function,
        x: &Form<C>,
        value: &C,
    ) -> Result<Slopes, SeriesError> {
        let w = value.lead();
        let m = x.mid.lead();
        // Everything that is met lies so near to m.
        let reach = up(x.spread() + LEAD_UNIT * size(&x.mid));
        let partner =
            |function| -> Result<f64, SeriesError> { Ok(self.value(function, x)?.lead()) };
        let slopes = |first, second| {
            Ok(Slopes {
                first,
                second: up(second),
            })
        };
        // e^|d| < 2 for |d| ≤ 1/2.
        let small = reach <= 0.5;
        // At most 1 − |x|, |x| − 1 and |x| nearby; above these, |x|.
        let below_one = down(1.0, up(m.abs() + reach));
        let above_one = down(m, up(1.0 + reach));
        let above_zero = down(m, up(reach));
        let largest = up(m.abs() + reach);
        let cubed_root = |square: f64| square * libm::sqrt(square);
        match function {
            Function::Exp if small => slopes(w, 2.0 * w.abs()),
            Function::Sin => slopes(partner(Function::Cos)?, 1.0),
            Function::Cos => slopes(-partner(Function::Sin)?, 1.0),
            Function::Sinh if small => {
                let partner = partner(Function::Cosh)?;
                slopes(partner, 2.0 * partner)
            }
            Function::Cosh if small => slopes(partner(Function::Sinh)?, 2.0 * w),
            Function::Ln if above_zero > 0.0 => slopes(1.0 / m, 1.0 / (above_zero * above_zero)),
            // |f″| of arctan is at most 3√3/8, of arsinh 2/(3√3).
            Function::Arctan | Function::Arccot => {
                let sign = if function == Function::Arctan {
                    1.0
                } else {
                    -1.0
                };
                slopes(sign / (1.0 + m * m), 1.0)
            }
            Function::Arsinh => slopes(1.0 / libm::sqrt(1.0 + m * m), 1.0),
            Function::Arcsin | Function::Arccos if below_one > 0.0 => {
                let first = 1.0 / libm::sqrt((1.0 - m) * (1.0 + m));
                let sign = if function == Function::Arcsin {
                    1.0
                } else {
                    -1.0
                };
                // |1 − u²| ≥ (1 − |u|)·1 nearby.
                slopes(sign * first, 1.0 / cubed_root(below_one))
            }
            Function::Artanh if below_one > 0.0 => {
                let first = 1.0 / ((1.0 - m) * (1.0 + m));
                slopes(first, 2.0 / (below_one * below_one))
            }
            Function::Arcosh if above_one > 0.0 => {
                let first = 1.0 / libm::sqrt((m - 1.0) * (m + 1.0));
                slopes(first, largest / cubed_root(above_one * 2.0))
            }
            _ => Err(OUTSIDE),
        }
    }

    /// x^exponent for an exponent that is not an integer, x > 0, or x < 0 below an odd root.
    ///
    /// # Errors
    /// Where x may be outside the domain, or is not well inside.
    pub(super) fn power<C: Real>(
        &self,
        x: &Form<C>,
        exponent: &Rational,
    ) -> Result<Form<C>, SeriesError> {
        let value = x.mid.to_big().power(exponent, &self.wide);
        if !value.is_finite() {
            return Err(OUTSIDE);
        }
        let mid = C::from_big(&value, &self.precision);
        let m = x.mid.lead();
        let a = crate::number::to_f64(exponent);
        let share = up(x.spread() + LEAD_UNIT * m.abs()) / m.abs();
        let steep = (a - 2.0).abs() * share;
        // |1 + d/m|^(a−2) ≤ (1 − share)^(−|a−2|) or (1 + share)^|a−2|, both below e when these hold.
        if !(share <= 0.5 && steep <= 0.5) {
            return Err(OUTSIDE);
        }
        let first = a * (mid.lead() / m);
        let second = 3.0 * (first / m).abs() * (a - 1.0).abs();
        self.around(
            x,
            mid,
            &Slopes {
                first,
                second: up(second),
            },
        )
    }
}
