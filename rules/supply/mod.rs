//! Supply: whether alternator, battery and wires give what is asked of them.

mod charge_cable;
mod charge_control;
mod cruise_spare;
mod idle_spare;
mod key_off;
mod listening;
mod no_operating_point;
mod terminal_voltage;
#[cfg(test)]
mod trial;

use crate::judge::Family;

/// The family.
pub const FAMILY: Family = Family {
    code: "SUPPLY",
    title: "Supply: alternator, battery, voltage at the amplifiers",
    rules: &[
        idle_spare::RULE,
        cruise_spare::RULE,
        terminal_voltage::RULE,
        no_operating_point::RULE,
        key_off::RULE,
        listening::RULE,
        charge_cable::RULE,
        charge_control::RULE,
    ],
};
