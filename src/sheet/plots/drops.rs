//! What is lost on the way from the battery to an amplifier and back, place by place.

use super::WIDE;
use super::axis::Axis;
use super::chart::{Chart, Pen};
use crate::plan::{Amplifier, Fuse};
use crate::quantity::text::digits;
use crate::quantity::{Quantity, Range, Resistance, Temperature, Voltage};
use crate::sheet::View;
use crate::sheet::drawing::{Drawing, Ink, Point};
use crate::sheet::drawn::Drawn;
use crate::sheet::letters::ident;
use crate::solve::graph::{Graph, LinkKind};
use crate::solve::{Case, Decided, Job, Thing, Undecided};

/// A stretch of a way, in the direction of the current.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// What it is.
    pub is: Part,
    /// Where it begins and ends, in metres of wire from the battery.
    pub metres: (f64, f64),
    /// The middle of what it resists, by which the loss of a wire is shared out among its parts.
    ohms: f64,
}

/// What a way is made of.
#[derive(Debug, Clone, PartialEq)]
pub enum Part {
    /// Conductor of a wire, by its place in the job's list.
    Conductor(usize),
    /// A joint, a contact or an isolator.
    Joint,
    /// A fuse, in words.
    Fuse(String),
    /// The body, whose length is not counted.
    Body,
}

/// The way from a battery to an amplifier and back to a battery.
#[derive(Debug, Clone, PartialEq)]
pub struct Way {
    /// Links in the direction of the current, each with its far node and its pieces.
    links: Vec<(usize, Vec<Piece>)>,
    /// The battery's positive post, the amplifier's two terminals.
    nodes: (usize, usize, usize),
    /// How many links lead there.
    there: usize,
    /// How many links lead back in the amplifier's own runs, before the body.
    own: usize,
}

/// What is lost up to a place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lost {
    /// Metres of wire from the battery.
    pub metres: f64,
    /// What is lost up to there.
    pub volts: Range<Voltage>,
}

impl Way {
    /// Every piece, in the direction of the current.
    pub fn pieces(&self) -> impl Iterator<Item = &Piece> {
        self.links.iter().flat_map(|(_, pieces)| pieces)
    }

    fn metres(&self, links: usize) -> f64 {
        let before = self.links[..links].iter().rev().find_map(|(_, pieces)| pieces.last());
        before.map_or(0.0, |piece| piece.metres.1)
    }
}

