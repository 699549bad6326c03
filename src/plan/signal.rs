//! Where the audio is taken, and the way it goes.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::reference::Terminal;
use super::wire::{Crossing, PastAirbags};
use super::zone::Zone;
use crate::quantity::{Angle, Length, Quantity};

/// One channel of audio from a source to an amplifier's input.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Signal {
    /// The source it comes from.
    pub from: Option<String>,
    /// Where it is taken.
    pub taken_at: Option<TakenAt>,
    /// The converter it goes through.
    pub through: Option<String>,
    /// The input it goes to, like `bass-amp.line-left`.
    pub to: Option<Terminal>,
    /// The cable.
    pub lead: Option<SignalLead>,
    /// Free text.
    pub note: Option<String>,
}

/// Where a signal is taken.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct TakenAt {
    /// The speaker whose leads are used, like `rear-left`.
    pub speaker: Option<String>,
    /// The line output that is used, like `bass`.
    pub output: Option<String>,
    /// What part of the music is there.
    pub plays: Option<Plays>,
    /// The device whose output it is: the name of a source.
    pub after: Option<String>,
    /// Whether plus and minus were proved with a tester.
    pub polarity_checked: Option<bool>,
    /// Whether the factory speaker stays connected.
    pub speaker_kept: Option<bool>,
    /// Whether a resistor is fitted that the source takes for its speaker.
    pub load_resistor: Option<bool>,
}

/// What part of the music is there.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Plays {
    /// All of it.
    FullRange,
    /// Only what a tweeter or midrange gets.
    HighPassed,
    /// Only what a subwoofer gets, or a woofer beside its tweeter.
    LowPassed,
}

/// A signal cable.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct SignalLead {
    /// Its length, like `5 m`.
    pub length: Option<Quantity<Length>>,
    /// Whether it has a screen.
    pub shielded: Option<bool>,
    /// The places it runs through.
    pub path: Vec<Zone>,
    /// How it gets through each crossing on its path.
    #[schemars(extend("propertyNames" = { "$ref": "#/$defs/Zone" }))]
    pub crossings: BTreeMap<Zone, Crossing>,
    /// How it gets past the airbags, where it runs in a pillar or the roof of a vehicle that has them there, like `behind`.
    pub airbags: Option<PastAirbags>,
    /// How far it stays from supply conductors where both run the same way, like `50 cm`.
    pub separation: Option<Quantity<Length>>,
    /// At which angle it crosses a supply conductor, like `90 deg`.
    pub crosses_at: Option<Quantity<Angle>>,
}
