//! Brackets and bars.

use super::{Group, Parser};
use crate::span::Span;
use crate::syntax::token::{Separator, TokenKind};
use crate::syntax::{Kind, Node};

impl Parser<'_> {
    /// `(…)`, `[…]` or `{…}`; each closes any other, since people mix them.
    pub(super) fn group(&mut self) -> Node {
        let (inner, span) = self.in_brackets();
        Node {
            span,
            kind: Kind::Bracketed(Box::new(inner)),
        }
    }

    /// `\frac{…}{…}`: the lexer has put brackets around both.
    pub(super) fn fraction(&mut self) -> Node {
        let sign = self.here();
        self.advance();
        let above = match self.peek() {
            Some(TokenKind::Open { .. }) => self.group(),
            _ => self.missing_operand(),
        };
        let below = match self.peek() {
            Some(TokenKind::Open { .. }) => self.group(),
            // Once is enough.
            _ if above.kind == Kind::Missing => self.missing_here(),
            _ => self.missing_operand(),
        };
        // The bar groups; nobody typed brackets.
        let part = |node: Node| match node.kind {
            Kind::Bracketed(inner) => inner,
            _ => Box::new(node),
        };
        Node {
            span: sign.to(above.span).to(below.span),
            kind: Kind::Quotient(part(above), part(below)),
        }
    }

    /// What stands in the brackets that open here, and the span of the whole.
    pub(super) fn in_brackets(&mut self) -> (Node, Span) {
        let open = self.here();
        self.advance();
        if self.peek() == Some(&TokenKind::Close) {
            let close = self.here();
            let missing = self.missing_here();
            let message = "There is nothing between these brackets.";
            let diagnostic = self.error("missing-operand", open.to(close), message);
            self.tell(diagnostic);
            self.advance();
            return (missing, open.to(close));
        }
        self.groups.push(Group::Round);
        let mut inner = self.nested(Self::sum);
        // `y(x = 0)` names the variable as well.
        if self.loose_arguments
            && matches!(inner.kind, Kind::Name(_))
            && self.peek() == Some(&TokenKind::Equals)
        {
            self.advance();
            inner = self.nested(Self::sum);
        }
        self.open_call = None;
        if self.peek() == Some(&TokenKind::Separator(Separator::Comma)) {
            self.comma_in_brackets();
        }
        self.groups.pop();
        let end = if self.peek() == Some(&TokenKind::Close) {
            let close = self.here();
            self.advance();
            close.end
        } else {
            self.unclosed(open, "bracket", ")");
            inner.span.end
        };
        (inner, open.to(Span::new(open.end, end.max(open.end))))
    }

    fn comma_in_brackets(&mut self) {
        let span = self.here();
        let message = "A comma has no meaning inside brackets: every function here has one \
                       argument, and what f(x, y) stands for is written out as a formula.";
        let diagnostic = self.error("comma-in-brackets", span, message);
        self.tell(diagnostic);
        let mut open = 0_usize;
        while let Some(kind) = self.peek() {
            match kind {
                TokenKind::Open { .. } => open += 1,
                TokenKind::Close if open == 0 => return,
                TokenKind::Close => open -= 1,
                TokenKind::Equals
                | TokenKind::Separator(Separator::Newline | Separator::Semicolon) => return,
                _ => {}
            }
            self.advance();
        }
    }

    fn unclosed(&mut self, open: Span, what: &str, close: &str) {
        if self.stopped {
            return;
        }
        let sign = self.slice(open);
        let message = format!("The {what} “{sign}” is opened but never closed.");
        let end = self.previous().map_or(open.end, |p| p.end);
        let diagnostic = self
            .error("unclosed-bracket", open, message)
            .suggest(format!("close it with {close}"), Span::new(end, end), close)
            .suggest(format!("remove {sign}"), open, "");
        self.tell(diagnostic);
    }

    /// `|…|`. A bar opens where an operand is expected and closes behind one.
    pub(super) fn bars(&mut self) -> Node {
        let open = self.here();
        self.advance();
        self.groups.push(Group::Bars);
        let inner = self.nested(Self::sum);
        self.open_call = None;
        self.groups.pop();
        let end = if self.peek() == Some(&TokenKind::Bar) {
            let close = self.here();
            self.advance();
            close.end
        } else {
            self.unclosed(open, "bar", "|");
            inner.span.end
        };
        Node {
            span: open.to(Span::new(open.end, end.max(open.end))),
            kind: Kind::Call {
                function: "abs",
                power: None,
                argument: Box::new(inner),
            },
        }
    }

    /// A bar here closes the bars that are open.
    pub(super) fn bar_closes(&self) -> bool {
        self.groups.last() == Some(&Group::Bars)
    }
}
