//! Names under `target.fixed`, against the network that a slope turns into: only then is it known
//! which parts there are.

use slabtone::analysis::synthesis;
use slabtone::design::Design;
use slabtone::input::design_file::Source;
use slabtone::input::fault::{Fault, InputError};

/// Refuses a name that no part of the crossover has. A network that cannot be made is told by
/// whoever needs it.
pub(super) fn check(design: &Design, source: &Source) -> Result<(), InputError> {
    let fixed = &design.target().fixed;
    let Ok(made) = synthesis::network_for(design, &design.sides[0]) else { return Ok(()) };
    let names: Vec<&str> = made.network.parts.iter().map(|p| p.reference.as_str()).collect();
    let strangers = fixed.iter().filter(|name| !names.contains(&name.as_str()));
    let faults: Vec<Fault> = strangers
        .map(|name| {
            let message = format!("`target.fixed`: no part is called `{name}`");
            let quoted = format!("\"{name}\"");
            let table = source.text.find("[target]").unwrap_or(0);
            let at = source.text[table..].find(&quoted).map(|from| table + from);
            let fault = match at {
                Some(from) => Fault::at(from..from + quoted.len(), message).label("no such part"),
                None => Fault::whole(message),
            };
            fault.help(format!("this crossover has {}", names.join(", ")))
        })
        .collect();
    match faults.is_empty() {
        true => Ok(()),
        false => Err(InputError::new(&source.name, &source.text, faults)),
    }
}
