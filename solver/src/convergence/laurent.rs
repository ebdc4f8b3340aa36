//! Coefficients expanded about a place in the complex plane, with closed constants for their
//! coefficients: exactly what the limits at a singular point ask for.
//!
//! At a place on the real axis functions have the values that they have there as real functions.
//! Beside it only those are expanded that have one value everywhere (quotients, eᵘ, sin u and what is
//! made of them); of logarithms, roots and inverse functions it would depend on the way to the place.

use num_traits::ToPrimitive;

use super::place::Place;
use crate::expression::{Expr, Function, Node, Symbol, Truth, evaluate, zero_test};
use crate::number::rational::ratio;

/// re + im·i, closed constants.
pub(super) type Complex = (Expr, Expr);

/// Deepest expression looked at, and the largest closed constant.
const LARGEST_DEPTH: u32 = 30;
const LARGEST_SIZE: usize = 120;
const TERMS: usize = 100;

/// Σ parts[i] tⁱ⁺ˢᵗᵃʳᵗ + O(t^(start + the number of parts)), with t = x − x₀.
#[derive(Clone, Debug)]
pub(super) struct Laurent {
    /// The first power.
    pub(super) start: i64,
    /// The first of these is not zero.
    pub(super) parts: Vec<Complex>,
}

/// As simple as it gets.
fn tidy(value: &Expr) -> Option<Expr> {
    let value = evaluate(&value.expand(TERMS)).ok()?;
    (value.size() <= LARGEST_SIZE).then_some(value)
}

pub(super) fn plus(a: &Complex, b: &Complex) -> Option<Complex> {
    Some((tidy(&a.0.add(&b.0))?, tidy(&a.1.add(&b.1))?))
}

pub(super) fn times(a: &Complex, b: &Complex) -> Option<Complex> {
    Some((
        tidy(&a.0.mul(&b.0).sub(&a.1.mul(&b.1)))?,
        tidy(&a.0.mul(&b.1).add(&a.1.mul(&b.0)))?,
    ))
}

pub(super) fn scaled(a: &Complex, numerator: i64, denominator: i64) -> Option<Complex> {
    let factor = ratio(numerator, denominator);
    Some((tidy(&a.0.scale(&factor))?, tidy(&a.1.scale(&factor))?))
}

fn inverse(a: &Complex) -> Option<Complex> {
    if a.1.is_zero() {
        return Some((tidy(&Expr::one().div(&a.0))?, Expr::zero()));
    }
    let square = tidy(&a.0.square().add(&a.1.square()))?;
    Some((tidy(&a.0.div(&square))?, tidy(&a.1.neg().div(&square))?))
}

pub(super) fn none() -> Complex {
    (Expr::zero(), Expr::zero())
}

/// Surely zero, surely not, or undecided (`None`).
pub(super) fn vanishes(a: &Complex) -> Option<bool> {
    match (zero_test(&a.0), zero_test(&a.1)) {
        (Truth::Zero, Truth::Zero) => Some(true),
        (Truth::NotZero, _) | (_, Truth::NotZero) => Some(false),
        _ => None,
    }
}

impl Laurent {
    /// Leading zeros are taken off; `None` where one is undecided.
    fn new(start: i64, mut parts: Vec<Complex>) -> Option<Self> {
        let mut lead = 0;
        while let Some(first) = parts.get(lead) {
            if !vanishes(first)? {
                break;
            }
            lead += 1;
        }
        parts.drain(..lead);
        Some(Self {
            start: start + i64::try_from(lead).ok()?,
            parts,
        })
    }

    fn constant(value: Complex, terms: usize) -> Option<Self> {
        let mut parts = vec![none(); terms];
        *parts.first_mut()? = value;
        Self::new(0, parts)
    }

    /// The coefficient of tᵏ; `None` behind the last known one.
    pub(super) fn part(&self, power: i64) -> Option<Complex> {
        match usize::try_from(power - self.start) {
            Ok(index) => self.parts.get(index).cloned(),
            Err(_) => Some(none()),
        }
    }

    /// All parts are known up to here, exclusively.
    fn end(&self) -> i64 {
        self.start
            .saturating_add(i64::try_from(self.parts.len()).unwrap_or(i64::MAX))
    }

    fn plus(&self, other: &Self) -> Option<Self> {
        let start = self.start.min(other.start);
        let end = self.end().min(other.end());
        let parts = (start..end).map(|power| plus(&self.part(power)?, &other.part(power)?));
        Self::new(start, parts.collect::<Option<_>>()?)
    }

    fn times(&self, other: &Self) -> Option<Self> {
        let count = self.parts.len().min(other.parts.len());
        let mut parts = Vec::new();
        for n in 0..count {
            let mut sum = none();
            for (a, b) in self
                .parts
                .iter()
                .take(n + 1)
                .zip(other.parts.get(..=n)?.iter().rev())
            {
                sum = plus(&sum, &times(a, b)?)?;
            }
            parts.push(sum);
        }
        Self::new(self.start + other.start, parts)
    }

