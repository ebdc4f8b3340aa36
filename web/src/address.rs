//! The worksheet's address: the fragment behind `#`, written like a query string, so that a link
//! carries the whole problem and no server ever sees it.

use crate::inputs::{Choice, Inputs};

/// Longest fragment that is read; anything longer is no address of ours.
const LONGEST: usize = 16_384;

/// So many numbers for letters are read.
const MOST_NUMBERS: usize = 40;

/// The fragment (without `#`) for these inputs. Fields that are empty, or as they are by default,
/// are left out; the equation always stands.
pub fn encode(inputs: &Inputs) -> String {
    let fresh = Inputs::default();
    let mut out = format!("equation={}", escape(&inputs.equation));
    let mut add = |name: &str, value: &str, default: &str| {
        if value != default {
            out.push('&');
            out.push_str(name);
            out.push('=');
            out.push_str(&escape(value));
        }
    };
    add("conditions", &inputs.conditions, "");
    add("degree", &inputs.degree, "");
    add("from", &inputs.from, "");
    add("to", &inputs.to, "");
    add("tolerance", &inputs.tolerance, "");
    add("at", &inputs.at, "");
    add("beside", &inputs.beside, "");
    // A letter is written in letters, digits and underscores only.
    let numbers: Vec<String> = inputs
        .numbers
        .iter()
        .filter(|(_, text)| !text.is_empty())
        .map(|(letter, text)| format!("{letter}={}", text.replace(';', " ")))
        .collect();
    add("numbers", &numbers.join(";"), "");
    add("candidate", &inputs.candidate, "");
    add("route", inputs.route.name(), fresh.route.name());
    add("depth", inputs.depth.name(), fresh.depth.name());
    add("figures", inputs.figures.name(), fresh.figures.name());
    add("digits", inputs.digits.name(), fresh.digits.name());
    add("unknown", &inputs.unknown, "");
    add("across", &inputs.across, "");
    add("up", &inputs.up, "");
    add("ask", if inputs.ask { "yes" } else { "" }, "");
    add("present", &inputs.present, "");
    out
}

/// The inputs of a fragment, with or without its `#`; `None` when it names no equation. Unknown
/// names and unknown choices are passed over, so that addresses outlive changes of the page.
pub fn decode(fragment: &str) -> Option<Inputs> {
    let fragment = fragment.strip_prefix('#').unwrap_or(fragment);
    if fragment.len() > LONGEST {
        return None;
    }
    let mut inputs = Inputs::default();
    let mut found = false;
    for (name, value) in pairs(fragment) {
        match name {
            "equation" => {
                found = true;
                inputs.equation = value;
            }
            "conditions" => inputs.conditions = value,
            "degree" => inputs.degree = value,
            "from" => inputs.from = value,
            "to" => inputs.to = value,
            "tolerance" => inputs.tolerance = value,
            "at" => inputs.at = value,
            "beside" => inputs.beside = value,
            "numbers" => {
                let pairs = value.split(';').filter_map(|pair| pair.split_once('='));
                for (letter, text) in pairs.take(MOST_NUMBERS) {
                    inputs.set_number(letter, text.to_owned());
                }
            }
            "candidate" => inputs.candidate = value,
            "route" => inputs.route = Choice::parse(&value).unwrap_or_default(),
            "depth" => inputs.depth = Choice::parse(&value).unwrap_or_default(),
            "figures" => inputs.figures = Choice::parse(&value).unwrap_or_default(),
            "digits" => inputs.digits = Choice::parse(&value).unwrap_or_default(),
            "unknown" => inputs.unknown = value,
            "across" => inputs.across = value,
            "up" => inputs.up = value,
            "ask" => inputs.ask = value == "yes",
            "present" => inputs.present = value,
            _ => {}
        }
    }
    found.then_some(inputs)
}

/// The names and values of a query string.
pub fn pairs(text: &str) -> impl Iterator<Item = (&str, String)> {
    let pairs = text.split('&').filter_map(|pair| pair.split_once('='));
    pairs.map(|(name, value)| (name, unescape(value)))
}

