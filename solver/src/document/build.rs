//! From expressions to formulas: textbook order, signs and brackets.
//!
//! Conventions (common practice in English-language textbooks): a number stands in front of its
//! product, functions without brackets stand at its end; ⋅ between numbers and between
//! derivatives, juxtaposition elsewhere; derivatives are bracketed before a power is taken; a sum
//! starts with a positive term if it has one.

use num_bigint::BigInt;
use num_integer::Integer;
use num_traits::{One, Signed, ToPrimitive, Zero};

use super::formula::{DOT, Formula, MINUS};
use super::names::Names;
use crate::expression::{Expr, Function, Node, Symbol};
use crate::number::Rational;

/// The values that are put in place of symbols.
#[derive(Clone, Copy)]
pub struct Values<'a> {
    /// The value of a symbol, where it is known.
    pub of: &'a dyn Fn(&Symbol) -> Option<Expr>,
    /// The point at which derivatives that are not known yet are taken: y‴(0).
    pub at: &'a Formula,
}

/// The formula of an expression.
pub fn formula(expr: &Expr, names: &Names) -> Formula {
    Builder {
        names,
        values: None,
    }
    .whole(expr)
}

/// The expression with values in place of its symbols, nothing worked out: −3⋅1⋅(−2).
pub fn substituted(expr: &Expr, names: &Names, values: Values<'_>) -> Formula {
    Builder {
        names,
        values: Some(values),
    }
    .whole(expr)
}

/// One term of a broken sum with its sign: with an operator and space unless it comes first.
pub fn term(expr: &Expr, names: &Names, first: bool) -> Formula {
    Builder {
        names,
        values: None,
    }
    .term(expr, first)
}

/// As [`term`], with values in place.
pub fn substituted_term(expr: &Expr, names: &Names, first: bool, values: Values<'_>) -> Formula {
    Builder {
        names,
        values: Some(values),
    }
    .term(expr, first)
}

/// Terms of a sum as one formula; 0 when there are none.
pub fn sum(terms: &[Expr], names: &Names) -> Formula {
    if terms.is_empty() {
        return Formula::digits(0);
    }
    Formula::row(
        terms
            .iter()
            .enumerate()
            .map(|(position, t)| term(t, names, position == 0)),
    )
}

/// The terms of a sum, a positive one first where there is one (`1 − x²`, not `−x² + 1`).
pub fn reading_order(terms: &[Expr]) -> Vec<Expr> {
    let mut ordered = terms.to_vec();
    if ordered.first().is_some_and(is_negative)
        && let Some(at) = ordered.iter().position(|t| !is_negative(t))
    {
        let positive = ordered.remove(at);
        ordered.insert(0, positive);
    }
    ordered
}

/// A sum over one number, its sign apart.
pub struct OverNumber {
    /// A minus sign stands in front.
    pub negative: bool,
    /// The terms above the bar.
    pub numerator: Vec<Expr>,
    /// The number below it.
    pub denominator: BigInt,
}

/// Longest number, in bits, below the bar of a sum over one number.
const LONGEST_DENOMINATOR: u64 = 64;

/// A closed constant that is a sum is written over one number where only numbers stand below its
/// terms: (√5 − 1)/4, −(√2 + 1)/12.
pub fn over_number(expr: &Expr) -> Option<OverNumber> {
    let Node::Sum(terms) = expr.node() else {
        return None;
    };
    if terms.len() < 2 || !expr.is_constant() {
        return None;
    }
    let mut denominator = BigInt::one();
    let mut negative = true;
    for term in terms {
        let divides = |factor: &Expr| {
            matches!(factor.node(), Node::Power(_, exponent)
                if exponent.as_number().is_some_and(Signed::is_negative))
        };
        if term.factors().iter().any(divides) {
            return None;
        }
        denominator = denominator.lcm(term.split_coefficient().0.denom());
        negative &= is_negative(term);
    }
    if denominator.is_one() || denominator.bits() > LONGEST_DENOMINATOR {
        return None;
    }
    let times = if negative {
        -&denominator
    } else {
        denominator.clone()
    };
    let times = Rational::from_integer(times);
    Some(OverNumber {
        negative,
        numerator: terms.iter().map(|term| term.scale(&times)).collect(),
        denominator,
    })
}

