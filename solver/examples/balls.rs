//! Works out single operations on balls, one a line, for comparison with a reference library.
//!
//! A line of input is `NAME BITS OPERAND…`: the name of a function, `add`, `subtract`, `multiply`,
//! `divide` or `power:EXPONENT`; the bits of midpoints (106: double-doubles), or `closed` for the
//! enclosure of a closed constant; and for each operand its midpoint and its radius, as fractions. A line of
//! output is the lower and the upper end, as fractions, or `none` where nothing is proved.

use std::io::{BufRead, Write};
use std::str::FromStr;

use num_bigint::BigInt;
use solver::enclosed::{Ball, Operation, elementary};
use solver::expression::{Expr, Function, enclose};
use solver::number::big_float::Precision;
use solver::number::{BigFloat, Rational, to_f64};

/// Bits asked of enclosures of closed constants.
const CLOSED_BITS: usize = 110;

fn main() -> std::io::Result<()> {
    let mut output = std::io::BufWriter::new(std::io::stdout());
    for line in std::io::stdin().lock().lines() {
        match answer(&line?) {
            Some((low, high)) => writeln!(output, "{} {}", text(&low), text(&high))?,
            None => writeln!(output, "none")?,
        }
    }
    output.flush()
}

fn text(value: &Rational) -> String {
    format!("{}/{}", value.numer(), value.denom())
}

fn fraction(text: &str) -> Option<Rational> {
    let (above, below) = text.split_once('/').unwrap_or((text, "1"));
    let below = BigInt::from_str(below)
        .ok()
        .filter(|below| *below != BigInt::from(0))?;
    Some(Rational::new(BigInt::from_str(above).ok()?, below))
}

fn answer(line: &str) -> Option<(Rational, Rational)> {
    let mut words = line.split_whitespace();
    let (name, bits) = (words.next()?, words.next()?);
    let numbers: Vec<Rational> = words.map(fraction).collect::<Option<_>>()?;
    if bits == "closed" {
        return closed(name, numbers.first()?);
    }
    let bits = bits.parse().ok()?;
    let operation = match name {
        "add" => Operation::Add,
        "subtract" => Operation::Subtract,
        "multiply" => Operation::Multiply,
        "divide" => Operation::Divide,
        _ => match name.strip_prefix("power:") {
            Some(exponent) => Operation::Power(fraction(exponent)?),
            None => Operation::Call(Function::from_name(name)?),
        },
    };
    let exact = |value: &Rational| BigFloat::from_rational(value, &Precision::new(4000));
    let operands: Vec<Ball> = numbers
        .chunks_exact(2)
        .filter_map(|pair| {
            let [mid, radius] = pair else { return None };
            Some(Ball {
                mid: exact(mid),
                radius: to_f64(radius),
            })
        })
        .collect();
    elementary(&operation, &operands, bits).ok()?.ends()
}

/// The enclosure of the function, or power, of a fraction.
fn closed(name: &str, number: &Rational) -> Option<(Rational, Rational)> {
    let number = Expr::number(number.clone());
    let value = match name.strip_prefix("power:") {
        Some(exponent) => Expr::raw_power(number, Expr::number(fraction(exponent)?)),
        None => Expr::raw_call(Function::from_name(name)?, number),
    };
    enclose(&value, CLOSED_BITS).ok()?.to_rationals()
}
