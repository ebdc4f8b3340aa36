//! A proved bound of everything behind the known coefficients.
//!
//! Write ‖a‖ = Σ |aₖ| hᵏ; in this norm the power series form a Banach algebra, and so do the series cut
//! off behind any order n. Of every series a on the tape the orders below D are known (as balls); let
//! τₐ be a bound of the norm of its tail, the orders from D on. Every recurrence of the tape gives
//! the tail of its result from those of its operands ([`Tails::pass`]), where a series stands for
//! itself again only through smaller orders: the unknowns, through the integration
//! (yₖ = fₖ₋₁/k), and the functions w = w₀ ± ∫ v du through their companion v. So guess τ for
//! these. If the bounds that follow from the guesses are not above the guesses, then the guesses hold:
//! by induction over n for all tails cut off behind n, and in the limit for the tails.
//!
//! For ∫ v du, with coefficients Σ (i/k) uᵢ vₖ₋ᵢ: the known parts give at most
//! Σ |uᵢ||vⱼ| h^{i+j} over i + j ≥ D; the tail of u at most τᵤ‖v‖, as i/k ≤ 1; the tail of v at most
//! Σ (i/(D+i)) |uᵢ| hⁱ · τᵥ, as k − i ≥ D there.
//!
//! For w = a/b: b·(tail of w) = (tail of a) − (what the known parts of b and w give from order D on) −
//! (tail of b)·(known part of w), and likewise for u^α and for g·w′ = ±u′, each multiplied by 1/b and
//! integrated (coefficients (j − αi)/(i+j) and j/(i+j)). ‖1/b‖ ≤ ‖r‖/(1 − ‖1 − r·b‖) for every series
//! r: r = 1/b₀, or r = 1/b cut off.
//!
//! That the norm is finite means: the series converge in the closed disc |x − c| ≤ h of the complex
//! plane, so they satisfy the equation there. No divisor, no argument of a root or logarithm and
//! no argument of an absolute value is zero in the disc. (The argument for polynomial fields:
//! A. Hungria, J.-P. Lessard, J. D. Mireles James, Math. Comp. 85 (2016) 1427–1459; here without a
//! fixed-point theorem, as the recurrences are causal.)

use super::rows::{Row, Rows};
use super::singular;
use crate::number::upward::{down, up};
use crate::series::Tape;
use crate::series::floats::Real;
use crate::series::tape::{Operation, Slot};

/// Guesses are raised so many times.
const PASSES: usize = 48;
/// By this factor above what follows from the last ones.
const RAISE: f64 = 1.0 + 1.0 / 16.0;

/// Known part of one series: bounds of |aₖ| hᵏ, k < D.
struct Known {
    terms: Vec<f64>,
    /// Sums of the terms from order k on, k ≤ D.
    behind: Vec<f64>,
    /// Σ (i/(D+i)) |aᵢ| hⁱ.
    delayed: f64,
}

impl Known {
    fn new(terms: Vec<f64>, order: usize) -> Self {
        let mut behind = vec![0.0; order + 1];
        let mut sum = 0.0;
        for k in (0..order).rev() {
            sum += terms.get(k).copied().unwrap_or(0.0);
            if let Some(place) = behind.get_mut(k) {
                *place = up(sum);
            }
        }
        let delayed = terms
            .iter()
            .enumerate()
            .map(|(i, term)| term * (count(i) / count(order + i)))
            .sum();
        Self {
            terms,
            behind,
            delayed: up(delayed),
        }
    }

    fn norm(&self) -> f64 {
        self.behind.first().copied().unwrap_or(0.0)
    }

    /// At least Σ |aᵢ||bⱼ| h^{i+j} over i + j ≥ D, i < D, j < D.
    fn crossed(&self, other: &Self) -> f64 {
        let order = self.behind.len() - 1;
        let sum = self
            .terms
            .iter()
            .enumerate()
            .map(|(i, term)| term * other.behind.get(order - i).copied().unwrap_or(0.0))
            .sum();
        up(sum)
    }
}

