//! Supply: whether alternator, battery and wires give what is asked of them.

mod behind_monitor;
mod capacitor_far;
mod capacitor_voltage;
mod charge_cable;
mod charge_control;
mod charge_current;
mod charge_spare;
mod charged_too_high;
mod charger_reversed;
mod converter_overload;
mod converter_rating;
mod cruise_spare;
mod frost;
mod high_voltage;
mod idle_spare;
mod isolator_on_control;
mod isolator_rating;
mod key_off;
mod listening;
mod no_operating_point;
mod second_battery;
mod site;
mod stop_start;
mod terminal_voltage;
#[cfg(test)]
mod trial;
mod vented_inside;
mod voltage_high;

use crate::judge::{Family, Slip};

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
        second_battery::RULE,
        behind_monitor::RULE,
        high_voltage::RULE,
        vented_inside::RULE,
        charge_cable::RULE,
        charge_control::RULE,
        isolator_rating::RULE,
        isolator_on_control::RULE,
        voltage_high::RULE,
        charged_too_high::RULE,
        stop_start::RULE,
        capacitor_voltage::RULE,
        capacitor_far::RULE,
        converter_rating::RULE,
        converter_overload::RULE,
        charge_spare::RULE,
        charge_current::RULE,
        charger_reversed::RULE,
        frost::RULE,
    ],
};
