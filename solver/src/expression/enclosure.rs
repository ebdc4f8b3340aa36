//! Closed constants as intervals that surely contain them.
//!
//! Every operation of [`BigFloat`] is within one unit in the last place (basic ones are rounded to
//! nearest), and then both ends move outward by at least two. The bound for the elementary functions
//! is argued in `number/big_float/elementary.rs` and tested against a correctly rounded library.
//! Monotone functions act on the ends; sine and cosine use |sin a − sin b| ≤ |a − b|. (Moore, Kearfott & Cloud, *Introduction to
//! Interval Analysis*, SIAM 2009, ch. 2–5.)

use std::cell::RefCell;
use std::cmp::Ordering;

use num_traits::{Signed, ToPrimitive, Zero};

use super::function::Function;
use super::root_of::RootOf;
use super::tree::{Expr, Node, Symbol};
use super::undefined::{Undefined, UndefinedReason};
use crate::number::big_float::Precision;
use crate::number::rational::is_even;
use crate::number::{BigFloat, Rational, decimal, rational};

/// Highest precision that [`decimal()`] and the sign tests try, in bits.
pub const MAX_BITS: usize = 4096;
/// Precision of the first try.
const FIRST_BITS: usize = 64;
/// Bits carried beyond those asked for.
const GUARD_BITS: usize = 32;
/// Angles beyond 2^this are reduced by whole turns first…
const REDUCED_LOG2: f64 = 16.0;
/// … and those beyond 2^this not at all.
const LONGEST_ANGLE_LOG2: f64 = 4096.0;
/// Steps of Newton's method; each about doubles the digits.
const NEWTON_STEPS: usize = 40;
/// Below 2^this, the floating-point numbers turn into zero.
const UNDERFLOW_LOG2: f64 = -4.0e6;

/// The numbers from `low` to `high`, ends included.
#[derive(Clone, Debug)]
pub struct Enclosure {
    low: BigFloat,
    high: BigFloat,
}

/// Why an operation on enclosures failed.
#[derive(Clone, Copy, Debug)]
pub(super) enum Failure {
    /// Undefined, or not decidable at this precision.
    CannotDecide,
    /// Beyond the range of the floating-point numbers.
    TooLarge,
}

type Outcome = Result<Enclosure, Failure>;

impl Enclosure {
    /// Lower end.
    pub fn low(&self) -> &BigFloat {
        &self.low
    }

    /// Upper end.
    pub fn high(&self) -> &BigFloat {
        &self.high
    }

    /// Both ends as exact fractions.
    pub fn to_rationals(&self) -> Option<(Rational, Rational)> {
        Some((self.low.to_rational()?, self.high.to_rational()?))
    }

    /// Where the whole interval lies: below, above, or exactly at 0; `None` if it contains 0 and
    /// other numbers.
    pub fn sign(&self) -> Option<Ordering> {
        if self.high.is_negative() {
            Some(Ordering::Less)
        } else if !self.low.is_negative() && !self.low.is_zero() {
            Some(Ordering::Greater)
        } else if self.low.is_zero() && self.high.is_zero() {
            Some(Ordering::Equal)
        } else {
            None
        }
    }

    /// Does it share a number with the other?
    pub fn overlaps(&self, other: &Self) -> bool {
        let precision = Precision::new(FIRST_BITS);
        !less(&self.high, &other.low, &precision) && !less(&other.high, &self.low, &precision)
    }

    fn exact(value: BigFloat) -> Self {
        Self {
            low: value.clone(),
            high: value,
        }
    }
}

/// Interval arithmetic at one precision.
pub(super) struct Arithmetic {
    precision: Precision,
    /// What the independent variable may be, where it may occur.
    variable: Option<Enclosure>,
    /// Functions and powers met so far: one is often a part of many terms.
    known: RefCell<Vec<(Expr, Enclosure)>>,
}

/// Most enclosures that are remembered.
const REMEMBERED: usize = 128;

fn less(a: &BigFloat, b: &BigFloat, precision: &Precision) -> bool {
    a.minus(b, precision).is_negative()
}

impl Arithmetic {
    fn new(bits: usize) -> Self {
        Self {
            precision: Precision::new(bits),
            variable: None,
            known: RefCell::default(),
        }
    }

