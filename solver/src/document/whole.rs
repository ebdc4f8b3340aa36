//! Whole documents, and the polynomial alone, as text.

use super::formula::Formula;
use super::ledger::{Document, LedgerRow, Line, Piece, Prose, Strip};
use super::rows::COEFFICIENT;
use super::strip::Figures;
use super::{latex, mathml, plain};

/// The right side of a polynomial, as one formula.
pub fn polynomial(strip: &Strip, figures: Figures) -> Formula {
    let terms: Vec<Formula> = strip
        .terms
        .iter()
        .filter_map(|term| match figures {
            Figures::Simplified => term.simplified.clone(),
            Figures::Factorials => term.factorial_term.clone(),
            Figures::Decimals => term.decimal.clone(),
        })
        .collect();
    if terms.is_empty() {
        Formula::digits(0)
    } else {
        Formula::row(terms)
    }
}

/// `P_5(x) =`; ≈ where decimals stand for exact numbers. `None` when there is no polynomial.
pub fn polynomial_lead(strip: &Strip, figures: Figures) -> Option<Formula> {
    let rounded = figures == Figures::Decimals && strip.terms.iter().any(|term| term.rounded);
    Some(match strip.lead.clone()? {
        Formula::Row(parts) if rounded => Formula::row(parts.into_iter().map(|part| match part {
            Formula::Operator('=') => Formula::Operator('≈'),
            other => other,
        })),
        other => other,
    })
}

/// `P_5(x) = …` as one formula; ≈ where decimals stand for exact numbers.
pub fn polynomial_equation(strip: &Strip, figures: Figures) -> Formula {
    let sum = polynomial(strip, figures);
    match polynomial_lead(strip, figures) {
        Some(lead) => Formula::row([lead, sum]),
        None => sum,
    }
}

/// The polynomial in every form it can be copied in.
#[derive(Clone, Debug, PartialEq, Eq, Default)]
pub struct Copies {
    /// `LaTeX`, without dollar signs.
    pub latex: String,
    /// A whole `math` element.
    pub mathml: String,
    /// Markdown with `$…$`.
    pub markdown: String,
    /// Plain text.
    pub plain: String,
}

/// The polynomial for the clipboard; of a system all of them, one a line.
pub fn copies(document: &Document, figures: Figures) -> Copies {
    let mut all = Copies::default();
    let put = |text: &mut String, more: &str, between: &str| {
        if !text.is_empty() {
            text.push_str(between);
        }
        text.push_str(more);
    };
    let strips = document.strips();
    for strip in &strips {
        let formula = polynomial_equation(strip, figures);
        let latex = latex::latex(&formula);
        put(&mut all.latex, &latex, " \\\\\n");
        put(&mut all.mathml, &mathml::write(&formula), "\n");
        put(&mut all.markdown, &format!("${latex}$"), "\n\n");
        put(&mut all.plain, &plain::formula(&formula), "\n");
    }
    if strips.len() > 1 {
        all.latex = format!("\\begin{{gathered}}\n{}\n\\end{{gathered}}", all.latex);
    }
    all
}

/// How much of the work is written down.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// One line for each derivative.
    Lines,
    /// Every rule on a line of its own.
    Rules,
}

/// How a text document writes formulas and words.
pub trait Marks {
    /// A formula within a line.
    fn math(&self, formula: &Formula) -> String;
    /// Words with *emphasis* and **strong emphasis**.
    fn words(&self, text: &str) -> String;
}

/// The ledger in Markdown with `$…$`.
pub fn to_markdown(document: &Document, depth: Depth) -> String {
    write(document, depth, &Markdown, &|out, row, lines| {
        out.push_str("- ");
        out.push_str(&prose_text(&row.reason, &Markdown));
        out.push_str("\n\n");
        for line in lines {
            out.extend(["  ", line, "\n\n"]);
        }
    })
}

/// The ledger in `LaTeX`: a description list for the body of an article (amsmath).
pub fn to_latex(document: &Document, depth: Depth) -> String {
    let body = write(document, depth, &Latex, &|out, row, lines| {
        // The inner braces keep a bracket in the reason from ending the label.
        out.extend(["\\item[{", &prose_text(&row.reason, &Latex), "}]\n"]);
        for line in lines {
            out.extend([line, "\\par\n"]);
        }
    });
    format!("\\begin{{description}}\n{body}\\end{{description}}\n")
}

/// The ledger in plain text.
pub fn to_plain(document: &Document, depth: Depth) -> String {
    write(document, depth, &Plain, &|out, row, lines| {
        out.push_str(&prose_text(&row.reason, &Plain));
        out.push('\n');
        for line in lines {
            out.extend(["    ", line, "\n"]);
        }
    })
}

