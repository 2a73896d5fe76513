//! Rules by which parts are rated, each with where it comes from.

/// A capacitor's rated voltage is above this many times the highest peak on it (common practice,
/// no source).
pub const CAPACITOR_MARGIN: f64 = 1.5;
/// Rated voltages of capacitors, V: the R 5 series (ISO 3) as IEC 60384-1 prefers it (from memory).
pub const CAPACITOR_VOLTS: [f64; 13] =
    [6.3, 10.0, 16.0, 25.0, 40.0, 63.0, 100.0, 160.0, 250.0, 400.0, 630.0, 1000.0, 1600.0];
/// A resistor takes at most this share of what its derated rating allows (common practice, no
/// source).
pub const RESISTOR_SHARE: f64 = 0.5;
/// Rated powers of resistors, W (common practice, no source).
pub const RESISTOR_WATTS: [f64; 13] =
    [0.25, 0.5, 1.0, 2.0, 3.0, 5.0, 7.0, 10.0, 15.0, 20.0, 25.0, 50.0, 100.0];
/// Hottest surface beside wood, °C: a rise of 65 K in a room of 25 °C (IEC 60335-1, table 3, from
/// memory).
pub const WOOD_LIMIT_C: f64 = 90.0;
/// Hottest surface beside foam, °C (polyurethane softens above; common practice, no source).
pub const FOAM_LIMIT_C: f64 = 80.0;
/// Air around the board inside a closed panel unless told, °C (common practice, no source).
pub const USUAL_AMBIENT_C: f64 = 40.0;

/// How a resistor's rating falls with the temperature around it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Derating {
    /// Full rating up to here, °C.
    pub full_c: f64,
    /// Nothing left from here, °C.
    pub zero_c: f64,
}

impl Derating {
    /// Wirewound: a straight line from 70 to 275 °C (the usual shape, no part's data sheet).
    pub const WIREWOUND: Self = Self { full_c: 70.0, zero_c: 275.0 };
    /// Metal film: a straight line from 70 to 155 °C (the same).
    pub const METAL_FILM: Self = Self { full_c: 70.0, zero_c: 155.0 };

    /// By what a resistor is made as: film or wirewound.
    pub fn of_family(family: &str) -> Self {
        if family.contains("film") { Self::METAL_FILM } else { Self::WIREWOUND }
    }

    /// Share of the rating that is left with `ambient_c` around, 0 to 1.
    pub fn share(&self, ambient_c: f64) -> f64 {
        ((self.zero_c - ambient_c) / (self.zero_c - self.full_c)).clamp(0.0, 1.0)
    }

    /// Power that a resistor rated `rated_w` may take with `ambient_c` around, W.
    pub fn allowed_w(&self, rated_w: f64, ambient_c: f64) -> f64 {
        rated_w * self.share(ambient_c)
    }

    /// Rating that `power_w` asks for with `ambient_c` around, half of it used, W; infinite where
    /// nothing is left.
    pub fn needed_w(&self, power_w: f64, ambient_c: f64) -> f64 {
        if power_w == 0.0 { 0.0 } else { power_w / (RESISTOR_SHARE * self.share(ambient_c)) }
    }

    /// Surface of a resistor rated `rated_w` that takes `power_w`, °C: the rise that the line of
    /// derating implies, from `full_c` to `zero_c` at its rating; the hottest spot, so rather too
    /// much.
    pub fn surface_c(&self, power_w: f64, rated_w: f64, ambient_c: f64) -> f64 {
        ambient_c + (self.zero_c - self.full_c) * power_w / rated_w
    }
}

/// Rated voltage for a capacitor with peaks of `peak_v`: the next standard one above 1.5 times
/// that; `None` above the largest.
pub fn capacitor_volts(peak_v: f64) -> Option<f64> {
    CAPACITOR_VOLTS.into_iter().find(|v| *v > CAPACITOR_MARGIN * peak_v)
}

/// The smallest usual resistor of `needed_w` or more; `None` above the largest.
pub fn resistor_watts(needed_w: f64) -> Option<f64> {
    RESISTOR_WATTS.into_iter().find(|w| *w >= needed_w)
}

/// The smallest usual resistor whose surface stays at `limit_c` or below; `None` where none does.
pub fn cool_resistor_watts(
    derating: &Derating,
    power_w: f64,
    ambient_c: f64,
    limit_c: f64,
) -> Option<f64> {
    let cool = |w: &f64| derating.surface_c(power_w, *w, ambient_c) <= limit_c;
    RESISTOR_WATTS.into_iter().find(cool)
}
