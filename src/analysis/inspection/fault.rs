//! What can be wrong with a unit, one thing at a time.

use crate::circuit::network::{Component, Network, Part};
use crate::design::{Design, Side, Way};
use crate::model::fill::Fill;
use crate::units::significant;

/// Steps in the series of preferred values by which a part may be wrong.
const STEPS: [i32; 8] = [-4, -3, -2, -1, 1, 2, 3, 4];
/// Quality of the leaks that are tried, at the resonance of the woofer in its cavity.
const LEAKS: [f64; 3] = [5.0, 2.0, 0.8];
/// Parts of one kind are told apart when swapped if their values differ by more than this.
const SWAP_RATIO: f64 = 1.15;
/// What stands for an open and for a shorted part, Ω.
const OPEN_OHM: f64 = 1e6;
const SHORT_OHM: f64 = 1e-2;

/// One fault, or none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fault {
    /// None.
    None,
    /// A part, by its index in the network, that nothing flows through.
    Open(usize),
    /// A part with its ends joined.
    Short(usize),
    /// A part of another value.
    Wrong {
        /// Its index.
        part: usize,
        /// Steps in the series of preferred values.
        steps: i32,
        /// Its value, Ω, H or F.
        value: f64,
    },
    /// Two parts in each other's place.
    Swapped(usize, usize),
    /// A driver that is not connected, or whose coil is broken.
    DriverOpen(Way),
    /// One driver with its terminals exchanged.
    Reversed,
    /// A cavity that leaks, by its quality QL.
    Leak(f64),
    /// A cavity without its fill.
    NoFill,
    /// Resistance in the cable or a contact.
    Cable,
}

/// Faults that one repair cures: a name for them.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Cause {
    /// Nothing is wrong.
    None,
    /// A part is open.
    Open(usize),
    /// A part is shorted.
    Short(usize),
    /// A part's value is too large.
    TooLarge(usize),
    /// A part's value is too small.
    TooSmall(usize),
    /// Two parts are swapped.
    Swapped(usize, usize),
    /// The woofer is open.
    WooferOpen,
    /// The tweeter is open.
    TweeterOpen,
    /// A driver is reversed.
    Reversed,
    /// The cavity leaks.
    Leak,
    /// The fill is missing.
    NoFill,
    /// The cable or a contact has too much resistance.
    Cable,
}

impl Fault {
    /// What it is called.
    pub fn cause(&self) -> Cause {
        match *self {
            Self::None => Cause::None,
            Self::Open(k) => Cause::Open(k),
            Self::Short(k) => Cause::Short(k),
            Self::Wrong { part, steps, .. } if steps > 0 => Cause::TooLarge(part),
            Self::Wrong { part, .. } => Cause::TooSmall(part),
            Self::Swapped(a, b) => Cause::Swapped(a, b),
            Self::DriverOpen(Way::Woofer) => Cause::WooferOpen,
            Self::DriverOpen(Way::Tweeter) => Cause::TweeterOpen,
            Self::Reversed => Cause::Reversed,
            Self::Leak(_) => Cause::Leak,
            Self::NoFill => Cause::NoFill,
            Self::Cable => Cause::Cable,
        }
    }

    /// Every fault that a side with this network may have. A part's neighbours are those of its
    /// series in the design.
    pub fn all(design: &Design, side: &Side, network: &Network) -> Vec<Self> {
        let mut faults = vec![Self::None];
        for (k, part) in network.parts.iter().enumerate() {
            faults.extend([Self::Open(k), Self::Short(k)]);
            faults.extend(wrong(design, k, &part.component));
        }
        faults.extend(swaps(&network.parts));
        faults.extend([Self::DriverOpen(Way::Woofer), Self::DriverOpen(Way::Tweeter)]);
        let tight = side.cavity.leak_ql.unwrap_or(f64::INFINITY);
        faults.extend(LEAKS.into_iter().filter(|ql| 1.5 * ql < tight).map(Self::Leak));
        if side.cavity.fill != Fill::Empty {
            faults.push(Self::NoFill);
        }
        faults.extend([Self::Cable, Self::Reversed]);
        faults
    }

