//! testlamp judges vehicle-audio installation plans.

pub mod quantity;
pub mod solve;
pub mod words;
