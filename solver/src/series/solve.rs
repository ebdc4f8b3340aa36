//! Runs a tape order by order over any kind of coefficient.

use super::tape::{Operation, Slot, Tape};
use super::{Coefficient, SeriesError};
use crate::budget::Fuel;
use crate::number::rational::{integer, ratio};

/// Taylor coefficients of the solution of `y^(m) = f(x, y, …, y^(m−1))`, or of a system of such
/// equations, about a center, found order by order, all unknowns together: each order takes O(k)
/// coefficient operations per elementary operation.
///
/// The coefficients are the normalised ones: `y = Σ c_k (x − center)^k`. A solver may be used
/// again with another center and other initial values ([`Solver::restart`]); its memory is kept.
#[derive(Clone, Debug)]
pub struct Solver<'tape, C: Coefficient> {
    tape: &'tape Tape,
    context: C::Context,
    /// Values of the tape's constants.
    constants: Vec<C>,
    /// One series per slot.
    rows: Vec<Vec<C>>,
    center: C,
    zero: C,
    one: C,
    /// Coefficients of the right-hand side known so far.
    done: usize,
    largest_bits: u64,
}

impl<'tape, C: Coefficient> Solver<'tape, C> {
    /// A solver at `center` with the values of `y, y′, …, y^(m−1)` there (not divided by
    /// factorials), those of one unknown after those of the other. Nothing is solved yet: the
    /// first `m` coefficients are known.
    ///
    /// # Errors
    /// When a constant has no value of this kind, or the number of initial values is not
    /// [`Tape::states`].
    pub fn new(
        tape: &'tape Tape,
        center: &C,
        initial: &[C],
        context: C::Context,
    ) -> Result<Self, SeriesError> {
        let constants = tape
            .constants
            .iter()
            .map(|constant| C::from_constant(constant, &context))
            .collect::<Result<Vec<C>, SeriesError>>()?;
        let mut solver = Self {
            tape,
            constants,
            rows: vec![Vec::new(); tape.operations.len()],
            center: center.clone(),
            zero: C::from_rational(&integer(0), &context),
            one: C::from_rational(&integer(1), &context),
            done: 0,
            largest_bits: u64::MAX,
            context,
        };
        solver.restart(center, initial)?;
        Ok(solver)
    }

    /// Gives up with [`SeriesError::Exhausted`] when a coefficient takes more bits than this.
    #[must_use]
    pub fn limit_bits(mut self, bits: u64) -> Self {
        self.largest_bits = bits;
        self
    }

    /// Starts again at another center with other initial values, without new memory.
    ///
    /// # Errors
    /// When the number of initial values is not [`Tape::states`].
    pub fn restart(&mut self, center: &C, initial: &[C]) -> Result<(), SeriesError> {
        if initial.len() != self.tape.states() {
            return Err(SeriesError::Unsupported(
                "as many initial values as the equation order",
            ));
        }
        self.center.clone_from(center);
        self.done = 0;
        for row in &mut self.rows {
            row.clear();
        }
        // y^(j) has the coefficients y^(j+i)/i!, of which those below the equation order are given.
        for &(start, order) in &self.tape.blocks {
            let own = initial.iter().take(start + order);
            for (j, row) in self.rows.iter_mut().enumerate().skip(start).take(order) {
                let mut factorial: i64 = 1;
                for (i, value) in own.clone().skip(j).enumerate() {
                    factorial = factorial
                        .checked_mul(i64::try_from(i.max(1)).unwrap_or(i64::MAX))
                        .ok_or(SeriesError::Exhausted)?;
                    row.push(value.scale(1, factorial, &self.context));
                }
            }
        }
        Ok(())
    }

    /// Puts a known series in place of the state of this index, until the next start. It must reach
    /// beyond what is solved.
    pub(crate) fn put(&mut self, state: usize, series: Vec<C>) {
        if let Some(row) = self.rows.get_mut(state) {
            *row = series;
        }
    }

