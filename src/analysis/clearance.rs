//! Whether everything fits: drivers in the face, in the depth, beside one another; cavities in
//! the panel.

use super::finding::Finding;
use crate::design::{Cavity, Design, Mounted, Side};
use crate::model::fill::Fill;

/// Gap that a driver's rear should keep to the back for its vent and the foam, m. Common
/// practice, no source.
pub const REAR_CLEARANCE_M: f64 = 2e-3;

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
    }
    drivers_apart(design, &mut findings);
    cavities_apart(design, &mut findings);
    findings
}

fn both(side: &Side) -> [(&'static str, &Mounted); 2] {
    [("woofer", &side.drivers.woofer), ("tweeter", &side.drivers.tweeter)]
}

fn mm(metres: f64) -> f64 {
    1e3 * metres
}

fn cavity_in_panel(design: &Design, side: &Side, findings: &mut Vec<Finding>) {
    let (cavity, panel) = (&side.cavity, &design.panel);
    let over_x = cavity.x_m.abs() + 0.5 * cavity.width_m - 0.5 * panel.width_m;
    let over_y = cavity.y_m.abs() + 0.5 * cavity.height_m - 0.5 * panel.height_m;
    let over = over_x.max(over_y);
    if over > 1e-9 {
        let text = format!("reaches {:.1} mm over the edge of the panel", mm(over));
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
    let radius = 0.5 * mounted.driver.size.flange_m;
    let over_x = mounted.x_m.abs() + radius - 0.5 * design.panel.width_m;
    let over_y = mounted.y_m.abs() + radius - 0.5 * design.panel.height_m;
    let over = over_x.max(over_y);
    if over > 1e-9 {
        let text = format!(
            "its flange ({:.0} mm) reaches {:.1} mm over the edge of the panel",
            mm(2.0 * radius),
            mm(over)
        );
        findings.push(Finding::unfit(subject, text));
    }
}

/// The flange sits on the front of the face: the driver has the face's thickness and the cavity.
fn in_depth(
    design: &Design,
    cavity: &Cavity,
    mounted: &Mounted,
    subject: &str,
    findings: &mut Vec<Finding>,
) {
    let depth = mounted.driver.size.mounting_depth_m;
    let room = design.panel.face.thickness_m + cavity.depth_m;
    let left = room - depth;
    let sum = format!(
        "{:.1} mm deep; face {:.1} mm + cavity {:.1} mm give {:.1} mm",
        mm(depth),
        mm(design.panel.face.thickness_m),
        mm(cavity.depth_m),
        mm(room)
    );
    if left < -1e-9 {
        let text = format!("too deep by {:.1} mm: {sum}", mm(-left));
        findings.push(Finding::unfit(subject, text));
    } else if left < REAR_CLEARANCE_M {
        let text = format!(
            "only {:.1} mm are left behind it ({sum}); 2 mm let its rear breathe",
            mm(left)
        );
        findings.push(Finding::caution(subject, text));
    }
    if left >= 0.0 {
        findings.extend(foam_behind(cavity, left, subject));
    }
}

fn woofer_in_cavity(side: &Side, findings: &mut Vec<Finding>) {
    let woofer = &side.drivers.woofer;
    let radius = 0.5 * woofer.driver.size.cutout_m;
    if !side.cavity.holds_disc(woofer.x_m, woofer.y_m, radius) {
        let text = format!(
            "its cut-out ({:.0} mm) is not wholly over its cavity: the rear must open into it",
            mm(2.0 * radius)
        );
        findings.push(Finding::unfit(format!("{} woofer", side.name), text));
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
            if apart < needed - 1e-9 {
                let text = format!(
                    "overlaps the {other}: centres {:.1} mm apart, flanges need {:.1} mm",
                    mm(apart),
                    mm(needed)
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
            if over > 1e-9 {
                let text = format!("overlaps the {} cavity by {:.1} mm", b.name, mm(over));
                findings.push(Finding::unfit(format!("{} cavity", a.name), text));
            }
        }
    }
}
