//! How far the series converges: singular points of the equation, and the radius of convergence with
//! its reason. A bound that is not proved to be the radius is never called the radius.

mod around;
mod classify;
mod fraction;
mod laurent;
mod linear;
mod place;
mod quadratic;
mod signs;
mod sites;
#[cfg(test)]
mod tests;
mod zeros;

pub use place::{Distance, Place, rounded_down, rounded_up};
pub(crate) use zeros::aberth as approximate_zeros;

use crate::candidate::{Candidate, Verdict};
use crate::derivation::{Convergence as Series, EveryOrder};
use crate::expression::{Expr, Symbol, Truth, evaluate, zero_test};
use crate::number::Rational;
use crate::problem::Problem;

use linear::{Linear, TwoTerm};
use sites::{Finder, Sites};

/// What a singular point is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// The leading coefficient is zero, but divides the others: an ordinary point.
    Removable,
    /// Regular singular.
    Regular,
    /// Irregular singular.
    Irregular,
    /// Regular singular, but all solutions are analytic there.
    Apparent,
    /// An ordinary point of the homogeneous equation, at which the right side is singular.
    Forcing,
    /// A root, logarithm or inverse function in a coefficient branches there.
    Branch,
    /// A coefficient is not analytic there (or not shown to be); which kind was not found out.
    Singular,
}

/// lim (x − x₀)ᵏ pₖ(x).
#[derive(Clone, Debug, PartialEq)]
pub struct Limit {
    /// k.
    pub power: usize,
    /// The limit.
    pub value: LimitValue,
}

/// A complex limit.
#[derive(Clone, Debug, PartialEq)]
pub enum LimitValue {
    /// Real and imaginary part, closed constants.
    Exact(Expr, Expr),
    /// Rounded.
    About(f64, f64),
    /// There is none: it grows without bound.
    None,
}

/// A singular point of a linear equation.
#[derive(Clone, Debug, PartialEq)]
pub struct SingularPoint {
    /// Where.
    pub place: Place,
    /// How far from the center.
    pub distance: Distance,
    /// What it is.
    pub kind: Kind,
    /// The limits that show it; none where they are not worked out.
    pub limits: Vec<Limit>,
    /// The exponents of an apparent singularity.
    pub exponents: Vec<u32>,
    /// What is zero there, where a coefficient is no quotient of polynomials.
    pub cause: Option<Expr>,
}

/// What is known of the radius.
#[derive(Clone, Debug, PartialEq)]
pub enum Radius {
    /// The series converges everywhere.
    Infinite,
    /// This: exactly, or between these bounds.
    Exact(Distance),
    /// At least this.
    AtLeast(Distance),
    /// Nothing.
    Unknown,
}

/// Why.
#[derive(Clone, Debug, PartialEq)]
pub enum Reason {
    /// A linear equation without singular points.
    NoSingularPoint,
    /// The solution is a polynomial: put into the equation, nothing is left.
    Polynomial,
    /// The solution is a formula that was proved, and analytic everywhere.
    EntireFormula,
    /// A formula that was proved, analytic up to this place.
    Formula,
    /// The distance to the nearest singular point of a linear equation.
    Nearest,
    /// The recurrence relation has two terms, `step` apart, whose ratio tends to `ratio` in size.
    TwoTerm {
        /// The step.
        step: usize,
        /// |cₙ₊ₛₜₑₚ/cₙ| tends to this.
        ratio: Rational,
    },
    /// The recurrence relation has two terms, and their ratio tends to zero.
    RatioToZero,
    /// y′ is a quadratic polynomial in y with constant coefficients: solved by separating variables.
    /// The nearest pole is here (times from the center).
    Separated(Place),
    /// A pole on the real axis, proved and bracketed; by the signs of the coefficients the nearest.
    Pole(Side),
    /// The series about a singular center diverges everywhere else.
    Formal,
    /// No theorem was found to apply.
    NoTheorem,
}

/// Where the nearest singularity of the solution must be, since no coefficient is negative (up to a
/// reflection): Pringsheim's theorem.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Side {
    /// On the real axis, to the left of the center.
    Left,
    /// To the right.
    Right,
}

/// What is known of the convergence of a series.
#[derive(Clone, Debug, PartialEq)]
pub struct Convergence {
    /// The radius.
    pub radius: Radius,
    /// Why.
    pub reason: Reason,
    /// Singular points of the equation, the nearest first. The center is among them where it is one.
    pub points: Vec<SingularPoint>,
    /// There are more, farther away.
    pub more: bool,
    /// The center is singular; of this kind.
    pub center: Option<Kind>,
    /// The equation is linear.
    pub linear: bool,
    /// On which side the nearest singularity is, where a theorem tells.
    pub side: Option<Side>,
}

