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

    /// The room a space lies in; none for a crossing and for a spot to stay away from.
    pub fn room(self) -> Option<Room> {
        (self.kind() == ZoneKind::Space).then_some(match self {
            Self::EngineBay => Room::EngineBay,
            Self::LeftDoor => Room::LeftDoor,
            Self::RightDoor => Room::RightDoor,
            Self::Underbody => Room::Underbody,
            _ => Room::Inside,
        })
    }

    /// Whether two spaces are the same, or lie side by side with no other stretch of the vehicle between them.
    pub fn is_beside(self, other: Self) -> bool {
        self == other || BESIDE.iter().any(|(one, all)| is_pair(*one, all, self, other))
    }
}

fn is_pair(one: Zone, all: &[Zone], a: Zone, b: Zone) -> bool {
    (one == a && all.contains(&b)) || (one == b && all.contains(&a))
}

/// A part of the vehicle that walls, floor or doors part from the rest.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// Under the bonnet.
    EngineBay,
    /// Cabin and load space, with everything under their trim.
    Inside,
    /// Inside a left door.
    LeftDoor,
    /// Inside a right door.
    RightDoor,
    /// Outside, under the floor.
    Underbody,
}

impl Room {
    /// Every room.
    pub const ALL: [Self; 5] = [Self::EngineBay, Self::Inside, Self::LeftDoor, Self::RightDoor, Self::Underbody];
}

/// What leads from one room to another, in either direction: a crossing, or nothing where no wall stands between.
///
/// The build of any closed vehicle (common practice, no published source). A panel edge leads from no room into another
/// but from the engine bay down, so that firewall, floor and door are always named and judged. The firewall may also be
/// reached from below, at its foot. The usual crossing between two rooms stands first.
pub const PASSES: &[(Option<Zone>, Room, Room)] = &[
    (None, Room::EngineBay, Room::Underbody),
    (Some(Zone::Firewall), Room::EngineBay, Room::Inside),
    (Some(Zone::FloorPan), Room::Inside, Room::Underbody),
    (Some(Zone::Firewall), Room::Underbody, Room::Inside),
    (Some(Zone::DoorJamb), Room::Inside, Room::LeftDoor),
    (Some(Zone::DoorJamb), Room::Inside, Room::RightDoor),
    (Some(Zone::RearBulkhead), Room::Inside, Room::Inside),
    (Some(Zone::PanelEdge), Room::EngineBay, Room::EngineBay),
    (Some(Zone::PanelEdge), Room::EngineBay, Room::Underbody),
    (Some(Zone::PanelEdge), Room::Underbody, Room::Underbody),
    (Some(Zone::PanelEdge), Room::Inside, Room::Inside),
    (Some(Zone::PanelEdge), Room::LeftDoor, Room::LeftDoor),
    (Some(Zone::PanelEdge), Room::RightDoor, Room::RightDoor),
];

/// Spaces with those that lie beside them, each pair once (common practice, no published source).
const BESIDE: &[(Zone, &[Zone])] = &[
    (Zone::EngineBay, &[Zone::Underbody]),
    (
        Zone::Dash,
        &[
            Zone::LeftFootwell,
            Zone::RightFootwell,
            Zone::LeftSill,
            Zone::RightSill,
            Zone::CentreTunnel,
            Zone::CabinFloor,
            Zone::LeftPillar,
            Zone::RightPillar,
        ],
    ),
    (Zone::LeftFootwell, &[Zone::LeftSill, Zone::LeftPillar, Zone::CentreTunnel, Zone::CabinFloor, Zone::UnderSeat]),
    (Zone::RightFootwell, &[Zone::RightSill, Zone::RightPillar, Zone::CentreTunnel, Zone::CabinFloor, Zone::UnderSeat]),
    (Zone::LeftSill, &[Zone::LeftPillar, Zone::CabinFloor, Zone::UnderSeat, Zone::RearSeat, Zone::Cargo]),
    (Zone::RightSill, &[Zone::RightPillar, Zone::CabinFloor, Zone::UnderSeat, Zone::RearSeat, Zone::Cargo]),
    (Zone::CentreTunnel, &[Zone::CabinFloor, Zone::UnderSeat, Zone::RearSeat, Zone::Cargo]),
    (Zone::CabinFloor, &[Zone::UnderSeat, Zone::RearSeat, Zone::Cargo]),
    (Zone::UnderSeat, &[Zone::RearSeat, Zone::Cargo]),
    (Zone::RearSeat, &[Zone::Cargo, Zone::SpareWell, Zone::LeftPillar, Zone::RightPillar, Zone::Roof]),
    (Zone::Roof, &[Zone::LeftPillar, Zone::RightPillar, Zone::Cargo]),
    (Zone::Cargo, &[Zone::SpareWell, Zone::LeftPillar, Zone::RightPillar]),
];
