//! Order by order: the equation as it stands is differentiated, and each line shows what it demands.
//!
//! For equations that do not give their highest derivative at the initial data: the leading
//! coefficient is zero there, or the equation is not linear in it. A line may give a derivative of
//! any order, several values for it, none, or be satisfied by anything.

use crate::expression::{Expr, Symbol, Truth, Undefined, evaluate, factored, zero_test};

use super::deriver::{Deriver, first_line};
use super::inverse::real_values;
use super::roots::{Roots, real_roots};
use super::values::{self, undefined};
use super::{Demand, Row, RowKind, Side, StopReason};
use crate::number::rational::ratio;
use crate::problem::Route;

/// So many lines in a row may be satisfied by anything.
const LINES_WITHOUT_DEMAND: usize = 40;

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
        let roots = match real_roots(&coefficients) {
            Roots::Unknown => real_values(total, new).map_or(Roots::Unknown, Roots::All),
            found => found,
        };
        if let Some(given) = given {
            let put_in = total.substitute(&|own| (own == new).then(|| given.clone()));
            let rest = value_of(&put_in)?;
            let known = match roots {
                Roots::All(values) => values,
                Roots::Inexact(_) | Roots::Unknown => Vec::new(),
            };
            return match zero_test(&rest) {
                Truth::Zero => Ok(Found::Chosen(given.clone(), known)),
                Truth::NotZero => stop(Demand::GivenFails),
                Truth::Undecided => stop(Demand::Undecided(rest)),
            };
        }
        match roots {
            Roots::All(values) => match values.as_slice() {
                [] => stop(Demand::NoReal),
                [only] => Ok(Found::Chosen(only.clone(), values)),
                _ => stop(Demand::Several(values)),
            },
            Roots::Inexact(between) => stop(Demand::Inexact(between)),
            Roots::Unknown => {
                let small = [(0, 1), (1, 1), (-1, 1), (2, 1), (-2, 1), (1, 2), (-1, 2)]
                    .map(|(numerator, denominator)| Expr::number(ratio(numerator, denominator)));
                let satisfying: Vec<Expr> = small
                    .into_iter()
                    .filter(|value| {
                        let put_in = total.substitute(&|own| (own == new).then(|| value.clone()));
                        value_of(&put_in).is_ok_and(|rest| zero_test(&rest) == Truth::Zero)
                    })
                    .collect();
                stop(if satisfying.is_empty() {
                    Demand::Inexact(Vec::new())
                } else {
                    Demand::Some(satisfying)
                })
            }
        }
    }
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
