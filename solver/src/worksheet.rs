//! From problem text to everything the page shows.

pub mod beside;
mod exact;
pub mod export;
mod far;
mod far_export;
mod idle_letters;
mod json;
mod numbers;
mod points;
mod refusal;
mod row_text;
mod said_export;
mod steps;
mod terms;

pub use crate::check::{Entry, Residual};
pub use beside::Beside;
pub use numbers::Number;

use std::cell::Cell;

use crate::budget::Budget;
use crate::candidate::{self, Candidate};
use crate::check;
use crate::convergence::Convergence;
use crate::derivation::{self, Derivation, EveryOrder, RowKind};
use crate::diagnostic::{Diagnostic, Outcome, Severity};
use crate::document::ledger::{Document, LedgerRow};
use crate::document::typed;
use crate::document::{
    self,
    compose::{self, Sources},
};
use crate::expression::{Expr, decimal, to_f64};
use crate::plot::{self, Plot};
use crate::problem::{self, Equation, Problem, Route};
use crate::reference::{self, Aim, Nearest, Reference};
use crate::remainder::{About, Remainder};
use crate::span::{Field, Span};

/// What is asked.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Request {
    /// The equation, as typed.
    pub equation: String,
    /// The conditions, as typed.
    pub conditions: String,
    /// `5`, or `first 4 non-zero terms` (also `4 terms`).
    pub degree: String,
    /// Ends of the plotted interval as typed; empty: chosen for the problem.
    pub interval: (String, String),
    /// Points at which values are asked, as typed.
    pub at: Vec<String>,
    /// How far a partial sum may be from the solution, as typed; empty: [`TOLERANCE`].
    pub tolerance: String,
    /// What is set beside the problem, as typed: other conditions, or a place (`x = 1`) at which
    /// the polynomial is recentered; several with the word "or" between them. May be empty.
    pub beside: String,
    /// Letters with their numbers as typed, for the numerical solution and the plot; letters that
    /// are not there (or have no text) get a usual number.
    pub parameters: Vec<(String, String)>,
    /// `None`: what a person would choose.
    pub route: Option<Route>,
    /// A formula that may be the solution, `y = …`, as typed; empty: none is tested.
    pub candidate: String,
    /// Certain digits wanted of the solution's values; `None`: [`reference::DIGITS`].
    pub digits: Option<u32>,
}

impl Request {
    /// What is wanted of the numerical solution beside partial sums up to a degree.
    fn aim(&self, degree: usize) -> Aim {
        Aim {
            degree,
            digits: self.digits.unwrap_or(reference::DIGITS),
        }
    }
}

/// The tolerance when none is typed.
pub const TOLERANCE: &str = "1/1000";

/// Where the work is, for a progress display.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// Reading the problem.
    Reading,
    /// Series arithmetic.
    Series,
    /// Differentiating.
    Derivation,
    /// Putting the polynomial back into the equation.
    Residual,
    /// Writing the ledger.
    Document,
    /// The numerical solution; so many steps so far.
    Reference(u32),
    /// Curves.
    Plot,
}

/// Called at every stage; `false` stops the work.
pub type Progress<'a> = &'a mut dyn FnMut(Stage) -> bool;

/// The answer. Parts are missing where an error stopped the work; `diagnostics` says which.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct Worksheet {
    /// What was asked.
    pub request: Request,
    /// Errors and notices, in reading order.
    pub diagnostics: Vec<Diagnostic>,
    /// The problem as understood.
    pub problem: Option<Problem>,
    /// The derivation.
    pub derivation: Option<Derivation>,
    /// Where the work goes order by order: what all later lines demand, as far as that was found.
    pub every_order: Option<EveryOrder>,
    /// Exact coefficients, order 0 to the degree, one list per unknown.
    pub table: Vec<Vec<Entry>>,
    /// The check by substitution, for each equation.
    pub residuals: Vec<Option<Residual>>,
    /// What was set beside the problem.
    pub beside: Vec<Beside>,
    /// The numbers that the letters have in `reference` and `plot`, in the order of the problem's
    /// parameters.
    pub numbers: Vec<Number>,
    /// The test of a formula.
    pub candidate: Option<Candidate>,
    /// How far the series converges, for these numbers.
    pub convergence: Option<Convergence>,
    /// The tolerance.
    pub tolerance: Option<Expr>,
    /// What is proved about the polynomials, for each unknown.
    pub remainders: Vec<Remainder>,
    /// The same where nothing is proved: estimates.
    pub abouts: Vec<About>,
    /// What the growth of the coefficients tells of the nearest singularity: an estimate.
    pub nearest: Option<Nearest>,
    /// What is read about all of that.
    pub far: Vec<LedgerRow>,
    /// The numerical solution of the (first) unknown.
    pub reference: Option<Reference>,
    /// Curves and table of the (first) unknown.
    pub plot: Option<Plot>,
    /// The same for the other unknowns of a system.
    pub others: Vec<(Reference, Plot)>,
    /// What is read.
    pub document: Document,
}

