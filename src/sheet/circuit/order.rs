//! In which order lines lie beside each other in a channel, and terminals below each other at a thing: such that lines
//! cross each other as little as can be, and never lie in one track.

use super::super::lanes::Stretch;
use super::net::{At, COLUMNS, Net, Segment};
use super::node::{Look, Node};

/// How near two lines that lie level look like one.
const NEAR: f64 = 8.0;
/// What a common track counts among crossings.
const TRACK: usize = 100;
/// How often things are moved or terminals put in order; enough for what was seen, and an end in any case.
const ROUNDS: usize = 24;

/// A line through a channel: upright in its lane, level to its terminals.
#[derive(Debug, Clone)]
pub struct Line {
    /// Which segment it is.
    pub segment: usize,
    weight: f64,
    from: f64,
    to: f64,
    /// The heights of terminals on the channel's right, which are the left ones of their things, and on its left.
    right: Vec<f64>,
    left: Vec<f64>,
}

impl Line {
    fn of(net: &Net, at: usize) -> Self {
        let Segment { weight, ends, .. } = &net.segments[at];
        let side = |left: bool| ends.iter().filter(|end| end.1 == left).map(|end| height(net, *end)).collect();
        let (right, left): (Vec<f64>, Vec<f64>) = (side(true), side(false));
        let all = || right.iter().chain(&left).copied();
        let (from, to) = (all().fold(f64::MAX, f64::min), all().fold(f64::MIN, f64::max));
        Self { segment: at, weight: *weight, from, to, right, left }
    }

    /// Where it lies along the channel.
    pub const fn stretch(&self) -> Stretch {
        Stretch { from: self.from, to: self.to, weight: self.weight }
    }

    fn crossed_at(&self, y: f64) -> bool {
        self.from < y && y < self.to
    }
}

/// The lines of a channel in the order of their lanes.
pub fn lanes(net: &Net, channel: usize) -> Vec<Line> {
    let here = net.segments.iter().enumerate().filter(|(_, segment)| {
        segment.ends.first().is_some_and(|(node, left, _)| {
            let column = net.nodes[*node].column;
            (if *left { column.saturating_sub(1) } else { column }) == channel
        })
    });
    let mut all: Vec<(bool, f64, Line)> = Vec::new();
    for (at, segment) in here {
        // Down the highest starts farthest right, up the lowest: so lines part without crossing.
        let ends = || segment.ends.iter().map(|end| height(net, *end));
        let start = ends().next().unwrap_or_default();
        let down = ends().next_back().is_some_and(|end| end >= start);
        all.push((!down, if down { -start } else { start }, Line::of(net, at)));
    }
    all.sort_by(|one, other| one.0.cmp(&other.0).then(one.1.total_cmp(&other.1)));
    let mut lines = all.into_iter().map(|(.., line)| line).collect();
    settle(&mut lines);
    lines
}

/// Moves one line at a time to where it makes least trouble, until none gets better.
fn settle(lines: &mut Vec<Line>) {
    for _ in 0..ROUNDS {
        let mut is_settled = true;
        for at in 0..lines.len() {
            // What moving this line to each place changes, one place farther at a time.
            let step = |one: &Line, other: &Line| {
                let (before, after) = (trouble(one, other), trouble(other, one));
                isize::try_from(after).unwrap_or(isize::MAX) - isize::try_from(before).unwrap_or(isize::MAX)
            };
            let mut best = (0, at);
            let mut change = 0;
            for to in (0..at).rev() {
                change += step(&lines[to], &lines[at]);
                best = best.min((change, to));
            }
            change = 0;
            for to in at + 1..lines.len() {
                change += step(&lines[at], &lines[to]);
                if change < best.0 {
                    best = (change, to);
                }
            }
            if best.0 < 0 {
                let line = lines.remove(at);
                lines.insert(best.1, line);
                is_settled = false;
            }
        }
        if is_settled {
            return;
        }
    }
}

/// How often two lines cross if one lies left of the other, and whether they share a track.
fn trouble(one: &Line, other: &Line) -> usize {
    let across = one.right.iter().filter(|y| other.crossed_at(**y)).count()
        + other.left.iter().filter(|y| one.crossed_at(**y)).count();
    across + TRACK * tracks(one, other).count()
}

