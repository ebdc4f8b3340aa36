//! Decimal numbers as they are read: a true minus sign, a power of ten written out, no more digits
//! than are wanted; and back.

/// A number to so many significant digits: `2.3500`, `−0.110`, `3.2 × 10⁻⁷`.
pub fn significant(value: f64, digits: usize) -> String {
    if !value.is_finite() {
        return "beyond all bounds".into();
    }
    typeset(&plain(value, digits))
}

/// A finite number to so many significant digits, as programs read it: `2.3500`, `-0.110`, `3.2e-7`.
pub fn plain(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".into();
    }
    // Rust prints the exact decimal expansion correctly rounded, the same everywhere.
    let scientific = format!("{value:.*e}", digits.saturating_sub(1));
    let (mantissa, exponent) = scientific.split_once('e').unwrap_or((&scientific, "0"));
    let power: i32 = exponent.parse().unwrap_or(0);
    // Digits in front of the point that are not wanted would have to be made up.
    let whole = i32::try_from(digits).unwrap_or(i32::MAX).max(4);
    if (-4..=9).contains(&power) && power < whole {
        let places = i32::try_from(digits).unwrap_or(0) - 1 - power;
        format!("{value:.*}", usize::try_from(places).unwrap_or(0))
    } else {
        format!("{mantissa}e{power}")
    }
}

/// The first digits of a number of which all digits are certain: `0.35502…`.
pub fn cut(certain: &str, digits: usize) -> String {
    let (mantissa, exponent) = certain.split_once('e').unwrap_or((certain, ""));
    let whole = mantissa.find('.').unwrap_or(mantissa.len());
    let mut left = digits;
    let mut end = mantissa.len();
    let mut leading = true;
    for (at, character) in mantissa.char_indices() {
        if left == 0 && at >= whole {
            end = at;
            break;
        }
        leading &= !matches!(character, '1'..='9');
        if character.is_ascii_digit() && !leading {
            left = left.saturating_sub(1);
        }
    }
    let more = if end < mantissa.len() { "…" } else { "" };
    let power = if exponent.is_empty() { "" } else { "e" };
    let shown = mantissa.get(..end).unwrap_or(mantissa);
    format!("{shown}{more}{power}{exponent}")
}

/// The number nearest to a text of digits such as `-1.25e-9`. (The standard library's reading would
/// do, but for its table of powers: ten kilobytes of the download.)
pub fn number(text: &str) -> Option<f64> {
    let exact = solver::number::decimal::parse(text)?;
    Some(solver::number::convert::to_f64(&exact))
}

/// A text of digits such as `-1.25e-9` as it is read.
pub fn typeset(text: &str) -> String {
    let shown = match text.split_once(['e', 'E']) {
        Some((mantissa, exponent)) => match exponent.parse() {
            Ok(power) => format!("{mantissa} × 10{}", superscript(power)),
            Err(_) => text.to_owned(),
        },
        None => text.to_owned(),
    };
    shown.replace('-', "−")
}

fn superscript(power: i32) -> String {
    power
        .to_string()
        .chars()
        .map(|character| match character {
            '-' => '⁻',
            '1' => '¹',
            '2' => '²',
            '3' => '³',
            digit => digit
                .to_digit(10)
                .and_then(|digit| char::from_u32(0x2070 + digit))
                .unwrap_or(digit),
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_signed_as_in_print() {
        for (value, digits, expected) in [
            (2.35, 5, "2.3500"),
            (-0.112_217, 2, "−0.11"),
            (3.2e-7, 2, "3.2 × 10⁻⁷"),
            (-1.5e12, 3, "−1.50 × 10¹²"),
            (0.0, 4, "0"),
            (1234.5, 3, "1234"),
            (135_131.6, 2, "1.4 × 10⁵"),
            (135_131.6, 9, "135131.600"),
            (f64::INFINITY, 3, "beyond all bounds"),
        ] {
            assert_eq!(significant(value, digits), expected);
        }
        assert_eq!(typeset("-1.25e-9"), "−1.25 × 10⁻⁹");
        assert_eq!(typeset("-0.355"), "−0.355");
    }

    #[test]
    fn certain_digits_are_cut_and_never_rounded() {
        assert_eq!(cut("-0.0012349999", 4), "-0.001234…");
        assert_eq!(cut("123456.75", 4), "123456…");
        assert_eq!(cut("1.25", 6), "1.25");
        assert_eq!(cut("1.23456e-9", 3), "1.23…e-9");
        assert_eq!(typeset("1.23…e-9"), "1.23… × 10⁻⁹");
    }

    #[test]
    fn texts_are_read_as_the_nearest_number() {
        for text in ["0.1", "-1.25e-9", "12", "1e308", "2.4703282292062328e-324"] {
            assert_eq!(number(text), text.parse().ok(), "{text}");
        }
        for text in ["", "-", "1/2", "sin 1", "1e"] {
            assert_eq!(number(text), None, "{text}");
        }
    }
}
