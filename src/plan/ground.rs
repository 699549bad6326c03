//! Where returns meet the body.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::zone::Zone;
use crate::quantity::{Quantity, Resistance};

/// A place where a return meets the body. Wires refer to it as `grounds.NAME`.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Ground {
    /// What it is fastened to.
    pub on: Option<GroundOn>,
    /// What the metal under it looks like.
    pub surface: Option<Surface>,
    /// What fastens it.
    pub fastener: Option<GroundFastener>,
    /// Whether the bare metal is coated again once it is tight.
    pub coated_after: Option<bool>,
    /// Whether the vehicle's maker names it as a ground for added loads, like `true`; asked of a factory stud where the body is
    /// not of steel.
    pub for_added_loads: Option<bool>,
    /// Where it is.
    pub location: Option<Zone>,
    /// Resistance of the joint, where it was measured, like `0.2 mohm`.
    pub joint_resistance: Option<Quantity<Resistance>>,
    /// Free text.
    pub note: Option<String>,
}

/// What a return is fastened to.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GroundOn {
    /// Welded sheet metal of the body.
    BodySheet,
    /// A rail, cross member or other thick part of the body.
    BodyStructure,
    /// The steel frame under the body of a pickup, a truck or an off-road vehicle, whatever its body is made of; the factory's
    /// strap joins it to the battery.
    Frame,
    /// A ground stud that the factory put there.
    FactoryStud,
    /// A bracket that is itself only bolted on.
    Bracket,
    /// A seat's frame.
    SeatFrame,
    /// A trim part or its clip.
    Trim,
    /// A bolt of a belt or its anchorage.
    BeltHardware,
    /// A bolt of a seat.
    SeatBolt,
    /// Airbag parts or their brackets.
    AirbagHardware,
    /// Steering parts.
    SteeringHardware,
    /// Brake parts.
    BrakeHardware,
    /// Fuel parts.
    FuelHardware,
}

/// What the metal under a ground looks like.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Surface {
    /// Ground back to bright metal.
    BareMetal,
    /// Plated or galvanised metal without paint.
    Plated,
    /// Painted.
    Painted,
    /// Under powder coat, undercoat or sealer.
    Coated,
    /// Rusty or oxidised.
    Corroded,
}

/// What fastens a ground.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct GroundFastener {
    /// The kind of bolt or screw, like `rivet-nut`.
    pub kind: Option<GroundFastenerKind>,
    /// Its thread.
    pub thread: Option<Thread>,
    /// Whether it is kept from working loose (toothed washer, locking nut, thread lock).
    pub locking: Option<bool>,
    /// Whether it holds something else of the vehicle too.
    pub shared: Option<bool>,
}

/// What a ground fastener is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum GroundFastenerKind {
    /// A bolt with a nut.
    Bolt,
    /// A welded stud with a nut.
    Stud,
    /// A bolt in a rivet nut or weld nut.
    RivetNut,
    /// A screw that cuts into sheet metal.
    SheetMetalScrew,
}

/// A metric coarse thread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Deserialize, Serialize, JsonSchema)]
pub enum Thread {
    /// 3 mm.
    M3,
    /// 4 mm.
    M4,
    /// 5 mm.
    M5,
    /// 6 mm.
    M6,
    /// 8 mm.
    M8,
    /// 10 mm.
    M10,
    /// 12 mm.
    M12,
}

impl Thread {
    /// Nominal diameter in millimetres.
    pub fn millimetres(self) -> f64 {
        match self {
            Self::M3 => 3.0,
            Self::M4 => 4.0,
            Self::M5 => 5.0,
            Self::M6 => 6.0,
            Self::M8 => 8.0,
            Self::M10 => 10.0,
            Self::M12 => 12.0,
        }
    }
}
