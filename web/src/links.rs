//! Packed links (see [`crate::share`]) for the scripts, which compress.

use crate::address;
use crate::file::ProblemBlock;
use crate::share;
use wasm_bindgen::JsValue;
use wasm_bindgen::prelude::wasm_bindgen;

/// The fragment of a compressed text.
#[wasm_bindgen]
pub fn write_link(compressed: &[u8]) -> String {
    share::write(compressed)
}

/// The compressed text of a fragment.
///
/// # Errors
/// What is wrong with the link, in words.
#[wasm_bindgen]
pub fn read_link(fragment: &str) -> Result<Vec<u8>, JsValue> {
    share::read(fragment).map_err(JsValue::from_str)
}

/// Is this a link to be unpacked?
#[wasm_bindgen]
pub fn is_link(fragment: &str) -> bool {
    share::is_packed(fragment)
}

/// The longest text to unpack, in bytes, and the longest link to offer.
#[wasm_bindgen]
pub fn link_limits() -> Vec<u32> {
    [share::LONGEST_TEXT, share::LONGEST_OFFERED]
        .map(|limit| u32::try_from(limit).unwrap_or(u32::MAX))
        .to_vec()
}

/// The worksheet of an address fragment as a worksheet file.
#[wasm_bindgen]
pub fn worksheet_file(fragment: &str) -> String {
    let block = ProblemBlock {
        inputs: address::decode(fragment).unwrap_or_default(),
        ..ProblemBlock::default()
    };
    block.write()
}

/// What is said about a link whose text is too long, or cannot be unpacked.
#[wasm_bindgen]
pub fn link_trouble(long: bool) -> String {
    (if long { share::TOO_LONG } else { share::BROKEN }).into()
}
