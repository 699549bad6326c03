//! Ways as a drawing shows them: across the vehicle in rows, along it in columns.

use crate::plan::Zone;

/// A stretch of the vehicle from one side to the other, the front first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Row {
    /// Under the bonnet.
    EngineBay,
    /// Behind the instrument panel.
    Dash,
    /// Both footwells.
    Footwells,
    /// Under the front seats.
    UnderSeat,
    /// What sits inside doors, sills, pillars and tunnel, beside them.
    Beside,
    /// The cabin floor.
    CabinFloor,
    /// Behind or under the rear seat.
    RearSeat,
    /// The load space.
    Cargo,
    /// Below it.
    SpareWell,
    /// Nowhere in the vehicle, as far as the plan tells.
    Outside,
}

impl Row {
    /// Every row, the front first.
    pub const ALL: [Self; 10] = [
        Self::EngineBay,
        Self::Dash,
        Self::Footwells,
        Self::UnderSeat,
        Self::Beside,
        Self::CabinFloor,
        Self::RearSeat,
        Self::Cargo,
        Self::SpareWell,
        Self::Outside,
    ];

    /// Whether runs lie behind the things of the row instead of in front of them.
    pub const fn runs_behind(self) -> bool {
        matches!(self, Self::EngineBay | Self::Dash)
    }

    /// Whether tunnel and floor part the row in two.
    pub const fn is_parted(self) -> bool {
        !matches!(self, Self::EngineBay | Self::Cargo | Self::SpareWell | Self::Outside)
    }
}

/// A stretch of the vehicle along it, the left first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Column {
    /// Inside the left doors.
    LeftDoor,
    /// Inside the left pillars.
    LeftPillar,
    /// The left sill.
    LeftSill,
    /// The tunnel.
    Tunnel,
    /// Somewhere between two places, where the plan names no stretch.
    Between,
    /// Below the floor.
    Underbody,
    /// Above the headlining.
    Roof,
    /// The right sill.
    RightSill,
    /// Inside the right pillars.
    RightPillar,
    /// Inside the right doors.
    RightDoor,
}

/// A side of the vehicle.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Left, seen from above with the nose up.
    Left,
    /// The middle.
    Middle,
    /// Right.
    Right,
}

impl Column {
    /// Every column, the left first.
    pub const ALL: [Self; 10] = [
        Self::LeftDoor,
        Self::LeftPillar,
        Self::LeftSill,
        Self::Tunnel,
        Self::Between,
        Self::Underbody,
        Self::Roof,
        Self::RightSill,
        Self::RightPillar,
        Self::RightDoor,
    ];

    /// The side it is on.
    pub const fn side(self) -> Side {
        match self {
            Self::LeftDoor | Self::LeftPillar | Self::LeftSill => Side::Left,
            Self::Tunnel | Self::Between | Self::Underbody | Self::Roof => Side::Middle,
            Self::RightSill | Self::RightPillar | Self::RightDoor => Side::Right,
        }
    }

    /// Its words.
    pub const fn words(self) -> &'static str {
        match self {
            Self::LeftDoor => "left door",
            Self::LeftPillar => "left pillar",
            Self::LeftSill => "left sill",
            Self::Tunnel => "centre tunnel",
            Self::Between => "between",
            Self::Underbody => "underbody",
            Self::Roof => "roof",
            Self::RightSill => "right sill",
            Self::RightPillar => "right pillar",
            Self::RightDoor => "right door",
        }
    }
}

/// Where a place is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Spot {
    /// In a row.
    Row(Row),
    /// In a column.
    Column(Column),
}

