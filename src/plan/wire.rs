//! Conductors that carry supply current, and what protects and holds them.

use std::collections::BTreeMap;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::reference::Terminal;
use super::word;
use super::zone::Zone;
use crate::quantity::{Current, Duration, Gauge, Length, Quantity, Resistance, Temperature, Voltage};

/// A conductor that carries supply current.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Wire {
    /// Where it starts: the end towards the source, like `battery.positive`.
    pub from: Option<Terminal>,
    /// Where it ends: the end towards the load, like `bass-amp.power`.
    pub to: Option<Terminal>,
    /// Its size, like `4 AWG`.
    pub size: Option<Gauge>,
    /// The metal of its conductor, like `copper`.
    pub conductor: Option<Material>,
    /// How its strands are made.
    pub stranding: Option<Stranding>,
    /// The temperature its insulation is made for, like `105 C`.
    pub insulation: Option<Quantity<Temperature>>,
    /// The colour of its insulation.
    pub colour: Option<Colour>,
    /// Its length from end to end, like `4.9 m`.
    pub length: Option<Quantity<Length>>,
    /// The places it runs through, in order from `from` to `to`.
    pub path: Vec<Zone>,
    /// The fuse near its `from` end.
    pub fuse: Option<Fuse>,
    /// A second fuse near its `to` end, where a battery sits at that end too.
    pub far_fuse: Option<Fuse>,
    /// How it gets through each crossing on its path.
    #[schemars(extend("propertyNames" = { "$ref": "#/$defs/Zone" }))]
    pub crossings: BTreeMap<Zone, Crossing>,
    /// How it gets past the airbags, where it runs in a pillar or the roof of a vehicle that has them there, like `behind`.
    pub airbags: Option<PastAirbags>,
    /// What it is covered with along the way.
    pub covering: Option<Covering>,
    /// How many conductors that carry current run tied together with it, itself counted.
    pub bundle: Option<u8>,
    /// The longest stretch between two fixings, like `30 cm`.
    pub fixed_every: Option<Quantity<Length>>,
    /// How its two ends are made.
    pub ends: Option<Ends>,
    /// Resistance of one joint at its ends, where it was measured, like `0.1 mohm`.
    pub joint_resistance: Option<Quantity<Resistance>>,
    /// Free text.
    pub note: Option<String>,
}

impl Wire {
    /// The terminals that it joins, as far as the plan states them.
    pub fn terminals(&self) -> impl Iterator<Item = &Terminal> + Clone {
        [&self.from, &self.to].into_iter().flatten()
    }
}

/// How a lead in a pillar or the roof gets past the airbags there, by the vehicle maker's repair manual.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum PastAirbags {
    /// No airbag is fitted in the pillars and the roof that it runs in.
    NoneFitted,
    /// It runs behind the plane in which the bags are mounted, on the way that the maker shows.
    Behind,
}

/// How the strands of a conductor are made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Stranding {
    /// One solid wire.
    Solid,
    /// A few strands.
    Stranded,
    /// Many fine strands.
    Fine,
}

/// The colour of an insulation.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Colour {
    /// Red.
    Red,
    /// Black.
    Black,
    /// Blue.
    Blue,
    /// Yellow.
    Yellow,
    /// Brown.
    Brown,
    /// White.
    White,
    /// Green.
    Green,
    /// Grey.
    Grey,
    /// Orange.
    Orange,
    /// Violet.
    Violet,
    /// Clear, with the metal showing.
    Clear,
}

/// What a conductor is covered with along its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Covering {
    /// Nothing but its insulation.
    None,
    /// Split or woven loom.
    Loom,
    /// A closed tube, full or nearly so.
    Conduit,
    /// Carpet or insulation mat lies on it.
    Carpet,
}

