//! Rows of the ledger.

use super::formula::Formula;

/// Prose in Markdown with holes: `$0$`, `$1$`, … stand for `formulas[0]`, ….
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Prose {
    /// The text. Only *emphasis*, **strong** and `$n$` are used.
    pub markdown: String,
    /// The formulas that the holes stand for.
    pub formulas: Vec<Formula>,
}

impl Prose {
    /// Words only.
    pub fn words(text: impl Into<String>) -> Self {
        Self::default().text(text)
    }

    /// The same with more words (Markdown).
    #[must_use]
    pub fn text(mut self, text: impl Into<String>) -> Self {
        self.markdown.push_str(&text.into());
        self
    }

    /// The same with a formula behind it.
    #[must_use]
    pub fn math(mut self, formula: Formula) -> Self {
        use std::fmt::Write as _;
        let _ = write!(self.markdown, "${}$", self.formulas.len());
        self.formulas.push(formula);
        self
    }

    /// The same with formulas behind it: `a, b and c`.
    #[must_use]
    pub fn list(mut self, formulas: impl IntoIterator<Item = Formula>) -> Self {
        let formulas: Vec<Formula> = formulas.into_iter().collect();
        let last = formulas.len().saturating_sub(1);
        for (position, formula) in formulas.into_iter().enumerate() {
            if position > 0 {
                self = self.text(if position == last { " and " } else { ", " });
            }
            self = self.math(formula);
        }
        self
    }

    /// The same with another run of prose behind it.
    #[must_use]
    pub fn prose(mut self, other: Self) -> Self {
        let mut pieces = other.markdown.split('$');
        if let Some(first) = pieces.next() {
            self = self.text(first);
        }
        let mut formulas = other.formulas.into_iter();
        // Between dollar signs stand the holes, in order of their formulas.
        while let (Some(_), Some(formula)) = (pieces.next(), formulas.next()) {
            self = self.math(formula);
            if let Some(words) = pieces.next() {
                self = self.text(words);
            }
        }
        self
    }
}

/// A term, or a value, on a line; its own math element on the page, so that lines wrap.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Piece {
    /// The mathematics, sign included.
    pub formula: Formula,
    /// Identifier of the term for ancestry, unique in the ledger.
    pub id: Option<usize>,
    /// Terms it comes from.
    pub sources: Vec<usize>,
    /// Vanishes, and why (`x = 0`, `constant`).
    pub vanishes: Option<Formula>,
    /// What it is.
    pub role: Role,
}

/// What a piece is, for the look of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// Left side and `=`.
    Lead,
    /// A term.
    Term,
    /// The result of the row.
    Value,
}

/// One line of mathematics or of prose.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Line {
    /// A chain of pieces; `label` is a word in front ("like terms").
    Formula {
        /// Word in front, or empty.
        label: &'static str,
        /// Left to right.
        pieces: Vec<Piece>,
        /// Shown only when every rule has a line of its own.
        detail: bool,
        /// The rule named beside a detail line.
        reason: Option<Prose>,
    },
    /// Words.
    Text(Prose),
}

/// A row of the ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LedgerRow {
    /// Stable key, for patching the page: `given`, `solve-0`, `order-3`, `residual`.
    pub key: String,
    /// The degree it belongs to.
    pub degree: Option<usize>,
    /// Why.
    pub reason: Prose,
    /// What.
    pub lines: Vec<Line>,
    /// What becomes known here.
    pub known: Option<Formula>,
    /// Too long to read: shown folded, with this many terms.
    pub folded: Option<usize>,
    /// Did the other route find the same value? `None` where there is nothing to compare.
    pub checked: Option<bool>,
}

/// A term of the polynomial, or a missing degree.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct StripTerm {
    /// Degree.
    pub degree: usize,
    /// Value over factorial: −28/5!.
    pub with_factorial: Formula,
    /// The same as a term of the polynomial: sign in front, power behind. `None` when zero.
    pub factorial_term: Option<Formula>,
    /// Simplified, with sign and power; `None`: the coefficient is zero and the degree is missing.
    pub simplified: Option<Formula>,
    /// Decimal coefficient with sign and power.
    pub decimal: Option<Formula>,
    /// Is `decimal` rounded? (Otherwise it is exact.)
    pub rounded: bool,
}

/// The polynomial of one unknown.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Strip {
    /// Left of the polynomial: the partial sum's name and `=`.
    pub lead: Option<Formula>,
    /// The polynomial.
    pub terms: Vec<StripTerm>,
}

/// The whole of what is read.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Document {
    /// The ledger.
    pub rows: Vec<LedgerRow>,
    /// Left of the polynomial: the partial sum's name and `=`.
    pub strip_lead: Option<Formula>,
    /// The polynomial.
    pub strip: Vec<StripTerm>,
    /// The polynomials of the other unknowns of a system.
    pub others: Vec<Strip>,
}

impl Document {
    /// The polynomials of all unknowns.
    pub fn strips(&self) -> Vec<Strip> {
        let first = Strip {
            lead: self.strip_lead.clone(),
            terms: self.strip.clone(),
        };
        std::iter::once(first).chain(self.others.clone()).collect()
    }
}
