//! The circuit: from the battery on the left to amplifiers, loads and grounds on the right.

mod net;
mod node;

use super::drawing::{Drawing, Ink, Point, Shape, Stroke};
use super::lanes::{Lanes, Stretch, lay};
use super::runs::Kind;
use super::symbols::FUSE;
use super::{View, key, marks, symbols};
use net::{At, COLUMNS, Net, Segment};
use node::{Look, Node};

const WIDTH: f64 = 720.0;
const EDGE: f64 = 10.0;
const TOP: f64 = 14.0;
/// How wide the things of each column are.
const WIDTHS: [f64; COLUMNS] = [100.0, 104.0, 124.0, 100.0];
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
    Some(Layout::of(net).draw())
}

/// Where everything lies.
struct Layout {
    net: Net,
    /// The left edge of each column, and its width.
    columns: [(f64, f64); COLUMNS],
    /// The left edge of each channel's lanes.
    lanes: [f64; COLUMNS - 1],
    /// Where the labels of each channel begin.
    labels: [f64; COLUMNS - 1],
    /// How wide labels are.
    room: f64,
    /// Where the lane of each segment lies in its channel.
    offsets: Vec<f64>,
}

impl Layout {
    fn of(mut net: Net) -> Self {
        let used = |column: usize| net.nodes.iter().any(|node| node.column == column);
        let widths: [f64; COLUMNS] = std::array::from_fn(|column| if used(column) { WIDTHS[column] } else { 0.0 });
        // Lanes need heights, heights need the room of labels, and that the width of lanes: narrower labels first.
        let mut room = 104.0;
        let mut channels = place(&mut net, &widths, room);
        let spare = |channels: &[Channel]| {
            let lanes: f64 = channels.iter().map(|channel| channel.lanes.width + channel.beside).sum();
            WIDTH - 2.0 * EDGE - widths.iter().sum::<f64>() - lanes
        };
        let count =
            super::drawing::number(channels.iter().filter(|channel| !channel.segments.is_empty()).count().max(1));
        room = (spare(&channels) / count - 8.0).clamp(62.0, 190.0);
        channels = place(&mut net, &widths, room);
        // With more lanes than there is room for they move together.
        let wanted: f64 = channels.iter().map(|channel| channel.lanes.width).sum();
        let tight = ((wanted + spare(&channels) - count * (room + 8.0)) / wanted.max(1.0)).clamp(0.2, 1.0);
        let mut layout = Self {
            columns: [(0.0, 0.0); COLUMNS],
            lanes: [0.0; COLUMNS - 1],
            labels: [0.0; COLUMNS - 1],
            room,
            offsets: vec![0.0; net.segments.len()],
            net,
        };
        let mut x = EDGE;
        for column in 0..COLUMNS {
            layout.columns[column] = (x, widths[column]);
            x += widths[column];
            let Some(channel) = channels.get(column) else { continue };
            if channel.segments.is_empty() {
                continue;
            }
            let wide = channel.lanes.width * tight;
            if column + 2 == COLUMNS {
                layout.labels[column] = x + 6.0;
                layout.lanes[column] = x + room + 8.0;
                x += room + 8.0 + wide;
            } else {
                layout.lanes[column] = x + channel.beside;
                layout.labels[column] = x + channel.beside + wide + 2.0;
                x += channel.beside + wide + room + 8.0;
            }
            for (segment, offset) in channel.segments.iter().zip(&channel.lanes.offsets) {
                layout.offsets[*segment] = layout.lanes[column] + offset * tight;
            }
        }
        layout
    }

    fn point(&self, (node, left, pin): At) -> Point {
        let is = &self.net.nodes[node];
        let (x, width) = self.columns[is.column];
        (if left { x } else { x + width }, is.top + is.pins(left, width, self.room).0[pin])
    }

