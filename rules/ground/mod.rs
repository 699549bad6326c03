//! Grounds and returns: what they are fastened to, how long they are, what they lose.

mod apart;
mod fastener;
mod long_cable;
mod long_return;
mod loose_part;
mod no_body_return;
mod paint;
mod return_drop;
mod safety_part;
mod site;
mod stays;
mod uncoated;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "GROUND",
    title: "Grounds and returns: metal, fastener, length, drop",
    rules: &[
        paint::RULE,
        long_return::RULE,
        loose_part::RULE,
        safety_part::RULE,
        long_cable::RULE,
        apart::RULE,
        uncoated::RULE,
        fastener::RULE,
        no_body_return::RULE,
        return_drop::RULE,
    ],
};
