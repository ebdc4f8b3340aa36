//! Where an expression in the independent variable may stop being analytic.
//!
//! Walks the expression: quotients stop where their divisor is zero, roots and logarithms where their
//! argument is, tangents where the cosine is, and so on. What is found holds every place at which the
//! expression is singular, as far as the nearest ones go; of those that repeat (the zeros of a sine)
//! only the nearest few are listed.

use std::cmp::Ordering;

use num_traits::{Signed, ToPrimitive};

use super::around::zeros_around;
use super::place::Place;
use super::zeros::{complex_root, zeros};
use crate::expression::{
    Domain, Expr, Function, Node, Symbol, Truth, evaluate, sign, to_f64, zero_test,
};
use crate::number::rational::{integer, ratio};
use crate::number::{Polynomial, Rational};

/// A place at which an expression may be singular.
#[derive(Clone, Debug)]
pub(super) struct Site {
    pub(super) place: Place,
    /// A pole of at most this order; `None`: a branch point, or not a pole for other reasons.
    pub(super) order: Option<u32>,
    /// A root, logarithm or inverse function branches there.
    pub(super) branch: bool,
    /// What is zero there.
    pub(super) cause: Expr,
}

/// What a zero does to an expression.
#[derive(Clone, Copy)]
enum Effect<'a> {
    /// A pole of so many times its order.
    Pole(u32),
    /// The zero to this power stands there.
    Root(&'a Rational),
    /// A logarithm.
    Logarithm,
    /// Anything.
    Other,
}

impl Effect<'_> {
    fn branches(self, multiplicity: u32) -> bool {
        match self {
            Self::Root(power) => {
                !(power * Rational::from_integer(multiplicity.into())).is_integer()
            }
            Self::Logarithm => true,
            Self::Pole(_) | Self::Other => false,
        }
    }
}

/// The sites of an expression.
#[derive(Clone, Debug, Default)]
pub(super) struct Sites {
    pub(super) all: Vec<Site>,
    /// There are more of the same kind, farther away.
    pub(super) more: bool,
}

/// A zero and its multiplicity.
type Zero = (Place, u32);

/// Deepest expression looked at; most members of a repeating family.
const LARGEST_DEPTH: u32 = 60;
const LARGEST_FAMILY: i64 = 40;
/// Most places that are looked at for one center: each is compared with all others.
pub(super) const MOST_PLACES: usize = 96;

/// Works for one center.
pub(super) struct Finder<'a> {
    pub(super) center: &'a Expr,
    more: bool,
    /// So many more places may be looked at.
    left: usize,
}

impl<'a> Finder<'a> {
    pub(super) fn new(center: &'a Expr) -> Self {
        Self {
            center,
            more: false,
            left: MOST_PLACES,
        }
    }

    /// `None`: it could not be told where they are.
    pub(super) fn sites(&mut self, expression: &Expr) -> Option<Sites> {
        if expression.depth() > LARGEST_DEPTH {
            return None;
        }
        let mut all = Vec::new();
        self.collect(expression, &mut all)?;
        Some(Sites {
            all,
            more: std::mem::take(&mut self.more),
        })
    }

