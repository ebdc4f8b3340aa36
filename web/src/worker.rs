//! The worker's side: a question in, two answers out.

use crate::address;
use crate::answer;
use crate::block;
use crate::handout::sheet;
use crate::protocol::Reply;
use crate::wire;
use js_sys::{Array, Uint8Array};
use std::cell::{Cell, RefCell};
use wasm_bindgen::JsCast;
use wasm_bindgen::prelude::wasm_bindgen;
use web_sys::DedicatedWorkerGlobalScope;

thread_local! {
    static LAST: Cell<answer::Last> = Cell::default();
    static KNOWN: RefCell<sheet::Known> = const { RefCell::new(sheet::Known::new()) };
}

/// Prepares the worker: a panic sends its message before the module dies.
#[wasm_bindgen]
pub fn prepare_worker() {
    std::panic::set_hook(Box::new(|panic| post(&Reply::Died(panic.to_string()))));
}

/// Answers a question (see [`crate::protocol::Ask`]) in two stages.
#[wasm_bindgen]
pub fn answer_question(sequence: u32, inputs: &str) {
    let inputs = address::decode(inputs).unwrap_or_default();
    let mut last = LAST.take();
    answer::answer(sequence, &inputs, &mut last, &mut |reply| post(&reply));
    LAST.set(last);
}

/// Answers with the worksheet's data.
#[wasm_bindgen]
pub fn answer_data(inputs: &str) {
    let inputs = address::decode(inputs).unwrap_or_default();
    post(&Reply::Data(answer::data(&inputs)));
}

/// A problem worked out as a block of HTML to read (see [`crate::block`]): the inputs as an address
/// fragment, the names of the parts to show, what begins every id, the heading (empty: what it is,
/// in words), its level, and a teacher's words for rows, if any (see [`block::in_words`]).
#[wasm_bindgen]
pub fn answer_block(
    inputs: &str,
    parts: &str,
    prefix: &str,
    heading: &str,
    level: u8,
    words: Option<String>,
) -> String {
    let inputs = address::decode(inputs).unwrap_or_default();
    let frame = block::Frame {
        prefix,
        heading,
        level,
    };
    let words = words.unwrap_or_default();
    block::in_words(inputs, &block::parts(parts), frame, &words)
}

/// A sheet to hand out, after a change (see [`sheet::show`]).
#[wasm_bindgen]
pub fn hand_out(text: &str, settings: &str, change: &str) -> Vec<String> {
    KNOWN.with_borrow_mut(|known| sheet::show(text, settings, change, known))
}

/// The same as a file (see [`sheet::download`]).
#[wasm_bindgen]
pub fn hand_out_as(text: &str, settings: &str, format: &str) -> String {
    KNOWN.with_borrow_mut(|known| sheet::download(text, settings, format, known))
}

fn post(reply: &Reply) {
    let Ok(scope) = js_sys::global().dyn_into::<DedicatedWorkerGlobalScope>() else {
        return;
    };
    let bytes = Uint8Array::from(wire::to_bytes(reply).as_slice());
    // The block changes hands; it is not copied again.
    let _ = scope.post_message_with_transfer(&bytes, &Array::of1(&bytes.buffer()));
}
