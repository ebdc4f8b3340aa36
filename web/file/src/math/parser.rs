//! From the text of a formula to elements, in one pass.

use super::Unknown;
use super::names::{self, find};
use super::parts::{
    Atom, Kind, THIN, bar, binary, element, fence, prime_marks, relation, space, styled,
};
use std::fmt::Write as _;
use std::ops::Range;
use web::file::nearest;
use web::html::escape;

/// Brackets, fractions and indices deeper than this are shown as they were written.
const DEEPEST: usize = 40;
/// Of a formula so many unknown names are said.
const MOST_UNKNOWN: usize = 20;

/// What ends a row.
#[derive(Clone, Copy, PartialEq, Eq)]
enum End {
    Text,
    Brace,
    Square,
    Right,
    /// `&`, `\\` or `\end`.
    Cell,
}

#[derive(Clone, Copy, PartialEq, Eq, Debug)]
enum Token<'a> {
    /// `\name`
    Name(&'a str),
    /// Anything else but a space.
    Sign(char),
}

pub(super) struct Parser<'a> {
    source: &'a str,
    at: usize,
    depth: usize,
    display: bool,
    pub(super) unknown: Vec<Unknown>,
}

impl<'a> Parser<'a> {
    pub(super) fn new(source: &'a str, display: bool) -> Self {
        Self {
            source,
            at: 0,
            depth: 0,
            display,
            unknown: Vec::new(),
        }
    }

    /// The whole formula.
    pub(super) fn whole(&mut self) -> String {
        let mut out = String::new();
        while self.at < self.source.len() {
            let before = self.at;
            out.push_str(&self.row(End::Text));
            if self.at < self.source.len() {
                // An end without its beginning.
                if let Some((_, place)) = self.next() {
                    out.push_str(&self.strange(place, "This closes what was not opened."));
                }
            }
            if self.at == before {
                break;
            }
        }
        out
    }