/// Percent-encodes everything but the unreserved characters (RFC 3986, section 2.3); a space
/// becomes `+`, as in query strings.
pub fn escape(text: &str) -> String {
    const HEX: &[u8; 16] = b"0123456789ABCDEF";
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        match byte {
            b'A'..=b'Z' | b'a'..=b'z' | b'0'..=b'9' | b'-' | b'.' | b'_' | b'~' => {
                out.push(char::from(byte));
            }
            b' ' => out.push('+'),
            _ => {
                out.push('%');
                for digit in [byte >> 4, byte & 15] {
                    out.push(
                        HEX.get(usize::from(digit))
                            .map_or('0', |hex| char::from(*hex)),
                    );
                }
            }
        }
    }
    out
}

/// The reverse of [`escape`]; a `%` without two digits stands for itself, bytes that are no UTF-8
/// become the replacement character.
fn unescape(text: &str) -> String {
    let bytes = text.as_bytes();
    let digit = |at: usize| {
        bytes
            .get(at)
            .and_then(|byte| char::from(*byte).to_digit(16))
            .and_then(|digit| u8::try_from(digit).ok())
    };
    let mut out = Vec::with_capacity(bytes.len());
    let mut at = 0;
    while let Some(byte) = bytes.get(at) {
        match (byte, digit(at + 1), digit(at + 2)) {
            (b'%', Some(high), Some(low)) => {
                out.push(high * 16 + low);
                at += 2;
            }
            (b'+', ..) => out.push(b' '),
            _ => out.push(*byte),
        }
        at += 1;
    }
    String::from_utf8_lossy(&out).into_owned()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::inputs::{Depth, Digits, Figures, RouteChoice};

    #[test]
    fn every_field_survives_the_address() {
        let inputs = Inputs {
            equation: "θ'' + 0.1 θ' + sin θ = 0 & more = 100 % <b>".into(),
            conditions: "θ(0) = 1/2; θ'(0) = -1+2".into(),
            degree: "first 4 non-zero terms".into(),
            from: "-3/4".into(),
            to: "pi/2".into(),
            tolerance: "10^-6".into(),
            at: "pi/2".into(),
            beside: "θ(0) = 1, θ'(0) = 0 or x = 1".into(),
            numbers: vec![
                ("k".into(), "1/2".into()),
                ("c_0".into(), "-sqrt(2)".into()),
            ],
            candidate: "θ = 1/2 + sin(t)".into(),
            route: RouteChoice::Standing,
            depth: Depth::Rules,
            figures: Figures::Decimals,
            digits: Digits::Thirty,
            unknown: "θ".into(),
            across: "y_1".into(),
            up: "v".into(),
            present: "order-3.1.ask".into(),
            ask: true,
        };
        let address = encode(&inputs);
        assert!(
            address
                .bytes()
                .all(|byte| byte.is_ascii_alphanumeric() || b"-._~%+=&".contains(&byte)),
            "{address}"
        );
        assert_eq!(decode(&address), Some(inputs.clone()));
        assert_eq!(decode(&format!("#{address}")), Some(inputs));
    }

    #[test]
    fn defaults_stay_out_of_the_address() {
        let inputs = Inputs {
            equation: "y' = y".into(),
            ..Inputs::default()
        };
        assert_eq!(encode(&inputs), "equation=y%27+%3D+y");
    }

    #[test]
    fn strange_addresses_are_read_as_far_as_they_go() {
        assert_eq!(decode(""), None);
        assert_eq!(decode("#section-2"), None);
        assert_eq!(decode("degree=5"), None);
        assert_eq!(decode(&format!("equation={}", "x".repeat(LONGEST))), None);
        let read = decode("equation=a%2&route=sideways&colour=red&degree=%zz&to=%FF").unwrap();
        assert_eq!(read.equation, "a%2");
        assert_eq!(read.route, RouteChoice::Natural);
        assert_eq!(read.degree, "%zz");
        assert_eq!(read.to, "\u{fffd}");
    }
}
