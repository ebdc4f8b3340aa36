//! What is said where the equation is worked out order by order.

use super::build;
use super::formula::{Formula, MINUS};
use super::ledger::{LedgerRow, Line, Prose, Role};
use super::line::{chain, lead, value_piece};
use super::long;
use super::names::Names;
use super::opening::{plain_row, provided};
use super::strip;
use crate::derivation::{Convergence, Demand, EveryOrder, Row};
use crate::expression::{Expr, Symbol, Truth, zero_test};
use crate::number::Rational;
use crate::problem::{OrderByOrder, Problem};

/// Decimal digits of the ends of an enclosure.
const DIGITS: u32 = 6;

/// Why the equation is differentiated as it stands, and what that can show.
pub(super) fn assumption(
    problem: &Problem,
    why: OrderByOrder,
    names: &Names,
    place: Formula,
) -> Prose {
    let order = problem.unknowns.first().map_or(1, |u| u.equation_order);
    let highest = names.derivative(0, order as usize);
    let leading = problem.equations.first().map(|e| &e.leading);
    let start = Prose::words("A solution that is analytic at ")
        .math(place.clone())
        .text(". Whether there is one, and only one, is not known beforehand: ");
    let coefficient = |start: Prose| {
        let start = start.text("the coefficient of ").math(highest.clone());
        match leading {
            Some(leading) => start
                .text(", which is ")
                .math(build::formula(leading, names))
                .text(", is zero there"),
            None => start.text(" is zero there"),
        }
    };
    let start = match why {
        OrderByOrder::SingularPoint => coefficient(start)
            .text(", so ")
            .math(place)
            .text(" is a *singular point* of the equation"),
        OrderByOrder::LeadingVanishes => coefficient(start)
            .text(", so the equation does not give ")
            .math(highest)
            .text(" there"),
        OrderByOrder::NotLinear => start
            .text("the equation is not linear in ")
            .math(highest)
            .text(", so it may leave several values for it, or none"),
    };
    start
        .text(". Differentiate the equation as it stands, put in what is known, and see what each line demands")
        .prose(provided(problem, names))
        .text(".")
}

/// Said below a value that the conditions give too, or that they need not give.
pub(super) fn forced(problem: &Problem, row: &Row, head: &Formula, names: &Names) -> Option<Line> {
    let order = problem.unknowns.get(row.unknown)?.equation_order as usize;
    let prose = match problem.fixed(row.unknown, row.order) {
        Some(given) => {
            let relation = Formula::equation(head.clone(), build::formula(given, names));
            match zero_test(&given.sub(row.value.as_ref()?)) {
                Truth::Zero => Prose::words("The conditions say the same."),
                Truth::NotZero => Prose::words("But the conditions say ")
                    .math(relation)
                    .text(": **they contradict the equation**."),
                Truth::Undecided => Prose::words("The conditions say ")
                    .math(relation)
                    .text("; whether that is the same number cannot be decided."),
            }
        }
        None if row.order < order => Prose::words(
            "**Forced by the equation**: no condition is needed for it, and none can change it.",
        ),
        None => return None,
    };
    Some(Line::Text(prose))
}

/// Below a value that no line gives alone.
pub(super) fn by_later_lines() -> Line {
    Line::Text(Prose::words(
        "The lines so far leave this value free. But later lines hold with this value only: they are linear equations for the derivatives, and were solved together.",
    ))
}

/// Below a line that is satisfied whatever comes.
pub(super) fn holds() -> Line {
    Line::Text(Prose::words(
        "Both sides are equal whatever the derivatives are that are not known yet: this line demands nothing.",
    ))
}

