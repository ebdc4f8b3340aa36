//! Bounds against solutions that are known in closed form.

use super::*;
use crate::problem::understand;

fn proved(equation: &str, conditions: &str, reach: f64) -> (Problem, Proved) {
    let (problem, diagnostics) = understand(equation, conditions, "5", &Budget::PAGE);
    let problem = problem.unwrap_or_else(|| panic!("{equation}: {diagnostics:?}"));
    let proved = prove(&problem, 8, reach, &Budget::PAGE).expect("a disc");
    (problem, proved)
}

/// Without the enclosed steps.
fn source(proved: &Proved, count: usize) -> Source<'_> {
    Source {
        proved,
        unknown: 0,
        stretches: &[],
        count,
    }
}

/// With them.
fn found(
    (equation, conditions): (&str, &str),
    (low, high): (i64, i64),
    degree: usize,
    (tolerance, place): (Tolerance, Option<&Expr>),
) -> Remainder {
    let (problem, own) = proved(equation, conditions, 3.0);
    let aim = crate::reference::Aim { degree, digits: 15 };
    let ends = Some((Expr::int(low), Expr::int(high)));
    let solved = crate::reference::solve(&problem, ends, &[], aim, &Budget::PAGE, &mut |_| true);
    let question = Question {
        degree,
        center: (&problem.center, 0.0),
        interval: solved[0].interval,
        tolerance,
        place,
    };
    remainder(&own, 0, &question, &solved[0].stretches)
}

fn within(above: i64, below: i64) -> Tolerance {
    Tolerance::new(&crate::number::rational::ratio(above, below))
}

#[test]
fn bounds_hold_and_are_near_the_truth() {
    // e^x on |x| ≤ 1: the largest difference is e − Σ 1/k!, and so is the bound.
    let (_, own) = proved("y' = y", "y(0) = 1", 1.0);
    let mut rest = std::f64::consts::E;
    let mut term = 1.0;
    for (n, bound) in (0_u32..12).zip(own.bounds(0, 1.0)) {
        rest -= term;
        term /= f64::from(n + 1);
        assert!(
            bound >= rest * (1.0 - 1e-6) && bound <= rest * (1.0 + 1e-6),
            "{n}: {bound} {rest}"
        );
    }
    // Every derivative of e^x on |x| ≤ 1 is at most e.
    let derivative = own.derivative(0, 4, 1.0).unwrap();
    assert!(
        (std::f64::consts::E..2.7184).contains(&derivative),
        "{derivative}"
    );
    // 1/(1 − x): radius 1.
    let (_, own) = proved("y' = y^2", "y(0) = 1", 1.0);
    assert!((0.9..1.0).contains(&own.radius), "{}", own.radius);
    for (n, bound) in own.bounds(0, 0.5).iter().take(20).enumerate() {
        let truth = libm::ldexp(1.0, -i32::try_from(n).unwrap());
        assert!(
            *bound >= truth * (1.0 - 1e-12) && *bound <= truth * 1.001,
            "{n}: {bound}"
        );
    }
}

#[test]
fn a_tolerance_is_kept_up_to_where_it_is() {
    // cos x, degree 2: |cos x − 1 + x²/2| ≤ 1/100 up to x = 0.70112….
    let (_, own) = proved("y'' = -y", "y(0) = 1, y'(0) = 0", 2.0);
    let way = |sign| source(&own, 5).way(sign, 2.0);
    let sides = [-1.0, 1.0].map(|sign| sides(&way(sign), 5, within(1, 100)));
    let within = |n: usize| [sides[0][n], sides[1][n]];
    let difference = |x: f64| libm::fabs(libm::cos(x) - 1.0 + x * x / 2.0);
    for side in within(2) {
        let broken = side.broken.unwrap();
        assert!(
            difference(side.kept) <= 0.01 && difference(broken) > 0.01,
            "{side:?}"
        );
        assert!(broken - side.kept <= 0.02 && side.whole, "{side:?}");
    }
    // Degree 3 is the same polynomial.
    assert_eq!(within(3), within(2));
    // |1 − cos x| is above 1/100 again and again; the first time counts.
    assert!(within(0)[1].kept < 0.15);
}

#[test]
fn degrees_that_are_needed() {
    // e^x at 1 to within 10⁻³: Σ_{k>N} 1/k! is 1.6e-3 for N = 5, 2.3e-4 for N = 6.
    let (problem, own) = proved("y' = y", "y(0) = 1", 1.0);
    let needed = source(&own, 65)
        .needed(within(1, 1000), &Expr::one(), &problem.center)
        .unwrap();
    assert_eq!((needed.first, needed.all), (Some(6), Some(6)));
    // cos x − x³/… : the first that hits may be followed by one that does not.
    // y = 1 + x − x² …: with e^(−10 x) at 1 the errors rise first.
    let (problem, own) = proved("y' = -10 y", "y(0) = 1", 1.0);
    let needed = source(&own, 65)
        .needed(within(1, 1), &Expr::one(), &problem.center)
        .unwrap();
    assert_eq!((needed.first, needed.all), (Some(0), Some(24)));
    // Beyond the radius of convergence nothing is proved.
    let (problem, own) = proved("y' = y^2", "y(0) = 1", 3.0);
    let needed = source(&own, 65)
        .needed(within(1, 1000), &Expr::int(2), &problem.center)
        .unwrap();
    assert!(!needed.inside && needed.all.is_none());
}

