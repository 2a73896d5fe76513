use super::*;

fn read(text: &str) -> OnePort {
    parse("w.s1p", text).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn told(text: &str) -> String {
    parse("w.s1p", text).expect_err(text).faults.iter().map(|f| f.message.clone() + "\n").collect()
}

fn values(read: &OnePort) -> Vec<Complex64> {
    let curve = &read.impedance;
    let phase = curve.phase_deg.as_ref().unwrap();
    let pairs = curve.magnitude.iter().zip(phase);
    pairs.map(|(&m, p)| Complex64::from_polar(m, p.to_radians())).collect()
}

/// The impedance of each text at 20 Hz is 6 + j8 Ω.
#[test]
fn every_parameter_format_and_version_gives_the_same_ohms() {
    let z = Complex64::new(6.0, 8.0);
    let s = (z - 50.0) / (z + 50.0);
    let (sm, sa) = (s.norm(), s.arg().to_degrees());
    let angle = z.arg().to_degrees();
    for text in [
        "# Hz Z RI R 1\n20 6 8\n".to_owned(),
        format!("# hz z ri\n20 {} {}\n", 6.0 / 50.0, 8.0 / 50.0),
        "! a comment\n#R 2 RI Z kHz ! another\n0.02 3 4 ! third\n".to_owned(),
        format!("# MHz Z MA R 5\n20e-6 2 {angle}\n"),
        format!("# Hz Z DB R 1\n20 20 {angle}\n"),
        format!("# Hz Y RI R 10\n20 {} {}\n", 10.0 * 0.06, -10.0 * 0.08),
        format!("#\n20e-9 {sm} {sa}\n"),
        format!("# Hz S RI R 50\n20 {} {}\n", s.re, s.im),
        format!("# Hz S DB\n20 {} {sa}\n", 20.0 * sm.log10()),
        "[Version] 2.0\n# Hz Z RI R 50\n[Number of Ports] 1\n[Network Data]\n20 6 8\n".to_owned(),
        "[Version] 2.0\n# Hz Y RI\n[Number of Ports] 1\n[Reference]\n75\n20 0.06 -0.08\n"
            .to_owned(),
    ] {
        // A second row, which the checks of the first do not need.
        let read = read(&format!("{text}1e9 0.1 0.1\n[End]\nanything"));
        assert!((values(&read)[0] - z).norm() < 1e-9, "{text}: {:?}", values(&read)[0]);
        assert!((read.impedance.frequency_hz[0] - 20.0).abs() < 1e-9, "{text}");
    }
}

#[test]
fn what_was_done_to_the_values_is_told() {
    let z = read("# Hz Z RI R 8\n0 0.5 0\n20 1 0\n40 1 0\n");
    assert_eq!((z.parameter, z.reference_ohm, z.normalised), (Parameter::Impedance, 8.0, true));
    assert_eq!(z.at_dc_ohm, Some(Complex64::new(4.0, 0.0)));
    assert_eq!(z.impedance.frequency_hz, [20.0, 40.0]);
    let s = read("# Hz S RI R 8\n20 0 0\n40 0.1 0\n");
    assert_eq!((s.parameter, s.normalised, s.at_dc_ohm), (Parameter::Scattering, false, None));
    let two = read(
        "[Version] 2.1\n# Hz Y RI R 8\n[Number of Ports] 1\n[Number of Frequencies] 2\n[Matrix Format] \
         Full\n[Reference] 4\n[Begin Information]\n[Manufacturer] nobody\nwords # 1 2\n[End \
         Information]\n[Network Data]\n20 1 0\n40 1 0\n[End]\n",
    );
    assert_eq!((two.reference_ohm, two.normalised), (4.0, false));
}

#[test]
fn faults_are_told_in_sentences() {
    let head = "# Hz Z RI R 1\n";
    for (text, words) in [
        ("20 1 1\n40 1 1\n", "a row stands before the option line"),
        ("# Hz Z RI R\n20 1 1\n", "found nothing, expected a reference resistance"),
        ("# Hz Z RI R -5\n20 1 1\n", "found `-5`, expected a reference resistance"),
        ("# rad Z RI\n20 1 1\n", "found `rad`, expected Hz, kHz"),
        ("# Hz H RI\n20 1 1\n", "H-parameters are of two ports"),
        ("[Number of Ports] 2\n# Hz\n", "found `2` ports, expected 1"),
        ("[Two-Port Data Order] 12_21\n# Hz\n", "the keyword `two-port data order` has no use"),
        ("[Version] 3\n# Hz\n", "found version `3`, expected 1 or 2"),
        ("[Number of Frequencies] 7\n# Hz\n1 1 1\n2 1 1\n", "found 2 rows, expected the 7"),
        (&format!("{head}20 1 1\n"), "found 1 rows above 0 Hz"),
        (&format!("{head}20 1 1\n20 1 1\n"), "20 Hz stands in line 2 already"),
        (&format!("{head}20 1 1\n10 1 1\n"), "10 Hz is below the 20 Hz of line 2"),
        (&format!("{head}-20 1 1\n30 1 1\n"), "-20 Hz is no frequency"),
        (&format!("{head}20 1\n30 1 1\n"), "found 2 columns, expected frequency and two"),
        (&format!("{head}20 1 1 1 1 1 1 1 1\n"), "a row of two ports"),
        (&format!("{head}20 1,5 1\n30 1 1\n"), "found `1,5`, expected a number"),
        (&format!("{head}20 nan 1\n30 1 1\n"), "found `nan`, expected a number"),
        (&format!("{head}20 0 0\n30 1 1\n"), "the impedance at 20 Hz comes out zero"),
        ("# Hz S RI\n20 1 0\n30 1 1\n", "the impedance at 20 Hz comes out infinite"),
        ("# Hz Y MA\n20 0 0\n30 1 1\n", "the impedance at 20 Hz comes out infinite"),
        ("# Hz S MA\n20 -1 0\n30 1 1\n", "found a negative magnitude"),
        ("", "found 0 rows above 0 Hz"),
    ] {
        assert!(told(text).contains(words), "{text}\ngave {}", told(text));
    }
}

#[test]
fn several_faults_come_at_once_with_their_places() {
    let error = parse("w.s1p", "# Hz Z RI R 1\n20 x 0\n! fine\n30 1 0\n30 1\n").unwrap_err();
    let lines: Vec<_> = error.faults.iter().map(|f| error.position(f).unwrap()).collect();
    assert_eq!(lines, [(2, 1), (5, 1)]);
}
