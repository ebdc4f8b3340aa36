//! LaTeX source to the plain notation, glyph by glyph, before it is cut into tokens.
//!
//! One pass from left to right. A command with arguments plans what becomes of the braces further
//! on (`\frac{a}{b}`: a mark for the parser, then two groups in brackets), so nothing is nested and
//! nothing moves: every glyph keeps its place in the text, and messages point there.

use super::super::functions;
use super::super::letters::{greek_letter, plain};
use super::Glyph;
use crate::span::Span;

/// Stands in front of two groups in brackets: numerator and denominator.
pub(super) const FRACTION: char = '\u{e000}';

/// Commands that say nothing about the mathematics.
const DROPPED: &[&str] = &[
    "left",
    "right",
    "big",
    "Big",
    "bigg",
    "Bigg",
    "bigl",
    "bigr",
    "Bigl",
    "Bigr",
    "biggl",
    "biggr",
    "Biggl",
    "Biggr",
    "middle",
    "displaystyle",
    "textstyle",
    "limits",
    "nonumber",
    "notag",
    "rm",
    "it",
];

/// Commands that set their argument in some type: the argument counts.
const SET_IN_TYPE: &[&str] = &[
    "mathrm",
    "operatorname",
    "mathit",
    "mathbf",
    "mathsf",
    "boldsymbol",
    "boxed",
    "text",
    "textrm",
    "textit",
    "mbox",
];

/// Commands whose argument is no mathematics.
const WITHOUT_MEANING: &[&str] = &["tag", "label", "vspace", "hspace"];

/// Newton's dots.
const DOTS: &[(&str, &str)] = &[("dot", "′"), ("ddot", "″"), ("dddot", "‴"), ("ddddot", "⁗")];

/// Commands that stand for a character (several names may stand for the same one).
const SIGNS: &[(&str, &str)] = &[
    ("cdot times ast bullet", "·"),
    ("div", "÷"),
    ("prime", "′"),
    ("quad qquad enspace thinspace medspace", " "),
    ("newline cr", "\n"),
    ("vert lvert rvert mid", "|"),
    ("lbrace", "{"),
    ("rbrace", "}"),
    ("lbrack", "["),
    ("rbrack", "]"),
    ("pm", "±"),
    ("mp", "∓"),
    ("le leq lt", "≤"),
    ("ge geq gt", "≥"),
    ("ne neq", "≠"),
    ("approx", "≈"),
    ("equiv", "≡"),
    ("sim", "∼"),
    ("infty", "∞"),
    ("int", "∫"),
    ("iint", "∬"),
    ("oint", "∮"),
    ("partial", "∂"),
    ("nabla", "∇"),
    ("sum", "∑"),
    ("prod", "∏"),
    ("to rightarrow vec", "→"),
    ("varphi", "φ"),
    ("vartheta", "θ"),
    ("varepsilon", "ε"),
    ("varrho", "ρ"),
    ("varsigma", "σ"),
    ("varkappa", "κ"),
    ("lim", " lim "),
];

/// Names of commands with arguments that have a rule of their own.
const STRUCTURES: &[&str] = &["frac", "dfrac", "tfrac", "cfrac", "sqrt", "begin", "end"];

/// Is there anything for this pass to do?
pub(super) fn is_latex(text: &str) -> bool {
    text.contains(['\\', '$']) || text.contains("&=") || text.contains("|_")
}

/// Can a known command begin like this? Then it may be half-typed.
pub(super) fn begins_a_command(name: &str) -> bool {
    let lists = [DROPPED, SET_IN_TYPE, WITHOUT_MEANING, STRUCTURES];
    let dots = DOTS.iter().map(|(name, _)| *name);
    let signs = SIGNS.iter().flat_map(|(names, _)| names.split(' '));
    let mut known = lists
        .into_iter()
        .flatten()
        .copied()
        .chain(dots)
        .chain(signs);
    known.any(|known| known.starts_with(name))
        || functions::FUNCTIONS
            .iter()
            .any(|f| f.canonical.starts_with(name))
        || super::super::letters::greek_names().any(|greek| greek.starts_with(name))
}

