//! Solving the equation for its highest derivative, each step named as on paper.
//!
//! The order of the steps is fixed: multiply out where the derivative sits inside a bracket, swap
//! sides, bring its terms to the left, take it out; that is the equation *as it stands*. Then
//! bring the other terms to the right, multiply or divide, and multiply short polynomials out,
//! because then derivatives stay short.

use num_traits::{One, Signed};

use super::{Route, SolveRule, SolveStep};
use crate::expression::{Expr, Node, Symbol, Truth, zero_test};
use crate::number::Rational;
use crate::number::rational::integer;

/// Longest right side that is multiplied out for the sake of short derivatives.
const SHORT: usize = 8;

/// Terms that multiplying out may make when the highest derivative has to be freed from a bracket.
const FREED: usize = 200;

/// An equation solved for its highest derivative.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Solution {
    pub(super) standing: (Vec<Expr>, Vec<Expr>),
    pub(super) standing_steps: usize,
    /// The number 0 where it is not linear in the highest derivative.
    pub(super) leading: Expr,
    pub(super) solved: Vec<Expr>,
    pub(super) steps: Vec<SolveStep>,
    pub(super) default_route: Route,
}

/// Why it cannot be solved for the highest derivative.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Obstacle {
    /// It appears in a power, under a root, inside a function or in a divisor.
    NotLinear,
    /// Its terms cancel; something else is left.
    Cancels,
    /// Everything cancels.
    Identity,
}

/// How the highest derivative sits in a term.
enum Part {
    Free,
    /// The product of it and this.
    Linear(Expr),
    /// Inside a bracket, which may be multiplied out.
    Nested,
    NotLinear,
}

struct Work<'a> {
    highest: &'a Symbol,
    left: Vec<Expr>,
    right: Vec<Expr>,
    steps: Vec<SolveStep>,
}

/// Solves for the derivative `highest`.
pub(super) fn solve(sides: (Vec<Expr>, Vec<Expr>), highest: &Symbol) -> Result<Solution, Obstacle> {
    let mut work = Work {
        highest,
        left: sides.0,
        right: sides.1,
        steps: Vec::new(),
    };
    work.free_from_brackets()?;
    work.gather_on_the_left();
    let leading = work.take_out()?;
    let standing = (work.left.clone(), work.right.clone());
    let standing_steps = work.steps.len();
    work.isolate();
    work.divide(&leading);
    work.tidy();
    let default_route = default_route(&leading, &work.right);
    Ok(Solution {
        standing,
        standing_steps,
        leading,
        solved: work.right,
        steps: work.steps,
        default_route,
    })
}

/// The equation as it stands, where it is not linear in its highest derivative.
pub(super) fn unsolved(sides: (Vec<Expr>, Vec<Expr>)) -> Solution {
    Solution {
        standing: sides,
        standing_steps: 0,
        leading: Expr::zero(),
        solved: Vec::new(),
        steps: Vec::new(),
        default_route: Route::Standing,
    }
}

/// Differentiating as it stands pays when solving put an expression into the denominators.
fn default_route(leading: &Expr, solved: &[Expr]) -> Route {
    let divides = |term: &Expr| {
        term.factors().iter().any(|f| {
            matches!(f.node(), Node::Power(base, exponent)
                if !base.is_constant() && exponent.as_number().is_some_and(Signed::is_negative))
        })
    };
    if !leading.is_constant() && solved.iter().any(divides) {
        Route::Standing
    } else {
        Route::Solved
    }
}

fn part(term: &Expr, highest: &Symbol) -> Part {
    if !term.contains(highest) {
        return Part::Free;
    }
    let factors = term.factors();
    let holding: Vec<usize> = (0..factors.len())
        .filter(|i| factors.get(*i).is_some_and(|f| f.contains(highest)))
        .collect();
    if let [only] = holding.as_slice()
        && let Some(factor) = factors.get(*only)
        && matches!(factor.node(), Node::Symbol(_))
    {
        let others = factors
            .iter()
            .enumerate()
            .filter(|(i, _)| i != only)
            .map(|(_, f)| f.clone())
            .collect();
        return Part::Linear(Expr::product(others));
    }
    let bracket = |f: &Expr| match f.node() {
        Node::Sum(_) => true,
        Node::Power(base, exponent) => {
            matches!(base.node(), Node::Sum(_))
                && exponent
                    .as_number()
                    .is_some_and(|e| e.is_integer() && e.is_positive())
        }
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) | Node::Product(_) => false,
    };
    if holding.iter().filter_map(|i| factors.get(*i)).any(bracket) {
        Part::Nested
    } else {
        Part::NotLinear
    }
}

