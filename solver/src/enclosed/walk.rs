//! Steps: the expansion at one place, how far its tail is proved small, and the states at the end.
//!
//! Places are exact signed distances from the center, so time is never rounded: it enters as a
//! form. A step's polynomial is kept with bounds of what it leaves out ([`Segment`]).

use num_traits::{Signed, Zero};

use super::form::{Arithmetic, DIRECTIONS, Form, size};
use super::rows::{Row, Rows};
use super::singular::{Given, SingularCenter};
use super::{closed, frame, tail};
use crate::budget::Fuel;
use crate::expression::Expr;
use crate::number::upward::up;
use crate::number::{BigFloat, Rational, to_f64};
use crate::series::floats::Real;
use crate::series::{SeriesError, Tape};

/// Irrational places stand as fractions that are nearer to them than this share.
const PLACE_UNIT: f64 = 1e-130;

/// Steps are halved so often in search of one whose tail is small.
const HALVINGS: usize = 24;

/// The solution between two places, enclosed.
#[derive(Clone, Debug)]
pub(crate) struct Segment<C> {
    /// Signed exact distance of the polynomial's center from the problem's center.
    pub(crate) from: Rational,
    /// Signed exact distance of the end from the problem's center.
    pub(crate) to: Rational,
    /// `from` in the numbers of the polynomials, and both ends about.
    start: C,
    begin: f64,
    end: f64,
    /// The polynomials are in (distance from `from`)/2^scale.
    scale: i32,
    /// Length in that unit, at least.
    length: f64,
    /// Places may be off by so much.
    doubt: f64,
    parts: Vec<Part<C>>,
}

/// One unknown in a segment.
#[derive(Clone, Debug)]
pub(super) struct Part<C> {
    pub(super) mids: Vec<C>,
    /// For each order how far a term may be from its computed value, relative to the power.
    pub(super) slacks: Vec<f64>,
    /// For each order k at least (k + 1)·|aₖ₊₁|.
    slopes: Vec<f64>,
    /// Bound of the tail at the segment's end.
    pub(super) beyond: f64,
}

/// A value and the largest distance from it.
#[derive(Clone, Debug)]
pub(crate) struct Enclosed {
    pub(crate) mid: BigFloat,
    pub(crate) radius: f64,
}

/// A step whose tail is bounded.
pub(crate) struct Reach {
    /// Its length.
    pub(crate) length: Rational,
    /// The length in the series' unit, at least.
    scaled: f64,
    /// Tails of the states.
    beyond: Vec<f64>,
}

/// A solution on its way in one direction.
pub(crate) struct Walker<'tape, C> {
    rows: Rows<'tape, C>,
    origin: Rational,
    /// Signed exact distance from the center.
    pub(crate) position: Rational,
    states: Vec<Form<C>>,
    /// log₂ of the tail that is accepted, relative to the solution.
    tolerance: f64,
    /// log₂ of the unit for the next expansion.
    scale: i32,
    /// At a singular center the coefficients that are given, and whether the equation is linear.
    given: Option<(Given<C>, bool)>,
}

/// What a walk begins with.
pub(crate) struct Begin<'a> {
    /// The center; if it is irrational, a fraction very near to it.
    pub(crate) origin: &'a Rational,
    /// The initial values, all unknowns one after the other.
    pub(crate) initial: &'a [Expr],
    /// Bits of the numbers.
    pub(crate) bits: usize,
    /// Orders of each expansion.
    pub(crate) orders: usize,
    /// log₂ of the tail that is accepted, relative to the solution.
    pub(crate) tolerance: f64,
}

