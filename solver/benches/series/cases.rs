//! The problems of the benchmark, and how one is solved.

use solver::budget::Fuel;
use solver::expression::Expr;
use solver::number::Rational;
use solver::number::rational::{integer, ratio};
use solver::series::{SeriesError, Tape, fast};

/// More than any problem here takes.
const BITS: u64 = 1 << 24;

/// An equation `Σ left = Σ right` (linear) or `y^(m) = Σ right` (`left` empty), center 0.
pub(crate) struct Case {
    pub(crate) name: &'static str,
    left: Vec<Expr>,
    right: Vec<Expr>,
    initial: Vec<Rational>,
}

fn y(order: u32) -> Expr {
    Expr::derivative(0, order)
}

fn number(value: i64) -> Expr {
    Expr::number(integer(value))
}

fn square(base: Expr) -> Expr {
    Expr::raw_power(base, number(2))
}

fn times(factors: impl Into<Vec<Expr>>) -> Expr {
    Expr::raw_product(factors.into())
}

fn plus(terms: impl Into<Vec<Expr>>) -> Expr {
    Expr::raw_sum(terms.into())
}

pub(crate) fn cases() -> Vec<Case> {
    let x = Expr::variable;
    let two = || vec![integer(1), integer(2)];
    vec![
        Case {
            // y″ = x·y
            name: "airy",
            left: vec![y(2)],
            right: vec![times([x(), y(0)])],
            initial: two(),
        },
        Case {
            // (4 + x²)·y″ + 3y = 0
            name: "two_terms",
            left: vec![
                times([plus([square(x()), number(4)]), y(2)]),
                times([number(3), y(0)]),
            ],
            right: Vec::new(),
            initial: two(),
        },
        Case {
            // y″ + x·y′ + x²·y = 0
            name: "three_terms",
            left: vec![y(2), times([x(), y(1)]), times([square(x()), y(0)])],
            right: Vec::new(),
            initial: two(),
        },
        Case {
            // (1 + x)·y″ + y′ + x·y = 0
            name: "three_terms_singular",
            left: vec![
                times([plus([x(), number(1)]), y(2)]),
                y(1),
                times([x(), y(0)]),
            ],
            right: Vec::new(),
            initial: two(),
        },
        Case {
            // y′ = x² + y², y(0) = 0: only every fourth coefficient is not zero
            name: "riccati_sparse",
            left: Vec::new(),
            right: vec![square(x()), square(y(0))],
            initial: vec![integer(0)],
        },
        Case {
            // y′ = x² + y², y(0) = 1
            name: "riccati",
            left: Vec::new(),
            right: vec![square(x()), square(y(0))],
            initial: vec![integer(1)],
        },
        Case {
            // y′ = y − y², y(0) = 1/10
            name: "logistic",
            left: Vec::new(),
            right: vec![y(0), times([number(-1), square(y(0))])],
            initial: vec![ratio(1, 10)],
        },
    ]
}

/// `c_0 … c_degree`.
pub(crate) fn solve(case: &Case, degree: usize) -> Result<Option<Vec<Rational>>, SeriesError> {
    let mut fuel = Fuel::new(u64::MAX);
    let (center, initial) = (integer(0), case.initial.as_slice());
    if case.left.is_empty() {
        let tape = Tape::compile(&case.right, u32::try_from(initial.len()).unwrap_or(1))?;
        fast::polynomial(&tape, &center, initial, degree, BITS, &mut fuel)
    } else {
        fast::linear(
            (&case.left, &case.right),
            &center,
            initial,
            degree,
            BITS,
            &mut fuel,
        )
    }
}
