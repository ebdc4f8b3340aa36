//! A tree back to text that reads as the same tree.

use std::fmt::Write as _;

use num_bigint::BigInt;
use num_traits::{One, Signed, Zero};

use super::letters::fraction_sign;
use super::{Kind, Multiplication, Node};
use crate::number::Rational;

/// How tightly a text holds together; a looser one gets brackets where a tighter one is needed.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Tightness {
    Sum,
    /// A sign in front; a term.
    Signed,
    Product,
    Power,
    Operand,
}

/// Plain text that is read back as the same tree ([`Kind::Missing`] apart). Trees that no text is
/// read as get the brackets they lack.
pub fn print(node: &Node) -> String {
    match &node.kind {
        Kind::Number(value) => number(value),
        Kind::Name(name) => name.clone(),
        Kind::Derivative {
            of,
            variable,
            order,
            argument,
        } => derivative(of, variable.as_deref(), *order, argument.as_deref()),
        Kind::Applied { name, argument, .. } => format!("{name}({})", print(argument)),
        Kind::Call {
            function,
            power,
            argument,
        } => call(function, power.as_deref(), argument),
        Kind::Negated(inner) => format!("-{}", at_least(Tightness::Signed, inner)),
        Kind::Sum(terms) => sum(terms),
        Kind::Product(left, how, right) => product(left, *how, right),
        Kind::Quotient(left, right) => {
            format!(
                "{}/{}",
                at_least(Tightness::Product, left),
                signed_factor(right)
            )
        }
        Kind::Power(base, exponent) => {
            let base = if is_bare_call(base) || is_leibniz(base) && ends_bare(base) {
                bracketed(base)
            } else {
                at_least(Tightness::Operand, base)
            };
            format!("{base}^{}", print_exponent(exponent))
        }
        Kind::Bracketed(inner) => bracketed(inner),
        Kind::Missing => String::new(),
    }
}

fn bracketed(node: &Node) -> String {
    format!("({})", print(node))
}

fn tightness(node: &Node) -> Tightness {
    match &node.kind {
        Kind::Sum(_) => Tightness::Sum,
        Kind::Negated(_) => Tightness::Signed,
        Kind::Product(..) | Kind::Quotient(..) => Tightness::Product,
        Kind::Power(..) => Tightness::Power,
        _ => Tightness::Operand,
    }
}

fn at_least(needed: Tightness, node: &Node) -> String {
    if tightness(node) < needed {
        bracketed(node)
    } else {
        print(node)
    }
}

fn number(value: &Rational) -> String {
    if value.is_negative() {
        return format!("(-{})", number(&-value));
    }
    if value.is_integer() {
        return value.to_integer().to_string();
    }
    if let Some(decimal) = decimal(value) {
        return decimal;
    }
    let whole = value.to_integer();
    match fraction_sign(&value.fract()) {
        Some(sign) if whole.is_zero() => sign.to_string(),
        Some(sign) => format!("{whole}{sign}"),
        None => format!("({}/{})", value.numer(), value.denom()),
    }
}

/// A fraction whose denominator has only the factors 2 and 5.
fn decimal(value: &Rational) -> Option<String> {
    let ten = BigInt::from(10);
    let mut digits = 0_usize;
    let mut scaled = value.clone();
    // A denominator of b bits that divides a power of ten divides 10^b.
    while !scaled.is_integer() {
        if u64::try_from(digits).unwrap_or(u64::MAX) > value.denom().bits() {
            return None;
        }
        scaled *= &ten;
        digits += 1;
    }
    let text = format!(
        "{:0>width$}",
        scaled.to_integer().to_string(),
        width = digits + 1
    );
    let (whole, decimals) = text.split_at(text.len() - digits);
    Some(format!("{whole}.{decimals}"))
}

fn derivative(of: &str, variable: Option<&str>, order: u32, argument: Option<&Node>) -> String {
    let mut text = match (variable, order) {
        (Some(variable), 1) => format!("d{of}/d{variable}"),
        (Some(variable), _) => format!("d^{order}{of}/d{variable}^{order}"),
        (None, 1..=3) => (0..order).fold(of.to_string(), |text, _| text + "'"),
        (None, _) => format!("{of}^{{({order})}}"),
    };
    if let Some(argument) = argument {
        let _ = write!(text, "({})", print(argument));
    }
    text
}

fn call(function: &str, power: Option<&Node>, argument: &Node) -> String {
    let raised = power.map_or_else(String::new, |p| format!("^{}", function_exponent(p)));
    let sign = match function {
        "sqrt" => Some('√'),
        "cbrt" => Some('∛'),
        _ => None,
    };
    match (&argument.kind, sign) {
        (Kind::Bracketed(inner), _) => format!("{function}{raised}({})", print(inner)),
        (_, Some(sign)) if power.is_none() && is_root_operand(argument) => {
            format!("{sign}{}", print(argument))
        }
        _ if function == "abs" && power.is_none() && fits_in_bars(argument) => {
            format!("|{}|", print(argument))
        }
        _ if is_bars(argument) && function != "abs" => {
            format!("{function}{raised} {}", print(argument))
        }
        _ if fits_bare(argument) => format!("{function}{raised} {}", print(argument)),
        _ => format!("{function}{raised}({})", print(argument)),
    }
}

/// What a root sign covers without brackets.
fn is_root_operand(node: &Node) -> bool {
    matches!(
        node.kind,
        Kind::Number(_)
            | Kind::Name(_)
            | Kind::Derivative { .. }
            | Kind::Applied { .. }
            | Kind::Call { .. }
    )
}

