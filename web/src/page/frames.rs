//! What takes the browser long (rows, strip, pictures) is done a little in each frame, so that
//! typing is never held up: first the ledger, then the strip, then what follows them, then the
//! pictures, each in a frame of its own.

use super::pictures;
use super::{dom, effects, send, with_state};
use crate::figure::Kind;
use crate::markup::{self, Content, Markup};
use crate::patch::{Allowance, patch, patch_seen};
use crate::state::Message;
use std::cell::RefCell;
use std::ops::Range;
use wasm_bindgen::closure::Closure;

/// What a frame may change at most, in the unit of [`Markup::cost`]: so much is laid out and
/// painted within a frame of 16 ms where it was measured (`tests/bench/page.py`).
const MOST: usize = 2_000;
/// Slower machines change less in a frame, but not less than this.
const LEAST: usize = 1_000;
/// Milliseconds that a frame with its layout and painting should take.
const GOAL: f64 = 8.0;
/// Milliseconds that the first rows wait for the worker to be done with the numerical solution:
/// on a machine of two processors it would take the one that the browser paints with.
const PATIENCE: f64 = 60.0;

#[derive(Default)]
struct Region {
    shown: Vec<Markup>,
    wanted: Vec<Markup>,
}

impl Region {
    fn is_done(&mut self, id: &str, allowance: &mut Allowance) -> bool {
        dom::by_id(id).is_none_or(|place| patch(&place, &mut self.shown, &self.wanted, allowance))
    }
}

struct Frames {
    rows: Region,
    /// Which rows are in sight, or nearly so.
    seen: Range<usize>,
    strip: Region,
    reading: Region,
    far: Region,
    /// Is it known what came with the page?
    opened: bool,
    /// The end of the rows is still to be told.
    owed: bool,
    /// Pictures still to draw (the last element first), and the read-out after them.
    drawing: Vec<Drawn>,
    running: bool,
    /// Nothing is changed before this time.
    from: f64,
    allowance: usize,
}

thread_local! {
    static FRAMES: RefCell<Frames> = const {
        RefCell::new(Frames {
            rows: Region { shown: Vec::new(), wanted: Vec::new() },
            seen: 0..0,
            strip: Region { shown: Vec::new(), wanted: Vec::new() },
            reading: Region { shown: Vec::new(), wanted: Vec::new() },
            far: Region { shown: Vec::new(), wanted: Vec::new() },
            opened: false,
            owed: false,
            drawing: Vec::new(),
            running: false,
            from: 0.0,
            allowance: MOST,
        })
    };
}

/// What is drawn in a frame of its own.
#[derive(Clone, Copy)]
enum Drawn {
    Picture(Kind),
    ReadOut,
    Plane,
}

/// What a frame is for.
enum Job {
    Wait,
    Patched,
    Painted,
    Draw(Drawn),
    Nothing,
}

/// Begins to bring the ledger and the strip onto the page; soon, if the worker is still `asking`
/// for a processor.
pub(super) fn show(rows: &[Markup], strip: Option<&Vec<Markup>>, details: bool, asking: bool) {
    FRAMES.with_borrow_mut(|frames| {
        frames.from = if asking { dom::now() + PATIENCE } else { 0.0 };
        frames.rows.wanted = markup::at_depth(rows, details);
        frames.seen = in_sight();
        frames.strip.wanted = strip.cloned().unwrap_or_default();
        frames.owed = true;
        if !std::mem::replace(&mut frames.opened, true) {
            frames.open();
        }
    });
    run();
}

/// Begins to bring another strip onto the page, if it is another one.
pub(super) fn strip(strip: Option<&Vec<Markup>>) {
    let wanted = strip.map_or(&[][..], Vec::as_slice);
    let new = FRAMES.with_borrow_mut(|frames| {
        let new = frames.strip.wanted != wanted;
        if new {
            frames.strip.wanted = wanted.to_vec();
            frames.owed = true;
        }
        new
    });
    if new {
        run();
    }
}

/// Shows the reading, at once.
pub(super) fn read(formulas: Vec<Markup>) {
    FRAMES.with_borrow_mut(|frames| {
        if frames.reading.shown.is_empty() {
            frames.reading.shown = came_with_the_page("reading");
        }
        frames.reading.wanted = formulas;
        frames
            .reading
            .is_done("reading", &mut Allowance::new(usize::MAX));
    });
}