#[test]
fn bounds_hold_for_systems_and_functions() {
    for (equation, conditions) in [
        ("y'' + sin y = 0", "y(0) = 1, y'(0) = 1/2"),
        ("u' = u (3 - v); v' = v (u - 2)", "u(0) = 1, v(0) = 2"),
        ("y' = sqrt(1 + y)", "y(0) = 1"),
    ] {
        let (problem, own) = proved(equation, conditions, 0.5);
        let longer = prove(&problem, 60, 0.5, &Budget::PAGE).unwrap();
        for unknown in 0..problem.unknowns.len() {
            let reach = 0.8 * own.radius.min(0.5);
            let bounds = own.bounds(unknown, reach);
            for t in [-reach, 0.5 * reach, reach] {
                let errors = longer.errors(unknown, t, 0.0);
                for (n, ((below, above), bound)) in errors.iter().zip(&bounds).enumerate().take(40)
                {
                    assert!(below <= above && below <= bound, "{equation}: {n}");
                }
            }
        }
    }
}

#[test]
fn the_enclosed_steps_reach_beyond_the_disc() {
    // 1/(1 − x), whose series converges for |x| < 1, down to −3: |y − Pₙ| = |x|^(n+1)/(1 − x).
    let problem = ("y' = y^2", "y(0) = 1");
    let minus_two = Expr::int(-2);
    let own = found(problem, (-3, 0), 8, (within(1, 10), Some(&minus_two)));
    assert_eq!((own.covered, own.whole), ((3.0, 0.0), (true, true)));
    let mut truth = 0.25;
    for (n, found) in own.degrees.iter().enumerate() {
        truth *= 3.0;
        assert!(
            found.least <= truth && found.bound >= truth,
            "{n}: {found:?}"
        );
        assert!(
            found.least > 0.999 * truth && found.bound < 1.05 * truth,
            "{n}: {found:?}"
        );
        let left = found.within.left;
        let power = i32::try_from(n).unwrap() + 1;
        let error = |x: f64| libm::pow(x, f64::from(power)) / (1.0 + x);
        assert!(error(left.kept) <= 0.1 && error(left.broken.unwrap()) > 0.1);
        assert!(left.broken.unwrap() - left.kept < 0.03, "{n}: {left:?}");
    }
    let needed = own.needed.unwrap();
    assert!(!needed.inside && needed.all.is_none());
    assert_eq!(needed.single, Some(Vec::new()));
    // |−2 − …|: of the degrees only 0 comes as near as 1.
    let own = found(problem, (-3, 0), 8, (within(1, 1), Some(&minus_two)));
    assert_eq!(own.needed.unwrap().single, Some(vec![0]));
    // Toward the pole at 1 nothing is said of the end; up to near the pole it is, and sharply: the error
    // there is xⁿ⁺¹/(1 − x).
    let own = found(problem, (-3, 2), 8, (within(1, 1), None));
    assert_eq!(own.whole, (true, false));
    assert!(own.covered.1 > 0.98 && own.covered.1 < 1.0);
    for (n, found) in own.degrees.iter().enumerate() {
        let error = |x: f64| {
            libm::pow(libm::fabs(x), f64::from(u32::try_from(n).unwrap() + 1)) / libm::fabs(1.0 - x)
        };
        let truth = error(own.covered.1).max(error(-3.0));
        let (least, bound) = (found.least / truth, found.bound / truth);
        assert!(
            least <= 1.0 && (1.0..1.1).contains(&bound),
            "{n}: {least}, {bound}"
        );
    }
}

#[test]
fn what_is_known_at_the_far_side_agrees_with_a_closed_form() {
    type Form = fn(f64) -> f64;
    let cases: [(&str, &str, Form); 3] = [
        ("(1 + x^2) y' = 1", "y(0) = 0", libm::atan),
        ("y' = exp(-y)", "y(0) = 0", |x| libm::log(1.0 + x)),
        ("y' = sqrt(1 + y)", "y(0) = 0", |x| x + x * x / 4.0),
    ];
    for (equation, conditions, solution) in cases {
        let own = found((equation, conditions), (0, 4), 5, (within(1, 100), None));
        assert!(own.whole.1, "{equation}");
        let (problem, proved) = proved(equation, conditions, 3.0);
        let center = crate::expression::to_f64(&problem.center).unwrap();
        let balls = &proved.unknowns[0].balls;
        for (n, found) in own.degrees.iter().enumerate() {
            let sum = |x: f64| {
                let terms = balls.iter().take(n + 1).rev();
                terms.fold(0.0, |sum, (mid, _)| sum * x + mid)
            };
            let mut most: f64 = 0.0;
            for i in 0..=400 {
                let x = f64::from(i) / 100.0;
                let error = libm::fabs(solution(x) - sum(x));
                most = most.max(error);
                if i > 0 {
                    let bounds = own.bounds(&proved, center, x).unwrap();
                    assert!(most <= bounds[n] + 1e-14, "{equation}: {n} at {x}");
                }
                if x <= found.within.right.kept {
                    assert!(error <= 0.01, "{equation}: {n} at {x}");
                }
            }
            assert!(
                found.least <= most + 1e-14 && most <= found.bound + 1e-14,
                "{equation}: {n}"
            );
            assert!(
                found.bound - found.least <= 0.05 * found.bound + 1e-11,
                "{equation}: {found:?}"
            );
        }
    }
}
