//! Properties over random input, with fixed seeds.

use super::*;

/// Xorshift (Marsaglia 2003), enough for tests.
struct Random(u64);

impl Random {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % limit
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        let index = usize::try_from(self.below(from.len() as u64)).expect("small");
        &from[index]
    }

    fn number(&mut self) -> i64 {
        i64::try_from(self.below(9)).expect("small") - 4
    }

    /// A polynomial of degree up to 2 in the variable, perhaps 0.
    fn polynomial(&mut self) -> Expr {
        let x = Expr::variable();
        Expr::sum(vec![
            Expr::int(self.number()),
            Expr::int(self.number()).mul(&x),
            Expr::int(self.below(3).cast_signed()).mul(&x.square()),
        ])
    }

    /// A polynomial times 1 or y, y′, … up to `order`.
    fn term(&mut self, order: u32) -> Expr {
        let which = u32::try_from(self.below(u64::from(order) + 2)).expect("small");
        let coefficient = self.polynomial();
        if which > order {
            coefficient
        } else {
            coefficient.mul(&Expr::derivative(0, which))
        }
    }

    /// Terms, some of them products with a bracket.
    fn side(&mut self, order: u32) -> Vec<Expr> {
        let count = self.below(4) + 1;
        (0..count)
            .map(|_| {
                if self.below(3) > 0 {
                    return self.term(order);
                }
                let bracket = self.term(order).add(&self.term(order));
                self.polynomial().mul(&bracket)
            })
            .collect()
    }
}

/// With F = left − right of the equation as given: F is 0 for every x, y, y′, … when the solved
/// form is put in for the highest derivative.
#[test]
fn the_solved_form_satisfies_the_equation_as_given() {
    let mut random = Random(0x0c05_7a1e_7e57_0001);
    let (mut solved, mut refused) = (0, 0);
    for _ in 0..500 {
        let order = u32::try_from(random.below(4) + 1).expect("small");
        let sides = (random.side(order), random.side(order));
        let highest = Symbol::Derivative { unknown: 0, order };
        let difference = Expr::sum(sides.0.clone()).sub(&Expr::sum(sides.1.clone()));
        let coefficients = difference
            .expand(1000)
            .polynomial_coefficients(&highest)
            .expect("linear");
        let Ok(solution) = solve::solve(sides.clone(), &highest) else {
            assert!(
                coefficients.len() < 2,
                "{sides:?} can be solved, and was not"
            );
            refused += 1;
            continue;
        };
        let (left, right) = solution.standing.clone();
        let standing = Expr::sum(left).sub(&Expr::sum(right)).expand(1000);
        assert!(
            [&difference, &difference.neg()]
                .map(|d| d.expand(1000))
                .contains(&standing),
            "{sides:?} stands as {:?}",
            solution.standing
        );
        let [rest, leading] = coefficients.as_slice() else {
            panic!("{sides:?}: the highest derivative is gone, and yet it was solved for");
        };
        // rest + leading Σ solved, times the divisor that solving brought in
        let mut terms = vec![rest.mul(&solution.leading)];
        for term in &solution.solved {
            terms.push(Expr::product(vec![
                leading.clone(),
                term.clone(),
                solution.leading.clone(),
            ]));
        }
        let identity = Expr::sum(terms).expand(1000);
        assert!(
            identity.is_zero(),
            "{sides:?} gives {solution:?}: {identity:?}"
        );
        solved += 1;
    }
    assert!(
        solved > 200,
        "only {solved} solved, {refused} had no highest derivative"
    );
}

/// What the random texts are made of, separated by `~`.
const TOKENS: &str = "y~y'~y''~x~=~=~(~)~+~-~*~/~^~2~0~1/2~sin~ln~sqrt~|~e~pi~ ~y(0)~y'(0)~,~;~\n~\
    dy/dx~d^2y/dx^2~y(x-1)~y(x)~theta~t~1e9~0.25~y^(4)~y^(9)~tan~arcsin~abs~a~u_t~\
    ∫~х~½~²~√~x^2~(1-y)~-1~exp(~cosh~y'(1-y)~99~''";

