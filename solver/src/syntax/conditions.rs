//! Initial conditions: `y(0)=2, y'(0)=1`, also `y(0) = y'(0) = 0`.

use super::differentiated::{Mode, is_constant};
use super::parser::Parser;
use super::reading::Reader;
use super::relation::{side, skip_separators, tell_of_emptiness};
use super::token::TokenKind;
use super::{Condition, Kind, Multiplication, Node, Place};
use crate::budget::Budget;
use crate::diagnostic::Diagnostic;
use crate::span::{Field, Span};

/// Reads initial conditions, separated by commas, semicolons, newlines or “and”.
pub fn parse_conditions(text: &str, budget: &Budget) -> (Vec<Condition>, Vec<Diagnostic>) {
    let reader = Reader {
        field: Field::Conditions,
        mode: Mode::Conditions,
        budget,
    };
    let (conditions, diagnostics) = reader.read(text, conditions);
    (conditions.unwrap_or_default(), diagnostics)
}

fn conditions(parser: &mut Parser<'_>) -> Vec<Condition> {
    let mut list = List::default();
    let mut empty = true;
    loop {
        let end = parser.previous().map_or(0, |span| span.end);
        let at = skip_separators(parser);
        if parser.at_end() {
            if at {
                list.point_missing(parser);
            }
            break;
        }
        empty = false;
        if at {
            list.point(parser, end);
        } else {
            list.chain(parser);
        }
    }
    if empty && !list.told {
        tell_of_emptiness(
            parser,
            "Type the initial conditions, for example y(0) = 2, y'(0) = 1.",
        );
    }
    list.finished(parser)
}

/// A value whose point stands elsewhere: `y = 2` in `y = 2 at x = 1`.
struct Bare {
    span: Span,
    target: Node,
    value: Node,
    near: bool,
}

/// The conditions read so far.
#[derive(Default)]
struct List {
    /// In reading order; those that wait for their point hold their place.
    read: Vec<Result<Condition, Box<Bare>>>,
    /// The last point that words have given: it holds for what follows without a point.
    point: Option<Place>,
    /// A mistake has been told that explains missing points.
    told: bool,
}

impl List {
    /// Sides joined by equals signs: values of unknowns, and one number.
    fn chain(&mut self, parser: &mut Parser<'_>) {
        let start = parser.here();
        let errors_before = parser.diagnostics.len();
        let mut sides = vec![side(parser)];
        let mut signs = Vec::new();
        while parser.peek() == Some(&TokenKind::Equals) {
            signs.push(parser.here());
            parser.advance();
            sides.push(side(parser));
        }
        let span = start.to(parser.previous().unwrap_or(start));
        let clean = parser.diagnostics.len() == errors_before;
        let near = signs.iter().any(|sign| is_about(parser.slice(*sign)));
        if signs.len() == sides.len() - 1
            && sides.iter().any(is_bare)
            && !sides.iter().any(is_target)
        {
            let (targets, values): (Vec<Node>, Vec<Node>) =
                sides.iter().cloned().partition(is_bare);
            if let [value] = values.as_slice()
                && value.kind != Kind::Missing
            {
                self.read.extend(targets.into_iter().map(|target| {
                    Err(Box::new(Bare {
                        span: target.span.to(value.span),
                        target,
                        value: value.clone(),
                        near,
                    }))
                }));
                return;
            }
        }
        let (targets, values): (Vec<Node>, Vec<Node>) = sides.into_iter().partition(is_target);
        match (targets.is_empty(), values.as_slice()) {
            (false, [value]) => {
                for target in targets {
                    let condition = condition(parser, target, value.clone(), near);
                    self.read.extend(condition.map(Ok));
                }
            }
            (false, []) => {
                let message =
                    "This condition has no value. Write it behind an equals sign: y(0) = 2.";
                let diagnostic = parser.error("condition-without-value", span, message);
                parser.tell(diagnostic);
            }
            (false, [first, ..]) => {
                let sign = signs.last().copied().unwrap_or(span);
                let message = "There is one equals sign too many. Separate conditions by commas.";
                let mut diagnostic = parser.error("doubled-equals", sign, message);
                if let Some(place) = forgotten_comma(first) {
                    diagnostic = diagnostic.suggest("put a comma between them", place, ", ");
                }
                parser.tell(diagnostic);
            }
            (
                true,
                [
                    ..,
                    Node {
                        kind: Kind::Missing,
                        ..
                    },
                ],
            ) if !clean => {}
            (true, _) => {
                let message = "This is not an initial condition. Write the value of the unknown, or of \
                               a derivative, at a point: y(0) = 2, y'(0) = 1.";
                let diagnostic = parser.error("not-a-condition", span, message);
                parser.tell(diagnostic);
            }
        }
    }

