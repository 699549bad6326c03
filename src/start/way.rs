//! The usual way from one place in a vehicle to another (common practice, no published source): through the wall that
//! parts them, then along one sill.

use std::str::FromStr;

use crate::plan::{PASSES, Room, Zone};

/// A side of the vehicle, seen in the direction of travel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// The other one.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }

    fn sill(self) -> Zone {
        match self {
            Self::Left => Zone::LeftSill,
            Self::Right => Zone::RightSill,
        }
    }
}

impl FromStr for Side {
    type Err = String;

    fn from_str(written: &str) -> Result<Self, String> {
        match super::meant(written, ["left", "right"].into_iter()) {
            Some("left") => Ok(Self::Left),
            Some(_) => Ok(Self::Right),
            None => Err(format!("`{}` is no side; write left or right", crate::words::excerpt(written, 40))),
        }
    }
}

/// The places from one to another inside the vehicle, both named.
pub fn way(from: Zone, to: Zone, side: Side) -> Vec<Zone> {
    let crossing = match (from.room(), to.room()) {
        (Some(one), Some(other)) if one != other => pass(one, other),
        _ => None,
    };
    let mut way = vec![from];
    way.extend(crossing);
    // The wall of the engine bay is crossed behind the dash, the floor right where the gear sits.
    let inside = match crossing {
        None => from,
        Some(Zone::Firewall) => Zone::Dash,
        Some(_) => to,
    };
    if inside != to && !inside.is_beside(to) && side.sill() != to {
        way.push(side.sill());
    }
    if from != to {
        way.push(to);
    }
    way
}

/// The usual crossing between two rooms.
fn pass(one: Room, other: Room) -> Option<Zone> {
    let joins = |(_, a, b): &&(Option<Zone>, Room, Room)| (*a, *b) == (one, other) || (*a, *b) == (other, one);
    PASSES.iter().find(joins).and_then(|(crossing, ..)| *crossing)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_way_goes_through_the_wall_and_along_one_sill() {
        use Zone::{
            CabinFloor, Cargo, Dash, EngineBay, Firewall, FloorPan, LeftSill, RightSill, SpareWell, UnderSeat,
            Underbody,
        };
        assert_eq!(way(EngineBay, Cargo, Side::Right), [EngineBay, Firewall, RightSill, Cargo]);
        assert_eq!(way(EngineBay, Dash, Side::Right), [EngineBay, Firewall, Dash]);
        assert_eq!(way(Underbody, UnderSeat, Side::Left), [Underbody, FloorPan, UnderSeat]);
        assert_eq!(way(Dash, Cargo, Side::Left), [Dash, LeftSill, Cargo]);
        assert_eq!(way(Dash, CabinFloor, Side::Left), [Dash, CabinFloor]);
        assert_eq!(way(Cargo, SpareWell, Side::Left), [Cargo, SpareWell]);
        assert_eq!(way(Cargo, Cargo, Side::Left), [Cargo]);
    }
}
