//! Signal: where it is taken, its levels, its leads.

mod after_amplifier;
mod bass_output;
mod commoned;
mod high_passed;
mod lead;
mod low_passed;
mod no_load;
mod one_channel;
mod polarity;
pub mod site;
mod sound_processing;
mod speaker_into_line;
mod swapped;
mod too_high;
mod too_low;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "SIGNAL",
    title: "Signal: tap, level, load, lead",
    rules: &[
        high_passed::RULE,
        after_amplifier::RULE,
        too_high::RULE,
        too_low::RULE,
        speaker_into_line::RULE,
        no_load::RULE,
        commoned::RULE,
        one_channel::RULE,
        polarity::RULE,
        bass_output::RULE,
        lead::RULE,
        sound_processing::RULE,
        low_passed::RULE,
        swapped::RULE,
    ],
};
