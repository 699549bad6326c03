//! Mounting: held, cool, dry and out of the way.

mod blind_side;
mod blocks;
mod heat;
mod held;
mod hold;
mod on_enclosure;
mod site;
mod unfastened;
mod wet;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "MOUNT",
    title: "Mounting: held, cool, dry and out of the way",
    rules: &[unfastened::RULE, held::RULE, heat::RULE, on_enclosure::RULE, blind_side::RULE, blocks::RULE, wet::RULE],
};
