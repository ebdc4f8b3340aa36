//! Problems that are worked out order by order.

use super::idle_letters::{letters_told, without_idle_letters};
use super::refusal::{mends, refusal};
use super::{Progress, Request, Stage, Worksheet, compared, stopped, terms::Wanted, write_down};
use crate::budget::Budget;
use crate::check::{self, Agreement};
use crate::derivation::{
    Ahead, Convergence, Demand, Derivation, Deriver, EveryOrder, RowKind, StopReason, every_order,
    look_ahead,
};
use crate::diagnostic::Diagnostic;
use crate::expression::{Expr, Node, Symbol, Truth, evaluate, zero_test};
use crate::number::Rational;
use crate::problem::{AlsoGiven, DegreeRequest, OrderByOrder, Problem, Route};
use crate::series;
use crate::span::{Field, Span};

/// What differentiating has shown.
pub(super) struct Found {
    pub(super) derivation: Derivation,
    every: Option<EveryOrder>,
    degree: usize,
    notice: Option<Diagnostic>,
}

/// Zeros of P are looked at line by line up to this order.
const LOOKED_AT: usize = 40;

/// The rows, looking further than the degree where that shows what every later line demands. Values
/// that only later lines force are added to what the problem gives.
pub(super) fn derive(problem: &mut Problem, request: &Request, budget: &Budget) -> Found {
    loop {
        let mut found = rows(problem, request, budget);
        let order = match ended(&found.derivation) {
            Some((order, Demand::Free { .. })) => order,
            Some((_, Demand::Contradiction(value))) => {
                let Some((order, value)) = forced_letter(problem, value) else {
                    return found;
                };
                if let Some(given) = problem
                    .initial
                    .first_mut()
                    .and_then(|own| own.get_mut(order))
                {
                    given.clone_from(&value);
                }
                problem.also_given.push(AlsoGiven {
                    unknown: 0,
                    order,
                    value,
                    span: AlsoGiven::BY_LATER_LINES,
                });
                continue;
            }
            _ => return found,
        };
        let every = found.every.as_ref();
        let demand = match every.and_then(|every| look_ahead(problem, every, order, budget)) {
            Some(Ahead::Forced(value)) => {
                problem.also_given.push(AlsoGiven {
                    unknown: 0,
                    order,
                    value,
                    span: AlsoGiven::BY_LATER_LINES,
                });
                continue;
            }
            Some(Ahead::Free) => Demand::Free { sure: true },
            Some(Ahead::Contradiction) => Demand::FailsLater,
            None => return found,
        };
        if let Some(row) = found.derivation.rows.last_mut()
            && let RowKind::Stopped { reason, .. } = &mut row.kind
        {
            *reason = StopReason::Demand(demand);
        }
        return found;
    }
}

/// A line reads 0 = `value`: if that is linear in a letter that stands for an initial value only, with a
/// number for its factor, the order of the initial value and what it must be.
fn forced_letter(problem: &Problem, value: &Expr) -> Option<(usize, Expr)> {
    let mut initial = problem.initial.first()?.iter().enumerate();
    initial.find_map(|(order, given)| {
        let Node::Symbol(letter @ Symbol::Parameter(name)) = given.node() else {
            return None;
        };
        if !problem.is_initial_letter(name) {
            return None;
        }
        let coefficients = value.polynomial_coefficients(letter)?;
        let [rest, factor] = coefficients.as_slice() else {
            return None;
        };
        if factor.has_parameter() || zero_test(factor) != Truth::NotZero {
            return None;
        }
        Some((order, evaluate(&rest.neg().div(factor)).ok()?))
    })
}

