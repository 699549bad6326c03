//! The circuit: from the battery on the left to amplifiers, loads and grounds on the right.

mod hop;
mod net;
mod node;
mod order;

use super::drawing::{Drawing, Ink, Point, Shape, Stroke, number};
use super::lanes::{Lanes, lay};
use super::runs::Kind;
use super::symbols::FUSE;
use super::{View, key, marks, symbols};
use net::{At, COLUMNS, Net, Segment};
use node::{Label, Look, Narrow, Node, Pin};

/// How wide the drawing is, if names ask for no more.
const WIDTH: f64 = 720.0;
const EDGE: f64 = 10.0;
const TOP: f64 = 14.0;
/// How wide the things of each column are at least, and at most while their words can go on in a further row.
const WIDTHS: [(f64, f64); COLUMNS] = [(76.0, 130.0), (76.0, 170.0), (92.0, 200.0), (80.0, 180.0)];
/// The same for labels.
const LABELS: (f64, f64) = (64.0, 180.0);
/// How near lanes move together before anything is cut.
const TIGHT: f64 = 1.0;
/// How far lanes move apart where there is room.
const LOOSE: f64 = 2.0;
/// Room at both sides of labels.
const ASIDE: f64 = 8.0;
/// Free room between two things of a column.
const BETWEEN: f64 = 18.0;
/// Room for a fuse beside a terminal.
const BESIDE: f64 = FUSE + 8.0;

/// The circuit; none where there is nothing to join.
pub fn circuit(view: &View<'_>) -> Option<Drawing> {
    let net = net::net(view);
    if net.nodes.is_empty() {
        return None;
    }
    let [_, idling, _] = view.job.plan.states();
    Some(Layout::of(net).draw(idling))
}

/// Where everything lies.
struct Layout {
    net: Net,
    /// The left edge of each column.
    columns: [f64; COLUMNS],
    /// Where the labels of each channel begin.
    labels: [f64; COLUMNS - 1],
    /// Where the lane of each segment lies in its channel.
    offsets: Vec<f64>,
    /// How wide the drawing is.
    width: f64,
}

impl Layout {
    fn of(mut net: Net) -> Self {
        let [natural, words, parts] = [Narrow::No, Narrow::Words, Narrow::Parts].map(|narrow| Widths::of(&net, narrow));
        // Lanes need heights, and heights depend on widths where words and marks break into rows: the third time is enough.
        let mut widths = natural;
        for _ in 0..2 {
            widths.set(&mut net);
            let channels = place(&mut net);
            let lanes: f64 = channels.iter().map(|channel| channel.lanes.width * TIGHT + channel.beside).sum();
            widths = natural.within(&[words, parts], WIDTH - 2.0 * EDGE - lanes);
        }
        widths.set(&mut net);
        order::pins(&mut net, |net| {
            place(net);
        });
        let channels = place(&mut net);
        let wide: f64 = channels.iter().map(|channel| channel.lanes.width).sum();
        let beside: f64 = channels.iter().map(|channel| channel.beside).sum();
        let taken = 2.0 * EDGE + widths.taken() + beside;
        let width = (taken + wide * TIGHT).max(WIDTH);
        let tight = ((width - taken) / wide.max(1.0)).clamp(TIGHT, LOOSE);
        // What is left over makes the lines longer.
        let spare = (width - taken - wide * tight).max(0.0)
            / number(widths.rooms.iter().filter(|room| **room > 0.0).count().max(1));
        let Widths { columns, rooms } = widths;
        let mut layout = Self {
            columns: [0.0; COLUMNS],
            labels: [0.0; COLUMNS - 1],
            offsets: vec![0.0; net.segments.len()],
            width,
            net,
        };
        let mut x = EDGE;
        for column in 0..COLUMNS {
            layout.columns[column] = x;
            x += columns[column];
            let Some(channel) = channels.get(column) else { continue };
            let wide = channel.lanes.width * tight;
            let label = if rooms[column] > 0.0 { rooms[column] + ASIDE + spare } else { 0.0 };
            let behind = column + 2 == COLUMNS;
            let start = if behind { x + label } else { x + channel.beside };
            layout.labels[column] = if behind { x + ASIDE - 2.0 } else { start + wide + 2.0 };
            for (segment, offset) in channel.segments.iter().zip(&channel.lanes.offsets) {
                layout.offsets[*segment] = start + offset * tight;
            }
            x += channel.beside + wide + label;
        }
        layout
    }

    fn point(&self, (node, left, pin): At) -> Point {
        let is = &self.net.nodes[node];
        let x = self.columns[is.column];
        (if left { x } else { x + is.width }, is.top + is.pins(left).0[pin])
    }

