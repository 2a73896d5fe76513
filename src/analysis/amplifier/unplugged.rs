//! A driver left unplugged: its section becomes a series resonance that nearly shorts the amplifier
//! and drives its capacitor to many times the amplifier's voltage.

use super::stress::{self, Largest, Stress};
use crate::analysis::study::StudyError;
use crate::analysis::terminals::Terminals;
use crate::circuit::load::Load;
use crate::circuit::network::{Component, Network};
use crate::circuit::solve::SolveError;
use crate::design::Ways;

/// Which drivers are not there.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Missing {
    /// The woofer.
    Woofer,
    /// The tweeter.
    Tweeter,
    /// Both.
    Both,
}

impl Missing {
    /// All cases.
    pub const ALL: [Self; 3] = [Self::Woofer, Self::Tweeter, Self::Both];

    /// Words for it: "the woofer unplugged".
    pub fn words(self) -> &'static str {
        match self {
            Self::Woofer => "the woofer unplugged",
            Self::Tweeter => "the tweeter unplugged",
            Self::Both => "both drivers unplugged",
        }
    }

    /// The word for it in documents.
    pub fn key(self) -> &'static str {
        match self {
            Self::Woofer => "woofer",
            Self::Tweeter => "tweeter",
            Self::Both => "both",
        }
    }

    /// What is left on the ports, woofer first.
    pub fn ports<T>(self, drivers: &Ways<T>) -> [Option<&T>; 2] {
        let woofer = (self == Self::Tweeter).then_some(&drivers.woofer);
        let tweeter = (self == Self::Woofer).then_some(&drivers.tweeter);
        [woofer, tweeter]
    }
}

/// What happens without a driver at the sine that clips.
#[derive(Debug, Clone, PartialEq)]
pub struct Unplugged {
    /// What is missing.
    pub missing: Missing,
    /// Lowest impedance at the terminals, Ω.
    pub lowest: Largest,
    /// The capacitor with the highest voltage, V peak.
    pub capacitor: Option<(String, Largest)>,
}

/// All cases for `network` under a sine of `sine_v` (V rms) at any frequency. A driver that is left
/// alone shows its impedance with the other's terminals open, whatever air they share.
///
/// # Errors
/// What the solver finds wrong with the network.
pub fn cases(
    network: &Network,
    drivers: &Terminals,
    sine_v: f64,
) -> Result<Vec<Unplugged>, StudyError> {
    let drivers = Ways {
        woofer: stress::on_fine_axis(&drivers.woofer)?,
        tweeter: stress::on_fine_axis(&drivers.tweeter)?,
    };
    let grid = drivers.woofer.grid();
    let case = |missing: Missing| -> Result<Unplugged, SolveError> {
        let load = Load::diagonal(grid, &missing.ports(&drivers));
        let stress = Stress::of(network, grid, &load, sine_v, &[])?;
        let capacitors = network
            .parts
            .iter()
            .zip(&stress.volts_peak)
            .filter(|(part, _)| matches!(part.component, Component::Capacitor { .. }));
        let highest = capacitors.max_by(|a, b| a.1.value.total_cmp(&b.1.value));
        Ok(Unplugged {
            missing,
            lowest: stress.lowest,
            capacitor: highest.map(|(part, v)| (part.reference.clone(), *v)),
        })
    };
    Ok(Missing::ALL.into_iter().map(case).collect::<Result<_, _>>()?)
}
