//! Remote turn-on: what feeds it, how it is tapped, what it is asked to give.

mod constant;
mod fuse_above_lead;
mod ignition;
mod improvised_tap;
mod nothing;
mod overload;
pub mod powered;
mod safety_circuit;
mod sense_with_engine_off;
pub mod site;
mod suppression;
mod thump;
mod unfused_tap;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "TURN",
    title: "Remote turn-on: feed, tap, current, order",
    rules: &[
        constant::RULE,
        nothing::RULE,
        overload::RULE,
        improvised_tap::RULE,
        safety_circuit::RULE,
        ignition::RULE,
        suppression::RULE,
        unfused_tap::RULE,
        thump::RULE,
        fuse_above_lead::RULE,
        sense_with_engine_off::RULE,
    ],
};