    fn draw(self) -> Drawing {
        let mut shapes = Vec::new();
        let mut order: Vec<usize> = (0..self.net.segments.len()).collect();
        order.sort_by(|one, other| self.net.segments[*other].weight.total_cmp(&self.net.segments[*one].weight));
        for segment in order {
            shapes.extend(self.line(segment));
        }
        shapes.extend(self.charge());
        for node in &self.net.nodes {
            let (left, width) = self.columns[node.column];
            if node.look == Look::Pass {
                continue;
            }
            shapes.extend(node.draw(left, width, self.room));
        }
        for segment in &self.net.segments {
            shapes.extend(self.beside(segment));
        }
        let bottom = self.net.nodes.iter().map(|node| node.top + node.height(WIDTHS[node.column], self.room));
        let bottom = bottom.fold(TOP, f64::max);
        let kinds: Vec<Kind> =
            Kind::ALL.into_iter().filter(|kind| self.net.segments.iter().any(|one| one.kind == *kind)).collect();
        let notes = key::Notes { lines: Vec::new(), marks: self.net.elsewhere.clone(), crossings: false };
        let (more, height) = key::below(&notes, &kinds, &shapes, bottom + 8.0);
        shapes.extend(more);
        Drawing {
            name: "circuit".into(),
            title: "The circuit".into(),
            description: description(&self.net),
            width: WIDTH,
            height,
            shapes,
        }
    }

    /// The line of a segment, with a joint at each further end.
    fn line(&self, at: usize) -> Vec<Shape> {
        let Segment { kind, weight, ends } = &self.net.segments[at];
        let x = self.offsets[at];
        let line = |points: &[Point]| Shape::Line {
            points: key::chamfered(points),
            weight: *weight,
            ink: kind.ink(),
            stroke: kind.stroke(),
        };
        let mut shapes = Vec::new();
        let Some((first, rest)) = ends.split_first() else { return shapes };
        let start = self.point(*first);
        let (mut low, mut high) = (start.1, start.1);
        for (number, end) in rest.iter().enumerate() {
            let end = self.point(*end);
            let mut points = if number == 0 { vec![start, (x, start.1)] } else { vec![(x, end.1.clamp(low, high))] };
            if number > 0 {
                let radius = weight / 2.0 + 1.5;
                shapes.push(Shape::Ring { at: points[0], radius, filled: true, ink: kind.ink() });
            }
            points.extend([(x, end.1), end]);
            shapes.push(line(&points));
            (low, high) = (low.min(end.1), high.max(end.1));
        }
        if rest.is_empty() {
            shapes.push(line(&[start, (x, start.1)]));
        }
        for (node, left, _) in ends {
            if self.net.nodes[*node].look == Look::Pass && *left {
                let (from, width) = self.columns[self.net.nodes[*node].column];
                let y = self.point((*node, true, 0)).1;
                shapes.push(line(&[(from, y), (from + width, y)]));
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
                shapes.extend(label.draw((self.labels[channel], y), self.room, segment.weight, pin.ink));
            }
        }
        shapes
    }

