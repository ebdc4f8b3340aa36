use dashu_float::round::mode::HalfEven;
use dashu_float::{Context, Repr};

use super::{BigFloat, Precision};
use crate::number::Rational;
use crate::number::rational::ratio;

type Own = fn(&BigFloat, &Precision) -> BigFloat;
type Outside = fn(&Context<HalfEven>, &Repr<2>) -> Option<Repr<2>>;

macro_rules! outside {
    ($method:ident) => {
        |context, x| Some(context.$method(x, None).ok()?.value().into_repr())
    };
}

/// Name, ours, the reference library's, and the powers of two that arguments are taken from.
const FUNCTIONS: &[(&str, Own, Outside, i32, i32)] = &[
    ("exp", BigFloat::exp, outside!(exp), -200, 10),
    ("ln", BigFloat::ln, outside!(ln), -300, 300),
    ("sin", BigFloat::sin, outside!(sin), -200, 20),
    ("cos", BigFloat::cos, outside!(cos), -200, 20),
    ("tan", BigFloat::tan, outside!(tan), -200, 20),
    ("arcsin", BigFloat::arcsin, outside!(asin), -200, 0),
    ("arccos", BigFloat::arccos, outside!(acos), -200, 0),
    ("arctan", BigFloat::arctan, outside!(atan), -200, 200),
    ("sinh", BigFloat::sinh, outside!(sinh), -200, 10),
    ("cosh", BigFloat::cosh, outside!(cosh), -200, 10),
    ("tanh", BigFloat::tanh, outside!(tanh), -200, 10),
    ("arsinh", BigFloat::arsinh, outside!(asinh), -200, 200),
    ("arcosh", BigFloat::arcosh, outside!(acosh), 1, 200),
    ("artanh", BigFloat::artanh, outside!(atanh), -200, 0),
];

fn next(seed: &mut u64) -> u64 {
    *seed = seed
        .wrapping_mul(6_364_136_223_846_793_005)
        .wrapping_add(1_442_695_040_888_963_407);
    *seed >> 11
}

fn to_repr(value: &BigFloat) -> Repr<2> {
    let magnitude = dashu_int::UBig::from_le_bytes(&value.magnitude.to_bytes_le());
    let sign = if value.negative {
        dashu_int::Sign::Negative
    } else {
        dashu_int::Sign::Positive
    };
    let exponent = isize::try_from(value.exponent).expect("small");
    Repr::new(dashu_int::IBig::from_parts(sign, magnitude), exponent)
}

fn from_repr(value: &Repr<2>) -> BigFloat {
    let (sign, magnitude) = value.significand().clone().into_parts();
    let magnitude = num_bigint::BigUint::from_bytes_le(&magnitude.to_le_bytes());
    BigFloat::exactly(
        sign == dashu_int::Sign::Negative,
        magnitude,
        value.exponent() as i64,
    )
}

/// Random arguments of all sizes, and some hard by the pole, the zero or the end of the domain.
fn arguments(seed: &mut u64, low: i32, high: i32, bits: usize) -> Vec<BigFloat> {
    let precision = Precision::new(bits);
    let mut found = Vec::new();
    for _ in 0..24 {
        let span = u64::from(high.abs_diff(low));
        let scale = low + i32::try_from(next(seed) % span).expect("small");
        let digits = ratio(
            i64::try_from(next(seed) | 1 << 52).expect("53 bits"),
            1 << 53,
        );
        let value = BigFloat::from_rational(&digits, &precision).shifted(scale);
        found.push(if next(seed).is_multiple_of(2) {
            value.negated()
        } else {
            value
        });
    }
    let near_one = BigFloat::from_i64(1).minus(&BigFloat::power_of_two(-40), &precision);
    found.extend([
        near_one.clone(),
        near_one.negated(),
        BigFloat::from_i64(1).plus(&BigFloat::power_of_two(-60), &precision),
        BigFloat::from_i64(1),
        BigFloat::pi(&precision),
        BigFloat::pi(&precision).scaled(-7, 2, &precision),
        BigFloat::from_i64(710),
    ]);
    found
}

