//! Exact rationals, and the kinds of software floating point the reference solution uses.

pub mod rational;

pub use rational::Rational;
