//! The settings of an amplifier.

use schemars::JsonSchema;
use serde::Deserialize;

use crate::quantity::{Frequency, Level, Quantity, Voltage};

/// What an amplifier is set to.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Setting {
    /// Voltage at the output to which the gain is set with the test tone, like `31 V`.
    pub gain_target: Option<Quantity<Voltage>>,
    /// The test tone, like `50 Hz`.
    pub tone: Option<Quantity<Frequency>>,
    /// Corner of the low-pass filter, like `80 Hz`.
    pub low_pass: Option<Quantity<Frequency>>,
    /// Corner of the high-pass filter, like `80 Hz`.
    pub high_pass: Option<Quantity<Frequency>>,
    /// Corner of the subsonic filter, like `28 Hz`.
    pub low_cut: Option<Quantity<Frequency>>,
    /// Boost of an equaliser at the test tone, like `3 dB`.
    pub boost: Option<Quantity<Level>>,
    /// Free text.
    pub note: Option<String>,
}
