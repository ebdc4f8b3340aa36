//! The picture as an SVG file, through plotters' own backend.

use super::fine::units;
use super::picture::{Look, draw};
use crate::protocol::PictureData;
use plotters::drawing::IntoDrawingArea;
use plotters_svg::SVGBackend;

/// plotters divides the font sizes of its SVG by this.
pub const FONT_SCALE: f64 = 1.24;

/// The picture as SVG text; `None` if it can't be drawn.
pub fn write(picture: &PictureData, look: &Look<'_>) -> Option<String> {
    let size = (
        u32::try_from(units(look.size.0)).ok()?,
        u32::try_from(units(look.size.1)).ok()?,
    );
    let mut text = String::new();
    draw(
        &SVGBackend::with_string(&mut text, size).into_drawing_area(),
        picture,
        &Look {
            font_scale: FONT_SCALE,
            ..*look
        },
    )
    .ok()?;
    // Drawn in fine units: shown at its size in pixels.
    let fine = format!("width=\"{}\" height=\"{}\"", size.0, size.1);
    let shown = format!("width=\"{}\" height=\"{}\"", look.size.0, look.size.1);
    Some(text.replacen(&fine, &shown, 1))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::appearance::LIGHT;
    use crate::protocol::{AxisData, CurveData, Numbers};

    #[test]
    fn a_picture_has_its_curves_names_and_band() {
        let axis = |low, high| AxisData {
            low,
            high,
            ticks: vec![(0.0, "0".into())],
        };
        let curve = |degree, y| CurveData {
            degree,
            pieces: vec![Numbers(vec![-1.0, y, 1.0, y])],
        };
        let picture = PictureData {
            x: axis(-1.0, 1.0),
            y: axis(-2.0, 2.0),
            curves: vec![curve(Some(0), 1.0), curve(Some(1), -1.0), curve(None, 0.5)],
            beyond: vec![(0.5, 9.0)],
            kept: vec![],
            proved: vec![],
        };
        let look = Look {
            paper: &LIGHT,
            size: (400.0, 300.0),
            shown: Some(1),
            unknown: "u<v",
            sum: "P",
            upwards: None,
            independent: "x",
            beside: &[],
            candidate: &[],
            dot: Some((0.0, 1.0)),
            logarithmic: false,
            font_scale: 1.0,
        };
        let svg = write(&picture, &look).unwrap();
        assert!(
            svg.starts_with("<svg width=\"400\" height=\"300\" viewBox=\"0 0 3200 2400\""),
            "{svg}"
        );
        assert!(svg.contains("#F2EEE2"), "the band");
        assert!(
            svg.contains("u&lt;v") && svg.matches("\nP\n").count() == 2,
            "names"
        );
        assert!(svg.contains("<circle"), "the center");
        assert!(svg.trim_end().ends_with("</svg>"));
        assert!(!svg.contains("NaN"));
    }
}