/// Whatever is typed: an answer, and a problem exactly when nothing is an error; spans lie in
/// their fields.
#[test]
fn random_tokens_never_panic() {
    let tokens: Vec<&str> = TOKENS.split('~').collect();
    let mut random = Random(0x0c05_7a1e_7e57_0002);
    let mut understood = 0;
    for round in 0..10_000 {
        let mut text = |count: u64| -> String {
            (0..=random.below(count))
                .map(|_| *random.pick(&tokens))
                .collect()
        };
        let tail = text(9);
        // Half of them begin well, so that later stages are reached.
        let (equation, conditions) = match round % 4 {
            0 => (tail, text(6)),
            1 => (format!("y'={tail}"), "y(0)=1".to_owned()),
            2 => (format!("y''+{tail}=x"), "y(1)=1, y'(1)=-1/2".to_owned()),
            _ => (format!("{tail}y''={}", text(4)), text(6)),
        };
        let (problem, diagnostics) = understand(&equation, &conditions, "4", &BUDGET);
        assert_eq!(
            problem.is_some(),
            errors(&diagnostics).is_empty(),
            "{equation:?} {conditions:?}: {diagnostics:?}"
        );
        understood += usize::from(problem.is_some());
        for diagnostic in &diagnostics {
            let text = match diagnostic.field {
                Field::Equation => &equation,
                Field::Conditions => &conditions,
                _ => continue,
            };
            assert!(
                text.get(diagnostic.span.start..diagnostic.span.end)
                    .is_some(),
                "{text:?}: {diagnostic:?}"
            );
            for edit in diagnostic.suggestions.iter().flat_map(|s| &s.edits) {
                let text = match edit.field {
                    Field::Equation => &equation,
                    Field::Conditions => &conditions,
                    _ => continue,
                };
                assert!(
                    text.get(edit.span.start..edit.span.end).is_some(),
                    "{text:?}: {edit:?}"
                );
            }
        }
    }
    assert!(understood > 300, "only {understood} were problems");
}

/// Long, deep and large: an answer within the budget, which code says which.
#[test]
fn hostile_input_gets_an_answer() {
    let nested = |open: &str, depth: usize| format!("{}y{}", open.repeat(depth), ")".repeat(depth));
    for (right, value, codes) in [
        ("x+".repeat(2000) + "y", "1".to_owned(), vec![]),
        ("(x+y)(1-y)".repeat(60), "1".to_owned(), vec![]),
        (nested("sin(", 50), "1".to_owned(), vec![]),
        (nested("sqrt(1+", 50), "1".to_owned(), vec![]),
        (nested("1/(1+", 50), "1".to_owned(), vec![]),
        (nested("(", 10_000), "1".to_owned(), vec!["too-long"]),
        (nested("(", 1000), "1".to_owned(), vec!["too-deep"]),
        (
            "y^(9^9^9)".to_owned(),
            "2".to_owned(),
            vec!["stacked-powers", "number-too-large"],
        ),
        (
            "y".to_owned(),
            "9^9^9".to_owned(),
            vec!["stacked-powers", "number-too-large"],
        ),
        (
            format!("y^{}", "1".repeat(3000)),
            "2".to_owned(),
            vec!["number-too-large"],
        ),
        (
            "y^150 + x".to_owned(),
            "7".repeat(4000),
            vec!["number-too-large"],
        ),
        (
            "(1+x+x^2)^200 (1-x)^200 (1+y)^200".to_owned(),
            "1/3".to_owned(),
            vec![],
        ),
        (
            "1/(sin y + cos y + e^y + ln y)^12".to_owned(),
            "2".to_owned(),
            vec![],
        ),
        (
            "1/(e^(e^(e^(e^y)))-1)".to_owned(),
            "9".to_owned(),
            vec!["undecided"],
        ),
    ] {
        let equation = format!("y' = {right}");
        let (problem, diagnostics) = understand(&equation, &format!("y(0)={value}"), "5", &BUDGET);
        let found: Vec<_> = diagnostics.iter().map(|d| d.code).collect();
        assert_eq!(found, codes, "{equation:.60}");
        assert_eq!(problem.is_some(), codes.is_empty());
    }
}
