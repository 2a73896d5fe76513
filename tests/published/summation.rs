//! Two sources at a point: lobes, nulls, mismatch, listeners in space, one mirror image.
//!
//! Sources (named in full in each row of `data/summation.toml`): closed forms of the two-source
//! sum, Linkwitz (1976) from memory; superposition of spherical waves; a rigid mirror. Here the sums
//! are made from the crate's prototype responses, points and spherical waves instead.

use crate::rows::{Row, rows};
use crate::search::{lowest, root};
use num_complex::Complex64;
use slabtone::circuit::prototype;
use slabtone::circuit::slope::Slope;
use slabtone::grid::level_db;
use slabtone::model::air::{Air, STANDARD_PRESSURE_PA};
use slabtone::model::place::{Point, spherical_wave};
use std::f64::consts::TAU;

const ROWS: &str = include_str!("data/summation.toml");
/// A listener so far away that levels and angles of the far field hold to nine digits.
const FAR_M: f64 = 1e7;

/// Two point sources one above the other, fed by the halves of a crossover.
struct Pair {
    slope: Slope,
    polarity: f64,
    fc_hz: f64,
    spacing_m: f64,
    air: Air,
}

impl Pair {
    fn of(row: &Row, slope: &str, polarity: f64) -> Self {
        Self {
            slope: slope.parse().expect("the name of a slope"),
            polarity,
            fc_hz: row.number("fc_hz"),
            spacing_m: row.number("spacing_m"),
            air: air_of(row),
        }
    }

    /// Far-field amplitude at fc, `theta_deg` above the axis (the tweeter is on top).
    fn amplitude_at_fc(&self, theta_deg: f64) -> f64 {
        let theta = theta_deg.to_radians();
        let listener = Point::new(0.0, FAR_M * theta.sin(), FAR_M * theta.cos());
        let k = TAU * self.fc_hz / self.air.c_m_per_s;
        let (low, high) = prototype::responses(self.slope, 1.0);
        let height_m = self.spacing_m / 2.0;
        let wave =
            |y_m: f64| spherical_wave(k, Point::new(0.0, y_m, 0.0).distance_m(&listener)) * FAR_M;
        (low * wave(-height_m) + self.polarity * high * wave(height_m)).norm()
    }
}

#[test]
fn lobes_at_the_crossover_frequency_are_the_published_ones() {
    for row in rows(ROWS, "lobing_at_fc", 3) {
        let pair = Pair::of(&row, row.text("alignment"), row.number("tweeter_polarity"));
        let angles = row.numbers("theta_deg");
        let levels = angles.iter().map(|&t| level_db(pair.amplitude_at_fc(t), 1.0));
        row.check_all("level_db", &levels.collect::<Vec<f64>>());
        row.done();
    }
}

#[test]
fn nulls_lie_where_published() {
    for row in rows(ROWS, "lobing_nulls", 1) {
        let lr4 = Pair::of(&row, "lr4", 1.0);
        row.check("lr4_null_deg", lowest(10.0, 80.0, |t| lr4.amplitude_at_fc(t)));
        row.check("lr4_null_deg", -lowest(-80.0, -10.0, |t| lr4.amplitude_at_fc(t)));
        // The row's 6 dB are half the amplitude, 6.02 dB: cos X = 1/2 at d sin θ = λ/3.
        row.check("lr4_minus6db_deg", root(0.0, 38.0, |t| lr4.amplitude_at_fc(t) - 0.5));
        // One side has the null, the other the peak, and reversing the tweeter swaps them.
        for (polarity, side) in [(1.0, -1.0), (-1.0, 1.0)] {
            let bw3 = Pair::of(&row, "bw3", polarity);
            let null = lowest(2.0, 50.0, |t| bw3.amplitude_at_fc(side * t));
            row.check("bw3_null_deg", null);
            row.check("bw3_peak_db", level_db(bw3.amplitude_at_fc(-side * null), 1.0));
        }
        row.done();
    }
}

#[test]
fn a_reversed_tweeter_nulls_as_deep_as_the_mismatch_allows() {
    for row in rows(ROWS, "reverse_null_depth", 15) {
        let slope = "lr4".parse().expect("the name of a slope");
        let (low, high) = prototype::responses(slope, 1.0);
        let gain = 10f64.powf(row.number("level_mismatch_db") / 20.0);
        let phase = row.number("phase_mismatch_deg").to_radians();
        let off = high * Complex64::from_polar(gain, phase);
        let ideal = (low + high).norm();
        row.check("null_db", level_db((low - off).norm(), ideal));
        row.check("in_phase_db", level_db((low + off).norm(), ideal));
        row.done();
    }
}

