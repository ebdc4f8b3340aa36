//! Tests of the normal form and of closed constants.

mod constants;
mod factored;
mod normal_form;
mod properties;
mod queries;
pub(crate) mod random;