impl<'tape, C: Real> Walker<'tape, C> {
    /// At the center.
    ///
    /// # Errors
    /// When a constant cannot be enclosed.
    pub(crate) fn new(tape: &'tape Tape, begin: &Begin<'_>) -> Result<Self, SeriesError> {
        let directions = if tape.states() > DIRECTIONS {
            0
        } else {
            tape.states()
        };
        let arithmetic = Arithmetic::new(begin.bits, directions);
        let all = |values: &[Expr]| -> Result<Vec<Form<C>>, SeriesError> {
            values
                .iter()
                .map(|value| closed(value, &arithmetic))
                .collect()
        };
        let (constants, initial) = (all(tape.constants())?, all(begin.initial)?);
        if initial.len() != tape.states() {
            return Err(SeriesError::Unsupported("initial values are missing"));
        }
        Ok(Self {
            rows: Rows::new(tape, arithmetic, constants, begin.orders),
            origin: begin.origin.clone(),
            position: Rational::zero(),
            states: frame::turned(&initial),
            tolerance: begin.tolerance,
            scale: 0,
            given: None,
        })
    }

    /// At a singular center: the first expansion and step are of the uⱼ; then [`Self::left`].
    ///
    /// # Errors
    /// When a constant cannot be enclosed.
    pub(crate) fn singular(
        center: &SingularCenter<'tape>,
        begin: &Begin<'_>,
    ) -> Result<Self, SeriesError> {
        let (rows, given) = center.rows(begin.bits, begin.orders)?;
        Ok(Self {
            rows,
            origin: Rational::zero(),
            position: Rational::zero(),
            states: Vec::new(),
            tolerance: begin.tolerance,
            scale: 0,
            given: Some((given, center.linear)),
        })
    }