/// A product in which one bracket holds the highest derivative, multiplied out over that bracket
/// only: `(1+x)(y″ + y)` is `(1+x) y″ + (1+x) y`.
fn distributed(term: &Expr, highest: &Symbol) -> Option<Vec<Expr>> {
    let (holding, others): (Vec<Expr>, Vec<Expr>) = term
        .factors()
        .into_iter()
        .partition(|f| f.contains(highest));
    let [bracket] = holding.as_slice() else {
        return None;
    };
    let Node::Sum(inner) = bracket.node() else {
        return None;
    };
    let times = |t: &Expr| {
        let mut factors = others.clone();
        factors.push(t.clone());
        Expr::product(factors)
    };
    Some(inner.iter().map(times).collect())
}

/// The terms of a product of sums multiplied out; `None` beyond `limit` terms.
fn multiplied_out(term: &Expr, limit: usize) -> Option<Vec<Expr>> {
    let terms = term.expand(limit).terms();
    (terms.len() <= limit && !terms.iter().any(has_bracket)).then_some(terms)
}

impl Work<'_> {
    fn record(&mut self, rule: SolveRule) {
        self.steps.push(SolveStep {
            rule,
            left: self.left.clone(),
            right: self.right.clone(),
        });
    }

    fn free_from_brackets(&mut self) -> Result<(), Obstacle> {
        let mut opened = false;
        for terms in [&mut self.left, &mut self.right] {
            let mut freed = Vec::with_capacity(terms.len());
            let mut waiting: Vec<Expr> = terms.iter().rev().cloned().collect();
            while let Some(term) = waiting.pop() {
                match part(&term, self.highest) {
                    Part::Free | Part::Linear(_) => freed.push(term),
                    Part::NotLinear => return Err(Obstacle::NotLinear),
                    Part::Nested => {
                        let more = distributed(&term, self.highest)
                            .or_else(|| multiplied_out(&term, FREED))
                            .filter(|more| more.len() + waiting.len() + freed.len() <= FREED)
                            .ok_or(Obstacle::NotLinear)?;
                        opened = true;
                        waiting.extend(more.into_iter().rev());
                    }
                }
            }
            *terms = freed;
        }
        if opened {
            self.record(SolveRule::MultiplyOut);
        }
        Ok(())
    }

    fn holds(&self, term: &Expr) -> bool {
        term.contains(self.highest)
    }

    fn gather_on_the_left(&mut self) {
        let on_left = self.left.iter().any(|t| self.holds(t));
        let on_right: Vec<Expr> = self
            .right
            .iter()
            .filter(|t| self.holds(t))
            .cloned()
            .collect();
        if on_right.is_empty() {
            return;
        }
        if !on_left {
            std::mem::swap(&mut self.left, &mut self.right);
            self.record(SolveRule::SwapSides);
            return;
        }
        self.carry(&on_right, false);
    }

    /// Adds or subtracts terms on both sides, so that they change sides.
    fn carry(&mut self, terms: &[Expr], to_right: bool) {
        let negative = |t: &Expr| t.split_coefficient().0.is_negative();
        let (added, subtracted): (Vec<Expr>, Vec<Expr>) = terms.iter().cloned().partition(negative);
        let mut groups = [(subtracted, false), (added, true)];
        // The first term as typed goes first.
        if terms.first().is_some_and(negative) {
            groups.reverse();
        }
        for (moved, adding) in groups {
            if moved.is_empty() {
                continue;
            }
            let (from, to) = if to_right {
                (&mut self.left, &mut self.right)
            } else {
                (&mut self.right, &mut self.left)
            };
            from.retain(|t| !moved.contains(t));
            to.retain(|t| !t.is_zero());
            let opposite = |t: &Expr| Expr::product(vec![Expr::int(-1), t.clone()]);
            to.extend(moved.iter().map(opposite));
            for side in [from, to] {
                if side.is_empty() {
                    side.push(Expr::zero());
                }
            }
            self.record(if adding {
                SolveRule::AddToBothSides(moved.iter().map(opposite).collect())
            } else {
                SolveRule::SubtractFromBothSides(moved)
            });
        }
    }

    /// One product with the highest derivative on the left; its coefficient.
    fn take_out(&mut self) -> Result<Expr, Obstacle> {
        let mut coefficients = Vec::new();
        let mut first = 0;
        for (index, term) in self.left.iter().enumerate() {
            if let Part::Linear(coefficient) = part(term, self.highest) {
                if coefficients.is_empty() {
                    first = index;
                }
                coefficients.push(coefficient);
            }
        }
        let numbers = coefficients.iter().all(|c| c.as_number().is_some());
        let several = coefficients.len() > 1;
        let leading = Expr::sum(coefficients);
        let cancelled = leading.is_zero()
            || leading.expand(FREED).is_zero()
            || (leading.is_constant() && zero_test(&leading) == Truth::Zero);
        if cancelled {
            let rest = self
                .left
                .iter()
                .filter(|t| !self.holds(t))
                .cloned()
                .chain(
                    self.right
                        .iter()
                        .map(|t| Expr::product(vec![Expr::int(-1), t.clone()])),
                )
                .collect();
            let rest = Expr::sum(rest);
            let nothing = rest.is_zero() || rest.expand(FREED).is_zero();
            return Err(if nothing {
                Obstacle::Identity
            } else {
                Obstacle::Cancels
            });
        }
        if several {
            let whole = Expr::product(vec![
                leading.clone(),
                Expr::raw(Node::Symbol(self.highest.clone())),
            ]);
            let mut kept = Vec::with_capacity(self.left.len());
            for (index, term) in self.left.iter().enumerate() {
                if index == first {
                    kept.push(whole.clone());
                } else if !self.holds(term) {
                    kept.push(term.clone());
                }
            }
            self.left = kept;
            self.record(if numbers {
                SolveRule::CombineLikeTerms
            } else {
                SolveRule::TakeOut
            });
        }
        Ok(leading)
    }

    fn isolate(&mut self) {
        let others: Vec<Expr> = self
            .left
            .iter()
            .filter(|t| !self.holds(t) && !t.is_zero())
            .cloned()
            .collect();
        self.left.retain(|t| !t.is_zero());
        if !others.is_empty() {
            self.carry(&others, true);
        }
    }

    fn divide(&mut self, leading: &Expr) {
        if leading.is_one() {
            return;
        }
        let (rule, factor) = divisor(leading);
        self.left = vec![Expr::raw(Node::Symbol(self.highest.clone()))];
        for term in &mut self.right {
            *term = Expr::product(vec![term.clone(), factor.clone()]);
        }
        self.record(rule);
    }

    /// Like terms together; short polynomials multiplied out.
    fn tidy(&mut self) {
        if self.right.iter().all(is_whole) && self.right.iter().any(has_bracket) {
            let mut terms = Vec::new();
            for term in &self.right {
                match multiplied_out(term, SHORT) {
                    Some(more) => terms.extend(more),
                    None => return self.combine(),
                }
            }
            let terms = combined(&terms);
            if terms.len() <= SHORT {
                self.right = terms;
                self.record(SolveRule::MultiplyOut);
                return;
            }
        }
        self.combine();
    }

    fn combine(&mut self) {
        let terms = combined(&self.right);
        if terms.len() < self.right.len() {
            self.right = terms;
            self.record(SolveRule::CombineLikeTerms);
        }
    }
}

