//! What all later lines demand, where the work goes order by order.
//!
//! Let F be left side minus right side, m its order, and Aⱼ = ∂F/∂y⁽ʲ⁾ along the solution. The n-th
//! derivative of F = 0 at the center holds the derivative of order n + s with the factor
//!
//! ```text
//! P(n) = Σ C(n, j−s) Aⱼ⁽ʲ⁻ˢ⁾(center), j from max(s, 0) to m,
//! ```
//!
//! and none of higher order, when s is the largest number for which P is not the zero polynomial.
//! For linear F this is Leibniz's rule and true of every n. Otherwise it is true of n > 2(m − s):
//! two derivatives of order n + s in one term take more than n differentiations then, and the Aⱼ
//! that occur hold only derivatives of lower order. So no later line fails as long as P(n) is not
//! zero, and P has finitely many zeros.
//!
//! The series converges when y⁽ᵐ⁾ takes part in P: for linear equations that is Fuchs's condition for
//! a regular singular point (Coddington, Levinson, *Theory of Ordinary Differential Equations*, ch. 4,
//! th. 3.1 and sec. 5); for others Malgrange's theorem (*Sur le théorème de Maillet*, Asymptotic
//! Analysis 2 (1989) 1–4). Locators from memory.

use num_traits::{One, ToPrimitive, Zero};

use super::differentiate::differentiate;
use super::values::Known;
use crate::budget::{Budget, Fuel};
use crate::expression::{Expr, Symbol, Truth, to_f64, zero_test};
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::problem::Problem;

/// m − s is looked for up to this.
const LARGEST_DISTANCE: usize = 24;

/// Zeros of P are looked for among the integers up to this; beyond it they are left open.
const LARGEST_ZERO: f64 = 5000.0;

/// What all lines from some line on demand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct EveryOrder {
    /// s: line n (the n-th derivative of the equation) gives the derivative of order n + s.
    pub shift: i64,
    /// P by rising powers of n (closed constants).
    pub factor: Vec<Expr>,
    /// The n from `from` on at which P is zero; `None` when they could not be found.
    pub zeros: Option<Vec<usize>>,
    /// True of the lines from this one on.
    pub from: usize,
    /// The equation is linear.
    pub linear: bool,
    /// Does the series converge?
    pub convergence: Convergence,
}

/// What is known of the series.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Convergence {
    /// It converges near the center.
    Converges,
    /// Nothing is proved.
    Unknown,
    /// Its radius of convergence is zero.
    Diverges,
}

impl EveryOrder {
    /// The order of the derivative that this line gives.
    pub fn order_of(&self, line: usize) -> usize {
        let line = i64::try_from(line).unwrap_or(i64::MAX);
        usize::try_from(line.saturating_add(self.shift)).unwrap_or(0)
    }

    /// Have the derivatives of this order and of all higher ones one value each?
    pub fn determines_all_from(&self, order: usize) -> bool {
        let zeros = self.zeros.as_ref();
        self.order_of(self.from) <= order
            && zeros.is_some_and(|zeros| zeros.iter().all(|line| self.order_of(*line) < order))
    }

    /// The line that gives the derivative of this order, where there is one with a factor that is
    /// surely not zero.
    pub fn line_for(&self, order: usize) -> Option<usize> {
        let line = i64::try_from(order).ok()?.checked_sub(self.shift)?;
        let line = usize::try_from(line).ok().filter(|n| *n >= self.from)?;
        let zero = self.zeros.as_ref()?.contains(&line);
        (!zero).then_some(line)
    }
}

/// j, i, and Aⱼ⁽ⁱ⁾ at the center.
type Pair = (usize, usize, Expr);

/// The Aⱼ along the solution, and their derivatives at the center.
pub(super) struct Along<'a> {
    known: &'a Known,
    fuel: Fuel,
    linear: bool,
    /// Degree in x of F without the unknown and its derivatives; `None`: not a polynomial.
    free_degree: Option<usize>,
    /// For each j: the last derivative of Aⱼ, and the values so far. Behind them the same of F without
    /// the unknown and its derivatives.
    coefficients: Vec<(Expr, Vec<Expr>)>,
}

