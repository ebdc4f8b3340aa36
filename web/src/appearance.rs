//! One color and one dash pattern for each degree, everywhere: the row's rule, the strip's
//! underline, the curve and its label. The style sheet's part is written from this table too.

use std::fmt::Write;

/// Red, green, blue.
pub type Color = (u8, u8, u8);

/// Colors on light paper: at least 7:1 on it, so that they carry in a room, hues spread so that neighbours stay apart in the
/// common kinds of color blindness (blue against yellow, light against dark).
const ON_LIGHT: [Color; 6] = [
    (82, 80, 16),
    (24, 86, 56),
    (9, 82, 100),
    (29, 74, 148),
    (90, 45, 145),
    (138, 29, 94),
];

/// So many colors there are before they come again.
pub const COLORS: usize = ON_LIGHT.len();

/// The same hues on dark paper.
const ON_DARK: [Color; 6] = [
    (202, 196, 110),
    (124, 199, 160),
    (108, 195, 216),
    (147, 182, 242),
    (197, 164, 240),
    (240, 154, 200),
];

/// Dash patterns: drawn, left out, drawn, …, in CSS pixels. Five against six colors, so that a
/// color comes back with another dash.
const DASHES: [&[f64]; 5] = [
    &[1.6, 3.2],
    &[6.0, 3.6],
    &[9.0, 3.0, 1.8, 3.0],
    &[3.4, 2.6],
    &[13.0, 3.6],
];

/// The page's own colors.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Paper {
    /// Background.
    pub paper: Color,
    /// Text, and the reference solution.
    pub ink: Color,
    /// Axis labels.
    pub soft: Color,
    /// Grid lines.
    pub hair: Color,
    /// The band beyond the radius.
    pub wash: Color,
    /// The band in which the tolerance is kept.
    pub kept: Color,
    /// Is it the dark one?
    pub dark: bool,
}

/// Light paper.
pub const LIGHT: Paper = Paper {
    paper: (251, 249, 243),
    ink: (35, 33, 28),
    soft: (104, 99, 88),
    hair: (217, 211, 196),
    wash: (242, 238, 226),
    kept: (232, 240, 240),
    dark: false,
};

/// Dark paper.
pub const DARK: Paper = Paper {
    paper: (27, 28, 30),
    ink: (233, 228, 216),
    soft: (170, 163, 147),
    hair: (58, 58, 56),
    wash: (37, 38, 41),
    kept: (30, 41, 44),
    dark: true,
};

/// Light paper for a room: everything at least 7:1.
pub const LIGHT_ROOM: Paper = Paper {
    soft: (74, 70, 60),
    ..LIGHT
};

/// Dark paper for a room.
pub const DARK_ROOM: Paper = Paper {
    soft: (200, 193, 178),
    ..DARK
};

/// What comes out of a printer.
pub const PRINTED: Paper = Paper {
    paper: (255, 255, 255),
    ink: (0, 0, 0),
    soft: (68, 68, 68),
    ..LIGHT
};

/// The color of a degree.
pub fn color(degree: usize, paper: &Paper) -> Color {
    let ramp = if paper.dark { ON_DARK } else { ON_LIGHT };
    ramp.into_iter()
        .cycle()
        .nth(degree % ON_LIGHT.len())
        .unwrap_or(paper.ink)
}

/// The dash pattern of a degree.
pub fn dash(degree: usize) -> &'static [f64] {
    DASHES.into_iter().nth(degree % DASHES.len()).unwrap_or(&[])
}

/// The style sheet's classes of a degree.
pub fn classes(degree: usize) -> String {
    format!("c{} k{}", degree % ON_LIGHT.len(), degree % DASHES.len())
}