    /// Parts of a unit with this fault.
    pub(super) fn spoil(&self, parts: &mut [Part]) {
        match *self {
            Self::Open(k) => parts[k].component = Component::Resistor { ohm: OPEN_OHM },
            Self::Short(k) => parts[k].component = Component::Resistor { ohm: SHORT_OHM },
            Self::Wrong { part, value, .. } => {
                parts[part].component = parts[part].component.resized(value);
            }
            Self::Swapped(a, b) => {
                let (first, second) = (parts[a].component, parts[b].component);
                (parts[a].component, parts[b].component) = (second, first);
            }
            _ => {}
        }
    }

    /// The fault in words; `parts` are those of the network.
    pub fn words(&self, parts: &[Part]) -> String {
        match *self {
            Self::Wrong { part, value, .. } => {
                let p = &parts[part];
                let (found, wanted) = (p.component.with_value(value), p.component);
                format!("{} is {} in place of {}", p.reference, told(&found), told(&wanted))
            }
            other => other.cause().words(parts),
        }
    }
}

impl Cause {
    /// The cause in words; `parts` are those of the network.
    pub fn words(&self, parts: &[Part]) -> String {
        let name = |k: usize| &parts[k].reference;
        match *self {
            Self::None => "nothing wrong".into(),
            Self::Open(k) => format!("{} open", name(k)),
            Self::Short(k) => format!("{} shorted", name(k)),
            Self::TooLarge(k) => format!("{} too large", name(k)),
            Self::TooSmall(k) => format!("{} too small", name(k)),
            Self::Swapped(a, b) => format!("{} and {} swapped", name(a), name(b)),
            Self::WooferOpen => "woofer open".into(),
            Self::TweeterOpen => "tweeter open".into(),
            Self::Reversed => "a driver reversed".into(),
            Self::Leak => "air leak".into(),
            Self::NoFill => "fill missing".into(),
            Self::Cable => "resistance in the cable".into(),
        }
    }

    /// The kind of fault, the same for every part.
    pub fn kind(&self) -> &'static str {
        match self {
            Self::None => "none",
            Self::Open(_) => "part_open",
            Self::Short(_) => "part_short",
            Self::TooLarge(_) | Self::TooSmall(_) => "part_wrong",
            Self::Swapped(..) => "parts_swapped",
            Self::WooferOpen => "woofer_open",
            Self::TweeterOpen => "tweeter_open",
            Self::Reversed => "reversed",
            Self::Leak => "leak",
            Self::NoFill => "no_fill",
            Self::Cable => "cable",
        }
    }
}

fn told(component: &Component) -> String {
    let (factor, unit) = match component {
        Component::Resistor { .. } => (1.0, "Ω"),
        Component::Inductor { .. } => (1e3, "mH"),
        Component::Capacitor { .. } => (1e6, "µF"),
    };
    format!("{} {unit}", significant(component.value() * factor, 3))
}

/// Neighbours of a part in its series.
fn wrong(design: &Design, part: usize, component: &Component) -> Vec<Fault> {
    let value = component.value();
    let decade = value.log10().floor() as i32;
    let values = design.parts.series.of(component).values(decade - 2, decade + 2);
    let nearest = |v: &f64| (v / value).ln().abs();
    let order = |a: &(usize, &f64), b: &(usize, &f64)| nearest(a.1).total_cmp(&nearest(b.1));
    let Some((at, _)) = values.iter().enumerate().min_by(order) else { return Vec::new() };
    let step = |steps: i32| {
        let value = *values.get(at.checked_add_signed(steps as isize)?)?;
        Some(Fault::Wrong { part, steps, value })
    };
    STEPS.into_iter().filter_map(step).collect()
}

fn swaps(parts: &[Part]) -> Vec<Fault> {
    let mut found = Vec::new();
    for (b, second) in parts.iter().enumerate() {
        for (a, first) in parts[..b].iter().enumerate() {
            let (x, y) = (first.component, second.component);
            let ratio = (x.value() / y.value()).max(y.value() / x.value());
            if x.letter() == y.letter() && ratio > SWAP_RATIO {
                found.push(Fault::Swapped(a, b));
            }
        }
    }
    found
}
