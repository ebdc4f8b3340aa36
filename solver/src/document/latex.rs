//! `LaTeX` with the amsmath package.

use super::formula::{DOT, Formula, MINUS};
use super::names::{greek_letter, greek_name, primes, split_index};
use std::fmt::Write as _;

/// The formula in `LaTeX`, without dollar signs. Bars are `\lvert … \rvert`, so that the text can
/// stand in a cell of a Markdown table.
pub fn latex(formula: &Formula) -> String {
    let mut out = Writer(String::new());
    out.write(formula);
    out.0
}

/// Words with the characters that mean something in `LaTeX`, and those that its usual fonts do not
/// have (OT1 and the mathematical ones), replaced; a character without a replacement becomes its
/// number, `[U+0416]`.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '{' | '}' | '$' | '&' | '#' | '%' | '_' => {
                out.push('\\');
                out.push(c);
            }
            _ => match REPLACED.iter().find(|(known, _)| *known == c) {
                Some((_, command)) => out.push_str(command),
                None if has_glyph(c) => out.push(c),
                None => match greek_name(c) {
                    Some(name) => out.extend(["$\\", name, "$"]),
                    None => {
                        let _ = write!(out, "[U+{:04X}]", u32::from(c));
                    }
                },
            },
        }
    }
    out
}

const REPLACED: &[(char, &str)] = &[
    ('\\', "\\textbackslash{}"),
    ('^', "\\textasciicircum{}"),
    ('~', "\\textasciitilde{}"),
    ('|', "\\textbar{}"),
    ('<', "$<$"),
    ('>', "$>$"),
    ('"', "''"),
    ('\u{a0}', "~"),
    ('\u{2009}', "\\,"),
    ('\u{202f}', "\\,"),
    ('−', "$-$"),
    ('–', "--"),
    ('—', "---"),
    ('…', "\\dots{}"),
    ('⋯', "$\\cdots$"),
    ('«', "$\\ll$"),
    ('»', "$\\gg$"),
    ('′', "$'$"),
    ('″', "$''$"),
    ('‴', "$'''$"),
    ('·', "$\\cdot$"),
    ('⋅', "$\\cdot$"),
    ('×', "$\\times$"),
    ('÷', "$\\div$"),
    ('±', "$\\pm$"),
    ('°', "$^{\\circ}$"),
    ('²', "$^2$"),
    ('³', "$^3$"),
    ('¹', "$^1$"),
    ('⁰', "$^0$"),
    ('⁴', "$^4$"),
    ('⁵', "$^5$"),
    ('⁶', "$^6$"),
    ('⁷', "$^7$"),
    ('⁸', "$^8$"),
    ('⁹', "$^9$"),
    ('⁻', "$^-$"),
    ('½', "$\\frac{1}{2}$"),
    ('¼', "$\\frac{1}{4}$"),
    ('¾', "$\\frac{3}{4}$"),
    ('≈', "$\\approx$"),
    ('≠', "$\\neq$"),
    ('≤', "$\\le$"),
    ('≥', "$\\ge$"),
    ('→', "$\\to$"),
    ('∞', "$\\infty$"),
    ('∂', "$\\partial$"),
    ('√', "$\\surd$"),
    ('µ', "$\\mu$"),
    ('€', "EUR"),
];

/// Do the usual fonts have it, or make it of a letter and an accent?
fn has_glyph(c: char) -> bool {
    const NOT: &str = "ÐÞðþĄąĘęĮįŲųĐđĦħĿŀŉĸŊŋŦŧ";
    matches!(c, ' '..='~' | '\n' | '¡' | '¿' | '“' | '”' | '‘' | '’' | 'À'..='ž')
        && !NOT.contains(c)
}

/// Functions that `LaTeX` knows as commands; the others are written with `\operatorname`.
const COMMANDS: [&str; 15] = [
    "sin", "cos", "tan", "cot", "sec", "csc", "arcsin", "arccos", "arctan", "sinh", "cosh", "tanh",
    "coth", "exp", "ln",
];

struct Writer(String);

impl Writer {
    /// Adds a piece; a space keeps a command and a following letter or digit apart.
    fn push(&mut self, piece: &str) {
        let before = self.0.trim_end_matches(|c: char| c.is_ascii_alphabetic());
        let ends_in_command = before.len() < self.0.len() && before.ends_with('\\');
        if ends_in_command && piece.starts_with(|c: char| c.is_ascii_alphanumeric()) {
            self.0.push(' ');
        }
        self.0.push_str(piece);
    }