    /// The power of a series that begins with a constant that is not zero (J. C. P. Miller's recurrence):
    /// n a₀ bₙ = Σ (e k − n + k) aₖ bₙ₋ₖ. `first`: the power of the first coefficient.
    fn raised(&self, start: i64, first: Complex, above: i64, below: i64) -> Option<Self> {
        let lead = inverse(self.parts.first()?)?;
        let mut parts = vec![first];
        for n in 1..self.parts.len() {
            let mut sum = none();
            let whole = i64::try_from(n).ok()?;
            for (k, a) in (1..=whole).zip(self.parts.iter().skip(1)) {
                let b = parts.get(usize::try_from(whole - k).ok()?)?;
                let factor = above.checked_mul(k)? - below.checked_mul(whole - k)?;
                sum = plus(&sum, &scaled(&times(a, b)?, factor, below)?)?;
            }
            parts.push(scaled(&times(&sum, &lead)?, 1, whole)?);
        }
        Self::new(start, parts)
    }

    fn inverse(&self) -> Option<Self> {
        let first = inverse(self.parts.first()?)?;
        self.raised(-self.start, first, -1, 1)
    }

    /// The derivative's parts times t, k cₖ.
    fn slopes(&self, count: usize) -> Option<Vec<Complex>> {
        (0..i64::try_from(count).ok()?)
            .map(|k| scaled(&self.part(k)?, k, 1))
            .collect()
    }
}

/// Works out expansions about one place.
pub(super) struct Expander {
    place: Complex,
    terms: usize,
}

impl Expander {
    /// `None` where the place is only enclosed. `terms`: so many coefficients, fewer where some cancel.
    pub(super) fn new(place: &Place, terms: usize) -> Option<Self> {
        let Place::Exact { re, im } = place else {
            return None;
        };
        Some(Self {
            place: (re.clone(), im.clone()),
            terms,
        })
    }

    /// `None`: no such expansion, or it was not found.
    pub(super) fn expand(&self, e: &Expr) -> Option<Laurent> {
        if e.depth() > LARGEST_DEPTH {
            return None;
        }
        if e.is_constant() {
            return Laurent::constant((tidy(e)?, Expr::zero()), self.terms);
        }
        match e.node() {
            Node::Symbol(Symbol::Variable) => {
                let mut parts = vec![none(); self.terms];
                *parts.first_mut()? = self.place.clone();
                *parts.get_mut(1)? = (Expr::one(), Expr::zero());
                Laurent::new(0, parts)
            }
            Node::Number(_) | Node::Symbol(_) => None,
            Node::Sum(all) => {
                let (first, rest) = all.split_first()?;
                rest.iter()
                    .try_fold(self.expand(first)?, |sum, e| sum.plus(&self.expand(e)?))
            }
            Node::Product(all) => {
                let (first, rest) = all.split_first()?;
                rest.iter().try_fold(self.expand(first)?, |product, e| {
                    product.times(&self.expand(e)?)
                })
            }
            Node::Power(base, exponent) if base.is_constant() => {
                // bᵘ = exp(u ln b)
                let logarithm = evaluate(&Expr::call(Function::Ln, base.clone())).ok()?;
                self.call(Function::Exp, &exponent.mul(&logarithm))
            }
            Node::Power(base, exponent) => self.power(&self.expand(base)?, exponent),
            Node::Call(function, argument) => self.call(*function, argument),
        }
    }

    fn power(&self, base: &Laurent, exponent: &Expr) -> Option<Laurent> {
        let exponent = exponent.as_number()?;
        let above = exponent.numer().to_i64().filter(|n| n.abs() < 1000)?;
        let below = exponent.denom().to_i64().filter(|n| *n < 1000)?;
        let first = base.parts.first()?;
        let lead = if below == 1 {
            let one = (Expr::one(), Expr::zero());
            let factor = if above < 0 {
                inverse(first)?
            } else {
                first.clone()
            };
            (0..above.unsigned_abs()).try_fold(one, |product, _| times(&product, &factor))?
        } else {
            // A branch point, or a value that depends on the way.
            if base.start != 0 || !first.1.is_zero() || !self.place.1.is_zero() {
                return None;
            }
            let power = Expr::power(first.0.clone(), Expr::number(exponent.clone()));
            (tidy(&power)?, Expr::zero())
        };
        base.raised(base.start.checked_mul(above)?, lead, above, below)
    }

    /// w′ = u′ w, of a series without negative powers.
    fn exponential(&self, u: &Laurent) -> Option<Laurent> {
        let (a, b) = u.part(0)?;
        let size = Expr::call(Function::Exp, a);
        let part = |function| tidy(&size.mul(&Expr::call(function, b.clone())));
        let mut parts = vec![(part(Function::Cos)?, part(Function::Sin)?)];
        let count = usize::try_from(u.end()).ok()?.min(self.terms);
        let slopes = u.slopes(count)?;
        for n in 1..count {
            let mut sum = none();
            for (k, slope) in slopes.iter().enumerate().skip(1).take(n) {
                sum = plus(&sum, &times(slope, parts.get(n - k)?)?)?;
            }
            parts.push(scaled(&sum, 1, i64::try_from(n).ok()?)?);
        }
        Laurent::new(0, parts)
    }

