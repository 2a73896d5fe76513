use super::*;

fn read(text: &str) -> CurveFile {
    parse("c.txt", text, MagnitudeUnit::Db).unwrap_or_else(|error| panic!("{error}\n{text}"))
}

fn refused(text: &str, unit: MagnitudeUnit) -> InputError {
    parse("c.txt", text, unit).expect_err(text)
}

/// Line numbers and first words of the faults.
fn told(text: &str, unit: MagnitudeUnit) -> Vec<(usize, String)> {
    let error = refused(text, unit);
    let place = |fault: &Fault| error.position(fault).map_or(0, |(line, _)| line);
    error.faults.iter().map(|fault| (place(fault), fault.message.clone())).collect()
}

const EXPECTED: ([f64; 2], [f64; 2]) = ([20.5, 1000.0], [-3.5, 10.0]);

#[test]
fn every_common_layout_is_read_alike() {
    use Separator::{Comma, Semicolon, Spaces, Tab};
    for (text, separator, decimal_comma) in [
        ("20.5,-6.5,-3.5\n1000,0,10\n", Comma, false),
        ("20.5, -6.5, -3.5\r\n1000, 0, 10", Comma, false),
        ("20.5;-6.5;-3.5\n1000;0;10\n", Semicolon, false),
        ("20,5;-6,5;-3,5\r\n1000;0;10\r\n", Semicolon, true),
        ("20,5 ; -6,5 ; -3,5 ;\n1e3 ; 0 ; 10 ;\n", Semicolon, true),
        ("20.5\t-6.5\t-3.5\n1000\t0\t10\n", Tab, false),
        ("20,5\t-6,5\t-3,5\textra\n1,0e3\t0\t10\t\n", Tab, true),
        ("  20.5   -6.5 -3.5\n  1000.  0.0\t+10\n\n", Spaces, false),
        ("20,5 -6,5 -3,5 0,9 0,8\n1000 0 10 1 1\n", Spaces, true),
        ("\u{feff}20.5 \u{2212}6.5 \u{2212}3.5\n1.0E+3 -0.0 .1e2\n", Spaces, false),
        ("\"20.5\",\"-6.5\",\"-3.5\"\n\"1000\",\"0\",\"10\"\n", Comma, false),
        ("\"20,5\",\"-6,5\",\"-3,5\"\n\"1000\",\"0\",\"10\"\n", Comma, true),
    ] {
        let read = read(text);
        assert_eq!((read.separator, read.decimal_comma), (separator, decimal_comma), "{text}");
        assert_eq!(read.curve.frequency_hz, EXPECTED.0, "{text}");
        assert_eq!(read.curve.phase_deg.as_deref(), Some(&EXPECTED.1[..]), "{text}");
        assert!((read.curve.magnitude[0] - 10f64.powf(-6.5 / 20.0)).abs() < 1e-12, "{text}");
    }
}

#[test]
fn comments_and_headers_are_passed_over_and_headers_kept() {
    let text = "# a\n; b\n* c\n\" d\n// e\n% f\n\"2 m away\"\n2 ways measured at 48 kHz\n\nFrequency\tdB \
                (kHz?)\n10\t1\n* between\n20\t2\n";
    let read = read(text);
    assert_eq!(read.header, ["2 ways measured at 48 kHz", "Frequency\tdB (kHz?)"]);
    assert_eq!(read.curve.frequency_hz, [10.0, 20.0]);
    assert_eq!(read.curve.phase_deg, None);
}

#[test]
fn a_third_column_of_words_is_no_phase() {
    assert_eq!(read("10 1 good\n20 2 bad\n").curve.phase_deg, None);
    assert_eq!(read("10;1;\n20;2;\n").curve.phase_deg, None);
}

#[test]
fn units_become_linear() {
    for (unit, value, linear) in [
        (MagnitudeUnit::Ohm, "6.5", 6.5),
        (MagnitudeUnit::Pascal, "0.2", 0.2),
        (MagnitudeUnit::Linear, "0.5", 0.5),
        (MagnitudeUnit::Db, "-20", 0.1),
        (MagnitudeUnit::DbSpl, "94", 1.002_374_467),
    ] {
        let curve = parse("c", &format!("10 {value}\n20 {value}\n"), unit).unwrap().curve;
        assert!((curve.magnitude[1] - linear).abs() < 1e-9, "{unit:?}");
    }
}

