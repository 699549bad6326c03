//! How gear is held.

use std::borrow::Cow;

use schemars::{JsonSchema, Schema, SchemaGenerator, json_schema};
use serde::{Deserialize, Serialize};

use super::ground::Thread;
use super::wire::BlindSide;
use crate::quantity::{Length, Quantity};

/// How one piece of gear is held.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Mount {
    /// What it sits on.
    pub on: Option<MountOn>,
    /// What holds it.
    pub fasteners: Option<Fasteners>,
    /// Free space around it, like `50 mm`.
    pub clearance: Option<Quantity<Length>>,
    /// Whether somebody looked at what is behind before drilling.
    pub blind_side: Option<BlindSide>,
    /// Whether air can pass.
    pub ventilated: Option<bool>,
    /// What it stands in the way of.
    pub blocks: Vec<Blocked>,
    /// Free text.
    pub note: Option<String>,
}

/// What gear sits on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum MountOn {
    /// A board behind the side trim.
    BoardBehindSideTrim,
    /// A board under or in the load floor.
    BoardUnderLoadFloor,
    /// The cargo floor.
    CargoFloor,
    /// The back of the rear seat.
    RearSeatBack,
    /// The shelf behind the rear seat.
    RearShelf,
    /// Under a front seat.
    UnderSeat,
    /// Behind the dash.
    BehindDash,
    /// The enclosure of a driver.
    Enclosure,
    /// The spare-wheel well.
    SpareWell,
    /// The engine bay.
    EngineBay,
    /// Nothing: it lies loose.
    Loose,
}

/// What holds a piece of gear.
#[derive(Debug, Clone, Default, PartialEq, Deserialize, JsonSchema)]
#[serde(default)]
#[schemars(deny_unknown_fields)]
pub struct Fasteners {
    /// How many.
    pub count: Option<u8>,
    /// What they are.
    pub kind: Option<FastenerKind>,
    /// Their thread.
    pub thread: Option<Thread>,
    /// Strength class of bolts, like `8.8`.
    pub class: Option<StrengthClass>,
}

/// What a fastener is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum FastenerKind {
    /// A screw with a machine thread in a nut or rivet nut.
    MachineScrew,
    /// A bolt through a bracket.
    BracketBolt,
    /// A screw in wood.
    WoodScrew,
    /// A screw that cuts into sheet metal.
    SheetMetalScrew,
    /// A strap with a buckle.
    Strap,
    /// Hook-and-loop tape.
    HookAndLoop,
    /// Adhesive.
    Adhesive,
    /// Nothing.
    None,
}

/// Strength class of a bolt (ISO 898-1).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize)]
pub enum StrengthClass {
    /// 4.8.
    #[serde(rename = "4.8")]
    C48,
    /// 5.8.
    #[serde(rename = "5.8")]
    C58,
    /// 8.8.
    #[serde(rename = "8.8")]
    C88,
    /// 10.9.
    #[serde(rename = "10.9")]
    C109,
}

/// YAML takes 8.8, as it stands on the head of a bolt, for a number, and nobody writes quotes around it.
impl JsonSchema for StrengthClass {
    fn schema_name() -> Cow<'static, str> {
        "StrengthClass".into()
    }

    fn json_schema(_: &mut SchemaGenerator) -> Schema {
        json_schema!({
            "description": "Strength class of a bolt (ISO 898-1).",
            "type": ["string", "number"],
            "enum": ["4.8", "5.8", "8.8", "10.9", 4.8, 5.8, 8.8, 10.9],
        })
    }
}

/// What gear can stand in the way of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Blocked {
    /// A belt or its reel.
    Belt,
    /// An anchorage for a child seat.
    ChildSeatAnchorage,
    /// A seat that moves or folds.
    SeatMovement,
    /// The spare wheel or its tools.
    Spare,
    /// An emergency release.
    EmergencyRelease,
}
