//! Names that refer to terminals of other things.

use std::borrow::Cow;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer};

/// Whether things may be called so.
pub(super) fn is_name(name: &str) -> bool {
    let plain = |letter: u8| letter.is_ascii_alphanumeric() || matches!(letter, b'-' | b'_');
    name.starts_with(|first: char| first.is_ascii_alphanumeric()) && name.bytes().all(plain)
}

/// A terminal: the name of a thing, a point, and the terminal's name, like `bass-amp.power`.
/// A ground is `grounds.NAME`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Terminal {
    /// The thing, or `grounds`.
    pub thing: String,
    /// Its terminal, or the name of the ground.
    pub terminal: String,
}

impl Terminal {
    /// Reads `bass-amp.power`.
    ///
    /// # Errors
    /// A sentence that says what is taken.
    pub fn read(written: &str) -> Result<Self, String> {
        match written.trim().split_once('.') {
            Some((thing, terminal)) if !thing.is_empty() && !terminal.is_empty() && !terminal.contains('.') => {
                Ok(Self { thing: thing.to_owned(), terminal: terminal.to_owned() })
            }
            _ => Err(format!(
                "`{}` is not a terminal; write the thing, a point and its terminal, like bass-amp.power or grounds.load-floor",
                crate::words::excerpt(written, 40)
            )),
        }
    }

    /// Whether it is the negative side of the starting battery: the post itself, or the body's side of the sensor on it.
    pub fn is_battery_negative(&self) -> bool {
        self.is("battery", "negative") || self.is("battery", "body-side")
    }

    /// Whether this is the given terminal of the given thing.
    pub fn is(&self, thing: &str, terminal: &str) -> bool {
        self.thing == thing && self.terminal == terminal
    }
}

impl fmt::Display for Terminal {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}.{}", self.thing, self.terminal)
    }
}

impl<'de> Deserialize<'de> for Terminal {
    fn deserialize<R: Deserializer<'de>>(reader: R) -> Result<Self, R::Error> {
        let written = Cow::<str>::deserialize(reader)?;
        Self::read(&written).map_err(serde::de::Error::custom)
    }
}

impl JsonSchema for Terminal {
    fn schema_name() -> Cow<'static, str> {
        "terminal".into()
    }
    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A terminal: the name of a thing, a point and its terminal. The starting battery is battery.positive and battery.negative, its post; behind a monitor on that post battery.body-side is the body's side of the sensor. An amplifier has power, ground, remote and its inputs, a processor or a converter power, ground and remote; a ground is grounds.NAME.",
            "pattern": "^[^.]+\\.[^.]+$",
            "examples": ["battery.positive", "bass-amp.power", "grounds.load-floor"],
            "x-quantity": "terminal",
        })
    }
}
