//! Small things that every piece of markup needs.

use solver::document::formula::{Formula, MINUS};
pub use solver::document::mathml::escape;

/// A formula as a `math` element of its own.
pub fn math(formula: &Formula) -> String {
    solver::document::mathml::write(formula)
}

/// A formula as `math` elements, so that a long sum can break in front of its terms, as browsers do
/// not break inside one.
pub fn broken(formula: &Formula) -> String {
    pieces(&opened(formula)).iter().map(math).collect()
}

/// A sum above a bar with more characters than this is opened,
const LONG_NUMERATOR: usize = 24;
/// and one in brackets, where nothing else changes.
const LONG_BRACKETS: usize = 12;

/// Long sums in brackets, and above a bar, side by side with the rest, so that they can break, too:
/// a fraction with a long numerator becomes (1/denominator)(numerator), and one with a long sum in
/// brackets there (factor/denominator)(sum).
fn opened(formula: &Formula) -> Formula {
    let parts = match formula {
        Formula::Row(parts) => parts.as_slice(),
        other => std::slice::from_ref(other),
    };
    let is_sum = |inner: &Formula, most: usize| match inner {
        Formula::Row(parts) => {
            let mut operators = parts.iter();
            operators.any(|part| matches!(part, Formula::Operator('+' | MINUS)))
                && is_wide(&math(inner), most)
        }
        _ => false,
    };
    let brackets = |inner: &Formula| [Formula::Sign('('), opened(inner), Formula::Sign(')')];
    Formula::row(parts.iter().flat_map(|part| match part {
        Formula::Fraction(above, below) if is_sum(above, LONG_NUMERATOR) => {
            let one = Formula::Fraction(Box::new(Formula::digits(1)), below.clone());
            let mut whole = vec![one];
            whole.extend(brackets(above));
            whole
        }
        Formula::Fraction(above, below)
            if let Formula::Row(factors) = above.as_ref()
                && !is_sum(above, 0)
                && let Some(at) = factors.iter().position(
                    |own| matches!(own, Formula::Brackets(sum) if is_sum(sum, LONG_NUMERATOR)),
                ) =>
        {
            let (front, rest) = factors.split_at(at);
            let front = match front {
                [] => Formula::digits(1),
                [front @ .., Formula::Juxtaposition] | front => Formula::row(front.to_vec()),
            };
            vec![
                Formula::fraction(front, below.as_ref().clone()),
                opened(&Formula::row(rest.to_vec())),
            ]
        }
        Formula::Brackets(inner) if is_sum(inner, LONG_BRACKETS) => brackets(inner).into(),
        other => vec![other.clone()],
    }))
}

/// The pieces of a formula between which a line may break: in front of terms, behind relation signs,
/// and between the brackets of a product.
pub fn pieces(formula: &Formula) -> Vec<Formula> {
    let Formula::Row(parts) = formula else {
        return vec![formula.clone()];
    };
    let mut out = Vec::new();
    let mut piece = Vec::new();
    let mut flush = |piece: &mut Vec<Formula>| {
        if !piece.is_empty() {
            out.push(Formula::Row(std::mem::take(piece)));
        }
    };
    let mut brackets = 0;
    for part in parts {
        match part {
            Formula::Operator('+' | MINUS) => {
                brackets = 0;
                flush(&mut piece);
            }
            Formula::Operator('=' | '≈' | '≤' | '≥') => brackets = 0,
            Formula::Brackets(_) => {
                brackets += 1;
                if brackets > 1 {
                    flush(&mut piece);
                }
            }
            _ => {}
        }
        piece.push(part.clone());
        if matches!(part, Formula::Operator('=' | '≈' | '≤' | '≥')) {
            flush(&mut piece);
        }
    }
    flush(&mut piece);
    out
}

/// Are there so many characters that a narrow column may be too narrow?
pub fn is_wide(html: &str, most: usize) -> bool {
    let mut inside = false;
    let visible = html.chars().filter(|character| {
        match character {
            '<' | '&' => inside = true,
            '>' | ';' => inside = false,
            _ => return !inside,
        }
        false
    });
    visible.count() > most
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_break_in_front_of_their_terms() {
        let letter = |name: &str| Formula::Identifier(name.into());
        let sum = Formula::Row(vec![
            letter("y"),
            Formula::Operator('='),
            letter("a"),
            Formula::Operator(MINUS),
            letter("b"),
        ]);
        let html = broken(&sum);
        assert_eq!(html.matches("<math").count(), 3, "{html}");
        assert!(html.contains("</math><math><mo form=\"infix\">"), "{html}");
        assert_eq!(broken(&letter("a")), math(&letter("a")));
        let bracket = || Formula::Brackets(Box::new(letter("a")));
        let product = |factors| Formula::Row(vec![bracket(); factors]);
        let pieces = |formula| broken(&formula).matches("<math").count();
        assert_eq!((pieces(product(1)), pieces(product(3))), (1, 3));
    }

    #[test]
    fn long_sums_in_brackets_and_above_a_bar_break_too() {
        let letter = |name: &str| Formula::Identifier(name.into());
        let long = || {
            let terms = (0..9).flat_map(|n| [Formula::Operator('+'), letter(&format!("abc_{n}"))]);
            Formula::Row(terms.skip(1).collect())
        };
        let over = Formula::Row(vec![
            Formula::Fraction(Box::new(long()), Box::new(Formula::digits(24))),
            letter("x"),
        ]);
        let html = broken(&over);
        assert_eq!(html.matches("<math").count(), 9, "{html}");
        assert!(
            html.contains("<mfrac><mn>1</mn><mn>24</mn></mfrac>"),
            "{html}"
        );
        assert!(html.ends_with("<mi>x</mi></math>"), "{html}");
        let product = [letter("r"), Formula::Juxtaposition, long().bracketed()];
        let factored = broken(&Formula::fraction(
            Formula::row(product),
            Formula::digits(24),
        ));
        assert_eq!(factored.matches("<math").count(), 9, "{factored}");
        assert!(
            factored.contains("<mfrac><mi>r</mi><mn>24</mn></mfrac>"),
            "{factored}"
        );
        let brackets = broken(&Formula::Brackets(Box::new(long())));
        assert_eq!(brackets.matches("<math").count(), 9, "{brackets}");
        // Short ones stay as they are.
        let short = Formula::Row(vec![letter("a"), Formula::Operator('+'), letter("b")]);
        let fraction = Formula::Fraction(Box::new(short), Box::new(Formula::digits(2)));
        assert_eq!(broken(&fraction), math(&fraction));
    }

    #[test]
    fn width_is_what_is_seen() {
        assert!(!is_wide("<mi>abc</mi>&#x2062;<mi>d</mi>", 4));
        assert!(is_wide("<mi>abc</mi><mi>de</mi>", 4));
    }
}
