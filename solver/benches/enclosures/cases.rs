//! The benchmark's problems: `tests/bench/enclosures.py` has the same, for other programs.

use solver::budget::Budget;
use solver::expression::Expr;
use solver::number::rational::ratio;
use solver::problem::{Problem, understand};
use solver::reference::{Aim, solve as enclose};

/// Equation, conditions, numerator and denominator of the interval's end; it begins at 0.
pub(crate) const CASES: [(&str, &str, i64, i64); 21] = [
    ("y' = -y/5 + 12/5", "y(0) = 80", 20, 1),
    ("y'' = -y", "y(0) = 0, y'(0) = 1", 20, 1),
    ("y'' + sin y = 0", "y(0) = 1, y'(0) = 0", 20, 1),
    ("y'' = x y", "y(0) = 1, y'(0) = 0", 5, 1),
    ("y'' = -x y", "y(0) = 1, y'(0) = 0", 10, 1),
    ("y' = y(1 - y)", "y(0) = 1/10", 12, 1),
    ("y' = x^2 + y^2", "y(0) = 0", 19, 10),
    ("y'' = 3(1 - y^2) y' - y", "y(0) = 2, y'(0) = 0", 15, 1),
    ("y'' = -y'/10 + y - y^3", "y(0) = 1/2, y'(0) = 0", 20, 1),
    ("y'' = -y^3", "y(0) = 1, y'(0) = 0", 20, 1),
    ("y'' + (1 + cos(2x)/2) y = 0", "y(0) = 1, y'(0) = 0", 20, 1),
    ("y' = -20 y + sin x", "y(0) = 1", 10, 1),
    ("y' = sin(x y)", "y(0) = 1", 8, 1),
    ("y' = exp(-y) + x", "y(0) = 0", 5, 1),
    ("y' = sqrt(1 + y)", "y(0) = 1", 10, 1),
    ("(4 + x^2) y'' + 3 y = 0", "y(0) = 1, y'(0) = 1", 10, 1),
    (
        "y''' + y y''/2 = 0",
        "y(0) = 0, y'(0) = 0, y''(0) = 1",
        6,
        1,
    ),
    ("y'' = 1/(1 + y^2) - y'/2", "y(0) = 0, y'(0) = 0", 10, 1),
    ("u' = u(3 - v); v' = v(u - 2)", "u(0) = 1; v(0) = 2", 10, 1),
    (
        "u' = v w; v' = -u w; w' = -u v/2",
        "u(0) = 0; v(0) = 1; w(0) = 1",
        20,
        1,
    ),
    (
        "u'' = -2u + v; v'' = u - 2v",
        "u(0) = 1; u'(0) = 0; v(0) = 0; v'(0) = 1/2",
        20,
        1,
    ),
];

/// The problem of this number.
pub(crate) fn problem(index: usize) -> Option<Problem> {
    let (equation, conditions, ..) = CASES.get(index)?;
    understand(equation, conditions, "3", &Budget::PAGE).0
}

/// Encloses the solution at 400 places: how many were enclosed, and the fewest certain digits of
/// the first unknown in comparison with its largest value.
pub(crate) fn solve(problem: &Problem, index: usize, digits: u32) -> (usize, f64) {
    let Some((_, _, numerator, denominator)) = CASES.get(index) else {
        return (0, 0.0);
    };
    let place = |part: i64| Expr::number(ratio(numerator * part, denominator * 400));
    let at: Vec<Expr> = (1..=400).map(place).collect();
    let aim = Aim { degree: 3, digits };
    let interval = Some((place(0), place(400)));
    let found = enclose(problem, interval, &at, aim, &Budget::PAGE, &mut |_| true);
    let Some(first) = found.first() else {
        return (0, 0.0);
    };
    let enclosed = first.asked.iter().filter(|point| point.radius.is_some());
    let largest = first
        .asked
        .iter()
        .map(|point| point.value.value.abs())
        .fold(0.0, f64::max);
    let widest = enclosed
        .clone()
        .filter_map(|point| point.radius)
        .fold(0.0, f64::max);
    (enclosed.count(), -libm::log10(widest / largest))
}
