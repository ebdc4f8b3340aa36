//! The solver's answer turned into what the page is sent.

use crate::html::escape;
use crate::inputs::{Choice, Figures};
use crate::ledger;
use crate::numerals::{significant, typeset};
use crate::protocol::{
    AxisData, BesideData, Copies, CurveData, Drawing, LetterData, Note, Numbers, PictureData,
    PlotData, Sheet,
};
use solver::convergence::Radius;
use solver::diagnostic::{Diagnostic, Severity, Suggestion};
use solver::document::ledger::Document;
use solver::document::names::{Names, greek_letter, split_index};
use solver::document::{plain, strip, whole};
use solver::expression::to_f64;
use solver::plot::{Axis, Beside, Curve, Picture, Plot, phase};
use solver::problem::{Parameter, Route};
use solver::reference::{Nearest, Reference, StopReason};
use solver::span::{Field, Span};
use solver::worksheet::{Worksheet, export};
use std::fmt::Write;

/// The first stage: everything that is read.
pub fn sheet(sequence: u32, worksheet: &Worksheet) -> Sheet {
    let checks: Vec<bool> = worksheet
        .document
        .rows
        .iter()
        .filter_map(|row| row.checked)
        .collect();
    let defect = checks.contains(&false);
    let exact: Vec<(String, String)> = export::polynomials(worksheet);
    let stepped = worksheet.problem.as_ref().is_some_and(|problem| {
        let mut equations = problem.equations.iter();
        equations.any(|equation| !equation.steps.is_empty())
    });
    Sheet {
        sequence,
        worked: !worksheet.document.rows.is_empty(),
        notes: notes(worksheet),
        rows: ledger::rows(&worksheet.document),
        unknowns: unknowns(worksheet),
        strips: ledger::strips(&worksheet.document),
        checked: if defect {
            "the two ways to these values disagree: a defect".into()
        } else if checks.is_empty() {
            String::new()
        } else {
            "each value found twice: by differentiation and by series arithmetic".into()
        },
        defect,
        degree: degree(worksheet),
        standing: worksheet
            .derivation
            .as_ref()
            .is_some_and(|made| made.route == Route::Standing),
        has_routes: stepped,
        copies: Figures::NAMES
            .iter()
            .map(|(figures, _)| copies(&worksheet.document, *figures, &exact))
            .collect(),
    }
}

/// The unknowns' names as typed.
pub fn unknowns(worksheet: &Worksheet) -> Vec<String> {
    let problem = worksheet.problem.as_ref();
    problem
        .map(|problem| Names::of(problem).unknowns)
        .unwrap_or_default()
}

/// The degree of the polynomial.
pub fn degree(worksheet: &Worksheet) -> usize {
    let last = worksheet.document.strip.last();
    last.map_or(0, |term| term.degree)
}

/// The second stage: everything that is drawn.
pub fn drawing(sequence: u32, worksheet: &Worksheet) -> Drawing {
    let names = worksheet.problem.as_ref().map(Names::of);
    let letters = letters(worksheet, &letter);
    let names = names.map_or_else(
        || ("x".to_owned(), vec!["y".to_owned()]),
        |names| {
            let unknowns = names.unknowns.iter().map(|name| letter(name)).collect();
            (letter(&names.independent), unknowns)
        },
    );
    let center = worksheet
        .reference
        .as_ref()
        .map(|reference| reference.center);
    let proved = worksheet
        .reference
        .as_ref()
        .is_some_and(|reference| reference.evidence.proved);
    Drawing {
        sequence,
        plots: worksheet
            .plot
            .iter()
            .chain(worksheet.others.iter().map(|(_, plot)| plot))
            .map(|plot| plot_data(plot, center, proved))
            .collect(),
        remarks: worksheet
            .reference
            .as_ref()
            .map(|reference| {
                let formula = worksheet.plot.as_ref().map_or("", |plot| formula(plot));
                let proved = crate::far::remark(worksheet);
                drawn_for(&letters)
                    + formula
                    + &remarks(reference, &names)
                    + shaded(worksheet, reference).as_str()
                    + &proved
            })
            .unwrap_or_default(),
        letters,
        far: crate::far::data(worksheet),
        names,
        interval: worksheet
            .reference
            .as_ref()
            .map(|reference| {
                let (low, high) = reference.interval;
                (typeset(&low.to_string()), typeset(&high.to_string()))
            })
            .unwrap_or_default(),
        notes: notes(worksheet),
    }
}

