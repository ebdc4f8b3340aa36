use super::*;
use crate::inputs::Depth;

fn sheet(sequence: u32, worked: bool, degree: usize) -> Message {
    let notes = if worked {
        vec![]
    } else {
        vec![Note {
            code: "unknown-name".into(),
            error: true,
            field: "equation".into(),
            start: 6,
            end: 10,
            message: "?".into(),
            repairs: vec![(
                "write sin".into(),
                vec![("equation".into(), 6, 10, "sin".into())],
            )],
        }]
    };
    Message::Ledger(Box::new(Sheet {
        sequence,
        worked,
        notes,
        rows: vec![],
        unknowns: vec![],
        strips: vec![],
        checked: String::new(),
        defect: false,
        degree,
        standing: false,
        has_routes: false,
        copies: vec![],
    }))
}

fn picture(sequence: u32) -> Message {
    Message::Picture(Box::new(Drawing {
        sequence,
        plots: vec![],
        far: crate::protocol::FarData::default(),
        names: ("x".into(), vec!["y".into()]),
        interval: (String::new(), String::new()),
        letters: vec![],
        remarks: String::new(),
        notes: vec![],
    }))
}

fn asked(effects: &[Effect]) -> Option<u32> {
    effects.iter().find_map(|effect| match effect {
        Effect::Ask(ask) => Some(ask.sequence),
        _ => None,
    })
}

fn typed(text: &str) -> Message {
    Message::Typed(TextField::Equation, text.into())
}

/// A page with its first answer.
fn settled() -> State {
    let (mut state, effects) = start("", None, 0.0);
    let sequence = asked(&effects).unwrap();
    update(&mut state, sheet(sequence, true, 5), 20.0);
    update(&mut state, Message::Painted, 25.0);
    update(&mut state, picture(sequence), 30.0);
    assert_eq!(state.name(), "ready");
    state
}

#[test]
fn the_address_comes_before_what_was_kept() {
    let read = |fragment: &str, kept: Option<&str>| start(fragment, kept, 0.0).0.inputs.equation;
    assert_eq!(read("#equation=a", Some("equation=b")), "a");
    assert_eq!(read("#elsewhere", Some("equation=b")), "b");
    assert_eq!(read("", Some("nonsense")), EXAMPLES[0].equation);
}

#[test]
fn typing_is_busy_at_once_and_asks_after_a_pause() {
    let mut state = settled();
    update(&mut state, typed("y' = x"), 1000.0);
    assert_eq!(state.name(), "busy");
    update(&mut state, typed("y' = x y"), 1100.0);
    assert_eq!(
        asked(&update(&mut state, Message::Timer(Timer::Work), 1180.0)),
        None
    );
    assert!(asked(&update(&mut state, Message::Timer(Timer::Work), 1281.0)).is_some());
}

#[test]
fn the_address_follows_when_nothing_is_left_to_do() {
    let mut state = settled();
    let kept = |effects: &[Effect]| effects.contains(&Effect::Remember(false));
    let effects = update(&mut state, typed("y' = x"), 1000.0);
    assert!(effects.contains(&Effect::Draft));
    let effects = update(&mut state, Message::Timer(Timer::Work), 1200.0);
    let sequence = asked(&effects).unwrap();
    assert!(!kept(&effects));
    update(&mut state, sheet(sequence, true, 4), 1210.0);
    assert!(!kept(&update(&mut state, Message::Settled, 1220.0)));
    update(&mut state, picture(sequence), 1230.0);
    update(&mut state, Message::Painted, 1240.0);
    assert_eq!(state.name(), "busy");
    assert!(kept(&update(&mut state, Message::Settled, 1250.0)));
    assert_eq!(state.name(), "ready");
    // Whoever goes away before takes it along.
    update(&mut state, typed("y' = x y"), 2000.0);
    assert!(kept(&update(&mut state, Message::Left, 2010.0)));
    assert!(!kept(&update(&mut state, Message::Left, 2020.0)));
}

/// Dragging a slider asks as fast as answers come, and never replaces the worker.
#[test]
fn numbers_for_letters_wait_for_the_worker() {
    let mut state = settled();
    let number = |text: &str| Message::Number("k".into(), text.into());
    let first = asked(&update(&mut state, number("1"), 1000.0)).unwrap();
    let effects = update(&mut state, number("1.1"), 1400.0);
    assert!(asked(&effects).is_none() && !effects.contains(&Effect::Replace));
    update(&mut state, number("1.2"), 1410.0);
    assert_eq!(state.name(), "busy");
    // The ledger is the same: only a picture comes.
    let effects = update(&mut state, picture(first), 1420.0);
    let second = asked(&effects).unwrap();
    assert!(effects.contains(&Effect::Plot) && !effects.contains(&Effect::Ledger));
    update(&mut state, picture(second), 1450.0);
    assert!(!update(&mut state, Message::Settled, 1460.0).contains(&Effect::Remember(false)));
    let effects = update(&mut state, Message::Timer(Timer::Work), 1591.0);
    assert!(
        effects.contains(&Effect::Remember(false)),
        "not while it is dragged"
    );
    assert_eq!(state.name(), "ready");
    assert_eq!(state.inputs.number("k"), Some("1.2"));
}