#[test]
fn commas_that_could_be_either_are_refused() {
    let faults = told("# c\n20,5,85,1\n40,0,86,2\n", MagnitudeUnit::Db);
    let message = "the commas can part columns or decimals, and no decimal point tells which";
    assert_eq!(faults, [(2, message.to_owned())]);
    assert_eq!(told("20,85,-3\n40,86,-4\n", MagnitudeUnit::Db).len(), 1);
    // Two whole numbers cannot be one with decimals: a curve has two columns.
    assert_eq!(read("20,85\n40,86\n").curve.frequency_hz, [20.0, 40.0]);
    // White space after the comma tells.
    assert!(read("20, 85, -3\n40, 86, -4\n").curve.phase_deg.is_some());
    // One row with decimal commas among rows with points.
    assert_eq!(told("20.5,85.0\n40.5,86.0\n80,5,87,0\n", MagnitudeUnit::Db)[0].0, 3);
    let mixed = told("20.5;85.0\n1,000;86.0\n", MagnitudeUnit::Db);
    let words = "the numbers of line 1 have a decimal point, this one a comma";
    assert!(mixed.contains(&(2, words.to_owned())), "{mixed:?}");
    assert_eq!(told("1.000,5;85\n2.000,5;86\n", MagnitudeUnit::Db).len(), 2);
}

#[test]
fn every_faulty_row_is_told_at_once_and_at_its_line() {
    let text = "Hz ohm deg\n10 5 0\n-20 5 0\n0 5 0\n30 x 0\n40 nan 0\n40 6 0\n40 6 0\n35 6 0\n\
                50 -6 0\n60\n70 6\n80 6 inf\n90 1e999 0\n95 6 0\n96,5 6 0\n1.2.3 6 0\n";
    let faults = told(text, MagnitudeUnit::Ohm);
    let lines: Vec<usize> = faults.iter().map(|fault| fault.0).collect();
    // Line 16 is sound: its decimal comma is the only decimal mark of a sound number.
    assert_eq!(lines, [3, 4, 5, 6, 7, 8, 9, 10, 11, 12, 13, 14, 17], "{faults:#?}");
    assert_eq!(faults[4].1, "40 Hz stands in line 6 already");
    assert_eq!(faults[6].1, "35 Hz is below the 40 Hz of line 8");
}

#[test]
fn a_whole_message_reads_like_this() {
    let error = refused("Hz dB SPL\n20 80.5\n31.5 n/a\n40 81\n", MagnitudeUnit::DbSpl);
    let expected = "\
error: found `n/a`, expected a level from -300 to 300 dB re 20 uPa
 --> c.txt:3:6
  |
3 | 31.5 n/a
  |      ^^^ not a number";
    assert_eq!(error.to_string(), expected);
}

#[test]
fn a_faulty_first_row_is_not_taken_for_a_header() {
    let faults = told("Hz dB\n20.O 85\n30 86\n40 87\n", MagnitudeUnit::Db);
    assert_eq!(faults, [(2, "found `20.O`, expected a frequency above 0 Hz".to_owned())]);
}

#[test]
fn a_falling_file_is_one_fault() {
    let faults = told("80 1\n40 1\n20 1\n10 1\n", MagnitudeUnit::Db);
    assert_eq!(faults, [(2, "the frequencies fall from row to row".to_owned())]);
}

#[test]
fn phase_in_some_rows_blames_the_fewer() {
    let most = told("10 1 5\n20 1 6\n30 1\n", MagnitudeUnit::Db);
    assert_eq!(most, [(3, "expected a phase in degrees, as in other rows".to_owned())]);
    let few = told("10 1\n20 1\n30 1 9\n", MagnitudeUnit::Db);
    assert_eq!(few, [(3, "a phase stands here, but in most rows none".to_owned())]);
}

#[test]
fn too_few_rows_are_told() {
    let one = "found 1 row of numbers, expected at least 2";
    assert_eq!(told("10 1\n", MagnitudeUnit::Db), [(1, one.to_owned())]);
    for text in ["", "\n\n", "# only\nwords\n"] {
        assert_eq!(told(text, MagnitudeUnit::Db)[0].0, 0);
    }
    let error = refused("10 1\r20 2\r", MagnitudeUnit::Db);
    assert!(!error.faults.is_empty());
    assert!(refused("Hz\r10 1\r20 2\r", MagnitudeUnit::Db).to_string().contains("line feed"));
}

#[test]
fn a_hopeless_file_stops_early() {
    let text: String = (1..5000).map(|k| format!("{k} x\n")).collect();
    let error = refused(&text, MagnitudeUnit::Db);
    assert_eq!(error.faults.len(), MOST_FAULTS + 1);
    assert!(error.to_string().contains("reading stopped at line 1000"));
}

#[test]
fn a_long_file_is_read_whole() {
    let text: String = (1..=50_000).map(|k| format!("{k}.5\t{}\t{}\n", k % 90, k % 7)).collect();
    let curve = read(&text).curve;
    assert_eq!((curve.frequency_hz.len(), curve.frequency_hz[49_999]), (50_000, 50_000.5));
}
