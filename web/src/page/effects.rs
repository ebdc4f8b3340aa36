//! Effects carried out on the page.

use super::{dom, files, forget_draft, frames, keep, keep_draft, link, pictures, present};
use crate::address;
use crate::answer;
use crate::examples;
use crate::far;
use crate::inputs::{Choice, Depth, RouteChoice};
use crate::numerals;
use crate::state::{Effect, Message, State, TextField};
use crate::view;
use wasm_bindgen::{JsCast, JsValue};
use web_sys::{HtmlDetailsElement, HtmlInputElement, HtmlSelectElement};

/// Carries one out.
pub(super) fn run(state: &State, effect: &Effect) {
    match effect {
        Effect::Fields => fields(state),
        Effect::Switches => switches(state),
        Effect::Reading => reading_back(state),
        Effect::Ledger => ledger(state),
        Effect::Strip => strip(state),
        Effect::Notes => notes(state),
        Effect::Status => status(state),
        Effect::Plot => plot(state),
        Effect::Letters => letters(state),
        Effect::Readout => readout(state),
        Effect::Shown => shown(state),
        Effect::Follow => strip_to(state.shown),
        Effect::Say(text) => dom::set_text("said", text),
        Effect::Ask(ask) => link::ask(ask),
        Effect::Fetch(inputs) => link::fetch(inputs),
        Effect::Replace => link::replace(),
        Effect::Later(timer, wait) => link::later(Message::Timer(*timer), *wait),
        Effect::Draft => keep_draft(&address::encode(&state.inputs)),
        Effect::Remember(step) => remember(state, *step),
        Effect::Copy(text) => files::copy(text),
        Effect::Offer(file) => files::offer(state, *file),
        Effect::OfferData(json) => files::offer_data(json),
        Effect::Present => present::show(state),
    }
}

fn fields(state: &State) {
    // Folded away until it is used.
    if !state.inputs.candidate.is_empty()
        && let Some(details) = dom::by_id_as::<HtmlDetailsElement>("testing")
    {
        details.set_open(true);
    }
    for (field, id) in TextField::ALL {
        dom::set_value(id, field.of(&state.inputs));
    }
}

fn check(name: &str, value: &str) {
    for element in dom::all(&format!("input[name=\"{name}\"]")) {
        if let Some(radio) = element.dyn_ref::<HtmlInputElement>() {
            radio.set_checked(radio.value() == value);
        }
    }
}

fn switches(state: &State) {
    let inputs = &state.inputs;
    let standing = match inputs.route {
        RouteChoice::Natural => state.sheet.as_ref().is_some_and(|sheet| sheet.standing),
        RouteChoice::Solved => false,
        RouteChoice::Standing => true,
    };
    check("route", if standing { "standing" } else { "solved" });
    check("depth", inputs.depth.name());
    check("figures", inputs.figures.name());
    check("digits", inputs.digits.name());
    dom::set_body("data-depth", inputs.depth.name());
    dom::set_body("data-figures", inputs.figures.name());
    let several = state.unknowns().len() > 1;
    dom::set_html("unknowns", &view::unknowns(state));
    if let Some(name) = state.unknowns().get(state.followed()) {
        check("unknown", name);
    }
    dom::set_hidden("followed", !several);
    dom::set_hidden("phase-figure", !several);
    dom::set_hidden("beside-part", several);
    for (id, index) in state
        .pair()
        .into_iter()
        .flat_map(|(across, up)| [("across", across), ("up", up)])
    {
        dom::set_html(id, &view::options(state));
        if let (Some(list), Some(name)) = (
            dom::by_id_as::<HtmlSelectElement>(id),
            state.unknowns().get(index),
        ) {
            list.set_value(name);
        }
    }
    dom::set_hidden("pair", state.unknowns().len() < 3);
    dom::set_hidden(
        "routes",
        !state.sheet.as_ref().is_some_and(|sheet| sheet.has_routes),
    );
    if let Some(list) = dom::by_id_as::<HtmlSelectElement>("examples") {
        list.set_value(&examples::find(inputs).map_or_else(String::new, |index| index.to_string()));
    }
}

fn reading_back(state: &State) {
    let formulas = answer::reading(&state.inputs);
    frames::read(view::reading(&formulas));
    let caution = examples::caution(&state.inputs);
    dom::set_text("caution", caution.unwrap_or(""));
    dom::set_hidden("caution", caution.is_none());
}

fn ledger(state: &State) {
    let Some(sheet) = &state.sheet else { return };
    let details = state.inputs.depth == Depth::Rules;
    let strip = sheet.strips.get(state.followed());
    frames::show(&sheet.rows, strip, details, state.is_asking());
    if let Some(slider) = dom::by_id_as::<HtmlInputElement>("shown") {
        slider.set_max(&sheet.degree.to_string());
    }
}

fn strip(state: &State) {
    let Some(sheet) = &state.sheet else { return };
    frames::strip(sheet.strips.get(state.followed()));
    dom::set_text("checked", &sheet.checked);
    dom::set_body("data-defect", if sheet.defect { "yes" } else { "no" });
}

fn notes(state: &State) {
    let visible = if state.notes_shown {
        state.notes.as_slice()
    } else {
        &[]
    };
    dom::set_html(
        "notes",
        &view::notes(visible, |note| {
            !view::is_about_plot(note) && !view::is_about_letters(note) && !view::is_about_far(note)
        }),
    );
    dom::set_html("interval-notes", &view::notes(visible, view::is_about_plot));
    dom::set_html("far-notes", &view::notes(visible, view::is_about_far));
    dom::set_html(
        "letters-notes",
        &view::notes(visible, view::is_about_letters),
    );
    for (field, id) in TextField::ALL {
        dom::set_html(
            &format!("{id}-marks"),
            &view::marked(field.of(&state.inputs), id, visible),
        );
        if let Some(element) = dom::by_id(id) {
            let wrong = visible.iter().any(|note| note.error && note.field == id);
            dom::set_attribute(
                &element,
                "aria-invalid",
                if wrong { "true" } else { "false" },
            );
        }
    }
}

