//! Random texts, with fixed seeds.

use super::without_spans;
use crate::budget::Budget;
use crate::diagnostic::{Diagnostic, Severity};
use crate::number::rational::ratio;
use crate::span::{Field, Span};
use crate::syntax::functions::FUNCTIONS;
use crate::syntax::{
    Kind, Multiplication, Node, applied, parse_conditions, parse_constant, parse_degree,
    parse_equations, print,
};

/// xorshift64* (Vigna, ACM TOMS 42, 2016).
struct Random(u64);

impl Random {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_f491_4f6c_dd1d) >> 16
    }

    fn below(&mut self, bound: usize) -> usize {
        usize::try_from(self.next() % bound as u64).unwrap_or(0)
    }

    fn pick<'a, T>(&mut self, from: &'a [T]) -> &'a T {
        &from[self.below(from.len())]
    }
}

const PARTS: &[&str] = &[
    "x",
    "y",
    "y'",
    "y''",
    "t",
    "e",
    "pi",
    "θ",
    "theta",
    "a",
    "y_1",
    "2",
    "3",
    "0.5",
    "1e-3",
    "½",
    "10",
    "+",
    "-",
    "−",
    "*",
    "·",
    "/",
    "^",
    "=",
    "(",
    ")",
    "[",
    "]",
    "{",
    "}",
    "|",
    ",",
    ";",
    "\n",
    " ",
    "  ",
    "sin",
    "cos ",
    "ln",
    "log",
    "exp",
    "sqrt",
    "√",
    "∛",
    "abs",
    "'",
    "″",
    "‴",
    "²",
    "⁻¹",
    "ⁿ",
    "⁽⁴⁾",
    "^(4)",
    "^{(5)}",
    "^2",
    "dy/dx",
    "d^2y/dx^2",
    "d²θ/dt²",
    "dy/dx^2",
    "sin^-1 ",
    "sin²",
    "sec^-1",
    "у",
    "х",
    "∫",
    "∂",
    "u_x",
    "<b>",
    "&amp;",
    "🙂",
    "∞",
    "≤",
    "==",
    "**",
    "foo",
    "sine",
    "xsinx",
    "pix",
    "x2",
    "!",
    "\\frac",
    "\\frac{",
    "\\frac{dy}{dx}",
    "\\sqrt[3]{",
    "\\sqrt",
    "\\left(",
    "\\right|_{",
    "\\dot{",
    "\\ddot\\theta",
    "\\mathrm{d}",
    "\\begin{cases}",
    "\\\\",
    "\\,",
    "\\",
    "\\log_",
    "$",
    "&",
    "^{\\prime}",
    "|_{x=0}",
    "log_2 ",
    "log10 ",
    "arcsec ",
    "lg",
    " at ",
    " when x = 0",
    "y = 1",
    "dx",
    " dy",
    "xdy",
    "dθ",
    "\u{20db}",
    "ẍ",
    "\u{307}",
    "ẏ",
    "\u{a0}",
    "y(0)",
    "y'(0)=1",
    "and",
    "lim",
    "_",
    "_1",
    "₂",
    "1.2.3",
    "1,5",
    "e^",
    "2^",
    "y(x)",
    "→",
    "±",
    "first",
    "terms",
    "degree",
];

/// Parts that often make a text that can be read.
const USUAL_PARTS: &[&str] = &[
    "x",
    "y",
    "y'",
    "t",
    "e",
    "pi",
    "θ",
    "a",
    "y_1",
    "2",
    "3 ",
    "½",
    "10 ",
    "+",
    "-",
    "*",
    "/",
    "^",
    "(",
    ")",
    "(x+1)",
    "[y]",
    "|",
    "|x|",
    " ",
    "sin",
    "cos ",
    "ln ",
    "exp",
    "sqrt ",
    "√",
    "∛",
    "abs ",
    "²",
    "⁻¹",
    "ⁿ",
    "^(4)",
    "^{(5)}",
    "^2",
    "^-x",
    "^n",
    "d^2y/dx^2",
    "sin^-1 ",
    "sin²",
    "tan^n ",
    "xsinx",
    "y(0)",
    "y'(x)",
    "e^",
    "2^",
    "-",
    "x ",
    " y",
];

fn random_text(random: &mut Random, parts: &[&str], longest: usize) -> String {
    let length = 1 + random.below(longest);
    (0..length).map(|_| *random.pick(parts)).collect()
}

