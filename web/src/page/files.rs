//! The clipboard and files to keep.

use super::{dom, pictures, send};
use crate::appearance::LIGHT;
use crate::far;
use crate::state::{File, Message, State};
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, HtmlElement, HtmlTextAreaElement, Url};

/// Puts a text on the clipboard; where the clipboard is closed to pages, by way of a selection.
pub(super) fn copy(text: &str) {
    let clipboard = dom::window().map(|window| window.navigator().clipboard());
    let Some(clipboard) = clipboard.filter(|clipboard| !JsValue::from(clipboard).is_undefined())
    else {
        send(Message::Copied(copy_by_selection(text)));
        return;
    };
    let worked = Closure::once(|_: JsValue| send(Message::Copied(true)));
    let kept = text.to_owned();
    let refused = Closure::once(move |_: JsValue| send(Message::Copied(copy_by_selection(&kept))));
    let _ = clipboard.write_text(text).then2(&worked, &refused);
    worked.forget();
    refused.forget();
}

fn copy_by_selection(text: &str) -> bool {
    let copied = || -> Option<bool> {
        let document = dom::document()?;
        let body = document.body()?;
        let area: HtmlTextAreaElement =
            document.create_element("textarea").ok()?.dyn_into().ok()?;
        let before = document.active_element();
        area.set_value(text);
        area.set_class_name("offstage");
        body.append_child(&area).ok()?;
        area.select();
        // Not in every browser's object model any more, hence called by name.
        let command = js_sys::Reflect::get(&document, &"execCommand".into()).ok()?;
        let done = command
            .dyn_ref::<js_sys::Function>()?
            .call1(&document, &"copy".into())
            .ok()?
            .as_bool();
        area.remove();
        if let Some(element) = before.and_then(|element| element.dyn_into::<HtmlElement>().ok()) {
            let _ = element.focus();
        }
        done
    };
    copied().unwrap_or(false)
}

/// Offers the worksheet's data for download.
pub(super) fn offer_data(json: &str) {
    offer_text(json, "application/json", "worksheet.json");
}

/// Offers a file for download.
pub(super) fn offer(state: &State, file: File) {
    match file {
        File::Plane => {
            let far = state.drawing.as_ref().map(|drawing| &drawing.far);
            let svg = far.map(|far| far::picture(far, &LIGHT)).unwrap_or_default();
            offer_text(&svg, "image/svg+xml", "plane.svg");
        }
        File::Svg => {
            if let Some(svg) = pictures::as_svg(state) {
                offer_text(&svg, "image/svg+xml", "plot.svg");
            }
        }
        File::Png => {
            if let Some(canvas) = pictures::as_canvas(state) {
                let made = Closure::once_into_js(|blob: JsValue| {
                    if let Some(blob) = blob.dyn_ref::<Blob>() {
                        offer_blob(blob, "plot.png");
                    }
                });
                let _ = canvas.to_blob(made.unchecked_ref());
            }
        }
    }
}

fn offer_text(text: &str, kind: &str, name: &str) {
    let parts = js_sys::Array::of1(&text.into());
    let options = BlobPropertyBag::new();
    options.set_type(kind);
    if let Ok(blob) = Blob::new_with_str_sequence_and_options(&parts, &options) {
        offer_blob(&blob, name);
    }
}

fn offer_blob(blob: &Blob, name: &str) {
    let offered = || -> Option<()> {
        let document = dom::document()?;
        let address = Url::create_object_url_with_blob(blob).ok()?;
        let link: HtmlAnchorElement = document.create_element("a").ok()?.dyn_into().ok()?;
        link.set_href(&address);
        link.set_download(name);
        link.click();
        // The download has begun only after this turn of the event loop.
        let forget = Closure::once_into_js(move || {
            let _ = Url::revoke_object_url(&address);
        });
        dom::window()?
            .set_timeout_with_callback_and_timeout_and_arguments_0(forget.unchecked_ref(), 10_000)
            .ok()?;
        Some(())
    };
    let _ = offered();
}
