//! The worksheet as JSON: what the page downloads and what the command line prints. Stable order
//! of keys, exact values as text.

use super::far_export;
use super::json::{self, Json, Writer, json};
use super::said_export::{DiagnosticOut, diagnostic_out};
use super::{Beside, Worksheet, row_text};
use crate::candidate::{Candidate, Verdict};
use crate::check::Residual;
use crate::document::names::Names;
use crate::document::plain;
use crate::expression::{Expr, Node};
use crate::number::{Rational, decimal};
use crate::problem::{Checked, OrderByOrder, Problem, Requirement, Route};
use crate::reference::{Point, Reference, Stop, StopReason};

struct Answer {
    problem: ProblemOut,
    /// The letters in values that stand for zeros of equations.
    roots: Vec<RootOut>,
    /// What is taken to hold of the parameters.
    side_conditions: Vec<String>,
    normal_form: Vec<Relation>,
    route: &'static str,
    table: Vec<TableRow>,
    polynomial: Vec<(String, String)>,
    residual: Option<ResidualOut>,
    candidate: Option<CandidateOut>,
    /// Of a system: one for each equation, by its unknown.
    residuals: Vec<(String, Option<ResidualOut>)>,
    radius: Option<far_export::RadiusOut>,
    remainder: Option<far_export::RemainderOut>,
    remainders: Vec<(String, Option<far_export::RemainderOut>)>,
    reference: Option<ReferenceOut>,
    beside: Vec<BesideOut>,
    diagnostics: Vec<DiagnosticOut>,
}

struct Refusal {
    diagnostics: Vec<DiagnosticOut>,
}

struct ProblemOut {
    independent: String,
    unknowns: Vec<String>,
    equation_order: u32,
    center: String,
    degree: usize,
    initial: Vec<Vec<String>>,
    parameters: Vec<ParameterOut>,
}

struct ParameterOut {
    name: String,
    /// Only the numerical solution uses it; `null`: none that keeps the side conditions.
    value: Option<String>,
}

struct RootOut {
    letter: String,
    /// Zero at it; the letter stands for the number.
    equation: String,
    /// It is the only zero between these.
    lower: String,
    upper: String,
}

struct Relation {
    left: String,
    right: String,
}

struct TableRow {
    unknown: String,
    order: usize,
    /// The derivative in terms of what is known before it; for initial values its own name;
    /// `null`: it has grown too long to be worked out.
    expression: Option<String>,
    /// The line that the derivative was found from, where that is not `derivative = expression`.
    equation: Option<String>,
    value: String,
    coefficient: String,
    /// Do differentiation and series arithmetic agree? `null`: only one of them reached here.
    agreed: Option<bool>,
}

struct ResidualOut {
    power: Option<usize>,
    coefficient: Option<String>,
    computed_to: usize,
}

struct CandidateOut {
    formula: String,
    verdict: &'static str,
    conditions: Vec<TestedOut>,
    equation: &'static str,
    /// The first power of (x − center) in left side minus right side, where one was found.
    power: Option<usize>,
    coefficient: Option<String>,
    /// So many Taylor coefficients are those of the solution.
    agreeing: usize,
    first_different: Option<usize>,
}

struct TestedOut {
    order: usize,
    value: Option<String>,
    wanted: String,
    verdict: &'static str,
}

struct ReferenceOut {
    /// `enclosure`: every value is one; `estimate`: some are not.
    kind: &'static str,
    interval: Vec<f64>,
    points: Vec<PointOut>,
    stop: Option<Vec<StopOut>>,
    /// An estimate.
    radius_about: Option<f64>,
    /// What the shown digits rest on.
    evidence: &'static str,
}

struct PointOut {
    x: String,
    /// Of the first unknown.
    value: ValueOut,
    /// Of a system: those of all unknowns that are known there, by name.
    values: Vec<(String, ValueOut)>,
}

/// A value, known one way or the other.
enum ValueOut {
    /// It lies between these, surely.
    Between { lower: String, upper: String },
    /// Two runs share these digits.
    About(String),
}

struct StopOut {
    side: &'static str,
    x: String,
    reason: &'static str,
    /// The solution surely grows without bound at a place between these.
    between: Option<Vec<String>>,
    /// Of a system: the unknown whose values showed it.
    unknown: Option<String>,
}

struct BesideOut {
    text: String,
    center: String,
    initial: Vec<Vec<String>>,
    polynomial: OneNamed,
    /// For a polynomial that was recentered: do its data belong to the solution (`exact`), or only
    /// near it (`estimate`)?
    recentered: Option<&'static str>,
    reference: Option<ReferenceOut>,
}

