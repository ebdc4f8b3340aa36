//! Functions and their arguments.
//!
//! The one rule for an argument without brackets: it goes on over factors written side by side,
//! until a sign (`+ − · /`), another function, a derivative or the end. So `sin 2x` is the sine of
//! 2x, `sin x cos x` is a product, `cos x y'` is y′ times cos x, `sin x/2` is half of sin x. Roots and absolute values count as
//! factors. An argument in brackets or bars ends with them.

use super::Parser;
use crate::span::Span;
use crate::syntax::functions::{self, RECIPROCALS, Spelling};
use crate::syntax::token::TokenKind;
use crate::syntax::{Kind, Node, differential_name};
use num_traits::One;

/// A function whose argument was written without brackets.
#[derive(Clone, Copy, Debug)]
pub(super) struct OpenCall {
    /// Where the argument stands.
    pub(super) argument: Span,
}

impl Parser<'_> {
    /// A function's name and its argument; functions of 1/u are written as what they are.
    pub(super) fn call(&mut self, function: &'static Spelling) -> Node {
        let name = self.here();
        let node = self.plain_call(function);
        let reciprocal = RECIPROCALS.iter().find(|(own, _)| own == function);
        let (
            Some((own, inner)),
            Kind::Call {
                power, argument, ..
            },
        ) = (reciprocal, &node.kind)
        else {
            return node;
        };
        let span = node.span;
        let message = format!("{} u is read as {inner}(1/u).", own.canonical);
        let notice = self.notice("reciprocal-argument", name, message);
        self.tell(notice);
        let one = Node {
            span: Span::new(argument.span.start, argument.span.start),
            kind: Kind::Number(One::one()),
        };
        let quotient = Node {
            span: argument.span,
            kind: Kind::Quotient(Box::new(one), argument.clone()),
        };
        let bracketed = Node {
            span: argument.span,
            kind: Kind::Bracketed(Box::new(quotient)),
        };
        Node {
            span,
            kind: Kind::Call {
                function: inner,
                power: power.clone(),
                argument: Box::new(bracketed),
            },
        }
    }

    /// `log_2 x` is ln x / ln 2.
    pub(super) fn logarithm(&mut self, base: &Kind) -> Node {
        let name = self.here();
        let Some(ln) = functions::find("ln") else {
            return self.missing_here();
        };
        let base = Node {
            span: name,
            kind: base.clone(),
        };
        let argument_of = |node: &Node| match &node.kind {
            Kind::Call { argument, .. } => (**argument).clone(),
            _ => node.clone(),
        };
        let node = self.plain_call(ln);
        let span = node.span;
        let shown = match &base.kind {
            Kind::Number(value) => value.to_string(),
            Kind::Name(name) => name.clone(),
            _ => String::new(),
        };
        let power = match &node.kind {
            // `log_2^-1 x`
            Kind::Call {
                function: "exp", ..
            } => {
                let kind = Kind::Power(Box::new(base), Box::new(argument_of(&node)));
                return Node { span, kind };
            }
            Kind::Call { power, .. } => power.clone(),
            _ => None,
        };
        let message = format!("The logarithm to base {shown} is worked out as ln u/ln {shown}.");
        let mut notice = self.notice("logarithm-base", name, message);
        let typed = self.slice(name);
        if let ("lg" | "lb", Some(second)) = (typed, typed.get(1..)) {
            // Two letters, perhaps.
            notice = notice.suggest(format!("write l {second}"), name, format!("l {second} "));
        }
        self.tell(notice);
        let above = finished(name, "ln", None, argument_of(&node));
        let below = Node {
            span: name,
            kind: Kind::Call {
                function: "ln",
                power: None,
                argument: Box::new(base),
            },
        };
        let quotient = Node {
            span,
            kind: Kind::Quotient(Box::new(above), Box::new(below)),
        };
        match power {
            None => quotient,
            Some(power) => {
                let bracketed = Node {
                    span,
                    kind: Kind::Bracketed(Box::new(quotient)),
                };
                Node {
                    span,
                    kind: Kind::Power(Box::new(bracketed), power),
                }
            }
        }
    }

    fn plain_call(&mut self, function: &'static Spelling) -> Node {
        let name = self.here();
        self.advance();
        self.stray_primes();
        let (function, power) = self.function_power(function, name);
        match self.peek() {
            Some(TokenKind::Open { .. }) => {
                let argument = self.group();
                self.open_call = None;
                finished(name, function, power, argument)
            }
            Some(TokenKind::Bar) => {
                let bars = self.nested(Self::bars);
                self.open_call = None;
                // `abs |x|` is kept as abs(|x|): bars in bars are hard to tell apart.
                let argument = match function {
                    "abs" if power.is_none() => Node {
                        span: bars.span,
                        kind: Kind::Bracketed(Box::new(bars)),
                    },
                    _ => bars,
                };
                finished(name, function, power, argument)
            }
            Some(TokenKind::Minus) => {
                let argument = self.negated(Self::bare_argument);
                self.open_call = Some(OpenCall {
                    argument: argument.span,
                });
                finished(name, function, power, argument)
            }
            _ if self.factor_follows() => {
                let argument = self.nested(Self::bare_argument);
                self.open_call = Some(OpenCall {
                    argument: argument.span,
                });
                finished(name, function, power, argument)
            }
            _ => {
                let missing = self.missing_here();
                if !self.stopped {
                    let message = format!("{function} needs an argument, as in {function}(x).");
                    let diagnostic = self.error("missing-argument", name, message);
                    self.tell(diagnostic);
                }
                finished(name, function, power, missing)
            }
        }
    }

    /// `^2` in `sin^2 x`. The power −1 is the inverse function.
    fn function_power(
        &mut self,
        function: &'static Spelling,
        name: Span,
    ) -> (&'static str, Option<Box<Node>>) {
        let Some(TokenKind::Caret { .. }) = self.peek() else {
            return (function.canonical, None);
        };
        self.advance();
        let exponent = self.nested(Self::function_exponent);
        if !is_minus_one(&exponent) {
            return (function.canonical, Some(Box::new(exponent)));
        }
        let written = name.to(exponent.span);
        let text = self.slice(written);
        if let Some(inverse) = function.inverse {
            let message = format!("{text} is read as the inverse function {inverse}.");
            let notice = self.notice("inverse-function", written, message).suggest(
                format!("write {inverse}"),
                written,
                format!("{inverse} "),
            );
            self.tell(notice);
            return (inverse, None);
        }
        let canonical = function.canonical;
        let message = format!(
            "{text} could be the inverse function or 1/{canonical}. Write which one is meant."
        );
        let mut diagnostic = self.error("inverse-function", written, message).suggest(
            format!("write 1/{canonical}"),
            written,
            format!("1/{canonical} "),
        );
        let inverse = RECIPROCALS
            .iter()
            .find(|(own, _)| own.inverse == Some(canonical));
        if let Some((own, _)) = inverse {
            let own = own.canonical;
            diagnostic = diagnostic.suggest(format!("write {own}"), written, format!("{own} "));
        }
        self.tell(diagnostic);
        (canonical, Some(Box::new(exponent)))
    }

    fn function_exponent(&mut self) -> Node {
        match self.peek() {
            Some(TokenKind::Minus) => self.negated(Self::function_exponent),
            Some(TokenKind::Function(_) | TokenKind::Logarithm(_) | TokenKind::Root(_)) => {
                let exponent = self.primary(false);
                let message = "Put brackets around what is in the exponent of a function, so that \
                               its argument can be told apart.";
                let mut diagnostic = self.error("function-exponent", exponent.span, message);
                let label = "put brackets around it".to_string();
                diagnostic.suggestions = vec![self.with_brackets(label, &[exponent.span])];
                self.tell(diagnostic);
                exponent
            }
            _ => self.primary(false),
        }
    }

    /// A name with primes, or Leibniz's notation. A superscript in brackets is not enough: it may
    /// be a power.
    fn derivative_follows(&self) -> bool {
        let kind = |ahead: usize| self.tokens.get(self.at + ahead).map(|t| &t.kind);
        match kind(0) {
            Some(TokenKind::Leibniz { .. }) => true,
            Some(TokenKind::Name(_)) => matches!(kind(1), Some(TokenKind::Prime(_))),
            _ => false,
        }
    }

    /// Factors side by side, up to a sign, another function or a derivative.
    fn bare_argument(&mut self) -> Node {
        let first = self.factor();
        if matches!(first.kind, Kind::Bracketed(_)) || is_bars(&first) {
            return first;
        }
        let start = first.span;
        let mut apart = None;
        let mut behind_number = matches!(first.kind, Kind::Number(_));
        let mut argument = first;
        loop {
            let stops = self.peek().is_some_and(super::product::ends_an_argument);
            let stops = stops || self.derivative_follows() || self.differential_follows();
            if stops || !self.factor_follows() || !self.one_more_factor() {
                break;
            }
            let number = matches!(self.peek(), Some(TokenKind::Number(_)));
            let bracket = matches!(self.peek(), Some(TokenKind::Open { .. }));
            if !behind_number && apart.is_none() && (self.spaced() || bracket) {
                apart = Some(argument.span);
            }
            behind_number = false;
            let next = self.factor();
            if number {
                self.tell_of_two_numbers(&argument, next.span);
            }
            argument = Self::juxtaposed(argument, next);
        }
        if let Some(before) = apart {
            self.tell_of_argument(start.to(before), argument.span);
        }
        argument
    }

    /// `sin x dx`: a differential is one token only where differentials are read.
    fn differential_follows(&self) -> bool {
        matches!(self.peek(), Some(TokenKind::Name(name)) if differential_name(name).is_some())
    }

    /// `sin x (1+x)`: where does the argument end?
    fn tell_of_argument(&mut self, short: Span, long: Span) {
        let text = self.slice(long);
        let message = format!("The argument of the function is read as ({text}).");
        let mut notice = self.notice("function-argument", long, message);
        notice.suggestions = vec![
            self.with_brackets(format!("write ({text})"), &[long]),
            self.with_brackets(format!("write ({}) only", self.slice(short)), &[short]),
        ];
        self.tell(notice);
    }

    /// `√x`: covers the one operand that follows.
    pub(super) fn root(&mut self, function: &'static str) -> Node {
        let sign = self.here();
        self.advance();
        // A bar opens here: an operand must come.
        let missing = !self.factor_follows() && self.peek() != Some(&TokenKind::Bar);
        if missing {
            let message = "Something is missing under the root.";
            let diagnostic = self.error("missing-operand", sign, message);
            if !self.stopped {
                self.tell(diagnostic);
            }
            return finished(sign, function, None, self.missing_here());
        }
        let argument = self.nested(|p| p.primary(true));
        let bracketed = matches!(argument.kind, Kind::Bracketed(_));
        let power = matches!(self.peek(), Some(TokenKind::Caret { .. }));
        if !bracketed && (power || (self.factor_follows() && !self.spaced())) {
            let text = self.slice(argument.span);
            let sign_text = self.slice(sign);
            let message =
                format!("The root is read as covering {text} only. Brackets say what it covers.");
            let mut notice = self.notice("root-extent", sign.to(argument.span), message);
            let label = format!("write {sign_text}({text})");
            notice.suggestions = vec![self.with_brackets(label, &[argument.span])];
            self.tell(notice);
        }
        finished(sign, function, None, argument)
    }
}

fn finished(name: Span, function: &'static str, power: Option<Box<Node>>, argument: Node) -> Node {
    let end = power.as_ref().map_or(name, |p| p.span);
    Node {
        span: name.to(end).to(argument.span),
        kind: Kind::Call {
            function,
            power,
            argument: Box::new(argument),
        },
    }
}

/// `|x|`, or `abs` with an argument that has ended.
fn is_bars(node: &Node) -> bool {
    matches!(
        &node.kind,
        Kind::Call { function: "abs", power: None, argument } if !matches!(argument.kind, Kind::Bracketed(_))
    )
}

fn is_minus_one(exponent: &Node) -> bool {
    match &exponent.kind {
        Kind::Bracketed(inner) => is_minus_one(inner),
        Kind::Negated(inner) => matches!(&inner.kind, Kind::Number(n) if n.is_one()),
        _ => false,
    }
}