/// A fuse and its holder, or a circuit breaker in its place.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Fuse {
    /// Its form.
    pub form: Option<FuseForm>,
    /// Its rated current, like `60 A`.
    pub rating: Option<Quantity<Current>>,
    /// How far along the wire it sits from its end of the wire, like `20 cm`.
    pub distance: Option<Quantity<Length>>,
    /// The voltage it is made for, like `32 V`.
    pub voltage: Option<Quantity<Voltage>>,
    /// The largest fault current it can interrupt, like `6 kA`.
    pub breaking_capacity: Option<Quantity<Current>>,
    /// Resistance of its element, where it was measured, like `1.4 mohm`.
    pub resistance: Option<Quantity<Resistance>>,
    /// What holds it. A circuit breaker holds itself: which wire its terminals take, and whether its case is sealed.
    pub holder: Option<Holder>,
    /// How a circuit breaker closes again, like `manual`.
    pub reset: Option<Reset>,
    /// Whether a circuit breaker opens on a fault even while somebody holds it closed.
    pub trip_free: Option<bool>,
    /// The longest time in which a circuit breaker opens at six times its rating, by its maker's curve, like `2 s`.
    pub opening_time: Option<Quantity<Duration>>,
    /// The current that a circuit breaker carries for good in the heat of its place, by its maker's chart, like `85 A`.
    pub carries: Option<Quantity<Current>>,
    /// Whether a circuit breaker is proved not to light vapour around it (SAE J1171).
    pub ignition_protected: Option<bool>,
}

impl Fuse {
    /// Whether it is a circuit breaker.
    pub fn is_breaker(&self) -> bool {
        self.form == Some(FuseForm::CircuitBreaker)
    }

    /// What to call it: a fuse, or a breaker.
    pub fn noun(&self) -> &'static str {
        if self.is_breaker() { "breaker" } else { "fuse" }
    }

    /// As a plan writes it, in one line.
    pub fn written(&self) -> String {
        in_one_line([
            ("form", self.form.map(|form| word(&form))),
            ("rating", self.rating.map(|rating| rating.to_string())),
            ("distance", self.distance.map(|distance| distance.to_string())),
            ("voltage", self.voltage.map(|voltage| voltage.to_string())),
            ("breaking_capacity", self.breaking_capacity.map(|breaks| breaks.to_string())),
            ("resistance", self.resistance.map(|resistance| resistance.to_string())),
            ("holder", self.holder.as_ref().map(Holder::written)),
            ("reset", self.reset.map(|reset| word(&reset))),
            ("trip_free", self.trip_free.map(|is| is.to_string())),
            ("opening_time", self.opening_time.map(|time| time.to_string())),
            ("carries", self.carries.map(|carries| carries.to_string())),
            ("ignition_protected", self.ignition_protected.map(|is| is.to_string())),
        ])
    }
}

/// The keys that are stated, as a plan writes them in one line.
fn in_one_line(keys: impl IntoIterator<Item = (&'static str, Option<String>)>) -> String {
    let stated = keys.into_iter().filter_map(|(key, value)| Some(format!("{key}: {}", value?)));
    format!("{{{}}}", stated.collect::<Vec<_>>().join(", "))
}

/// How a circuit breaker closes again (the types of SAE J553, read at second hand).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Reset {
    /// By itself, again and again while the fault lasts (type I).
    Automatic,
    /// By itself, once the circuit has been without voltage: while it is live it stays open (type II).
    Modified,
    /// By hand (type III).
    Manual,
}

/// A fuse holder.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Holder {
    /// The largest conductor it takes, like `4 AWG`.
    pub takes: Option<Gauge>,
    /// The current it is made for, like `100 A`.
    pub rated: Option<Quantity<Current>>,
    /// Whether it keeps water out.
    pub sealed: Option<bool>,
}

impl Holder {
    fn written(&self) -> String {
        in_one_line([
            ("takes", self.takes.map(|takes| takes.to_string())),
            ("rated", self.rated.map(|rated| rated.to_string())),
            ("sealed", self.sealed.map(|sealed| sealed.to_string())),
        ])
    }
}

/// How a conductor gets through a wall or over an edge.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Crossing {
    /// What it goes through.
    pub through: Option<Through>,
    /// Whether the pass keeps water, fumes and noise out.
    pub sealed: Option<bool>,
    /// Whether somebody looked at what is behind before drilling.
    pub blind_side: Option<BlindSide>,
}

