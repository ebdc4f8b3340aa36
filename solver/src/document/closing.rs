//! The rows below the last order: the polynomial, and the check by substitution.

use super::build;
use super::formula::{Formula, MINUS};
use super::ledger::{LedgerRow, Line, Piece, Prose, Role, StripTerm};
use super::line::{chain, lead, value_piece};
use super::names::{Names, split_index};
use super::opening::plain_row;
use super::several;
use super::strip;
use crate::check::Residual;
use crate::expression::Expr;
use crate::problem::{Equation, Problem};

/// `P_N(x)`; for a system `u_N(t)`, so that each polynomial has its unknown's letter.
pub fn partial_sum(unknown: usize, degree: usize, names: &Names) -> Formula {
    let name = if names.unknowns.len() > 1 {
        Formula::Identifier(sum_name(unknown, degree, names))
    } else {
        Formula::Index(
            Box::new(Formula::Identifier("P".to_owned())),
            Box::new(Formula::digits(degree)),
        )
    };
    Formula::value_at(name, names.variable())
}

/// The partial sum's name as a typed name: `P_5`, `u_5`, `y_1,5`.
fn sum_name(unknown: usize, degree: usize, names: &Names) -> String {
    let own = match names.unknowns.as_slice() {
        [_] => "P",
        _ => names.unknown(unknown),
    };
    let between = if split_index(own).1.is_some() {
        ','
    } else {
        '_'
    };
    format!("{own}{between}{degree}")
}

/// The key of a row: of a system each unknown has its own.
fn keyed(key: &str, unknown: usize, names: &Names) -> String {
    if names.unknowns.len() > 1 {
        format!("{key}-{unknown}")
    } else {
        key.to_owned()
    }
}

/// Words about one unknown; of a system it is named.
fn about(words: &str, of: &str, unknown: usize, names: &Names) -> Prose {
    let prose = Prose::words(words);
    if names.unknowns.len() > 1 {
        prose.text(of).math(names.derivative(unknown, 0))
    } else {
        prose
    }
}

/// The polynomial with factorials, then simplified.
pub fn polynomial(unknown: usize, degree: usize, terms: &[StripTerm], names: &Names) -> LedgerRow {
    let factorials = terms.iter().filter_map(|term| term.factorial_term.clone());
    let simplified = terms.iter().filter_map(|term| term.simplified.clone());
    let lines = vec![
        sum_line("", named(unknown, degree, names), factorials),
        sum_line("simplified", Formula::Operator('='), simplified),
    ];
    plain_row(
        keyed("polynomial", unknown, names),
        about("Taylor polynomial", " of ", unknown, names),
        lines,
    )
}

/// `P_N(x) =`
pub fn named(unknown: usize, degree: usize, names: &Names) -> Formula {
    Formula::row([partial_sum(unknown, degree, names), Formula::Operator('=')])
}

/// A sum of terms behind its name; 0 when there are none.
pub fn sum_line(label: &'static str, name: Formula, terms: impl Iterator<Item = Formula>) -> Line {
    let mut pieces = vec![lead(name)];
    pieces.extend(terms.map(|formula| value_piece(formula, Role::Term)));
    if pieces.len() == 1 {
        pieces.push(value_piece(Formula::digits(0), Role::Term));
    }
    chain(label, pieces)
}

/// Estimates of the coefficients whose exact values are too long to be read.
pub fn beyond(
    unknown: usize,
    estimates: &[(usize, String)],
    names: &Names,
    center: &Formula,
) -> LedgerRow {
    let shown = estimates.iter().map(|(degree, text)| {
        let value = Formula::value_at(names.derivative(unknown, *degree), center.clone());
        let number = match text.strip_prefix('-') {
            Some(size) => Formula::row([Formula::Sign(MINUS), strip::decimal_number(size)]),
            None => strip::decimal_number(text),
        };
        Formula::row([
            Formula::fraction(value, Formula::factorial(*degree)),
            Formula::Operator('≈'),
            number,
        ])
    });
    plain_row(
        keyed("beyond", unknown, names),
        Prose::words("Further coefficients, about"),
        vec![Line::Text(
            Prose::words("Their exact values are too long to be read. Computed numerically, in two precisions that agree on these digits (an estimate): ")
                .list(shown)
                .text("."),
        )],
    )
}

