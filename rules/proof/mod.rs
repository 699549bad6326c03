//! Proof: what was measured when the work was done, against what the plan predicts.

pub mod charging;
pub mod coils;
mod drop;
mod fitted;
mod gain;
pub mod ground_path;
mod key_off;
mod lamps;
mod missing;
pub mod site;
mod too_good;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "PROOF",
    title: "Proof: what was measured when the work was done",
    rules: &[
        drop::RULE,
        ground_path::RULE,
        coils::RULE,
        key_off::RULE,
        charging::RULE,
        gain::RULE,
        lamps::RULE,
        missing::RULE,
        fitted::RULE,
        too_good::RULE,
    ],
};
