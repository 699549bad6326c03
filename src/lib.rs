//! testlamp judges vehicle-audio installation plans.

pub mod house;
pub mod plan;
pub mod quantity;
pub mod solve;
pub mod text;
pub mod words;
