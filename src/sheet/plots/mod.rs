//! Plots of what was solved: what is lost along the way, the race between fuse and wire, what alternator and battery
//! have, filters and boxes. Plain figures as in an engineering textbook.

mod axis;
mod boxes;
mod budget;
mod chart;
mod cut;
pub mod drops;
mod filters;
mod fuses;

pub use boxes::boxes;
pub use budget::budget;
pub use drops::drops;
pub use filters::filters;
pub use fuses::{curves, fuses};

/// Width of a plot over the whole sheet.
pub const WIDE: f64 = 720.0;
/// Width of a plot of which two fit side by side.
pub const SMALL: f64 = 350.0;
