//! Where everything lies along the vehicle, and the lines of the runs.

use std::collections::{BTreeMap, BTreeSet};

use super::super::drawing::{Point, number};
use super::super::lanes::{Stretch, lay};
use super::frame::Frame;
use super::things::Scene;
use super::ways::{Column, Row, Side};
use crate::plan::{Zone, ZoneKind};

/// What is told of a run beside its line.
#[derive(Debug, Clone)]
pub struct Callout {
    /// The run.
    pub run: usize,
    /// Where its line lies.
    pub x: f64,
    /// Where the words stand.
    pub y: f64,
    /// The side of the vehicle on which they stand.
    pub side: Side,
    /// The words.
    pub words: String,
    /// The crossing or spot that the run passes here; none for its name alone.
    pub zone: Option<Zone>,
}

/// Where a row lies.
#[derive(Debug, Clone, Copy, Default)]
pub struct Level {
    /// Its upper edge.
    pub top: f64,
    /// Its lower edge.
    pub bottom: f64,
    /// The upper edge of its things.
    pub things: f64,
    /// The upper edge of its lanes.
    pub lanes: f64,
    /// Whether anything is in it.
    pub used: bool,
}

/// Everything along the vehicle.
#[derive(Debug, Default)]
pub struct Levels {
    /// Where each row lies.
    pub rows: BTreeMap<Row, Level>,
    /// The room at the nose and at the tail.
    ends: f64,
    /// What is told beside lines.
    pub callouts: Vec<Callout>,
    /// Crossings that no line passes: the run and the place.
    pub loose: Vec<(usize, Zone)>,
    /// Names of columns, above what is told of their runs.
    pub heads: Vec<(Column, Point)>,
    /// How far below the upper edge of its row's lanes each visit of a run lies, by run and visit.
    lanes: BTreeMap<(usize, usize), f64>,
}

/// How high a row of words beside lines is.
const CALLOUT: f64 = 14.0;
/// The height of a row's name.
pub const NAME: f64 = 18.0;
const GAP: f64 = 8.0;

impl Levels {
    /// Lays rows below each other.
    pub fn of(frame: &Frame, scene: &Scene) -> Self {
        let mut levels = Self { ends: scene.shell.ends(), ..Self::default() };
        let mut strips = levels.strips(frame, scene);
        let mut y = levels.ends;
        for row in Row::ALL {
            if row == Row::Outside {
                y += levels.ends;
            }
            y = levels.strip(strips.remove(&row).unwrap_or_default(), frame, y);
            let band = levels.band(frame, row);
            let things = frame.heights.get(&row).copied();
            let named = scene.runs.iter().any(|laid| laid.run.path.iter().any(|zone| is_in(*zone, row)));
            let used = band > 0.0 || things.is_some() || named;
            let name = if used && row != Row::Beside { NAME } else { 0.0 };
            let things_high = things.map_or(0.0, |high| high + GAP);
            let mut level = Level { top: y, used, ..Level::default() };
            let start = y + name + if used { 2.0 } else { 0.0 };
            if row.runs_behind() {
                level.things = start;
                level.lanes = start + things_high;
            } else {
                level.lanes = start;
                level.things = start + band;
            }
            y = (start + band + things_high + if used { GAP } else { 0.0 }).max(y + least(row));
            level.bottom = y;
            levels.rows.insert(row, level);
        }
        levels
    }

    /// The upper edge of a row.
    pub fn top(&self, row: Row) -> f64 {
        self.rows.get(&row).map_or(0.0, |level| level.top)
    }

    /// The lower edge of the vehicle.
    pub fn tail(&self) -> f64 {
        self.rows.get(&Row::SpareWell).map_or(0.0, |level| level.bottom) + self.ends
    }

    /// Where a visit of a run lies.
    fn y(&self, frame: &Frame, run: usize, visit: usize) -> f64 {
        let row = frame.runs[run].way.rows[visit];
        self.rows.get(&row).map_or(0.0, |level| level.lanes) + self.lanes.get(&(run, visit)).copied().unwrap_or(0.0)
    }

