//! Plot data only: polylines, windows, labels. Drawing is the page's.

/// A curve, already cut at the window's edges and at gaps.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// `None`: the reference solution; otherwise the partial sum's degree.
    pub degree: Option<usize>,
    /// Pieces of (x, y).
    pub pieces: Vec<Vec<(f64, f64)>>,
}

/// Axis limits and tick positions.
#[derive(Clone, Debug, PartialEq)]
pub struct Axis {
    /// Low end.
    pub low: f64,
    /// High end.
    pub high: f64,
    /// Ticks with their labels (true minus signs).
    pub ticks: Vec<(f64, String)>,
}

/// One picture: the curves, or the errors (then `y` holds powers of ten, values are log₁₀).
#[derive(Clone, Debug, PartialEq)]
pub struct Picture {
    /// Horizontal axis.
    pub x: Axis,
    /// Vertical axis.
    pub y: Axis,
    /// Curves: partial sums ascending by degree, the reference last.
    pub curves: Vec<Curve>,
    /// Horizontal ranges beyond the (estimated) radius of convergence, to be shaded.
    pub beyond: Vec<(f64, f64)>,
}

/// A row of the table behind the plot.
#[derive(Clone, Debug, PartialEq)]
pub struct TableRow {
    /// x as text.
    pub x: String,
    /// x.
    pub x_value: f64,
    /// Reference value's text, if the reference reaches here.
    pub reference: Option<String>,
    /// Reference value.
    pub reference_value: Option<f64>,
    /// Partial sums, degree 0 to N (doubles rounded once from higher precision).
    pub partial_sums: Vec<f64>,
    /// |P_n − y| for each degree, computed before rounding (no cancellation), where known.
    pub errors: Vec<Option<f64>>,
}

/// Everything that is drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Plot {
    /// Partial sums against the reference.
    pub curves: Picture,
    /// |error|, log₁₀.
    pub errors: Picture,
    /// The same data as a table (every drawn x).
    pub table: Vec<TableRow>,
}
