//! Where things sit and where wires run.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// A place in the vehicle: a space, a crossing from one space to another, or a spot to stay away from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Deserialize, Serialize, JsonSchema)]
#[serde(rename_all = "kebab-case")]
pub enum Zone {
    /// Under the bonnet.
    EngineBay,
    /// Behind the instrument panel.
    Dash,
    /// Floor in front of the left seat.
    LeftFootwell,
    /// Floor in front of the right seat.
    RightFootwell,
    /// Along the left door sill, under its trim.
    LeftSill,
    /// Along the right door sill, under its trim.
    RightSill,
    /// Along the tunnel between the seats.
    CentreTunnel,
    /// On the cabin floor, under the carpet.
    CabinFloor,
    /// Under a front seat, clear of its rails.
    UnderSeat,
    /// Behind or under the rear seat.
    RearSeat,
    /// Inside a left door.
    LeftDoor,
    /// Inside a right door.
    RightDoor,
    /// Above the headlining.
    Roof,
    /// Inside a left pillar.
    LeftPillar,
    /// Inside a right pillar.
    RightPillar,
    /// Boot, load space or the back of a van.
    Cargo,
    /// Under the load floor, in the spare-wheel well.
    SpareWell,
    /// Outside, under the floor.
    Underbody,
    /// Crossing: the wall between engine bay and cabin.
    Firewall,
    /// Crossing: through the floor to the underbody.
    FloorPan,
    /// Crossing: between body and door.
    DoorJamb,
    /// Crossing: the wall between cabin and cargo.
    RearBulkhead,
    /// Crossing: over or through any other sheet-metal edge or hole.
    PanelEdge,
    /// Stay away: where the pedals move.
    Pedals,
    /// Stay away: the steering column and its joints.
    SteeringColumn,
    /// Stay away: the rails a seat slides on.
    SeatTrack,
    /// Stay away: a hinge or a folding seat's joint.
    Hinge,
    /// Stay away: exhaust pipe, silencer or their heat shields.
    Exhaust,
    /// Stay away: engine block, turbocharger, radiator hoses and other hot parts.
    HotEngineParts,
    /// Stay away: where an airbag unfolds.
    AirbagPath,
    /// Stay away: along the airbag or belt-tensioner harness.
    AirbagHarness,
    /// Stay away: along a fuel line or tank.
    FuelLine,
    /// Stay away: along a brake line.
    BrakeLine,
}

/// What a place is for somebody who lays a wire.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ZoneKind {
    /// A space in which wires run and things sit.
    Space,
    /// A hole or an edge from one space to the next.
    Crossing,
    /// Something that moves and cuts.
    Moving,
    /// Something that burns insulation.
    Hot,
    /// Airbags and their harness.
    Airbag,
    /// Fuel and brake lines.
    Line,
}

impl Zone {
    /// What kind of place it is.
    pub fn kind(self) -> ZoneKind {
        match self {
            Self::Firewall | Self::FloorPan | Self::DoorJamb | Self::RearBulkhead | Self::PanelEdge => {
                ZoneKind::Crossing
            }
            Self::Pedals | Self::SteeringColumn | Self::SeatTrack | Self::Hinge => ZoneKind::Moving,
            Self::Exhaust | Self::HotEngineParts => ZoneKind::Hot,
            Self::AirbagPath | Self::AirbagHarness => ZoneKind::Airbag,
            Self::FuelLine | Self::BrakeLine => ZoneKind::Line,
            _ => ZoneKind::Space,
        }
    }

    /// Whether the place is as hot as an engine space: engine bay, underbody and the hot parts in them.
    pub fn is_hot(self) -> bool {
        matches!(self, Self::EngineBay | Self::Underbody | Self::Exhaust | Self::HotEngineParts)
    }

    /// Whether water gets there.
    pub fn is_wet(self) -> bool {
        matches!(self, Self::EngineBay | Self::Underbody)
    }

    /// The word in the plan.
    pub fn word(self) -> String {
        super::word(&self)
    }
}
