//! Proof that a solution leaves every bound, and where.
//!
//! The equations are z′ᵢ = fᵢ(x, z) in the direction of the walk, their right sides sums of terms
//! a(x)·Π zⱼ^αⱼ. Of the states a *reference* z₀ is chosen, and with it all that its equation depends on.
//! With weights pᵢ ≥ 0 (p₀ > 0) the scaled variables are
//!
//! θ = |z₀|^(−1/p₀), which is 0 where z₀ has a pole, and the ratios rᵢ = zᵢ θ^pᵢ, r₀ = ±1.
//!
//! Each term of fᵢ is θ^(−pᵢ−1) times a·Π rⱼ^αⱼ θ^q with q = pᵢ + 1 − Σ pⱼαⱼ. All q must be at least 0: the
//! weights *balance*. Then
//!
//! θ′ = −K and rᵢ′ = Gᵢ/θ with K = r₀F₀/p₀, Gᵢ = Fᵢ − pᵢ rᵢ K,
//!
//! where K and the Gᵢ are sums of terms in x, the ratios, and powers of θ that are not negative. (This is the
//! compactification by powers of A. Takayasu, K. Matsue, T. Sasaki, K. Tanaka, M. Mizuguchi, S. Oishi,
//! J. Comput. Appl. Math. 314 (2017) 10–29, from memory, with a coordinate in place of their norm; the
//! time with dτ = dx/θ makes the pole an equilibrium.) The walk stands where θ = θ₁, at x₁. Let D be the set
//! with 0 < θ ≤ θ₁, x at most L beyond x₁, the *slow* ratios in a box and the others in an ellipsoid
//! `eᵀPe` ≤ ε², e their scaled difference from the middle c. If on all of D
//!
//! 1. k ≤ K ≤ k̄ with k > 0 and θ₁/k < L;
//! 2. for each slow ratio, that is one for which every term of Gᵢ has q > 0, the sum of the terms'
//!    |a Π r^α| θ₁^q/(qk) is less than what is left of its box;
//! 3. `eᵀPe` falls wherever it is ε²,
//!
//! then the solution leaves every bound at a distance between θ₁/k̄ and θ₁/k from x₁. *Proof:* as long as
//! the solution is in D, θ falls at least by k for each unit of x, so that is so for no longer than
//! θ₁/k < L. Where it is in D and θ is not 0, the states are bounded and so it goes on. It leaves D neither
//! through x = x₁ + L, nor through the ellipsoid (3), nor through the box: ∫ θ^(q−1) dx ≤ ∫ θ^(q−1) dθ/k ≤ θ₁^q/(qk),
//! so a slow ratio has moved by less than is left (2). So it stays in D until θ has come down to 0, which
//! takes from θ₁/k̄ to θ₁/k, and |z₀| = θ^(−p₀). ∎
//!
//! 3 follows from the mean value theorem: G(c + e) = g + M e, g the values at e = 0 and M in the matrix of
//! the slopes over D. With PM + `MᵀP` ≤ −w (see [`super::definite`]) the slope of `eᵀPe` is at most
//! (−w|e|² + 2|e||Pg|)/θ, which is negative where |e| > 2|Pg|/w, and |e|² ≥ ε²/Λ where `eᵀPe` = ε², Λ the largest
//! row sum of |P|.
//!
//! If z₀ is the k-th derivative of an unknown and p₀ ≥ k, the unknown itself leaves every bound: |z₀| is at
//! least (k̄ times what is left)^(−p₀) with one sign, and k integrations leave a negative power or a logarithm.

use num_traits::{Signed, Zero};

use super::Ball;
use super::balance::{Scaled, Scales, Sides};
use super::definite::{Matrix, Number, decrease, inverse_diagonal, lyapunov, most};
use super::form::{Arithmetic, DIRECTIONS};
use super::walk::Walker;
use crate::expression::enclose_between;
use crate::number::rational::integer;
use crate::number::upward::{down, up};
use crate::number::{BigFloat, Rational};
use crate::series::floats::Real;

/// Bits of numbers.
const BITS: usize = 192;
/// Powers up to this one are products.
const MOST_PRODUCTS: i64 = 64;
/// The box of a slow ratio is so many times as wide as seems necessary.
const SPARE: f64 = 2.0;
/// A ratio that is pulled by more than one part in so many of its size is pulled far.
const FAR: f64 = 1_048_576.0;

/// Where a walk stands.
pub(crate) struct Standing {
    states: Vec<Number>,
    /// What the states may be off has so many directions.
    directions: usize,
    place: Rational,
    /// Towards larger x?
    right: bool,
}

