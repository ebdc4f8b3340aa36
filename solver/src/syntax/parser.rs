//! Precedence-climbing parser over tokens. Every path consumes tokens or returns, the nesting is
//! limited, and so is the number of factors in one product, so the tree is never deep.
//!
//! From loose to tight: `+ −`, then `* /` and juxtaposition (one level, left to right), then the
//! sign, then `^` (right to left).

mod call;
mod group;
mod name;
mod product;

use super::differentiated::Differentiated;
use super::token::{Token, TokenKind};
use super::{Kind, Node};
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Edit, Outcome, Suggestion};
use crate::ordered::Map;
use crate::span::{Field, Span};

/// Factors in one product, the brackets in it included.
const FACTORS: usize = 200;

/// What kind of bracket is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Group {
    Round,
    Bars,
}

pub(super) struct Parser<'a> {
    pub(super) text: &'a str,
    pub(super) field: Field,
    pub(super) diagnostics: Vec<Diagnostic>,
    tokens: &'a [Token],
    differentiated: &'a Differentiated,
    /// White space may stand between a name and its brackets.
    loose_arguments: bool,
    at: usize,
    nesting: usize,
    deepest: usize,
    groups: Vec<Group>,
    /// Products read so far in this term and around it: bounds the tree's height.
    chain: usize,
    /// The limit on nesting was hit; everything behind is skipped.
    stopped: bool,
    /// The function whose argument, without brackets, has just ended.
    open_call: Option<call::OpenCall>,
}

impl<'a> Parser<'a> {
    pub(super) fn new(
        text: &'a str,
        field: Field,
        tokens: &'a [Token],
        differentiated: &'a Differentiated,
        budget: &Budget,
    ) -> Self {
        Self {
            text,
            field,
            diagnostics: Vec::new(),
            tokens,
            differentiated,
            loose_arguments: field == Field::Conditions,
            at: 0,
            nesting: 0,
            deepest: budget.nesting,
            groups: Vec::new(),
            chain: 0,
            stopped: false,
            open_call: None,
        }
    }

