//! The settings of an amplifier, or of some of its outputs.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use crate::quantity::{Frequency, Level, Quantity, Slope, Voltage};

/// What an amplifier is set to, or some of its outputs.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Setting {
    /// The amplifier, like `quad`, where the setting has a name of its own: a front and a rear pair of outputs with a gain
    /// each.
    pub amplifier: Option<String>,
    /// The outputs it is for, by number, like `[1, 2]`; without them, every output that no other setting names.
    pub outputs: Vec<u8>,
    /// Voltage at the output to which the gain is set with the test tone, like `31 V`.
    pub gain_target: Option<Quantity<Voltage>>,
    /// The test tone, like `50 Hz`.
    pub tone: Option<Quantity<Frequency>>,
    /// Whether the filters are switched off while the gain is set with the test tone.
    pub tone_unfiltered: Option<bool>,
    /// Corner of the low-pass filter, like `80 Hz`.
    pub low_pass: Option<Quantity<Frequency>>,
    /// How steep the low-pass filter is, like `24 dB/oct`.
    pub low_pass_slope: Option<Quantity<Slope>>,
    /// Corner of the high-pass filter, like `80 Hz`.
    pub high_pass: Option<Quantity<Frequency>>,
    /// How steep the high-pass filter is, like `12 dB/oct`.
    pub high_pass_slope: Option<Quantity<Slope>>,
    /// Corner of the subsonic filter, like `28 Hz`.
    pub low_cut: Option<Quantity<Frequency>>,
    /// How steep the subsonic filter is, like `24 dB/oct`.
    pub low_cut_slope: Option<Quantity<Slope>>,
    /// The design of its filters, like `butterworth`.
    pub filters: Option<FilterKind>,
    /// Boost of an equaliser at the test tone, like `3 dB`.
    pub boost: Option<Quantity<Level>>,
    /// Free text.
    pub note: Option<String>,
}

/// The design of a filter.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FilterKind {
    /// As flat as can be, 3 dB down at its corner.
    Butterworth,
    /// Two Butterworth filters in a row, 6 dB down at its corner.
    LinkwitzRiley,
}
