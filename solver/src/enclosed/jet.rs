//! Sums of terms c·tᵏ near a place: value, slope, half the second derivative, and bounds of the rest.

/// The sum at the middle of a piece, and bounds over the piece.
pub(crate) struct Jet {
    /// Value, slope, half the second derivative at the middle.
    pub(crate) parts: [f64; 3],
    /// Sum of the sizes of the terms.
    pub(crate) bulk: f64,
    /// Sum of the sizes of their slopes.
    pub(crate) slope: f64,
    /// Sum of the sizes of their third derivatives, over 6.
    pub(crate) cubic: f64,
}

/// Powers of a place and of the largest distance in a piece about it.
#[derive(Clone)]
pub(crate) struct Powers {
    t: f64,
    /// tᵏ⁻², tᵏ⁻¹, tᵏ; zero where the exponent is negative.
    own: [f64; 3],
    far: f64,
    /// The same of the distance, from the exponent k − 3 on.
    reach: [f64; 4],
}

/// k as a double.
pub(crate) fn count(k: usize) -> f64 {
    u32::try_from(k).map_or(f64::INFINITY, f64::from)
}

impl Jet {
    pub(crate) const ZERO: Self = Self {
        parts: [0.0; 3],
        bulk: 0.0,
        slope: 0.0,
        cubic: 0.0,
    };

    /// Adds c·tᵏ; the powers are those of k.
    pub(crate) fn add(&mut self, k: usize, c: f64, powers: &Powers) {
        let [low, middle, high] = powers.own;
        let n = count(k);
        let [value, slope, bent] = &mut self.parts;
        *value += c * high;
        *slope += n * c * middle;
        *bent += n * (n - 1.0) / 2.0 * c * low;
        let size = libm::fabs(c);
        let [lowest, _, low, own] = powers.reach;
        self.bulk += size * own;
        self.slope += n * size * low;
        self.cubic += n * (n - 1.0) * (n - 2.0) / 6.0 * size * lowest;
    }

    /// What so many terms, of exponents up to their number, lose at most by rounding, in all parts
    /// together: each of them times its power of the piece's half length is at most the bulk
    /// (binomial theorem), and is off by at most two roundings for each exponent and a few more.
    pub(crate) fn lost(&self, terms: usize) -> f64 {
        4.0 * f64::EPSILON * count(terms + 8) * self.bulk
    }
}

impl Powers {
    /// Of the exponent 0.
    pub(crate) fn first(t: f64, far: f64) -> Self {
        Self {
            t,
            own: [0.0, 0.0, 1.0],
            far,
            reach: [0.0, 0.0, 0.0, 1.0],
        }
    }

    /// Of the next exponent.
    pub(crate) fn next(&self) -> Self {
        let [_, b, c] = self.own;
        let [_, e, f, g] = self.reach;
        Self {
            own: [b, c, c * self.t],
            reach: [e, f, g, g * self.far],
            ..*self
        }
    }

    /// The distance's power.
    pub(crate) fn size(&self) -> f64 {
        let [_, _, _, own] = self.reach;
        own
    }
}
