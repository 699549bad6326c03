//! Wires: size, material, insulation, ends.

mod above_ampacity;
mod charger_drop;
mod clad;
mod colour;
mod cool_insulation;
pub mod dead_short;
mod drop;
mod improvised_joint;
mod long;
mod return_smaller;
pub mod reversed;
mod ring_and_crimp;
mod side_by_side;
pub mod site;
mod solid;
mod speaker_lead;
mod strip;
mod terminal;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "WIRE",
    title: "Wires: size, material, insulation, ends",
    rules: &[
        above_ampacity::RULE,
        drop::RULE,
        clad::RULE,
        cool_insulation::RULE,
        terminal::RULE,
        return_smaller::RULE,
        solid::RULE,
        improvised_joint::RULE,
        ring_and_crimp::RULE,
        strip::RULE,
        speaker_lead::RULE,
        long::RULE,
        colour::RULE,
        dead_short::RULE,
        reversed::RULE,
        charger_drop::RULE,
        side_by_side::RULE,
    ],
};
