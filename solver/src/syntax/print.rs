//! A tree back to text that reads as the same tree.

use std::fmt::Write as _;

use num_bigint::BigInt;
use num_traits::{Signed, Zero};

use super::differentiated::is_constant;
use super::letters::fraction_sign;
use super::parser::is_bare_leibniz;
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
    printed(node, false).text
}

/// A part of the text, and how it behaves beside others.
struct Printed<'a> {
    text: String,
    kind: &'a Kind,
    tightness: Tightness,
    /// Ends in a function's argument without brackets, which takes in factors written behind it.
    swallows: bool,
    /// Can be a function's argument without brackets, if it does not begin with one.
    bare: bool,
    /// Has a bar behind an operand: between bars it would be read as the closing one.
    late_bar: bool,
}

impl Printed<'_> {
    fn bracketed(self) -> Self {
        Self {
            text: format!("({})", self.text),
            tightness: Tightness::Operand,
            swallows: false,
            bare: true,
            late_bar: false,
            ..self
        }
    }

    fn bracketed_if(self, condition: bool) -> Self {
        if condition { self.bracketed() } else { self }
    }

    fn at_least(self, needed: Tightness) -> Self {
        let loose = self.tightness < needed;
        self.bracketed_if(loose)
    }

    /// As the argument of a function, without brackets.
    fn can_follow_a_function(&self) -> bool {
        self.bare && !self.text.starts_with(['(', '|'])
    }

    /// In brackets or bars, which end an argument that begins with them.
    fn is_closed(&self) -> bool {
        self.tightness == Tightness::Operand && self.text.starts_with(['(', '|'])
    }

    fn is_bars(&self) -> bool {
        matches!(
            self.kind,
            Kind::Call {
                function: "abs",
                ..
            }
        ) && self.text.starts_with('|')
    }
}

/// `bars`: stands between bars, outside any brackets.
fn printed(node: &Node, bars: bool) -> Printed<'_> {
    let kind = &node.kind;
    let operand = |text: String| Printed {
        text,
        kind,
        tightness: Tightness::Operand,
        swallows: false,
        bare: true,
        late_bar: false,
    };
    match kind {
        Kind::Number(value) => operand(number(value)),
        Kind::Name(name) => operand(name.clone()),
        Kind::Derivative {
            of,
            variable,
            order,
            argument,
        } => operand(derivative(
            of,
            variable.as_deref(),
            *order,
            argument.as_deref(),
        )),
        Kind::Applied { name, argument, .. } => operand(format!("{name}({})", print(argument))),
        Kind::Bracketed(inner) => operand(format!("({})", print(inner))),
        Kind::Missing => operand(String::new()),
        Kind::Call {
            function,
            power,
            argument,
        } => Printed {
            kind,
            ..call(function, power.as_deref(), argument, bars)
        },
        Kind::Negated(inner) => {
            let inner = printed(inner, bars).at_least(Tightness::Signed);
            Printed {
                text: format!("-{}", inner.text),
                tightness: Tightness::Signed,
                swallows: inner.swallows,
                late_bar: inner.late_bar,
                bare: inner.bare && inner.tightness > Tightness::Signed,
                ..operand(String::new())
            }
        }
        Kind::Sum(terms) => Printed {
            kind,
            ..sum(terms, bars)
        },
        Kind::Product(left, how, right) => Printed {
            kind,
            ..product(left, *how, right, bars)
        },
        Kind::Quotient(left, right) => {
            let (left, right) = (
                printed(left, bars).at_least(Tightness::Product),
                signed_factor(right, bars),
            );
            Printed {
                text: format!("{}/{}", left.text, right.text),
                tightness: Tightness::Product,
                swallows: right.swallows,
                bare: false,
                late_bar: left.late_bar || right.late_bar,
                kind,
            }
        }
        Kind::Power(base, exponent) => {
            let base = printed(base, bars).at_least(Tightness::Operand);
            let leibniz = is_bare_leibniz(base.kind);
            // The power would go to the argument: sin -(x)^2.
            let negated = matches!(
                base.kind,
                Kind::Call { argument, .. } if matches!(argument.kind, Kind::Negated(_))
            );
            let open = base.swallows || leibniz || negated;
            let base = base.bracketed_if(open);
            let exponent = raised(exponent, bars);
            Printed {
                text: format!("{}^{}", base.text, not_an_order(base.kind, exponent.text)),
                tightness: Tightness::Power,
                swallows: exponent.swallows,
                late_bar: base.late_bar || exponent.late_bar,
                ..operand(String::new())
            }
        }
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
    let ten = Rational::from_integer(BigInt::from(10));
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

/// A function with its argument.
fn call<'a>(function: &str, power: Option<&Node>, argument: &'a Node, bars: bool) -> Printed<'a> {
    let raised = power.map_or_else(String::new, |p| format!("^{}", function_exponent(p).text));
    let absolute = function == "abs" && power.is_none();
    let node = argument;
    let mut argument = printed(node, bars);
    let bracketed = matches!(argument.kind, Kind::Bracketed(_));
    let sign = match function {
        "sqrt" => Some('√'),
        "cbrt" => Some('∛'),
        _ => None,
    };
    if let (Some(sign), None) = (sign, power)
        && !bracketed
        && argument.tightness == Tightness::Operand
    {
        return Printed {
            text: format!("{sign}{}", argument.text),
            ..argument
        };
    }
    if absolute && argument.late_bar && !argument.can_follow_a_function() {
        argument = printed(node, true);
    }
    if absolute && !bracketed && !argument.late_bar && !argument.text.is_empty() {
        return Printed {
            text: format!("|{}|", argument.text),
            ..argument.bracketed()
        };
    }
    spelled(&format!("{function}{raised}"), &argument)
}

