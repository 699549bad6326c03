//! Routing: crossings, moving and hot parts, airbags, lines, noise, fixing.

mod airbag;
mod beside_power;
mod blind_hole;
mod bush;
mod crossing_angle;
mod door;
mod engine_bay;
mod firewall;
mod fixing;
mod floor;
mod hot_parts;
mod lines;
mod moving_parts;
mod underbody;
pub mod ways;

use crate::judge::{Family, Slip};

/// The family.
pub const FAMILY: Family = Family {
    code: "ROUTE",
    title: "Routing: crossings, moving and hot parts, airbags, lines, noise, fixing",
    rules: &[
        firewall::RULE,
        bush::RULE,
        beside_power::RULE,
        fixing::RULE,
        moving_parts::RULE,
        hot_parts::RULE,
        airbag::RULE,
        underbody::RULE,
        blind_hole::RULE,
        door::RULE,
        lines::RULE,
        crossing_angle::RULE,
        floor::RULE,
        engine_bay::RULE,
    ],
};
