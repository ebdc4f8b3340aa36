//! The command line, from its words to what is printed.

// The example itself; its `main` only prints what `run` gives.
#[path = "../examples/derive.rs"]
#[allow(dead_code, reason = "`main` is not called here")]
mod derive;

use serde_json::Value;

/// Is there a worksheet, and the JSON.
fn call(words: &[&str]) -> (bool, Value) {
    let (text, worked) = derive::run(words.iter().map(|word| (*word).to_owned()));
    (worked, serde_json::from_str(&text).expect("JSON"))
}

fn texts<'v>(rows: &'v Value, field: &str) -> Vec<&'v str> {
    rows.as_array()
        .expect("a list")
        .iter()
        .map(|row| row[field].as_str().expect("text"))
        .collect()
}

#[test]
fn a_worksheet_has_every_part() {
    let (worked, json) = call(&[
        "u'' + u + u^3/5 = 0",
        "u(0) = 1; u'(0) = 0",
        "--degree",
        "4",
        "--interval",
        "-3/4",
        "pi/2",
        "--at",
        "-1/2",
        "--at",
        "1",
    ]);
    assert!(worked, "{json:#}");
    assert_eq!(json["problem"]["independent"], "x");
    assert_eq!(json["problem"]["unknowns"][0], "u");
    assert_eq!(json["problem"]["equation_order"], 2);
    assert_eq!(json["problem"]["center"], "0");
    assert_eq!(json["problem"]["degree"], 4);
    assert_eq!(json["normal_form"][0]["left"], "u''");
    assert_eq!(json["normal_form"][0]["right"], "-u - u^3/5");
    // u″(0) = −1 − 1/5; u⁗ = −u″ − (3/5)u²u″ − …, at u = 1, u′ = 0: (6/5)(1 + 3/5) = 48/25.
    assert_eq!(
        texts(&json["table"], "value"),
        ["1", "0", "-6/5", "0", "48/25"]
    );
    assert_eq!(
        texts(&json["table"], "coefficient"),
        ["1", "0", "-3/5", "0", "2/25"]
    );
    assert_eq!(json["polynomial"]["u"], "1 - 3*x^2/5 + 2*x^4/25");
    let points = json["reference"]["points"].as_array().expect("points");
    for x in ["-1/2", "1"] {
        assert!(points.iter().any(|point| point["x"] == x), "{x}");
    }
    assert!(json["reference"]["stop"].is_null());
    assert_eq!(json["diagnostics"].as_array().map(Vec::len), Some(0));
}

#[test]
fn exact_values_are_text_that_can_be_read_back() {
    let (worked, json) = call(&["θ'' + 4 sin θ = 0", "θ(0) = 1/2, θ'(0) = 0", "--degree=2"]);
    assert!(!worked, "an option with = is not one: {json:#}");
    let (worked, json) = call(&[
        "θ'' + 4 sin θ = 0",
        "θ(0) = 1/2, θ'(0) = 0",
        "--degree",
        "2",
    ]);
    assert!(worked);
    assert_eq!(texts(&json["table"], "value"), ["1/2", "0", "-4*sin(1/2)"]);
    assert_eq!(json["polynomial"]["theta"], "1/2 - 2*sin(1/2)*t^2");
}

#[test]
fn the_first_terms_that_are_not_zero() {
    let (worked, json) = call(&[
        "y'' = x y",
        "y(0) = 1, y'(0) = 0",
        "--degree",
        "first 3 non-zero terms",
    ]);
    assert!(worked);
    assert_eq!(json["problem"]["degree"], 6);
    assert_eq!(json["polynomial"]["y"], "1 + x^3/6 + x^6/180");
}

#[test]
fn bad_input_gives_only_diagnostics() {
    let (worked, json) = call(&["θ'' + sine θ = 0", "θ(0) = 1/2, θ'(0) = 0"]);
    assert!(!worked);
    let keys: Vec<&String> = json.as_object().expect("an object").keys().collect();
    assert_eq!(keys, ["diagnostics"]);
    let first = &json["diagnostics"][0];
    assert_eq!(first["severity"], "error");
    assert_eq!(first["field"], "equation");
    // Counted in code points: θ, two primes, " + " come before.
    assert_eq!(first["start"], 6, "{json:#}");
    assert_eq!(first["end"], 10);
    assert!(
        first["suggestions"]
            .as_array()
            .is_some_and(|s| !s.is_empty())
    );
}

#[test]
fn a_bad_command_line_says_how_it_is_written() {
    for words in [
        &[][..],
        &["y' = y"],
        &["y' = y", "y(0) = 1", "--degree"],
        &["y' = y", "y(0) = 1", "--interval", "0"],
        &["y' = y", "y(0) = 1", "--colour"],
        &["y' = y", "y(0) = 1", "third"],
    ] {
        let (worked, json) = call(words);
        assert!(!worked, "{words:?}");
        assert_eq!(json["diagnostics"][0]["code"], "command-line", "{words:?}");
    }
}

#[test]
fn points_and_intervals_that_cannot_be_read_are_errors() {
    for (words, code) in [
        (["--interval", "1", "0"], "interval-order"),
        (["--interval", "1", ""], "half-an-interval"),
    ] {
        let mut all = vec!["y' = y", "y(0) = 1"];
        all.extend(words);
        let (worked, json) = call(&all);
        assert!(!worked);
        assert_eq!(json["diagnostics"][0]["code"], code);
        assert_eq!(json["diagnostics"][0]["field"], "interval");
    }
    let (worked, json) = call(&["y' = y", "y(0) = 1", "--at", "1", "--at", "2 +"]);
    assert!(!worked);
    assert_eq!(json["diagnostics"][0]["field"], "at");
    // The second point's text stands behind the first one's and a line break.
    assert!(
        json["diagnostics"][0]["start"].as_u64() >= Some(2),
        "{json:#}"
    );
}

/// Where closed forms outgrow reading the polynomial ends, with a reason and a lower degree.
#[test]
fn closed_forms_that_are_too_long_are_announced() {
    let (worked, json) = call(&[
        "y' = sin(y) + e^y + sqrt(y)",
        "y(0) = 1/3",
        "--degree",
        "14",
    ]);
    assert!(worked);
    let rows = json["table"].as_array().expect("rows").len();
    assert!((5..14).contains(&rows), "{rows}");
    let diagnostics = json["diagnostics"].as_array().expect("a list");
    let notice = diagnostics
        .iter()
        .find(|d| d["code"] == "closed-form-too-long")
        .expect("a notice");
    assert_eq!(notice["severity"], "notice");
    let offered = notice["suggestions"][0]["edits"][0]["replacement"].as_str();
    assert_eq!(offered, Some((rows - 1).to_string().as_str()));
}

#[test]
fn an_equation_differentiated_as_it_stands_has_expressions_for_the_new_derivative() {
    let (worked, json) = call(&[
        "x y'' - 2y' = x^2",
        "y(3) = 1, y'(3) = 1/2",
        "--degree",
        "5",
    ]);
    assert!(worked);
    assert_eq!(json["route"], "as it stands");
    assert_eq!(
        texts(&json["table"], "expression"),
        [
            "y",
            "y'",
            "(x^2 + 2*y')/x",
            "(2*x + y'')/x",
            "2/x",
            "-y^(4)/x"
        ]
    );
    assert_eq!(json["table"][1]["equation"], Value::Null);
    assert_eq!(json["table"][3]["equation"], "-y'' + x*y''' = 2*x");
    // By hand: y‴(3) = (6 + 10/3)/3.
    assert_eq!(json["table"][3]["value"], "28/9");
}
