//! The first step about a regular singular point of a linear equation.
//!
//! The equation cannot be solved for its highest derivative there, but its lines give the Taylor
//! coefficients one by one (see [`crate::derivation::every_order`]). Each run works them out anew
//! with its own kind of number, its own degree and its own step; from the end of that step on the
//! equation is an ordinary one.

use num_traits::{ToPrimitive, Zero};

use super::barrier::Barrier;
use super::coefficients::Real;
use super::integrate::{self, Course, Manner, Path, Step, approximate, falling_powers, short};
use crate::budget::{Budget, Fuel};
use crate::check::factorial;
use crate::derivation::{Convergence, Derivation, EveryOrder, every_order};
use crate::expression::{Expr, Symbol};
use crate::number::Rational;
use crate::number::big_float::Precision;
use crate::problem::{Problem, Route};
use crate::series::{SeriesError, Solver, Tape};

/// What the series at the center comes from.
pub(super) struct Start {
    every: EveryOrder,
    /// For j = 0 … m the factor of y^(j), then the terms without the unknown: functions of the
    /// independent variable, all on the left side.
    factors: Vec<Tape>,
    /// Exact coefficients, for those that no line gives.
    given: Vec<Expr>,
}

impl Start {
    /// `None` where the equation is not linear, or its series is not known to converge.
    pub(super) fn of(problem: &Problem, budget: &Budget) -> Option<Self> {
        let nothing = Derivation {
            route: Route::Standing,
            rows: Vec::new(),
        };
        let every = every_order(problem, &nothing, budget)?;
        if !every.linear || every.convergence != Convergence::Converges {
            return None;
        }
        let last = every.order_of(*every.zeros.as_ref()?.last().unwrap_or(&0));
        let mut given = Vec::new();
        for order in 0..=last {
            if every.line_for(order).is_some() {
                given.push(Expr::zero());
                continue;
            }
            let value = problem.given(0, order)?;
            given.push(value.scale(&Rational::new(1.into(), factorial(order))));
        }
        let (left, right) = &problem.equations.first()?.standing;
        let minus = right.iter().map(Expr::neg);
        let whole = Expr::sum(left.iter().cloned().chain(minus).collect());
        let highest = problem.unknowns.first()?.equation_order;
        let mut factors: Vec<Expr> = (0..=highest)
            .map(|order| whole.partial(&Symbol::Derivative { unknown: 0, order }))
            .collect();
        factors
            .push(whole.substitute(&|symbol| {
                matches!(symbol, Symbol::Derivative { .. }).then(Expr::zero)
            }));
        let tapes: Result<Vec<Tape>, SeriesError> = factors
            .iter()
            .map(|factor| Tape::compile(std::slice::from_ref(factor), 1))
            .collect();
        Some(Self {
            every,
            factors: tapes.ok()?,
            given,
        })
    }

    /// m
    fn order(&self) -> usize {
        self.factors.len().saturating_sub(2)
    }

