//! Every way of writing that is read, in one table: what is written, and what it is read as. The
//! page of documentation `www/writing.md` is made of this table, so it cannot promise more.
//!
//! `BLESS=1 cargo test -p solver --test writing` writes the page anew.

use std::fmt::Write as _;
use std::path::{Path, PathBuf};

use solver::budget::Budget;
use solver::diagnostic::Severity;
use solver::problem::understand;
use solver::syntax;

/// A heading, what holds for all its rows, and the rows: equation, conditions, read as. A row
/// without an equation is about the conditions alone (of `y'' = x y`), one without conditions about
/// the equation alone.
type Section = (
    &'static str,
    &'static str,
    &'static [(&'static str, &'static str, &'static str)],
);

const SECTIONS: &[Section] = &[
    (
        "Derivatives",
        "Primes, Leibniz's notation, an order in brackets, or Newton's dots for time. The order of \
         the equation is that of its highest derivative.",
        &[
            ("y' = x y", "", "y' = x y"),
            ("y″ + y = 0", "", "y'' + y = 0"),
            ("y\" + y = 0", "", "y'' + y = 0"),
            ("y^(4) = y", "", "y^{(4)} = y"),
            ("y^{(4)} = y", "", "y^{(4)} = y"),
            ("y⁽⁴⁾ = y", "", "y^{(4)} = y"),
            ("y^(iv) = y", "", "y^{(4)} = y"),
            ("dy/dx = x y", "", "dy/dx = x y"),
            ("d^2y/dx^2 = x y", "", "d^2y/dx^2 = x y"),
            ("d²θ/dt² = −sin θ", "", "d^2theta/dt^2 = -sin theta"),
            ("d/dx y = y", "", "dy/dx = y"),
            ("y''(x) + y(x) = 0", "", "y''(x) + y(x) = 0"),
            ("(dy)/(dx) = x y", "", "dy/dx = x y"),
            ("d/dx(y) = x y", "", "dy/dx = x y"),
            ("ẍ + x = 0", "", "x'' + x = 0"),
            ("x¨ + x = 0", "", "x'' + x = 0"),
            ("¨x = ˙x", "", "x'' = x'"),
            ("θ̈ = −9 sin θ", "", "theta'' = -9 sin theta"),
        ],
    ),
    (
        "Equations",
        "The highest derivative may stand anywhere, on either side.",
        &[
            ("x y - y'' = 0", "", "x y - y'' = 0"),
            ("x + 3y'' - y = cos x", "", "x + 3 y'' - y = cos x"),
            ("0 = y' - x", "", "0 = y' - x"),
            ("(4 + x^2) y'' + 3y = 0", "", "(4 + x^2) y'' + 3 y = 0"),
        ],
    ),
    (
        "Systems",
        "One equation for each unknown, separated by semicolons, commas, “and” or line ends; orders \
         may differ. The unknowns are the letters that are differentiated; the variable is t where \
         nothing names another.",
        &[
            (
                "u' = u(3 - v); v' = v(u - 2)",
                "",
                "u' = u(3 - v); v' = v(u - 2)",
            ),
            ("x'' = -3y, y' = x", "", "x'' = -3 y; y' = x"),
            ("dx/dt = y and dy/dt = -x", "", "dx/dt = y; dy/dt = -x"),
            ("ẋ = y; ẏ = −x", "", "x' = y; y' = -x"),
            (
                "y_1' = y_2, y_2' = -y_1",
                "y_1(0) = 1, y_2(0) = 0",
                "y_1' = y_2; y_2' = -y_1; y_1(0) = 1; y_2(0) = 0",
            ),
            (
                "u' + v' = t; u' - v' = 2v",
                "u = 4, v = 1 at t = 0",
                "u' + v' = t; u' - v' = 2 v; u(0) = 4; v(0) = 1",
            ),
            (
                r"\begin{cases} x' = y \\ y' = -x \end{cases}",
                "",
                "x' = y; y' = -x",
            ),
        ],
    ),
    (
        "Differentials",
        "An equation between two differentials is divided by one of them: M dx + N dy = 0 is \
         M + N y′ = 0. The letter that has a condition is the unknown; without one, the letter that \
         is not x or t.",
        &[
            (
                "(x+y)dx + x dy = 0",
                "y(1) = 2",
                "(x + y) dx + x dy = 0; y(1) = 2",
            ),
            ("x dy = y dx", "y(1) = 2", "x dy = y dx; y(1) = 2"),
            ("dy/y = x dx", "y(0) = 1", "dy/y = x dx; y(0) = 1"),
            ("y dy + dx = 0", "x(1) = 0", "y dy + dx = 0; x(1) = 0"),
        ],
    ),
    (
        "Conditions",
        "In any order, separated by commas, semicolons, “and” or line ends. A point given in words \
         holds for the values before it, or, when it comes first, for those behind it. Where the \
         equation leaves several values, ≈ takes the nearest.",
        &[
            ("", "y(0) = 2, y'(0) = 1", "y(0) = 2; y'(0) = 1"),
            ("", "y'(0) = 1; y(0) = 2", "y'(0) = 1; y(0) = 2"),
            ("", "y(0) = y'(0) = 1", "y(0) = 1; y'(0) = 1"),
            ("", "2 = y(0) and dy/dx(0) = 1", "y(0) = 2; y'(0) = 1"),
            ("", "y = 2, y' = 5 at x = 1", "y(1) = 2; y'(1) = 5"),
            ("", "y=2 when x=0, y'=1 when x=0", "y(0) = 2; y'(0) = 1"),
            ("", "y = 1 and y' = 0 for x = 0", "y(0) = 1; y'(0) = 0"),
            ("", "at x = 0: y = 1, y' = 2", "y(0) = 1; y'(0) = 2"),
            ("", "y = 1, y' = 2 at 0", "y(0) = 1; y'(0) = 2"),
            ("", "x = 0, y = 1, y' = 2", "y(0) = 1; y'(0) = 2"),
            ("", "y(0) = 1, y'(0) = 2, x = 0", "y(0) = 1; y'(0) = 2"),
            (
                "y'^3 - 3y' + 1 = y",
                "y(0) = 0, y'(0) ≈ 0.35",
                "y'^3 - 3 y' + 1 = y; y(0) = 0; y'(0) ≈ 0.35",
            ),
            ("", "y(x = 0) = 1, y'(x = 0) = 2", "y(0) = 1; y'(0) = 2"),
            ("", "y|_{x=0} = 1, y'|_0 = 2", "y(0) = 1; y'(0) = 2"),
            (
                "",
                "y(0) = 2, y'(0) = 1, y(0) = 2",
                "y(0) = 2; y'(0) = 1; y(0) = 2",
            ),
        ],
    ),
    (
        "Numbers",
        "Decimals are exact fractions.",
        &[
            ("", "y(0) = -3/4, y'(0) = 0.25", "y(0) = -3/4; y'(0) = 0.25"),
            (
                "",
                "y(1/2) = 1e-3, y'(1/2) = 2½",
                "y(1/2) = 0.001; y'(1/2) = 2.5",
            ),
            (
                "",
                "y(pi/3) = √5, y'(π/3) = cbrt 2",
                "y(pi/3) = √5; y'(pi/3) = ∛2",
            ),
            (
                "",
                "y(ln 2) = e^2, y'(ln 2) = arctan 1",
                "y(ln 2) = e^2; y'(ln 2) = arctan 1",
            ),
        ],
    ),
    (
        "Products, quotients, powers",
        "Factors side by side are multiplied; a quotient ends at the next factor.",
        &[
            ("y' = 2xy", "", "y' = 2 x y"),
            ("y' = 3(1+x)y", "", "y' = 3 (1 + x) y"),
            ("y' = x × y ⋅ 2 − 1", "", "y' = x*y*2 - 1"),
            ("y' = x*y", "", "y' = x*y"),
            ("y' = 1/2 x", "", "y' = 1/2 x"),
            ("y' = 1/2x", "", "y' = 1/2 x"),
            ("y' = y(1-y)", "", "y' = y(1 - y)"),
            ("y' = x²y³", "", "y' = x^2 y^3"),
            ("y' = e^-x^2", "", "y' = e^-x^2"),
            ("y' = e^2x", "", "y' = e^2 x"),
            ("y' = 2^x + x^x", "", "y' = 2^x + x^x"),
            ("y' = [x + {1 - y}] y", "", "y' = (x + (1 - y)) y"),
        ],
    ),
    (
        "Functions",
        "An argument without brackets runs over the factors side by side, up to a sign, a quotient \
         or another function.",
        &[
            ("y' = sin 2x", "", "y' = sin 2 x"),
            ("y' = sinx", "", "y' = sin x"),
            ("y' = sin x cos x", "", "y' = sin x cos x"),
            ("y' = sin x/2", "", "y' = sin x/2"),
            ("y' = sin²x + cos^2(x)", "", "y' = sin^2 x + cos^2(x)"),
            ("y' = sin^-1 x", "", "y' = arcsin x"),
            ("y' = asin x + arctan x", "", "y' = arcsin x + arctan x"),
            (
                "y' = sec x + csc(x+1) + cot(x+1)",
                "",
                "y' = sec x + csc(x + 1) + cot(x + 1)",
            ),
            (
                "y' = sinh x + cosh x + tanh x",
                "",
                "y' = sinh x + cosh x + tanh x",
            ),
            (
                "y' = asinh x + arcosh(x+2) + artanh x",
                "",
                "y' = arsinh x + arcosh(x + 2) + artanh x",
            ),
            ("y' = arcsec(x+2)", "", "y' = arccos(1/(x + 2))"),
            ("y' = |y - 2|", "", "y' = |y - 2|"),
            (
                "y' = √(1+x) + sqrt(1+x) + ∛(1+x)",
                "",
                "y' = sqrt(1 + x) + sqrt(1 + x) + cbrt(1 + x)",
            ),
            ("y' = exp(-x) + ln(1+x)", "", "y' = exp(-x) + ln(1 + x)"),
            ("y' = log(1+x)", "", "y' = ln(1 + x)"),
            ("y' = log_2(1+x)", "", "y' = ln(1 + x)/ln 2"),
            ("y' = log10(1+x)", "", "y' = ln(1 + x)/ln 10"),
            (
                "y' = lg(1+x) + lb(1+x)",
                "",
                "y' = ln(1 + x)/ln 10 + ln(1 + x)/ln 2",
            ),
            ("y' = log_{3}(1+x)", "", "y' = ln(1 + x)/ln 3"),
        ],
    ),
    (
        "Letters",
        "The unknown is what is differentiated. The variable is Leibniz's letter, else the argument \
         of the unknown, else the letter of the point in words, else x, t, s, …",
        &[
            ("θ' = θ + theta", "", "theta' = theta + theta"),
            ("y_1' = y₁ + t", "", "y_1' = y_1 + t"),
            ("T' = k (T_room - T)", "", "T' = k (T_room - T)"),
            ("T' = k (T_{room} - T)", "", "T' = k (T_room - T)"),
            ("v' = g - v/v0", "", "v' = g - v/v_0"),
            ("𝑦′ = 𝑥𝑦", "", "y' = x y"),
            ("y' = 2πx", "", "y' = 2 pi x"),
        ],
    ),
    (
        "LaTeX source",
        "As pasted, with or without dollar signs. A line end `\\\\` separates equations unless a \
         sign goes on behind the alignment mark.",
        &[
            (r"\frac{dy}{dx} = x y", "y(0)=1", "dy/dx = x y; y(0) = 1"),
            (
                r"$\frac{\mathrm{d}y}{\mathrm{d}x} = \frac{1}{2}x$",
                "$y(0)=1$",
                "dy/dx = 1/2 x; y(0) = 1",
            ),
            (
                r"\dfrac{d^2y}{dx^2} + \dfrac{dy}{dx} = 0",
                r"y(0)=1, \frac{dy}{dx}(0)=2",
                "d^2y/dx^2 + dy/dx = 0; y(0) = 1; y'(0) = 2",
            ),
            (
                r"\[ y^{\prime\prime} + \sin y = 0 \]",
                r"y(0)=\frac{\pi}{6},\; y^{\prime}(0)=0",
                "y'' + sin y = 0; y(0) = pi/6; y'(0) = 0",
            ),
            (
                r"y^{(3)} = y",
                r"y(0)=1,\ y'(0)=0,\ y''(0)=\sqrt{5}",
                "y''' = y; y(0) = 1; y'(0) = 0; y''(0) = sqrt(5)",
            ),
            (
                r"\ddot{x} + \dot{x} = 0",
                r"x(0)=1, \dot{x}(0)=0",
                "x'' + x' = 0; x(0) = 1; x'(0) = 0",
            ),
            (
                r"\ddot\theta + 9\sin\theta = 0",
                r"\theta(0) = 1,\quad \dot\theta(0) = 0",
                "theta'' + 9 sin theta = 0; theta(0) = 1; theta'(0) = 0",
            ),
            (
                r"y' = \left(1+x\right)\cdot y",
                "y(0)=1",
                "y' = (1 + x)*y; y(0) = 1",
            ),
            (
                r"y' = \sqrt{1+x}\,\sqrt[3]{y}",
                "y(0)=1",
                "y' = sqrt(1 + x) cbrt(y); y(0) = 1",
            ),
            (
                r"y' = \mathrm{e}^{-x^{2}/2} + \operatorname{arsinh} x",
                "y(0)=1",
                "y' = e^(-x^{2}/2) + arsinh x; y(0) = 1",
            ),
            (
                r"y' = \ln\left|1+x\right| + \log_{2}(1+x)",
                "y(0)=1",
                "y' = ln |1 + x| + ln(1 + x)/ln 2; y(0) = 1",
            ),
            (
                r"y' = \frac12 x \times y",
                "y(0)=1",
                "y' = 1/2 x*y; y(0) = 1",
            ),
            (r"y' &= x y \\", r"y(0) &= 1 \\", "y' = x y; y(0) = 1"),
            (
                r"\begin{aligned} y'' &= x \\ &\quad - y \end{aligned}",
                r"y = 1, y' = 2 \text{ at } x = 0",
                "y'' = x - y; y(0) = 1; y'(0) = 2",
            ),
            (r"y' = x", r"\left. y \right|_{x=0} = 1", "y' = x; y(0) = 1"),
        ],
    ),
];

