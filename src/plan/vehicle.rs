//! The vehicle as it left the factory.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::zone::Zone;
use crate::quantity::{Capacity, Current, Length, Mass, Quantity, Resistance, Voltage};

/// The vehicle as it left the factory.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Vehicle {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// One line that says what it is, like `estate car, diesel, manual`.
    pub summary: Option<String>,
    /// The system voltage.
    pub voltage: Option<SystemVoltage>,
    /// What the body is made of; it decides whether the body can carry a return.
    pub body: Option<Body>,
    /// Which post of the battery is on the body, like `negative`; that where nothing is stated. A vehicle with its positive
    /// on the body cannot be planned.
    pub earth: Option<Earth>,
    /// Whether the vehicle has a traction battery.
    pub high_voltage: Option<HighVoltage>,
    /// Which airbags are fitted, like `front-and-side`; a lead in a pillar or the roof of a vehicle without curtains need not
    /// say how it gets past them.
    pub airbags: Option<Airbags>,
    /// Whether the engine stops by itself at a halt.
    pub stop_start: Option<bool>,
    /// The starting battery.
    pub battery: Option<Battery>,
    /// The alternator, or the converter that takes its place.
    pub alternator: Option<Alternator>,
    /// What the vehicle draws for itself.
    pub factory_load: Option<FactoryLoad>,
    /// Resistance of the body from the battery's strap to the far grounds, like `1 mohm`.
    pub body_resistance: Option<Quantity<Resistance>>,
    /// How long each stretch of the vehicle is, so that lengths can be checked against the way a wire runs.
    #[schemars(extend("propertyNames" = { "$ref": "#/$defs/Zone" }))]
    pub distances: BTreeMap<Zone, Quantity<Length>>,
    /// Free text.
    pub note: Option<String>,
}

/// The system voltage of a vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
pub enum SystemVoltage {
    /// Twelve volts, six lead-acid cells.
    #[serde(rename = "12 V")]
    Twelve,
    /// Twenty-four volts, twelve lead-acid cells.
    #[serde(rename = "24 V")]
    TwentyFour,
}

impl SystemVoltage {
    /// How many twelve-volt batteries in series it stands for.
    pub fn multiple(self) -> f64 {
        match self {
            Self::Twelve => 1.0,
            Self::TwentyFour => 2.0,
        }
    }

    /// The nominal voltage.
    pub fn nominal(self) -> Quantity<Voltage> {
        Quantity::new(12.0 * self.multiple())
    }
}

/// What a body is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Body {
    /// Welded steel: carries a return.
    Steel,
    /// Bonded or riveted aluminium: no dependable return path.
    Aluminium,
    /// Plastic or fibre: no return path.
    Composite,
}

/// Which post of the battery is on the body.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Earth {
    /// The negative post, as in everything built for decades.
    Negative,
    /// The positive post, as in some historic vehicles: such a vehicle cannot be planned with this format.
    Positive,
}

/// Whether a vehicle has a traction battery.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HighVoltage {
    /// No traction battery.
    None,
    /// Engine and a second battery of 48 V, which helps it along and charges the 12 V through a converter.
    MildHybrid,
    /// Engine and traction battery.
    Hybrid,
    /// Traction battery only.
    Electric,
}

/// Which airbags a vehicle has. Makers added them in this order; where one of a row is missing, the word that covers all
/// that are there is the right one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Airbags {
    /// None: an old van, many trucks.
    None,
    /// In the steering wheel and the dash, with belt tensioners at the front seats.
    Front,
    /// In the seats as well.
    FrontAndSide,
    /// Along the roof edge as well.
    FrontSideAndCurtain,
}

/// A battery that can feed the plan's wires.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Battery {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// Where it sits.
    pub location: Option<Zone>,
    /// Its chemistry and build.
    pub kind: Option<BatteryKind>,
    /// Its capacity at the twenty-hour rate, like `60 Ah`.
    pub capacity: Option<Quantity<Capacity>>,
    /// Its cold-cranking current, like `540 A`.
    pub cold_cranking: Option<Quantity<Current>>,
    /// Its internal resistance, where it was measured, like `6 mohm`.
    pub internal_resistance: Option<Quantity<Resistance>>,
    /// Its voltage at rest, charged, where it was measured, like `12.6 V`.
    pub rest_voltage: Option<Quantity<Voltage>>,
    /// The most that its maker lets it be charged with, like `30 A`.
    pub charge_current: Option<Quantity<Current>>,
    /// Whether its own management stops charging while its cells are below freezing, like `true`; asked of lithium.
    pub cold_cut_off: Option<bool>,
    /// Whether a current sensor sits on a post. The terminal `battery.body-side` is then the far side of the sensor.
    pub monitor: Option<Monitor>,
    /// Its mass, like `25 kg`.
    pub mass: Option<Quantity<Mass>>,
    /// Whether its gas is led outside the vehicle by a hose, like `true`; asked of vented batteries inside.
    pub vented_outside: Option<bool>,
    /// Free text.
    pub note: Option<String>,
}

/// The chemistry and build of a battery.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BatteryKind {
    /// Lead-acid with liquid electrolyte.
    Flooded,
    /// Lead-acid for stop-start, liquid electrolyte.
    EnhancedFlooded,
    /// Lead-acid with the electrolyte held in glass mat.
    Agm,
    /// Lead-acid with gelled electrolyte.
    Gel,
    /// Lithium iron phosphate with its own protection.
    LithiumIronPhosphate,
}

/// Whether a current sensor sits on a battery post.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Monitor {
    /// No sensor.
    None,
    /// A sensor on the clamp of the negative post.
    NegativePost,
}

/// The alternator, or the converter that takes its place in an electric vehicle.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Alternator {
    /// Its rated output, or that of the converter from the traction battery, like `110 A`.
    pub rated: Option<Quantity<Current>>,
    /// Its output with the engine hot and idling, like `72 A`.
    pub at_idle: Option<Quantity<Current>>,
    /// The voltage it holds, like `14.2 V`.
    pub voltage: Option<Quantity<Voltage>>,
    /// What sets its voltage.
    pub control: Option<ChargeControl>,
    /// Resistance of the charge cable and straps to the battery, like `1 mohm`.
    pub cable_resistance: Option<Quantity<Resistance>>,
}

/// What sets the charging voltage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum ChargeControl {
    /// Its own regulator.
    Fixed,
    /// The engine's control unit, which may let the voltage fall.
    Ecu,
}

/// What the vehicle draws for itself.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct FactoryLoad {
    /// With the engine running, like `42 A`.
    pub running: Option<Quantity<Current>>,
    /// With the engine off and the radio on, like `5 A`.
    pub accessory: Option<Quantity<Current>>,
    /// Asleep, like `22 mA`.
    pub key_off: Option<Quantity<Current>>,
}