fn rows(problem: &Problem, request: &Request, budget: &Budget) -> Found {
    let mut deriver = Deriver::new(problem, Route::Standing, budget);
    let (degree, notice) = match problem.degree {
        DegreeRequest::Degree(degree) => (degree, None),
        DegreeRequest::NonzeroTerms(count) => nonzero_terms(&mut deriver, count, request, budget),
    };
    let order = problem.unknowns.first().map_or(1, |u| u.equation_order) as usize;
    let mut every = None;
    for reach in [2 * order + 2, 4 * order + 8] {
        go_on(&mut deriver, degree.max(reach));
        every = every_order(problem, &deriver.derivation().values(), budget);
        if every.is_some() || ended(deriver.derivation()).is_some() {
            break;
        }
    }
    if let Some(every) = &every {
        // Line by line up to where the general statement begins, and on to where it has exceptions.
        let from = every.order_of(every.from);
        let zeros = every.zeros.iter().flatten();
        let last = zeros.map(|line| every.order_of(*line) + 1);
        let last = last
            .filter(|order| *order <= LOOKED_AT)
            .fold(from, usize::max);
        go_on(&mut deriver, last);
    }
    let mut derivation = deriver.finish();
    if ended(&derivation).is_none() {
        derivation.rows.retain(|row| row.order <= degree);
    }
    Found {
        derivation,
        every,
        degree,
        notice,
    }
}

fn go_on(deriver: &mut Deriver<'_>, up_to: usize) {
    while deriver.next_order() <= up_to && deriver.next_row().is_some() {}
}

/// The degree of the k-th term that is not zero.
fn nonzero_terms(
    deriver: &mut Deriver<'_>,
    count: usize,
    request: &Request,
    budget: &Budget,
) -> (usize, Option<Diagnostic>) {
    let limit = (4 * count + 8).min(budget.degree);
    let mut found = 0;
    let mut last = 0;
    while found < count && deriver.next_order() <= limit {
        let Some(row) = deriver.next_row() else {
            break;
        };
        if let Some(value) = &row.value
            && zero_test(value) != Truth::Zero
        {
            found += 1;
            last = row.order;
        }
    }
    let notice = (found < count).then(|| {
        Diagnostic::notice(
            "fewer-terms",
            Field::Degree,
            Span::new(0, request.degree.len()),
            format!("Asked for {count} terms, but up to degree {limit} only {found} coefficients differ from zero."),
        )
    });
    (last, notice)
}

/// What the last line demanded, when the work ended there without an answer.
pub(super) fn ended(derivation: &Derivation) -> Option<(usize, &Demand)> {
    match &derivation.rows.last()?.kind {
        RowKind::Stopped {
            reason: StopReason::Demand(demand),
            ..
        } => Some((derivation.rows.last()?.order, demand)),
        _ => None,
    }
}