/// `y′(0) = −2 or 2`, and which is taken.
pub(super) fn chosen(
    problem: &Problem,
    row: &Row,
    head: &Formula,
    values: &[Expr],
    names: &Names,
) -> Vec<Line> {
    let mut lines = Vec::new();
    if values.len() > 1 {
        lines.push(Line::Text(
            Prose::words("Satisfied by ")
                .prose(alternatives(head, values, names))
                .text("."),
        ));
    }
    let Some(value) = &row.value else {
        return lines;
    };
    let relation = Formula::equation(head.clone(), build::formula(value, names));
    let prose = Prose::words("");
    lines.push(Line::Text(
        if problem.fixed(row.unknown, row.order).is_some() {
            prose
                .text("The conditions say ")
                .math(relation)
                .text(", which satisfies this line.")
        } else {
            match problem.near(row.unknown, row.order) {
                Some(near) if values.len() != 1 => {
                    prose
                        .text("The one nearest to ")
                        .math(near.as_number().map_or_else(
                            || build::formula(near, names),
                            |near| number(near, names),
                        ))
                        .text(", as the conditions ask: ")
                        .math(relation)
                        .text(".")
                }
                _ => prose
                    .text("The only real value that satisfies this")
                    .text(proved_alone(value))
                    .text(": ")
                    .math(relation)
                    .text("."),
            }
        },
    ));
    lines.extend(letters(value, names));
    lines
}

/// y′(0) = −2 or y′(0) = 2
fn alternatives(head: &Formula, values: &[Expr], names: &Names) -> Prose {
    let mut prose = Prose::words("");
    for (position, value) in values.iter().enumerate() {
        if position > 0 {
            prose = prose.text(" or ");
        }
        prose = prose.math(if value.has_root() {
            long::in_place_of(head, value)
        } else {
            Formula::equation(head.clone(), build::formula(value, names))
        });
    }
    prose
}

/// Which number a letter in a value stands for, and how values with it are brought to one form.
fn letters(value: &Expr, names: &Names) -> Vec<Line> {
    let mut lines = Vec::new();
    for root in value.roots() {
        let own = Names {
            independent: root.letter().to_owned(),
            ..names.clone()
        };
        let letter = own.variable();
        let (low, high) = root.between_ends();
        let between = Formula::row([
            number(low, names),
            Formula::Operator('<'),
            letter.clone(),
            Formula::Operator('<'),
            number(high, names),
        ]);
        let zero = Formula::digits(0);
        let equation = Formula::equation(build::formula(root.equation(), &own), zero);
        let prose = Prose::words("Here ")
            .math(letter.clone())
            .text(" is the only root of ")
            .math(equation)
            .text(" with ")
            .math(between)
            .text(". It is a *simple root*: the left side changes its sign there, and its derivative is not zero.");
        lines.push(Line::Text(prose));
        let (from, to) = root.replaced();
        let rule = Formula::equation(build::formula(&from, &own), build::formula(&to, &own));
        let prose = Prose::words("So ").math(rule);
        lines.push(Line::Text(if root.minimal().is_some() {
            let p = |name: &str| {
                let name = Formula::Identifier(name.to_owned());
                Formula::row([name, letter.clone().bracketed()])
            };
            let product = Formula::row([p("p"), Formula::Juxtaposition, p("q")]);
            prose
                .text(" wherever a power as high occurs; and as this polynomial is irreducible over the rational numbers, a divisor ")
                .math(p("p"))
                .text(" becomes the factor ")
                .math(p("q"))
                .text(" of lower degree with ")
                .math(Formula::equation(product, Formula::digits(1)))
                .text(" (the extended Euclidean algorithm). All values stay exact.")
        } else {
            prose.text(" wherever it occurs. All values stay exact.")
        }));
    }
    lines
}

/// Why there is no other value.
fn proved_alone(value: &Expr) -> &'static str {
    let roots = value.roots();
    match roots.first() {
        None => "",
        Some(root) if root.minimal().is_some() => " (Sturm's theorem counts the real roots)",
        Some(root) if root.equation().degree_in(&Symbol::Variable).is_some() => {
            " (Cauchy's bound for the roots, and enclosures of the polynomial within it)"
        }
        Some(_) => " (left side minus right side always rises in it, or always falls)",
    }
}

/// r³ = 1 − r²: the reason for the form of a value.
pub(super) fn because(value: &Expr, names: &Names) -> Vec<Line> {
    let rules = value.roots().into_iter().map(|root| {
        let own = Names {
            independent: root.letter().to_owned(),
            ..names.clone()
        };
        let (from, to) = root.replaced();
        Formula::equation(build::formula(&from, &own), build::formula(&to, &own))
    });
    let rules: Vec<Formula> = rules.collect();
    if rules.is_empty() {
        return Vec::new();
    }
    // Only where divisors become factors is the rule used in every value.
    let always = value.roots().iter().all(|root| root.minimal().is_some());
    let start = Prose::words(if always { "because " } else { "with " });
    vec![Line::Text(start.list(rules).text("."))]
}

