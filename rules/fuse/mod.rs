//! Fuses: rating, place, fault, form.

mod above_amplifier;
mod above_wire;
mod breaker;
mod breaking_capacity;
mod closes_itself;
mod far_from_battery;
mod holder;
pub mod in_return;
mod live_without_fuse;
mod offers;
mod outputs;
mod rating_not_made;
mod selectivity;
mod site;
mod slower_than_wire;
mod tap_beyond_spare;
mod under_charge;
mod under_load;
mod unfit_for_place;
mod voltage;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "FUSE",
    title: "Fuses: rating, place, fault, form",
    rules: &[
        above_wire::RULE,
        far_from_battery::RULE,
        live_without_fuse::RULE,
        under_load::RULE,
        slower_than_wire::RULE,
        breaking_capacity::RULE,
        voltage::RULE,
        selectivity::RULE,
        rating_not_made::RULE,
        above_amplifier::RULE,
        holder::RULE,
        unfit_for_place::RULE,
        tap_beyond_spare::RULE,
        in_return::RULE,
        closes_itself::RULE,
    ],
};
