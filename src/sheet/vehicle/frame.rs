//! Where everything lies across the vehicle: columns of lanes along its sides and middle, things between them.

use std::collections::BTreeMap;

use super::super::drawing::number;
use super::super::lanes::{Lanes, Stretch, lay};
use super::super::letters::WITH_UNIT;
use super::super::runs::Kind;
use super::things::{Laid, Scene};
use super::tile::{Port, Tile};
use super::ways::{self, Column, Row, Side, Way};

/// How wide the drawing is.
pub const WIDTH: f64 = 720.0;
/// The sides of the body.
pub const BODY: (f64, f64) = (24.0, WIDTH - 24.0);
const TILE_LEAST: f64 = 124.0;
const TILE_MOST: f64 = 196.0;
/// Free room beside a tile without runs on that side.
const MARGIN: f64 = 8.0;

/// A run's end at a thing.
#[derive(Debug, Clone)]
pub struct Stub {
    /// The thing.
    pub item: usize,
    /// The port of its tile.
    pub port: usize,
    /// Where its lane beside the tile lies.
    pub x: f64,
}

/// A run with its way.
#[derive(Debug)]
pub struct Routed {
    /// The way.
    pub way: Way,
    /// Its start.
    pub from: Stub,
    /// Its ends.
    pub to: Vec<Stub>,
    /// Where the lane of each leg lies.
    pub legs: Vec<f64>,
    /// Whether both ends lie at one gutter, so that it needs no other lane.
    pub direct: bool,
}

/// Where a thing lies.
#[derive(Debug, Clone, Copy, Default)]
pub struct Seat {
    /// The left side of its tile.
    pub left: f64,
    /// The width of its tile.
    pub width: f64,
    /// How far below the things' upper edge in its row it begins.
    pub below: f64,
    /// Its column among the things of its row, counted through both halves.
    pub stack: usize,
}

/// Everything across the vehicle.
#[derive(Debug)]
pub struct Frame {
    /// Where each column begins and how wide it is.
    pub columns: BTreeMap<Column, (f64, f64)>,
    /// Between the columns of the left and of the right side.
    pub inside: (f64, f64),
    /// The columns in the middle.
    pub middle: (f64, f64),
    /// Where things lie.
    pub seats: Vec<Seat>,
    /// The tiles with their ports.
    pub tiles: Vec<Tile>,
    /// The runs on their ways.
    pub runs: Vec<Routed>,
    /// How high the things of each row are together.
    pub heights: BTreeMap<Row, f64>,
    weights: Vec<f64>,
}

impl Frame {
    /// Lays things and runs out across the vehicle.
    pub fn of(scene: &Scene) -> Self {
        let ways: Vec<Way> = scene.runs.iter().map(|laid| way_of(scene, laid)).collect();
        let columns = columns(scene, &ways);
        let inside = (edge(&columns, Side::Left), edge(&columns, Side::Right));
        let middle = (
            edge_of(&columns, Column::Tunnel, |(left, _)| left),
            edge_of(&columns, Column::Roof, |(left, wide)| left + wide),
        );
        let mut frame = Self {
            columns,
            inside,
            middle,
            seats: vec![Seat::default(); scene.items.len()],
            tiles: scene.items.iter().map(|item| item.tile.clone()).collect(),
            runs: Vec::new(),
            heights: BTreeMap::new(),
            weights: scene.runs.iter().map(|laid| laid.run.weight()).collect(),
        };
        let halves = Self::halves(scene);
        frame.connect(scene, ways, &halves);
        frame.seat(scene, &halves);
        frame.lanes_of_columns();
        frame
    }

    /// How thick the line of a run is.
    pub fn weight(&self, run: usize) -> f64 {
        self.weights[run]
    }

    /// The column in which a lane lies.
    pub fn column_at(&self, x: f64) -> Option<Column> {
        let holds = |(_, (left, wide)): &(&Column, &(f64, f64))| *left <= x && x <= left + wide && *wide > 0.0;
        self.columns.iter().find(holds).map(|(column, _)| *column)
    }