/// Said in place of the check when it was not worked out.
pub fn no_residual(unknown: usize, names: &Names) -> LedgerRow {
    plain_row(
        keyed("residual", unknown, names),
        about("Check: the residual", ", equation of ", unknown, names),
        vec![Line::Text(Prose::words(
            "Not worked out here: the coefficients are too long for putting the polynomial back by hand.",
        ))],
    )
}

/// What is left when the polynomials are put into the equation of one unknown.
pub fn residual(
    problem: &Problem,
    unknown: usize,
    degree: usize,
    residual: &Residual,
    names: &Names,
) -> LedgerRow {
    let power = |n: usize| {
        strip::power_of_distance(&problem.center, n, names).unwrap_or_else(|| Formula::digits(1))
    };
    let mut head = Prose::words("Put ");
    let occurring = several::occurring(problem, unknown);
    let last = occurring.len().saturating_sub(1);
    for (position, own) in occurring.into_iter().enumerate() {
        head = head
            .text(match position {
                0 => "",
                _ if position == last => " and ",
                _ => ", ",
            })
            .math(partial_sum(own, degree, names))
            .text(" in place of ")
            .math(names.derivative(own, 0));
    }
    let head = head.text(" in the equation and take the right side from the left. ");
    let remains = residual
        .coefficient
        .as_ref()
        .zip(residual.power)
        .map(|(coefficient, found)| remaining(coefficient, found, &power, names));
    let text = match (residual.power, remains.clone()) {
        (Some(found), Some(term)) if found >= residual.expected => {
            let head = match found {
                0 => head.text("Nothing has to cancel yet; "),
                1 => head.text("The constant terms cancel; "),
                n => head
                    .text("All powers up to ")
                    .math(power(n - 1))
                    .text(" cancel; "),
            };
            head.text("the first that remains is ").math(term).text(".")
        }
        (Some(found), _) => head
            .text("**A power remains that should have canceled**: ")
            .math(power(found))
            .text("."),
        (None, _) => head
            .text("Everything cancels, as far as it was worked out (up to ")
            .math(power(residual.computed))
            .text(")."),
    };
    let mut lines = vec![Line::Text(text)];
    if let (Some(term), Some(equation)) = (remains, problem.equations.get(unknown)) {
        lines.push(difference(equation, degree, term, names));
    }
    let mut row = plain_row(
        keyed("residual", unknown, names),
        about("Check: the residual", ", equation of ", unknown, names),
        lines,
    );
    if residual
        .power
        .is_some_and(|found| found < residual.expected)
    {
        row.checked = Some(false);
    }
    row
}

/// `−(1/180) x⁷`
pub(super) fn remaining(
    coefficient: &Expr,
    found: usize,
    power: &dyn Fn(usize) -> Formula,
    names: &Names,
) -> Formula {
    strip::signed_term(coefficient, (found > 0).then(|| power(found)), names, true)
}

/// `P₆″ − x P₆ = −(1/180) x⁷ + ⋯`
fn difference(equation: &Equation, degree: usize, remains: Formula, names: &Names) -> Line {
    let names = Names {
        unknowns: (0..names.unknowns.len())
            .map(|unknown| sum_name(unknown, degree, names))
            .collect(),
        ..names.clone()
    };
    let (left, right) = &equation.given;
    let pieces_of = |terms: &[Expr]| -> Vec<Formula> {
        let terms = terms.iter().filter(|term| !term.is_zero());
        terms
            .enumerate()
            .map(|(position, term)| build::term(term, &names, position == 0))
            .collect()
    };
    let mut formulas = pieces_of(left);
    let subtracted = pieces_of(right);
    if let [only] = right.as_slice()
        && build::is_negative(only)
    {
        // Taking −u away is adding u.
        formulas.push(build::term(&only.neg(), &names, false));
    } else if !subtracted.is_empty() {
        let whole = Formula::row(subtracted.iter().cloned());
        let signed = matches!(
            subtracted.first(),
            Some(Formula::Row(parts)) if matches!(parts.first(), Some(Formula::Sign(_)))
        );
        let whole = if subtracted.len() > 1 || signed {
            whole.bracketed()
        } else {
            whole
        };
        formulas.push(Formula::row([Formula::Operator(MINUS), whole]));
    }
    let mut pieces: Vec<Piece> = formulas
        .into_iter()
        .map(|formula| value_piece(formula, Role::Term))
        .collect();
    pieces.push(value_piece(
        Formula::row([
            Formula::Operator('='),
            remains,
            Formula::Operator('+'),
            Formula::Text("⋯".to_owned()),
        ]),
        Role::Value,
    ));
    chain("", pieces)
}
