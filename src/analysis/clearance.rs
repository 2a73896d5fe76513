//! Whether everything fits: drivers in the face, in the depth, beside one another and beside ribs;
//! cavities in the panel. Every fault comes with its numbers and the smallest change that cures it.

use super::finding::Finding;
use crate::design::{Along, Cavity, Design, Mounted, Rib, Side};
use crate::model::driver::Driver;
use crate::model::fill::Fill;

/// Gap that a driver's rear should keep to the back even without a vent, m. Common practice, no
/// source.
pub const REAR_CLEARANCE_M: f64 = 2e-3;
/// Lengths that agree this well, m, are equal.
const SAME_M: f64 = 1e-9;

/// A rib in a cavity, as a plain line in panel coordinates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RibLine {
    /// One end of its middle line, x and y, m.
    pub from_m: (f64, f64),
    /// The other end, x and y, m.
    pub to_m: (f64, f64),
    /// Its width, m.
    pub width_m: f64,
    /// Whether it reaches from back to face; otherwise it stands on the back alone.
    pub divides: bool,
}

/// Every rib of a design, across the cavity it is in.
pub fn rib_lines(design: &Design) -> Vec<RibLine> {
    let of = |cavity: &Cavity, rib: &Rib| {
        let (w, h) = (0.5 * cavity.width_m, 0.5 * cavity.height_m);
        let (from_m, to_m) = match rib.along {
            Along::Width => ((cavity.x_m - w, rib.at_m), (cavity.x_m + w, rib.at_m)),
            Along::Height => ((rib.at_m, cavity.y_m - h), (rib.at_m, cavity.y_m + h)),
        };
        RibLine { from_m, to_m, width_m: rib.width_m, divides: rib.divides }
    };
    let cavities = design.sides.iter().map(|s| &s.cavity);
    cavities.flat_map(|c| c.ribs.iter().map(move |rib| of(c, rib))).collect()
}

impl RibLine {
    /// From a place to the nearest face of the rib, m; negative inside it.
    fn distance_m(&self, (x, y): (f64, f64)) -> f64 {
        let along = (self.to_m.0 - self.from_m.0, self.to_m.1 - self.from_m.1);
        let to = (x - self.from_m.0, y - self.from_m.1);
        let length2 = along.0.powi(2) + along.1.powi(2);
        let share = if length2 > 0.0 { (to.0 * along.0 + to.1 * along.1) / length2 } else { 0.0 };
        let share = share.clamp(0.0, 1.0);
        (to.0 - share * along.0).hypot(to.1 - share * along.1) - 0.5 * self.width_m
    }
}

/// The gap that this driver's rear should have to the back, m: what its vent needs, and not less
/// than [`REAR_CLEARANCE_M`].
pub fn rear_clearance_m(driver: &Driver) -> f64 {
    driver.size.vent_clearance_m.unwrap_or(0.0).max(REAR_CLEARANCE_M)
}

/// Holes that meet a rib: one from face to back is in the way, one on the back alone must stay
/// lower than what is left behind the driver.
pub fn rib_findings(design: &Design, ribs: &[RibLine]) -> Vec<Finding> {
    let mut findings = Vec::new();
    for side in &design.sides {
        for (role, mounted) in both(side) {
            let radius = 0.5 * mounted.driver.size.cutout_m;
            let subject = format!("{} {role}", side.name);
            let gap = |divides: bool| {
                let ribs = ribs.iter().filter(|rib| rib.divides == divides);
                let gaps = ribs.map(|rib| rib.distance_m((mounted.x_m, mounted.y_m)) - radius);
                gaps.fold(f64::INFINITY, f64::min)
            };
            let (whole, low) = (gap(true), gap(false));
            let hole = mm(2.0 * radius);
            if whole < -SAME_M {
                let over = mm(-whole);
                let text = format!(
                    "its cut-out ({hole:.0} mm) runs {over:.1} mm into a dividing rib: {over:.1} mm more between them cures it"
                );
                findings.push(Finding::unfit(subject, text));
            } else if low < -SAME_M {
                let left = mm(behind_m(design, &side.cavity, mounted).max(0.0));
                let text = format!(
                    "a rib on the back runs {:.1} mm under its cut-out: keep it lower than the {left:.1} mm left behind the driver there",
                    mm(-low)
                );
                findings.push(Finding::caution(subject, text));
            }
        }
    }
    findings
}

