//! What the page knows, and how it changes: one message at a time, nothing hidden in the page's
//! elements. Times are in milliseconds from any start; they come in with the messages.

use crate::address;
use crate::examples::EXAMPLES;
use crate::inputs::{Choice, Figures, Inputs, RouteChoice};
use crate::present;
use crate::protocol::{Ask, Copies, Drawing, Note, PlotData, Sheet};

pub use messages::{CopyForm, Effect, File, Message, TextField, Timer};

mod messages;

/// After a keystroke the work begins this much later.
pub const PAUSE: f64 = 180.0;
/// A half-typed line is left in peace this long.
pub const PATIENCE: f64 = 900.0;
/// A worker that has been busy longer is replaced when there is something newer to do.
pub const SUPERSEDE: f64 = 300.0;
/// So many workers in a row are replaced as they die; later ones only when they are needed.
const MOST_DEATHS: u32 = 3;
/// Work that takes longer says so.
pub const SLOW: f64 = 400.0;

/// Everything the page knows.
#[allow(
    clippy::struct_excessive_bools,
    reason = "independent facts, each with its name"
)]
#[derive(Clone, Debug, Default)]
pub struct State {
    /// The fields and switches.
    pub inputs: Inputs,
    /// The last ledger that could be worked.
    pub sheet: Option<Sheet>,
    /// Its inputs.
    pub sheet_inputs: Option<Inputs>,
    /// Its numerical side.
    pub drawing: Option<Drawing>,
    /// Notes of the last answer.
    pub notes: Vec<Note>,
    /// Are they shown?
    pub notes_shown: bool,
    /// The inputs of the last answer, good or bad.
    answered: Option<Inputs>,
    /// Did the last answer stop at an error?
    failed: bool,
    /// The question under way: number, inputs, since when.
    busy: Option<(u32, Inputs, f64)>,
    /// Are rows still being put on the page?
    painting: bool,
    /// Does the address not hold yet what was typed?
    address_due: bool,
    /// Is there something newer to ask?
    waiting: bool,
    /// The inputs whose data the worker was asked for.
    fetching: Option<String>,
    /// Has the work under way become slow?
    pub slow: bool,
    sequence: u32,
    typed_at: f64,
    /// Deaths in a row.
    deaths: u32,
    /// The degree shown.
    pub shown: usize,
    /// The row of the table that is read out.
    pub cursor: Option<usize>,
    /// Is the presentation's screen dark?
    pub blank: bool,
    /// Is the presentation before the first value, so that there is no partial sum yet?
    pub bare: bool,
}

impl State {
    /// The state of a page that has both halves of an answer, and shows all of it.
    pub fn answered(inputs: Inputs, sheet: Sheet, drawing: Option<Drawing>) -> Self {
        Self {
            inputs,
            shown: sheet.degree,
            notes: drawing
                .as_ref()
                .map_or(&sheet.notes, |drawing| &drawing.notes)
                .clone(),
            sheet: Some(sheet),
            drawing,
            ..Self::default()
        }
    }

