//! What sits where in the vehicle, and which run ends at what.

use std::collections::BTreeSet;

use super::super::View;
use super::super::drawing::Ink;
use super::super::marks::{Mark, Marks};
use super::super::runs::{self, End, Kind, Run};
use super::super::symbols::Symbol;
use super::shell::Shell;
use super::tile::Tile;
use super::ways::{self, Row, Side, Spot};
use crate::plan::{Plan, Zone};

/// Something that sits in the vehicle.
#[derive(Debug)]
pub struct Item {
    /// Its path in the plan.
    pub path: String,
    /// Where it sits; nowhere where neither it nor a run that ends there says so.
    pub zone: Option<Zone>,
    /// How it is drawn; its ports are added when the ways are known.
    pub tile: Tile,
}

/// A run with the things at its ends.
#[derive(Debug)]
pub struct Laid {
    /// The run.
    pub run: Run,
    /// The thing at its start.
    pub from: usize,
    /// The things at its end.
    pub to: Vec<usize>,
    /// What was found at its start.
    pub near: Vec<Mark>,
    /// What was found elsewhere along it.
    pub marks: Vec<Mark>,
}

/// What is drawn of a plan.
#[derive(Debug, Default)]
pub struct Scene {
    /// What the vehicle is drawn as.
    pub shell: Shell,
    /// Things.
    pub items: Vec<Item>,
    /// Runs.
    pub runs: Vec<Laid>,
    /// Runs of which no way can be drawn.
    pub without_way: Vec<Run>,
    /// Loads whose leads are not drawn.
    pub undrawn: Vec<String>,
    /// Findings at nothing that is drawn.
    pub elsewhere: Vec<(String, Vec<Mark>)>,
}

impl Item {
    /// The row it is drawn in.
    pub fn row(&self) -> Row {
        match self.zone.and_then(ways::spot) {
            Some(Spot::Row(row)) => row,
            Some(Spot::Column(_)) => Row::Beside,
            None => Row::Outside,
        }
    }

    /// The half of the vehicle it has to sit in, where its zone says one.
    pub fn half(&self) -> Option<Side> {
        match self.zone? {
            Zone::LeftFootwell => Some(Side::Left),
            Zone::RightFootwell => Some(Side::Right),
            zone => match ways::spot(zone)? {
                Spot::Column(column) if column.side() != Side::Middle => Some(column.side()),
                _ => None,
            },
        }
    }
}

/// What is drawn of a plan.
pub fn scene(view: &View<'_>) -> Scene {
    let mut marks = Marks::of(view);
    let mut scene =
        Scene { shell: Shell::of(&view.reading.plan), items: stated(&view.reading.plan), ..Scene::default() };
    for run in runs::of(view) {
        place(view, &mut scene, run, &mut marks);
    }
    for item in &mut scene.items {
        item.tile.marks.extend(marks.take(&item.path));
        if item.zone.is_some_and(|zone| !matches!(ways::spot(zone), Some(Spot::Row(_)))) {
            let zone = item.zone.map(|zone| zone.word().replace('-', " ")).unwrap_or_default();
            item.tile.notes.push(format!("in: {zone}"));
        } else if item.zone.is_none() {
            item.tile.notes.push("place not stated".into());
        }
    }
    for (name, load) in &view.reading.plan.loads {
        let amplifier = format!("amplifiers.{}", load.amplifier.as_deref().unwrap_or_default());
        if let Some(item) = scene.items.iter_mut().find(|item| item.path == amplifier) {
            item.tile.marks.extend(marks.take(&format!("loads.{name}")));
        }
    }
    for (name, driver) in &view.reading.plan.drivers {
        let enclosure = format!("enclosures.{}", driver.enclosure.as_deref().unwrap_or_default());
        if let Some(item) = scene.items.iter_mut().find(|item| item.path == enclosure) {
            item.tile.marks.extend(marks.take(&format!("drivers.{name}")));
        }
    }
    scene.elsewhere = marks.rest();
    scene
}

