//! Presenting: the ledger one line at a time, for a room. A stop is what one press of a key brings;
//! the place is a short text in the address, so that a reload or a second window shows the same.

use crate::inputs::{Depth, Inputs};
use crate::markup::{Content, Markup};
use crate::state::{Effect, State};

/// What the presenter asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Step {
    /// Begin with the ledger's first line.
    Begin,
    /// Back to the whole worksheet.
    Leave,
    /// The next stop.
    Forward,
    /// The stop before.
    Back,
    /// The first stop.
    First,
    /// The last stop.
    Last,
    /// The first stop of a row.
    Row(usize),
    /// The first stop of the row that finds a degree.
    Degree(usize),
    /// Hide what vanishes and what comes out until the room has been asked, or don't.
    Ask,
    /// A dark screen, or light again.
    Blank,
    /// The other depth of detail.
    Depth,
}

/// What is on the screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stop {
    /// Which row.
    pub row: usize,
    /// Which of its lines, counted as they are shown.
    pub line: usize,
    /// Are the values on it still hidden?
    pub asking: bool,
    /// Is it the row's last stop?
    pub last: bool,
}

/// The keys. Presenter remotes send Page Down and Page Up, and a full stop or a B for a dark screen
/// (common practice).
pub fn for_key(key: &str) -> Option<Step> {
    Some(match key {
        "ArrowRight" | "ArrowDown" | "PageDown" | " " | "Enter" => Step::Forward,
        "ArrowLeft" | "ArrowUp" | "PageUp" | "Backspace" => Step::Back,
        "Home" => Step::First,
        "End" => Step::Last,
        "Escape" => Step::Leave,
        "b" | "B" | "." => Step::Blank,
        "h" | "H" => Step::Ask,
        "d" | "D" => Step::Depth,
        digit => Step::Degree(digit.parse().ok().filter(|degree| *degree < 10)?),
    })
}

/// The lines of a row as they are shown.
fn lines(row: &Markup, details: bool) -> Vec<&Markup> {
    match row.part("work").map(|work| &work.content) {
        Some(Content::Parts(lines)) => lines
            .iter()
            .filter(|line| details || !line.detail)
            .collect(),
        _ => Vec::new(),
    }
}

/// Has it something to ask the room: a term that vanishes, a value that comes out?
fn asks(line: &Markup) -> bool {
    let class = line.attribute("class").unwrap_or("");
    let inside = match &line.content {
        Content::Parts(parts) => parts.iter().any(asks),
        Content::Html(_) => false,
    };
    inside || class.split(' ').any(|one| one == "gone" || one == "value")
}

/// The rows that are gone through: the ledger's, and behind them, as soon as they are there, those on how
/// far the polynomial of the highest degree may be trusted.
pub fn rows(state: &State) -> Vec<&Markup> {
    let Some(sheet) = &state.sheet else {
        return Vec::new();
    };
    let far = state.drawing.iter().flat_map(|own| &own.far.rows);
    let far = far.filter(|(degree, _)| degree.is_none_or(|own| own == sheet.degree));
    let ledger = sheet.rows.iter();
    ledger.chain(far.map(|(_, row)| row)).collect()
}

/// What is shown beside a row.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Beside {
    /// A row of the ledger, with what is known so far.
    Ledger,
    /// A row on singular points or the radius, with the complex plane.
    Plane,
    /// A row on a polynomial's remainder, with the plot.
    Plot,
}

/// What is shown beside the row of this number.
pub fn beside(state: &State, row: usize) -> Beside {
    let ledger = state.sheet.as_ref().map_or(0, |sheet| sheet.rows.len());
    let key = |own: &&Markup| own.key().is_some_and(|key| key.starts_with("far-"));
    match rows(state).get(row) {
        Some(own) if row >= ledger && key(own) => Beside::Plane,
        Some(_) if row >= ledger => Beside::Plot,
        _ => Beside::Ledger,
    }
}

/// Every stop, in order.
fn stops(rows: &[&Markup], inputs: &Inputs) -> Vec<Stop> {
    let details = inputs.depth == Depth::Rules;
    let mut out = Vec::new();
    for (row, markup) in rows.iter().enumerate() {
        let lines = lines(markup, details);
        for (line, markup) in lines.iter().enumerate() {
            let mut stop = Stop {
                row,
                line,
                asking: true,
                last: false,
            };
            if inputs.ask && asks(markup) {
                out.push(stop);
            }
            stop.asking = false;
            stop.last = line + 1 == lines.len();
            out.push(stop);
        }
    }
    out
}