/// Where a space is drawn; nowhere of its own for a crossing and a spot to stay away from.
pub const fn spot(zone: Zone) -> Option<Spot> {
    Some(match zone {
        Zone::EngineBay => Spot::Row(Row::EngineBay),
        Zone::Dash => Spot::Row(Row::Dash),
        Zone::LeftFootwell | Zone::RightFootwell => Spot::Row(Row::Footwells),
        Zone::UnderSeat => Spot::Row(Row::UnderSeat),
        Zone::CabinFloor => Spot::Row(Row::CabinFloor),
        Zone::RearSeat => Spot::Row(Row::RearSeat),
        Zone::Cargo => Spot::Row(Row::Cargo),
        Zone::SpareWell => Spot::Row(Row::SpareWell),
        Zone::LeftSill => Spot::Column(Column::LeftSill),
        Zone::RightSill => Spot::Column(Column::RightSill),
        Zone::CentreTunnel => Spot::Column(Column::Tunnel),
        Zone::LeftDoor => Spot::Column(Column::LeftDoor),
        Zone::RightDoor => Spot::Column(Column::RightDoor),
        Zone::LeftPillar => Spot::Column(Column::LeftPillar),
        Zone::RightPillar => Spot::Column(Column::RightPillar),
        Zone::Roof => Spot::Column(Column::Roof),
        Zone::Underbody => Spot::Column(Column::Underbody),
        _ => return None,
    })
}

/// A stretch of a way along the vehicle.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Leg {
    /// Where it lies.
    pub column: Column,
    /// The crossings and spots to stay away from that it passes; whether at its end instead of its start.
    pub passes: Vec<(Zone, bool)>,
}

/// A way: rows with a leg between each two.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Way {
    /// The rows it lies in.
    pub rows: Vec<Row>,
    /// The legs between them.
    pub legs: Vec<Leg>,
    /// Crossings and spots that no leg passes.
    pub loose: Vec<Zone>,
}

/// The way from a row to a row through the places of a path.
pub fn way(start: Row, path: &[Zone], end: Row) -> Way {
    let mut builder = Builder { way: Way { rows: vec![start], ..Way::default() }, open: None, pending: Vec::new() };
    for (at, zone) in path.iter().enumerate() {
        match spot(*zone) {
            Some(Spot::Row(row)) => builder.row(row, next_column(&path[at..])),
            Some(Spot::Column(column)) => builder.column(column),
            None => builder.pending.push(*zone),
        }
    }
    builder.row(end, None);
    let Builder { mut way, pending, .. } = builder;
    match way.legs.last_mut() {
        Some(leg) => leg.passes.extend(pending.into_iter().map(|zone| (zone, true))),
        None => way.loose.extend(pending),
    }
    straightened(way)
}

fn next_column(path: &[Zone]) -> Option<Column> {
    path.iter().find_map(|zone| match spot(*zone) {
        Some(Spot::Column(column)) => Some(column),
        _ => None,
    })
}

struct Builder {
    way: Way,
    /// The leg that has not reached a row yet.
    open: Option<Leg>,
    pending: Vec<Zone>,
}

impl Builder {
    fn last(&self) -> Row {
        self.way.rows.last().copied().unwrap_or(Row::Outside)
    }

    fn passes(&mut self, at_end: bool) -> Vec<(Zone, bool)> {
        std::mem::take(&mut self.pending).into_iter().map(|zone| (zone, at_end)).collect()
    }

    fn column(&mut self, column: Column) {
        if self.open.as_ref().is_some_and(|leg| leg.column == column) {
            return;
        }
        if let Some(leg) = self.open.take() {
            // From one column to the next a run crosses the floor, to doors and pillars in front of the seats.
            let narrow = |column| {
                matches!(column, Column::LeftDoor | Column::RightDoor | Column::LeftPillar | Column::RightPillar)
            };
            let row = if narrow(column) || narrow(leg.column) { Row::Footwells } else { Row::CabinFloor };
            self.close(leg, row);
        }
        let passes = self.passes(false);
        self.open = Some(Leg { column, passes });
    }

