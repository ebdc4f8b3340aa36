//! Tables: an expression and its three written forms.

use super::build::{self, Values};
use super::formula::Formula;
use super::names::Names;
use super::{latex, mathml, plain};
use crate::expression::{Expr, Function, Symbol};
use crate::number::rational::ratio;

fn names() -> Names {
    Names {
        independent: "x".to_owned(),
        unknowns: vec!["y".to_owned()],
        typed_sums: Vec::new(),
        initial_letters: Vec::new(),
    }
}

fn x() -> Expr {
    Expr::variable()
}

fn y(order: u32) -> Expr {
    Expr::derivative(0, order)
}

fn int(n: i64) -> Expr {
    Expr::int(n)
}

fn frac(n: i64, d: i64) -> Expr {
    Expr::number(ratio(n, d))
}

fn call(function: Function, argument: Expr) -> Expr {
    Expr::raw_call(function, argument)
}

fn times(factors: Vec<Expr>) -> Expr {
    Expr::raw_product(factors)
}

fn plus(terms: Vec<Expr>) -> Expr {
    Expr::raw_sum(terms)
}

fn raised(base: Expr, exponent: Expr) -> Expr {
    Expr::raw_power(base, exponent)
}

#[test]
#[allow(clippy::too_many_lines, reason = "one table")]
fn expressions_in_latex_and_machine_text() {
    use Function::{Arcsin, Cos, Exp, Ln, Sin};
    let table: Vec<(Expr, &str, &str)> = vec![
        (frac(-5, 24), "-\\frac{5}{24}", "-5/24"),
        (
            plus(vec![
                times(vec![int(2), x()]),
                times(vec![int(-1), raised(y(1), int(2))]),
                times(vec![int(-1), y(0), y(2)]),
            ]),
            "2x - (y')^{2} - y \\cdot y''",
            "2*x - y'^2 - y*y''",
        ),
        (
            times(vec![int(-3), y(1), y(4)]),
            "-3y' \\cdot y^{(4)}",
            "-3*y'*y^(4)",
        ),
        (raised(y(4), int(2)), "(y^{(4)})^{2}", "(y^(4))^2"),
        (raised(y(0), int(2)), "y^{2}", "y^2"),
        (times(vec![int(2), int(3)]), "2 \\cdot 3", "2*3"),
        (
            times(vec![int(-1), plus(vec![y(1), y(2)])]),
            "-(y' + y'')",
            "-(y' + y'')",
        ),
        (times(vec![x(), x(), y(0)]), "x \\cdot xy", "x*x*y"),
        (times(vec![x(), int(-1)]), "x \\cdot (-1)", "x*(-1)"),
        (times(vec![x(), y(1)]), "xy'", "x*y'"),
        (
            times(vec![frac(1, 2), call(Sin, int(1))]),
            "\\frac{\\sin 1}{2}",
            "sin(1)/2",
        ),
        (
            times(vec![frac(1, 3), raised(int(2), frac(1, 2))]),
            "\\frac{\\sqrt{2}}{3}",
            "sqrt(2)/3",
        ),
        (raised(int(3), frac(1, 2)), "\\sqrt{3}", "sqrt(3)"),
        (raised(int(3), frac(2, 3)), "3^{2/3}", "3^(2/3)"),
        (raised(x(), frac(1, 3)), "\\sqrt[3]{x}", "x^(1/3)"),
        (
            raised(x(), frac(-1, 2)),
            "\\frac{1}{\\sqrt{x}}",
            "1/sqrt(x)",
        ),
        (call(Exp, int(2)), "e^{2}", "exp(2)"),
        (call(Exp, int(1)), "e", "exp(1)"),
        (times(vec![int(2), Expr::pi()]), "2\\pi", "2*pi"),
        (
            times(vec![frac(3, 2), raised(x(), int(2))]),
            "\\frac{3}{2}x^{2}",
            "3*x^2/2",
        ),
        (
            times(vec![
                int(-3),
                y(0),
                raised(plus(vec![raised(x(), int(2)), int(4)]), int(-1)),
            ]),
            "-\\frac{3y}{x^{2} + 4}",
            "-3*y/(x^2 + 4)",
        ),
        (
            times(vec![raised(x(), int(-1)), raised(y(0), int(-2)), y(1)]),
            "\\frac{y'}{xy^{2}}",
            "y'/(x*y^2)",
        ),
        (
            plus(vec![times(vec![int(-1), raised(x(), int(2))]), int(1)]),
            "1 - x^{2}",
            "1 - x^2",
        ),
        (times(vec![call(Sin, x()), y(1)]), "y'\\sin x", "sin(x)*y'"),
        (
            times(vec![call(Cos, x()), call(Sin, x())]),
            "\\cos x\\sin x",
            "cos(x)*sin(x)",
        ),
        (raised(call(Sin, x()), int(2)), "\\sin^{2}x", "sin(x)^2"),
        (raised(call(Ln, x()), int(2)), "(\\ln x)^{2}", "ln(x)^2"),
        (
            call(Arcsin, plus(vec![x(), int(1)])),
            "\\arcsin(x + 1)",
            "arcsin(x + 1)",
        ),
        (call(Sin, times(vec![int(2), x()])), "\\sin 2x", "sin(2*x)"),
        (
            call(Sin, times(vec![int(-1), y(0)])),
            "\\sin(-y)",
            "sin(-y)",
        ),
        (
            call(Function::Abs, frac(1, 2)),
            "\\left\\lvert\\frac{1}{2}\\right\\rvert",
            "abs(1/2)",
        ),
        (
            times(vec![plus(vec![x(), int(1)]), plus(vec![y(0), int(-1)])]),
            "(x + 1)(y - 1)",
            "(x + 1)*(y - 1)",
        ),
        (
            raised(plus(vec![x(), int(1)]), plus(vec![x(), int(1)])),
            "(x + 1)^{x + 1}",
            "(x + 1)^(x + 1)",
        ),
        (
            raised(raised(x(), int(2)), int(3)),
            "(x^{2})^{3}",
            "(x^2)^3",
        ),
        (raised(int(-2), int(2)), "(-2)^{2}", "(-2)^2"),
        (
            raised(frac(1, 2), int(2)),
            "\\left(\\frac{1}{2}\\right)^{2}",
            "(1/2)^2",
        ),
        (int(0), "0", "0"),
        // Closed constants over one number; sums with the variable are left as they are.
        (
            plus(vec![
                times(vec![frac(1, 4), raised(int(5), frac(1, 2))]),
                frac(-1, 4),
            ]),
            "\\frac{\\sqrt{5} - 1}{4}",
            "(sqrt(5) - 1)/4",
        ),
        (
            times(vec![
                plus(vec![
                    times(vec![frac(-1, 12), raised(int(2), frac(1, 2))]),
                    frac(-1, 12),
                ]),
                x(),
            ]),
            "\\left(-\\frac{\\sqrt{2} + 1}{12}\\right)x",
            "-(sqrt(2) + 1)*x/12",
        ),
        (
            plus(vec![times(vec![frac(1, 2), x()]), frac(1, 4)]),
            "\\frac{1}{2}x + \\frac{1}{4}",
            "x/2 + 1/4",
        ),
    ];
    for (expr, in_latex, in_text) in table {
        assert_eq!(plain::expression(&expr, &names()), in_text);
        assert_eq!(
            latex::latex(&build::formula(&expr, &names())),
            in_latex,
            "{in_text}"
        );
    }
}

