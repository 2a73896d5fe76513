//! The template and the wiring of the demo, read back: the DXF by a small reader of our own, to
//! group codes of release 12, for want of another that every machine has.

use crate::support::Bench;

/// The entities of a DXF: kind, and its pairs of code and value.
fn entities(text: &str) -> Vec<(String, Vec<(u16, String)>)> {
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    let pairs = lines.chunks(2).map(|p| (p[0].parse::<u16>().expect("a code"), p[1].to_owned()));
    let mut out: Vec<(String, Vec<(u16, String)>)> = Vec::new();
    for (code, value) in pairs {
        if code == 0 {
            out.push((value, Vec::new()));
        } else if let Some(last) = out.last_mut() {
            last.1.push((code, value));
        }
    }
    out
}

fn value(pairs: &[(u16, String)], code: u16) -> &str {
    &pairs.iter().find(|p| p.0 == code).expect("the code is there").1
}

#[test]
fn the_template_has_the_holes_of_the_drivers_at_their_places() {
    let bench = Bench::new();
    bench.run(&["demo", "--out", "out"]);
    let dxf = bench.text("out/template.dxf");
    let all = entities(&dxf);
    assert_eq!(all.last().expect("an end").0, "EOF");
    assert!(dxf.contains("$INSUNITS\r\n 70\r\n4\r\n"), "millimetres");
    let circles = |layer: &str| -> Vec<[f64; 3]> {
        let on = all.iter().filter(|(k, p)| k == "CIRCLE" && value(p, 8) == layer);
        on.map(|(_, p)| [10, 20, 40].map(|c| value(p, c).parse().expect("a number"))).collect()
    };
    // The face is 1200 by 320 mm; the woofer at (-380, -25) has a hole of 80 mm and a flange of 93.
    assert!(circles("CUT_THROUGH").contains(&[220.0, 135.0, 40.0]));
    assert!(circles("FLANGE_RECESS").contains(&[220.0, 135.0, 46.5]));
    assert_eq!(circles("CUT_THROUGH").len(), 4);
    // Four screws on 86.5 mm around each woofer.
    assert!(circles("SCREW_HOLES").contains(&[220.0, 178.25, 1.5]));
    assert_eq!(circles("SCREW_HOLES").len(), 8);
    let bar = all.iter().filter(|(k, p)| k == "LINE" && value(p, 8) == "SCALE_AND_NOTES");
    let length = |p: &[(u16, String)]| {
        value(p, 11).parse::<f64>().unwrap() - value(p, 10).parse::<f64>().unwrap()
    };
    assert!(bar.into_iter().any(|(_, p)| length(p) == 100.0), "a bar of 100 mm");
    let svg = bench.text("out/template.svg");
    assert!(svg.contains("width=\"1220mm\"") && svg.contains("viewBox=\"0 0 1220 "));
    let wiring = bench.text("out/wiring.csv");
    assert_eq!(wiring.lines().count(), 1 + 12);
    assert!(wiring.contains("W2,left,amplifier amp-,crossover amp-,-,0.5,"), "{wiring}");
}
