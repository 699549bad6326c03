//! What may be changed to mend a plan: what it decides. All else it states is a fact about the vehicle or the gear.

use crate::text::fits;

/// What a plan decides. Everything else it states is a fact about the vehicle or the gear, and no fix turns a fact.
const DECISIONS: [&str; 37] = [
    "wires.*.size",
    "wires.*.conductor",
    "wires.*.stranding",
    "wires.*.insulation",
    "wires.*.colour",
    "wires.*.covering",
    "wires.*.fixed_every",
    "wires.*.fuse.rating",
    "wires.*.fuse.form",
    "wires.*.fuse.distance",
    "wires.*.fuse.voltage",
    "wires.*.fuse.holder.sealed",
    "wires.*.far_fuse.rating",
    "wires.*.far_fuse.form",
    "wires.*.far_fuse.distance",
    "wires.*.far_fuse.holder.sealed",
    "wires.*.crossings.*.sealed",
    "wires.*.crossings.*.through",
    "wires.*.ends.*.kind",
    "wires.*.ends.*.made",
    "wires.*.ends.*.stud",
    "wires.*.ends.*.strip",
    "blocks.*.outputs.*.fuse.rating",
    "grounds.*.surface",
    "grounds.*.coated_after",
    "grounds.*.fastener.kind",
    "grounds.*.fastener.locking",
    "turn_on.*.fuse",
    "turn_on.*.tap",
    "turn_on.*.relay.suppression",
    "turn_on.*.crossings.*.sealed",
    "signals.*.lead.shielded",
    "signals.*.lead.separation",
    "loads.*.lead.size",
    "mounts.*.clearance",
    "mounts.*.fasteners.*",
    "settings.*.*",
];

/// What a rule may offer besides: whole things and lists that a plan decides.
const DECIDED_WHOLE: &[&str] = &[
    "wires.*.fuse.holder.*",
    "wires.*.far_fuse.holder.*",
    "wires.*.far_fuse.voltage",
    "wires.*.ends.*.takes",
    "wires.*.fuse.breaking_capacity",
    "wires.*.fuse.reset",
    "wires.*.fuse.trip_free",
    "wires.*.fuse.ignition_protected",
    "wires.*.far_fuse.reset",
    "wires.*.far_fuse.trip_free",
    "wires.*.far_fuse.ignition_protected",
    "blocks.*.outputs.*.fuse.reset",
    "blocks.*.outputs.*.fuse.trip_free",
    "blocks.*.outputs.*.fuse.ignition_protected",
    "wires.*.far_fuse.breaking_capacity",
    "blocks.*.outputs.*.fuse.breaking_capacity",
    "blocks.*.outputs.*.fuse",
    "blocks.*.outputs.*.fuse.form",
    "blocks.*.outputs.*.fuse.voltage",
    "wires.*",
    "wires.*.length",
    "grounds.*",
    "grounds.*.fastener.shared",
    "grounds.*.fastener.thread",
    "turn_on.*.from",
    "turn_on.*.from.kind",
    "turn_on.*.from.circuit",
    "turn_on.*.from.delay",
    "turn_on.*.to.*",
    "signals.*.to",
    "signals.*.taken_at.load_resistor",
    "signals.*.taken_at",
    "amplifiers.*.location",
    "enclosures.*.vent.*",
    "loads.*.reversed",
    "batteries.*.vented_outside",
    "steps.*.*",
    "wires.*.fuse",
    "wires.*.far_fuse",
    "wires.*.path",
    "wires.*.path.*",
    "wires.*.crossings.*",
    "wires.*.to",
    "wires.*.from",
    "grounds.*.on",
    "grounds.*.fastener",
    "turn_on.*",
    "turn_on.*.relay",
    "turn_on.*.path.*",
    "turn_on.*.crossings.*",
    "turn_on.*.crossings.*.through",
    "signals.*.lead.path.*",
    "signals.*.lead.crosses_at",
    "signals.*.lead.crossings.*",
    "signals.*.lead.crossings.*.through",
    "signals.*.lead.crossings.*.sealed",
    "loads.*.lead.path.*",
    "loads.*.lead.crossings.*",
    "loads.*.lead.crossings.*.through",
    "loads.*.lead.crossings.*.sealed",
    "loads.*.coils",
    "loads.*.outputs",
    "mounts.*.*",
    "enclosures.*.*",
    "settings.*",
    "steps.*",
    "waivers.*",
];

/// Whether a path is something that a plan decides.
pub fn is_decision(path: &str) -> bool {
    DECISIONS.iter().any(|pattern| fits(pattern, path))
}

/// Whether a path is something that a rule may offer to change.
pub fn may_be_offered(path: &str) -> bool {
    let is_coil = fits("loads.*.coils", &path.split('.').take(3).collect::<Vec<_>>().join("."));
    is_coil || is_decision(path) || DECIDED_WHOLE.iter().any(|pattern| fits(pattern, path))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fuse_is_decided_and_what_an_amplifier_bears_is_not() {
        assert!(is_decision("wires.main.fuse.rating") && may_be_offered("wires.main.fuse.rating"));
        assert!(!is_decision("amplifiers.amp.minimum_load") && !may_be_offered("amplifiers.amp.minimum_load"));
    }

    #[test]
    fn a_whole_thing_is_offered_and_never_searched() {
        for path in ["wires.main", "waivers.0", "loads.bass.coils", "loads.bass.coils.series.0"] {
            assert!(may_be_offered(path) && !is_decision(path), "{path}");
        }
    }
}
