//! Where a term comes from, and what becomes of it: lit while it is pointed at or focused.

use super::dom;
use std::fmt::Write;
use wasm_bindgen::JsValue;

/// Lights the term at the target, its sources, and what it becomes.
pub(super) fn on(target: &JsValue) {
    let Some(term) = dom::closest(target, "[data-term]") else {
        return;
    };
    off();
    let id = term.get_attribute("data-term").unwrap_or_default();
    let sources = term.get_attribute("data-from").unwrap_or_default();
    let mut selector = format!("[data-term=\"{id}\"],[data-from~=\"{id}\"]");
    for source in sources.split_whitespace() {
        let _ = write!(selector, ",[data-term=\"{source}\"]");
    }
    for element in dom::all(&selector) {
        let _ = element.class_list().add_1("lit");
    }
}

/// The pointer has left: what is focused stays lit.
pub(super) fn rest() {
    off();
    if let Some(focused) = dom::document().and_then(|document| document.active_element()) {
        on(focused.as_ref());
    }
}

/// Puts them out.
pub(super) fn off() {
    for element in dom::all(".lit") {
        let _ = element.class_list().remove_1("lit");
    }
}