/// Is it written with a minus sign in front?
pub fn is_negative(expr: &Expr) -> bool {
    match expr.node() {
        Node::Sum(_) => over_number(expr).is_some_and(|over| over.negative),
        Node::Number(value) => value.is_negative(),
        Node::Product(factors) => matches!(
            factors.first().map(Expr::node),
            Some(Node::Number(value)) if value.is_negative()
        ),
        _ => false,
    }
}

/// What a factor looks like; decides brackets and dots beside it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Shape {
    /// A whole number.
    Number,
    /// A letter or a root.
    Letter,
    /// A derivative or the unknown.
    Derivative,
    /// A fraction.
    Fraction,
    /// `sin x` without brackets around its argument: open to the right.
    OpenCall,
    /// `sin(x+1)`.
    ClosedCall,
    /// base ^ exponent.
    Power,
    /// Several factors.
    Product,
    /// Several terms.
    Sum,
    /// In brackets.
    Bracketed,
}

/// A built factor or term, its sign apart.
struct Item {
    negative: bool,
    formula: Formula,
    shape: Shape,
    /// Starts with a digit, or stands for a value: a product sign must be seen beside it.
    numeric: bool,
}

impl Item {
    fn new(formula: Formula, shape: Shape) -> Self {
        Self {
            negative: false,
            formula,
            shape,
            numeric: false,
        }
    }

    fn numeric(mut self, numeric: bool) -> Self {
        self.numeric = numeric;
        self
    }

    /// With its sign in front.
    fn signed(self) -> Formula {
        if self.negative {
            Formula::row([Formula::Sign(MINUS), self.formula])
        } else {
            self.formula
        }
    }
}

struct Builder<'a> {
    names: &'a Names,
    values: Option<Values<'a>>,
}

