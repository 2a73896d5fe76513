//! How uneven the standing waves of a cavity make a woofer: its level in the wave field against
//! its level with one lump of bare air behind it.

use super::cone_load;
use crate::design::{Design, Side};
use crate::grid::{AcousticImpedance, Grid, GridError};
use crate::model::closed_box::ClosedBox;
use crate::model::driver::Driver;
use crate::model::fill::Fill;
use crate::model::wave_cavity::{Disc, Faces, Rear, WaveField, WaveFill};
use num_complex::Complex64;
use std::sync::Arc;

/// Band that is judged, Hz: the lowest standing waves of shallow cavities, below any crossover to
/// a dome.
const BAND_HZ: (f64, f64) = (300.0, 3000.0);
/// Points an octave.
const PER_OCTAVE: f64 = 48.0;

/// Extremes of the difference in level, dB.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ripple {
    /// Highest above the lump's level, dB.
    pub above_db: f64,
    /// Lowest, dB (negative where it falls below).
    pub below_db: f64,
}

impl Ripple {
    /// From lowest to highest, dB.
    pub fn span_db(&self) -> f64 {
        self.above_db - self.below_db
    }

    /// Of a difference in level, dB.
    pub fn of(difference_db: &[f64]) -> Self {
        let start = Self { above_db: f64::NEG_INFINITY, below_db: f64::INFINITY };
        difference_db
            .iter()
            .fold(start, |r, d| Self { above_db: r.above_db.max(*d), below_db: r.below_db.min(*d) })
    }
}

/// Level of `driver` at any far place with the load `with` on its cone, over that with `without`
/// (Pa·s/m³, on one grid), on a stiff source, dB.
pub fn difference_db(
    driver: &Driver,
    with: &AcousticImpedance,
    without: &AcousticImpedance,
) -> Vec<f64> {
    let pairs = with.values().iter().zip(without.values());
    let level = |((a, b), omega): ((&Complex64, &Complex64), f64)| {
        let velocity = |load: &Complex64| driver.respond_at(omega, *load).1;
        let (one, other) = (velocity(a), velocity(b));
        20.0 * (one / other).norm().log10()
    };
    pairs.zip(with.grid().omega()).map(level).collect()
}

/// Everything that stays while a driver's place changes, or the fill.
#[derive(Debug, Clone)]
pub struct Cavity<'d> {
    driver: &'d Driver,
    field: WaveField,
    faces: Faces,
    rear: Rear,
    lump: AcousticImpedance,
}

impl<'d> Cavity<'d> {
    /// The bay of a side behind rigid walls, tight, over the band that is judged.
    ///
    /// # Errors
    /// None in practice: the band's axis is sound.
    pub fn of(design: &Design, side: &'d Side) -> Result<Self, GridError> {
        let (air, bay) = (&design.air, side.bay());
        let woofer = &side.drivers.woofer;
        let driver = &woofer.driver;
        let [x_m, y_m] = cone_load::in_cavity(&bay, woofer);
        let rear = Rear::of(&driver.motor, driver.mass_condition, air, x_m, y_m);
        let field =
            WaveField::new(cone_load::wave_cavity(side, &bay, air), &[rear.disc], BAND_HZ.1);
        let grid = band()?;
        let lump = ClosedBox::tight(side.net_volume_m3(), Fill::Empty)
            .behind(&driver.motor, driver.mass_condition, air)
            .load_on(&grid, air);
        Ok(Self { driver, faces: field.faces(&grid), field, rear, lump })
    }

    /// The same with another fill.
    #[must_use]
    pub fn filled(&self, fill: WaveFill) -> Self {
        let field = self.field.filled(fill);
        Self { faces: field.faces(self.lump.grid()), field, ..self.clone() }
    }

    /// Its field.
    pub fn field(&self) -> &WaveField {
        &self.field
    }

    /// The cone at its place.
    pub fn disc(&self) -> Disc {
        self.rear.disc
    }

    /// Ripple with the cone's middle at (`x_m`, `y_m`) from the corner, m.
    pub fn ripple_at(&self, x_m: f64, y_m: f64) -> Ripple {
        let disc = Disc { x_m, y_m, ..self.rear.disc };
        let load = self.rear.load_on(&self.faces.impedance(&self.field.own(&disc)));
        Ripple::of(&difference_db(self.driver, &load, &self.lump))
    }

    /// Ripple where the cone is.
    pub fn ripple(&self) -> Ripple {
        self.ripple_at(self.rear.disc.x_m, self.rear.disc.y_m)
    }
}

fn band() -> Result<Arc<Grid>, GridError> {
    let (from, to) = BAND_HZ;
    Grid::log(from, to, (PER_OCTAVE * (to / from).log2()) as usize + 1)
}