    /// At least one unit in the last place of `value`, a power of two that `value` is a multiple of.
    fn step(&self, value: &BigFloat) -> BigFloat {
        // log2_abs is off by far less than 1; two more than the exact exponent are harmless.
        let exponent = libm::floor(value.log2_abs()).to_i64().unwrap_or(0);
        let bits = i64::try_from(self.precision.bits()).unwrap_or(i64::MAX);
        BigFloat::power_of_two(
            isize::try_from((exponent + 2).saturating_sub(bits)).unwrap_or(isize::MIN),
        )
    }

    /// The ends moved outward after rounding to nearest.
    fn outward(&self, low: &BigFloat, high: &BigFloat) -> Outcome {
        if !low.is_finite() || !high.is_finite() {
            return Err(Failure::TooLarge);
        }
        let moved = |value: &BigFloat, up: bool| {
            if value.is_zero() {
                // Rounding to nearest gives 0 only for an exact 0, or below the underflow limit.
                return value.clone();
            }
            let step = self.step(value);
            if up {
                value.plus(&step, &self.precision)
            } else {
                value.minus(&step, &self.precision)
            }
        };
        Ok(Enclosure {
            low: moved(low, false),
            high: moved(high, true),
        })
    }

    /// An end of 0 that came from non-zero numbers is an underflow.
    fn guard_underflow(operands: [&BigFloat; 2], result: &BigFloat) -> Result<(), Failure> {
        let nonzero = operands.iter().all(|v| !v.is_zero());
        if result.is_zero() && nonzero {
            return Err(Failure::TooLarge);
        }
        Ok(())
    }

    pub(super) fn number(&self, value: &Rational) -> Outcome {
        let nearest = BigFloat::from_rational(value, &self.precision);
        if value.is_integer() && rational::bits(value) <= self.precision.bits() as u64 {
            return Ok(Enclosure::exact(nearest));
        }
        self.outward(&nearest, &nearest)
    }

    fn pi(&self) -> Outcome {
        let pi = BigFloat::pi(&self.precision);
        self.outward(&pi, &pi)
    }

    fn add(&self, a: &Enclosure, b: &Enclosure) -> Outcome {
        let tiny = |v: &BigFloat| !v.is_zero() && v.log2_abs() < UNDERFLOW_LOG2 / 2.0;
        if [&a.low, &a.high, &b.low, &b.high].into_iter().any(tiny) {
            return Err(Failure::TooLarge);
        }
        self.outward(
            &a.low.plus(&b.low, &self.precision),
            &a.high.plus(&b.high, &self.precision),
        )
    }

    pub(super) fn neg(a: &Enclosure) -> Enclosure {
        Enclosure {
            low: a.high.negated(),
            high: a.low.negated(),
        }
    }

    fn sub(&self, a: &Enclosure, b: &Enclosure) -> Outcome {
        self.add(a, &Self::neg(b))
    }

    fn mul(&self, a: &Enclosure, b: &Enclosure) -> Outcome {
        let mut ends: Option<(BigFloat, BigFloat)> = None;
        for left in [&a.low, &a.high] {
            for right in [&b.low, &b.high] {
                let product = left.times(right, &self.precision);
                Self::guard_underflow([left, right], &product)?;
                ends = Some(match ends {
                    None => (product.clone(), product),
                    Some((low, high)) => (
                        self.smaller(&low, &product),
                        self.smaller(&high.negated(), &product.negated()).negated(),
                    ),
                });
            }
        }
        let (low, high) = ends.ok_or(Failure::CannotDecide)?;
        self.outward(&low, &high)
    }

    fn smaller(&self, a: &BigFloat, b: &BigFloat) -> BigFloat {
        if less(b, a, &self.precision) {
            b.clone()
        } else {
            a.clone()
        }
    }

    fn inverse(&self, a: &Enclosure) -> Outcome {
        if !matches!(a.sign(), Some(Ordering::Less | Ordering::Greater)) {
            return Err(Failure::CannotDecide);
        }
        let one = BigFloat::from_i64(1);
        let low = one.over(&a.high, &self.precision);
        let high = one.over(&a.low, &self.precision);
        Self::guard_underflow([&one, &a.high], &low)?;
        Self::guard_underflow([&one, &a.low], &high)?;
        self.outward(&low, &high)
    }