/// The heights of terminals whose level lines lie over each other: from the left to the farther lane, from the right to
/// the nearer.
fn tracks<'a>(one: &'a Line, other: &'a Line) -> impl Iterator<Item = (f64, f64)> + 'a {
    let near = |(left, right): &(f64, f64)| (left - right).abs() < NEAR;
    other.left.iter().flat_map(|left| one.right.iter().map(move |right| (*left, *right))).filter(near)
}

/// Moves things down where no order of lanes keeps two lines out of one track.
pub fn part(net: &mut Net) {
    for _ in 0..ROUNDS {
        let Some((channel, y)) = (0..COLUMNS - 1).find_map(|channel| Some((channel, shared(net, channel)?))) else {
            return;
        };
        let has = |node: &Node| {
            node.column == channel + 1
                && node.pins(true).0.iter().any(|below| (node.top + below - y).abs() < f64::EPSILON)
        };
        let Some(top) = net.nodes.iter().find(|node| has(node)).map(|node| node.top) else { return };
        for node in net.nodes.iter_mut().filter(|node| node.column == channel + 1 && node.top >= top) {
            node.top += NEAR;
        }
    }
}

/// Where on the right of a channel the line of a terminal shares a track.
fn shared(net: &Net, channel: usize) -> Option<f64> {
    let lines = lanes(net, channel);
    let pairs = lines.iter().enumerate().flat_map(|(at, one)| lines[at + 1..].iter().map(move |other| (one, other)));
    pairs.flat_map(|(one, other)| tracks(one, other)).map(|(_, right)| right).next()
}

/// Puts terminals of things below each other in the order of where their lines lead, where fewer lines cross then.
pub fn pins(net: &mut Net, place: impl Fn(&mut Net)) {
    place(net);
    let mut least = crossings(net);
    for (node, left) in (0..net.nodes.len()).flat_map(|node| [(node, true), (node, false)]) {
        if least == 0 {
            return;
        }
        let is = &net.nodes[node];
        let count = if left { is.left.len() } else { is.right.len() };
        if is.look != Look::Box || count < 2 {
            continue;
        }
        let mut order: Vec<usize> = (0..count).collect();
        let leads: Vec<f64> = order.iter().map(|pin| leads(net, (node, left, *pin))).collect();
        order.sort_by(|one, other| leads[*one].total_cmp(&leads[*other]));
        if order.is_sorted() {
            continue;
        }
        let before = net.clone();
        reorder(net, node, left, &order);
        place(net);
        let now = crossings(net);
        if now < least {
            least = now;
        } else {
            *net = before;
        }
    }
}

/// How high the other ends of a terminal's line lie, in the middle.
fn leads(net: &Net, at: At) -> f64 {
    let joined = net.segments.iter().filter(|segment| segment.ends.contains(&at));
    let others = joined.flat_map(|segment| &segment.ends).filter(|end| **end != at);
    let heights: Vec<f64> = others.map(|end| height(net, *end)).collect();
    heights.iter().sum::<f64>() / super::number(heights.len().max(1))
}

fn reorder(net: &mut Net, node: usize, left: bool, order: &[usize]) {
    let is = &mut net.nodes[node];
    let pins = if left { &mut is.left } else { &mut is.right };
    *pins = order.iter().map(|pin| pins[*pin].clone()).collect();
    let ends = net.segments.iter_mut().flat_map(|segment| &mut segment.ends);
    for end in ends.filter(|end| end.0 == node && end.1 == left) {
        end.2 = order.iter().position(|pin| *pin == end.2).unwrap_or(end.2);
    }
}

fn crossings(net: &Net) -> usize {
    let of = |channel: usize| {
        let lines = lanes(net, channel);
        let beside = |(at, one): (usize, &Line)| lines[at + 1..].iter().map(|other| trouble(one, other)).sum::<usize>();
        lines.iter().enumerate().map(beside).sum::<usize>()
    };
    (0..COLUMNS - 1).map(of).sum()
}

fn height(net: &Net, (node, left, pin): At) -> f64 {
    let is = &net.nodes[node];
    is.top + is.pins(left).0[pin]
}
