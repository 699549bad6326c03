//! The gear that is added: amplifiers, drivers, enclosures, sources, converters.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::zone::Zone;
use crate::quantity::{
    Current, Duration, Frequency, Gauge, Length, Mass, Power, Quantity, Resistance, Share, Voltage, Volume, Window,
};

/// A power amplifier.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Amplifier {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// Where it sits.
    pub location: Option<Zone>,
    /// Its class of output stage; it decides the efficiency.
    pub class: Option<AmplifierClass>,
    /// How many channels it has.
    #[schemars(range(min = 1))]
    pub channels: Option<u8>,
    /// Rated power of one channel at each rated load.
    pub rated: Vec<RatedPower>,
    /// The supply voltage at which the ratings hold, like `14.4 V`.
    pub rated_at: Option<Quantity<Voltage>>,
    /// The smallest load one channel is made for, like `2 ohm`.
    pub minimum_load: Option<Quantity<Resistance>>,
    /// Two channels joined into one: `none`, or what that gives.
    pub bridged: Option<Bridged>,
    /// Outputs that its maker rates otherwise than the rest, by the name of their section, like the bass output of an
    /// amplifier of five channels. What the amplifier states itself holds for the outputs that no section names.
    #[schemars(extend("propertyNames" = { "pattern": "^[A-Za-z0-9][A-Za-z0-9_-]*$" }))]
    pub sections: BTreeMap<String, Section>,
    /// Between which supply voltages it works, like `10 V .. 16 V`.
    pub operating_voltage: Option<Window<Voltage>>,
    /// Audio power out of electrical power in, at rated power, like `80 %`.
    pub efficiency: Option<Quantity<Share>>,
    /// Current drawn when it is on and silent, like `0.8 A`.
    pub idle_current: Option<Quantity<Current>>,
    /// Current drawn when it is switched off, like `2 mA`.
    pub off_current: Option<Quantity<Current>>,
    /// The fuses on its own case; an empty list says that there are none.
    pub onboard_fuses: Option<Vec<Quantity<Current>>>,
    /// The largest fuse its maker allows in front of it, like `60 A`.
    pub maximum_fuse: Option<Quantity<Current>>,
    /// What its terminals take.
    pub terminals: Option<Terminals>,
    /// The levels its inputs take.
    pub inputs: Option<Inputs>,
    /// What its turn-on terminal draws, like `15 mA`.
    pub remote_current: Option<Quantity<Current>>,
    /// How long after turn-on it starts to play, like `2 s`.
    pub on_delay: Option<Quantity<Duration>>,
    /// Its mass, like `3 kg`.
    pub mass: Option<Quantity<Mass>>,
    /// Free text.
    pub note: Option<String>,
}

impl Amplifier {
    /// The classes of its output stages in words, like `class AB and D`: its own, and those of its sections.
    pub fn classes(&self) -> Option<String> {
        let of_sections = self.sections.values().filter_map(|section| section.class);
        let mut found: Vec<String> = Vec::new();
        for word in self.class.into_iter().chain(of_sections).map(|class| super::word(&class)) {
            if !found.contains(&word) {
                found.push(word);
            }
        }
        (!found.is_empty()).then(|| format!("class {}", crate::words::all(&found)))
    }
}

/// Outputs of an amplifier that its maker rates otherwise than the rest.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Section {
    /// Its outputs by number, like `[5]`.
    pub outputs: Vec<u8>,
    /// The class of its output stage, where that is not the amplifier's; it decides the efficiency.
    pub class: Option<AmplifierClass>,
    /// Rated power of one of its channels at each rated load.
    pub rated: Vec<RatedPower>,
    /// The smallest load one of its channels is made for, like `2 ohm`.
    pub minimum_load: Option<Quantity<Resistance>>,
    /// Two of its channels joined into one: `none`, or what that gives.
    pub bridged: Option<Bridged>,
    /// Audio power out of electrical power in, at rated power, like `80 %`; where neither this nor a class is stated, it
    /// is the amplifier's.
    pub efficiency: Option<Quantity<Share>>,
}

/// The class of an amplifier's output stage.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
pub enum AmplifierClass {
    /// Linear.
    #[serde(rename = "AB")]
    Ab,
    /// Switching.
    D,
    /// Linear with rails that step.
    G,
    /// Linear with rails that follow.
    H,
}

/// Rated power at one load.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize, JsonSchema)]
#[schemars(deny_unknown_fields)]
pub struct RatedPower {
    /// The load, like `4 ohm`.
    pub load: Quantity<Resistance>,
    /// The power into it, like `300 W`.
    pub power: Quantity<Power>,
}

/// Whether two channels can be joined into one.
#[derive(Debug, Clone, PartialEq, Deserialize, JsonSchema)]
#[serde(untagged)]
pub enum Bridged {
    /// They cannot.
    Word(NotBridged),
    /// What bridging gives.
    Ratings(BridgedRatings),
}

