//! Direct current: what rests at the output, whether it can reach a driver, and the capacitor that
//! keeps it away.

use crate::analysis::study::SideStudy;
use crate::analysis::synthesis::{TWEETER, WOOFER};
use crate::circuit::direct::{self, Direct};
use crate::circuit::network::Network;
use crate::circuit::preferred::Series;
use crate::circuit::solve::SolveError;
use crate::design::{Design, Side};
use std::f64::consts::TAU;

/// The coupling capacitor's corner lies this much under the bass's own: it costs half a decibel
/// there (common practice, no source).
const BELOW_F3: f64 = 3.0;

/// A coupling capacitor in series with the whole side.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coupling {
    /// What the design states, F.
    pub stated_f: Option<f64>,
    /// The smallest preferred value (E6) whose corner with the lowest impedance is low enough, F.
    pub advised_f: f64,
    /// Corner of the stated one, of the advised one where none is, Hz.
    pub corner_hz: f64,
}

/// Direct current in a side.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// What an ohmmeter shows at the input, all parts nominal, Ω.
    pub input_ohm: f64,
    /// The woofer's share of direct voltage at the input.
    pub woofer_share: f64,
    /// The tweeter's; 0 where a capacitor keeps it away.
    pub tweeter_share: f64,
    /// The parts by which it gets to the tweeter.
    pub tweeter_path: Option<Vec<String>>,
    /// What rests at the output, V: half of a single supply at a single-ended output.
    pub rests_v: Option<f64>,
    /// The capacitor that such an output needs.
    pub coupling: Option<Coupling>,
}

impl Standing {
    /// Of `side` with `network`, whose lowest impedance is `lowest_ohm` (Ω).
    ///
    /// # Errors
    /// What the solver finds wrong with the network.
    pub fn of(
        design: &Design,
        side: &Side,
        network: &Network,
        study: &SideStudy,
        lowest_ohm: f64,
    ) -> Result<Self, SolveError> {
        let re_ohm = side.drivers.map(|m| m.driver.motor.re_ohm);
        let direct = Direct::of(network, &[Some(re_ohm.woofer), Some(re_ohm.tweeter)])?;
        let amplifier = &design.amplifier;
        let single = !amplifier.bridged && !amplifier.hardware.split_supply;
        let own_hz = study.cavity.alignment.f3_hz();
        let bass_hz = amplifier.cut_below_hz.map_or(own_hz, |cut| cut.max(own_hz));
        Ok(Self {
            input_ohm: direct.input_ohm,
            woofer_share: direct.share[WOOFER],
            tweeter_share: direct.share[TWEETER],
            tweeter_path: direct::path(network, TWEETER),
            rests_v: amplifier.supply_v.filter(|_| single).map(|v| 0.5 * v),
            coupling: single
                .then(|| coupling(amplifier.hardware.coupling_f, lowest_ohm, bass_hz / BELOW_F3)),
        })
    }
}

fn coupling(stated_f: Option<f64>, lowest_ohm: f64, corner_hz: f64) -> Coupling {
    let needed_f = 1.0 / (TAU * lowest_ohm * corner_hz);
    let values = Series::E6.values(-6, -1);
    let advised_f = values.into_iter().find(|f| *f >= needed_f).unwrap_or(needed_f);
    let used_f = stated_f.unwrap_or(advised_f);
    Coupling { stated_f, advised_f, corner_hz: 1.0 / (TAU * lowest_ohm * used_f) }
}