/// Why the next derivative has no value.
pub(super) fn demand(
    problem: &Problem,
    row: &Row,
    head: &Formula,
    demand: &Demand,
    names: &Names,
) -> Vec<Line> {
    let equation = |value: &Expr| Formula::equation(head.clone(), build::formula(value, names));
    let given = problem.given(row.unknown, row.order);
    let mut lines = Vec::new();
    let prose = Prose::words("");
    let text = match demand {
        Demand::Contradiction(value) => {
            lines.push(chain(
                "",
                vec![
                    lead(Formula::digits(0)),
                    value_piece(
                        Formula::row([Formula::Operator('='), build::formula(value, names)]),
                        Role::Value,
                    ),
                ],
            ));
            prose.text("**A contradiction**, whatever the derivatives are that are not known yet: no function that is analytic here satisfies the equation with these data. (At a singular point the solutions often contain a logarithm or a power that is not whole.)")
        }
        Demand::NotAsGiven(value) => {
            let prose = prose
                .text("So ")
                .math(equation(value))
                .text(" is forced by the equation");
            match given {
                Some(given) => prose
                    .text(", but the conditions say ")
                    .math(equation(given))
                    .text(": **they contradict the equation**."),
                None => prose.text("."),
            }
        }
        Demand::GivenFails => match given {
            Some(given) => prose
                .text("The conditions say ")
                .math(equation(given))
                .text(", which does not satisfy this line: **they contradict the equation**."),
            None => prose,
        },
        Demand::Free { sure } => prose
            .text("This line asks for a higher derivative; none of the lines so far gives ")
            .math(head.clone())
            .text(": **it is free**. Each value of it gives another solution")
            .text(if *sure { "" } else { ", unless a later line forbids it" })
            .text(". Add a condition for it."),
        Demand::FailsLater => prose
            .text("This line asks for a higher derivative; none of the lines so far gives ")
            .math(head.clone())
            .text(". But with no value of it can all later lines be satisfied (they were solved together as linear equations): **a contradiction**. No function that is analytic here satisfies the equation with these data."),
        Demand::Several(values) => prose
            .text("Satisfied by ")
            .prose(alternatives(head, values, names))
            .text(": **each leads to a solution of its own**. Add the one that is meant to the conditions."),
        Demand::Some(values) => prose
            .text("Satisfied by ")
            .prose(alternatives(head, values, names))
            .text("; whether by other values, too, is not known here. Add the one that is meant to the conditions."),
        Demand::NoReal => prose.text("No real value satisfies this line: **there is no real solution** with these data."),
        Demand::Inexact(between) if between.is_empty() => prose
            .text("This is not a polynomial equation for ")
            .math(head.clone())
            .text("; its solutions are not searched for here. Add the value that is meant to the conditions, and it is put in and tested."),
        Demand::Inexact(between) => prose
            .text("The real values that satisfy this have no closed form that is found here; each lies between two numbers: ")
            .list(between.iter().map(|(low, high)| {
                Formula::row([
                    number(low, names),
                    Formula::Operator('<'),
                    head.clone(),
                    Formula::Operator('<'),
                    number(high, names),
                ])
            }))
            .text(". The coefficients would not be exact, so the work stops here."),
        Demand::OfLetters(letters) => prose
            .text("The value is a root of this equation, and depends on ")
            .list(letters.iter().map(|name| Formula::Identifier(name.clone())))
            .text(": which root, and how many there are, changes with the numbers. Put numbers for the letters, or add the value that is meant to the conditions."),
        Demand::Undecided(value) => prose
            .text("Whether ")
            .math(build::formula(value, names))
            .text(" agrees with what is needed cannot be decided here, and the work depends on it."),
        Demand::Nothing => prose.text("So many lines in a row demanded nothing that the work stops here: the values are not determined as far as can be seen."),
    };
    lines.push(Line::Text(text));
    lines
}

