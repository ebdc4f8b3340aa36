//! Order by order: the equation as it stands is differentiated, and each line shows what it demands.
//!
//! For equations that do not give their highest derivative at the initial data: the leading
//! coefficient is zero there, or the equation is not linear in it. A line may give a derivative of
//! any order, several values for it, none, or be satisfied by anything.

use std::cmp::Ordering;

use crate::expression::{
    Expr, Symbol, Truth, Undefined, evaluate, factored, sign, to_f64, zero_test,
};

use super::deriver::{Deriver, first_line};
use super::inverse::real_values;
use super::isolate::{NEAR, REACH, is_monotone, zeros};
use super::roots::{Roots, real_roots};
use super::values::{self, undefined};
use super::{Demand, Row, RowKind, Side, StopReason};
use crate::number::rational::{integer, ratio};
use crate::problem::Route;

/// So many lines in a row may be satisfied by anything.
const LINES_WITHOUT_DEMAND: usize = 40;

/// Terms of a line, where numbers are put in that only their equation gives.
const TERMS_WITH_ROOTS: usize = 100;

/// What is to be done with a line.
enum Found {
    /// It gives the value.
    Value {
        value: Expr,
        leading: Expr,
        rest: Expr,
    },
    /// It leaves these values; the first is taken.
    Chosen(Expr, Vec<Expr>),
    /// It is satisfied.
    Holds,
    /// It needs a value that the conditions give; the line stays.
    Given(Expr),
}

