//! Characters to tokens.

use num_bigint::BigInt;

use super::Kind;
use super::differentiated::is_constant;
use super::functions;
use super::letters::{fraction, greek_name, greek_prefix, subscript, superscript};
use super::token::{Separator, Token, TokenKind, order_from};
use super::words::{self, Piece, Reading};
use crate::diagnostic::{Diagnostic, Outcome};
use crate::number::Rational;
use crate::span::{Field, Span};

/// Largest power of ten in scientific notation: a little more than doubles have.
const LARGEST_POWER_OF_TEN: i32 = 400;

/// A character, where it stands (from `at` to `end`), and its plain form. What stands for a LaTeX
/// command has the command's place.
#[derive(Clone, Copy)]
struct Glyph {
    at: usize,
    end: usize,
    raw: char,
    c: char,
}

/// A field's text as tokens.
pub(super) fn lex(text: &str, field: Field) -> (Vec<Token>, Vec<Diagnostic>) {
    let mut lexer = Lexer {
        text,
        field,
        glyphs: Vec::new(),
        differentials: false,
        next: 0,
        spaced: false,
        tokens: Vec::new(),
        diagnostics: Vec::new(),
    };
    lexer.normalize();
    if latex::is_latex(text) {
        lexer.read_latex();
    }
    lexer.differentials = field == Field::Equation && lexer.has_differentials();
    while lexer.next < lexer.glyphs.len() {
        let before = lexer.next;
        lexer.token();
        // Whatever happens, the end is reached.
        lexer.next = lexer.next.max(before + 1);
    }
    (lexer.tokens, lexer.diagnostics)
}

struct Lexer<'a> {
    text: &'a str,
    field: Field,
    glyphs: Vec<Glyph>,
    /// `dx` is a differential, not a product.
    differentials: bool,
    next: usize,
    spaced: bool,
    tokens: Vec<Token>,
    diagnostics: Vec<Diagnostic>,
}

