//! The first step about a singular center.
//!
//! The equation cannot be solved for its highest derivative there, but its lines give the Taylor
//! coefficients one by one (see [`crate::derivation::every_order`]). Each run works them out anew
//! with its own kind of number, its own degree and its own step; from the end of that step on the
//! equation is an ordinary one.
//!
//! With F the left side minus the right side, m its order, s the shift of the lines and
//! Aⱼ = ∂F/∂y⁽ʲ⁾: if p is the solution's polynomial of degree N and δ the rest, then
//!
//! ```text
//! 0 = F(x, p + δ, …) = F(x, p, …) + Σ Aⱼ(x, p, …) δ⁽ʲ⁾ + O(x^(2(N+1)−2m)),
//! ```
//!
//! linear in δ, whose lines give the coefficients up to 2N + 1 − 2m + s: about twice as many as
//! were known (Newton's method for power series; Brent and Kung, J. ACM 25 (1978)). A linear
//! equation has no remainder: p = 0 gives all of them at once.

use num_traits::{ToPrimitive, Zero};

use super::barrier::Barrier;
use super::integrate::{self, Course, Manner, Path, Step, approximate, falling_powers, short};
use crate::budget::{Budget, Fuel};
use crate::check::factorial;
use crate::derivation::{Convergence, Deriver, EveryOrder, every_order};
use crate::expression::{Expr, Symbol};
use crate::number::Rational;
use crate::number::big_float::Precision;
use crate::problem::{Problem, Route};
use crate::series::floats::Real;
use crate::series::{SeriesError, Solver, Tape};

/// A zero of what the lines demand is looked for up to this order.
const MOST_LINES: usize = 60;

/// What the series at the center comes from.
pub(super) struct Start {
    every: EveryOrder,
    /// m
    order: usize,
    /// With a given series in place of the unknown: integrals of F, A₀, …, Aₘ behind it.
    along: Tape,
    /// Exact coefficients, for those that no line gives; of nonlinear equations all up to where the
    /// lines are linear in the next one.
    given: Vec<Option<Expr>>,
}

impl Start {
    /// `None` where the series is not known to converge, or too few of its values are known.
    pub(super) fn of(problem: &Problem, budget: &Budget) -> Option<Self> {
        let order = problem.unknowns.first()?.equation_order;
        let (every, given) = match every_order(problem, &[], budget) {
            Some(every) if every.linear => {
                let last = every.order_of(*every.zeros.as_ref()?.last().unwrap_or(&0));
                let mut given = Vec::new();
                for order in 0..=last {
                    given.push(match every.line_for(order) {
                        Some(_) => None,
                        None => Some(coefficient(problem.given(0, order)?, order)),
                    });
                }
                (every, given)
            }
            _ => nonlinear(problem, order as usize, budget)?,
        };
        if every.convergence != Convergence::Converges {
            return None;
        }
        let (left, right) = &problem.equations.first()?.standing;
        let minus = right.iter().map(Expr::neg);
        let whole = Expr::sum(left.iter().cloned().chain(minus).collect());
        let parts = (0..=order).map(|order| {
            let own = Symbol::Derivative { unknown: 0, order };
            vec![whole.partial(&own)]
        });
        let sides: Vec<Vec<Expr>> = [Vec::new(), vec![whole.clone()]]
            .into_iter()
            .chain(parts)
            .collect();
        let mut equations: Vec<(&[Expr], u32)> =
            sides.iter().map(|side| (side.as_slice(), 1)).collect();
        // The unknown with its derivatives up to the highest.
        equations.first_mut()?.1 = order + 1;
        Some(Self {
            every,
            order: order as usize,
            along: Tape::compile_system(&equations).ok()?,
            given,
        })
    }

    /// Exact coefficients from 0 on; `None` where the equation gives one.
    pub(super) fn given(&self) -> &[Option<Expr>] {
        &self.given
    }

    /// Is the equation linear?
    pub(super) fn is_linear(&self) -> bool {
        self.every.linear
    }