    /// The name of what is going on: `ready`, `busy`, or `stale` (the ledger belongs to an earlier
    /// input).
    pub fn name(&self) -> &'static str {
        let answered = self
            .answered
            .as_ref()
            .is_some_and(|answered| answered.same_work(&self.inputs));
        if !answered {
            "busy"
        } else if self.failed {
            // Also while rows of an earlier answer are still being put on the page.
            "stale"
        } else if self.painting || self.address_due {
            "busy"
        } else {
            "ready"
        }
    }

    /// The curves and the table of the unknown that is followed, if any.
    pub fn plot(&self) -> Option<&PlotData> {
        self.drawing.as_ref()?.plots.get(self.followed())
    }

    /// The names of the unknowns, as typed.
    pub fn unknowns(&self) -> &[String] {
        self.sheet
            .as_ref()
            .map_or(&[], |sheet| sheet.unknowns.as_slice())
    }

    fn index(&self, name: &str) -> Option<usize> {
        self.unknowns().iter().position(|own| own == name)
    }

    /// Which unknown strip, pictures and table follow.
    pub fn followed(&self) -> usize {
        self.index(&self.inputs.unknown).unwrap_or(0)
    }

    /// The unknowns across and upwards in the phase plane; `None` for one equation.
    pub fn pair(&self) -> Option<(usize, usize)> {
        if self.unknowns().len() < 2 {
            return None;
        }
        let across = self.index(&self.inputs.across).unwrap_or(0);
        let other = usize::from(across == 0);
        let up = self.index(&self.inputs.up).unwrap_or(other);
        Some((across, if up == across { other } else { up }))
    }

    /// Their data.
    pub fn phase(&self) -> Option<(&PlotData, &PlotData)> {
        let (across, up) = self.pair()?;
        let plots = &self.drawing.as_ref()?.plots;
        plots.get(across).zip(plots.get(up))
    }

    /// Puts a pair of unknowns into the phase plane; one that is chosen twice changes places.
    fn choose(&mut self, across: Option<String>, up: Option<String>) {
        let Some((old_across, old_up)) = self.pair() else {
            return;
        };
        let name = |index: usize| self.unknowns().get(index).cloned().unwrap_or_default();
        let (old_across, old_up) = (name(old_across), name(old_up));
        let (across, up) = match (across, up) {
            (Some(across), _) if across == old_up => (across, old_across),
            (Some(across), _) => (across, old_up),
            (None, Some(up)) if up == old_across => (old_up, up),
            (None, Some(up)) => (old_across, up),
            (None, None) => return,
        };
        (self.inputs.across, self.inputs.up) = (across, up);
    }

    /// The row of the table that is read out: where the reader put it, or three quarters along.
    pub fn read_row(&self) -> Option<usize> {
        let rows = self.plot()?.table_x.len();
        let last = rows.checked_sub(1)?;
        Some(self.cursor.unwrap_or(rows * 3 / 4).min(last))
    }

    fn ask(&mut self, now: f64, out: &mut Vec<Effect>) {
        let mut replaced = false;
        if let Some((_, under_way, since)) = &self.busy {
            if under_way.same_work(&self.inputs) {
                return;
            }
            self.waiting = true;
            let age = now - since;
            if age <= SUPERSEDE {
                out.push(Effect::Later(Timer::Supersede, SUPERSEDE - age + 1.0));
                return;
            }
            replaced = true;
        }
        if self.deaths > MOST_DEATHS {
            self.deaths = MOST_DEATHS;
            replaced = true;
        }
        if replaced {
            out.push(Effect::Replace);
        }
        self.waiting = false;
        self.slow = false;
        out.push(Effect::Say(String::new()));
        self.sequence = self.sequence.wrapping_add(1);
        self.busy = Some((self.sequence, self.inputs.clone(), now));
        let inputs = address::encode(&self.inputs);
        out.push(Effect::Ask(Ask {
            sequence: self.sequence,
            inputs,
        }));
        if replaced && let Some(inputs) = self.fetching.clone() {
            out.push(Effect::Fetch(inputs));
        }
        out.push(Effect::Later(Timer::Slow, SLOW));
        out.push(Effect::Status);
    }

    /// Asks for the data of the worksheet on the page.
    fn fetch(&mut self, out: &mut Vec<Effect>) {
        if self.drawing.is_some()
            && let Some(inputs) = &self.sheet_inputs
        {
            let inputs = address::encode(inputs);
            self.fetching = Some(inputs.clone());
            out.push(Effect::Fetch(inputs));
        }
    }

    /// Is the worker at work?
    pub fn is_asking(&self) -> bool {
        self.busy.is_some()
    }

    /// Puts what was typed into the address once nothing else is left to do: browsers paint their
    /// own address line anew for it, which would hold up the page's frames.
    fn settle(&mut self, now: f64, out: &mut Vec<Effect>) {
        let quiet = self.busy.is_none() && (self.failed || !self.painting);
        if self.address_due && quiet && now - self.typed_at >= PAUSE - 1.0 {
            self.address_due = false;
            out.extend([Effect::Remember(false), Effect::Status]);
        }
    }

    fn is_current(&self, sequence: u32) -> bool {
        self.busy.as_ref().is_some_and(|busy| busy.0 == sequence)
    }

    fn take_notes(&mut self, notes: Vec<Note>, now: f64, out: &mut Vec<Effect>) {
        self.notes = notes;
        let peace = PATIENCE - (now - self.typed_at);
        self.notes_shown = self.notes.is_empty() || peace <= 0.0;
        if !self.notes_shown {
            out.push(Effect::Later(Timer::Notes, peace + 1.0));
        }
        out.push(Effect::Notes);
    }

    fn finish(&mut self, now: f64, out: &mut Vec<Effect>) {
        if let Some((_, inputs, _)) = self.busy.take() {
            self.answered = Some(inputs);
        }
        self.slow = false;
        self.deaths = 0;
        if self.waiting {
            self.ask(now, out);
        }
        out.push(Effect::Status);
    }

    fn copies(&self) -> Option<&Copies> {
        let place = Figures::NAMES
            .iter()
            .position(|(figures, _)| *figures == self.inputs.figures)?;
        self.sheet.as_ref()?.copies.get(place)
    }

    fn show(&mut self, degree: usize, out: &mut Vec<Effect>) {
        let most = self.sheet.as_ref().map_or(0, |sheet| sheet.degree);
        self.shown = degree.min(most);
        out.extend([Effect::Shown, Effect::Follow, Effect::Plot]);
    }

    fn replace_inputs(&mut self, inputs: Inputs, now: f64, out: &mut Vec<Effect>) {
        // The browser's own "back" may lead out of a presentation.
        self.bare &= !inputs.present.is_empty();
        self.inputs = inputs;
        self.address_due = false;
        self.typed_at = now - PATIENCE;
        out.extend([
            Effect::Fields,
            Effect::Switches,
            Effect::Reading,
            Effect::Letters,
            Effect::Present,
        ]);
        self.ask(now, out);
        out.push(Effect::Status);
    }
}

