//! From an expression to a tape.

use num_traits::{One, Signed, ToPrimitive};

use super::SeriesError;
use super::tape::{Operation, Slot, Tape};
use crate::expression::{Expr, Function, Node, Symbol};
use crate::number::Rational;
use crate::number::rational::integer;
use crate::ordered::Map;
use crate::problem::Problem;

/// Largest exponent of an integer power, which is worked out by repeated squaring.
const LARGEST_EXPONENT: u64 = 1 << 20;

/// Largest numerator and denominator of a rational exponent: with them the factors
/// `numerator·i − denominator·(k−i)` stay far inside 64 bits.
const LARGEST_EXPONENT_PART: i64 = 1 << 31;

/// What a sub-expression has become.
#[derive(Clone, Copy)]
enum Value {
    /// Free of the variable and the unknown; gets a slot only when a series needs it.
    Constant,
    /// A series.
    Series(Slot),
}

/// Work still to be done, kept on an explicit stack: an expression may be deep.
enum Task {
    Visit(Expr),
    Build(Expr),
}

impl Tape {
    /// Flattens `y^(m) = Σ right_side`, `m = unknown_order` ≥ 1, into elementary operations.
    ///
    /// # Errors
    /// As [`Tape::compile_system`].
    pub fn compile(right_side: &[Expr], unknown_order: u32) -> Result<Self, SeriesError> {
        Self::compile_system(&[(right_side, unknown_order)])
    }

    /// Flattens the equations `u^(m) = Σ right_side`, one pair (right side, `m` ≥ 1) for each
    /// unknown in the order of their indices, into elementary operations. Equal sub-expressions
    /// are computed once, whichever equation they stand in.
    ///
    /// # Errors
    /// [`SeriesError::Unsupported`] when a right-hand side holds a derivative of an unknown of its
    /// equation order or above, or an unknown without equation; [`SeriesError::Exhausted`] for
    /// absurd exponents.
    pub fn compile_system(equations: &[(&[Expr], u32)]) -> Result<Self, SeriesError> {
        let mut blocks = Vec::with_capacity(equations.len());
        let mut states = 0;
        for (_, order) in equations {
            blocks.push((states, *order as usize));
            states += *order as usize;
        }
        if blocks.is_empty() || blocks.iter().any(|(_, order)| *order == 0) {
            return Err(SeriesError::Unsupported("an equation without a derivative"));
        }
        let mut compiler = Compiler::new(blocks, states);
        let mut results = Vec::with_capacity(equations.len());
        for (right_side, _) in equations {
            let whole = match right_side {
                [] => Expr::number(integer(0)),
                [term] => term.clone(),
                terms => Expr::raw(Node::Sum(terms.to_vec())),
            };
            results.push(compiler.expression(&whole)?);
        }
        Ok(Self {
            operations: compiler.operations,
            extents: compiler.extents,
            constants: compiler.constants,
            results,
            blocks: compiler.blocks,
        })
    }

    /// The tape of a problem solved for its highest derivatives.
    ///
    /// # Errors
    /// As [`Tape::compile_system`].
    pub fn of_problem(problem: &Problem) -> Result<Self, SeriesError> {
        let equations: Vec<(&[Expr], u32)> = problem
            .equations
            .iter()
            .zip(&problem.unknowns)
            .map(|(equation, unknown)| (equation.solved.as_slice(), unknown.equation_order))
            .collect();
        Self::compile_system(&equations)
    }
}

struct Compiler {
    operations: Vec<Operation>,
    extents: Vec<Option<usize>>,
    constants: Vec<Expr>,
    /// Sub-expressions already flattened.
    known: Map<Expr, Value>,
    /// Operations already on the tape.
    shared: Map<Operation, Slot>,
    /// Constants already on the tape.
    constant_slots: Map<Expr, Slot>,
    /// Function values already on the tape, with the companions that functions have in common.
    calls: Map<(Function, Slot), Slot>,
    blocks: Vec<(Slot, usize)>,
}