/// The text that an address carries: `order-3.1`, with `.ask` behind it while values are hidden.
fn written(stop: Stop, rows: &[&Markup]) -> String {
    let key = rows.get(stop.row).and_then(|row| row.key()).unwrap_or("");
    let ask = if stop.asking { ".ask" } else { "" };
    format!("{key}.{}{ask}", stop.line)
}

/// Where the presentation is; the nearest stop where a row or a line is not there (any more).
pub fn place(state: &State) -> Option<(usize, Vec<Stop>)> {
    if state.inputs.present.is_empty() {
        return None;
    }
    let rows = rows(state);
    let all = stops(&rows, &state.inputs);
    let mut parts = state.inputs.present.rsplitn(2, '.');
    let (mut tail, mut head) = (parts.next()?, parts.next().unwrap_or(""));
    let asking = tail == "ask";
    if asking {
        (head, tail) = head.rsplit_once('.').unwrap_or((head, "0"));
    }
    let line: usize = tail.parse().unwrap_or(0);
    let row = rows.iter().position(|row| row.key() == Some(head));
    let row = row.unwrap_or(0);
    // The last stop that is not behind the place.
    let at = all
        .iter()
        .rposition(|stop| {
            (stop.row, stop.line, !stop.asking) <= (row, line, !asking || !state.inputs.ask)
        })
        .unwrap_or(0);
    (!all.is_empty()).then_some((at, all))
}

/// The degree that is shown at a stop: that of the last row that is done; `None` before the first.
fn degree(at: usize, all: &[Stop], rows: &[&Markup]) -> Option<usize> {
    let done = all
        .get(..=at)
        .unwrap_or(&[])
        .iter()
        .filter(|stop| stop.last);
    let of = |stop: &Stop| {
        let row = rows.get(stop.row)?;
        row.attribute("data-degree")?.parse().ok()
    };
    done.filter_map(of).max()
}

/// One step of the presenter.
pub fn update(state: &mut State, step: Step, out: &mut Vec<Effect>) {
    if rows(state).is_empty() {
        return;
    }
    let dark = std::mem::take(&mut state.blank);
    let here = place(state);
    let Some((at, all)) = here else {
        if step == Step::Begin {
            state.inputs.present = written(
                Stop {
                    row: 0,
                    line: 0,
                    asking: false,
                    last: false,
                },
                &rows(state),
            );
            enter(state, out);
            out.push(Effect::Remember(true));
        }
        return;
    };
    let row = |row: usize| all.iter().position(|stop| stop.row == row).unwrap_or(at);
    let last = all.len().saturating_sub(1);
    let to = match step {
        Step::Leave => {
            state.inputs.present = String::new();
            state.bare = false;
            out.extend([Effect::Present, Effect::Plot, Effect::Remember(true)]);
            return;
        }
        Step::Blank => {
            state.blank = !dark;
            out.push(Effect::Present);
            return;
        }
        // Whoever goes on in the dark wants light first.
        _ if dark => at,
        Step::Begin => at,
        Step::Forward => (at + 1).min(last),
        Step::Back => at.saturating_sub(1),
        Step::First => 0,
        Step::Last => last,
        Step::Row(wanted) => row(wanted),
        Step::Degree(wanted) => {
            let degree = Some(wanted.to_string());
            let of = |own: &&Markup| own.attribute("data-degree") == degree.as_deref();
            rows(state).iter().position(of).map_or(at, row)
        }
        Step::Ask => {
            state.inputs.ask = !state.inputs.ask;
            enter(state, out);
            out.push(Effect::Remember(false));
            return;
        }
        Step::Depth => {
            state.inputs.depth = match state.inputs.depth {
                Depth::Lines => Depth::Rules,
                Depth::Rules => Depth::Lines,
            };
            // The same row from its beginning: its lines are others now.
            let stop = all.get(at).map(|stop| Stop { line: 0, ..*stop });
            let text = stop.map_or_else(String::new, |stop| written(stop, &rows(state)));
            state.inputs.present = text;
            out.extend([Effect::Switches, Effect::Ledger]);
            enter(state, out);
            out.push(Effect::Remember(false));
            return;
        }
    };
    if let Some(stop) = all.get(to) {
        state.inputs.present = written(*stop, &rows(state));
    }
    enter(state, out);
    out.push(Effect::Remember(false));
}

/// Brings the place of the state onto the screen.
pub fn enter(state: &mut State, out: &mut Vec<Effect>) {
    if let Some((at, all)) = place(state) {
        let degree = degree(at, &all, &rows(state));
        let (shown, bare) = (degree.unwrap_or(0), degree.is_none());
        if state.shown != shown || state.bare != bare {
            (state.shown, state.bare) = (shown, bare);
            out.extend([Effect::Shown, Effect::Plot]);
        }
        out.push(Effect::Present);
    }
}

#[cfg(test)]
mod tests;