/// Brackets or bars, perhaps with signs in front: no factor behind them belongs to the argument.
fn ends_argument(kind: &Kind, text: &str) -> bool {
    match kind {
        Kind::Bracketed(_) => true,
        Kind::Negated(inner) => ends_argument(&inner.kind, text),
        Kind::Call {
            function: "abs", ..
        } => text.trim_start_matches('-').starts_with('|'),
        _ => false,
    }
}

/// A function by its name, its power included.
fn spelled<'a>(function: &str, argument: &Printed<'a>) -> Printed<'a> {
    let text = &argument.text;
    let bracketed = matches!(argument.kind, Kind::Bracketed(_));
    let (text, swallows) = if bracketed {
        (format!("{function}{text}"), false)
    } else if argument.is_bars() || argument.can_follow_a_function() {
        let closed = ends_argument(argument.kind, text);
        (format!("{function} {text}"), !closed)
    } else {
        (format!("{function}({text})"), false)
    };
    Printed {
        text,
        swallows,
        tightness: Tightness::Operand,
        bare: true,
        late_bar: swallows && argument.late_bar,
        kind: argument.kind,
    }
}

/// An operand behind another one. Between bars, a bar would be read as the closing one there.
fn behind_operand(node: &Node, bars: bool) -> Printed<'_> {
    match &node.kind {
        Kind::Call {
            function: "abs",
            power: None,
            argument,
        } if bars => Printed {
            kind: &node.kind,
            ..spelled("abs", &printed(argument, true))
        },
        _ => printed(node, bars),
    }
}

fn sum(terms: &[(bool, Node)], bars: bool) -> Printed<'_> {
    let mut whole = Printed {
        text: String::new(),
        kind: &Kind::Missing,
        tightness: Tightness::Sum,
        swallows: false,
        bare: false,
        late_bar: false,
    };
    for (place, (minus, term)) in terms.iter().enumerate() {
        let term = printed(term, bars).at_least(Tightness::Signed);
        whole.text.push_str(match (place, minus) {
            (0, false) => "",
            (0, true) => "-",
            (_, false) => " + ",
            (_, true) => " - ",
        });
        whole.text.push_str(&term.text);
        whole.swallows = term.swallows;
        whole.late_bar |= term.late_bar;
    }
    whole
}

