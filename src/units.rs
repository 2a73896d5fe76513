//! Numbers with units as people write them.

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

/// A number as short as it is exact to 12 digits: "300", "2.5", "2059965".
pub fn plain(value: f64) -> String {
    let rounded: f64 = format!("{value:.11e}").parse().unwrap_or(value);
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
}