    /// Behind “at”, “when”, “for”: `x = 1`, or the place alone. What stands before them ends at `end`.
    fn point(&mut self, parser: &mut Parser<'_>, end: usize) {
        let first = side(parser);
        let (variable, point) = if parser.peek() == Some(&TokenKind::Equals) {
            parser.advance();
            (Some(first), side(parser))
        } else {
            (None, first)
        };
        if variable.is_none() && is_bare(&point) {
            return self.point_missing(parser);
        }
        let span = Span::new(end, point.span.end);
        let place = Place {
            variable,
            point,
            span,
        };
        let letter = place.variable.as_ref();
        if letter.is_some_and(|v| !matches!(v.kind, Kind::Name(_))) {
            let span = letter.map_or(place.point.span, |v| v.span);
            let message = "Behind “at” stands the point, for example x = 1.";
            let diagnostic = parser.error("not-a-condition", span, message);
            parser.tell(diagnostic);
            self.told = true;
            return;
        }
        self.give(&place);
        self.point = Some(place);
    }

    /// Gives all that wait their point. Where nothing ever waited it says once more where the
    /// conditions stand.
    fn give(&mut self, place: &Place) {
        let mut waited = false;
        for entry in &mut self.read {
            if let Err(bare) = entry
                && let Some(condition) = bare.at(place)
            {
                *entry = Ok(condition);
            }
            waited |= match entry {
                Ok(condition) => condition.variable.is_some() || condition.again.is_some(),
                Err(_) => true,
            };
        }
        if !waited && let Some(Ok(last)) = self.read.last_mut() {
            last.again = Some(place.clone());
        }
    }

    fn point_missing(&mut self, parser: &mut Parser<'_>) {
        let span = parser.previous().unwrap_or_else(|| parser.here());
        let message = "The point is missing. Write for example: at x = 1.";
        let diagnostic = parser.error("condition-without-point", span, message);
        parser.tell(diagnostic);
        self.told = true;
    }

    fn finished(mut self, parser: &mut Parser<'_>) -> Vec<Condition> {
        if let Some(place) = self.point.clone() {
            self.give(&place);
        }
        if let Some(place) = self.pair() {
            self.as_pairs(parser, place);
        }
        let waiting = self.read.iter().find_map(|entry| entry.as_ref().err());
        if let Some(bare) = waiting.filter(|_| !self.told) {
            let target = parser.slice(bare.target.span);
            let message = format!(
                "The point is missing at which {target} has this value. Write {target}(0), or \
                 write at x = 0 behind it."
            );
            let end = Span::new(bare.target.span.end, bare.target.span.end);
            let diagnostic = parser.error("condition-without-point", bare.span, message);
            let label = format!("write {target}(0)");
            parser.tell(diagnostic.suggest(label, end, "(0)"));
        }
        self.read.into_iter().filter_map(Result::ok).collect()
    }

    /// In `x = 0, y = 1` without a word: where the variable stands.
    fn pair(&self) -> Option<usize> {
        let name = |entry: &Result<Condition, Box<Bare>>| match entry {
            Err(bare) => match &bare.target.kind {
                Kind::Name(name) => Some(name.clone()),
                _ => None,
            },
            Ok(_) => None,
        };
        let differentiated = |wanted: &str| {
            let entries = self.read.iter().filter_map(|entry| entry.as_ref().err());
            entries
                .map(|bare| &bare.target.kind)
                .any(|kind| matches!(kind, Kind::Derivative { of, .. } if of == wanted))
        };
        let about = |wanted: &str| {
            let mut complete = self.read.iter().filter_map(|entry| entry.as_ref().ok());
            complete.any(|own| own.unknown == wanted)
        };
        let others = self.read.len() > 1;
        VARIABLES.into_iter().find_map(|wanted| {
            let place = self
                .read
                .iter()
                .position(|entry| name(entry).as_deref().map(without_index) == Some(wanted))?;
            (others && !differentiated(wanted) && !about(wanted)).then_some(place)
        })
    }