/// The letters with their numbers; `letter` gives a name as it is printed.
fn letters(worksheet: &Worksheet, letter: &dyn Fn(&str) -> String) -> Vec<LetterData> {
    let Some(problem) = &worksheet.problem else {
        return Vec::new();
    };
    // Nothing can be drawn for any numbers, unless it is one of them that is wrong.
    let wrong = |note: &Diagnostic| note.field == Field::Parameters;
    if worksheet.numbers.is_empty() && !worksheet.diagnostics.iter().any(wrong) {
        return Vec::new();
    }
    let data = |parameter: &Parameter| {
        let name = &parameter.name;
        let (base, index) = split_index(name);
        let mut label = format!("<i>{}</i>", escape(&letter(base)));
        if let Some(index) = index {
            let _ = write!(label, "<sub>{}</sub>", escape(index));
        }
        let number = worksheet.numbers.iter().find(|own| own.name == *name);
        let value = number.and_then(|own| to_f64(&own.value)).unwrap_or(1.0);
        let high = (2.0 * value.abs()).max(SLIDER);
        let positive = number.is_some_and(|own| own.positive);
        LetterData {
            name: name.clone(),
            label,
            text: number.map(|own| own.text.clone()).unwrap_or_default(),
            value,
            low: if positive { high / STEPS } else { -high },
            high,
        }
    };
    problem.parameters.iter().map(data).collect()
}

/// A letter's slider reaches at least this far, and has so many steps from 0 to its end.
const SLIDER: f64 = 5.0;
const STEPS: f64 = 50.0;

/// Which numbers the picture is drawn for.
fn drawn_for(letters: &[LetterData]) -> String {
    if letters.is_empty() {
        return String::new();
    }
    let all: Vec<String> = letters
        .iter()
        .map(|letter| format!("{} = {}", letter.label, escape(&typeset(&letter.text))))
        .collect();
    format!("<p id=\"drawn-for\">Drawn for {}.</p>", all.join(", "))
}

/// Diagnostics without their types. The solver has one field for the two ends of the interval.
pub fn notes(worksheet: &Worksheet) -> Vec<Note> {
    let place = |field: Field, span: Span| {
        let first = worksheet.request.interval.0.len();
        match field {
            Field::Equation => ("equation".to_owned(), span.start, span.end),
            Field::Conditions => ("conditions".to_owned(), span.start, span.end),
            Field::Degree => ("degree".to_owned(), span.start, span.end),
            Field::At => ("at".to_owned(), span.start, span.end),
            Field::Beside => ("beside".to_owned(), span.start, span.end),
            Field::Parameters => ("parameters".to_owned(), span.start, span.end),
            Field::Candidate => ("candidate".to_owned(), span.start, span.end),
            Field::Tolerance => ("tolerance".to_owned(), span.start, span.end),
            Field::Interval if span.start <= first => {
                ("from".to_owned(), span.start, span.end.min(first))
            }
            Field::Interval => (
                "to".to_owned(),
                span.start - first - 1,
                span.end.saturating_sub(first + 1),
            ),
        }
    };
    let note = |one: &Diagnostic| {
        let (field, start, end) = place(one.field, one.span);
        let repair = |suggestion: &Suggestion| {
            let edits = suggestion.edits.iter().map(|edit| {
                let (field, start, end) = place(edit.field, edit.span);
                (field, start, end, edit.replacement.clone())
            });
            (suggestion.label.clone(), edits.collect())
        };
        Note {
            code: one.code.to_owned(),
            error: one.severity == Severity::Error,
            field,
            start,
            end,
            message: one.message.clone(),
            repairs: one.suggestions.iter().map(repair).collect(),
        }
    };
    worksheet.diagnostics.iter().map(note).collect()
}

