//! Plain text: what the page's fields and common computer algebra libraries read back.

use num_bigint::Sign as BigSign;
use num_traits::{One, Signed, ToPrimitive};

use super::formula::{DOT, Formula, MINUS};
use super::names::{Names, primes};
use crate::expression::{Expr, Function, Node, Symbol};
use crate::number::Rational;

/// How tightly a piece of text binds, loosest first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Binding {
    Sum,
    Negative,
    Product,
    Power,
    Atom,
}

/// The expression in one line: `2*x - y'^2`, `-5/24`, `sin(1)/2`, `sqrt(3)`, `exp(2)`.
/// Reading it back gives an equal expression.
pub fn expression(expr: &Expr, names: &Names) -> String {
    write(expr, names).0
}

/// A sum of terms, in the order given; `0` when there are none.
pub fn sum<'a>(terms: impl IntoIterator<Item = &'a Expr>, names: &Names) -> String {
    let mut out = String::new();
    for term in terms {
        append_term(&mut out, &expression(term, names));
    }
    if out.is_empty() {
        out.push('0');
    }
    out
}

/// Adds a signed term to a sum.
pub fn append_term(out: &mut String, term: &str) {
    match (out.is_empty(), term.strip_prefix('-')) {
        (true, _) => out.push_str(term),
        (false, Some(rest)) => {
            out.push_str(" - ");
            out.push_str(rest);
        }
        (false, None) => {
            out.push_str(" + ");
            out.push_str(term);
        }
    }
}

fn wrapped(expr: &Expr, names: &Names, at_least: Binding) -> String {
    let (text, binding) = write(expr, names);
    if binding < at_least {
        format!("({text})")
    } else {
        text
    }
}

fn write(expr: &Expr, names: &Names) -> (String, Binding) {
    match expr.node() {
        Node::Number(value) => number(value),
        Node::Symbol(symbol) => (letter(symbol, names), symbol_binding(symbol)),
        Node::Call(Function::Exp, argument) => (
            format!("exp({})", expression(argument, names)),
            Binding::Atom,
        ),
        Node::Call(function, argument) => (
            format!("{}({})", function.name(), expression(argument, names)),
            Binding::Atom,
        ),
        Node::Power(base, exponent) => match split_power(exponent) {
            (true, positive) => {
                let denominator = power(base, &positive, names);
                (format!("1/{}", divisor(denominator)), Binding::Product)
            }
            (false, positive) => power(base, &positive, names),
        },
        Node::Product(factors) => product(factors, names),
        Node::Sum(terms) => {
            if let Some(over) = super::build::over_number(expr) {
                let numerator = Expr::raw_sum(over.numerator);
                let (sign, binding) = if over.negative {
                    ("-", Binding::Negative)
                } else {
                    ("", Binding::Product)
                };
                let above = expression(&numerator, names);
                return (format!("{sign}({above})/{}", over.denominator), binding);
            }
            let ordered = super::build::reading_order(terms);
            if let [only] = ordered.as_slice() {
                return write(only, names);
            }
            let mut out = String::new();
            for term in &ordered {
                append_term(&mut out, &wrapped(term, names, Binding::Negative));
            }
            (out, Binding::Sum)
        }
    }
}

fn number(value: &Rational) -> (String, Binding) {
    let binding = match (value.numer().sign(), value.denom().is_one()) {
        (BigSign::Minus, _) => Binding::Negative,
        (_, false) => Binding::Product,
        (_, true) => Binding::Atom,
    };
    (value.to_string(), binding)
}

fn symbol_binding(symbol: &Symbol) -> Binding {
    match symbol {
        Symbol::Derivative { order, .. } if primes(*order).is_none() && *order > 0 => {
            Binding::Power
        }
        _ => Binding::Atom,
    }
}

fn letter(symbol: &Symbol, names: &Names) -> String {
    match symbol {
        Symbol::Variable => names.independent.clone(),
        Symbol::Derivative { unknown, order } => derivative(names.unknown(*unknown), *order),
        Symbol::Pi => "pi".to_owned(),
        Symbol::Parameter(name) => name.to_string(),
        Symbol::Root(root) => root.letter().to_owned(),
    }
}

/// `y`, `y'`, `y''`, `y'''`, `y^(4)`.
pub fn derivative(name: &str, order: u32) -> String {
    match primes(order) {
        Some(_) => format!("{name}{}", "'".repeat(order as usize)),
        None if order == 0 => name.to_owned(),
        None => format!("{name}^({order})"),
    }
}

/// Is the exponent a negative number, and its absolute value.
fn split_power(exponent: &Expr) -> (bool, Expr) {
    match exponent.node() {
        Node::Number(value) if value.is_negative() => (true, Expr::number(-value.clone())),
        _ => (false, exponent.clone()),
    }
}