impl Worksheet {
    /// Did an error stop the work?
    pub fn has_error(&self) -> bool {
        self.diagnostics
            .iter()
            .any(|diagnostic| diagnostic.severity == Severity::Error)
    }

    /// The text that a diagnostic's span points into. For [`Field::Interval`] and [`Field::At`]
    /// the fields' texts joined by line breaks.
    pub fn field_text(&self, field: Field) -> String {
        match field {
            Field::Equation => self.request.equation.clone(),
            Field::Conditions => self.request.conditions.clone(),
            Field::Degree => self.request.degree.clone(),
            Field::Interval => points::joined([&self.request.interval.0, &self.request.interval.1]),
            Field::At => points::joined(&self.request.at),
            Field::Beside => self.request.beside.clone(),
            Field::Parameters => points::joined(self.request.parameters.iter().map(|(_, t)| t)),
            Field::Candidate => self.request.candidate.clone(),
            Field::Tolerance => self.request.tolerance.clone(),
        }
    }

    /// The coefficients of each unknown's polynomial.
    pub fn coefficients(&self) -> Vec<Vec<Expr>> {
        self.table
            .iter()
            .map(|entries| entries.iter().map(|e| e.coefficient.clone()).collect())
            .collect()
    }
}

/// Everything: [`prepare`], then [`complete`].
pub fn work(request: &Request, budget: &Budget, progress: Progress<'_>) -> Worksheet {
    let worksheet = prepare(request, budget, progress);
    complete(worksheet, budget, progress)
}

/// The part that is quick: the ledger, the exact polynomial and its checks. No numerical solution
/// and no plot yet.
pub fn prepare(request: &Request, budget: &Budget, progress: Progress<'_>) -> Worksheet {
    let mut worksheet = Worksheet {
        request: request.clone(),
        ..Worksheet::default()
    };
    if !progress(Stage::Reading) {
        return stopped(worksheet);
    }
    let (problem, diagnostics) = problem::understand(
        &request.equation,
        &request.conditions,
        &request.degree,
        budget,
    );
    worksheet.diagnostics = diagnostics;
    if let Err(diagnostic) = points::interval(&request.interval, budget) {
        worksheet.diagnostics.push(diagnostic);
    }
    let (_, wrong) = points::asked(&request.at, budget);
    worksheet.diagnostics.extend(wrong);
    let Some(problem) = problem.filter(|_| !worksheet.has_error()) else {
        return worksheet;
    };

    if problem.order_by_order().is_some() {
        return steps::prepare(worksheet, problem, (budget, progress));
    }

    if !progress(Stage::Series) {
        return stopped(worksheet);
    }
    let wanted = terms::degree(&problem, &request.degree, budget);
    worksheet.diagnostics.extend(wanted.notice.clone());
    let degree = wanted.degree;

    if !progress(Stage::Derivation) {
        return stopped(worksheet);
    }
    let route = route(&problem, request.route);
    let mut derivation = derivation::derive(&problem, route, degree, budget);
    fill_in(&mut derivation, &wanted.coefficients);
    let comparison = check::compare(&derivation, &wanted.coefficients, degree);
    present(
        worksheet,
        problem,
        derivation,
        comparison,
        &wanted,
        (budget, progress),
    )
}