    /// The coefficients `c_0, c_1, …` of the first unknown known so far.
    pub fn coefficients(&self) -> &[C] {
        self.row(0)
    }

    /// The coefficients of each unknown known so far.
    pub fn all_coefficients(&self) -> impl Iterator<Item = &[C]> {
        self.tape.blocks.iter().map(|(start, _)| self.row(*start))
    }

    /// The coefficients known so far of what has the initial value of this index: an unknown, or
    /// one of its derivatives below its equation order.
    pub fn state_coefficients(&self, index: usize) -> &[C] {
        if index < self.tape.states() {
            self.row(index)
        } else {
            &[]
        }
    }

    /// Solves on until `c_0 … c_degree` of every unknown are known. After an error those known before stand.
    ///
    /// # Errors
    /// [`SeriesError::Undefined`] when the right-hand side has no Taylor series at the initial
    /// data, [`SeriesError::Exhausted`] when `fuel` or the bits run out, and whatever the kind of
    /// coefficient says.
    pub fn extend(&mut self, degree: usize, fuel: &mut Fuel) -> Result<(), SeriesError> {
        let least = self.tape.least_order();
        while self.done + least <= degree {
            if let Err(error) = self.one_order(fuel) {
                let states = self.tape.states();
                for row in self.rows.iter_mut().skip(states) {
                    row.truncate(self.done);
                }
                return Err(error);
            }
        }
        Ok(())
    }

    /// The next coefficient of every series.
    fn one_order(&mut self, fuel: &mut Fuel) -> Result<(), SeriesError> {
        let k = self.done;
        let tape = self.tape;
        for (slot, (operation, extent)) in tape.operations.iter().zip(&tape.extents).enumerate() {
            if matches!(operation, Operation::State) || extent.is_some_and(|extent| k > extent) {
                continue;
            }
            let value = self.coefficient(slot, operation, k, fuel)?;
            if value.bits() > self.largest_bits {
                return Err(SeriesError::Exhausted);
            }
            fuel.spend(value.effort())?;
            if let Some(row) = self.rows.get_mut(slot) {
                row.push(value);
            }
        }
        // y^(m)_k known; y^(j)_{n+1} = y^(j+1)_n / (n+1) downwards.
        for (&(start, order), result) in tape.blocks.iter().zip(&tape.results) {
            let mut value = self.get(*result, k).clone();
            for (j, row) in self
                .rows
                .iter_mut()
                .skip(start)
                .take(order)
                .enumerate()
                .rev()
            {
                let degree = i64::try_from(k + order - j).map_err(|_| SeriesError::Exhausted)?;
                value = value.scale(1, degree, &self.context);
                row.push(value.clone());
            }
        }
        self.done += 1;
        Ok(())
    }

    /// The k-th coefficient of a series; zero beyond the degree of a polynomial.
    fn get(&self, slot: Slot, k: usize) -> &C {
        self.row(slot).get(k).unwrap_or(&self.zero)
    }

    fn row(&self, slot: Slot) -> &[C] {
        self.rows.get(slot).map_or(&[], Vec::as_slice)
    }

    /// `Σ a_i·b_{k−i}` for `i` from `first` to `last`.
    fn convolution(
        &self,
        (a, b): (Slot, Slot),
        k: usize,
        (first, last): (usize, usize),
        fuel: &mut Fuel,
    ) -> Result<C, SeriesError> {
        let (a, b) = (self.row(a), self.row(b));
        let first = first.max((k + 1).saturating_sub(b.len()));
        let end = (last + 1).min(a.len());
        let (Some(left), Some(right)) = (
            a.get(first..end),
            b.get((k + 1).saturating_sub(end)..(k + 1).saturating_sub(first)),
        ) else {
            return Ok(self.zero.clone());
        };
        let sum = C::convolve(self.zero.clone(), left, right, &self.context);
        fuel.spend((left.len() as u64).saturating_mul(1 + sum.bits() / 64 + sum.effort()))?;
        Ok(sum)
    }

