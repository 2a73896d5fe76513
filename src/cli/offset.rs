//! `slabtone offset`.

use super::args;
use super::failure::Failure;
use super::{Verdict, output};
use slabtone::analysis::offset;
use slabtone::input::curve_file::{self, MagnitudeUnit};
use slabtone::input::files::Disk;
use slabtone::model::air::Air;
use slabtone::report::json;
use slabtone::report::offset_doc::OffsetDoc;
use slabtone::signal::curve::Curve;
use std::path::Path;

pub(super) fn run(arguments: &args::Offset) -> Result<Verdict, Failure> {
    let load = |path: &Path| -> Result<Curve, Failure> {
        Ok(curve_file::load(&Disk, path, MagnitudeUnit::DbSpl)?.curve)
    };
    let (woofer, tweeter) = (load(&arguments.woofer)?, load(&arguments.tweeter)?);
    let found = offset::fit(&woofer, &tweeter, &load(&arguments.both)?)
        .map_err(|e| Failure::Arguments(e.to_string()))?;
    let document = OffsetDoc::new(&found, Air::default().c_m_per_s);
    if arguments.json {
        output::print(&format!("{}\n", json::text(&document)?))?;
    } else {
        output::print(&document.text())?;
    }
    Ok(Verdict::Fit)
}