/// Any characters: ASCII mostly, some of every width.
fn random_characters(random: &mut Random) -> String {
    const WIDE: &[char] = &[
        'é', '½', '′', 'у', 'θ', '𝑥', '🙂', '\u{301}', '\u{0}', '√', '⁽', '⁾', '﹦', 'ß',
        '\u{feff}',
    ];
    let length = random.below(40);
    (0..length)
        .map(|_| match random.below(5) {
            0 => *random.pick(WIDE),
            1 => char::from_u32(u32::try_from(random.below(0x3000)).unwrap_or(0)).unwrap_or('x'),
            _ => char::from(u8::try_from(random.below(128)).unwrap_or(b'x')),
        })
        .collect()
}

#[test]
fn any_text_is_read_and_every_place_lies_in_it() {
    let mut random = Random(0x1234_5678_9abc_def1);
    for case in 0..20_000 {
        let text = if case % 2 == 0 {
            random_text(&mut random, PARTS, 14)
        } else {
            random_characters(&mut random)
        };
        for diagnostic in read_as(case / 2 % 4, &text) {
            let Span { start, end } = diagnostic.span;
            assert!(text.get(start..end).is_some(), "{text:?}: {diagnostic:?}");
            for edit in diagnostic.suggestions.iter().flat_map(|s| &s.edits) {
                assert!(
                    text.get(edit.span.start..edit.span.end).is_some(),
                    "{text:?}: {edit:?}"
                );
            }
        }
    }
}

/// Reads the text as one of the kinds of fields and looks at the places in the result.
fn read_as(kind: usize, text: &str) -> Vec<Diagnostic> {
    let budget = Budget::PAGE;
    match kind {
        0 => {
            let (relations, diagnostics) = parse_equations(text, &budget);
            for relation in relations {
                places_are_in_range(&relation.left, text);
                places_are_in_range(&relation.right, text);
            }
            diagnostics
        }
        1 => {
            let (conditions, diagnostics) = parse_conditions(text, &budget);
            for condition in conditions {
                for span in [condition.span, condition.unknown_span] {
                    assert!(text.get(span.start..span.end).is_some(), "{text:?}");
                }
            }
            diagnostics
        }
        2 => {
            let (constant, diagnostics) = parse_constant(text, Field::At, &budget);
            places_are_in_range(&constant, text);
            diagnostics
        }
        _ => parse_degree(text, &budget).1,
    }
}

fn places_are_in_range(node: &Node, text: &str) {
    assert!(
        text.get(node.span.start..node.span.end).is_some(),
        "{text:?}: {node:?}"
    );
    let inside = |inner: &Node| {
        places_are_in_range(inner, text);
        let missing = inner.kind == Kind::Missing;
        let held = node.span.start <= inner.span.start && inner.span.end <= node.span.end;
        assert!(held || missing, "{text:?}: {inner:?} in {node:?}");
    };
    match &node.kind {
        Kind::Number(_) | Kind::Name(_) | Kind::Missing => {}
        Kind::Derivative { argument, .. } => {
            if let Some(argument) = argument {
                inside(argument);
            }
        }
        Kind::Applied { argument, .. } => inside(argument),
        Kind::Call {
            power, argument, ..
        } => {
            if let Some(power) = power {
                inside(power);
            }
            inside(argument);
        }
        Kind::Negated(inner) | Kind::Bracketed(inner) => inside(inner),
        Kind::Sum(terms) => terms.iter().for_each(|(_, term)| inside(term)),
        Kind::Product(left, _, right) | Kind::Quotient(left, right) | Kind::Power(left, right) => {
            inside(left);
            inside(right);
        }
    }
}

#[test]
fn a_repair_mends_what_it_is_for() {
    let mut random = Random(77);
    let mut tried = 0;
    for _ in 0..5_000 {
        let text = random_text(&mut random, PARTS, 14);
        let (_, before) = parse_equations(&text, &Budget::PAGE);
        let errors =
            |ds: &[Diagnostic]| ds.iter().filter(|d| d.severity == Severity::Error).count();
        for diagnostic in &before {
            for suggestion in &diagnostic.suggestions {
                let (_, after) = parse_equations(&applied(&text, suggestion), &Budget::PAGE);
                let same =
                    |ds: &[Diagnostic]| ds.iter().filter(|d| d.code == diagnostic.code).count();
                assert!(same(&after) < same(&before), "{text:?}: {suggestion:?}");
                assert!(
                    errors(&after) <= errors(&before),
                    "{text:?}: {suggestion:?}"
                );
                tried += 1;
            }
        }
    }
    assert!(tried > 2_000, "only {tried} repairs were tried");
}

