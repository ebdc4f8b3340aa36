//! Events of the page turned into messages. Listeners sit on the document; what an event means is
//! read from the element it happened to.

use super::{dom, lights, pictures, present, send};
use crate::inputs::Choice;
use crate::present::Step;
use crate::share;
use crate::state::{CopyForm, File, Message, TextField};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{
    Element, Event, EventTarget, HtmlElement, HtmlInputElement, HtmlSelectElement, KeyboardEvent,
    PointerEvent,
};

/// Begins to listen.
pub(super) fn listen() {
    let Some(document) = dom::document() else {
        return;
    };
    for name in [
        "input",
        "change",
        "click",
        "keydown",
        "pointermove",
        "pointerover",
        "pointerout",
        "focusin",
        "focusout",
    ] {
        on(&document, name, false, heard);
    }
    // These don't bubble.
    on(&document, "scroll", true, scrolled);
    on(&document, "toggle", true, |_| super::refresh_table());
    let Some(window) = dom::window() else { return };
    on(&window, "hashchange", false, |_| {
        super::forget_draft();
        let hash = dom::hash();
        // A packed one is unpacked first.
        if !share::is_packed(&hash) {
            send(Message::Address(hash));
        }
    });
    on(&window, "beforeunload", false, |_| send(Message::Left));
    // Another density changes no element's size, but the pictures' pixels.
    on(&window, "resize", false, |_| super::redraw());
    // Rows out of sight are not laid out; paper has no out of sight.
    on(&window, "beforeprint", false, |_| {
        dom::set_body("data-print", "yes");
        super::draw_for_paper();
    });
    on(&window, "afterprint", false, |_| {
        dom::set_body("data-print", "no");
        dom::set_html("paper", "");
    });
    if let Ok(Some(dark)) = window.match_media("(prefers-color-scheme: dark)") {
        on(&dark, "change", false, |_| super::redraw());
    }
    if let Ok(Some(print)) = window.match_media("print") {
        on(&print, "change", false, |_| super::redraw());
    }
}

/// The closure lives as long as the page.
fn on(target: &EventTarget, name: &str, capture: bool, then: fn(&Event)) {
    let closure = Closure::<dyn Fn(Event)>::new(move |event: Event| then(&event));
    let _ = target.add_event_listener_with_callback_and_bool(
        name,
        closure.as_ref().unchecked_ref(),
        capture,
    );
    closure.forget();
}

fn heard(event: &Event) {
    let Some(target) = event.target() else { return };
    let target: &JsValue = target.as_ref();
    let message = match event.type_().as_str() {
        "input" => input(target),
        "change" => change(target),
        "click" => click(target).or_else(|| present::click(event, target)),
        "keydown" => event
            .dyn_ref::<KeyboardEvent>()
            .and_then(|event| key(event, target)),
        "pointermove" => event
            .dyn_ref::<PointerEvent>()
            .and_then(|event| pointer(event, target)),
        "pointerover" | "focusin" => {
            lights::on(target);
            None
        }
        "pointerout" => {
            lights::rest();
            None
        }
        "focusout" => {
            lights::off();
            text_field(target).map(|_| Message::Left)
        }
        _ => None,
    };
    if let Some(message) = message {
        send(message);
    }
}

fn text_field(target: &JsValue) -> Option<(TextField, Element)> {
    let element: &Element = target.dyn_ref()?;
    let id = element.id();
    TextField::ALL
        .iter()
        .find(|(_, known)| *known == id)
        .map(|(field, _)| (*field, element.clone()))
}

fn input(target: &JsValue) -> Option<Message> {
    if let Some((field, element)) = text_field(target) {
        return Some(Message::Typed(field, dom::value(&element)));
    }
    let element: &HtmlInputElement = target.dyn_ref()?;
    if let Some(letter) = element.get_attribute("data-letter") {
        return Some(Message::Number(letter, element.value()));
    }
    (element.id() == "shown")
        .then(|| element.value().parse().ok().map(Message::Show))
        .flatten()
}

fn change(target: &JsValue) -> Option<Message> {
    if let Some(list) = target.dyn_ref::<HtmlSelectElement>() {
        return match list.id().as_str() {
            "examples" => list.value().parse().ok().map(Message::Example),
            "across" => Some(Message::Across(list.value())),
            "up" => Some(Message::Up(list.value())),
            "present-row" => list
                .value()
                .parse()
                .ok()
                .map(|row| Message::Present(Step::Row(row))),
            _ => None,
        };
    }
    let element: &HtmlInputElement = target.dyn_ref()?;
    if element.id() == "present-ask" {
        return Some(Message::Present(Step::Ask));
    }
    match element.name().as_str() {
        "route" => Choice::parse(&element.value()).map(Message::Route),
        "depth" => Choice::parse(&element.value()).map(Message::Depth),
        "figures" => Choice::parse(&element.value()).map(Message::Figures),
        "digits" => Choice::parse(&element.value()).map(Message::Digits),
        "unknown" => Some(Message::Unknown(element.value())),
        _ => None,
    }
}