json! {
    Refusal { diagnostics }
    ProblemOut { independent, unknowns, equation_order, center, degree, initial, parameters }
    ParameterOut { name, value }
    RootOut { letter, equation, lower, upper }
    Relation { left, right }
    TableRow { unknown, order, expression, equation, value, coefficient, agreed }
    ResidualOut { power, coefficient, computed_to }
    CandidateOut { formula, verdict, conditions, equation, power, coefficient, agreeing, first_different }
    TestedOut { order, value, wanted, verdict }
    ReferenceOut { kind, interval, points, stop, radius_about, evidence }
    BesideOut { text, center, initial, polynomial, recentered, reference }
}

/// Members of an object by name.
struct Named<'a, T>(&'a [(String, T)]);

impl<T: Json> Json for Named<'_, T> {
    fn write(&self, out: &mut Writer) {
        let members: Vec<(&str, &dyn Json)> = self
            .0
            .iter()
            .map(|(name, value)| (name.as_str(), value as &dyn Json))
            .collect();
        out.object(&members);
    }
}

/// One member by name.
struct OneNamed(String, String);

impl Json for OneNamed {
    fn write(&self, out: &mut Writer) {
        out.object(&[(self.0.as_str(), &self.1)]);
    }
}

// What only systems have is left out for one equation.

impl Json for Answer {
    fn write(&self, out: &mut Writer) {
        let polynomial = Named(&self.polynomial);
        let residuals = Named(&self.residuals);
        let mut members: Vec<(&str, &dyn Json)> = vec![
            ("problem", &self.problem),
            ("side_conditions", &self.side_conditions),
            ("normal_form", &self.normal_form),
            ("route", &self.route),
            ("table", &self.table),
            ("polynomial", &polynomial),
            ("residual", &self.residual),
            ("candidate", &self.candidate),
        ];
        if !self.roots.is_empty() {
            members.insert(1, ("roots", &self.roots));
        }
        if !self.residuals.is_empty() {
            members.push(("residuals", &residuals));
        }
        members.push(("radius", &self.radius));
        members.push(("remainder", &self.remainder));
        let remainders = Named(&self.remainders);
        if !self.remainders.is_empty() {
            members.push(("remainders", &remainders));
        }
        members.push(("reference", &self.reference));
        members.push(("beside", &self.beside));
        members.push(("diagnostics", &self.diagnostics));
        out.object(&members);
    }
}

impl Json for ValueOut {
    fn write(&self, out: &mut Writer) {
        match self {
            Self::Between { lower, upper } => out.object(&[("lower", lower), ("upper", upper)]),
            Self::About(text) => text.write(out),
        }
    }
}

impl Json for PointOut {
    fn write(&self, out: &mut Writer) {
        let values = Named(&self.values);
        let mut members: Vec<(&str, &dyn Json)> = vec![("x", &self.x), ("value", &self.value)];
        let about = |value: &ValueOut| matches!(value, ValueOut::About(_));
        if about(&self.value) || self.values.iter().any(|(_, value)| about(value)) {
            members.push(("estimate", &true));
        }
        if !self.values.is_empty() {
            members.push(("values", &values));
        }
        out.object(&members);
    }
}

impl Json for StopOut {
    fn write(&self, out: &mut Writer) {
        let mut members: Vec<(&str, &dyn Json)> = vec![
            ("side", &self.side),
            ("x", &self.x),
            ("reason", &self.reason),
            ("between", &self.between),
        ];
        if let Some(unknown) = &self.unknown {
            members.push(("unknown", unknown));
        }
        out.object(&members);
    }
}

/// The worksheet as indented JSON: the whole answer, or, when an error stopped the work, only
/// `diagnostics`. Positions in the text are counted in Unicode code points.
pub fn json(worksheet: &Worksheet) -> String {
    let diagnostics: Vec<DiagnosticOut> = worksheet
        .diagnostics
        .iter()
        .map(|diagnostic| diagnostic_out(worksheet, diagnostic))
        .collect();
    match &worksheet.problem {
        Some(problem) if !worksheet.has_error() => {
            json::text(&answer(worksheet, problem, diagnostics))
        }
        _ => json::text(&Refusal { diagnostics }),
    }
}

