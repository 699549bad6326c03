//! The first draft of a plan: from what somebody knows on the first day to a file that they go on with.
//!
//! What is not known stays an empty key with a word on how to find it out. Only what is a decision with an obvious first
//! answer is written down, and marked as a proposal.

mod draft;
mod hang;
mod name;
mod paper;
mod said;
mod way;

use crate::plan::{Airbags, Body, DriverKind, HighVoltage, SystemVoltage, Zone};
use crate::quantity::{Current, Power, Quantity, Resistance};

pub use draft::draft;
pub use name::{meant, name, one_line};
pub use said::{DRIVER_KIND, amplifier, amplifier_zone, battery_zone, coils, driver, outputs};
pub use way::Side;

/// What is known on the first day. What is not known is missing.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Facts {
    /// The shop's own number of the job.
    pub number: Option<String>,
    /// One line that says what is built.
    pub summary: Option<String>,
    /// One line that says what vehicle it is.
    pub vehicle: Option<String>,
    /// The vehicle on the shelf that it is like.
    pub vehicle_shelf: Option<String>,
    /// The system voltage.
    pub voltage: Option<SystemVoltage>,
    /// What the body is made of.
    pub body: Option<Body>,
    /// Whether it has a traction battery.
    pub high_voltage: Option<HighVoltage>,
    /// Which airbags it has.
    pub airbags: Option<Airbags>,
    /// Where the battery sits.
    pub battery: Option<Zone>,
    /// What the alternator is rated for.
    pub alternator: Option<Quantity<Current>>,
    /// The side on which the supply runs; signals take the other one.
    pub side: Option<Side>,
    /// The amplifiers, in the order in which they are fed.
    pub amplifiers: Vec<Amplifier>,
    /// Whether a capacitor sits beside the first of them.
    pub capacitor: bool,
    /// The drivers.
    pub drivers: Vec<Driver>,
}

/// An amplifier as somebody describes it.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Amplifier {
    /// What the plan calls it.
    pub name: String,
    /// The one on the shelf that it is.
    pub shelf: Option<String>,
    /// Its channels, those that are alike together; empty where they are not known.
    pub outputs: Vec<Output>,
    /// Where it sits.
    pub location: Option<Zone>,
}

/// Channels of an amplifier that are alike, and what one of them gives into which load.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Output {
    /// Channels.
    pub channels: u8,
    /// The rated power of one.
    pub power: Option<Quantity<Power>>,
    /// The load it is rated into.
    pub load: Option<Quantity<Resistance>>,
}

/// Drivers of one kind as somebody describes them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Driver {
    /// What the plan calls it; of several, what their names begin with.
    pub name: String,
    /// The one on the shelf that it is.
    pub shelf: Option<String>,
    /// What part of the music it plays.
    pub kind: Option<DriverKind>,
    /// Its voice coils.
    pub coils: Vec<Quantity<Resistance>>,
    /// What it takes for good.
    pub rms: Option<Quantity<Power>>,
    /// How many there are; one where nothing is said.
    pub count: Option<u8>,
    /// The amplifier that drives it; not needed where there is only one.
    pub on: Option<String>,
}
