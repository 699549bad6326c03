//! Findings that somebody answers for.

use std::borrow::Cow;
use std::fmt;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Deserializer};

use crate::words::excerpt;

/// A finding that is accepted, by whom, why and until when.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Waiver {
    /// The rule's code or name, like `GROUND-02`.
    pub rule: Option<String>,
    /// The element it is about, like `wires.return`.
    pub at: Option<String>,
    /// Why it is accepted.
    pub reason: Option<String>,
    /// Who answers for it.
    pub by: Option<String>,
    /// The last day on which it holds, like `2027-06-30`.
    pub until: Option<Day>,
}

/// A day of the calendar.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Day(jiff::civil::Date);

impl Day {
    /// Reads `2027-06-30`.
    ///
    /// # Errors
    /// A sentence that says what was found and what is taken.
    pub fn read(written: &str) -> Result<Self, String> {
        let plain = written.len() == 10 && written.bytes().all(|byte| byte.is_ascii_digit() || byte == b'-');
        let day = plain.then(|| written.parse().ok()).flatten();
        let refused = || format!("`{}` is not a day; write year, month and day like 2027-06-30", excerpt(written, 40));
        day.map(Self).ok_or_else(refused)
    }

    /// A day that is only written in another way, as a plan writes it: `2027-6-30`, or `30.6.2027` where the first number
    /// cannot be a month.
    pub fn respelt(written: &str) -> Option<String> {
        let parts: Vec<u16> =
            written.trim().split(['-', '.', '/']).map(|part| part.parse().ok()).collect::<Option<_>>()?;
        let ([year @ 1000..=9999, month, day] | [day @ 13..=31, month, year @ 1000..=9999]) = parts.as_slice() else {
            return None;
        };
        let spelt = format!("{year}-{month:02}-{day:02}");
        Self::read(&spelt).is_ok().then_some(spelt)
    }

    /// How many days later another day is.
    pub fn days_until(self, later: Self) -> i32 {
        (later.0 - self.0).get_days()
    }

    /// The day that it is now in universal time.
    pub fn today() -> Self {
        Self(jiff::tz::TimeZone::UTC.to_datetime(jiff::Timestamp::now()).date())
    }
}

impl fmt::Display for Day {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}", self.0)
    }
}

impl<'de> Deserialize<'de> for Day {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::read(&String::deserialize(deserializer)?).map_err(serde::de::Error::custom)
    }
}

impl JsonSchema for Day {
    fn schema_name() -> Cow<'static, str> {
        "Day".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "type": "string",
            "description": "A day, written like `2027-06-30`.",
            "examples": ["2027-06-30"],
            "pattern": r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
            "x-quantity": "day",
        })
    }
}
