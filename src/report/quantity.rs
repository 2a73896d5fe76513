//! Numbers with units as people write them.

use crate::analysis::choice::ChosenPart;
use crate::circuit::network::Component;
use crate::circuit::preferred::Connection;

/// `value` rounded to `digits` significant digits, without an exponent between 0.001 and 10⁶.
pub fn significant(value: f64, digits: usize) -> String {
    if value == 0.0 {
        return "0".into();
    }
    let magnitude = value.abs().log10().floor() as i32;
    let decimals = (digits as i32 - 1 - magnitude).max(0) as usize;
    // Rounding may carry into the next decade (9.996 → 10.00): one decimal less then.
    let text = format!("{value:.decimals$}");
    let carried = text
        .trim_start_matches('-')
        .parse::<f64>()
        .is_ok_and(|v| v > 0.0 && v.log10().floor() as i32 > magnitude && decimals > 0);
    if carried { format!("{value:.*}", decimals - 1) } else { text }
}

/// A number as short as it is exact to 6 digits: "300", "2.5".
pub fn plain(value: f64) -> String {
    let rounded: f64 = format!("{value:.5e}").parse().unwrap_or(value);
    rounded.to_string()
}

/// A frequency: "85 Hz", "2.60 kHz".
pub fn hertz(hz: f64) -> String {
    if hz >= 999.5 {
        format!("{} kHz", significant(hz / 1e3, 3))
    } else {
        format!("{} Hz", significant(hz, 3))
    }
}

/// A resistance or impedance: "5.40 Ω".
pub fn ohms(ohm: f64) -> String {
    format!("{} Ω", significant(ohm, 3))
}

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
    let values: Vec<String> = chosen.bought.iter().map(|(_, c)| part(c, 3)).collect();
    let joint = match chosen.choice.second {
        Some((_, Connection::Parallel)) => " ∥ ",
        _ => " + ",
    };
    values.join(joint)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn significant_digits_survive_a_carry_and_small_numbers() {
        for (value, digits, expected) in [
            (9.996, 3, "10.0"),
            (0.06214, 3, "0.0621"),
            (1234.6, 3, "1235"),
            (0.0, 3, "0"),
            (-2.7449, 3, "-2.74"),
        ] {
            assert_eq!(significant(value, digits), expected);
        }
    }

    #[test]
    fn parts_take_the_unit_that_fits() {
        let coil = |henry| Component::Inductor { henry, dcr_ohm: 0.0 };
        assert_eq!(part(&coil(0.621e-3), 3), "0.621 mH");
        assert_eq!(part(&coil(47e-6), 3), "47.0 µH");
        assert_eq!(part(&Component::Capacitor { farad: 6.8e-6, esr_ohm: 0.0 }, 3), "6.80 µF");
    }
}
