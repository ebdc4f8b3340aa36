//! Elementary functions of forms.
//!
//! f(m + d) = f(m) + f′(m)·d + e with |e| ≤ ½·d²·max |f″| between (Taylor's theorem). f(m) comes from [`crate::number::BigFloat`] with bits to spare, see the bound
//! in `number/big_float/elementary.rs`. f′ and the bound of |f″| are worked out in doubles, f′ from
//! quantities that lose nothing by cancellation (1 − |x| and not x near 1), so that its relative error
//! is at most [`DERIVATIVE_UNIT`].

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
        let first = slopes.first.abs();
        let radius = self.operation() * size(&mid)
            + first * x.radius
            + DERIVATIVE_UNIT * first * gap
            + slopes.second * wide * wide;
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
        match function {
            Function::Tanh | Function::Coth | Function::Sech | Function::Csch
                if x.mid.lead().abs() > 1.0 =>
            {
                return self.decaying(function, x);
            }
            Function::Tan => return self.ratio(Function::Sin, Function::Cos, x),
            Function::Cot => return self.ratio(Function::Cos, Function::Sin, x),
            Function::Tanh => return self.ratio(Function::Sinh, Function::Cosh, x),
            Function::Coth => return self.ratio(Function::Cosh, Function::Sinh, x),
            Function::Sec => return self.inverse(Function::Cos, x),
            Function::Csc => return self.inverse(Function::Sin, x),
            Function::Sech => return self.inverse(Function::Cosh, x),
            Function::Csch => return self.inverse(Function::Sinh, x),
            _ => {}
        }
        let value = self.value(function, x)?;
        let slopes = self.slopes(function, x, &value)?;
        self.around(x, value, &slopes)
    }

    fn one<C: Real>(&self) -> Form<C> {
        self.known(C::from_big(&BigFloat::from_i64(1), &self.precision))
    }

    fn ratio<C: Real>(
        &self,
        above: Function,
        below: Function,
        x: &Form<C>,
    ) -> Result<Form<C>, SeriesError> {
        let above = self.call(above, x)?;
        self.quotient(&above, &self.call(below, x)?)
    }

    fn inverse<C: Real>(&self, below: Function, x: &Form<C>) -> Result<Form<C>, SeriesError> {
        self.quotient(&self.one(), &self.call(below, x)?)
    }

    /// Hyperbolic functions that tend to ±1 or 0, by e^(−|x|) = q: (1 ∓ q²)/(1 ± q²) and 2q/(1 ± q²). Neither
    /// the size of e^|x| nor what x may be off comes in.
    fn decaying<C: Real>(&self, function: Function, x: &Form<C>) -> Result<Form<C>, SeriesError> {
        let negative = x.mid.lead() < 0.0;
        let sign = if negative { 1 } else { -1 };
        let q = self.call(Function::Exp, &self.scaled(x, sign, 1))?;
        let square = self.product(&q, &q);
        let (one, grown) = (self.one(), self.scaled(&q, 2, 1));
        let (less, more) = (
            self.sum(&one, &square, true),
            self.sum(&one, &square, false),
        );
        let found = match function {
            Function::Tanh => self.quotient(&less, &more),
            Function::Coth => self.quotient(&more, &less),
            Function::Sech => self.quotient(&grown, &more),
            _ => self.quotient(&grown, &less),
        }?;
        let odd = negative && function != Function::Sech;
        Ok(if odd {
            self.scaled(&found, -1, 1)
        } else {
            found
        })
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
        // 1 − |x| or |x| − 1, and at most this and |x| nearby; above these, |x|.
        let edge = self.sum(
            &self.scaled(x, if m < 0.0 { -1 } else { 1 }, 1),
            &self.one(),
            true,
        );
        let (inside, outside) = (-edge.mid.lead(), edge.mid.lead());
        let from_edge = edge.away_from_zero();
        let is_inside = inside > 0.0 && from_edge > 0.0;
        let above_zero = down(m.abs(), up(reach));
        let largest = up(m.abs() + reach);
        let cubed_root = |square: f64| square * libm::sqrt(square);
        let sign = |rising: Function| if function == rising { 1.0 } else { -1.0 };
        match function {
            Function::Exp if small => slopes(w, 2.0 * w.abs()),
            Function::Sin => slopes(partner(Function::Cos)?, 1.0),
            Function::Cos => slopes(-partner(Function::Sin)?, 1.0),
            Function::Sinh if small => {
                let partner = partner(Function::Cosh)?;
                slopes(partner, 2.0 * partner)
            }
            Function::Cosh if small => slopes(partner(Function::Sinh)?, 2.0 * w),
            Function::Ln if m > 0.0 && above_zero > 0.0 => {
                slopes(1.0 / m, 1.0 / (above_zero * above_zero))
            }
            // |f″| of arctan, 2|u|/(1 + u²)², is at most 3√3/8 and at most 2/|u|³; of arsinh,
            // |u|/(1 + u²)^(3/2), at most 2/(3√3) and at most 1/u².
            Function::Arctan | Function::Arccot => {
                let second = if above_zero > 1.0 {
                    2.0 / (above_zero * above_zero * above_zero)
                } else {
                    1.0
                };
                slopes(sign(Function::Arctan) / (1.0 + m * m), second)
            }
            Function::Arsinh => {
                let second = if above_zero > 1.0 {
                    1.0 / (above_zero * above_zero)
                } else {
                    1.0
                };
                slopes(1.0 / libm::sqrt(1.0 + m * m), second)
            }
            // |u|/(1 − u²)^(3/2), where 1 − u² ≥ (1 − |u|)·1 nearby.
            Function::Arcsin | Function::Arccos if is_inside => {
                let first = 1.0 / libm::sqrt(inside * (1.0 + m.abs()));
                slopes(
                    sign(Function::Arcsin) * first,
                    largest / cubed_root(from_edge),
                )
            }
            Function::Artanh if is_inside => slopes(
                1.0 / (inside * (1.0 + m.abs())),
                2.0 * largest / (from_edge * from_edge),
            ),
            // u/(u² − 1)^(3/2), where u + 1 ≥ 2 + the distance from 1.
            Function::Arcosh if m > 0.0 && outside > 0.0 && from_edge > 0.0 => slopes(
                1.0 / libm::sqrt(outside * (m + 1.0)),
                largest / cubed_root(from_edge * (2.0 + from_edge)),
            ),
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