/// One way of a row: where its acoustic centre is, and where the centre's image is if there is
/// a mirror.
struct Way {
    centre: Point,
    image: Option<Point>,
}

impl Way {
    fn of(row: &Row, name: &str) -> Self {
        let face = point(row, &format!("{name}_xyz_m"));
        let depth_m = row.number(&format!("{name}_centre_depth_m"));
        let centre = Point { z_m: face.z_m - depth_m, ..face };
        let image = row.has("mirror_plane_m").then(|| {
            assert_eq!(row.text("mirror_axis"), "y", "{}: a mirror across y", row.id);
            Point { y_m: 2.0 * row.number("mirror_plane_m") - centre.y_m, ..centre }
        });
        Self { centre, image }
    }

    /// What arrives at `listener` from a source of unit strength.
    fn wave(&self, k: f64, listener: &Point, reflection: f64) -> Complex64 {
        let from = |source: &Point| spherical_wave(k, source.distance_m(listener));
        let reflected = self.image.as_ref().map_or(Complex64::default(), from);
        from(&self.centre) + reflection * reflected
    }

    fn check_distances(&self, row: &Row, name: &str, listener: &Point) {
        row.check(&format!("{name}_r_m"), self.centre.distance_m(listener));
        if let Some(image) = &self.image {
            row.check(&format!("{name}_image_r_m"), image.distance_m(listener));
        }
    }
}

#[test]
fn listeners_in_space_hear_the_published_sum() {
    for row in rows(ROWS, "sum_3d_lr4", 5) {
        let slope = "lr4".parse().expect("the name of a slope");
        let (woofer, tweeter) = (Way::of(&row, "woofer"), Way::of(&row, "tweeter"));
        let listener = point(&row, "listener_xyz_m");
        woofer.check_distances(&row, "woofer", &listener);
        tweeter.check_distances(&row, "tweeter", &listener);
        let reflection =
            if row.has("mirror_reflection") { row.number("mirror_reflection") } else { 0.0 };
        let (c, polarity) = (air_of(&row).c_m_per_s, row.number("tweeter_polarity"));
        let sum = |f: &f64| {
            let (low, high) = prototype::responses(slope, f / row.number("fc_hz"));
            let wave = |way: &Way| way.wave(TAU * f / c, &listener, reflection);
            low * wave(&woofer) + polarity * high * wave(&tweeter)
        };
        let pressure: Vec<Complex64> = row.numbers("frequency_hz").iter().map(sum).collect();
        let levels: Vec<f64> = pressure.iter().map(|p| level_db(p.norm(), 1.0)).collect();
        let phases: Vec<f64> = pressure.iter().map(|p| p.arg().to_degrees()).collect();
        row.check_all("level_db", &levels);
        row.check_all("phase_deg", &phases);
        row.done();
    }
}

/// The comb of one image: relative to the direct sound, searched for its notches and its peaks.
#[test]
fn an_image_makes_the_published_comb() {
    for row in rows(ROWS, "image_comb", 3) {
        let c = air_of(&row).c_m_per_s;
        let (direct_m, reflected_m) = (row.number("direct_m"), row.number("reflected_m"));
        let reflection = row.number("reflection");
        let ratio = |f: f64| {
            let wave = |distance_m: f64| spherical_wave(TAU * f / c, distance_m);
            reflection * wave(reflected_m) / wave(direct_m)
        };
        let amplitude = |f: f64| (1.0 + ratio(f)).norm();
        let spacing_hz = c / (reflected_m - direct_m);
        let count = row.expected_numbers("notch_hz").len();
        let between = |n: usize| (n as f64 * spacing_hz, (n + 1) as f64 * spacing_hz);
        let notches = (0..count).map(between).map(|(low, high)| lowest(low, high, amplitude));
        let notches: Vec<f64> = notches.collect();
        row.check_all("notch_hz", &notches);
        for pair in notches.windows(2) {
            let peak_hz = lowest(pair[0], pair[1], |f| -amplitude(f));
            row.check("notch_db", level_db(amplitude(pair[0]), 1.0));
            row.check("peak_db", level_db(amplitude(peak_hz), 1.0));
        }
        let low_hz = spacing_hz / 100.0;
        row.check("delay_ms", -1e3 * ratio(low_hz).arg() / (TAU * low_hz));
        row.done();
    }
}

fn air_of(row: &Row) -> Air {
    Air::dry(row.number("temperature_c"), STANDARD_PRESSURE_PA)
}

fn point(row: &Row, key: &str) -> Point {
    match row.numbers(key)[..] {
        [x_m, y_m, z_m] => Point::new(x_m, y_m, z_m),
        _ => panic!("{}: {key} has three coordinates", row.id),
    }
}
