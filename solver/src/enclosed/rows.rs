//! The recurrences of series arithmetic (Griewank & Walther, *Evaluating Derivatives*, 2nd ed.,
//! ch. 13), on forms.
//!
//! Same tape, same recurrences as [`crate::series::Solver`], but kept as columns: midpoints,
//! first-order parts and bounds of one series stand in arrays of their own, so that the sums of
//! products run over plain doubles.

use super::form::{Arithmetic, DIRECTIONS, Form, size};
use crate::budget::Fuel;
use crate::expression::Function;
use crate::number::rational::ratio;
use crate::number::upward::up;
use crate::series::floats::Real;
use crate::series::tape::{Operation, Slot};
use crate::series::{SeriesError, Tape};

/// What sums of products of doubles lose at most, relative to the sum of the absolute values, for each
/// term.
const SUM_UNIT: f64 = 1.0 / 281_474_976_710_656.0;

/// One series; order k at index k.
#[derive(Clone, Debug)]
pub(super) struct Row<C> {
    pub(super) mids: Vec<C>,
    /// The same as doubles.
    pub(super) leads: Vec<f64>,
    /// At least |midpoint|.
    pub(super) sizes: Vec<f64>,
    /// For each direction the first-order parts; shorter (zero) as long as there are none.
    pub(super) slopes: Vec<Vec<f64>>,
    pub(super) radii: Vec<f64>,
    /// At least |coefficient − midpoint|.
    pub(super) spreads: Vec<f64>,
    /// The radius, and what a product loses by rounding, shared out to its factors.
    slacks: Vec<f64>,
    /// No first-order parts.
    flat: bool,
}

impl<C: Real> Row<C> {
    fn new(directions: usize) -> Self {
        Self {
            mids: Vec::new(),
            leads: Vec::new(),
            sizes: Vec::new(),
            slopes: vec![Vec::new(); directions],
            radii: Vec::new(),
            spreads: Vec::new(),
            slacks: Vec::new(),
            flat: true,
        }
    }

    fn clear(&mut self) {
        self.mids.clear();
        self.leads.clear();
        self.sizes.clear();
        self.slopes.iter_mut().for_each(Vec::clear);
        self.radii.clear();
        self.spreads.clear();
        self.slacks.clear();
        self.flat = true;
    }

    /// Forgets the orders from k on.
    pub(super) fn truncate(&mut self, k: usize) {
        self.mids.truncate(k);
        self.leads.truncate(k);
        self.sizes.truncate(k);
        self.slopes.iter_mut().for_each(|own| own.truncate(k));
        self.radii.truncate(k);
        self.spreads.truncate(k);
        self.slacks.truncate(k);
    }

    pub(super) fn len(&self) -> usize {
        self.mids.len()
    }

    pub(super) fn get(&self, k: usize) -> Option<Form<C>> {
        let mut slopes = [0.0; DIRECTIONS];
        for (own, row) in slopes.iter_mut().zip(&self.slopes) {
            *own = row.get(k).copied().unwrap_or(0.0);
        }
        Some(Form {
            mid: self.mids.get(k)?.clone(),
            slopes,
            radius: *self.radii.get(k)?,
        })
    }
}

/// All series of a tape at one center.
#[derive(Clone, Debug)]
pub(super) struct Rows<'tape, C> {
    pub(super) tape: &'tape Tape,
    pub(super) arithmetic: Arithmetic,
    pub(super) all: Vec<Row<C>>,
    constants: Vec<Form<C>>,
    pub(super) zero: Form<C>,
    center: Form<C>,
    /// Everything is a series in (x − center)/2^scale.
    pub(super) scale: i32,
    /// So many coefficients of right-hand sides are known.
    pub(super) done: usize,
    /// How many there will be: bounds of rounding errors depend on it.
    pub(super) wanted: usize,
    /// At a singular center bounds of the partial derivatives (see [`super::singular`]).
    pub(super) singular: Option<Vec<f64>>,
}

