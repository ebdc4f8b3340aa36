//! The functions of one argument that can be written, and every accepted way of writing each.

/// How a function is written.
#[derive(Debug, PartialEq, Eq)]
pub struct Spelling {
    /// The spelling used everywhere behind the parser.
    pub canonical: &'static str,
    /// Other accepted spellings (capital letters are accepted for all of them).
    pub others: &'static [&'static str],
    /// What the superscript −1 means: `sin^-1` is `arcsin`.
    pub inverse: Option<&'static str>,
    /// Written like a factor: roots and absolute values. They do not end the argument of another
    /// function: `sin 2 sqrt(x)` is the sine of `2 sqrt(x)`.
    pub factor: bool,
}

const fn usual(
    canonical: &'static str,
    others: &'static [&'static str],
    inverse: Option<&'static str>,
) -> Spelling {
    Spelling {
        canonical,
        others,
        inverse,
        factor: false,
    }
}

const fn factor(canonical: &'static str) -> Spelling {
    Spelling {
        canonical,
        others: &[],
        inverse: None,
        factor: true,
    }
}

/// Every function. Names of inverse circular and hyperbolic functions as in ISO 80000-2 (arcsin,
/// arsinh), with the other spellings that English-language textbooks use.
pub static FUNCTIONS: &[Spelling] = &[
    usual("sin", &[], Some("arcsin")),
    usual("cos", &[], Some("arccos")),
    usual("tan", &[], Some("arctan")),
    usual("cot", &[], Some("arccot")),
    usual("sec", &[], None),
    usual("csc", &["cosec"], None),
    usual("arcsin", &["asin"], Some("sin")),
    usual("arccos", &["acos"], Some("cos")),
    usual("arctan", &["atan"], Some("tan")),
    usual("arccot", &["acot"], Some("cot")),
    usual("sinh", &[], Some("arsinh")),
    usual("cosh", &[], Some("arcosh")),
    usual("tanh", &[], Some("artanh")),
    usual("coth", &[], None),
    usual("sech", &[], None),
    usual("csch", &["cosech"], None),
    usual("arsinh", &["asinh", "arcsinh"], Some("sinh")),
    usual("arcosh", &["acosh", "arccosh"], Some("cosh")),
    usual("artanh", &["atanh", "arctanh"], Some("tanh")),
    usual("exp", &[], Some("ln")),
    usual("ln", &["log"], Some("exp")),
    factor("sqrt"),
    factor("cbrt"),
    factor("abs"),
];

/// Inverse functions that are another one of 1/u, with that one: arcsec u = arccos(1/u)
/// (DLMF 4.23.3–5 and 4.37.4–6). They are written as it and do not occur behind the parser.
pub static RECIPROCALS: &[(Spelling, &str)] = &[
    (usual("arcsec", &["asec"], Some("sec")), "arccos"),
    (
        usual("arccsc", &["acsc", "arccosec"], Some("csc")),
        "arcsin",
    ),
    (
        usual("arcoth", &["acoth", "arccoth"], Some("coth")),
        "artanh",
    ),
    (
        usual("arsech", &["asech", "arcsech"], Some("sech")),
        "arcosh",
    ),
    (
        usual("arcsch", &["acsch", "arccsch"], Some("csch")),
        "arsinh",
    ),
];

/// The function that `word` names, whatever its capital letters.
pub fn find(word: &str) -> Option<&'static Spelling> {
    let is = |name: &&'static str| name.eq_ignore_ascii_case(word);
    FUNCTIONS
        .iter()
        .chain(RECIPROCALS.iter().map(|(spelling, _)| spelling))
        .find(|f| is(&f.canonical) || f.others.iter().any(is))
}

/// The longest function name that `letters` begins with, and its length in bytes.
pub fn prefix(letters: &str) -> Option<(&'static Spelling, usize)> {
    (2..=letters.len().min(8))
        .rev()
        .find_map(|length| Some((find(letters.get(..length)?)?, length)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_spelling_names_one_function() {
        let mut seen = std::collections::BTreeSet::new();
        for function in FUNCTIONS {
            for name in std::iter::once(&function.canonical).chain(function.others) {
                assert!(seen.insert(*name), "{name} twice");
                assert_eq!(find(name), Some(function));
                assert_eq!(find(&name.to_uppercase()), Some(function));
            }
            if let Some(inverse) = function.inverse {
                let back = find(inverse).and_then(|f| f.inverse);
                assert_eq!(back, Some(function.canonical), "inverse of the inverse");
            }
        }
        assert_eq!(find("sine"), None);
    }

    #[test]
    fn the_longest_prefix_wins() {
        let name = |letters| prefix(letters).map(|(f, n)| (f.canonical, n));
        assert_eq!(name("sinhx"), Some(("sinh", 4)));
        assert_eq!(name("sinx"), Some(("sin", 3)));
        assert_eq!(name("arcsinhx"), Some(("arsinh", 7)));
        assert_eq!(name("xsin"), None);
    }
}