    fn div(&self, a: &Enclosure, b: &Enclosure) -> Outcome {
        self.mul(a, &self.inverse(b)?)
    }

    /// A rising function.
    fn rising(&self, a: &Enclosure, f: fn(&BigFloat, &Precision) -> BigFloat) -> Outcome {
        let apply = |value: &BigFloat| -> Result<BigFloat, Failure> {
            let result = f(value, &self.precision);
            if !result.is_finite() {
                return Err(Failure::TooLarge);
            }
            Ok(result)
        };
        let (low, high) = (apply(&a.low)?, apply(&a.high)?);
        self.outward(&low, &high)
    }

    /// sin or cos: the value at the lower end, and how far the argument reaches beyond.
    fn wave(&self, a: &Enclosure, f: fn(&BigFloat, &Precision) -> BigFloat) -> Outcome {
        if !a.low.is_zero() && a.low.log2_abs() > REDUCED_LOG2 {
            return self.wave(&self.without_turns(a)?, f);
        }
        let value = f(&a.low, &self.precision);
        let around = self.outward(&value, &value)?;
        if value.is_zero() && !a.low.is_zero() {
            return Err(Failure::TooLarge);
        }
        let width = self.sub(
            &Enclosure::exact(a.high.clone()),
            &Enclosure::exact(a.low.clone()),
        )?;
        let spread = Enclosure {
            low: width.high.negated(),
            high: width.high,
        };
        let wide = self.add(&around, &spread)?;
        let one = BigFloat::from_i64(1);
        Ok(Enclosure {
            low: self.smaller(&wide.low.negated(), &one).negated(),
            high: self.smaller(&wide.high, &one),
        })
    }

    /// A large angle moved by whole turns to near 0, with as many more bits of π as it is long.
    fn without_turns(&self, a: &Enclosure) -> Outcome {
        let length = libm::ceil(a.low.log2_abs());
        if length > LONGEST_ANGLE_LOG2 {
            return Err(Failure::TooLarge);
        }
        let length = length.to_usize().ok_or(Failure::TooLarge)?;
        let wide = Self::new(self.precision.bits().saturating_add(length));
        let turn = wide.mul(&wide.pi()?, &wide.number(&rational::integer(2))?)?;
        let (turns, _) = wide
            .div(&Enclosure::exact(a.low.clone()), &turn)?
            .to_rationals()
            .ok_or(Failure::TooLarge)?;
        let whole = wide.mul(&wide.number(&turns.round())?, &turn)?;
        wide.sub(a, &whole)
    }

    fn is_positive(a: &Enclosure) -> bool {
        a.sign() == Some(Ordering::Greater)
    }

    fn exp(&self, a: &Enclosure) -> Outcome {
        let result = self.rising(a, BigFloat::exp)?;
        if result.low.is_zero() || result.high.is_zero() {
            return Err(Failure::TooLarge);
        }
        Ok(result)
    }

    fn ln(&self, a: &Enclosure) -> Outcome {
        if !Self::is_positive(a) {
            return Err(Failure::CannotDecide);
        }
        self.rising(a, BigFloat::ln)
    }

    fn cosh(&self, a: &Enclosure) -> Outcome {
        let size = self.abs(a);
        self.rising(&size, BigFloat::cosh)
    }

    fn abs(&self, a: &Enclosure) -> Enclosure {
        match a.sign() {
            Some(Ordering::Less) => Self::neg(a),
            Some(_) => a.clone(),
            None => Enclosure {
                low: BigFloat::ZERO,
                high: self.smaller(&a.low, &a.high.negated()).negated(),
            },
        }
    }

    /// Ends inside [−1, 1].
    fn require_unit(&self, a: &Enclosure) -> Result<(), Failure> {
        let one = BigFloat::from_i64(1);
        let inside =
            !less(&a.low, &one.negated(), &self.precision) && !less(&one, &a.high, &self.precision);
        if inside {
            Ok(())
        } else {
            Err(Failure::CannotDecide)
        }
    }

