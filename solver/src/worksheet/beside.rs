//! Other initial values, or another center, set beside the problem of the worksheet.

use num_bigint::BigInt;
use num_traits::One;

use super::{Request, Worksheet, exact, points, steps};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Outcome, Severity};
use crate::document::beside::Origin;
use crate::document::names::{Names, greek_letter};
use crate::document::plain;
use crate::expression::{Expr, evaluate};
use crate::number::{BigFloat, Rational};
use crate::plot::{self, Other};
use crate::problem::{self, Problem};
use crate::reference::{self, Aim, Reference};
use crate::series;
use crate::span::{Field, Span};

/// Stands between one and the next.
const OR: &str = " or ";
/// More of them could not be told apart in the picture.
const MOST: usize = 4;
/// A value at a new center longer than this (in nodes) is not followed.
const LONGEST: usize = 200;

/// A problem set beside the first one: same equation, other data.
#[derive(Clone, Debug, PartialEq)]
pub struct Beside {
    /// As typed.
    pub text: String,
    /// The problem.
    pub problem: Problem,
    /// Exact coefficients about its center, to the degree of the worksheet if all were found.
    pub coefficients: Vec<Expr>,
    /// Its data are the values of the worksheet's polynomial at the new center.
    pub recentered: Option<Recentered>,
    /// Its own numerical solution, at the places of the worksheet's table; not for a polynomial
    /// that was recentered, which belongs to the first solution.
    pub reference: Option<Reference>,
}

/// Where recentered values come from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Recentered {
    /// Degree of the polynomial whose values they are.
    pub degree: usize,
    /// The polynomial satisfies the equation exactly, so they are the solution's values too.
    /// Otherwise they estimate them.
    pub exact: bool,
}

impl Beside {
    /// Where its data come from.
    pub(super) fn origin(&self) -> Origin {
        match self.recentered {
            None => Origin::Given,
            Some(Recentered {
                degree,
                exact: true,
            }) => Origin::Exact { degree },
            Some(Recentered { degree, .. }) => Origin::Estimate { degree },
        }
    }

    /// The same with numbers in place of letters.
    pub(super) fn with_numbers(&self, numbers: &[(String, Expr)]) -> Self {
        let coefficients = self.coefficients.iter();
        Self {
            problem: self.problem.with_numbers(numbers),
            coefficients: coefficients.map(|c| c.with_numbers(numbers)).collect(),
            ..self.clone()
        }
    }

    /// What is drawn of it.
    pub(super) fn drawn(&self) -> Other<'_> {
        Other {
            coefficients: &self.coefficients,
            center: &self.problem.center,
            reference: self.reference.as_ref(),
        }
    }
}

/// What each of so many may do: all of them together no more than the problem itself.
fn share(budget: &Budget, count: usize) -> Budget {
    let count = u64::try_from(count).unwrap_or(u64::MAX).max(1);
    Budget {
        steps: budget.steps / count,
        ..*budget
    }
}

/// Follows the solutions of other data numerically, at the places of the first one.
pub(super) fn solve(
    all: &mut [Beside],
    first: &Reference,
    budget: &Budget,
    progress: &mut dyn FnMut(u32) -> bool,
) {
    let window = [first.interval.0, first.interval.1]
        .map(|end| BigFloat::from_f64(end).to_rational().map(Expr::number));
    let at: Vec<Expr> = plot::drawn_places(first)
        .into_iter()
        .map(Expr::number)
        .collect();
    let budget = &share(budget, all.len());
    for beside in all.iter_mut().filter(|one| one.recentered.is_none()) {
        let [Some(low), Some(high)] = window.clone() else {
            continue;
        };
        let degree = beside.coefficients.len().saturating_sub(1);
        let window = Some((low, high));
        let aim = Aim {
            degree,
            digits: reference::DIGITS,
        };
        let found = reference::solve(&beside.problem, window, &at, aim, budget, progress);
        beside.reference = found.into_iter().next();
    }
}

