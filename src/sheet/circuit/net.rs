//! What is in the circuit: things in columns, the battery on the left, and what joins them.

use std::collections::BTreeSet;

use super::super::View;
use super::super::drawing::Ink;
use super::super::letters::WITH_UNIT;
use super::super::marks::{Mark, Marks};
use super::super::runs::{self, End, Kind, Run};
use super::super::symbols::Symbol;
use super::node::{Label, Look, Node, Pin};
use crate::plan::{self, Fuse};
use crate::quantity::{Current, Range, Resistance};
use crate::solve::{Case, Decided, Job, loads};

/// The columns: starting battery and alternator, what distributes and where signals come from, amplifiers, loads and
/// grounds.
pub const COLUMNS: usize = 4;
const SOURCES: usize = 0;
const BETWEEN: usize = 1;
const AMPLIFIERS: usize = 2;
const ENDS: usize = 3;

/// A terminal of a thing: the thing, whether on its left, and which.
pub type At = (usize, bool, usize);

/// A line through one channel between two columns.
#[derive(Debug, Clone)]
pub struct Segment {
    /// What it carries.
    pub kind: Kind,
    /// How thick it is.
    pub weight: f64,
    /// The terminals it joins, its start first.
    pub ends: Vec<At>,
}

/// The circuit.
#[derive(Debug, Clone, Default)]
pub struct Net {
    /// Things.
    pub nodes: Vec<Node>,
    /// What joins them.
    pub segments: Vec<Segment>,
    /// What each run says, for the description.
    pub sentences: Vec<String>,
    /// What is told of findings, with where they are.
    pub found: Vec<(String, Mark)>,
    /// Findings at nothing that is drawn.
    pub elsewhere: Vec<(String, Vec<Mark>)>,
}

/// The circuit of a plan.
pub fn net(view: &View<'_>) -> Net {
    let mut marks = Marks::of(view);
    let mut net = Net { nodes: stated(view), ..Net::default() };
    for run in runs::of(view) {
        net.join(view, &run, &mut marks);
    }
    net.converters(view);
    for node in &mut net.nodes {
        node.marks.extend(marks.take(&node.path));
        net.found.extend(node.marks.iter().map(|mark| (node.title.clone(), mark.clone())));
    }
    for (name, load) in &view.reading.plan.loads {
        let coils = load.coils.as_ref().map(plan::Coils::each).unwrap_or_default();
        let path = format!("loads.{name}");
        for (_, coil) in coils {
            if let Some(node) = net.nodes.iter_mut().find(|node| node.path == path) {
                node.marks.extend(marks.take(&format!("drivers.{}", coil.driver)));
            }
        }
    }
    net.elsewhere = marks.rest();
    net
}

fn stated(view: &View<'_>) -> Vec<Node> {
    let plan = &view.reading.plan;
    let mut nodes = Vec::new();
    let vehicle = plan.vehicle.as_ref();
    if let Some(battery) = vehicle.and_then(|vehicle| vehicle.battery.as_ref()) {
        nodes.push(battery_node("vehicle.battery", SOURCES, "battery", battery));
    }
    if let Some(alternator) = vehicle.and_then(|vehicle| vehicle.alternator.as_ref()) {
        let mut node = Node::new("vehicle.alternator", SOURCES, plan.charger());
        node.notes.extend(alternator.rated.map(|rated| rated.to_string()));
        nodes.push(node);
    }
    for (name, battery) in &plan.batteries {
        nodes.push(battery_node(&format!("batteries.{name}"), BETWEEN, name, battery));
    }
    for (name, isolator) in &plan.isolators {
        let mut node = Node::new(&format!("isolators.{name}"), BETWEEN, name);
        node.notes.extend(isolator.told());
        nodes.push(node);
    }
    for name in plan.blocks.keys() {
        let mut node = Node::new(&format!("blocks.{name}"), BETWEEN, name);
        node.notes.push("block".into());
        nodes.push(node);
    }
    for (name, capacitor) in &plan.capacitors {
        let node = Node::new(&format!("capacitors.{name}"), BETWEEN, name);
        let mut node = Node { symbol: Symbol::Capacitor, ..node };
        node.notes.extend(capacitor.capacitance.map(|holds| holds.to_string()));
        nodes.push(node);
    }
    for amplifier in &view.job.amplifiers {
        let mut node = Node::new(&format!("amplifiers.{}", amplifier.name), AMPLIFIERS, amplifier.name);
        node.notes.extend(amplifier.classes());
        if let Ok(volts) = view.job.terminal_voltage(amplifier.name, Case::IdleFull) {
            node.notes.push(format!("{} V", tenths(volts.range.low(), volts.range.high())));
        }
        nodes.push(node);
    }
    nodes
}