/// The state at the start: the address first, then what was kept, then the first example.
pub fn start(fragment: &str, kept: Option<&str>, now: f64) -> (State, Vec<Effect>) {
    let example = || {
        EXAMPLES
            .first()
            .map(crate::examples::Example::inputs)
            .unwrap_or_default()
    };
    let inputs = address::decode(fragment)
        .or_else(|| kept.and_then(address::decode))
        .unwrap_or_else(example);
    let mut state = State {
        typed_at: now - PATIENCE,
        ..State::default()
    };
    let mut out = Vec::new();
    state.replace_inputs(inputs, now, &mut out);
    (state, out)
}

/// One step of the page's life.
#[allow(clippy::too_many_lines, reason = "one arm for each message")]
pub fn update(state: &mut State, message: Message, now: f64) -> Vec<Effect> {
    let mut out = Vec::new();
    match message {
        Message::Typed(field, text) => {
            if field == TextField::Equation {
                state.inputs.route = RouteChoice::Natural;
            }
            *field.of_mut(&mut state.inputs) = text;
            state.typed_at = now;
            state.address_due = true;
            // What was said about the old text may point at the wrong place by now.
            let was_shown = std::mem::take(&mut state.notes_shown);
            if was_shown && !state.notes.is_empty() {
                out.push(Effect::Notes);
            }
            out.extend([
                Effect::Draft,
                Effect::Say(String::new()),
                Effect::Reading,
                Effect::Status,
                Effect::Later(Timer::Work, PAUSE),
            ]);
        }
        Message::Number(letter, text) => {
            state.inputs.set_number(&letter, text);
            state.typed_at = now;
            state.address_due = true;
            if state.busy.is_some() {
                // The worker keeps the ledger: better to wait for it than to replace it.
                state.waiting = true;
            } else {
                state.ask(now, &mut out);
            }
            out.extend([
                Effect::Draft,
                Effect::Letters,
                Effect::Status,
                Effect::Later(Timer::Work, PAUSE),
            ]);
        }
        Message::Left => {
            state.typed_at = state.typed_at.min(now - PATIENCE);
            if std::mem::take(&mut state.address_due) {
                out.extend([Effect::Remember(false), Effect::Status]);
            }
            if !state.notes_shown {
                state.notes_shown = true;
                out.push(Effect::Notes);
            }
        }
        Message::Route(route) => {
            state.inputs.route = route;
            state.ask(now, &mut out);
            out.push(Effect::Switches);
        }
        Message::Digits(digits) => {
            state.inputs.digits = digits;
            state.ask(now, &mut out);
            out.extend([Effect::Switches, Effect::Remember(false)]);
        }
        Message::Depth(depth) => {
            state.inputs.depth = depth;
            out.extend([Effect::Switches, Effect::Remember(false)]);
            if state.sheet.is_some() {
                state.painting = true;
                out.extend([Effect::Ledger, Effect::Status]);
            }
        }
        Message::Figures(figures) => {
            state.inputs.figures = figures;
            out.extend([Effect::Switches, Effect::Remember(false)]);
        }
        Message::Unknown(name) => {
            state.inputs.unknown = name;
            out.extend([
                Effect::Switches,
                Effect::Strip,
                Effect::Shown,
                Effect::Plot,
                Effect::Remember(false),
            ]);
        }
        Message::Across(name) => {
            state.choose(Some(name), None);
            out.extend([Effect::Switches, Effect::Plot, Effect::Remember(false)]);
        }
        Message::Up(name) => {
            state.choose(None, Some(name));
            out.extend([Effect::Switches, Effect::Plot, Effect::Remember(false)]);
        }
        Message::Example(index) => {
            if let Some(example) = EXAMPLES.get(index) {
                let (depth, figures) = (state.inputs.depth, state.inputs.figures);
                state.replace_inputs(
                    Inputs {
                        depth,
                        figures,
                        ..example.inputs()
                    },
                    now,
                    &mut out,
                );
                out.push(Effect::Remember(true));
            }
        }
        Message::Repair(note, repair) => {
            if let Some((_, edits)) = state
                .notes
                .get(note)
                .and_then(|note| note.repairs.get(repair))
                .cloned()
            {
                let mut inputs = state.inputs.clone();
                repair::carry_out(&mut inputs, edits);
                state.replace_inputs(inputs, now, &mut out);
                out.push(Effect::Remember(true));
            }
        }
        Message::Timer(Timer::Work) => {
            if now - state.typed_at >= PAUSE - 1.0
                && !state
                    .answered
                    .as_ref()
                    .is_some_and(|done| done.same_work(&state.inputs))
            {
                state.ask(now, &mut out);
            } else if state
                .answered
                .as_ref()
                .is_some_and(|done| done.same_work(&state.inputs))
            {
                // Typed back to what was answered already: the notes about it hold again.
                let notes = std::mem::take(&mut state.notes);
                state.take_notes(notes, now, &mut out);
                out.push(Effect::Status);
                state.settle(now, &mut out);
            }
        }
        Message::Timer(Timer::Supersede) => {
            if state.waiting {
                state.ask(now, &mut out);
            }
        }
        Message::Timer(Timer::Slow) => {
            if state
                .busy
                .as_ref()
                .is_some_and(|busy| now - busy.2 >= SLOW - 1.0)
            {
                state.slow = true;
                out.push(Effect::Status);
            }
        }
        Message::Timer(Timer::Notes) => {
            if !state.notes_shown && now - state.typed_at >= PATIENCE {
                state.notes_shown = true;
                out.push(Effect::Notes);
            }
        }
        Message::Ledger(sheet) => {
            if state.is_current(sheet.sequence) {
                take_sheet(state, *sheet, now, &mut out);
            }
        }
        Message::Picture(drawing) => {
            if state.is_current(drawing.sequence) {
                if !state.failed {
                    if drawing.notes != state.notes {
                        state.take_notes(drawing.notes.clone(), now, &mut out);
                    }
                    state.drawing = Some(*drawing);
                    state.cursor = None;
                    state.sheet_inputs = state.busy.as_ref().map(|busy| busy.1.clone());
                    out.extend([Effect::Plot, Effect::Letters]);
                    // Its rows on how far the series holds may be those that are presented.
                    present::enter(state, &mut out);
                }
                state.finish(now, &mut out);
                if state.failed {
                    // Nothing is put on the page.
                    state.settle(now, &mut out);
                }
            }
        }
        Message::Data(json) => {
            state.fetching = None;
            out.push(Effect::OfferData(json));
        }
        Message::Died(message) => {
            state.waiting = false;
            state.fetching = None;
            state.failed = true;
            state.deaths += 1;
            // A worker that dies at birth is tried again only when there is something to ask.
            if state.deaths <= MOST_DEATHS {
                out.push(Effect::Replace);
            }
            let note = Note {
                code: "defect".into(),
                error: true,
                field: "equation".into(),
                start: 0,
                end: 0,
                message,
                repairs: Vec::new(),
            };
            state.take_notes(vec![note], now, &mut out);
            // What was typed meanwhile gets its own try.
            let newer = state
                .busy
                .as_ref()
                .is_some_and(|busy| !busy.1.same_work(&state.inputs));
            state.busy = None;
            state.slow = false;
            if newer && state.deaths < MOST_DEATHS {
                state.ask(now, &mut out);
            } else {
                state.answered = Some(state.inputs.clone());
            }
            out.push(Effect::Status);
            state.settle(now, &mut out);
        }
        Message::Painted => {
            state.painting = false;
            out.extend([Effect::Strip, Effect::Shown, Effect::Status]);
            present::enter(state, &mut out);
        }
        Message::Settled => {
            if !state.inputs.present.is_empty() {
                out.push(Effect::Present);
            }
            state.settle(now, &mut out);
        }
        Message::Show(degree) => state.show(degree, &mut out),
        Message::Cursor(row) => {
            state.cursor = Some(row);
            out.push(Effect::Readout);
        }
        Message::Step(by) => {
            if let (Some(row), Some(plot)) = (state.read_row(), state.plot()) {
                let last = plot.table_x.len().saturating_sub(1);
                state.cursor = Some(row.saturating_add_signed(by).min(last));
                out.push(Effect::Readout);
            }
        }
        Message::Recenter => {
            if let Some((row, drawing)) = state.read_row().zip(state.drawing.as_ref())
                && let Some(x) = state.plot().and_then(|plot| plot.table_x.get(row))
            {
                let place = format!("{} = {x}", drawing.names.0);
                let mut inputs = state.inputs.clone();
                if !inputs.beside.trim().is_empty() {
                    inputs.beside.push_str(" or ");
                }
                inputs.beside.push_str(&place);
                state.replace_inputs(inputs, now, &mut out);
                out.push(Effect::Remember(true));
            }
        }
        Message::Stop => {
            if state.busy.take().is_some() {
                // What has been typed meanwhile is not begun either.
                state.answered = Some(state.inputs.clone());
                state.failed = true;
                state.waiting = false;
                state.fetching = None;
                state.slow = false;
                out.extend([
                    Effect::Replace,
                    Effect::Say("Stopped. Change anything to go on.".into()),
                    Effect::Status,
                ]);
                state.settle(now, &mut out);
            }
        }
        Message::Address(fragment) => {
            // An address without a problem is no presentation either.
            let inputs = address::decode(&fragment).unwrap_or_else(|| Inputs {
                present: String::new(),
                ..state.inputs.clone()
            });
            if inputs != state.inputs {
                state.replace_inputs(inputs, now, &mut out);
            }
        }
        Message::Copy(form) => {
            if let Some(copies) = state.copies() {
                let text = match form {
                    CopyForm::Latex => &copies.latex,
                    CopyForm::Mathml => &copies.mathml,
                    CopyForm::Markdown => &copies.markdown,
                    CopyForm::Plain => &copies.plain,
                };
                out.push(Effect::Copy(text.clone()));
            }
        }
        Message::Copied(worked) => {
            out.push(Effect::Say(
                if worked {
                    "Copied."
                } else {
                    "The browser did not allow copying."
                }
                .into(),
            ));
        }
        Message::Fetch => state.fetch(&mut out),
        Message::Keep(file) => out.push(Effect::Offer(file)),
        Message::Present(step) => present::update(state, step, &mut out),
    }
    out
}

fn take_sheet(state: &mut State, sheet: Sheet, now: f64, out: &mut Vec<Effect>) {
    state.failed = !sheet.worked;
    state.take_notes(sheet.notes.clone(), now, out);
    if !sheet.worked {
        return;
    }
    // The degree shown stays at the top if it was there, otherwise where it was.
    let follow = state
        .sheet
        .as_ref()
        .is_none_or(|old| state.shown >= old.degree);
    state.shown = if follow {
        sheet.degree
    } else {
        state.shown.min(sheet.degree)
    };
    state.sheet = Some(sheet);
    state.sheet_inputs = state.busy.as_ref().map(|busy| busy.1.clone());
    state.painting = true;
    out.extend([Effect::Switches, Effect::Ledger, Effect::Status]);
}

mod repair;
#[cfg(test)]
mod tests;