    /// Away from the singular center: the same solution by its own equation, with y⁽ʲ⁾ = uⱼ/tʲ.
    pub(crate) fn left<'other>(
        &self,
        tape: &'other Tape,
        origin: &Rational,
    ) -> Option<Walker<'other, C>> {
        let arithmetic = &self.rows.arithmetic;
        let t = arithmetic.known(C::from_rational(&self.position, &arithmetic.precision));
        let mut power =
            arithmetic.known(C::from_big(&BigFloat::from_i64(1), &arithmetic.precision));
        let mut states = Vec::with_capacity(self.states.len());
        for state in &self.states {
            states.push(arithmetic.quotient(state, &power).ok()?);
            power = arithmetic.product(&power, &t);
        }
        self.onward(tape, origin, states)
    }

    /// Another equation's solution, on its way from the same place.
    fn onward<'other>(
        &self,
        tape: &'other Tape,
        origin: &Rational,
        states: Vec<Form<C>>,
    ) -> Option<Walker<'other, C>> {
        let arithmetic = &self.rows.arithmetic;
        let constants = tape.constants().iter();
        let constants = constants
            .map(|value| closed(value, arithmetic))
            .collect::<Result<Vec<Form<C>>, SeriesError>>()
            .ok()?;
        Some(Walker {
            rows: Rows::new(tape, arithmetic.clone(), constants, self.rows.wanted),
            origin: origin.clone(),
            position: self.position.clone(),
            states,
            tolerance: self.tolerance,
            scale: self.scale,
            given: None,
        })
    }

    /// How this walk calculates, without uncertain directions.
    pub(crate) fn arithmetic(&self) -> Arithmetic {
        Arithmetic {
            directions: 0,
            ..self.rows.arithmetic.clone()
        }
    }

    /// The reciprocal of the only state, on its way from the same place by its own equation.
    pub(crate) fn inverted<'other>(&self, tape: &'other Tape) -> Option<Walker<'other, C>> {
        let arithmetic = &self.rows.arithmetic;
        let own = self.states.first()?;
        let one = arithmetic.known(C::from_big(&BigFloat::from_i64(1), &arithmetic.precision));
        let inverse = arithmetic.quotient(&one, own).ok()?;
        self.onward(tape, &self.origin, vec![inverse])
    }

    /// Is the state surely positive, or surely negative?
    pub(crate) fn sign(&self, state: usize) -> Option<bool> {
        let form = self.states.get(state)?;
        (form.away_from_zero() > 0.0).then(|| form.mid.lead() > 0.0)
    }

    /// The place, and the states there.
    pub(super) fn state(&self) -> (Rational, &[Form<C>]) {
        (&self.origin + &self.position, &self.states)
    }

    /// About z′/z of a state where the last expansion was.
    pub(crate) fn logarithmic_slope(&self, state: usize) -> f64 {
        let leads = self.rows.all.get(state).map_or(&[][..], |row| &row.leads);
        match leads {
            [value, slope, ..] => libm::ldexp(slope / value, -self.rows.scale),
            _ => f64::NAN,
        }
    }

    /// Works out the expansion where the walk stands.
    ///
    /// # Errors
    /// Where the equations are not surely analytic, and when fuel or range run out.
    pub(crate) fn expand(&mut self, fuel: &mut Fuel) -> Result<(), SeriesError> {
        let arithmetic = &self.rows.arithmetic;
        let place = &self.origin + &self.position;
        let mut center: Form<C> = arithmetic.known(C::from_rational(&place, &arithmetic.precision));
        // The center itself may be irrational.
        center.radius = up(center.radius + self.doubt());
        let states = std::mem::take(&mut self.states);
        self.rows.restart(center, self.scale, &states);
        self.states = states;
        match &self.given {
            Some((given, linear)) => self.rows.extend_singular(given, *linear, fuel),
            None => self.rows.extend(fuel),
        }
    }

    /// At least the difference between a place and the fraction that stands for it.
    fn doubt(&self) -> f64 {
        let farthest = to_f64(&self.origin).abs() + to_f64(&self.position).abs();
        PLACE_UNIT * (1.0 + farthest)
    }

    /// The midpoints of the unknown's coefficients, in powers of 2^[`Self::scale`].
    pub(crate) fn mids(&self, unknown: usize) -> &[C] {
        let start = self.rows.tape.blocks().get(unknown).map_or(0, |b| b.0);
        self.rows.all.get(start).map_or(&[], |row| &row.mids)
    }

    /// log₂ of the unit of the expansion.
    pub(crate) fn scale(&self) -> i32 {
        self.rows.scale
    }

    /// How many bits are certain, in comparison with the largest term of the expansion.
    pub(crate) fn certain_bits(&self) -> f64 {
        let bits = self.states.iter().zip(&self.rows.all).map(|(form, row)| {
            let terms = row.leads.iter().take(row.leads.len() / 2);
            let largest = terms.fold(0.0, |most: f64, lead| most.max(lead.abs()));
            libm::log2(largest / form.spread())
        });
        bits.fold(f64::INFINITY, f64::min)
    }

    /// Steps (see [`crate::budget`]) that a step takes beyond its expansion.
    pub(crate) fn overhead(&self) -> u64 {
        let states = self.rows.tape.states() as u64;
        let operations = self.rows.tape.len() as u64;
        self.rows.wanted as u64 * (16 * operations + states * 8 * self.rows.arithmetic.effort())
    }

    /// How far the last coefficients allow a step, in units of the scale; infinity: no limit seen.
    fn promised(&self) -> f64 {
        let states = self.rows.tape.states();
        let order = self.rows.done;
        let sizes: Vec<f64> = (0..=order)
            .map(|k| {
                let rows = self.rows.all.iter().take(states);
                let size = rows.map(|row| row.leads.get(k).copied().unwrap_or(0.0).abs());
                libm::log2(size.fold(0.0, f64::max))
            })
            .collect();
        #[allow(clippy::cast_precision_loss, reason = "orders are far below 2^53")]
        let float = |k: usize| k as f64;
        let mut reach = 0.0;
        for _ in 0..4 {
            let scale = sizes
                .iter()
                .take(order / 2)
                .enumerate()
                .map(|(k, size)| size + float(k) * reach)
                .fold(f64::NEG_INFINITY, f64::max);
            reach = sizes
                .iter()
                .enumerate()
                .skip(order - order / 4)
                .map(|(k, size)| (scale + self.tolerance - size) / float(k))
                .fold(f64::INFINITY, f64::min);
            if !reach.is_finite() {
                return f64::INFINITY;
            }
        }
        libm::exp2(reach)
    }

    /// The longest step found, not above `limit`, whose tail is below the tolerance: a short
    /// dyadic number, or `limit` itself. `None`: nothing useful is proved here.
    pub(crate) fn reach(&self, limit: &Rational, short: &dyn Fn(f64) -> Rational) -> Option<Reach> {
        let unit = libm::ldexp(1.0, self.rows.scale);
        let whole = to_f64(limit);
        let mut wanted = (self.promised() * unit).min(8.0 * whole);
        for _ in 0..HALVINGS {
            let length = if wanted >= whole {
                limit.clone()
            } else {
                short(wanted)
            };
            if length.is_zero() {
                return None;
            }
            // Conversion is to nearest.
            let scaled = up(to_f64(&length) / unit);
            if let Some(beyond) = tail::beyond(&self.rows, scaled)
                && self.is_small(&beyond, scaled)
            {
                return Some(Reach {
                    length,
                    scaled,
                    beyond,
                });
            }
            wanted = wanted.min(whole) * 0.75;
        }
        None
    }

    /// Are the tails small compared with what the states reach in the step?
    fn is_small(&self, beyond: &[f64], scaled: f64) -> bool {
        let rows = self.rows.all.iter().take(beyond.len());
        let largest = rows
            .map(|row| {
                let mut power = 1.0;
                let mut most = 0.0_f64;
                for lead in row.leads.iter().take(row.leads.len() / 2) {
                    most = most.max(lead.abs() * power);
                    power *= scaled;
                }
                most
            })
            .fold(0.0, f64::max);
        // Uncertainty that is there already need not be undercut by far.
        let spread = self.states.iter().map(Form::spread).fold(0.0, f64::max);
        let accepted = (16.0 * largest * libm::exp2(self.tolerance)).max(spread / 64.0);
        beyond.iter().all(|bound| *bound <= accepted)
    }

    /// The polynomials over a step, and the step itself.
    pub(crate) fn advance(&mut self, reach: &Reach, right: bool) -> Option<Segment<C>> {
        let signed = if right {
            reach.length.clone()
        } else {
            -reach.length.clone()
        };
        let arithmetic = &self.rows.arithmetic;
        let blocks = self.rows.tape.blocks().iter();
        let parts = blocks
            .map(|&(start, _)| {
                let row = self.rows.all.get(start)?;
                Some(Part {
                    mids: row.mids.clone(),
                    slacks: slacks(row, arithmetic),
                    slopes: slopes(row),
                    beyond: *reach.beyond.get(start)?,
                })
            })
            .collect::<Option<Vec<Part<C>>>>()?;
        let to = &self.position + &signed;
        let from = std::mem::replace(&mut self.position, to.clone());
        let segment = Segment {
            start: C::from_rational(&from, &arithmetic.precision),
            begin: to_f64(&from),
            end: to_f64(&to),
            from,
            to,
            scale: self.rows.scale,
            length: reach.scaled,
            doubt: self.doubt(),
            parts,
        };
        let moment = Moment::new(&signed, self.rows.scale, arithmetic, self.rows.wanted + 12);
        let states: Vec<Form<C>> = self
            .rows
            .all
            .iter()
            .zip(&reach.beyond)
            .map(|(row, beyond)| moment.form(row, *beyond, arithmetic))
            .collect();
        if !states.iter().all(|form| form.spread().is_finite()) {
            return None;
        }
        self.states = frame::turned(&states);
        let (_, exponent) = libm::frexp(to_f64(&reach.length));
        self.scale = exponent;
        Some(segment)
    }
}