fn battery_node(path: &str, column: usize, name: &str, battery: &plan::Battery) -> Node {
    let mut node = Node { symbol: Symbol::Battery, ..Node::new(path, column, name) };
    node.notes.extend(battery.capacity.map(|capacity| capacity.to_string()));
    node
}

impl Net {
    /// Joins the things at the ends of a run.
    fn join(&mut self, view: &View<'_>, run: &Run, marks: &mut Marks) {
        let to_amplifier = std::iter::once(&run.from).chain(&run.to).any(|end| end.thing.starts_with("amplifiers."));
        let mut ends = vec![self.node_of(view, run, &run.from, to_amplifier)];
        ends.extend(run.to.iter().map(|end| self.node_of(view, run, end, to_amplifier)));
        let found: Vec<Mark> = run.elements.iter().flat_map(|element| marks.take(element)).collect();
        self.found.extend(found.iter().map(|mark| (run.name.clone(), mark.clone())));
        let (label, sentence) = told(view.job, run, found);
        self.sentences.push(sentence);
        self.route(view, run, &ends, label);
    }

    /// The thing at an end of a run.
    fn node_of(&mut self, view: &View<'_>, run: &Run, end: &End, to_amplifier: bool) -> usize {
        let column = column_of(run, end, to_amplifier);
        let same = |node: &Node| node.path == end.thing && node.column == column && !end.thing.is_empty();
        if let Some(at) = self.nodes.iter().position(same) {
            return at;
        }
        let name = end.thing.split_once('.').map_or("", |(_, name)| name);
        let mut node = Node::new(&end.thing, column, name);
        match end.thing.split_once('.').map_or("", |(section, _)| section) {
            "grounds" => {
                node.look = Look::Ground;
                let ground = view.reading.plan.grounds.get(name);
                node.notes
                    .extend(ground.and_then(|ground| ground.on.as_ref()).map(|on| plan::word(on).replace('-', " ")));
            }
            "loads" => {
                node.look = Look::Load;
                node.notes = load_notes(view.job, name);
            }
            "turn_on" => {
                let lead = view.reading.plan.turn_on.get(name);
                let words = runs::feed_words(lead.and_then(|lead| lead.from.as_ref()));
                let mut words = words.split(", ").map(str::to_owned);
                node.title = words.next().unwrap_or_default();
                node.notes.extend(words);
            }
            "unknown" => node.notes.push("not in the plan".into()),
            "" => node.title = "not stated".into(),
            "converters" => node.notes.push("converter".into()),
            _ => {}
        }
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    /// Puts a run into the channels between the columns of its ends, passing the columns between them.
    fn route(&mut self, view: &View<'_>, run: &Run, ends: &[usize], label: Label) {
        let columns: Vec<usize> = ends.iter().map(|node| self.nodes[*node].column).collect();
        let (Some(first), Some(last)) = (columns.iter().min().copied(), columns.iter().max().copied()) else { return };
        let channel_of_one = if run.kind.is_power() { first.saturating_sub(1) } else { first.min(ENDS - 1) };
        let channels = if first == last { channel_of_one..channel_of_one + 1 } else { first..last };
        // The label stands before the amplifier or the thing that is fed, behind an amplifier for what leaves it.
        let mut label = Some(label);
        let mut carried: Option<At> = None;
        for channel in channels.clone() {
            let mut here: Vec<At> = carried.take().into_iter().collect();
            for (at, node) in ends.iter().enumerate() {
                let column = self.nodes[*node].column;
                // A thing hangs on the channel to its right, but for the last column of the run.
                let own = if column < channels.end { column.max(channels.start) } else { channels.end - 1 };
                if own == channel {
                    let left = column > channel;
                    here.push((*node, left, self.pin(view, run, at, *node, left)));
                }
            }
            let mut through = None;
            if channel + 1 < channels.end {
                let node = self.pass(run, channel + 1);
                here.push((node, true, 0));
                through = Some((node, false, 0));
            }
            if channel + 1 == channels.end {
                self.label(&here, channel, &mut label, run);
            }
            carried = through;
            self.segments.push(Segment { kind: run.kind, weight: run.weight(), ends: here });
        }
    }

    /// A place where a run passes a column.
    fn pass(&mut self, run: &Run, column: usize) -> usize {
        let pin = Pin::new("", run.kind.ink());
        let mut node = Node { look: Look::Pass, ..Node::new(&format!("pass.{}", run.name), column, "") };
        node.left.push(pin.clone());
        node.right.push(pin);
        self.nodes.push(node);
        self.nodes.len() - 1
    }

    fn pin(&mut self, view: &View<'_>, run: &Run, at: usize, node: usize, left: bool) -> usize {
        let end = if at == 0 { &run.from } else { &run.to[at - 1] };
        let mut pin = Pin::new(end.terminal.clone(), run.kind.ink());
        let wire =
            run.elements.first().and_then(|path| path.strip_prefix("wires.")).and_then(|name| view.job.wire(name));
        let fuse = wire.and_then(|wire| if at == 0 { wire.fuse.as_ref() } else { wire.far_fuse.as_ref() });
        let block = end.thing.strip_prefix("blocks.").and_then(|name| view.reading.plan.blocks.get(name));
        let output = block.and_then(|block| block.outputs.get(&end.terminal)).and_then(|output| output.fuse.as_ref());
        for fuse in fuse.into_iter().chain(output) {
            pin.inside.push(fuse.rating.map_or_else(|| "? A".into(), |rating| rating.to_string()));
        }
        pin.fused = fuse.is_some();
        pin.fused_inside = output.is_some();
        let turn_on = view.reading.plan.turn_on.get(&run.name).filter(|_| run.kind == Kind::TurnOn && at == 0);
        if let Some(fuse) = turn_on.and_then(|lead| lead.fuse) {
            pin.fused_inside = true;
            pin.inside.push(fuse.to_string());
        }
        if turn_on.is_some_and(|lead| lead.relay.is_some()) {
            pin.inside.push("by a relay".into());
        }
        let node = &mut self.nodes[node];
        if node.look != Look::Box {
            pin.words.clear();
        }
        let pins = if left { &mut node.left } else { &mut node.right };
        pins.push(pin);
        pins.len() - 1
    }

    /// Hangs the label on the terminal beside which it has room; where a run has several ends each has its name.
    fn label(&mut self, here: &[At], channel: usize, label: &mut Option<Label>, run: &Run) {
        let behind = channel == AMPLIFIERS;
        let room = |(_, left, _): &&At| *left != behind;
        let places: Vec<At> = here.iter().filter(room).copied().collect();
        let all = if places.is_empty() { here.to_vec() } else { places };
        // Between two things of the last column but one that hang on one side, the end of the run has the label.
        let wanted: Vec<At> = if run.to.len() > 1 || behind { all } else { all.last().copied().into_iter().collect() };
        for (node, left, pin) in wanted {
            let fits = left != behind;
            let text = label.take().unwrap_or_else(|| Label { above: vec![run.name.clone()], ..Label::default() });
            let node = &mut self.nodes[node];
            let pin = if left { &mut node.left[pin] } else { &mut node.right[pin] };
            if fits {
                pin.label = Some(text);
            } else {
                pin.inside.extend(text.above.into_iter().chain(text.below));
                node.marks.extend(text.marks);
            }
        }
    }

    /// Joins sources to the converters that their signals go through.
    fn converters(&mut self, view: &View<'_>) {
        let pairs: BTreeSet<(&String, &String)> = view
            .reading
            .plan
            .signals
            .values()
            .filter_map(|signal| Some((signal.from.as_ref()?, signal.through.as_ref()?)))
            .collect();
        for (from, through) in pairs {
            let path = format!("converters.{through}");
            let Some(converter) = self.nodes.iter().position(|node| node.path == path) else { continue };
            let path = runs::thing_called(view.job, from);
            let source = self.nodes.iter().position(|node| node.path == path).unwrap_or_else(|| {
                self.nodes.push(Node::new(&path, BETWEEN, from));
                self.nodes.len() - 1
            });
            let ends = [(source, "out"), (converter, "in")].map(|(node, words)| {
                let pins = &mut self.nodes[node].left;
                pins.push(Pin::new(words, Ink::Signal));
                (node, true, pins.len() - 1)
            });
            self.segments.push(Segment { kind: Kind::Signal, weight: 1.4, ends: ends.to_vec() });
        }
    }
}

fn column_of(run: &Run, end: &End, to_amplifier: bool) -> usize {
    match end.thing.split_once('.').map_or("", |(section, _)| section) {
        "vehicle" => SOURCES,
        "amplifiers" => AMPLIFIERS,
        "loads" => ENDS,
        "grounds" if to_amplifier => ENDS,
        "" if to_amplifier && run.kind == Kind::Return => ENDS,
        _ => BETWEEN,
    }
}

/// What a load is for its outputs, and its coils.
fn load_notes(job: &Job<'_>, name: &str) -> Vec<String> {
    let Some(load) = job.loads.iter().find(|load| load.name == name) else { return Vec::new() };
    let ohms = loads::own_ohms(load, job).map(|ohms| Range::<Resistance>::point(ohms).to_string());
    let coils = load.coils.as_ref().map(plan::Coils::each).unwrap_or_default();
    let drivers: BTreeSet<&str> = coils.iter().map(|(_, coil)| coil.driver.as_str()).collect();
    let drivers: Vec<&str> = drivers.into_iter().collect();
    let ohms = together(&ohms.unwrap_or_else(|_| "? ohm".into()));
    vec![std::iter::once(ohms.as_str()).chain(drivers).collect::<Vec<_>>().join(", ")]
}

fn fuse_words(fuse: &Fuse) -> String {
    format!("fuse {}", fuse.rating.map_or_else(|| "?".into(), |rating| rating.to_string()))
}

/// What is told of a run beside its line, and in a sentence.
fn told(job: &Job<'_>, run: &Run, marks: Vec<Mark>) -> (Label, String) {
    let measures = [run.size_words(), run.length_words()];
    let measures: Vec<String> =
        measures.into_iter().filter(|part| !part.is_empty()).map(|part| together(&part)).collect();
    let mut above = vec![run.name.clone()];
    if run.kind.is_power() || run.kind == Kind::Speaker {
        above.push(measures.join(" "));
    }
    if run.kind == Kind::Speaker {
        above.remove(0);
    }
    let wire = run.elements.first().and_then(|path| path.strip_prefix("wires.")).and_then(|name| job.wire(name));
    let mut below = Vec::new();
    let mut words = vec![run.label()];
    if let Some(wire) = wire {
        let at = |case| amperes(job.wire_current(wire, case).map(|known| known.range));
        below = [Case::IdleProgramme, Case::IdleFull].map(|case| together(&at(case))).to_vec();
        words.push(format!("{} with programme, {} at full output", at(Case::IdleProgramme), at(Case::IdleFull)));
        words.extend(wire.fuse.as_ref().map(fuse_words));
        words.extend(wire.far_fuse.as_ref().map(|fuse| format!("{} at its far end", fuse_words(fuse))));
    }
    let end = |end: &End| {
        let name = end.thing.split_once('.').map_or("not stated", |(_, name)| name);
        if end.terminal.is_empty() { name.to_owned() } else { format!("{name} {}", end.terminal) }
    };
    let to: Vec<String> = run.to.iter().map(end).collect();
    let sentence = format!("{} {}: from {} to {}.", run.kind.word(), words.join(", "), end(&run.from), to.join(", "));
    (Label { above, below, marks, room: 0.0 }, sentence)
}

/// A quantity that is not cut.
fn together(quantity: &str) -> String {
    quantity.replace(' ', &WITH_UNIT.to_string())
}

/// A current as it reads beside a line.
fn amperes(current: Decided<Range<Current>>) -> String {
    current.map_or_else(|_| "? A".into(), |range| format!("{} A", span(range.low(), range.high())))
}

/// A number, or a range without spaces.
fn span(low: f64, high: f64) -> String {
    if high < 0.05 {
        "0".into()
    } else if high < 9.95 {
        tenths(low, high)
    } else {
        joined(&format!("{low:.0}"), &format!("{high:.0}"))
    }
}

fn tenths(low: f64, high: f64) -> String {
    joined(&format!("{low:.1}"), &format!("{high:.1}"))
}

fn joined(low: &str, high: &str) -> String {
    if low == high { low.to_owned() } else { format!("{low}–{high}") }
}