impl<'tape, C: Real> Rows<'tape, C> {
    /// Nothing is known yet; `wanted` orders of right-hand sides are going to be.
    pub(super) fn new(
        tape: &'tape Tape,
        arithmetic: Arithmetic,
        constants: Vec<Form<C>>,
        wanted: usize,
    ) -> Self {
        let zero = Form {
            mid: C::from_big(&crate::number::BigFloat::ZERO, &arithmetic.precision),
            slopes: [0.0; DIRECTIONS],
            radius: 0.0,
        };
        Self {
            tape,
            all: vec![Row::new(arithmetic.directions); tape.len()],
            arithmetic,
            constants,
            center: zero.clone(),
            zero,
            scale: 0,
            done: 0,
            wanted,
            singular: None,
        }
    }

    /// Starts at a center with the values of the unknowns and their lower derivatives.
    pub(super) fn restart(&mut self, center: Form<C>, scale: i32, initial: &[Form<C>]) {
        self.center = center;
        self.scale = scale.clamp(-40, 30);
        self.done = 0;
        for row in &mut self.all {
            row.clear();
        }
        let tape = self.tape;
        for &(start, order) in tape.blocks() {
            for j in 0..order {
                let mut factor = 1_i64;
                for (i, value) in initial
                    .iter()
                    .take(start + order)
                    .skip(start + j)
                    .enumerate()
                {
                    factor = factor.saturating_mul(i64::try_from(i.max(1)).unwrap_or(i64::MAX));
                    let mut form = self.arithmetic.scaled(value, 1, factor);
                    for _ in 0..i {
                        form = self.stretched(&form, 1);
                    }
                    self.push(start + j, &form);
                }
            }
        }
    }

    /// The form times 2^scale/divisor.
    pub(super) fn stretched(&self, form: &Form<C>, divisor: i64) -> Form<C> {
        let power = 1_i64 << self.scale.unsigned_abs();
        if self.scale >= 0 {
            self.arithmetic.scaled(form, power, divisor)
        } else {
            self.arithmetic
                .scaled(form, 1, divisor.saturating_mul(power))
        }
    }

    pub(super) fn push(&mut self, slot: Slot, form: &Form<C>) {
        #[allow(clippy::cast_precision_loss, reason = "far below 2^53")]
        let terms = self.wanted as f64 + 16.0;
        // A sum of n products of midpoints is off by at most 4(n + 2) units relative to the sum of
        // the absolute values: at most 5 for a product and 3 for each of n − 1 additions.
        let rounding = 2.0 * (terms + 4.0) * self.arithmetic.unit;
        let Some(row) = self.all.get_mut(slot) else {
            return;
        };
        let (size, gap) = (size(&form.mid), form.gap());
        row.leads.push(form.mid.lead());
        row.sizes.push(size);
        row.radii.push(form.radius);
        row.spreads.push(up(gap + form.radius));
        row.slacks
            .push(up(form.radius + rounding * size + terms * SUM_UNIT * gap));
        row.mids.push(form.mid.clone());
        let any = form.slopes.iter().any(|slope| slope.abs() > 0.0);
        if any && row.flat {
            row.flat = false;
            let before = row.mids.len() - 1;
            for own in &mut row.slopes {
                own.resize(before, 0.0);
            }
        }
        if !row.flat {
            for (own, slope) in row.slopes.iter_mut().zip(form.slopes) {
                own.push(slope);
            }
        }
    }

    pub(super) fn get(&self, slot: Slot, k: usize) -> Form<C> {
        self.all
            .get(slot)
            .and_then(|row| row.get(k))
            .unwrap_or_else(|| self.zero.clone())
    }