    /// Draws it; `idling` is what the vehicle does where the numbers beside conductors hold.
    fn draw(self, idling: &str) -> Drawing {
        let mut shapes = Vec::new();
        let mut order: Vec<usize> = (0..self.net.segments.len()).collect();
        order.sort_by(|one, other| self.net.segments[*other].weight.total_cmp(&self.net.segments[*one].weight));
        let ways: Vec<Vec<Vec<Point>>> = (0..self.net.segments.len()).map(|segment| self.ways(segment)).collect();
        let uprights = hop::uprights(self.net.segments.iter().map(|segment| segment.weight).zip(&ways));
        for segment in order {
            shapes.extend(self.line(segment, &ways[segment], &uprights));
        }
        shapes.extend(self.charge());
        for node in &self.net.nodes {
            shapes.extend(node.draw(self.columns[node.column]));
        }
        for segment in &self.net.segments {
            shapes.extend(self.beside(segment));
        }
        let bottom = self.net.nodes.iter().map(|node| node.top + node.height());
        let bottom = bottom.fold(TOP, f64::max);
        let kinds: Vec<Kind> =
            Kind::ALL.into_iter().filter(|kind| self.net.segments.iter().any(|one| one.kind == *kind)).collect();
        let pins = || self.net.nodes.iter().flat_map(|node| node.left.iter().chain(&node.right));
        let currents = pins().any(told_currents);
        let words = [
            format!("beside conductors: the current with programme, then at full output, the {idling}"),
            format!("at amplifiers: the volts that reach them at full output, the {idling}"),
        ];
        let lines = if currents { words.to_vec() } else { Vec::new() };
        let fuses = pins().any(is_fused);
        let notes = key::Notes { lines, marks: self.net.elsewhere.clone(), fuses, ..key::Notes::default() };
        let (more, height) = key::below(&notes, &kinds, &shapes, bottom + 8.0);
        shapes.extend(more);
        shapes.retain(key::says);
        Drawing {
            name: "circuit".into(),
            title: "The circuit".into(),
            description: description(&self.net),
            width: self.width,
            height,
            shapes,
        }
    }

    /// The ways of a segment's line: from its start to its first further end, then to each other from where it parts.
    fn ways(&self, at: usize) -> Vec<Vec<Point>> {
        let Segment { ends, .. } = &self.net.segments[at];
        let x = self.offsets[at];
        let Some((first, rest)) = ends.split_first() else { return Vec::new() };
        let start = self.point(*first);
        if rest.is_empty() {
            return vec![vec![start, (x, start.1)]];
        }
        let (mut low, mut high) = (start.1, start.1);
        let mut ways = Vec::new();
        for (number, end) in rest.iter().enumerate() {
            let end = self.point(*end);
            let mut points = if number == 0 { vec![start, (x, start.1)] } else { vec![(x, end.1.clamp(low, high))] };
            points.extend([(x, end.1), end]);
            ways.push(points);
            (low, high) = (low.min(end.1), high.max(end.1));
        }
        ways
    }

    /// The line of a segment, with a joint where it parts, and with a hop over each line of another.
    fn line(&self, at: usize, ways: &[Vec<Point>], uprights: &[hop::Upright]) -> Vec<Shape> {
        let Segment { kind, weight, ends } = &self.net.segments[at];
        let line = |points: Vec<Point>| Shape::Line { points, weight: *weight, ink: kind.ink(), stroke: kind.stroke() };
        let mut shapes = Vec::new();
        for (number, way) in ways.iter().enumerate() {
            if number > 0 {
                let radius = weight / 2.0 + 1.5;
                shapes.push(Shape::Ring { at: way[0], radius, filled: true, ink: kind.ink() });
            }
            shapes.push(line(hop::over(way, at, *weight, uprights)));
        }
        for (node, left, _) in ends {
            if self.net.nodes[*node].look == Look::Pass && *left {
                shapes.push(line(vec![self.point((*node, true, 0)), self.point((*node, false, 0))]));
            }
        }
        shapes
    }

    /// Fuses and labels of a segment.
    fn beside(&self, segment: &Segment) -> Vec<Shape> {
        let mut shapes = Vec::new();
        for at in &segment.ends {
            let (node, left, number) = *at;
            let is = &self.net.nodes[node];
            let pin = if left { &is.left[number] } else { &is.right[number] };
            let (x, y) = self.point(*at);
            if pin.fused {
                shapes.extend(symbols::fuse(if left { (x - FUSE - 4.0, y) } else { (x + 4.0, y) }));
            }
            if let Some(label) = &pin.label {
                let channel = if left { is.column - 1 } else { is.column };
                shapes.extend(label.draw((self.labels[channel], y), segment.weight, pin.ink));
            }
        }
        shapes
    }