    fn coefficient(
        &self,
        slot: Slot,
        operation: &Operation,
        k: usize,
        fuel: &mut Fuel,
    ) -> Result<C, SeriesError> {
        let context = &self.context;
        let degree = i64::try_from(k).map_err(|_| SeriesError::Exhausted)?;
        fuel.spend(1)?;
        Ok(match operation {
            Operation::State => self.zero.clone(),
            Operation::Constant(index) => self.constants.get(*index).unwrap_or(&self.zero).clone(),
            Operation::Variable => if k == 0 { &self.center } else { &self.one }.clone(),
            Operation::Add(a, b) => self.get(*a, k).add(self.get(*b, k), context),
            Operation::Subtract(a, b) => self.get(*a, k).sub(self.get(*b, k), context),
            Operation::Multiply(a, b) => self.convolution((*a, *b), k, (0, k), fuel)?,
            Operation::Square(a) => self.square(*a, k, fuel)?,
            Operation::Divide(a, b) => {
                let known = self.convolution((slot, *b), k, (0, k.saturating_sub(1)), fuel)?;
                self.get(*a, k)
                    .sub(&known, context)
                    .div(self.get(*b, 0), context)?
            }
            Operation::Slope(a) => self.get(*a, k).scale(degree, 1, context),
            Operation::Sign(a) => {
                let sign = self
                    .get(*a, 0)
                    .call(crate::expression::Function::Sign, context)?;
                if sign.is_zero() {
                    return Err(SeriesError::Undefined("the absolute value at its kink"));
                }
                sign
            }
            Operation::Power {
                base,
                slope,
                numerator,
                denominator,
            } => {
                if k == 0 {
                    self.get(*base, 0)
                        .power(&ratio(*numerator, *denominator), context)?
                } else {
                    // k·u₀·w_k = Σ (r·i − (k−i)) u_i·w_{k−i}, i = 1 … k.
                    let growing = self.convolution((*slope, slot), k, (1, k), fuel)?;
                    let known = self.convolution((*base, slot + 1), k, (1, k - 1), fuel)?;
                    growing
                        .scale(*numerator, *denominator, context)
                        .sub(&known, context)
                        .scale(1, degree, context)
                        .div(self.get(*base, 0), context)?
                }
            }
            Operation::Chain {
                function,
                argument,
                slope,
                factor,
                negative,
            } => {
                if k == 0 {
                    self.get(*argument, 0).call(*function, context)?
                } else {
                    let sign = if *negative { -1 } else { 1 };
                    self.convolution((*slope, *factor), k, (1, k), fuel)?
                        .scale(sign, degree, context)
                }
            }
            Operation::ChainQuotient {
                function,
                argument,
                slope,
                divisor,
                negative,
            } => {
                if k == 0 {
                    self.get(*argument, 0).call(*function, context)?
                } else {
                    // k·g₀·w_k = ±k·u_k − Σ i·w_i·g_{k−i}, i = 1 … k−1.
                    let known = self.convolution((slot + 1, *divisor), k, (1, k - 1), fuel)?;
                    self.get(*slope, k)
                        .scale(if *negative { -1 } else { 1 }, 1, context)
                        .sub(&known, context)
                        .scale(1, degree, context)
                        .div(self.get(*divisor, 0), context)?
                }
            }
        })
    }

    /// `2·Σ a_i·a_{k−i}` over `i < k/2`, and the square in the middle.
    fn square(&self, a: Slot, k: usize, fuel: &mut Fuel) -> Result<C, SeriesError> {
        let context = &self.context;
        let mut sum = if k == 0 {
            self.zero.clone()
        } else {
            self.convolution((a, a), k, (0, (k - 1) / 2), fuel)?
                .scale(2, 1, context)
        };
        if k.is_multiple_of(2) {
            let middle = self.get(a, k / 2);
            sum = sum.add(&middle.mul(middle, context), context);
        }
        Ok(sum)
    }
}

#[cfg(test)]
mod tests;
