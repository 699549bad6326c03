//! Ends of wires and leads that a plan does not state.

use crate::solve::{Job, Place};

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
