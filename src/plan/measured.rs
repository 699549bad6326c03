//! What was measured when the work was done.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::{Current, Gauge, Quantity, Resistance, Voltage};

/// What was measured when the work was done.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Measured {
    /// Drop along each wire and the current at which it was read.
    pub wires: BTreeMap<String, MeasuredWire>,
    /// Resistance of the way back through each ground: from the amplifier's end of the return wire that is fastened
    /// there to the battery's negative post, like `3 mohm`.
    pub grounds: BTreeMap<String, Quantity<Resistance>>,
    /// Each load at the amplifier's end of its lead.
    pub loads: BTreeMap<String, MeasuredLoad>,
    /// What the vehicle draws asleep, like `24 mA`.
    pub key_off: Option<Quantity<Current>>,
    /// Voltage at the battery with the engine running, like `14.1 V`.
    pub charging: Option<Quantity<Voltage>>,
    /// Output voltage of each amplifier with the test tone, by the names in `settings`.
    pub settings: BTreeMap<String, MeasuredSetting>,
    /// The lamps of each amplifier with the system on and off.
    pub indicators: BTreeMap<String, Indicators>,
}

/// What was measured along a wire, and what was really fitted.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct MeasuredWire {
    /// Voltage from end to end, like `0.31 V`.
    pub drop: Option<Quantity<Voltage>>,
    /// The current while it was read, like `35 A`.
    pub at: Option<Quantity<Current>>,
    /// The fuse that was fitted, like `60 A`.
    pub fuse: Option<Quantity<Current>>,
    /// The size that was fitted, like `4 AWG`.
    pub size: Option<Gauge>,
}

/// What was measured of a load.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct MeasuredLoad {
    /// Its resistance with a meter, like `1.7 ohm`.
    pub dc_resistance: Option<Quantity<Resistance>>,
}

/// What was measured of a setting.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct MeasuredSetting {
    /// Output voltage with the test tone, like `30.4 V`.
    pub gain: Option<Quantity<Voltage>>,
}

/// The lamps of an amplifier.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Indicators {
    /// The power lamp with the system on.
    pub on: Option<Lamp>,
    /// With the system off: lit when any lamp is.
    pub off: Option<Lamp>,
    /// The protection lamp with the system on.
    pub protection: Option<Lamp>,
}

/// What a lamp shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Lamp {
    /// It is lit.
    Lit,
    /// It is dark.
    Dark,
}
