//! The page's behaviour: event → message → state → effects, one at a time.

mod dom;
mod effects;
mod events;
mod files;
mod frames;
mod lights;
mod link;
mod pictures;
mod present;

use crate::address;
use crate::state::{self, Message, State};
use std::cell::{Cell, RefCell};
use std::collections::VecDeque;
use wasm_bindgen::prelude::wasm_bindgen;
use wasm_bindgen::{JsCast, JsValue};

thread_local! {
    static STATE: RefCell<Option<State>> = const { RefCell::new(None) };
    static RUNNING: Cell<bool> = const { Cell::new(false) };
    static QUEUE: RefCell<VecDeque<Message>> = const { RefCell::new(VecDeque::new()) };
}

/// Where inputs are kept between visits.
const KEPT: &str = "ordinary-point";

/// Brings the page to life. `module` is the compiled WebAssembly module, for the worker, and
/// `make_worker` makes one, which waits for it.
#[wasm_bindgen]
pub fn start(module: JsValue, make_worker: js_sys::Function) {
    link::keep(module, make_worker);
    link::replace();
    let fragment = draft().unwrap_or_else(dom::hash);
    let (state, effects) = state::start(&fragment, kept().as_deref(), dom::now());
    STATE.with_borrow_mut(|kept| *kept = Some(state));
    events::listen();
    in_turn(|| run(effects));
    pictures::observe();
    warm_up_when_idle();
}

/// The worksheet as an address fragment, without `#`.
#[wasm_bindgen]
pub fn worksheet_address() -> String {
    with_state(|state| address::encode(&state.inputs)).unwrap_or_default()
}

/// Takes a message; one that comes while another is worked on (changing the page can raise events
/// at once) waits for its turn.
fn send(message: Message) {
    QUEUE.with_borrow_mut(|queue| queue.push_back(message));
    in_turn(|| {});
}

/// Does something with the state, then whatever messages that has raised.
fn in_turn(work: impl FnOnce()) {
    if RUNNING.replace(true) {
        return;
    }
    work();
    while let Some(message) = QUEUE.with_borrow_mut(VecDeque::pop_front) {
        let effects = STATE.with_borrow_mut(|state| {
            state
                .as_mut()
                .map(|state| state::update(state, message, dom::now()))
                .unwrap_or_default()
        });
        run(effects);
    }
    RUNNING.set(false);
}

fn run(effects: Vec<state::Effect>) {
    for effect in effects {
        with_state(|state| effects::run(state, &effect));
    }
}

/// Reads the state; `None` before the start.
fn with_state<T>(read: impl FnOnce(&State) -> T) -> Option<T> {
    STATE.with_borrow(|state| state.as_ref().map(read))
}

/// Draws again what is there: the room or the colors have changed.
fn redraw() {
    in_turn(|| {
        with_state(|state| {
            effects::run(state, &state::Effect::Plot);
            // Its dots lie over the pictures.
            effects::run(state, &state::Effect::Readout);
        });
    });
}

/// The table is made only while it is open.
fn refresh_table() {
    in_turn(|| {
        with_state(effects::table);
    });
}

/// Both pictures in strokes, for the printer.
fn draw_for_paper() {
    if let Some(svg) = with_state(pictures::for_paper).flatten() {
        dom::set_html("paper", &svg);
    }
}

/// What was kept; nothing where the browser refuses.
fn kept() -> Option<String> {
    dom::window()?.local_storage().ok()??.get_item(KEPT).ok()?
}

fn keep(inputs: &str) {
    if let Some(storage) = dom::window().and_then(|window| window.local_storage().ok().flatten()) {
        // A full or closed storage only means that nothing is kept.
        let _ = storage.set_item(KEPT, inputs);
    }
}

/// What was typed over the address that stands there, and had not come into it yet: a reload can
/// be faster than the address, and no event is sure to come before it.
fn draft() -> Option<String> {
    let kept = session()?.get_item(KEPT).ok()??;
    let (over, inputs) = kept.split_once('\n')?;
    (over == dom::hash()).then(|| inputs.to_owned())
}

fn keep_draft(inputs: &str) {
    if let Some(storage) = session() {
        let _ = storage.set_item(KEPT, &format!("{}\n{inputs}", dom::hash()));
    }
}

fn forget_draft() {
    if let Some(storage) = session() {
        let _ = storage.remove_item(KEPT);
    }
}

/// What this tab keeps.
fn session() -> Option<web_sys::Storage> {
    dom::window()?.session_storage().ok()?
}

/// Warms the drawing up when the browser has nothing else to do.
fn warm_up_when_idle() {
    let Some(window) = dom::window() else { return };
    let warm = wasm_bindgen::closure::Closure::once_into_js(pictures::warm_up);
    let warm: &js_sys::Function = warm.unchecked_ref();
    // Not every browser has idle callbacks.
    match js_sys::Reflect::get(&window, &"requestIdleCallback".into())
        .ok()
        .and_then(|found| found.dyn_into::<js_sys::Function>().ok())
    {
        Some(idle) => {
            let _ = idle.call1(&window, warm);
        }
        None => {
            let _ = window.set_timeout_with_callback_and_timeout_and_arguments_0(warm, 300);
        }
    }
}
