//! Levels and settings of amplifiers.

mod boost;
mod by_ear;
pub mod ceiling;
mod crossover;
mod gain;
pub mod held_back;
mod no_high_pass;
mod no_low_pass;
mod nothing_passes;
mod null;
pub mod plays;
mod site;
mod tone;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "TUNE",
    title: "Levels and settings: gain, filters, boost, test tone",
    rules: &[
        gain::RULE,
        no_low_pass::RULE,
        no_high_pass::RULE,
        crossover::RULE,
        boost::RULE,
        by_ear::RULE,
        tone::RULE,
        nothing_passes::RULE,
        null::RULE,
    ],
};