fn copies(document: &Document, figures: Figures, exact: &[(String, String)]) -> Copies {
    let wanted = match figures {
        Figures::Exact => strip::Figures::Simplified,
        Figures::Factorials => strip::Figures::Factorials,
        Figures::Decimals => strip::Figures::Decimals,
    };
    let made = whole::copies(document, wanted);
    Copies {
        latex: made.latex,
        mathml: made.mathml,
        markdown: made.markdown,
        // For pasting into other programs: the polynomial alone; the exact one as the data have it.
        plain: if let ([(_, exact)], Figures::Exact) = (exact, figures) {
            exact.clone()
        } else {
            let strips = document.strips();
            let lines = strips.iter().zip(exact).map(|(strip, (name, exact))| {
                let sum = match figures {
                    Figures::Exact => exact.clone(),
                    _ => plain::formula(&whole::polynomial(strip, wanted)),
                };
                if strips.len() > 1 {
                    format!("{name} = {sum}")
                } else {
                    sum
                }
            });
            lines.collect::<Vec<_>>().join("\n")
        },
    }
}

/// A name as it is read: Greek letters as letters.
pub fn letter(name: &str) -> String {
    let (base, index) = split_index(name);
    let base = greek_letter(base).unwrap_or(base);
    format!("{base}{}", index.unwrap_or(""))
}

/// What is said below the plot.
fn remarks(reference: &Reference, (independent, unknowns): &(String, Vec<String>)) -> String {
    let mut out = String::new();
    let name = format!("<i>{}</i>", escape(independent));
    for stop in &reference.stops {
        let (way, place) = (
            if stop.right {
                "To the right"
            } else {
                "To the left"
            },
            match &stop.place {
                Some(exact) => exact.to_string().replace('-', "\u{2212}"),
                None => significant(stop.x, 5),
            },
        );
        let about = if stop.place.is_some() { "" } else { "about " };
        let who = match stop.unknown.and_then(|unknown| unknowns.get(unknown)) {
            Some(unknown) if unknowns.len() > 1 => {
                let how = if stop.between.is_some() {
                    "proved for"
                } else {
                    "seen in"
                };
                format!(" ({how} <i>{}</i>)", escape(unknown))
            }
            _ => String::new(),
        };
        let why = match stop.reason {
            StopReason::Pole if stop.between.is_some() => "the solution surely grows without bound",
            StopReason::Pole => "the solution grows without bound there",
            StopReason::DomainEnd => "the equation’s right-hand side stops being analytic there",
            StopReason::SingularPoint => "the equation has a singular point there",
            StopReason::Branching => {
                "there the equation stops giving the highest derivative, and solutions can branch"
            }
            StopReason::LostDigits => "beyond it too few digits are certain",
            StopReason::Unproved => {
                "the enclosure ends there, and whether the solution goes on is not known"
            }
            StopReason::Budget => "following it further would take too long",
        };
        let between = stop.bracket().map_or_else(String::new, |(low, high)| {
            format!(
                ", at a place between {} and {}",
                typeset(&low),
                typeset(&high)
            )
        });
        let _ = write!(
            out,
            "<p>{way} the numerical solution stops at {about}{name} = {place}: {why}{between}{who}.</p>"
        );
    }
    let mut points = reference.points.iter();
    out.push_str(if reference.evidence.proved {
        "<p>Guaranteed: every value lies in an interval found by Taylor steps in ball arithmetic with a proved remainder, and only its certain digits are shown."
    } else if points.any(|point| point.radius.is_some()) {
        "<p>The first part is guaranteed (enclosed by Taylor steps with a proved remainder); the rest is an estimate, computed twice with other steps, order and precision, of which the digits shown agree."
    } else {
        "<p>Estimate: computed twice, with other steps, order and precision; the digits shown agree."
    });
    out.push_str(" Values of the polynomial are rounded.");
    out
}