    /// The factory's cable between alternator and battery.
    fn charge(&self) -> Option<Shape> {
        let of = |path: &str| self.net.nodes.iter().find(|node| node.path == path);
        let (battery, alternator) = (of("vehicle.battery")?, of("vehicle.alternator")?);
        let x = self.columns[0] + 16.0;
        let points = vec![(x, battery.top + 10.0), (x, alternator.top + 10.0)];
        Some(Shape::Line { points, weight: 1.6, ink: Ink::Faint, stroke: Stroke::Solid })
    }
}

/// The lanes of a channel.
struct Channel {
    segments: Vec<usize>,
    lanes: Lanes,
    /// Room for fuses beside the terminals on its left.
    beside: f64,
}

/// Puts the things of each column below each other, amplifiers first and the others beside what they are joined to, and
/// the lines between them into lanes.
fn place(net: &mut Net) -> Vec<Channel> {
    for column in [2, 1, 0, 3] {
        let here: Vec<usize> = (0..net.nodes.len()).filter(|at| net.nodes[*at].column == column).collect();
        let wants = wants(net, &here);
        let mut order: Vec<(u8, f64, usize)> = Vec::new();
        for (at, want) in here.into_iter().zip(wants) {
            // Amplifiers stand in the order of the plan; what is joined to nothing stands last.
            let want = if column == 2 { Some(TOP) } else { want };
            order.push((group(&net.nodes[at]), want.unwrap_or(f64::MAX), at));
        }
        order.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
        let mut taken: Vec<(f64, f64)> = Vec::new();
        for (_, want, at) in order {
            let node = &net.nodes[at];
            let high = node.height() + apart(node.look);
            let floating = column == 3 && node.look == Look::Ground;
            let after = taken.last().map_or(TOP, |last| last.1);
            let want = if want == f64::MAX { after } else { want.max(TOP) };
            let top = if floating { gap(&taken, want, high) } else { want.max(after) };
            taken.push((top, top + high));
            taken.sort_by(|one, other| one.0.total_cmp(&other.0));
            net.nodes[at].top = top;
        }
    }
    order::part(net);
    (0..COLUMNS - 1).map(|channel| lanes(net, channel)).collect()
}

/// How wide columns and the labels between them are.
#[derive(Debug, Clone, Copy)]
struct Widths {
    columns: [f64; COLUMNS],
    rooms: [f64; COLUMNS - 1],
}

impl Widths {
    /// What words take, within what is allowed.
    fn of(net: &Net, narrow: Narrow) -> Self {
        let within = |(least, most): (f64, f64), widths: Vec<f64>| {
            let most = if narrow == Narrow::Parts { f64::MAX } else { most };
            if widths.is_empty() { 0.0 } else { widths.into_iter().fold(0.0, f64::max).clamp(least, most) }
        };
        let column = |column: usize| {
            let here = net.nodes.iter().filter(|node| node.column == column && node.look != Look::Pass);
            within(WIDTHS[column], here.map(|node| node.wide(narrow)).collect())
        };
        let room = |channel: usize| within(LABELS, labels(net, channel).map(|label| label.wide(narrow)).collect());
        Self { columns: std::array::from_fn(column), rooms: std::array::from_fn(room) }
    }

    /// How much of the drawing they take.
    fn taken(&self) -> f64 {
        let rooms = self.rooms.iter().filter(|room| **room > 0.0).map(|room| room + ASIDE);
        self.columns.iter().sum::<f64>() + rooms.sum::<f64>()
    }

    /// As narrow as it takes to fit, first down to one narrower choice, then to the next, and no narrower than the last.
    fn within(mut self, narrower: &[Self], free: f64) -> Self {
        for least in narrower {
            let over = self.taken() - free;
            let slack = self.all().zip(least.all()).map(|(wide, least)| (wide - least).max(0.0)).sum::<f64>();
            let share = (over / slack.max(1.0)).clamp(0.0, 1.0);
            let columns = self.columns.iter_mut().zip(&least.columns);
            let rooms = self.rooms.iter_mut().zip(&least.rooms);
            for (wide, least) in columns.chain(rooms) {
                // A part of a word that is wider than what is allowed has its room all the same.
                *wide = if least > wide { *least } else { *wide - (*wide - least) * share };
            }
        }
        self
    }

    fn all(&self) -> impl Iterator<Item = f64> {
        self.columns.into_iter().chain(self.rooms)
    }