/// The ledger, the exact polynomial and its checks.
pub(super) fn prepare(
    mut worksheet: Worksheet,
    mut problem: Problem,
    (budget, progress): (&Budget, Progress<'_>),
) -> Worksheet {
    if !progress(Stage::Derivation) {
        return stopped(worksheet);
    }
    let Found {
        mut derivation,
        every,
        degree,
        notice,
    } = derive(&mut problem, &worksheet.request, budget);
    worksheet.diagnostics.extend(notice);
    // Here the equation has a say in what the initial values are.
    let (request, said) = (&worksheet.request, &mut worksheet.diagnostics);
    if let Some(none_given) = said.iter_mut().find(|d| d.code == "general-solution") {
        let (code, repairs) = (none_given.code, &mut none_given.suggestions);
        repairs.retain(|suggestion| mends(request, suggestion, code, budget));
        let forced = without_idle_letters(&mut problem, &derivation);
        if !forced.is_empty() {
            none_given.message = letters_told(&problem, &forced);
        }
    }
    let leading = derivation.rows.iter().filter_map(|row| match &row.kind {
        RowKind::Worked { leading_value, .. } => leading_value.clone(),
        _ => None,
    });
    problem.divided_by(&leading.collect::<Vec<Expr>>());
    if !progress(Stage::Series) {
        return stopped(worksheet);
    }
    let ended = ended(&derivation).map(|(order, demand)| (order, demand.clone()));
    let degree = match &ended {
        Some((order, _)) => order.saturating_sub(1),
        None => degree,
    };
    let derived: Vec<Expr> = derivation
        .rows
        .iter()
        .filter_map(|row| row.value.as_ref().map(|value| (row.order, value)))
        .map(|(order, value)| value.scale(&Rational::new(1.into(), check::factorial(order))))
        .collect();
    let series = match (&every, &ended) {
        (Some(every), None) => check::undetermined(&problem, &derived, every, degree, budget),
        _ => Vec::new(),
    };
    let coefficients: Vec<Expr> = (0..=degree)
        .map_while(|order| {
            let found = series.get(order).cloned().flatten();
            found.or_else(|| derived.get(order).cloned())
        })
        .collect();
    let empty = coefficients.is_empty();
    let coefficients = [coefficients];
    super::fill_in(&mut derivation, &coefficients);
    let mut comparison = check::compare(&derivation, &coefficients, degree);
    for entry in comparison.table.iter_mut().flatten() {
        // The derivation's own value was put beside it.
        if series.get(entry.order).is_none_or(Option::is_none) {
            entry.agreement = Agreement::OneRoute;
        }
    }
    worksheet
        .diagnostics
        .extend(unneeded(&problem, &derivation));
    if let Some((order, demand)) = &ended {
        let diagnostic = refusal(&worksheet.request, &problem, (0, *order), demand, budget);
        worksheet.diagnostics.push(diagnostic);
    } else {
        let wanted = Wanted {
            degree,
            coefficients: Vec::new(),
            too_long: false,
            notice: None,
        };
        let said = compared(
            &comparison,
            &wanted,
            &worksheet.request,
            !problem.parameters.is_empty(),
        );
        worksheet.diagnostics.extend(said);
        if !empty {
            let said = not_plotted(&worksheet.request, &problem, every.as_ref());
            worksheet.diagnostics.extend(said);
        }
    }
    worksheet.every_order = every;
    worksheet.table = comparison.table;
    let worksheet = write_down(worksheet, problem, derivation, None, (budget, progress));
    if ended.is_some() || empty {
        return without_answer(worksheet);
    }
    worksheet
}

/// Conditions that choose where nothing is left to choose.
fn unneeded(problem: &Problem, derivation: &Derivation) -> Vec<Diagnostic> {
    let chooses = |order: usize| {
        derivation.rows.iter().any(|row| {
            row.order == order
                && match &row.kind {
                    RowKind::Chosen { values, .. } => values.len() != 1,
                    RowKind::Stopped { .. } => true,
                    _ => false,
                }
        })
    };
    let near = problem.near.iter().filter(|near| !chooses(near.order));
    near.map(|near| {
        Diagnostic::notice(
            "redundant-condition",
            Field::Conditions,
            near.span,
            "The equation leaves nothing to choose here; this condition is not needed.",
        )
    })
    .collect()
}

/// The lines that show why there is no polynomial, and no polynomial.
pub(super) fn without_answer(mut worksheet: Worksheet) -> Worksheet {
    worksheet.table.clear();
    worksheet.residuals.clear();
    worksheet.beside.clear();
    let document = &mut worksheet.document;
    document.strip.clear();
    document.strip_lead = None;
    document.others.clear();
    let closing = ["polynomial", "beyond", "residual", "beside"];
    document
        .rows
        .retain(|row| !closing.iter().any(|key| row.key.starts_with(key)));
    worksheet
}

/// Can the solution be computed numerically? From the series on, where the leading coefficient is zero;
/// else where the equation gives the next derivative.
pub(super) fn plotted(problem: &Problem, every: Option<&EveryOrder>) -> bool {
    let (Some(why), Some(unknown)) = (problem.order_by_order(), problem.unknowns.first()) else {
        return true;
    };
    every.is_some_and(|every| {
        every.convergence == Convergence::Converges
            && match why {
                OrderByOrder::SingularPoint | OrderByOrder::LeadingVanishes => true,
                OrderByOrder::NotLinear => every.shift == i64::from(unknown.equation_order),
            }
    })
}

/// The coefficients of a problem that is worked order by order and stands beside another, which then
/// has all values for its initial ones; `None` where a value is not determined, has a letter of its own
/// (the first problem may mean another number by it), or the solution is not followed numerically.
pub(super) fn coefficients_beside(
    problem: &mut Problem,
    request: &Request,
    budget: &Budget,
) -> Option<Vec<Expr>> {
    let Found {
        derivation, every, ..
    } = derive(problem, request, budget);
    if ended(&derivation).is_some() || !plotted(problem, every.as_ref()) {
        return None;
    }
    let rows = derivation.rows.into_iter();
    let values: Vec<Expr> = rows.filter_map(|row| row.value).collect();
    if values.iter().any(Expr::has_root) {
        return None;
    }
    let coefficients = values
        .iter()
        .zip(0..)
        .map(|(value, order)| value.scale(&Rational::new(1.into(), check::factorial(order))))
        .collect();
    problem.initial = vec![values];
    Some(coefficients)
}

/// What the series is worth, and why nothing is plotted, where that is so.
fn not_plotted(
    request: &Request,
    problem: &Problem,
    every: Option<&EveryOrder>,
) -> Option<Diagnostic> {
    if plotted(problem, every) {
        return None;
    }
    let (code, message) = match every.map(|every| every.convergence) {
        Some(Convergence::Converges) => (
            "not-plotted",
            "The series converges near the center. The derivative of the equation with respect to its highest derivative is zero there; no numerical solution is computed then, so nothing is plotted.",
        ),
        Some(Convergence::Diverges) => (
            "formal-only",
            "The series is formal only: its coefficients satisfy the equation order by order, but it converges nowhere except at the center. Nothing is plotted.",
        ),
        Some(Convergence::Unknown) | None => (
            "formal-only",
            "The series is formal: its coefficients satisfy the equation order by order, but whether it converges anywhere except at the center is not shown here. Nothing is plotted.",
        ),
    };
    let whole = Span::new(0, request.equation.len());
    Some(Diagnostic::notice(code, Field::Equation, whole, message))
}

/// Conditions that an equation solved for its highest derivative does not need: do they say what
/// the equation says?
pub(super) fn also_given(
    request: &Request,
    problem: &Problem,
    comparison: &check::Comparison,
    budget: &Budget,
) -> Vec<Diagnostic> {
    let mut said = Vec::new();
    for given in &problem.also_given {
        let entries = comparison.table.get(given.unknown);
        let value = match entries.and_then(|entries| entries.get(given.order)) {
            Some(entry) => Some(entry.value.clone()),
            None => value_by_series(problem, given, budget),
        };
        let truth = value
            .as_ref()
            .map(|value| zero_test(&value.sub(&given.value)));
        said.push(match (truth, value) {
            (Some(Truth::Zero), _) => Diagnostic::notice(
                "redundant-condition",
                Field::Conditions,
                given.span,
                "The equation says the same; this condition is not needed.",
            ),
            (Some(Truth::NotZero), Some(value)) => refusal(
                request,
                problem,
                (given.unknown, given.order),
                &Demand::NotAsGiven(value),
                budget,
            ),
            _ => refusal(
                request,
                problem,
                (given.unknown, given.order),
                &Demand::Undecided(given.value.clone()),
                budget,
            ),
        });
    }
    said
}

/// Does the equation give its highest derivative at the data, and agree with all of them?
pub(super) fn is_explicit(problem: &Problem, budget: &Budget) -> bool {
    problem.order_by_order().is_none()
        && problem.also_given.iter().all(|given| {
            let value = value_by_series(problem, given, budget);
            value.is_some_and(|value| zero_test(&value.sub(&given.value)) == Truth::Zero)
        })
}

/// A derivative's value at the center, of an equation solved for its highest derivative.
fn value_by_series(problem: &Problem, given: &AlsoGiven, budget: &Budget) -> Option<Expr> {
    let order = given.order;
    let found = series::coefficients_as_far(problem, order, budget);
    let coefficient = found.coefficients.get(given.unknown)?.get(order)?;
    Some(series::derivative_value(coefficient, order))
}
