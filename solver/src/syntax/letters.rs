//! Single characters: what each stands for when a text is pasted from anywhere.

use crate::number::Rational;
use crate::number::rational::ratio;

/// Greek letters by name. Those shaped like Latin letters (Α, Β, ο, …) are left out: they are
/// look-alikes. Π is left out too: it means a product.
const GREEK: &[(&str, char)] = &[
    ("alpha", 'α'),
    ("beta", 'β'),
    ("gamma", 'γ'),
    ("delta", 'δ'),
    ("epsilon", 'ε'),
    ("zeta", 'ζ'),
    ("eta", 'η'),
    ("theta", 'θ'),
    ("iota", 'ι'),
    ("kappa", 'κ'),
    ("lambda", 'λ'),
    ("mu", 'μ'),
    ("nu", 'ν'),
    ("xi", 'ξ'),
    ("pi", 'π'),
    ("rho", 'ρ'),
    ("sigma", 'σ'),
    ("tau", 'τ'),
    ("upsilon", 'υ'),
    ("phi", 'φ'),
    ("chi", 'χ'),
    ("psi", 'ψ'),
    ("omega", 'ω'),
    ("Gamma", 'Γ'),
    ("Delta", 'Δ'),
    ("Theta", 'Θ'),
    ("Lambda", 'Λ'),
    ("Xi", 'Ξ'),
    ("Sigma", 'Σ'),
    ("Phi", 'Φ'),
    ("Psi", 'Ψ'),
    ("Omega", 'Ω'),
];

/// The name of a Greek letter.
pub(super) fn greek_name(letter: char) -> Option<&'static str> {
    GREEK
        .iter()
        .find(|(_, c)| *c == letter)
        .map(|(name, _)| *name)
}

/// The Greek letter of a name.
pub fn greek_letter(name: &str) -> Option<char> {
    GREEK.iter().find(|(own, _)| *own == name).map(|(_, c)| *c)
}

/// Letters with Newton's dots above in one character.
const DOTTED: &[(&str, &str, char)] = &[
    ("ȧḃċḋėḟġḣṁṅȯṗṙṡṫẇẋẏżẊẎṪ", "abcdefghmnoprstwxyzXYT", '\''),
    ("äëḧïöẗüẅẍÿ", "aehiotuwxy", '"'),
];

/// Newton's dots: the letter under them, if it is in the same character, and the primes that mean
/// the same.
pub(super) fn dotted(c: char) -> Option<(Option<char>, char)> {
    match c {
        '\u{307}' | '˙' => return Some((None, '\'')),
        '\u{308}' | '¨' => return Some((None, '"')),
        '\u{20db}' => return Some((None, '‴')),
        '\u{20dc}' => return Some((None, '⁗')),
        _ if c.is_ascii() => return None,
        _ => {}
    }
    DOTTED
        .iter()
        .find_map(|(with, without, primes)| Some((Some(pair(with, without, c)?), *primes)))
}

/// Does a piece of text hold Newton's dots, as characters or as LaTeX commands?
pub fn has_dots(text: &str) -> bool {
    let command = ["\\dot", "\\ddot", "\\dddot"];
    command.iter().any(|dots| text.contains(dots)) || text.chars().any(|c| dotted(c).is_some())
}

/// The Greek name that `word` is (`Pi` and `PI` are π as well).
pub(super) fn greek_word(word: &str) -> Option<&'static str> {
    if word.eq_ignore_ascii_case("pi") {
        return Some("pi");
    }
    GREEK
        .iter()
        .find(|(name, _)| *name == word)
        .map(|(name, _)| *name)
}

/// The longest Greek name that `letters` begins with, and its length in bytes.
pub(super) fn greek_prefix(letters: &str) -> Option<(&'static str, usize)> {
    (2..=letters.len().min(7))
        .rev()
        .find_map(|length| Some((greek_word(letters.get(..length)?)?, length)))
}

/// All Greek names.
pub(super) fn greek_names() -> impl Iterator<Item = &'static str> {
    GREEK.iter().map(|(name, _)| *name)
}