    /// The half of the vehicle in which each thing is drawn; the middle stands for the whole width.
    fn halves(scene: &Scene) -> Vec<Side> {
        let mut count: BTreeMap<(Row, bool), usize> = BTreeMap::new();
        let mut halves = Vec::new();
        for item in &scene.items {
            let row = item.row();
            let fewer = |count: &BTreeMap<(Row, bool), usize>| {
                let of = |left| count.get(&(row, left)).copied().unwrap_or_default();
                if of(true) <= of(false) { Side::Left } else { Side::Right }
            };
            let half = if row.is_parted() { item.half().unwrap_or_else(|| fewer(&count)) } else { Side::Middle };
            *count.entry((row, half == Side::Left)).or_default() += 1;
            halves.push(half);
        }
        halves
    }

    /// Gives each end of a run a port at its thing, on the side from which it comes.
    fn connect(&mut self, scene: &Scene, ways: Vec<Way>, halves: &[Side]) {
        let power = power_side(scene, &ways);
        for (laid, way) in scene.runs.iter().zip(ways) {
            let side = |item: usize, leg: Option<Column>| match leg.map(Column::side) {
                Some(Side::Middle) if halves[item] == Side::Left => Side::Right,
                Some(Side::Middle) if halves[item] == Side::Right => Side::Left,
                Some(side) if side != Side::Middle => side,
                _ if laid.run.kind.is_power() => power,
                _ if power == Side::Left => Side::Right,
                _ => Side::Left,
            };
            let from_side = side(laid.from, way.legs.first().map(|leg| leg.column));
            let from = self.port(laid, (laid.from, 0), from_side, laid.near.clone());
            let last = way.legs.last().map(|leg| leg.column);
            let ends: Vec<(usize, Side)> = laid.to.iter().map(|item| (*item, side(*item, last))).collect();
            let mut marks = Some(laid.marks.clone());
            let to =
                ends.into_iter().map(|(item, side)| self.port(laid, (item, 1), side, marks.take().unwrap_or_default()));
            let to = to.collect();
            self.runs.push(Routed { way, from, to, legs: Vec::new(), direct: false });
        }
    }

    /// An end of a run, 0 for its start and 1 for its end, at a thing.
    fn port(
        &mut self,
        laid: &Laid,
        (item, end): (usize, usize),
        side: Side,
        marks: Vec<super::super::marks::Mark>,
    ) -> Stub {
        let ports = &mut self.tiles[item].ports;
        // The size stays with the last name where words go on in a further row.
        let together = |words: &str| words.replace(' ', &WITH_UNIT.to_string());
        let size = together(&laid.run.size.map(|size| format!(" · {size}")).unwrap_or_default());
        let fuse = Some(&laid.run.fuses[end]).filter(|fuse| !fuse.is_empty());
        let fuse = fuse.map(|fuse| format!(", {}", together(fuse))).unwrap_or_default();
        let words = format!("{}{size}{fuse}", laid.run.name);
        ports.push(Port { side, words, ink: laid.run.kind.ink(), marks });
        Stub { item, port: ports.len() - 1, x: 0.0 }
    }

    /// Puts the things of each row side by side or below each other, with room for lanes between them.
    fn seat(&mut self, scene: &Scene, halves: &[Side]) {
        for row in Row::ALL {
            let mut stacks = 0;
            for half in [Side::Left, Side::Middle, Side::Right] {
                let here = |at: &usize| scene.items[*at].row() == row && halves[*at] == half;
                let items: Vec<usize> = (0..scene.items.len()).filter(here).collect();
                if items.is_empty() {
                    continue;
                }
                let region = match half {
                    Side::Left => (self.inside.0, self.middle.0),
                    Side::Middle => self.inside,
                    Side::Right => (self.middle.1, self.inside.1),
                };
                let columns = self.stacked(&items, region);
                self.seat_stacks(row, &columns, region, stacks);
                stacks += columns.len();
            }
        }
    }