    pub(super) fn peek(&self) -> Option<&'a TokenKind> {
        self.tokens.get(self.at).map(|t| &t.kind)
    }

    /// Where the next token stands; the end of the text when there is none.
    pub(super) fn here(&self) -> Span {
        let end = Span::new(self.text.len(), self.text.len());
        self.tokens.get(self.at).map_or(end, |t| t.span)
    }

    /// Where the last token stood.
    pub(super) fn previous(&self) -> Option<Span> {
        let place = self.at.checked_sub(1)?;
        self.tokens.get(place).map(|t| t.span)
    }

    pub(super) fn advance(&mut self) {
        self.at += 1;
    }

    pub(super) fn at_end(&self) -> bool {
        self.at >= self.tokens.len()
    }

    /// White space stands before the next token.
    fn spaced(&self) -> bool {
        self.tokens.get(self.at).is_some_and(|t| t.spaced)
    }

    fn rest(&self) -> &'a [Token] {
        self.tokens.get(self.at..).unwrap_or(&[])
    }

    pub(super) fn slice(&self, span: Span) -> &'a str {
        self.text.get(span.start..span.end).unwrap_or("")
    }

    pub(super) fn tell(&mut self, diagnostic: Diagnostic) {
        self.diagnostics.push(diagnostic);
    }

    pub(super) fn error(
        &self,
        code: &'static str,
        span: Span,
        message: impl Into<String>,
    ) -> Diagnostic {
        Diagnostic::error(code, self.field, span, message)
    }

    fn notice(&self, code: &'static str, span: Span, message: impl Into<String>) -> Diagnostic {
        Diagnostic::notice(code, self.field, span, message)
    }

    /// A repair that puts brackets around each of `spans`.
    fn with_brackets(&self, label: String, spans: &[Span]) -> Suggestion {
        // One edit for each place: `)` and `(` may fall on the same one.
        let mut places: Map<usize, String> = Map::new();
        for span in spans {
            places.value_or(span.start, String::new).push('(');
            places.value_or(span.end, String::new).push(')');
        }
        let edits = places
            .into_entries()
            .into_iter()
            .map(|(at, replacement)| Edit {
                field: self.field,
                span: Span::new(at, at),
                replacement,
            })
            .collect();
        Suggestion { label, edits }
    }

    /// Nothing, where the next token stands; after the last token if there is no next.
    pub(super) fn missing_here(&self) -> Node {
        let here = self.here();
        let place = if self.at_end() {
            self.previous().map_or(here, |p| Span::new(p.end, p.end))
        } else {
            Span::new(here.start, here.start)
        };
        Node {
            span: place,
            kind: Kind::Missing,
        }
    }

    /// Runs `inner` one level deeper, or gives up on the rest of the text.
    fn nested(&mut self, inner: impl FnOnce(&mut Self) -> Node) -> Node {
        if self.nesting >= self.deepest {
            let limit = self.deepest;
            return self.give_up(format!(
                "This is nested more than {limit} levels deep, which is beyond what can be read. \
                 Simplify it."
            ));
        }
        self.nesting += 1;
        let node = inner(self);
        self.nesting -= 1;
        node
    }

    fn give_up(&mut self, message: String) -> Node {
        if !self.stopped {
            let span = if self.at_end() {
                self.previous().unwrap_or_else(|| self.here())
            } else {
                self.here()
            };
            let diagnostic = self
                .error("too-deep", span, message)
                .outcome(Outcome::Unable);
            self.tell(diagnostic);
        }
        self.stopped = true;
        self.at = self.tokens.len();
        self.missing_here()
    }

    /// `a + b − c`.
    pub(super) fn sum(&mut self) -> Node {
        // Terms stand beside each other: the longest one counts.
        let outside = self.chain;
        let mut highest = outside;
        let mut terms = vec![(false, self.term())];
        loop {
            highest = highest.max(std::mem::replace(&mut self.chain, outside));
            let minus = match self.peek() {
                Some(TokenKind::Plus) => false,
                Some(TokenKind::Minus) => true,
                _ => break,
            };
            self.advance();
            terms.push((minus, self.term()));
        }
        self.chain = highest;
        let last_end = terms.last().map_or(0, |(_, node)| node.span.end);
        if terms.len() > 1 {
            let start = terms.first().map_or(0, |(_, node)| node.span.start);
            return Node {
                span: Span::new(start.min(last_end), last_end.max(start)),
                kind: Kind::Sum(terms),
            };
        }
        terms
            .pop()
            .map_or_else(|| self.missing_here(), |(_, node)| node)
    }

    /// A product with signs in front. A plus sign says nothing and is dropped.
    fn term(&mut self) -> Node {
        match self.peek() {
            Some(TokenKind::Minus) => self.negated(Self::term),
            Some(TokenKind::Plus) => {
                self.advance();
                self.nested(Self::term)
            }
            _ => self.product(),
        }
    }

    /// The minus sign that comes next and what `inner` reads behind it.
    fn negated(&mut self, inner: impl FnOnce(&mut Self) -> Node) -> Node {
        let sign = self.here();
        self.advance();
        let node = self.nested(inner);
        Node {
            span: sign.to(node.span),
            kind: Kind::Negated(Box::new(node)),
        }
    }

    /// A factor, with a sign if it has one: `2*-x`.
    fn signed_factor(&mut self) -> Node {
        match self.peek() {
            Some(TokenKind::Minus) => self.negated(Self::signed_factor),
            Some(TokenKind::Plus) => {
                self.advance();
                self.nested(Self::signed_factor)
            }
            _ => self.factor(),
        }
    }

    /// `a ^ b`, right to left.
    fn factor(&mut self) -> Node {
        let base = self.primary(true);
        self.stray_primes();
        if let Some(TokenKind::Caret { .. }) = self.peek() {
            let power = self.power_of(base);
            self.stray_primes();
            return power;
        }
        base
    }

    fn power_of(&mut self, base: Node) -> Node {
        self.tell_of_leibniz_power(&base);
        self.advance();
        let exponent = self.nested(Self::exponent);
        self.tell_of_tower(&base, &exponent);
        Node {
            span: base.span.to(exponent.span),
            kind: Kind::Power(Box::new(base), Box::new(exponent)),
        }
    }

    /// An exponent: a sign, one operand and further powers. Brackets behind a name are not its
    /// argument here: `e^x(1+x)` is `e^x` times `1+x`.
    fn exponent(&mut self) -> Node {
        match self.peek() {
            Some(TokenKind::Minus) => self.negated(Self::exponent),
            Some(TokenKind::Plus) => {
                self.advance();
                self.nested(Self::exponent)
            }
            _ => {
                let base = self.primary(false);
                match self.peek() {
                    Some(TokenKind::Caret { .. }) => self.power_of(base),
                    _ => base,
                }
            }
        }
    }

    /// `dy/dx^n`: what is raised?
    fn tell_of_leibniz_power(&mut self, base: &Node) {
        if !is_bare_leibniz(&base.kind) {
            return;
        }
        let derivative = self.slice(base.span);
        let message =
            format!("To raise a derivative to a power, put it in brackets: ({derivative}).");
        let mut diagnostic = self.error("leibniz-power", base.span, message);
        let label = format!("write ({derivative})");
        diagnostic.suggestions = vec![self.with_brackets(label, &[base.span])];
        self.tell(diagnostic);
    }

    /// `x^y^z` is read from the right; the reader should know, except for `e^x^2`, where nothing
    /// else is ever meant.
    fn tell_of_tower(&mut self, base: &Node, exponent: &Node) {
        let Kind::Power(middle, above) = &exponent.kind else {
            return;
        };
        if matches!(&base.kind, Kind::Name(name) if name == "e") {
            return;
        }
        let span = base.span.to(exponent.span);
        // Of a higher tower the whole is told of, once.
        let mut raised = vec![exponent.span];
        let mut top = above;
        while let Kind::Power(_, next) = &top.kind {
            raised.push(top.span);
            top = next;
        }
        self.diagnostics.retain(|d| {
            d.code != "stacked-powers" || d.span.start < span.start || d.span.end > span.end
        });
        let (base_text, exponent_text) = (self.slice(base.span), self.slice(exponent.span));
        let message =
            format!("Powers of powers are read from the right: {base_text}^({exponent_text}).");
        let mut notice = self.notice("stacked-powers", span, message);
        let label = if raised.len() > 1 {
            "write the brackets".to_owned()
        } else {
            format!("write {base_text}^({exponent_text})")
        };
        notice.suggestions = vec![
            self.with_brackets(label, &raised),
            self.with_brackets(
                format!("write ({})^…", self.slice(base.span.to(middle.span))),
                &[base.span.to(middle.span)],
            ),
        ];
        self.tell(notice);
    }

    /// Primes behind something that is not a name.
    fn stray_primes(&mut self) {
        let Some(TokenKind::Prime(_) | TokenKind::RaisedOrder(_)) = self.peek() else {
            return;
        };
        let mut span = self.here();
        while let Some(TokenKind::Prime(_) | TokenKind::RaisedOrder(_)) = self.peek() {
            span = span.to(self.here());
            self.advance();
        }
        let message = "A prime stands right behind the name of the unknown, as in y''. \
                       Write the derivative of anything else out.";
        let diagnostic = self.error("stray-prime", span, message);
        self.tell(diagnostic.suggest("remove the prime", span, ""));
    }

    /// An operand. `may_apply`: brackets right behind a name may be its argument.
    fn primary(&mut self, may_apply: bool) -> Node {
        self.open_call = None;
        let span = self.here();
        let Some(kind) = self.peek() else {
            return self.missing_operand();
        };
        match kind {
            TokenKind::Number(value) => {
                self.advance();
                Node {
                    span,
                    kind: Kind::Number(value.clone()),
                }
            }
            TokenKind::Name(name) => self.name(name, may_apply),
            TokenKind::Leibniz {
                of,
                variable,
                order,
            } => {
                self.advance();
                let of = of.clone();
                self.derivative(span, of, Some(variable.clone()), *order, may_apply)
            }
            TokenKind::Function(function) => self.call(function),
            TokenKind::Root(function) => self.root(function),
            TokenKind::Fraction => self.fraction(),
            TokenKind::Logarithm(base) => self.logarithm(base),
            TokenKind::Open { .. } => self.group(),
            TokenKind::Bar => self.bars(),
            TokenKind::Bad => {
                self.advance();
                Node {
                    span,
                    kind: Kind::Missing,
                }
            }
            TokenKind::Prime(_) | TokenKind::RaisedOrder(_) => {
                let missing = self.missing_here();
                self.stray_primes();
                missing
            }
            TokenKind::Caret { .. }
            | TokenKind::Plus
            | TokenKind::Minus
            | TokenKind::Times
            | TokenKind::Divide
            | TokenKind::Close
            | TokenKind::Equals
            | TokenKind::Separator(_) => self.missing_operand(),
        }
    }

    /// Nothing stands where an operand should; consumes nothing.
    fn missing_operand(&mut self) -> Node {
        let missing = self.missing_here();
        if self.stopped {
            return missing;
        }
        let behind = self
            .at
            .checked_sub(1)
            .and_then(|place| self.tokens.get(place));
        let behind = behind.filter(|t| {
            !matches!(
                t.kind,
                TokenKind::Separator(_) | TokenKind::Equals | TokenKind::Bar
            )
        });
        let (span, message) = match behind {
            Some(operator) => {
                let sign = self.slice(operator.span);
                (
                    operator.span,
                    format!("Something is missing behind “{sign}”."),
                )
            }
            None if self.at_end() => (missing.span, "Something is missing here.".to_string()),
            None => {
                let sign = self.slice(self.here());
                (
                    self.here(),
                    format!("Something is missing in front of “{}”.", sign.trim()),
                )
            }
        };
        let diagnostic = self.error("missing-operand", span, message);
        self.tell(diagnostic);
        missing
    }
}

/// `dy/dx`, or a root of it.
pub(super) fn is_bare_leibniz(kind: &Kind) -> bool {
    match kind {
        Kind::Derivative {
            variable: Some(_),
            argument: None,
            ..
        } => true,
        Kind::Call { argument, .. } => is_bare_leibniz(&argument.kind),
        _ => false,
    }
}
