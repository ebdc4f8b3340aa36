//! The keys of the blocks: one table for the reader, the writer and the page that explains them.

/// A key of a block.
#[derive(Clone, Copy, Debug)]
pub struct Key {
    /// As it is written, without its colon.
    pub name: &'static str,
    /// Is it followed by the key of a row, as in `reason order-2: …`?
    pub of_row: bool,
    /// What it is for, in a sentence.
    pub meaning: &'static str,
}

const fn key(name: &'static str, meaning: &'static str) -> Key {
    Key {
        name,
        of_row: false,
        meaning,
    }
}

const fn of_row(name: &'static str, meaning: &'static str) -> Key {
    Key {
        name,
        of_row: true,
        meaning,
    }
}

/// The keys of a problem.
#[rustfmt::skip]
pub const KEYS: &[Key] = &[
    key("title", "the problem's heading"),
    key("equation", "an equation, where a line of its own is not recognized as one"),
    key("conditions", "conditions, where a line of their own is not recognized as such"),
    key("degree", "the degree (5 where none is written), or words such as first 4 non-zero terms"),
    key("formula", "a formula to test, y = …"),
    key("from", "left end of the plot"),
    key("to", "right end of the plot"),
    key("beside", "other initial values, or a place to recenter at, to set beside"),
    key("numbers", "numbers for letters, for the plot: k = 1/2, m = 3"),
    key("route", "natural, solved or standing: which form of the equation is differentiated"),
    key("depth", "lines or rules: one line for each derivative, or one for each rule"),
    key("figures", "exact, factorials or decimals: how coefficients are written"),
    key("digits", "15, 30 or 50: how many digits of the solution's values are to be certain"),
    key("unknown", "of a system: the unknown that is followed"),
    key("across", "of a system: the unknown drawn across in the phase plane"),
    key("up", "of a system: the unknown drawn upwards"),
    key("show", "what is shown, with commas: problem, ledger, polynomial, plot, errors, table, how far"),
    key("tolerance", "how far from the solution the polynomial may be"),
    key("ask", "a question to the room, before the values are shown"),
    key("room", "how many lines of room a problem sheet leaves"),
    key("marks", "marks for lines of the answer key: order-2 = 3, polynomial = 2"),
    of_row("reason", "a row's reason in your own words: reason order-2: …"),
    of_row("remark", "a remark below a row: remark order-2: …"),
];

/// The keys of the block named `sheet`.
#[rustfmt::skip]
pub const SHEET_KEYS: &[Key] = &[
    key("course", "the course it is for"),
    key("date", "when it is used"),
    key("version", "which version of the sheet this is"),
    key("author", "who wrote it"),
];

/// What a block can show, as it is written. (The names of [`crate::file::ProblemBlock::show`].)
pub(super) const SHOWN: &[&str] = &[
    "problem",
    "ledger",
    "polynomial",
    "plot",
    "errors",
    "table",
    "how far",
];

/// The name among these that was probably meant: at most two letters are wrong, of three one.
pub fn nearest<'a>(typed: &str, names: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let typed = typed.to_lowercase();
    let mut best: Option<(usize, &str)> = None;
    for name in names {
        let distance = solver::syntax::edit_distance(&typed, name);
        let allowed = if name.len() < 4 { 1 } else { 2 };
        if distance <= allowed && best.is_none_or(|(least, _)| distance < least) {
            best = Some((distance, name));
        }
    }
    best.map(|(_, name)| name)
}