/// Reads what the request sets beside its problem, and works out the coefficients. A text that
/// cannot be used gets a notice: the worksheet itself stands.
pub(super) fn read(worksheet: &Worksheet, budget: &Budget) -> (Vec<Beside>, Vec<Diagnostic>) {
    let mut all = Vec::new();
    let mut notices = Vec::new();
    let Some(problem) = &worksheet.problem else {
        return (all, notices);
    };
    let typed = &worksheet.request.beside;
    if problem.unknowns.len() > 1 && !typed.trim().is_empty() {
        notices.push(Diagnostic::notice(
            "beside-a-system",
            Field::Beside,
            Span::new(0, typed.len()),
            "Beside a system of equations nothing is set yet; only one equation has this.",
        ));
        return (all, notices);
    }
    let budget = &share(budget, typed.split(OR).count().min(MOST));
    for text in typed.split(OR).filter(|text| !text.trim().is_empty()) {
        let start = text.as_ptr().addr() - typed.as_ptr().addr();
        match one(worksheet, problem, text, budget) {
            Ok(beside) => all.push(beside),
            Err(wrong) => notices.extend(wrong.into_iter().map(|diagnostic| Diagnostic {
                severity: Severity::Notice,
                ..points::moved(diagnostic, start)
            })),
        }
    }
    if let Some(beyond) = all.get(MOST..).filter(|beyond| !beyond.is_empty()) {
        notices.push(Diagnostic::notice(
            "too-many-beside",
            Field::Beside,
            Span::new(0, typed.len()),
            format!(
                "No more than {MOST} are set beside the problem; {} left out.",
                beyond.len()
            ),
        ));
        all.truncate(MOST);
    }
    (all, notices)
}

fn one(
    worksheet: &Worksheet,
    problem: &Problem,
    text: &str,
    budget: &Budget,
) -> Result<Beside, Vec<Diagnostic>> {
    let whole = Span::new(0, text.len());
    let coefficients = worksheet
        .coefficients()
        .into_iter()
        .next()
        .unwrap_or_default();
    let degree = coefficients.len().saturating_sub(1);
    let (conditions, recentered) = match new_center(text, &problem.independent, budget) {
        None => (text.to_owned(), None),
        Some(place) => {
            let place = place.map_err(|diagnostic| vec![diagnostic])?;
            let values = values(problem, &coefficients, &place).ok_or_else(|| {
                vec![
                    Diagnostic::error(
                        "recentered-too-long",
                        Field::Beside,
                        whole,
                        "The values of the polynomial there are too long to be written down. Take a simpler place, or a lower degree.",
                    )
                    .outcome(Outcome::Unable),
                ]
            })?;
            let recentered = Recentered {
                degree,
                exact: exact::solves(problem, &coefficients),
            };
            (written(problem, &place, &values), Some(recentered))
        }
    };
    let (found, diagnostics) = problem::understand(
        &worksheet.request.equation,
        &conditions,
        &degree.to_string(),
        budget,
    );
    let errors: Vec<Diagnostic> = diagnostics
        .into_iter()
        .filter(|diagnostic| diagnostic.severity == Severity::Error)
        .map(|diagnostic| placed(diagnostic, recentered.is_none(), whole))
        .collect();
    let foreign = found
        .iter()
        .flat_map(|other| &other.parameters)
        .find(|p| !problem.parameters.iter().any(|own| own.name == p.name));
    if let Some(letter) = foreign {
        return Err(vec![Diagnostic::error(
            "letter-beside",
            Field::Beside,
            whole,
            format!(
                "The letter {} does not occur in the problem itself. Write a number, or a letter of the problem.",
                letter.name
            ),
        )]);
    }
    let Some(mut problem) = found.filter(|_| errors.is_empty()) else {
        return Err(errors);
    };
    let coefficients = if problem.order_by_order().is_some() {
        let request = Request {
            conditions,
            degree: degree.to_string(),
            ..worksheet.request.clone()
        };
        steps::coefficients_beside(&mut problem, &request, budget)
    } else if steps::is_explicit(&problem, budget) {
        let found = series::coefficients_as_far(&problem, degree, budget);
        found.coefficients.into_iter().next()
    } else {
        None
    };
    let coefficients = coefficients.ok_or_else(|| {
        vec![
            Diagnostic::error(
                "beside-not-ordinary",
                Field::Beside,
                whole,
                "With these the equation does not determine one solution that can be drawn, or they contradict it. Work them out on their own.",
            )
            .outcome(Outcome::Unable),
        ]
    })?;
    Ok(Beside {
        text: text.to_owned(),
        coefficients,
        problem,
        recentered,
        reference: None,
    })
}

