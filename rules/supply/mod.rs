//! Supply: whether alternator, battery and wires give what is asked of them.

mod behind_monitor;
mod high_voltage;
mod no_operating_point;
mod second_battery;
mod terminal_voltage;
mod vented_inside;

use crate::judge::Family;

/// The family.
pub const FAMILY: Family = Family {
    code: "SUPPLY",
    title: "Supply: alternator, battery, voltage at the amplifiers",
    rules: &[
        terminal_voltage::RULE,
        no_operating_point::RULE,
        second_battery::RULE,
        behind_monitor::RULE,
        high_voltage::RULE,
        vented_inside::RULE,
    ],
};
