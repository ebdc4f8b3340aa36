//! Lines of the ledger from their pieces.

use super::formula::Formula;
use super::ledger::{Line, Piece, Role};

/// A line of pieces.
pub fn chain(label: &'static str, pieces: Vec<Piece>) -> Line {
    Line::Formula {
        label,
        pieces,
        detail: false,
        reason: None,
    }
}

/// A left side.
pub fn lead(formula: Formula) -> Piece {
    value_piece(formula, Role::Lead)
}

/// A piece without ancestry.
pub fn value_piece(formula: Formula, role: Role) -> Piece {
    Piece {
        formula,
        id: None,
        sources: Vec::new(),
        vanishes: None,
        role,
    }
}

/// `formula =`
pub fn equals_behind(formula: Formula) -> Formula {
    Formula::row([formula, Formula::Operator('=')])
}
