//! A sheet that closes a cavity: one plate, or several where rigid ribs divide it; and sheets
//! against a small cavity whose pressure is the same everywhere.

use super::air::Air;
use super::closed_box::ClosedBox;
use super::plate::air_load;
use super::plate::edge::{Edges, Fixing};
use super::plate::section::Section;
use super::plate::{Mode, Plate};
use num_complex::Complex64;
use std::f64::consts::TAU;
use std::sync::Arc;

/// Something of each of a cavity's two large walls.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Walls<T> {
    /// Of the back.
    pub back: T,
    /// Of the face, which holds the cones.
    pub face: T,
}

impl<T> Walls<T> {
    /// The same of each, lent.
    pub fn as_ref(&self) -> Walls<&T> {
        Walls { back: &self.back, face: &self.face }
    }

    /// What `change` makes of each.
    pub fn map<U>(self, mut change: impl FnMut(T) -> U) -> Walls<U> {
        Walls { back: change(self.back), face: change(self.face) }
    }
}

impl<T> Walls<Option<T>> {
    /// Of the back alone; the face is rigid.
    pub fn back(of: T) -> Self {
        Self { back: Some(of), face: None }
    }

    /// Whether there is anything.
    pub fn any(&self) -> bool {
        self.back.is_some() || self.face.is_some()
    }
}

/// What is behind a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Rear {
    /// A room: the sheet's flow radiates.
    Open,
    /// Air closed by a rigid wall at this distance, m; nothing leaves it.
    Gap {
        /// Depth of the air behind the sheet, m.
        depth_m: f64,
    },
}

/// Rigid ribs on a sheet: it does not move along them.
#[derive(Debug, Clone, PartialEq)]
pub struct Ribs {
    /// Places of ribs across x, from the sheet's low corner, m, rising.
    pub at_x_m: Vec<f64>,
    /// Places of ribs across y, m, rising.
    pub at_y_m: Vec<f64>,
    /// How the sheet is held at a rib.
    pub fixing: Fixing,
}

impl Ribs {
    /// No rib.
    pub fn none() -> Self {
        Self { at_x_m: Vec::new(), at_y_m: Vec::new(), fixing: Fixing::Supported }
    }
}

/// How a sheet is built and where it lies in the wall of a cavity.
#[derive(Debug, Clone, PartialEq)]
pub struct Layout {
    /// Low corner of the sheet in the wall, x and y, m.
    pub corner_m: [f64; 2],
    /// Free length along x and y, m.
    pub sides_m: [f64; 2],
    /// What it is made of.
    pub section: Section,
    /// How its outline is held.
    pub edges: Edges,
    /// What divides it.
    pub ribs: Ribs,
    /// What is behind it.
    pub rear: Rear,
    /// Whether the open side's air moves along as mass.
    pub outside_mass: bool,
}

/// Part of a sheet between ribs and edges.
#[derive(Debug, Clone)]
pub struct Bay {
    /// The plate.
    pub plate: Plate,
    /// Its low corner in the wall, m.
    pub corner_m: [f64; 2],
}

/// A sheet with the modes of its bays.
#[derive(Debug, Clone)]
pub struct Sheet {
    /// Its bays.
    pub bays: Vec<Bay>,
    /// What is behind it.
    pub rear: Rear,
}

impl Sheet {
    /// The sheet of `layout` in `air`. Ribs outside the sheet are ignored.
    pub fn new(layout: &Layout, air: &Air) -> Self {
        let x = strips(layout.sides_m[0], &layout.ribs.at_x_m, layout.edges.x, layout.ribs.fixing);
        let y = strips(layout.sides_m[1], &layout.ribs.at_y_m, layout.edges.y, layout.ribs.fixing);
        let mut known: Vec<([f64; 2], Edges, Plate)> = Vec::new();
        let mut bays = Vec::new();
        for (x_m, width_m, across_x) in &x {
            for (y_m, height_m, across_y) in &y {
                let (sides, edges) = ([*width_m, *height_m], Edges { x: *across_x, y: *across_y });
                let same = known.iter().find(|(s, e, _)| alike(*s, sides) && *e == edges);
                let plate = match same {
                    Some((_, _, plate)) => plate.clone(),
                    None => {
                        let plate = plate(layout, sides, &edges, air);
                        known.push((sides, edges, plate.clone()));
                        plate
                    }
                };
                let corner_m = [layout.corner_m[0] + x_m, layout.corner_m[1] + y_m];
                bays.push(Bay { plate, corner_m });
            }
        }
        Self { bays, rear: layout.rear }
    }

    /// Area, m².
    pub fn area_m2(&self) -> f64 {
        self.bays.iter().map(|bay| bay.plate.area_m2()).sum()
    }

    /// Outward flow over the uniform pressure in the cavity, m³/s/Pa. Air behind the sheet is one
    /// compliance under all its bays.
    pub fn admittance(&self, omega: f64, air: &Air) -> Complex64 {
        let free: Complex64 = self.bays.iter().map(|bay| bay.plate.admittance(omega)).sum();
        match self.rear {
            Rear::Open => free,
            Rear::Gap { depth_m } => {
                let volume_m3 = self.area_m2() * depth_m;
                let gap = Complex64::new(0.0, omega * volume_m3 / air.bulk_modulus_pa());
                free * gap / (free + gap)
            }
        }
    }

