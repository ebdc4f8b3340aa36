//! The worker at the other end.

use super::{dom, send};
use crate::protocol::{Ask, Reply};
use crate::state::Message;
use std::cell::RefCell;
use wasm_bindgen::closure::Closure;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{MessageEvent, Worker, WorkerOptions, WorkerType};

thread_local! {
    static WORKER: RefCell<Option<Worker>> = const { RefCell::new(None) };
    static MODULE: RefCell<JsValue> = const { RefCell::new(JsValue::UNDEFINED) };
}

/// Keeps the compiled module, so that a new worker starts without compiling again.
pub(super) fn keep_module(module: JsValue) {
    MODULE.with_borrow_mut(|kept| *kept = module);
}

/// Ends the worker, if there is one, and starts another.
pub(super) fn replace() {
    let options = WorkerOptions::new();
    options.set_type(WorkerType::Module);
    let made = Worker::new_with_options("worker.js", &options);
    WORKER.with_borrow_mut(|worker| {
        if let Some(old) = worker.take() {
            // What it has sent already is not heard any more.
            old.set_onmessage(None);
            old.terminate();
        }
        if let Ok(new) = made {
            let heard =
                Closure::<dyn Fn(MessageEvent)>::new(|event: MessageEvent| hear(event.data()));
            new.set_onmessage(Some(heard.as_ref().unchecked_ref()));
            heard.forget();
            let _ = MODULE.with_borrow(|module| new.post_message(module));
            *worker = Some(new);
        }
    });
}

/// Asks the worker.
pub(super) fn ask(ask: &Ask) {
    let Ok(question) = serde_wasm_bindgen::to_value(ask) else {
        return;
    };
    WORKER.with_borrow(|worker| {
        if let Some(worker) = worker {
            let _ = worker.post_message(&question);
        }
    });
}

fn hear(data: JsValue) {
    let message = match serde_wasm_bindgen::from_value::<Reply>(data) {
        Ok(Reply::Ledger(sheet)) => Message::Ledger(sheet),
        Ok(Reply::Picture(drawing)) => Message::Picture(drawing),
        Ok(Reply::Died(words)) => Message::Died(words),
        Err(error) => Message::Died(error.to_string()),
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