/// The diagnostic where its reader finds it: in the text, if that is what it is about.
fn placed(mut diagnostic: Diagnostic, typed: bool, whole: Span) -> Diagnostic {
    if typed && diagnostic.field == Field::Conditions {
        diagnostic
            .suggestions
            .retain(|one| one.edits.iter().all(|edit| edit.field == Field::Conditions));
        for suggestion in &mut diagnostic.suggestions {
            for edit in &mut suggestion.edits {
                edit.field = Field::Beside;
            }
        }
    } else {
        diagnostic.span = whole;
        diagnostic.suggestions.clear();
    }
    diagnostic.field = Field::Beside;
    diagnostic
}

/// The place that `1`, `x = 1` or `at x = 1` names; `None`: the text holds conditions.
fn new_center(text: &str, independent: &str, budget: &Budget) -> Option<Result<Expr, Diagnostic>> {
    let mut rest = text.trim();
    if let Some(behind) = rest.strip_prefix("at ") {
        rest = behind.trim_start();
    }
    if let Some((left, right)) = rest.split_once('=')
        && (left.trim() == independent || Some(left.trim()) == greek_letter(independent))
    {
        rest = right;
    }
    if rest.contains('=') {
        return None;
    }
    let start = text.len() - text.trim_start().len() + text.trim().len() - rest.len();
    Some(
        points::value(rest, Field::Beside, budget)
            .map_err(|diagnostic| points::moved(diagnostic, start)),
    )
}

/// The values of the polynomial and of its derivatives below the equation order at a place.
fn values(problem: &Problem, coefficients: &[Expr], place: &Expr) -> Option<Vec<Expr>> {
    let distance = evaluate(&place.sub(&problem.center)).ok()?;
    let order = problem.unknowns.first()?.equation_order as usize;
    (0..order)
        .map(|order| {
            let terms = derivative(coefficients, order)
                .into_iter()
                .zip(0..)
                .map(|(coefficient, power)| coefficient.mul(&distance.pow_int(power)))
                .collect();
            let value = evaluate(&Expr::sum(terms)).ok()?;
            (value.size() <= LONGEST).then_some(value)
        })
        .collect()
}

/// Coefficients of the polynomial's derivative.
fn derivative(coefficients: &[Expr], order: usize) -> Vec<Expr> {
    let falling = |power: usize| {
        (power - order + 1..=power)
            .map(BigInt::from)
            .fold(BigInt::one(), |product, factor| product * factor)
    };
    coefficients
        .iter()
        .enumerate()
        .skip(order)
        .map(|(power, coefficient)| coefficient.scale(&Rational::from_integer(falling(power))))
        .collect()
}

/// `y(1) = 3/4, y'(1) = 2`
fn written(problem: &Problem, place: &Expr, values: &[Expr]) -> String {
    let names = Names::of(problem);
    let place = plain::expression(place, &names);
    let conditions: Vec<String> = (0..)
        .zip(values)
        .map(|(order, value)| {
            format!(
                "{}({place}) = {}",
                plain::derivative(names.unknown(0), order),
                plain::expression(value, &names)
            )
        })
        .collect();
    conditions.join(", ")
}

#[cfg(test)]
mod tests {
    use super::Recentered;
    use crate::budget::Budget;
    use crate::worksheet::{Request, Worksheet, export, work};

    fn sheet(equation: &str, conditions: &str, beside: &str) -> Worksheet {
        let request = Request {
            equation: equation.into(),
            conditions: conditions.into(),
            degree: "4".into(),
            beside: beside.into(),
            ..Request::default()
        };
        let worksheet = work(&request, &Budget::PAGE, &mut |_| true);
        assert!(!worksheet.has_error(), "{:?}", worksheet.diagnostics);
        worksheet
    }

    fn polynomials(worksheet: &Worksheet) -> Vec<String> {
        let mut names = worksheet.problem.iter().map(super::Names::of);
        let names = names.next().unwrap();
        let text = |one: &super::Beside| {
            export::polynomial_text(&one.coefficients, &one.problem.center, &names)
        };
        worksheet.beside.iter().map(text).collect()
    }

