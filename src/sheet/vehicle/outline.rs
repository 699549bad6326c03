//! The drawing as a whole: fields, runs, things and what is told beside them, in the outline of the vehicle.

use super::super::drawing::{Anchor, Area, Drawing, Ink, Shape, Stroke};
use super::super::letters::fitted;
use super::super::runs::Kind;
use super::super::{key, marks};
use super::body;
use super::frame::{Frame, WIDTH};
use super::route::{Callout, Levels, NAME};
use super::things::Scene;
use super::tile::{SIZE, words};
use super::ways::{Column, Row, Side};
use crate::plan::{Zone, ZoneKind};

impl Frame {
    /// The drawing.
    pub fn draw(&self, scene: &Scene) -> Drawing {
        let levels = Levels::of(self, scene);
        let mut shapes = body::draw(scene.shell, &levels);
        shapes.extend(self.zones(scene, &levels));
        shapes.extend(self.runs(scene, &levels));
        for (at, tile) in self.tiles.iter().enumerate() {
            let seat = self.seats[at];
            let top = levels.rows.get(&scene.items[at].row()).map_or(0.0, |level| level.things) + seat.below;
            let (_, height) = tile.heights(seat.width);
            shapes.extend(tile.draw(Area { left: seat.left, top, width: seat.width, height }));
        }
        shapes.extend(self.callouts(scene, &levels));
        let below = levels.tail().max(levels.rows.get(&Row::Outside).map_or(0.0, |level| level.bottom));
        let (more, height) = key::below(&notes(scene, &levels), &kinds(scene), &shapes, below + 8.0);
        shapes.extend(more);
        shapes.retain(key::says);
        Drawing {
            name: "vehicle".into(),
            title: "The vehicle from above".into(),
            description: description(scene, &levels),
            width: WIDTH,
            height,
            shapes,
        }
    }

    /// Rows and columns as fields, with the names of those that hold something.
    fn zones(&self, scene: &Scene, levels: &Levels) -> Vec<Shape> {
        let mut shapes = Vec::new();
        let cabin = (
            levels.rows.get(&Row::Dash).map_or(0.0, |level| level.top),
            levels.rows.get(&Row::RearSeat).map_or(0.0, |level| level.bottom),
        );
        for (column, (left, width)) in &self.columns {
            if *width > 0.0 && *column != Column::Between {
                let at = Area { left: *left, top: cabin.0 + 3.0, width: *width, height: cabin.1 - cabin.0 - 6.0 };
                shapes.push(Shape::Block { at, round: 5.0, ink: Ink::Faint });
            }
        }
        for (row, level) in &levels.rows {
            let at = Area {
                left: self.inside.0 + 2.0,
                top: level.top + 1.0,
                width: self.inside.1 - self.inside.0 - 4.0,
                height: level.bottom - level.top - 2.0,
            };
            if level.used && *row != Row::Outside {
                shapes.extend(self.fields(*row, at));
            } else if scene.shell.has_cabin() && matches!(row, Row::UnderSeat | Row::RearSeat) {
                shapes.extend(self.seat_shapes(*row, at));
            }
            if level.used {
                let place = (at.left + 8.0, level.top + NAME - 5.0);
                shapes.extend(names(*row).map(|name| words(name, place, SIZE, Anchor::Start, Ink::Faint)));
            }
        }
        shapes
    }

    fn fields(&self, row: Row, at: Area) -> Vec<Shape> {
        let field = |left: f64, right: f64| Shape::Block {
            at: Area { left, width: right - left, ..at },
            round: 7.0,
            ink: Ink::Faint,
        };
        if row.is_parted() {
            vec![field(at.left, self.middle.0 - 2.0), field(self.middle.1 + 2.0, at.right())]
        } else {
            vec![field(at.left, at.right())]
        }
    }

    /// Seats, where nothing else is.
    fn seat_shapes(&self, row: Row, at: Area) -> Vec<Shape> {
        let (top, height) = (at.top + 4.0, at.height - 8.0);
        let wide = if row == Row::RearSeat { 0.0 } else { 46.0 };
        let seat = |left: f64, right: f64| {
            let cushion = Area { left: left + wide, top, width: right - left - 2.0 * wide, height };
            let back = Area { top: top + height - 14.0, height: 14.0, ..cushion };
            [cushion, back].map(|at| Shape::Block { at, round: 9.0, ink: Ink::Faint })
        };
        let left = seat(at.left + 16.0, self.middle.0 - 10.0);
        let right = seat(self.middle.1 + 10.0, at.right() - 16.0);
        left.into_iter().chain(right).collect()
    }

    fn runs(&self, scene: &Scene, levels: &Levels) -> Vec<Shape> {
        let mut shapes = Vec::new();
        // What is thin lies on top.
        let mut order: Vec<usize> = (0..self.runs.len()).collect();
        order.sort_by(|one, other| self.weight(*other).total_cmp(&self.weight(*one)));
        for run in order {
            let kind = scene.runs[run].run.kind;
            let weight = self.weight(run);
            for (at, line) in levels.lines(self, run).into_iter().enumerate() {
                if let Some(joint) = line.first().filter(|_| at > 0) {
                    shapes.push(Shape::Ring { at: *joint, radius: weight / 2.0 + 1.5, filled: true, ink: kind.ink() });
                }
                let points = key::chamfered(&line);
                shapes.push(Shape::Line { points, weight, ink: kind.ink(), stroke: kind.stroke() });
            }
        }
        shapes
    }