/// The word for an amplifier that cannot be bridged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum NotBridged {
    /// Channels cannot be joined.
    None,
}

/// What two joined channels give.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct BridgedRatings {
    /// The smallest load across both, like `4 ohm`.
    pub minimum_load: Option<Quantity<Resistance>>,
    /// Rated power at each rated load.
    pub rated: Vec<RatedPower>,
    /// Which inputs of a joined pair its maker wants fed; asked where only one of them is.
    pub fed_at: Option<FedAt>,
}

/// Which inputs of a bridged pair have to be fed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FedAt {
    /// Both, each with its signal.
    Both,
    /// The first of the two alone feeds the pair.
    First,
    /// Either of the two feeds the pair.
    Either,
}

/// What an amplifier's terminals take.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Terminals {
    /// The largest supply conductor, like `4 AWG`; the largest of each where a terminal takes several.
    pub power: Option<Gauge>,
    /// How many supply conductors `power` and `ground` take each: one, where nothing is stated.
    #[schemars(range(min = 1))]
    pub power_count: Option<u8>,
    /// The largest speaker conductor, like `10 AWG`.
    pub speaker: Option<Gauge>,
    /// How far to strip, like `6 mm`.
    pub strip: Option<Quantity<Length>>,
}

/// The levels that the inputs of an amplifier or a processor take.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Inputs {
    /// Line input: from most to least sensitive setting, like `0.2 V .. 5 V`.
    pub line: Option<Window<Voltage>>,
    /// Speaker-level input, like `2 V .. 10 V`.
    pub speaker_level: Option<Window<Voltage>>,
    /// Whether its line inputs are balanced: neither lead of a signal is tied to ground there.
    pub balanced: Option<bool>,
    /// Whether inputs to which nothing comes get what comes to the others, by a switch or by themselves.
    pub copied: Option<bool>,
    /// Whether it turns itself on when a signal comes.
    pub senses_signal: Option<bool>,
}

/// A driver: anything with a voice coil.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Driver {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// What part of the music it plays.
    pub kind: Option<DriverKind>,
    /// Its nominal size, like `12 in`.
    pub size: Option<Quantity<Length>>,
    /// The power it takes for good, all coils together, like `500 W`.
    pub rms: Option<Quantity<Power>>,
    /// Nominal impedance of each voice coil, like `[4 ohm, 4 ohm]`.
    pub coils: Vec<Quantity<Resistance>>,
    /// DC resistance of each voice coil, in the order of `coils`, like `[3.3 ohm, 3.3 ohm]`.
    pub dc_resistance: Vec<Quantity<Resistance>>,
    /// The enclosure it sits in.
    pub enclosure: Option<String>,
    /// The net volume its maker asks for, like `25 L .. 45 L`.
    pub box_volume: Option<Window<Volume>>,
    /// Free-air resonance, like `28 Hz`.
    pub resonance: Option<Quantity<Frequency>>,
    /// Total quality factor Qts, a plain number like 0.45.
    pub total_q: Option<f64>,
    /// Volume of air as springy as its suspension (Vas), like `60 L`.
    pub compliance_volume: Option<Quantity<Volume>>,
    /// The volume the driver itself takes away from its box, like `2 L`.
    pub displacement: Option<Quantity<Volume>>,
    /// Free text.
    pub note: Option<String>,
}

/// What part of the music a driver plays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum DriverKind {
    /// The lowest octaves only.
    Subwoofer,
    /// Bass and middle.
    Woofer,
    /// The middle.
    Midrange,
    /// The top.
    Tweeter,
    /// Everything, by one cone or by a coaxial pair.
    FullRange,
}

/// A box for drivers.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Enclosure {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// How it works.
    pub kind: Option<EnclosureKind>,
    /// Air inside, everything in it subtracted, like `32 L`.
    pub net_volume: Option<Quantity<Volume>>,
    /// Air inside before driver, vent and bracing are subtracted, like `36 L`.
    pub gross_volume: Option<Quantity<Volume>>,
    /// What bracing takes away, like `1 L`.
    pub bracing: Option<Quantity<Volume>>,
    /// The vent of a vented box.
    pub vent: Option<Vent>,
    /// Where it stands.
    pub location: Option<Zone>,
    /// Its mass with the drivers in it, like `19 kg`.
    pub mass: Option<Quantity<Mass>>,
    /// Free text.
    pub note: Option<String>,
}

/// How a box works.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EnclosureKind {
    /// Closed, airtight.
    Sealed,
    /// With a tuned vent.
    Vented,
    /// The driver works into the cargo space or a door.
    Open,
}

/// The vent of a vented box.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Vent {
    /// Inner diameter of a round vent, like `100 mm`.
    pub diameter: Option<Quantity<Length>>,
    /// Inner width of a slot, like `300 mm`.
    pub width: Option<Quantity<Length>>,
    /// Inner height of a slot, like `40 mm`.
    pub height: Option<Quantity<Length>>,
    /// Length of the vent, like `250 mm`.
    pub length: Option<Quantity<Length>>,
    /// How many there are.
    pub count: Option<u8>,
}