/// For each order what the computed term may be off, relative to the power: its ball and rounding.
fn slacks<C: Real>(row: &Row<C>, arithmetic: &Arithmetic) -> Vec<f64> {
    #[allow(clippy::cast_precision_loss, reason = "orders are far below 2^53")]
    let rounding = |k: usize| (2 * k + 4 + row.len()) as f64 * arithmetic.operation();
    let bounds = row.spreads.iter().zip(&row.sizes).enumerate();
    bounds
        .map(|(k, (spread, size))| up(spread + rounding(k) * size))
        .collect()
}

/// For each order k at least (k + 1)·|aₖ₊₁|, and 0 for the last.
fn slopes<C: Real>(row: &Row<C>) -> Vec<f64> {
    #[allow(clippy::cast_precision_loss, reason = "orders are far below 2^53")]
    let grown = row
        .sizes
        .iter()
        .enumerate()
        .skip(1)
        .map(|(k, size)| up(k as f64 * size));
    grown.chain([0.0]).collect()
}

/// Powers of a distance from a polynomial's center.
struct Moment<C> {
    /// Falling powers.
    powers: Vec<C>,
    /// At least |power|, rising.
    sizes: Vec<f64>,
    /// Powers as doubles, rising.
    leads: Vec<f64>,
}

impl<C: Real> Moment<C> {
    fn new(distance: &Rational, scale: i32, arithmetic: &Arithmetic, count: usize) -> Self {
        let precision = &arithmetic.precision;
        let unit = BigFloat::power_of_two(-(scale as isize));
        let unit = C::from_big(&unit, precision);
        // Exact: a power of two.
        let t = C::from_rational(distance, precision).mul(&unit, precision);
        let mut powers = Vec::with_capacity(count);
        let mut power = C::from_big(&BigFloat::from_i64(1), precision);
        let size = up(t.lead().abs());
        let (mut sizes, mut leads) = (Vec::with_capacity(count), Vec::with_capacity(count));
        let mut bound = 1.0;
        for _ in 0..count {
            powers.push(power.clone());
            sizes.push(bound);
            leads.push(power.lead());
            power = power.mul(&t, precision);
            bound = up(bound * size);
        }
        powers.reverse();
        Self {
            powers,
            sizes,
            leads,
        }
    }