/// Things that a plan gives a place, or that have one in every vehicle.
fn stated(plan: &Plan) -> Vec<Item> {
    let mut items = Vec::new();
    let mut add = |path: String, zone: Option<Zone>, tile: Tile| items.push(Item { path, zone, tile });
    let vehicle = plan.vehicle.as_ref();
    if let Some(battery) = vehicle.and_then(|vehicle| vehicle.battery.as_ref()) {
        add("vehicle.battery".into(), battery.location, battery_tile("battery", battery));
    }
    if let Some(alternator) = vehicle.and_then(|vehicle| vehicle.alternator.as_ref()) {
        // An alternator, and the converter in its place, sits under the bonnet (common practice, no published source).
        let mut tile = Tile::new(plan.charger());
        tile.notes.extend(alternator.rated.map(|rated| rated.to_string()));
        add("vehicle.alternator".into(), Some(Zone::EngineBay), tile);
    }
    for (name, battery) in &plan.batteries {
        add(format!("batteries.{name}"), battery.location, battery_tile(name, battery));
    }
    for (name, isolator) in &plan.isolators {
        let mut tile = Tile::new(name);
        tile.notes.extend(isolator.told());
        add(format!("isolators.{name}"), isolator.location, tile);
    }
    for (name, block) in &plan.blocks {
        let mut tile = Tile::new(name);
        tile.notes.push("block".into());
        add(format!("blocks.{name}"), block.location, tile);
    }
    for (name, capacitor) in &plan.capacitors {
        let mut tile = Tile::new(name);
        tile.notes.push("capacitor".into());
        tile.notes.extend(capacitor.capacitance.map(|holds| holds.to_string()));
        add(format!("capacitors.{name}"), capacitor.location, tile);
    }
    for (name, amplifier) in &plan.amplifiers {
        let mut tile = Tile::new(name);
        tile.notes.push(amplifier_words(amplifier));
        add(format!("amplifiers.{name}"), amplifier.location, tile);
    }
    for (name, enclosure) in &plan.enclosures {
        let inside = plan.drivers.iter().filter(|(_, driver)| driver.enclosure.as_ref() == Some(name));
        let inside: Vec<&str> = inside.map(|(name, _)| name.as_str()).collect();
        let mut tile = Tile::new(name);
        tile.notes.push(if inside.is_empty() { "enclosure".into() } else { format!("with {}", inside.join(", ")) });
        add(format!("enclosures.{name}"), enclosure.location, tile);
    }
    for (name, ground) in &plan.grounds {
        let mut tile = Tile { symbol: Symbol::Ground, ..Tile::new(name) };
        tile.notes.extend(ground.on.as_ref().map(|on| crate::plan::word(on).replace('-', " ")));
        add(format!("grounds.{name}"), ground.location, tile);
    }
    items
}

fn battery_tile(name: &str, battery: &crate::plan::Battery) -> Tile {
    let mut tile = Tile { symbol: Symbol::Battery, ..Tile::new(name) };
    let kind = battery.kind.as_ref().map(|kind| crate::plan::word(kind).replace('-', " "));
    let words: Vec<String> = battery.capacity.map(|capacity| capacity.to_string()).into_iter().chain(kind).collect();
    if !words.is_empty() {
        tile.notes.push(words.join(" "));
    }
    tile
}

fn amplifier_words(amplifier: &crate::plan::Amplifier) -> String {
    let channels = amplifier.channels.map(|count| crate::words::count(usize::from(count), "channel"));
    let words: Vec<String> = amplifier.classes().into_iter().chain(channels).collect();
    if words.is_empty() { "amplifier".into() } else { words.join(", ") }
}

