//! Names, their derivatives and arguments.

use super::Parser;
use crate::span::Span;
use crate::syntax::differentiated::{is_constant, raised_order};
use crate::syntax::token::TokenKind;
use crate::syntax::{Kind, Multiplication, Node};

impl Parser<'_> {
    /// A name with what belongs to it: primes, a raised order, an argument.
    pub(super) fn name(&mut self, name: &str, may_apply: bool) -> Node {
        let mut span = self.here();
        self.advance();
        if is_constant(name) {
            return Node {
                span,
                kind: Kind::Name(name.to_string()),
            };
        }
        let mut order = 0_u32;
        while let Some(TokenKind::Prime(primes)) = self.peek() {
            order = order.saturating_add(*primes);
            span = span.to(self.here());
            self.advance();
        }
        if order == 0 {
            order = self.raised(name, &mut span);
        }
        if order > 0 {
            return self.derivative(span, name.to_string(), None, order, may_apply);
        }
        let node = Node {
            span,
            kind: Kind::Name(name.to_string()),
        };
        if !may_apply || !self.argument_follows() {
            return node;
        }
        if self.differentiated.applicable(name) {
            let (argument, brackets) = self.in_brackets();
            return Node {
                span: span.to(brackets),
                kind: Kind::Applied {
                    name: name.to_string(),
                    name_span: span,
                    argument: Box::new(argument),
                },
            };
        }
        node
    }

    /// `^(4)`, `^{(4)}` or `⁽⁴⁾` behind `name`; 0 if there is none.
    fn raised(&mut self, name: &str, span: &mut Span) -> u32 {
        if let Some(TokenKind::RaisedOrder(order)) = self.peek() {
            *span = span.to(self.here());
            self.advance();
            return *order;
        }
        let Some((order, length, double)) = raised_order(self.rest()) else {
            return 0;
        };
        if !self.differentiated.by_superscript(name, double) {
            self.tell_of_power(name, *span, order, length);
            return 0;
        }
        self.at += length - 1;
        *span = span.to(self.here());
        self.advance();
        order
    }

    fn tell_of_power(&mut self, name: &str, span: Span, order: u32, length: usize) {
        let last = self.rest().get(length - 1).map_or(span, |t| t.span);
        if self.field != crate::span::Field::Equation {
            return;
        }
        let span = span.to(last);
        let message = format!(
            "{name}^({order}) is read as a power. For the derivative of order {order} write \
             {name}^{{({order})}}."
        );
        let notice = self.notice("superscript-power", span, message).suggest(
            format!("write {name}^{order}"),
            span,
            format!("{name}^{order}"),
        );
        self.tell(notice);
    }

    /// Brackets follow that may be an argument: right behind the name.
    fn argument_follows(&self) -> bool {
        matches!(self.peek(), Some(TokenKind::Open { .. }))
            && (self.loose_arguments || !self.spaced())
    }

    /// A derivative and its argument, if it has one.
    pub(super) fn derivative(
        &mut self,
        span: Span,
        of: String,
        variable: Option<String>,
        order: u32,
        may_apply: bool,
    ) -> Node {
        let mut span = span;
        let mut argument = None;
        if may_apply && self.argument_follows() {
            let (inner, brackets) = self.in_brackets();
            span = span.to(brackets);
            argument = Some(Box::new(inner));
        }
        Node {
            span,
            kind: Kind::Derivative {
                of,
                variable,
                order,
                argument,
            },
        }
    }

    /// `left right` without a sign.
    pub(super) fn juxtaposed(left: Node, right: Node) -> Node {
        Node {
            span: left.span.to(right.span),
            kind: Kind::Product(Box::new(left), Multiplication::Juxtaposed, Box::new(right)),
        }
    }
}
