use super::*;
use crate::protocol::{Drawing, FarData, Sheet};
use crate::state::{Message, update as answer};

/// Three rows: an opening of two lines, a value found in a substitution that has a detail, and a
/// closing line.
fn presented() -> State {
    let line = |class: &str| Markup::around("div", "line", vec![Markup::leaf("span", class, "1")]);
    let mut rule = line("t");
    rule.detail = true;
    let row = |key: &str, lines| {
        Markup::around("div", "row", vec![Markup::around("div", "work", lines)]).keyed(key)
    };
    let rows = vec![
        row("given", vec![line("t"), line("t")]),
        row("order-0", vec![line("t"), rule, line("t value")]).with("data-degree", "0"),
        row("end", vec![line("t")]),
    ];
    let sheet = Sheet {
        rows,
        worked: true,
        ..Sheet::default()
    };
    let mut state = State::default();
    state.sheet = Some(sheet);
    state
}

fn step(state: &mut State, step: Step) -> String {
    answer(state, Message::Present(step), 0.0);
    state.inputs.present.clone()
}

#[test]
fn forward_goes_through_every_line_and_stays_at_the_end() {
    let mut state = presented();
    assert_eq!(step(&mut state, Step::Begin), "given.0");
    let mut seen = Vec::new();
    for _ in 0..5 {
        seen.push(step(&mut state, Step::Forward));
    }
    assert_eq!(
        seen,
        ["given.1", "order-0.0", "order-0.1", "end.0", "end.0"]
    );
    assert_eq!(step(&mut state, Step::Back), "order-0.1");
    assert_eq!(step(&mut state, Step::First), "given.0");
    assert_eq!(step(&mut state, Step::Degree(0)), "order-0.0");
    assert_eq!(step(&mut state, Step::Degree(7)), "order-0.0");
    assert_eq!(step(&mut state, Step::Row(2)), "end.0");
    assert_eq!(step(&mut state, Step::Leave), "");
}

#[test]
fn the_room_is_asked_before_values_are_shown() {
    let mut state = presented();
    step(&mut state, Step::Begin);
    step(&mut state, Step::Ask);
    step(&mut state, Step::Degree(0));
    assert_eq!(step(&mut state, Step::Forward), "order-0.1.ask");
    let (at, all) = place(&state).unwrap();
    assert!(all[at].asking && !all[at].last);
    assert_eq!(step(&mut state, Step::Forward), "order-0.1");
    let (at, all) = place(&state).unwrap();
    assert!(!all[at].asking && all[at].last);
    // Not asking any more, the hidden stop is the line itself.
    step(&mut state, Step::Back);
    step(&mut state, Step::Ask);
    let (at, all) = place(&state).unwrap();
    assert_eq!((all[at].row, all[at].line, all[at].asking), (1, 1, false));
}

#[test]
fn partial_sums_come_with_the_row_that_finds_them() {
    let mut state = presented();
    step(&mut state, Step::Begin);
    assert!(state.bare);
    step(&mut state, Step::Degree(0));
    assert!(state.bare);
    step(&mut state, Step::Forward);
    assert!(!state.bare && state.shown == 0);
    step(&mut state, Step::First);
    assert!(state.bare);
    step(&mut state, Step::Leave);
    assert!(!state.bare);
}

#[test]
fn going_back_in_the_browser_leaves_the_presentation() {
    // The page may have been opened without an address.
    for before in ["#equation=y'=y", ""] {
        let mut state = presented();
        step(&mut state, Step::Begin);
        assert!(state.bare && place(&state).is_some());
        let effects = answer(&mut state, Message::Address(before.into()), 0.0);
        assert!(effects.contains(&Effect::Present), "{effects:?}");
        assert!(!state.bare && place(&state).is_none());
    }
}

#[test]
fn behind_the_ledger_it_is_told_how_far_the_polynomial_may_be_trusted() {
    let mut state = presented();
    let line = || Markup::leaf("p", "", "proved");
    let row = |key: &str, lines: usize| {
        let lines = (0..lines).map(|_| line()).collect();
        Markup::around("div", "row", vec![Markup::around("div", "work", lines)]).keyed(key)
    };
    let of = |degree: usize| row("remainder", 2).with("data-degree", degree.to_string());
    step(&mut state, Step::Begin);
    // Nothing is known yet of what the numerical solution brings.
    assert_eq!(step(&mut state, Step::Last), "end.0");
    state.drawing = Some(Drawing {
        sequence: 0,
        plots: Vec::new(),
        names: (String::new(), Vec::new()),
        interval: (String::new(), String::new()),
        letters: Vec::new(),
        remarks: String::new(),
        notes: Vec::new(),
        far: FarData {
            rows: vec![
                (None, row("far-radius", 1)),
                (Some(0), of(0)),
                (Some(1), of(1)),
            ],
            plane: None,
        },
    });
    assert_eq!(step(&mut state, Step::Forward), "far-radius.0");
    assert_eq!(beside(&state, 3), Beside::Plane);
    assert_eq!(step(&mut state, Step::Forward), "remainder.0");
    assert_eq!(beside(&state, 4), Beside::Plot);
    // Only of the highest degree, whose curve is shown.
    assert_eq!(step(&mut state, Step::Forward), "remainder.1");
    assert_eq!(step(&mut state, Step::Forward), "remainder.1");
    assert!(!state.bare && state.shown == 0);
    assert_eq!(beside(&state, 2), Beside::Ledger);
}

#[test]
fn every_rule_has_stops_of_its_own() {
    let mut state = presented();
    step(&mut state, Step::Begin);
    step(&mut state, Step::Degree(0));
    step(&mut state, Step::Forward);
    // The row stays, from its first line.
    assert_eq!(step(&mut state, Step::Depth), "order-0.0");
    step(&mut state, Step::Forward);
    assert_eq!(step(&mut state, Step::Forward), "order-0.2");
}

#[test]
fn a_dark_screen_gives_light_before_it_goes_on() {
    let mut state = presented();
    step(&mut state, Step::Begin);
    step(&mut state, Step::Blank);
    assert!(state.blank);
    assert_eq!(step(&mut state, Step::Forward), "given.0");
    assert!(!state.blank);
}

#[test]
fn strange_places_are_the_nearest_stop() {
    let mut state = presented();
    for (text, row, line) in [
        ("order-0.99", 1, 1),
        ("order-9.0", 0, 0),
        ("nonsense", 0, 0),
        ("order-0.1.ask", 1, 1),
        (".", 0, 0),
    ] {
        state.inputs.present = text.into();
        let (at, all) = place(&state).unwrap();
        assert_eq!((all[at].row, all[at].line), (row, line), "{text}");
    }
    state.sheet = None;
    assert!(place(&state).is_none());
}

#[test]
fn keys_of_keyboards_and_remotes() {
    for (key, step) in [
        ("PageDown", Some(Step::Forward)),
        ("PageUp", Some(Step::Back)),
        (".", Some(Step::Blank)),
        ("3", Some(Step::Degree(3))),
        ("10", None),
        ("q", None),
    ] {
        assert_eq!(for_key(key), step, "{key}");
    }
}
