//! Divisors and odd roots that are zero at the data, cleared from the equation before anything else.
//!
//! At the center itself the equation as typed has no value or no Taylor series then; multiplied by the
//! divisor, or raised to the odd power, it says the same beside the center, and can be worked out order
//! by order.

use num_traits::{One, Signed, ToPrimitive, Zero};

use super::build::{self, Form};
use super::names::{Meaning, Names};
use super::size::coefficient_bits;
use super::walk::{Place, factors, nodes, terms, unbracketed};
use super::{SolveRule, SolveStep};
use crate::budget::Budget;
use crate::diagnostic::Diagnostic;
use crate::expression::{Expr, Symbol, Truth, evaluate, zero_test};
use crate::number::Rational;
use crate::span::Field;
use crate::syntax::{Condition, Kind, Multiplication, Node, Relation};

/// Largest root and power that are cleared.
const LARGEST: i64 = 9;

/// An equation without what has no value at the data.
pub(super) struct Cleared {
    pub(super) relation: Relation,
    /// What was done, and what came out.
    pub(super) step: SolveStep,
    pub(super) notice: Diagnostic,
}

/// A factor of a term: what it is, and the exponent that it has.
struct Factor<'a> {
    base: &'a Node,
    exponent: Rational,
}

/// Both sides, what was done, and a notice.
type Done = ([Node; 2], SolveRule, Diagnostic);

/// What an equation is divided by.
struct Divisor {
    node: Node,
    value: Expr,
}

/// Brackets are looked into so deep.
const NESTED: u32 = 4;

/// What is known before the conditions are looked at more closely.
pub(super) struct Clearing<'a> {
    pub(super) names: &'a Names,
    pub(super) conditions: &'a [Condition],
    pub(super) budget: &'a Budget,
    pub(super) text: &'a str,
}