    fn collect(&mut self, e: &Expr, into: &mut Vec<Site>) -> Option<()> {
        if e.is_constant() {
            return Some(());
        }
        match e.node() {
            Node::Number(_) | Node::Symbol(_) => Some(()),
            Node::Sum(parts) => parts.iter().try_for_each(|part| self.collect(part, into)),
            Node::Product(parts) => {
                let mut together: Vec<Site> = Vec::new();
                for part in parts {
                    let mut own = Vec::new();
                    self.collect(part, &mut own)?;
                    for site in merged(own, u32::max) {
                        together.push(site);
                    }
                }
                let above: Vec<Expr> = parts.iter().filter(|p| !is_divisor(p)).cloned().collect();
                let above = Expr::product(above);
                for mut site in merged(together, u32::saturating_add) {
                    site.order = site
                        .order
                        .map(|order| cancelled(order, &above, &site.place));
                    if site.order != Some(0) {
                        into.push(site);
                    }
                }
                Some(())
            }
            Node::Power(base, exponent) => {
                self.collect(base, into)?;
                self.collect(exponent, into)?;
                let whole = exponent.as_number().filter(|e| e.is_integer());
                match whole {
                    Some(times) if times.is_positive() => Some(()),
                    _ if base.is_constant() => Some(()),
                    Some(times) => {
                        let times = times.numer().magnitude().to_u32()?;
                        self.add(base, Effect::Pole(times), into)
                    }
                    None => {
                        let power = exponent.as_number();
                        self.add(base, power.map_or(Effect::Other, Effect::Root), into)
                    }
                }
            }
            Node::Call(function, argument) => {
                self.collect(argument, into)?;
                let part = |function| Expr::call(function, argument.clone());
                match function {
                    Function::Exp
                    | Function::Sin
                    | Function::Cos
                    | Function::Sinh
                    | Function::Cosh => Some(()),
                    Function::Tan | Function::Sec => {
                        self.add(&part(Function::Cos), Effect::Pole(1), into)
                    }
                    Function::Cot | Function::Csc => {
                        self.add(&part(Function::Sin), Effect::Pole(1), into)
                    }
                    Function::Tanh | Function::Sech => {
                        self.add(&part(Function::Cosh), Effect::Pole(1), into)
                    }
                    Function::Coth | Function::Csch => {
                        self.add(&part(Function::Sinh), Effect::Pole(1), into)
                    }
                    Function::Ln => self.add(argument, Effect::Logarithm, into),
                    Function::Abs => self.add(argument, Effect::Other, into),
                    Function::Sign => None,
                    // Branch points at ±1, or ±i.
                    Function::Arcsin | Function::Arccos | Function::Artanh | Function::Arcosh => {
                        let inside = Expr::one().sub(&argument.square());
                        let logarithm = function == &Function::Artanh;
                        let half = ratio(1, 2);
                        let effect = if logarithm {
                            Effect::Logarithm
                        } else {
                            Effect::Root(&half)
                        };
                        self.add(&inside, effect, into)
                    }
                    Function::Arctan | Function::Arccot | Function::Arsinh => {
                        let inside = Expr::one().add(&argument.square());
                        let root = function == &Function::Arsinh;
                        let half = ratio(1, 2);
                        let effect = if root {
                            Effect::Root(&half)
                        } else {
                            Effect::Logarithm
                        };
                        self.add(&inside, effect, into)
                    }
                }
            }
        }
    }

    fn add(&mut self, divisor: &Expr, effect: Effect<'_>, into: &mut Vec<Site>) -> Option<()> {
        let found = self.zeros(divisor)?;
        self.left = self.left.checked_sub(found.len())?;
        for (place, multiplicity) in found {
            // Beside the real axis what else is zero there is not looked at.
            let known = match &place {
                Place::Exact { .. } => true,
                Place::Disc { .. } => {
                    place.is_real() || divisor.degree_in(&Symbol::Variable).is_some()
                }
            };
            let order = match effect {
                Effect::Pole(times) if known => Some(times.saturating_mul(multiplicity)),
                _ => None,
            };
            into.push(Site {
                place,
                order,
                branch: effect.branches(multiplicity),
                cause: divisor.clone(),
            });
        }
        Some(())
    }

    /// The zeros; of infinitely many, or where no formula gives them, the nearest.
    pub(super) fn zeros(&mut self, e: &Expr) -> Option<Vec<Zero>> {
        let formulas = self.more;
        self.zeros_by_formula(e).or_else(|| {
            let found = zeros_around(e, self.center);
            self.more = formulas || found.is_some();
            Some(found?.into_iter().map(|place| (place, 1)).collect())
        })
    }

