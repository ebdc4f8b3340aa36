//! What a run of letters means. One rule, in this order:
//!
//! 1. A function (`sin`), a Greek name (`theta`) or a single letter is itself.
//! 2. A run that holds a function or a Greek name and otherwise at most two letters side by side is
//!    cut there (`sinx`, `pix`, `xlnx`), with a notice.
//! 3. Any other run of at most three letters is a product of single letters (`xy`), unless it has
//!    an `o`, which mathematics avoids because it looks like a nought.
//! 4. Everything else (and every word of `WORDS` and `NOT_PRODUCTS`) is an unknown name.

use super::functions::{self, Spelling};
use super::letters::{greek_names, greek_prefix, greek_word};

/// A part of a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Piece<'a> {
    /// A letter or a Greek name.
    Name(&'a str),
    /// A function.
    Function(&'static Spelling),
}

/// What a run of letters was read as. Pieces come with their length in bytes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Reading<'a> {
    /// One name or function, or a product of single letters.
    Plain(Vec<(Piece<'a>, usize)>),
    /// Cut by rule 2; worth a notice.
    Cut(Vec<(Piece<'a>, usize)>),
    /// Not understood; what may have been meant, best first.
    Unknown(Vec<String>),
}

/// Words that people write for a function, with what to write.
const WORDS: &[(&str, &str)] = &[
    ("sine", "sin"),
    ("sinus", "sin"),
    ("cosine", "cos"),
    ("cosinus", "cos"),
    ("tangent", "tan"),
    ("tangens", "tan"),
    ("cotangent", "cot"),
    ("secant", "sec"),
    ("cosecant", "csc"),
    ("arcsine", "arcsin"),
    ("arccosine", "arccos"),
    ("arctangent", "arctan"),
    ("arctg", "arctan"),
    ("sqr", "sqrt"),
    ("sqroot", "sqrt"),
    ("root", "sqrt"),
    ("squareroot", "sqrt"),
    ("cuberoot", "cbrt"),
    ("absolute", "abs"),
    ("modulus", "abs"),
    ("logarithm", "ln"),
    ("exponential", "exp"),
];

/// Short words that are surely not meant as products of letters.
const NOT_PRODUCTS: &[&str] = &[
    "max", "min", "mod", "sgn", "erf", "int", "sum", "inf", "nan", "is", "if",
];

/// Reads a run of ASCII letters.
pub(super) fn read(run: &str) -> Reading<'_> {
    if let Some(function) = functions::find(run) {
        return Reading::Plain(vec![(Piece::Function(function), run.len())]);
    }
    if let Some(name) = greek_word(run) {
        return Reading::Plain(vec![(Piece::Name(name), run.len())]);
    }
    if run.len() == 1 {
        return Reading::Plain(vec![(Piece::Name(run), 1)]);
    }
    if let Some((_, meant)) = WORDS.iter().find(|(w, _)| w.eq_ignore_ascii_case(run)) {
        return Reading::Unknown(vec![(*meant).to_string()]);
    }
    if NOT_PRODUCTS.iter().any(|w| w.eq_ignore_ascii_case(run)) {
        return Reading::Unknown(Vec::new());
    }
    let pieces = cut(run);
    if pieces.iter().any(|(_, length)| *length > 1) && !three_letters_together(&pieces) {
        return Reading::Cut(pieces);
    }
    if run.len() <= 3 && !run.contains(['o', 'O']) {
        return Reading::Plain(letters(run));
    }
    Reading::Unknown(meant(run))
}

fn letters(run: &str) -> Vec<(Piece<'_>, usize)> {
    (0..run.len())
        .filter_map(|i| run.get(i..=i))
        .map(|letter| (Piece::Name(letter), 1))
        .collect()
}

fn cut(run: &str) -> Vec<(Piece<'_>, usize)> {
    let mut pieces = Vec::new();
    let mut rest = run;
    while !rest.is_empty() {
        let function = functions::prefix(rest).map(|(f, n)| (Piece::Function(f), n));
        let greek = greek_prefix(rest).map(|(name, n)| (Piece::Name(name), n));
        let letter = rest.get(..1).map(|letter| (Piece::Name(letter), 1));
        let candidates = [function, greek, letter].into_iter().flatten();
        // The first of several longest ones: `max_by_key` would take the last.
        let Some(best) = candidates.reduce(|a, b| if b.1 > a.1 { b } else { a }) else {
            break;
        };
        rest = rest.get(best.1..).unwrap_or("");
        pieces.push(best);
    }
    pieces
}

fn three_letters_together(pieces: &[(Piece<'_>, usize)]) -> bool {
    pieces
        .windows(3)
        .any(|three| three.iter().all(|(_, length)| *length == 1))
}

/// Known names that `run` may be a misspelling of; for short runs also the product of its letters.
fn meant(run: &str) -> Vec<String> {
    let lower = run.to_ascii_lowercase();
    let allowed = match lower.len() {
        0..=3 => 0,
        4 => 1,
        5..=16 => 2,
        _ => return Vec::new(),
    };
    let functions = functions::FUNCTIONS.iter().map(|f| f.canonical);
    let mut close: Vec<(usize, &str)> = functions
        .chain(greek_names())
        .map(|name| (edit_distance(&lower, name), name))
        .filter(|(distance, _)| *distance <= allowed)
        .collect();
    crate::sorting::sort_by_key(&mut close, |(distance, _)| *distance);
    let mut meant: Vec<String> = close
        .iter()
        .take(2)
        .map(|(_, name)| (*name).to_string())
        .collect();
    if meant.is_empty() && run.len() <= 5 {
        let spaced: Vec<String> = run.chars().map(String::from).collect();
        meant.push(spaced.join(" "));
    }
    meant
}

/// Fewest insertions, removals and replacements of one letter that turn `a` into `b` (Wagner &
/// Fischer, J. ACM 21, 1974, by rows).
pub fn edit_distance(a: &str, b: &str) -> usize {
    let mut row: Vec<usize> = (0..=b.len()).collect();
    for (i, x) in a.bytes().enumerate() {
        let mut next = vec![i + 1];
        for ((j, y), above) in b.bytes().enumerate().zip(row.iter().skip(1)) {
            let replaced = row.get(j).copied().unwrap_or(0) + usize::from(x != y);
            let inserted = next.get(j).copied().unwrap_or(0) + 1;
            next.push(replaced.min(inserted).min(above + 1));
        }
        row = next;
    }
    row.last().copied().unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(run: &str) -> String {
        let (mark, pieces) = match read(run) {
            Reading::Plain(pieces) => ("", pieces),
            Reading::Cut(pieces) => ("cut: ", pieces),
            Reading::Unknown(meant) => return format!("? {}", meant.join(", ")),
        };
        let words: Vec<&str> = pieces
            .iter()
            .map(|(piece, _)| match piece {
                Piece::Name(name) => *name,
                Piece::Function(function) => function.canonical,
            })
            .collect();
        format!("{mark}{}", words.join("·"))
    }

    #[test]
    fn runs_of_letters() {
        for (run, expected) in [
            ("x", "x"),
            ("xy", "x·y"),
            ("xyy", "x·y·y"),
            ("SIN", "sin"),
            ("log", "ln"),
            ("theta", "theta"),
            ("xi", "xi"),
            ("sinx", "cut: sin·x"),
            ("xlnx", "cut: x·ln·x"),
            ("sinhx", "cut: sinh·x"),
            ("pix", "cut: pi·x"),
            ("sintheta", "cut: sin·theta"),
            ("sine", "? sin"),
            ("cosine", "? cos"),
            ("squareroot", "? sqrt"),
            ("foo", "? f o o"),
            ("max", "? "),
            ("sqrrt", "? sqrt"),
            ("omgea", "? omega"),
            ("abcd", "? a b c d"),
            ("velocity", "? "),
        ] {
            assert_eq!(shown(run), expected, "{run}");
        }
    }
}