impl Deriver<'_> {
    /// The next row; `None` when the problem has no equation.
    pub(super) fn row_in_steps(&mut self) -> Option<Row> {
        let order = self.rows_of(0);
        let new = Symbol::Derivative {
            unknown: 0,
            order: u32::try_from(order).ok()?,
        };
        let row = |kind, value| {
            Some(Row {
                unknown: 0,
                order,
                kind,
                value,
            })
        };
        let Some((mut left, mut right)) = self.line() else {
            return row(RowKind::SeriesOnly, None);
        };
        let found = self.fill_in(&mut left, &mut right, &new).and_then(|()| {
            let total = self.total(&left, &right);
            self.demand(&total, order, &new)
        });
        match found {
            Ok(Found::Given(value)) => {
                self.waiting = Some((left, right));
                row(RowKind::Initial, Some(value))
            }
            Ok(Found::Holds) => {
                self.idle += 1;
                if self.idle > LINES_WITHOUT_DEMAND {
                    let reason = StopReason::Demand(Demand::Nothing);
                    return row(
                        RowKind::Stopped {
                            left,
                            right,
                            reason,
                        },
                        None,
                    );
                }
                row(RowKind::Holds { left, right }, None)
            }
            Ok(Found::Value {
                value,
                leading,
                rest,
            }) => {
                self.idle = 0;
                self.mind_roots(&value);
                let problem = self.problem;
                let read = |value: &Expr| factored(value, &|name| problem.is_initial_letter(name));
                let kind = RowKind::Worked {
                    left,
                    right,
                    leading_value: Some(read(&leading)),
                    rest_value: Some(read(&rest)),
                };
                row(kind, Some(read(&value)))
            }
            Ok(Found::Chosen(value, values)) => {
                self.idle = 0;
                self.mind_roots(&value);
                let kind = RowKind::Chosen {
                    left,
                    right,
                    values,
                };
                row(kind, Some(value))
            }
            Err(reason) => row(
                RowKind::Stopped {
                    left,
                    right,
                    reason,
                },
                None,
            ),
        }
    }

    /// Lines into which numbers are put that only their equation gives are dear: they end earlier.
    fn mind_roots(&mut self, value: &Expr) {
        if value.has_root() {
            self.budget.terms = self.budget.terms.min(TERMS_WITH_ROOTS);
        }
    }

    /// The line that waits for a value, or the next one; `None` when it has outgrown the budget.
    fn line(&mut self) -> Option<(Side, Side)> {
        if let Some(waiting) = self.waiting.take() {
            return Some(waiting);
        }
        let equation = self.problem.equations.first()?;
        let sides = self.next_line(0, || {
            // The standing route does not ask for a symbol.
            first_line(equation, Route::Standing, &Symbol::Variable)
        })?;
        self.keep_line(0, &sides);
        Some(sides)
    }

    /// Values of all terms that have one, also of those with an unknown derivative times zero.
    fn fill_in(
        &mut self,
        left: &mut Side,
        right: &mut Side,
        new: &Symbol,
    ) -> Result<(), StopReason> {
        for side in [left, right] {
            side.values = values::of_terms(&side.combined, &self.known, new, &mut self.fuel)?;
            for (term, value) in side.combined.iter().zip(&mut side.values) {
                if value.value.is_none() && self.known.put_in(&term.expression).is_zero() {
                    value.value = Some(Expr::zero());
                    value.zero_factor = self.known.zero_factor(&term.expression, &mut self.fuel);
                }
            }
        }
        Ok(())
    }

    /// Left side minus right side with everything known put in, multiplied out: a closed constant,
    /// or an expression in the derivatives that are not known yet.
    fn total(&self, left: &Side, right: &Side) -> Expr {
        let mut parts = Vec::new();
        for (side, sign) in [(left, 1), (right, -1)] {
            for (term, value) in side.combined.iter().zip(&side.values) {
                let value = match &value.value {
                    Some(value) => value.clone(),
                    None => self.known.put_in(&term.expression),
                };
                parts.push(value.mul(&Expr::int(sign)));
            }
        }
        let mut total = Expr::sum(parts).expand(self.budget.terms);
        // A coefficient that is zero, but does not look it.
        for symbol in unknown_derivatives(&total) {
            if let Some(coefficients) = total.polynomial_coefficients(&symbol)
                && let Some((rest, others)) = coefficients.split_first()
                && others
                    .iter()
                    .all(|c| c.is_constant() && zero_test(c) == Truth::Zero)
            {
                total = rest.clone();
            }
        }
        total
    }

    fn demand(&mut self, total: &Expr, order: usize, new: &Symbol) -> Result<Found, StopReason> {
        let stop = |demand| Err(StopReason::Demand(demand));
        let given = self.problem.given(0, order);
        let unknown = unknown_derivatives(total);
        if unknown.is_empty() {
            let rest = value_of(total)?;
            return match zero_test(&rest) {
                Truth::Zero => Ok(Found::Holds),
                Truth::NotZero => stop(Demand::Contradiction(rest.neg())),
                Truth::Undecided => stop(Demand::Undecided(rest)),
            };
        }
        if unknown.iter().any(|symbol| symbol != new) {
            return match given {
                Some(value) => Ok(Found::Given(value.clone())),
                None => stop(Demand::Free { sure: false }),
            };
        }
        let given = self.problem.fixed(0, order);
        let mut coefficients = Vec::new();
        for coefficient in total.polynomial_coefficients(new).unwrap_or_default() {
            coefficients.push(value_of(&coefficient)?);
        }
        while coefficients
            .last()
            .is_some_and(|c| zero_test(c) == Truth::Zero)
        {
            coefficients.pop();
        }
        if let [rest, leading] = coefficients.as_slice() {
            if zero_test(leading) == Truth::Undecided {
                return stop(Demand::Undecided(leading.clone()));
            }
            let rest = rest.neg();
            let value = value_of(&rest.div(leading))?;
            return match given.map(|given| zero_test(&given.sub(&value))) {
                None | Some(Truth::Zero) => Ok(Found::Value {
                    value,
                    leading: leading.clone(),
                    rest,
                }),
                Some(Truth::NotZero) => stop(Demand::NotAsGiven(value)),
                Some(Truth::Undecided) => stop(Demand::Undecided(value)),
            };
        }
        let letter = self.free_letter(total);
        let roots = match real_roots(&coefficients, &letter) {
            Roots::Unknown => match real_values(total, new, &letter) {
                Some(values) => Roots::All(values),
                None => searched(total, new, &letter),
            },
            found => found,
        };
        if let Some(given) = given {
            let put_in = total.substitute(&|own| (own == new).then(|| given.clone()));
            let rest = value_of(&put_in)?;
            let known = match roots {
                Roots::All(values) => values,
                Roots::Some(_) | Roots::Inexact(_) | Roots::Unknown => Vec::new(),
            };
            return match zero_test(&rest) {
                Truth::Zero => Ok(Found::Chosen(given.clone(), known)),
                Truth::NotZero => stop(Demand::GivenFails),
                Truth::Undecided => stop(Demand::Undecided(rest)),
            };
        }
        let near = self.problem.near(0, order);
        match roots {
            Roots::All(values) => match (values.as_slice(), near) {
                ([], _) => stop(Demand::NoReal),
                ([only], _) => Ok(Found::Chosen(only.clone(), values)),
                (_, near) => match near.and_then(|near| nearest(&values, near)) {
                    Some(value) => Ok(Found::Chosen(value, values)),
                    None => stop(Demand::Several(values)),
                },
            },
            Roots::Some(values) => match near.and_then(|near| nearest(&values, near)) {
                Some(value) => Ok(Found::Chosen(value, Vec::new())),
                None => stop(Demand::Some(smallest(values))),
            },
            Roots::Inexact(between) => stop(Demand::Inexact(between)),
            Roots::Unknown => {
                let letters = total.parameters();
                stop(if letters.is_empty() {
                    Demand::Inexact(Vec::new())
                } else {
                    Demand::OfLetters(letters)
                })
            }
        }
    }

    /// A letter for a number without a closed form: none that is in use.
    fn free_letter(&self, total: &Expr) -> String {
        let problem = self.problem;
        let unknowns = problem.unknowns.iter().map(|unknown| unknown.name.as_str());
        let parameters = problem.parameters.iter().map(|own| own.name.as_str());
        let used: Vec<&str> = unknowns
            .chain(parameters)
            .chain([problem.independent.as_str()])
            .collect();
        let known = total.symbols();
        let taken = |letter: &str| {
            used.contains(&letter)
                || known
                    .iter()
                    .any(|own| matches!(own, Symbol::Root(root) if root.letter() == letter))
        };
        let free = ROOT_LETTERS.iter().find(|letter| !taken(letter));
        (*free.unwrap_or(&"rho")).to_owned()
    }
}