#[test]
fn values_in_place_are_bracketed_where_sign_or_power_needs_it() {
    let center = Formula::digits(0);
    let known = |symbol: &Symbol| match symbol {
        Symbol::Variable => Some(int(0)),
        Symbol::Derivative { order: 0, .. } => Some(int(1)),
        Symbol::Derivative { order: 1, .. } => Some(int(-2)),
        Symbol::Derivative { order: 2, .. } => Some(frac(1, 2)),
        _ => None,
    };
    let table = [
        (
            times(vec![int(-3), y(0), y(1)]),
            "-3 \\cdot 1 \\cdot (-2)",
            " - 3 \\cdot 1 \\cdot (-2)",
        ),
        (raised(y(0), int(2)), "1^{2}", " + 1^{2}"),
        (raised(y(1), int(2)), "(-2)^{2}", " + (-2)^{2}"),
        (
            times(vec![int(-1), raised(y(1), int(2))]),
            "-(-2)^{2}",
            " - (-2)^{2}",
        ),
        (
            raised(y(2), int(3)),
            "\\left(\\frac{1}{2}\\right)^{3}",
            " + \\left(\\frac{1}{2}\\right)^{3}",
        ),
        (y(1), "-2", " + (-2)"),
        (times(vec![int(-1), y(1)]), "-(-2)", " - (-2)"),
        (times(vec![int(2), x()]), "2 \\cdot 0", " + 2 \\cdot 0"),
        (times(vec![x(), y(1)]), "0 \\cdot (-2)", " + 0 \\cdot (-2)"),
        (call(Function::Sin, y(1)), "\\sin(-2)", " + \\sin(-2)"),
        (
            times(vec![int(4), y(3)]),
            "4 \\cdot y'''(0)",
            " + 4 \\cdot y'''(0)",
        ),
        (
            times(vec![plus(vec![x(), int(4)]), y(1)]),
            "(0 + 4) \\cdot (-2)",
            " + (0 + 4) \\cdot (-2)",
        ),
    ];
    for (expr, alone, later) in table {
        let values = Values {
            of: &known,
            at: &center,
        };
        let first = build::substituted_term(&expr, &names(), true, values);
        let second = build::substituted_term(&expr, &names(), false, values);
        assert_eq!(latex::latex(&first), alone);
        assert_eq!(latex::latex(&second), later);
    }
}