    fn group(&mut self, formula: &Formula) {
        self.push("{");
        self.write(formula);
        self.push("}");
    }

    fn fenced(&mut self, open: &str, close: &str, inner: &Formula) {
        let tall = inner.is_tall();
        if tall {
            self.push("\\left");
        }
        self.push(open);
        self.write(inner);
        if tall {
            self.push("\\right");
        }
        self.push(close);
    }

    fn write(&mut self, formula: &Formula) {
        match formula {
            Formula::Number(digits) => self.push(digits),
            Formula::Identifier(name) => self.identifier(name),
            Formula::Constant("π") => self.push("\\pi"),
            Formula::Constant(name) => self.push(name),
            Formula::FunctionName(name) => {
                if COMMANDS.contains(name) {
                    self.push(&format!("\\{name}"));
                } else {
                    self.push(&format!("\\operatorname{{{name}}}"));
                }
            }
            Formula::Application | Formula::Juxtaposition => {}
            Formula::Operator(sign) => self.operator(*sign),
            Formula::Sign(sign) => {
                self.push(match *sign {
                    MINUS => "-",
                    '±' => "\\pm ",
                    _ => "+",
                });
            }
            Formula::Punctuation(sign) => {
                self.0.push(*sign);
                self.0.push_str("\\ ");
            }
            Formula::Row(parts) => {
                for part in parts {
                    self.write(part);
                }
            }
            Formula::Fraction(numerator, denominator) => {
                self.push("\\frac");
                self.group(numerator);
                self.group(denominator);
            }
            Formula::Power(base, exponent) => {
                self.write(base);
                self.push("^");
                self.group(exponent);
            }
            Formula::Index(base, index) => {
                self.write(base);
                self.push("_");
                self.group(index);
            }
            Formula::Root(inner, degree) => {
                self.push("\\sqrt");
                if let Some(degree) = degree {
                    self.push(&format!("[{degree}]"));
                }
                self.group(inner);
            }
            Formula::Brackets(inner) => self.fenced("(", ")", inner),
            Formula::Bars(inner) => self.fenced("\\lvert", "\\rvert", inner),
            Formula::Derivative(name, order) => {
                self.identifier(name);
                match (*order, primes(*order)) {
                    (0, _) => {}
                    (count, Some(_)) => {
                        for _ in 0..count {
                            self.push("'");
                        }
                    }
                    (count, None) => self.push(&format!("^{{({count})}}")),
                }
            }
            Formula::Primed(inner) => {
                self.write(inner);
                self.push("'");
            }
            Formula::Factorial(inner) => {
                self.write(inner);
                self.push("!");
            }
            Formula::Text(words) if words == "⋯" => self.push("\\cdots"),
            Formula::Text(words) => self.push(&format!("\\text{{{}}}", escape(words))),
            Formula::Placeholder => self.push("\\square"),
        }
    }

    fn operator(&mut self, sign: char) {
        match sign {
            MINUS => self.0.push_str(" - "),
            DOT => self.push(" \\cdot "),
            '/' => self.push("/"),
            '±' => self.push(" \\pm "),
            '×' => self.push(" \\times "),
            '∓' => self.push(" \\mp "),
            '≈' => self.push(" \\approx "),
            '≠' => self.push(" \\neq "),
            '≥' => self.push(" \\ge "),
            '≤' => self.push(" \\le "),
            '→' => self.push(" \\to "),
            '⋯' => self.push(" \\cdots "),
            other => {
                self.0.push(' ');
                self.0.push(other);
                self.0.push(' ');
            }
        }
    }

    fn identifier(&mut self, name: &str) {
        let (base, index) = split_index(name);
        self.letter(base);
        if let Some(index) = index {
            self.push("_{");
            if index.chars().all(|c| c.is_ascii_digit()) {
                self.push(index);
            } else if index.len() > 1 && greek_letter(index).is_none() {
                self.push("\\mathrm{");
                self.push(index);
                self.push("}");
            } else {
                self.letter(index);
            }
            self.push("}");
        }
    }

    fn letter(&mut self, name: &str) {
        if greek_letter(name).is_some() {
            // omicron has no command of its own: it is set as the letter o.
            let command = if name == "omicron" {
                "o".to_owned()
            } else {
                format!("\\{name}")
            };
            self.push(&command);
        } else if name.chars().count() == 1 {
            self.push(&escape(name));
        } else {
            self.push(&format!("\\mathrm{{{}}}", escape(name)));
        }
    }
}
