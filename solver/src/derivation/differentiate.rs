//! One term differentiated the way a person does it, with the rule of every step.
//!
//! - A constant factor goes in front (constant multiple), then the product rule runs over the
//!   variable factors from left to right, but for brackets in the variable alone, whose turn comes
//!   last: (4 + x²) y″ gives (4 + x²) y‴ + 2x y″. Each new term keeps its factors in place.
//! - Sums in brackets stay in brackets and are differentiated term by term.
//! - One divisor to the first power calls for the quotient rule; every other negative power is
//!   a factor under the power rule. So `y/(1+x)` gives `(y′(1+x) − y)/(1+x)²`, which splits into
//!   `y′/(1+x) − y/(1+x)²`, and the second of these needs no fourth powers.

use crate::budget::{Exhausted, Fuel};
use crate::expression::{Expr, Function, Node, Symbol};

use super::{Rule, Trace, raw};

/// One term of a derivative.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    /// As a person writes it down first.
    pub(super) raw: Expr,
    /// The same in normal form, as the terms that it contributes to the next line. A quotient
    /// contributes one for each term of its numerator, a visible 0 none.
    pub(super) parts: Vec<Expr>,
}

/// A derivative: how it came about, and its terms.
#[derive(Clone, Debug)]
pub(super) struct Derived {
    pub(super) trace: Trace,
    pub(super) pieces: Vec<Piece>,
}

impl Derived {
    /// As a factor in a line as obtained: one term, or a sum in brackets, zeros left out.
    fn raw_factor(&self) -> Expr {
        raw::sum(self.pieces.iter().map(|piece| piece.raw.clone()))
    }

    /// The same in normal form.
    fn factor(&self) -> Expr {
        Expr::sum(
            self.pieces
                .iter()
                .flat_map(|piece| piece.parts.clone())
                .collect(),
        )
    }
}

/// Differentiates `term` (in normal form) with respect to the independent variable; unknowns
/// depend on it.
///
/// # Errors
/// [`Exhausted`] when `fuel` runs out; one unit is about one node written.
pub(super) fn differentiate(term: &Expr, fuel: &mut Fuel) -> Result<Derived, Exhausted> {
    fuel.spend(1)?;
    if term.is_constant() {
        return Ok(leaf(Rule::Constant, term, Expr::zero()));
    }
    match term.node() {
        Node::Number(_) | Node::Symbol(Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_)) => {
            Ok(leaf(Rule::Constant, term, Expr::zero()))
        }
        Node::Symbol(Symbol::Variable) => Ok(leaf(Rule::Variable, term, Expr::one())),
        Node::Symbol(Symbol::Derivative { unknown, order }) => {
            let next = order.checked_add(1).ok_or(Exhausted)?;
            Ok(leaf(Rule::Unknown, term, Expr::derivative(*unknown, next)))
        }
        Node::Call(function, argument) => chain(term, *function, argument, fuel),
        Node::Power(base, exponent) if exponent.is_constant() => power(term, base, exponent, fuel),
        Node::Power(base, exponent) => exponential(term, base, exponent, fuel),
        Node::Product(factors) => {
            let (constants, variables): (Vec<Expr>, Vec<Expr>) =
                factors.iter().cloned().partition(Expr::is_constant);
            if !constants.is_empty() {
                return constant_multiple(term, &constants, variables, fuel);
            }
            match split_quotient(&variables) {
                Some((numerator, divisor)) => quotient(term, numerator, divisor, fuel),
                None => product(term, &variables, fuel),
            }
        }
        Node::Sum(terms) => sum(term, terms, fuel),
    }
}

fn leaf(rule: Rule, input: &Expr, output: Expr) -> Derived {
    let parts = if output.is_zero() {
        Vec::new()
    } else {
        vec![output.clone()]
    };
    Derived {
        pieces: vec![Piece {
            raw: output.clone(),
            parts,
        }],
        trace: Trace {
            rule,
            input: input.clone(),
            output,
            children: Vec::new(),
        },
    }
}

/// A derivative of one term.
fn single(
    rule: Rule,
    input: &Expr,
    (raw, normal): (Expr, Expr),
    children: Vec<Trace>,
    fuel: &mut Fuel,
) -> Result<Derived, Exhausted> {
    spend_nodes(fuel, &raw)?;
    let parts = if normal.is_zero() {
        Vec::new()
    } else {
        vec![normal]
    };
    Ok(Derived {
        pieces: vec![Piece {
            raw: raw.clone(),
            parts,
        }],
        trace: Trace {
            rule,
            input: input.clone(),
            output: raw,
            children,
        },
    })
}