fn click(target: &JsValue) -> Option<Message> {
    // A shortcut of the pointer; by keyboard the slider and the rows' buttons do the same.
    if let Some(term) = dom::closest(target, "#strip [data-degree]") {
        return term
            .get_attribute("data-degree")?
            .parse()
            .ok()
            .map(Message::Show);
    }
    if let Some(link) = dom::closest(target, "#hand-out") {
        // The link is followed after this: with what is in the fields now.
        super::with_state(|state| {
            let fragment = crate::address::encode(&state.inputs);
            dom::set_attribute(&link, "href", &format!("handout.html#{fragment}"));
        });
        return None;
    }
    let button = dom::closest(target, "button")?;
    if let Some(degree) = button.get_attribute("data-show") {
        return degree.parse().ok().map(Message::Show);
    }
    if let Some(place) = button.get_attribute("data-repair") {
        let (note, repair) = place.split_once(' ')?;
        return Some(Message::Repair(note.parse().ok()?, repair.parse().ok()?));
    }
    match button.id().as_str() {
        "stop" => Some(Message::Stop),
        "recenter" => Some(Message::Recenter),
        "copy-latex" => Some(Message::Copy(CopyForm::Latex)),
        "copy-mathml" => Some(Message::Copy(CopyForm::Mathml)),
        "copy-markdown" => Some(Message::Copy(CopyForm::Markdown)),
        "copy-plain" => Some(Message::Copy(CopyForm::Plain)),
        "keep-json" => Some(Message::Fetch),
        "keep-png" => Some(Message::Keep(File::Png)),
        "keep-svg" => Some(Message::Keep(File::Svg)),
        "keep-plane" => Some(Message::Keep(File::Plane)),
        "present-begin" => Some(Message::Present(Step::Begin)),
        "present-back" => Some(Message::Present(Step::Back)),
        "present-forward" => Some(Message::Present(Step::Forward)),
        "present-depth" => Some(Message::Present(Step::Depth)),
        "present-blank" => Some(Message::Present(Step::Blank)),
        "present-leave" => Some(Message::Present(Step::Leave)),
        "present-full" => {
            present::full_screen();
            None
        }
        _ => None,
    }
}

fn key(event: &KeyboardEvent, target: &JsValue) -> Option<Message> {
    if event.ctrl_key() || event.meta_key() || event.alt_key() {
        return None;
    }
    if let Some(step) = present::key(event, target) {
        return Some(step);
    }
    if dom::closest(target, "canvas").is_some() {
        let by = match event.key().as_str() {
            "ArrowLeft" | "ArrowDown" => -1,
            "ArrowRight" | "ArrowUp" => 1,
            "PageUp" => 10,
            "PageDown" => -10,
            "Home" => isize::MIN / 2,
            "End" => isize::MAX / 2,
            _ => return None,
        };
        event.prevent_default();
        return Some(Message::Step(by));
    }
    let term = dom::closest(target, "[data-term]")?;
    let forward = match event.key().as_str() {
        "ArrowLeft" => false,
        "ArrowRight" => true,
        _ => return None,
    };
    event.prevent_default();
    neighbour(&term, forward);
    None
}

/// Moves the focus to the next or previous term of the same row.
fn neighbour(term: &Element, forward: bool) -> Option<()> {
    let row = term.closest("[data-key]").ok()??;
    let terms = row.query_selector_all("[data-term]").ok()?;
    let terms: Vec<HtmlElement> = (0..terms.length())
        .filter_map(|index| terms.item(index)?.dyn_into().ok())
        .collect();
    let at = terms.iter().position(|one| one.is_same_node(Some(term)))?;
    let next = terms.get(if forward { at + 1 } else { at.checked_sub(1)? })?;
    next.focus().ok()
}

fn pointer(event: &PointerEvent, target: &JsValue) -> Option<Message> {
    let canvas = dom::closest(target, "canvas")?;
    let room = canvas.get_bounding_client_rect();
    let place = (
        f64::from(event.client_x()) - room.left(),
        f64::from(event.client_y()) - room.top(),
    );
    pictures::row_at(&canvas.id(), place).map(Message::Cursor)
}

/// The marks under a field follow its text.
fn scrolled(event: &Event) {
    let Some((_, field)) = event
        .target()
        .and_then(|target| text_field(target.as_ref()))
    else {
        return;
    };
    if let Some(under) = dom::by_id(&format!("{}-marks", field.id())) {
        under.set_scroll_left(field.scroll_left());
    }
}