    fn row(&mut self, row: Row, next: Option<Column>) {
        match self.open.take() {
            Some(mut leg) => {
                leg.passes.extend(self.passes(true));
                self.close(leg, row);
            }
            None if row == self.last() => {}
            None => {
                let before = self.way.legs.last().map(|leg| leg.column);
                let deep = row.max(self.last()) > Row::Cargo;
                let otherwise = if deep { Column::RightSill } else { Column::Between };
                let passes = self.passes(true);
                self.close(Leg { column: next.or(before).unwrap_or(otherwise), passes }, row);
            }
        }
    }

    /// Ends a leg in a row. The load space lies across the end of tunnel and floor.
    fn close(&mut self, leg: Leg, row: Row) {
        let beyond = |row: Row| row > Row::Cargo;
        let from = self.last();
        if leg.column.side() == Side::Middle && beyond(from) != beyond(row) {
            let side = Leg { column: Column::RightSill, passes: Vec::new() };
            let (first, second) = if beyond(row) { (leg, side) } else { (side, leg) };
            self.push(first, Row::Cargo);
            return self.push(second, row);
        }
        self.push(leg, row);
    }

    fn push(&mut self, leg: Leg, row: Row) {
        self.way.legs.push(leg);
        self.way.rows.push(row);
    }
}

/// Two legs of one column in the same direction are one that passes the row between them.
fn straightened(way: Way) -> Way {
    let mut rows = way.rows.into_iter();
    let mut straight = Way { rows: rows.next().into_iter().collect(), legs: Vec::new(), loose: way.loose };
    for (leg, row) in way.legs.into_iter().zip(rows) {
        let [.., before, last] = straight.rows[..] else {
            straight.legs.push(leg);
            straight.rows.push(row);
            continue;
        };
        match straight.legs.last_mut() {
            Some(known) if known.column == leg.column && (before < last) == (last < row) && before != last => {
                known.passes.extend(leg.passes);
                if let Some(end) = straight.rows.last_mut() {
                    *end = row;
                }
            }
            _ => {
                straight.legs.push(leg);
                straight.rows.push(row);
            }
        }
    }
    straight
}

#[cfg(test)]
mod tests {
    use super::*;
    use Zone::{Cargo, CentreTunnel, Dash, DoorJamb, EngineBay, Firewall, LeftDoor, LeftSill, RightSill, SpareWell};

    fn columns(way: &Way) -> Vec<Column> {
        way.legs.iter().map(|leg| leg.column).collect()
    }

    #[test]
    fn a_run_to_the_back_is_one_straight_leg() {
        for path in [&[EngineBay, Firewall, RightSill, Cargo][..], &[EngineBay, Firewall, Dash, RightSill, Cargo]] {
            let found = way(Row::EngineBay, path, Row::Cargo);
            assert_eq!((columns(&found), found.rows), (vec![Column::RightSill], vec![Row::EngineBay, Row::Cargo]));
            assert_eq!(found.legs[0].passes, [(Firewall, path[2] == Dash)]);
        }
    }

    #[test]
    fn doors_are_reached_across_the_footwell() {
        let found = way(Row::Dash, &[Dash, LeftSill, DoorJamb, LeftDoor], Row::Beside);
        assert_eq!(columns(&found), [Column::LeftSill, Column::LeftDoor]);
        assert_eq!(found.rows, [Row::Dash, Row::Footwells, Row::Beside]);
        assert_eq!(found.legs[1].passes, [(DoorJamb, false)]);
    }

    #[test]
    fn the_spare_well_is_reached_beside_the_load_space() {
        let found = way(Row::Dash, &[Dash, CentreTunnel, SpareWell], Row::SpareWell);
        assert_eq!(columns(&found), [Column::Tunnel, Column::RightSill]);
        assert_eq!(found.rows, [Row::Dash, Row::Cargo, Row::SpareWell]);
    }

    #[test]
    fn what_stays_in_its_row_has_no_leg() {
        let found = way(Row::Cargo, &[Cargo, Zone::PanelEdge], Row::Cargo);
        assert_eq!((found.legs.len(), found.loose), (0, vec![Zone::PanelEdge]));
    }
}