fn chain(
    input: &Expr,
    function: Function,
    argument: &Expr,
    fuel: &mut Fuel,
) -> Result<Derived, Exhausted> {
    let inner = differentiate(argument, fuel)?;
    let outer = function.derivative(argument);
    let raw = raw::product([outer.clone(), inner.raw_factor()]);
    let normal = Expr::product(vec![outer, inner.factor()]);
    single(Rule::Chain, input, (raw, normal), vec![inner.trace], fuel)
}

fn power(
    input: &Expr,
    base: &Expr,
    exponent: &Expr,
    fuel: &mut Fuel,
) -> Result<Derived, Exhausted> {
    let inner = differentiate(base, fuel)?;
    let lower = Expr::sum(vec![exponent.clone(), Expr::int(-1)]);
    let raw = raw::product([
        exponent.clone(),
        raw::power(base.clone(), lower.clone()),
        inner.raw_factor(),
    ]);
    let normal = Expr::product(vec![
        exponent.clone(),
        Expr::power(base.clone(), lower),
        inner.factor(),
    ]);
    single(Rule::Power, input, (raw, normal), vec![inner.trace], fuel)
}

fn exponential(
    input: &Expr,
    base: &Expr,
    exponent: &Expr,
    fuel: &mut Fuel,
) -> Result<Derived, Exhausted> {
    let outer = differentiate(exponent, fuel)?;
    let mut raw_inner = vec![raw::product([
        outer.raw_factor(),
        Expr::raw_call(Function::Ln, base.clone()),
    ])];
    let mut inner = vec![Expr::product(vec![
        outer.factor(),
        Expr::call(Function::Ln, base.clone()),
    ])];
    let mut children = vec![outer.trace];
    if !base.is_constant() {
        let below = differentiate(base, fuel)?;
        raw_inner.push(raw::product([
            exponent.clone(),
            below.raw_factor(),
            Expr::raw_power(base.clone(), Expr::int(-1)),
        ]));
        inner.push(Expr::product(vec![
            exponent.clone(),
            below.factor(),
            Expr::power(base.clone(), Expr::int(-1)),
        ]));
        children.push(below.trace);
    }
    let raw = raw::product([input.clone(), raw::sum(raw_inner)]);
    let normal = Expr::product(vec![input.clone(), Expr::sum(inner)]);
    single(Rule::Exponential, input, (raw, normal), children, fuel)
}

fn constant_multiple(
    input: &Expr,
    constants: &[Expr],
    variables: Vec<Expr>,
    fuel: &mut Fuel,
) -> Result<Derived, Exhausted> {
    let inner = differentiate(&joined(variables), fuel)?;
    spend_nodes(fuel, &inner.trace.output)?;
    let with_constants = |last: Expr| constants.iter().cloned().chain([last]);
    let pieces = inner
        .pieces
        .iter()
        .map(|piece| Piece {
            raw: raw::product(with_constants(piece.raw.clone())),
            parts: piece
                .parts
                .iter()
                .map(|part| Expr::product(with_constants(part.clone()).collect()))
                .collect(),
        })
        .collect();
    Ok(Derived {
        pieces,
        trace: Trace {
            rule: Rule::ConstantMultiple,
            input: input.clone(),
            output: raw::product(with_constants(inner.raw_factor())),
            children: vec![inner.trace],
        },
    })
}

fn product(input: &Expr, factors: &[Expr], fuel: &mut Fuel) -> Result<Derived, Exhausted> {
    let mut pieces = Vec::with_capacity(factors.len());
    let mut last_pieces = Vec::new();
    let mut children = Vec::with_capacity(factors.len());
    for (place, factor) in factors.iter().enumerate() {
        let inner = differentiate(factor, fuel)?;
        spend_nodes(fuel, input)?;
        spend_nodes(fuel, &inner.trace.output)?;
        let in_place = |derivative: &Expr| -> Vec<Expr> {
            let put = |(index, other): (usize, &Expr)| {
                if index == place { derivative } else { other }.clone()
            };
            factors.iter().enumerate().map(put).collect()
        };
        let normal = Expr::product(in_place(&inner.factor()));
        let bracket = matches!(factor.node(), Node::Sum(_)) && !factor.has_derivative();
        let own = if bracket {
            &mut last_pieces
        } else {
            &mut pieces
        };
        own.push(Piece {
            raw: raw::product(in_place(&inner.raw_factor())),
            parts: if normal.is_zero() {
                Vec::new()
            } else {
                vec![normal]
            },
        });
        children.push(inner.trace);
    }
    pieces.append(&mut last_pieces);
    Ok(Derived {
        trace: Trace {
            rule: Rule::Product,
            input: input.clone(),
            output: raw::sum_with_zeros(pieces.iter().map(|piece| piece.raw.clone())),
            children,
        },
        pieces,
    })
}

