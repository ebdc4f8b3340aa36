//! LaTeX source, Newton's dots, logarithms to other bases, differentials: what they are read as.

use super::outline_relation;
use crate::budget::Budget;
use crate::diagnostic::Severity;
use crate::syntax::parse_equations;

fn check(cases: &[(&str, &str)]) {
    for (text, expected) in cases {
        let (relations, diagnostics) = parse_equations(text, &Budget::PAGE);
        let errors: Vec<_> = diagnostics
            .iter()
            .filter(|d| d.severity == Severity::Error)
            .collect();
        assert!(errors.is_empty(), "{text}: {errors:#?}");
        let shown: Vec<String> = relations.iter().map(outline_relation).collect();
        assert_eq!(shown.join("; "), *expected, "{text}");
    }
}

#[test]
fn latex_derivatives() {
    check(&[
        (r"\frac{dy}{dx} = x", "D1/x[y] = x"),
        (r"\dfrac{d^2y}{dx^2} = x", "D2/x[y] = x"),
        (r"\frac{d^{2} y}{d x^{2}} = x", "D2/x[y] = x"),
        (r"\frac{\mathrm{d}y}{\mathrm{d}x} = x", "D1/x[y] = x"),
        (r"\frac{{\rm d}y}{{\rm d}x} = x", "D1/x[y] = x"),
        (r"\frac{d\theta}{dt} = 1", "D1/t[theta] = 1"),
        (r"\frac{d}{dx}y = 1", "D1/x[y] = 1"),
        (r"\frac{dy}{dx}^2 = 1", "[(D1/x[y])^2] = 1"),
        (r"x\frac{dy}{dx}y = 1", "[[x D1/x[y]] y] = 1"),
        (r"y^{\prime\prime} = x", "D2[y] = x"),
        (r"y^\prime = x", "D1[y] = x"),
        (r"y^{(4)} = x", "D4[y] = x"),
        (r"y^{\left(4\right)} = x", "D4[y] = x"),
        (r"\dot{x} + \ddot x = x", "[+D1[x] +D2[x]] = x"),
        (r"\dot\theta = \dddot{x_1}", "D1[theta] = D3[x_1]"),
        (r"\dot{x}x = 1", "[D1[x] x] = 1"),
    ]);
}

#[test]
fn latex_expressions() {
    check(&[
        (r"y' = \frac{x}{2}y", "D1[y] = [[x/2] y]"),
        (r"y' = \frac12 x", "D1[y] = [[1/2] x]"),
        (r"y' = \tfrac\pi2", "D1[y] = [pi/2]"),
        (r"y' = \frac{1}{1+\frac{1}{x}}", "D1[y] = [1/[+1 +[1/x]]]"),
        (r"y' = \sqrt{x}y", "D1[y] = [sqrt[(x)] y]"),
        (r"y' = \sqrt2", "D1[y] = sqrt[(2)]"),
        (r"y' = \sqrt[3]{x}", "D1[y] = cbrt[(x)]"),
        (r"y' = \sqrt[5]{x} y", "D1[y] = [[(x)^([1/(5)])] y]"),
        (r"y' = x\sin x", "D1[y] = [x sin[x]]"),
        (
            r"y' = \sin^{2}{x}\cos\theta",
            "D1[y] = [sin^(2)[(x)] cos[theta]]",
        ),
        (r"y' = \sin^{-1} x", "D1[y] = arcsin[x]"),
        (r"y' = \operatorname{sech}x", "D1[y] = sech[x]"),
        (
            r"y' = \left(1+x\right)\cdot y\,x",
            "D1[y] = [[([+1 +x])*y] x]",
        ),
        (
            r"y' = \left|x\right| + \lvert y \rvert",
            "D1[y] = [+abs[x] +abs[y]]",
        ),
        (
            r"y' = \mathrm{e}^{-x} + 2\,\mathrm{e}^3",
            "D1[y] = [+[e^(neg[x])] +[2 [e^3]]]",
        ),
        (r"y' = \log_{2} x", "D1[y] = [ln[x]/ln[2]]"),
        (r"y' = \ln\left(x\right)", "D1[y] = ln[(x)]"),
        (r"y' = 2\pi\varphi", "D1[y] = [[2 pi] phi]"),
        (r"y' = x \times y \div 2", "D1[y] = [[x*y]/2]"),
    ]);
}

#[test]
fn latex_surroundings() {
    check(&[
        (r"$y' = x$", "D1[y] = x"),
        (r"\[ y' = x \]", "D1[y] = x"),
        (r"\( y' = x \)", "D1[y] = x"),
        (
            r"$$y' = x \quad \text{and}\quad z' = 1$$",
            "D1[y] = x; D1[z] = 1",
        ),
        (r"y' &= x \\ z' &= 1 \\", "D1[y] = x; D1[z] = 1"),
        ("y' &= x", "D1[y] = x"),
        (
            "\\begin{aligned}\ny' &= x \\\\[2pt]\n&\\quad - y \\\\\n-z' &= 1\n\\end{aligned}",
            "D1[y] = [+x -y]; neg[D1[z]] = 1",
        ),
        (
            r"\begin{cases} y' = z \\ z' = y \end{cases}",
            "D1[y] = z; D1[z] = y",
        ),
        (r"y' = x \tag{3.1}", "D1[y] = x"),
    ]);
}

#[test]
fn dots() {
    check(&[
        ("ẏ = t", "D1[y] = t"),
        ("ẍ + ẋ = 0", "[+D2[x] +D1[x]] = 0"),
        ("θ̈ = -θ", "D2[theta] = neg[theta]"),
        ("x\u{307} = 1", "D1[x] = 1"),
        ("x\u{20db} = 1", "D3[x] = 1"),
    ]);
}

#[test]
fn logarithms_and_functions_of_the_reciprocal() {
    check(&[
        ("y' = log_2 x", "D1[y] = [ln[x]/ln[2]]"),
        ("y' = log₂ x", "D1[y] = [ln[x]/ln[2]]"),
        ("y' = log10(x) y", "D1[y] = [[ln[(x)]/ln[10]] y]"),
        ("y' = log10 x", "D1[y] = [ln[x]/ln[10]]"),
        ("y' = log2x", "D1[y] = ln[[2 x]]"),
        (
            "y' = lg x + lb x",
            "D1[y] = [+[ln[x]/ln[10]] +[ln[x]/ln[2]]]",
        ),
        ("y' = log_2^2 x", "D1[y] = [([ln[x]/ln[2]])^2]"),
        ("y' = log_2^-1 x", "D1[y] = [2^x]"),
        ("y' = log_a x", "D1[y] = [ln[x]/ln[a]]"),
        ("y' = sin x log_2 x", "D1[y] = [sin[x] [ln[x]/ln[2]]]"),
        ("y' = arcsec x", "D1[y] = arccos[([1/x])]"),
        ("y' = arccsch x y", "D1[y] = arsinh[([1/[x y]])]"),
    ]);
}

#[test]
fn differentials() {
    check(&[
        ("(x+y)dx + x dy = 0", "[+[([+x +y]) dx] +[x dy]] = 0"),
        ("xdy = ydx", "[x dy] = [y dx]"),
        ("sin x dx + y dy = 0", "[+[sin[x] dx] +[y dy]] = 0"),
        ("2r dr + dθ = 0", "[+[[2 r] dr] +dtheta] = 0"),
        // One letter alone, or a derivative marked otherwise: products.
        ("y' = dx + dy", "D1[y] = [+[d x] +[d y]]"),
        ("y = dx", "y = [d x]"),
    ]);
}
