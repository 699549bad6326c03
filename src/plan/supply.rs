//! Added parts of the supply: distribution blocks, isolators and capacitors.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::wire::Fuse;
use super::zone::Zone;
use crate::quantity::{Capacitance, Current, Gauge, Length, Mass, Quantity, Resistance, Share, Voltage};

/// A distribution block: one conductor in, several out. Its terminals are `NAME.in` and `NAME.OUTPUT`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Block {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// Where it sits.
    pub location: Option<Zone>,
    /// The largest conductor its input takes, like `1/0 AWG`.
    pub takes: Option<Gauge>,
    /// How far to strip for its terminals, like `12 mm`.
    pub strip: Option<Quantity<Length>>,
    /// Its outputs by name.
    pub outputs: BTreeMap<String, BlockOutput>,
    /// Free text.
    pub note: Option<String>,
}

/// One output of a distribution block.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct BlockOutput {
    /// The fuse inside the block, if this output has one.
    pub fuse: Option<Fuse>,
    /// The largest conductor it takes, like `4 AWG`.
    pub takes: Option<Gauge>,
}

/// A device that parts two batteries when the engine stands, or one that makes 12 V of 24 V. Its terminals are `NAME.in` and
/// `NAME.out`, `NAME.sense` for a turn-on lead that tells it that the engine runs, and of a charger or a step-down converter
/// `NAME.ground` for the minus that its two sides share. A step-down converter that is switched has `NAME.remote`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Isolator {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// How it works.
    pub kind: Option<IsolatorKind>,
    /// Where it sits.
    pub location: Option<Zone>,
    /// The current it is made for, like `120 A`.
    pub rated: Option<Quantity<Current>>,
    /// Whether a charger finds out by itself that the engine runs, even where a control unit lets the voltage fall; one that
    /// does not needs a sense wire.
    pub senses_engine: Option<bool>,
    /// Whether a charger stops by itself while the battery that it charges is below freezing, like `true`: one with a sensor
    /// on that battery.
    pub cold_cut_off: Option<bool>,
    /// What a charger or a step-down converter gives of the power that it takes, like `90 %`.
    pub efficiency: Option<Quantity<Share>>,
    /// What a step-down converter holds its output at, like `13.8 V`.
    pub output_voltage: Option<Quantity<Voltage>>,
    /// What a step-down converter draws with nothing switched on behind it, like `15 mA`.
    pub off_current: Option<Quantity<Current>>,
    /// Its resistance when closed, like `0.5 mohm`.
    pub resistance: Option<Quantity<Resistance>>,
    /// The largest conductor its terminals take, where they are no studs, like `6 AWG`.
    pub takes: Option<Gauge>,
    /// Free text.
    pub note: Option<String>,
}

/// How an isolator works.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum IsolatorKind {
    /// A relay that closes while the alternator charges.
    Relay,
    /// A charger between the batteries: it charges the second and passes no load current.
    Charger,
    /// A switch worked by hand.
    Switch,
    /// A converter that feeds gear of 12 V from a battery of 24 V, without a battery behind it.
    StepDown,
}

impl Isolator {
    /// Whether it holds a voltage of its own behind it, and gives the current it is made for and no more.
    pub fn limits_current(&self) -> bool {
        self.kind.is_some_and(IsolatorKind::limits_current)
    }

    /// What it is, on a drawing.
    pub fn told(&self) -> Option<String> {
        let kind = self.kind?;
        Some(if self.is_step_down() {
            "step-down converter".into()
        } else {
            format!("isolator: {}", super::word(&kind))
        })
    }

    /// Whether it has a minus, `NAME.ground`, that its two sides share. A plan may leave that of a charger out.
    pub fn has_ground(&self) -> bool {
        self.limits_current()
    }

    /// Whether it makes 12 V of 24 V.
    pub fn is_step_down(&self) -> bool {
        self.kind == Some(IsolatorKind::StepDown)
    }
}

impl IsolatorKind {
    /// Whether it holds a voltage of its own behind it, and gives the current it is made for and no more.
    pub fn limits_current(self) -> bool {
        matches!(self, Self::Charger | Self::StepDown)
    }
}

/// A capacitor across the supply beside an amplifier. Its terminals are `NAME.power` and `NAME.ground`; wires may lead to
/// both and on from there.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Capacitor {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// Where it sits.
    pub location: Option<Zone>,
    /// How much it holds, like `1 F`.
    pub capacitance: Option<Quantity<Capacitance>>,
    /// The voltage it is made to work at, like `16 V`; not the surge voltage that it stands for seconds.
    pub voltage: Option<Quantity<Voltage>>,
    /// Its equivalent series resistance, like `2 mohm`.
    pub resistance: Option<Quantity<Resistance>>,
    /// What leaks through it, or its meter draws, with the vehicle asleep, like `10 mA`.
    pub off_current: Option<Quantity<Current>>,
    /// The largest conductor its terminals take, like `4 AWG`.
    pub takes: Option<Gauge>,
    /// How far to strip for its terminals, like `12 mm`.
    pub strip: Option<Quantity<Length>>,
    /// Its mass, like `0.8 kg`.
    pub mass: Option<Quantity<Mass>>,
    /// Free text.
    pub note: Option<String>,
}