/// The positive power whose reciprocal a factor is, for `u^(−n)` with an integer `n`.
fn divisor(factor: &Expr) -> Option<Expr> {
    let Node::Power(base, exponent) = factor.node() else {
        return None;
    };
    let Node::Number(value) = exponent.node() else {
        return None;
    };
    if !value.is_integer() || !value.is_negative() {
        return None;
    }
    let positive = -value;
    Some(if positive.is_one() {
        base.clone()
    } else {
        Expr::raw(Node::Power(base.clone(), Expr::number(positive)))
    })
}

impl Compiler {
    fn new(blocks: Vec<(Slot, usize)>, states: usize) -> Self {
        Self {
            operations: vec![Operation::State; states],
            extents: vec![None; states],
            constants: Vec::new(),
            known: Map::new(),
            shared: Map::new(),
            constant_slots: Map::new(),
            calls: Map::new(),
            blocks,
        }
    }

    /// Flattens an expression, children first.
    fn expression(&mut self, whole: &Expr) -> Result<Slot, SeriesError> {
        let mut tasks = vec![Task::Visit(whole.clone())];
        while let Some(task) = tasks.pop() {
            match task {
                Task::Visit(expression) => {
                    if self.known.get(&expression).is_some() {
                        continue;
                    }
                    let children = children(&expression);
                    tasks.push(Task::Build(expression));
                    tasks.extend(children.into_iter().map(Task::Visit));
                }
                Task::Build(expression) => {
                    if self.known.get(&expression).is_none() {
                        let value = self.build(&expression)?;
                        self.known.insert(expression, value);
                    }
                }
            }
        }
        Ok(self.slot(whole))
    }

    fn is_constant(&self, expression: &Expr) -> bool {
        matches!(self.known.get(expression), Some(Value::Constant) | None)
    }

    /// Slot of an expression already visited.
    fn slot(&mut self, expression: &Expr) -> Slot {
        match self.known.get(expression) {
            Some(Value::Series(slot)) => *slot,
            Some(Value::Constant) | None => self.constant(expression),
        }
    }

    fn constant(&mut self, value: &Expr) -> Slot {
        if let Some(slot) = self.constant_slots.get(value) {
            return *slot;
        }
        self.constants.push(value.clone());
        let slot = self.push(Operation::Constant(self.constants.len() - 1), Some(0));
        self.constant_slots.insert(value.clone(), slot);
        slot
    }

    fn integer(&mut self, value: i64) -> Slot {
        self.constant(&Expr::number(integer(value)))
    }

    fn push(&mut self, operation: Operation, extent: Option<usize>) -> Slot {
        self.operations.push(operation);
        self.extents.push(extent);
        self.operations.len() - 1
    }

    /// An arithmetic operation, unless it is on the tape already.
    fn operation(&mut self, operation: Operation) -> Slot {
        if let Some(slot) = self.shared.get(&operation) {
            return *slot;
        }
        let extent = |slot: Slot| self.extents.get(slot).copied().flatten();
        let extent = match operation {
            Operation::Variable => Some(1),
            Operation::Add(a, b) | Operation::Subtract(a, b) => {
                extent(a).zip(extent(b)).map(|(a, b)| a.max(b))
            }
            Operation::Multiply(a, b) => extent(a).zip(extent(b)).map(|(a, b)| a.saturating_add(b)),
            Operation::Square(a) => extent(a).map(|a| a.saturating_mul(2)),
            Operation::Divide(a, b) if extent(b) == Some(0) => extent(a),
            Operation::Slope(a) => extent(a),
            Operation::Sign(_) | Operation::Constant(_) => Some(0),
            _ => None,
        };
        let slot = self.push(operation.clone(), extent);
        self.shared.insert(operation, slot);
        slot
    }

    fn add(&mut self, a: Slot, b: Slot) -> Slot {
        self.operation(Operation::Add(a.min(b), a.max(b)))
    }

    fn subtract(&mut self, a: Slot, b: Slot) -> Slot {
        self.operation(Operation::Subtract(a, b))
    }

    fn multiply(&mut self, a: Slot, b: Slot) -> Slot {
        if a == b {
            self.operation(Operation::Square(a))
        } else {
            self.operation(Operation::Multiply(a.min(b), a.max(b)))
        }
    }