/// The reading in plain text, and the notices.
fn reading(equation: &str, conditions: &str) -> (String, Vec<String>) {
    let budget = Budget::PAGE;
    let (relations, read_alone) = syntax::parse_equations(equation, &budget);
    let (read, _) = syntax::parse_conditions(conditions, &budget);
    let relations = relations
        .iter()
        .map(|r| format!("{} = {}", syntax::print(&r.left), syntax::print(&r.right)));
    let conditions_read = read.iter().map(|c| {
        let primes = "'".repeat(usize::try_from(c.order).expect("a small order"));
        let (point, value) = (syntax::print(&c.point), syntax::print(&c.value));
        let sign = if c.near { '≈' } else { '=' };
        format!("{}{primes}({point}) {sign} {value}", c.unknown)
    });
    let shown: Vec<String> = relations.chain(conditions_read).collect();
    // An equation alone is only read; conditions alone are those of y'' = x y.
    let diagnostics = match (equation, conditions) {
        (_, "") => read_alone,
        ("", _) => understand("y'' = x y", conditions, "5", &budget).1,
        _ => understand(equation, conditions, "5", &budget).1,
    };
    let said = diagnostics.iter();
    let said = said.map(|d| {
        assert_eq!(
            d.severity,
            Severity::Notice,
            "{equation} | {conditions}: {d:?}"
        );
        d.message.clone()
    });
    (shown.join("; "), said.collect())
}

