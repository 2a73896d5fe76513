//! Sheet materials: what they are called and how stiff, heavy and lossy a sheet of them is.

use super::plate::section::{Moduli, Skin};

/// Sheet materials.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Material {
    /// Plywood of birch or the like.
    Plywood,
    /// Medium-density fibreboard.
    Mdf,
    /// Aluminium sheet.
    Aluminium,
    /// Steel sheet.
    Steel,
    /// Acrylic sheet.
    Acrylic,
}

impl Material {
    /// Every material with the word for it in files and output.
    pub const ALL: [(&'static str, Self); 5] = [
        ("plywood", Self::Plywood),
        ("mdf", Self::Mdf),
        ("aluminium", Self::Aluminium),
        ("steel", Self::Steel),
        ("acrylic", Self::Acrylic),
    ];

    /// The word for it.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(_, m)| *m == self).map_or("", |(word, _)| word)
    }

    /// Stiffness, density and loss.
    pub fn properties(self) -> Properties {
        let isotropic = |modulus_pa: f64, poisson: f64| Moduli::isotropic(modulus_pa, poisson);
        let of = |moduli, density_kg_per_m3, loss_factor, source| Properties {
            moduli,
            density_kg_per_m3,
            loss_factor,
            source,
        };
        let panel = "common practice, no source";
        let handbook = "handbook values, from memory; loss as mounted: common practice, no source";
        match self {
            Self::Plywood => of(Moduli::orthotropic(9e9, 5e9, 0.2, 0.7e9), 650.0, 0.03, panel),
            Self::Mdf => of(isotropic(3e9, 0.25), 750.0, 0.03, panel),
            Self::Aluminium => of(isotropic(70e9, 0.33), 2700.0, 0.02, handbook),
            Self::Steel => of(isotropic(205e9, 0.29), 7850.0, 0.02, handbook),
            Self::Acrylic => of(isotropic(3.2e9, 0.37), 1190.0, 0.06, handbook),
        }
    }

    /// A bare sheet of it, `thickness_m` thick, x along the face grain where there is a grain;
    /// `loss_factor` as mounted, where known, in the place of the usual one.
    pub fn skin(self, thickness_m: f64, loss_factor: Option<f64>) -> Skin {
        let Properties { moduli, density_kg_per_m3, loss_factor: usual, .. } = self.properties();
        Skin { moduli, density_kg_per_m3, thickness_m, loss_factor: loss_factor.unwrap_or(usual) }
    }

    /// Thicknesses in which it is sold, m, rising (common practice, no source).
    pub fn thicknesses_m(self) -> &'static [f64] {
        match self {
            Self::Plywood => &[4e-3, 6.5e-3, 9e-3, 12e-3, 15e-3, 18e-3, 21e-3, 24e-3],
            Self::Mdf => &[3e-3, 6e-3, 9e-3, 12e-3, 16e-3, 19e-3, 22e-3, 25e-3],
            Self::Aluminium => &[1e-3, 1.5e-3, 2e-3, 2.5e-3, 3e-3, 4e-3, 5e-3, 6e-3, 8e-3],
            Self::Steel => &[0.75e-3, 1e-3, 1.25e-3, 1.5e-3, 2e-3, 2.5e-3, 3e-3, 4e-3, 5e-3],
            Self::Acrylic => &[2e-3, 3e-3, 4e-3, 5e-3, 6e-3, 8e-3, 10e-3, 12e-3, 15e-3, 20e-3],
        }
    }
}

/// A row of the table of materials.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Properties {
    /// Stiffness in its plane.
    pub moduli: Moduli,
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Usual loss factor of a sheet as mounted.
    pub loss_factor: f64,
    /// Where the numbers are from.
    pub source: &'static str,
}