/// Adds a row, its lines given as text.
type WriteRow<'a> = &'a dyn Fn(&mut String, &LedgerRow, &[String]);

fn write(document: &Document, depth: Depth, marks: &dyn Marks, row: WriteRow<'_>) -> String {
    let mut out = String::new();
    for one in &document.rows {
        let lines: Vec<String> = one
            .lines
            .iter()
            .filter(|line| is_written(line, one.folded.is_some(), depth))
            .map(|line| line_text(line, marks))
            .collect();
        row(&mut out, one, &lines);
    }
    out
}

/// Does a text document have this line? Of folded rows the formulas are left out, and detail lines
/// where they are not asked for.
pub fn is_written(line: &Line, folded: bool, depth: Depth) -> bool {
    match line {
        Line::Formula { detail: true, .. } if depth == Depth::Lines => false,
        Line::Formula { pieces, label, .. } => {
            !folded || pieces.len() <= 1 || *label == COEFFICIENT
        }
        Line::Text(_) => true,
    }
}

/// One line.
pub fn line_text(line: &Line, marks: &dyn Marks) -> String {
    match line {
        Line::Formula {
            label,
            pieces,
            reason,
            ..
        } => {
            let whole = Formula::row(pieces.iter().map(|piece| piece.formula.clone()));
            let mut text = marks.math(&whole);
            if !label.is_empty() {
                text = format!("{}: {text}", marks.words(label));
            }
            let vanishing: Vec<String> =
                pieces.iter().filter_map(|p| vanishing(p, marks)).collect();
            if !vanishing.is_empty() {
                text.push_str(&marks.words(" ("));
                text.push_str(&vanishing.join(&marks.words("; ")));
                text.push_str(&marks.words(")"));
            }
            if let Some(reason) = reason {
                text.push_str(&marks.words(" — "));
                text.push_str(&prose_text(reason, marks));
            }
            text
        }
        Line::Text(prose) => prose_text(prose, marks),
    }
}

/// Why a term vanishes, in words.
fn vanishing(piece: &Piece, marks: &dyn Marks) -> Option<String> {
    let why = piece.vanishes.as_ref()?;
    let why = match why {
        Formula::Text(words) => marks.words(&format!("derivative of a {words}")),
        other => marks.math(other),
    };
    let term = match &piece.formula {
        Formula::Row(parts) => match parts.split_first() {
            Some((Formula::Operator(_) | Formula::Sign(_), rest)) => Formula::row(rest.to_vec()),
            _ => piece.formula.clone(),
        },
        other => other.clone(),
    };
    Some(format!(
        "{}{}{why}",
        marks.math(&term),
        marks.words(" vanishes: ")
    ))
}

/// A run of prose.
pub fn prose_text(prose: &Prose, marks: &dyn Marks) -> String {
    let mut out = String::new();
    for (position, piece) in prose.markdown.split('$').enumerate() {
        if position % 2 == 0 {
            out.push_str(&marks.words(piece));
        } else if let Some(formula) = piece
            .parse()
            .ok()
            .and_then(|n: usize| prose.formulas.get(n))
        {
            out.push_str(&marks.math(formula));
        }
    }
    out
}

/// Markdown with `$…$`.
#[derive(Clone, Copy, Debug)]
pub struct Markdown;

impl Marks for Markdown {
    fn math(&self, formula: &Formula) -> String {
        // A space right behind the dollar sign would make it a dollar sign.
        format!("${}$", latex::latex(formula).trim())
    }

    fn words(&self, text: &str) -> String {
        text.to_owned()
    }
}

/// `LaTeX`.
#[derive(Clone, Copy, Debug)]
pub struct Latex;

impl Marks for Latex {
    fn math(&self, formula: &Formula) -> String {
        format!("${}$", latex::latex(formula))
    }

    fn words(&self, text: &str) -> String {
        let mut out = String::new();
        for (position, strong) in text.split("**").enumerate() {
            for (nested, piece) in strong.split('*').enumerate() {
                let escaped = latex::escape(piece);
                match (position % 2, nested % 2) {
                    (1, _) => out.extend(["\\textbf{", &escaped, "}"]),
                    (_, 1) => out.extend(["\\emph{", &escaped, "}"]),
                    _ => out.push_str(&escaped),
                }
            }
        }
        out
    }
}

struct Plain;

impl Marks for Plain {
    fn math(&self, formula: &Formula) -> String {
        plain::formula(formula)
    }

    fn words(&self, text: &str) -> String {
        text.replace('*', "")
    }
}
