//! Patches the ledger: only rows that changed are replaced, and a long ledger comes in slices, so
//! that no frame is held up.

use super::{dom, send};
use crate::protocol::RowMarkup;
use crate::state::Message;
use std::cell::RefCell;
use wasm_bindgen::JsCast;
use wasm_bindgen::closure::Closure;
use web_sys::Element;

/// Milliseconds of one frame that may be spent on making rows; laying them out takes the frame
/// about twice as long again.
const SLICE: f64 = 2.5;

#[derive(Default)]
struct Ledger {
    /// What is on the page.
    shown: Vec<(RowMarkup, Element)>,
    /// What is to be on the page.
    wanted: Vec<RowMarkup>,
    /// How many of `wanted` are done.
    done: usize,
    /// Is the next slice on its way?
    running: bool,
}

thread_local! {
    static LEDGER: RefCell<Ledger> = RefCell::new(Ledger::default());
}

/// Begins to bring these rows onto the page.
pub(super) fn show(rows: &[RowMarkup]) {
    let running = LEDGER.with_borrow_mut(|ledger| {
        ledger.wanted = rows.to_vec();
        ledger.done = 0;
        std::mem::replace(&mut ledger.running, true)
    });
    if !running {
        slice();
    }
}

fn slice() {
    let finished = LEDGER.with_borrow_mut(|ledger| {
        let Some(list) = dom::by_id("rows") else {
            return true;
        };
        if ledger.shown.is_empty() {
            ledger.shown = came_with_the_page();
        }
        let until = dom::now() + SLICE;
        while ledger.done < ledger.wanted.len() && dom::now() < until {
            ledger.step(&list);
        }
        let finished = ledger.done >= ledger.wanted.len();
        if finished {
            for (_, element) in ledger
                .shown
                .split_off(ledger.wanted.len().min(ledger.shown.len()))
            {
                element.remove();
            }
        }
        finished
    });
    // What follows the last rows gets a frame of its own too.
    let next = if finished {
        Closure::once_into_js(finish)
    } else {
        Closure::once_into_js(slice)
    };
    dom::next_frame(&next);
}

/// The rows of the example that the page came with, so that they are changed in their places.
fn came_with_the_page() -> Vec<(RowMarkup, Element)> {
    dom::all("#rows > [data-key]")
        .into_iter()
        .map(|element| {
            let attribute = |name| element.get_attribute(name);
            let row = RowMarkup {
                key: attribute("data-key").unwrap_or_default(),
                class: element.class_name(),
                degree: attribute("data-degree").and_then(|degree| degree.parse().ok()),
                html: element.inner_html(),
            };
            (row, element)
        })
        .collect()
}

/// The last rows are on the page, unless others are wanted by now.
fn finish() {
    let finished = LEDGER.with_borrow_mut(|ledger| {
        let finished = ledger.done >= ledger.wanted.len();
        ledger.running = !finished;
        finished
    });
    if finished {
        send(Message::Painted);
    } else {
        slice();
    }
}

impl Ledger {
    fn step(&mut self, list: &Element) {
        let at = self.done;
        self.done += 1;
        let Some(wanted) = self.wanted.get(at).cloned() else {
            return;
        };
        // A row further down that is wanted here: what stands between has gone.
        let found = self
            .shown
            .iter()
            .skip(at)
            .position(|(row, _)| row.key == wanted.key)
            .map(|offset| at + offset);
        if let Some(place) = found {
            for (_, element) in self.shown.splice(at..place, []) {
                element.remove();
            }
            if let Some((row, element)) = self.shown.get_mut(at)
                && *row != wanted
            {
                fill(element, &wanted);
                *row = wanted;
            }
        } else {
            let Some(element) =
                dom::document().and_then(|document| document.create_element("div").ok())
            else {
                return;
            };
            fill(&element, &wanted);
            let before = self.shown.get(at).map(|(_, next)| next.unchecked_ref());
            let _ = list.insert_before(&element, before);
            self.shown
                .insert(at.min(self.shown.len()), (wanted, element));
        }
    }
}

fn fill(element: &Element, row: &RowMarkup) {
    dom::set_attribute(element, "class", &row.class);
    dom::set_attribute(element, "data-key", &row.key);
    match row.degree {
        Some(degree) => dom::set_attribute(element, "data-degree", &degree.to_string()),
        None => {
            let _ = element.remove_attribute("data-degree");
        }
    }
    element.set_inner_html(&row.html);
}