#[test]
fn mathml_uses_one_character_for_primes_and_small_brackets() {
    let table = [
        (
            y(2),
            "<math><msup><mi>y</mi><mo lspace=\"0\" rspace=\"0\">″</mo></msup></math>",
        ),
        (
            y(4),
            "<math><msup><mi>y</mi><mrow><mo form=\"prefix\" stretchy=\"false\">(</mo><mn>4</mn>\
             <mo form=\"postfix\" stretchy=\"false\">)</mo></mrow></msup></math>",
        ),
        (
            frac(-1, 2),
            "<math><mo form=\"prefix\" lspace=\"0\" rspace=\"0\">−</mo><mfrac><mn>1</mn><mn>2</mn></mfrac></math>",
        ),
        (
            times(vec![int(2), x()]),
            "<math><mn>2</mn><mo>&#x2062;</mo><mi>x</mi></math>",
        ),
        (
            raised(y(1), int(2)),
            "<math><msup><mrow><mo form=\"prefix\" stretchy=\"false\">(</mo><msup><mi>y</mi>\
             <mo lspace=\"0\" rspace=\"0\">′</mo></msup><mo form=\"postfix\" stretchy=\"false\">)</mo></mrow>\
             <mn>2</mn></msup></math>",
        ),
    ];
    for (expr, expected) in table {
        assert_eq!(mathml::write(&build::formula(&expr, &names())), expected);
    }
}

/// Every element that is opened is closed in order, and the text between holds no stray markup.
fn assert_balanced(markup: &str) {
    let mut open: Vec<&str> = Vec::new();
    let mut rest = markup;
    while let Some(start) = rest.find('<') {
        assert!(!rest[..start].contains('>'), "stray > in {markup}");
        let end = start + rest[start..].find('>').expect("a closed tag");
        let tag = &rest[start + 1..end];
        if let Some(name) = tag.strip_prefix('/') {
            assert_eq!(open.pop(), Some(name), "{markup}");
        } else if !tag.ends_with('/') {
            open.push(tag.split(' ').next().expect("a name"));
        }
        rest = &rest[end + 1..];
    }
    assert!(open.is_empty(), "{open:?} left open in {markup}");
}

#[test]
fn hostile_names_stay_text() {
    let hostile = Names {
        independent: "<script>".to_owned(),
        unknowns: vec!["a\"&b'_<i>".to_owned()],
        typed_sums: Vec::new(),
        initial_letters: Vec::new(),
    };
    for expr in [x(), y(0), y(3), y(5), times(vec![x(), y(1)])] {
        let markup = mathml::write(&build::formula(&expr, &hostile));
        assert_balanced(&markup);
        assert!(
            !markup.contains("<script") && !markup.contains("<i>"),
            "{markup}"
        );
    }
    let tex = latex::latex(&Formula::Text("50% of {a} \\ $b$ | c".to_owned()));
    assert_eq!(
        tex,
        "\\text{50\\% of \\{a\\} \\textbackslash{} \\$b\\$ \\textbar{} c}"
    );
}

#[test]
fn mathml_is_balanced_with_the_right_number_of_children() {
    let deep = (0..20).fold(x(), |inner, n| {
        raised(
            plus(vec![
                times(vec![frac(n, 7), inner]),
                call(Function::Sin, y(2)),
            ]),
            frac(n - 10, 3),
        )
    });
    assert_balanced(&mathml::write(&build::formula(&deep, &names())));
}

#[test]
fn greek_and_indexed_names() {
    let names = Names {
        independent: "t".to_owned(),
        unknowns: vec!["theta".to_owned(), "y_1".to_owned()],
        typed_sums: Vec::new(),
        initial_letters: Vec::new(),
    };
    let second = Expr::derivative(1, 2);
    let product = times(vec![
        y(1),
        second,
        Expr::parameter("omega"),
        Expr::parameter("rate"),
    ]);
    let formula = build::formula(&product, &names);
    assert_eq!(
        latex::latex(&formula),
        "\\omega\\mathrm{rate}\\theta' \\cdot y_{1}''"
    );
    assert_eq!(
        plain::expression(&product, &names),
        "theta'*y_1''*omega*rate"
    );
    assert_eq!(plain::formula(&formula), "omega rate theta'·y_1''");
    assert!(mathml::write(&formula).contains("<mi>θ</mi>"));
    assert!(
        mathml::write(&formula).contains(
            "<msubsup><mi>y</mi><mn>1</mn><mo lspace=\"0\" rspace=\"0\">″</mo></msubsup>"
        )
    );
}

#[test]
fn human_text_keeps_fractions_apart_from_their_neighbors() {
    let table = [
        (times(vec![frac(1, 2), raised(x(), int(3))]), "(1/2) x^3"),
        (times(vec![int(2), call(Function::Sin, x())]), "2 sin x"),
        (raised(y(0), frac(3, 2)), "y^(3/2)"),
        (raised(call(Function::Cos, x()), int(2)), "cos^2 x"),
        (times(vec![y(0), y(2)]), "y·y''"),
        (
            times(vec![
                int(-3),
                y(0),
                raised(plus(vec![x(), int(4)]), int(-1)),
            ]),
            "-(3y)/(x + 4)",
        ),
    ];
    for (expr, expected) in table {
        assert_eq!(plain::formula(&build::formula(&expr, &names())), expected);
    }
}