/// Letters of other scripts, in order, and the Latin letters that they look like.
const LOOK_ALIKES: &[(&str, &str)] = &[
    ("асеорхуіјѕԁһԛԝ", "aceopxyijsdhqw"),   // Cyrillic
    ("АВСЕНІЈКМОРЅТХУ", "ABCEHIJKMOPSTXY"), // Cyrillic capitals
    ("ΑΒΕΖΗΙΚΜΝΟΡΤΥΧ", "ABEZHIKMNOPTYX"),   // Greek capitals
    ("οօՕ", "ooO"),                         // omicron, Armenian
];

/// The Latin letter that a letter of another script looks like.
pub(super) fn look_alike(letter: char) -> Option<char> {
    if letter.is_ascii() {
        return None;
    }
    LOOK_ALIKES.iter().find_map(|(other, latin)| {
        let place = other.chars().position(|c| c == letter)?;
        latin.chars().nth(place)
    })
}

/// One character in its plain form: full-width forms, mathematical alphabets, the many dashes,
/// dots, primes and spaces become the one character that the lexer knows.
pub(super) fn plain(c: char) -> char {
    match c {
        '!'..='~' if c != '`' => c,
        '\n' | '\u{b}' | '\u{c}' | '\u{85}' | '\u{2028}' | '\u{2029}' => '\n',
        // Zero-width characters, soft hyphen, invisible operators of Unicode's mathematics.
        '\r' | '\u{ad}' | '\u{200b}'..='\u{200f}' | '\u{2060}'..='\u{2064}' | '\u{feff}' => ' ',
        _ if c.is_whitespace() => ' ',
        // Used inside the lexer for what has no character.
        '\u{e000}'..='\u{f8ff}' => char::REPLACEMENT_CHARACTER,
        '\u{ff01}'..='\u{ff5e}' => shifted(c, '\u{ff01}', '!'),
        '−' | '–' | '—' | '‒' | '‐' | '‑' | '﹣' => '-',
        '×' | '·' | '⋅' | '∙' | '•' | '∗' | '✕' | '✖' | '\u{387}' => '*',
        '÷' | '∕' | '⁄' => '/',
        '’' | '‘' | '′' | '`' | '´' | 'ʹ' | 'ʼ' => '\'',
        '“' | '”' | '″' | 'ʺ' => '"',
        'ϕ' => 'φ',
        'ϑ' => 'θ',
        'ϵ' => 'ε',
        'ϰ' => 'κ',
        'ϱ' => 'ρ',
        'ς' => 'σ',
        'ϖ' => 'π',
        '\u{2126}' => 'Ω',
        'µ' => 'μ',
        'ℎ' => 'h',
        'ℯ' | 'ⅇ' => 'e',
        'ⅆ' => 'd',
        '\u{1d400}'..='\u{1d7ff}' => mathematical(c),
        _ => c,
    }
}

fn shifted(c: char, from: char, to: char) -> char {
    char::from_u32(u32::from(c) - u32::from(from) + u32::from(to)).unwrap_or(c)
}

/// Mathematical Alphanumeric Symbols (Unicode block 1D400–1D7FF): thirteen Latin alphabets of 52
/// letters, five Greek ones of 58, five sets of digits.
fn mathematical(c: char) -> char {
    const GREEK_SMALL: [char; 25] = [
        'α', 'β', 'γ', 'δ', 'ε', 'ζ', 'η', 'θ', 'ι', 'κ', 'λ', 'μ', 'ν', 'ξ', 'ο', 'π', 'ρ', 'σ',
        'σ', 'τ', 'υ', 'φ', 'χ', 'ψ', 'ω',
    ];
    const GREEK_CAPITAL: [char; 25] = [
        'Α', 'Β', 'Γ', 'Δ', 'Ε', 'Ζ', 'Η', 'Θ', 'Ι', 'Κ', 'Λ', 'Μ', 'Ν', 'Ξ', 'Ο', 'Π', 'Ρ', 'Θ',
        'Σ', 'Τ', 'Υ', 'Φ', 'Χ', 'Ψ', 'Ω',
    ];
    const VARIANTS: [char; 6] = ['ε', 'θ', 'κ', 'φ', 'ρ', 'π'];
    let number = u32::from(c);
    let place = |from: u32, of: u32| usize::try_from((number - from) % of).unwrap_or(0);
    match number {
        0x1d400..=0x1d6a3 => {
            let place = place(0x1d400, 52);
            let letters = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz";
            letters.get(place).map_or(c, |byte| char::from(*byte))
        }
        0x1d6a8..=0x1d7c9 => {
            let place = place(0x1d6a8, 58);
            let found = match place {
                0..=24 => GREEK_CAPITAL.get(place),
                26..=50 => GREEK_SMALL.get(place - 26),
                52..=57 => VARIANTS.get(place - 52),
                _ => None,
            };
            found.copied().unwrap_or(c)
        }
        0x1d7ce..=0x1d7ff => char::from_digit((number - 0x1d7ce) % 10, 10).unwrap_or(c),
        _ => c,
    }
}