    fn slope(&mut self, a: Slot) -> Slot {
        self.operation(Operation::Slope(a))
    }

    fn build(&mut self, expression: &Expr) -> Result<Value, SeriesError> {
        Ok(match expression.node() {
            Node::Number(_) | Node::Symbol(Symbol::Pi | Symbol::Parameter(_) | Symbol::Root(_)) => {
                Value::Constant
            }
            Node::Symbol(Symbol::Variable) => Value::Series(self.operation(Operation::Variable)),
            Node::Symbol(Symbol::Derivative { unknown, order }) => {
                let Some(&(start, below)) = self.blocks.get(*unknown) else {
                    return Err(SeriesError::Unsupported("an unknown without equation"));
                };
                if *order as usize >= below {
                    return Err(SeriesError::Unsupported(
                        "a right-hand side that holds the derivative it is solved for",
                    ));
                }
                Value::Series(start + *order as usize)
            }
            Node::Sum(terms) => self.sum(terms),
            Node::Product(factors) => self.product(factors),
            Node::Power(base, exponent) => self.power(base, exponent)?,
            Node::Call(function, argument) => {
                if self.is_constant(argument) {
                    Value::Constant
                } else {
                    let argument = self.slot(argument);
                    Value::Series(self.call(*function, argument)?)
                }
            }
        })
    }

    fn sum(&mut self, terms: &[Expr]) -> Value {
        let (constant, series): (Vec<Expr>, Vec<Expr>) = terms
            .iter()
            .cloned()
            .partition(|term| self.is_constant(term));
        if series.is_empty() {
            return Value::Constant;
        }
        let mut slots: Vec<Slot> = series.iter().map(|term| self.slot(term)).collect();
        if let Some(constant) = combined(constant, Node::Sum) {
            slots.push(self.constant(&constant));
        }
        Value::Series(self.fold(slots, Self::add))
    }

    fn product(&mut self, factors: &[Expr]) -> Value {
        let (constant, series): (Vec<Expr>, Vec<Expr>) = factors
            .iter()
            .cloned()
            .partition(|factor| self.is_constant(&divisor(factor).unwrap_or(factor.clone())));
        if series.is_empty() {
            return Value::Constant;
        }
        let mut numerator = Vec::new();
        let mut denominator = Vec::new();
        for factor in &series {
            match divisor(factor) {
                Some(positive) => denominator.push(self.slot(&positive)),
                None => numerator.push(self.slot(factor)),
            }
        }
        if let Some(constant) = combined(constant, Node::Product) {
            numerator.push(self.constant(&constant));
        }
        let numerator = if numerator.is_empty() {
            self.integer(1)
        } else {
            self.fold(numerator, Self::multiply)
        };
        Value::Series(if denominator.is_empty() {
            numerator
        } else {
            let denominator = self.fold(denominator, Self::multiply);
            self.operation(Operation::Divide(numerator, denominator))
        })
    }

    /// Joins operands, polynomials in the variable first so that they stay short.
    fn fold(&mut self, mut slots: Vec<Slot>, join: fn(&mut Self, Slot, Slot) -> Slot) -> Slot {
        crate::sorting::sort_by_key(&mut slots, |&slot| {
            (
                self.extents
                    .get(slot)
                    .copied()
                    .flatten()
                    .unwrap_or(usize::MAX),
                slot,
            )
        });
        let mut slots = slots.into_iter();
        let first = slots.next().unwrap_or(0);
        slots.fold(first, |joined, slot| join(self, joined, slot))
    }

    fn power(&mut self, base: &Expr, exponent: &Expr) -> Result<Value, SeriesError> {
        match (self.is_constant(base), self.is_constant(exponent)) {
            (true, true) => return Ok(Value::Constant),
            (false, true) => {
                if let Node::Number(value) = exponent.node() {
                    let base = self.slot(base);
                    return Ok(Value::Series(self.number_power(base, value)?));
                }
            }
            _ => {}
        }
        // u^v = exp(v·ln u).
        let logarithm = if self.is_constant(base) {
            self.constant(&Expr::raw(Node::Call(Function::Ln, base.clone())))
        } else {
            let base = self.slot(base);
            self.call(Function::Ln, base)?
        };
        let exponent = self.slot(exponent);
        let argument = self.multiply(exponent, logarithm);
        Ok(Value::Series(self.call(Function::Exp, argument)?))
    }