    /// Volume swept per uniform static pressure, m³/Pa.
    pub fn static_compliance_m3_per_pa(&self, air: &Air) -> f64 {
        let free: f64 = self.bays.iter().map(|bay| bay.plate.static_compliance_m3_per_pa()).sum();
        match self.rear {
            Rear::Open => free,
            Rear::Gap { depth_m } => {
                let gap = self.area_m2() * depth_m / air.bulk_modulus_pa();
                free * gap / (free + gap)
            }
        }
    }

    /// Volume of air that has the same compliance, ρc²C_p, m³: what the sheet adds to the cavity
    /// at low frequencies.
    pub fn extra_volume_m3(&self, air: &Air) -> f64 {
        air.bulk_modulus_pa() * self.static_compliance_m3_per_pa(air)
    }

    /// Largest deflection of a bay's centre per uniform static pressure across the sheet, m/Pa.
    pub fn static_centre_m_per_pa(&self) -> f64 {
        let centres = self.bays.iter().map(|bay| bay.plate.static_centre_m_per_pa());
        centres.fold(0.0, f64::max)
    }
}

fn plate(layout: &Layout, sides_m: [f64; 2], edges: &Edges, air: &Air) -> Plate {
    let plate = Plate::new(sides_m, &layout.section, edges);
    if layout.outside_mass && layout.rear == Rear::Open {
        let stiffness = [layout.section.x_n_m.re, layout.section.y_n_m.re];
        plate.with_added_mass(air_load::of_edges(sides_m, edges, stiffness, air))
    } else {
        plate
    }
}

/// Equal to a part in 10⁹: halves of one side may differ by a rounding.
fn alike(a: [f64; 2], b: [f64; 2]) -> bool {
    (0..2).all(|i| (a[i] - b[i]).abs() <= 1e-9 * a[i].abs())
}

/// Start, length and ends of each strip between the edges and the ribs `at`.
fn strips(
    length_m: f64,
    at: &[f64],
    outline: [Fixing; 2],
    rib: Fixing,
) -> Vec<(f64, f64, [Fixing; 2])> {
    let mut cuts = vec![0.0];
    cuts.extend(at.iter().copied().filter(|&x| x > 0.0 && x < length_m));
    cuts.push(length_m);
    let last = cuts.len() - 2;
    cuts.windows(2)
        .enumerate()
        .map(|(i, pair)| {
            let low = if i == 0 { outline[0] } else { rib };
            let high = if i == last { outline[1] } else { rib };
            (pair[0], pair[1] - pair[0], [low, high])
        })
        .collect()
}

/// A cavity of uniform pressure closed by sheets, rigid where there is none. Good to 0.05 dB below a quarter of the cavity's
/// first standing wave; above 0.6 of it off by 2 to 5 dB, see
/// [`coupled_cavity`](super::coupled_cavity).
#[derive(Debug, Clone)]
pub struct SheetBox {
    /// The air, with fill, leak and the mass at the cone.
    pub closed_box: ClosedBox,
    /// The sheets.
    pub sheets: Walls<Option<Arc<Sheet>>>,
    /// Hysteretic loss factor of the air: its compliance is divided by 1 + jη. Leave it at zero
    /// with a fill that has loss of its own.
    pub air_loss_factor: f64,
}

impl SheetBox {
    /// Acoustic load on the cone, Pa·s/m³: 1/(jωC + 1/R_leak + Y_p) and the mass at the cone.
    pub fn load(&self, omega: f64, air: &Air) -> Complex64 {
        let mass = Complex64::new(0.0, omega * self.closed_box.rear_mass_kg_per_m4);
        1.0 / self.admittance(omega, air) + mass
    }

    /// Outward flow of each wall over inward flow of the cone.
    pub fn flow_ratio(&self, omega: f64, air: &Air) -> Walls<Complex64> {
        let all = self.admittance(omega, air);
        self.of_sheets(omega, air).map(|sheet| sheet / all)
    }

    /// Flow of the leak over inward flow of the cone.
    pub fn leak_ratio(&self, omega: f64, air: &Air) -> Complex64 {
        let leak = self.closed_box.leak_pa_s_per_m3.map_or(0.0, |r| 1.0 / r);
        leak / self.admittance(omega, air)
    }

    fn of_sheets(&self, omega: f64, air: &Air) -> Walls<Complex64> {
        let of = |sheet: &Option<Arc<Sheet>>| sheet.as_ref().map(|s| s.admittance(omega, air));
        self.sheets.as_ref().map(|sheet| of(sheet).unwrap_or_default())
    }

    /// Flow into air, leak and sheets over pressure, m³/s/Pa.
    fn admittance(&self, omega: f64, air: &Air) -> Complex64 {
        let Walls { back, face } = self.of_sheets(omega, air);
        self.air_admittance(omega, air) + back + face
    }

    /// Flow into air and leak over pressure, m³/s/Pa.
    fn air_admittance(&self, omega: f64, air: &Air) -> Complex64 {
        let compliance = self.closed_box.compliance(omega, air);
        let loss = Complex64::new(1.0, self.air_loss_factor);
        let leak = self.closed_box.leak_pa_s_per_m3.map_or(0.0, |r| 1.0 / r);
        Complex64::new(0.0, omega) * compliance / loss + leak
    }
}

/// Frequency of one `mode` against a cavity of `compliance_m3_per_pa`, alone and without loss, Hz:
/// √(f² + V²/(4π²C)). Up to 10 % too high for a soft sheet, whose other modes help.
pub fn one_mode_hz(mode: &Mode, compliance_m3_per_pa: f64) -> f64 {
    let air = mode.volume_m2_per_sqrt_kg.powi(2) / compliance_m3_per_pa;
    (mode.omega_rad_per_s.powi(2) + air).sqrt() / TAU
}
