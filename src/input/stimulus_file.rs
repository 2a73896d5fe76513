//! Stimulus files (`kind = "stimulus"`): the numbers of a sweep, written beside its WAV file.

use super::fault::{Fault, InputError};
use super::files::Files;
use super::reader::{Bounds, Document};
use crate::signal::sweep::Sweep;
use std::fmt::Write;
use std::path::Path;

/// Frequencies of a sweep.
pub const HZ: Bounds = Bounds::new(1.0, 180_000.0, "Hz");
/// Length of a sweep.
pub const SECONDS: Bounds = Bounds::new(0.2, 60.0, "s");
/// Sample rates.
pub const RATE: std::ops::RangeInclusive<u32> = 8_000..=384_000;
/// Peak levels.
pub const LEVEL: Bounds = Bounds::new(-80.0, 0.0, "dB");
/// Fades.
pub const FADE: Bounds = Bounds::new(0.0, 10_000.0, "ms");
/// Silences.
pub const SILENCE: Bounds = Bounds::new(0.0, 10_000.0, "ms");

/// Reads a stimulus file.
///
/// # Errors
/// The file is missing, or is no sound stimulus.
pub fn load(files: &dyn Files, path: &Path) -> Result<Sweep, InputError> {
    let text = files.read(path)?;
    parse(&path.display().to_string(), &text)
}

/// The same from a text; `file` is for messages.
///
/// # Errors
/// As for [`load`].
pub fn parse(file: &str, text: &str) -> Result<Sweep, InputError> {
    let document = Document::parse(file, text, &["stimulus"])?;
    let mut root = document.root();
    let sweep = Sweep {
        from_hz: root.number("from_hz", HZ),
        to_hz: root.number("to_hz", HZ),
        seconds: root.number("seconds", SECONDS),
        rate_hz: root.integer("rate_hz", RATE),
        level_db: root.number("level_db", LEVEL),
        fade_in_s: root.number("fade_in_ms", FADE) * 1e-3,
        fade_out_s: root.number("fade_out_ms", FADE) * 1e-3,
        silence_before_s: root.number("silence_before_ms", SILENCE) * 1e-3,
        silence_after_s: root.number("silence_after_ms", SILENCE) * 1e-3,
    };
    let at = root.span_of("to_hz");
    drop(root);
    if let (true, Err(error)) = (document.is_sound(), sweep.check()) {
        document.fault(match at {
            Some(span) => Fault::at(span, error.to_string()),
            None => Fault::whole(error.to_string()),
        });
    }
    document.finish()?;
    Ok(sweep)
}

/// The file's text; reading it gives the same sweep.
pub fn text(sweep: &Sweep, wave: &str) -> String {
    let mut out = String::new();
    let ms = |s: f64| crate::units::plain(s * 1e3);
    let _ = writeln!(out, "# The sweep in {wave}; `slabtone extract` needs this file.");
    let _ = writeln!(out, "slabtone = 1\nkind = \"stimulus\"\n");
    let _ = writeln!(out, "from_hz = {}\nto_hz = {}", sweep.from_hz, sweep.to_hz);
    let _ = writeln!(out, "seconds = {}\nrate_hz = {}", sweep.seconds, sweep.rate_hz);
    let _ = writeln!(out, "level_db = {}", sweep.level_db);
    let _ = writeln!(out, "fade_in_ms = {}", ms(sweep.fade_in_s));
    let _ = writeln!(out, "fade_out_ms = {}", ms(sweep.fade_out_s));
    let _ = writeln!(out, "silence_before_ms = {}", ms(sweep.silence_before_s));
    let _ = writeln!(out, "silence_after_ms = {}", ms(sweep.silence_after_s));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    const SWEEP: Sweep = Sweep {
        from_hz: 20.0,
        to_hz: 20_000.0,
        seconds: 5.0,
        rate_hz: 48_000,
        level_db: -12.5,
        fade_in_s: 0.05,
        fade_out_s: 0.005,
        silence_before_s: 0.5,
        silence_after_s: 1.0,
    };

    #[test]
    fn a_sweep_comes_back_from_its_file() {
        assert_eq!(parse("sweep.toml", &text(&SWEEP, "sweep.wav")).unwrap(), SWEEP);
    }

    #[test]
    fn numbers_that_do_not_go_together_are_told_at_their_place() {
        let spoilt = text(&SWEEP, "a.wav").replace("to_hz = 20000", "to_hz = 40");
        let message = parse("sweep.toml", &spoilt).unwrap_err().to_string();
        assert!(message.contains("two octaves") && message.contains("sweep.toml:6:9"), "{message}");
    }
}
