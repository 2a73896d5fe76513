//! Tuning on drivers that are not the model's own: measured curves from another generator, an
//! optimum found by another program, explicit networks, and the commands `tune` and `explore`.

mod bad_curves;
mod bad_targets;
mod bench;
mod curves;
mod explored;
mod kept;
mod merit;
mod must;
mod network_runs;
mod other_driver;
mod reference;
mod spliced;
#[path = "../tool/support.rs"]
#[allow(dead_code, reason = "shared with the tests of the tool, which use all of it")]
mod support;
mod tuned;