#[test]
fn printed_text_reads_as_the_same_tree() {
    let mut random = Random(4711);
    let mut compared = 0;
    for _ in 0..20_000 {
        let text = random_text(&mut random, USUAL_PARTS, 9);
        compared += usize::from(reads_back(&text));
    }
    assert!(compared > 4_000, "only {compared} texts could be read");
}

/// False when the text has errors and there is nothing to compare.
fn reads_back(text: &str) -> bool {
    let side = |text: &str| {
        let (relations, diagnostics) = parse_equations(&format!("y' = {text}"), &Budget::PAGE);
        let faulty = diagnostics.iter().any(|d| d.severity == Severity::Error);
        match relations.as_slice() {
            [relation] if !faulty => Some(relation.right.clone()),
            _ => None,
        }
    };
    let Some(tree) = side(text) else { return false };
    let printed = print(&tree);
    let again = side(&printed).map(|t| without_spans(&t));
    assert_eq!(
        again,
        Some(without_spans(&tree)),
        "{text:?} printed as {printed:?}"
    );
    true
}

/// Trees that nobody typed get the brackets they need.
#[test]
fn any_tree_can_be_printed() {
    let mut random = Random(99);
    for _ in 0..20_000 {
        let tree = random_tree(&mut random, 4);
        let printed = print(&tree);
        let (relations, diagnostics) = parse_equations(&format!("y' = {printed}"), &Budget::PAGE);
        let errors: Vec<_> = diagnostics
            .iter()
            .filter(|d| d.severity == Severity::Error)
            .collect();
        assert!(errors.is_empty(), "{printed:?}: {errors:?}");
        let again = relations.first().map(|r| without_brackets(&r.right));
        assert_eq!(again, Some(without_brackets(&tree)), "{printed:?}");
    }
}

fn node(kind: Kind) -> Node {
    Node {
        span: Span::default(),
        kind,
    }
}

fn random_tree(random: &mut Random, depth: usize) -> Node {
    let child = |random: &mut Random| Box::new(random_tree(random, depth.saturating_sub(1)));
    let choice = if depth == 0 {
        random.below(3)
    } else {
        random.below(12)
    };
    let name = (*random.pick(&["x", "y", "t", "e", "pi", "theta", "y_1"])).to_string();
    node(match choice {
        0 => {
            let denominator = *random.pick(&[1_i64, 1, 1, 2, 4, 10]);
            Kind::Number(ratio(
                i64::try_from(random.below(30)).unwrap_or(1),
                denominator,
            ))
        }
        1 => Kind::Name(name),
        2 => Kind::Derivative {
            of: (*random.pick(&["y", "theta", "y_1"])).to_string(),
            variable: random.pick(&[None, Some("x".to_string())]).clone(),
            order: 1 + u32::try_from(random.below(6)).unwrap_or(0),
            argument: None,
        },
        3 | 4 => Kind::Call {
            function: random.pick(FUNCTIONS).canonical,
            power: None,
            argument: child(random),
        },
        5 => Kind::Negated(child(random)),
        6 => Kind::Sum(vec![
            (false, *child(random)),
            (random.below(2) == 0, *child(random)),
        ]),
        7 => Kind::Quotient(child(random), child(random)),
        8 => Kind::Power(child(random), child(random)),
        9 => Kind::Product(child(random), Multiplication::Sign, child(random)),
        10 => Kind::Bracketed(child(random)),
        _ => Kind::Product(child(random), Multiplication::Juxtaposed, child(random)),
    })
}

/// The tree without brackets and places.
fn without_brackets(tree: &Node) -> Node {
    let boxed = |inner: &Node| Box::new(without_brackets(inner));
    node(match &tree.kind {
        Kind::Bracketed(inner) => return without_brackets(inner),
        Kind::Call {
            function,
            power,
            argument,
        } => Kind::Call {
            function,
            power: power.as_deref().map(boxed),
            argument: boxed(argument),
        },
        Kind::Negated(inner) => Kind::Negated(boxed(inner)),
        Kind::Sum(terms) => {
            let terms = terms.iter().map(|(minus, t)| (*minus, without_brackets(t)));
            Kind::Sum(terms.collect())
        }
        Kind::Product(left, how, right) => Kind::Product(boxed(left), *how, boxed(right)),
        Kind::Quotient(left, right) => Kind::Quotient(boxed(left), boxed(right)),
        Kind::Power(base, exponent) => Kind::Power(boxed(base), boxed(exponent)),
        other => other.clone(),
    })
}
