//! Elements, and how they behave beside others.

use super::names::{self, find};
use web::html::escape;

/// A thin space (`TeX`'s: 1/6 em).
pub(super) const THIN: &str = "<mspace width=\"0.1667em\"/>";

/// How an element behaves beside others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    Letter,
    /// The name of a function: a thin space before what follows it.
    Function,
    /// Sum, limit: what belongs to it goes below and above in displays.
    Large(bool),
    Binary,
    Relation,
    Opening,
    Closing,
    Punctuation,
    Space,
}

/// One element and how it behaves.
pub(super) struct Atom {
    pub(super) xml: String,
    pub(super) kind: Kind,
}

impl Atom {
    pub(super) fn new(kind: Kind, xml: String) -> Self {
        Self { xml, kind }
    }
    pub(super) fn letter(xml: String) -> Self {
        Self::new(Kind::Letter, xml)
    }
}

pub(super) fn prime_marks(primes: usize) -> String {
    let mark = match primes {
        1 => "′".to_owned(),
        2 => "″".to_owned(),
        3 => "‴".to_owned(),
        4 => "⁗".to_owned(),
        more => "′".repeat(more.min(40)),
    };
    format!("<mo lspace=\"0\" rspace=\"0\">{mark}</mo>")
}

pub(super) fn element(tag: &str, text: &str) -> String {
    format!("<{tag}>{}</{tag}>", escape(text))
}

pub(super) fn space(width: &str) -> String {
    format!("<mspace width=\"{width}\"/>")
}

pub(super) fn relation(sign: &str) -> Atom {
    Atom::new(Kind::Relation, element("mo", sign))
}

/// A sign between two things, or in front of one.
pub(super) fn binary(sign: &str, before: Kind, first: bool) -> Atom {
    let in_front = first
        || matches!(
            before,
            Kind::Binary | Kind::Relation | Kind::Opening | Kind::Punctuation | Kind::Large(_)
        );
    if in_front && matches!(sign, "+" | "−" | "±" | "∓") {
        let xml = format!("<mo form=\"prefix\" lspace=\"0\" rspace=\"0\">{sign}</mo>");
        return Atom::new(Kind::Opening, xml);
    }
    Atom::new(
        Kind::Binary,
        format!("<mo form=\"infix\">{}</mo>", escape(sign)),
    )
}

pub(super) fn fence(sign: &str, kind: Kind, stretchy: bool) -> Atom {
    let form = if kind == Kind::Opening {
        "prefix"
    } else {
        "postfix"
    };
    Atom::new(
        kind,
        format!(
            "<mo form=\"{form}\" stretchy=\"{stretchy}\">{}</mo>",
            escape(sign)
        ),
    )
}

/// A bar opens behind nothing, a sign or an opening bracket, and closes elsewhere.
pub(super) fn bar(sign: &str, before: Kind, first: bool) -> Atom {
    let opens = first
        || matches!(
            before,
            Kind::Binary | Kind::Relation | Kind::Opening | Kind::Punctuation | Kind::Function
        );
    fence(
        sign,
        if opens { Kind::Opening } else { Kind::Closing },
        false,
    )
}

/// Letters in another face; those that Unicode has for themselves are taken from there.
pub(super) fn styled(name: &str, words: &str) -> String {
    let mapped = |c: char| -> char {
        let shifted = |upper: u32, lower: u32| {
            let base = match c {
                'A'..='Z' => upper + (u32::from(c) - u32::from('A')),
                'a'..='z' => lower + (u32::from(c) - u32::from('a')),
                _ => return c,
            };
            char::from_u32(base).unwrap_or(c)
        };
        match (name, c) {
            ("mathbb", 'C') => 'ℂ',
            ("mathbb", 'N') => 'ℕ',
            ("mathbb", 'P') => 'ℙ',
            ("mathbb", 'Q') => 'ℚ',
            ("mathbb", 'R') => 'ℝ',
            ("mathbb", 'Z') => 'ℤ',
            ("mathbf" | "boldsymbol" | "bm", _) => shifted(0x1D400, 0x1D41A),
            _ => c,
        }
    };
    let text: String = words.chars().map(mapped).collect();
    let text = match text.strip_prefix('\\') {
        Some(letter) => find(names::LETTERS, letter)
            .or(find(names::UPRIGHT, letter))
            .map_or(text.clone(), Into::into),
        None => text,
    };
    if name == "mathit" {
        element("mi", &text)
    } else {
        format!("<mi mathvariant=\"normal\">{}</mi>", escape(&text))
    }
}