/// Finds s and P; `values` are those of y, y′, … at the center known so far. `None` when too few values are known yet, or a zero test cannot be decided.
pub fn every_order(problem: &Problem, values: &[Expr], budget: &Budget) -> Option<EveryOrder> {
    let mut known = Known::new(problem);
    for value in values {
        known.push(0, value.clone());
    }
    let mut along = Along::new(problem, &known, budget)?;
    let m = along.highest();
    let polynomials: Option<Vec<usize>> = along
        .coefficients
        .iter()
        .take(m + 1)
        .map(|(a, _)| a.degree_in(&Symbol::Variable))
        .collect();
    let linear = along.linear;
    for distance in 0..=LARGEST_DISTANCE {
        // s = m − distance: the pairs (j, i) with j − i = s.
        let mut taking_part = Vec::new();
        for j in 0..=m {
            let Some(i) = (j + distance).checked_sub(m) else {
                continue;
            };
            let value = along.value(j, i)?;
            match zero_test(&value) {
                Truth::Zero => {}
                Truth::NotZero => taking_part.push((j, i, value)),
                Truth::Undecided => return None,
            }
        }
        if taking_part.is_empty() {
            continue;
        }
        let shift = i64::try_from(m).ok()? - i64::try_from(distance).ok()?;
        let from = if linear { 0 } else { 2 * distance + 1 };
        let factor = sum_of_binomials(&taking_part);
        let convergence = if taking_part.iter().any(|(j, ..)| *j == m) {
            Convergence::Converges
        } else if linear
            && let Some(degrees) = &polynomials
            && along.diverges(degrees, (m, distance), &taking_part)
        {
            Convergence::Diverges
        } else {
            Convergence::Unknown
        };
        return Some(EveryOrder {
            shift,
            zeros: zeros(&factor, from),
            factor,
            from,
            linear,
            convergence,
        });
    }
    None
}

impl<'a> Along<'a> {
    /// From the equation as it stands; `known` are the values so far.
    pub(super) fn new(problem: &Problem, known: &'a Known, budget: &Budget) -> Option<Self> {
        let (left, right) = &problem.equations.first()?.standing;
        let minus = right.iter().map(Expr::neg);
        let whole = Expr::sum(left.iter().cloned().chain(minus).collect());
        let highest = problem.unknowns.first()?.equation_order;
        let mut parts: Vec<Expr> = (0..=highest)
            .map(|order| whole.partial(&Symbol::Derivative { unknown: 0, order }))
            .collect();
        let linear = !parts.iter().any(Expr::has_derivative);
        let free = whole
            .substitute(&|symbol| matches!(symbol, Symbol::Derivative { .. }).then(Expr::zero));
        let free_degree = free.degree_in(&Symbol::Variable);
        parts.push(free);
        let nodes = u64::try_from(budget.nodes).unwrap_or(u64::MAX);
        Some(Self {
            known,
            fuel: Fuel::new(nodes.saturating_mul(10)),
            linear,
            free_degree,
            coefficients: parts.into_iter().map(|a| (a, Vec::new())).collect(),
        })
    }

    /// m
    pub(super) fn highest(&self) -> usize {
        self.coefficients.len().saturating_sub(2)
    }

    /// Aⱼ⁽ⁱ⁾ at the center.
    pub(super) fn value(&mut self, j: usize, i: usize) -> Option<Expr> {
        let (expression, values) = self.coefficients.get_mut(j)?;
        while values.len() <= i {
            if !values.is_empty() {
                let mut parts = Vec::new();
                for term in expression.terms() {
                    let derived = differentiate(&term, &mut self.fuel).ok()?;
                    parts.extend(derived.pieces.into_iter().flat_map(|piece| piece.parts));
                }
                *expression = Expr::sum(parts);
            }
            values.push(self.known.value(expression, &mut self.fuel).ok()?);
        }
        values.get(i).cloned()
    }

