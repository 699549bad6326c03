//! The plan itself: names, connections, slips.

mod connections;
mod ends;
mod facts;
mod impossible_path;
mod overused_terminal;
mod plausible;
mod quantities;
pub mod references;
mod short_run;
mod silent_outputs;
mod unit_slip;
pub mod unknown_name;
mod unused;
mod waiver;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "PLAN",
    title: "The plan itself: names, connections, slips, paths, waivers, what the stage demands",
    rules: &[
        unknown_name::RULE,
        unused::RULE,
        connections::RULE,
        overused_terminal::RULE,
        unit_slip::RULE,
        waiver::RULE,
        impossible_path::RULE,
        short_run::RULE,
        facts::RULE,
    ],
};