    /// As many stacks of things as fit beside each other.
    fn stacked(&self, items: &[usize], region: (f64, f64)) -> Vec<Vec<usize>> {
        for count in (1..=items.len().min(4)).rev() {
            let mut stacks: Vec<(f64, Vec<usize>)> = vec![(0.0, Vec::new()); count];
            for item in items {
                let lowest = (0..count).min_by(|one, other| stacks[*one].0.total_cmp(&stacks[*other].0));
                let stack = &mut stacks[lowest.unwrap_or_default()];
                stack.0 += self.tiles[*item].heights(TILE_LEAST).1;
                stack.1.push(*item);
            }
            let stacks: Vec<Vec<usize>> = stacks.into_iter().map(|(_, items)| items).collect();
            let gutters: f64 = stacks.iter().map(|stack| self.gutter(stack, true) + self.gutter(stack, false)).sum();
            if gutters + number(count) * TILE_LEAST <= region.1 - region.0 || count == 1 {
                return stacks;
            }
        }
        Vec::new()
    }

    /// How wide the lanes on one side of a stack are together.
    fn gutter(&self, stack: &[usize], left: bool) -> f64 {
        let weights = self.stubs_at(stack, left).into_iter().map(|(run, _)| self.weights[run]);
        lanes(weights).width.max(MARGIN)
    }

    /// The ends of runs on one side of a stack, the uppermost first: the run, and which end.
    fn stubs_at(&self, stack: &[usize], left: bool) -> Vec<(usize, usize)> {
        let mut found = Vec::new();
        for (level, item) in stack.iter().enumerate() {
            for (run, routed) in self.runs.iter().enumerate() {
                for (end, stub) in std::iter::once(&routed.from).chain(&routed.to).enumerate() {
                    let side = self.tiles[stub.item].ports[stub.port].side;
                    if stub.item == *item && (side == Side::Left) == left {
                        found.push(((level, stub.port), (run, end)));
                    }
                }
            }
        }
        found.sort_by_key(|(height, _)| *height);
        found.into_iter().map(|(_, stub)| stub).collect()
    }

    /// Gives each thing of a row its place, and each end of a run its lane.
    fn seat_stacks(&mut self, row: Row, stacks: &[Vec<usize>], region: (f64, f64), first: usize) {
        let gutters: Vec<(f64, f64)> =
            stacks.iter().map(|stack| (self.gutter(stack, true), self.gutter(stack, false))).collect();
        let lanes: f64 = gutters.iter().map(|(left, right)| left + right).sum();
        let room = region.1 - region.0;
        // With more runs than there is room for, lanes move together.
        let tight = ((room - TILE_LEAST) / lanes).min(1.0);
        let width = ((room - lanes * tight) / number(stacks.len())).min(TILE_MOST);
        let spare = (room - lanes * tight - width * number(stacks.len())) / number(stacks.len() + 1);
        let mut x = region.0;
        for (at, stack) in stacks.iter().enumerate() {
            x += spare;
            let left = x + gutters[at].0 * tight;
            self.lanes_beside(row, stack, x, true, tight);
            self.lanes_beside(row, stack, left + width, false, tight);
            let mut below = 0.0;
            for item in stack {
                self.seats[*item] = Seat { left, width, below, stack: first + at };
                below += self.tiles[*item].heights(width).1 + STACKED;
            }
            let highest = self.heights.entry(row).or_default();
            *highest = highest.max(below - STACKED);
            x = left + width + gutters[at].1 * tight;
        }
    }

    /// The lanes beside a stack: where runs come from above, the uppermost port has the nearest.
    fn lanes_beside(&mut self, row: Row, stack: &[usize], start: f64, left: bool, tight: f64) {
        let mut stubs = self.stubs_at(stack, left);
        // Lanes are laid from the left: to the left of the things the nearest comes last.
        if left != row.runs_behind() {
            stubs.reverse();
        }
        let found = lanes(stubs.iter().map(|(run, _)| self.weights[*run]));
        for ((run, end), offset) in stubs.into_iter().zip(found.offsets) {
            let routed = &mut self.runs[run];
            let stub = if end == 0 { &mut routed.from } else { &mut routed.to[end - 1] };
            stub.x = start + offset * tight;
        }
    }