/// `dashu-float` rounds correctly; we promise less than one unit in the last place.
#[test]
fn within_one_unit_of_the_reference_library() {
    let mut seed = 20_260_301;
    let mut compared = 0;
    for bits in [53, 128, 300, 1000] {
        let (precision, context) = (Precision::new(bits), Context::<HalfEven>::new(bits));
        for (name, own, outside, low, high) in FUNCTIONS {
            for x in arguments(&mut seed, *low, *high, bits) {
                let got = own(&x, &precision);
                let Some(expected) = outside(&context, &to_repr(&x)).filter(Repr::is_finite) else {
                    assert!(!got.is_finite(), "{name} {x:?}: {got:?}");
                    continue;
                };
                let expected = from_repr(&expected);
                let error = got.minus(&expected, &precision).log2_abs();
                let unit =
                    expected.log2_abs() + 1.0 - f64::from(u32::try_from(bits).expect("small"));
                assert!(
                    error <= unit + 0.01 || expected.is_zero() && got.is_zero(),
                    "{name} {x:?} at {bits} bits: off by 2^{error}, unit 2^{unit}"
                );
                compared += 1;
            }
        }
    }
    assert!(compared > 1000, "{compared}");
}

/// Is `got` a nearest number of so many bits to the exact value?
fn assert_nearest(got: &BigFloat, exact: &Rational, bits: usize, what: &str) {
    assert!(got.significand_bits() <= bits as u64, "{what}: {got:?}");
    let half_unit = BigFloat::power_of_two(isize::try_from(got.top()).expect("small"))
        .shifted(-i32::try_from(bits).expect("small") - 1);
    let error = got.to_rational().expect("finite") - exact;
    assert!(
        num_traits::Signed::abs(&error) <= half_unit.to_rational().expect("finite")
            || num_traits::Zero::is_zero(&error),
        "{what}: {got:?} for {exact}"
    );
}

#[test]
fn the_four_operations_and_the_root_are_rounded_to_nearest() {
    let mut seed = 7;
    for bits in [2, 3, 24, 64, 200] {
        let precision = Precision::new(bits);
        for _ in 0..400 {
            let mut some = || {
                let size = next(&mut seed) % 50;
                let value = i64::try_from(next(&mut seed) >> size).expect("53 bits");
                let scale = i32::try_from(next(&mut seed) % 160).expect("small") - 80;
                BigFloat::from_i64(value - (value & 64) * 2).shifted(scale)
            };
            let (a, b) = (some(), some());
            let exact = |v: &BigFloat| v.to_rational().expect("finite");
            let (ra, rb) = (exact(&a), exact(&b));
            assert_nearest(&a.plus(&b, &precision), &(&ra + &rb), bits, "sum");
            assert_nearest(&a.minus(&b, &precision), &(&ra - &rb), bits, "difference");
            assert_nearest(&a.times(&b, &precision), &(&ra * &rb), bits, "product");
            if !b.is_zero() {
                assert_nearest(&a.over(&b, &precision), &(&ra / &rb), bits, "quotient");
            }
            let square = a.times(&a, &Precision::new(400));
            let root = square.sqrt(&precision);
            assert_nearest(&root, &exact(&a.absolute()), bits, "root");
            assert_nearest(&BigFloat::from_f64(a.to_f64()), &ra, 53, "double");
        }
    }
    // A tie goes to the even number, and the least bit beyond a tie does not.
    let (p, one) = (Precision::new(3), BigFloat::power_of_two(0));
    for (significand, expected) in [(9, 8), (11, 12), (-9, -8), (17, 16)] {
        let value = BigFloat::from_i64(significand);
        assert_eq!(
            value.rounded(&p),
            BigFloat::from_i64(expected),
            "{significand}"
        );
    }
    let beyond = BigFloat::from_i64(9).plus(&one.shifted(-90), &p);
    assert_eq!(beyond, BigFloat::from_i64(10));
    let short = BigFloat::from_i64(11).minus(&one.shifted(-90), &p);
    assert_eq!(short, BigFloat::from_i64(10));
    // √2 is irrational: its square lies on the right sides.
    let (root, p) = (
        BigFloat::from_i64(2).sqrt(&Precision::new(100)),
        Precision::new(300),
    );
    let unit = BigFloat::power_of_two(-100);
    let below = root.minus(&unit, &p);
    let above = root.plus(&unit, &p);
    assert!(
        below
            .times(&below, &p)
            .minus(&BigFloat::from_i64(2), &p)
            .is_negative()
    );
    assert!(
        !above
            .times(&above, &p)
            .minus(&BigFloat::from_i64(2), &p)
            .is_negative()
    );
}