    fn mid(&self, mids: &[C], arithmetic: &Arithmetic) -> C {
        let precision = &arithmetic.precision;
        let zero = C::from_big(&BigFloat::ZERO, precision);
        let first = self.powers.len().saturating_sub(mids.len());
        let powers = self.powers.get(first..).unwrap_or(&[]);
        C::convolve(zero, mids, powers, precision)
    }

    /// Σ bounds·|power|
    fn bound(&self, bounds: &[f64]) -> f64 {
        up(bounds.iter().zip(&self.sizes).map(|(b, p)| b * p).sum())
    }

    /// A row's value, with its first-order part.
    fn form(&self, row: &Row<C>, beyond: f64, arithmetic: &Arithmetic) -> Form<C> {
        let mut slopes = [0.0; DIRECTIONS];
        let mut lost = 0.0;
        for (slope, own) in slopes.iter_mut().zip(&row.slopes) {
            *slope = own.iter().zip(&self.leads).map(|(g, p)| g * p).sum();
            let sizes = own.iter().zip(&self.sizes);
            lost += sizes.map(|(g, p)| g.abs() * p).sum::<f64>();
        }
        // The slacks hold the spreads, of which the first-order part is followed on its own.
        let rounding: Vec<f64> = slacks(row, arithmetic)
            .iter()
            .zip(row.spreads.iter().zip(&row.radii))
            .map(|(slack, (spread, radius))| (slack - spread).max(0.0) + radius + 1e-12 * spread)
            .collect();
        Form {
            mid: self.mid(&row.mids, arithmetic),
            slopes,
            radius: up(self.bound(&rounding) + beyond + 1e-11 * lost),
        }
    }
}

/// Coefficients that are summed together.
const BLOCK: usize = 7;

