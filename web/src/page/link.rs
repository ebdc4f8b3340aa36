//! The worker at the other end.

use super::{dom, send};
use crate::protocol::{Ask, Reply};
use crate::state::Message;
use crate::wire;
use js_sys::{Function, Uint8Array};
use std::cell::RefCell;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{MessageEvent, Worker};

thread_local! {
    static WORKER: RefCell<Option<Worker>> = const { RefCell::new(None) };
    static KEPT: RefCell<Option<(JsValue, Function)>> = const { RefCell::new(None) };
}

/// What is said when there is no worker.
const NOT_RUNNING: &str = "The part of the page that does the work could not be started. What you typed is kept; reloading the page may help.";

/// Keeps the compiled module, so that a new worker starts without compiling again, and what makes
/// a worker.
pub(super) fn keep(module: JsValue, make: Function) {
    KEPT.with_borrow_mut(|kept| *kept = Some((module, make)));
}

/// Ends the worker, if there is one, and starts another.
pub(super) fn replace() {
    let Some((module, make)) = KEPT.with_borrow(Clone::clone) else {
        return;
    };
    let made = make.call0(&JsValue::UNDEFINED);
    WORKER.with_borrow_mut(|worker| {
        if let Some(old) = worker.take() {
            // What it has sent already is not heard any more.
            old.set_onmessage(None);
            old.set_onerror(None);
            old.terminate();
        }
        let Some(new) = made.ok().and_then(|made| made.dyn_into::<Worker>().ok()) else {
            return;
        };
        let heard = Closure::<dyn Fn(MessageEvent)>::new(|event: MessageEvent| hear(&event.data()));
        new.set_onmessage(Some(heard.as_ref().unchecked_ref()));
        heard.forget();
        let failed = Closure::<dyn Fn()>::new(|| send(Message::Died(NOT_RUNNING.into())));
        new.set_onerror(Some(failed.as_ref().unchecked_ref()));
        failed.forget();
        let _ = new.post_message(&module);
        *worker = Some(new);
    });
}

/// Asks the worker.
pub(super) fn ask(ask: &Ask) {
    let Ok(question) = serde_wasm_bindgen::to_value(&(ask.sequence, &ask.inputs)) else {
        return;
    };
    post(&question);
}

/// Asks the worker for the data of these inputs.
pub(super) fn fetch(inputs: &str) {
    post(&inputs.into());
}

fn post(question: &JsValue) {
    let asked = WORKER.with_borrow(|worker| {
        worker
            .as_ref()
            .is_some_and(|worker| worker.post_message(question).is_ok())
    });
    if !asked {
        // A frame without an origin of its own may have no worker.
        send(Message::Died(NOT_RUNNING.into()));
    }
}

fn broken(words: &str) -> Message {
    Message::Died(format!(
        "This problem broke the program (a defect of ours, not of your input): {words}"
    ))
}

fn hear(data: &JsValue) {
    let reply = data
        .dyn_ref::<Uint8Array>()
        .and_then(|bytes| wire::from_bytes(&bytes.to_vec()));
    let message = match reply {
        Some(Reply::Ledger(sheet)) => Message::Ledger(sheet),
        Some(Reply::Picture(drawing)) => Message::Picture(drawing),
        Some(Reply::Data(json)) => Message::Data(json),
        Some(Reply::Died(words)) => broken(&words),
        // What the worker lacked; or words: what its script caught.
        None if let Some(lack) = data.dyn_ref::<js_sys::Error>() => {
            Message::Died(lack.message().into())
        }
        None => broken(&data.as_string().unwrap_or_default()),
    };
    send(message);
}

/// Reminds the page of something later.
pub(super) fn later(message: Message, milliseconds: f64) {
    let Some(window) = dom::window() else { return };
    let then = Closure::once_into_js(move || send(message));
    #[allow(
        clippy::cast_possible_truncation,
        reason = "a few hundred milliseconds"
    )]
    let wait = milliseconds.clamp(0.0, 60_000.0) as i32;
    let _ =
        window.set_timeout_with_callback_and_timeout_and_arguments_0(then.unchecked_ref(), wait);
}