/// Begins to draw the pictures and what belongs to them; `far` are the rows of the section on how
/// far the polynomial may be trusted.
pub(super) fn draw(several: bool, far: Vec<Markup>) {
    FRAMES.with_borrow_mut(|frames| {
        frames.from = 0.0;
        frames.far.wanted = far;
        frames.drawing = vec![Drawn::Plane, Drawn::ReadOut];
        if several {
            frames.drawing.push(Drawn::Picture(Kind::Phase));
        }
        let first = [Kind::Errors, Kind::Curves].map(Drawn::Picture);
        frames.drawing.extend(first);
    });
    run();
}

fn run() {
    if !FRAMES.with_borrow_mut(|frames| std::mem::replace(&mut frames.running, true)) {
        dom::next_frame(&Closure::once_into_js(frame));
    }
}

fn frame() {
    let begun = dom::now();
    let job = FRAMES.with_borrow_mut(|frames| frames.next(begun));
    match job {
        Job::Wait | Job::Patched => {}
        Job::Painted => send(Message::Painted),
        Job::Draw(Drawn::Picture(kind)) => {
            with_state(|state| pictures::paint(state, kind));
        }
        Job::Draw(Drawn::ReadOut) => {
            with_state(effects::beside_the_plot);
        }
        Job::Draw(Drawn::Plane) => {
            with_state(pictures::plane);
        }
        Job::Nothing => {
            FRAMES.with_borrow_mut(|frames| frames.running = false);
            send(Message::Settled);
            return;
        }
    }
    // Layout and painting come between this and the next task.
    dom::soon(&Closure::once_into_js(move || {
        if matches!(job, Job::Patched) {
            let took = dom::now() - begun;
            FRAMES.with_borrow_mut(|frames| frames.adapt(took));
        }
        dom::next_frame(&Closure::once_into_js(frame));
    }));
}

impl Frames {
    fn next(&mut self, now: f64) -> Job {
        if now < self.from {
            return Job::Wait;
        }
        let mut allowance = Allowance::new(self.allowance);
        let Self { rows, seen, .. } = self;
        let rows = dom::by_id("rows").is_none_or(|place| {
            patch_seen(&place, &mut rows.shown, &rows.wanted, seen, &mut allowance)
        });
        let done = rows && self.strip.is_done("strip", &mut allowance);
        if allowance.used || !done {
            return Job::Patched;
        }
        if std::mem::take(&mut self.owed) {
            return Job::Painted;
        }
        if let Some(next) = self.drawing.pop() {
            return Job::Draw(next);
        }
        let done = self.far.is_done("far-rows", &mut allowance);
        if allowance.used || !done {
            Job::Patched
        } else {
            Job::Nothing
        }
    }

    /// The next frame does less when this one took too long, and a little more when not.
    fn adapt(&mut self, took: f64) {
        let next = if took > GOAL {
            self.allowance * 2 / 3
        } else {
            self.allowance * 9 / 8
        };
        self.allowance = next.clamp(LEAST, MOST);
    }

    /// The page came with the first example on it. When that is what is wanted there is nothing
    /// to do; otherwise its rows are changed in their places.
    fn open(&mut self) {
        let digest = dom::by_id("rows").and_then(|rows| rows.get_attribute("data-digest"));
        if digest == Some(markup::digest(&self.rows.wanted)) {
            self.rows.shown.clone_from(&self.rows.wanted);
            self.strip.shown.clone_from(&self.strip.wanted);
        } else {
            self.rows.shown = came_with_the_page("rows");
            self.strip.shown = came_with_the_page("strip");
        }
    }
}

/// Which rows are in sight, or so near that browsers lay them out (some do so for one and a half
/// windows before and behind).
fn in_sight() -> Range<usize> {
    let window = dom::window().and_then(|window| window.inner_height().ok()?.as_f64());
    let height = window.unwrap_or(1e4);
    let is_near = |row: &web_sys::Element| {
        let place = row.get_bounding_client_rect();
        place.bottom() > -1.5 * height && place.top() < 2.5 * height
    };
    let rows = dom::all("#rows > *");
    let first = rows.iter().position(is_near).unwrap_or(0);
    let count = rows
        .iter()
        .skip(first)
        .take_while(|row| is_near(row))
        .count();
    first..first + count + 1
}

/// The children of an element, with nothing known of their insides.
fn came_with_the_page(id: &str) -> Vec<Markup> {
    dom::all(&format!("#{id} > *"))
        .into_iter()
        .map(|element| {
            let made = Markup {
                tag: element.local_name(),
                attributes: Vec::new(),
                detail: false,
                content: Content::Html(String::new()),
            };
            ["class", "data-key", "data-degree", "tabindex"]
                .into_iter()
                .fold(made, |made, name| match element.get_attribute(name) {
                    Some(value) => made.with(name, value),
                    None => made,
                })
        })
        .collect()
}
