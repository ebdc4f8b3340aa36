//! sinh, cosh, tanh, coth, sech, csch.
//!
//! Derivatives: DLMF 4.34.1–4.34.6 (<https://dlmf.nist.gov/4.34>).

use super::{Definition, Domain, Function, Parity, argument_of, at_zero, call};

pub(super) const SINH: Definition = Definition {
    name: "sinh",
    spellings: &["sh"],
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Cosh, u),
    fold: |u| at_zero(u, 0).or_else(|| argument_of(u, Function::Arsinh).cloned()),
};

pub(super) const COSH: Definition = Definition {
    name: "cosh",
    spellings: &["ch"],
    parity: Parity::Even,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sinh, u),
    fold: |u| at_zero(u, 1).or_else(|| argument_of(u, Function::Arcosh).cloned()),
};

pub(super) const TANH: Definition = Definition {
    name: "tanh",
    spellings: &["th"],
    parity: Parity::Odd,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sech, u).square(),
    fold: |u| at_zero(u, 0).or_else(|| argument_of(u, Function::Artanh).cloned()),
};

pub(super) const COTH: Definition = Definition {
    name: "coth",
    spellings: &["cth"],
    parity: Parity::Odd,
    domain: Domain::NotZero,
    derivative: |u| call(Function::Csch, u).square().neg(),
    fold: |_| None,
};

pub(super) const SECH: Definition = Definition {
    name: "sech",
    spellings: &[],
    parity: Parity::Even,
    domain: Domain::Everywhere,
    derivative: |u| call(Function::Sech, u).mul(&call(Function::Tanh, u)).neg(),
    fold: |u| at_zero(u, 1),
};

pub(super) const CSCH: Definition = Definition {
    name: "csch",
    spellings: &["cosech"],
    parity: Parity::Odd,
    domain: Domain::NotZero,
    derivative: |u| call(Function::Csch, u).mul(&call(Function::Coth, u)).neg(),
    fold: |_| None,
};
