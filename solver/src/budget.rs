//! Deterministic limits. Never a clock: the same input must give the same answer everywhere.

/// How much work each stage may do. Passed explicitly.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Budget {
    /// Longest text of a field, in bytes.
    pub text_bytes: usize,
    /// Deepest nesting that the parser follows.
    pub nesting: usize,
    /// Highest equation order.
    pub equation_order: u32,
    /// Highest degree of the polynomial.
    pub degree: usize,
    /// Largest exponent (absolute value) of an integer power that is expanded or evaluated exactly.
    pub exponent: u32,
    /// Nodes of one expression.
    pub nodes: usize,
    /// Terms of a derivative before symbolic differentiation stops and series arithmetic goes on alone.
    pub terms: usize,
    /// Terms of a derivative before its row is folded in the ledger.
    pub readable_terms: usize,
    /// Bits of one exact integer (num-bigint has 32-bit digits on wasm: count bits, not digits).
    pub bits: u64,
    /// Elementary series operations, for one solve.
    pub steps: u64,
}

impl Budget {
    /// What the page allows itself: every answer within two seconds on a slow machine.
    pub const PAGE: Self = Self {
        text_bytes: 4096,
        nesting: 64,
        equation_order: 8,
        degree: 50,
        exponent: 200,
        nodes: 20_000,
        terms: 400,
        readable_terms: 40,
        bits: 60_000,
        steps: 20_000_000,
    };
}

/// A counter that runs out.
#[derive(Clone, Debug)]
pub struct Fuel {
    left: u64,
}

/// The work was given up because a limit was reached.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Exhausted;

impl Fuel {
    /// So many units of work.
    pub fn new(units: u64) -> Self {
        Self { left: units }
    }

    /// What is left.
    pub fn left(&self) -> u64 {
        self.left
    }

    /// Takes `units`; an error when there are not that many left.
    ///
    /// # Errors
    /// [`Exhausted`] when the counter has run out.
    pub fn spend(&mut self, units: u64) -> Result<(), Exhausted> {
        self.left = self.left.checked_sub(units).ok_or(Exhausted)?;
        Ok(())
    }
}
