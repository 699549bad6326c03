//! Quantities with units: as stated in a plan, and as ranges in a solution.

pub mod dimension;
mod gauge;
pub(crate) mod marked;
mod range;
pub(crate) mod respelt;
mod stated;
pub(crate) mod text;
mod unread;

pub use dimension::Dimension;
pub use gauge::Gauge;
pub use range::Range;
pub use stated::{Quantity, Window};
pub use unread::Unread;

/// Short names for the quantities plans state, and for the ranges solutions carry.
pub use dimension::{
    Acceleration, Angle, Area, Capacitance, Capacity, Current, Duration, Energy, Frequency, Length, Level, Mass, Power,
    Ratio, Resistance, Share, Slope, Speed, Temperature, Voltage, Volume,
};
