//! The presentation on the page: which row and line are on the screen is told by classes; the style
//! sheet does the rest.

use super::dom;
use crate::present::{self, Beside, Step, Stop};
use crate::state::{Message, State};
use crate::view;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Element, Event, HtmlInputElement, HtmlSelectElement, KeyboardEvent, MouseEvent};

/// Puts the state's place on the screen, or takes the presentation away.
pub(super) fn show(state: &State) {
    let here = present::place(state);
    let on = here.is_some();
    if let Some(root) = dom::document().and_then(|document| document.document_element()) {
        dom::set_attribute(&root, "data-present", if on { "yes" } else { "no" });
        dom::set_attribute(
            &root,
            "data-bare",
            if on && state.bare { "yes" } else { "no" },
        );
        dom::set_attribute(
            &root,
            "data-blank",
            if on && state.blank { "yes" } else { "no" },
        );
    }
    dom::set_hidden("presenting", !on);
    for old in dom::all(":is(#rows, #far-rows) :is(.now, .lends, .past, .at, .ahead)") {
        for class in ["now", "lends", "done", "past", "at", "ahead", "asking"] {
            let _ = old.class_list().remove_1(class);
        }
    }
    let stop = here.as_ref().and_then(|(at, all)| all.get(*at));
    let beside = match stop.map(|stop| present::beside(state, stop.row)) {
        Some(Beside::Plane) => "plane",
        Some(Beside::Plot) => "plot",
        Some(Beside::Ledger) | None => "no",
    };
    if let Some(root) = dom::document().and_then(|document| document.document_element()) {
        dom::set_attribute(&root, "data-far", beside);
    }
    let (Some((_, all)), Some(stop)) = (&here, stop) else {
        return;
    };
    let rows = dom::all(":is(#rows, #far-rows) > .row");
    if let Some(row) = rows.get(stop.row) {
        mark(row, *stop);
    }
    // A row that finds nothing new shows what the rows before it have found.
    let knows = |row: &&Element| {
        let margin = row.query_selector(".known > *").ok().flatten();
        margin.is_some()
    };
    let first = match beside {
        "no" => 0,
        _ => rows.len() - dom::all("#far-rows > .row").len(),
    };
    let until = rows.get(first..=stop.row).unwrap_or(&[]);
    if let Some(row) = until.iter().rev().find(knows) {
        let _ = row.class_list().add_1("lends");
        // All of it: there is room, and nobody can unfold it from the back row.
        if let Ok(Some(folded)) = row.query_selector(".known details") {
            dom::set_attribute(&folded, "open", "");
        }
    }
    controls(state, *stop, all.last().map_or(0, |last| last.row));
}

fn mark(row: &Element, stop: Stop) {
    let _ = row.class_list().add_1("now");
    let _ = row.class_list().toggle_with_force("done", stop.last);
    let Some(work) = row.query_selector(".work").ok().flatten() else {
        return;
    };
    let mut line = work.first_element_child();
    let mut number = 0;
    while let Some(element) = line {
        let classes = element.class_list();
        let place = match number.cmp(&stop.line) {
            std::cmp::Ordering::Less => "past",
            std::cmp::Ordering::Equal => "at",
            std::cmp::Ordering::Greater => "ahead",
        };
        let _ = classes.add_1(place);
        if place == "at" {
            let _ = classes.toggle_with_force("asking", stop.asking);
            element.scroll_into_view_with_bool(false);
        }
        number += 1;
        line = element.next_element_sibling();
    }
}

fn controls(state: &State, stop: Stop, last: usize) {
    dom::set_html("present-row", &view::row_names(&present::rows(state)));
    if let Some(list) = dom::by_id_as::<HtmlSelectElement>("present-row") {
        list.set_value(&stop.row.to_string());
    }
    dom::set_text(
        "present-place",
        &format!("row {} of {}", stop.row + 1, last + 1),
    );
    if let Some(ask) = dom::by_id_as::<HtmlInputElement>("present-ask") {
        ask.set_checked(state.inputs.ask);
    }
}

/// Is something presented?
pub(super) fn is_on() -> bool {
    let root = dom::document().and_then(|document| document.document_element());
    root.is_some_and(|root| root.get_attribute("data-present").as_deref() == Some("yes"))
}

/// How much larger than usual the type is in a room. Else nothing is asked of the browser, which
/// would have to bring its styles up to date for the answer.
pub(super) fn scale() -> f64 {
    if !is_on() {
        return 1.0;
    }
    let root = dom::document().and_then(|document| document.document_element());
    let size = dom::window().zip(root).and_then(|(window, root)| {
        let style = window.get_computed_style(&root).ok()??;
        let size = style.get_property_value("font-size").ok()?;
        Some(js_sys::parse_float(&size))
    });
    (size.unwrap_or(USUAL) / USUAL).clamp(1.0, 6.0)
}

/// Browsers' usual size of type.
const USUAL: f64 = 16.0;

/// Full screen, or back from it.
pub(super) fn full_screen() {
    let Some(document) = dom::document() else {
        return;
    };
    if document.fullscreen_element().is_some() {
        document.exit_fullscreen();
    } else if let Some(root) = document.document_element() {
        // Where the browser refuses, the window stays as it is.
        let _ = root.request_fullscreen();
    }
}

/// What a key means while something is presented; keys of a list or a field stay theirs.
pub(super) fn key(event: &KeyboardEvent, target: &JsValue) -> Option<Message> {
    if !is_on() {
        return None;
    }
    let key = event.key();
    let controls = if matches!(key.as_str(), " " | "Enter") {
        "select, button, summary, input, a"
    } else {
        "select, input:not([type=checkbox])"
    };
    if key != "Escape" && dom::closest(target, controls).is_some() {
        return None;
    }
    if matches!(key.as_str(), "f" | "F") {
        full_screen();
        return None;
    }
    let step = present::for_key(&key)?;
    event.prevent_default();
    Some(Message::Present(step))
}

/// What a click on the sheet means while it is presented: on, and in the left quarter back.
pub(super) fn click(event: &Event, target: &JsValue) -> Option<Message> {
    dom::closest(target, "html[data-present=yes] main")?;
    if dom::closest(target, "button, summary, a").is_some() {
        return None;
    }
    let wide = dom::window()?.inner_width().ok()?.as_f64()?;
    let at = f64::from(event.dyn_ref::<MouseEvent>()?.client_x());
    let step = if at < wide / 4.0 {
        Step::Back
    } else {
        Step::Forward
    };
    Some(Message::Present(step))
}