/// `base^exponent` for an exponent that is not a negative number.
fn power(base: &Expr, exponent: &Expr, names: &Names) -> (String, Binding) {
    if let Node::Number(value) = exponent.node() {
        if value.is_one() {
            return write(base, names);
        }
        if value.numer().is_one() && value.denom().to_u8() == Some(2) {
            return (format!("sqrt({})", expression(base, names)), Binding::Atom);
        }
    }
    let base = wrapped(base, names, Binding::Atom);
    let (text, binding) = write(exponent, names);
    let text = if binding == Binding::Atom {
        text
    } else {
        format!("({text})")
    };
    (format!("{base}^{text}"), Binding::Power)
}

fn divisor((text, binding): (String, Binding)) -> String {
    if binding < Binding::Power {
        format!("({text})")
    } else {
        text
    }
}

fn product(factors: &[Expr], names: &Names) -> (String, Binding) {
    let mut negative = false;
    let mut above: Vec<String> = Vec::new();
    let mut below: Vec<String> = Vec::new();
    for (position, factor) in factors.iter().enumerate() {
        match factor.node() {
            Node::Number(value) if position == 0 => {
                negative = value.is_negative();
                let magnitude = value.abs();
                if !magnitude.numer().is_one() {
                    above.push(magnitude.numer().to_string());
                }
                if !magnitude.denom().is_one() {
                    below.push(magnitude.denom().to_string());
                }
            }
            Node::Power(base, exponent) => match split_power(exponent) {
                (true, positive) => below.push(divisor(power(base, &positive, names))),
                (false, positive) => above.push(power(base, &positive, names).0),
            },
            _ => match super::build::over_number(factor) {
                Some(over) => {
                    negative ^= over.negative;
                    let numerator = Expr::raw_sum(over.numerator);
                    above.push(format!("({})", expression(&numerator, names)));
                    below.push(over.denominator.to_string());
                }
                None => above.push(wrapped(factor, names, Binding::Power)),
            },
        }
    }
    if above.is_empty() {
        above.push("1".to_owned());
    }
    let mut text = if negative { "-" } else { "" }.to_owned();
    text.push_str(&above.join("*"));
    if below.len() == 1 {
        text.push('/');
        text.push_str(&below.concat());
    } else if !below.is_empty() {
        text.push_str("/(");
        text.push_str(&below.join("*"));
        text.push(')');
    }
    let binding = if negative {
        Binding::Negative
    } else {
        Binding::Product
    };
    (text, binding)
}

/// A typeset formula in one line, for copying and for text documents. Closer to the page than
/// [`expression`]: juxtaposition stays juxtaposition. The page's fields read it.
pub fn formula(formula: &Formula) -> String {
    let mut out = String::new();
    write_formula(formula, &mut out);
    out
}

fn is_plain_atom(formula: &Formula) -> bool {
    match formula {
        Formula::Number(_)
        | Formula::Identifier(_)
        | Formula::Constant(_)
        | Formula::Brackets(_)
        | Formula::Bars(_)
        | Formula::Placeholder => true,
        Formula::Root(_, degree) => degree.is_none(),
        Formula::Factorial(inner) => is_plain_atom(inner),
        // A value of the unknown: y''(0).
        Formula::Row(parts) => matches!(
            parts.as_slice(),
            [
                Formula::Identifier(_) | Formula::Derivative(..),
                Formula::Application,
                Formula::Brackets(_)
            ]
        ),
        Formula::Derivative(_, order) => *order < super::names::FIRST_NUMBERED_DERIVATIVE,
        _ => false,
    }
}

fn write_atom(formula: &Formula, out: &mut String) {
    if is_plain_atom(formula) {
        write_formula(formula, out);
    } else {
        out.push('(');
        write_formula(formula, out);
        out.push(')');
    }
}