/// The glyphs in plain notation, and where a distinction of cases stands on one side of an equation.
pub(super) fn in_plain_notation(glyphs: &[Glyph]) -> (Vec<Glyph>, Option<Span>) {
    let has_environment = glyphs
        .windows(6)
        .any(|w| w.iter().map(|g| g.raw).eq("\\begin".chars()));
    let mut rewriter = Rewriter {
        glyphs,
        plans: vec![Plan::default(); glyphs.len()],
        out: Vec::with_capacity(glyphs.len() + 8),
        has_environment,
        pieces: None,
    };
    let mut at = 0;
    while at < glyphs.len() {
        at = rewriter.unit(at).max(at + 1);
    }
    (rewriter.out, rewriter.pieces)
}

/// What becomes of a glyph further on.
#[derive(Clone, Default)]
struct Plan {
    before: String,
    after: String,
    /// The glyph itself goes.
    dropped: bool,
    /// Where in the text the result begins and ends, when that is not the glyph's own place.
    start: Option<usize>,
    end: Option<usize>,
}

/// Where an argument stands: glyph numbers, and whether they include braces around it.
#[derive(Clone, Copy)]
struct Argument {
    from: usize,
    to: usize,
    braced: bool,
}

impl Argument {
    fn inside(self) -> std::ops::Range<usize> {
        let brace = usize::from(self.braced);
        self.from + brace..self.to - brace
    }
}

struct Rewriter<'a> {
    glyphs: &'a [Glyph],
    plans: Vec<Plan>,
    out: Vec<Glyph>,
    /// Line ends are white space when an environment has its own.
    has_environment: bool,
    pieces: Option<Span>,
}