/// `Σ mids[k]·tᵏ`, a few terms at a time: sums of products are quicker than Horner's rule, which
/// rounds twice for each term. No term passes through more than 2k + 4 operations and one for each
/// coefficient ([`slacks`]): k of them make tᵏ, two follow for each block, and the rest add up a block.
fn sum<C: Real>(mids: &[C], t: &C, arithmetic: &Arithmetic) -> Option<C> {
    let precision = &arithmetic.precision;
    let mut powers = vec![C::from_big(&BigFloat::from_i64(1), precision)];
    for _ in 0..BLOCK {
        powers.push(powers.last()?.mul(t, precision));
    }
    let whole = powers.pop()?;
    powers.reverse();
    let mut sum = C::from_big(&BigFloat::ZERO, precision);
    for block in mids.chunks(BLOCK).rev() {
        let falling = powers.get(BLOCK - block.len()..)?;
        sum = C::convolve(sum.mul(&whole, precision), block, falling, precision);
    }
    Some(sum)
}

impl<C: Real> Segment<C> {
    /// log₂ of the unit, the length in it (at least), and what is known of one unknown.
    pub(super) fn part(&self, unknown: usize) -> Option<(i32, f64, &Part<C>)> {
        Some((self.scale, self.length, self.parts.get(unknown)?))
    }

    /// A point at this signed distance from the center, as the segment's polynomials want it: the
    /// argument, and at least its size with all that it may be off.
    fn argument(&self, distance: &Rational, arithmetic: &Arithmetic) -> (C, f64, f64) {
        let precision = &arithmetic.precision;
        let unit = BigFloat::power_of_two(-(self.scale as isize));
        let whole = C::from_rational(distance, precision);
        let own = whole.sub(&self.start, precision);
        // Exact: a power of two.
        let t = own.mul(&C::from_big(&unit, precision), precision);
        let rounding = arithmetic.operation() * (size(&whole) + size(&self.start));
        let off = if own.is_zero() {
            rounding
        } else {
            rounding + self.doubt
        };
        let off = up(off * libm::ldexp(1.0, -self.scale));
        (t.clone(), off, up(size(&t) + off))
    }

    /// The value of an unknown at a signed distance from the center, inside the segment.
    pub(crate) fn value(
        &self,
        unknown: usize,
        distance: &Rational,
        arithmetic: &Arithmetic,
    ) -> Option<Enclosed> {
        let part = self.parts.get(unknown)?;
        let (t, off, reach) = self.argument(distance, arithmetic);
        let mid = sum(&part.mids, &t, arithmetic)?;
        // Σ slackₖ|t|ᵏ, and Σ k|aₖ||t|ᵏ⁻¹, which bounds the slope.
        let (mut radius, mut slope) = (0.0, 0.0);
        let bounds = part.slacks.iter().zip(&part.slopes);
        for (slack, own) in bounds.rev() {
            radius = radius * reach + slack;
            slope = slope * reach + own;
        }
        // Of a tail from order n on, at a part of the length.
        let share = up(reach / self.length).min(1.0);
        let mut power = 1.0;
        for _ in 0..part.mids.len() {
            power = up(power * share);
        }
        let radius = up(radius + slope * off + part.beyond * power);
        radius.is_finite().then(|| Enclosed {
            mid: mid.to_big(),
            radius,
        })
    }

    /// About how far, with its sign, the end is from the center.
    pub(crate) fn end(&self) -> f64 {
        self.end
    }

    /// About the value of an unknown, in doubles: for drawing.
    pub(crate) fn about(&self, unknown: usize, distance: f64) -> f64 {
        let t = libm::ldexp(distance - self.begin, -self.scale);
        let mids = self.parts.get(unknown).map_or(&[][..], |part| &part.mids);
        mids.iter().rev().fold(0.0, |sum, mid| sum * t + mid.lead())
    }

    /// Does the segment end before a place that is so far from the center?
    pub(crate) fn ends_before(&self, magnitude: &Rational, about: f64) -> bool {
        let end = self.end.abs();
        if (end - about).abs() > 1e-12 * end {
            end < about
        } else {
            self.to.abs() < *magnitude
        }
    }
}
