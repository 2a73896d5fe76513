//! What a plate is made of: a sheet, bare or with a layer glued on, as bending stiffness and mass
//! per area.

use num_complex::Complex64;

/// In-plane stiffness of a sheet for bending: what times h³/12 is the plate's Dx, Dy and H.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moduli {
    /// Along x, Ex/(1 − νxy νyx), Pa.
    pub x_pa: f64,
    /// Along y, Ey/(1 − νxy νyx), Pa.
    pub y_pa: f64,
    /// Of the mixed term, νyx Ex/(1 − νxy νyx) + 2G, Pa.
    pub twist_pa: f64,
}

impl Moduli {
    /// The same in every direction: E/(1 − ν²) three times.
    pub fn isotropic(youngs_modulus_pa: f64, poisson: f64) -> Self {
        let plane_pa = youngs_modulus_pa / (1.0 - poisson * poisson);
        Self { x_pa: plane_pa, y_pa: plane_pa, twist_pa: plane_pa }
    }

    /// Orthotropic with its axes along the sides (Timoshenko and Woinowsky-Krieger, *Theory of
    /// Plates and Shells*, ch. 11): `poisson` is νxy, the contraction along y of a pull along x;
    /// νyx = νxy Ey/Ex.
    pub fn orthotropic(ex_pa: f64, ey_pa: f64, poisson: f64, shear_pa: f64) -> Self {
        let other = poisson * ey_pa / ex_pa;
        let part = 1.0 - poisson * other;
        Self {
            x_pa: ex_pa / part,
            y_pa: ey_pa / part,
            twist_pa: other * ex_pa / part + 2.0 * shear_pa,
        }
    }

    /// The same sheet turned by a quarter.
    pub fn turned(self) -> Self {
        Self { x_pa: self.y_pa, y_pa: self.x_pa, ..self }
    }
}

/// A bare sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Skin {
    /// Its stiffness.
    pub moduli: Moduli,
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Thickness, m.
    pub thickness_m: f64,
    /// Loss factor as mounted.
    pub loss_factor: f64,
}

impl Skin {
    /// The sheet turned by a quarter.
    pub fn turned(self) -> Self {
        Self { moduli: self.moduli.turned(), ..self }
    }

    /// The sheet by itself.
    pub fn section(&self) -> Section {
        let stiffness = |modulus_pa: f64| {
            modulus_pa * self.thickness_m.powi(3) / 12.0 * Complex64::new(1.0, self.loss_factor)
        };
        Section {
            x_n_m: stiffness(self.moduli.x_pa),
            y_n_m: stiffness(self.moduli.y_pa),
            twist_n_m: stiffness(self.moduli.twist_pa),
            mass_kg_per_m2: self.density_kg_per_m3 * self.thickness_m,
            thickness_m: self.thickness_m,
        }
    }

    /// The sheet with a damping layer glued on one side: both bend about the common, complex
    /// neutral axis (Oberst 1952, *Acustica* 2, 181; derived anew). `layer` has its own loss; the
    /// sheet keeps the one it has as mounted.
    pub fn coated(&self, layer: &Coating) -> Section {
        let plane_pa = layer.youngs_modulus_pa / (1.0 - layer.poisson * layer.poisson);
        let coat = plane_pa * Complex64::new(1.0, layer.loss_factor);
        let stiffness = |modulus_pa: f64| {
            let sheet = modulus_pa * Complex64::new(1.0, self.loss_factor);
            two_layers([sheet, coat], [self.thickness_m, layer.thickness_m])
        };
        Section {
            x_n_m: stiffness(self.moduli.x_pa),
            y_n_m: stiffness(self.moduli.y_pa),
            twist_n_m: stiffness(self.moduli.twist_pa),
            mass_kg_per_m2: self.density_kg_per_m3 * self.thickness_m
                + layer.density_kg_per_m3 * layer.thickness_m,
            thickness_m: self.thickness_m,
        }
    }
}

/// Bending stiffness per width of two bonded layers, N·m: each about its own middle plus each
/// about the neutral axis.
fn two_layers(modulus_pa: [Complex64; 2], thickness_m: [f64; 2]) -> Complex64 {
    let [stretch, other] = [0, 1].map(|i| modulus_pa[i] * thickness_m[i]);
    let own = [0, 1].map(|i| modulus_pa[i] * thickness_m[i].powi(3) / 12.0);
    let apart = 0.5 * (thickness_m[0] + thickness_m[1]);
    let total = stretch + other;
    let steiner = if total.norm() > 0.0 { stretch * other / total } else { total };
    own[0] + own[1] + steiner * apart * apart
}

/// A damping layer glued on the whole of a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coating {
    /// Young's modulus, Pa.
    pub youngs_modulus_pa: f64,
    /// Poisson's ratio.
    pub poisson: f64,
    /// Loss factor.
    pub loss_factor: f64,
    /// Density, kg/m³.
    pub density_kg_per_m3: f64,
    /// Thickness, m.
    pub thickness_m: f64,
}

/// A plate seen from outside: complex bending stiffness (imaginary part is loss) and mass per area.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Section {
    /// Dx, N·m.
    pub x_n_m: Complex64,
    /// Dy, N·m.
    pub y_n_m: Complex64,
    /// H of the mixed term, N·m.
    pub twist_n_m: Complex64,
    /// Mass per area, kg/m².
    pub mass_kg_per_m2: f64,
    /// Thickness of the load-bearing sheet, m: linear bending holds while the deflection stays
    /// below half of it.
    pub thickness_m: f64,
}