/// Says what the comparison showed. Values that disagree are an error, and shown: the ledger is
/// written all the same, with the rows in question marked.
fn present(
    mut worksheet: Worksheet,
    problem: Problem,
    derivation: Derivation,
    comparison: check::Comparison,
    wanted: &terms::Wanted,
    limits: (&Budget, Progress<'_>),
) -> Worksheet {
    worksheet.diagnostics.extend(compared(
        &comparison,
        wanted,
        &worksheet.request,
        !problem.parameters.is_empty(),
    ));
    let also = steps::also_given(&worksheet.request, &problem, &comparison, limits.0);
    let contradicted = also.iter().any(|d| d.severity == Severity::Error);
    worksheet.diagnostics.extend(also);
    worksheet.table = comparison.table;
    if worksheet.table.first().is_none_or(Vec::is_empty) {
        return worksheet;
    }
    let estimated = wanted.too_long.then_some(wanted.degree);
    let worksheet = write_down(worksheet, problem, derivation, estimated, limits);
    if contradicted {
        return steps::without_answer(worksheet);
    }
    worksheet
}

/// Checks and writes down what was found. `estimated`: values beyond the table are too long, and
/// estimated up to this degree.
fn write_down(
    mut worksheet: Worksheet,
    problem: Problem,
    derivation: Derivation,
    estimated: Option<usize>,
    (budget, progress): (&Budget, Progress<'_>),
) -> Worksheet {
    if !progress(Stage::Residual) {
        return stopped(worksheet);
    }
    let coefficients = worksheet.coefficients();
    worksheet.residuals = match (problem.order_by_order(), &worksheet.every_order) {
        (None, _) => (0..problem.equations.len())
            .map(|unknown| check::residual(&problem, unknown, &coefficients, budget))
            .collect(),
        (Some(_), Some(every)) => {
            let reached = coefficients.first().map_or(0, Vec::len);
            let expected = i64::try_from(reached).unwrap_or(i64::MAX) - every.shift;
            let expected = usize::try_from(expected).unwrap_or(0);
            vec![check::residual_from(
                &problem,
                0,
                &coefficients,
                expected,
                budget,
            )]
        }
        (Some(_), None) => vec![None],
    };

    if !progress(Stage::Document) {
        return stopped(worksheet);
    }
    let reached = worksheet.table.first().map_or(0, Vec::len);
    let beyond = match estimated.filter(|_| problem.parameters.is_empty()) {
        Some(degree) => {
            let beyond = |own: Vec<reference::Estimate>| {
                let all = own.into_iter().enumerate().skip(reached);
                all.map(|(degree, estimate)| (degree, estimate.text))
                    .collect::<Vec<_>>()
            };
            let all = reference::taylor(&problem, degree, budget);
            all.into_iter().map(beyond).collect()
        }
        None => Vec::new(),
    };
    worksheet.candidate = tested(&mut worksheet, &problem, budget);
    let nodes_left = Cell::new(DECIMAL_NODES);
    let decimals = |value: &Expr| {
        let left = nodes_left.get().checked_sub(value.size())?;
        nodes_left.set(left);
        decimal(value, DECIMAL_DIGITS).ok()
    };
    worksheet.document = compose::document(
        Sources {
            problem: &problem,
            equations: &typed::equations(&worksheet.request.equation, budget),
            conditions: &typed::conditions(&worksheet.request.conditions, budget),
            derivation: &derivation,
            table: &worksheet.table,
            residuals: &worksheet.residuals,
            candidate: worksheet.candidate.as_ref(),
            every_order: worksheet.every_order.as_ref(),
            beyond: &beyond,
        },
        budget,
        &decimals,
    );
    worksheet.derivation = Some(derivation);
    worksheet.problem = Some(problem);
    let (beside, notices) = beside::read(&worksheet, budget);
    worksheet.diagnostics.extend(notices);
    let rows = (2..).zip(&beside).map(|(number, one)| {
        document::beside::row(
            number,
            &one.problem,
            &one.coefficients,
            one.origin(),
            &decimals,
        )
    });
    worksheet.document.rows.extend(rows);
    worksheet.beside = beside;
    worksheet
}

/// The test of the reader's formula. What is wrong with its text is a notice: the worksheet stands.
fn tested(worksheet: &mut Worksheet, problem: &Problem, budget: &Budget) -> Option<Candidate> {
    let text = &worksheet.request.candidate;
    if text.trim().is_empty() {
        return None;
    }
    if problem.unknowns.len() > 1 {
        let whole = Span::new(0, text.len());
        worksheet.diagnostics.push(Diagnostic::notice(
            "candidate-for-a-system",
            Field::Candidate,
            whole,
            "A formula is tested for one equation only; for a system of equations not yet.",
        ));
        return None;
    }
    match problem::candidate_from(text, problem, budget) {
        Ok(formula) => Some(candidate::test(
            &formula,
            problem,
            worksheet.coefficients().first().map_or(&[], Vec::as_slice),
            budget,
        )),
        Err(mut diagnostic) => {
            diagnostic.severity = Severity::Notice;
            worksheet.diagnostics.push(diagnostic);
            None
        }
    }
}

/// Decimals are worked out for closed forms with so many nodes together.
const DECIMAL_NODES: usize = 10_000;

/// Significant digits of a coefficient shown as a decimal number.
const DECIMAL_DIGITS: u32 = 6;

/// Adds the numerical solution and the plot. A worksheet with errors is returned as it is.
pub fn complete(mut worksheet: Worksheet, budget: &Budget, progress: Progress<'_>) -> Worksheet {
    let Some(problem) = worksheet.problem.clone().filter(|_| !worksheet.has_error()) else {
        return worksheet;
    };
    if !steps::plotted(&problem, worksheet.every_order.as_ref()) {
        if problem.parameters.is_empty() {
            let coefficients = worksheet.coefficients();
            far::radius(&mut worksheet, &problem, &coefficients);
            far::write(&mut worksheet, &problem, &[]);
        }
        return worksheet;
    }
    let interval = points::interval(&worksheet.request.interval, budget)
        .ok()
        .flatten();
    let (at, _) = points::asked(&worksheet.request.at, budget);
    let (numbers, notices) = numbers::chosen(&problem, &worksheet.request.parameters, budget);
    worksheet.diagnostics.extend(notices);
    let Some(numbers) = numbers else {
        return worksheet;
    };
    let pairs = numbers::pairs(&numbers);
    worksheet.numbers = numbers;
    let mut problem = problem.with_numbers(&pairs);
    if problem.order_by_order().is_some() {
        // Which values are initial ones was found out line by line.
        let values = worksheet.table.iter().map(|own| {
            own.iter()
                .map(|entry| entry.value.with_numbers(&pairs))
                .collect()
        });
        problem.initial = values.collect();
    }
    let coefficients: Vec<Vec<Expr>> = worksheet
        .coefficients()
        .iter()
        .map(|own| own.iter().map(|c| c.with_numbers(&pairs)).collect())
        .collect();
    far::radius(&mut worksheet, &problem, &coefficients);
    let mut running = progress(Stage::Reference(0));
    if !running {
        return stopped(worksheet);
    }
    let degree = coefficients
        .first()
        .map_or(0, |own| own.len().saturating_sub(1));
    let remains =
        |residual: &Option<Residual>| residual.as_ref().is_none_or(|own| own.power.is_some());
    let polynomial = if worksheet.residuals.iter().any(remains) {
        None
    } else {
        exact::followed(&problem, &coefficients)
    };
    let solved = polynomial.as_ref().unwrap_or(&problem);
    let aim = worksheet.request.aim(degree);
    let mut references = reference::solve(solved, interval, &at, aim, budget, &mut |steps| {
        running = progress(Stage::Reference(steps));
        running
    });
    if !running || !progress(Stage::Plot) {
        return stopped(worksheet);
    }
    far::prefer(&mut worksheet, &problem, &mut references);
    named_as_typed(&mut references, &worksheet.request.at, &at);
    let all = worksheet.beside.iter();
    let mut numeric: Vec<Beside> = all.map(|one| one.with_numbers(&pairs)).collect();
    if let Some(first) = references.first() {
        beside::solve(&mut numeric, first, budget, &mut |steps| {
            progress(Stage::Reference(steps))
        });
    }
    let drawn: Vec<plot::Other<'_>> = numeric.iter().map(Beside::drawn).collect();
    let tested = worksheet.candidate.as_ref();
    let formula = tested.and_then(|tested| tested.derivatives.first());
    let mut all: Vec<(Reference, Plot)> = Vec::new();
    for (unknown, (reference, own)) in references.into_iter().zip(&coefficients).enumerate() {
        // What is set beside a problem, and a formula, are about its one unknown.
        let first = unknown == 0;
        let mut plot = plot::build(own, &reference, if first { &drawn } else { &[] });
        if let Some(formula) = formula.filter(|_| first) {
            plot.draw_candidate(&formula.with_numbers(&pairs));
        }
        all.push((reference, plot));
    }
    for (own, solved) in worksheet.beside.iter_mut().zip(numeric) {
        own.reference = solved.reference;
    }
    let mut all = all.into_iter();
    if let Some((reference, plot)) = all.next() {
        worksheet.plot = Some(plot);
        worksheet.reference = Some(reference);
    }
    worksheet.others = all.collect();
    far::remainders(&mut worksheet, &problem, &at, budget);
    far::write(&mut worksheet, &problem, &at);
    worksheet
}

/// Points that were asked for keep the text they were asked by.
fn named_as_typed(references: &mut [Reference], texts: &[String], at: &[Expr]) {
    for point in references.iter_mut().flat_map(|r| &mut r.asked) {
        let same = |place: &Expr| to_f64(place).is_some_and(|x| x.to_bits() == point.x.to_bits());
        if let Some((text, _)) = texts.iter().zip(at).find(|(_, place)| same(place)) {
            text.trim().clone_into(&mut point.x_text);
        }
    }
}

/// The reader's choice, or what a person would choose.
fn route(problem: &Problem, asked: Option<Route>) -> Route {
    asked.unwrap_or_else(|| {
        let standing = |equation: &Equation| equation.default_route == Route::Standing;
        if problem.equations.iter().any(standing) {
            Route::Standing
        } else {
            Route::Solved
        }
    })
}

/// Gives rows whose derivative was not worked out their value from series arithmetic.
fn fill_in(derivation: &mut Derivation, coefficients: &[Vec<Expr>]) {
    for row in &mut derivation.rows {
        if row.kind == RowKind::SeriesOnly && row.value.is_none() {
            let own = coefficients.get(row.unknown);
            row.value = own.and_then(|own| own.get(row.order)).map(|coefficient| {
                coefficient.scale(&crate::number::Rational::from_integer(check::factorial(
                    row.order,
                )))
            });
        }
    }
}

/// What is to be said about the comparison.
fn compared(
    comparison: &check::Comparison,
    wanted: &terms::Wanted,
    request: &Request,
    letters: bool,
) -> Vec<Diagnostic> {
    let degree = wanted.degree;
    let whole = Span::new(0, request.equation.len());
    let orders = |list: &[usize]| {
        let words: Vec<String> = list.iter().map(usize::to_string).collect();
        words.join(", ")
    };
    let mut out = Vec::new();
    if !comparison.disagreements.is_empty() {
        out.push(Diagnostic::error(
            "routes-disagree",
            Field::Equation,
            whole,
            format!(
                "A defect of this worksheet: differentiation and series arithmetic give different values at order {}. Trust neither.",
                orders(&comparison.disagreements)
            ),
        )
        .outcome(Outcome::Unable));
    }
    if !comparison.undecided.is_empty() {
        out.push(Diagnostic::notice(
            "agreement-undecided",
            Field::Equation,
            whole,
            format!(
                "Whether the two ways of finding the values agree could not be decided at order {}: the closed forms differ, their {} do not.",
                orders(&comparison.undecided),
                if letters { "values for several numbers" } else { "digits" }
            ),
        ));
    }
    let reached = comparison.table.first().map_or(0, Vec::len);
    if reached == 0 {
        out.push(
            Diagnostic::error(
                "no-coefficients",
                Field::Equation,
                whole,
                "No coefficient could be worked out.",
            )
            .outcome(Outcome::Unable),
        );
    } else if reached <= degree && wanted.too_long {
        let field = Span::new(0, request.degree.len());
        let last = reached - 1;
        out.push(
            Diagnostic::notice(
                "closed-form-too-long",
                Field::Degree,
                field,
                if letters {
                    format!("From degree {reached} on the values are too long to be read. The polynomial ends at degree {last}.")
                } else {
                    format!(
                        "From degree {reached} on the exact values are too long to be read. The polynomial ends at degree {last}; what comes after is given below it as numbers, computed numerically."
                    )
                },
            )
            .suggest(format!("work to degree {last}"), field, last.to_string()),
        );
    } else if reached <= degree {
        out.push(Diagnostic::notice(
            "stopped-early",
            Field::Degree,
            Span::new(0, request.degree.len()),
            format!(
                "The work stops at degree {}: beyond it the derivatives have no value here, or the numbers outgrow what this worksheet allows itself.",
                reached - 1
            ),
        ));
    }
    out
}

/// The work was stopped from outside.
fn stopped(mut worksheet: Worksheet) -> Worksheet {
    worksheet.diagnostics.push(Diagnostic::notice(
        "stopped",
        Field::Equation,
        Span::new(0, worksheet.request.equation.len()),
        "The work was stopped.",
    ));
    worksheet
}

#[cfg(test)]
mod tests;
