//! Series at a singular center, in balls.
//!
//! With t = x − c and uⱼ = tʲ·y⁽ʲ⁾ the equation y⁽ᵐ⁾ = S is tᵐ·y⁽ᵐ⁾ = H(t, u₀, …, uₘ₋₁). Where H is analytic at
//! t = 0 (for linear equations: a regular singular point; for others the equation of Briot and Bouquet), the
//! coefficients satisfy, with kʲ̲ = k(k−1)…(k−j+1),
//!
//! kᵐ̲·yₖ = Hₖ and uⱼ,ₖ = kʲ̲·yₖ.
//!
//! Hₖ depends on yₖ itself, linearly for k ≥ 1: with the partial derivatives cⱼ of H in uⱼ at the center and
//! Rₖ = Hₖ with 0 in place of yₖ,
//!
//! P(k)·yₖ = Rₖ, P(k) = kᵐ̲ − Σ cⱼ·kʲ̲.
//!
//! So every order is worked out twice, first with 0 for yₖ. Where P(k) = 0 the coefficient is given.
//!
//! *The tail* (see [`super::tail`]): yₖ is on both sides of kᵐ̲·yₖ = Hₖ, so the induction over the orders needs
//! one more argument. Cut everything off behind order n, and take the map that puts all tails into the
//! recurrences and gives new ones, uⱼ,ₖ = kʲ̲/kᵐ̲·Hₖ for the states. Guesses that reproduce themselves say
//! that it maps the product of balls with these radii into itself. It is continuous, so it has a fixed
//! point there (Brouwer): coefficients that satisfy all recurrences from order D to n. As P(k) ≠ 0 for all
//! k ≥ D (which is checked), there is only one such set, the true one. The factor kʲ̲/kᵐ̲ is largest for
//! k = D. (E. Coddington, N. Levinson, *Theory of Ordinary Differential Equations*, ch. 4 and ch. 5,
//! for the setting; from memory.)

use super::closed;
use super::form::{Arithmetic, Form, size};
use super::rows::Rows;
use super::tail::count;
use crate::budget::Fuel;
use crate::expression::Expr;
use crate::number::BigFloat;
use crate::number::upward::{down, up};
use crate::series::floats::Real;
use crate::series::{SeriesError, Tape};

/// k(k−1)…(k−j+1)
fn falling(k: usize, j: usize) -> i64 {
    let factors =
        (0..j).map(|less| i64::try_from(k).unwrap_or(i64::MAX) - i64::try_from(less).unwrap_or(0));
    factors.fold(1, i64::saturating_mul)
}

/// For each j at least kʲ̲/kᵐ̲ for all k from `order` on, if then P(k) ≠ 0 for all of these, where `sizes` are at least |cⱼ|.
pub(super) fn shares(sizes: &[f64], order: usize) -> Option<Vec<f64>> {
    let m = sizes.len();
    let shares: Vec<f64> = (0..m)
        .map(|j| {
            up((j..m)
                .map(|less| 1.0 / count(order.saturating_sub(less)))
                .product())
        })
        .collect();
    let sum = sizes
        .iter()
        .zip(&shares)
        .map(|(size, share)| size * share)
        .sum();
    (order > m && down(1.0, up(sum)) > 0.0).then_some(shares)
}

/// What the series at a singular center come from.
pub(crate) struct SingularCenter<'a> {
    /// Of H in the unknowns uⱼ, with t for the variable.
    pub(crate) tape: &'a Tape,
    /// Coefficients of the unknown that the equation does not give, or that are known anyway.
    pub(crate) given: &'a [Option<Expr>],
    /// The equation is linear.
    pub(crate) linear: bool,
}

/// Coefficients of the unknown that are given.
pub(super) type Given<C> = Vec<Option<Form<C>>>;

impl<'tape> SingularCenter<'tape> {
    /// Series of which nothing is known yet, and the given coefficients.
    ///
    /// # Errors
    /// When a constant cannot be enclosed.
    pub(super) fn rows<C: Real>(
        &self,
        bits: usize,
        orders: usize,
    ) -> Result<(Rows<'tape, C>, Given<C>), SeriesError> {
        let arithmetic = Arithmetic::new(bits, self.tape.states());
        let constants = self.tape.constants().iter();
        let constants = constants
            .map(|value| closed(value, &arithmetic))
            .collect::<Result<Vec<Form<C>>, SeriesError>>()?;
        let given = self.given.iter().map(|value| match value {
            Some(value) => Ok(Some(closed(value, &arithmetic)?)),
            None => Ok(None),
        });
        let given = given.collect::<Result<Given<C>, SeriesError>>()?;
        Ok((Rows::new(self.tape, arithmetic, constants, orders), given))
    }
}