impl<C: Real> Walker<'_, C> {
    /// The place and the states here.
    pub(crate) fn standing(&self, right: bool) -> Standing {
        let (place, states) = self.state();
        Standing {
            states: states
                .iter()
                .map(|form| Number {
                    mid: form.mid.to_big(),
                    slopes: form.slopes,
                    radius: form.radius,
                })
                .collect(),
            directions: states.len(),
            place,
            right,
        }
    }
}

/// A term whose factor is enclosed.
#[derive(Clone)]
struct Bound {
    factor: Number,
    powers: Vec<Rational>,
    theta: Rational,
}

/// Where bounds are worked out: 0 < θ ≤ top, and the ratios.
struct Region<'a> {
    arithmetic: &'a Arithmetic,
    top: &'a Number,
    ratios: Vec<Number>,
}

/// The equations over a stretch.
struct Equations {
    fall: Vec<Bound>,
    turns: Vec<Vec<Bound>>,
    /// For each ratio whether it is slow.
    slow: Vec<bool>,
}

impl Standing {
    /// How far from here the reference, `own[0]`, surely leaves every bound: from below and from above.
    pub(crate) fn distance(
        &self,
        sides: &Sides,
        own: &[usize],
        weights: &[Rational],
    ) -> Option<(Rational, Rational)> {
        let arithmetic = Arithmetic::new(BITS, self.directions);
        let (reference, first) = (self.states.get(*own.first()?)?, weights.first()?);
        if reference.away_from_zero() <= 0.0 || !first.is_positive() {
            return None;
        }
        let negative = reference.mid.is_negative();
        let scales = Scales {
            own,
            weights,
            negative,
            right: self.right,
        };
        let (fall, turns) = sides.balanced(&scales)?;
        let positive = arithmetic.scaled(reference, if negative { -1 } else { 1 }, 1);
        let power = |exponent: &Rational| arithmetic.power(&positive, exponent).ok();
        let top = flat(&power(&-first.recip())?);
        let others = own.iter().zip(weights).skip(1);
        let ratios = others
            .map(|(state, weight)| {
                let scale = power(&-(weight / first))?;
                Some(flat(&arithmetic.product(self.states.get(*state)?, &scale)))
            })
            .collect::<Option<Vec<_>>>()?;
        let arithmetic = Arithmetic::new(BITS, 0);
        let start = Region {
            arithmetic: &arithmetic,
            top: &top,
            ratios,
        };
        // The stretch must be known before the factors are: far too long, then as it turned out.
        let mut stretch = self.place.abs().max(integer(1)) / integer(100);
        for _ in 0..3 {
            let equations = Equations::over(&fall, &turns, &self.between(&stretch))?;
            let (least, most) = start.bounds(&equations)?;
            if most >= stretch {
                return None;
            }
            if &most * integer(4) > stretch {
                return Some((least, most));
            }
            stretch = most * integer(2);
        }
        None
    }

    /// The places from here on over a stretch; they may be off a little.
    fn between(&self, stretch: &Rational) -> (Rational, Rational) {
        let beside = stretch / integer(1000);
        let (back, ahead) = (&self.place - &beside, &self.place + &beside);
        if self.right {
            (back, ahead + stretch)
        } else {
            (back - stretch, ahead)
        }
    }
}

/// Without directions.
fn flat(number: &Number) -> Number {
    ball(number.mid.clone(), number.spread())
}

fn ball(mid: BigFloat, radius: f64) -> Number {
    Number {
        mid,
        slopes: [0.0; DIRECTIONS],
        radius,
    }
}

/// From 0 to `top`.
fn from_zero(top: f64) -> Number {
    let half = up(top / 2.0);
    ball(BigFloat::from_f64(half), half)
}

fn ends(number: &Number) -> Option<(Rational, Rational)> {
    Ball {
        mid: number.mid.clone(),
        radius: number.spread(),
    }
    .ends()
}

impl Equations {
    fn over(
        fall: &[Scaled],
        turns: &[Vec<Scaled>],
        (low, high): &(Rational, Rational),
    ) -> Option<Self> {
        let arithmetic = Arithmetic::new(BITS, 0);
        let bound = |term: &Scaled| {
            let (least, most) = enclose_between(&term.factor, (low, high), BITS)?;
            let middle = (&least + &most) / integer(2);
            let known: Number =
                arithmetic.known(BigFloat::from_rational(&middle, &arithmetic.precision));
            let half: Number = arithmetic.known(BigFloat::from_rational(
                &((most - least) / integer(2)),
                &arithmetic.precision,
            ));
            Some(Bound {
                factor: ball(known.mid, up(known.radius + super::definite::most(&half))),
                powers: term.powers.clone(),
                theta: term.theta.clone(),
            })
        };
        let all = |terms: &[Scaled]| terms.iter().map(bound).collect::<Option<Vec<_>>>();
        let turning = turns.iter().map(|terms| all(terms));
        Some(Self {
            fall: all(fall)?,
            turns: turning.collect::<Option<Vec<_>>>()?,
            slow: turns
                .iter()
                .map(|terms| terms.iter().all(|term| term.theta.is_positive()))
                .collect(),
        })
    }

