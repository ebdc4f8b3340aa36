//! Linear equations about a singular center: what all lines together say of one derivative.
//!
//! A line that asks for a higher derivative leaves the next one free only as far as the lines up to
//! it go. From the last zero of P on (see [`super::every_order`]) every line gives one new value, so the
//! lines up to that zero, solved together with the conditions by Gauss–Jordan elimination, decide.

use num_traits::{One, Zero};

use super::EveryOrder;
use super::every_order::Along;
use super::values::Known;
use crate::budget::Budget;
use crate::expression::Expr;
use crate::number::Rational;
use crate::number::rational::{integer, ratio};
use crate::problem::Problem;

/// So many lines are solved together at most.
const MOST_LINES: usize = 120;

/// What all lines together say.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Ahead {
    /// Every value of the derivative belongs to a solution.
    Free,
    /// Only this value does.
    Forced(Expr),
    /// The lines contradict each other, or the conditions.
    Contradiction,
}

/// `None`: not linear, not all numbers rational, or too many lines.
pub fn look_ahead(
    problem: &Problem,
    every: &EveryOrder,
    order: usize,
    budget: &Budget,
) -> Option<Ahead> {
    if !every.linear {
        return None;
    }
    let mut last = every.zeros.as_ref()?.last().copied().unwrap_or(0);
    let mut conditions: Vec<(usize, Rational)> = Vec::new();
    let initial = problem.initial.first()?.iter().enumerate();
    let also = problem
        .also_given
        .iter()
        .map(|also| (also.order, &also.value));
    for (own, value) in initial.chain(also) {
        conditions.push((own, value.as_number()?.clone()));
        let line = i64::try_from(own).ok()?.saturating_sub(every.shift);
        last = last.max(usize::try_from(line).unwrap_or(0));
    }
    if last >= MOST_LINES {
        return None;
    }
    let width = i64::try_from(last).ok()?.checked_add(every.shift)?;
    let width = usize::try_from(width).unwrap_or(0).max(order) + 1;
    let known = Known::new(problem);
    let mut along = Along::new(problem, &known, budget)?;
    let mut rows = Vec::new();
    for n in 0..=last {
        rows.push(line(&mut along, n, width)?);
    }
    for (own, value) in conditions {
        let mut row = vec![Rational::zero(); width + 1];
        *row.get_mut(own)? = Rational::one();
        *row.last_mut()? = value;
        rows.push(row);
    }
    Some(solved(rows, order, width))
}

/// The n-th derivative of the equation at the center (Leibniz's rule): the factors of y, y′, …, and
/// what their sum is to be.
fn line(along: &mut Along<'_>, n: usize, width: usize) -> Option<Vec<Rational>> {
    let mut row = vec![Rational::zero(); width + 1];
    let highest = along.highest();
    let mut binomial = Rational::one();
    for i in 0..=n {
        for j in 0..=highest {
            let value = along.value(j, i)?;
            let value = value.as_number()?;
            if !value.is_zero() {
                *row.get_mut(n - i + j).filter(|_| n - i + j < width)? += &binomial * value;
            }
        }
        let (below, next) = (i64::try_from(n - i).ok()?, i64::try_from(i + 1).ok()?);
        binomial *= ratio(below, next);
    }
    *row.last_mut()? = along.value(highest + 1, n)?.as_number()? * integer(-1);
    Some(row)
}

/// Gauss–Jordan elimination; the last column is the right side.
fn solved(mut rows: Vec<Vec<Rational>>, order: usize, width: usize) -> Ahead {
    let mut own: Option<usize> = None;
    let mut done = 0;
    for column in 0..width {
        let at = |row: &Vec<Rational>| row.get(column).is_some_and(|v| !v.is_zero());
        let Some(place) = rows.iter().skip(done).position(at) else {
            continue;
        };
        let mut pivot = rows.remove(done + place);
        let factor = pivot
            .get(column)
            .map_or_else(Rational::one, Rational::recip);
        for value in &mut pivot {
            *value *= &factor;
        }
        for row in rows.iter_mut().filter(|row| at(row)) {
            let factor = row.get(column).cloned().unwrap_or_default();
            for (value, subtracted) in row.iter_mut().zip(&pivot) {
                if !subtracted.is_zero() {
                    *value -= &factor * subtracted;
                }
            }
        }
        rows.insert(done, pivot);
        if column == order {
            own = Some(done);
        }
        done += 1;
    }
    let right = |row: &Vec<Rational>| row.last().cloned().unwrap_or_default();
    if rows.iter().skip(done).any(|row| !right(row).is_zero()) {
        return Ahead::Contradiction;
    }
    match own.and_then(|own| rows.get(own)) {
        Some(row) if row.iter().take(width).filter(|v| !v.is_zero()).count() == 1 => {
            Ahead::Forced(Expr::number(right(row)))
        }
        _ => Ahead::Free,
    }
}