    fn number_power(&mut self, base: Slot, exponent: &Rational) -> Result<Slot, SeriesError> {
        if exponent.is_integer() {
            let size = exponent.numer().magnitude().to_u64().unwrap_or(u64::MAX);
            if size > LARGEST_EXPONENT {
                return Err(SeriesError::Exhausted);
            }
            let positive = self.integer_power(base, size);
            return Ok(if exponent.is_negative() {
                let one = self.integer(1);
                self.operation(Operation::Divide(one, positive))
            } else {
                positive
            });
        }
        let part = |value: &num_bigint::BigInt| {
            value
                .to_i64()
                .filter(|value| value.abs() <= LARGEST_EXPONENT_PART)
        };
        if let (Some(numerator), Some(denominator)) =
            (part(exponent.numer()), part(exponent.denom()))
        {
            let slope = self.slope(base);
            return Ok(self.with_slope(Operation::Power {
                base,
                slope,
                numerator,
                denominator,
            }));
        }
        let logarithm = self.call(Function::Ln, base)?;
        let exponent = self.constant(&Expr::number(exponent.clone()));
        let argument = self.multiply(exponent, logarithm);
        self.call(Function::Exp, argument)
    }

    /// `base^exponent` by repeated squaring.
    fn integer_power(&mut self, base: Slot, exponent: u64) -> Slot {
        let mut result = None;
        let mut square = base;
        let mut left = exponent;
        while left > 0 {
            if left & 1 == 1 {
                result = Some(match result {
                    None => square,
                    Some(product) => self.multiply(product, square),
                });
            }
            left >>= 1;
            if left > 0 {
                square = self.multiply(square, square);
            }
        }
        result.unwrap_or_else(|| self.integer(1))
    }

    /// An operation whose own slope it needs, in the slot after it.
    fn with_slope(&mut self, operation: Operation) -> Slot {
        if let Some(slot) = self.shared.get(&operation) {
            return *slot;
        }
        let slot = self.operation(operation);
        self.slope(slot);
        slot
    }

    /// The series of an elementary function, with its companions.
    fn call(&mut self, function: Function, argument: Slot) -> Result<Slot, SeriesError> {
        if let Some(slot) = self.calls.get(&(function, argument)) {
            return Ok(*slot);
        }
        let slot = match function {
            Function::Exp => self.chain(function, argument, false, |_, own| own),
            Function::Sin | Function::Cos => {
                return Ok(self.pair(function, (Function::Sin, Function::Cos), true, argument));
            }
            Function::Sinh | Function::Cosh => {
                return Ok(self.pair(function, (Function::Sinh, Function::Cosh), false, argument));
            }
            // tan′ = 1 + tan², cot′ = −(1 + cot²), tanh′ = 1 − tanh², coth′ = 1 − coth².
            Function::Tan | Function::Cot => self.chain(
                function,
                argument,
                function == Function::Cot,
                |this, own| {
                    let one = this.integer(1);
                    let square = this.multiply(own, own);
                    this.add(one, square)
                },
            ),
            Function::Tanh | Function::Coth => {
                self.chain(function, argument, false, |this, own| {
                    let one = this.integer(1);
                    let square = this.multiply(own, own);
                    this.subtract(one, square)
                })
            }
            // sec′ = sec·tan, csc′ = −csc·cot, sech′ = −sech·tanh, csch′ = −csch·coth.
            Function::Sec | Function::Csc | Function::Sech | Function::Csch => {
                let other = match function {
                    Function::Sec => Function::Tan,
                    Function::Csc => Function::Cot,
                    Function::Sech => Function::Tanh,
                    _ => Function::Coth,
                };
                let other = self.call(other, argument)?;
                self.chain(
                    function,
                    argument,
                    function != Function::Sec,
                    |this, own| this.multiply(own, other),
                )
            }
            Function::Ln => self.chain_quotient(function, argument, argument, false),
            Function::Arctan | Function::Arccot => {
                let one = self.integer(1);
                let square = self.multiply(argument, argument);
                let divisor = self.add(one, square);
                self.chain_quotient(function, argument, divisor, function == Function::Arccot)
            }
            Function::Artanh => {
                let one = self.integer(1);
                let square = self.multiply(argument, argument);
                let divisor = self.subtract(one, square);
                self.chain_quotient(function, argument, divisor, false)
            }
            Function::Arcsin | Function::Arccos | Function::Arsinh | Function::Arcosh => {
                let one = self.integer(1);
                let square = self.multiply(argument, argument);
                let radicand = match function {
                    Function::Arsinh => self.add(one, square),
                    Function::Arcosh => self.subtract(square, one),
                    _ => self.subtract(one, square),
                };
                let slope = self.slope(radicand);
                let root = Operation::Power {
                    base: radicand,
                    slope,
                    numerator: 1,
                    denominator: 2,
                };
                let divisor = self.with_slope(root);
                self.chain_quotient(function, argument, divisor, function == Function::Arccos)
            }
            Function::Abs => {
                let sign = self.operation(Operation::Sign(argument));
                self.multiply(sign, argument)
            }
            Function::Sign => self.operation(Operation::Sign(argument)),
        };
        self.calls.insert((function, argument), slot);
        Ok(slot)
    }

