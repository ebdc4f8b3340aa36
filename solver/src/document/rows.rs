//! One ledger row for each order.

use super::build::{self, Values};
use super::detail;
use super::formula::{DOT, Formula, MINUS};
use super::ledger::{LedgerRow, Line, Piece, Prose, Role};
use super::line::{chain, equals_behind, lead, value_piece};
use super::long::{count_terms, enclosure, in_place_of, in_the_margin, is_long};
use super::names::Names;
use super::reasons;
use super::several;
use super::steps;
use super::stops;
use super::strip;
use crate::budget::Budget;
use crate::check::{Agreement, Entry};
use crate::derivation::{Derivation, Row, RowKind, Side, StopReason, Term, TermValue, Trace};
use crate::expression::{Expr, Node, Symbol};
use crate::ordered::Map;
use crate::problem::{Problem, Route};

/// Terms may have so many nodes on average before a line is too long to be read.
const NODES_PER_TERM: usize = 40;

/// Builds the rows of all orders.
pub struct Orders<'a> {
    problem: &'a Problem,
    names: &'a Names,
    center: &'a Formula,
    table: &'a [Vec<Entry>],
    budget: &'a Budget,
    route: Route,
    /// Next free identifier for terms that the derivation does not know.
    next_id: usize,
    /// Terms that are not shown themselves, and the shown ones they stand for.
    shown_as: Map<usize, Vec<usize>>,
    /// For each unknown: has its equation been differentiated before?
    differentiated: Vec<bool>,
    /// The values found so far, for each unknown.
    values: Vec<Vec<Expr>>,
    stopped: bool,
    /// Lines of the equation so far.
    lines: usize,
}

impl<'a> Orders<'a> {
    /// A builder for the rows of `derivation`.
    pub fn new(
        problem: &'a Problem,
        names: &'a Names,
        center: &'a Formula,
        table: &'a [Vec<Entry>],
        derivation: &Derivation,
        budget: &'a Budget,
    ) -> Self {
        let largest = derivation
            .rows
            .iter()
            .filter_map(|row| match &row.kind {
                RowKind::Worked { left, right, .. }
                | RowKind::Chosen { left, right, .. }
                | RowKind::Holds { left, right }
                | RowKind::Stopped { left, right, .. } => Some([left, right]),
                RowKind::Initial | RowKind::SeriesOnly => None,
            })
            .flatten()
            .flat_map(|side| {
                let obtained = side.obtained.iter().chain(&side.before_put_in);
                obtained.chain(&side.combined)
            })
            .map(|term| term.id)
            .max();
        Self {
            problem,
            names,
            center,
            table,
            budget,
            route: derivation.route,
            next_id: largest.map_or(0, |id| id + 1),
            shown_as: Map::new(),
            differentiated: vec![false; problem.unknowns.len()],
            values: vec![Vec::new(); problem.unknowns.len()],
            stopped: false,
            lines: 0,
        }
    }