/// Where audio comes from.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Source {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// What kind of device it is, like `factory`.
    pub kind: Option<SourceKind>,
    /// The kind of output that is used.
    pub outputs: Option<OutputKind>,
    /// The levels that the inputs of a processor take. Its terminals are `NAME.power`, `NAME.ground`, `NAME.remote` and its
    /// inputs, like `dsp.speaker-left`.
    pub inputs: Option<Inputs>,
    /// Whether it has a line output made for bass.
    pub bass_output: Option<bool>,
    /// Its highest clean output, like `8.5 V`.
    pub level: Option<Quantity<Voltage>>,
    /// Power of one speaker output, where the level is not known, like `18 W`.
    pub power: Option<Quantity<Power>>,
    /// Impedance of the speaker on one output, like `4 ohm`.
    pub speaker_load: Option<Quantity<Resistance>>,
    /// Whether one lead of its outputs is ground, or both are driven; a balanced line output is `bridged`.
    pub stage: Option<OutputStage>,
    /// Whether it falls silent when no speaker is connected.
    pub senses_load: Option<bool>,
    /// Between which supply voltages a processor works, like `9 V .. 16 V`.
    pub operating_voltage: Option<Window<Voltage>>,
    /// What a processor draws when on, like `600 mA`.
    pub current: Option<Quantity<Current>>,
    /// What a processor draws when it is switched off, like `1 mA`.
    pub off_current: Option<Quantity<Current>>,
    /// What the turn-on terminal of a processor draws, like `10 mA`.
    pub remote_current: Option<Quantity<Current>>,
    /// How long after turn-on it plays, like `3 s`.
    pub on_delay: Option<Quantity<Duration>>,
    /// Noise cancelling or engine sound that the factory system adds.
    pub sound_processing: Option<SoundProcessing>,
    /// Free text.
    pub note: Option<String>,
}

impl Source {
    /// Whether it is a processor: gear that is added and works on the signal of another source.
    pub fn is_processor(&self) -> bool {
        self.kind == Some(SourceKind::Processor)
    }
}

/// What a source is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SourceKind {
    /// The radio the vehicle came with.
    Factory,
    /// The amplifier the vehicle came with.
    FactoryAmplifier,
    /// A radio that was fitted later.
    Aftermarket,
    /// A sound processor that was fitted later.
    Processor,
}

/// The kind of an audio output.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OutputKind {
    /// A few volts, made for another amplifier.
    Line,
    /// Made for a speaker.
    SpeakerLevel,
}

/// How an output is built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum OutputStage {
    /// Both leads are driven; neither may touch ground.
    Bridged,
    /// One lead is ground.
    SingleEnded,
}

/// Sound that a factory system adds or takes away.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum SoundProcessing {
    /// There is none.
    None,
    /// There is, and it is switched off.
    Disabled,
    /// There is, and it works.
    Active,
}

/// A converter from speaker level to line level.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Converter {
    /// The thing on a shelf of the house that it is like; keys beside this one say what differs.
    pub shelf: Option<String>,
    /// The highest input it takes, like `20 V`.
    pub input_maximum: Option<Quantity<Voltage>>,
    /// The highest output it gives, like `5 V`.
    pub output_maximum: Option<Quantity<Voltage>>,
    /// Output volts per input volt, a plain number like 0.5.
    pub ratio: Option<f64>,
    /// Whether input and output grounds are apart (a transformer, or a differential input).
    pub isolated: Option<bool>,
    /// Whether it adds the channels that come to it into one output.
    pub summed: Option<bool>,
    /// Whether it gives a turn-on signal of its own.
    pub turn_on_output: Option<TurnOnOutput>,
    /// What that output can give, like `100 mA`.
    pub turn_on_current: Option<Quantity<Current>>,
    /// Between which supply voltages it works where it is fed, like `9 V .. 16 V`.
    pub operating_voltage: Option<Window<Voltage>>,
    /// What it draws when on, like `60 mA`.
    pub current: Option<Quantity<Current>>,
    /// What it draws with the vehicle asleep, like `1 mA`.
    pub off_current: Option<Quantity<Current>>,
    /// What its turn-on terminal draws where it has one, like `10 mA`.
    pub remote_current: Option<Quantity<Current>>,
    /// Whether it turns itself on when a signal comes; one with a switched turn-on output does.
    pub senses_signal: Option<bool>,
    /// Whether it gives the source a load to see.
    pub loads_source: Option<bool>,
    /// Free text.
    pub note: Option<String>,
}

/// Whether a converter turns amplifiers on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TurnOnOutput {
    /// It has no such output.
    None,
    /// It switches twelve volts while there is a signal.
    Switched,
}