impl Lexer<'_> {
    /// LaTeX source into the plain notation.
    fn read_latex(&mut self) {
        let (glyphs, pieces) = latex::in_plain_notation(&self.glyphs);
        self.glyphs = glyphs;
        if let Some(span) = pieces {
            self.piecewise(span);
        }
    }

    /// A right-hand side told apart by cases.
    fn piecewise(&mut self, span: Span) {
        let message = "A function given in pieces cannot be worked out here: a Taylor series knows \
                       only the piece that holds around the center. Write that piece alone.";
        let diagnostic = Diagnostic::error("piecewise", self.field, span, message);
        self.diagnostics.push(diagnostic.outcome(Outcome::Unable));
    }

    fn plain_at(&self, index: usize) -> Option<char> {
        self.glyphs.get(index).map(|g| g.c)
    }

    fn raw_at(&self, index: usize) -> Option<char> {
        self.glyphs.get(index).map(|g| g.raw)
    }

    /// Byte offset of glyph number `index`.
    fn offset(&self, index: usize) -> usize {
        self.glyphs.get(index).map_or(self.text.len(), |g| g.at)
    }

    /// Where the glyphs `from..to` stand.
    fn span(&self, from: usize, to: usize) -> Span {
        let start = self.offset(from);
        let last = to.checked_sub(1).filter(|last| *last >= from);
        let end = last
            .and_then(|last| self.glyphs.get(last))
            .map_or(start, |g| g.end);
        Span::new(start, end.max(start))
    }

    fn slice(&self, span: Span) -> &str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    fn push(&mut self, kind: TokenKind, from: usize, to: usize) {
        let span = self.span(from, to);
        self.tokens.push(Token {
            kind,
            span,
            spaced: std::mem::take(&mut self.spaced),
        });
        self.next = to;
    }

    fn error(
        &self,
        code: &'static str,
        from: usize,
        to: usize,
        message: impl Into<String>,
    ) -> Diagnostic {
        let diagnostic = Diagnostic::error(code, self.field, self.span(from, to), message);
        match code {
            // Read well enough: beyond what this worksheet takes.
            "integral-equation"
            | "partial-equation"
            | "derivative-of-brackets"
            | "vector"
            | "number-too-large" => diagnostic.outcome(Outcome::Unable),
            _ => diagnostic,
        }
    }

    fn token(&mut self) {
        let from = self.next;
        let Some(c) = self.plain_at(from) else { return };
        let following = self.plain_at(from + 1);
        let single = match c {
            ' ' => {
                self.spaced = true;
                self.next = from + 1;
                return;
            }
            '\n' => TokenKind::Separator(Separator::Newline),
            ';' => TokenKind::Separator(Separator::Semicolon),
            ',' => TokenKind::Separator(Separator::Comma),
            ':' if self.field == Field::Conditions => TokenKind::Separator(Separator::Comma),
            '+' => TokenKind::Plus,
            '-' => TokenKind::Minus,
            '/' => TokenKind::Divide,
            '(' | '[' | '{' => match self.leibniz(from) {
                Some(leibniz) => return self.push_leibniz(from, leibniz),
                None => TokenKind::Open { curly: c == '{' },
            },
            ')' | ']' | '}' => TokenKind::Close,
            '|' => TokenKind::Bar,
            '\'' => TokenKind::Prime(1),
            '"' => TokenKind::Prime(2),
            '‴' => TokenKind::Prime(3),
            '⁗' => TokenKind::Prime(4),
            '^' => TokenKind::Caret { raised: false },
            latex::FRACTION => TokenKind::Fraction,
            '√' => TokenKind::Root("sqrt"),
            '∛' => TokenKind::Root("cbrt"),
            '*' => return self.times(from),
            '=' if following == Some('=') => return self.double_equals(from),
            '=' => TokenKind::Equals,
            '0'..='9' => return self.number(from),
            '.' if following.is_some_and(|d| d.is_ascii_digit()) => return self.number(from),
            'a'..='z' | 'A'..='Z' => return self.letters(from),
            _ => return self.other(from, c),
        };
        self.push(single, from, from + 1);
    }

    fn times(&mut self, from: usize) {
        if self.raw_at(from) == Some('*') && self.raw_at(from + 1) == Some('*') {
            let span = self.span(from, from + 2);
            let message = "A power is written with ^ here, not with **.";
            let diagnostic = self.error("power-sign", from, from + 2, message);
            self.diagnostics
                .push(diagnostic.suggest("write ^", span, "^"));
            return self.push(TokenKind::Caret { raised: false }, from, from + 2);
        }
        self.push(TokenKind::Times, from, from + 1);
    }

    fn double_equals(&mut self, from: usize) {
        let mut to = from;
        while self.plain_at(to) == Some('=') {
            to += 1;
        }
        let span = self.span(from, to);
        let message = "One equals sign is enough.";
        let diagnostic = self.error("doubled-equals", from, to, message);
        self.diagnostics
            .push(diagnostic.suggest("write =", span, "="));
        self.push(TokenKind::Equals, from, to);
    }

    fn digits(&self, mut at: usize) -> usize {
        while self.plain_at(at).is_some_and(|c| c.is_ascii_digit()) {
            at += 1;
        }
        at
    }

    fn collect(&self, from: usize, to: usize) -> String {
        self.glyphs
            .get(from..to)
            .unwrap_or(&[])
            .iter()
            .map(|g| g.c)
            .collect()
    }

    /// `2`, `2.5`, `.5`, `2.`, `1e-3`, `2½`.
    fn number(&mut self, from: usize) {
        let mut to = self.digits(from);
        let mut digits = self.collect(from, to);
        let mut power_of_ten = 0_i32;
        let is_digit = |c: Option<char>| c.is_some_and(|c| c.is_ascii_digit());
        let comma = self.plain_at(to) == Some(',') && is_digit(self.plain_at(to + 1));
        if comma {
            let (at, span) = (to, self.span(to, to + 1));
            let message = "Write decimals with a point: a comma separates conditions here.";
            let diagnostic = self.error("decimal-comma", at, at + 1, message);
            self.diagnostics
                .push(diagnostic.suggest("write a decimal point", span, "."));
        }
        if comma || self.plain_at(to) == Some('.') {
            let end = self.digits(to + 1);
            let decimals = self.collect(to + 1, end);
            power_of_ten = -i32::try_from(decimals.len()).unwrap_or(i32::MAX);
            digits.push_str(&decimals);
            to = end;
        } else if let Some(part) = self.plain_at(to).and_then(fraction) {
            let whole = digits
                .parse()
                .map_or_else(|_| part.clone(), |n: BigInt| Rational::from(n) + &part);
            return self.push(TokenKind::Number(whole), from, to + 1);
        }
        if self.plain_at(to) == Some('.') {
            let end = self.digits(to + 1);
            let message = "This number has two decimal points.";
            let diagnostic = self.error("two-decimal-points", from, end, message);
            self.diagnostics.push(diagnostic);
            return self.push(TokenKind::Bad, from, end);
        }
        let mut given = 0_i32;
        if matches!(self.plain_at(to), Some('e' | 'E')) {
            let signed = matches!(self.plain_at(to + 1), Some('+' | '-'));
            let first = to + 1 + usize::from(signed);
            let end = self.digits(first);
            if end > first {
                let size = self.collect(first, end).parse().unwrap_or(i32::MAX);
                let negative = self.plain_at(to + 1) == Some('-');
                given = if negative { -size } else { size };
                to = end;
            }
        }
        if given.abs() > LARGEST_POWER_OF_TEN {
            let message = format!(
                "The power of ten is too large: at most {LARGEST_POWER_OF_TEN} is possible here."
            );
            let diagnostic = self.error("number-too-large", from, to, message);
            self.diagnostics.push(diagnostic);
            return self.push(TokenKind::Bad, from, to);
        }
        let value = scaled(&digits, power_of_ten + given);
        self.push(TokenKind::Number(value), from, to);
    }

    /// A run of letters, in which `dy/dx` may stand.
    fn letters(&mut self, from: usize) {
        let mut end = from;
        while self.plain_at(end).is_some_and(|c| c.is_ascii_alphabetic()) {
            end += 1;
        }
        for at in from..end {
            if self.plain_at(at) == Some('d')
                && let Some(leibniz) = self.leibniz(at)
            {
                if at > from {
                    self.run(from, at);
                }
                return self.push_leibniz(at, leibniz);
            }
            if self.plain_at(at) == Some('d')
                && let Some(to) = self.before_brackets(at)
            {
                if at > from {
                    self.run(from, at);
                }
                return self.refuse_before_brackets(at, to);
            }
            if self.differentials
                && let Some((name, to)) = self.differential_at(at)
            {
                if at > from {
                    self.run(from, at);
                }
                return self.push(TokenKind::Name(format!("d{name}")), at, to);
            }
        }
        self.run(from, end);
    }

    /// A run of letters without Leibniz's notation.
    fn run(&mut self, from: usize, end: usize) {
        let run = self.collect(from, end);
        match run.to_ascii_lowercase().as_str() {
            "and" => return self.push(TokenKind::Separator(Separator::And), from, end),
            "at" | "when" | "for" | "where" | "if" if self.field == Field::Conditions => {
                return self.push(TokenKind::Separator(Separator::At), from, end);
            }
            "with" | "where" if matches!(self.field, Field::Equation | Field::Conditions) => {
                return self.push(TokenKind::Separator(Separator::And), from, end);
            }
            "lim" => return self.limit(from, end),
            "int" | "integral" if self.field == Field::Equation => {
                let diagnostic = self.error("integral-equation", from, end, foreign::INTEGRAL);
                self.diagnostics.push(diagnostic);
                return self.push(TokenKind::Bad, from, end);
            }
            // ISO 80000-2: the common and the binary logarithm.
            "lg" => return self.logarithm(number(10), from, end),
            "lb" => return self.logarithm(number(2), from, end),
            "if" | "otherwise" | "else" | "piecewise" | "sgn" | "sign" | "floor" | "ceil"
            | "max" | "min" | "mod" | "heaviside"
                if self.field == Field::Equation =>
            {
                self.piecewise(self.span(from, end));
                return self.push(TokenKind::Bad, from, end);
            }
            _ => {}
        }
        let pieces = match words::read(&run) {
            Reading::Plain(pieces) => pieces,
            Reading::Cut(pieces) => {
                self.tell_of_cut(from, end, &pieces);
                pieces
            }
            Reading::Unknown(meant) => {
                self.tell_of_unknown(from, end, &run, &meant);
                return self.push(TokenKind::Bad, from, end);
            }
        };
        let mut at = from;
        let last = pieces.len().saturating_sub(1);
        for (place, (piece, length)) in pieces.into_iter().enumerate() {
            let to = at + length;
            match piece {
                Piece::Name(name) if place == last => self.name(name.to_string(), at, to),
                Piece::Name(name) => self.push(TokenKind::Name(name.to_string()), at, to),
                Piece::Function(function) => self.function(function, at, to),
            }
            at = to;
        }
    }

    fn function(&mut self, function: &'static functions::Spelling, from: usize, to: usize) {
        if self.collect(from, to).eq_ignore_ascii_case("log") {
            if let Some((base, end)) = self.base(to) {
                return self.logarithm(base, from, end);
            }
            let span = self.span(from, to);
            let message = "log is read as the natural logarithm ln.";
            let notice = Diagnostic::notice("natural-logarithm", self.field, span, message);
            let notice = notice.suggest("write ln", span, "ln");
            self.diagnostics
                .push(notice.suggest("write log_10", span, "log_10 "));
        }
        self.push(TokenKind::Function(function), from, to);
    }

    /// The base of a logarithm at glyph `at`, `_2`, `_{10}`, `₃`, `_a`, or digits that brackets or
    /// a space follow (`log10(x)`; `log2x` is the logarithm of 2x); and where it ends.
    fn base(&self, at: usize) -> Option<(Kind, usize)> {
        if let (Some(digits), end) = self.index(at) {
            return Some((Kind::Number(scaled(&digits, 0)), end));
        }
        let digits = self.digits(at);
        if digits > at {
            let ends = matches!(self.plain_at(digits), Some(' ' | '(' | '[' | '{'));
            return ends.then(|| (Kind::Number(scaled(&self.collect(at, digits), 0)), digits));
        }
        if self.plain_at(at) != Some('_') {
            return None;
        }
        let braced = self.plain_at(at + 1) == Some('{');
        let (name, end) = self.name_at(at + 1 + usize::from(braced))?;
        let closed = !braced || self.plain_at(end) == Some('}');
        closed.then_some((Kind::Name(name), end + usize::from(braced)))
    }

    fn logarithm(&mut self, base: Kind, from: usize, to: usize) {
        self.push(TokenKind::Logarithm(base), from, to);
    }

    fn tell_of_cut(&mut self, from: usize, end: usize, pieces: &[(Piece<'_>, usize)]) {
        let words: Vec<&str> = pieces
            .iter()
            .map(|(piece, _)| match piece {
                Piece::Name(name) => *name,
                Piece::Function(function) => function.canonical,
            })
            .collect();
        let (span, spaced) = (self.span(from, end), words.join(" "));
        let message = format!("“{}” is read as {spaced}.", self.slice(span));
        let notice = Diagnostic::notice("run-together", self.field, span, message);
        self.diagnostics
            .push(notice.suggest(format!("write {spaced}"), span, spaced));
    }

    fn tell_of_unknown(&mut self, from: usize, end: usize, run: &str, meant: &[String]) {
        let shown: String = run.chars().take(20).collect();
        let more = if shown.len() < run.len() { "…" } else { "" };
        let message = format!(
            "“{shown}{more}” is not a known name. Variables and constants have one letter or a \
             Greek name; functions are written sin, cos, ln, exp, sqrt, and so on."
        );
        let span = self.span(from, end);
        let mut diagnostic = self.error("unknown-name", from, end, message);
        for word in meant {
            diagnostic = diagnostic.suggest(format!("write {word}"), span, word.clone());
        }
        self.diagnostics.push(diagnostic);
    }

    fn limit(&mut self, from: usize, end: usize) {
        let message = "A limit cannot stand in the equation. Write what it comes to.";
        let diagnostic = self.error("limit", from, end, message);
        self.diagnostics.push(diagnostic);
        self.push(TokenKind::Bad, from, end);
    }

    /// A letter with what belongs to it: an index (`y_1`, `y₁`, `T_m`, `T_{room}`).
    fn name(&mut self, letter: String, from: usize, to: usize) {
        let (index, end) = match self.index(to) {
            (None, _) => self.letter_index(to),
            found => found,
        };
        if let Some(index) = index {
            if !index.is_empty() && index.chars().all(|c| "xyzt".contains(c)) {
                let diagnostic = self.error("partial-equation", from, end, PARTIAL);
                self.diagnostics.push(diagnostic);
                return self.push(TokenKind::Bad, from, end);
            }
            return self.push(TokenKind::Name(format!("{letter}_{index}")), from, end);
        }
        let digits_end = self.digits(to);
        if digits_end > to {
            self.tell_of_digits(&letter, from, to, digits_end);
            let digits = self.collect(to, digits_end);
            return self.push(
                TokenKind::Name(format!("{letter}_{digits}")),
                from,
                digits_end,
            );
        }
        self.push(TokenKind::Name(letter), from, to);
    }

    /// `x0` is an index, because nobody writes a factor or a power that way; `x2` could be any of
    /// three, unless there is an `x0`.
    fn tell_of_digits(&mut self, letter: &str, from: usize, to: usize, end: usize) {
        let (span, digits) = (self.span(from, end), self.collect(to, end));
        let index = format!("{letter}_{digits}");
        let mut from_zero = self.glyphs.windows(2);
        let numbered = from_zero
            .any(|pair| matches!(pair, [own, next] if letter.chars().eq([own.c]) && next.c == '0'));
        if digits == "0" || numbered {
            let message = format!("{letter}{digits} is read as {letter} with the index {digits}.");
            let notice = Diagnostic::notice("index-zero", self.field, span, message);
            self.diagnostics
                .push(notice.suggest(format!("write {index}"), span, index));
            return;
        }
        let message = format!(
            "A number right behind a letter can be a power, an index or a factor. \
             Write {letter}^{digits}, {index} or {digits}{letter}."
        );
        let diagnostic = self.error("number-behind-letter", from, end, message);
        let readings = [
            format!("{letter}^{digits}"),
            index,
            format!("{digits}{letter}"),
        ];
        let diagnostic = readings.into_iter().fold(diagnostic, |d, reading| {
            d.suggest(format!("write {reading}"), span, reading)
        });
        self.diagnostics.push(diagnostic);
    }

    /// The index that begins at glyph `at`, and where it ends.
    fn index(&self, at: usize) -> (Option<String>, usize) {
        let mut end = at;
        let mut digits = String::new();
        while let Some(digit) = self.plain_at(end).and_then(subscript) {
            digits.push(digit);
            end += 1;
        }
        if digits.is_empty() && self.plain_at(at) == Some('_') {
            let braced = self.plain_at(at + 1) == Some('{');
            let first = at + 1 + usize::from(braced);
            end = self.digits(first);
            digits = self.collect(first, end);
            if braced && self.plain_at(end) != Some('}') {
                return (None, at);
            }
            end += usize::from(braced);
        }
        if digits.is_empty() {
            (None, at)
        } else {
            (Some(digits), end)
        }
    }

    /// An index that begins with a letter, and where it ends: the word behind the underscore, or
    /// what stands in braces.
    fn letter_index(&self, at: usize) -> (Option<String>, usize) {
        if self.plain_at(at) != Some('_') {
            return (None, at);
        }
        let braced = self.plain_at(at + 1) == Some('{');
        let mut first = at + 1 + usize::from(braced);
        while braced && self.plain_at(first) == Some(' ') {
            first += 1;
        }
        let mut end = first;
        while self
            .plain_at(end)
            .is_some_and(|c| c.is_ascii_alphanumeric())
        {
            end += 1;
        }
        let index = self.collect(first, end);
        while braced && self.plain_at(end) == Some(' ') {
            end += 1;
        }
        if index.is_empty() || (braced && self.plain_at(end) != Some('}')) {
            return (None, at);
        }
        (Some(index), end + usize::from(braced))
    }

    /// Everything that is neither a plain letter, a digit nor an operator.
    fn other(&mut self, from: usize, c: char) {
        if let Some(name) = greek_name(c) {
            return self.name(name.to_string(), from, from + 1);
        }
        if let Some(value) = fraction(c) {
            return self.push(TokenKind::Number(value), from, from + 1);
        }
        if superscript(c).is_some() {
            return self.superscripts(from);
        }
        self.foreign(from, c);
    }

    /// A run of superscript characters: `²`, `⁻¹`, `ⁿ`, `⁽⁴⁾`.
    fn superscripts(&mut self, from: usize) {
        let mut end = from;
        let mut raised = String::new();
        while let Some(c) = self.plain_at(end).and_then(superscript) {
            raised.push(c);
            end += 1;
        }
        let inner = raised.strip_prefix('(').and_then(|r| r.strip_suffix(')'));
        let behind_name = matches!(
            self.tokens.last(),
            Some(Token { kind: TokenKind::Name(name), span, .. })
                if span.end == self.offset(from) && !is_constant(name)
        );
        if let Some(digits) = inner
            && behind_name
            && !digits.is_empty()
            && digits.bytes().all(|b| b.is_ascii_digit())
            && order_from(digits) > 0
        {
            let order = order_from(digits);
            return self.push(TokenKind::RaisedOrder(order), from, end);
        }
        let digits = raised.strip_prefix('-').unwrap_or(&raised);
        let number = !digits.is_empty() && digits.bytes().all(|b| b.is_ascii_digit());
        let bracketed = inner.is_some_and(|inner| !inner.contains(['(', ')']));
        let simple = number || bracketed || raised.chars().count() == 1;
        self.push(TokenKind::Caret { raised: true }, from, from);
        if !simple {
            self.push(TokenKind::Open { curly: false }, from, from);
        }
        let mut at = from;
        while at < end {
            let Some(c) = self.plain_at(at).and_then(superscript) else {
                break;
            };
            let mut to = at + 1;
            let kind = match c {
                '+' => TokenKind::Plus,
                '-' => TokenKind::Minus,
                '(' => TokenKind::Open { curly: false },
                ')' => TokenKind::Close,
                '0'..='9' => {
                    while self
                        .plain_at(to)
                        .and_then(superscript)
                        .is_some_and(|d| d.is_ascii_digit())
                    {
                        to += 1;
                    }
                    let glyphs = self.glyphs.get(at..to).unwrap_or(&[]);
                    let digits: String = glyphs.iter().filter_map(|g| superscript(g.c)).collect();
                    TokenKind::Number(scaled(&digits, 0))
                }
                letter => TokenKind::Name(letter.to_string()),
            };
            self.push(kind, at, to);
            at = to;
        }
        if !simple {
            self.push(TokenKind::Close, end, end);
        }
        self.next = end;
    }
}

const PARTIAL: &str = "This is a partial differential equation: it has more than one independent \
                       variable. Only ordinary differential equations can be worked out here.";

fn number(value: i64) -> Kind {
    Kind::Number(Rational::from_integer(value.into()))
}

fn scaled(digits: &str, power_of_ten: i32) -> Rational {
    let mantissa: BigInt = digits.parse().unwrap_or_default();
    let scale = BigInt::from(10).pow(power_of_ten.unsigned_abs());
    if power_of_ten < 0 {
        Rational::new(mantissa, scale)
    } else {
        Rational::from(mantissa * scale)
    }
}

mod foreign;
mod glyphs;
mod latex;
mod leibniz;
