//! Bounds against solutions that are known in closed form.

use super::*;
use crate::problem::understand;

fn proved(equation: &str, conditions: &str, reach: f64) -> (Problem, Proved) {
    let (problem, diagnostics) = understand(equation, conditions, "5", &Budget::PAGE);
    let problem = problem.unwrap_or_else(|| panic!("{equation}: {diagnostics:?}"));
    let proved = prove(&problem, 8, reach, &Budget::PAGE).expect("a disc");
    (problem, proved)
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
    let within = own.within(0, 4, within(1, 100), (2.0, 2.0));
    let difference = |x: f64| libm::fabs(libm::cos(x) - 1.0 + x * x / 2.0);
    for side in [within[2].left, within[2].right] {
        let broken = side.broken.unwrap();
        assert!(
            difference(side.kept) <= 0.01 && difference(broken) > 0.01,
            "{side:?}"
        );
        assert!(broken - side.kept <= 0.02 && side.whole, "{side:?}");
    }
    // Degree 3 is the same polynomial.
    assert_eq!(within[3], within[2]);
    // |1 − cos x| is above 1/100 again and again; the first time counts.
    assert!(within[0].right.kept < 0.15);
}

#[test]
fn degrees_that_are_needed() {
    // e^x at 1 to within 10⁻³: Σ_{k>N} 1/k! is 1.6e-3 for N = 5, 2.3e-4 for N = 6.
    let (problem, own) = proved("y' = y", "y(0) = 1", 1.0);
    let needed = own
        .needed(0, within(1, 1000), &Expr::one(), &problem.center)
        .unwrap();
    assert_eq!((needed.first, needed.all), (Some(6), Some(6)));
    // cos x − x³/… : the first that hits may be followed by one that does not.
    // y = 1 + x − x² …: with e^(−10 x) at 1 the errors rise first.
    let (problem, own) = proved("y' = -10 y", "y(0) = 1", 1.0);
    let needed = own
        .needed(0, within(1, 1), &Expr::one(), &problem.center)
        .unwrap();
    assert_eq!((needed.first, needed.all), (Some(0), Some(24)));
    // Beyond the radius of convergence nothing is proved.
    let (problem, own) = proved("y' = y^2", "y(0) = 1", 3.0);
    let needed = own
        .needed(0, within(1, 1000), &Expr::int(2), &problem.center)
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
