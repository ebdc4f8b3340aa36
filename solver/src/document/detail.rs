//! Every rule on a line of its own: `(x sin x)′ = (x)′⋅sin x + x⋅(sin x)′ = sin x + x cos x`.

use super::build;
use super::formula::{DOT, Formula, MINUS};
use super::ledger::{Line, Piece, Prose, Role};
use super::line::{lead, value_piece};
use super::names::Names;
use super::reasons;
use crate::derivation::{LeibnizTerm, Rule, Trace, leibniz};
use crate::expression::{Expr, Function, Node};

/// So many lines of one rule each are shown for one row; more would not be read.
const DETAIL_LINES: usize = 60;

/// The rules of a row one by one: each rule before the ones it calls for. What has been
/// differentiated once in a row is not differentiated again, and (y)′ = y′ has a line only where a
/// whole term is that.
pub(super) fn lines(traces: &[&Trace], names: &Names) -> Vec<Line> {
    let mut lines = Vec::new();
    let mut seen: Vec<&Expr> = Vec::new();
    for trace in traces {
        let mut waiting = vec![*trace];
        while let Some(step) = waiting.pop() {
            waiting.extend(step.children.iter().rev());
            let named_only = step.rule == Rule::Unknown && !std::ptr::eq(step, *trace);
            if named_only || seen.contains(&&step.input) {
                continue;
            }
            if lines.len() >= DETAIL_LINES {
                lines.push(line(
                    vec![lead(Formula::Text("⋯".to_owned()))],
                    Prose::words("and so on, by the same rules"),
                ));
                return lines;
            }
            seen.push(&step.input);
            lines.push(line(pieces(step, names), reasons::single(step, names)));
        }
    }
    lines
}

fn line(pieces: Vec<Piece>, reason: Prose) -> Line {
    Line::Formula {
        label: "",
        pieces,
        detail: true,
        reason: Some(reason),
    }
}

fn pieces(step: &Trace, names: &Names) -> Vec<Piece> {
    let mut pieces = vec![lead(Formula::row([
        primed(&step.input, names),
        Formula::Operator('='),
    ]))];
    let output = build::formula(&step.output, names);
    match statement(step, names) {
        Some(statement) => {
            pieces.push(value_piece(statement, Role::Term));
            pieces.push(equal_to(output));
        }
        None => pieces.push(value_piece(output, Role::Term)),
    }
    pieces
}

fn equal_to(formula: Formula) -> Piece {
    value_piece(Formula::row([Formula::Operator('='), formula]), Role::Term)
}

/// (u)′
fn primed(expr: &Expr, names: &Names) -> Formula {
    Formula::Primed(Box::new(build::formula(expr, names).bracketed()))
}

/// What the rule says about this input, before the inner derivatives are worked out. `None` where
/// there are none to work out.
fn statement(step: &Trace, names: &Names) -> Option<Formula> {
    let factor = |expr: &Expr| factor(expr, names);
    let prime = |trace: &Trace| primed(&trace.input, names);
    let dot = || Formula::Operator(DOT);
    match (step.rule, step.input.node(), step.children.as_slice()) {
        (Rule::ConstantMultiple, Node::Product(factors), [inner]) => {
            let constants: Vec<Expr> = factors
                .iter()
                .filter(|f| f.is_constant())
                .cloned()
                .collect();
            let numbers = constants.iter().all(|c| c.as_number().is_some());
            let front = if constants == [Expr::int(-1)] {
                Formula::Sign(MINUS)
            } else {
                let between = if numbers {
                    Formula::Juxtaposition
                } else {
                    dot()
                };
                let constant = Expr::raw_product(constants);
                Formula::row([factor_in_front(&constant, names), between])
            };
            Some(Formula::row([front, prime(inner)]))
        }
        (Rule::Sum, _, children) => Some(joined(children.iter().map(prime), '+')),
        (Rule::Product, Node::Product(factors), children) => {
            // Factors stand where they stand in the product as written.
            let mut places: Vec<(usize, &Expr)> = factors.iter().enumerate().collect();
            crate::sorting::sort_by_key(&mut places, |(_, factor)| build::place_in_product(factor));
            let term = |place: usize| {
                let written = places.iter().map(|(at, other)| match children.get(*at) {
                    Some(child) if *at == place => prime(child),
                    _ => factor(other),
                });
                separated(written, &dot())
            };
            Some(joined((0..children.len()).map(term), '+'))
        }
        (Rule::Quotient, _, [above, below]) => {
            let first = [prime(above), dot(), factor(&below.input)];
            let second = [factor(&above.input), dot(), prime(below)];
            let difference = joined([Formula::row(first), Formula::row(second)], MINUS);
            let square = Expr::raw_power(below.input.clone(), Expr::int(2));
            Some(Formula::fraction(
                difference,
                build::formula(&square, names),
            ))
        }
        // (xʳ)′ = r xʳ⁻¹ says it all.
        (Rule::Power | Rule::Chain, _, [inner]) if inner.rule == Rule::Variable => None,
        (Rule::Power, Node::Power(base, exponent), [inner]) => {
            let lower = Expr::sum(vec![exponent.clone(), Expr::int(-1)]);
            let outer =
                Expr::raw_product(vec![exponent.clone(), Expr::raw_power(base.clone(), lower)]);
            Some(Formula::row([
                factor_in_front(&outer, names),
                dot(),
                prime(inner),
            ]))
        }
        (Rule::Chain, Node::Call(function, argument), [inner]) => {
            let outer = function.derivative(argument);
            Some(Formula::row([
                factor_in_front(&outer, names),
                dot(),
                prime(inner),
            ]))
        }
        (Rule::Exponential, Node::Power(base, _), [outer, rest @ ..]) => {
            let logarithm = Expr::raw_call(Function::Ln, base.clone());
            let first = Formula::row([prime(outer), dot(), factor(&logarithm)]);
            let inner = match rest {
                [] => return Some(Formula::row([factor(&step.input), dot(), first])),
                [below] => {
                    let numerator = Formula::row([factor(&outer.input), dot(), prime(below)]);
                    let second = Formula::fraction(numerator, build::formula(base, names));
                    joined([first, second], '+')
                }
                _ => return None,
            };
            Some(Formula::row([
                factor(&step.input),
                dot(),
                inner.bracketed(),
            ]))
        }
        _ => None,
    }
}

