//! Ways of writing, each with the structure it is read as.

use super::outline;
use super::outline_relation;
use crate::budget::Budget;
use crate::diagnostic::Severity;
use crate::span::Field;
use crate::syntax::{parse_constant, parse_equations, print};

/// Reads the right side of `y'' = …` and compares its structure; no error may be told.
fn check(cases: &[(&str, &str)]) {
    for (text, expected) in cases {
        let equation = format!("y'' = {text}");
        let (relations, diagnostics) = parse_equations(&equation, &Budget::PAGE);
        let errors: Vec<_> = diagnostics
            .iter()
            .filter(|d| d.severity == Severity::Error)
            .collect();
        assert!(errors.is_empty(), "{text}: {errors:#?}");
        let [relation] = relations.as_slice() else {
            panic!("{text}: {} relations", relations.len())
        };
        assert_eq!(outline(&relation.right), *expected, "{text}");
    }
}

#[test]
fn products_quotients_powers() {
    check(&[
        ("x^2 + 3y", "[+[x^2] +[3 y]]"),
        ("2xy'", "[[2 x] D1[y]]"),
        ("xyy'", "[[x y] D1[y]]"),
        ("(1+x)(2-x)", "[([+1 +x]) ([+2 -x])]"),
        ("3(1+x)", "[3 ([+1 +x])]"),
        ("x(1+x)^2", "[x [([+1 +x])^2]]"),
        ("y(x)", "y@x"),
        ("y (1+x)", "[y ([+1 +x])]"),
        ("1/2x", "[[1/2] x]"),
        ("x/y/2", "[[x/y]/2]"),
        ("2*-x", "[2*neg[x]]"),
        ("-x^2", "neg[[x^2]]"),
        ("- x y + 1", "[+neg[[x y]] +1]"),
        ("x^-2", "[x^neg[2]]"),
        ("x^2^3", "[x^[2^3]]"),
        ("e^-x^2", "[e^neg[[x^2]]]"),
        ("e^2x", "[[e^2] x]"),
        ("e^x(1+x)", "[[e^x] ([+1 +x])]"),
        ("[1+{x}] y", "[([+1 +(x)]) y]"),
        ("y'^2", "[D1[y]^2]"),
        ("k^(2) y", "[[k^(2)] y]"),
        ("+x", "x"),
    ]);
}

#[test]
fn numbers() {
    check(&[
        ("0.25", "1/4"),
        (".5", "1/2"),
        ("2.", "2"),
        ("1e-3", "1/1000"),
        ("2.5E4", "25000"),
        ("3·10^-2", "[3*[10^neg[2]]]"),
        ("2e^x", "[2 [e^x]]"),
        ("½ x", "[1/2 x]"),
        ("2½", "5/2"),
        ("⅓", "1/3"),
        ("x²³", "[x^23]"),
        ("10⁻²", "[10^neg[2]]"),
    ]);
}

#[test]
fn functions_and_their_arguments() {
    check(&[
        ("sin x", "sin[x]"),
        ("sin(x)", "sin[(x)]"),
        ("sin 2x", "sin[[2 x]]"),
        ("sin2x", "sin[[2 x]]"),
        ("sinx", "sin[x]"),
        ("sin x cos x", "[sin[x] cos[x]]"),
        ("cos x y' sin y y'", "[[[cos[x] D1[y]] sin[y]] D1[y]]"),
        ("sin y' x", "sin[[D1[y] x]]"),
        ("sin x·y", "[sin[x]*y]"),
        ("sin x/2", "[sin[x]/2]"),
        ("sin(x) y", "[sin[(x)] y]"),
        ("sin^2 x", "sin^2[x]"),
        ("sin²x", "sin^2[x]"),
        ("sin(x)^2", "[sin[(x)]^2]"),
        ("sin x^2", "sin[[x^2]]"),
        ("sin^-1 x", "arcsin[x]"),
        ("sin⁻¹(x)", "arcsin[(x)]"),
        ("sinh^-1 x", "arsinh[x]"),
        ("sin -x", "sin[neg[x]]"),
        ("sin cos x", "sin[cos[x]]"),
        ("sin 2 sqrt(x)", "sin[[2 sqrt[(x)]]]"),
        ("xlnx", "[x ln[x]]"),
        ("y sin y", "[y sin[y]]"),
        ("log x", "ln[x]"),
        ("Ln x", "ln[x]"),
        ("exp x", "exp[x]"),
        ("asinh x", "arsinh[x]"),
        ("√x", "sqrt[x]"),
        ("√2 x", "[sqrt[2] x]"),
        ("√(1+x)", "sqrt[([+1 +x])]"),
        ("∛x", "cbrt[x]"),
        ("sqrt 2x", "sqrt[[2 x]]"),
        ("|x|", "abs[x]"),
        ("abs(x)", "abs[(x)]"),
        ("|x + |y||", "abs[[+x +abs[y]]]"),
        ("||x|+1| y", "[abs[[+abs[x] +1]] y]"),
        ("2|x|y", "[[2 abs[x]] y]"),
        ("sin|x| y", "[sin[abs[x]] y]"),
    ]);
}