/// An absolute value that is printed with bars.
fn is_bars(node: &Node) -> bool {
    matches!(
        &node.kind,
        Kind::Call { function: "abs", power: None, argument } if fits_in_bars(argument)
    )
}

/// Between bars a further bar is read as the closing one unless an operand must come there.
fn fits_in_bars(argument: &Node) -> bool {
    match &argument.kind {
        Kind::Bracketed(_) | Kind::Missing => false,
        Kind::Product(..) => !print(argument).contains('|'),
        _ => true,
    }
}

/// Can stand as a function's argument without brackets: a product side by side, signs in front.
fn fits_bare(argument: &Node) -> bool {
    match &argument.kind {
        Kind::Negated(inner) => !matches!(inner.kind, Kind::Negated(_)) && fits_bare(inner),
        Kind::Product(left, Multiplication::Juxtaposed, right) => {
            fits_bare_factors(left) && !is_usual_call(right) && !is_usual_power_call(right)
        }
        Kind::Sum(_) | Kind::Product(..) | Kind::Quotient(..) => false,
        _ => true,
    }
}

fn fits_bare_factors(node: &Node) -> bool {
    !matches!(node.kind, Kind::Negated(_) | Kind::Bracketed(_)) && !is_bars(node) && fits_bare(node)
}

fn is_usual_call(node: &Node) -> bool {
    matches!(&node.kind, Kind::Call { function, .. } if !matches!(*function, "sqrt" | "cbrt" | "abs"))
}

fn is_usual_power_call(node: &Node) -> bool {
    matches!(&node.kind, Kind::Power(base, _) if is_usual_call(base))
}

/// A call whose argument goes on over factors written behind it.
fn is_bare_call(node: &Node) -> bool {
    let Kind::Call {
        function,
        power,
        argument,
    } = &node.kind
    else {
        return false;
    };
    let closed = matches!(argument.kind, Kind::Bracketed(_)) || is_bars(node);
    let root = matches!(*function, "sqrt" | "cbrt") && power.is_none() && is_root_operand(argument);
    let bars = is_bars(argument) && *function != "abs";
    !closed && !root && !bars && fits_bare(argument)
}

fn is_leibniz(node: &Node) -> bool {
    matches!(
        &node.kind,
        Kind::Derivative {
            variable: Some(_),
            ..
        }
    )
}

/// `dy/dx`, behind which `^2` would be read as part of it.
fn ends_bare(node: &Node) -> bool {
    matches!(
        &node.kind,
        Kind::Derivative {
            order: 1,
            argument: None,
            ..
        }
    )
}

/// Does the text end in a call that would take in a factor written behind it?
fn ends_in_bare_call(node: &Node) -> bool {
    match &node.kind {
        Kind::Call { argument, .. } if !is_bare_call(node) => {
            !matches!(argument.kind, Kind::Bracketed(_))
                && !is_bars(node)
                && ends_in_bare_call(argument)
        }
        Kind::Call { .. } => true,
        Kind::Product(_, _, last)
        | Kind::Quotient(_, last)
        | Kind::Power(_, last)
        | Kind::Negated(last) => ends_in_bare_call(last),
        Kind::Sum(terms) => terms
            .last()
            .is_some_and(|(_, last)| ends_in_bare_call(last)),
        _ => false,
    }
}

fn sum(terms: &[(bool, Node)]) -> String {
    let mut text = String::new();
    for (place, (minus, term)) in terms.iter().enumerate() {
        text.push_str(match (place, minus) {
            (0, false) => "",
            (0, true) => "-",
            (_, false) => " + ",
            (_, true) => " - ",
        });
        text.push_str(&at_least(Tightness::Signed, term));
    }
    text
}

/// What may stand behind `*` and `/`: signs and one factor.
fn signed_factor(node: &Node) -> String {
    match &node.kind {
        Kind::Negated(inner) => format!("-{}", signed_factor(inner)),
        _ => at_least(Tightness::Power, node),
    }
}

fn product(left: &Node, how: Multiplication, right: &Node) -> String {
    let left_text = at_least(Tightness::Product, left);
    match how {
        Multiplication::Sign => format!("{left_text}*{}", signed_factor(right)),
        Multiplication::Juxtaposed => {
            let swallowed =
                ends_in_bare_call(left) && !is_usual_call(right) && !is_usual_power_call(right);
            let left_text = if swallowed {
                bracketed(left)
            } else {
                left_text
            };
            format!("{left_text} {}", at_least(Tightness::Power, right))
        }
    }
}

fn print_exponent(node: &Node) -> String {
    match &node.kind {
        Kind::Negated(inner) => format!("-{}", print_exponent(inner)),
        // Round brackets around a whole number could mean a derivative: y^(4).
        Kind::Bracketed(inner) => match &inner.kind {
            Kind::Number(_) => format!("{{{}}}", print(inner)),
            _ => bracketed(inner),
        },
        // Brackets behind a name are not its argument in an exponent.
        Kind::Applied { .. }
        | Kind::Derivative {
            argument: Some(_), ..
        } => bracketed(node),
        _ => at_least(Tightness::Power, node),
    }
}

fn function_exponent(node: &Node) -> String {
    match &node.kind {
        Kind::Number(value) if value.is_one() => "1".to_string(),
        Kind::Negated(inner) => format!("-{}", function_exponent(inner)),
        Kind::Name(_) | Kind::Number(_) | Kind::Bracketed(_) => print(node),
        _ => at_least(Tightness::Operand, node),
    }
}