    fn as_pairs(&mut self, parser: &mut Parser<'_>, place: usize) {
        let start = |entry: Option<&Result<Condition, Box<Bare>>>| match entry {
            Some(Ok(condition)) => Some(condition.span),
            Some(Err(bare)) => Some(bare.span),
            None => None,
        };
        let before = place.checked_sub(1).and_then(|at| start(self.read.get(at)));
        let behind = start(self.read.get(place + 1));
        let Err(bare) = self.read.remove(place) else {
            return;
        };
        let span = bare.span;
        let message = format!(
            "{} is read as the point at which the other values are given.",
            parser.slice(span)
        );
        let notice = Diagnostic::notice("point-guessed", Field::Conditions, span, message);
        let whole = match (before, behind) {
            (Some(before), _) => Span::new(before.end, span.end),
            (None, Some(behind)) => Span::new(span.start, behind.start),
            (None, None) => span,
        };
        let complete = self.read.iter().all(Result::is_ok);
        parser.tell(if complete {
            notice.suggest("leave it out", whole, "")
        } else {
            notice
        });
        self.give(&Place {
            variable: Some(bare.target).filter(|letter| match &letter.kind {
                Kind::Name(name) => without_index(name) == name,
                _ => false,
            }),
            point: bare.value,
            span: whole,
        });
    }
}

/// Letters that stand for the variable when none is marked as such: t before x, because x is then
/// the unknown (common practice).
const VARIABLES: [&str; 6] = ["t", "x", "s", "z", "tau", "theta"];

/// x₀ is a place on the axis of x.
fn without_index(name: &str) -> &str {
    name.strip_suffix("_0").unwrap_or(name)
}

impl Bare {
    fn at(&self, place: &Place) -> Option<Condition> {
        let (unknown, order) = match &self.target.kind {
            Kind::Name(name) => (name, 0),
            Kind::Derivative { of, order, .. } => (of, *order),
            _ => return None,
        };
        Some(Condition {
            span: self.span,
            unknown: unknown.clone(),
            unknown_span: self.target.span,
            order,
            point: place.point.clone(),
            variable: place.variable.clone(),
            again: None,
            value: self.value.clone(),
            near: self.near,
        })
    }
}

/// `y(…)` or `y'(…)`.
fn is_target(node: &Node) -> bool {
    match &node.kind {
        Kind::Applied { .. } => true,
        Kind::Derivative { argument, .. } => argument.is_some(),
        _ => false,
    }
}

/// `y` or `y'` without a point.
fn is_bare(node: &Node) -> bool {
    match &node.kind {
        Kind::Name(name) => !is_constant(name),
        Kind::Derivative { argument, .. } => argument.is_none(),
        _ => false,
    }
}

/// In `2 y'(0)`, the gap: the first condition's value and the next condition ran together.
fn forgotten_comma(value: &Node) -> Option<Span> {
    match &value.kind {
        Kind::Product(left, Multiplication::Juxtaposed, right) if is_target(right) => {
            Some(Span::new(left.span.end, right.span.start))
        }
        Kind::Negated(inner) => forgotten_comma(inner),
        _ => None,
    }
}

/// Is the sign between two sides “is about”?
fn is_about(sign: &str) -> bool {
    sign.starts_with('≈') || sign.starts_with("\\approx")
}

fn condition(parser: &Parser<'_>, target: Node, value: Node, near: bool) -> Option<Condition> {
    let span = target.span.to(value.span);
    let (unknown, order, argument) = match target.kind {
        Kind::Applied { name, argument, .. } => (name, 0, Some(argument)),
        Kind::Derivative {
            of,
            order,
            argument,
            ..
        } => (of, order, argument),
        _ => return None,
    };
    let point = *argument?;
    let before = Span::new(target.span.start, point.span.start.max(target.span.start));
    let bracket = |c: char| matches!(c, '(' | '[' | '{' | '（' | '［' | '｛');
    let written = parser.slice(before);
    // `y(x = 0)`
    let written = match written.rsplit_once(bracket) {
        Some((head, inside)) if inside.trim_end().ends_with('=') => head,
        _ => written,
    };
    // `y|_0`, `y\right|_{0}`
    let mark = |c: char| matches!(c, '|' | '_') || c.is_whitespace() || bracket(c);
    let written = written.trim_end_matches(mark).trim_end_matches("\\right");
    Some(Condition {
        span,
        unknown,
        variable: None,
        again: None,
        unknown_span: Span::new(before.start, before.start + written.len()),
        order,
        point,
        value,
        near,
    })
}
