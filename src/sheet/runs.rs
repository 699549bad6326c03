//! What runs through a vehicle: supply wires, turn-on leads, signals, speaker leads.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use super::View;
use super::drawing::{Ink, Stroke};
use crate::plan::{self, Crossing, Fuse, Terminal, TurnOnFeed, Zone, ZoneKind};
use crate::quantity::{Gauge, Length, Quantity};
use crate::solve::Job;
use crate::solve::graph::{BODY, NEGATIVE};

/// What a run carries.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Kind {
    /// Supply from a source.
    Feed,
    /// Supply back to it.
    Return,
    /// Turn-on.
    TurnOn,
    /// A signal.
    Signal,
    /// A speaker.
    Speaker,
}

impl Kind {
    /// Every kind.
    pub const ALL: [Self; 5] = [Self::Feed, Self::Return, Self::TurnOn, Self::Signal, Self::Speaker];

    /// Its ink.
    pub const fn ink(self) -> Ink {
        match self {
            Self::Feed => Ink::Feed,
            Self::Return => Ink::Return,
            Self::TurnOn => Ink::TurnOn,
            Self::Signal => Ink::Signal,
            Self::Speaker => Ink::Speaker,
        }
    }

    /// How its lines are drawn, so that none is told by its colour alone.
    pub const fn stroke(self) -> Stroke {
        match self {
            Self::Feed => Stroke::Solid,
            Self::Return => Stroke::Dashed,
            Self::TurnOn => Stroke::Dotted,
            Self::Signal => Stroke::Chain,
            Self::Speaker => Stroke::Short,
        }
    }

    /// Its word.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Feed => "feed",
            Self::Return => "return",
            Self::TurnOn => "turn-on",
            Self::Signal => "signal",
            Self::Speaker => "speaker",
        }
    }

    /// Whether it carries supply current.
    pub const fn is_power(self) -> bool {
        matches!(self, Self::Feed | Self::Return)
    }
}

/// An end of a run: a thing's path in the plan, and its terminal.
#[derive(Debug, Clone, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct End {
    /// The thing, like `amplifiers.bass-amp`; empty where the plan does not say.
    pub thing: String,
    /// Its terminal, like `power`; may be empty.
    pub terminal: String,
}

/// Something that runs from one thing to others.
#[derive(Debug, Clone)]
pub struct Run {
    /// The paths of what it stands for; several signals that lie in one cable are one run.
    pub elements: Vec<String>,
    /// Its name, or their names.
    pub name: String,
    /// What it carries.
    pub kind: Kind,
    /// Where it starts.
    pub from: End,
    /// Where it ends.
    pub to: Vec<End>,
    /// The places it runs through.
    pub path: Vec<Zone>,
    /// How it gets through crossings, by whether they are sealed.
    pub crossings: BTreeMap<Zone, Option<bool>>,
    /// Its size.
    pub size: Option<Gauge>,
    /// Its length.
    pub length: Option<Quantity<Length>>,
    /// The fuses at its start and at its end, in words; empty where there is none.
    pub fuses: [String; 2],
}

impl Run {
    /// How thick its line is: by the root of its area, as the conductor itself.
    pub fn weight(&self) -> f64 {
        let thin = if self.kind == Kind::Signal { 1.4 } else { 1.6 };
        self.size.map_or(thin, |size| (0.9 + 0.5 * size.square_millimetres().sqrt()).clamp(1.2, 7.0))
    }

    /// Its size as it reads; nothing where it has none to state.
    pub fn size_words(&self) -> String {
        match (self.size, self.kind) {
            (Some(size), _) => size.to_string(),
            (None, Kind::Signal | Kind::TurnOn) => String::new(),
            (None, _) => "size ?".into(),
        }
    }

    /// Its length as it reads.
    pub fn length_words(&self) -> String {
        match (self.length, self.kind) {
            (Some(length), _) => length.to_string(),
            (None, Kind::TurnOn) => String::new(),
            (None, _) => "length ?".into(),
        }
    }

    /// Its way as it reads.
    pub fn way_words(&self) -> String {
        let words: Vec<String> = self.path.iter().map(|zone| self.zone_words(*zone)).collect();
        if words.is_empty() { "its way is not stated".into() } else { format!("through {}", words.join(", ")) }
    }

    /// A place on its way as it reads, a crossing with its seal.
    pub fn zone_words(&self, zone: Zone) -> String {
        let word = zone.word().replace('-', " ");
        match (zone.kind(), self.crossings.get(&zone).copied().flatten()) {
            (ZoneKind::Space, _) => word,
            (ZoneKind::Crossing, Some(true)) => format!("{word}, sealed"),
            (ZoneKind::Crossing, Some(false)) => format!("{word}, not sealed"),
            (ZoneKind::Crossing, None) => format!("{word}, sealed ?"),
            _ => format!("{word}: stay away"),
        }
    }

