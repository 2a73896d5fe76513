//! `slabtone check`.

use super::args;
use super::failure::Failure;
use super::held;
use super::{Verdict, output};
use serde::Serialize;
use slabtone::analysis::clearance;
use slabtone::analysis::finding::{Finding, Severity};
use slabtone::design::Kinds;
use slabtone::input::design_file;
use slabtone::input::fault::{InputError, Refused};
use slabtone::input::files::{Disk, Files};
use slabtone::input::{driver_file, reader, stock_file};
use slabtone::report::driver_doc::DriverDoc;
use slabtone::report::json::SCHEMA_VERSION;
use std::path::Path;

#[derive(Serialize)]
struct CheckDoc {
    schema_version: u32,
    files: Vec<FileDoc>,
}

/// What one sound file holds.
#[derive(Serialize)]
struct FileDoc {
    file: String,
    kind: &'static str,
    fit: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    driver: Option<DriverDoc>,
    findings: Vec<String>,
}

pub(super) fn run(arguments: &args::Check) -> Result<Verdict, Failure> {
    let mut sound = Vec::new();
    let mut refused: Vec<InputError> = Vec::new();
    for file in &arguments.files {
        match check(file) {
            Ok(document) => sound.push(document),
            Err(error) => refused.extend(error.files),
        }
    }
    let fit = sound.iter().all(|d| d.fit);
    if arguments.json {
        let document = CheckDoc { schema_version: SCHEMA_VERSION, files: sound };
        output::print_json(&document)?;
    } else {
        for document in &sound {
            output::print(&text(document))?;
        }
    }
    match refused.is_empty() {
        false => Err(Failure::Files(refused)),
        true if fit => Ok(Verdict::Fit),
        true => Ok(Verdict::Unfit),
    }
}

fn check(path: &Path) -> Result<FileDoc, Refused> {
    let file = path.display().to_string();
    let text = Disk.read(path)?;
    if reader::kind_of(&text).as_deref() == Some("design") {
        let (design, sources) = design_file::load_with_sources(&Disk, path)?;
        held::check(&design, &sources[0])?;
        let found = clearance::findings(&design);
        let fit = found.iter().all(|f| f.severity < Severity::Unfit);
        let findings = found.iter().map(sentence).collect();
        return Ok(FileDoc { file, kind: "design", fit, driver: None, findings });
    }
    if reader::kind_of(&text).as_deref() == Some("stock") {
        let stock = stock_file::parse(&file, &text)?;
        let Kinds { resistor, inductor, capacitor } = stock.counts();
        let held = format!("{resistor} resistors, {inductor} inductors, {capacitor} capacitors");
        let findings = vec![held];
        return Ok(FileDoc { file, kind: "stock", fit: true, driver: None, findings });
    }
    // The header's own fault names all kinds where it is none of them.
    reader::Document::parse(&file, &text, &["driver", "design", "stock"])?;
    let driver = DriverDoc::new(&driver_file::parse(&Disk, path, &text)?);
    Ok(FileDoc { file, kind: "driver", fit: true, driver: Some(driver), findings: Vec::new() })
}

fn sentence(finding: &Finding) -> String {
    format!("{}: {}: {}", finding.severity.word(), finding.subject, finding.text)
}

fn text(document: &FileDoc) -> String {
    let mut out = format!("{}: a sound {} file", document.file, document.kind);
    out.push_str(match (document.kind, document.fit) {
        ("design", true) => ", everything fits\n",
        ("design", false) => ", but it does not fit\n",
        _ => "\n",
    });
    for finding in &document.findings {
        out.push_str(&format!("  {finding}\n"));
    }
    if let Some(driver) = &document.driver {
        for line in driver.text().lines() {
            out.push_str(&format!("  {line}\n"));
        }
    }
    out
}