/// What is known of a problem without letters.
///
/// `coefficients`: the exact Taylor coefficients of each unknown. `candidate`: a tested formula.
/// `every`: what was found where the work goes order by order.
pub fn convergence(
    problem: &Problem,
    coefficients: &[Vec<Expr>],
    candidate: Option<&Candidate>,
    every: Option<&EveryOrder>,
) -> Convergence {
    let mut found = Convergence {
        radius: Radius::Unknown,
        reason: Reason::NoTheorem,
        points: Vec::new(),
        more: false,
        center: None,
        linear: false,
        side: None,
    };
    let one = match (problem.equations.as_slice(), problem.unknowns.as_slice()) {
        ([equation], [unknown]) => Linear::of(equation, unknown.equation_order),
        _ => None,
    };
    let listed = match &one {
        Some(linear) => equation_points(linear, &problem.center),
        None => system_points(problem),
    };
    if let Some((mut points, more)) = listed {
        sort_by_distance(&mut points);
        let here = Place::real(problem.center.clone());
        let own = |point: &&SingularPoint| point.kind != Kind::Removable && point.place.same(&here);
        let singular = problem.order_by_order().is_some();
        found.center = points.iter().find(own).map(|p| p.kind).filter(|_| singular);
        if !singular {
            // An ordinary center, shown by the coefficients' being analytic there.
            points.retain(|p| p.kind == Kind::Removable || !p.place.same(&here));
        }
        found.linear = true;
        (found.points, found.more) = (points, more);
        (found.radius, found.reason) = by_nearest(&found.points, &here);
    } else if problem.order_by_order().is_none() {
        found.side = signs::side(problem);
        if let Some((radius, place)) = quadratic::radius(problem) {
            (found.radius, found.reason) = match place {
                Some(place) => (radius, Reason::Separated(place)),
                None => (radius, Reason::Polynomial),
            };
        }
    }
    if every.is_some_and(|every| every.convergence != Series::Converges) {
        // Only formally a solution, as far as is known.
        let diverges = every.is_some_and(|every| every.convergence == Series::Diverges);
        (found.radius, found.reason) = if diverges {
            (exactly(&Expr::zero()), Reason::Formal)
        } else {
            (Radius::Unknown, Reason::NoTheorem)
        };
    }
    if is_polynomial(problem, coefficients, found.linear, every) {
        (found.radius, found.reason) = (Radius::Infinite, Reason::Polynomial);
    } else if let Some(better) = by_formula(problem, candidate) {
        if found.radius != Radius::Infinite {
            (found.radius, found.reason) = better;
        }
    } else if found.radius != Radius::Infinite
        && let (Some(linear), Some(own)) = (&one, coefficients.first())
    {
        match linear::two_term(linear, &problem.center, own) {
            Some(TwoTerm::Ends) => {
                (found.radius, found.reason) = (Radius::Infinite, Reason::Polynomial);
            }
            Some(TwoTerm::Entire) => {
                (found.radius, found.reason) = (Radius::Infinite, Reason::RatioToZero);
            }
            Some(TwoTerm::Ratio { step, ratio }) => {
                let power = -crate::number::rational::integer(1)
                    / crate::number::rational::integer(i64::try_from(step).unwrap_or(1));
                let value = Expr::power(Expr::number(ratio.clone()), Expr::number(power));
                (found.radius, found.reason) = (exactly(&value), Reason::TwoTerm { step, ratio });
            }
            None => {}
        }
    }
    found
}

/// Of so many of the nearest singular points the limits are worked out.
const SETTLED: usize = 8;

fn sort_by_distance(points: &mut [SingularPoint]) {
    crate::sorting::sort_by(points, |a, b| a.distance.low.cmp(&b.distance.low));
}

/// A radius that is exactly this closed constant.
fn exactly(value: &Expr) -> Radius {
    let known = evaluate(value).ok().and_then(|value| {
        let (low, high) = place::bounds(&value)?;
        Some(Distance {
            exact: Some(value),
            low,
            high,
        })
    });
    known.map_or(Radius::Unknown, Radius::Exact)
}