/// Each equation solved for its highest derivative; where it is not linear in it, as it stands.
fn normal_form(problem: &Problem, names: &Names) -> Vec<Relation> {
    problem
        .equations
        .iter()
        .map(|equation| {
            let order = problem
                .unknowns
                .get(equation.unknown)
                .map_or(1, |unknown| unknown.equation_order);
            if problem.order_by_order() == Some(OrderByOrder::NotLinear) {
                return Relation {
                    left: plain::sum(&equation.standing.0, names),
                    right: plain::sum(&equation.standing.1, names),
                };
            }
            Relation {
                left: plain::derivative(names.unknown(equation.unknown), order),
                right: plain::sum(&equation.solved, names),
            }
        })
        .collect()
}

fn answer(worksheet: &Worksheet, problem: &Problem, diagnostics: Vec<DiagnosticOut>) -> Answer {
    let names = Names::of(problem);
    let text = |expr: &Expr| plain::expression(expr, &names);
    let table: Vec<TableRow> = worksheet
        .table
        .iter()
        .enumerate()
        .flat_map(|(unknown, entries)| {
            let names = &names;
            entries.iter().map(move |entry| TableRow {
                unknown: names.unknown(unknown).to_owned(),
                order: entry.order,
                expression: row_text::expression(worksheet, unknown, entry.order, names),
                equation: row_text::equation(worksheet, unknown, entry.order, names),
                value: plain::expression(&entry.value, names),
                coefficient: plain::expression(&entry.coefficient, names),
                agreed: entry.agreed(),
            })
        })
        .collect();
    let polynomial = polynomials(worksheet);
    Answer {
        problem: ProblemOut {
            independent: problem.independent.clone(),
            unknowns: names.unknowns.clone(),
            equation_order: problem
                .unknowns
                .iter()
                .map(|unknown| unknown.equation_order)
                .max()
                .unwrap_or(0),
            center: text(&problem.center),
            degree: worksheet
                .table
                .first()
                .map_or(0, |entries| entries.len().saturating_sub(1)),
            initial: initial(problem, &worksheet.table, &text),
            parameters: problem
                .parameters
                .iter()
                .map(|parameter| ParameterOut {
                    name: parameter.name.clone(),
                    value: worksheet
                        .numbers
                        .iter()
                        .find(|number| number.name == parameter.name)
                        .map(|number| plain::expression(&number.value, &names)),
                })
                .collect(),
        },
        roots: roots(worksheet, &names),
        side_conditions: problem
            .side_conditions
            .iter()
            .map(|condition| side_condition(condition, &text(&condition.value)))
            .collect(),
        normal_form: normal_form(problem, &names),
        route: match worksheet.derivation.as_ref().map(|d| d.route) {
            Some(Route::Standing) => "as it stands",
            _ => "solved",
        },
        table,
        polynomial,
        residual: worksheet
            .residuals
            .first()
            .and_then(Option::as_ref)
            .map(|residual| residual_out(residual, &text)),
        candidate: worksheet
            .candidate
            .as_ref()
            .map(|candidate| candidate_out(candidate, &text)),
        residuals: residuals_out(worksheet, &names),
        radius: worksheet
            .convergence
            .as_ref()
            .map(|found| far_export::radius_out(worksheet, found, &names)),
        remainder: far_export::remainder_out(worksheet, 0, &names),
        remainders: remainders_out(worksheet, &names),
        reference: worksheet.reference.as_ref().map(|first| {
            let others: Vec<&Reference> = worksheet.others.iter().map(|(r, _)| r).collect();
            reference_out(first, &others, &names)
        }),
        beside: worksheet.beside.iter().map(beside_out).collect(),
        diagnostics,
    }
}

fn roots(worksheet: &Worksheet, names: &Names) -> Vec<RootOut> {
    let entries = worksheet.table.iter().flatten();
    let mut found = Vec::new();
    for root in entries.flat_map(|entry| entry.value.roots()) {
        if !found.contains(&root) {
            found.push(root);
        }
    }
    let out = |root: std::sync::Arc<crate::expression::RootOf>| {
        let own = Names {
            independent: root.letter().to_owned(),
            ..names.clone()
        };
        let (low, high) = root.between_ends();
        let text = |number: &Rational| plain::expression(&Expr::number(number.clone()), names);
        RootOut {
            letter: root.letter().to_owned(),
            equation: plain::expression(root.equation(), &own),
            lower: text(low),
            upper: text(high),
        }
    };
    found.into_iter().map(out).collect()
}

fn beside_out(beside: &Beside) -> BesideOut {
    let problem = &beside.problem;
    let names = Names::of(problem);
    let text = |expr: &Expr| plain::expression(expr, &names);
    let polynomial = polynomial_text(&beside.coefficients, &problem.center, &names);
    BesideOut {
        text: beside.text.clone(),
        center: text(&problem.center),
        initial: initial(problem, &[], &text),
        polynomial: OneNamed(names.unknown(0).to_owned(), polynomial),
        recentered: beside
            .recentered
            .map(|from| if from.exact { "exact" } else { "estimate" }),
        reference: beside
            .reference
            .as_ref()
            .map(|reference| reference_out(reference, &[], &names)),
    }
}