#[test]
fn doubles_at_the_edge_of_their_range() {
    let tiny = BigFloat::power_of_two(-1074);
    for (value, expected) in [
        (tiny.clone(), 5e-324),
        (tiny.shifted(-1), 0.0),
        (tiny.scaled(3, 4, &Precision::new(64)), 5e-324),
        (tiny.scaled(-3, 2, &Precision::new(64)), -1e-323),
        (tiny.shifted(-2), 0.0),
        (BigFloat::from_f64(f64::MAX), f64::MAX),
        (BigFloat::power_of_two(1024), f64::INFINITY),
        (BigFloat::from_f64(1.5e-310), 1.5e-310),
    ] {
        assert_eq!(
            value.to_f64().to_bits(),
            f64::to_bits(expected),
            "{value:?}"
        );
    }
}

fn text(value: &BigFloat, digits: u32) -> String {
    crate::number::decimal::significant(value, digits)
}

#[test]
fn published_constants() {
    let precision = Precision::new(128);
    // DLMF 3.12.1: π = 3.14159 26535 89793 23846…; DLMF 4.2.11: e = 2.71828 18284 59045 23536….
    assert_eq!(
        text(&BigFloat::pi(&precision), 21),
        "3.14159265358979323846"
    );
    let one = BigFloat::from_i64(1);
    assert_eq!(text(&one.exp(&precision), 21), "2.71828182845904523536");
    // √2 = 1.41421 35623 73095 04880 16887… (OEIS A002193).
    let root = BigFloat::from_i64(2).power(&ratio(1, 2), &precision);
    assert_eq!(text(&root, 26), "1.4142135623730950488016887");
    // ∛2 = 1.25992 10498 94873 16476 7… (OEIS A002580).
    let cube = BigFloat::from_i64(2).power(&ratio(1, 3), &precision);
    assert_eq!(text(&cube, 22), "1.259921049894873164767");
}

#[test]
fn nothing_panics_outside_a_domain() {
    let p = Precision::new(128);
    let minus = BigFloat::from_i64(-2);
    let huge = BigFloat::power_of_two(3_000_000);
    for none in [
        minus.ln(&p),
        BigFloat::ZERO.ln(&p),
        minus.power(&ratio(1, 4), &p),
        BigFloat::ZERO.power(&ratio(-1, 3), &p),
        BigFloat::ZERO.power(&ratio(-1, 1), &p),
        BigFloat::from_i64(1).over(&BigFloat::ZERO, &p),
        BigFloat::ZERO.over(&BigFloat::ZERO, &p),
        minus.arcsin(&p),
        minus.artanh(&p),
        BigFloat::from_i64(1).artanh(&p),
        BigFloat::ZERO.arcosh(&p),
        huge.exp(&p),
        huge.sin(&p),
        huge.times(&huge, &p),
        huge.power(&ratio(1_000_000_000, 1), &p),
        BigFloat::NONE.plus(&minus, &p),
        BigFloat::NONE.sin(&p),
    ] {
        assert!(!none.is_finite(), "{none:?}");
    }
    assert!(huge.power(&ratio(-1, 1), &p).is_finite());
}

#[test]
fn odd_roots_of_negative_numbers_are_real() {
    let p = Precision::new(100);
    let root = |value: i64, numerator, denominator| {
        let value = BigFloat::from_i64(value);
        value.power(&ratio(numerator, denominator), &p).to_f64()
    };
    assert!((root(-8, 1, 3) + 2.0).abs() < 1e-15);
    assert!((root(-8, 2, 3) - 4.0).abs() < 1e-15);
    assert!((root(-32, -3, 5) + 0.125).abs() < 1e-15);
}

#[test]
fn fractions_and_doubles_go_through_unchanged() {
    let p = Precision::new(200);
    for value in [ratio(-7, 1024), ratio(5, 1), ratio(0, 1), ratio(1, 1 << 40)] {
        assert_eq!(
            BigFloat::from_rational(&value, &p).to_rational(),
            Some(value)
        );
    }
    let tenth = BigFloat::from_rational(&ratio(1, 10), &p);
    assert!((tenth.to_f64() - 0.1).abs() <= 0.0);
    let pair = tenth.to_double_double();
    let back = BigFloat::from_double_double(pair);
    assert!(back.minus(&tenth, &p).log2_abs() - tenth.log2_abs() < -106.0);
}