/// Singular points of one linear equation; `None` when they could not be found.
fn equation_points(linear: &Linear, center: &Expr) -> Option<(Vec<SingularPoint>, bool)> {
    let normal = linear.normal_form()?;
    if let Some(mut points) = linear::singular_points(linear, center) {
        for point in &mut points {
            classify::find_apparent(point, &normal);
        }
        return Some((points, false));
    }
    let forcing = normal.len();
    let mut finder = Finder::new(center);
    let mut found: Vec<SingularPoint> = Vec::new();
    let mut more = false;
    for (coefficient, k) in normal.iter().zip(1_u32..) {
        let sites = finder.sites(coefficient)?;
        more |= sites.more;
        for site in sites::merged(sites.all, u32::max) {
            let is_forcing = usize::try_from(k).ok()? == forcing;
            let kind = match site.order {
                _ if is_forcing => Kind::Forcing,
                Some(order) if order <= k => Kind::Regular,
                None if site.branch => Kind::Branch,
                _ => Kind::Singular,
            };
            let place = site.place;
            match found.iter_mut().find(|point| point.place.same(&place)) {
                // The right side does not change what a singular point of the others is.
                Some(_) if is_forcing => {}
                Some(point) if kind == Kind::Branch => point.kind = kind,
                Some(point) if kind == Kind::Singular && point.kind != Kind::Branch => {
                    point.kind = kind;
                }
                Some(_) => {}
                None => found.push(SingularPoint {
                    distance: place.distance(center)?,
                    place,
                    kind,
                    limits: Vec::new(),
                    exponents: Vec::new(),
                    cause: Some(site.cause),
                }),
            }
        }
    }
    // The nearest ones in detail.
    sort_by_distance(&mut found);
    let mut near = 0;
    found.retain_mut(|point| {
        near += 1;
        if near > SETTLED {
            return true;
        }
        let stays = classify::settle(point, &normal);
        classify::find_apparent(point, &normal);
        stays
    });
    // Zeros of the leading coefficient at which all coefficients are analytic.
    let leading = linear.coefficients.last()?;
    for (place, _) in finder.zeros(leading).unwrap_or_default() {
        if !found.iter().any(|point| point.place.same(&place)) {
            found.push(SingularPoint {
                distance: place.distance(center)?,
                place,
                kind: Kind::Removable,
                limits: Vec::new(),
                exponents: Vec::new(),
                cause: None,
            });
        }
    }
    Some((found, more))
}

/// Singular points of the coefficients of a linear system; `None` when it is not linear, or they
/// could not be found.
fn system_points(problem: &Problem) -> Option<(Vec<SingularPoint>, bool)> {
    let mut found: Vec<SingularPoint> = Vec::new();
    let mut more = false;
    if problem.equations.len() < 2 {
        return None;
    }
    let mut finder = Finder::new(&problem.center);
    for equation in &problem.equations {
        let right = Expr::sum(equation.solved.clone());
        let unknowns: Vec<Symbol> = right
            .symbols()
            .into_iter()
            .filter(|s| matches!(s, Symbol::Derivative { .. }))
            .collect();
        let mut parts: Vec<Expr> = unknowns.iter().map(|s| right.partial(s)).collect();
        if parts.iter().any(Expr::has_derivative) {
            return None;
        }
        parts.push(right.substitute(&|symbol| match symbol {
            Symbol::Derivative { .. } => Some(Expr::zero()),
            Symbol::Variable | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        }));
        for part in parts {
            let Sites { all, more: also } = finder.sites(&part)?;
            more |= also;
            for site in all {
                if !found.iter().any(|point| point.place.same(&site.place)) {
                    found.push(SingularPoint {
                        distance: site.place.distance(&problem.center)?,
                        place: site.place,
                        kind: Kind::Singular,
                        limits: Vec::new(),
                        exponents: Vec::new(),
                        cause: Some(site.cause),
                    });
                }
            }
        }
    }
    Some((found, more))
}

/// At least the distance to the nearest singular point other than the center (Fuchs).
fn by_nearest(points: &[SingularPoint], here: &Place) -> (Radius, Reason) {
    let harmless = |kind| matches!(kind, Kind::Removable | Kind::Apparent);
    let singular = |p: &&SingularPoint| !harmless(p.kind) && !p.place.same(here);
    let mut nearest: Option<&Distance> = None;
    for point in points.iter().filter(singular) {
        if nearest.is_none_or(|own| !own.at_most(&point.distance)) {
            // Where two cannot be told apart, the lower bound of the lower one holds for both.
            let sure = nearest.is_none_or(|own| point.distance.at_most(own));
            if sure || nearest.is_some_and(|own| point.distance.low < own.low) {
                nearest = Some(&point.distance);
            }
        }
    }
    match nearest {
        Some(distance) => (Radius::AtLeast(distance.clone()), Reason::Nearest),
        None => (Radius::Infinite, Reason::NoSingularPoint),
    }
}