    fn set(&self, net: &mut Net) {
        for node in &mut net.nodes {
            node.width = self.columns[node.column];
            let (before, behind) = (node.column.checked_sub(1), node.column);
            for (pins, channel) in [(&mut node.left, before), (&mut node.right, Some(behind))] {
                let room = channel.and_then(|channel| self.rooms.get(channel)).copied().unwrap_or_default();
                for label in pins.iter_mut().filter_map(|pin| pin.label.as_mut()) {
                    label.room = room;
                }
            }
        }
    }
}

/// The labels of a channel.
fn labels(net: &Net, channel: usize) -> impl Iterator<Item = &Label> {
    let pins = net.nodes.iter().flat_map(move |node| {
        let left = if node.column == channel + 1 { &node.left[..] } else { &[] };
        let right = if node.column == channel { &node.right[..] } else { &[] };
        left.iter().chain(right)
    });
    pins.filter_map(|pin| pin.label.as_ref())
}

/// Free room below a thing.
const fn apart(look: Look) -> f64 {
    match look {
        Look::Box => BETWEEN,
        _ => 2.0,
    }
}

/// The first place from a height on that nothing has taken.
fn gap(taken: &[(f64, f64)], from: f64, high: f64) -> f64 {
    let mut top = from;
    for (start, end) in taken {
        if top < *end && *start < top + high {
            top = *end;
        }
    }
    top
}

/// In a column supply stands above what carries signals, and loads beside their outputs before grounds find a place.
fn group(node: &Node) -> u8 {
    match (node.look, node.path.split('.').next()) {
        (Look::Box, Some("sources" | "converters" | "turn_on")) => 1,
        (Look::Ground, _) if node.column == 3 => 2,
        _ => 0,
    }
}

/// Where things of a column would lie so that lines are straight: what is joined to nothing that has its place already
/// lies above what it leads to, a ground below.
fn wants(net: &Net, here: &[usize]) -> Vec<Option<f64>> {
    let mut wants: Vec<Option<f64>> = here.iter().map(|at| wanted(net, *at)).collect();
    for _ in 0..3 {
        let known = wants.clone();
        for (own, at) in here.iter().enumerate().filter(|(own, _)| known[*own].is_none()) {
            let beside = net.segments.iter().filter(|segment| segment.ends.iter().any(|end| end.0 == *at));
            let others = beside.flat_map(|segment| &segment.ends).filter_map(|end| {
                let other = here.iter().position(|other| *other == end.0)?;
                Some((known[other]?, end.0))
            });
            let node = &net.nodes[*at];
            wants[own] = others
                .map(|(want, other)| match node.look {
                    Look::Ground => want + net.nodes[other].height() + 1.0,
                    _ => want - node.height() - BETWEEN,
                })
                .reduce(f64::min);
        }
    }
    wants
}

/// Where a thing would lie so that the lines to things that have their place already are straight.
fn wanted(net: &Net, at: usize) -> Option<f64> {
    let placed = |column: usize| match net.nodes[at].column {
        0 => column == 1 || column == 2,
        _ => column == 2,
    };
    let height = |(node, left, pin): At| net.nodes[node].pins(left).0[pin];
    let mut tops = Vec::new();
    for segment in &net.segments {
        for own in segment.ends.iter().filter(|end| end.0 == at) {
            let others = segment.ends.iter().filter(|end| end.0 != at && placed(net.nodes[end.0].column));
            tops.extend(others.map(|other| net.nodes[other.0].top + height(*other) - height(*own)));
        }
    }
    let count = number(tops.len());
    (!tops.is_empty()).then(|| tops.iter().sum::<f64>() / count)
}

fn lanes(net: &Net, channel: usize) -> Channel {
    let all = order::lanes(net, channel);
    let fused = |end: &At| !end.1 && net.nodes[end.0].right[end.2].fused;
    let beside = all.iter().any(|line| net.segments[line.segment].ends.iter().any(fused));
    Channel {
        lanes: lay(&all.iter().map(order::Line::stretch).collect::<Vec<_>>()),
        segments: all.into_iter().map(|line| line.segment).collect(),
        beside: if beside { BESIDE } else { 0.0 },
    }
}

fn is_fused(pin: &Pin) -> bool {
    pin.fused || pin.fused_inside
}

fn told_currents(pin: &Pin) -> bool {
    pin.label.as_ref().is_some_and(|label| !label.below.is_empty())
}

fn description(net: &Net) -> String {
    let mut parts = vec!["The circuit, from the battery on the left.".to_owned()];
    parts.extend(net.sentences.iter().cloned());
    let found = net.found.iter().map(|(place, mark)| (place.as_str(), mark));
    let rest = net.elsewhere.iter().flat_map(|(place, marks)| marks.iter().map(|mark| (place.as_str(), mark)));
    parts.extend(marks::sentence(found.chain(rest)));
    crate::words::excerpt(&parts.join(" "), usize::MAX)
}
