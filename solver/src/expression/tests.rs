//! Tests of the normal form and of closed constants.

mod normal_form;
