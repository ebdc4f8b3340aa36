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
    pieces(formula).iter().map(math).collect()
}

/// The pieces of a formula between which a line may break: in front of terms, behind equals signs,
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
            Formula::Operator('=' | '≈') => brackets = 0,
            Formula::Brackets(_) => {
                brackets += 1;
                if brackets > 1 {
                    flush(&mut piece);
                }
            }
            _ => {}
        }
        piece.push(part.clone());
        if matches!(part, Formula::Operator('=' | '≈')) {
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
    fn width_is_what_is_seen() {
        assert!(!is_wide("<mi>abc</mi>&#x2062;<mi>d</mi>", 4));
        assert!(is_wide("<mi>abc</mi><mi>de</mi>", 4));
    }
}