    fn zeros_by_formula(&mut self, e: &Expr) -> Option<Vec<Zero>> {
        if e.is_constant() {
            return (zero_test(e) == Truth::NotZero).then(Vec::new);
        }
        if let Some(found) = polynomial_zeros(e) {
            return Some(found);
        }
        match e.node() {
            Node::Number(_) | Node::Symbol(_) => None,
            Node::Product(parts) => {
                let mut found: Vec<Zero> = Vec::new();
                for part in parts {
                    for (place, times) in self.zeros(part)? {
                        match found.iter_mut().find(|(own, _)| own.same(&place)) {
                            Some((_, sum)) => *sum += times,
                            None => found.push((place, times)),
                        }
                    }
                }
                Some(found)
            }
            Node::Power(base, exponent) => {
                let exponent = exponent.as_number()?;
                if exponent.is_negative() {
                    // Zero where the base has a pole.
                    let sites = self.sites(base)?;
                    return Some(sites.all.into_iter().map(|s| (s.place, 1)).collect());
                }
                let times = exponent.ceil().numer().to_u32()?;
                let found = self.zeros(base)?.into_iter();
                Some(
                    found
                        .map(|(place, own)| (place, own.saturating_mul(times)))
                        .collect(),
                )
            }
            Node::Call(function, u) => self.zeros_of_call(*function, u),
            Node::Sum(terms) => self.zeros_of_sum(terms),
        }
    }

    fn zeros_of_call(&mut self, function: Function, u: &Expr) -> Option<Vec<Zero>> {
        let (zero, pi) = (Expr::zero(), Expr::pi());
        let half = pi.scale(&ratio(1, 2));
        match function {
            Function::Exp | Function::Sec | Function::Csc | Function::Sech | Function::Csch => {
                Some(Vec::new())
            }
            Function::Sin | Function::Tan => self.family(u, (zero.clone(), zero), &pi, false),
            Function::Cos | Function::Cot => self.family(u, (half, zero), &pi, false),
            Function::Sinh | Function::Tanh => self.family(u, (zero.clone(), zero), &pi, true),
            Function::Cosh | Function::Coth => self.family(u, (zero, half), &pi, true),
            Function::Ln | Function::Arccos | Function::Arcosh => equal(u, &Expr::one(), &zero),
            Function::Arcsin
            | Function::Arctan
            | Function::Arsinh
            | Function::Artanh
            | Function::Abs => equal(u, &zero, &zero),
            Function::Arccot | Function::Sign => None,
        }
    }

    /// a + b f(u) = 0, where one function occurs once.
    fn zeros_of_sum(&mut self, terms: &[Expr]) -> Option<Vec<Zero>> {
        let (constant, rest): (Vec<&Expr>, Vec<&Expr>) =
            terms.iter().partition(|t| t.is_constant());
        let [term] = rest.as_slice() else {
            return None;
        };
        let (calls, factor): (Vec<Expr>, Vec<Expr>) =
            term.factors().into_iter().partition(|f| !f.is_constant());
        let [call] = calls.as_slice() else {
            return None;
        };
        let constant = Expr::sum(constant.into_iter().cloned().collect());
        let w = evaluate(&constant.neg().div(&Expr::product(factor))).ok()?;
        let Node::Call(function, u) = call.node() else {
            return None;
        };
        let (zero, pi) = (Expr::zero(), Expr::pi());
        let turn = pi.scale(&integer(2));
        let value = |function, e: &Expr| evaluate(&Expr::call(function, e.clone())).ok();
        match function {
            Function::Exp => {
                let (size, angle) = match sign(&w)? {
                    Ordering::Greater => (w, zero),
                    Ordering::Less => (w.neg(), pi),
                    Ordering::Equal => return Some(Vec::new()),
                };
                self.family(u, (value(Function::Ln, &size)?, angle), &turn, true)
            }
            Function::Ln => equal(u, &value(Function::Exp, &w)?, &zero),
            Function::Cos | Function::Sin => {
                let one = Expr::one();
                let beyond = |w: &Expr| sign(&w.sub(&one));
                let (up, down) = (beyond(&w)?, beyond(&w.neg())?);
                // cos of re ± im·i
                let (re, im) = match (up, down) {
                    (Ordering::Greater, _) => (zero, value(Function::Arcosh, &w)?),
                    (_, Ordering::Greater) => (pi.clone(), value(Function::Arcosh, &w.neg())?),
                    _ => (value(Function::Arccos, &w)?, zero),
                };
                let double = up == Ordering::Equal || down == Ordering::Equal;
                let mut found = Vec::new();
                for (re, im) in [(re.clone(), im.clone()), (re.neg(), im.neg())] {
                    let re = if *function == Function::Sin {
                        pi.scale(&ratio(1, 2)).sub(&re)
                    } else {
                        re
                    };
                    let members = self.family(u, (re, im), &turn, false)?;
                    found.extend(
                        members
                            .into_iter()
                            .map(|(place, times)| (place, if double { 2 * times } else { times })),
                    );
                    if double {
                        break;
                    }
                }
                Some(found)
            }
            _ => None,
        }
    }