#[test]
fn names() {
    check(&[
        ("theta + θ", "[+theta +theta]"),
        ("2πx", "[[2 pi] x]"),
        ("2pix", "[[2 pi] x]"),
        ("omega t", "[omega t]"),
        ("y_1 + y₂ + y_{12}", "[+y_1 +y_2 +y_12]"),
        ("𝑥 y", "[x y]"),
        ("ｘ＋１", "[+x +1]"),
        ("x\u{a0}y\u{2009}z", "[[x y] z]"),
        ("Ω² y", "[[Omega^2] y]"),
    ]);
}

#[test]
fn signs_as_pasted() {
    check(&[
        ("x × y ⋅ 2", "[[x*y]*2]"),
        ("x − y – 1", "[+x -y -1]"),
        ("x ÷ 2", "[x/2]"),
        ("x∕2", "[x/2]"),
        ("xⁿ", "[x^n]"),
        ("x²ⁿ", "[x^([2 n])]"),
    ]);
}

/// Whole equations.
#[test]
fn derivatives() {
    for (text, expected) in [
        ("y' = x", "D1[y] = x"),
        ("y′′ = x", "D2[y] = x"),
        ("y’’ = x", "D2[y] = x"),
        ("y\" = x", "D2[y] = x"),
        ("y″ + y‴ = y⁗", "[+D2[y] +D3[y]] = D4[y]"),
        ("y ' = x", "D1[y] = x"),
        ("y^(4) = x", "D4[y] = x"),
        ("y^(iv) = x", "D4[y] = x"),
        ("y^{(iv)} + y^{vi} = y^(v)", "[+D4[y] +D6[y]] = [y^(v)]"),
        ("y^{(4)} = x", "D4[y] = x"),
        ("y⁽⁴⁾ = x", "D4[y] = x"),
        ("y^(4) = x^(2)", "D4[y] = [x^(2)]"),
        ("x^(4) = -x", "D4[x] = neg[x]"),
        ("x^(3) + t^(2) x = 0", "[+D3[x] +[[t^(2)] x]] = 0"),
        ("y^{4} = y'", "[y^(4)] = D1[y]"),
        ("dy/dx = x y", "D1/x[y] = [x y]"),
        ("d^2y/dx^2 = x", "D2/x[y] = x"),
        ("d²y/dx² = x", "D2/x[y] = x"),
        ("d^2 y / dx^2 + y = 0", "[+D2/x[y] +y] = 0"),
        ("d^{2}y/dx^{2} = x", "D2/x[y] = x"),
        ("d²θ/dt² = −sin θ", "D2/t[theta] = neg[sin[theta]]"),
        ("dtheta/dt = 1", "D1/t[theta] = 1"),
        ("2xdy/dx = y", "[[2 x] D1/x[y]] = y"),
        ("d/dx y = 1", "D1/x[y] = 1"),
        ("dy_1/dt = y_2", "D1/t[y_1] = y_2"),
        ("(4+x^2)y'' + 3y = 0", "[+[([+4 +[x^2]]) D2[y]] +[3 y]] = 0"),
        ("y'(x) = y(x)", "D1[y]@x = y@x"),
    ] {
        let (relations, diagnostics) = parse_equations(text, &Budget::PAGE);
        assert!(
            diagnostics.iter().all(|d| d.severity == Severity::Notice),
            "{text}: {diagnostics:#?}"
        );
        let shown: Vec<String> = relations.iter().map(outline_relation).collect();
        assert_eq!(shown, [expected], "{text}");
    }
}

#[test]
fn several_equations() {
    for text in [
        "y' = z; z' = -y",
        "y' = z\nz' = -y",
        "y' = z, z' = -y",
        "y' = z and z' = -y",
        "\ny' = z;\r\nz' = -y;\n",
    ] {
        let (relations, diagnostics) = parse_equations(text, &Budget::PAGE);
        assert!(diagnostics.is_empty(), "{text}: {diagnostics:#?}");
        let shown: Vec<String> = relations.iter().map(outline_relation).collect();
        assert_eq!(shown, ["D1[y] = z", "D1[z] = neg[y]"], "{text}");
    }
}

#[test]
fn constants() {
    for (text, expected) in [
        ("-3/4", "neg[[3/4]]"),
        ("pi/2", "[pi/2]"),
        ("2.5", "5/2"),
        ("1e-3", "1/1000"),
        ("pi(1+2)", "[pi ([+1 +2])]"),
        ("sqrt(2)", "sqrt[(2)]"),
    ] {
        let (node, diagnostics) = parse_constant(text, Field::At, &Budget::PAGE);
        assert!(diagnostics.is_empty(), "{text}: {diagnostics:#?}");
        assert_eq!(outline(&node), expected, "{text}");
    }
}

#[test]
fn printed_canonically() {
    for (text, expected) in [
        ("x²+3y", "x^2 + 3 y"),
        ("0,5".replace(',', ".").as_str(), "0.5"),
        ("2½", "2.5"),
        ("1⅓", "1⅓"),
        ("sin²x", "sin^2 x"),
        ("√(1+x)", "sqrt(1 + x)"),
        ("|x|", "|x|"),
        ("x × y'", "x*y'"),
        ("d²y/dx²", "d^2y/dx^2"),
        ("−x/2", "-x/2"),
        ("y⁽⁴⁾", "y^{(4)}"),
    ] {
        let (relations, _) = parse_equations(&format!("y'={text}"), &Budget::PAGE);
        let printed: Vec<String> = relations.iter().map(|r| print(&r.right)).collect();
        assert_eq!(printed, [expected], "{text}");
    }
}