/// Numerator and divisor, if the quotient rule is what a person would use: exactly one factor to
/// the power −1, no other negative power, and a numerator that is not 1.
fn split_quotient(factors: &[Expr]) -> Option<(Expr, Expr)> {
    let mut divisor = None;
    let mut numerator = Vec::new();
    for factor in factors {
        match factor.node() {
            Node::Power(base, exponent) => match exponent.as_number() {
                Some(value) if *value == crate::number::rational::integer(-1) => {
                    if divisor.replace(base.clone()).is_some() {
                        return None;
                    }
                }
                Some(value) if num_traits::Signed::is_negative(value) => return None,
                _ => numerator.push(factor.clone()),
            },
            _ => numerator.push(factor.clone()),
        }
    }
    if numerator.is_empty() {
        return None;
    }
    Some((joined(numerator), divisor?))
}

fn quotient(
    input: &Expr,
    numerator: Expr,
    divisor: Expr,
    fuel: &mut Fuel,
) -> Result<Derived, Exhausted> {
    let above = differentiate(&numerator, fuel)?;
    let below = differentiate(&divisor, fuel)?;
    for part in [input, &above.trace.output, &below.trace.output] {
        spend_nodes(fuel, part)?;
    }
    let raw = raw::product([
        raw::sum([
            raw::product([above.raw_factor(), divisor.clone()]),
            raw::product([Expr::int(-1), numerator.clone(), below.raw_factor()]),
        ]),
        Expr::raw_power(divisor.clone(), Expr::int(-2)),
    ]);
    // A bracket stays a bracket; the terms of a product's derivative go their own ways.
    let above_parts = match numerator.node() {
        Node::Sum(_) => vec![above.factor()],
        _ => above
            .pieces
            .into_iter()
            .flat_map(|piece| piece.parts)
            .collect(),
    };
    let over = Expr::power(divisor.clone(), Expr::int(-1));
    let mut parts: Vec<Expr> = above_parts
        .into_iter()
        .map(|part| Expr::product(vec![part, over.clone()]))
        .collect();
    parts.push(Expr::product(vec![
        Expr::int(-1),
        numerator,
        below.factor(),
        Expr::power(divisor, Expr::int(-2)),
    ]));
    parts.retain(|part| !part.is_zero());
    Ok(Derived {
        pieces: vec![Piece {
            raw: raw.clone(),
            parts,
        }],
        trace: Trace {
            rule: Rule::Quotient,
            input: input.clone(),
            output: raw,
            children: vec![above.trace, below.trace],
        },
    })
}

fn sum(input: &Expr, terms: &[Expr], fuel: &mut Fuel) -> Result<Derived, Exhausted> {
    let mut pieces = Vec::with_capacity(terms.len());
    let mut children = Vec::with_capacity(terms.len());
    let mut outputs = Vec::with_capacity(terms.len());
    for term in terms {
        let inner = differentiate(term, fuel)?;
        pieces.extend(inner.pieces);
        outputs.push(inner.trace.output.clone());
        children.push(inner.trace);
    }
    Ok(Derived {
        pieces,
        trace: Trace {
            rule: Rule::Sum,
            input: input.clone(),
            output: raw::sum_with_zeros(outputs),
            children,
        },
    })
}

fn joined(mut factors: Vec<Expr>) -> Expr {
    match factors.pop() {
        Some(only) if factors.is_empty() => only,
        Some(last) => {
            factors.push(last);
            Expr::raw_product(factors)
        }
        None => Expr::one(),
    }
}

fn spend_nodes(fuel: &mut Fuel, expression: &Expr) -> Result<(), Exhausted> {
    fuel.spend(u64::try_from(expression.size()).unwrap_or(u64::MAX))
}