    /// The coefficients 0 to `count` of the solution at the center.
    pub(super) fn series<C: Real>(
        &self,
        center: &Rational,
        count: usize,
        precision: &Precision,
        fuel: &mut Fuel,
    ) -> Result<Vec<C>, SeriesError> {
        let mut found: Vec<C> = Vec::new();
        if self.every.linear {
            self.go_on(&mut found, count, center, precision, fuel)?;
            return Ok(found);
        }
        for exact in self.given.iter().flatten().take(count + 1) {
            found.push(C::from_constant(exact, precision)?);
        }
        while found.len() <= count {
            let known = i64::try_from(2 * found.len()).map_err(|_| SeriesError::Exhausted)?;
            let order = i64::try_from(self.order).map_err(|_| SeriesError::Exhausted)?;
            let far = usize::try_from(known - 1 - 2 * order + self.every.shift)
                .ok()
                .filter(|far| *far >= found.len())
                .ok_or(SeriesError::Exhausted)?;
            self.go_on(&mut found, far.min(count), center, precision, fuel)?;
        }
        Ok(found)
    }

    /// Goes on with the coefficients up to `last`, which the lines linear about the polynomial found
    /// so far give.
    fn go_on<C: Real>(
        &self,
        found: &mut Vec<C>,
        last: usize,
        center: &Rational,
        precision: &Precision,
        fuel: &mut Fuel,
    ) -> Result<(), SeriesError> {
        let zero = || C::from_rational(&Rational::zero(), precision);
        let center = C::from_rational(center, precision);
        let first = found.len();
        let lines = (first..=last)
            .filter_map(|order| self.every.line_for(order))
            .max();
        let lines = lines.unwrap_or(0);
        let mut solver = Solver::new(
            &self.along,
            &center,
            &vec![zero(); self.along.states()],
            precision.clone(),
        )?;
        let padded = last.max(lines) + self.order + 2;
        let mut row: Vec<C> = found.clone();
        row.resize_with(padded, zero);
        for order in 0..=self.order {
            let next = integrate::derivative(&row, precision);
            solver.put(order, std::mem::replace(&mut row, next));
        }
        solver.extend(lines + 1, fuel)?;
        // The coefficients of an integral, one place on.
        let mut integrands = solver.all_coefficients().skip(1).map(|integral| {
            let own = integral.iter().zip(0_i64..).skip(1);
            own.map(|(c, k)| c.scale(k, 1, precision)).collect()
        });
        let whole: Vec<C> = integrands.next().unwrap_or_default();
        let factors: Vec<Vec<C>> = integrands.collect();
        // The coefficients of δ, δ′, …, δ^(m); zero as long as they are not known.
        let mut rows: Vec<Vec<C>> = vec![vec![zero(); padded]; self.order + 1];
        for k in first..=last {
            let value = match self.every.line_for(k) {
                None => {
                    let given = self.given.get(k).and_then(Option::as_ref);
                    C::from_constant(given.ok_or(SeriesError::Exhausted)?, precision)?
                }
                Some(n) => {
                    let mut rest = whole.get(n).cloned().unwrap_or_else(zero);
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
        Ok(())
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
        let order = self.order;
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

/// What a value of this order contributes to the polynomial.
fn coefficient(value: &Expr, order: usize) -> Expr {
    value.scale(&Rational::new(1.into(), factorial(order)))
}

/// What the lines of a nonlinear equation demand, and the coefficients from 0 on that are found line
/// by line before it holds.
fn nonlinear(
    problem: &Problem,
    order: usize,
    budget: &Budget,
) -> Option<(EveryOrder, Vec<Option<Expr>>)> {
    let mut deriver = Deriver::new(problem, Route::Standing, budget);
    let mut reach = 2 * order + 2;
    loop {
        while deriver.next_order() <= reach && deriver.next_row().is_some() {}
        let values = deriver.derivation().values();
        let every = every_order(problem, &values, budget)?;
        let zeros = every.zeros.as_ref()?.iter();
        let last = zeros
            .chain([&every.from])
            .map(|line| every.order_of(*line))
            .max()?;
        if values.len() > last {
            let all = values.iter().enumerate();
            let given = all.map(|(order, value)| Some(coefficient(value, order)));
            return Some((every, given.collect()));
        }
        // More lines, as long as there are any.
        if deriver.next_order() <= reach || reach >= MOST_LINES {
            return None;
        }
        reach = last.min(MOST_LINES);
    }
}

/// k (k−1) … (k−j+1)
fn falling(k: usize, j: usize) -> i64 {
    (0..j)
        .map(|less| (k.saturating_sub(less)).to_i64().unwrap_or(i64::MAX))
        .fold(1, i64::saturating_mul)
}