fn code(text: &str) -> String {
    // A bar would end the cell.
    let fence = if text.contains('`') { "``" } else { "`" };
    format!("{fence}{}{fence}", text.replace('|', "\\|"))
}

#[test]
fn every_way_of_writing_is_read_as_the_table_says() {
    let mut page = String::from(
        "# Ways of writing\n\n\
         Everything here is read; the page shows how while you type, and where a second reading is \
         common, it says which one it took.\n",
    );
    let mut wrong = Vec::new();
    for (title, prose, rows) in SECTIONS {
        let _ = writeln!(page, "\n## {title}\n\n{prose}\n");
        let _ = writeln!(page, "| written | read as | said |\n|---|---|---|");
        for (equation, conditions, expected) in *rows {
            let (shown, said) = reading(equation, conditions);
            if shown != *expected {
                wrong.push(format!(
                    "({equation:?}, {conditions:?}, {shown:?}), // {expected:?}"
                ));
            }
            let written: Vec<String> = [equation, conditions]
                .into_iter()
                .filter(|text| !text.is_empty())
                .map(|text| code(text))
                .collect();
            let _ = writeln!(
                page,
                "| {} | {} | {} |",
                written.join(" with "),
                code(&shown),
                said.join(" ").replace('|', "\\|")
            );
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    let path = page_path();
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(&path, &page).expect("a writable file");
    }
    let kept = std::fs::read_to_string(&path).unwrap_or_default();
    assert!(
        kept == page,
        "{} is stale: run with BLESS=1",
        path.display()
    );
}

fn page_path() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../www/writing.md")
}
