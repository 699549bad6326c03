//! The way a run takes through the vehicle: whether it can go there, and how long that is.

use super::job::Job;
use super::known::{Decided, Place, Undecided};
use crate::plan::{PASSES, Room, Zone, ZoneKind};
use crate::quantity::{Length, Range};

/// Where a path cannot go on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Break {
    /// The place on the path that cannot be reached, by its number from 0.
    pub at: usize,
    /// The last space before it, by its number.
    pub after: Option<usize>,
    /// The crossing that would lead there from that space, where one does.
    pub lacks: Option<Zone>,
}

/// The first place on a path that cannot be reached from those before it.
///
/// Within a room any space leads to any other: a path may leave out small stretches. From room to room it has to name
/// the crossing. Spots to stay away from lie in any room.
pub fn first_break(path: &[Zone]) -> Option<Break> {
    let mut rooms = Room::ALL.to_vec();
    let mut after = None;
    for (at, zone) in path.iter().enumerate() {
        match (zone.room(), zone.kind()) {
            (Some(room), _) => {
                let open = rooms.contains(&room) || behind(None, &rooms).contains(&room);
                if !open {
                    let lacks = after.and_then(|last: usize| between(path[last].room()?, room));
                    return Some(Break { at, after, lacks });
                }
                rooms = vec![room];
                after = Some(at);
            }
            (None, ZoneKind::Crossing) => {
                rooms = behind(Some(*zone), &rooms);
                if rooms.is_empty() {
                    return Some(Break { at, after, lacks: None });
                }
            }
            (None, _) => {}
        }
    }
    None
}

/// The rooms behind a crossing, or behind nothing, seen from some rooms.
fn behind(crossing: Option<Zone>, rooms: &[Room]) -> Vec<Room> {
    let passes = PASSES.iter().filter(|(through, ..)| *through == crossing);
    let both = passes.flat_map(|(_, one, other)| [(*one, *other), (*other, *one)]);
    both.filter(|(from, _)| rooms.contains(from)).map(|(_, to)| to).collect()
}

/// The crossing from one room to another.
fn between(from: Room, to: Room) -> Option<Zone> {
    let joins = |one: Room, other: Room| (one, other) == (from, to) || (other, one) == (from, to);
    PASSES.iter().find(|(_, one, other)| from != to && joins(*one, *other)).and_then(|(through, ..)| *through)
}

/// How long the stretches on a path are, as far as the plan gives distances.
#[derive(Debug, Clone, PartialEq)]
pub struct WayLength {
    /// The stretches that were measured, added.
    pub measured: Range<Length>,
    /// How many of them there are.
    pub stretches: usize,
    /// The spaces without a distance. A crossing has no length of its own, nor has a spot to stay away from.
    pub unmeasured: Vec<Place>,
}

impl Job<'_> {
    /// How long the stretches on a path are.
    ///
    /// # Errors
    /// Not applicable where the plan gives no distances at all.
    pub fn way_length(&self, path: &[Zone]) -> Decided<WayLength> {
        let distances = self.plan.vehicle.as_ref().map(|vehicle| &vehicle.distances).filter(|known| !known.is_empty());
        let distances = distances.ok_or(Undecided::NotApplicable("the plan gives no distances"))?;
        let known = path.iter().filter_map(|zone| distances.get(zone));
        let lacks = path.iter().filter(|zone| zone.kind() == ZoneKind::Space && !distances.contains_key(zone));
        Ok(WayLength {
            measured: known.clone().map(|distance| Range::<Length>::from(*distance)).sum(),
            stretches: known.count(),
            unmeasured: lacks.map(|zone| Place::of(format!("vehicle.distances.{}", zone.word()))).collect(),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Zone::{
        Cargo, Dash, DoorJamb, EngineBay, Firewall, FloorPan, LeftDoor, LeftSill, PanelEdge, Pedals, RearBulkhead,
        RearSeat, RightDoor, SpareWell, Underbody,
    };

    #[test]
    fn walls_are_passed_by_their_crossing_alone() {
        for path in [
            &[EngineBay, Firewall, Cargo][..],
            &[Cargo, Firewall, EngineBay],
            &[EngineBay, Underbody, FloorPan, Cargo],
            &[EngineBay, PanelEdge, Underbody, Firewall, Dash],
            &[EngineBay, Firewall, FloorPan, Underbody],
            &[Dash, LeftSill, DoorJamb, LeftDoor],
            &[Dash, Pedals, SpareWell],
            &[RearSeat, RearBulkhead, PanelEdge, Cargo],
            &[Firewall, Dash],
            &[],
        ] {
            assert_eq!(first_break(path), None, "{path:?}");
        }
    }

    #[test]
    fn a_jump_says_what_stands_between() {
        for (path, at, lacks) in [
            (&[EngineBay, Cargo][..], 1, Some(Firewall)),
            (&[EngineBay, PanelEdge, Cargo], 2, Some(Firewall)),
            (&[Cargo, Underbody], 1, Some(FloorPan)),
            (&[LeftSill, LeftDoor], 1, Some(DoorJamb)),
            (&[EngineBay, FloorPan, Cargo], 1, None),
            (&[LeftDoor, DoorJamb, RightDoor], 2, None),
            (&[Dash, Firewall, Cargo], 2, None),
            (&[EngineBay, RearBulkhead, Cargo], 1, None),
        ] {
            let found = first_break(path).unwrap_or_else(|| panic!("{path:?} is no way"));
            assert_eq!((found.at, found.lacks, found.after), (at, lacks, Some(0)), "{path:?}");
        }
    }

    #[test]
    fn every_space_inside_is_beside_another_and_the_table_holds_spaces_only() {
        let spaces = [Dash, LeftSill, Cargo, SpareWell, RearSeat, Zone::Roof, Zone::UnderSeat, Zone::LeftPillar];
        for space in spaces {
            assert!(space.is_beside(space) && spaces.iter().any(|other| *other != space && space.is_beside(*other)));
        }
        assert!(!Dash.is_beside(Cargo) && !Firewall.is_beside(Dash) && EngineBay.is_beside(Underbody));
    }
}
