//! What the rules of this family ask of grounds and returns, and what they offer.

use crate::judge::Offer;
use crate::plan::{Ground, Terminal, Wire};
use crate::solve::graph::LinkKind;
use crate::solve::{Job, Place, Thing};

/// A locked bolt of its own in the place of what fastens a ground; its thread stays.
pub fn own_bolt(ground: &Thing<'_, Ground>) -> Offer {
    let bolt = Offer::new("give it a locked bolt of its own");
    let bolt = bolt.set(ground.at("fastener.kind"), "bolt").set(ground.at("fastener.locking"), true);
    bolt.set(ground.at("fastener.shared"), false)
}

/// A ground on the body itself: ground bare, bolted, coated.
pub fn elsewhere(ground: &Thing<'_, Ground>) -> Offer {
    let offer = Offer::new("ground it on bare body sheet").set(ground.at("on"), "body-sheet");
    let offer = offer.set(ground.at("surface"), "bare-metal").set(ground.at("coated_after"), true);
    let bolt = own_bolt(ground);
    Offer { deeds: offer.deeds.into_iter().chain(bolt.deeds).collect(), title: offer.title }
}

/// What a return comes from.
pub struct ReturnStart {
    /// What it is called: an amplifier or something else with a ground terminal, or a block that gathers several returns.
    pub noun: &'static str,
    /// Whether what lifts its ground is heard.
    pub is_heard: bool,
}

/// What a return comes from that starts at this terminal.
fn return_start(terminal: &Terminal, job: &Job<'_>) -> Option<ReturnStart> {
    if job.plan.blocks.contains_key(&terminal.thing) {
        return Some(ReturnStart { noun: "block", is_heard: true });
    }
    let grounded = job.grounded().into_iter().find(|is| terminal.is(is.name, "ground"))?;
    Some(ReturnStart { noun: grounded.noun, is_heard: grounded.plays })
}

/// What a wire brings back that is a return to a terminal of this sort, laid in either direction.
pub fn returned_to(wire: &Wire, job: &Job<'_>, goal: impl Fn(&Terminal) -> bool) -> Option<ReturnStart> {
    let (from, to) = (wire.from.as_ref()?, wire.to.as_ref()?);
    let forth = if goal(to) { return_start(from, job) } else { None };
    forth.or_else(|| if goal(from) { return_start(to, job) } else { None })
}

/// Where the return of gear leaves its own runs.
pub struct ReturnEnd {
    /// The node of the nearest ground or battery's negative post.
    pub node: usize,
    /// The words in the plan that name it.
    pub place: Place,
    /// The wire that ends there.
    pub wire: Place,
    /// How the plan names it.
    pub name: String,
    /// Whether cables alone, without the body, lead to a battery's negative post.
    pub reaches_battery: bool,
}

/// Where gear's own return runs end, if they lead anywhere yet.
pub fn return_end(job: &Job<'_>, gear: &str) -> Option<ReturnEnd> {
    let graph = job.graph();
    let from = graph.node(gear, "ground")?;
    let posts = graph.negatives(job);
    let grounds = job.grounds.iter().filter_map(|ground| graph.node("grounds", ground.name));
    let ends: Vec<usize> = grounds.chain(posts.iter().copied()).collect();
    let (node, way) = graph.nearest(from, &ends, LinkKind::is_laid)?;
    let last = &graph.links[*way.last()?];
    let LinkKind::Wire(wire) = last.kind else { return None };
    let place = job.wires[wire].at(if last.b == node { "to" } else { "from" });
    let reaches_battery = graph.nearest(from, &posts, LinkKind::is_laid).is_some();
    let wire = job.wires[wire].place();
    Some(ReturnEnd { node, place, wire, name: graph.terminals[node].clone(), reaches_battery })
}