impl Builder<'_> {
    fn whole(&self, expr: &Expr) -> Formula {
        self.item(expr).signed()
    }

    fn term(&self, expr: &Expr, first: bool) -> Formula {
        let mut item = self.item(expr);
        let replaced = self.replacement(expr).is_some();
        if item.shape == Shape::Sum {
            item = Item::new(item.formula.bracketed(), Shape::Bracketed);
        }
        if first {
            return item.signed();
        }
        // A negative value put in for a letter keeps its own sign: + (−2), not − 2.
        if replaced && item.negative {
            return Formula::row([Formula::Operator('+'), item.signed().bracketed()]);
        }
        let sign = if item.negative { MINUS } else { '+' };
        Formula::row([Formula::Operator(sign), item.formula])
    }

    fn replacement(&self, expr: &Expr) -> Option<Expr> {
        match expr.node() {
            Node::Symbol(symbol) => self.value(symbol),
            _ => None,
        }
    }

    fn value(&self, symbol: &Symbol) -> Option<Expr> {
        self.values.and_then(|values| (values.of)(symbol))
    }

    fn item(&self, expr: &Expr) -> Item {
        match expr.node() {
            Node::Number(value) => number(value),
            Node::Symbol(symbol) => match self.value(symbol) {
                // Values hold no symbols of the problem: written without further replacement.
                Some(value) => Builder {
                    names: self.names,
                    values: None,
                }
                .item(&value)
                .numeric(true),
                None => self.symbol(symbol),
            },
            Node::Call(function, argument) => self.call(*function, argument),
            Node::Power(base, exponent) => self.power_or_reciprocal(base, exponent),
            Node::Product(factors) => self.product(factors),
            Node::Sum(terms) => match over_number(expr) {
                Some(over) if self.names.typed_order(terms).is_none() => Item {
                    negative: over.negative,
                    formula: Formula::fraction(
                        self.sum(&over.numerator).formula,
                        Formula::digits(over.denominator),
                    ),
                    shape: Shape::Fraction,
                    numeric: true,
                },
                _ => self.sum(terms),
            },
        }
    }

    fn symbol(&self, symbol: &Symbol) -> Item {
        match symbol {
            Symbol::Variable => Item::new(self.names.variable(), Shape::Letter),
            Symbol::Derivative { unknown, order } => {
                let letter = self.names.derivative(*unknown, *order as usize);
                let shown = match self.values {
                    Some(values) => Formula::value_at(letter, values.at.clone()),
                    None => letter,
                };
                Item::new(shown, Shape::Derivative)
            }
            Symbol::Pi => Item::new(Formula::Constant("π"), Shape::Letter),
            Symbol::Parameter(name) => {
                Item::new(Formula::Identifier(name.to_string()), Shape::Letter)
            }
            Symbol::Root(root) => {
                Item::new(Formula::Identifier(root.letter().to_owned()), Shape::Letter)
            }
        }
    }

    fn sum(&self, terms: &[Expr]) -> Item {
        let ordered = match self.names.typed_order(terms) {
            Some(typed) => typed.to_vec(),
            None => reading_order(terms),
        };
        if let [only] = ordered.as_slice() {
            return self.item(only);
        }
        let parts = ordered
            .iter()
            .enumerate()
            .map(|(position, t)| self.term(t, position == 0));
        Item::new(Formula::row(parts), Shape::Sum)
    }

    fn call(&self, function: Function, argument: &Expr) -> Item {
        match function {
            Function::Exp => {
                if matches!(argument.node(), Node::Number(value) if value.is_one()) {
                    return Item::new(Formula::Constant("e"), Shape::Letter);
                }
                let exponent = self.exponent(argument);
                Item::new(
                    Formula::power(Formula::Constant("e"), exponent),
                    Shape::Power,
                )
            }
            Function::Abs => Item::new(
                Formula::Bars(Box::new(self.whole(argument))),
                Shape::Bracketed,
            ),
            _ => {
                let (formula, open) = self.argument(argument);
                let name = Formula::FunctionName(function.name());
                Item::new(
                    Formula::row([name, Formula::Application, formula]),
                    if open {
                        Shape::OpenCall
                    } else {
                        Shape::ClosedCall
                    },
                )
            }
        }
    }

    /// A function's argument, and whether it stands without brackets: single letters, numbers and
    /// derivatives, or a number times one of them.
    fn argument(&self, argument: &Expr) -> (Formula, bool) {
        let item = self.item(argument);
        let simple = match item.shape {
            Shape::Number | Shape::Letter | Shape::Derivative => true,
            Shape::Product => {
                let plain = |f: &Formula| {
                    matches!(
                        f,
                        Formula::Number(_)
                            | Formula::Identifier(_)
                            | Formula::Constant(_)
                            | Formula::Juxtaposition
                    )
                };
                matches!(&item.formula, Formula::Row(parts) if parts.len() == 3 && parts.iter().all(plain))
            }
            _ => false,
        };
        if simple && !item.negative {
            (item.formula, true)
        } else {
            (item.signed().bracketed(), false)
        }
    }

    fn exponent(&self, exponent: &Expr) -> Formula {
        if let Node::Number(value) = exponent.node()
            && !value.denom().is_one()
        {
            // In an exponent a fraction is written on one line.
            let numerator = Formula::digits(value.numer().abs());
            let parts = [
                numerator,
                Formula::Operator('/'),
                Formula::digits(value.denom()),
            ];
            let sign = value.is_negative().then_some(Formula::Sign(MINUS));
            return Formula::row(sign.into_iter().chain(parts));
        }
        self.whole(exponent)
    }

    fn power_or_reciprocal(&self, base: &Expr, exponent: &Expr) -> Item {
        match exponent.node() {
            Node::Number(value) if value.is_negative() => {
                let below = self.power(base, &Expr::number(-value.clone()));
                Item::new(
                    Formula::fraction(Formula::digits(1), below.signed()),
                    Shape::Fraction,
                )
                .numeric(true)
            }
            _ => self.power(base, exponent),
        }
    }

    /// `base ^ exponent` for an exponent that is not a negative number.
    fn power(&self, base: &Expr, exponent: &Expr) -> Item {
        if let Node::Number(value) = exponent.node() {
            if value.is_one() {
                return self.item(base);
            }
            if value.numer().is_one()
                && let Some(degree) = value.denom().to_u32()
            {
                let index = (degree != 2).then_some(degree);
                return Item::new(
                    Formula::Root(Box::new(self.whole(base)), index),
                    Shape::Letter,
                );
            }
            if value.is_integer()
                && value.is_positive()
                && let Node::Call(function, argument) = base.node()
                && written_with_inner_power(*function)
            {
                let (formula, open) = self.argument(argument);
                let name = Formula::FunctionName(function.name());
                return Item::new(
                    Formula::row([
                        Formula::power(name, self.exponent(exponent)),
                        Formula::Application,
                        formula,
                    ]),
                    if open {
                        Shape::OpenCall
                    } else {
                        Shape::ClosedCall
                    },
                );
            }
        }
        let item = self.item(base);
        let bare = !item.negative && matches!(item.shape, Shape::Number | Shape::Letter)
            // The unknown itself needs no brackets, its derivatives do.
            || matches!(&item.formula, Formula::Derivative(_, 0));
        let bare = bare && !matches!(item.formula, Formula::Root(..));
        let numeric = item.numeric;
        let base = if bare {
            item.formula
        } else {
            match item.signed() {
                already @ (Formula::Brackets(_) | Formula::Bars(_)) => already,
                other => other.bracketed(),
            }
        };
        Item::new(Formula::power(base, self.exponent(exponent)), Shape::Power).numeric(numeric)
    }

    fn product(&self, factors: &[Expr]) -> Item {
        let mut negative = false;
        let mut coefficient = None;
        let mut above: Vec<Item> = Vec::new();
        let mut below: Vec<Item> = Vec::new();
        let mut ordered = factors.to_vec();
        // k a, but a e^(−kx): collected by initial value are coefficients only.
        let constant = factors.iter().all(Expr::is_constant);
        crate::sorting::sort_by_key(&mut ordered, |factor| {
            let behind = u8::from(constant && self.names.is_initial_letter(factor));
            place_in_product(factor).max(behind)
        });
        for (position, factor) in ordered.iter().enumerate() {
            match factor.node() {
                Node::Number(value) if position == 0 && factors.len() > 1 => {
                    negative = value.is_negative();
                    let magnitude = value.abs();
                    // −1 times something is only a sign; a 1 in front was put there on purpose.
                    if !(negative && magnitude.is_one()) {
                        coefficient = Some(magnitude);
                    }
                }
                Node::Power(base, exponent) => match exponent.node() {
                    Node::Number(value) if value.is_negative() => {
                        below.push(self.power(base, &Expr::number(-value.clone())));
                    }
                    _ => above.push(self.power(base, exponent)),
                },
                _ => above.push(self.item(factor)),
            }
        }
        let together = !below.is_empty() || factors.iter().all(Expr::is_constant);
        let mut front = None;
        if let Some(value) = coefficient {
            if together {
                if !value.denom().is_one() {
                    below.insert(0, whole_number(value.denom()));
                }
                if !value.numer().is_one() || above.is_empty() || value.denom().is_one() {
                    above.insert(0, whole_number(value.numer()));
                }
            } else {
                front = Some(number(&value));
            }
        }
        let mut item = if below.is_empty() {
            above.splice(0..0, front);
            self.juxtaposed(above)
        } else {
            let numerator = match above.as_slice() {
                [] => Formula::digits(1),
                // A negative value behind a minus sign: −(−2)/3.
                [only] if negative && only.negative => self.unbracketed(above).bracketed(),
                _ => self.unbracketed(above),
            };
            let numeric = matches!(numerator, Formula::Number(_));
            Item::new(
                Formula::fraction(numerator, self.unbracketed(below)),
                Shape::Fraction,
            )
            .numeric(numeric)
        };
        // A sign in front applies to the whole: −(a + b), −(−2).
        if negative && (item.negative || item.shape == Shape::Sum) {
            item = Item::new(item.signed().bracketed(), Shape::Bracketed).numeric(true);
        }
        item.negative |= negative;
        item
    }

    /// A numerator or denominator: a single sum needs no brackets there.
    fn unbracketed(&self, mut items: Vec<Item>) -> Formula {
        match (items.pop(), items.is_empty()) {
            (Some(only), true) => only.signed(),
            (Some(last), false) => {
                items.push(last);
                self.juxtaposed(items).signed()
            }
            (None, _) => Formula::digits(1),
        }
    }

    /// Factors side by side, with brackets and dots where they are needed.
    fn juxtaposed(&self, mut items: Vec<Item>) -> Item {
        if items.len() == 1
            && let Some(only) = items.pop()
        {
            return only;
        }
        let count = items.len();
        let mut parts: Vec<Formula> = Vec::new();
        let mut previous: Option<(Shape, bool)> = None;
        let mut starts_numeric = false;
        for (position, item) in items.into_iter().enumerate() {
            let last = position + 1 == count;
            let (shape, numeric) = (item.shape, item.numeric);
            let derivative_like = shape == Shape::Derivative || is_derivative_power(&item.formula);
            let brackets = item.negative
                || shape == Shape::Sum
                || (shape == Shape::OpenCall && !last && numeric);
            let body = match item.signed() {
                body if brackets => body.bracketed(),
                body => body,
            };
            if let Some((previous_shape, previous_derivative)) = previous {
                // With values in place every product sign is shown.
                // A bracket right behind the unknown would be read as its argument.
                // Two powers of one letter would be read as a longer name: x⋅x.
                let again = letter_of(&body).is_some()
                    && letter_of(&body) == parts.last().and_then(letter_of);
                let dot = numeric
                    || again
                    || self.values.is_some()
                    || (previous_derivative && matches!(body, Formula::Brackets(_)))
                    || (derivative_like && previous_derivative)
                    || (previous_shape == Shape::OpenCall && shape != Shape::OpenCall);
                parts.push(if dot {
                    Formula::Operator(DOT)
                } else {
                    Formula::Juxtaposition
                });
            } else {
                starts_numeric = numeric;
            }
            parts.push(body);
            previous = Some((shape, derivative_like));
        }
        Item::new(Formula::row(parts), Shape::Product).numeric(starts_numeric)
    }
}