/// Is the Taylor polynomial the solution? Put into the equation, and multiplied out, it leaves
/// nothing. (It has the initial values, and there is only one solution with them: by theorem, or because every
/// later order has one value.)
fn is_polynomial(
    problem: &Problem,
    coefficients: &[Vec<Expr>],
    linear: bool,
    every: Option<&EveryOrder>,
) -> bool {
    /// Terms of a product that is multiplied out.
    const TERMS: usize = 4000;
    let Some(first) = coefficients.first() else {
        return false;
    };
    let one = problem.order_by_order().is_none()
        || every.is_some_and(|every| {
            every.convergence == Series::Converges && every.determines_all_from(first.len())
        });
    if !one {
        return false;
    }
    let highest = |own: &Vec<Expr>| own.iter().rposition(|c| !c.is_zero());
    let reached = coefficients.iter().filter_map(highest).max().unwrap_or(0);
    // Of a nonlinear equation only where it seems to have ended: putting it in is long.
    if reached + 1 >= first.len() && reached > 0 && !linear {
        return false;
    }
    let x = Expr::variable().sub(&problem.center);
    let polynomials: Vec<Expr> = coefficients
        .iter()
        .map(|own| {
            let terms = (0_i64..).zip(own).filter(|(_, c)| !c.is_zero());
            Expr::sum(terms.map(|(k, c)| c.mul(&x.pow_int(k))).collect())
        })
        .collect();
    let value = |unknown: usize, order: u32| {
        let own = polynomials.get(unknown)?;
        Some((0..order).fold(own.clone(), |e, _| e.partial(&Symbol::Variable)))
    };
    problem.equations.iter().all(|equation| {
        let (left, right) = &equation.standing;
        let whole = Expr::sum(left.clone()).sub(&Expr::sum(right.clone()));
        let put = whole.substitute(&|symbol| match symbol {
            Symbol::Derivative { unknown, order } => value(*unknown, *order),
            Symbol::Variable | Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_) => None,
        });
        let Some(left) = put.polynomial_coefficients(&Symbol::Variable) else {
            return put.expand(TERMS).is_zero();
        };
        left.iter().all(|c| zero_test(c) == Truth::Zero)
    })
}

/// Beside a singular center: a simple place at which the equation is ordinary, and how far a power series about
/// it converges at least (`None`: everywhere, or not known).
pub fn ordinary_near(found: &Convergence, center: &Expr) -> Option<(Expr, Option<Distance>)> {
    /// Tried one after the other, in quarters.
    const QUARTERS: [i64; 6] = [4, -4, 2, -2, 1, -1];
    if !found.linear || found.more {
        return None;
    }
    QUARTERS.into_iter().find_map(|quarters| {
        let step = crate::number::rational::ratio(quarters, 4);
        let place = evaluate(&center.add(&Expr::number(step))).ok()?;
        let mut nearest: Option<Distance> = None;
        for point in found.points.iter().filter(|p| p.kind != Kind::Removable) {
            let distance = point.place.distance(&place)?;
            if distance.low <= Rational::default() {
                return None;
            }
            if nearest.as_ref().is_none_or(|own| distance.low < own.low) {
                nearest = Some(distance);
            }
        }
        Some((place, nearest))
    })
}

/// What a formula that was proved tells.
fn by_formula(problem: &Problem, candidate: Option<&Candidate>) -> Option<(Radius, Reason)> {
    let candidate = candidate.filter(|c| c.verdict == Verdict::Satisfied)?;
    let formula = candidate.derivatives.first()?;
    if formula.has_parameter() {
        return None;
    }
    if sites::is_entire(formula) {
        return Some((Radius::Infinite, Reason::EntireFormula));
    }
    let center = &problem.center;
    let here = Place::real(center.clone());
    let all = match fraction::Fraction::of(formula) {
        // In lowest terms: every zero of the denominator is a pole.
        Some(fraction) => {
            let mut places = Vec::new();
            for (factor, _) in fraction.below.by_multiplicity() {
                places.extend(zeros::zeros(&factor)?);
            }
            let mut nearest: Option<Distance> = None;
            for place in places {
                let distance = place.distance(center)?;
                if nearest.as_ref().is_none_or(|own| distance.at_most(own)) {
                    nearest = Some(distance);
                } else if !nearest.as_ref().is_some_and(|own| own.at_most(&distance)) {
                    return None;
                }
            }
            return Some((Radius::Exact(nearest?), Reason::Formula));
        }
        None => Finder::new(center).sites(formula)?,
    };
    let mut points = Vec::new();
    for site in all.all {
        points.push(SingularPoint {
            distance: site.place.distance(center)?,
            place: site.place,
            kind: Kind::Singular,
            limits: Vec::new(),
            exponents: Vec::new(),
            cause: Some(site.cause),
        });
    }
    let (radius, _) = by_nearest(&points, &here);
    Some((radius, Reason::Formula))
}