#[test]
fn a_half_typed_line_is_not_scolded() {
    let mut state = settled();
    update(&mut state, typed("y' = sine x"), 1000.0);
    let sequence = asked(&update(&mut state, Message::Timer(Timer::Work), 1200.0)).unwrap();
    let effects = update(&mut state, sheet(sequence, false, 0), 1210.0);
    assert!(
        !state.notes_shown
            && effects
                .iter()
                .any(|effect| matches!(effect, Effect::Later(Timer::Notes, _)))
    );
    assert!(
        state.sheet.as_ref().is_some_and(|sheet| sheet.degree == 5),
        "the last good one stays"
    );
    update(&mut state, picture(sequence), 1220.0);
    assert_eq!(state.name(), "stale");
    update(&mut state, Message::Timer(Timer::Notes), 1902.0);
    assert!(state.notes_shown);
}

#[test]
fn a_repair_is_one_click() {
    let mut state = settled();
    update(&mut state, typed("y'' = sine x"), 1000.0);
    let sequence = asked(&update(&mut state, Message::Timer(Timer::Work), 1200.0)).unwrap();
    update(&mut state, sheet(sequence, false, 0), 1210.0);
    update(&mut state, picture(sequence), 1220.0);
    let effects = update(&mut state, Message::Repair(0, 0), 3000.0);
    assert_eq!(state.inputs.equation, "y'' = sin x");
    assert!(asked(&effects).is_some() && effects.contains(&Effect::Fields));
}

#[test]
fn repairs_that_no_longer_fit_change_nothing() {
    let mut inputs = Inputs {
        equation: "θ".into(),
        ..Inputs::default()
    };
    repair::carry_out(
        &mut inputs,
        vec![
            ("equation".into(), 1, 9, "x".into()),
            ("elsewhere".into(), 0, 0, "x".into()),
        ],
    );
    assert_eq!(inputs.equation, "θ");
    inputs.equation = "a b c".into();
    repair::carry_out(
        &mut inputs,
        vec![
            ("equation".into(), 0, 1, "long".into()),
            ("equation".into(), 4, 5, String::new()),
        ],
    );
    assert_eq!(inputs.equation, "long b ");
}

#[test]
fn a_newer_question_waits_for_a_short_one_and_replaces_a_long_one() {
    let mut state = settled();
    update(&mut state, typed("a"), 1000.0);
    let first = asked(&update(&mut state, Message::Timer(Timer::Work), 1200.0)).unwrap();
    update(&mut state, typed("b"), 1210.0);
    let effects = update(&mut state, Message::Timer(Timer::Work), 1400.0);
    assert!(asked(&effects).is_none() && !effects.contains(&Effect::Replace));
    let effects = update(&mut state, Message::Timer(Timer::Supersede), 1502.0);
    assert!(effects.contains(&Effect::Replace));
    let second = asked(&effects).unwrap();
    assert!(second > first);
    // What the old worker still says is not heard.
    assert!(update(&mut state, sheet(first, true, 9), 1510.0).is_empty());

    update(&mut state, typed("c"), 1520.0);
    update(&mut state, Message::Timer(Timer::Work), 1700.0);
    update(&mut state, sheet(second, true, 4), 1710.0);
    let effects = update(&mut state, picture(second), 1720.0);
    assert!(asked(&effects).is_some(), "the waiting question follows");
}

#[test]
fn slow_work_says_so_and_can_be_stopped() {
    let mut state = settled();
    update(&mut state, typed("a"), 1000.0);
    update(&mut state, Message::Timer(Timer::Work), 1200.0);
    update(&mut state, Message::Timer(Timer::Slow), 1600.0);
    assert!(state.slow);
    let effects = update(&mut state, Message::Stop, 2000.0);
    assert!(effects.contains(&Effect::Replace) && !state.slow);
    assert_eq!(state.name(), "stale");
}

#[test]
fn that_work_was_stopped_stays_said_while_earlier_rows_still_come() {
    let mut state = settled();
    update(&mut state, typed("a"), 1000.0);
    update(&mut state, Message::Timer(Timer::Work), 1200.0);
    let first = state.sequence;
    update(&mut state, sheet(first, true, 4), 1210.0);
    // The picture of that answer is slow, its rows are still being put on the page, and something
    // newer has been typed.
    update(&mut state, Message::Timer(Timer::Slow), 1700.0);
    update(&mut state, typed("ab"), 1710.0);
    let stopped = update(&mut state, Message::Stop, 1720.0);
    let said = |effects: &[Effect]| {
        let mut said = effects.iter().filter_map(|effect| match effect {
            Effect::Say(text) => Some(text.clone()),
            _ => None,
        });
        said.next_back()
    };
    assert!(said(&stopped).is_some_and(|text| text.contains("Stopped")));
    assert_eq!(state.name(), "stale", "at once");
    for (message, now) in [
        (Message::Painted, 1730.0),
        (Message::Timer(Timer::Work), 1900.0),
        (Message::Timer(Timer::Supersede), 2000.0),
    ] {
        let effects = update(&mut state, message, now);
        assert_eq!(said(&effects), None);
        assert_eq!(asked(&effects), None, "what was typed is not begun either");
        assert_eq!(state.name(), "stale");
    }
}