/// The way to an amplifier and back.
///
/// # Errors
/// The facts that are missing; not applicable where no run reaches it.
pub fn way(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Decided<Way> {
    const NOT_FED: &str = "no feed or no return reaches this amplifier yet";
    let not_fed = || Undecided::NotApplicable(NOT_FED);
    // Solved or asked for first: what is missing for the supply is told at once.
    job.supply()?;
    let graph = job.graph();
    let end = |terminal: &str| graph.node(amplifier.name, terminal).ok_or_else(not_fed);
    let (power, ground) = (end("power")?, end("ground")?);
    let runs = job.run_links(amplifier.name);
    let (_, back) = graph.nearest(ground, &graph.negatives(job), |_| true).ok_or_else(not_fed)?;
    if runs.feed.is_empty() {
        return Err(not_fed());
    }
    let there: Vec<(usize, usize)> = walk(graph, power, &runs.feed);
    let source = there.last().map_or(power, |(_, node)| *node);
    // Turned round, each link ends where the one before it, seen from the amplifier, began.
    let ends = std::iter::once(power).chain(there.iter().map(|(_, node)| *node));
    let mut links: Vec<(usize, usize)> = there.iter().map(|(link, _)| *link).zip(ends).collect();
    links.reverse();
    links.extend(walk(graph, ground, &back));
    let mut metres = 0.0;
    let mut pieced = Vec::new();
    for (link, node) in links {
        let forward = graph.links[link].b == node;
        let pieces = pieces(job, link, forward, &mut metres)?;
        pieced.push((node, pieces));
    }
    Ok(Way { there: runs.feed.len(), own: runs.back.len(), links: pieced, nodes: (source, power, ground) })
}

/// Links from a node on, each with the node that it leads to.
fn walk(graph: &Graph, from: usize, links: &[usize]) -> Vec<(usize, usize)> {
    let mut at = from;
    let step = |link: &usize| {
        let ends = &graph.links[*link];
        at = if ends.a == at { ends.b } else { ends.a };
        (*link, at)
    };
    links.iter().map(step).collect()
}

fn pieces(job: &Job<'_>, link: usize, forward: bool, metres: &mut f64) -> Decided<Vec<Piece>> {
    let mut parts = match &job.graph().links[link].kind {
        LinkKind::Wire(index) => wire_parts(job, *index)?,
        LinkKind::Output(block, output) => {
            let output = job.blocks[*block].outputs.get(output);
            let fuse = output.and_then(|output| output.fuse.as_ref());
            vec![(fuse.map_or(Part::Joint, |fuse| Part::Fuse(fuse_words(fuse))), 0.0, 1.0)]
        }
        LinkKind::Body => vec![(Part::Body, 0.0, 1.0)],
        LinkKind::Isolator(_) | LinkKind::Ground(_) | LinkKind::ChargeCable => vec![(Part::Joint, 0.0, 1.0)],
    };
    if !forward {
        parts.reverse();
    }
    let piece = |(is, length, ohms): (Part, f64, f64)| {
        let from = *metres;
        *metres += length;
        Piece { is, metres: (from, *metres), ohms }
    };
    Ok(parts.into_iter().map(piece).collect())
}

/// The parts of a wire from its `from` end: what each is, its length in metres, the middle of its resistance in ohm.
fn wire_parts(job: &Job<'_>, index: usize) -> Decided<Vec<(Part, f64, f64)>> {
    let wire = &job.wires[index];
    let length = wire.need("length", &wire.length)?.base();
    let temperature: Range<Temperature> = job.wire_temperature(wire)?;
    let per_metre: Range<Resistance> = job.conductor_resistance(wire, Range::point(1.0), temperature)?;
    let joint = job.joint(wire).range.middle();
    let distance = |fuse: &Option<Fuse>| fuse.as_ref().and_then(|fuse| fuse.distance).map_or(0.0, Quantity::base);
    let near = distance(&wire.fuse).min(length);
    let far = distance(&wire.far_fuse).min(length - near);
    let stretch = |metres: f64| (Part::Conductor(index), metres, per_metre.middle() * metres);
    let element = |fuse: &Fuse, key| {
        let ohms = job.fuse_resistance(fuse, &wire.at(key))?.range.middle();
        Ok([(Part::Joint, 0.0, joint), (Part::Fuse(fuse_words(fuse)), 0.0, ohms), (Part::Joint, 0.0, joint)])
    };
    let mut parts = vec![(Part::Joint, 0.0, joint)];
    if let Some(fuse) = &wire.fuse {
        parts.push(stretch(near));
        parts.extend(element(fuse, "fuse")?);
    }
    parts.push(stretch(length - near - far));
    if let Some(fuse) = &wire.far_fuse {
        parts.extend(element(fuse, "far_fuse")?);
        parts.push(stretch(far));
    }
    parts.push((Part::Joint, 0.0, joint));
    Ok(parts)
}

fn fuse_words(fuse: &Fuse) -> String {
    fuse.rating.map_or_else(|| "fuse".to_owned(), |rating| format!("{rating} fuse"))
}

/// What is lost at every end of a piece along a way, from the battery on: at each terminal as the network gives it, within
/// a wire shared out by the middle of what its parts resist.
///
/// # Errors
/// As [`Job::whole_drop`].
pub fn lost(job: &Job<'_>, way: &Way, case: Case) -> Decided<Vec<Lost>> {
    let solution = job.supply()?.solution(case)?;
    let (source, power, ground) = way.nodes;
    let mut before = Range::<Voltage>::point(0.0);
    let mut all = vec![Lost { metres: 0.0, volts: before }];
    for (at, (node, pieces)) in way.links.iter().enumerate() {
        let after = if at < way.there {
            solution.voltage_sum(&[(source, *node)])
        } else {
            solution.voltage_sum(&[(source, power), (ground, *node)])
        };
        let whole: f64 = pieces.iter().map(|piece| piece.ohms).sum();
        let mut part = 0.0;
        for (nth, piece) in pieces.iter().enumerate() {
            part += piece.ohms;
            let share = if nth + 1 == pieces.len() || whole <= 0.0 { 1.0 } else { part / whole };
            let between = |from: f64, to: f64| if share < 1.0 { from + (to - from) * share } else { to };
            let volts = Range::new(between(before.low(), after.low()), between(before.high(), after.high()));
            all.push(Lost { metres: piece.metres.1, volts });
        }
        before = after;
    }
    Ok(all)
}

/// What is lost along the way to each amplifier and back, with programme and at full output, engine idling.
pub fn drops(view: &View<'_>) -> Drawn {
    let job = view.job;
    Drawn::of(job.amplifiers.iter().enumerate().map(|(at, amplifier)| {
        (amplifier.address.to_string(), draw(job, amplifier, ident("drop", amplifier.name, at)))
    }))
}

const CASES: [(Case, &str); 2] = [(Case::IdleFull, "full output"), (Case::IdleProgramme, "programme")];

fn draw(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>, name: String) -> Decided<Drawing> {
    let way = way(job, amplifier)?;
    let solved: Vec<(Case, &str, Decided<Vec<Lost>>)> =
        CASES.iter().map(|(case, words)| (*case, *words, lost(job, &way, *case))).collect();
    if let Some((.., Err(undecided))) = solved.iter().find(|(.., lost)| lost.is_ok()).is_none().then(|| &solved[0]) {
        return Err(undecided.clone());
    }
    let places = places(&way);
    let limit = most_lost(job)?;
    let most = solved.iter().filter_map(|(.., lost)| lost.as_ref().ok()).flatten().map(|lost| lost.volts.high());
    let least = solved.iter().filter_map(|(.., lost)| lost.as_ref().ok()).flatten().map(|lost| lost.volts.low());
    let (most, least) = (most.fold(limit.base() * 1.1, f64::max), least.fold(0.0, f64::min));
    let y = Axis::straight("V lost on the way", least, most, 6.0);
    let last = places.last().copied().unwrap_or(1.0);
    let mut x = Axis::straight("m of wire, from the battery there and back", 0.0, last, 10.0).ending(last);
    let metres = way.metres(way.links.len());
    x.ticks.retain(|tick| *tick <= metres + 1e-9);
    let mut chart = Chart::new(WIDE, 190.0, x, y);
    for (case, words, lost) in &solved {
        if let Ok(lost) = lost {
            curve(&mut chart, &way, &places, lost, (*case, words));
        }
    }
    let turn = places[boundary(&way, way.there)];
    let end = places[boundary(&way, way.there + way.own)];
    chart.upright(turn, Pen { ink: Ink::Plain, stroke: crate::sheet::Stroke::Dotted, weight: 0.9 }, amplifier.name);
    chart.named_line(
        &[(0.0, limit.base()), (end, limit.base())],
        Pen::dotted(Ink::Plain),
        &format!("{} V at most in feed and return", digits(limit.base())),
    );
    for (from, to, words) in spans(job, &way, &places) {
        chart.span(from, to, &words);
    }
    let told: Vec<String> = solved.iter().map(|(case, words, _)| told(job, amplifier, *case, words)).collect();
    for line in &told {
        chart.note(line.as_str());
    }
    let description = describe(job, &way, &solved, &told);
    Ok(chart.finish(name, format!("Voltage lost on the way to {} and back", amplifier.name), description))
}

/// Where each end of a piece lies on the level axis: metres of wire, and a stretch for the body that has no length.
fn places(way: &Way) -> Vec<f64> {
    let body = 0.12 * way.metres(way.links.len()).max(0.5);
    let mut beyond = 0.0;
    let place = |piece: &Piece| {
        if piece.is == Part::Body {
            beyond += body;
        }
        piece.metres.1 + beyond
    };
    std::iter::once(0.0).chain(way.pieces().map(place).collect::<Vec<_>>()).collect()
}

/// Which end of a piece lies behind so many links.
fn boundary(way: &Way, links: usize) -> usize {
    way.links[..links.min(way.links.len())].iter().map(|(_, pieces)| pieces.len()).sum()
}

fn curve(chart: &mut Chart, way: &Way, places: &[f64], lost: &[Lost], (case, name): (Case, &str)) {
    let points = |volts: fn(&Lost) -> f64| -> Vec<Point> {
        places.iter().zip(lost).map(|(place, lost)| (*place, volts(lost))).collect()
    };
    let (low, high) = (points(|lost| lost.volts.low()), points(|lost| lost.volts.high()));
    let turn = boundary(way, way.there);
    let pen = if case == Case::IdleFull { Pen::solid } else { Pen::dashed };
    for (part, ink) in [(0..=turn, Ink::Feed), (turn..=places.len() - 1, Ink::Return)] {
        let (low, high) = (&low[part.clone()], &high[part]);
        let name = if ink == Ink::Feed { name } else { "" };
        chart.stretch(low, high, pen(ink), name);
    }
    if let (Case::IdleFull, Some(end)) = (case, high.last()) {
        chart.dot(*end, Ink::Return, "");
    }
}

/// Names along the axis: wires, fuses, the body.
fn spans(job: &Job<'_>, way: &Way, places: &[f64]) -> Vec<(f64, f64, String)> {
    let mut spans: Vec<(f64, f64, String)> = Vec::new();
    let mut wires: Vec<(usize, f64, f64)> = Vec::new();
    for (at, piece) in way.pieces().enumerate() {
        let (from, to) = (places[at], places[at + 1]);
        match &piece.is {
            Part::Conductor(wire) => match wires.last_mut() {
                Some((last, _, end)) if last == wire => *end = to,
                _ => wires.push((*wire, from, to)),
            },
            Part::Fuse(words) => spans.push((from, to, words.clone())),
            Part::Body => spans.push((from, to, "body".to_owned())),
            Part::Joint => {}
        }
    }
    let named = wires.into_iter().map(|(wire, from, to)| {
        let wire = &job.wires[wire];
        let size = wire.size.map_or_else(String::new, |size| format!(", {size}"));
        (from, to, format!("{}{size}", wire.name))
    });
    let mut all: Vec<(f64, f64, String)> = named.chain(spans).collect();
    all.sort_by(|one, other| one.0.total_cmp(&other.0).then(one.1.total_cmp(&other.1)));
    all
}

/// What arrives and what is lost in a case, in a sentence.
fn told(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>, case: Case, words: &str) -> String {
    let arrives = job.terminal_voltage(amplifier.name, case).map(|known| known.range);
    let runs = job.run_drop(amplifier.name, case).map(|known| known.range);
    let back = job.return_drop(amplifier.name, case).map(|known| known.range);
    let all = || Ok((arrives?, runs?, most_lost(job)?, back?));
    match all() {
        Ok((arrives, runs, most, back)) => format!(
            "{words}: {arrives} arrives; {runs} lost in feed and return (most {most}), {back} on the way back (most {})",
            job.house.limits.return_drop.value
        ),
        Err(undecided) => format!("{words}: {}", crate::sheet::drawn::why(&undecided)),
    }
}

/// What feed and return of an amplifier may lose.
fn most_lost(job: &Job<'_>) -> Decided<Quantity<Voltage>> {
    Ok(job.house.limits.supply_drop.times(job.system_multiple()?).value)
}

fn describe(job: &Job<'_>, way: &Way, solved: &[(Case, &str, Decided<Vec<Lost>>)], told: &[String]) -> String {
    let mut sentences: Vec<String> = told.iter().map(|line| format!("At {line}.")).collect();
    if let Some((_, words, Ok(lost))) = solved.iter().find(|(.., lost)| lost.is_ok()) {
        let stages = spans(job, way, &(0..=way.pieces().count()).map(as_place).collect::<Vec<_>>());
        let stage = |(from, to, name): &(f64, f64, String)| {
            let at =
                |place: f64| lost.iter().enumerate().find(|(at, _)| as_place(*at) == place).map(|(_, lost)| lost.volts);
            let (before, after) = (at(*from)?, at(*to)?);
            let part = Range::<Voltage>::new(after.low() - before.low(), after.high() - before.high());
            Some(format!("{name} {part}"))
        };
        let stages: Vec<String> = stages.iter().filter_map(stage).collect();
        sentences.push(format!("Lost at {words}, by part: {}.", stages.join("; ")));
    }
    sentences.join(" ")
}

/// The number of an end of a piece, as a place.
fn as_place(at: usize) -> f64 {
    f64::from(u32::try_from(at).unwrap_or(u32::MAX))
}