/// A bound of ‖1/b‖ as a function of the tail of b.
struct Inverse {
    /// ‖r‖
    norm: f64,
    /// ‖1 − r·b‖ without the tail of b.
    defect: f64,
}

impl Inverse {
    fn bound(&self, tail: f64) -> f64 {
        let rest = down(1.0, up(self.defect + self.norm * tail));
        if rest > 0.0 {
            up(self.norm / rest)
        } else {
            f64::INFINITY
        }
    }
}

/// Bounds of all tails.
pub(super) struct Tails<'a> {
    tape: &'a Tape,
    order: usize,
    known: Vec<Known>,
    /// For each operation Σ over the product of its known operands, orders from D on.
    crossed: Vec<f64>,
    /// For each operation that divides.
    inverses: Vec<Option<Inverse>>,
    /// |y at order D| h^D for each state.
    next: Vec<f64>,
    /// At a singular center, for each state the largest share of the right-hand side that a coefficient
    /// behind the known ones is.
    shares: Option<Vec<f64>>,
    /// The radius in units of the independent variable.
    radius: f64,
}

#[allow(clippy::cast_precision_loss, reason = "orders are far below 2^53")]
pub(super) fn count(order: usize) -> f64 {
    order as f64
}

/// hᵏ from above, k ≤ count, for h in units of the series' scale.
pub(super) fn powers(h: f64, count: usize) -> Vec<f64> {
    let mut power = 1.0;
    (0..=count)
        .map(|_| {
            let own = power;
            power = up(power * h);
            own
        })
        .collect()
}

/// For each state a bound of Σ |yₖ| hᵏ over the orders that are not among the known coefficients;
/// `None`: nothing is proved for this radius. `h` in units of the series' scale.
pub(super) fn beyond<C: Real>(rows: &Rows<'_, C>, h: f64) -> Option<Vec<f64>> {
    let tape = rows.tape;
    let order = rows.done;
    // The independent variable itself has order 1.
    if order < 2 {
        return None;
    }
    let powers = powers(h, order);
    let terms = |row: &Row<C>| -> Vec<f64> {
        let bounds = row.sizes.iter().zip(&row.spreads).zip(&powers);
        bounds
            .take(order)
            .map(|((size, spread), power)| up((size + spread) * power))
            .collect()
    };
    let known: Vec<Known> = rows
        .all
        .iter()
        .map(|row| Known::new(terms(row), order))
        .collect();
    let radius = up(libm::ldexp(h, rows.scale));
    let mut tails = Tails {
        tape,
        order,
        crossed: Vec::new(),
        inverses: Vec::new(),
        next: Vec::new(),
        shares: None,
        radius,
        known,
    };
    for (slot, operation) in tape.operations().iter().enumerate() {
        let (crossed, divisor) = tails.products(slot, operation)?;
        tails.crossed.push(crossed);
        let inverse = match divisor {
            Some(divisor) => Some(inverse(
                rows.all.get(divisor)?,
                tails.known.get(divisor)?,
                &powers,
                order,
            )),
            None => None,
        };
        tails.inverses.push(inverse);
    }
    if let Some(factors) = &rows.singular {
        tails.shares = Some(singular::shares(factors, order)?);
        let found = tails.settle()?;
        return found.get(..tape.states()).map(<[f64]>::to_vec);
    }
    for state in 0..tape.states() {
        let row = rows.all.get(state)?;
        let bound = row.sizes.get(order)? + row.spreads.get(order)?;
        tails.next.push(up(bound * powers.last()?));
    }
    let found = tails.settle()?;
    let mut beyond = vec![0.0; tape.states()];
    for (&(start, unknown_order), result) in tape.blocks().iter().zip(tape.results()) {
        let mut bound = *found.get(*result)?;
        for j in (0..unknown_order).rev() {
            bound = up(bound * radius / count(order + unknown_order - j));
            *beyond.get_mut(start + j)? = bound;
        }
    }
    beyond
        .iter()
        .all(|bound| bound.is_finite())
        .then_some(beyond)
}