    /// The function of an enclosed argument.
    pub(super) fn call(&self, function: Function, a: &Enclosure) -> Outcome {
        match function {
            Function::Exp => self.exp(a),
            Function::Ln => self.ln(a),
            Function::Sin => self.wave(a, BigFloat::sin),
            Function::Cos => self.wave(a, BigFloat::cos),
            Function::Tan => self.ratio(a, Function::Sin, Function::Cos),
            Function::Cot => self.ratio(a, Function::Cos, Function::Sin),
            Function::Sec => self.inverse(&self.call(Function::Cos, a)?),
            Function::Csc => self.inverse(&self.call(Function::Sin, a)?),
            Function::Arcsin => {
                self.require_unit(a)?;
                self.rising(a, BigFloat::arcsin)
            }
            Function::Arccos => {
                self.require_unit(a)?;
                // falling in u, so rising in −u
                self.rising(&Self::neg(a), |v, p| v.negated().arccos(p))
            }
            Function::Arctan => self.rising(a, BigFloat::arctan),
            // Falling, as the inverse cosine.
            Function::Arccot => self.rising(&Self::neg(a), |v, p| v.negated().arccot(p)),
            Function::Sinh => self.rising(a, BigFloat::sinh),
            Function::Cosh => self.cosh(a),
            Function::Tanh => self.rising(a, BigFloat::tanh),
            Function::Coth => self.inverse(&self.call(Function::Tanh, a)?),
            Function::Sech => self.inverse(&self.cosh(a)?),
            Function::Csch => self.inverse(&self.call(Function::Sinh, a)?),
            Function::Arsinh => self.rising(a, BigFloat::arsinh),
            Function::Arcosh => {
                if less(&a.low, &BigFloat::from_i64(1), &self.precision) {
                    return Err(Failure::CannotDecide);
                }
                self.rising(a, BigFloat::arcosh)
            }
            Function::Artanh => {
                self.require_unit(a)?;
                self.rising(a, BigFloat::artanh)
            }
            Function::Abs => Ok(self.abs(a)),
            Function::Sign => match a.sign() {
                Some(Ordering::Less) => Ok(Enclosure::exact(BigFloat::from_i64(-1))),
                Some(Ordering::Equal) => Ok(Enclosure::exact(BigFloat::ZERO)),
                Some(Ordering::Greater) => Ok(Enclosure::exact(BigFloat::from_i64(1))),
                None => Err(Failure::CannotDecide),
            },
        }
    }

    fn ratio(&self, a: &Enclosure, above: Function, below: Function) -> Outcome {
        self.div(&self.call(above, a)?, &self.call(below, a)?)
    }

    /// base^exponent for a number as exponent.
    fn power(&self, base: &Enclosure, exponent: &Rational) -> Outcome {
        if exponent.is_zero() {
            return Ok(Enclosure::exact(BigFloat::from_i64(1)));
        }
        if exponent.is_negative() {
            return self.inverse(&self.power(base, &-exponent)?);
        }
        let even = is_even(exponent.numer());
        match base.sign() {
            Some(Ordering::Equal) => Ok(base.clone()),
            Some(Ordering::Greater) => self.positive_power(base, exponent),
            Some(Ordering::Less) if !is_even(exponent.denom()) => {
                let size = self.positive_power(&Self::neg(base), exponent)?;
                Ok(if even { size } else { Self::neg(&size) })
            }
            None if exponent.is_integer() => {
                let largest = Enclosure::exact(self.abs(base).high);
                let top = self.positive_power(&largest, exponent)?;
                Ok(Enclosure {
                    low: if even {
                        BigFloat::ZERO
                    } else {
                        top.high.negated()
                    },
                    high: top.high,
                })
            }
            Some(Ordering::Less) | None => Err(Failure::CannotDecide),
        }
    }

    fn positive_power(&self, base: &Enclosure, exponent: &Rational) -> Outcome {
        let raise = |value: &BigFloat| value.power(exponent, &self.precision);
        let (low, high) = (raise(&base.low), raise(&base.high));
        if low.is_zero() || high.is_zero() {
            return Err(Failure::TooLarge);
        }
        self.outward(&low, &high)
    }

