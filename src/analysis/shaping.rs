//! What stands between a way's filter and its driver: shelf, pad, and the branch that flattens the
//! driver's impedance, computed from the driver's model.

use crate::circuit::attenuator::LPad;
use crate::circuit::branch::{self, Branch, Namer, Stage};
use crate::circuit::compensation::{BassCut, Dual, Motional, Notch, SeriesCoil, TrebleCut, Zobel};
use crate::circuit::load::Load;
use crate::circuit::network::{Component, Network, Node};
use crate::circuit::solve;
use crate::design::{AMP_HOT, AMP_RETURN, Flatten, PartsRules, Shaping, Shelf, ShelfKind};
use crate::grid::{Grid, Impedance, Spectrum};
use crate::model::driver::Driver;
use crate::signal::interpolate::Outside;
use num_complex::Complex64;
use std::f64::consts::TAU;
use std::sync::Arc;

/// A driver as the networks see it.
#[derive(Debug, Clone)]
pub struct Seen<'d> {
    /// The driver.
    pub driver: &'d Driver,
    /// Its motional branch at the resonance in its place.
    motional: Motional,
    /// Frequency at which its coil is turned into one R-L, Hz: the crossover.
    at_hz: f64,
}

impl<'d> Seen<'d> {
    /// `driver` in the acoustic load `load(ω)` (Pa·s/m³), resonant there at `resonance_hz`.
    ///
    /// The branch has the resonance, the loss and the slope of the reactance there: for
    /// X = ωM − 1/(ωC) with X = 0, M is half of dX/dω.
    pub fn new(
        driver: &'d Driver,
        resonance_hz: f64,
        load: impl Fn(f64) -> Complex64,
        at_hz: f64,
    ) -> Self {
        const STEP: f64 = 1e-4;
        let motor = &driver.motor;
        let omega = TAU * resonance_hz;
        let mechanical = |w: f64| motor.mechanical_impedance(w, load(w));
        let rise = mechanical(omega * (1.0 + STEP)).im - mechanical(omega * (1.0 - STEP)).im;
        let mass_kg = 0.5 * rise / (2.0 * STEP * omega);
        let square = motor.bl_t_m.powi(2);
        let motional = Motional {
            res_ohm: square / mechanical(omega).re,
            lces_h: square / (omega * omega * mass_kg),
            cmes_f: mass_kg / square,
        };
        Self { driver, motional, at_hz }
    }

    fn coil(&self) -> SeriesCoil {
        let omega = TAU * self.at_hz;
        let z = self.driver.coil.impedance(omega);
        SeriesCoil { r_ohm: z.re, l_h: z.im / omega }
    }
}

/// The stages behind the filter, and what could not be done.
#[derive(Debug, Clone, Default)]
pub struct Tail {
    /// Shelf, pad, flattening branch, in this order.
    pub stages: Vec<Stage>,
    /// Sentences about what the parts cannot do.
    pub remarks: Vec<String>,
}

/// The tail of a way for `shaping`, with a pad that lowers it by `pad_db` (0: none).
pub fn tail(seen: &Seen<'_>, shaping: &Shaping, pad_db: f64, parts: &PartsRules) -> Tail {
    let mut remarks = Vec::new();
    let flat = flattening(seen, shaping.flatten, parts, &mut remarks);
    let flat_stages: Vec<Stage> = flat.into_iter().map(Stage::shunt).collect();
    let behind = |hz: f64| input_ohm(&flat_stages, seen.driver, hz);
    let mut stages = Vec::new();
    if let Some(shelf) = &shaping.shelf {
        stages.extend(shelf_branch(shelf, behind(shelf.at_hz)).map(Stage::series));
    }
    if pad_db > 0.0
        && let Ok(pad) = LPad::new(pad_db, behind(seen.at_hz))
    {
        stages.push(Stage::series(Branch::resistor(pad.series_ohm)));
        stages.push(Stage::shunt(Branch::resistor(pad.shunt_ohm)));
    }
    stages.extend(flat_stages);
    Tail { stages, remarks }
}