    /// Lays the runs that pass from side to side in a row, and says how high that makes them.
    fn band(&mut self, frame: &Frame, row: Row) -> f64 {
        let mut visits: Vec<(Order, (usize, usize), Stretch)> = Vec::new();
        for (run, routed) in frame.runs.iter().enumerate().filter(|(_, routed)| !routed.direct) {
            for visit in (0..routed.way.rows.len()).filter(|visit| routed.way.rows[*visit] == row) {
                let (order, from, to) = span(frame, run, visit);
                visits.push((order, (run, visit), Stretch { from, to, weight: frame.weight(run) }));
            }
        }
        visits.sort_by(|one, other| one.0.0.cmp(&other.0.0).then(one.0.1.total_cmp(&other.0.1)));
        if row.runs_behind() {
            visits.reverse();
        }
        if visits.is_empty() {
            return 0.0;
        }
        let stretches: Vec<Stretch> = visits.iter().map(|(.., stretch)| *stretch).collect();
        let lanes = lay(&stretches);
        self.lanes.extend(visits.into_iter().zip(lanes.offsets).map(|((_, key, _), offset)| (key, offset)));
        lanes.width
    }

    /// What is told at the upper edge of each row.
    fn strips(&mut self, frame: &Frame, scene: &Scene) -> BTreeMap<Row, Vec<Callout>> {
        let mut strips: BTreeMap<Row, Vec<Callout>> = BTreeMap::new();
        for (run, routed) in frame.runs.iter().enumerate() {
            let laid = &scene.runs[run].run;
            self.loose.extend(routed.way.loose.iter().map(|zone| (run, *zone)));
            for (at, leg) in routed.way.legs.iter().enumerate() {
                let (start, end) = (routed.way.rows[at], routed.way.rows[at + 1]);
                let callout = |words: String, zone| Callout {
                    run,
                    x: routed.legs[at],
                    y: 0.0,
                    side: leg.column.side(),
                    words,
                    zone,
                };
                for (zone, at_end) in &leg.passes {
                    match boundary(*zone, *at_end, start, end) {
                        Some(row) => {
                            let words = format!("{}: {}", laid.name, laid.zone_words(*zone));
                            strips.entry(row).or_default().push(callout(words, Some(*zone)));
                        }
                        None => self.loose.push((run, *zone)),
                    }
                }
                if start.min(end) < Row::CabinFloor && start.max(end) >= Row::CabinFloor {
                    strips.entry(Row::CabinFloor).or_default().push(callout(laid.label(), None));
                }
            }
            let stated = laid.crossings.keys().filter(|zone| !laid.path.contains(zone));
            self.loose.extend(stated.map(|zone| (run, *zone)));
        }
        strips
    }

    /// Gives each row of words its place: those of the left side in the left half, the others in the right.
    fn strip(&mut self, mut callouts: Vec<Callout>, frame: &Frame, top: f64) -> f64 {
        callouts.sort_by(|one, other| {
            (one.side == Side::Right).cmp(&(other.side == Side::Right)).then(one.x.total_cmp(&other.x))
        });
        let mut rows = (0, 0);
        let mut last = None;
        for mut callout in callouts {
            let row = if callout.side == Side::Left { &mut rows.0 } else { &mut rows.1 };
            let column = frame.column_at(callout.x);
            if callout.zone.is_none() && column != last {
                last = column;
                let at = top + CALLOUT * number(*row) + 12.0;
                self.heads.extend(column.map(|column| (column, (callout.x, at))));
                *row += 1;
            }
            callout.y = top + CALLOUT * number(*row) + 12.0;
            *row += 1;
            self.callouts.push(callout);
        }
        let most = rows.0.max(rows.1);
        top + if most == 0 { 0.0 } else { CALLOUT * number(most) + 10.0 }
    }