    /// Newton's method with intervals (Moore, Kearfott & Cloud, 8.1): what is left of the interval
    /// holds the zero at every step.
    fn zero_of(&self, root: &RootOf) -> Outcome {
        let at = |expression: &Expr, variable: &Enclosure| {
            let arithmetic = Self {
                variable: Some(variable.clone()),
                ..Self::new(self.precision.bits())
            };
            arithmetic
                .enclose(expression)
                .map_err(|undefined| match undefined.reason {
                    UndefinedReason::TooLarge => Failure::TooLarge,
                    _ => Failure::CannotDecide,
                })
        };
        let (low, high) = root.between_ends();
        let mut zone = Enclosure {
            low: self.number(low)?.low,
            high: self.number(high)?.high,
        };
        let half = BigFloat::power_of_two(-1);
        for _ in 0..NEWTON_STEPS {
            let ends = zone.low.plus(&zone.high, &self.precision);
            let middle = Enclosure::exact(ends.times(&half, &self.precision));
            let step = self.div(&at(root.equation(), &middle)?, &at(root.slope(), &zone)?)?;
            let next = self.sub(&middle, &step)?;
            let next = Enclosure {
                low: self
                    .smaller(&zone.low.negated(), &next.low.negated())
                    .negated(),
                high: self.smaller(&zone.high, &next.high),
            };
            let width = |zone: &Enclosure| zone.high.minus(&zone.low, &self.precision);
            let narrower = less(
                &width(&next),
                &width(&zone).times(&half, &self.precision),
                &self.precision,
            );
            zone = next;
            if !narrower {
                break;
            }
        }
        Ok(zone)
    }

    fn enclose(&self, expression: &Expr) -> Result<Enclosure, Undefined> {
        if !matches!(
            expression.node(),
            Node::Call(..) | Node::Power(..) | Node::Symbol(Symbol::Root(_))
        ) {
            return self.enclose_anew(expression);
        }
        let same = |(of, _): &&(Expr, Enclosure)| of == expression;
        if let Some((_, enclosure)) = self.known.borrow().iter().find(same) {
            return Ok(enclosure.clone());
        }
        let enclosure = self.enclose_anew(expression)?;
        let mut known = self.known.borrow_mut();
        if known.len() < REMEMBERED {
            known.push((expression.clone(), enclosure.clone()));
        }
        Ok(enclosure)
    }

    fn enclose_anew(&self, expression: &Expr) -> Result<Enclosure, Undefined> {
        let blame = |failure: Failure| {
            Undefined::new(
                match failure {
                    Failure::CannotDecide => UndefinedReason::CannotDecide,
                    Failure::TooLarge => UndefinedReason::TooLarge,
                },
                expression.clone(),
            )
        };
        match expression.node() {
            Node::Number(value) => self.number(value).map_err(blame),
            Node::Symbol(Symbol::Pi) => self.pi().map_err(blame),
            Node::Symbol(Symbol::Variable) if self.variable.is_some() => {
                let own = self.variable.clone().ok_or(Failure::CannotDecide);
                own.map_err(blame)
            }
            Node::Symbol(Symbol::Root(root)) => self.zero_of(root).map_err(blame),
            Node::Symbol(_) => Err(Undefined::new(
                UndefinedReason::NotConstant,
                expression.clone(),
            )),
            Node::Call(function, argument) => self
                .call(*function, &self.enclose(argument)?)
                .map_err(blame),
            Node::Power(base, exponent) => {
                let base = self.enclose(base)?;
                if let Some(value) = exponent.as_number() {
                    return self.power(&base, value).map_err(blame);
                }
                let exponent = self.enclose(exponent)?;
                self.ln(&base)
                    .and_then(|ln| self.mul(&ln, &exponent))
                    .and_then(|product| self.exp(&product))
                    .map_err(blame)
            }
            Node::Product(factors) => {
                let mut product = Enclosure::exact(BigFloat::from_i64(1));
                for factor in factors {
                    product = self.mul(&product, &self.enclose(factor)?).map_err(blame)?;
                }
                Ok(product)
            }
            Node::Sum(terms) => {
                let mut sum = Enclosure::exact(BigFloat::ZERO);
                for term in terms {
                    sum = self.add(&sum, &self.enclose(term)?).map_err(blame)?;
                }
                Ok(sum)
            }
        }
    }
}