    /// Joins parts that say something.
    pub fn label(&self) -> String {
        let parts = [self.name.clone(), self.size_words(), self.length_words()];
        parts.into_iter().filter(|part| !part.is_empty()).collect::<Vec<_>>().join(" · ")
    }
}

/// Everything that runs, supply first.
pub fn of(view: &View<'_>) -> Vec<Run> {
    let job = view.job;
    let returns = return_nodes(job);
    let mut runs: Vec<Run> = job.wires.iter().map(|wire| supply(job, &returns, wire.name, wire)).collect();
    runs.sort_by_key(|run| run.kind);
    runs.extend(job.turn_on.iter().filter(|lead| lead.is_lead()).map(|lead| turn_on(job, lead.name, lead)));
    runs.extend(signals(job));
    runs.extend(job.loads.iter().map(|load| speaker(load.name, load)));
    runs
}

/// Nodes from which supply current goes back: grounds, negative posts and what is wired to them.
fn return_nodes(job: &Job<'_>) -> BTreeSet<usize> {
    let graph = job.graph();
    let grounds = job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name));
    let amplifiers = job.amplifiers.iter().filter_map(|amplifier| graph.node(amplifier.name, "ground"));
    let mut queue: VecDeque<usize> = grounds.chain(amplifiers).chain(graph.negatives(job)).chain([BODY]).collect();
    let mut found: BTreeSet<usize> = queue.iter().copied().collect();
    while let Some(node) = queue.pop_front() {
        for (link, next) in graph.around(node) {
            if graph.links[link].kind.is_laid() && found.insert(next) {
                queue.push_back(next);
            }
        }
    }
    found
}

fn supply(job: &Job<'_>, returns: &BTreeSet<usize>, name: &str, wire: &plan::Wire) -> Run {
    let goes_back = |end: &Option<Terminal>| {
        let node = end.as_ref().and_then(|end| job.graph().terminal(end));
        let word = |end: &Terminal| end.thing == "grounds" || end.terminal == "ground" || end.terminal == "negative";
        node.is_some_and(|node| node == NEGATIVE || returns.contains(&node)) || end.as_ref().is_some_and(word)
    };
    let kind = if goes_back(&wire.from) || goes_back(&wire.to) { Kind::Return } else { Kind::Feed };
    let end = |end: &Option<Terminal>| end.as_ref().map(|end| end_of(job, end)).unwrap_or_default();
    Run {
        elements: vec![format!("wires.{name}")],
        name: name.to_owned(),
        kind,
        from: end(&wire.from),
        to: vec![end(&wire.to)],
        path: wire.path.clone(),
        crossings: seals(&wire.crossings),
        size: wire.size,
        length: wire.length,
        fuses: [wire.fuse.as_ref().or(output_fuse(job, wire)), wire.far_fuse.as_ref()]
            .map(|fuse| fuse.map(fuse_words).unwrap_or_default()),
    }
}

/// The fuse in the output of a block that a wire starts at.
fn output_fuse<'a>(job: &Job<'a>, wire: &plan::Wire) -> Option<&'a Fuse> {
    let from = wire.from.as_ref()?;
    job.plan.blocks.get(&from.thing)?.outputs.get(&from.terminal)?.fuse.as_ref()
}

/// A fuse where it sits: `fuse 150 A at 25 cm`.
fn fuse_words(fuse: &Fuse) -> String {
    let rating = fuse.rating.map_or_else(|| "?".to_owned(), |rating| rating.to_string());
    let distance = fuse.distance.map(|distance| format!(" at {distance}")).unwrap_or_default();
    let what = if fuse.is_breaker() { "breaker" } else { "fuse" };
    format!("{what} {rating}{distance}")
}

/// The thing that a terminal belongs to.
fn end_of(job: &Job<'_>, terminal: &Terminal) -> End {
    let (thing, last) = (terminal.thing.as_str(), terminal.terminal.clone());
    match thing {
        "battery" | "alternator" => End { thing: format!("vehicle.{thing}"), terminal: last },
        "grounds" => End { thing: format!("grounds.{last}"), terminal: String::new() },
        _ => End { thing: thing_called(job, thing), terminal: last },
    }
}

/// The path of gear by its name.
pub fn thing_called(job: &Job<'_>, name: &str) -> String {
    let plan = job.plan;
    let sections = [
        ("amplifiers", plan.amplifiers.contains_key(name)),
        ("blocks", plan.blocks.contains_key(name)),
        ("batteries", plan.batteries.contains_key(name)),
        ("isolators", plan.isolators.contains_key(name)),
        ("capacitors", plan.capacitors.contains_key(name)),
        ("sources", plan.sources.contains_key(name)),
        ("converters", plan.converters.contains_key(name)),
    ];
    let section = sections.into_iter().find(|(_, there)| *there).map_or("unknown", |(section, _)| section);
    format!("{section}.{name}")
}

