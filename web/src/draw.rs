//! Drawing the plot data through plotters: the same strokes on the page's canvas and in the SVG
//! that can be kept.

pub mod clear;
#[cfg(test)]
mod crossing;
pub mod dashes;
pub mod fine;
pub mod inside;
pub mod labels;
pub mod layout;
pub mod phase;
pub mod picture;
pub mod plane;
mod proved;
pub mod selection;
pub mod svg;
