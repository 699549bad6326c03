//! The order of work.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// One step of the work: one of these keys, and a note if needed.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
#[schemars(extend("anyOf" = [{"maxProperties": 1}, {"maxProperties": 2, "required": ["note"]}]))]
pub struct Step {
    /// Work on the battery.
    pub battery: Option<BatteryStep>,
    /// Make a high-voltage vehicle safe.
    pub high_voltage: Option<HighVoltageStep>,
    /// Wait, for example for airbag units to discharge.
    pub airbags: Option<AirbagStep>,
    /// Lay a wire, a turn-on lead or a signal lead, by name.
    pub run: Option<String>,
    /// Make a ground, by name.
    pub ground: Option<String>,
    /// Fasten gear, by name.
    pub mount: Option<String>,
    /// Connect gear, by name.
    pub connect: Option<String>,
    /// Charge a capacitor through a resistor or a lamp, by name, before its feed is closed straight.
    pub charge: Option<String>,
    /// Discharge a capacitor through a resistor or a lamp, by name, before anybody works at it.
    pub discharge: Option<String>,
    /// Put in the fuse of a wire or block, by name.
    pub fuse: Option<String>,
    /// Look at something before power comes on.
    pub inspect: Option<InspectStep>,
    /// Set an amplifier, by name.
    pub set: Option<String>,
    /// Test.
    pub test: Option<TestStep>,
    /// Work on the radio.
    pub radio: Option<RadioStep>,
    /// Free text.
    pub note: Option<String>,
}

/// Work on the battery.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum BatteryStep {
    /// Negative off first.
    Disconnect,
    /// Negative on last.
    Reconnect,
    /// Positive off first: the wrong way round.
    DisconnectPositiveFirst,
    /// Tell the monitor about a new battery.
    RegisterMonitor,
}

/// Make a high-voltage vehicle safe.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum HighVoltageStep {
    /// A qualified person isolates it by the maker's procedure.
    IsolatedByQualifiedPerson,
    /// A qualified person takes it back into service.
    RestoredByQualifiedPerson,
}

/// Care for airbag parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum AirbagStep {
    /// Wait as long as the vehicle's maker says after the battery is off.
    Wait,
    /// Take airbag parts off or move them.
    Handle,
}

/// Look at something before power comes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum InspectStep {
    /// Polarity and how everything is made and fastened.
    PolarityAndPolish,
    /// No conductor touches the body (measured with a meter).
    NoShort,
}

/// Test what was built.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum TestStep {
    /// Everything, with the measurements of the plan.
    Commissioning,
    /// Key-off current.
    KeyOff,
    /// Charging voltage.
    Charging,
}

/// Work on the radio.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum RadioStep {
    /// Note code and stations before the battery goes off.
    NoteCode,
    /// Enter them again.
    RestoreCode,
}