/// Letters for numbers without a closed form, in order of preference.
const ROOT_LETTERS: [&str; 6] = ["r", "s", "q", "w", "h", "k"];

/// More values are not offered where there may be others besides.
const OFFERED: usize = 6;

/// Small fractions that are tried.
pub(super) const SMALL: [(i64, i64); 7] =
    [(0, 1), (1, 1), (-1, 1), (2, 1), (-2, 1), (1, 2), (-1, 2)];

/// Zeros of what is no polynomial, as far as was looked, and small fractions that are some.
fn searched(total: &Expr, new: &Symbol, letter: &str) -> Roots {
    if total.has_parameter() || total.has_variable() {
        return Roots::Unknown;
    }
    let equation = total.substitute(&|own| (own == new).then(Expr::variable));
    let between = |reach: i64| {
        let reach = integer(reach) + ratio(1, 7);
        zeros(&equation, letter, (-&reach, reach))
    };
    // Where there are many, those near zero are wanted, and the search could end before it has them.
    let near = between(NEAR);
    let mut found = if near.all && near.values.len() >= OFFERED {
        near.values
    } else {
        between(REACH).values
    };
    // Multiple zeros have no sign on either side.
    for (above, below) in SMALL {
        let value = Expr::number(ratio(above, below));
        let rest = total.substitute(&|own| (own == new).then(|| value.clone()));
        if !found.contains(&value)
            && value_of(&rest).is_ok_and(|rest| zero_test(&rest) == Truth::Zero)
        {
            found.push(value);
        }
    }
    match found.len() {
        0 => Roots::Unknown,
        1 if is_monotone(&equation) => Roots::All(found),
        _ => Roots::Some(found),
    }
}

/// Of many values those nearest to zero, in their order.
fn smallest(mut values: Vec<Expr>) -> Vec<Expr> {
    while values.len() > OFFERED {
        let from_zero = |value: Option<&Expr>| to_f64(value?).map(f64::abs);
        let (first, last) = (from_zero(values.first()), from_zero(values.last()));
        if last >= first {
            values.pop();
        } else {
            values.remove(0);
        }
    }
    values
}

/// The one of the values that is nearest; `None` when two are equally near, or it cannot be told.
fn nearest(values: &[Expr], to: &Expr) -> Option<Expr> {
    let distance = |value: &Expr| {
        let difference = evaluate(&value.sub(to)).ok()?;
        Some(match sign(&difference)? {
            Ordering::Less => difference.neg(),
            Ordering::Equal | Ordering::Greater => difference,
        })
    };
    let (first, others) = values.split_first()?;
    let mut best = (first, distance(first)?);
    let mut tie = false;
    for value in others {
        let own = distance(value)?;
        match sign(&evaluate(&own.sub(&best.1)).ok()?)? {
            Ordering::Less => (best, tie) = ((value, own), false),
            Ordering::Equal => tie = true,
            Ordering::Greater => {}
        }
    }
    (!tie).then(|| best.0.clone())
}

fn unknown_derivatives(expression: &Expr) -> Vec<Symbol> {
    let symbols = expression.symbols().into_iter();
    symbols
        .filter(|symbol| matches!(symbol, Symbol::Derivative { .. }))
        .collect()
}

fn value_of(constant: &Expr) -> Result<Expr, StopReason> {
    evaluate(constant).map_err(|because: Undefined| undefined(constant, because))
}
