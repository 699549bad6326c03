//! Supply: whether alternator, battery and wires give what is asked of them.

mod no_operating_point;
mod terminal_voltage;

use crate::judge::Family;

/// The family.
pub const FAMILY: Family = Family {
    code: "SUPPLY",
    title: "Supply: alternator, battery, voltage at the amplifiers",
    rules: &[terminal_voltage::RULE, no_operating_point::RULE],
};