/// The better of two bounds of ‖1/b‖.
fn inverse<C: Real>(row: &Row<C>, known: &Known, powers: &[f64], order: usize) -> Inverse {
    let lead: Vec<f64> = row
        .leads
        .iter()
        .zip(powers)
        .take(order)
        .map(|(lead, power)| lead * power)
        .collect();
    let first = lead.first().copied().unwrap_or(0.0);
    let smallest = down(
        first.abs(),
        row.spreads.first().copied().unwrap_or(f64::INFINITY),
    );
    let plain = if smallest > 0.0 {
        let norm = up(1.0 / smallest);
        Inverse {
            norm,
            defect: up(norm * known.behind.get(1).copied().unwrap_or(0.0)),
        }
    } else {
        return Inverse {
            norm: f64::INFINITY,
            defect: 1.0,
        };
    };
    if plain.defect < 0.5 {
        return plain;
    }
    // 1/b cut off, by the recurrence, and what it leaves: rounding, the balls, the orders from D on.
    let mut series: Vec<f64> = Vec::with_capacity(order);
    let (mut norm, mut left) = (0.0, 0.0);
    for n in 0..order {
        let one = if n == 0 { 1.0 } else { 0.0 };
        let sum: f64 = series
            .iter()
            .rev()
            .zip(lead.iter().skip(1))
            .map(|(r, b)| r * b)
            .sum();
        let own = (one - sum) / first;
        series.push(own);
        norm += own.abs();
        left += (one - sum - own * first).abs();
    }
    let absolute = Known::new(series.iter().map(|r| r.abs()).collect(), order);
    // A double for a_k·hᵏ is off by at most one part in 2³¹, sums included.
    let rounding = known.norm() * norm / 2_147_483_648.0;
    let balls: f64 = row
        .spreads
        .iter()
        .zip(powers)
        .take(order)
        .map(|(spread, power)| spread * power)
        .sum();
    let cut = Inverse {
        norm: up(norm),
        defect: up(left + rounding + norm * balls + absolute.crossed(known)),
    };
    if cut.bound(0.0) < plain.bound(0.0) {
        cut
    } else {
        plain
    }
}