fn write_formula(formula: &Formula, out: &mut String) {
    match formula {
        Formula::Number(text) | Formula::Identifier(text) | Formula::Text(text) => {
            out.push_str(text);
        }
        Formula::Constant("π") => out.push_str("pi"),
        Formula::Constant(name) | Formula::FunctionName(name) => out.push_str(name),
        Formula::Application | Formula::Juxtaposition => {}
        Formula::Operator(MINUS) => out.push_str(" - "),
        Formula::Operator(DOT) => out.push('·'),
        Formula::Operator('/') => out.push('/'),
        Formula::Operator(sign) => {
            out.push(' ');
            out.push(*sign);
            out.push(' ');
        }
        Formula::Sign(sign) => out.push(if *sign == MINUS { '-' } else { *sign }),
        Formula::Punctuation(sign) => {
            out.push(*sign);
            out.push(' ');
        }
        Formula::Row(parts) => write_row(parts, out),
        Formula::Fraction(numerator, denominator) if is_leibniz(numerator, denominator) => {
            for (part, sign) in [(numerator, "/"), (denominator, "")] {
                if let Formula::Row(parts) = part.as_ref() {
                    for part in parts {
                        write_formula(part, out);
                    }
                }
                out.push_str(sign);
            }
        }
        Formula::Fraction(numerator, denominator) => {
            write_over(numerator, out);
            out.push('/');
            match denominator.as_ref() {
                Formula::Power(..) => write_formula(denominator, out),
                other => write_atom(other, out),
            }
        }
        Formula::Power(base, exponent) => {
            match base.as_ref() {
                // sin^2 x
                Formula::FunctionName(name) => out.push_str(name),
                other => write_atom(other, out),
            }
            out.push('^');
            match exponent.as_ref() {
                // e^(y'), and e^(y'(0)).
                Formula::Derivative(_, 1..) | Formula::Row(_) => {
                    out.push('(');
                    write_formula(exponent, out);
                    out.push(')');
                }
                other => write_atom(other, out),
            }
        }
        Formula::Index(base, index) => {
            write_atom(base, out);
            out.push('_');
            write_atom(index, out);
        }
        Formula::Root(inner, None) => {
            out.push_str("sqrt(");
            write_formula(inner, out);
            out.push(')');
        }
        Formula::Root(inner, Some(degree)) => {
            write_atom(inner, out);
            out.push_str("^(1/");
            out.push_str(&degree.to_string());
            out.push(')');
        }
        Formula::Brackets(inner) => {
            out.push('(');
            write_formula(inner, out);
            out.push(')');
        }
        Formula::Bars(inner) => {
            out.push_str("abs(");
            write_formula(inner, out);
            out.push(')');
        }
        Formula::Derivative(name, order) => out.push_str(&derivative(name, *order)),
        Formula::Primed(inner) => {
            write_atom(inner, out);
            out.push('\'');
        }
        Formula::Factorial(inner) => {
            write_atom(inner, out);
            out.push('!');
        }
        Formula::Placeholder => out.push('□'),
    }
}

/// A numerator: a leading sign needs no brackets, a sum or product does.
fn write_over(numerator: &Formula, out: &mut String) {
    match numerator {
        Formula::Row(parts) => match parts.as_slice() {
            [Formula::Sign(sign), rest] if is_plain_atom(rest) => {
                write_formula(&Formula::Sign(*sign), out);
                write_formula(rest, out);
            }
            _ => write_atom(numerator, out),
        },
        Formula::Power(..) => write_formula(numerator, out),
        _ => write_atom(numerator, out),
    }
}

/// `dy/dx` or `d^2y/dx^2`.
fn is_leibniz(numerator: &Formula, denominator: &Formula) -> bool {
    let begins = |formula: &Formula| match formula {
        Formula::Row(parts) => match parts.first() {
            Some(Formula::Identifier(d)) => d == "d" && parts.len() == 2,
            Some(Formula::Power(d, _)) => {
                parts.len() == 2 && **d == Formula::Identifier("d".to_owned())
            }
            _ => false,
        },
        _ => false,
    };
    begins(numerator) && begins(denominator)
}

/// Begins with a digit, which must not follow another one: 3·2^x, 7·4^(1/3).
fn starts_with_a_digit(formula: &Formula) -> bool {
    match formula {
        Formula::Number(_) => true,
        Formula::Power(base, _) => starts_with_a_digit(base),
        Formula::Root(inner, Some(_)) => is_plain_atom(inner) && starts_with_a_digit(inner),
        Formula::Row(parts) => parts.first().is_some_and(starts_with_a_digit),
        _ => false,
    }
}

/// Would run into a number written directly in front.
fn starts_with_a_word(formula: &Formula) -> bool {
    match formula {
        Formula::FunctionName(_) | Formula::Root(..) | Formula::Bars(_) | Formula::Number(_) => {
            true
        }
        Formula::Power(base, _) => starts_with_a_word(base),
        Formula::Row(parts) => parts.first().is_some_and(starts_with_a_word),
        _ => false,
    }
}

fn write_row(parts: &[Formula], out: &mut String) {
    for (position, part) in parts.iter().enumerate() {
        let previous = position.checked_sub(1).and_then(|at| parts.get(at));
        let next = parts.get(position + 1);
        let factor = |neighbor: Option<&Formula>| {
            matches!(
                neighbor,
                Some(Formula::Juxtaposition | Formula::Operator(DOT))
            )
        };
        match part {
            // A fraction beside another factor would swallow it: 1/2 x is written (1/2) x.
            Formula::Fraction(..) if factor(next) || factor(previous) => {
                out.push('(');
                write_formula(part, out);
                out.push(')');
            }
            Formula::Juxtaposition
                if out.ends_with(|c: char| c.is_ascii_digit())
                    && next.is_some_and(starts_with_a_digit) =>
            {
                out.push('·');
            }
            Formula::Juxtaposition => {
                let tight = matches!(previous, Some(Formula::Number(_)))
                    && !next.is_some_and(starts_with_a_word);
                if !tight {
                    out.push(' ');
                }
            }
            Formula::Application => {
                if !matches!(next, Some(Formula::Brackets(_))) {
                    out.push(' ');
                }
            }
            Formula::Operator(MINUS) if position == 0 => out.push_str("- "),
            Formula::Operator(sign) if position == 0 && *sign != DOT => {
                out.push(*sign);
                out.push(' ');
            }
            other => write_formula(other, out),
        }
    }
}