    /// `w′ = ±v·u′` with the companion `v` made from `w` by `companion`.
    fn chain(
        &mut self,
        function: Function,
        argument: Slot,
        negative: bool,
        companion: impl FnOnce(&mut Self, Slot) -> Slot,
    ) -> Slot {
        let slope = self.slope(argument);
        let own = self.operations.len();
        // The companion stands after the series that it is made from: its slot is filled in below.
        self.push(
            Operation::Chain {
                function,
                argument,
                slope,
                factor: own,
                negative,
            },
            None,
        );
        let made = companion(self, own);
        if let Some(Operation::Chain { factor, .. }) = self.operations.get_mut(own) {
            *factor = made;
        }
        own
    }

    /// Sine and cosine, circular or hyperbolic: each is the other's companion.
    fn pair(
        &mut self,
        wanted: Function,
        (sine, cosine): (Function, Function),
        negative: bool,
        argument: Slot,
    ) -> Slot {
        let slope = self.slope(argument);
        let first = self.operations.len();
        let chain = |function, factor, negative| Operation::Chain {
            function,
            argument,
            slope,
            factor,
            negative,
        };
        self.push(chain(sine, first + 1, false), None);
        self.push(chain(cosine, first, negative), None);
        self.calls.insert((sine, argument), first);
        self.calls.insert((cosine, argument), first + 1);
        if wanted == sine { first } else { first + 1 }
    }

    /// `g·w′ = ±u′`.
    fn chain_quotient(
        &mut self,
        function: Function,
        argument: Slot,
        divisor: Slot,
        negative: bool,
    ) -> Slot {
        let slope = self.slope(argument);
        self.with_slope(Operation::ChainQuotient {
            function,
            argument,
            slope,
            divisor,
            negative,
        })
    }
}

/// Sub-expressions that must be flattened first.
fn children(expression: &Expr) -> Vec<Expr> {
    match expression.node() {
        Node::Number(_) | Node::Symbol(_) => Vec::new(),
        Node::Call(_, argument) => vec![argument.clone()],
        Node::Power(base, exponent) => vec![base.clone(), exponent.clone()],
        Node::Product(factors) => factors
            .iter()
            .map(|factor| divisor(factor).unwrap_or_else(|| factor.clone()))
            .collect(),
        Node::Sum(terms) => terms.clone(),
    }
}

/// Several constants as one.
fn combined(mut constants: Vec<Expr>, join: fn(Vec<Expr>) -> Node) -> Option<Expr> {
    if constants.len() > 1 {
        return Some(Expr::raw(join(constants)));
    }
    constants.pop()
}