fn turn_on(job: &Job<'_>, name: &str, lead: &plan::TurnOn) -> Run {
    let of = lead.from.as_ref().and_then(|from| from.of.as_ref());
    let from = match of {
        Some(of) => End { thing: thing_called(job, of), terminal: "turn-on".into() },
        None => End { thing: format!("turn_on.{name}"), terminal: String::new() },
    };
    Run {
        elements: vec![format!("turn_on.{name}")],
        name: name.to_owned(),
        kind: Kind::TurnOn,
        from,
        to: lead.to.iter().map(|to| end_of(job, to)).collect(),
        path: lead.path.clone(),
        crossings: seals(&lead.crossings),
        size: lead.size,
        length: None,
        fuses: [lead.fuse.map(|fuse| format!("fuse {fuse}")).unwrap_or_default(), String::new()],
    }
}

/// What a turn-on lead is fed from, in words.
pub fn feed_words(feed: Option<&TurnOnFeed>) -> String {
    let Some(feed) = feed else { return "feed not stated".into() };
    let kind = feed.kind.as_ref().map(|kind| plan::word(kind).replace('-', " "));
    let circuit = feed.circuit.as_ref().map(plan::word);
    let parts: Vec<String> = kind.into_iter().chain(circuit).collect();
    if parts.is_empty() { "feed not stated".into() } else { parts.join(", ") }
}

/// Signals; those that go the same way from the same place to the same amplifier lie in one cable.
fn signals(job: &Job<'_>) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    for signal in &job.signals {
        let run = signal_run(job, signal.name, signal);
        let same = |known: &&mut Run| {
            let things = |run: &Run| (run.from.thing.clone(), run.to.first().map(|to| to.thing.clone()));
            things(known) == things(&run)
                && (&known.path, &known.crossings) == (&run.path, &run.crossings)
                && known.length == run.length
        };
        match runs.iter_mut().find(same) {
            Some(known) => {
                known.elements.extend(run.elements);
                known.name = format!("{}, {}", known.name, run.name);
                let taken = &mut known.from.terminal;
                if !run.from.terminal.is_empty() && !taken.split(", ").any(|known| known == run.from.terminal) {
                    *taken = [taken.as_str(), &run.from.terminal]
                        .into_iter()
                        .filter(|one| !one.is_empty())
                        .collect::<Vec<_>>()
                        .join(", ");
                }
                let more = run.to.into_iter().map(|to| to.terminal).collect::<String>();
                if let Some(to) = known.to.first_mut() {
                    to.terminal = format!("{}, {more}", to.terminal);
                }
            }
            None => runs.push(run),
        }
    }
    runs
}

fn signal_run(job: &Job<'_>, name: &str, signal: &plan::Signal) -> Run {
    let lead = signal.lead.clone().unwrap_or_default();
    let source = signal.through.as_ref().or(signal.from.as_ref());
    let taken = signal.taken_at.as_ref();
    let taken = taken.and_then(|taken| taken.speaker.as_ref().or(taken.output.as_ref()));
    let thing = source.map(|source| thing_called(job, source)).unwrap_or_default();
    Run {
        elements: vec![format!("signals.{name}")],
        name: name.to_owned(),
        kind: Kind::Signal,
        from: End { thing, terminal: taken.cloned().unwrap_or_default() },
        to: vec![signal.to.as_ref().map(|to| end_of(job, to)).unwrap_or_default()],
        path: lead.path,
        crossings: seals(&lead.crossings),
        size: None,
        length: lead.length,
        fuses: [String::new(), String::new()],
    }
}

fn speaker(name: &str, load: &plan::Load) -> Run {
    let lead = load.lead.clone().unwrap_or_default();
    let outputs: Vec<String> = load.outputs.iter().map(ToString::to_string).collect();
    let thing = load.amplifier.as_ref().map(|name| format!("amplifiers.{name}")).unwrap_or_default();
    Run {
        elements: vec![format!("loads.{name}")],
        name: name.to_owned(),
        kind: Kind::Speaker,
        from: End { thing, terminal: outputs.join("+") },
        to: vec![End { thing: format!("loads.{name}"), terminal: String::new() }],
        path: lead.path,
        crossings: seals(&lead.crossings),
        size: lead.size,
        length: lead.length,
        fuses: [String::new(), String::new()],
    }
}

fn seals(crossings: &BTreeMap<Zone, Crossing>) -> BTreeMap<Zone, Option<bool>> {
    crossings.iter().map(|(zone, crossing)| (*zone, crossing.sealed)).collect()
}
