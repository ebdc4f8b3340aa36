//! Plain text is read back as what it was written from.

use solver::budget::Budget;
use solver::derivation::RowKind;
use solver::document::names::Names;
use solver::document::{build, plain};
use solver::expression::Expr;
use solver::problem::{self, Problem};
use solver::worksheet::{Request, Worksheet, prepare};

const PROBLEMS: [(&str, &str); 9] = [
    ("u'' + u + u^3/5 = 0", "u(0) = 1, u'(0) = 1/2"),
    ("y'' + (3 - 2 cos 2t) y = 0", "y(0) = 1, y'(0) = -1"),
    ("y'' = sqrt(1 + y'^2)/20", "y(0) = 3, y'(0) = 3/4"),
    ("θ'' + 4 sin θ = 0", "θ(0) = 1/2, θ'(0) = 1"),
    ("N' = N (1 - N/4)", "N(0) = 1"),
    ("h' = t^2 e^h", "h(0) = 1"),
    ("h' = (1 + h^2)/(2 + t)", "h(0) = 1"),
    ("h' = t^(1/2) h^(-2/3)", "h(1) = 2"),
    ("h' = ln(2 + t) arctan(h)/cosh(t)", "h(0) = 1"),
];

fn work(equation: &str, conditions: &str) -> Worksheet {
    let request = Request {
        equation: equation.to_owned(),
        conditions: conditions.to_owned(),
        degree: "5".to_owned(),
        route: Some(problem::Route::Solved),
        ..Request::default()
    };
    let worksheet = prepare(&request, &Budget::PAGE, &mut |_| true);
    assert!(
        !worksheet.has_error(),
        "{equation}: {:?}",
        worksheet.diagnostics
    );
    worksheet
}

/// The right side of `y^(order) = text`, read as a problem with the known values.
fn read_back(text: &str, order: usize, problem: &Problem, worksheet: &Worksheet) -> Expr {
    let names = Names::of(problem);
    let derivative =
        |k: usize| plain::derivative(names.unknown(0), u32::try_from(k).expect("small"));
    let equation = format!("{} = {text}", derivative(order));
    let center = plain::expression(&problem.center, &names);
    let conditions: Vec<String> = worksheet.table[0][..order]
        .iter()
        .map(|entry| {
            let value = plain::expression(&entry.value, &names);
            format!("{}({center}) = {value}", derivative(entry.order))
        })
        .collect();
    let (read, said) = problem::understand(&equation, &conditions.join("; "), "8", &Budget::PAGE);
    let read = read.unwrap_or_else(|| panic!("{equation}; {conditions:?}: {said:?}"));
    Expr::sum(read.equations[0].solved.clone()).expand(1000)
}

#[test]
fn derivatives_are_read_back_from_both_plain_forms() {
    let mut read = 0;
    for (equation, conditions) in PROBLEMS {
        let worksheet = work(equation, conditions);
        let problem = worksheet.problem.clone().expect("a problem");
        let names = Names::of(&problem);
        let rows = &worksheet.derivation.as_ref().expect("rows").rows;
        for row in rows {
            let RowKind::Worked { right, .. } = &row.kind else {
                continue;
            };
            let terms: Vec<Expr> = right
                .combined
                .iter()
                .map(|t| t.expression.clone())
                .collect();
            let whole = Expr::sum(terms.clone()).expand(1000);
            if !(whole.has_variable() || whole.has_derivative()) {
                continue;
            }
            for text in [
                plain::sum(&terms, &names),
                plain::formula(&build::sum(&terms, &names)),
            ] {
                let back = read_back(&text, row.order, &problem, &worksheet);
                assert_eq!(back, whole, "{equation}, order {}: {text}", row.order);
                read += 1;
            }
        }
    }
    assert!(read >= 60, "only {read} texts were read back");
}