impl Clearing<'_> {
    /// `None` where there is nothing to clear, or not in this way.
    pub(super) fn clear(&self, relation: &Relation) -> Option<Cleared> {
        let (sides, rule, notice) = self.divisor(relation).or_else(|| self.root(relation))?;
        let [left, right] = sides;
        if [&left, &right]
            .into_iter()
            .any(|side| coefficient_bits(side) > self.budget.bits)
        {
            return None;
        }
        let cleared = Relation {
            span: relation.span,
            left,
            right,
        };
        let (left, right) = build::sides(&cleared, self.names, Form::Normal);
        Some(Cleared {
            step: SolveStep { rule, left, right },
            relation: cleared,
            notice,
        })
    }

    fn expression(&self, node: &Node) -> Option<Expr> {
        (coefficient_bits(node) <= self.budget.bits)
            .then(|| build::expression(node, self.names, Form::Normal))
    }

    /// Surely zero at the data, as far as the conditions give them?
    fn vanishes(&self, node: &Node) -> bool {
        let value = || {
            let center = match self.conditions.first() {
                Some(condition) => self.expression(&condition.point)?,
                None => Expr::zero(),
            };
            let own = self.expression(node)?;
            let value = own.substitute(&|symbol| match symbol {
                Symbol::Variable => Some(center.clone()),
                Symbol::Derivative { order, .. } => {
                    let mut all = self.conditions.iter();
                    self.expression(&all.find(|condition| condition.order == *order)?.value)
                }
                Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
            });
            Some(!own.is_constant() && zero_test(&evaluate(&value).ok()?) == Truth::Zero)
        };
        value().unwrap_or(false)
    }

    /// The factors of a term, those of a chain one by one.
    fn split<'a>(&self, term: &'a Node) -> Option<Vec<Factor<'a>>> {
        chain_of(term)
            .1
            .into_iter()
            .map(|(place, factor)| {
                let inner = unbracketed(factor);
                let (base, exponent) = match &inner.kind {
                    Kind::Power(base, exponent) => match self.expression(exponent)?.as_number() {
                        Some(number) => (unbracketed(base), number.clone()),
                        None => (factor, Rational::from_integer(1.into())),
                    },
                    Kind::Call {
                        function,
                        power: None,
                        argument,
                    } => match build::root(function) {
                        Some(root) => (unbracketed(argument), root),
                        None => (factor, Rational::from_integer(1.into())),
                    },
                    _ => (factor, Rational::from_integer(1.into())),
                };
                let exponent = match place {
                    Place::Above => exponent,
                    Place::Below => -exponent,
                };
                Some(Factor { base, exponent })
            })
            .collect()
    }

    /// Multiplied by a power of a divisor in the variable alone.
    fn divisor(&self, relation: &Relation) -> Option<Done> {
        let sides = [&relation.left, &relation.right];
        let base = sides.iter().find_map(|side| self.find(side, NESTED))?;
        let needs = sides.map(|side| self.need(side, &base, NESTED));
        let [left, right] = needs;
        let power = left?.max(right?);
        if !(1..=LARGEST).contains(&power) {
            return None;
        }
        let [left, right] = sides.map(|side| self.times(side, &base, power, NESTED));
        let sides = [left?, right?];
        if sides.iter().any(|side| self.find(side, NESTED).is_some()) {
            return None;
        }
        let what = self.text.get(base.node.span.start..base.node.span.end)?;
        let what = match power {
            1 => what.to_owned(),
            _ => format!("{what}^{power}"),
        };
        let notice = Diagnostic::notice(
            "multiplied",
            Field::Equation,
            base.node.span,
            format!(
                "The equation divides by {what}, which is 0 at the center, so there it says nothing. Multiplied by {what} it says the same beside the center, and is worked out about it."
            ),
        );
        let factor = Expr::power(base.value, Expr::int(power));
        Some((sides, SolveRule::MultiplyBy(factor), notice))
    }

    /// The first divisor in the variable alone that is zero at the center.
    fn find(&self, side: &Node, depth: u32) -> Option<Divisor> {
        let depth = depth.checked_sub(1)?;
        let in_variable = |node: &Node| {
            !nodes(node).iter().any(|n| match &n.kind {
                Kind::Name(name) => self.names.meaning(name) == Meaning::Unknown,
                Kind::Derivative { .. } => true,
                _ => false,
            })
        };
        for (_, term) in terms(side) {
            for Factor { base, exponent } in self.split(term)? {
                if exponent.is_integer()
                    && exponent.is_negative()
                    && in_variable(base)
                    && self.vanishes(base)
                {
                    return Some(Divisor {
                        value: self.expression(base)?,
                        node: base.clone(),
                    });
                }
                if let Kind::Sum(_) = unbracketed(base).kind
                    && exponent.is_one()
                    && let Some(found) = self.find(unbracketed(base), depth)
                {
                    return Some(found);
                }
            }
        }
        None
    }

    /// The smallest power of a divisor that clears a sum of it.
    fn need(&self, side: &Node, divisor: &Divisor, depth: u32) -> Option<i64> {
        let depth = depth.checked_sub(1)?;
        let mut most = 0;
        for (_, term) in terms(side) {
            let mut own = 0;
            for Factor { base, exponent } in self.split(term)? {
                if exponent.is_integer() && self.expression(base)? == divisor.value {
                    own -= exponent.to_integer().to_i64()?;
                } else if exponent.is_one() && matches!(unbracketed(base).kind, Kind::Sum(_)) {
                    own += self.need(unbracketed(base), divisor, depth)?;
                }
            }
            most = own.max(most);
        }
        Some(most)
    }

    /// A side, multiplied term by term; brackets take what they need.
    fn times(&self, side: &Node, divisor: &Divisor, power: i64, depth: u32) -> Option<Node> {
        let depth = depth.checked_sub(1)?;
        let mut all = Vec::new();
        for (minus, term) in terms(side) {
            if matches!(&unbracketed(term).kind, Kind::Number(value) if value.is_zero()) {
                all.push((minus, term.clone()));
                continue;
            }
            let mut left = power;
            let mut parts = Vec::new();
            let (negated, factors) = chain_of(term);
            let minus = minus != negated;
            for (place, factor) in factors {
                let own = self.split(factor)?;
                let inner = unbracketed(factor);
                if let [Factor { base, exponent }] = own.as_slice()
                    && exponent.is_integer()
                    && self.expression(base)? == divisor.value
                {
                    let exponent = exponent.to_integer().to_i64()?;
                    left += match place {
                        Place::Above => exponent,
                        Place::Below => -exponent,
                    };
                } else if let Kind::Sum(_) = inner.kind
                    && place == Place::Above
                    && let need = self.need(inner, divisor, depth)?
                    && need > 0
                {
                    left -= need;
                    let inside = self.times(inner, divisor, need, depth)?;
                    parts.push((place, bracketed(inside)));
                } else {
                    parts.push((place, factor.clone()));
                }
            }
            if left != 0 {
                // x²⋅1 is x².
                let one =
                    |factor: &Node| matches!(&factor.kind, Kind::Number(value) if value.is_one());
                parts.retain(|(place, factor)| *place != Place::Above || !one(factor));
                parts.insert(0, (Place::Above, raised(&divisor.node, left)));
            }
            all.push((minus, chain(parts, term)));
        }
        Some(sum(all, side))
    }

    /// One term each side, one of them with an odd root of something that is zero: both sides raised.
    fn root(&self, relation: &Relation) -> Option<Done> {
        let mut power = None;
        let mut place = relation.span;
        let mut sides = Vec::new();
        for side in [&relation.left, &relation.right] {
            let [(minus, term)] = terms(side)[..] else {
                return None;
            };
            let own = self.split(term)?;
            for factor in &own {
                if !factor.exponent.is_integer() && self.vanishes(factor.base) {
                    let root = factor.exponent.denom().to_i64().filter(|q| q % 2 == 1)?;
                    if power.replace(root).is_some() || factor.exponent.is_negative() {
                        return None;
                    }
                    place = factor.base.span;
                }
            }
            sides.push((minus != chain_of(term).0, term, own));
        }
        let power = power.filter(|power| *power <= LARGEST)?;
        let raised_sides: Option<Vec<Node>> = sides
            .into_iter()
            .map(|(minus, term, own)| {
                let mut parts = Vec::new();
                for factor in own {
                    let exponent = factor.exponent * Rational::from_integer(power.into());
                    if !exponent.is_integer() {
                        return None;
                    }
                    let exponent = exponent.to_integer().to_i64()?;
                    parts.push((Place::Above, raised(factor.base, exponent)));
                }
                // Odd: the sign stays.
                Some(sum(vec![(minus, chain(parts, term))], term))
            })
            .collect();
        let mut raised_sides = raised_sides?.into_iter();
        let notice = Diagnostic::notice(
            "raised",
            Field::Equation,
            place,
            format!(
                "The root is 0 at the data and has no Taylor series there. Both sides are raised to the power {power}: as it is odd, no solution is lost and none is added."
            ),
        );
        let sides = [raised_sides.next()?, raised_sides.next()?];
        Some((
            sides,
            SolveRule::RaiseTo(u32::try_from(power).ok()?),
            notice,
        ))
    }
}

