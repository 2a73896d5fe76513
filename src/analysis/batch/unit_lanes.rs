//! The values of several units as the frequency loop wants them.

use super::surrogate::{AXES, DriverPoint, Expansion};
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
    /// Mechanical impedance with the load, N·s/m, and blocked electrical impedance, Ω.
    #[inline(always)]
    fn elements(&self, omega: f64, point: &DriverPoint, moved: &[Real; AXES]) -> [Complex; 2] {
        let load = point.load.at(moved);
        let square = self.sd * self.sd;
        let period = 1.0 / omega;
        let mechanical = Complex {
            re: each(|l| self.rms[l] + square * load.re[l]),
            im: each(|l| omega * self.mms[l] - period * self.stiffness[l] + square * load.im[l]),
        };
        let blocked = Complex {
            re: each(|l| self.re[l] + self.le[l] * point.coil.re),
            im: each(|l| self.le[l] * point.coil.im),
        };
        [mechanical, blocked]
    }

    /// Z = (Ze + Bl²/Zm), v = Bl/(Zm Z), see [`crate::model::driver::Driver::respond_at`].
    #[inline(always)]
    pub(super) fn at(&self, omega: f64, point: &DriverPoint, moved: &[Real; AXES]) -> DriverAt {
        let [mechanical, blocked] = self.elements(omega, point, moved);
        let mobility = mechanical.inverse();
        let bl = &self.bl;
        let impedance = Complex {
            re: each(|l| blocked.re[l] + bl[l] * bl[l] * mobility.re[l]),
            im: each(|l| blocked.im[l] + bl[l] * bl[l] * mobility.im[l]),
        };
        let own = impedance.inverse();
        let flow = mobility.times(&own).scaled(&each(|l| bl[l] * self.sd));
        let measured = point.measured.inv();
        DriverAt { admittance: own.times_one(measured.re, measured.im), flow }
    }
}

/// What two drivers in one air do at one frequency, the woofer first.
pub(super) struct PairAt {
    /// Of each driver's terminals, and the current into either per volt at the other, S; the
    /// others shorted.
    pub(super) admittances: [Complex; 3],
    /// Flow of each cone per volt at its own terminals, m³/s.
    own: [Complex; 2],
    /// The same per volt at the other's.
    by_other: [Complex; 2],
}

impl PairAt {
    /// Flow of each cone, m³/s, with these volts at the drivers.
    #[inline(always)]
    pub(super) fn flows(&self, volts: &[Complex; 2]) -> [Complex; 2] {
        let flow =
            |i: usize| self.own[i].times(&volts[i]).plus(&self.by_other[i].times(&volts[1 - i]));
        [flow(0), flow(1)]
    }
}

impl Ways<DriverLanes> {
    /// Both drivers with `between` from cone to cone, see [`crate::model::shared_air`].
    #[inline(always)]
    pub(super) fn at(
        &self,
        omega: f64,
        points: &Ways<DriverPoint>,
        between: &Expansion,
        moved: &[Real; AXES],
    ) -> PairAt {
        let drivers = [&self.woofer, &self.tweeter];
        let points = [&points.woofer, &points.tweeter];
        let [[m0, e0], [m1, e1]] = [0, 1].map(|i| drivers[i].elements(omega, points[i], moved));
        let (moving, blocked) = ([m0, m1], [e0, e1]);
        let areas = drivers[0].sd * drivers[1].sd;
        let shared = between.at(moved).times_one(areas, 0.0);
        let square = shared.times(&shared);
        let push = [0, 1].map(|i| blocked[i].inverse().scaled(&drivers[i].bl));
        let braked = [0, 1].map(|i| moving[i].plus(&push[i].scaled(&drivers[i].bl)));
        let shorted = braked[0].times(&braked[1]).minus(&square).inverse();
        let open = moving[0].times(&moving[1]).minus(&square).inverse();
        let flow = |i: usize, by: &Complex, push: &Complex| {
            by.times(push).times(&shorted).times_one(drivers[i].sd, 0.0)
        };
        let ohm = [0, 1].map(|i| {
            let squared = each(|l| drivers[i].bl[l] * drivers[i].bl[l]);
            let z = blocked[i].plus(&moving[1 - i].times(&open).scaled(&squared));
            z.times_one(points[i].measured.re, points[i].measured.im)
        });
        let bl = each(|l| drivers[0].bl[l] * drivers[1].bl[l]);
        let mutual = shared.times(&open).scaled(&bl).negative();
        let inverse = ohm[0].times(&ohm[1]).minus(&mutual.times(&mutual)).inverse();
        let negative = shared.negative();
        PairAt {
            admittances: [
                ohm[1].times(&inverse),
                ohm[0].times(&inverse),
                mutual.times(&inverse).negative(),
            ],
            own: [flow(0, &braked[1], &push[0]), flow(1, &braked[0], &push[1])],
            by_other: [flow(0, &negative, &push[1]), flow(1, &negative, &push[0])],
        }
    }
}
