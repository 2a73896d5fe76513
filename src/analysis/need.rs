//! What to ask for when buying a part, by the named rules, and whether an article stands it.

use super::ratings::Stress;
use crate::circuit::network::Component;
use crate::circuit::rules::{self, Derating};
use crate::design::{Article, Rating};
use crate::units;

/// What to ask for when buying a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Need {
    /// A resistor.
    Resistor {
        /// What it turns into heat, W.
        power_w: f64,
        /// Rating, half of it used after derating, W.
        rated_w: f64,
        /// The next usual one, W.
        package_w: Option<f64>,
        /// Surface of that one, wirewound, °C.
        surface_c: Option<f64>,
        /// The smallest usual one that stays cool enough beside foam, W.
        beside_foam_w: Option<f64>,
    },
    /// A coil.
    Inductor {
        /// For its heat, A rms.
        rms_a: f64,
        /// Without saturating, A.
        peak_a: f64,
        /// Copper loss, W.
        copper_w: f64,
    },
    /// A capacitor.
    Capacitor {
        /// Highest voltage, V.
        peak_v: f64,
        /// Rated voltage: the next usual one above 1.5 times that, V.
        rated_v: Option<f64>,
        /// Ripple current, A rms.
        ripple_a: f64,
    },
}

impl Need {
    /// Of a part under `stress` with `ambient_c` (°C) around.
    pub fn of(component: &Component, stress: &Stress, ambient_c: f64) -> Self {
        match component {
            Component::Resistor { .. } => {
                let (derating, power_w) = (Derating::WIREWOUND, stress.power.value);
                let rated_w = derating.needed_w(power_w, ambient_c);
                let package_w = rules::resistor_watts(rated_w);
                let surface = |w| derating.surface_c(power_w, w, ambient_c);
                let limit_c = rules::FOAM_LIMIT_C;
                Self::Resistor {
                    power_w,
                    rated_w,
                    package_w,
                    surface_c: package_w.map(surface),
                    beside_foam_w: rules::cool_resistor_watts(
                        &derating, power_w, ambient_c, limit_c,
                    ),
                }
            }
            Component::Inductor { .. } => Self::Inductor {
                rms_a: stress.amps.value,
                peak_a: stress.peak_a(),
                copper_w: stress.power.value,
            },
            Component::Capacitor { .. } => Self::Capacitor {
                peak_v: stress.peak_v(),
                rated_v: rules::capacitor_volts(stress.peak_v()),
                ripple_a: stress.amps.value,
            },
        }
    }

    /// The harder one of two for the same kind of part.
    #[must_use]
    pub fn harder(self, other: Self) -> Self {
        let measure = |need: &Self| match *need {
            Self::Resistor { rated_w, .. } => rated_w,
            Self::Inductor { rms_a, .. } => rms_a,
            Self::Capacitor { peak_v, .. } => peak_v,
        };
        if measure(&other) > measure(&self) { other } else { self }
    }

    /// Why `article` does not stand it, as far as its file says; with `ambient_c` around.
    pub fn refusal(&self, article: &Article, ambient_c: f64) -> Option<String> {
        let said = |v: f64| units::significant(v, 3);
        match (*self, article.rating) {
            (Self::Resistor { power_w, .. }, Some(Rating::PowerW(had))) => {
                let derating = Derating::of_family(&article.family);
                let needed = derating.needed_w(power_w, ambient_c);
                (needed > had)
                    .then(|| format!("is rated {} W, {} W are needed", said(had), said(needed)))
            }
            (Self::Inductor { rms_a, peak_a, .. }, rating) => {
                let current = match rating {
                    Some(Rating::CurrentA(a)) => Some(a),
                    _ => None,
                };
                let knee = article.saturation_a.or(current).filter(|_| article.is_cored());
                if let Some(had) = current.filter(|had| rms_a > *had) {
                    return Some(format!(
                        "stands {} A, it carries {} A rms",
                        said(had),
                        said(rms_a)
                    ));
                }
                knee.filter(|had| peak_a > *had).map(|had| {
                    format!("saturates from {} A, peaks are {} A", said(had), said(peak_a))
                })
            }
            (Self::Capacitor { peak_v, ripple_a, .. }, rating) => {
                let wanted = rules::CAPACITOR_MARGIN * peak_v;
                if let Some(Rating::VoltageV(had)) = rating
                    && wanted > had
                {
                    let peak = said(peak_v);
                    return Some(format!(
                        "is rated {} V, 1.5 times the peak of {peak} V is {} V",
                        said(had),
                        said(wanted)
                    ));
                }
                article.ripple_a.filter(|had| ripple_a > *had).map(|had| {
                    format!("stands {} A of ripple, it carries {} A", said(had), said(ripple_a))
                })
            }
            _ => None,
        }
    }

    /// What no usual part stands, where it is so.
    pub fn beyond(&self) -> Option<String> {
        match *self {
            Self::Resistor { rated_w, package_w: None, .. } => Some(format!(
                "would need a resistor of {} W, more than any usual one",
                units::significant(rated_w, 3)
            )),
            Self::Capacitor { peak_v, rated_v: None, .. } => Some(format!(
                "sees peaks of {} V, too much for any usual rated voltage",
                units::significant(peak_v, 3)
            )),
            _ => None,
        }
    }

    /// Surface of a resistor as bought, or as the rule asks for, °C, its rating in W, and the
    /// smallest one that foam bears, W.
    pub fn surface(&self, article: Option<&Article>, ambient_c: f64) -> Option<Surface> {
        let Self::Resistor { power_w, package_w, .. } = *self else { return None };
        let derating = Derating::of_family(article.map_or("", |a| a.family.as_str()));
        let stated = article.and_then(|a| match a.rating {
            Some(Rating::PowerW(w)) => Some(w),
            _ => None,
        });
        let rated_w = stated.or(package_w)?;
        let limit_c = rules::FOAM_LIMIT_C;
        Some(Surface {
            celsius: derating.surface_c(power_w, rated_w, ambient_c),
            rated_w,
            cool_w: rules::cool_resistor_watts(&derating, power_w, ambient_c, limit_c),
        })
    }
}

/// How hot a resistor gets outside.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Surface {
    /// Its surface, °C.
    pub celsius: f64,
    /// Rating that this is for, W.
    pub rated_w: f64,
    /// The smallest usual rating that stays cool enough beside foam, W.
    pub cool_w: Option<f64>,
}