/// The part of the style sheet that gives those classes their meaning: `--d`, the color, and
/// `--across` and `--down`, the dash pattern as a background.
pub fn style_sheet() -> String {
    let mut out = String::from("/* Written from appearance.rs when the site is built. */\n");
    for (index, (r, g, b)) in ON_LIGHT.into_iter().enumerate() {
        let _ = writeln!(out, ".c{index}{{--d:rgb({r} {g} {b})}}");
    }
    out.push_str("@media screen and (prefers-color-scheme:dark){\n");
    for (index, (r, g, b)) in ON_DARK.into_iter().enumerate() {
        let _ = writeln!(out, ".c{index}{{--d:rgb({r} {g} {b})}}");
    }
    out.push_str("}\n");
    dashes(&mut out);
    out
}

/// The same for blocks on other people's pages, which follow the scheme of the place where they
/// stand (`color-scheme`), whatever the reader's system prefers; with the colors of their pictures.
pub fn block_style_sheet() -> String {
    let mut out =
        String::from("/* Written from appearance.rs when the site is built. */\n.block,.alone{");
    let both = |(r, g, b): Color, (dark_r, dark_g, dark_b): Color| {
        format!("light-dark(rgb({r} {g} {b}),rgb({dark_r} {dark_g} {dark_b}))")
    };
    let own = [
        ("paper", LIGHT.paper, DARK.paper),
        ("ink", LIGHT.ink, DARK.ink),
        ("soft", LIGHT.soft, DARK.soft),
        ("hair", LIGHT.hair, DARK.hair),
        ("wash", LIGHT.wash, DARK.wash),
        ("kept", LIGHT.kept, DARK.kept),
    ];
    for (name, light, dark) in own {
        let _ = write!(out, "--{name}:{};", both(light, dark));
    }
    for (index, (light, dark)) in ON_LIGHT.into_iter().zip(ON_DARK).enumerate() {
        let _ = write!(out, "--degree-{index}:{};", both(light, dark));
    }
    out.push_str("}\n");
    for index in 0..COLORS {
        let _ = writeln!(out, ".block .c{index}{{--d:var(--degree-{index})}}");
    }
    dashes(&mut out);
    out
}

/// The dash patterns' classes.
fn dashes(out: &mut String) {
    for (index, pattern) in DASHES.into_iter().enumerate() {
        let mut stops = String::new();
        let mut at = 0.0;
        for (part, length) in pattern.iter().enumerate() {
            let color = if part % 2 == 0 {
                "var(--d)"
            } else {
                "transparent"
            };
            let _ = write!(stops, ",{color} {at}px {}px", at + length);
            at += length;
        }
        let _ = writeln!(
            out,
            ".k{index}{{--across:repeating-linear-gradient(90deg{stops});--down:repeating-linear-gradient(180deg{stops})}}"
        );
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance, WCAG 2.2.
    fn luminance((r, g, b): Color) -> f64 {
        let linear = |channel: u8| {
            let c = f64::from(channel) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                libm::pow((c + 0.055) / 1.055, 2.4)
            }
        };
        0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b)
    }

    fn contrast(a: Color, b: Color) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn every_color_of_text_can_be_read() {
        let least = [
            (LIGHT, 4.5),
            (DARK, 4.5),
            (LIGHT_ROOM, 7.0),
            (DARK_ROOM, 7.0),
        ];
        for (paper, least) in least {
            for ground in [paper.paper, paper.wash, paper.kept] {
                for text in (0..6)
                    .map(|degree| color(degree, &paper))
                    .chain([paper.ink, paper.soft])
                {
                    let ratio = contrast(text, ground);
                    assert!(ratio >= least, "{text:?} on {ground:?}: {ratio:.2}");
                }
            }
        }
    }

    #[test]
    fn neighbours_differ_in_color_and_dash() {
        for degree in 0..50 {
            assert_ne!(color(degree, &LIGHT), color(degree + 1, &LIGHT));
            assert_ne!(dash(degree), dash(degree + 1));
            assert!(
                (1..30).all(|next| classes(degree) != classes(degree + next)),
                "{degree}"
            );
        }
    }
}