/// An interval that contains the value of a closed constant, computed with about `bits` bits (how
/// narrow it is depends on the constant: raise the precision until it suffices).
///
/// # Errors
/// [`UndefinedReason::NotConstant`] when a letter occurs; [`UndefinedReason::CannotDecide`] when an
/// argument cannot be told from the edge of a domain at this precision;
/// [`UndefinedReason::TooLarge`] beyond 2^±4000000.
pub fn enclose(expression: &Expr, bits: usize) -> Result<Enclosure, Undefined> {
    Arithmetic::new(bits.saturating_add(GUARD_BITS)).enclose(expression)
}

/// Ends of an interval that contains the values of an expression, in which only the independent
/// variable occurs, wherever that is between two places. `None`: it may have no value somewhere
/// there, or none was found.
pub(crate) fn enclose_between(
    expression: &Expr,
    (low, high): (&Rational, &Rational),
    bits: usize,
) -> Option<(Rational, Rational)> {
    let mut arithmetic = Arithmetic::new(bits.saturating_add(GUARD_BITS));
    let (low, high) = (arithmetic.number(low).ok()?, arithmetic.number(high).ok()?);
    arithmetic.variable = Some(Enclosure {
        low: low.low,
        high: high.high,
    });
    arithmetic.enclose(expression).ok()?.to_rationals()
}

/// The value rounded to `digits` significant decimals: correct in every digit.
///
/// # Errors
/// As [`enclose`]; also [`UndefinedReason::CannotDecide`] when [`MAX_BITS`] bits do not decide the
/// last digit (the value may be a tie, or zero without being seen to be).
pub fn decimal(expression: &Expr, digits: u32) -> Result<String, Undefined> {
    let value = super::constant::evaluate(expression)?;
    if let Some(number) = value.as_number() {
        return Ok(decimal::significant_of(number, digits));
    }
    // 10 < 2^3.33
    let mut bits = FIRST_BITS.max((digits as usize).saturating_mul(10) / 3 + 16);
    loop {
        match enclose(&value, bits) {
            Ok(enclosure) => {
                if let Some((low, high)) = enclosure.to_rationals() {
                    let text = decimal::significant_of(&low, digits);
                    if enclosure.sign().is_some() && text == decimal::significant_of(&high, digits)
                    {
                        return Ok(text);
                    }
                }
            }
            Err(undefined) if undefined.reason == UndefinedReason::CannotDecide => {}
            Err(undefined) => return Err(undefined),
        }
        if bits >= MAX_BITS {
            return Err(Undefined::new(UndefinedReason::CannotDecide, value));
        }
        bits = bits.saturating_mul(2).min(MAX_BITS);
    }
}

/// A double within one unit in the last place of the value; `None` where there is none.
pub fn to_f64(expression: &Expr) -> Option<f64> {
    if let Some(number) = expression.as_number() {
        return Some(crate::number::to_f64(number));
    }
    let mut bits = FIRST_BITS;
    while bits <= MAX_BITS {
        match enclose(expression, bits) {
            Ok(enclosure) => {
                let (low, high) = (enclosure.low.to_f64(), enclosure.high.to_f64());
                if low.to_bits() == high.to_bits() || low.next_up().to_bits() == high.to_bits() {
                    return low.is_finite().then_some(low);
                }
            }
            Err(undefined) if undefined.reason == UndefinedReason::CannotDecide => {}
            Err(_) => return None,
        }
        bits *= 2;
    }
    None
}

/// The sign by enclosures of rising precision, up to `max_bits`; `None` when they do not decide.
/// Never [`Ordering::Equal`] from an interval that has other numbers in it.
pub(super) fn sign_by_enclosure(expression: &Expr, max_bits: usize) -> Option<Ordering> {
    let mut bits = FIRST_BITS;
    while bits <= max_bits {
        match enclose(expression, bits) {
            Ok(enclosure) => {
                if let Some(sign) = enclosure.sign() {
                    return Some(sign);
                }
            }
            Err(undefined) if undefined.reason == UndefinedReason::CannotDecide => {}
            Err(_) => return None,
        }
        bits *= 4;
    }
    None
}