/// What a conductor goes through.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Through {
    /// A rubber grommet that the factory put there.
    FactoryGrommet,
    /// A new hole with a rubber grommet.
    NewGrommet,
    /// A new hole with a screwed gland.
    Gland,
    /// A flexible boot, as between body and door.
    Boot,
    /// Edging that grips the metal and covers its edge.
    Edging,
    /// Nothing but the lead's own loom between it and the metal.
    Loom,
    /// Bare metal.
    BareHole,
}

impl Through {
    /// Whether a bush of its own holds the lead clear of the metal and closes the hole around it.
    pub fn is_bush(self) -> bool {
        matches!(self, Self::FactoryGrommet | Self::NewGrommet | Self::Gland | Self::Boot)
    }

    /// Whether a new hole is drilled for it.
    pub fn is_drilled(self) -> bool {
        matches!(self, Self::NewGrommet | Self::Gland | Self::BareHole)
    }
}

/// Whether somebody looked at what is behind a hole or a screw.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BlindSide {
    /// Looked at and clear.
    Checked,
    /// Not looked at.
    Unchecked,
}

/// How the two ends of a conductor are made.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Ends {
    /// The end at `from`.
    pub from: Option<End>,
    /// The end at `to`.
    pub to: Option<End>,
}

/// One end of a conductor.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct End {
    /// The piece on this end, like `ring`.
    pub kind: Option<EndKind>,
    /// The stud a ring is made for, like `8 mm`.
    pub stud: Option<Quantity<Length>>,
    /// The largest conductor the end piece is made for, like `4 AWG`.
    pub takes: Option<Gauge>,
    /// How that piece is joined to the conductor, like `crimped`.
    pub made: Option<JointKind>,
    /// How far the insulation is stripped, like `6 mm`.
    pub strip: Option<Quantity<Length>>,
}

/// What is on the end of a conductor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum EndKind {
    /// A ring for a stud or bolt.
    Ring,
    /// A sleeve for a screw terminal.
    Ferrule,
    /// A flat or round push-on contact.
    PushOn,
    /// Bare strands.
    Bare,
}

/// How an end piece is joined to its conductor.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum JointKind {
    /// Crimped with the tool made for it.
    Crimped,
    /// Crimped, then soldered.
    CrimpedAndSoldered,
    /// Soldered only.
    Soldered,
    /// Held by a screw on the strands.
    Screwed,
    /// Strands twisted together and taped.
    TwistedAndTaped,
    /// A clip that pierces the insulation.
    Pierced,
}

/// What a conductor is made of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Material {
    /// Copper.
    Copper,
    /// Aluminium with a skin of copper.
    CopperCladAluminium,
    /// Aluminium.
    Aluminium,
}

/// The form of a fuse.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FuseForm {
    /// Small blade fuse (ISO 8820-3 type F).
    BladeMiniature,
    /// Regular blade fuse (ISO 8820-3 type C).
    BladeRegular,
    /// Large blade fuse (ISO 8820-3 type E).
    BladeLarge,
    /// Strip fuse held by two bolts (ISO 8820-5).
    BoltDown,
    /// No fuse but a circuit breaker (SAE J553).
    CircuitBreaker,
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every key comes back as it was read.
    #[test]
    fn a_fuse_is_read_again_as_it_is_written() {
        for fuse in [
            "{}",
            "{form: bolt-down, rating: 60 A, distance: 20 cm, voltage: 32 V, breaking_capacity: 6 kA, resistance: 1.4 mohm, \
             holder: {takes: 4 AWG, rated: 100 A, sealed: true}}",
            "{form: circuit-breaker, rating: 60 A, holder: {}, reset: manual, trip_free: true, opening_time: 2 s, \
             carries: 85 A, ignition_protected: false}",
        ] {
            let reading = crate::plan::read(format!("plan: 1\nwires: {{main: {{fuse: {fuse}}}}}\n"));
            assert!(reading.misreads.is_empty(), "{:?}", reading.misreads);
            assert_eq!(reading.plan.wires["main"].fuse.as_ref().map(Fuse::written).as_deref(), Some(fuse));
        }
    }
}
