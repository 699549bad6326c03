//! Grounds and returns: what they are fastened to, how long they are, what they lose.

mod apart;
mod fastener;
mod long_cable;
mod long_return;
mod loose_part;
mod no_body_return;
mod paint;
mod return_drop;
mod safety_part;
mod uncoated;

use crate::judge::Family;
use crate::plan::{Amplifier, Terminal, Wire};
use crate::solve::graph::LinkKind;
use crate::solve::{Job, Place, Thing};

/// The family.
pub const FAMILY: Family = Family {
    code: "GROUND",
    title: "Grounds and returns: metal, fastener, length, drop",
    rules: &[
        paint::RULE,
        long_return::RULE,
        loose_part::RULE,
        safety_part::RULE,
        long_cable::RULE,
        apart::RULE,
        uncoated::RULE,
        fastener::RULE,
        no_body_return::RULE,
        return_drop::RULE,
    ],
};

/// Whether a return starts at this terminal: an amplifier's ground, or a block that gathers several.
fn is_return_start(terminal: &Terminal, job: &Job<'_>) -> bool {
    let amplifier = terminal.terminal == "ground" && job.amplifier(&terminal.thing).is_some();
    amplifier || job.plan.blocks.contains_key(&terminal.thing)
}

/// Whether a wire is a return to a terminal of this sort, laid in either direction.
fn is_return_to(wire: &Wire, job: &Job<'_>, goal: impl Fn(&Terminal) -> bool) -> bool {
    match (&wire.from, &wire.to) {
        (Some(from), Some(to)) => (goal(to) && is_return_start(from, job)) || (goal(from) && is_return_start(to, job)),
        _ => false,
    }
}

/// Where the return of an amplifier leaves its own runs.
struct ReturnEnd {
    /// The node of the ground, or of a battery's negative post.
    node: usize,
    /// The words in the plan that name it.
    place: Place,
    /// How the plan names it.
    name: String,
    /// Whether it is a battery's post.
    is_battery: bool,
}

/// Where an amplifier's own return runs end; a battery's post is preferred, since it needs no body.
fn return_end(job: &Job<'_>, amplifier: &Thing<'_, Amplifier>) -> Option<ReturnEnd> {
    let graph = job.graph();
    let from = graph.node(amplifier.name, "ground")?;
    let is_run = |kind: &LinkKind| matches!(kind, LinkKind::Wire(_) | LinkKind::Output(..));
    let grounds: Vec<usize> = job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name)).collect();
    let (node, way, is_battery) = match graph.nearest(from, &graph.negatives(job), is_run) {
        Some((node, way)) => (node, way, true),
        None => graph.nearest(from, &grounds, is_run).map(|(node, way)| (node, way, false))?,
    };
    let last = way.iter().rev().find_map(|link| match graph.links[*link].kind {
        LinkKind::Wire(index) => Some((index, graph.links[*link].b)),
        _ => None,
    });
    let (wire, b) = last?;
    let place = job.wires[wire].at(if b == node { "to" } else { "from" });
    Some(ReturnEnd { node, place, name: graph.terminals[node].clone(), is_battery })
}