/// Is a minus sign in it, and the factors of a term, also those of quotients and products in
/// brackets: `(2/x) y'`.
fn chain_of(term: &Node) -> (bool, Vec<(Place, &Node)>) {
    let mut negated = false;
    let mut found = Vec::new();
    let mut waiting = vec![(Place::Above, term)];
    while let Some((outer, node)) = waiting.pop() {
        let inner = unbracketed(node);
        match &inner.kind {
            Kind::Product(..) | Kind::Quotient(..) => {
                let own = factors(inner).into_iter().rev();
                waiting.extend(own.map(|(place, factor)| {
                    let place = if place == outer {
                        Place::Above
                    } else {
                        Place::Below
                    };
                    (place, factor)
                }));
            }
            Kind::Negated(inner) => {
                negated = !negated;
                waiting.push((outer, inner));
            }
            _ => found.push((outer, node)),
        }
    }
    (negated, found)
}

/// A power with a whole exponent.
fn raised(base: &Node, exponent: i64) -> Node {
    if exponent == 1 {
        return base.clone();
    }
    let node = |kind| Node {
        span: base.span,
        kind,
    };
    let exponent = node(Kind::Number(Rational::from_integer(exponent.into())));
    let base = bracketed(base.clone());
    node(Kind::Power(Box::new(base), Box::new(exponent)))
}

fn bracketed(node: Node) -> Node {
    Node {
        span: node.span,
        kind: Kind::Bracketed(Box::new(node)),
    }
}