/// The initial values; where a letter stood for one that the equation gives, what was found.
fn initial(
    problem: &Problem,
    found: &[Vec<crate::check::Entry>],
    text: &dyn Fn(&Expr) -> String,
) -> Vec<Vec<String>> {
    let values = problem.initial.iter().enumerate();
    let one = |unknown: usize, (order, given): (usize, &Expr)| {
        let entry = found.get(unknown).and_then(|own| own.get(order));
        match entry.filter(|_| problem.is_idle(given)) {
            Some(entry) => text(&entry.value),
            None => text(given),
        }
    };
    values
        .map(|(unknown, values)| {
            let own = values.iter().enumerate();
            own.map(|value| one(unknown, value)).collect()
        })
        .collect()
}

/// `k != 0`, `a > 0`, `abs(a) < 1`.
fn side_condition(condition: &Checked, value: &str) -> String {
    match condition.requirement {
        Requirement::NotZero
        | Requirement::NotZeroInBars
        | Requirement::NotZeroUnderOddRoot
        | Requirement::NotAPole => format!("{value} != 0"),
        Requirement::Positive => format!("{value} > 0"),
        Requirement::InsideUnitInterval => format!("abs({value}) < 1"),
        Requirement::GreaterThanOne => format!("{value} > 1"),
    }
}

fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Satisfied => "satisfied",
        Verdict::NotSatisfied => "not satisfied",
        Verdict::CannotDecide => "cannot decide",
    }
}

fn candidate_out(candidate: &Candidate, text: &dyn Fn(&Expr) -> String) -> CandidateOut {
    CandidateOut {
        formula: candidate.derivatives.first().map(text).unwrap_or_default(),
        verdict: verdict(candidate.verdict),
        conditions: candidate
            .conditions
            .iter()
            .map(|tested| TestedOut {
                order: tested.order,
                value: tested.value.as_ref().map(text),
                wanted: text(&tested.wanted),
                verdict: verdict(tested.verdict),
            })
            .collect(),
        equation: verdict(candidate.equation),
        power: candidate.remains.as_ref().map(|(power, _)| *power),
        coefficient: candidate.remains.as_ref().map(|(_, c)| text(c)),
        agreeing: candidate.agreeing,
        first_different: candidate.different.as_ref().map(|d| d.degree),
    }
}

/// Of a system: the residual of each equation, by its unknown.
fn residuals_out(worksheet: &Worksheet, names: &Names) -> Vec<(String, Option<ResidualOut>)> {
    if names.unknowns.len() < 2 {
        return Vec::new();
    }
    let text = |expr: &Expr| plain::expression(expr, names);
    let own = names.unknowns.iter().zip(&worksheet.residuals);
    own.map(|(name, residual)| {
        let residual = residual.as_ref();
        (name.clone(), residual.map(|r| residual_out(r, &text)))
    })
    .collect()
}

/// Of a system: the remainder of each unknown's polynomial.
fn remainders_out(
    worksheet: &Worksheet,
    names: &Names,
) -> Vec<(String, Option<far_export::RemainderOut>)> {
    if names.unknowns.len() < 2 {
        return Vec::new();
    }
    let all = names.unknowns.iter().enumerate();
    all.map(|(unknown, name)| {
        let own = far_export::remainder_out(worksheet, unknown, names);
        (name.clone(), own)
    })
    .collect()
}

fn residual_out(residual: &Residual, text: &dyn Fn(&Expr) -> String) -> ResidualOut {
    ResidualOut {
        power: residual.power,
        coefficient: residual.coefficient.as_ref().map(text),
        computed_to: residual.computed,
    }
}

/// The Taylor polynomials as plain text, by unknown; none without a problem.
pub fn polynomials(worksheet: &Worksheet) -> Vec<(String, String)> {
    let Some(problem) = &worksheet.problem else {
        return Vec::new();
    };
    let names = Names::of(problem);
    worksheet
        .table
        .iter()
        .enumerate()
        .map(|(unknown, entries)| {
            let coefficients: Vec<Expr> = entries.iter().map(|e| e.coefficient.clone()).collect();
            (
                names.unknown(unknown).to_owned(),
                polynomial_text(&coefficients, &problem.center, &names),
            )
        })
        .collect()
}

