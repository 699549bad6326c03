//! Enclosures: volume, damping, vent and what protects a vented box.

mod high_cut;
mod low_cut;
mod not_subtracted;
mod quality;
pub mod site;
mod vent_speed;
mod volume;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "BOX",
    title: "Enclosures: volume, damping, vent, low cut",
    rules: &[volume::RULE, quality::RULE, vent_speed::RULE, low_cut::RULE, not_subtracted::RULE, high_cut::RULE],
};