/// A chain of factors.
fn chain(parts: Vec<(Place, Node)>, term: &Node) -> Node {
    let node = |kind| Node {
        span: term.span,
        kind,
    };
    let one = node(Kind::Number(Rational::from_integer(1.into())));
    let mut result: Option<Node> = None;
    for (place, part) in parts {
        result = Some(match (result, place) {
            (None, Place::Above) => part,
            (Some(before), Place::Above) => node(Kind::Product(
                Box::new(before),
                Multiplication::Juxtaposed,
                Box::new(part),
            )),
            (before, Place::Below) => node(Kind::Quotient(
                Box::new(before.unwrap_or_else(|| one.clone())),
                Box::new(part),
            )),
        });
    }
    result.unwrap_or(one)
}

/// A side of an equation.
fn sum(mut terms: Vec<(bool, Node)>, side: &Node) -> Node {
    let node = |kind| Node {
        span: side.span,
        kind,
    };
    if terms.len() > 1 {
        return node(Kind::Sum(terms));
    }
    match terms.pop() {
        Some((false, term)) => term,
        Some((true, term)) => node(Kind::Negated(Box::new(term))),
        None => node(Kind::Missing),
    }
}

#[cfg(test)]
mod tests {
    use crate::budget::Budget;
    use crate::expression::Expr;
    use crate::problem::{Problem, SolveRule, understand};

    fn read(equation: &str, conditions: &str) -> Problem {
        let (problem, said) = understand(equation, conditions, "4", &Budget::PAGE);
        problem.unwrap_or_else(|| panic!("{equation}: {said:?}"))
    }

    fn whole((left, right): (&[Expr], &[Expr])) -> Expr {
        let minus = right.iter().map(Expr::neg);
        let all = left.iter().cloned().chain(minus).map(|term| term.normal());
        Expr::sum(all.collect()).expand(50)
    }

    #[test]
    fn divisors_and_odd_roots_that_are_zero_at_the_data_are_cleared() {
        for (equation, conditions, expected) in [
            (
                "y'' + y'/x + y = 0",
                "y(0) = 1",
                Some("x y'' + y' + x y = 0"),
            ),
            (
                "y'' + y'/x + (1 - 4/x^2) y = 0",
                "y(0) = 0, y''(0) = 1",
                Some("x^2 y'' + x y' + (x^2 - 4) y = 0"),
            ),
            (
                "(y' - y)/(x - 1) = 2",
                "y(1) = 0",
                Some("y' - y = 2(x - 1)"),
            ),
            ("y' = x^(-1) sin x", "y(0) = 0", Some("x y' = sin(x)")),
            (
                "y'' + (2/x) y' + y^5 = 0",
                "y(0) = 1",
                Some("x y'' + 2y' + x y^5 = 0"),
            ),
            (
                "y'' = (-2/x)(y' - 1) + (x/(3x)) y",
                "y(0) = 1",
                Some("x y'' = -2(y' - 1) + x y/3"),
            ),
            (
                "y' = 3 y^(2/3)",
                "y(0) = 0, y'''(0) = 6",
                Some("y'^3 = 27y^2"),
            ),
            ("y' = -cbrt(y)", "y(0) = 0", Some("y'^3 = -y")),
            // Nothing to clear.
            ("y'' + y'/x + y = 0", "y(1) = 1, y'(1) = 0", None),
            ("y' = 3 y^(2/3)", "y(0) = 1", None),
        ] {
            let problem = read(equation, conditions);
            let found = &problem.equations[0];
            let step = found.steps.first().filter(|step| {
                matches!(step.rule, SolveRule::RaiseTo(_))
                    || matches!(&step.rule, SolveRule::MultiplyBy(by) if !by.is_constant())
            });
            let Some(expected) = expected else {
                assert_eq!(step, None, "{equation}");
                continue;
            };
            let step = step.unwrap_or_else(|| panic!("{equation}: nothing cleared"));
            let typed = read(expected, conditions);
            let (left, right) = &typed.equations[0].given;
            assert_eq!(
                whole((&step.left, &step.right)),
                whole((left, right)),
                "{equation}"
            );
        }
    }

    #[test]
    fn an_even_root_or_a_divisor_with_the_unknown_is_not_cleared() {
        for (equation, conditions) in [
            ("y' = sqrt(y)", "y(0) = 0"),
            ("y' = x/y", "y(0) = 0"),
            ("y' + cbrt(y) = x", "y(0) = 0"),
        ] {
            let (problem, _) = understand(equation, conditions, "4", &Budget::PAGE);
            assert!(problem.is_none(), "{equation}");
        }
    }
}