    /// Puts the legs in each column side by side: those that end farther left lie farther left.
    fn lanes_of_columns(&mut self) {
        for run in &mut self.runs {
            run.legs = vec![0.0; run.way.legs.len()];
            let seat = |stub: &Stub| (self.seats[stub.item].stack, self.tiles[stub.item].ports[stub.port].side);
            run.direct = run.way.legs.is_empty()
                && run.to.len() == 1
                && seat(&run.from) == seat(&run.to[0])
                && run.from.item != run.to[0].item;
        }
        for (column, (left, _)) in &self.columns {
            let mut legs: Vec<(usize, usize)> = Vec::new();
            for (run, routed) in self.runs.iter().enumerate() {
                let here = routed.way.legs.iter().enumerate().filter(|(_, leg)| leg.column == *column);
                legs.extend(here.map(|(leg, _)| (run, leg)));
            }
            let end = |(run, _): &(usize, usize)| self.runs[*run].to.first().map_or(0.0, |stub| stub.x);
            legs.sort_by(|one, other| end(one).total_cmp(&end(other)));
            let found = lanes(legs.iter().map(|(run, _)| self.weights[*run]));
            for ((run, leg), offset) in legs.into_iter().zip(found.offsets) {
                self.runs[run].legs[leg] = left + offset;
            }
        }
    }
}

/// Free room between two things of a stack.
const STACKED: f64 = 10.0;

fn lanes(weights: impl Iterator<Item = f64>) -> Lanes {
    let stretches: Vec<Stretch> = weights.map(|weight| Stretch { from: 0.0, to: 1.0, weight }).collect();
    lay(&stretches)
}

fn way_of(scene: &Scene, laid: &Laid) -> Way {
    let row = |item: usize| scene.items[item].row();
    let end = laid.to.first().copied().unwrap_or(laid.from);
    ways::way(row(laid.from), &laid.run.path, row(end))
}

/// How wide a column is even if nothing runs in it: what every vehicle has is drawn.
const fn least(column: Column) -> f64 {
    match column {
        Column::LeftDoor | Column::RightDoor => 12.0,
        Column::LeftSill | Column::RightSill => 16.0,
        Column::Tunnel => 24.0,
        _ => 0.0,
    }
}

/// Columns of both sides from the outside in, those of the middle around the middle.
fn columns(scene: &Scene, ways: &[Way]) -> BTreeMap<Column, (f64, f64)> {
    let width = |column: Column| {
        let least = if scene.shell.has_cabin() { least(column) } else { 0.0 };
        let legs = scene
            .runs
            .iter()
            .zip(ways)
            .flat_map(|(laid, way)| way.legs.iter().filter(|leg| leg.column == column).map(|_| laid.run.weight()));
        let weights: Vec<f64> = legs.collect();
        if weights.is_empty() { least } else { lanes(weights.into_iter()).width.max(least) }
    };
    let of = |side: Side| Column::ALL.into_iter().filter(move |column| column.side() == side);
    let mut found = BTreeMap::new();
    let mut left = BODY.0 + 4.0;
    for column in of(Side::Left) {
        found.insert(column, (left, width(column)));
        left += width(column);
    }
    let mut right = BODY.1 - 4.0;
    for column in of(Side::Right).collect::<Vec<_>>().into_iter().rev() {
        right -= width(column);
        found.insert(column, (right, width(column)));
    }
    let middle: f64 = of(Side::Middle).map(width).sum();
    let mut x = f64::midpoint(left, right) - middle / 2.0;
    for column in of(Side::Middle) {
        found.insert(column, (x, width(column)));
        x += width(column);
    }
    found
}

fn edge_of(columns: &BTreeMap<Column, (f64, f64)>, column: Column, edge: impl Fn((f64, f64)) -> f64) -> f64 {
    columns.get(&column).copied().map_or(WIDTH / 2.0, edge)
}

fn edge(columns: &BTreeMap<Column, (f64, f64)>, side: Side) -> f64 {
    match side {
        Side::Left => edge_of(columns, Column::LeftSill, |(left, wide)| left + wide),
        _ => edge_of(columns, Column::RightSill, |(left, _)| left),
    }
}

/// The side of the vehicle on which most supply runs go.
fn power_side(scene: &Scene, ways: &[Way]) -> Side {
    let power = scene.runs.iter().zip(ways).filter(|(laid, _)| laid.run.kind == Kind::Feed);
    let sides = power.flat_map(|(_, way)| way.legs.iter().map(|leg| leg.column.side()));
    let (left, right) = sides.fold((0, 0), |(left, right), side| match side {
        Side::Left => (left + 1, right),
        Side::Right => (left, right + 1),
        Side::Middle => (left, right),
    });
    if right > left { Side::Right } else { Side::Left }
}