    /// `Σ a_i·b_{k−i}` for `i` from `first` to `last`.
    fn convolution(
        &self,
        (a, b): (Slot, Slot),
        k: usize,
        (first, last): (usize, usize),
        fuel: &mut Fuel,
    ) -> Result<Form<C>, SeriesError> {
        let (Some(a), Some(b)) = (self.all.get(a), self.all.get(b)) else {
            return Ok(self.zero.clone());
        };
        let first = first.max((k + 1).saturating_sub(b.len()));
        let end = (last + 1).min(a.len());
        if end <= first {
            return Ok(self.zero.clone());
        }
        let left = first..end;
        let right = k + 1 - end..k + 1 - first;
        fuel.spend((end - first) as u64 * self.arithmetic.effort())?;
        let (Some(mids), Some(other)) = (a.mids.get(left.clone()), b.mids.get(right.clone()))
        else {
            return Ok(self.zero.clone());
        };
        let mid = C::convolve(
            self.zero.mid.clone(),
            mids,
            other,
            &self.arithmetic.precision,
        );
        let dot = |x: &[f64], y: &[f64]| -> f64 {
            let (Some(x), Some(y)) = (x.get(left.clone()), y.get(right.clone())) else {
                return 0.0;
            };
            x.iter().zip(y.iter().rev()).map(|(x, y)| x * y).sum()
        };
        let radius =
            up(dot(&a.sizes, &b.slacks) + dot(&a.slacks, &b.sizes) + dot(&a.spreads, &b.spreads));
        let mut slopes = [0.0; DIRECTIONS];
        if !(a.flat && b.flat) {
            for ((slope, ga), gb) in slopes.iter_mut().zip(&a.slopes).zip(&b.slopes) {
                *slope = dot(&a.leads, gb) + dot(ga, &b.leads);
            }
        }
        Ok(Form {
            mid,
            slopes,
            radius,
        })
    }

    /// Solves on until all `wanted` orders are known.
    ///
    /// # Errors
    /// Where the right-hand side is not surely analytic at the data, and when `fuel` runs out.
    pub(super) fn extend(&mut self, fuel: &mut Fuel) -> Result<(), SeriesError> {
        while self.done < self.wanted {
            self.one_order(fuel)?;
        }
        Ok(())
    }

    fn one_order(&mut self, fuel: &mut Fuel) -> Result<(), SeriesError> {
        let k = self.done;
        self.right_sides(k, fuel)?;
        let tape = self.tape;
        for (&(start, order), result) in tape.blocks().iter().zip(tape.results()) {
            let mut form = self.get(*result, k);
            for j in (0..order).rev() {
                let degree = i64::try_from(k + order - j).map_err(|_| SeriesError::Exhausted)?;
                form = self.stretched(&form, degree);
                self.push(start + j, &form);
            }
        }
        self.done += 1;
        Ok(())
    }

    /// Order k of everything but the states, of which it is known.
    pub(super) fn right_sides(&mut self, k: usize, fuel: &mut Fuel) -> Result<(), SeriesError> {
        let tape = self.tape;
        for (slot, operation) in tape.operations().iter().enumerate() {
            if matches!(operation, Operation::State)
                || tape.extent(slot).is_some_and(|extent| k > extent)
            {
                continue;
            }
            let form = self.coefficient(slot, operation, k, fuel)?;
            if !form.radius.is_finite() {
                return Err(SeriesError::Exhausted);
            }
            self.push(slot, &form);
        }
        Ok(())
    }

