//! Exact rationals, and the kinds of software floating point the reference solution uses.

pub mod big_float;
pub mod convert;
pub mod decimal;
pub(crate) mod dot;
pub mod double_double;
pub mod factor;
pub mod gcd;
pub mod polynomial;
pub mod rational;
pub(crate) mod upward;

pub use big_float::BigFloat;
pub use convert::to_f64;
pub use double_double::DoubleDouble;
pub use polynomial::Polynomial;
pub use rational::Rational;