    fn entry(&self, row: &Row) -> Option<&'a Entry> {
        self.table.get(row.unknown)?.get(row.order)
    }

    /// The row of one order.
    pub fn row(&mut self, row: &Row) -> LedgerRow {
        let entry = self.entry(row);
        let value = entry.map(|e| e.value.clone()).or_else(|| row.value.clone());
        let head = self.at_center(row.unknown, row.order);
        let known = value
            .as_ref()
            .map(|v| Formula::equation(head.clone(), build::formula(v, self.names)));
        let mut out = LedgerRow {
            key: if self.several() {
                format!("order-{}-{}", row.unknown, row.order)
            } else {
                format!("order-{}", row.order)
            },
            degree: Some(row.order),
            reason: Prose::default(),
            lines: Vec::new(),
            known: value
                .as_ref()
                .and_then(|value| in_the_margin(&head, value))
                .or_else(|| known.clone()),
            folded: None,
            checked: entry.and_then(Entry::agreed),
        };
        self.by_kind(&mut out, row, head.clone(), known);
        if let Some(entry) = entry.filter(|_| out.degree.is_some()) {
            if out.folded.is_none() {
                out.lines
                    .extend(self.comparison(row, entry).map(Line::Text));
            }
            out.lines.push(self.coefficient_line(row, entry));
        }
        if let Some(value) = &value {
            if is_long(value) {
                out.folded = out.folded.or(Some(count_terms(value)));
            }
            let enclosed = out.folded.and_then(|_| enclosure(&head, value));
            out.lines
                .extend(enclosed.map(|formula| chain(ENCLOSURE, vec![lead(formula)])));
        }
        if let (Some(own), Some(value)) = (self.values.get_mut(row.unknown), value)
            && out.degree.is_some()
        {
            own.push(value);
        }
        out
    }

    /// What the row's kind asks for.
    fn by_kind(&mut self, out: &mut LedgerRow, row: &Row, head: Formula, known: Option<Formula>) {
        match &row.kind {
            RowKind::Initial => {
                out.reason = Prose::words("Initial value");
                out.lines
                    .extend(known.map(|formula| chain("", vec![lead(formula)])));
                if self.problem.by_later_lines(row.unknown, row.order) {
                    out.reason = Prose::words("Forced by later lines");
                    out.lines.push(steps::by_later_lines());
                }
            }
            RowKind::SeriesOnly => {
                out.reason = Prose::words("Series arithmetic");
                let derivative = self.names.derivative(row.unknown, row.order);
                let why = if self.stopped {
                    Prose::words("Differentiation has stopped before ").math(derivative)
                } else {
                    Prose::words("The derivative ")
                        .math(derivative)
                        .text(" has grown too long to be worked out term by term")
                };
                out.lines.push(Line::Text(why.text(
                    ": the value comes from series arithmetic alone, with no second way to compare it.",
                )));
                out.lines
                    .extend(known.map(|formula| chain("", vec![lead(formula)])));
            }
            RowKind::Worked {
                left,
                right,
                leading_value,
                rest_value,
            } => {
                self.worked(out, row, [left, right]);
                if self.route == Route::Standing
                    && let (Some(leading), Some(rest)) = (leading_value, rest_value)
                {
                    let lines = self.solved_for(row, leading, rest, out.lines.last());
                    out.lines.extend(lines);
                    let value = row.value.iter();
                    out.lines
                        .extend(value.flat_map(|value| steps::because(value, self.names)));
                }
                out.lines
                    .extend(steps::forced(self.problem, row, &head, self.names));
            }
            RowKind::Chosen {
                left,
                right,
                values,
            } => {
                self.worked(out, row, [left, right]);
                out.lines
                    .extend(steps::chosen(self.problem, row, &head, values, self.names));
            }
            RowKind::Holds { left, right } => {
                out.key = format!("line-{}", self.lines);
                out.degree = None;
                out.known = None;
                out.checked = None;
                self.worked(out, row, [left, right]);
                out.lines.push(steps::holds());
            }
            RowKind::Stopped {
                left,
                right,
                reason: StopReason::Demand(demand),
            } => {
                self.worked(out, row, [left, right]);
                out.lines
                    .extend(steps::demand(self.problem, row, &head, demand, self.names));
            }
            RowKind::Stopped {
                left,
                right,
                reason,
            } => {
                self.stopped = true;
                self.worked(out, row, [left, right]);
                let mut why = stops::why_stopped(head, reason, self.names);
                if self.entry(row).is_some() {
                    why = why.text(" The value comes from series arithmetic alone.");
                }
                out.lines.push(Line::Text(why));
            }
        }
    }

    fn several(&self) -> bool {
        self.problem.unknowns.len() > 1
    }

    fn at_center(&self, unknown: usize, order: usize) -> Formula {
        Formula::value_at(self.names.derivative(unknown, order), self.center.clone())
    }

    /// The number of terms, if a worked row has too many to be read.
    fn too_long(&self, row: &Row, sides: [&Side; 2]) -> Option<usize> {
        let terms = sides
            .iter()
            .map(|s| s.combined.len().max(s.obtained.len()))
            .sum::<usize>();
        let nodes: usize = sides
            .iter()
            .flat_map(|side| &side.combined)
            .map(|term| term.expression.size())
            .sum();
        let readable = self.budget.readable_terms;
        let long = terms > readable || nodes > readable.saturating_mul(NODES_PER_TERM);
        (long && matches!(row.kind, RowKind::Worked { .. })).then_some(terms)
    }

    /// Differentiated line, like terms, substitution.
    fn worked(&mut self, out: &mut LedgerRow, row: &Row, sides: [&Side; 2]) {
        // On the solved route the left side is the one new derivative: nothing to explain.
        let explained = match self.route {
            Route::Solved => &sides[1..],
            Route::Standing => &sides[..],
        };
        let traces: Vec<&Trace> = explained.iter().flat_map(|side| &side.traces).collect();
        out.folded = self.too_long(row, sides);
        let given = self.problem.initial.get(row.unknown).map_or(0, Vec::len);
        let first = match self.problem.order_by_order() {
            None => row.order <= given,
            Some(_) => self.lines == 0,
        };
        self.lines += 1;
        if first {
            out.reason = Prose::words(match self.problem.order_by_order() {
                None => "Substitute the initial values",
                Some(_) => "Put in what is known at the center",
            });
        } else {
            out.reason = if out.folded.is_some() {
                Prose::words("Differentiate again, rule by rule as before")
            } else if traces.is_empty() {
                // Nothing is left to differentiate.
                Prose::words("Differentiate again: *constant* ").math(Formula::digits(0))
            } else {
                let again = self.differentiated.get(row.unknown) == Some(&true);
                reasons::differentiation(&traces, again, self.names)
            };
            if !sides[1].before_put_in.is_empty() {
                out.reason = reasons::then_put_in(
                    std::mem::take(&mut out.reason),
                    self.problem,
                    row.unknown,
                    self.names,
                );
            }
            if let Some(done) = self.differentiated.get_mut(row.unknown) {
                *done = true;
            }
            if out.folded.is_none() {
                out.lines.extend(detail::lines(&traces, self.names));
                self.at_once(out, row);
            }
            let line = self.differentiated_line(row, sides);
            out.lines.push(line);
        }
        if self.several() {
            let reason = std::mem::take(&mut out.reason);
            out.reason = several::about(self.new_derivative(row), reason);
        }
        if let Some(line) = self.like_terms(sides, first) {
            out.lines.push(line);
        }
        if !sides[1].before_put_in.is_empty() {
            let mut pieces = vec![lead(Formula::Operator('='))];
            pieces.extend(self.pieces(&sides[1].combined));
            out.lines.push(chain("put in", pieces));
        }
        if let Some(terms) = out.folded {
            let text = Prose::words(format!(
                "{terms} terms. The value comes from putting the known values in place of every one of them."
            ));
            let entry = self.entry(row);
            out.lines.push(Line::Text(
                match entry.and_then(|entry| self.comparison(row, entry)) {
                    Some(said) => text.text(" ").prose(said),
                    None if out.checked == Some(true) => {
                        text.text(" Series arithmetic gives the same value.")
                    }
                    None => text.text(" Series arithmetic did not get as far."),
                },
            ));
            let value = entry.map(|e| &e.value).or(row.value.as_ref());
            out.lines
                .extend(value.filter(|value| !is_long(value)).map(|value| {
                    let head = self.at_center(row.unknown, row.order);
                    let value = build::formula(value, self.names);
                    chain("", vec![lead(Formula::equation(head, value))])
                }));
        } else {
            let line = self.substitution(row, sides);
            out.lines.push(line);
        }
    }

    /// Leibniz's rule, which leads from the equation to this row in one step; not for the first
    /// derivative, where it is the product rule.
    fn at_once(&self, out: &mut LedgerRow, row: &Row) {
        let given = self.problem.initial.get(row.unknown).map_or(0, Vec::len);
        let times = match self.problem.order_by_order() {
            None => row.order.checked_sub(given),
            Some(_) => self.lines.checked_sub(1),
        };
        let Some(times) = times.filter(|times| *times >= 2) else {
            return;
        };
        let Ok(times) = u32::try_from(times) else {
            return;
        };
        let equation = self.problem.equations.get(row.unknown);
        let Some(equation) = equation.filter(|_| self.route == Route::Standing) else {
            return;
        };
        let (left, right) = &equation.standing;
        let products = detail::leibniz_terms(left.iter().chain(right), times);
        if products.is_empty() {
            return;
        }
        out.reason = std::mem::take(&mut out.reason)
            .text(". In one step from the equation: *Leibniz's rule* on ")
            .list(
                products
                    .iter()
                    .map(|(term, _)| build::formula(term, self.names)),
            );
        out.lines.extend(
            products
                .iter()
                .map(|(term, terms)| detail::leibniz_line(term, terms, times, self.names)),
        );
    }

    /// What is to be said where the two ways of finding the value do not surely agree.
    fn comparison(&self, row: &Row, entry: &Entry) -> Option<Prose> {
        let other = entry.other.as_ref()?;
        let equation = Formula::equation(
            self.at_center(row.unknown, row.order),
            build::formula(other, self.names),
        );
        let prose = Prose::words(OTHER_ROUTE).math(equation);
        Some(match entry.agreement {
            Agreement::Different => {
                prose.text(", **another value: a defect of this worksheet. Trust neither.**")
            }
            _ => prose.text(if other.has_parameter() {
                ". Whether that is the same cannot be decided: the closed forms differ, their values for several numbers do not."
            } else {
                ". Whether that is the same number cannot be decided: the closed forms differ, their digits do not."
            }),
        })
    }

    fn new_derivative(&self, row: &Row) -> Formula {
        self.names.derivative(row.unknown, row.order)
    }

    fn sources(&self, term: &Term) -> Vec<usize> {
        let mut found = Vec::new();
        for source in &term.sources {
            match self.shown_as.get(source) {
                Some(shown) => found.extend(shown),
                None => found.push(*source),
            }
        }
        found
    }

    fn pieces(&self, terms: &[Term]) -> Vec<Piece> {
        let mut pieces: Vec<Piece> = terms
            .iter()
            .enumerate()
            .map(|(position, term)| Piece {
                formula: build::term(&term.expression, self.names, position == 0),
                id: Some(term.id),
                sources: self.sources(term),
                vanishes: term
                    .expression
                    .is_zero()
                    .then(|| Formula::Text("constant".to_owned())),
                role: Role::Term,
            })
            .collect();
        if pieces.is_empty() {
            pieces.push(value_piece(Formula::digits(0), Role::Term));
        }
        pieces
    }

    /// `y‴ = …`, or both sides on the standing route.
    fn differentiated_line(&self, row: &Row, [left, right]: [&Side; 2]) -> Line {
        let mut pieces = match self.route {
            Route::Solved => vec![lead(equals_behind(self.new_derivative(row)))],
            Route::Standing => {
                let mut pieces = self.pieces(&left.obtained);
                pieces.push(lead(Formula::Operator('=')));
                pieces
            }
        };
        pieces.extend(self.pieces(&right.obtained));
        chain("", pieces)
    }

    /// The line after like terms were combined, or only their factors put in order; none where it would read the same.
    fn like_terms(&mut self, sides: [&Side; 2], first: bool) -> Option<Line> {
        let worked = match self.route {
            Route::Solved => &sides[1..],
            Route::Standing => &sides[..],
        };
        let same = worked.iter().all(|side| {
            let shown = |terms: &[Term]| -> Vec<Formula> {
                let mut shown: Vec<Formula> = terms
                    .iter()
                    .map(|t| build::term(&t.expression, self.names, false))
                    .collect();
                if shown.is_empty() {
                    shown.push(build::term(&Expr::zero(), self.names, false));
                }
                shown
            };
            shown(&side.obtained) == shown(side.collected())
        });
        if first || same {
            for side in worked {
                for term in side.collected() {
                    let shown = if first {
                        Vec::new()
                    } else {
                        term.sources.clone()
                    };
                    self.shown_as.insert(term.id, shown);
                }
            }
            return None;
        }
        let mut pieces = match (self.route, worked.first()) {
            (Route::Standing, Some(left)) => self.pieces(left.collected()),
            _ => Vec::new(),
        };
        pieces.push(lead(Formula::Operator('=')));
        if let Some(right) = worked.last() {
            pieces.extend(self.pieces(right.collected()));
        }
        let fewer = worked
            .iter()
            .any(|side| side.collected().len() < side.obtained.len());
        Some(chain(
            if fewer { "like terms" } else { "simplified" },
            pieces,
        ))
    }

    fn substitution(&mut self, row: &Row, [left, right]: [&Side; 2]) -> Line {
        let mut pieces = match self.route {
            Route::Solved => vec![lead(equals_behind(self.at_center(row.unknown, row.order)))],
            Route::Standing => {
                let mut pieces = self.substituted(left);
                pieces.push(lead(Formula::Operator('=')));
                pieces
            }
        };
        let terms = self.substituted(right);
        // A right side that is already the value is not repeated.
        let value = row.value.as_ref().map(|v| build::formula(v, self.names));
        let repeated = matches!(
            (terms.as_slice(), &value),
            ([only], Some(value)) if only.formula == *value
        );
        pieces.extend(terms);
        if self.route == Route::Solved {
            if repeated {
                if let Some(last) = pieces.last_mut() {
                    last.role = Role::Value;
                }
            } else if let Some(value) = value {
                pieces.push(value_piece(
                    Formula::row([Formula::Operator('='), value]),
                    Role::Value,
                ));
            }
        }
        chain("", pieces)
    }

    /// Every term of a side with its values in place.
    fn substituted(&mut self, side: &Side) -> Vec<Piece> {
        let values = std::mem::take(&mut self.values);
        let problem = self.problem;
        let known = |symbol: &Symbol| match symbol {
            Symbol::Variable => Some(problem.center.clone()),
            Symbol::Derivative { unknown, order } => {
                values.get(*unknown)?.get(*order as usize).cloned()
            }
            _ => None,
        };
        let mut pieces = Vec::new();
        for (position, term) in side.combined.iter().enumerate() {
            let values = Values {
                of: &known,
                at: self.center,
            };
            let formula =
                build::substituted_term(&term.expression, self.names, position == 0, values);
            let id = self.next_id;
            self.next_id += 1;
            let sources = match self.shown_as.get(&term.id) {
                Some(shown) => shown.clone(),
                None => vec![term.id],
            };
            // In the first row nothing stands above: later rows come from the substituted term.
            if sources.is_empty() {
                self.shown_as.insert(term.id, vec![id]);
            }
            pieces.push(Piece {
                formula,
                id: Some(id),
                sources,
                vanishes: side
                    .values
                    .iter()
                    .find(|value| value.term == term.id)
                    .and_then(|value| self.why_zero(value)),
                role: Role::Term,
            });
        }
        self.values = values;
        if pieces.is_empty() {
            pieces.push(value_piece(Formula::digits(0), Role::Term));
        }
        pieces
    }

    /// `x = 0`: the factor that makes a term vanish.
    fn why_zero(&self, value: &TermValue) -> Option<Formula> {
        if !value.value.as_ref().is_some_and(Expr::is_zero) {
            return None;
        }
        value
            .zero_factor
            .as_ref()
            .map(|factor| Formula::equation(build::formula(factor, self.names), Formula::digits(0)))
    }

    /// Standing route: `4⋅y″(0) = −3`, unless that is what the substitution already says, then
    /// `y″(0) = −3/4`.
    fn solved_for(
        &self,
        row: &Row,
        leading: &Expr,
        rest: &Expr,
        above: Option<&Line>,
    ) -> Vec<Line> {
        let head = self.at_center(row.unknown, row.order);
        let rest = build::formula(rest, self.names);
        let mut lines = Vec::new();
        let factor = build::formula(leading, self.names);
        let factor = match leading.node() {
            Node::Sum(_) => factor.bracketed(),
            _ => factor,
        };
        let left = if leading.is_one() {
            head.clone()
        } else if *leading == Expr::int(-1) {
            Formula::row([Formula::Sign(MINUS), head.clone()])
        } else {
            Formula::row([factor, Formula::Operator(DOT), head.clone()])
        };
        let relation = Formula::equation(left, rest);
        let said = match above {
            Some(Line::Formula { pieces, .. }) => {
                Formula::row(pieces.iter().map(|piece| piece.formula.clone())) == relation
            }
            _ => false,
        };
        if !leading.is_one() && !said {
            lines.push(chain("solve for it", vec![lead(relation)]));
        }
        if let Some(value) = &row.value
            && !(said && leading.is_one())
        {
            lines.push(chain(
                "",
                vec![
                    lead(head),
                    value_piece(
                        Formula::row([Formula::Operator('='), build::formula(value, self.names)]),
                        Role::Value,
                    ),
                ],
            ));
        }
        lines
    }

    /// `y⁽⁴⁾(0)/4! = 2/24 = 1/12`, or which degree is missing.
    fn coefficient_line(&self, row: &Row, entry: &Entry) -> Line {
        if entry.value.is_zero() {
            return Line::Text(
                Prose::words(format!("Degree {} is missing: ", row.order)).math(Formula::equation(
                    self.at_center(row.unknown, row.order),
                    Formula::digits(0),
                )),
            );
        }
        let head = Formula::fraction(
            self.at_center(row.unknown, row.order),
            Formula::factorial(row.order),
        );
        if is_long(&entry.value) {
            // In full it stands in the row's value and in the polynomial.
            let formula = in_place_of(&head, &entry.coefficient);
            return chain(COEFFICIENT, vec![lead(formula)]);
        }
        let forms = [
            Some(strip::over_factorial(entry, self.names)),
            strip::over_product(entry, self.names),
            Some(build::formula(&entry.coefficient, self.names)),
        ];
        let mut joined = vec![head];
        for form in forms.into_iter().flatten() {
            if joined.last() != Some(&form) {
                joined.extend([Formula::Operator('='), form]);
            }
        }
        let Some(term) = strip::simplified_term(entry, &self.problem.center, self.names, true)
        else {
            return chain(COEFFICIENT, vec![lead(Formula::row(joined))]);
        };
        // The comma belongs to what stands before it, also where the line is broken.
        joined.push(Formula::Punctuation(','));
        let adds = Formula::row([Formula::Text("adds\u{a0}".to_owned()), term]);
        chain(
            COEFFICIENT,
            vec![lead(Formula::row(joined)), value_piece(adds, Role::Term)],
        )
    }
}

/// How a line begins that compares with the other route.
pub const OTHER_ROUTE: &str = "Series arithmetic gives ";

/// The word in front of the line that says between which decimals a folded value lies.
pub const ENCLOSURE: &str = "enclosure";

/// The word in front of the line that divides by the factorial.
pub const COEFFICIENT: &str = "coefficient";
