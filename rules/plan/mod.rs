//! The plan itself: names, connections, slips.

mod connections;
mod facts;
mod overused_terminal;
mod plausible;
mod quantities;
mod references;
mod unit_slip;
mod unknown_name;
mod unused;
mod waiver;

use crate::judge::Family;

/// The family.
pub const FAMILY: Family = Family {
    code: "PLAN",
    title: "The plan itself: names, connections, slips, waivers, what the stage demands",
    rules: &[
        unknown_name::RULE,
        unused::RULE,
        connections::RULE,
        overused_terminal::RULE,
        unit_slip::RULE,
        waiver::RULE,
        facts::RULE,
    ],
};