fn number(value: &Rational, names: &Names) -> Formula {
    let value = Expr::number(value.clone());
    match crate::expression::decimal(&value, DIGITS) {
        Ok(text) => match text.strip_prefix('-') {
            Some(size) => Formula::row([Formula::Sign(MINUS), strip::decimal_number(size)]),
            None => strip::decimal_number(&text),
        },
        Err(_) => build::formula(&value, names),
    }
}

/// The row below the last order: can a later line fail, and does the series converge?
pub(super) fn later(
    problem: &Problem,
    every: Option<&EveryOrder>,
    names: &Names,
    center: &Formula,
) -> LedgerRow {
    let reason = Prose::words("Every later order");
    let Some(every) = every else {
        let text =
            "Whether a later line fails was not found out; nor whether the series converges.";
        return plain_row("later", reason, vec![Line::Text(Prose::words(text))]);
    };
    let n = |plus: i64| {
        let n = Formula::Identifier("n".to_owned());
        match plus {
            0 => n,
            _ => Formula::row([
                n,
                Formula::Operator(if plus < 0 { MINUS } else { '+' }),
                Formula::digits(plus.unsigned_abs()),
            ]),
        }
    };
    let letter = Names {
        independent: "n".to_owned(),
        ..names.clone()
    };
    let powers = every
        .factor
        .iter()
        .zip(0..)
        .map(|(c, power)| Expr::product(vec![c.clone(), Expr::variable().pow_int(power)]));
    let factor = build::formula(&Expr::sum(powers.collect()), &letter);
    let order = problem.unknowns.first().map_or(1, |u| u.equation_order);
    let new = Formula::value_at(
        Formula::power(names.derivative(0, 0), n(every.shift).bracketed()),
        center.clone(),
    );
    let start = Prose::words("In the ")
        .math(n(0))
        .text("-th derivative of the equation, at ")
        .math(Formula::equation(names.variable(), center.clone()))
        .text(", the highest derivative that is left is ")
        .math(new)
        .text(", multiplied by ")
        .math(factor)
        .text(if every.linear {
            " (Leibniz's rule)"
        } else {
            " (Leibniz's rule, for the terms with the highest derivatives)"
        });
    let from = Formula::row([n(0), Formula::Operator('≥'), Formula::digits(every.from)]);
    let text = match every.zeros.as_deref() {
        None => start.text(". Where that is zero was not found out: a later line may fail."),
        Some([]) => start
            .text(", which is zero for no ")
            .math(from)
            .text(": every later line gives one value, and none fails."),
        Some(zeros) => start
            .text(", which among the ")
            .math(from)
            .text(" is zero only for ")
            .math(n(0))
            .text(" = ")
            .list(zeros.iter().map(Formula::digits))
            .text(". There, and only there, a line can leave a value free or contradict."),
    };
    let convergence = match (every.convergence, every.linear) {
        (Convergence::Converges, true) if every.shift == i64::from(order) => "",
        (Convergence::Converges, true) => {
            "The center is a *regular singular point*: the series converges near it (Fuchs's theorem)."
        }
        (Convergence::Converges, false) if every.shift == i64::from(order) => {
            "This factor is the derivative of left side minus right side with respect to the highest derivative, and it is not zero: by the *implicit function theorem* the equation gives the highest derivative as an analytic function near these data. So there is exactly one solution with them, and its series converges near the center (Cauchy's existence theorem)."
        }
        (Convergence::Converges, false) => {
            "The highest derivative takes part in this factor, so the series converges near the center (Malgrange's theorem)."
        }
        (Convergence::Unknown, _) => {
            "The highest derivative takes no part in this factor (an irregular singular point): **the series is formal**, and whether it converges anywhere except at the center is not shown here."
        }
        (Convergence::Diverges, _) => {
            "The highest derivative takes no part in this factor (an irregular singular point). Each further coefficient is a multiple of an earlier one by a factor that grows without bound (ratio test): **the series is formal only**, its radius of convergence is 0."
        }
    };
    let mut lines = vec![Line::Text(text)];
    if !convergence.is_empty() {
        lines.push(Line::Text(Prose::words(convergence)));
    }
    plain_row("later", reason, lines)
}