    /// The coefficients 0 to `count` of the solution at the center.
    pub(super) fn series<C: Real>(
        &self,
        center: &Rational,
        count: usize,
        precision: &Precision,
        fuel: &mut Fuel,
    ) -> Result<Vec<C>, SeriesError> {
        let zero = || C::from_rational(&Rational::zero(), precision);
        let center = C::from_rational(center, precision);
        let lines = (0..=count)
            .filter_map(|order| self.every.line_for(order))
            .max();
        let lines = lines.unwrap_or(0);
        let mut factors: Vec<Vec<C>> = Vec::new();
        for tape in &self.factors {
            // u′ = factor: the coefficients of u, one place on.
            let mut solver = Solver::new(tape, &center, &[zero()], precision.clone())?;
            solver.extend(lines + 1, fuel)?;
            let u = solver.coefficients().iter().zip(0_i64..).skip(1);
            factors.push(u.map(|(c, k)| c.scale(k, 1, precision)).collect());
        }
        let free = factors.pop().unwrap_or_default();
        // The coefficients of y, y′, …, y^(m); zero as long as they are not known.
        let mut rows: Vec<Vec<C>> = vec![vec![zero(); count + lines + 1]; self.order() + 1];
        let mut found = Vec::new();
        for k in 0..=count {
            let value = match self.every.line_for(k) {
                None => {
                    C::from_constant(self.given.get(k).ok_or(SeriesError::Exhausted)?, precision)?
                }
                Some(n) => {
                    let mut rest = free.get(n).cloned().unwrap_or_else(zero);
                    let mut leading = zero();
                    for (j, (factor, row)) in factors.iter().zip(&rows).enumerate() {
                        let (Some(factor), Some(row)) = (factor.get(..=n), row.get(..=n)) else {
                            return Err(SeriesError::Exhausted);
                        };
                        fuel.spend(n as u64)?;
                        rest = C::convolve(rest, factor, row, precision);
                        // y^(j) holds the k-th coefficient at the power k − j.
                        let own = (n + j).checked_sub(k).and_then(|i| factor.get(i));
                        if let Some(own) = own {
                            let term = own.scale(falling(k, j), 1, precision);
                            leading = leading.add(&term, precision);
                        }
                    }
                    zero().sub(&rest.div(&leading, precision)?, precision)
                }
            };
            for (j, row) in rows.iter_mut().enumerate() {
                let power = k.checked_sub(j).and_then(|power| row.get_mut(power));
                if let Some(slot) = power {
                    *slot = value.scale(falling(k, j), 1, precision);
                }
            }
            found.push(value);
        }
        Ok(found)
    }

    /// Solves in one direction, from the series on.
    ///
    /// # Errors
    /// When the series cannot be worked out with this kind of number.
    pub(super) fn follow<C: Real>(
        &self,
        tape: &Tape,
        center: &Rational,
        manner: &Manner,
        course: &Course,
        fuel: &mut Fuel,
    ) -> Result<Path<C>, SeriesError> {
        let precision = &manner.precision;
        let series: Vec<C> = self.series(center, manner.degree, precision, fuel)?;
        let order = self.order();
        let mut rows = vec![series.clone()];
        for _ in 1..order {
            let next = rows.last().map(|row| integrate::derivative(row, precision));
            rows.extend(next);
        }
        let borrowed: Vec<&[C]> = rows.iter().map(Vec::as_slice).collect();
        let degree = manner.degree.saturating_sub(order.saturating_sub(1));
        let mut limit = integrate::reach(&borrowed, degree, manner.tolerance);
        if let Some(barrier) = &course.barrier {
            limit = limit.min(0.5 * barrier.distance);
        }
        let last = limit >= approximate(&course.length);
        let size = if last {
            course.length.clone()
        } else {
            short(limit)
        };
        let signed = if course.right {
            size.clone()
        } else {
            -size.clone()
        };
        let mut path = Path {
            steps: vec![Step {
                from: Rational::zero(),
                to: signed.clone(),
                coefficients: vec![series],
            }],
            stop: None,
        };
        if last {
            return Ok(path);
        }
        if size.is_zero() {
            return Err(SeriesError::Exhausted);
        }
        let t = C::from_rational(&signed, precision);
        let powers = falling_powers(&t, manner.degree + 1, precision);
        let state: Vec<C> = rows
            .iter()
            .map(|row| integrate::value_at(row, &powers, precision))
            .collect();
        let travelled = approximate(&size);
        let rest = Course {
            right: course.right,
            length: &course.length - &size,
            asked: (course.asked - travelled).max(0.0),
            barrier: course.barrier.clone().map(|barrier| Barrier {
                distance: barrier.distance - travelled,
                ..barrier
            }),
        };
        let on = integrate::follow(tape, &(center + &signed), &state, manner, &rest, fuel)?;
        path.steps.extend(on.steps.into_iter().map(|step| Step {
            from: step.from + &signed,
            to: step.to + &signed,
            coefficients: step.coefficients,
        }));
        path.stop = on.stop.map(|mut stop| {
            stop.x += approximate(&signed);
            stop
        });
        Ok(path)
    }
}

/// k (k−1) … (k−j+1)
fn falling(k: usize, j: usize) -> i64 {
    (0..j)
        .map(|less| (k.saturating_sub(less)).to_i64().unwrap_or(i64::MAX))
        .fold(1, i64::saturating_mul)
}
