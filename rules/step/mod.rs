//! The order of work.

mod airbag_wait;
mod battery_off;
mod capacitor_charge;
mod fuse_early;
pub mod high_voltage;
mod memory;
mod negative_first;
pub mod order;
mod unfinished;
mod without_power;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "STEP",
    title: "Order of work: battery, fuse, airbags, high voltage, test",
    rules: &[
        battery_off::RULE,
        fuse_early::RULE,
        negative_first::RULE,
        airbag_wait::RULE,
        high_voltage::RULE,
        memory::RULE,
        unfinished::RULE,
        without_power::RULE,
        capacitor_charge::RULE,
    ],
};
