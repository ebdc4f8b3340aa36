//! Numbers that are known up to a few uncertain ones: midpoint, first-order part, radius.
//!
//! A [`Form`] stands for all numbers m + Σ gᵢξᵢ + δ with |ξᵢ| ≤ 1, the ξᵢ the same in every form of a
//! computation, and |δ| ≤ r. What depends on the same uncertain initial values keeps knowing it, so that
//! their influence can cancel.
//!
//! Rounding: the basic operations on midpoints have a relative error of at most
//! [`Arithmetic::operation`] (double-doubles: at most 16.5·2⁻¹⁰⁶, see [`crate::number::double_double`];
//! big floats are rounded to nearest). First-order parts are plain doubles; what their rounding
//! loses goes into the radius.

use crate::number::big_float::Precision;
use crate::number::upward::up;
use crate::series::SeriesError;
use crate::series::floats::Real;

/// Most uncertain numbers at a time.
pub(super) const DIRECTIONS: usize = 12;

/// m + Σ gᵢξᵢ + δ.
#[derive(Clone, Debug)]
pub(super) struct Form<C> {
    pub(super) mid: C,
    pub(super) slopes: [f64; DIRECTIONS],
    pub(super) radius: f64,
}

/// What operations on first-order parts lose at most, relative to them.
const SLOPE_UNIT: f64 = 1.0 / 17_592_186_044_416.0;

/// How the work is done.
#[derive(Clone, Debug)]
pub(crate) struct Arithmetic {
    /// Of midpoints; for double-doubles at least theirs.
    pub(super) precision: Precision,
    /// Of elementary functions.
    pub(super) wide: Precision,
    /// 2⁻ᵇ for midpoints of b bits.
    pub(super) unit: f64,
    /// How many ξᵢ there are.
    pub(super) directions: usize,
}

impl Arithmetic {
    /// For midpoints of so many bits (106 for double-doubles) and so many uncertain numbers.
    pub(crate) fn new(bits: usize, directions: usize) -> Self {
        Self {
            precision: Precision::new(bits.max(128)),
            wide: Precision::new(bits + 24),
            unit: libm::ldexp(1.0, -i32::try_from(bits).unwrap_or(i32::MAX)),
            directions: directions.min(DIRECTIONS),
        }
    }

    /// Steps (see [`crate::budget`]) that each term of a sum of products takes.
    pub(super) fn effort(&self) -> u64 {
        let own = if self.unit > 1e-33 {
            4
        } else {
            6 * (self.precision.bits() as u64).div_ceil(64)
        };
        own + self.directions as u64
    }

    /// Relative error of one basic operation, at most.
    pub(super) fn operation(&self) -> f64 {
        32.0 * self.unit
    }

    /// A number known to this arithmetic's precision, or exactly.
    pub(super) fn known<C: Real>(&self, mid: C) -> Form<C> {
        let radius = up(self.operation() * size(&mid));
        Form {
            mid,
            slopes: [0.0; DIRECTIONS],
            radius,
        }
    }

    /// x ± y.
    pub(super) fn sum<C: Real>(&self, x: &Form<C>, y: &Form<C>, minus: bool) -> Form<C> {
        let sign = if minus { -1.0 } else { 1.0 };
        let mid = if minus {
            x.mid.sub(&y.mid, &self.precision)
        } else {
            x.mid.add(&y.mid, &self.precision)
        };
        let mut slopes = [0.0; DIRECTIONS];
        let mut gaps = 0.0;
        for ((slope, a), b) in slopes.iter_mut().zip(x.slopes).zip(y.slopes) {
            *slope = a + sign * b;
            gaps += a.abs() + b.abs();
        }
        let radius = up(x.radius + y.radius + self.operation() * size(&mid) + SLOPE_UNIT * gaps);
        Form {
            mid,
            slopes,
            radius,
        }
    }

    /// x·y.
    pub(super) fn product<C: Real>(&self, x: &Form<C>, y: &Form<C>) -> Form<C> {
        let (mx, my) = (size(&x.mid), size(&y.mid));
        let (gx, gy) = (x.gap(), y.gap());
        let radius = mx * y.radius
            + x.radius * my
            + (gx + x.radius) * (gy + y.radius)
            + self.operation() * mx * my
            + SLOPE_UNIT * (mx * gy + gx * my);
        let (a, b) = (x.mid.lead(), y.mid.lead());
        let mut slopes = [0.0; DIRECTIONS];
        for ((slope, gx), gy) in slopes.iter_mut().zip(x.slopes).zip(y.slopes) {
            *slope = a * gy + gx * b;
        }
        Form {
            mid: x.mid.mul(&y.mid, &self.precision),
            slopes,
            radius: up(radius),
        }
    }

    /// x/y.
    ///
    /// With the quotient q of the midpoints, x/y − q = ((x − mₓ) − q(y − mᵧ))/y, and
    /// |1/y − 1/mᵧ| ≤ w/(|mᵧ||y|) where |y − mᵧ| ≤ w.
    ///
    /// # Errors
    /// When 0 is among the numbers that y may be.
    pub(super) fn quotient<C: Real>(
        &self,
        x: &Form<C>,
        y: &Form<C>,
    ) -> Result<Form<C>, SeriesError> {
        let bottom = y.away_from_zero();
        if bottom.is_nan() || bottom <= 0.0 {
            return Err(SeriesError::Undefined("a divisor may be zero"));
        }
        let mid = x.mid.div(&y.mid, &self.precision)?;
        let (q, b) = (mid.lead(), y.mid.lead());
        let quotient = size(&mid);
        let mut slopes = [0.0; DIRECTIONS];
        let mut gaps = 0.0;
        for ((slope, gx), gy) in slopes.iter_mut().zip(x.slopes).zip(y.slopes) {
            *slope = (gx - q * gy) / b;
            gaps += gx.abs() + quotient * gy.abs();
        }
        let first_order = up(gaps);
        let wide = y.gap() + y.radius;
        let radius = (x.radius + quotient * y.radius + first_order * wide / b.abs()) / bottom
            + self.operation() * quotient * size(&y.mid) / bottom
            + SLOPE_UNIT * first_order / bottom;
        Ok(Form {
            mid,
            slopes,
            radius: up(radius),
        })
    }

    /// x · numerator/denominator.
    pub(super) fn scaled<C: Real>(&self, x: &Form<C>, numerator: i64, denominator: i64) -> Form<C> {
        let mid = x.mid.scale(numerator, denominator, &self.precision);
        #[allow(clippy::cast_precision_loss, reason = "the loss is part of the bound")]
        let factor = numerator as f64 / denominator as f64;
        let mut slopes = x.slopes;
        for slope in &mut slopes {
            *slope *= factor;
        }
        let gaps = x.gap() * factor.abs();
        Form {
            radius: up(x.radius * factor.abs() + self.operation() * size(&mid) + SLOPE_UNIT * gaps),
            mid,
            slopes,
        }
    }
}

/// At least the absolute value.
pub(super) fn size<C: Real>(mid: &C) -> f64 {
    up(mid.lead().abs())
}

impl<C: Real> Form<C> {
    /// At least |Σ gᵢξᵢ|.
    pub(super) fn gap(&self) -> f64 {
        up(self.slopes.iter().map(|slope| slope.abs()).sum())
    }

    /// At least |x − m|.
    pub(super) fn spread(&self) -> f64 {
        up(self.gap() + self.radius)
    }

    /// At most |x|; not positive where 0 may be among the numbers.
    pub(super) fn away_from_zero(&self) -> f64 {
        crate::number::upward::down(self.mid.lead().abs(), self.spread())
    }
}
