//! A system of equations whose right sides are sums of powers of the unknowns, and the same in
//! variables in which a pole is an ordinary place (see [`super::escape`]).

use num_traits::{One, Signed, Zero};

use crate::expression::{Expr, Node, Symbol};
use crate::number::Rational;
use crate::number::rational::integer;

/// Most terms of a right side, multiplied out.
const MOST_TERMS: usize = 200;

/// A term a(x)·Π zⱼ^αⱼ.
#[derive(Clone, Debug)]
struct Term {
    factor: Expr,
    /// The states that occur, with their powers.
    powers: Vec<(usize, Rational)>,
}

/// The right sides of the states' equations z′ᵢ = fᵢ(x, z); `None` for one that is no sum of powers.
#[derive(Clone, Debug)]
pub(crate) struct Sides(Vec<Option<Vec<Term>>>);

/// A term a(x)·Π rⱼ^αⱼ·θ^q.
#[derive(Clone, Debug)]
pub(super) struct Scaled {
    pub(super) factor: Expr,
    /// For each ratio its power.
    pub(super) powers: Vec<Rational>,
    /// q, not negative.
    pub(super) theta: Rational,
}

/// What the variables are scaled by.
pub(super) struct Scales<'a> {
    /// The states that hang together, the reference first.
    pub(super) own: &'a [usize],
    /// Their weights.
    pub(super) weights: &'a [Rational],
    /// The reference is negative.
    pub(super) negative: bool,
    /// The walk goes towards larger x.
    pub(super) right: bool,
}

impl Sides {
    /// For the equations as solved for their highest derivatives; `blocks` as in
    /// [`crate::series::Tape::blocks`].
    pub(crate) fn of(solved: &[Expr], blocks: &[(usize, usize)]) -> Self {
        let mut sides = Vec::new();
        for (side, &(start, order)) in solved.iter().zip(blocks) {
            for next in start + 1..start + order {
                sides.push(Some(vec![Term {
                    factor: Expr::one(),
                    powers: vec![(next, Rational::one())],
                }]));
            }
            sides.push(terms(side, blocks));
        }
        Self(sides)
    }

    /// The state itself and all that its equation depends on, directly or not.
    pub(crate) fn closure(&self, state: usize) -> Option<Vec<usize>> {
        let mut own = vec![state];
        let mut next = 0;
        while let Some(&state) = own.get(next) {
            for term in self.0.get(state)?.as_ref()? {
                for (other, _) in &term.powers {
                    if !own.contains(other) {
                        own.push(*other);
                    }
                }
            }
            next += 1;
        }
        Some(own)
    }

    /// In scaled variables, θ′ = −K and rᵢ′ = Gᵢ/θ: K, and Gᵢ of each ratio. `None` where the weights
    /// do not balance.
    pub(super) fn balanced(&self, scales: &Scales<'_>) -> Option<(Vec<Scaled>, Vec<Vec<Scaled>>)> {
        let sides = scales.own.iter().zip(scales.weights);
        let sides = sides
            .map(|(state, weight)| {
                let terms = self.0.get(*state)?.as_ref()?;
                terms
                    .iter()
                    .map(|term| scaled(term, weight, scales))
                    .collect::<Option<Vec<_>>>()
            })
            .collect::<Option<Vec<_>>>()?;
        let (first, others) = sides.split_first()?;
        let (own, weights) = scales.weights.split_first()?;
        let sign = integer(if scales.negative { -1 } else { 1 });
        let fall = merged(times(first, &(sign / own), None));
        let turns = others.iter().zip(weights).enumerate();
        let turns = turns
            .map(|(i, (side, weight))| {
                let mut all = side.clone();
                all.extend(times(&fall, &-weight, Some(i)));
                merged(all)
            })
            .collect();
        Some((fall, turns))
    }
}

/// The terms of a right side, multiplied out.
fn terms(side: &Expr, blocks: &[(usize, usize)]) -> Option<Vec<Term>> {
    let expanded = side.expand(MOST_TERMS).terms();
    if expanded.len() > MOST_TERMS {
        return None;
    }
    let term = |term: &Expr| {
        let (mut factors, mut powers) = (Vec::new(), Vec::new());
        for factor in term.factors() {
            if !factor.has_derivative() {
                factors.push(factor);
                continue;
            }
            let (base, exponent) = match factor.node() {
                Node::Power(base, exponent) => (base, exponent.as_number()?.clone()),
                _ => (&factor, Rational::one()),
            };
            let Node::Symbol(Symbol::Derivative { unknown, order }) = base.node() else {
                return None;
            };
            let (start, _) = blocks.get(*unknown)?;
            powers.push((start + *order as usize, exponent));
        }
        Some(Term {
            factor: Expr::product(factors),
            powers,
        })
    };
    expanded
        .iter()
        .filter(|own| !own.is_zero())
        .map(term)
        .collect()
}

/// A term of the state with this weight: fᵢ = θ^(−pᵢ−1) Fᵢ.
fn scaled(term: &Term, weight: &Rational, scales: &Scales<'_>) -> Option<Scaled> {
    let mut theta = weight + integer(1);
    let mut powers = vec![Rational::zero(); scales.own.len() - 1];
    let mut minus = !scales.right;
    for (state, power) in &term.powers {
        let place = scales.own.iter().position(|own| own == state)?;
        theta -= scales.weights.get(place)? * power;
        if let Some(place) = place.checked_sub(1) {
            *powers.get_mut(place)? += power;
        } else if scales.negative {
            if !power.is_integer() {
                return None;
            }
            minus ^= num_integer::Integer::is_odd(power.numer());
        }
    }
    let factor = if minus {
        term.factor.neg()
    } else {
        term.factor.clone()
    };
    (!theta.is_negative()).then_some(Scaled {
        factor,
        powers,
        theta,
    })
}

/// All terms times a number, and times a ratio.
fn times(terms: &[Scaled], number: &Rational, ratio: Option<usize>) -> Vec<Scaled> {
    let mut all = terms.to_vec();
    for term in &mut all {
        term.factor = term.factor.scale(number);
        if let Some(power) = ratio.and_then(|i| term.powers.get_mut(i)) {
            *power += integer(1);
        }
    }
    all
}

/// Terms with the same powers are one.
fn merged(terms: Vec<Scaled>) -> Vec<Scaled> {
    let mut all: Vec<Scaled> = Vec::new();
    for term in terms {
        let like = |other: &&mut Scaled| other.powers == term.powers && other.theta == term.theta;
        match all.iter_mut().find(like) {
            Some(found) => found.factor = found.factor.add(&term.factor),
            None => all.push(term),
        }
    }
    all.retain(|term| !term.factor.is_zero());
    all
}
