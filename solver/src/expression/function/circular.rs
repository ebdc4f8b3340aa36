//! sin, cos, tan, cot, sec, csc.
//!
//! Derivatives: DLMF 4.20.1–4.20.6 (<https://dlmf.nist.gov/4.20>).

use super::{Definition, Domain, Function, Parity, argument_of, at_zero, call};

pub(super) const SIN: Definition = Definition {
    name: "sin",
    spellings: &[],
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Cos, u),
    fold: |u| at_zero(u, 0).or_else(|| argument_of(u, Function::Arcsin).cloned()),
};

pub(super) const COS: Definition = Definition {
    name: "cos",
    spellings: &[],
    parity: Parity::Even,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sin, u).neg(),
    fold: |u| at_zero(u, 1).or_else(|| argument_of(u, Function::Arccos).cloned()),
};

pub(super) const TAN: Definition = Definition {
    name: "tan",
    spellings: &["tg"],
    parity: Parity::Odd,
    domain: Domain::CosineNotZero,
    derivative: |u| call(Function::Sec, u).square(),
    fold: |u| at_zero(u, 0).or_else(|| argument_of(u, Function::Arctan).cloned()),
};

pub(super) const COT: Definition = Definition {
    name: "cot",
    spellings: &["cotan", "ctg"],
    parity: Parity::Odd,
    domain: Domain::SineNotZero,
    derivative: |u| call(Function::Csc, u).square().neg(),
    fold: |u| argument_of(u, Function::Arccot).cloned(),
};

pub(super) const SEC: Definition = Definition {
    name: "sec",
    spellings: &[],
    parity: Parity::Even,
    domain: Domain::CosineNotZero,
    derivative: |u| call(Function::Sec, u).mul(&call(Function::Tan, u)),
    fold: |u| at_zero(u, 1),
};

pub(super) const CSC: Definition = Definition {
    name: "csc",
    spellings: &["cosec"],
    parity: Parity::Odd,
    domain: Domain::SineNotZero,
    derivative: |u| call(Function::Csc, u).mul(&call(Function::Cot, u)).neg(),
    fold: |_| None,
};