    /// u = w + k·period (times i, if so asked), for all whole k: the members nearest the center.
    fn family(
        &mut self,
        u: &Expr,
        (re, im): (Expr, Expr),
        period: &Expr,
        imaginary: bool,
    ) -> Option<Vec<Zero>> {
        self.more = true;
        let step = to_f64(period)?;
        let here = u.substitute(&|symbol| match symbol {
            Symbol::Variable => Some(self.center.clone()),
            _ => None,
        });
        let here = to_f64(&here)?;
        let (x, y) = (to_f64(&re)?, to_f64(&im)?);
        let nearest = libm::round(if imaginary {
            -y / step
        } else {
            (here - x) / step
        });
        let nearest = nearest.to_i64().filter(|k| k.abs() < 1 << 40)?;
        let member = |k: i64| {
            let moved = period.scale(&integer(k));
            if imaginary {
                (re.clone(), im.add(&moved))
            } else {
                (re.add(&moved), im.clone())
            }
        };
        let mut found = Vec::new();
        let degree = u.degree_in(&Symbol::Variable)?;
        let mut reach = 1;
        if degree > 1 {
            // Within R of the center u changes by at most Σ |uₖ| Rᵏ.
            let (a, b) = member(nearest);
            let near = equal(u, &a, &b)?;
            let center = to_f64(self.center)?;
            let distance =
                |place: &Place| place.approximate().map(|(x, y)| libm::hypot(x - center, y));
            let radius = near
                .iter()
                .filter_map(|(place, _)| distance(place))
                .fold(f64::INFINITY, f64::min);
            let moved = u.substitute(&|symbol| match symbol {
                Symbol::Variable => Some(Expr::variable().add(self.center)),
                _ => None,
            });
            let mut change = 0.0;
            let mut power = 1.0;
            for (k, c) in moved
                .polynomial_coefficients(&Symbol::Variable)?
                .iter()
                .enumerate()
            {
                if k > 0 {
                    change += libm::fabs(to_f64(c)?) * power;
                }
                power *= 1.01 * radius;
            }
            reach = libm::ceil(change / step).to_i64()?.saturating_add(1);
        }
        if reach > LARGEST_FAMILY {
            return None;
        }
        for k in nearest - reach..=nearest + reach {
            let (a, b) = member(k);
            found.extend(equal(u, &a, &b)?);
        }
        Some(found)
    }
}

/// u = re + im·i.
fn equal(u: &Expr, re: &Expr, im: &Expr) -> Option<Vec<Zero>> {
    let real = Symbol::Variable;
    let coefficients = u.polynomial_coefficients(&real)?;
    if im.is_zero()
        && let Some(found) = polynomial_zeros(&u.sub(re))
    {
        return Some(found);
    }
    match coefficients.as_slice() {
        [b, a] => {
            let place = Place::exact(&re.sub(b).div(a), &im.div(a))?;
            Some(vec![(place, 1)])
        }
        [c, b, a] => {
            // x = −b/(2a) ± √(b²/(4a²) − (c − w)/a)
            let middle = b.neg().div(a).scale(&ratio(1, 2));
            let inner = middle.square().sub(&c.sub(re).div(a));
            let (p, q) = complex_root(&inner.expand(50), &im.div(a))?;
            if p.is_zero() && q.is_zero() {
                return Some(vec![(Place::exact(&middle, &Expr::zero())?, 2)]);
            }
            Some(vec![
                (Place::exact(&middle.add(&p), &q)?, 1),
                (Place::exact(&middle.sub(&p), &q.neg())?, 1),
            ])
        }
        _ => None,
    }
}

