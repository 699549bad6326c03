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

use crate::judge::{Family, Judged, Offer, Slip};
use crate::plan::{Ground, Terminal, Wire};
use crate::solve::graph::LinkKind;
use crate::solve::{Job, Place, Thing, Undecided};

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

/// What is said of a ground's surface, fastener and coat where it has to go elsewhere: it is told below the finding that
/// says so, and asks for no fact.
fn where_it_stays(ground: &Thing<'_, Ground>, judged: Judged) -> Judged {
    let cause = match ground.on {
        Some(on) if loose_part::is_loose(on) => "GROUND-03",
        Some(on) if safety_part::safety(on).is_some() => "GROUND-04",
        _ => return judged,
    };
    match judged {
        Ok(mut verdict) => {
            verdict.finding = verdict.finding.map(|finding| Box::new(finding.follows(cause, ground.place())));
            Ok(verdict)
        }
        Err(Undecided::Open(_)) => Err(Undecided::NotApplicable("it has to go elsewhere, whatever is there")),
        other => other,
    }
}

/// A locked bolt of its own in the place of what fastens a ground; its thread stays.
fn own_bolt(ground: &Thing<'_, Ground>) -> Offer {
    let bolt = Offer::new("give it a locked bolt of its own");
    let bolt = bolt.set(ground.at("fastener.kind"), "bolt").set(ground.at("fastener.locking"), true);
    bolt.set(ground.at("fastener.shared"), false)
}

/// A ground on the body itself: ground bare, bolted, coated.
fn elsewhere(ground: &Thing<'_, Ground>) -> Offer {
    let offer = Offer::new("ground it on bare body sheet").set(ground.at("on"), "body-sheet");
    let offer = offer.set(ground.at("surface"), "bare-metal").set(ground.at("coated_after"), true);
    let bolt = own_bolt(ground);
    Offer { deeds: offer.deeds.into_iter().chain(bolt.deeds).collect(), title: offer.title }
}

/// What a return comes from.
struct ReturnStart {
    /// What it is called: an amplifier or something else with a ground terminal, or a block that gathers several returns.
    noun: &'static str,
    /// Whether what lifts its ground is heard.
    is_heard: bool,
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
fn returned_to(wire: &Wire, job: &Job<'_>, goal: impl Fn(&Terminal) -> bool) -> Option<ReturnStart> {
    let (from, to) = (wire.from.as_ref()?, wire.to.as_ref()?);
    let forth = if goal(to) { return_start(from, job) } else { None };
    forth.or_else(|| if goal(from) { return_start(to, job) } else { None })
}

/// Where the return of gear leaves its own runs.
struct ReturnEnd {
    /// The node of the nearest ground or battery's negative post.
    node: usize,
    /// The words in the plan that name it.
    place: Place,
    /// The wire that ends there.
    wire: Place,
    /// How the plan names it.
    name: String,
    /// Whether cables alone, without the body, lead to a battery's negative post.
    reaches_battery: bool,
}

/// Where gear's own return runs end, if they lead anywhere yet.
fn return_end(job: &Job<'_>, gear: &str) -> Option<ReturnEnd> {
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