/// By what both sides are divided (or multiplied), and the factor that each term gets.
fn divisor(leading: &Expr) -> (SolveRule, Expr) {
    let minus_one = Expr::int(-1);
    if *leading == minus_one {
        return (SolveRule::MultiplyBy(minus_one.clone()), minus_one);
    }
    let inverse = Expr::power(leading.clone(), Expr::number(integer(-1)));
    let only_divides = match leading.node() {
        Node::Number(value) => value.numer().abs().is_one(),
        Node::Power(..) | Node::Product(_) => leading.factors().iter().all(|f| match f.node() {
            Node::Number(value) => value.numer().abs().is_one(),
            Node::Power(_, exponent) => exponent.as_number().is_some_and(Signed::is_negative),
            Node::Symbol(_) | Node::Call(..) | Node::Product(_) | Node::Sum(_) => false,
        }),
        Node::Symbol(_) | Node::Call(..) | Node::Sum(_) => false,
    };
    if only_divides {
        (SolveRule::MultiplyBy(inverse.clone()), inverse)
    } else {
        (SolveRule::DivideBy(leading.clone()), inverse)
    }
}

/// No divisor and no root of a sum: multiplying out makes it shorter to differentiate.
fn is_whole(term: &Expr) -> bool {
    term.factors().iter().all(|f| match f.node() {
        Node::Power(base, exponent) => {
            base.is_constant()
                || exponent
                    .as_number()
                    .is_some_and(|e| e.is_integer() && e.is_positive())
        }
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) | Node::Sum(_) => true,
        Node::Product(_) => false,
    })
}

fn has_bracket(term: &Expr) -> bool {
    term.factors().iter().any(|f| match f.node() {
        Node::Sum(_) => true,
        Node::Power(base, _) => matches!(base.node(), Node::Sum(_)) && !base.is_constant(),
        Node::Number(_) | Node::Symbol(_) | Node::Call(..) | Node::Product(_) => false,
    })
}

/// Like terms together, in the order of their first appearance; the number 0 when nothing is left.
pub(super) fn combined(terms: &[Expr]) -> Vec<Expr> {
    let mut found: Vec<(Rational, Expr)> = Vec::new();
    for term in terms {
        let (number, rest) = term.split_coefficient();
        match found.iter_mut().find(|(_, r)| *r == rest) {
            Some((sum, _)) => *sum += number,
            None => found.push((number, rest)),
        }
    }
    let kept: Vec<Expr> = found
        .into_iter()
        .map(|(number, rest)| Expr::product(vec![Expr::number(number), rest]))
        .filter(|t| !t.is_zero())
        .collect();
    if kept.is_empty() {
        vec![Expr::zero()]
    } else {
        kept
    }
}