/// Magnitude of what a filter sees at `hz`: `stages` with the driver in free air behind them, Ω.
/// Re where that cannot be solved.
pub fn input_ohm(stages: &[Stage], driver: &Driver, hz: f64) -> f64 {
    let Ok(grid) = Grid::from_points(vec![hz]) else { return driver.motor.re_ohm };
    let mut network = Network::new(AMP_HOT, AMP_RETURN);
    let terminal = branch::lay(&mut network, &mut Namer::default(), stages, "tail", "driver+");
    network.add_port("driver", [terminal, Node::RETURN]);
    let impedance =
        as_measured(driver, &grid).unwrap_or_else(|| driver.respond(&grid, None).impedance);
    let solved = solve::solve(&network, &grid, &Load::diagonal(&grid, &[Some(&impedance)]));
    solved.map_or(driver.motor.re_ohm, |s| s.input_impedance().values()[0].norm())
}

/// The driver's measured impedance, where there is one that covers the grid.
fn as_measured(driver: &Driver, grid: &Arc<Grid>) -> Option<Impedance> {
    let measured = driver.measured.impedance.as_ref()?;
    let sampled = measured.curve.complex_on(grid, Outside::Refuse).ok()?;
    Some(Spectrum::from_values(grid, sampled.values))
}

fn flattening(
    seen: &Seen<'_>,
    flatten: Flatten,
    parts: &PartsRules,
    remarks: &mut Vec<String>,
) -> Option<Branch> {
    let re_ohm = seen.driver.motor.re_ohm;
    match flatten {
        Flatten::Nothing => None,
        Flatten::Coil => {
            let zobel = Zobel::new(re_ohm, seen.coil());
            (zobel.c_f > 0.0).then(|| {
                Branch::Chain(vec![Branch::resistor(zobel.r_ohm), Branch::capacitor(zobel.c_f)])
            })
        }
        Flatten::Resonance => {
            let notch = Notch::new(re_ohm, &seen.motional);
            Some(notch_chain(&notch, parts, remarks))
        }
        Flatten::Both => {
            let dual = Dual::new(re_ohm, seen.coil(), &seen.motional);
            let mut beside = vec![notch_chain(&dual.notch, parts, remarks)];
            if dual.coil_c_f > 0.0 {
                beside.insert(0, Branch::capacitor(dual.coil_c_f));
            }
            Some(Branch::Chain(vec![Branch::resistor(dual.shared_ohm), Branch::Beside(beside)]))
        }
    }
}

/// The series R-L-C with the coil's own resistance taken out of the resistor.
fn notch_chain(notch: &Notch, parts: &PartsRules, remarks: &mut Vec<String>) -> Branch {
    let dcr_ohm = parts.coil_dcr_ohm(notch.l_h);
    let mut chain = vec![Branch::inductor(notch.l_h), Branch::capacitor(notch.c_f)];
    match notch.resistor_ohm(dcr_ohm) {
        Some(ohm) if ohm > 1e-3 => chain.insert(0, Branch::resistor(ohm)),
        Some(_) => {}
        None => remarks.push(format!(
            "the notch needs {:.2} Ω in all, but its {:.2} mH coil has {dcr_ohm:.2} Ω of its own: wind it of thicker wire",
            notch.r_ohm,
            notch.l_h * 1e3
        )),
    }
    Branch::Chain(chain)
}

fn shelf_branch(shelf: &Shelf, load_ohm: f64) -> Option<Branch> {
    let beside = match shelf.kind {
        ShelfKind::TrebleCut => {
            let cut = TrebleCut::new(shelf.db, shelf.at_hz, load_ohm).ok()?;
            vec![Branch::resistor(cut.r_ohm), Branch::inductor(cut.l_h)]
        }
        ShelfKind::BassCut => {
            let cut = BassCut::new(shelf.db, shelf.at_hz, load_ohm).ok()?;
            vec![Branch::resistor(cut.r_ohm), Branch::capacitor(cut.c_f)]
        }
    };
    Some(Branch::Beside(beside))
}

/// A part with the losses that `parts` says real ones have.
pub fn with_losses(component: Component, parts: &PartsRules) -> Component {
    match component {
        Component::Resistor { .. } => component,
        Component::Inductor { henry, .. } => {
            Component::Inductor { henry, dcr_ohm: parts.coil_dcr_ohm(henry) }
        }
        Component::Capacitor { farad, .. } => {
            Component::Capacitor { farad, esr_ohm: parts.capacitor_esr_ohm }
        }
    }
}
