//! Where things are in a picture.

use super::labels::Frame;
use crate::protocol::{AxisData, PictureData};

/// The frame and the axes: from values to CSS pixels and back.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layout {
    /// The frame.
    pub frame: Frame,
    x: (f64, f64),
    y: (f64, f64),
}

impl Layout {
    /// Room for tick labels on the left and below, for the curves' names on the other sides.
    pub fn new(picture: &PictureData, width: f64, height: f64) -> Self {
        let span = |axis: &AxisData| {
            if axis.high > axis.low {
                (axis.low, axis.high)
            } else {
                (axis.low - 1.0, axis.low + 1.0)
            }
        };
        let frame = Frame {
            left: 46.0,
            top: 20.0,
            right: (width - 44.0).max(56.0),
            bottom: (height - 38.0).max(40.0),
        };
        Self {
            frame,
            x: span(&picture.x),
            y: span(&picture.y),
        }
    }

    /// Horizontal place of a value.
    pub fn x(&self, value: f64) -> f64 {
        self.frame.left
            + (value - self.x.0) / (self.x.1 - self.x.0) * (self.frame.right - self.frame.left)
    }

    /// Vertical place of a value.
    pub fn y(&self, value: f64) -> f64 {
        self.frame.bottom
            - (value - self.y.0) / (self.y.1 - self.y.0) * (self.frame.bottom - self.frame.top)
    }

    /// Is there a place across for this value?
    pub fn holds_x(&self, value: f64) -> bool {
        value >= self.x.0 && value <= self.x.1
    }

    /// The value at a horizontal place, kept inside the frame.
    pub fn value_at(&self, x: f64) -> f64 {
        let share = ((x - self.frame.left) / (self.frame.right - self.frame.left)).clamp(0.0, 1.0);
        self.x.0 + share * (self.x.1 - self.x.0)
    }

    /// Is there a place for this value?
    pub fn holds_y(&self, value: f64) -> bool {
        value >= self.y.0 && value <= self.y.1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn values_come_back_from_their_places() {
        let axis = |low, high| AxisData {
            low,
            high,
            ticks: vec![],
        };
        let picture = PictureData {
            x: axis(-2.0, 6.0),
            y: axis(0.0, 1.0),
            curves: vec![],
            beyond: vec![],
            kept: vec![],
            proved: vec![],
        };
        let layout = Layout::new(&picture, 400.0, 300.0);
        for value in [-2.0, 0.5, 6.0] {
            assert!((layout.value_at(layout.x(value)) - value).abs() < 1e-12);
        }
        assert!((layout.value_at(-50.0) + 2.0).abs() < 1e-12);
        assert!(layout.y(1.0) < layout.y(0.0));
    }
}
