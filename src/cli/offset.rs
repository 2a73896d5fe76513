//! `slabtone offset`.

use super::args;
use super::failure::Failure;
use super::{Verdict, output};
use slabtone::analysis::offset::{self, OffsetError};
use slabtone::input::curve_file::{self, MagnitudeUnit};
use slabtone::input::files::Disk;
use slabtone::model::air::Air;
use slabtone::report::offset_doc::OffsetDoc;
use slabtone::signal::curve::Curve;
use std::path::Path;

pub(super) fn run(arguments: &args::Offset) -> Result<Verdict, Failure> {
    let load = |path: &Path| -> Result<Curve, Failure> {
        Ok(curve_file::load(&Disk, path, MagnitudeUnit::DbSpl)?.curve)
    };
    let (woofer, tweeter) = (load(&arguments.woofer)?, load(&arguments.tweeter)?);
    let found = offset::fit(&woofer, &tweeter, &load(&arguments.both)?).map_err(|error| {
        let about = |path: &Path| format!("`{}`: {error}", path.display());
        Failure::Arguments(match &error {
            OffsetError::NoPhase("woofer") => about(&arguments.woofer),
            OffsetError::NoPhase(_) => about(&arguments.tweeter),
            other => other.to_string(),
        })
    })?;
    let document = OffsetDoc::new(&found, Air::default().c_m_per_s);
    if arguments.json {
        output::print_json(&document)?;
    } else {
        output::print(&document.text())?;
    }
    Ok(if found.doubts().is_empty() { Verdict::Fit } else { Verdict::Unfit })
}