/// One site for each place; orders of poles are put together, and what is no pole stays none.
pub(super) fn merged(sites: Vec<Site>, together: fn(u32, u32) -> u32) -> Vec<Site> {
    let mut all: Vec<Site> = Vec::new();
    for site in sites {
        match all.iter_mut().find(|own| own.place.same(&site.place)) {
            Some(own) => {
                own.order = own.order.zip(site.order).map(|(a, b)| together(a, b));
                own.branch |= site.branch;
            }
            None => all.push(site),
        }
    }
    all
}

fn is_divisor(factor: &Expr) -> bool {
    matches!(factor.node(), Node::Power(_, exponent)
        if exponent.as_number().is_some_and(Signed::is_negative))
}

/// The zeros of a polynomial with rational coefficients, or of a linear or quadratic one with
/// other closed constants; `None`: another expression.
fn polynomial_zeros(e: &Expr) -> Option<Vec<Zero>> {
    let coefficients = e.polynomial_coefficients(&Symbol::Variable)?;
    let numbers: Option<Vec<Rational>> = coefficients
        .iter()
        .map(|c| c.as_number().cloned())
        .collect();
    if let Some(numbers) = numbers {
        let mut found = Vec::new();
        for (factor, times) in Polynomial::new(numbers).by_multiplicity() {
            let times = u32::try_from(times).ok()?;
            found.extend(zeros(&factor)?.into_iter().map(|place| (place, times)));
        }
        return Some(found);
    }
    match coefficients.as_slice() {
        [b, a] => Some(vec![(Place::exact(&b.neg().div(a), &Expr::zero())?, 1)]),
        [c, b, a] => {
            let middle = b.neg().div(a).scale(&ratio(1, 2));
            let (p, q) = complex_root(&middle.square().sub(&c.div(a)).expand(50), &Expr::zero())?;
            if p.is_zero() && q.is_zero() {
                return Some(vec![(Place::exact(&middle, &Expr::zero())?, 2)]);
            }
            Some(vec![
                (Place::exact(&middle.add(&p), &q)?, 1),
                (Place::exact(&middle.sub(&p), &q.neg())?, 1),
            ])
        }
        _ => None,
    }
}

/// The order that is left of a pole when the factor `above` is zero there, too.
fn cancelled(order: u32, above: &Expr, place: &Place) -> u32 {
    let Place::Exact { re, im } = place else {
        return order;
    };
    if !im.is_zero() || above.is_constant() {
        return order;
    }
    let mut derivative = above.clone();
    for times in 0..order {
        let value = derivative.substitute(&|symbol| match symbol {
            Symbol::Variable => Some(re.clone()),
            _ => None,
        });
        if zero_test(&value) != Truth::Zero {
            return order - times;
        }
        derivative = derivative.partial(&Symbol::Variable);
    }
    0
}

/// Does the function have a value, and is it analytic, everywhere in the plane?
pub(super) fn is_entire(e: &Expr) -> bool {
    if e.is_constant() {
        return true;
    }
    match e.node() {
        Node::Number(_) | Node::Symbol(_) => true,
        Node::Sum(parts) | Node::Product(parts) => parts.iter().all(is_entire),
        Node::Power(base, exponent) => {
            is_entire(base)
                && exponent
                    .as_number()
                    .is_some_and(|e| e.is_integer() && e.is_positive())
                || base.is_constant() && is_entire(exponent)
        }
        Node::Call(function, argument) => {
            matches!(
                function,
                Function::Exp | Function::Sin | Function::Cos | Function::Sinh | Function::Cosh
            ) && function.domain() == Domain::Everywhere
                && is_entire(argument)
        }
    }
}