/// The value of a fraction in one character.
pub(super) fn fraction(c: char) -> Option<Rational> {
    FRACTIONS
        .iter()
        .find(|(sign, _, _)| *sign == c)
        .map(|(_, n, d)| ratio(*n, *d))
}

/// The character for a fraction between 0 and 1, if there is one.
pub(super) fn fraction_sign(value: &Rational) -> Option<char> {
    FRACTIONS
        .iter()
        .find(|(_, n, d)| ratio(*n, *d) == *value)
        .map(|(sign, _, _)| *sign)
}

const FRACTIONS: &[(char, i64, i64)] = &[
    ('½', 1, 2),
    ('⅓', 1, 3),
    ('⅔', 2, 3),
    ('¼', 1, 4),
    ('¾', 3, 4),
    ('⅕', 1, 5),
    ('⅖', 2, 5),
    ('⅗', 3, 5),
    ('⅘', 4, 5),
    ('⅙', 1, 6),
    ('⅚', 5, 6),
    ('⅐', 1, 7),
    ('⅛', 1, 8),
    ('⅜', 3, 8),
    ('⅝', 5, 8),
    ('⅞', 7, 8),
    ('⅑', 1, 9),
    ('⅒', 1, 10),
];

/// What a superscript character stands for.
pub(super) fn superscript(c: char) -> Option<char> {
    if c.is_ascii() {
        return None;
    }
    pair("⁰¹²³⁴⁵⁶⁷⁸⁹⁺⁻⁽⁾ⁿⁱˣᵗᵏᵐ", "0123456789+-()nixtkm", c)
}

/// What a subscript digit stands for.
pub(super) fn subscript(c: char) -> Option<char> {
    pair("₀₁₂₃₄₅₆₇₈₉", "0123456789", c)
}

fn pair(from: &str, to: &str, c: char) -> Option<char> {
    let place = from.chars().position(|other| other == c)?;
    to.chars().nth(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn plain_forms() {
        for (text, expected) in [
            ("ｙ＇＝２", "y'=2"),
            ("𝑦 𝐱 𝜋 𝟙 𝟗", "y x π 1 9"),
            ("a\u{a0}b\u{2009}c", "a b c"),
            ("3×4⋅5−1÷2", "3*4*5-1/2"),
        ] {
            assert_eq!(text.chars().map(plain).collect::<String>(), expected);
        }
    }

    #[test]
    fn look_alikes_are_not_plain_letters() {
        for (other, latin) in [('у', 'y'), ('х', 'x'), ('е', 'e'), ('ο', 'o'), ('Τ', 'T')] {
            assert_eq!(look_alike(other), Some(latin), "{other}");
        }
        assert_eq!(look_alike('x'), None);
        assert_eq!(look_alike('θ'), None);
    }

    #[test]
    fn greek_letters_have_names_both_ways() {
        for name in greek_names() {
            assert_eq!(greek_word(name), Some(name));
        }
        assert_eq!(greek_name('θ'), Some("theta"));
        assert_eq!(greek_prefix("thetax"), Some(("theta", 5)));
        assert_eq!(greek_word("Pi"), Some("pi"));
    }
}