    /// sin and cos, or sinh and cosh, of a series without negative powers.
    fn pair(&self, u: &Laurent, hyperbolic: bool) -> Option<(Laurent, Laurent)> {
        let (a, b) = u.part(0)?;
        let part = |function, e: &Expr| tidy(&Expr::call(function, e.clone()));
        let (sin, cos, sinh, cosh) = (Function::Sin, Function::Cos, Function::Sinh, Function::Cosh);
        let real = b.is_zero();
        // sin(a + b i) = sin a cosh b + i cos a sinh b, cos(a + b i) = cos a cosh b − i sin a sinh b,
        // sinh(a + b i) = sinh a cos b + i cosh a sin b, cosh(a + b i) = cosh a cos b + i sinh a sin b.
        let (first, second) = if hyperbolic {
            let (s, c) = (part(sinh, &a)?, part(cosh, &a)?);
            if real {
                ((s, Expr::zero()), (c, Expr::zero()))
            } else {
                let (sb, cb) = (part(sin, &b)?, part(cos, &b)?);
                ((s.mul(&cb), c.mul(&sb)), (c.mul(&cb), s.mul(&sb)))
            }
        } else {
            let (s, c) = (part(sin, &a)?, part(cos, &a)?);
            if real {
                ((s, Expr::zero()), (c, Expr::zero()))
            } else {
                let (sb, cb) = (part(sinh, &b)?, part(cosh, &b)?);
                ((s.mul(&cb), c.mul(&sb)), (c.mul(&cb), s.mul(&sb).neg()))
            }
        };
        let count = usize::try_from(u.end()).ok()?.min(self.terms);
        let slopes = u.slopes(count)?;
        let (mut s, mut c) = (vec![first], vec![second]);
        // n sₙ = Σ k uₖ cₙ₋ₖ, n cₙ = ∓Σ k uₖ sₙ₋ₖ
        for n in 1..count {
            let whole = i64::try_from(n).ok()?;
            let mut sums = (none(), none());
            for (k, slope) in slopes.iter().enumerate().skip(1).take(n) {
                sums.0 = plus(&sums.0, &times(slope, c.get(n - k)?)?)?;
                sums.1 = plus(&sums.1, &times(slope, s.get(n - k)?)?)?;
            }
            s.push(scaled(&sums.0, 1, whole)?);
            c.push(scaled(&sums.1, if hyperbolic { 1 } else { -1 }, whole)?);
        }
        Some((Laurent::new(0, s)?, Laurent::new(0, c)?))
    }

    fn call(&self, function: Function, argument: &Expr) -> Option<Laurent> {
        let u = self.expand(argument)?;
        if u.start < 0 || u.end() < 1 {
            return None;
        }
        let hyperbolic = matches!(
            function,
            Function::Sinh
                | Function::Cosh
                | Function::Tanh
                | Function::Coth
                | Function::Sech
                | Function::Csch
        );
        match function {
            Function::Exp => self.exponential(&u),
            Function::Sin | Function::Sinh => Some(self.pair(&u, hyperbolic)?.0),
            Function::Cos | Function::Cosh => Some(self.pair(&u, hyperbolic)?.1),
            Function::Tan | Function::Tanh => {
                let (s, c) = self.pair(&u, hyperbolic)?;
                s.times(&c.inverse()?)
            }
            Function::Cot | Function::Coth => {
                let (s, c) = self.pair(&u, hyperbolic)?;
                c.times(&s.inverse()?)
            }
            Function::Sec | Function::Sech => self.pair(&u, hyperbolic)?.1.inverse(),
            Function::Csc | Function::Csch => self.pair(&u, hyperbolic)?.0.inverse(),
            Function::Abs | Function::Sign => None,
            Function::Ln
            | Function::Arcsin
            | Function::Arccos
            | Function::Arctan
            | Function::Arccot
            | Function::Arsinh
            | Function::Arcosh
            | Function::Artanh => self.integrated(function, argument, &u),
        }
    }

    /// w′ = f′(u) u′, on the real axis.
    fn integrated(&self, function: Function, argument: &Expr, u: &Laurent) -> Option<Laurent> {
        let (value, im) = u.part(0)?;
        if !im.is_zero() || !self.place.1.is_zero() {
            return None;
        }
        let first = tidy(&Expr::call(function, value))?;
        let rate = self.expand(&function.derivative(argument))?;
        let count = usize::try_from(u.end()).ok()?;
        let slopes = u.slopes(count)?;
        let mut parts = vec![(first, Expr::zero())];
        for n in 1..i64::try_from(count.min(self.terms)).ok()? {
            let mut sum = none();
            for (k, slope) in (0..=n).zip(&slopes) {
                sum = plus(&sum, &times(slope, &rate.part(n - k)?)?)?;
            }
            parts.push(scaled(&sum, 1, n)?);
        }
        Laurent::new(0, parts)
    }
}
