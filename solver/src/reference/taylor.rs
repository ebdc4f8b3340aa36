//! Taylor coefficients at the center as estimates, for degrees whose exact values are too long.

use super::Estimate;
use super::agree::Agreed;
use crate::budget::{Budget, Fuel};
use crate::number::big_float::Precision;
use crate::number::{BigFloat, decimal};
use crate::problem::Problem;
use crate::series::{Coefficient, SeriesError, Solver, Tape};

/// Bits of the two runs that are compared.
const BITS: [usize; 2] = [128, 192];
/// Significant digits shown at most.
const SHOWN: u32 = 6;

/// For each unknown the coefficients `c_0 … c_degree` by series arithmetic in floats of two
/// precisions, with the digits on which both agree; fewer where the work stops or no digit
/// is certain. Agreement shows rounding only, and no
/// other error is made: each coefficient is a finite sum.
pub fn taylor(problem: &Problem, degree: usize, budget: &Budget) -> Vec<Vec<Estimate>> {
    let [coarse, fine] = BITS.map(|bits| run(problem, degree, bits, budget).unwrap_or_default());
    let both = coarse.iter().zip(&fine);
    both.map(|(coarse, fine)| agreed(coarse, fine)).collect()
}

fn agreed(coarse: &[BigFloat], fine: &[BigFloat]) -> Vec<Estimate> {
    coarse
        .iter()
        .zip(fine)
        .map_while(|(coarse, fine)| {
            let agreed = Agreed::new(coarse, fine, BITS[0]);
            let estimate = agreed.estimate(0.0, super::SHOWN_DIGITS)?;
            if estimate.digits <= SHOWN {
                return Some(estimate);
            }
            Some(Estimate {
                text: decimal::significant(&agreed.value, SHOWN),
                digits: SHOWN,
                ..estimate
            })
        })
        .collect()
}

fn run(
    problem: &Problem,
    degree: usize,
    bits: usize,
    budget: &Budget,
) -> Result<Vec<Vec<BigFloat>>, SeriesError> {
    let tape = Tape::of_problem(problem)?;
    let precision = Precision::new(bits);
    let center = BigFloat::from_constant(&problem.center, &precision)?;
    let initial = problem
        .initial
        .iter()
        .flatten()
        .map(|value| BigFloat::from_constant(value, &precision))
        .collect::<Result<Vec<BigFloat>, SeriesError>>()?;
    let mut solver = Solver::new(&tape, &center, &initial, precision)?;
    // Those found before an error stand.
    let _ = solver.extend(degree, &mut Fuel::new(budget.steps));
    let known = solver.all_coefficients();
    Ok(known
        .map(|series| series.iter().take(degree + 1).cloned().collect())
        .collect())
}

#[cfg(test)]
mod tests {
    use super::taylor;
    use crate::budget::Budget;
    use crate::expression::decimal;
    use crate::problem::understand;
    use crate::series;

    /// Closed forms of degree 50 and what floats give: two kinds of number, one value.
    #[test]
    fn closed_forms_and_floats_agree_to_degree_fifty() {
        let table = [
            ("y'' + sin y = 0", "y(0) = 1, y'(0) = 0"),
            ("y' = sin y", "y(0) = 1"),
            ("y' = e^(-x) y^2", "y(1) = 1/2"),
            ("y' = sqrt(1+y)", "y(0) = 1"),
            ("y'' = -y", "y(pi/6) = 1/2, y'(pi/6) = sqrt(3)"),
            ("y' = (1+y)^(1/3) cos x", "y(0) = 2"),
        ];
        for (equation, conditions) in table {
            let (problem, _) = understand(equation, conditions, "50", &Budget::PAGE);
            let problem = problem.expect("a problem");
            let exact = series::coefficients(&problem, 50, &Budget::PAGE).expect(equation);
            let estimates = taylor(&problem, 50, &Budget::PAGE).remove(0);
            assert_eq!((exact.len(), estimates.len()), (51, 51), "{equation}");
            for (degree, (exact, estimate)) in exact.iter().zip(&estimates).enumerate() {
                let (Ok(exact), text) = (decimal(exact, 6), &estimate.text) else {
                    panic!("{equation}, {degree}: no decimals");
                };
                let exact: f64 = exact.parse().expect("a number");
                let found: f64 = text.parse().expect("a number");
                assert!(
                    (exact - found).abs() <= 1e-5 * exact.abs(),
                    "{equation}, {degree}: {exact} and {text}"
                );
            }
        }
    }
}
