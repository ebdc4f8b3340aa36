//! Axes: limits, round ticks, labels with true minus signs.

use super::Axis;
use crate::number::rational::integer;
use crate::number::{BigFloat, Rational, decimal, to_f64};
use crate::reference::nice_below;

/// About so many ticks.
const TICKS: i64 = 7;

/// The typographic minus.
const MINUS: char = '\u{2212}';

/// Characters of all labels of a horizontal axis together: more would touch on a narrow screen.
const CHARACTERS: usize = 36;

/// An axis from `low` to `high` exactly, with round ticks inside whose labels stand side by side:
/// fewer of them when they are long.
pub(super) fn horizontal_axis(low: f64, high: f64) -> Axis {
    let wide = |axis: &Axis| {
        let longest = axis
            .ticks
            .iter()
            .map(|(_, text)| text.chars().count())
            .max();
        axis.ticks.len() * longest.unwrap_or(0) > CHARACTERS
    };
    (2..TICKS)
        .rev()
        .map(|count| axis_with(low, high, count))
        .find(|axis| !wide(axis))
        .unwrap_or_else(|| axis_with(low, high, 1))
}

/// An axis from `low` to `high` exactly, with round ticks inside.
pub(super) fn linear_axis(low: f64, high: f64) -> Axis {
    axis_with(low, high, TICKS)
}

fn axis_with(low: f64, high: f64, count: i64) -> Axis {
    let ticks = round_values(low, high, count)
        .into_iter()
        .map(|(value, text)| (value, text.replace('-', &MINUS.to_string())))
        .collect();
    Axis { low, high, ticks }
}

/// An axis whose ends are moved outwards to a tick, when that is near.
pub(super) fn rounded_outwards(low: f64, high: f64) -> Axis {
    let (Some(a), Some(b)) = (exact(low), exact(high)) else {
        return linear_axis(-1.0, 1.0);
    };
    let quarter = step(&a, &b, TICKS) / integer(2);
    let low = to_f64(&((a / &quarter).floor() * &quarter));
    let high = to_f64(&((b / &quarter).ceil() * &quarter));
    linear_axis(low, high)
}

/// A logarithmic axis between two whole powers of ten, labelled 10ⁿ.
pub(super) fn powers_of_ten(low: f64, high: f64) -> Axis {
    let step = libm::ceil((high - low) / 6.0).max(1.0);
    let mut ticks = Vec::new();
    // + 0: no negative zero.
    let mut exponent = libm::ceil(low / step) * step + 0.0;
    // At most a few: the span is bounded by the caller and the step follows it.
    while exponent <= high && ticks.len() < 20 {
        ticks.push((exponent, format!("10{}", superscript(exponent))));
        exponent += step;
    }
    Axis { low, high, ticks }
}

/// Round places between `low` and `high`, about `count` of them.
pub(super) fn round_places(low: f64, high: f64, count: usize) -> Vec<f64> {
    round_values(low, high, i64::try_from(count).unwrap_or(TICKS))
        .into_iter()
        .map(|(value, _)| value)
        .collect()
}

fn exact(value: f64) -> Option<Rational> {
    BigFloat::from_f64(value).to_rational()
}

/// A round step with at least `count`/2.5 and at most 2.5·`count` of them between the two.
fn step(low: &Rational, high: &Rational, count: i64) -> Rational {
    // 2 above the geometric middle of the rounding downwards.
    nice_below(&((high - low) * integer(3) / integer(2) / integer(count)))
}

/// Multiples of a round step, with exact decimal texts.
fn round_values(low: f64, high: f64, count: i64) -> Vec<(f64, String)> {
    let (Some(low), Some(high)) = (exact(low), exact(high)) else {
        return Vec::new();
    };
    if low >= high {
        return Vec::new();
    }
    let step = step(&low, &high, count);
    let first = (&low / &step).ceil();
    (0..=count * 4)
        .map(|i| (&first + integer(i)) * &step)
        .take_while(|value| *value <= high)
        .map(|value| (to_f64(&value), tick_text(&value)))
        .collect()
}

/// A tick's label, exact: plain while short, else with a power of ten.
fn tick_text(value: &Rational) -> String {
    let plain = decimal::plain(value, 6);
    if decimal::parse(&plain).as_ref() == Some(value) && plain.len() <= 9 {
        return plain;
    }
    // As many digits as the value has: neighbours must differ.
    let text = (1..=MOST_DIGITS)
        .map(|digits| decimal::significant_of(value, digits))
        .find(|text| decimal::parse(text).as_ref() == Some(value))
        .unwrap_or_else(|| decimal::significant_of(value, MOST_DIGITS));
    match text.split_once('e') {
        Some((mantissa, exponent)) => match exponent.parse::<i32>() {
            Ok(exponent) => format!("{mantissa}·10{}", superscript(f64::from(exponent))),
            Err(_) => text,
        },
        None => text,
    }
}

/// A tick has no more digits than this.
const MOST_DIGITS: u32 = 20;

/// A whole number in superscript digits.
fn superscript(whole: f64) -> String {
    const DIGITS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];
    format!("{whole:.0}")
        .chars()
        .map(|c| match c.to_digit(10) {
            Some(digit) => DIGITS.get(digit as usize).copied().unwrap_or(c),
            None => '⁻',
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::{linear_axis, powers_of_ten, rounded_outwards};

    fn labels(low: f64, high: f64) -> Vec<String> {
        linear_axis(low, high)
            .ticks
            .into_iter()
            .map(|t| t.1)
            .collect()
    }

    #[test]
    fn ticks_are_round_with_true_minus_signs() {
        assert_eq!(labels(-3.0, 3.0), ["−3", "−2", "−1", "0", "1", "2", "3"]);
        assert_eq!(
            labels(0.0, 0.25),
            ["0", "0.05", "0.1", "0.15", "0.2", "0.25"]
        );
        assert_eq!(labels(0.0, 3e-9)[2], "1·10⁻⁹");
        assert_eq!(labels(1e12, 1.5e12)[0], "1·10¹²");
        assert!(labels(1.0, 1.0).is_empty());
    }

    #[test]
    fn every_span_has_a_few_ticks() {
        for power in -40..40 {
            for mantissa in [1.0, 1.7, 2.3, 3.1, 4.9, 7.7] {
                let high = mantissa * libm::exp10(f64::from(power));
                let count = labels(-high / 3.0, high).len();
                assert!((3..=14).contains(&count), "{high}: {count}");
            }
        }
    }

    #[test]
    fn limits_are_moved_outwards() {
        let axis = rounded_outwards(-0.93, 2.71);
        assert!(axis.low <= -0.93 && axis.low > -1.5 && axis.high >= 2.71 && axis.high < 3.3);
    }

    #[test]
    fn powers_have_superscripts() {
        let axis = powers_of_ten(-24.0, 0.0);
        let labels: Vec<_> = axis.ticks.iter().map(|t| t.1.as_str()).collect();
        assert_eq!(
            labels,
            ["10⁻²⁴", "10⁻²⁰", "10⁻¹⁶", "10⁻¹²", "10⁻⁸", "10⁻⁴", "10⁰"]
        );
    }
}
