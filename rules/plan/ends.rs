//! Where wires and leads end: what the plan states of it, and what it does not.

use crate::plan::Terminal;
use crate::solve::{Job, Place};

/// Every end of a wire or a turn-on lead, with its place.
pub fn stated<'j>(job: &'j Job<'_>) -> Vec<(Place, &'j Terminal)> {
    let wires = job.wires.iter().flat_map(|wire| {
        let ends = [("from", wire.plan().from.as_ref()), ("to", wire.plan().to.as_ref())];
        ends.into_iter().filter_map(|(key, end)| Some((wire.at(key), end?)))
    });
    let leads = job.turn_on.iter().flat_map(|lead| {
        lead.plan().to.iter().enumerate().map(|(at, terminal)| (lead.at(format!("to.{at}")), terminal))
    });
    wires.chain(leads).collect()
}

/// The ends that a section does not state: each may be the connection that is missing.
pub fn unstated(section: &str, job: &Job<'_>) -> Vec<Place> {
    let place = |name: &str, key: &str| Place::of(format!("{section}.{name}.{key}"));
    let plan = job.plan;
    match section {
        "wires" => {
            let ends = plan.wires.iter().flat_map(|(name, wire)| {
                [("from", wire.from.is_none()), ("to", wire.to.is_none())].map(|(key, is_open)| (name, key, is_open))
            });
            ends.filter(|(.., is_open)| *is_open).map(|(name, key, _)| place(name, key)).collect()
        }
        "turn_on" => {
            plan.turn_on.iter().filter(|(_, lead)| lead.to.is_empty()).map(|(name, _)| place(name, "to")).collect()
        }
        "signals" => {
            plan.signals.iter().filter(|(_, signal)| signal.to.is_none()).map(|(name, _)| place(name, "to")).collect()
        }
        _ => {
            let open = plan.loads.iter().filter(|(_, load)| load.amplifier.is_none());
            open.map(|(name, _)| place(name, "amplifier")).collect()
        }
    }
}
