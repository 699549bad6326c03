//! Loads: impedance, bridging, shares, polarity.

mod against;
mod better;
mod coil_open;
mod coil_twice;
mod joined_outputs;
mod not_rated;
mod over_coil;
mod site;
mod under_bridged;
mod under_driver;
mod under_minimum;
mod unequal;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "LOAD",
    title: "Loads: impedance, bridging, shares, polarity",
    rules: &[
        under_minimum::RULE,
        under_bridged::RULE,
        over_coil::RULE,
        under_driver::RULE,
        coil_open::RULE,
        unequal::RULE,
        against::RULE,
        better::RULE,
        coil_twice::RULE,
        joined_outputs::RULE,
        not_rated::RULE,
    ],
};