    #[test]
    fn other_values_and_another_center() {
        let worksheet = sheet("y' = y^2", "y(0) = 1/2", "y(0) = 1 or y(1) = 1 or t");
        assert_eq!(
            polynomials(&worksheet),
            [
                "1 + x + x^2 + x^3 + x^4",
                "1 + (x - 1) + (x - 1)^2 + (x - 1)^3 + (x - 1)^4"
            ]
        );
        // The third is no place: it is said where, and the rest stands.
        let [notice] = worksheet.diagnostics.as_slice() else {
            panic!("{:?}", worksheet.diagnostics);
        };
        assert_eq!((notice.span.start, notice.span.end), (24, 25));
    }

    /// y = (x/2 + 2)² − 1 and y = (2 − x/2)² − 1; a Bessel function and its double.
    #[test]
    fn the_other_branch_and_other_values_at_a_singular_point() {
        let worksheet = sheet(
            "y'^2 = 1 + y",
            "y(0) = 3, y'(0) = 2",
            "y(0) = 3, y'(0) = -2",
        );
        assert!(worksheet.diagnostics.is_empty());
        assert_eq!(polynomials(&worksheet), ["3 - 2*x + x^2/4"]);
        let plot = worksheet.plot.expect("a plot");
        let rows = plot.table.iter().zip(&plot.beside[0].rows);
        let values = rows.filter_map(|(row, own)| Some((row.x_value, own.reference_value?)));
        let before_the_fold = values.filter(|(x, _)| *x < 3.0).map(|(x, value)| {
            let right = (2.0 - x / 2.0) * (2.0 - x / 2.0) - 1.0;
            assert!((value - right).abs() < 1e-12, "{x}");
        });
        assert!(before_the_fold.count() > 20);
        let bessel = sheet("x y'' + y' + x y = 0", "y(0) = 1", "y(0) = 2");
        assert_eq!(polynomials(&bessel), ["2 - x^2/2 + x^4/32"]);
        // What contradicts the equation is still said.
        let wrong = sheet("x y'' + y' + x y = 0", "y(0) = 1", "y(0) = 2, y'(0) = 1");
        assert!(wrong.beside.is_empty());
        let codes: Vec<&str> = wrong.diagnostics.iter().map(|d| d.code).collect();
        assert!(codes.contains(&"beside-not-ordinary"), "{codes:?}");
    }

    #[test]
    fn each_has_its_own_numerical_solution_at_the_same_places() {
        // y = 1/(1 − x) beside y = 1/(2 − x).
        let worksheet = sheet("y' = y^2", "y(0) = 1/2", "y(0) = 1");
        let plot = worksheet.plot.unwrap();
        let rows = &plot.beside[0].rows;
        assert_eq!(rows.len(), plot.table.len());
        let mut compared = 0;
        for (row, other) in plot.table.iter().zip(rows) {
            if let Some(value) = other.reference_value.filter(|_| row.x_value < 0.9) {
                let right = 1.0 / (1.0 - row.x_value);
                assert!((value - right).abs() <= 1e-13 * right, "{}", row.x);
                compared += 1;
            }
            let x = row.x_value;
            let sum = 1.0 + x * (1.0 + x * (1.0 + x * (1.0 + x)));
            let found = other.partial_sums[4];
            assert!((found - sum).abs() <= 1e-12 * (1.0 + sum.abs()), "{x}");
        }
        assert!(compared > 20, "{compared}");
    }

    #[test]
    fn a_recentered_polynomial_says_whether_its_data_are_the_solutions() {
        // y = 1 + 2x + x³ solves the first exactly; P₄ of 1/(2 − x) at 1 is 31/32, not 1.
        let exact = sheet("y'' = 6x", "y(0) = 1, y'(0) = 2", "at x = 2");
        assert_eq!(
            polynomials(&exact),
            ["13 + 14*(x - 2) + 6*(x - 2)^2 + (x - 2)^3"]
        );
        let from = |worksheet: &Worksheet| worksheet.beside[0].recentered;
        assert_eq!(
            from(&exact),
            Some(Recentered {
                degree: 4,
                exact: true
            })
        );
        let near = sheet("y' = y^2", "y(0) = 1/2", "1");
        assert_eq!(
            from(&near),
            Some(Recentered {
                degree: 4,
                exact: false
            })
        );
        assert!(polynomials(&near)[0].starts_with("31/32 + 961*(x - 1)/1024"));
        // A singular point is no center.
        let singular = sheet("(1 - x) y' = y", "y(0) = 1", "x = 1");
        assert!(singular.beside.is_empty());
        assert_eq!(singular.diagnostics.len(), 1);
    }
}
