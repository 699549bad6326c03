//! How coils hang on amplifier outputs.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::Deserialize;
use serde::de::{self, Deserializer, MapAccess, Visitor};

use super::wire::{Crossing, Material, PastAirbags};
use super::zone::Zone;
use crate::quantity::{Gauge, Length, Quantity};

/// The coils on one output, or on two outputs bridged.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Load {
    /// The amplifier.
    pub amplifier: Option<String>,
    /// Its outputs by number; two named together are bridged.
    pub outputs: Vec<u8>,
    /// How the coils are combined.
    pub coils: Option<Coils>,
    /// The speaker lead.
    pub lead: Option<LoadLead>,
    /// Whether this load is meant to play against the others.
    pub reversed: Option<bool>,
    /// Free text.
    pub note: Option<String>,
}

/// A speaker lead.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct LoadLead {
    /// Its size, like `12 AWG`.
    pub size: Option<Gauge>,
    /// Its length one way, like `1.5 m`.
    pub length: Option<Quantity<Length>>,
    /// What it is made of, like `copper`.
    pub conductor: Option<Material>,
    /// The places it runs through, in order from the amplifier; its way is judged where this is stated.
    pub path: Vec<Zone>,
    /// How it gets through each crossing on its path.
    #[schemars(extend("propertyNames" = { "$ref": "#/$defs/Zone" }))]
    pub crossings: BTreeMap<Zone, Crossing>,
    /// How it gets past the airbags, where it runs in a pillar or the roof of a vehicle that has them there, like `behind`.
    pub airbags: Option<PastAirbags>,
}

/// Coils in series and parallel: `sub.1`, `-sub.2` (reversed), `{series: […]}`, `{parallel: […]}`.
#[derive(Debug, Clone, PartialEq)]
pub enum Coils {
    /// One coil.
    One(Coil),
    /// One after the other.
    Series(Vec<Coils>),
    /// Side by side.
    Parallel(Vec<Coils>),
}

/// One voice coil of a driver.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Coil {
    /// The driver's name.
    pub driver: String,
    /// Which of its coils, from 1; a driver's name alone is its first.
    pub number: u8,
    /// Whether it is connected the other way round.
    pub reversed: bool,
}

impl Coils {
    /// Every coil of the tree with its path below `coils`, from the front.
    pub fn each(&self) -> Vec<(String, &Coil)> {
        let mut found = Vec::new();
        self.collect(String::new(), &mut found);
        found
    }

    /// Every coil of the tree, from the front.
    pub fn coils(&self) -> Vec<&Coil> {
        match self {
            Self::One(coil) => vec![coil],
            Self::Series(parts) | Self::Parallel(parts) => parts.iter().flat_map(Self::coils).collect(),
        }
    }

    fn collect<'a>(&'a self, path: String, found: &mut Vec<(String, &'a Coil)>) {
        let (word, parts) = match self {
            Self::One(coil) => return found.push((path, coil)),
            Self::Series(parts) => ("series", parts),
            Self::Parallel(parts) => ("parallel", parts),
        };
        for (at, part) in parts.iter().enumerate() {
            part.collect(format!("{path}.{word}.{at}"), found);
        }
    }
}

impl fmt::Display for Coils {
    /// As a plan says it: `{series: [sub.1, sub.2]}`.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (word, parts) = match self {
            Self::One(coil) => return coil.fmt(out),
            Self::Series(parts) => ("series", parts),
            Self::Parallel(parts) => ("parallel", parts),
        };
        let parts: Vec<String> = parts.iter().map(ToString::to_string).collect();
        write!(out, "{{{word}: [{}]}}", parts.join(", "))
    }
}

impl Coil {
    /// Reads `sub`, `sub.2` or `-sub.2`.
    ///
    /// # Errors
    /// A sentence that says what is taken.
    pub fn read(written: &str) -> Result<Self, String> {
        let refused = || {
            let written = crate::words::excerpt(written, 40);
            format!("`{written}` is not a coil; write the driver's name, a point and the coil's number, like sub.1")
        };
        let (reversed, name) = match written.trim().strip_prefix('-') {
            Some(rest) => (true, rest),
            None => (false, written.trim()),
        };
        let (driver, number) = match name.rsplit_once('.') {
            Some((driver, number)) => (driver, number.parse().ok().filter(|n| *n > 0).ok_or_else(refused)?),
            None => (name, 1),
        };
        if !super::reference::is_name(driver) {
            return Err(refused());
        }
        Ok(Self { driver: driver.to_owned(), number, reversed })
    }
}

impl Coil {
    /// Coils in a row of words, as a plan writes them: `series sub.1 sub.2`.
    pub(super) fn respelt(written: &str) -> Option<String> {
        let (word, coils) = written.split_once([' ', ':'])?;
        let coils: Vec<&str> = coils.split([' ', ',', '+']).filter(|coil| !coil.is_empty()).collect();
        let is_row = ["series", "parallel"].contains(&word) && coils.len() > 1;
        let all = is_row && coils.iter().all(|coil| Self::read(coil).is_ok());
        all.then(|| format!("{{{word}: [{}]}}", coils.join(", ")))
    }
}

impl fmt::Display for Coil {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}{}.{}", if self.reversed { "-" } else { "" }, self.driver, self.number)
    }
}

impl<'de> Deserialize<'de> for Coils {
    fn deserialize<R: Deserializer<'de>>(reader: R) -> Result<Self, R::Error> {
        reader.deserialize_any(CoilsVisitor)
    }
}

struct CoilsVisitor;

impl<'de> Visitor<'de> for CoilsVisitor {
    type Value = Coils;

    fn expecting(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str("a coil like sub.1, {series: [...]} or {parallel: [...]}")
    }

    fn visit_str<E: de::Error>(self, written: &str) -> Result<Coils, E> {
        Coil::read(written).map(Coils::One).map_err(E::custom)
    }

    fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Coils, A::Error> {
        let Some(word) = map.next_key::<String>()? else {
            return Err(de::Error::custom("write series or parallel and the coils"));
        };
        let parts: Vec<Coils> = map.next_value()?;
        match word.as_str() {
            "series" => Ok(Coils::Series(parts)),
            "parallel" => Ok(Coils::Parallel(parts)),
            _ => Err(de::Error::unknown_field(&word, &["series", "parallel"])),
        }
    }
}

impl JsonSchema for Coils {
    fn schema_name() -> Cow<'static, str> {
        "coils".into()
    }
    fn json_schema(generator: &mut SchemaGenerator) -> Schema {
        let parts = generator.subschema_for::<Vec<Coils>>();
        json_schema!({
            "description": "Coils in series and parallel: sub.1, -sub.2 (reversed), {series: [...]}, {parallel: [...]}.",
            "anyOf": [
                { "type": "string", "examples": ["sub.1", "-sub.2"], "x-quantity": "coil" },
                {
                    "type": "object",
                    "properties": { "series": parts, "parallel": parts },
                    "additionalProperties": false,
                    "minProperties": 1,
                    "maxProperties": 1
                }
            ]
        })
    }
}
