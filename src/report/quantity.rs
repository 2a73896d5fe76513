//! Parts as people write them.

use crate::analysis::choice::ChosenPart;
use crate::circuit::network::Component;
use crate::circuit::preferred::Connection;
use crate::units::significant;

/// The main value of a part with `digits` digits: "0.621 mH", "6.80 µF", "2.20 Ω".
pub fn part(component: &Component, digits: usize) -> String {
    match *component {
        Component::Resistor { ohm } => format!("{} Ω", significant(ohm, digits)),
        Component::Inductor { henry, .. } if henry < 99.95e-6 => {
            format!("{} µH", significant(henry * 1e6, digits))
        }
        Component::Inductor { henry, .. } => format!("{} mH", significant(henry * 1e3, digits)),
        Component::Capacitor { farad, .. } if farad < 99.95e-9 => {
            format!("{} nF", significant(farad * 1e9, digits))
        }
        Component::Capacitor { farad, .. } => format!("{} µF", significant(farad * 1e6, digits)),
    }
}

/// The loss of a part: "DCR 0.24 Ω", "ESR 0.05 Ω", or nothing.
pub fn loss(component: &Component) -> String {
    match *component {
        Component::Inductor { dcr_ohm, .. } if dcr_ohm > 0.0 => {
            format!("DCR {} Ω", significant(dcr_ohm, 2))
        }
        Component::Capacitor { esr_ohm, .. } if esr_ohm > 0.0 => {
            format!("ESR {} Ω", significant(esr_ohm, 2))
        }
        _ => String::new(),
    }
}

/// What is bought for a part: "6.80 µF", "4.70 µF ∥ 1.00 µF", "1.50 Ω + 3.90 Ω".
pub fn choice(chosen: &ChosenPart) -> String {
    let values: Vec<String> =
        chosen.bought.iter().map(|(_, good)| part(&good.component, 3)).collect();
    let joint = match chosen.choice.second {
        Some((_, Connection::Parallel)) => " ∥ ",
        _ => " + ",
    };
    values.join(joint)
}

/// "series" or "parallel".
pub fn connection(connection: Connection) -> &'static str {
    match connection {
        Connection::Series => "series",
        Connection::Parallel => "parallel",
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn parts_take_the_unit_that_fits() {
        let coil = |henry| Component::Inductor { henry, dcr_ohm: 0.0 };
        assert_eq!(part(&coil(0.621e-3), 3), "0.621 mH");
        assert_eq!(part(&coil(47e-6), 3), "47.0 µH");
        assert_eq!(part(&Component::Capacitor { farad: 6.8e-6, esr_ohm: 0.0 }, 3), "6.80 µF");
    }
}