/// The series at a singular center, in powers of t.
///
/// # Errors
/// As [`Rows::extend_singular`], and when a constant cannot be enclosed.
pub(super) fn expanded<'tape, C: Real>(
    center: &SingularCenter<'tape>,
    bits: usize,
    orders: usize,
    fuel: &mut Fuel,
) -> Result<Rows<'tape, C>, SeriesError> {
    let (mut rows, given) = center.rows(bits, orders)?;
    rows.restart(rows.zero.clone(), 0, &[]);
    rows.extend_singular(&given, center.linear, fuel)?;
    Ok(rows)
}

impl<C: Real> Rows<'_, C> {
    /// Works out all `wanted` orders at a singular center; `given` are the coefficients of the
    /// unknown that are known otherwise. The constant one has to be among them unless H is linear.
    ///
    /// # Errors
    /// Where H is not surely analytic, or P(k) may be zero for a coefficient that is not given; and when
    /// `fuel` runs out.
    pub(super) fn extend_singular(
        &mut self,
        given: &[Option<Form<C>>],
        linear: bool,
        fuel: &mut Fuel,
    ) -> Result<(), SeriesError> {
        let states = self.tape.states();
        let known = |k: usize| given.get(k).and_then(Option::as_ref);
        let mut factors: Vec<Form<C>> = Vec::new();
        if known(0).is_none() {
            if !linear {
                return Err(SeriesError::Unsupported(
                    "the value at the center is not given",
                ));
            }
            factors = self.factors(0, fuel)?;
        }
        for k in 0..self.wanted {
            if k == 1 && factors.is_empty() {
                factors = self.factors(1, fuel)?;
            }
            let value = if let Some(value) = known(k) {
                (0..k).fold(value.clone(), |value, _| self.stretched(&value, 1))
            } else {
                let rest = self.trial(k, &vec![self.zero.clone(); states], fuel)?;
                let whole = self.integer(falling(k, states));
                let polynomial = factors.iter().enumerate().fold(whole, |sum, (j, factor)| {
                    let own = self.arithmetic.scaled(factor, falling(k, j), 1);
                    self.arithmetic.sum(&sum, &own, true)
                });
                self.arithmetic.quotient(&rest, &polynomial)?
            };
            for j in 0..states {
                let own = self.arithmetic.scaled(&value, falling(k, j), 1);
                self.push(j, &own);
            }
            self.right_sides(k, fuel)?;
            self.done = k + 1;
        }
        let sizes = factors
            .iter()
            .map(|factor| up(size(&factor.mid) + factor.spread()));
        self.singular = Some(sizes.collect());
        Ok(())
    }

    fn integer(&self, value: i64) -> Form<C> {
        let big = BigFloat::from_i64(value);
        self.arithmetic
            .known(C::from_big(&big, &self.arithmetic.precision))
    }

    /// Hₖ with these coefficients of the states, all lower ones being known; nothing is kept.
    fn trial(
        &mut self,
        k: usize,
        states: &[Form<C>],
        fuel: &mut Fuel,
    ) -> Result<Form<C>, SeriesError> {
        for (j, state) in states.iter().enumerate() {
            self.push(j, state);
        }
        let done = self.right_sides(k, fuel);
        let result = self
            .tape
            .results()
            .first()
            .map_or_else(|| self.zero.clone(), |result| self.get(*result, k));
        for row in &mut self.all {
            row.truncate(k);
        }
        done.map(|()| result)
    }

    /// The cⱼ: what Hₖ gains by 1 in place of 0 for the coefficient k of uⱼ.
    fn factors(&mut self, k: usize, fuel: &mut Fuel) -> Result<Vec<Form<C>>, SeriesError> {
        let mut states = vec![self.zero.clone(); self.tape.states()];
        let without = self.trial(k, &states, fuel)?;
        let mut factors = Vec::new();
        for j in 0..states.len() {
            let one = self.integer(1);
            let before = states.get_mut(j).map(|state| std::mem::replace(state, one));
            let with = self.trial(k, &states, fuel)?;
            factors.push(self.arithmetic.sum(&with, &without, true));
            if let (Some(state), Some(before)) = (states.get_mut(j), before) {
                *state = before;
            }
        }
        Ok(factors)
    }
}

#[cfg(test)]
mod tests;