fn status(state: &State) {
    dom::set_body("data-state", state.name());
    dom::set_body("data-slow", if state.slow { "yes" } else { "no" });
    dom::set_hidden("progress", !state.slow);
    let earlier = state.name() == "stale" && state.sheet.is_some();
    dom::set_hidden("earlier", !earlier);
}

fn shown(state: &State) {
    let degree = state.shown.to_string();
    dom::set_value("shown", &degree);
    dom::set_text("shown-value", &degree);
    for element in dom::all(".of") {
        let of = element
            .get_attribute("data-degree")
            .and_then(|degree| degree.parse::<usize>().ok());
        let classes = element.class_list();
        let _ = classes.toggle_with_force("current", of == Some(state.shown));
        let _ = classes.toggle_with_force("beyond", of.is_some_and(|of| of > state.shown));
    }
}

/// So many pixels at the strip's end are faded, to show that it goes on.
const FADED: f64 = 34.0;

/// Brings a term of the strip into its view, without moving the page.
fn strip_to(degree: usize) {
    let Some(strip) = dom::by_id("strip") else {
        return;
    };
    let found = strip
        .query_selector(&format!("[data-degree=\"{degree}\"]"))
        .ok()
        .flatten();
    if let Some(term) = found
        && strip.scroll_width() > strip.client_width()
    {
        let (term, view) = (
            term.get_bounding_client_rect(),
            strip.get_bounding_client_rect(),
        );
        let before = term.left() - view.left();
        let behind = term.right() + FADED - view.right();
        // A term wider than the strip shows its beginning.
        let by = if before < 0.0 {
            before
        } else {
            behind.max(0.0).min(before)
        };
        #[allow(clippy::cast_possible_truncation, reason = "pixels of one page")]
        strip.set_scroll_left(strip.scroll_left() + by.ceil() as i32);
    }
}

fn plot(state: &State) {
    let drawing = state.drawing.as_ref();
    dom::set_hidden("figure", state.plot().is_none());
    dom::set_hidden("no-figure", drawing.is_none() || state.plot().is_some());
    let far = drawing.map(|drawing| &drawing.far);
    dom::set_hidden("far", far.is_none_or(|far| far.rows.is_empty()));
    dom::set_html("remarks", drawing.map_or("", |drawing| &drawing.remarks));
    if let Some(drawing) = drawing {
        for (id, end) in [("from", &drawing.interval.0), ("to", &drawing.interval.1)] {
            if let Some(field) = dom::by_id(id) {
                dom::set_attribute(&field, "placeholder", &format!("{end} (chosen)"));
            }
        }
    }
    let rows = far.map(|far| far::rows(far, state.shown));
    frames::draw(state.pair().is_some(), rows.unwrap_or_default());
}

/// The read-out and the table.
pub(super) fn beside_the_plot(state: &State) {
    readout(state);
    table(state);
}

fn readout(state: &State) {
    dom::set_html("readout", &view::readout(state));
    pictures::hairline(state);
}

/// A number field and a slider for each letter. They are made anew only for other letters, so that
/// what is under the reader's hand stays.
fn letters(state: &State) {
    let all = state
        .drawing
        .as_ref()
        .map_or(&[][..], |drawing| drawing.letters.as_slice());
    dom::set_hidden("letters", all.is_empty());
    let Some(place) = dom::by_id("letters-list") else {
        return;
    };
    let names: Vec<&str> = all.iter().map(|letter| letter.name.as_str()).collect();
    let names = names.join(" ");
    if place.get_attribute("data-names").as_deref() != Some(&names) {
        dom::set_attribute(&place, "data-names", &names);
        dom::set_html("letters-list", &view::letters(all));
    }
    for (index, letter) in all.iter().enumerate() {
        let text = state.inputs.number(&letter.name).unwrap_or(&letter.text);
        dom::set_value(&format!("number-{index}"), text);
        let value = numerals::number(text.trim()).unwrap_or(letter.value);
        if let Some(slider) = dom::by_id_as::<HtmlInputElement>(&format!("slide-{index}"))
            && slider.value_as_number().total_cmp(&value).is_ne()
        {
            if value > numerals::number(&slider.max()).unwrap_or(value) {
                slider.set_max(&(2.0 * value).to_string());
            }
            if value < numerals::number(&slider.min()).unwrap_or(value) {
                slider.set_min(&(2.0 * value.min(0.0)).to_string());
            }
            slider.set_value_as_number(value);
        }
    }
}

/// The table of the data, while it is open.
pub(super) fn table(state: &State) {
    if dom::by_id_as::<HtmlDetailsElement>("data").is_some_and(|details| details.open()) {
        dom::set_html("table", &view::table(state));
    }
}

fn remember(state: &State, step: bool) {
    let fragment = address::encode(&state.inputs);
    forget_draft();
    // The next visit begins with the worksheet, not in the middle of a presentation.
    keep(fragment.split("&present=").next().unwrap_or(&fragment));
    let Some(window) = dom::window() else { return };
    let fragment = format!("#{fragment}");
    if dom::hash() == fragment {
        return;
    }
    if let Ok(history) = window.history() {
        let _ = if step {
            history.push_state_with_url(&JsValue::NULL, "", Some(&fragment))
        } else {
            history.replace_state_with_url(&JsValue::NULL, "", Some(&fragment))
        };
    }
}
