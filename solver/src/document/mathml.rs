//! `MathML` Core (W3C, section 3: the elements and attributes used here are all in it).

use std::fmt::Write as _;

use super::formula::{Formula, MINUS};
use super::names::{greek_letter, primes, split_index};

/// The whole `<math>` element for one formula, inline.
pub fn write(formula: &Formula) -> String {
    let mut out = String::from("<math>");
    append(formula, &mut out);
    out.push_str("</math>");
    out
}

/// Text with the characters that mean something in markup replaced.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            other => out.push(other),
        }
    }
    out
}

/// A thin space where a function's name stands without brackets (TeX's thin space, 1/6 em).
const THIN_SPACE: &str = "<mspace width=\"0.1667em\"/>";

fn append(formula: &Formula, out: &mut String) {
    match formula {
        Formula::Number(digits) => element("mn", digits, out),
        Formula::Identifier(name) => identifier(name, out),
        Formula::Constant(name) | Formula::FunctionName(name) => element("mi", name, out),
        Formula::Application => out.push_str("<mo>&#x2061;</mo>"),
        Formula::Juxtaposition => out.push_str("<mo>&#x2062;</mo>"),
        Formula::Operator(sign) => operator(*sign, out),
        // A bracket on its own, whose partner stands in another line, has the size of the letters.
        Formula::Sign(sign @ ('(' | ')')) => {
            let _ = write!(
                out,
                "<mo stretchy=\"false\" lspace=\"0\" rspace=\"0\">{sign}</mo>"
            );
        }
        Formula::Sign(sign) => {
            let _ = write!(
                out,
                "<mo form=\"prefix\" lspace=\"0\" rspace=\"0\">{}</mo>",
                escape(&sign.to_string())
            );
        }
        Formula::Punctuation(sign) => {
            let _ = write!(
                out,
                "<mo separator=\"true\">{}</mo>",
                escape(&sign.to_string())
            );
        }
        Formula::Row(parts) => row(parts, out),
        Formula::Fraction(numerator, denominator) => {
            out.push_str("<mfrac>");
            single(numerator, out);
            single(denominator, out);
            out.push_str("</mfrac>");
        }
        Formula::Power(base, exponent) => scripted("msup", base, exponent, out),
        Formula::Index(base, index) => scripted("msub", base, index, out),
        Formula::Root(inner, None) => {
            out.push_str("<msqrt>");
            append(inner, out);
            out.push_str("</msqrt>");
        }
        Formula::Root(inner, Some(degree)) => {
            out.push_str("<mroot>");
            single(inner, out);
            element("mn", &degree.to_string(), out);
            out.push_str("</mroot>");
        }
        Formula::Brackets(inner) => fenced("(", ")", inner, out),
        Formula::Bars(inner) => fenced("|", "|", inner, out),
        Formula::Derivative(name, order) => derivative(name, *order, out),
        Formula::Primed(inner) => {
            out.push_str("<msup>");
            single(inner, out);
            out.push_str("<mo lspace=\"0\" rspace=\"0\">′</mo></msup>");
        }
        Formula::Factorial(inner) => {
            single(inner, out);
            out.push_str("<mo form=\"postfix\" lspace=\"0\" rspace=\"0\">!</mo>");
        }
        Formula::Text(words) => element("mtext", words, out),
        Formula::Placeholder => element("mi", "□", out),
    }
}

fn element(tag: &str, text: &str, out: &mut String) {
    let _ = write!(out, "<{tag}>{}</{tag}>", escape(text));
}

fn operator(sign: char, out: &mut String) {
    // A piece of a broken sum starts with its sign; without the form it would be taken for a prefix.
    let form = if matches!(sign, '+' | MINUS | '±') {
        " form=\"infix\""
    } else {
        ""
    };
    let _ = write!(out, "<mo{form}>{}</mo>", escape(&sign.to_string()));
}

fn row(parts: &[Formula], out: &mut String) {
    for (position, part) in parts.iter().enumerate() {
        let next = parts.get(position + 1);
        append(part, out);
        let thin = match part {
            Formula::Application => !matches!(next, Some(Formula::Brackets(_) | Formula::Bars(_))),
            Formula::Juxtaposition => next.is_some_and(starts_with_function),
            _ => false,
        };
        if thin {
            out.push_str(THIN_SPACE);
        }
    }
}

fn starts_with_function(formula: &Formula) -> bool {
    match formula {
        Formula::FunctionName(_) => true,
        Formula::Power(base, _) => starts_with_function(base),
        Formula::Row(parts) => parts.first().is_some_and(starts_with_function),
        _ => false,
    }
}

/// Exactly one element, as scripts and fractions need.
fn single(formula: &Formula, out: &mut String) {
    let grouped = match formula {
        Formula::Row(parts) => parts.len() != 1,
        Formula::Brackets(_) | Formula::Bars(_) | Formula::Factorial(_) => true,
        _ => false,
    };
    if grouped {
        out.push_str("<mrow>");
    }
    append(formula, out);
    if grouped {
        out.push_str("</mrow>");
    }
}

fn scripted(tag: &str, base: &Formula, script: &Formula, out: &mut String) {
    let _ = write!(out, "<{tag}>");
    single(base, out);
    single(script, out);
    let _ = write!(out, "</{tag}>");
}

fn fenced(open: &str, close: &str, inner: &Formula, out: &mut String) {
    let stretchy = if inner.is_tall() {
        ""
    } else {
        " stretchy=\"false\""
    };
    let _ = write!(out, "<mo form=\"prefix\"{stretchy}>{open}</mo>");
    append(inner, out);
    let _ = write!(out, "<mo form=\"postfix\"{stretchy}>{close}</mo>");
}

fn letter(base: &str) -> String {
    let shown = greek_letter(base).unwrap_or(base);
    format!("<mi>{}</mi>", escape(shown))
}

fn index_element(index: &str) -> String {
    let tag = if index.chars().all(|c| c.is_ascii_digit()) {
        "mn"
    } else {
        "mi"
    };
    let shown = greek_letter(index).unwrap_or(index);
    format!("<{tag}>{}</{tag}>", escape(shown))
}

fn identifier(name: &str, out: &mut String) {
    match split_index(name) {
        (base, None) => out.push_str(&letter(base)),
        (base, Some(index)) => {
            let _ = write!(out, "<msub>{}{}</msub>", letter(base), index_element(index));
        }
    }
}

fn derivative(name: &str, order: u32, out: &mut String) {
    if order == 0 {
        return identifier(name, out);
    }
    let mark = primes(order).map_or_else(
        || {
            format!(
                "<mrow><mo form=\"prefix\" stretchy=\"false\">(</mo><mn>{order}</mn>\
                 <mo form=\"postfix\" stretchy=\"false\">)</mo></mrow>"
            )
        },
        |prime| format!("<mo lspace=\"0\" rspace=\"0\">{prime}</mo>"),
    );
    let _ = match split_index(name) {
        (base, None) => write!(out, "<msup>{}{mark}</msup>", letter(base)),
        (base, Some(index)) => write!(
            out,
            "<msubsup>{}{}{mark}</msubsup>",
            letter(base),
            index_element(index)
        ),
    };
}
