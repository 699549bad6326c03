//! The job file: one type per section, each key with a sentence that becomes its schema text; how a file is read into them,
//! and what is told where it cannot be.
//!
//! Every fact may be missing: what is not stated is `None`, an empty list or an empty map, never a default.

mod blank;
mod cut;
mod data;
mod format;
mod gear;
mod ground;
mod instead;
mod kind;
mod load;
mod lookup;
mod measured;
mod misfit;
mod mount;
mod reading;
mod reference;
mod schema;
mod setting;
mod shape;
mod shelf;
mod shelf_file;
mod sign;
mod signal;
mod step;
mod supply;
mod ticket;
mod turn_on;
mod units;
mod variant;
mod vehicle;
mod waiver;
mod wire;
mod zone;

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

pub use data::{data, specimen};
pub use format::schema;
pub use gear::*;
pub use ground::*;
pub use load::{Coil, Coils, Load, LoadLead};
pub use lookup::{Lookup, about, choices, holds_names, in_words, lookup, thing_in_words};
pub use measured::*;
pub use mount::*;
pub use reading::{Reading, read, read_with};
pub(crate) use reading::{Taken, take};
pub use reference::Terminal;
pub(crate) use schema::{Format, checked_in, derived, of as tidy_schema};
pub use setting::{FilterKind, Setting};
pub(crate) use shape::HOUSE as HOUSE_SHAPE;
pub use shelf::{OnShelf, Shelf, Shelves, section_of};
pub use shelf_file::{ShelfFile, lookup as shelf_lookup, read as read_shelf, schema as shelf_schema};
pub use signal::{Plays, Signal, SignalLead, TakenAt};
pub use step::*;
pub use supply::*;
pub use ticket::{Stage, Ticket};
pub use turn_on::*;
pub use units::{otherwise, units};
pub use variant::Variant;
pub use vehicle::*;
pub use waiver::{Day, Waiver};
pub use wire::*;
pub use zone::{PASSES, Room, Zone, ZoneKind};

/// The version of the plan format that this program reads.
pub const FORMAT: u32 = 1;

/// One job.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Plan {
    /// Version of the plan format: 1.
    #[schemars(range(min = 1, max = 1))]
    pub plan: Option<u32>,
    /// What the job is, and how far it has come.
    pub job: Option<Ticket>,
    /// The vehicle as it left the factory.
    pub vehicle: Option<Vehicle>,
    /// Amplifiers, by name. Their terminals are `NAME.power`, `NAME.ground`, `NAME.remote` and their inputs.
    pub amplifiers: BTreeMap<String, Amplifier>,
    /// Drivers, by name: anything with voice coils.
    pub drivers: BTreeMap<String, Driver>,
    /// Boxes for drivers, by name.
    pub enclosures: BTreeMap<String, Enclosure>,
    /// Where audio comes from, by name.
    pub sources: BTreeMap<String, Source>,
    /// Converters from speaker level to line level, by name.
    pub converters: BTreeMap<String, Converter>,
    /// Added batteries, by name. Their terminals are `NAME.positive` and `NAME.negative`.
    pub batteries: BTreeMap<String, Battery>,
    /// Devices that part two batteries, by name. Their terminals are `NAME.in` and `NAME.out`, and `NAME.ground` of those that have
    /// a minus.
    pub isolators: BTreeMap<String, Isolator>,
    /// Distribution blocks, by name. Their terminals are `NAME.in` and `NAME.OUTPUT`.
    pub blocks: BTreeMap<String, Block>,
    /// Capacitors across the supply beside amplifiers, by name. Their terminals are `NAME.power` and `NAME.ground`.
    pub capacitors: BTreeMap<String, Capacitor>,
    /// Every conductor that carries supply current, by name.
    pub wires: BTreeMap<String, Wire>,
    /// Where returns meet the body, by name.
    pub grounds: BTreeMap<String, Ground>,
    /// What turns amplifiers on and off, by name.
    pub turn_on: BTreeMap<String, TurnOn>,
    /// Audio from source to amplifier, one channel each, by name.
    pub signals: BTreeMap<String, Signal>,
    /// How coils hang on amplifier outputs, by name.
    pub loads: BTreeMap<String, Load>,
    /// How gear is held, by the name of the gear.
    pub mounts: BTreeMap<String, Mount>,
    /// Settings, by the name of the amplifier; where its outputs have settings apart, by names of their own.
    pub settings: BTreeMap<String, Setting>,
    /// The order of work.
    pub steps: Vec<Step>,
    /// What was measured when the work was done.
    pub measured: Option<Measured>,
    /// Findings that somebody answers for.
    pub waivers: Vec<Waiver>,
    /// Free text.
    pub note: Option<String>,
}

impl Plan {
    /// How far the job has come; a plan that does not say is a draft.
    pub fn stage(&self) -> Stage {
        self.job.as_ref().and_then(|job| job.stage).unwrap_or_default()
    }

    /// The system voltage, if stated.
    pub fn system_voltage(&self) -> Option<SystemVoltage> {
        self.vehicle.as_ref().and_then(|vehicle| vehicle.voltage)
    }

    /// Which post of the battery is on the body, if stated.
    pub fn earth(&self) -> Option<Earth> {
        self.vehicle.as_ref().and_then(|vehicle| vehicle.earth)
    }

    /// Whether the vehicle is stated to have a traction battery of several hundred volts.
    pub fn has_high_voltage(&self) -> bool {
        matches!(self.high_voltage(), Some(HighVoltage::Hybrid | HighVoltage::Electric))
    }

    /// Whether the vehicle is stated to have a second battery of 48 V. That lies under the 60 V direct voltage at which UN
    /// Regulation 100 begins to call it high voltage (from memory).
    pub fn has_48_volt(&self) -> bool {
        self.high_voltage() == Some(HighVoltage::MildHybrid)
    }

    /// Whether one of its batteries is a lithium one.
    pub fn has_lithium(&self) -> bool {
        let starting = self.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
        let mut all = starting.into_iter().chain(self.batteries.values());
        all.any(|battery| battery.kind == Some(BatteryKind::LithiumIronPhosphate))
    }

    /// Whether a converter from another battery stands in the place of an alternator.
    pub fn has_converter(&self) -> bool {
        self.has_high_voltage() || self.has_48_volt()
    }

    /// What charges the battery of this vehicle, in a word.
    pub fn charger(&self) -> &'static str {
        if self.has_converter() { "converter" } else { "alternator" }
    }

    /// In words, how this vehicle is while it is driven, while it stands ready, and while it is off: an electric one has
    /// no engine.
    pub fn states(&self) -> [&'static str; 3] {
        match self.high_voltage() {
            Some(HighVoltage::Electric) => ["vehicle switched on", "vehicle switched on", "vehicle off"],
            _ => ["engine running", "engine idling", "engine off"],
        }
    }

    /// Which airbags the vehicle is stated to have.
    pub fn airbags(&self) -> Option<Airbags> {
        self.vehicle.as_ref().and_then(|vehicle| vehicle.airbags)
    }

    fn high_voltage(&self) -> Option<HighVoltage> {
        self.vehicle.as_ref().and_then(|vehicle| vehicle.high_voltage)
    }
}

/// The word that a plan uses for a value of a closed list.
pub fn word<T: Serialize>(value: &T) -> String {
    serde_json::to_value(value).ok().and_then(|json| json.as_str().map(str::to_owned)).unwrap_or_default()
}