/// Puts a run between the things at its ends, and those where its path ends, if they say nothing else.
fn place(view: &View<'_>, scene: &mut Scene, run: Run, marks: &mut Marks) {
    let run = if run.kind == Kind::Speaker && run.path.is_empty() { to_enclosures(view, run) } else { run };
    let spaces = || run.path.iter().copied().filter(|zone| ways::spot(*zone).is_some());
    let (first, last) = (spaces().next(), spaces().next_back());
    let known = |end: &End| scene.items.iter().any(|item| item.path == end.thing);
    let is_placed = !run.path.is_empty() || known(&run.from) && run.to.iter().any(&known);
    if run.kind == Kind::Speaker && !is_placed {
        // Most speaker leads run in factory harness or doors, and a plan does not say where.
        scene.undrawn.push(run.name);
        return;
    }
    let from = item_of(view, scene, &run, &run.from, first);
    let to: Vec<usize> = run.to.iter().map(|end| item_of(view, scene, &run, end, last)).collect();
    let rows: BTreeSet<Row> = to.iter().chain([&from]).map(|item| scene.items[*item].row()).collect();
    if run.path.is_empty() && (rows.len() > 1 || rows.contains(&Row::Outside)) || to.is_empty() {
        if run.kind == Kind::Speaker {
            scene.undrawn.push(run.name);
        } else {
            scene.without_way.push(run);
        }
        return;
    }
    let mut near = Vec::new();
    let mut along = Vec::new();
    for element in &run.elements {
        near.extend(marks.take(&format!("{element}.fuse")));
        near.extend(marks.take(&format!("{element}.ends.from")));
        along.extend(marks.take(element));
    }
    // What is open is counted at things only: beside every run it would hide what was found.
    near.retain(|mark| mark.ink != Ink::Open);
    along.retain(|mark| mark.ink != Ink::Open);
    for group in by_row(scene, &to) {
        let (near, along) = (std::mem::take(&mut near), std::mem::take(&mut along));
        scene.runs.push(Laid { run: run.clone(), from, to: group, near, marks: along });
    }
}

/// A lead that ends in several places of the vehicle is drawn to each.
fn by_row(scene: &Scene, to: &[usize]) -> Vec<Vec<usize>> {
    let rows: BTreeSet<Row> = to.iter().map(|item| scene.items[*item].row()).collect();
    let in_row = |row: Row| to.iter().copied().filter(|item| scene.items[*item].row() == row).collect();
    rows.into_iter().map(in_row).collect()
}

/// A speaker lead ends at the enclosures of the drivers on it.
fn to_enclosures(view: &View<'_>, mut run: Run) -> Run {
    let plan = &view.reading.plan;
    let load = plan.loads.get(&run.name).and_then(|load| load.coils.as_ref());
    let coils = load.map(crate::plan::Coils::each).unwrap_or_default();
    let enclosures = coils.iter().filter_map(|(_, coil)| plan.drivers.get(&coil.driver)?.enclosure.as_ref());
    let names: BTreeSet<&String> = enclosures.collect();
    run.to =
        names.into_iter().map(|name| End { thing: format!("enclosures.{name}"), terminal: String::new() }).collect();
    run
}

/// The thing at an end of a run. What has no place of its own sits where the run ends.
fn item_of(view: &View<'_>, scene: &mut Scene, run: &Run, end: &End, zone: Option<Zone>) -> usize {
    let moves = end.thing.starts_with("sources.") || end.thing.starts_with("converters.");
    let same = |item: &Item| item.path == end.thing && (!moves || item.zone == zone);
    if let Some(at) = scene.items.iter().position(same).filter(|_| !end.thing.is_empty()) {
        let item = &mut scene.items[at];
        if item.zone.is_none() && zone.is_some() {
            item.zone = zone;
            item.tile.notes.push("place not stated".into());
        }
        return at;
    }
    let tile = match end.thing.split_once('.') {
        Some(("turn_on", name)) => {
            let feed = view.reading.plan.turn_on.get(name).and_then(|lead| lead.from.as_ref());
            Tile::new(runs::feed_words(feed))
        }
        Some(("converters", name)) => {
            let mut tile = Tile::new(name);
            tile.notes.push("converter".into());
            tile
        }
        Some(("unknown", name)) => {
            let mut tile = Tile::new(name);
            tile.notes.push("unknown to the plan".into());
            tile
        }
        Some((_, name)) => Tile::new(name),
        None => Tile::new(format!("{}: end not stated", run.name)),
    };
    scene.items.push(Item { path: end.thing.clone(), zone, tile });
    scene.items.len() - 1
}
