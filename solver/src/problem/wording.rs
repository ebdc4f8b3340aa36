//! How derivatives are named in messages and in proposed text.

/// `y`, `y′`, `y″`, `y‴`, `y⁽⁴⁾`, … for messages.
pub(crate) fn derivative(name: &str, order: u32) -> String {
    let name = typeset(name);
    match order {
        0 => name,
        1 => format!("{name}′"),
        2 => format!("{name}″"),
        3 => format!("{name}‴"),
        _ => format!("{name}⁽{}⁾", raised(order)),
    }
}

/// `y`, `y'`, `y''`, `y'''`, `y^(4)`, … for text that goes into a field.
pub(super) fn typed_derivative(name: &str, order: u32) -> String {
    match order {
        0..=3 => {
            let primes = "'".repeat(usize::try_from(order).unwrap_or(0));
            format!("{name}{primes}")
        }
        _ => format!("{name}^({order})"),
    }
}

/// A letter as it is printed in messages: λ, c₀.
pub(crate) fn typeset(name: &str) -> String {
    let (base, index) = name.split_once('_').unwrap_or((name, ""));
    let base = crate::syntax::greek_letter(base).map_or(base.to_owned(), String::from);
    let index: String = index
        .chars()
        .map(|c| {
            let place = c.to_digit(10).and_then(|d| usize::try_from(d).ok());
            place.and_then(|p| "₀₁₂₃₄₅₆₇₈₉".chars().nth(p)).unwrap_or(c)
        })
        .collect();
    base + &index
}

/// `a`, `a and b`, `a, b and c`.
pub(super) fn listed(words: &[&str]) -> String {
    match words {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

fn raised(order: u32) -> String {
    order
        .to_string()
        .chars()
        .filter_map(|digit| {
            let place = usize::try_from(digit.to_digit(10)?).ok()?;
            "⁰¹²³⁴⁵⁶⁷⁸⁹".chars().nth(place)
        })
        .collect()
}
