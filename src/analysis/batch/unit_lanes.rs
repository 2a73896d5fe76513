//! The values of several units as the frequency loop wants them.

use super::surrogate::{AXES, DriverPoint};
use super::{BatchSide, Shift};
use crate::circuit::lanes::{Complex, LANES, Real, each};
use crate::design::Ways;
use crate::model::driver::Motor;
use crate::model::heat::COPPER_PER_K;

/// A driver of several units.
pub(super) struct DriverLanes {
    bl: Real,
    re: Real,
    le: Real,
    mms: Real,
    /// 1/Cms, N/m.
    stiffness: Real,
    rms: Real,
    sd: f64,
}

/// What a driver does at one frequency.
pub(super) struct DriverAt {
    /// Of its terminals, S.
    pub(super) admittance: Complex,
    /// Cone flow per volt at its terminals, m³/s.
    pub(super) flow: Complex,
}

/// One side of several units.
pub(super) struct SideLanes {
    /// Depth and fill less one, temperature in K.
    pub(super) moved: [Real; AXES],
    pub(super) drivers: Ways<DriverLanes>,
}

impl SideLanes {
    pub(super) fn of(side: &BatchSide, values: &[&[f64]; LANES], shift: Shift) -> Self {
        let at = side.start + side.network.parts.len();
        let value = |k: usize| each(|l| values[l][at + k]);
        let warmer = each(|l| values[l].last().copied().unwrap_or(0.0));
        let driver = |motor: &Motor, from: usize| {
            let [mms, cms, rms, bl, re, le] = [0, 1, 2, 3, 4, 5].map(|k| value(from + k));
            DriverLanes {
                bl: each(|l| motor.bl_t_m * bl[l]),
                re: each(|l| motor.re_ohm * re[l] * (1.0 + COPPER_PER_K * warmer[l])),
                le,
                mms: each(|l| motor.mms_kg * mms[l]),
                stiffness: each(|l| 1.0 / (motor.cms_m_per_n * cms[l] * shift.cms)),
                rms: each(|l| motor.rms_kg_per_s * rms[l]),
                sd: motor.sd_m2,
            }
        };
        let (depth, fill) = (value(12), value(13));
        Self {
            moved: [each(|l| depth[l] - 1.0), each(|l| fill[l] * shift.fill - 1.0), warmer],
            drivers: Ways {
                woofer: driver(&side.motors.woofer, 0),
                tweeter: driver(&side.motors.tweeter, 6),
            },
        }
    }
}

impl DriverLanes {
    /// Z = (Ze + Bl²/Zm), v = Bl/(Zm Z), see [`crate::model::driver::Driver::respond_at`].
    #[inline(always)]
    pub(super) fn at(&self, omega: f64, point: &DriverPoint, moved: &[Real; AXES]) -> DriverAt {
        let load = point.load.at(moved);
        let square = self.sd * self.sd;
        let period = 1.0 / omega;
        let mobility = Complex {
            re: each(|l| self.rms[l] + square * load.re[l]),
            im: each(|l| omega * self.mms[l] - period * self.stiffness[l] + square * load.im[l]),
        }
        .inverse();
        let bl = &self.bl;
        let impedance = Complex {
            re: each(|l| self.re[l] + self.le[l] * point.coil.re + bl[l] * bl[l] * mobility.re[l]),
            im: each(|l| self.le[l] * point.coil.im + bl[l] * bl[l] * mobility.im[l]),
        };
        let own = impedance.inverse();
        let flow = mobility.times(&own).scaled(&each(|l| bl[l] * self.sd));
        let measured = point.measured.inv();
        DriverAt { admittance: own.times_one(measured.re, measured.im), flow }
    }
}