fn whole_number(value: &BigInt) -> Item {
    Item::new(Formula::digits(value), Shape::Number).numeric(true)
}

fn number(value: &Rational) -> Item {
    let magnitude = value.abs();
    let mut item = if magnitude.denom().is_one() {
        whole_number(magnitude.numer())
    } else {
        Item::new(
            Formula::fraction(
                Formula::digits(magnitude.numer()),
                Formula::digits(magnitude.denom()),
            ),
            Shape::Fraction,
        )
        .numeric(true)
    };
    item.negative = value.is_negative() && !value.is_zero();
    item
}

/// Where a factor stands: numbers, letters and brackets first, then the unknown and its
/// derivatives, functions last (where nothing can be taken into their argument).
pub(super) fn place_in_product(factor: &Expr) -> u8 {
    match factor.node() {
        Node::Symbol(Symbol::Derivative { .. }) => 1,
        Node::Call(function, _) if !matches!(function, Function::Exp | Function::Abs) => 2,
        Node::Power(base, _) => match base.node() {
            Node::Symbol(Symbol::Derivative { .. }) => 1,
            Node::Call(function, _) if written_with_inner_power(*function) => 2,
            _ => 0,
        },
        _ => 0,
    }
}

/// Functions whose power is written inside: sin² x. (For the inverse functions and the logarithm
/// the habit varies, so they get brackets.)
fn written_with_inner_power(function: Function) -> bool {
    matches!(
        function,
        Function::Sin
            | Function::Cos
            | Function::Tan
            | Function::Cot
            | Function::Sec
            | Function::Csc
            | Function::Sinh
            | Function::Cosh
            | Function::Tanh
            | Function::Coth
            | Function::Sech
            | Function::Csch
    )
}

/// The letter that this is, or a power of.
fn letter_of(formula: &Formula) -> Option<&str> {
    match formula {
        Formula::Identifier(name) => Some(name),
        Formula::Power(base, _) => letter_of(base),
        _ => None,
    }
}

/// (y″)², and the unknown's own powers.
fn is_derivative_power(formula: &Formula) -> bool {
    match formula {
        Formula::Derivative(..) => true,
        Formula::Power(base, _) => is_derivative_power(base),
        Formula::Brackets(inner) => matches!(inner.as_ref(), Formula::Derivative(..)),
        _ => false,
    }
}