#[test]
fn another_depth_puts_the_rows_on_the_page_again() {
    let mut state = settled();
    let effects = update(&mut state, Message::Depth(Depth::Rules), 1000.0);
    assert!(effects.contains(&Effect::Ledger) && asked(&effects).is_none());
    assert_eq!(state.name(), "busy");
    update(&mut state, Message::Painted, 1100.0);
    assert_eq!(state.name(), "ready");
}

#[test]
fn a_dead_worker_is_replaced_and_the_input_kept() {
    let mut state = settled();
    update(&mut state, typed("a"), 1000.0);
    update(&mut state, Message::Timer(Timer::Work), 1200.0);
    let effects = update(
        &mut state,
        Message::Died("index out of bounds".into()),
        2200.0,
    );
    assert!(effects.contains(&Effect::Replace));
    assert_eq!(
        (
            state.name(),
            state.inputs.equation.as_str(),
            state.notes_shown
        ),
        ("stale", "a", true)
    );
    assert!(state.notes[0].message.contains("index out of bounds"));
    update(&mut state, typed("b"), 3000.0);
    assert!(asked(&update(&mut state, Message::Timer(Timer::Work), 3200.0)).is_some());
}

#[test]
fn a_worker_that_dies_at_birth_is_not_replaced_for_ever() {
    let mut state = settled();
    update(&mut state, typed("a"), 1000.0);
    update(&mut state, Message::Timer(Timer::Work), 1200.0);
    let replaced = (0..20)
        .filter(|n| {
            let died = Message::Died("no worker".into());
            update(&mut state, died, 1300.0 + f64::from(*n)).contains(&Effect::Replace)
        })
        .count();
    assert!(replaced <= 3, "{replaced}");
    assert_eq!(state.name(), "stale");
    update(&mut state, typed("b"), 3000.0);
    let effects = update(&mut state, Message::Timer(Timer::Work), 3200.0);
    let place = |wanted: &dyn Fn(&Effect) -> bool| effects.iter().position(wanted);
    let replaced = place(&|effect| *effect == Effect::Replace);
    assert!(
        replaced.is_some() && replaced < place(&|effect| matches!(effect, Effect::Ask(_))),
        "{effects:?}"
    );
}

#[test]
fn the_shown_degree_follows_the_top_only() {
    let mut state = settled();
    assert_eq!(state.shown, 5);
    update(&mut state, Message::Show(3), 100.0);
    update(
        &mut state,
        Message::Typed(TextField::Degree, "7".into()),
        1000.0,
    );
    let sequence = asked(&update(&mut state, Message::Timer(Timer::Work), 1200.0)).unwrap();
    update(&mut state, sheet(sequence, true, 7), 1210.0);
    assert_eq!(state.shown, 3);
    update(&mut state, Message::Show(99), 1300.0);
    assert_eq!(state.shown, 7);
}

#[test]
fn another_equation_takes_its_own_natural_route() {
    let mut state = settled();
    update(&mut state, Message::Route(RouteChoice::Standing), 100.0);
    assert_eq!(state.inputs.route, RouteChoice::Standing);
    update(&mut state, typed("x y' = y"), 1000.0);
    assert_eq!(state.inputs.route, RouteChoice::Natural);
}

/// The worker may be replaced before it has sent them: then the next one is asked.
#[test]
fn the_data_are_asked_for_and_offered() {
    let mut state = settled();
    let of_the_page = address::encode(&state.inputs);
    let fetched = |effects: &[Effect]| {
        effects.iter().find_map(|effect| match effect {
            Effect::Fetch(inputs) => Some(inputs.clone()),
            _ => None,
        })
    };
    let effects = update(&mut state, Message::Fetch, 1000.0);
    assert_eq!(fetched(&effects).as_ref(), Some(&of_the_page));
    // Two other questions, the second long after the first.
    update(&mut state, typed("y' = x"), 1010.0);
    let effects = update(&mut state, Message::Timer(Timer::Work), 1200.0);
    assert!(asked(&effects).is_some() && fetched(&effects).is_none());
    update(&mut state, typed("y' = x y"), 1300.0);
    let effects = update(&mut state, Message::Timer(Timer::Work), 1600.0);
    assert!(effects.contains(&Effect::Replace));
    assert_eq!(fetched(&effects), Some(of_the_page));
    let effects = update(&mut state, Message::Data("{}".into()), 1700.0);
    assert_eq!(effects, [Effect::OfferData("{}".into())]);
}