/// `2 + x - x^2 + x^3/2`, in powers of (x − center).
pub fn polynomial_text(coefficients: &[Expr], center: &Expr, names: &Names) -> String {
    let base = if center.is_zero() {
        Expr::variable()
    } else {
        Expr::raw_sum(vec![Expr::variable(), center.neg()])
    };
    let mut out = String::new();
    for (power, coefficient) in (0_i64..).zip(coefficients) {
        if coefficient.is_zero() {
            continue;
        }
        let term = match power {
            0 => coefficient.clone(),
            1 => times(coefficient, base.clone()),
            n => times(coefficient, Expr::raw_power(base.clone(), Expr::int(n))),
        };
        let text = plain::expression(&term, names);
        // (x − c) alone keeps its brackets among the other terms.
        if matches!(term.node(), Node::Sum(_)) && power > 0 {
            plain::append_term(&mut out, &format!("({text})"));
        } else {
            plain::append_term(&mut out, &text);
        }
    }
    if out.is_empty() {
        out.push('0');
    }
    out
}

/// A product for reading: the coefficient's factors, then the power.
fn times(coefficient: &Expr, power: Expr) -> Expr {
    if coefficient.is_one() {
        return power;
    }
    let mut factors = coefficient.factors();
    factors.push(power);
    Expr::raw_product(factors)
}

fn reference_out(reference: &Reference, others: &[&Reference], names: &Names) -> ReferenceOut {
    let several = !others.is_empty();
    // Where another unknown has no certain digit it is left out.
    let point = |point: &Point, of: fn(&Reference) -> &[Point]| {
        let own = std::iter::once((0, value_out(point)));
        let same = |other: &&Point| other.place == point.place && other.asked == point.asked;
        let other = (1..).zip(others).filter_map(|(unknown, other)| {
            Some((unknown, value_out(of(other).iter().find(same)?)))
        });
        let values = own.chain(other).filter(|_| several);
        PointOut {
            x: point.x_text.clone(),
            value: value_out(point),
            values: values
                .map(|(unknown, value)| (names.unknown(unknown).to_owned(), value))
                .collect(),
        }
    };
    let stops: Vec<StopOut> = reference
        .stops
        .iter()
        .map(|stop| {
            let unknown = stop.unknown.filter(|_| several);
            stop_out(
                stop,
                unknown.map(|unknown| names.unknown(unknown).to_owned()),
            )
        })
        .collect();
    let asked: fn(&Reference) -> &[Point] = |r| &r.asked;
    let drawn: fn(&Reference) -> &[Point] = |r| &r.points;
    let points = reference.asked.iter().map(|own| point(own, asked));
    ReferenceOut {
        kind: if reference.evidence.proved {
            "enclosure"
        } else {
            "estimate"
        },
        interval: vec![reference.interval.0, reference.interval.1],
        points: points
            .chain(reference.points.iter().map(|own| point(own, drawn)))
            .collect(),
        stop: (!stops.is_empty()).then_some(stops),
        radius_about: reference.radius_estimate,
        evidence: if reference.evidence.proved {
            "enclosure: the solution lies between lower and upper"
        } else {
            "estimate: computed twice with other steps, orders and precision; the shown digits agree"
        },
    }
}

fn value_out(point: &Point) -> ValueOut {
    match point.enclosure() {
        Some((low, high)) => {
            let (lower, upper) = decimal::outward(&low, &high);
            ValueOut::Between { lower, upper }
        }
        None => ValueOut::About(point.value.text.clone()),
    }
}

/// An estimated place, to ten decimals and without needless zeros.
fn rounded(x: f64) -> String {
    let text = format!("{x:.10}");
    match text.trim_end_matches('0').trim_end_matches('.') {
        "-0" => "0".to_owned(),
        short => short.to_owned(),
    }
}

fn stop_out(stop: &Stop, unknown: Option<String>) -> StopOut {
    StopOut {
        side: if stop.right { "right" } else { "left" },
        x: stop
            .place
            .as_ref()
            .map_or_else(|| rounded(stop.x), ToString::to_string),
        reason: match stop.reason {
            StopReason::Pole => "pole or blow-up",
            StopReason::DomainEnd => "end of the domain",
            StopReason::SingularPoint => "singular point of the equation",
            StopReason::Branching => "the equation does not give its highest derivative",
            StopReason::LostDigits => "too few digits are certain",
            StopReason::Unproved => "the enclosure ends",
            StopReason::Budget => "out of budget",
        },
        between: stop.between.as_ref().map(|(low, high)| {
            let (lower, upper) = decimal::outward(low, high);
            vec![lower, upper]
        }),
        unknown,
    }
}
