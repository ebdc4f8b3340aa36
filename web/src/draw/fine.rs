//! plotters places everything on whole units. On a canvas those would be pixels, and thin or
//! dashed curves would be jagged: so the backend reports [`FINE`] times its size, and whoever owns
//! it scales the result down.

use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind,
};

/// Units per CSS pixel.
pub const FINE: f64 = 8.0;

/// CSS pixels to units.
pub fn units(pixels: f64) -> i32 {
    let scaled = (pixels * FINE).round().clamp(-1e7, 1e7);
    #[allow(
        clippy::cast_possible_truncation,
        reason = "clamped just above; a NaN becomes 0"
    )]
    let whole = scaled as i32;
    whole
}

/// CSS pixels to an unsigned number of units, at least one.
pub fn stroke(pixels: f64) -> u32 {
    u32::try_from(units(pixels)).unwrap_or(1).max(1)
}

/// A backend with another size.
pub struct Fine<B> {
    inner: B,
    size: (u32, u32),
}

impl<B> Fine<B> {
    /// `size` in units.
    pub fn new(inner: B, size: (u32, u32)) -> Self {
        Self { inner, size }
    }
}

type Outcome<B> = Result<(), DrawingErrorKind<<B as DrawingBackend>::ErrorType>>;

impl<B: DrawingBackend> DrawingBackend for Fine<B> {
    type ErrorType = B::ErrorType;

    fn get_size(&self) -> (u32, u32) {
        self.size
    }

    fn ensure_prepared(&mut self) -> Outcome<B> {
        self.inner.ensure_prepared()
    }

    fn present(&mut self) -> Outcome<B> {
        self.inner.present()
    }

    fn draw_pixel(&mut self, point: BackendCoord, color: BackendColor) -> Outcome<B> {
        self.inner.draw_pixel(point, color)
    }

    fn draw_line<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
    ) -> Outcome<B> {
        self.inner.draw_line(from, to, style)
    }

    fn draw_rect<S: BackendStyle>(
        &mut self,
        from: BackendCoord,
        to: BackendCoord,
        style: &S,
        fill: bool,
    ) -> Outcome<B> {
        self.inner.draw_rect(from, to, style, fill)
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Outcome<B> {
        self.inner.draw_path(path, style)
    }

    fn draw_circle<S: BackendStyle>(
        &mut self,
        center: BackendCoord,
        radius: u32,
        style: &S,
        fill: bool,
    ) -> Outcome<B> {
        self.inner.draw_circle(center, radius, style, fill)
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(
        &mut self,
        path: I,
        style: &S,
    ) -> Outcome<B> {
        self.inner.fill_polygon(path, style)
    }

    fn draw_text<S: BackendTextStyle>(
        &mut self,
        text: &str,
        style: &S,
        at: BackendCoord,
    ) -> Outcome<B> {
        self.inner.draw_text(text, style, at)
    }
}
