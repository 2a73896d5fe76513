//! Where things are: panel coordinates in metres, x to the right and y up as the listener sees
//! the face, z out of the face towards the listener, origin in the middle of the face.

use num_complex::Complex64;

/// A point or a step between points, m.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Point {
    /// To the right, m.
    pub x_m: f64,
    /// Up, m.
    pub y_m: f64,
    /// Out of the face, m.
    pub z_m: f64,
}

impl Point {
    /// A point from its coordinates, m.
    pub fn new(x_m: f64, y_m: f64, z_m: f64) -> Self {
        Self { x_m, y_m, z_m }
    }

    /// Distance to `other`, m.
    pub fn distance_m(&self, other: &Self) -> f64 {
        let d = [self.x_m - other.x_m, self.y_m - other.y_m, self.z_m - other.z_m];
        d.iter().map(|v| v * v).sum::<f64>().sqrt()
    }

    /// Angle at this point between the outward normal of the face and the line to `other`,
    /// radians from 0 to π.
    pub fn angle_off_axis_rad(&self, other: &Self) -> f64 {
        let across = (other.x_m - self.x_m).hypot(other.y_m - self.y_m);
        across.atan2(other.z_m - self.z_m)
    }
}

/// An outgoing spherical wave of unit strength, e^{−jkr}/r in 1/m, at `distance_m` for the
/// wavenumber `k` (rad/m).
pub fn spherical_wave(k: f64, distance_m: f64) -> Complex64 {
    Complex64::from_polar(1.0 / distance_m, -k * distance_m)
}
