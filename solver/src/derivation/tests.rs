//! Worked rows, the checker's eyes, random equations.

mod checker;
mod random;
mod rows;
mod standing;
mod steps;
mod support;
mod systems;