/// What a driver leaves between its rear and the back, m; negative if it is too deep.
pub fn behind_m(design: &Design, cavity: &Cavity, mounted: &Mounted) -> f64 {
    let room = design.panel.face.thickness_m + cavity.depth_m;
    room - mounted.set_back_m - mounted.driver.size.mounting_depth_m
}

/// What does not fit, and what fits tightly.
pub fn findings(design: &Design) -> Vec<Finding> {
    let mut findings: Vec<Finding> = without_air(design).into_iter().collect();
    for side in &design.sides {
        cavity_in_panel(design, side, &mut findings);
        for (role, mounted) in both(side) {
            let subject = format!("{} {role}", side.name);
            on_panel(design, mounted, &subject, &mut findings);
            in_depth(design, &side.cavity, mounted, &subject, &mut findings);
        }
        woofer_in_cavity(side, &mut findings);
        tweeter_and_wall(side, &mut findings);
    }
    drivers_apart(design, &mut findings);
    cavities_apart(design, &mut findings);
    findings.extend(rib_findings(design, &rib_lines(design)));
    findings
}

fn both(side: &Side) -> [(&'static str, &Mounted); 2] {
    [("woofer", &side.drivers.woofer), ("tweeter", &side.drivers.tweeter)]
}

fn mm(metres: f64) -> f64 {
    1e3 * metres
}

/// The smallest move that takes something back inside, by how far it is over (m) along x and y;
/// "inward" is towards the middle of what it should be in. One that does not fit at all is told
/// what would have to grow.
fn inward(over: (f64, f64), too_large: (f64, f64), grows: &str) -> String {
    let each = |over: f64, too_large: f64, way: &str, size: &str| {
        if too_large > SAME_M {
            Some(format!("the {grows} must be {:.1} mm {size}", mm(too_large)))
        } else {
            (over > SAME_M).then(|| format!("{:.1} mm inward, {way}, cures it", mm(over)))
        }
    };
    let moves = [
        each(over.0, too_large.0, "sideways", "wider"),
        each(over.1, too_large.1, "up or down", "higher"),
    ];
    moves.into_iter().flatten().collect::<Vec<_>>().join("; ")
}

fn cavity_in_panel(design: &Design, side: &Side, findings: &mut Vec<Finding>) {
    let (cavity, panel) = (&side.cavity, &design.panel);
    let over_x = cavity.x_m.abs() + 0.5 * cavity.width_m - 0.5 * panel.width_m;
    let over_y = cavity.y_m.abs() + 0.5 * cavity.height_m - 0.5 * panel.height_m;
    let over = over_x.max(over_y);
    if over > SAME_M {
        let too_large = (cavity.width_m - panel.width_m, cavity.height_m - panel.height_m);
        let cure = inward((over_x, over_y), too_large, "panel");
        let text = format!("reaches {:.1} mm over the edge of the panel: {cure}", mm(over));
        findings.push(Finding::unfit(format!("{} cavity", side.name), text));
    }
}

/// The first cavity that its drivers leave (nearly) no air in: nothing can be simulated then.
pub fn without_air(design: &Design) -> Option<Finding> {
    const LEAST_M3: f64 = 1e-5;
    let airless = design.sides.iter().find(|s| s.net_volume_m3() < LEAST_M3)?;
    let gross_l = 1e3 * airless.cavity.gross_volume_m3();
    let text = format!(
        "holds {gross_l:.3} l, of which its drivers displace {:.3} l: no air is left behind the woofer. Enlarge it or check displaced_volume_cm3",
        gross_l - 1e3 * airless.net_volume_m3()
    );
    Some(Finding::unfit(format!("{} cavity", airless.name), text))
}

/// Foam on the back where a driver needs the depth.
fn foam_behind(cavity: &Cavity, left_m: f64, subject: &str) -> Option<Finding> {
    let Fill::Foam { fraction, .. } = cavity.fill else { return None };
    let foam_m = fraction * cavity.depth_m;
    (left_m < foam_m).then(|| {
        let text = format!(
            "leaves {:.1} mm where the foam is {:.1} mm thick: cut the foam away behind it",
            mm(left_m),
            mm(foam_m)
        );
        Finding::note(subject, text)
    })
}

fn on_panel(design: &Design, mounted: &Mounted, subject: &str, findings: &mut Vec<Finding>) {
    let panel = &design.panel;
    let radius = 0.5 * mounted.driver.size.flange_m;
    let over_x = mounted.x_m.abs() + radius - 0.5 * panel.width_m;
    let over_y = mounted.y_m.abs() + radius - 0.5 * panel.height_m;
    let over = over_x.max(over_y);
    if over > SAME_M {
        let too_large = (2.0 * radius - panel.width_m, 2.0 * radius - panel.height_m);
        let text = format!(
            "its flange ({:.0} mm) reaches {:.1} mm over the edge of the panel: {}",
            mm(2.0 * radius),
            mm(over),
            inward((over_x, over_y), too_large, "panel")
        );
        findings.push(Finding::unfit(subject, text));
    }
}

/// A flange level with the face leaves its driver the face's thickness and the cavity.
fn in_depth(
    design: &Design,
    cavity: &Cavity,
    mounted: &Mounted,
    subject: &str,
    findings: &mut Vec<Finding>,
) {
    let depth = mounted.driver.size.mounting_depth_m;
    let room = design.panel.face.thickness_m + cavity.depth_m;
    let left = behind_m(design, cavity, mounted);
    let wanted = rear_clearance_m(&mounted.driver);
    let why = match mounted.driver.size.vent_clearance_m {
        Some(_) => "its vent needs",
        None => "its rear wants",
    };
    let set_back = match mm(mounted.set_back_m) {
        0.0 => String::new(),
        back if back > 0.0 => format!(", set back {back:.1} mm"),
        proud => format!(", standing {:.1} mm proud", -proud),
    };
    let sum = format!(
        "{:.1} mm deep{set_back}; face {:.1} mm + cavity {:.1} mm give {:.1} mm",
        mm(depth),
        mm(design.panel.face.thickness_m),
        mm(cavity.depth_m),
        mm(room)
    );
    let cure = format!(
        "{why} {:.1} mm: a cavity {:.1} mm deeper, or a driver no deeper than {:.1} mm, cures it",
        mm(wanted),
        mm(wanted - left),
        mm(depth + left - wanted)
    );
    if left < -SAME_M {
        let text = format!("too deep by {:.1} mm: {sum}; behind that {cure}", mm(-left));
        findings.push(Finding::unfit(subject, text));
    } else if left < wanted - SAME_M {
        let left = mm(left.max(0.0));
        let text = format!("only {left:.1} mm are left behind it ({sum}); {cure}");
        findings.push(Finding::caution(subject, text));
    }
    if left >= 0.0 {
        findings.extend(foam_behind(cavity, left, subject));
    }
}

/// How far a disc reaches over the edges of a cavity along x and y, m.
fn over_cavity(cavity: &Cavity, mounted: &Mounted, radius_m: f64) -> (f64, f64) {
    let over_x = (mounted.x_m - cavity.x_m).abs() + radius_m - 0.5 * cavity.width_m;
    let over_y = (mounted.y_m - cavity.y_m).abs() + radius_m - 0.5 * cavity.height_m;
    (over_x, over_y)
}

fn woofer_in_cavity(side: &Side, findings: &mut Vec<Finding>) {
    let (woofer, cavity) = (&side.drivers.woofer, &side.cavity);
    let radius = 0.5 * woofer.driver.size.cutout_m;
    if !cavity.holds_disc(woofer.x_m, woofer.y_m, radius) {
        let over = over_cavity(cavity, woofer, radius);
        let too_large = (2.0 * radius - cavity.width_m, 2.0 * radius - cavity.height_m);
        let text = format!(
            "its cut-out ({:.0} mm) is not wholly over its cavity, into which its rear must open: {}",
            mm(2.0 * radius),
            inward(over, too_large, "cavity")
        );
        findings.push(Finding::unfit(format!("{} woofer", side.name), text));
    }
}

/// A tweeter stands within the cavity or beside it; between the two its hole cuts the wall.
fn tweeter_and_wall(side: &Side, findings: &mut Vec<Finding>) {
    let (tweeter, cavity) = (&side.drivers.tweeter, &side.cavity);
    let radius = 0.5 * tweeter.driver.size.cutout_m;
    let over = over_cavity(cavity, tweeter, radius);
    let inside = over.0.max(over.1) <= SAME_M;
    // From the nearest point of the cavity to the centre.
    let outside = (over.0 - radius).max(0.0).hypot((over.1 - radius).max(0.0)) >= radius - SAME_M;
    if !inside && !outside {
        let text = format!(
            "its cut-out ({:.0} mm) cuts the wall of the cavity, which must stay tight: {}",
            mm(2.0 * radius),
            inward(over, (f64::NEG_INFINITY, f64::NEG_INFINITY), "cavity")
        );
        findings.push(Finding::caution(format!("{} tweeter", side.name), text));
    }
}

fn drivers_apart(design: &Design, findings: &mut Vec<Finding>) {
    let all: Vec<(String, &Mounted)> = design
        .sides
        .iter()
        .flat_map(|s| both(s).map(|(role, m)| (format!("{} {role}", s.name), m)))
        .collect();
    for (i, (name, a)) in all.iter().enumerate() {
        for (other, b) in &all[i + 1..] {
            let apart = (a.x_m - b.x_m).hypot(a.y_m - b.y_m);
            let needed = 0.5 * (a.driver.size.flange_m + b.driver.size.flange_m);
            if apart < needed - SAME_M {
                let text = format!(
                    "overlaps the {other}: centres {:.1} mm apart, flanges need {:.1} mm; {:.1} mm more between them cures it",
                    mm(apart),
                    mm(needed),
                    mm(needed - apart)
                );
                findings.push(Finding::unfit(name.clone(), text));
            }
        }
    }
}

fn cavities_apart(design: &Design, findings: &mut Vec<Finding>) {
    for (i, a) in design.sides.iter().enumerate() {
        for b in &design.sides[i + 1..] {
            let (p, q) = (&a.cavity, &b.cavity);
            let over_x = 0.5 * (p.width_m + q.width_m) - (p.x_m - q.x_m).abs();
            let over_y = 0.5 * (p.height_m + q.height_m) - (p.y_m - q.y_m).abs();
            let over = over_x.min(over_y);
            if over > SAME_M {
                let text = format!(
                    "overlaps the {} cavity by {:.1} mm: {:.1} mm more between them, or one that much smaller, cures it",
                    b.name,
                    mm(over),
                    mm(over)
                );
                findings.push(Finding::unfit(format!("{} cavity", a.name), text));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::RibLine;

    #[test]
    fn a_rib_is_as_far_away_as_its_nearest_face() {
        let rib = RibLine { from_m: (0.0, -0.1), to_m: (0.0, 0.1), width_m: 0.02, divides: true };
        for (place, distance) in
            [((0.05, 0.0), 0.04), ((-0.05, 0.05), 0.04), ((0.0, 0.15), 0.04), ((0.0, 0.0), -0.01)]
        {
            assert!((rib.distance_m(place) - distance).abs() < 1e-12, "{place:?}");
        }
        let point = RibLine { to_m: rib.from_m, ..rib };
        assert!((point.distance_m((0.0, 0.0)) - 0.09).abs() < 1e-12);
    }
}