    /// Of the ratios that are not slow.
    fn quick(&self) -> Vec<(usize, &[Bound])> {
        let all = self.turns.iter().zip(&self.slow).enumerate();
        all.filter(|(_, (_, slow))| !**slow)
            .map(|(i, (terms, _))| (i, terms.as_slice()))
            .collect()
    }
}

impl Region<'_> {
    fn with(&self, ratios: Vec<Number>) -> Self {
        Self { ratios, ..*self }
    }

    /// For each ratio other bounds of how far it is from its middle.
    fn widened(&self, radii: &[f64]) -> Self {
        let both = self.ratios.iter().zip(radii);
        self.with(
            both.map(|(own, radius)| ball(own.mid.clone(), *radius))
                .collect(),
        )
    }

    /// At least θ^q.
    fn theta(&self, q: &Rational) -> Option<f64> {
        Some(most(&self.arithmetic.power(self.top, q).ok()?))
    }

    fn raised(&self, base: &Number, power: &Rational) -> Option<Number> {
        let whole = power
            .is_integer()
            .then(|| i64::try_from(power.numer()).ok());
        match whole.flatten() {
            Some(count @ 0..=MOST_PRODUCTS) => {
                let one = self.arithmetic.known(BigFloat::from_i64(1));
                Some((0..count).fold(one, |product, _| self.arithmetic.product(&product, base)))
            }
            _ => self.arithmetic.power(base, power).ok(),
        }
    }

    /// The factor times the powers of the ratios.
    fn without_theta(&self, term: &Bound) -> Option<Number> {
        let mut product = term.factor.clone();
        for (base, power) in self.ratios.iter().zip(&term.powers) {
            if !power.is_zero() {
                product = self
                    .arithmetic
                    .product(&product, &self.raised(base, power)?);
            }
        }
        Some(product)
    }

    fn value(&self, terms: &[Bound]) -> Option<Number> {
        let mut sum = self.arithmetic.known(BigFloat::ZERO);
        for term in terms {
            let mut product = self.without_theta(term)?;
            if term.theta.is_positive() {
                let theta = from_zero(self.theta(&term.theta)?);
                product = self.arithmetic.product(&product, &theta);
            }
            sum = self.arithmetic.sum(&sum, &product, false);
        }
        Some(sum)
    }

    /// The slope along a ratio.
    fn slope(&self, terms: &[Bound], along: usize) -> Option<Number> {
        let mut parts = Vec::new();
        for term in terms {
            let power = term.powers.get(along)?;
            if !power.is_zero() {
                let mut part = term.clone();
                let factor = BigFloat::from_rational(power, &self.arithmetic.precision);
                let factor = self.arithmetic.known(factor);
                part.factor = self.arithmetic.product(&part.factor, &factor);
                *part.powers.get_mut(along)? -= integer(1);
                parts.push(part);
            }
        }
        self.value(&parts)
    }

    /// θ₁/k̄ and θ₁/k, proved by the conditions above but for θ₁/k < L; the ratios are where the walk
    /// stands.
    fn bounds(&self, equations: &Equations) -> Option<(Rational, Rational)> {
        let mut radii: Vec<f64> = self.ratios.iter().map(|own| own.radius).collect();
        let slow = |(i, slow): (usize, &bool)| slow.then_some(i);
        let slow: Vec<usize> = equations.slow.iter().enumerate().filter_map(slow).collect();
        // The middle, with boxes as wide as the slow ratios seem to need.
        let fall = least(&self.value(&equations.fall)?)?;
        for &i in &slow {
            let moved = self.moved(equations.turns.get(i)?, fall)?;
            let radius = radii.get_mut(i)?;
            *radius = up(SPARE * (moved + *radius));
        }
        if let quick @ [_, ..] = equations.quick().as_slice() {
            for (i, radius) in self.ellipsoid(quick, &radii)? {
                *radii.get_mut(i)? = radius;
            }
        }
        let region = self.widened(&radii);
        let fall = region.value(&equations.fall)?;
        let slowest = least(&fall)?;
        for i in slow {
            let moved = region.moved(equations.turns.get(i)?, slowest)?;
            let off = self.ratios.get(i)?.radius;
            if up(moved + off) >= *radii.get(i)? {
                return None;
            }
        }
        let ((low, high), (nearest, farthest)) = (ends(&fall)?, ends(self.top)?);
        if !(low.is_positive() && nearest.is_positive()) {
            return None;
        }
        Some((nearest / high, farthest / low))
    }

    /// How far a slow ratio moves at most while θ falls at least by `fall` for each unit.
    fn moved(&self, terms: &[Bound], fall: f64) -> Option<f64> {
        let mut sum = 0.0;
        for term in terms {
            let factor = most(&self.without_theta(term)?) * self.theta(&term.theta)?;
            sum += factor / (crate::number::to_f64(&term.theta) * fall);
        }
        Some(up(sum))
    }

    /// Proves that the quick ratios do not leave an ellipsoid; for each of them how far it reaches.
    fn ellipsoid(&self, quick: &[(usize, &[Bound])], radii: &[f64]) -> Option<Vec<(usize, f64)>> {
        let arithmetic = self.arithmetic;
        let places: Vec<usize> = quick.iter().map(|(i, _)| *i).collect();
        let mut inner = radii.to_vec();
        for &i in &places {
            *inner.get_mut(i)? = 0.0;
        }
        let middle = self.widened(&inner);
        let pulls = quick
            .iter()
            .map(|(_, terms)| Some(most(&middle.value(terms)?)))
            .collect::<Option<Vec<f64>>>()?;
        // About the size of each, as a power of two: so scaling is exact. What is pulled far has a large
        // one, or the ellipsoid would be wide for all.
        let units = places.iter().zip(&pulls).map(|(i, pull)| {
            let size = self.ratios.get(*i)?.mid.lead().abs().max(pull * FAR);
            let (_, exponent) = libm::frexp(if size < 1e-6 { 1.0 } else { size });
            Some(libm::ldexp(1.0, exponent))
        });
        let units = units.collect::<Option<Vec<f64>>>()?;
        let slopes = |region: &Self| -> Option<Vec<Vec<Number>>> {
            let rows = quick.iter().zip(&units);
            rows.map(|((_, terms), own)| {
                let columns = places.iter().zip(&units);
                columns
                    .map(|(j, unit)| {
                        let share = arithmetic.known(BigFloat::from_f64(unit / own));
                        Some(arithmetic.product(&region.slope(terms, *j)?, &share))
                    })
                    .collect()
            })
            .collect()
        };
        let about: Matrix = slopes(&middle)?
            .iter()
            .map(|row| row.iter().map(|value| value.mid.lead()).collect())
            .collect();
        let p = lyapunov(&about)?;
        let inverse = inverse_diagonal(&p, arithmetic)?;
        let row_sum = |row: &Vec<f64>| row.iter().copied().map(f64::abs).sum::<f64>();
        let largest = up(p.iter().map(row_sum).fold(0.0, f64::max));
        // |Pg|² and |e|² at the start, at most.
        let pulls: Vec<f64> = pulls.iter().zip(&units).map(|(g, unit)| g / unit).collect();
        let pulled = p.iter().map(|row| {
            let sizes = row.iter().zip(&pulls);
            let sum = up(sizes.map(|(p, g)| p.abs() * g).sum::<f64>());
            sum * sum
        });
        let pulled = up(pulled.sum::<f64>());
        let mut begun = 0.0;
        for (i, unit) in places.iter().zip(&units) {
            let off = self.ratios.get(*i)?.radius / unit;
            begun += off * off;
        }
        let begun = up(largest * up(begun));
        // Twice as far as is necessary where M hardly varies.
        let square = 16.0 * largest * pulled + 4.0 * begun + 1e-200;
        let reach = |(inverse, unit): (&f64, &f64)| up(libm::sqrt(up(square * inverse)) * unit);
        let reaches: Vec<f64> = inverse.iter().zip(&units).map(reach).collect();
        let mut outer = radii.to_vec();
        for (i, reach) in places.iter().zip(&reaches) {
            *outer.get_mut(*i)? = *reach;
        }
        let fall = decrease(&p, &slopes(&self.widened(&outer))?, arithmetic)?;
        let holds = down(fall * fall * square, up(4.0 * largest * pulled)) > 0.0 && begun < square;
        holds.then(|| places.into_iter().zip(reaches).collect())
    }
}

/// A positive bound from below.
fn least(number: &Number) -> Option<f64> {
    let least = number.away_from_zero();
    (least > 0.0 && !number.mid.is_negative()).then_some(least)
}