    fn coefficient(
        &self,
        slot: Slot,
        operation: &Operation,
        k: usize,
        fuel: &mut Fuel,
    ) -> Result<Form<C>, SeriesError> {
        let arithmetic = &self.arithmetic;
        let degree = i64::try_from(k).map_err(|_| SeriesError::Exhausted)?;
        fuel.spend(40)?;
        Ok(match operation {
            Operation::State => self.zero.clone(),
            Operation::Constant(index) => self.constants.get(*index).unwrap_or(&self.zero).clone(),
            Operation::Variable if k == 0 => self.center.clone(),
            Operation::Variable => {
                let one = crate::number::BigFloat::power_of_two(self.scale as isize);
                Form {
                    mid: C::from_big(&one, &arithmetic.precision),
                    ..self.zero.clone()
                }
            }
            Operation::Add(a, b) => arithmetic.sum(&self.get(*a, k), &self.get(*b, k), false),
            Operation::Subtract(a, b) => arithmetic.sum(&self.get(*a, k), &self.get(*b, k), true),
            Operation::Multiply(a, b) => self.convolution((*a, *b), k, (0, k), fuel)?,
            Operation::Square(a) => self.square(*a, k, fuel)?,
            Operation::Divide(a, b) => {
                let mut rest = self.get(*a, k);
                if k > 0 {
                    let known = self.convolution((slot, *b), k, (0, k - 1), fuel)?;
                    rest = arithmetic.sum(&rest, &known, true);
                }
                arithmetic.quotient(&rest, &self.get(*b, 0))?
            }
            Operation::Slope(a) => arithmetic.scaled(&self.get(*a, k), degree, 1),
            Operation::Sign(a) => {
                let form = self.get(*a, 0);
                let away = form.away_from_zero();
                if away.is_nan() || away <= 0.0 {
                    return Err(SeriesError::Undefined("the absolute value at its kink"));
                }
                Form {
                    mid: form.mid.call(Function::Sign, &arithmetic.precision)?,
                    ..self.zero.clone()
                }
            }
            Operation::Power {
                base,
                numerator,
                denominator,
                ..
            } if k == 0 => {
                arithmetic.power(&self.get(*base, 0), &ratio(*numerator, *denominator))?
            }
            Operation::Power {
                base,
                slope,
                numerator,
                denominator,
            } => {
                // k·u₀·w_k = Σ (r·i − (k−i)) u_i·w_{k−i}, i = 1 … k.
                let growing = self.convolution((*slope, slot), k, (1, k), fuel)?;
                let known = self.convolution((*base, slot + 1), k, (1, k - 1), fuel)?;
                let growing = arithmetic.scaled(&growing, *numerator, *denominator);
                let rest = arithmetic.sum(&growing, &known, true);
                arithmetic.quotient(&arithmetic.scaled(&rest, 1, degree), &self.get(*base, 0))?
            }
            Operation::Chain {
                function, argument, ..
            }
            | Operation::ChainQuotient {
                function, argument, ..
            } if k == 0 => {
                fuel.spend(4000 * (1 + arithmetic.wide.bits() as u64 / 128))?;
                arithmetic.call(*function, &self.get(*argument, 0))?
            }
            Operation::Chain {
                slope,
                factor,
                negative,
                ..
            } => {
                let sum = self.convolution((*slope, *factor), k, (1, k), fuel)?;
                arithmetic.scaled(&sum, if *negative { -1 } else { 1 }, degree)
            }
            Operation::ChainQuotient {
                slope,
                divisor,
                negative,
                ..
            } => {
                // k·g₀·w_k = ±k·u_k − Σ i·w_i·g_{k−i}, i = 1 … k−1.
                let known = self.convolution((slot + 1, *divisor), k, (1, k - 1), fuel)?;
                let own = self.get(*slope, k);
                let own = arithmetic.scaled(&own, if *negative { -1 } else { 1 }, 1);
                let rest = arithmetic.sum(&own, &known, true);
                arithmetic.quotient(&arithmetic.scaled(&rest, 1, degree), &self.get(*divisor, 0))?
            }
        })
    }

    /// `2·Σ a_i·a_{k−i}` over `i < k/2`, and the square in the middle.
    fn square(&self, a: Slot, k: usize, fuel: &mut Fuel) -> Result<Form<C>, SeriesError> {
        let arithmetic = &self.arithmetic;
        let mut sum = self.zero.clone();
        if k > 0 {
            let half = self.convolution((a, a), k, (0, (k - 1) / 2), fuel)?;
            sum = arithmetic.scaled(&half, 2, 1);
        }
        if k.is_multiple_of(2) {
            let middle = self.get(a, k / 2);
            sum = arithmetic.sum(&sum, &arithmetic.product(&middle, &middle), false);
        }
        Ok(sum)
    }
}
