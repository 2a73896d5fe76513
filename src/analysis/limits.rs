//! A side against what it must not exceed: the amplifier's lowest load, the cones' travel, the
//! acceptance window.

use super::deviation::Deviation;
use super::finding::Finding;
use super::side::{SeatResponse, SideResponse};
use crate::design::{Amplifier, Design, Side, Way, Ways, Window};
use crate::grid::Grid;
use crate::units;

/// Excursion at the amplifier's rated voltage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Travel {
    /// Largest peak excursion on the grid, m.
    pub peak_m: f64,
    /// Where, Hz.
    pub at_hz: f64,
    /// The driver's Xmax, m.
    pub xmax_m: f64,
    /// Highest frequency at which Xmax is exceeded, Hz.
    pub beyond_up_to_hz: Option<f64>,
    /// The sine at the source that takes the cone to Xmax where it moves most, V rms.
    pub xmax_v: f64,
}

/// A seat against the acceptance window.
#[derive(Debug, Clone, PartialEq)]
pub struct InWindow {
    /// The listener.
    pub seat: String,
    /// The window.
    pub window: Window,
    /// Deviation from the mean level in the window's band.
    pub deviation: Deviation,
    /// Whether it stays inside.
    pub inside: bool,
}

/// All limits of one side.
#[derive(Debug, Clone, PartialEq)]
pub struct SideLimits {
    /// Lowest impedance magnitude at the amplifier's terminals, Ω.
    pub lowest_ohm: f64,
    /// Where, Hz.
    pub lowest_at_hz: f64,
    /// Lowest load that the amplifier may see, Ω.
    pub allowed_ohm: f64,
    /// Cone travel of each driver.
    pub travel: Ways<Travel>,
    /// The seats, where the run has a window.
    pub window: Vec<InWindow>,
}

impl SideLimits {
    /// Measures a side's response and excursion (m, peak, one value a grid point).
    pub fn of(
        design: &Design,
        side: &Side,
        response: &SideResponse,
        excursion_m: &Ways<Vec<f64>>,
    ) -> Self {
        let grid = response.impedance.grid();
        let (lowest_ohm, lowest_at_hz) = response
            .impedance
            .lowest(grid.start_hz(), grid.stop_hz())
            .unwrap_or((0.0, grid.start_hz()));
        let xmax = side.drivers.map(|m| m.driver.limits.xmax_m);
        Self {
            lowest_ohm,
            lowest_at_hz,
            allowed_ohm: design.amplifier.lowest_load_ohm,
            travel: Ways {
                woofer: Travel::of(design, grid, &excursion_m.woofer, xmax.woofer),
                tweeter: Travel::of(design, grid, &excursion_m.tweeter, xmax.tweeter),
            },
            window: design.run.window.map_or(Vec::new(), |w| windows(grid, response, &w)),
        }
    }

    /// What the limits say, in sentences.
    pub fn findings(&self, design: &Design, side: &str) -> Vec<Finding> {
        let mut findings = Vec::new();
        if self.lowest_ohm < self.allowed_ohm {
            findings.push(Finding::unfit(
                format!("{side} impedance"),
                format!(
                    "falls to {} at {}; the amplifier allows {}. Try another slope or compensation, or an amplifier for that load",
                    units::ohms(self.lowest_ohm),
                    units::hertz(self.lowest_at_hz),
                    units::ohms(self.allowed_ohm)
                ),
            ));
        }
        for seat in self.window.iter().filter(|s| !s.inside) {
            findings.push(Finding::unfit(
                format!("{side} response at {}", seat.seat),
                format!(
                    "leaves the acceptance window: {:+.1} dB at {} and {:+.1} dB at {} against its mean",
                    seat.deviation.above.0,
                    units::hertz(seat.deviation.above.1),
                    seat.deviation.below.0,
                    units::hertz(seat.deviation.below.1)
                ),
            ));
        }
        for way in Way::BOTH {
            let subject = format!("{side} {}", way.word());
            findings.extend(self.travel.of(way).finding(&subject, &design.amplifier));
        }
        findings
    }
}

impl Travel {
    /// Over the band that reaches the amplifier.
    fn of(design: &Design, grid: &Grid, excursion_m: &[f64], xmax_m: f64) -> Self {
        let hz = grid.frequency_hz();
        let driven = grid.within(design.amplifier.cut_below_hz.unwrap_or(0.0), f64::INFINITY);
        let most = driven.clone().max_by(|&a, &b| excursion_m[a].total_cmp(&excursion_m[b]));
        let most = most.unwrap_or(hz.len() - 1);
        let beyond = driven.rev().find(|&i| excursion_m[i] > xmax_m);
        Self {
            peak_m: excursion_m[most],
            at_hz: hz[most],
            xmax_m,
            beyond_up_to_hz: beyond.map(|i| hz[i]),
            xmax_v: design.amplifier.rated_v() * xmax_m / excursion_m[most].max(1e-12),
        }
    }

    fn finding(&self, subject: &str, amplifier: &Amplifier) -> Option<Finding> {
        let up_to_hz = self.beyond_up_to_hz?;
        let (rated_v, safe_v) = (amplifier.rated_v(), self.xmax_v);
        let text = format!(
            "moves {:.1} mm peak at {} with a {rated_v:.1} V sine (Xmax {:.1} mm) and passes Xmax up to {}: keep such signals under {safe_v:.1} V ({:.1} W into {}) or cut the lows before the amplifier",
            1e3 * self.peak_m,
            units::hertz(self.at_hz),
            1e3 * self.xmax_m,
            units::hertz(up_to_hz),
            safe_v.powi(2) / amplifier.into_ohm,
            units::ohms(amplifier.into_ohm)
        );
        Some(Finding::caution(subject, text))
    }
}

fn windows(grid: &Grid, response: &SideResponse, window: &Window) -> Vec<InWindow> {
    let at = |seat: &SeatResponse| {
        let level = SeatResponse::level_db(&seat.sum);
        let deviation = Deviation::of(grid, &level, window.from_hz, window.to_hz)?;
        let inside = deviation.within(window);
        Some(InWindow { seat: seat.name.clone(), window: *window, deviation, inside })
    };
    response.seats.iter().filter_map(at).collect()
}