    /// The lines of a run: the first from its start to its first end, then one to each other end.
    pub fn lines(&self, frame: &Frame, run: usize) -> Vec<Vec<Point>> {
        let routed = &frame.runs[run];
        let start = self.port(frame, run, 0);
        if routed.direct {
            let end = self.port(frame, run, 1);
            // The outer of the two lanes passes both ports.
            let x = if end.0 > start.0.max(routed.from.x) || start.0 > routed.from.x {
                routed.from.x.min(routed.to[0].x)
            } else {
                routed.from.x.max(routed.to[0].x)
            };
            return vec![vec![start, (x, start.1), (x, end.1), end]];
        }
        let mut points = vec![start, (routed.from.x, start.1)];
        let mut x = routed.from.x;
        for visit in 0..routed.way.rows.len() {
            let y = self.y(frame, run, visit);
            points.push((x, y));
            let Some(leg) = routed.legs.get(visit) else { break };
            x = *leg;
            points.push((x, y));
        }
        let y = self.y(frame, run, routed.way.rows.len() - 1);
        let mut lines = Vec::new();
        let (mut least, mut most) = (x, x);
        for (at, stub) in routed.to.iter().enumerate() {
            let end = self.port(frame, run, at + 1);
            let mut line = if at == 0 { points.clone() } else { vec![(stub.x.clamp(least, most), y)] };
            line.extend([(stub.x, y), (stub.x, end.1), end]);
            (least, most) = (least.min(stub.x), most.max(stub.x));
            lines.push(line);
        }
        lines
    }

    /// Where a run meets a thing.
    fn port(&self, frame: &Frame, run: usize, end: usize) -> Point {
        let routed = &frame.runs[run];
        let stub = if end == 0 { &routed.from } else { &routed.to[end - 1] };
        let row = if end == 0 { routed.way.rows.first() } else { routed.way.rows.last() };
        let seat = frame.seats[stub.item];
        let (ports, _) = frame.tiles[stub.item].heights(seat.width);
        let top = row.and_then(|row| self.rows.get(row)).map_or(0.0, |level| level.things) + seat.below;
        let left = frame.tiles[stub.item].ports[stub.port].side == Side::Left;
        (if left { seat.left } else { seat.left + seat.width }, top + ports[stub.port])
    }
}

/// How a visit is put in order with others: what stays in the row nearest to the things, the farthest column before.
struct Order(u8, f64);

fn span(frame: &Frame, run: usize, visit: usize) -> (Order, f64, f64) {
    let routed = &frame.runs[run];
    let legs =
        [visit.checked_sub(1), Some(visit)].into_iter().flatten().filter_map(|leg| routed.legs.get(leg)).copied();
    let legs: Vec<f64> = legs.collect();
    let mut xs = legs.clone();
    if visit == 0 {
        xs.push(routed.from.x);
    }
    if visit + 1 == routed.way.rows.len() {
        xs.extend(routed.to.iter().map(|stub| stub.x));
    }
    let (least, most) = xs.iter().fold((f64::MAX, f64::MIN), |(least, most), x| (least.min(*x), most.max(*x)));
    let middle = f64::midpoint(frame.inside.0, frame.inside.1);
    let far = legs.iter().map(|x| (x - middle).abs()).fold(0.0, f64::max);
    (if legs.is_empty() { Order(1, least) } else { Order(0, far) }, least, most)
}

/// The row at whose upper edge a leg from row to row passes a place; none where it does not go that far.
fn boundary(zone: Zone, at_end: bool, start: Row, end: Row) -> Option<Row> {
    let (first, last) = (start.min(end), start.max(end));
    let passed: BTreeSet<Row> = Row::ALL.into_iter().filter(|row| first < *row && *row <= last).collect();
    let own = match zone {
        Zone::Firewall => Some(Row::Dash),
        Zone::RearBulkhead => Some(Row::Cargo),
        _ => None,
    };
    own.filter(|row| passed.contains(row)).or_else(|| {
        let low = (start < end) == at_end;
        if low { passed.last().copied() } else { passed.first().copied() }
    })
}

fn is_in(zone: Zone, row: Row) -> bool {
    zone.kind() == ZoneKind::Space && super::ways::spot(zone) == Some(super::ways::Spot::Row(row))
}

/// How high a row is even if nothing is in it, so that a vehicle can be seen.
const fn least(row: Row) -> f64 {
    match row {
        Row::EngineBay => 84.0,
        Row::Dash => 26.0,
        Row::Footwells => 18.0,
        Row::RearSeat => 52.0,
        Row::UnderSeat | Row::Cargo => 70.0,
        _ => 0.0,
    }
}