    /// The factory's cable between alternator and battery.
    fn charge(&self) -> Option<Shape> {
        let of = |path: &str| self.net.nodes.iter().find(|node| node.path == path);
        let (battery, alternator) = (of("vehicle.battery")?, of("vehicle.alternator")?);
        let x = self.columns[0].0 + 16.0;
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
fn place(net: &mut Net, widths: &[f64; COLUMNS], room: f64) -> Vec<Channel> {
    for column in [2, 1, 0, 3] {
        let mut here: Vec<(u8, f64, usize)> = Vec::new();
        for at in (0..net.nodes.len()).filter(|at| net.nodes[*at].column == column) {
            let wanted = if column == 2 { None } else { wanted(net, at, widths, room) };
            here.push((group(&net.nodes[at]), wanted.unwrap_or(TOP), at));
        }
        if column != 2 {
            here.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
        }
        let mut y = TOP;
        for (_, wanted, at) in here {
            let node = &mut net.nodes[at];
            node.top = y.max(wanted);
            let apart = match node.look {
                Look::Pass => 2.0,
                Look::Load => 8.0,
                _ => BETWEEN,
            };
            y = node.top + node.height(widths[column], room) + apart;
        }
    }
    (0..COLUMNS - 1).map(|channel| lanes(net, channel, widths, room)).collect()
}

/// In a column supply stands above what carries signals.
fn group(node: &Node) -> u8 {
    match (node.look, node.path.split('.').next()) {
        (Look::Box, Some("sources" | "converters" | "turn_on")) => 1,
        (Look::Ground, _) => 1,
        _ => 0,
    }
}

/// Where a thing would lie so that the lines to things that have their place already are straight.
fn wanted(net: &Net, at: usize, widths: &[f64; COLUMNS], room: f64) -> Option<f64> {
    let placed = |column: usize| match net.nodes[at].column {
        1 => column == 2,
        0 => column == 1 || column == 2,
        _ => column == 2,
    };
    let height = |(node, left, pin): At| net.nodes[node].pins(left, widths[net.nodes[node].column], room).0[pin];
    let mut tops = Vec::new();
    for segment in &net.segments {
        let own = segment.ends.iter().filter(|end| end.0 == at);
        for own in own {
            let others = segment.ends.iter().filter(|end| placed(net.nodes[end.0].column));
            tops.extend(others.map(|other| net.nodes[other.0].top + height(*other) - height(*own)));
        }
    }
    let count = super::drawing::number(tops.len());
    (!tops.is_empty()).then(|| tops.iter().sum::<f64>() / count)
}

fn lanes(net: &Net, channel: usize, widths: &[f64; COLUMNS], room: f64) -> Channel {
    let height = |(node, left, pin): &At| {
        let is = &net.nodes[*node];
        is.top + is.pins(*left, widths[is.column], room).0[*pin]
    };
    let channel_of =
        |(node, left, _): &At| if *left { net.nodes[*node].column.saturating_sub(1) } else { net.nodes[*node].column };
    let here = (0..net.segments.len())
        .filter(|at| net.segments[*at].ends.first().is_some_and(|end| channel_of(end) == channel));
    let mut all: Vec<(bool, f64, usize, Stretch)> = Vec::new();
    for at in here {
        let Segment { weight, ends, .. } = &net.segments[at];
        let ys: Vec<f64> = ends.iter().map(height).collect();
        let (from, to) = ys.iter().fold((f64::MAX, f64::MIN), |(low, high), y| (low.min(*y), high.max(*y)));
        // Down the highest starts farthest right, up the lowest: so lines part without crossing.
        let start = ys.first().copied().unwrap_or_default();
        let down = ys.last().is_some_and(|end| *end >= start);
        all.push((!down, if down { -start } else { start }, at, Stretch { from, to, weight: *weight }));
    }
    all.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
    let lanes = lay(&all.iter().map(|(.., stretch)| *stretch).collect::<Vec<_>>());
    let fused = |end: &At| !end.1 && net.nodes[end.0].right[end.2].fused;
    let beside = all.iter().any(|(.., at, _)| net.segments[*at].ends.iter().any(fused));
    Channel {
        segments: all.into_iter().map(|(_, _, at, _)| at).collect(),
        lanes,
        beside: if beside { BESIDE } else { 0.0 },
    }
}

fn description(net: &Net) -> String {
    let mut parts = vec!["The circuit, from the battery on the left.".to_owned()];
    parts.extend(net.sentences.iter().cloned());
    let found = net.found.iter().map(|(place, mark)| (place.as_str(), mark));
    let rest = net.elsewhere.iter().flat_map(|(place, marks)| marks.iter().map(|mark| (place.as_str(), mark)));
    parts.extend(marks::sentence(found.chain(rest)));
    crate::words::excerpt(&parts.join(" "), usize::MAX)
}