    fn rest(&self) -> &'a str {
        self.source.get(self.at..).unwrap_or("")
    }

    fn skip_space(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
        if self.rest().starts_with('%') {
            // A remark to the end of the line.
            self.at += self.rest().find('\n').unwrap_or(self.rest().len());
            self.skip_space();
        }
    }

    /// The token that comes, and its place; it is not taken.
    fn peek(&mut self) -> Option<(Token<'a>, Range<usize>)> {
        self.skip_space();
        let rest = self.rest();
        let first = rest.chars().next()?;
        let start = self.at;
        let Some(name) = rest.strip_prefix('\\') else {
            return Some((Token::Sign(first), start..start + first.len_utf8()));
        };
        let mut length = name
            .find(|c: char| !c.is_ascii_alphabetic())
            .unwrap_or(name.len());
        if length == 0 {
            length = name.chars().next().map_or(0, char::len_utf8);
        }
        let name = name.get(..length).unwrap_or("");
        Some((Token::Name(name), start..start + 1 + length))
    }

    fn next(&mut self) -> Option<(Token<'a>, Range<usize>)> {
        let found = self.peek()?;
        self.at = found.1.end;
        Some(found)
    }

    fn takes(&mut self, sign: char) -> bool {
        let is = self
            .peek()
            .is_some_and(|(token, _)| token == Token::Sign(sign));
        if is {
            self.next();
        }
        is
    }

    /// Shows a piece of the text as it is and says why.
    fn strange(&mut self, place: Range<usize>, message: &str) -> String {
        let text = self.source.get(place.clone()).unwrap_or("");
        if self.unknown.len() < MOST_UNKNOWN {
            self.unknown.push(Unknown {
                place,
                message: message.to_owned(),
                meant: None,
            });
        }
        format!("<mtext class=\"unread\">{}</mtext>", escape(text))
    }

    fn unknown_name(&mut self, name: &str, place: Range<usize>) -> String {
        let meant = nearest(name, names::all());
        let words = match meant {
            Some(meant) => {
                format!("\\{name} is not read in formulas here. Perhaps \\{meant} is meant?")
            }
            None => format!("\\{name} is not read in formulas here; it is shown as it is."),
        };
        let out = self.strange(place, &words);
        if let Some(last) = self.unknown.last_mut() {
            last.meant = meant.map(|meant| format!("\\{meant}"));
        }
        out
    }

    /// Things side by side, up to what ends them (which is not taken).
    fn row(&mut self, end: End) -> String {
        if self.depth >= DEEPEST {
            let place = self.at..self.source.len();
            self.at = place.end;
            return self.strange(place, "This formula is nested too deeply.");
        }
        self.depth += 1;
        let mut out = String::new();
        let mut before = Kind::Opening;
        let mut first = true;
        while let Some((token, _)) = self.peek() {
            if Self::ends(token, end) {
                break;
            }
            let Some(mut atom) = self.atom(before, first) else {
                continue;
            };
            self.scripts(&mut atom);
            let gap = match (before, atom.kind) {
                // sin x, but sin(x).
                (Kind::Function, Kind::Letter | Kind::Function | Kind::Large(_)) => true,
                (Kind::Letter | Kind::Closing, Kind::Function) => !first,
                _ => false,
            };
            if before == Kind::Function && atom.kind != Kind::Relation && atom.kind != Kind::Binary
            {
                out.push_str("<mo>&#x2061;</mo>");
            }
            if gap {
                out.push_str(THIN);
            }
            out.push_str(&atom.xml);
            if atom.kind != Kind::Space {
                before = atom.kind;
            }
            first = false;
        }
        self.depth -= 1;
        out
    }

    fn ends(token: Token<'_>, end: End) -> bool {
        match token {
            Token::Sign(']') => end == End::Square,
            Token::Sign('}' | '&') | Token::Name("right" | "\\" | "end" | "cr") => true,
            _ => false,
        }
    }

    /// One element with everything that belongs to it but its indices; `None`: nothing to be seen.
    fn atom(&mut self, before: Kind, first: bool) -> Option<Atom> {
        let (token, place) = self.next()?;
        match token {
            Token::Name(name) => self.command(name, place, before),
            Token::Sign('{') => {
                let inside = self.row(End::Brace);
                if !self.takes('}') {
                    self.strange(place, "This bracket is not closed.");
                }
                Some(Atom::letter(format!("<mrow>{inside}</mrow>")))
            }
            // An index without what it belongs to: `^\circ` behind a number that ended in a space.
            Token::Sign('^' | '_' | '\'') => {
                self.at = place.start;
                Some(Atom::letter("<mrow></mrow>".into()))
            }
            Token::Sign('~') => Some(Atom::new(Kind::Space, space("0.25em"))),
            Token::Sign(sign) => Some(self.sign(sign, &place, before, first)),
        }
    }

    fn sign(&mut self, sign: char, place: &Range<usize>, before: Kind, first: bool) -> Atom {
        match sign {
            '0'..='9' => {
                let rest = self.source.get(place.start..).unwrap_or("");
                let mut length = rest
                    .find(|c: char| !c.is_ascii_digit())
                    .unwrap_or(rest.len());
                let behind = rest.get(length..).unwrap_or("");
                if let Some(decimals) = behind.strip_prefix('.') {
                    let digits = decimals
                        .find(|c: char| !c.is_ascii_digit())
                        .unwrap_or(decimals.len());
                    length += if digits > 0 { digits + 1 } else { 0 };
                }
                self.at = place.start + length;
                Atom::letter(element("mn", rest.get(..length).unwrap_or("")))
            }
            '+' | '-' | '−' | '±' | '∓' => {
                let sign = if sign == '-' { '−' } else { sign };
                binary(&sign.to_string(), before, first)
            }
            '*' => binary("∗", before, first),
            '=' | '<' | '>' | ':' | '≤' | '≥' | '≈' | '≠' | '→' | '∈' => {
                relation(&sign.to_string())
            }
            ',' | ';' => Atom::new(
                Kind::Punctuation,
                format!("<mo separator=\"true\">{sign}</mo>"),
            ),
            '(' | '[' => fence(&sign.to_string(), Kind::Opening, false),
            ')' | ']' => fence(&sign.to_string(), Kind::Closing, false),
            '|' => bar("|", before, first),
            '!' => Atom::letter("<mo form=\"postfix\" lspace=\"0\" rspace=\"0\">!</mo>".into()),
            '/' => Atom::new(Kind::Letter, "<mo lspace=\"0\" rspace=\"0\">/</mo>".into()),
            '.' | '?' => Atom::letter(format!("<mo lspace=\"0\" rspace=\"0\">{sign}</mo>")),
            _ if sign.is_control() => Atom::new(Kind::Space, "<mrow></mrow>".into()),
            '⋅' | '·' | '×' | '÷' => binary(&sign.to_string(), before, first),
            '∑' | '∏' => Atom::new(Kind::Large(true), format!("<mo>{sign}</mo>")),
            '∞' | '∂' => Atom::letter(format!("<mi mathvariant=\"normal\">{sign}</mi>")),
            _ => Atom::letter(element("mi", &sign.to_string())),
        }
    }

    #[allow(clippy::too_many_lines, reason = "one arm for each kind of name")]
    fn command(&mut self, name: &'a str, place: Range<usize>, before: Kind) -> Option<Atom> {
        let first = before == Kind::Opening;
        if names::PASSED_OVER.contains(&name) {
            return None;
        }
        if let Some(letter) = find(names::LETTERS, name) {
            return Some(Atom::letter(element("mi", letter)));
        }
        if let Some(letter) = find(names::UPRIGHT, name) {
            return Some(Atom::letter(format!(
                "<mi mathvariant=\"normal\">{}</mi>",
                escape(letter)
            )));
        }
        if let Some(sign) = find(names::BINARY, name) {
            return Some(binary(sign, before, first));
        }
        if let Some(sign) = find(names::RELATIONS, name) {
            return Some(relation(sign));
        }
        if names::FUNCTIONS.contains(&name) {
            return Some(Atom::new(Kind::Function, element("mi", name)));
        }
        if let Some(words) = find(names::LIMITS, name) {
            let xml =
                format!("<mo movablelimits=\"true\" lspace=\"0\" rspace=\"0.1667em\">{words}</mo>");
            return Some(Atom::new(Kind::Large(true), xml));
        }
        if let Some((_, sign, limits)) = names::LARGE.iter().find(|(known, ..)| *known == name) {
            return Some(Atom::new(Kind::Large(*limits), format!("<mo>{sign}</mo>")));
        }
        if let Some(sign) = find(names::DELIMITERS, name) {
            return Some(
                if names::OPENING.contains(&sign)
                    || name.starts_with("lv")
                    || name.starts_with("lV")
                {
                    fence(sign, Kind::Opening, false)
                } else if names::CLOSING.contains(&sign)
                    || name.starts_with("rv")
                    || name.starts_with("rV")
                {
                    fence(sign, Kind::Closing, false)
                } else {
                    bar(sign, before, first)
                },
            );
        }
        if let Some(width) = find(names::SPACES, name) {
            return Some(Atom::new(Kind::Space, space(width)));
        }
        if let Some((_, mark, grows)) = names::ACCENTS.iter().find(|(known, ..)| *known == name) {
            let base = self.argument();
            let stretchy = if *grows { "" } else { " stretchy=\"false\"" };
            let large = if name == "overbrace" {
                Kind::Large(true)
            } else {
                Kind::Letter
            };
            let xml = format!("<mover accent=\"true\">{base}<mo{stretchy}>{mark}</mo></mover>");
            return Some(Atom::new(large, xml));
        }
        if let Some(mark) = find(names::UNDER, name) {
            let base = self.argument();
            let large = if name == "underbrace" {
                Kind::Large(true)
            } else {
                Kind::Letter
            };
            return Some(Atom::new(
                large,
                format!("<munder>{base}<mo>{mark}</mo></munder>"),
            ));
        }
        Some(match name {
            "frac" | "dfrac" | "tfrac" | "cfrac" => {
                let (top, below) = (self.argument(), self.argument());
                Atom::letter(format!("<mfrac>{top}{below}</mfrac>"))
            }
            "binom" | "dbinom" | "tbinom" => {
                let (top, below) = (self.argument(), self.argument());
                let inside = format!("<mfrac linethickness=\"0\">{top}{below}</mfrac>");
                Atom::letter(format!(
                    "<mrow><mo form=\"prefix\">(</mo>{inside}<mo form=\"postfix\">)</mo></mrow>"
                ))
            }
            "sqrt" => {
                let degree = self.takes('[').then(|| {
                    let degree = self.row(End::Square);
                    self.takes(']');
                    degree
                });
                let inside = self.argument();
                Atom::letter(match degree {
                    Some(degree) => format!("<mroot>{inside}<mrow>{degree}</mrow></mroot>"),
                    None => format!("<msqrt>{inside}</msqrt>"),
                })
            }
            "text" | "textrm" | "textit" | "textbf" | "mbox" | "textnormal" => {
                Atom::letter(element("mtext", &self.words()))
            }
            "operatorname" => {
                let words = self.words();
                Atom::new(Kind::Function, element("mi", words.trim_start_matches('*')))
            }
            "mathrm" | "mathup" | "mathsf" | "mathtt" | "mathbf" | "boldsymbol" | "bm"
            | "mathit" | "mathcal" | "mathbb" | "mathfrak" | "mathscr" => {
                let words = self.words();
                Atom::letter(styled(name, words.trim()))
            }
            "left" => self.left(place),
            "begin" => self.environment(place),
            "not" => {
                let (token, place) = self.next()?;
                let sign = match token {
                    Token::Sign(sign) => sign.to_string(),
                    Token::Name(name) => find(names::RELATIONS, name).unwrap_or("").to_owned(),
                };
                match find(names::NOT, &sign) {
                    Some(sign) => relation(sign),
                    None => {
                        Atom::letter(self.strange(place, "\\not is not read in front of this."))
                    }
                }
            }
            "overset" | "stackrel" | "underset" => {
                let (mark, base) = (self.argument(), self.argument());
                let tag = if name == "underset" {
                    "munder"
                } else {
                    "mover"
                };
                Atom::new(Kind::Relation, format!("<{tag}>{base}{mark}</{tag}>"))
            }
            "boxed" => Atom::letter(format!("<mrow class=\"boxed\">{}</mrow>", self.argument())),
            "phantom" | "hphantom" | "vphantom" => Atom::new(
                Kind::Space,
                format!("<mphantom>{}</mphantom>", self.argument()),
            ),
            "pmod" => Atom::letter(format!(
                "<mrow><mo form=\"prefix\">(</mo><mi>mod</mi>{THIN}{}<mo form=\"postfix\">)</mo></mrow>",
                self.argument()
            )),
            "bmod" | "mod" => binary("mod", before, first),
            _ => Atom::letter(self.unknown_name(name, place)),
        })
    }

    /// What a name is applied to: the next element, or what is in braces. Always one element.
    fn argument(&mut self) -> String {
        match self.peek() {
            None => "<mrow></mrow>".into(),
            Some((token, _)) if Self::ends(token, End::Brace) => "<mrow></mrow>".into(),
            // Of a number only one digit, as in \frac12.
            Some((Token::Sign(digit @ '0'..='9'), _)) => {
                self.next();
                element("mn", &digit.to_string())
            }
            Some(_) => {
                if self.depth >= DEEPEST {
                    let place = self.at..self.source.len();
                    self.at = place.end;
                    return self.strange(place, "This formula is nested too deeply.");
                }
                self.depth += 1;
                let made = self.atom(Kind::Opening, true);
                self.depth -= 1;
                made.map_or_else(|| "<mrow></mrow>".into(), |atom| atom.xml)
            }
        }
    }

    /// Words in braces, as they are.
    fn words(&mut self) -> String {
        if !self.takes('{') {
            return match self.next() {
                Some((Token::Sign(sign), _)) => sign.to_string(),
                Some((Token::Name(name), _)) => {
                    find(names::LETTERS, name).unwrap_or(name).to_owned()
                }
                None => String::new(),
            };
        }
        let rest = self.rest();
        let mut depth = 0_usize;
        let mut length = rest.len();
        for (at, c) in rest.char_indices() {
            match c {
                '{' => depth += 1,
                '}' if depth == 0 => {
                    length = at;
                    break;
                }
                '}' => depth -= 1,
                _ => {}
            }
        }
        self.at += length;
        self.takes('}');
        let words = rest.get(..length).unwrap_or("");
        // White space at its ends would be lost.
        let words = words.replace("\\ ", " ").replace(['$', '{', '}'], "");
        words.replace(' ', "\u{a0}")
    }

    /// `\left( … \right)`: brackets that grow.
    fn left(&mut self, place: Range<usize>) -> Atom {
        let opening = self.delimiter();
        let inside = self.row(End::Right);
        let closing = if matches!(self.peek(), Some((Token::Name("right"), _))) {
            self.next();
            self.delimiter()
        } else {
            self.strange(place, "This \\left has no \\right.");
            String::new()
        };
        let side = |sign: &str, form: &str| {
            if sign.is_empty() {
                String::new()
            } else {
                format!(
                    "<mo form=\"{form}\" fence=\"true\" stretchy=\"true\">{}</mo>",
                    escape(sign)
                )
            }
        };
        Atom::letter(format!(
            "<mrow>{}{inside}{}</mrow>",
            side(&opening, "prefix"),
            side(&closing, "postfix")
        ))
    }

    /// The sign behind `\left` or `\right`; a full stop is none.
    fn delimiter(&mut self) -> String {
        match self.next() {
            Some((Token::Sign('.'), _)) | None => String::new(),
            Some((Token::Sign('<'), _)) => "⟨".into(),
            Some((Token::Sign('>'), _)) => "⟩".into(),
            Some((Token::Sign(sign), _)) => sign.to_string(),
            Some((Token::Name(name), place)) => find(names::DELIMITERS, name).map_or_else(
                || {
                    self.unknown_name(name, place);
                    String::new()
                },
                Into::into,
            ),
        }
    }

    /// `\begin{…} … \end{…}`.
    fn environment(&mut self, place: Range<usize>) -> Atom {
        let name = self.words();
        let table = names::TABLES.iter().find(|(known, ..)| *known == name);
        let Some((_, left, right)) = table else {
            let place = place.start..self.at;
            return Atom::letter(self.strange(place, "There is no such environment here."));
        };
        if name == "array" {
            // How its columns stand.
            self.words();
        }
        let mut rows = String::from("<mtr>");
        loop {
            let cell = self.row(End::Cell);
            let _ = write!(rows, "<mtd>{cell}</mtd>");
            match self.next() {
                Some((Token::Sign('&'), _)) => {}
                Some((Token::Name("\\" | "cr"), _)) => rows.push_str("</mtr><mtr>"),
                Some((Token::Name("end"), _)) => {
                    self.words();
                    break;
                }
                Some((_, place)) => {
                    let strange = self.strange(place, "This does not belong here.");
                    let _ = write!(rows, "<mtd>{strange}</mtd>");
                }
                None => {
                    self.strange(place, "This \\begin has no \\end.");
                    break;
                }
            }
        }
        let rows = format!("{rows}</mtr>");
        let rows = rows.replace("<mtr><mtd></mtd></mtr>", "");
        let class = match name.as_str() {
            "cases" => " class=\"cases\"",
            "aligned" | "align" | "align*" | "split" => " class=\"aligned\"",
            _ => "",
        };
        let side = |sign: &str, form: &str| {
            if sign.is_empty() {
                String::new()
            } else {
                format!("<mo form=\"{form}\" fence=\"true\" stretchy=\"true\">{sign}</mo>")
            }
        };
        Atom::letter(format!(
            "<mrow>{}<mtable{class}>{rows}</mtable>{}</mrow>",
            side(left, "prefix"),
            side(right, "postfix")
        ))
    }

    /// Indices, exponents and primes behind an element.
    fn scripts(&mut self, atom: &mut Atom) {
        let (mut below, mut above, mut primes) = (None, String::new(), 0_usize);
        let mut has_above = false;
        loop {
            match self.peek() {
                Some((Token::Sign('\'' | '′' | '’'), _)) => {
                    self.next();
                    primes += 1;
                }
                Some((Token::Sign('″'), _)) => {
                    self.next();
                    primes += 2;
                }
                Some((Token::Sign('_'), place)) => {
                    self.next();
                    let index = self.argument();
                    if below.replace(index).is_some() {
                        self.strange(
                            place,
                            "There are two indices here; braces say which belongs where.",
                        );
                    }
                }
                Some((Token::Sign('^'), place)) => {
                    self.next();
                    if has_above {
                        self.strange(
                            place,
                            "There are two exponents here; braces say which belongs where.",
                        );
                    }
                    has_above = true;
                    above = self.argument();
                }
                Some((Token::Name("limits"), _)) => {
                    self.next();
                    atom.kind = Kind::Large(true);
                }
                Some((Token::Name("nolimits"), _)) => {
                    self.next();
                    atom.kind = Kind::Large(false);
                }
                _ => break,
            }
        }
        if primes > 0 {
            let marks = prime_marks(primes);
            above = if has_above {
                format!("<mrow>{marks}{above}</mrow>")
            } else {
                marks
            };
            has_above = true;
        }
        let base = &atom.xml;
        let under = self.display && atom.kind == Kind::Large(true);
        let xml = match (below, has_above, under) {
            (None, false, _) => return,
            (Some(below), false, true) => format!("<munder>{base}{below}</munder>"),
            (None, true, true) => format!("<mover>{base}{above}</mover>"),
            (Some(below), true, true) => format!("<munderover>{base}{below}{above}</munderover>"),
            (Some(below), false, false) => format!("<msub>{base}{below}</msub>"),
            (None, true, false) => format!("<msup>{base}{above}</msup>"),
            (Some(below), true, false) => format!("<msubsup>{base}{below}{above}</msubsup>"),
        };
        atom.xml = xml;
        if atom.kind == Kind::Opening || atom.kind == Kind::Binary {
            atom.kind = Kind::Letter;
        }
    }
}
