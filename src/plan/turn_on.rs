//! What tells amplifiers to switch on and off.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::reference::Terminal;
use super::wire::{Crossing, PastAirbags};
use super::zone::Zone;
use crate::quantity::{Current, Duration, Gauge, Quantity};

/// One turn-on lead and what it switches.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct TurnOn {
    /// What it is fed from.
    pub from: Option<TurnOnFeed>,
    /// How it is joined to that feed.
    pub tap: Option<Tap>,
    /// Its own fuse, like `1 A`.
    pub fuse: Option<Quantity<Current>>,
    /// A relay between the feed and the amplifiers.
    pub relay: Option<Relay>,
    /// The terminals it switches, like `[bass-amp.remote]`, or feeds, like `[dsp.power]`; of an isolator its sense wire, like
    /// `[charger.sense]`.
    pub to: Vec<Terminal>,
    /// Its size, like `18 AWG`.
    pub size: Option<Gauge>,
    /// The places it runs through.
    pub path: Vec<Zone>,
    /// How it gets through each crossing on its path.
    #[schemars(extend("propertyNames" = { "$ref": "#/$defs/Zone" }))]
    pub crossings: BTreeMap<Zone, Crossing>,
    /// How it gets past the airbags, where it runs in a pillar or the roof of a vehicle that has them there, like `behind`.
    pub airbags: Option<PastAirbags>,
    /// Free text.
    pub note: Option<String>,
}

impl TurnOn {
    /// Whether there is a lead: an amplifier that senses a signal turns itself on without one.
    pub fn is_lead(&self) -> bool {
        self.from.as_ref().and_then(|from| from.kind) != Some(FeedKind::SignalSensing)
    }
}

/// What a turn-on lead is fed from.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct TurnOnFeed {
    /// When the feed is live.
    pub kind: Option<FeedKind>,
    /// What else the circuit serves.
    pub circuit: Option<Circuit>,
    /// The source or converter whose turn-on output it is.
    pub of: Option<String>,
    /// The fuse of that circuit, like `15 A`.
    pub fuse: Option<Quantity<Current>>,
    /// What that circuit can give beyond what it feeds already, like `5 A`.
    pub spare: Option<Quantity<Current>>,
    /// How long after the key it comes on, like `1 s`.
    pub delay: Option<Quantity<Duration>>,
}

/// When a feed is live.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FeedKind {
    /// Always (DIN 72552 terminal 30).
    Constant,
    /// With the ignition (DIN 72552 terminal 15).
    Ignition,
    /// With the key in the accessory position (DIN 72552 terminal 75).
    Accessory,
    /// While the alternator charges: its lamp terminal (DIN 72552 terminal 61, D+), or the signal that the vehicle's maker gives
    /// in its place.
    AlternatorSignal,
    /// While the radio is on: its own remote or antenna output.
    RadioOutput,
    /// While there is a signal: the turn-on output of a converter.
    ConverterOutput,
    /// A signal-sensing amplifier turns itself on.
    SignalSensing,
}

/// What a circuit serves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Circuit {
    /// A power outlet.
    Outlet,
    /// The radio.
    Radio,
    /// Seat heating, mirrors, windows and the like.
    Comfort,
    /// Wipers and washers.
    Wipers,
    /// Lamps.
    Lighting,
    /// Engine and its control unit, fuel pump.
    Engine,
    /// Brakes and stability control.
    Brakes,
    /// Airbags and belt tensioners.
    Airbag,
    /// A spare position of the fuse box.
    Spare,
}

/// How a lead is joined to a circuit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Tap {
    /// A holder that sits in a fuse's place and carries a second fuse.
    FuseTap,
    /// The connector made for it.
    Connector,
    /// A crimped splice.
    CrimpedSplice,
    /// Soldered and insulated.
    Soldered,
    /// A strand pushed in beside a fuse's blade.
    StrandBesideFuse,
    /// A clip that pierces the insulation.
    Pierced,
    /// Twisted and taped.
    TwistedAndTaped,
}

impl Tap {
    /// Whether it is something a hand made up instead of a joint that lasts.
    pub fn is_improvised(self) -> bool {
        matches!(self, Self::StrandBesideFuse | Self::Pierced | Self::TwistedAndTaped)
    }
}

/// A relay in a turn-on lead.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Relay {
    /// What its coil draws, like `150 mA`.
    pub coil_current: Option<Quantity<Current>>,
    /// What swallows the coil's voltage peak when it switches off.
    pub suppression: Option<Suppression>,
    /// The fuse in the feed of its contact, like `5 A`.
    pub contact_fuse: Option<Quantity<Current>>,
}

/// What swallows the voltage peak of a relay coil.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Suppression {
    /// Nothing.
    None,
    /// A diode across the coil.
    Diode,
    /// A resistor across the coil.
    Resistor,
}