/// A factor between dots: in brackets where it has a sign or several terms.
fn factor(expr: &Expr, names: &Names) -> Formula {
    let formula = build::formula(expr, names);
    if matches!(expr.node(), Node::Sum(_)) || build::is_negative(expr) {
        formula.bracketed()
    } else {
        formula
    }
}

/// The first factor, which may keep its sign.
fn factor_in_front(expr: &Expr, names: &Names) -> Formula {
    let formula = build::formula(expr, names);
    if matches!(expr.node(), Node::Sum(_)) {
        formula.bracketed()
    } else {
        formula
    }
}

fn joined(parts: impl IntoIterator<Item = Formula>, sign: char) -> Formula {
    separated(parts, &Formula::Operator(sign))
}

fn separated(parts: impl IntoIterator<Item = Formula>, between: &Formula) -> Formula {
    let mut out = Vec::new();
    for part in parts {
        if !out.is_empty() {
            out.push(between.clone());
        }
        out.push(part);
    }
    Formula::row(out)
}

/// The products with a polynomial coefficient in an equation that is differentiated as it stands.
pub(super) fn leibniz_terms<'e>(
    equation: impl IntoIterator<Item = &'e Expr>,
    times: u32,
) -> Vec<(&'e Expr, Vec<LeibnizTerm>)> {
    equation
        .into_iter()
        .filter(|term| term.has_variable())
        .filter_map(|term| leibniz(term, times).map(|terms| (term, terms)))
        .collect()
}

/// `(x y″)⁽²⁾ = 1⋅x⋅y⁗ + 2⋅1⋅y‴ = x y⁗ + 2y‴`
pub(super) fn leibniz_line(term: &Expr, terms: &[LeibnizTerm], times: u32, names: &Names) -> Line {
    let left = Formula::power(
        build::formula(term, names).bracketed(),
        Formula::digits(times).bracketed(),
    );
    let written_out = terms.iter().map(|t| {
        separated(
            [
                Formula::digits(&t.binomial),
                factor(&t.factor, names),
                factor(&t.derivative, names),
            ],
            &Formula::Operator(DOT),
        )
    });
    let multiplied: Vec<Expr> = terms.iter().map(|t| t.product.clone()).collect();
    let pieces = vec![
        lead(Formula::row([left, Formula::Operator('=')])),
        value_piece(joined(written_out, '+'), Role::Term),
        equal_to(build::sum(&multiplied, names)),
    ];
    let binomials = terms
        .iter()
        .map(|t| Formula::digits(&t.binomial))
        .collect::<Vec<_>>();
    let reason = Prose::words("*Leibniz's rule* on ")
        .math(build::formula(term, names))
        .text(", with the binomial coefficients ")
        .list(binomials);
    line(pieces, reason)
}
