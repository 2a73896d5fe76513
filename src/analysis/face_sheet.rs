//! The face of a side's bay put to the question: how near a wall it is.

use super::finding::Finding;
use super::sheet::{Band, FlowPeak, bands};
use crate::grid::{FLOOR_DB, Transfer};

/// Above this nothing is judged, Hz: the cone is off to its crossover, and modes lie dense.
const HIGHEST_HZ: f64 = 3_000.0;
/// A face that stays this far below the cone is not told as moving, dB.
const QUIET_DB: f64 = -10.0;

/// How a face moves with the pressure in its bay.
#[derive(Debug, Clone)]
pub struct FaceSheet {
    /// Where it moves most air against the cone, below 3 kHz.
    pub peak: FlowPeak,
    /// Where it moves more air than the cone.
    pub above_cone: Vec<Band>,
    /// What it adds to the cavity's volume at low frequency, m³.
    pub extra_volume_m3: f64,
}

impl FaceSheet {
    /// A face whose outward flow over the inward flow of the cone is `ratio` and that adds
    /// `extra_volume_m3` at low frequency.
    pub fn of(ratio: &Transfer, extra_volume_m3: f64) -> Self {
        let hz = ratio.grid().frequency_hz();
        let judged = hz.partition_point(|&hz| hz <= HIGHEST_HZ);
        let db = &ratio.level_db(1.0)[..judged];
        let levels = hz.iter().zip(db);
        let levels = levels.map(|(&frequency_hz, &level_db)| FlowPeak { level_db, frequency_hz });
        let lowest = FlowPeak { level_db: FLOOR_DB, frequency_hz: ratio.grid().start_hz() };
        let higher =
            |top: FlowPeak, next: FlowPeak| if next.level_db > top.level_db { next } else { top };
        Self {
            peak: levels.fold(lowest, higher),
            above_cone: bands(&hz[..judged], db),
            extra_volume_m3,
        }
    }

    /// What there is to tell, of the side called `name`.
    pub fn finding(&self, name: &str) -> Option<Finding> {
        let subject = format!("{name} face");
        if !self.above_cone.is_empty() {
            let bands: Vec<String> = self.above_cone.iter().map(Band::words).collect();
            let text = format!(
                "is not a wall: it moves more air than the cone {} ({}). Foam on the back calms the standing waves that drive it; a thicker face, or blocks under its middle, moves its modes",
                bands.join(" and "),
                self.peak.words()
            );
            return Some(Finding::caution(subject, text));
        }
        (self.peak.level_db > QUIET_DB).then(|| {
            let text = format!("is not quite a wall: it moves {}", self.peak.words());
            Finding::note(subject, text)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::grid::{Grid, Spectrum};
    use num_complex::Complex64;

    fn face(gain: impl Fn(f64) -> f64) -> FaceSheet {
        let grid = Grid::log(20.0, 20_000.0, 481).expect("sound");
        let ratio = Spectrum::from_fn(&grid, |w| Complex64::from(gain(w / std::f64::consts::TAU)));
        FaceSheet::of(&ratio, 1e-4)
    }

    #[test]
    fn a_still_face_is_not_told_and_a_loud_one_is_a_caution() {
        assert!(face(|_| 0.1).finding("left").is_none());
        let note = face(|hz| if hz < 500.0 { 0.1 } else { 0.5 }).finding("left").unwrap();
        assert!(note.text.contains("not quite a wall") && note.text.contains("0.5 times"));
        let loud = face(|hz| if (400.0..500.0).contains(&hz) { 3.0 } else { 0.1 });
        assert_eq!(loud.above_cone.len(), 1);
        assert!(loud.finding("left").unwrap().text.contains("more air than the cone"));
    }

    #[test]
    fn what_is_above_three_kilohertz_is_not_judged() {
        let face = face(|hz| if hz > 3_100.0 { 9.0 } else { 0.1 });
        assert!(face.above_cone.is_empty() && face.peak.level_db < -19.0);
    }
}