impl Tails<'_> {
    /// The product whose orders from D on an operation leaves out, and its divisor.
    fn products(&self, slot: Slot, operation: &Operation) -> Option<(f64, Option<Slot>)> {
        let crossed = |a: Slot, b: Slot| Some(self.known.get(a)?.crossed(self.known.get(b)?));
        Some(match *operation {
            Operation::Multiply(a, b) => (crossed(a, b)?, None),
            Operation::Square(a) => (crossed(a, a)?, None),
            Operation::Divide(_, b) => (crossed(b, slot)?, Some(b)),
            Operation::Power { base, .. } => (crossed(base, slot)?, Some(base)),
            Operation::Chain {
                argument, factor, ..
            } => (crossed(argument, factor)?, None),
            Operation::ChainQuotient { divisor, .. } => (crossed(divisor, slot)?, Some(divisor)),
            Operation::Sign(a) => (0.0, Some(a)),
            Operation::State
            | Operation::Constant(_)
            | Operation::Variable
            | Operation::Add(..)
            | Operation::Subtract(..)
            | Operation::Slope(_) => (0.0, None),
        })
    }

    fn norm(&self, slot: Slot) -> f64 {
        self.known.get(slot).map_or(f64::INFINITY, Known::norm)
    }

    /// What a guess is needed for.
    fn is_guessed(operation: &Operation) -> bool {
        matches!(operation, Operation::State | Operation::Chain { .. })
    }

    /// Bounds of all tails from guesses that hold.
    fn settle(&self) -> Option<Vec<f64>> {
        let mut tails = vec![0.0; self.tape.len()];
        for _ in 0..PASSES {
            let follows = self.pass(&mut tails)?;
            let mut holds = true;
            let operations = self.tape.operations().iter();
            for ((operation, tail), new) in operations.zip(&mut tails).zip(&follows) {
                if Self::is_guessed(operation) && (new.is_nan() || *new > *tail) {
                    holds = false;
                    *tail = up(*new * RAISE);
                    if !tail.is_finite() {
                        return None;
                    }
                }
            }
            if holds {
                return Some(tails);
            }
        }
        None
    }

    /// Fills in the tails that follow from the guesses, in the order of the tape; returns what
    /// follows for the guessed ones.
    fn pass(&self, tails: &mut [f64]) -> Option<Vec<f64>> {
        let mut follows = vec![0.0; tails.len()];
        for (slot, operation) in self.tape.operations().iter().enumerate() {
            if Self::is_guessed(operation) {
                continue;
            }
            let tail = self.tail(slot, operation, tails)?;
            if !tail.is_finite() {
                return None;
            }
            *tails.get_mut(slot)? = tail;
        }
        for (slot, operation) in self.tape.operations().iter().enumerate() {
            if let Operation::Chain {
                argument, factor, ..
            } = *operation
            {
                let (u, v) = (*tails.get(argument)?, *tails.get(factor)?);
                let delayed = self.known.get(argument)?.delayed;
                let bound = self.crossed.get(slot)? + u * self.norm(factor) + delayed * v + u * v;
                *follows.get_mut(slot)? = up(bound);
            }
        }
        if let Some(shares) = &self.shares {
            let result = self.tape.results().first()?;
            let right = *tails.get(*result)?;
            for (follow, share) in follows.iter_mut().zip(shares) {
                *follow = up(share * right);
            }
            return Some(follows);
        }
        let step = self.radius / count(self.order + 1);
        for (&(start, order), result) in self.tape.blocks().iter().zip(self.tape.results()) {
            for j in 0..order {
                let inner = if j + 1 == order {
                    *result
                } else {
                    start + j + 1
                };
                let bound = self.next.get(start + j)? + step * tails.get(inner)?;
                *follows.get_mut(start + j)? = up(bound);
            }
        }
        Some(follows)
    }

    /// The tail of a slot that is not guessed.
    fn tail(&self, slot: Slot, operation: &Operation, tails: &[f64]) -> Option<f64> {
        let tail = |slot: Slot| tails.get(slot).copied();
        let crossed = *self.crossed.get(slot)?;
        let inverse = |slot: Slot, divisor: f64| {
            let inverse = self.inverses.get(slot)?.as_ref()?;
            Some(inverse.bound(divisor))
        };
        let bound = match *operation {
            Operation::State
            | Operation::Chain { .. }
            | Operation::Constant(_)
            | Operation::Variable
            | Operation::Slope(_) => 0.0,
            Operation::Sign(a) => {
                if inverse(slot, tail(a)?)?.is_finite() {
                    0.0
                } else {
                    f64::INFINITY
                }
            }
            Operation::Add(a, b) | Operation::Subtract(a, b) => tail(a)? + tail(b)?,
            Operation::Multiply(a, b) => {
                let (p, q) = (tail(a)?, tail(b)?);
                crossed + p * self.norm(b) + self.norm(a) * q + p * q
            }
            Operation::Square(a) => {
                let p = tail(a)?;
                crossed + p * (2.0 * self.norm(a) + p)
            }
            Operation::Divide(a, b) => {
                let q = tail(b)?;
                inverse(slot, q)? * (tail(a)? + crossed + q * self.norm(slot))
            }
            Operation::ChainQuotient {
                argument, divisor, ..
            } => {
                let q = tail(divisor)?;
                inverse(slot, q)? * (tail(argument)? + crossed + q * self.norm(slot))
            }
            Operation::Power {
                base,
                numerator,
                denominator,
                ..
            } => {
                let u = tail(base)?;
                let reciprocal = inverse(slot, u)?;
                #[allow(clippy::cast_precision_loss, reason = "the loss is part of the bound")]
                let exponent = up((numerator as f64 / denominator as f64).abs());
                let again = exponent * reciprocal * (self.known.get(base)?.delayed + u);
                let given = reciprocal * exponent.max(1.0) * (crossed + u * self.norm(slot));
                let rest = down(1.0, up(again));
                if rest > 0.0 {
                    given / rest
                } else {
                    f64::INFINITY
                }
            }
        };
        Some(up(bound))
    }
}
