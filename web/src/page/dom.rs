//! The few things the page does with elements. Nothing here fails: an element that is not there is
//! left alone.

use crate::patch::Place;
use std::cell::RefCell;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Document, Element, HtmlElement, HtmlInputElement, HtmlTextAreaElement, Window};

/// The window; only the page's own thread has one.
pub(super) fn window() -> Option<Window> {
    web_sys::window()
}

/// The document.
pub(super) fn document() -> Option<Document> {
    window()?.document()
}

/// The address's fragment with its `#`, or nothing.
pub(super) fn hash() -> String {
    window()
        .and_then(|window| window.location().hash().ok())
        .unwrap_or_default()
}

/// Milliseconds since the page began.
pub(super) fn now() -> f64 {
    window()
        .and_then(|window| window.performance())
        .map_or(0.0, |performance| performance.now())
}

/// Calls a function with the next frame.
pub(super) fn next_frame(then: &JsValue) {
    if let Some(window) = window() {
        let _ = window.request_animation_frame(then.unchecked_ref());
    }
}

/// Calls a function as soon as the browser has done what is due.
pub(super) fn soon(then: &JsValue) {
    if let Some(window) = window() {
        let _ = window.set_timeout_with_callback(then.unchecked_ref());
    }
}

/// The element with this id.
pub(super) fn by_id(id: &str) -> Option<Element> {
    document()?.get_element_by_id(id)
}

/// The element with this id, as what it is.
pub(super) fn by_id_as<T: JsCast>(id: &str) -> Option<T> {
    by_id(id)?.dyn_into().ok()
}

/// Every element that a selector finds.
pub(super) fn all(selector: &str) -> Vec<Element> {
    let Some(list) = document().and_then(|document| document.query_selector_all(selector).ok())
    else {
        return Vec::new();
    };
    (0..list.length())
        .filter_map(|index| list.item(index)?.dyn_into().ok())
        .collect()
}

thread_local! {
    /// What was put into elements, by their ids: reading it from the page takes as long as writing
    /// it, and browsers write markup in a way of their own.
    static PUT: RefCell<Vec<(String, String)>> = const { RefCell::new(Vec::new()) };
}

/// Puts markup into an element, unless it was put there already. Nothing else changes it then.
pub(super) fn set_html(id: &str, html: &str) {
    let Some(element) = by_id(id) else { return };
    let new = PUT.with_borrow_mut(|put| {
        if let Some((_, last)) = put.iter_mut().find(|(known, _)| known == id) {
            let new = last != html;
            if new {
                html.clone_into(last);
            }
            new
        } else {
            put.push((id.to_owned(), html.to_owned()));
            true
        }
    });
    if new {
        element.set_inner_html(html);
    }
}

/// Puts text into an element, unless it is there already (a repeated text would be read out again).
pub(super) fn set_text(id: &str, text: &str) {
    if let Some(element) = by_id(id)
        && element.text_content().as_deref() != Some(text)
    {
        element.set_text_content(Some(text));
    }
}

/// Shows or hides an element.
pub(super) fn set_hidden(id: &str, hidden: bool) {
    if let Some(element) = by_id_as::<HtmlElement>(id)
        && element.hidden() != hidden
    {
        element.set_hidden(hidden);
    }
}

/// An attribute of an element.
pub(super) fn set_attribute(element: &Element, name: &str, value: &str) {
    if element.get_attribute(name).as_deref() != Some(value) {
        // Only an invalid name could fail, and the names are ours.
        let _ = element.set_attribute(name, value);
    }
}

/// An attribute of the body, where the style sheet reads the state.
pub(super) fn set_body(name: &str, value: &str) {
    if let Some(body) = document().and_then(|document| document.body()) {
        set_attribute(&body, name, value);
    }
}

/// A style property, set through the object model (a content-security policy may forbid inline
/// styles).
pub(super) fn set_style(element: &HtmlElement, name: &str, value: &str) {
    let _ = element.style().set_property(name, value);
}

/// A text field's text: of one line, or of as many as there are equations.
pub(super) fn set_value(id: &str, value: &str) {
    let Some(element) = by_id(id) else { return };
    if let Some(field) = element.dyn_ref::<HtmlInputElement>() {
        if field.value() != value {
            field.set_value(value);
        }
    } else if let Some(field) = element.dyn_ref::<HtmlTextAreaElement>()
        && self::value(&element) != value
    {
        field.set_value(value);
        fit(field);
    }
}

/// What stands in a text field; one of several lines makes room for all of them.
pub(super) fn value(element: &Element) -> String {
    if let Some(field) = element.dyn_ref::<HtmlTextAreaElement>() {
        fit(field);
        return field.value();
    }
    let field = element.dyn_ref::<HtmlInputElement>();
    field.map(HtmlInputElement::value).unwrap_or_default()
}

fn fit(field: &HtmlTextAreaElement) {
    let lines = field.value().matches('\n').count().saturating_add(1);
    let rows = u32::try_from(lines.min(MOST_LINES)).unwrap_or(1);
    if field.rows() != rows {
        field.set_rows(rows);
    }
}

/// More lines are scrolled.
const MOST_LINES: usize = 8;

/// The nearest ancestor (or the element itself) that a selector finds.
pub(super) fn closest(target: &JsValue, selector: &str) -> Option<Element> {
    let element = target.dyn_ref::<Element>()?;
    element.closest(selector).ok().flatten()
}

impl Place for Element {
    fn first(&self) -> Option<Self> {
        self.first_element_child()
    }
    fn next(&self) -> Option<Self> {
        self.next_element_sibling()
    }
    fn insert(&self, before: Option<&Self>, html: &str) -> Option<Self> {
        if let Some(before) = before {
            before.insert_adjacent_html("beforebegin", html).ok()?;
            before.previous_element_sibling()
        } else {
            self.insert_adjacent_html("beforeend", html).ok()?;
            self.last_element_child()
        }
    }
    fn remove(&self) {
        Element::remove(self);
    }
    fn set_html(&self, html: &str) {
        self.set_inner_html(html);
    }
    fn set(&self, name: &str, value: Option<&str>) {
        // Only an invalid name could fail, and the names are ours.
        let _ = match value {
            Some(value) => self.set_attribute(name, value),
            None => self.remove_attribute(name),
        };
    }
}
