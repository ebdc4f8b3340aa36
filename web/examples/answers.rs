//! What each answer costs, stage by stage: reads address fragments (as behind `#` in the page's
//! address), one a line, answers each as the page's worker does, and prints one JSON line for each
//! with the processor time in milliseconds, the allocations and the kilobytes of every stage, and
//! the bytes of both replies. Allocations are counted, so they are the same on every run: nearly
//! everything the solver does makes an expression, a number or a piece of text.
//!
//! `answers --examples DEGREE` prints the fragments of the page's examples instead.
#![allow(
    unsafe_code,
    reason = "an allocator that counts must implement an unsafe trait"
)]

use std::alloc::{GlobalAlloc, Layout, System};
use std::io::{BufRead, Write};
use std::sync::atomic::{AtomicU64, Ordering};

use solver::budget::Budget;
use solver::worksheet::{Stage, complete, export, prepare};
use web::address;
use web::examples::EXAMPLES;
use web::inputs::Inputs;
use web::protocol::Reply;
use web::{sheet, wire};

struct Counting;

static CALLS: AtomicU64 = AtomicU64::new(0);
static BYTES: AtomicU64 = AtomicU64::new(0);

// SAFETY: everything is passed on to the system's allocator as it is.
unsafe impl GlobalAlloc for Counting {
    unsafe fn alloc(&self, layout: Layout) -> *mut u8 {
        CALLS.fetch_add(1, Ordering::Relaxed);
        BYTES.fetch_add(layout.size() as u64, Ordering::Relaxed);
        unsafe { System.alloc(layout) }
    }

    unsafe fn dealloc(&self, pointer: *mut u8, layout: Layout) {
        unsafe { System.dealloc(pointer, layout) }
    }
}

#[global_allocator]
static ALLOCATOR: Counting = Counting;

/// Names of the stages, in order.
const STAGES: [&str; 10] = [
    "reading",
    "series",
    "derivation",
    "residual",
    "document",
    "sheet",
    "reference",
    "plot",
    "drawing",
    "export",
];

/// Adds up what was used since the last stage began.
struct Meter {
    stage: usize,
    since: (f64, (u64, u64)),
    used: [(f64, u64, u64); STAGES.len()],
}

impl Meter {
    fn new() -> Self {
        Self {
            stage: 0,
            since: (processor_time(), allocated()),
            used: [(0.0, 0, 0); STAGES.len()],
        }
    }

    /// The stage that was running ends, another begins. Asking for the time allocates, too, more
    /// or less as the system's answer is longer or shorter; that is counted for no stage.
    fn enter(&mut self, name: &str) {
        let (calls, bytes) = allocated();
        let time = processor_time();
        if let Some(used) = self.used.get_mut(self.stage) {
            used.0 += time - self.since.0;
            used.1 += calls - self.since.1.0;
            used.2 += bytes - self.since.1.1;
        }
        self.since = (time, allocated());
        self.stage = STAGES.iter().position(|stage| *stage == name).unwrap_or(0);
    }
}

/// Calls of the allocator and bytes asked for, so far.
fn allocated() -> (u64, u64) {
    (CALLS.load(Ordering::Relaxed), BYTES.load(Ordering::Relaxed))
}

/// Milliseconds of processor time of this thread so far (Linux; elsewhere always 0).
fn processor_time() -> f64 {
    // The system brings its account up to date when a thread makes way for others, else a few
    // hundred times a second.
    std::thread::yield_now();
    std::fs::read_to_string("/proc/thread-self/schedstat")
        .ok()
        .and_then(|text| text.split(' ').next()?.parse::<f64>().ok())
        .map_or(0.0, |nanoseconds| nanoseconds / 1e6)
}

fn main() -> std::io::Result<()> {
    let mut out = std::io::stdout().lock();
    if let (Some("--examples"), Some(degree)) =
        (std::env::args().nth(1).as_deref(), std::env::args().nth(2))
    {
        for example in EXAMPLES {
            let inputs = Inputs {
                degree: degree.clone(),
                ..example.inputs()
            };
            writeln!(out, "{}", address::encode(&inputs))?;
        }
        return Ok(());
    }
    for line in std::io::stdin().lock().lines() {
        writeln!(out, "{}", measured(&line?))?;
    }
    Ok(())
}

/// Answers one question; the JSON line.
fn measured(fragment: &str) -> String {
    let mut meter = Meter::new();
    let request = address::decode(fragment).unwrap_or_default().request();
    let mut progress = |stage: Stage| {
        meter.enter(match stage {
            Stage::Reading => "reading",
            Stage::Series => "series",
            Stage::Derivation => "derivation",
            Stage::Residual => "residual",
            Stage::Document => "document",
            Stage::Reference(_) => "reference",
            Stage::Plot => "plot",
        });
        true
    };
    let prepared = prepare(&request, &Budget::PAGE, &mut progress);
    meter.enter("sheet");
    let first = wire::to_bytes(&Reply::Ledger(Box::new(sheet::sheet(1, &prepared)))).len();
    let mut progress = |stage: Stage| {
        meter.enter(if stage == Stage::Plot {
            "plot"
        } else {
            "reference"
        });
        true
    };
    let whole = complete(prepared, &Budget::PAGE, &mut progress);
    meter.enter("drawing");
    let second = wire::to_bytes(&Reply::Picture(Box::new(sheet::drawing(1, &whole)))).len();
    // Only for those who ask for the data.
    meter.enter("export");
    std::hint::black_box(export::json(&whole));
    meter.enter("reading");
    let list = |value: &dyn Fn(&(f64, u64, u64)) -> String| {
        STAGES
            .iter()
            .zip(&meter.used)
            .map(|(stage, used)| format!("\"{stage}\":{}", value(used)))
            .collect::<Vec<_>>()
            .join(",")
    };
    format!(
        "{{\"ms\":{{{}}},\"allocations\":{{{}}},\"kilobytes\":{{{}}},\"replies\":[{first},{second}]}}",
        list(&|used| format!("{:.3}", used.0)),
        list(&|used| used.1.to_string()),
        list(&|used| (used.2 / 1024).to_string()),
    )
}
