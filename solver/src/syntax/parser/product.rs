//! Products and quotients, from left to right, and the notices on how they were read.

use super::call::OpenCall;
use super::{FACTORS, Parser};
use crate::span::Span;
use crate::syntax::token::TokenKind;
use crate::syntax::{Kind, Multiplication, Node};
use num_traits::One;

/// What stands left of the place where the next factor is read.
struct Left {
    node: Node,
    /// The last factor alone.
    last: Span,
    /// The last factor is the divisor of a quotient: is it bracketed?
    divisor: Option<bool>,
    /// The last factor is `e^…` or `2^…` with a bare exponent: where that stands.
    bare_exponent: Option<Span>,
    open_call: Option<OpenCall>,
}

impl Parser<'_> {
    /// Factors joined by `*`, `/` or nothing.
    pub(super) fn product(&mut self) -> Node {
        let first = self.factor();
        let mut left = self.after_factor(first.span, &first, false);
        left.node = first;
        loop {
            let sign = match self.peek() {
                Some(TokenKind::Times) => Some(true),
                Some(TokenKind::Divide) => Some(false),
                _ if self.factor_follows() => None,
                _ => return left.node,
            };
            if !self.one_more_factor() {
                return left.node;
            }
            left = match sign {
                Some(true) => {
                    self.advance();
                    let right = self.signed_factor();
                    let mut next = self.after_factor(right.span, &right, false);
                    next.node = Node {
                        span: left.node.span.to(right.span),
                        kind: Kind::Product(
                            Box::new(left.node),
                            Multiplication::Sign,
                            Box::new(right),
                        ),
                    };
                    next
                }
                Some(false) => self.quotient(left),
                None => self.side_by_side(left),
            };
        }
    }

    /// Counts a factor; false when the product has too many.
    pub(super) fn one_more_factor(&mut self) -> bool {
        self.chain += 1;
        if self.chain > FACTORS {
            self.give_up(format!(
                "This product has more than {FACTORS} factors, which is beyond what can be read. \
                 Simplify it."
            ));
            return false;
        }
        true
    }

    /// An operand follows without a sign.
    pub(super) fn factor_follows(&self) -> bool {
        match self.peek() {
            Some(TokenKind::Bar) => !self.bar_closes(),
            Some(
                TokenKind::Number(_)
                | TokenKind::Name(_)
                | TokenKind::Function(_)
                | TokenKind::Root(_)
                | TokenKind::Fraction
                | TokenKind::Logarithm(_)
                | TokenKind::Leibniz { .. }
                | TokenKind::Open { .. }
                | TokenKind::Bad,
            ) => true,
            _ => false,
        }
    }

    /// `node` is a placeholder until the caller sets it.
    fn after_factor(&mut self, last: Span, factor: &Node, division: bool) -> Left {
        let bare_exponent = match &factor.kind {
            Kind::Power(base, exponent) if is_exponential(base) => match exponent.kind {
                Kind::Bracketed(_) => None,
                _ if self.slice(base.span.to(exponent.span)).contains('^') => Some(exponent.span),
                _ => None,
            },
            _ => None,
        };
        let bracketed = matches!(factor.kind, Kind::Bracketed(_) | Kind::Call { .. });
        Left {
            node: self.missing_here(),
            last,
            divisor: division.then_some(bracketed),
            bare_exponent,
            open_call: self.open_call.take(),
        }
    }

    fn quotient(&mut self, left: Left) -> Left {
        let tight = !self.spaced();
        self.advance();
        let tight = tight && !self.spaced();
        let right = self.signed_factor();
        if let Some(call) = left.open_call {
            self.tell_of_quotient_behind_call(call, left.last, right.span);
        } else if tight {
            self.tell_of_first_power(&left.node, &right);
        }
        let mut next = self.after_factor(right.span, &right, true);
        next.node = Node {
            span: left.node.span.to(right.span),
            kind: Kind::Quotient(Box::new(left.node), Box::new(right)),
        };
        next
    }

    fn side_by_side(&mut self, left: Left) -> Left {
        let spaced = self.spaced();
        let kind = self.peek();
        let number = matches!(kind, Some(TokenKind::Number(_)));
        let function = kind.is_some_and(ends_an_argument);
        let named = matches!(
            kind,
            Some(TokenKind::Name(_) | TokenKind::Function(_) | TokenKind::Leibniz { .. })
        );
        let right = self.factor();
        if number {
            self.tell_of_two_numbers(&left.node, right.span);
        }
        if let Some(bracketed) = left.divisor
            && (!spaced || !bracketed)
            && !(spaced && ends_in_number(&left.node))
        {
            self.tell_of_quotient(&left, right.span);
        } else if let Some(exponent) = left.bare_exponent
            && named
            && !spaced
        {
            self.tell_of_exponent(left.last, exponent, right.span);
        } else if let Some(call) = left.open_call
            && function
        {
            self.tell_of_product_of_calls(call, left.last, right.span);
        }
        let mut next = self.after_factor(right.span, &right, false);
        next.node = Self::juxtaposed(left.node, right);
        next
    }

    /// `2 3`: a sign was forgotten, or thousands were set apart.
    pub(super) fn tell_of_two_numbers(&mut self, left: &Node, right: Span) {
        let last = match &left.kind {
            Kind::Product(_, _, last) | Kind::Quotient(_, last) => last,
            _ => left,
        };
        if !matches!(last.kind, Kind::Number(_)) {
            return;
        }
        let gap = Span::new(last.span.end, right.start);
        let message = "Two numbers stand side by side. Write the sign that joins them.";
        let mut diagnostic = self.error("two-numbers", last.span.to(right), message);
        if gap.start < gap.end {
            diagnostic =
                diagnostic
                    .suggest("multiply them", gap, "*")
                    .suggest("write one number", gap, "");
        }
        self.tell(diagnostic);
    }

    /// `1/2x`.
    fn tell_of_quotient(&mut self, left: &Left, right: Span) {
        let whole = left.node.span.to(right);
        let quotient = self.slice(left.node.span);
        let behind = self.slice(right);
        let under = self.slice(left.last.to(right));
        let message = format!("“{}” is read as ({quotient})·{behind}.", self.slice(whole));
        let mut notice = self.notice("quotient-product", whole, message);
        let over = self.slice(Span::new(left.node.span.start, left.last.start));
        notice.suggestions = vec![
            self.with_brackets(format!("write ({quotient}){behind}"), &[left.node.span]),
            self.with_brackets(format!("write {over}({under})"), &[left.last.to(right)]),
        ];
        self.tell(notice);
    }

    /// `e^2x`.
    fn tell_of_exponent(&mut self, power: Span, exponent: Span, right: Span) {
        let whole = power.to(right);
        let (power_text, right_text) = (self.slice(power), self.slice(right));
        let message = format!(
            "“{}” is read as {power_text}·{right_text}.",
            self.slice(whole)
        );
        let base = self.slice(Span::new(power.start, exponent.start));
        let raised = exponent.to(right);
        let mut notice = self.notice("power-product", whole, message);
        notice.suggestions = vec![
            self.with_brackets(format!("write {base}({})", self.slice(raised)), &[raised]),
            self.with_brackets(format!("write ({power_text}){right_text}"), &[power]),
        ];
        self.tell(notice);
    }

    /// `x^1/2`: a first power is written by nobody; a root was meant.
    fn tell_of_first_power(&mut self, left: &Node, right: &Node) {
        let last = match &left.kind {
            Kind::Product(_, _, last) => last,
            _ => left,
        };
        let (Kind::Power(base, exponent), Kind::Number(_)) = (&last.kind, &right.kind) else {
            return;
        };
        if !matches!(&exponent.kind, Kind::Number(n) if n.is_one()) {
            return;
        }
        let whole = last.span.to(right.span);
        let raised = exponent.span.to(right.span);
        let (base_text, raised_text) = (self.slice(base.span), self.slice(raised));
        let message = format!(
            "“{}” is read as ({})/{}. For a root write {base_text}^({raised_text}).",
            self.slice(whole),
            self.slice(last.span),
            self.slice(right.span)
        );
        let mut notice = self.notice("power-quotient", whole, message);
        notice.suggestions = vec![
            self.with_brackets(format!("write {base_text}^({raised_text})"), &[raised]),
            self.with_brackets(format!("write ({})/…", self.slice(last.span)), &[last.span]),
        ];
        self.tell(notice);
    }

    /// `sin x/2`.
    fn tell_of_quotient_behind_call(&mut self, call: OpenCall, function: Span, right: Span) {
        let whole = function.to(right);
        let argument = call.argument.to(right);
        let (function_text, divisor) = (self.slice(function), self.slice(right));
        let message = format!(
            "“{}” is read as ({function_text})/{divisor}.",
            self.slice(whole)
        );
        let name = self
            .slice(Span::new(function.start, call.argument.start))
            .trim_end();
        let mut notice = self.notice("function-quotient", whole, message);
        notice.suggestions = vec![
            self.with_brackets(format!("write ({function_text})/{divisor}"), &[function]),
            self.with_brackets(
                format!("write {name}({})", self.slice(argument)),
                &[argument],
            ),
        ];
        self.tell(notice);
    }

    /// `sin x cos x`.
    fn tell_of_product_of_calls(&mut self, call: OpenCall, first: Span, second: Span) {
        let whole = first.to(second);
        let argument = call.argument.to(second);
        let (first_text, second_text) = (self.slice(first), self.slice(second));
        let message = format!(
            "“{}” is read as ({first_text})({second_text}).",
            self.slice(whole)
        );
        let name = self
            .slice(Span::new(first.start, call.argument.start))
            .trim_end();
        let mut notice = self.notice("function-product", whole, message);
        notice.suggestions = vec![
            self.with_brackets(
                format!("write ({first_text})({second_text})"),
                &[first, second],
            ),
            self.with_brackets(
                format!("write {name}({})", self.slice(argument)),
                &[argument],
            ),
        ];
        self.tell(notice);
    }
}

/// A function that is no factor: another function's bare argument ends in front of it.
pub(super) fn ends_an_argument(kind: &TokenKind) -> bool {
    match kind {
        TokenKind::Function(function) => !function.factor,
        TokenKind::Logarithm(_) => true,
        _ => false,
    }
}

fn is_exponential(base: &Node) -> bool {
    match &base.kind {
        Kind::Number(_) => true,
        Kind::Name(name) => name == "e",
        _ => false,
    }
}

fn ends_in_number(node: &Node) -> bool {
    matches!(&node.kind, Kind::Quotient(_, divisor) if matches!(divisor.kind, Kind::Number(_)))
}