impl Rewriter<'_> {
    fn c(&self, at: usize) -> Option<char> {
        self.glyphs.get(at).map(|g| g.c)
    }

    fn start(&self, at: usize) -> usize {
        self.glyphs.get(at).map_or(0, |g| g.at)
    }

    fn end(&self, to: usize) -> usize {
        to.checked_sub(1)
            .and_then(|last| self.glyphs.get(last))
            .map_or(0, |g| g.end)
    }

    fn skip_spaces(&self, mut at: usize) -> usize {
        while matches!(self.c(at), Some(' ' | '\n')) {
            at += 1;
        }
        at
    }

    fn emit(&mut self, text: &str, at: usize, end: usize) {
        for raw in text.chars() {
            self.out.push(Glyph {
                at,
                end,
                raw,
                c: plain(raw),
            });
        }
    }

    /// A glyph, or a command, at `from`; gives where the next one begins.
    fn unit(&mut self, from: usize) -> usize {
        let written = self.out.len();
        let plan = self.plans.get(from).cloned().unwrap_or_default();
        let place = self.start(from);
        self.emit(&plan.before, place, place);
        let first = self.out.len();
        let to = if plan.dropped {
            from + 1
        } else {
            self.read(from)
        };
        if let (Some(start), Some(glyph)) = (plan.start, self.out.get_mut(first)) {
            glyph.at = start;
        }
        if let Some(last) = to.checked_sub(1).and_then(|last| self.plans.get(last)) {
            let (after, end) = (last.after.clone(), last.end);
            if let (Some(end), Some(glyph)) =
                (end, self.out.get_mut(written..).and_then(<[_]>::last_mut))
            {
                glyph.end = end;
            }
            // What comes behind stands at the brace that went.
            let place = self.end(to);
            let at = if after.chars().count() == 1 {
                self.start(to - 1)
            } else {
                place
            };
            self.emit(&after, at, place);
        }
        to
    }

    fn read(&mut self, from: usize) -> usize {
        let Some(glyph) = self.glyphs.get(from).copied() else {
            return from + 1;
        };
        match glyph.c {
            '\\' => return self.command(from),
            '$' | '~' | '&' => self.emit(" ", glyph.at, glyph.end),
            '\n' if self.has_environment => self.emit(" ", glyph.at, glyph.end),
            '|' => return self.bar(from, from + 1),
            '^' if self.primes_follow(from) => {}
            _ => self.out.push(glyph),
        }
        from + 1
    }

    /// `y|_{x=0}`, `y|_0`: the value there, as in y(0). Any other bar is a bar.
    fn bar(&mut self, from: usize, to: usize) -> usize {
        let (start, end) = (self.start(from), self.end(to));
        let index = self.skip_spaces(to);
        if self.c(index) == Some('_')
            && let Some(argument) = self.argument(index + 1)
        {
            self.wrap(argument, "", ")");
            self.emit("(", start, end);
            return index + 1;
        }
        self.emit("|", start, end);
        to
    }

    /// `^\prime`, `^{\prime\prime}`: no power. The braces go.
    fn primes_follow(&mut self, caret: usize) -> bool {
        let Some(argument) = self.argument(caret + 1) else {
            return false;
        };
        let inside: String = self
            .glyphs
            .get(argument.inside())
            .unwrap_or(&[])
            .iter()
            .map(|g| g.c)
            .collect();
        let rest = inside.replace("\\prime", "'");
        let found = rest.contains('\'') && rest.chars().all(|c| c == '\'' || c == ' ');
        if found {
            self.wrap(argument, "", "");
        }
        found
    }

    /// The letters behind the backslash at `from`, and where they end.
    fn name(&self, from: usize) -> (String, usize) {
        let mut to = from + 1;
        let mut name = String::new();
        while let Some(c) = self.c(to).filter(char::is_ascii_alphabetic) {
            name.push(c);
            to += 1;
        }
        (name, to)
    }

    /// The argument at `at`: in braces, or one character, or one command.
    fn argument(&self, at: usize) -> Option<Argument> {
        let from = self.skip_spaces(at);
        let single = |to| {
            Some(Argument {
                from,
                to,
                braced: false,
            })
        };
        match self.c(from)? {
            '{' => {
                let mut open = 0_usize;
                for (at, glyph) in self.glyphs.iter().enumerate().skip(from) {
                    match glyph.c {
                        '{' => open += 1,
                        '}' if open == 1 => {
                            return Some(Argument {
                                from,
                                to: at + 1,
                                braced: true,
                            });
                        }
                        '}' => open -= 1,
                        _ => {}
                    }
                }
                None
            }
            '\\' => {
                let (name, to) = self.name(from);
                (!name.is_empty()).then_some(to).and_then(single)
            }
            c if c.is_alphanumeric() => single(from + 1),
            _ => None,
        }
    }

    /// Puts text in place of an argument's braces, or around it.
    fn wrap(&mut self, argument: Argument, before: &str, after: &str) {
        if let Some(plan) = self.plans.get_mut(argument.from) {
            plan.dropped |= argument.braced;
            plan.before.push_str(before);
        }
        if let Some(plan) = self.plans.get_mut(argument.to - 1) {
            plan.dropped |= argument.braced;
            plan.after.insert_str(0, after);
        }
    }

    fn drop_range(&mut self, from: usize, to: usize) {
        for plan in self.plans.get_mut(from..to).unwrap_or(&mut []) {
            plan.dropped = true;
        }
    }

    fn command(&mut self, from: usize) -> usize {
        let (name, to) = self.name(from);
        let (start, end) = (self.start(from), self.end(to));
        let name = name.as_str();
        if name.is_empty() {
            return self.short_command(from);
        }
        if DROPPED.contains(&name) {
            // `\left.` has no bracket to show.
            let next = self.skip_spaces(to);
            return to.max(usize::from(self.c(next) == Some('.')) * (next + 1));
        }
        if let Some((_, primes)) = DOTS.iter().find(|(dots, _)| *dots == name) {
            if let Some(argument) = self.argument(to) {
                self.wrap(argument, "", primes);
                if let Some(plan) = self.plans.get_mut(argument.inside().start) {
                    plan.start = Some(start);
                }
            }
            return to;
        }
        if SET_IN_TYPE.contains(&name) {
            if let Some(argument) = self.argument(to) {
                let word = argument.inside().len() > 1;
                let before = if word { " " } else { "" };
                let after = if word && self.word_follows(argument.to) {
                    " "
                } else {
                    ""
                };
                self.wrap(argument, before, after);
            }
            return to;
        }
        if WITHOUT_MEANING.contains(&name) {
            return self.argument(to).map_or(to, |argument| argument.to);
        }
        match name {
            "frac" | "dfrac" | "tfrac" | "cfrac" => self.fraction(from, to),
            "sqrt" => self.root(from, to),
            "begin" | "end" => self.environment(name == "begin", from, to),
            _ => {
                let sign = SIGNS
                    .iter()
                    .find(|(names, _)| names.split(' ').any(|n| n == name));
                if let Some((_, sign)) = sign {
                    if *sign == "|" {
                        return self.bar(from, to);
                    }
                    self.emit(sign, start, end);
                } else if let Some(letter) = greek_letter(name) {
                    self.emit(letter.encode_utf8(&mut [0; 4]), start, end);
                } else if functions::find(name).is_some() || name == "lg" || name == "lb" {
                    self.word(name, start, end, to);
                } else {
                    // Kept: the lexer says that it is not known.
                    self.out.extend(self.glyphs.get(from..to).unwrap_or(&[]));
                }
                to
            }
        }
    }

    /// A letter, a digit or a command comes next.
    fn word_follows(&self, at: usize) -> bool {
        self.c(at).is_some_and(|c| c.is_alphanumeric() || c == '\\')
    }

    fn word(&mut self, word: &str, start: usize, end: usize, to: usize) {
        if self.out.last().is_some_and(|g| g.c.is_alphabetic()) {
            self.emit(" ", start, start);
        }
        self.emit(word, start, end);
        if self.word_follows(to) {
            self.emit(" ", end, end);
        }
    }

    /// A backslash and a character that is no letter.
    fn short_command(&mut self, from: usize) -> usize {
        let place = (self.start(from), self.end(from + 2));
        let shown = match self.c(from + 1) {
            Some('\\') => {
                let next = self.behind_line_end(from + 2);
                let text = if self.line_goes_on(next) { " " } else { "\n" };
                self.emit(text, place.0, place.1);
                return next;
            }
            Some(',' | ';' | ':' | '!' | ' ' | '>' | '\n' | '(' | ')' | '[' | ']') => " ",
            Some('{') => "{",
            Some('}') => "}",
            Some('|') => return self.bar(from, from + 2),
            _ => {
                self.out.extend(self.glyphs.get(from..=from).unwrap_or(&[]));
                return from + 1;
            }
        };
        self.emit(shown, place.0, place.1);
        from + 2
    }

    /// `\\[2pt]`: the distance goes.
    fn behind_line_end(&self, at: usize) -> usize {
        if self.c(at) != Some('[') {
            return at;
        }
        let rest = self.glyphs.get(at..).unwrap_or(&[]);
        let length = rest.iter().take(12).position(|g| g.c == ']');
        let short = length.filter(|n| rest.iter().take(*n).any(|g| g.c.is_ascii_alphabetic()));
        short.map_or(at, |n| at + n + 1)
    }

    /// Behind `\\`: does the same equation go on? A sign behind the alignment mark says so.
    fn line_goes_on(&self, mut at: usize) -> bool {
        let mut aligned = false;
        loop {
            at = self.skip_spaces(at);
            match self.c(at) {
                None | Some('+' | '=') => return true,
                Some('&') => aligned = true,
                Some('-') => return aligned,
                Some('\\') if aligned => {
                    let (name, to) = self.name(at);
                    if name != "quad" && name != "qquad" {
                        return false;
                    }
                    at = to - 1;
                }
                Some(_) => return false,
            }
            at += 1;
        }
    }

    /// `\frac{a}{b}`; `\frac{dy}{dx}` is the derivative.
    fn fraction(&mut self, from: usize, to: usize) -> usize {
        let above = self.argument(to);
        let below = above.and_then(|above| self.argument(above.to));
        if let (Some(above), Some(below)) = (above, below)
            && above.braced
            && below.braced
            && self.is_differential(above, true)
            && self.is_differential(below, false)
        {
            self.derivative(from, above, below);
            return to;
        }
        let (at, end) = (self.start(from), self.end(to));
        let (raw, c) = (FRACTION, FRACTION);
        self.out.push(Glyph { at, end, raw, c });
        for argument in [above, below].into_iter().flatten() {
            self.wrap(argument, "(", ")");
        }
        to
    }

    /// `d^2y` above, `dx^2` below, however the d is set.
    fn is_differential(&self, argument: Argument, above: bool) -> bool {
        let glyphs = self.glyphs.get(argument.inside()).unwrap_or(&[]);
        let mut text: String = glyphs.iter().map(|g| g.c).collect();
        for set in SET_IN_TYPE.iter().chain(DROPPED) {
            text = text.replace(&format!("\\{set}"), "");
        }
        text.retain(|c| !matches!(c, ' ' | '{' | '}' | ',' | '!'));
        let rest = text
            .strip_prefix('d')
            .filter(|rest| above || !rest.is_empty());
        let inner = |c: char| c.is_alphanumeric() || matches!(c, '\\' | '^' | '_');
        rest.is_some_and(|rest| rest.chars().all(inner))
    }

    fn derivative(&mut self, from: usize, above: Argument, below: Argument) {
        // Raised to a power, it needs the brackets that LaTeX does without.
        let raised = self.c(self.skip_spaces(below.to)) == Some('^');
        let (open, close) = if raised { ("(", ")") } else { ("", "") };
        let (start, end) = (self.start(from), self.end(below.to));
        self.emit(open, start, start);
        self.wrap(above, "", "/");
        self.wrap(below, "", close);
        for argument in [above, below] {
            for at in argument.inside() {
                let before = at.checked_sub(1).and_then(|before| self.c(before));
                if self.c(at) == Some('{')
                    && !matches!(before, Some('^' | '_'))
                    && let Some(inner) = self.argument(at)
                {
                    self.wrap(inner, "", "");
                }
            }
        }
        let first = above.inside().find(|at| self.c(*at) == Some('d'));
        if let Some(plan) = first.and_then(|at| self.plans.get_mut(at)) {
            plan.start = Some(start);
        }
        let is_last = |at: &usize| self.c(*at).is_some_and(char::is_alphanumeric);
        let last = below.inside().rev().find(is_last);
        if let Some(plan) = last.and_then(|at| self.plans.get_mut(at)) {
            plan.end = Some(end);
        }
    }

    /// `\sqrt{x}`, `\sqrt[3]{x}`, `\sqrt[n]{x}`.
    fn root(&mut self, from: usize, to: usize) -> usize {
        let (start, end) = (self.start(from), self.end(to));
        let open = self.skip_spaces(to);
        let rest = self.glyphs.get(open..).unwrap_or(&[]);
        let close = rest
            .iter()
            .take(8)
            .position(|g| g.c == ']')
            .filter(|_| self.c(open) == Some('['));
        let Some(length) = close else {
            self.emit("√", start, end);
            if let Some(argument) = self.argument(to) {
                self.wrap(argument, "(", ")");
            }
            return to;
        };
        let index: String = rest.iter().take(length).skip(1).map(|g| g.c).collect();
        let index = index.trim();
        let behind = open + length + 1;
        match (index, self.argument(behind)) {
            ("2", Some(argument)) => {
                self.emit("√", start, end);
                self.wrap(argument, "(", ")");
            }
            ("3", Some(argument)) => {
                self.emit("∛", start, end);
                self.wrap(argument, "(", ")");
            }
            (_, Some(argument)) => self.wrap(argument, "(", &format!(")^(1/({index}))")),
            (_, None) => self.emit("√", start, end),
        }
        behind
    }

    /// Environments align equations; `cases` behind an equals sign tells cases apart.
    fn environment(&mut self, begins: bool, from: usize, to: usize) -> usize {
        let (start, end) = (self.start(from), self.end(to));
        self.emit(" ", start, end);
        let Some(argument) = self.argument(to) else {
            return to;
        };
        let glyphs = self.glyphs.get(argument.inside()).unwrap_or(&[]);
        let name: String = glyphs.iter().map(|g| g.c).collect();
        let last = self.out.iter().rev().find(|g| g.c != ' ' && g.c != '{');
        if begins && name == "cases" && last.is_some_and(|g| g.c == '=') {
            self.pieces = Some(Span::new(start, self.end(argument.to)));
        }
        self.drop_range(argument.from, argument.to);
        let columns = self.argument(argument.to);
        if begins
            && name == "array"
            && let Some(columns) = columns
        {
            self.drop_range(columns.from, columns.to);
        }
        to
    }
}