/// What may stand behind `*` and `/`: signs and one factor.
fn signed_factor(node: &Node, bars: bool) -> Printed<'_> {
    if let Kind::Negated(inner) = &node.kind {
        let inner = signed_factor(inner, bars);
        return Printed {
            text: format!("-{}", inner.text),
            ..inner
        };
    }
    printed(node, bars).at_least(Tightness::Power)
}

fn product<'a>(left: &'a Node, how: Multiplication, right: &'a Node, bars: bool) -> Printed<'a> {
    let left = printed(left, bars).at_least(Tightness::Product);
    if how == Multiplication::Sign {
        let right = signed_factor(right, bars);
        return Printed {
            text: format!("{}*{}", left.text, right.text),
            tightness: Tightness::Product,
            swallows: right.swallows,
            bare: false,
            late_bar: left.late_bar || right.late_bar,
            kind: left.kind,
        };
    }
    let right = behind_operand(right, bars).at_least(Tightness::Power);
    let stops = stops_an_argument(right.kind) && !right.text.starts_with('(');
    let swallowed = left.swallows && !stops;
    let left = left.bracketed_if(swallowed);
    // Two numbers side by side are an error.
    let two_numbers = ends_in_number(left.kind) && right.text.starts_with(|c: char| c.is_numeric());
    let right = right.bracketed_if(two_numbers);
    Printed {
        text: format!("{} {}", left.text, right.text),
        tightness: Tightness::Product,
        swallows: right.swallows,
        bare: left.bare && !stops && !left.is_closed(),
        late_bar: left.late_bar || right.late_bar || right.text.starts_with('|'),
        kind: left.kind,
    }
}

/// A function or a derivative, which ends the argument of a function, or a power of it.
fn stops_an_argument(kind: &Kind) -> bool {
    match kind {
        Kind::Call { function, .. } => !matches!(*function, "sqrt" | "cbrt" | "abs"),
        // Printed with primes or as a quotient; y^{(4)} does not stop an argument.
        Kind::Derivative {
            variable, order, ..
        } => variable.is_some() || *order <= 3,
        Kind::Power(base, _) => stops_an_argument(&base.kind),
        _ => false,
    }
}

fn ends_in_number(kind: &Kind) -> bool {
    match kind {
        Kind::Number(_) => true,
        Kind::Product(_, _, last) | Kind::Quotient(_, last) => matches!(last.kind, Kind::Number(_)),
        _ => false,
    }
}

/// Round brackets around a whole number behind a name could mean a derivative, as in y^(4); curly
/// ones do not.
fn not_an_order(base: &Kind, exponent: String) -> String {
    let inner = exponent.trim_start_matches('(');
    let depth = exponent.len() - inner.len();
    let length = inner.bytes().take_while(u8::is_ascii_digit).count();
    let (digits, behind) = inner.split_at(length);
    let name = matches!(base, Kind::Name(name) if !is_constant(name));
    match behind.strip_prefix(&")".repeat(depth)) {
        Some(rest) if name && depth > 0 && length > 0 => format!("{{{digits}}}{rest}"),
        _ => exponent,
    }
}

/// An exponent.
fn raised(node: &Node, bars: bool) -> Printed<'_> {
    match &node.kind {
        Kind::Negated(inner) => {
            let inner = raised(inner, bars);
            Printed {
                text: format!("-{}", inner.text),
                ..inner
            }
        }
        // Brackets behind a name are not its argument in an exponent.
        Kind::Applied { .. }
        | Kind::Derivative {
            argument: Some(_), ..
        } => printed(node, bars).bracketed(),
        _ => printed(node, bars).at_least(Tightness::Power),
    }
}

/// The exponent of a function: a sign and one operand.
fn function_exponent(node: &Node) -> Printed<'_> {
    if let Kind::Negated(inner) = &node.kind {
        let inner = function_exponent(inner);
        return Printed {
            text: format!("-{}", inner.text),
            ..inner
        };
    }
    let exponent = printed(node, false).at_least(Tightness::Operand);
    let open = exponent.swallows;
    exponent.bracketed_if(open)
}
