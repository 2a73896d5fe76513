//! The one colour ramp of maps: pale sand for little, through sea green, to ink blue for much.
//!
//! It is a slightly bent line through the OKLab colour space (Björn Ottosson, 2020), in which equal
//! distances look equally different. Lightness falls evenly along it, so it survives grey print and
//! every kind of colour blindness.

/// Lightness and the two colour axes at a place from 0 to 1 along the ramp.
fn lab(place: f64) -> [f64; 3] {
    let p = if place.is_finite() { place.clamp(0.0, 1.0) } else { 0.0 };
    let bend = (std::f64::consts::PI * p).sin();
    [0.965 - 0.685 * p, 0.004 - 0.062 * bend, 0.045 - 0.115 * p]
}

/// The colour at a place from 0 to 1 along the ramp; places outside are drawn to its ends.
pub(super) fn shade(place: f64) -> (u8, u8, u8) {
    let [l, a, b] = lab(place);
    // Cone responses, then linear sRGB: the two matrices of OKLab.
    let long = (l + 0.396_337_777_4 * a + 0.215_803_757_3 * b).powi(3);
    let medium = (l - 0.105_561_345_8 * a - 0.063_854_172_8 * b).powi(3);
    let short = (l - 0.089_484_177_5 * a - 1.291_485_548_0 * b).powi(3);
    let red = 4.076_741_662_1 * long - 3.307_711_591_3 * medium + 0.230_969_929_2 * short;
    let green = -1.268_438_004_6 * long + 2.609_757_401_1 * medium - 0.341_319_396_5 * short;
    let blue = -0.004_196_086_3 * long - 0.703_418_614_7 * medium + 1.707_614_701_0 * short;
    (encoded(red), encoded(green), encoded(blue))
}

/// The sRGB transfer curve (IEC 61966-2-1), 0 to 255.
fn encoded(linear: f64) -> u8 {
    let v = linear.clamp(0.0, 1.0);
    let curved = if v <= 0.003_130_8 { 12.92 * v } else { 1.055 * v.powf(1.0 / 2.4) - 0.055 };
    (255.0 * curved).round() as u8
}