/// What the shading is.
fn shaded(worksheet: &Worksheet, reference: &Reference) -> String {
    let known = worksheet
        .convergence
        .as_ref()
        .is_some_and(|found| matches!(found.radius, Radius::Exact(_)));
    let about = match reference.radius_estimate {
        None => return "</p>".to_owned(),
        // The section on how far says it exactly.
        Some(_) if known => String::new(),
        Some(radius) => {
            // No more digits than the evidence has.
            let digits = worksheet.nearest.as_ref().map_or(2, Nearest::digits);
            format!(" (about {})", significant(radius, digits.min(3) as usize))
        }
    };
    format!(" Shaded: beyond the radius of convergence{about} more terms don’t help.</p>")
}

/// What the dots are.
fn formula(plot: &Plot) -> &'static str {
    if plot.candidate.is_empty() {
        ""
    } else {
        "<p>Dots, <i>f</i>: the formula to test.</p>"
    }
}

fn axis(axis: &Axis) -> AxisData {
    AxisData {
        low: axis.low,
        high: axis.high,
        ticks: axis.ticks.clone(),
    }
}

fn picture(picture: &Picture) -> PictureData {
    PictureData {
        x: axis(&picture.x),
        y: axis(&picture.y),
        curves: picture.curves.iter().map(curve).collect(),
        beyond: picture.beyond.clone(),
        kept: picture.kept.clone(),
        proved: picture.proved.iter().map(curve).collect(),
    }
}

fn curve(curve: &Curve) -> CurveData {
    CurveData {
        degree: curve.degree,
        pieces: curve.pieces.iter().map(|piece| numbers(piece)).collect(),
    }
}

fn numbers(piece: &[(f64, f64)]) -> Numbers {
    Numbers(piece.iter().flat_map(|(x, y)| [*x, *y]).collect())
}

fn beside(beside: &Beside) -> BesideData {
    BesideData {
        curves: beside.curves.iter().map(curve).collect(),
        reference: beside
            .rows
            .iter()
            .map(|row| row.reference.clone().unwrap_or_default())
            .collect(),
        sums: Numbers(
            beside
                .rows
                .iter()
                .flat_map(|row| row.partial_sums.iter().copied())
                .collect(),
        ),
    }
}

fn plot_data(plot: &Plot, center: Option<f64>, proved: bool) -> PlotData {
    let rows = &plot.table;
    let sums = |curve: &&Curve| curve.degree == Some(0);
    let first = plot.curves.curves.iter().find(sums).and_then(|sums| {
        let point = sums.pieces.first()?.first()?;
        Some(point.1)
    });
    PlotData {
        center: center.zip(first),
        across: axis(&phase::across(plot)),
        curves: picture(&plot.curves),
        errors: picture(&plot.errors),
        beside: plot.beside.iter().map(beside).collect(),
        candidate: plot.candidate.iter().map(|piece| numbers(piece)).collect(),
        table_x: rows.iter().map(|row| row.x.clone()).collect(),
        table_at: Numbers(rows.iter().map(|row| row.x_value).collect()),
        table_reference: rows
            .iter()
            .map(|row| row.reference.clone().unwrap_or_default())
            .collect(),
        proved,
        table_value: Numbers(
            rows.iter()
                .map(|row| row.reference_value.unwrap_or(f64::NAN))
                .collect(),
        ),
        table_sums: Numbers(
            rows.iter()
                .flat_map(|row| row.partial_sums.iter().copied())
                .collect(),
        ),
        table_errors: Numbers(
            rows.iter()
                .flat_map(|row| row.errors.iter().map(|error| error.unwrap_or(f64::NAN)))
                .collect(),
        ),
    }
}
