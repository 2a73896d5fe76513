//! What a map adds to a panel: a quantity over both axes, and areas that are out of bounds.

/// The steps in which a map's colours change.
#[derive(Debug, Clone, PartialEq)]
pub struct Shades {
    /// Short name with unit, written over the colour bar: `Ripple (dB)`.
    pub label: String,
    /// Values at which the colour changes and a contour line runs, ascending. Below the first and
    /// above the last there is one more colour each.
    pub edges: Vec<f64>,
}

impl Shades {
    /// Colours that change every `step` from `from` to `to`. A step that is not positive, or gives
    /// more than 40 edges, gives none: one colour for everything.
    pub fn stepped(label: impl Into<String>, from: f64, to: f64, step: f64) -> Shades {
        let count = ((to - from) / step + 1e-6).floor();
        let usable = step > 0.0 && (0.0..40.0).contains(&count) && from.is_finite();
        let edges = if usable {
            (0..=count as u32).map(|k| from + f64::from(k) * step).collect()
        } else {
            Vec::new()
        };
        Shades { label: label.into(), edges }
    }

    /// How many colours there are.
    pub(super) fn count(&self) -> usize {
        self.edges.len() + 1
    }

    /// The colour of the band below edge number `band`, or above the last.
    pub(super) fn colour(&self, band: usize) -> (u8, u8, u8) {
        let last = self.edges.len().max(1);
        super::ramp::shade(band as f64 / last as f64)
    }
}

/// A quantity on a rectangular grid, drawn as bands of colour with contour lines in between.
#[derive(Debug, Clone, PartialEq)]
pub struct Field {
    /// Places along the figure's x axis, ascending.
    pub x: Vec<f64>,
    /// Places along the panel's y axis, ascending.
    pub y: Vec<f64>,
    /// Values row by row, the row of the lowest y first, each as long as `x`. Where there is no
    /// value, or one that is not finite, the map is hatched.
    pub values: Vec<Option<f64>>,
    /// Which value gets which colour.
    pub shades: Shades,
}

impl Field {
    /// The value at a column and row, if it is there and finite.
    pub(super) fn value(&self, column: usize, row: usize) -> Option<f64> {
        let inside = column < self.x.len() && row < self.y.len();
        let value = inside.then(|| self.values.get(row * self.x.len() + column)).flatten();
        value.copied().flatten().filter(|v| v.is_finite())
    }
}

/// An area that is out of bounds, hatched.
#[derive(Debug, Clone, PartialEq)]
pub struct Hatched {
    /// Name in the legend; an area without name is left out there.
    pub name: String,
    /// Corners in the units of the two axes, in order; the last is joined to the first.
    pub outline: Vec<(f64, f64)>,
}

impl Hatched {
    /// A rectangle between two opposite corners.
    pub fn rectangle(name: impl Into<String>, from: (f64, f64), to: (f64, f64)) -> Hatched {
        let outline = vec![from, (to.0, from.1), to, (from.0, to.1)];
        Hatched { name: name.into(), outline }
    }

    /// A disc of `radius` around `centre`, the same unit on both axes.
    pub fn disc(name: impl Into<String>, centre: (f64, f64), radius: f64) -> Hatched {
        let corner = |k: i32| {
            let (sin, cos) = (f64::from(k) * std::f64::consts::TAU / 48.0).sin_cos();
            (centre.0 + radius * cos, centre.1 + radius * sin)
        };
        Hatched { name: name.into(), outline: (0..48).map(corner).collect() }
    }
}