    /// Two-term recurrences (linear equation, polynomial coefficients): the series diverges when
    /// the factor of the lower term has the higher degree in n, because the ratio of consecutive
    /// coefficients then grows without bound; but not when the coefficients end in zeros.
    fn diverges(
        &mut self,
        degrees: &[usize],
        (m, distance): (usize, usize),
        upper: &[Pair],
    ) -> bool {
        let mut lower: Option<(usize, Vec<Pair>)> = None;
        for (j, degree) in degrees.iter().enumerate() {
            for i in 0..=*degree {
                let own = m + i - j;
                let Some(value) = self.value(j, i) else {
                    return false;
                };
                match zero_test(&value) {
                    Truth::Zero => continue,
                    Truth::Undecided => return false,
                    Truth::NotZero => {}
                }
                if own == distance {
                    continue;
                }
                let (at, parts) = lower.get_or_insert_with(|| (own, Vec::new()));
                if *at != own {
                    return false;
                }
                parts.push((j, i, value));
            }
        }
        let Some((at, lower)) = lower else {
            return false;
        };
        let top = |parts: &[Pair]| parts.iter().map(|(j, ..)| *j).max();
        if top(&lower) <= top(upper) {
            return false;
        }
        // From this line on the right side is used up and neither factor is zero.
        let Some(used_up) = self.free_degree else {
            return false;
        };
        let last = |parts: &[Pair]| {
            zeros(&sum_of_binomials(parts), 0).map(|zeros| zeros.last().copied().unwrap_or(0))
        };
        let (Some(a), Some(b)) = (last(upper), last(&lower)) else {
            return false;
        };
        let start = used_up.max(a).max(b) + 1;
        // Line n ties the derivative of order n + m − at to a higher one; one that is not zero in a
        // whole period carries on for ever.
        let period = at.abs_diff(distance);
        (start..start + period).any(|line| {
            (line + m).checked_sub(at).is_some_and(|order| {
                let Ok(order) = u32::try_from(order) else {
                    return false;
                };
                let value = self
                    .known
                    .value(&Expr::derivative(0, order), &mut self.fuel);
                value.is_ok_and(|value| zero_test(&value) == Truth::NotZero)
            })
        })
    }
}

/// Σ C(n, i) value, by rising powers of n.
fn sum_of_binomials(parts: &[Pair]) -> Vec<Expr> {
    let mut terms: Vec<Vec<Expr>> = Vec::new();
    for (_, i, value) in parts {
        let binomial = (0..*i).fold(vec![Rational::one()], |product, k| {
            let k = i64::try_from(k).unwrap_or(i64::MAX);
            let mut next = vec![Rational::zero(); product.len() + 1];
            for (power, c) in product.iter().enumerate() {
                // (n − k)/(k + 1)
                if let Some(slot) = next.get_mut(power) {
                    *slot -= c * ratio(k, k + 1);
                }
                if let Some(slot) = next.get_mut(power + 1) {
                    *slot += c * ratio(1, k + 1);
                }
            }
            next
        });
        for (power, c) in binomial.iter().enumerate() {
            if terms.len() <= power {
                terms.push(Vec::new());
            }
            if let Some(slot) = terms.get_mut(power) {
                slot.push(value.scale(c));
            }
        }
    }
    let mut factor: Vec<Expr> = terms.into_iter().map(Expr::sum).collect();
    while factor.len() > 1 && factor.last().is_some_and(|c| zero_test(c) == Truth::Zero) {
        factor.pop();
    }
    factor
}

/// P(n), by rising powers.
fn at(factor: &[Expr], n: i64) -> Expr {
    let place = integer(n);
    factor
        .iter()
        .rev()
        .fold(Expr::zero(), |sum, c| sum.scale(&place).add(c))
}

/// The integers from `from` on at which P is zero: none lies beyond Cauchy's bound.
fn zeros(factor: &[Expr], from: usize) -> Option<Vec<usize>> {
    let (last, others) = factor.split_last()?;
    let leading = to_f64(last)?.abs();
    let mut bound = 1.0_f64;
    for c in others {
        bound = bound.max(1.0 + to_f64(c)?.abs() / leading);
    }
    // The doubles are right to many more digits than this allows for.
    let bound = bound * 1.001 + 1.0;
    if bound.is_nan() || bound > LARGEST_ZERO {
        return None;
    }
    let bound = bound.to_usize()?;
    let mut found = Vec::new();
    for n in from..=bound.max(from) {
        match zero_test(&at(factor, i64::try_from(n).ok()?)) {
            Truth::Zero => found.push(n),
            Truth::NotZero => {}
            Truth::Undecided => return None,
        }
    }
    Some(found)
}