    fn callouts(&self, scene: &Scene, levels: &Levels) -> Vec<Shape> {
        let mut shapes = Vec::new();
        for (column, (_, y)) in &levels.heads {
            let (x, anchor, _) = self.words_at(column.side());
            shapes.push(words(column.words(), (x, *y), SIZE, anchor, Ink::Faint));
        }
        for callout in &levels.callouts {
            let (x, anchor, room) = self.words_at(callout.side);
            let ink = scene.runs[callout.run].run.kind.ink();
            let told = fitted(&callout.words, SIZE, room);
            let y = callout.y - 3.5;
            let end = if anchor == Anchor::Start { x - 3.0 } else { x + 3.0 };
            let points = vec![(callout.x, y), (end, y)];
            shapes.push(Shape::Line { points, weight: 0.7, ink: Ink::Faint, stroke: Stroke::Solid });
            shapes.extend(self.sign(callout, scene, y));
            shapes.push(words(told, (x, callout.y), SIZE, anchor, ink));
        }
        shapes
    }

    fn sign(&self, callout: &Callout, scene: &Scene, y: f64) -> Vec<Shape> {
        let run = &scene.runs[callout.run].run;
        let radius = self.weight(callout.run) / 2.0 + 2.5;
        let at = (callout.x, y);
        match callout.zone {
            None => vec![Shape::Ring { at, radius: radius - 1.0, filled: true, ink: run.kind.ink() }],
            Some(zone) if zone.kind() == ZoneKind::Crossing => {
                key::crossing(at, radius, run.crossings.get(&zone).copied().flatten())
            }
            Some(_) => key::avoid(at),
        }
    }

    /// Where words of a side begin or end, and the room they have.
    fn words_at(&self, side: Side) -> (f64, Anchor, f64) {
        match side {
            Side::Left => (self.inside.0 + 14.0, Anchor::Start, self.middle.0 - self.inside.0 - 28.0),
            Side::Middle => (self.middle.1 + 14.0, Anchor::Start, self.inside.1 - self.middle.1 - 28.0),
            Side::Right => (self.inside.1 - 14.0, Anchor::End, self.inside.1 - self.middle.1 - 28.0),
        }
    }
}

const fn names(row: Row) -> Option<&'static str> {
    Some(match row {
        Row::EngineBay => "engine bay",
        Row::Dash => "dash",
        Row::Footwells => "footwells",
        Row::UnderSeat => "under the seats",
        Row::Beside => return None,
        Row::CabinFloor => "cabin floor",
        Row::RearSeat => "rear seat",
        Row::Cargo => "cargo",
        Row::SpareWell => "spare well",
        Row::Outside => "place not stated",
    })
}

fn kinds(scene: &Scene) -> Vec<Kind> {
    Kind::ALL.into_iter().filter(|kind| scene.runs.iter().any(|laid| laid.run.kind == *kind)).collect()
}

/// What has no place in the vehicle.
fn notes(scene: &Scene, levels: &Levels) -> key::Notes {
    let mut lines: Vec<String> = scene
        .without_way
        .iter()
        .map(|run| format!("{} {}: its way is not stated", run.kind.word(), run.label()))
        .collect();
    lines.extend(levels.loose.iter().map(|(run, zone)| {
        let run = &scene.runs[*run].run;
        format!("{} also passes: {}", run.name, run.zone_words(*zone))
    }));
    if !scene.undrawn.is_empty() {
        lines.push(format!("speaker leads that are only in the circuit: {}", scene.undrawn.join(", ")));
    }
    let passed = scene.runs.iter().flat_map(|laid| laid.run.path.iter().map(|zone| (&laid.run, *zone)));
    let crossings = passed.filter(|(_, zone): &(_, Zone)| zone.kind() == ZoneKind::Crossing);
    let seals = crossings.map(|(run, zone)| run.crossings.get(&zone).copied().flatten()).collect();
    key::Notes { lines, marks: scene.elsewhere.clone(), seals, fuses: false }
}

/// What the drawing says, in sentences.
fn description(scene: &Scene, levels: &Levels) -> String {
    let mut parts = vec!["The vehicle from above, the nose up.".to_owned()];
    for row in levels.rows.keys() {
        let here: Vec<&str> =
            scene.items.iter().filter(|item| item.row() == *row).map(|item| item.tile.title.as_str()).collect();
        if let (Some(name), false) = (names(*row).or(Some("in doors, sills, pillars or tunnel")), here.is_empty()) {
            parts.push(format!("{name}: {}.", here.join(", ")));
        }
    }
    for laid in &scene.runs {
        let fuses = laid.run.fuses.iter().filter(|fuse| !fuse.is_empty()).cloned();
        let what = std::iter::once(laid.run.label()).chain(fuses).collect::<Vec<_>>().join(", ");
        parts.push(format!("{} {what}: {}.", laid.run.kind.word(), laid.run.way_words()));
    }
    for run in &scene.without_way {
        parts.push(format!("{} {}: {}.", run.kind.word(), run.label(), run.way_words()));
    }
    let found = scene.items.iter().flat_map(|item| item.tile.marks.iter().map(|mark| (item.tile.title.as_str(), mark)));
    let along = scene
        .runs
        .iter()
        .flat_map(|laid| laid.near.iter().chain(&laid.marks).map(|mark| (laid.run.name.as_str(), mark)));
    let rest = scene.elsewhere.iter().flat_map(|(place, marks)| marks.iter().map(|mark| (place.as_str(), mark)));
    parts.extend(marks::sentence(found.chain(along).chain(rest)));
    crate::words::excerpt(&parts.join(" "), usize::MAX)
}
