//! Vehicles with their positive on the body: a plan says so, or draws its gear that way.
//!
//! Everything else here takes the negative for the side that the body is on, so that nothing of such a supply is computed.

use super::facts::Facts;
use super::graph::{Graph, LinkKind};
use super::known::Place;
use crate::plan::Earth;

/// Why nothing of the supply is computed or judged.
pub const WHY: &str = "the vehicle has its positive on the body, or its gear is wired so: such a vehicle cannot be planned with \
                       this format (WIRE-15 reports that)";

/// What says that the positive is on the body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PositiveEarth {
    /// The plan, in a word.
    Stated,
    /// Gear that is wired so.
    Drawn {
        /// Its place.
        place: Place,
        /// The node of the terminal that it is fed by, which leads to the body.
        fed: usize,
        /// The node of its ground terminal, which leads to the negative post of a battery.
        ground: usize,
    },
}

/// Whether the positive is on the body.
pub(super) fn of(facts: &Facts<'_>, graph: &Graph) -> Option<PositiveEarth> {
    match facts.plan.earth() {
        Some(Earth::Positive) => Some(PositiveEarth::Stated),
        Some(Earth::Negative) => None,
        None => drawn(facts, graph),
    }
}

/// The first gear whose feed leads to the body and whose return leads to a negative post, where nothing is wired as it is with
/// the negative on the body: one such piece of gear beside others that are right is a slip.
fn drawn(facts: &Facts<'_>, graph: &Graph) -> Option<PositiveEarth> {
    let (pluses, minuses) = (graph.positives(facts), graph.negatives(facts));
    let posts = [pluses.as_slice(), &minuses].concat();
    let is_body = |node: &usize| graph.is_negative(*node) && !minuses.contains(node);
    let body: Vec<usize> = (0..graph.terminals.len()).filter(is_body).collect();
    // Over a post or a ground leads no way of gear's own.
    let leads =
        |from: usize, to: &[usize], past: &[usize]| graph.nearest_past(from, to, past, LinkKind::conducts).is_some();
    if minuses.iter().any(|minus| leads(*minus, &body, &pluses)) {
        return None;
    }
    let mut found = None;
    for (section, name, fed) in facts.fed_and_grounded() {
        let (Some(fed), Some(ground)) = (graph.node(name, fed), graph.node(name, "ground")) else { continue };
        let from_plus = leads(fed, &pluses, &body);
        if from_plus && (leads(ground, &body, &posts) || leads(ground, &minuses, &body)) {
            return None;
        }
        if found.is_none() && leads(fed, &body, &posts) && leads(ground, &minuses, &body) {
            found = Some(PositiveEarth::Drawn { place: Place::of(format!("{section}.{name}")), fed, ground });
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::of_job;
    use super::*;

    fn found(vehicle: &str, wires: &str) -> Option<PositiveEarth> {
        let text = format!(
            "plan: 1\nvehicle: {{{vehicle}}}\namplifiers: {{amp: {{}}, other: {{}}}}\nisolators: {{dcdc: {{kind: charger}}}}\n\
             blocks: {{split: {{outputs: {{one: {{}}, two: {{}}}}}}}}\nbatteries: {{rear: {{}}}}\ngrounds: {{floor: {{}}, rail: {{}}}}\n\
             wires:\n{wires}  last: {{}}\n"
        );
        of_job(&text, |job| job.polarity().positive_earth.clone())
    }

    fn is_drawn(wires: &str) -> bool {
        matches!(found("", wires), Some(PositiveEarth::Drawn { .. }))
    }

    const LIVE: &str = "  live: {from: battery.negative, to: amp.ground}\n";
    const EARTH: &str = "  earth: {from: amp.power, to: grounds.floor}\n";

    #[test]
    fn what_a_plan_says_holds_whatever_it_draws() {
        let picture = format!("{LIVE}{EARTH}");
        assert_eq!(found("earth: positive", ""), Some(PositiveEarth::Stated));
        assert_eq!(found("earth: negative", &picture), None);
        assert!(is_drawn(&picture));
    }

    #[test]
    fn gear_between_the_negative_post_and_the_body_is_the_picture() {
        let strap = "  strap: {from: battery.positive, to: grounds.floor}\n";
        assert!(is_drawn(&format!("{LIVE}{EARTH}{strap}")), "the factory's strap is drawn too");
        let block = "  main: {from: battery.negative, to: split.in}\n  live: {from: split.one, to: amp.ground}\n";
        assert!(is_drawn(&format!("{block}{EARTH}")));
        let gathered = "  a: {from: amp.power, to: split.one}\n  b: {from: split.in, to: grounds.rail}\n";
        assert!(is_drawn(&format!("{LIVE}{gathered}")));
        let second = "  live: {from: rear.negative, to: amp.ground}\n";
        assert!(is_drawn(&format!("{second}{EARTH}")));
        let charger = "  a: {from: battery.negative, to: dcdc.ground}\n  b: {from: dcdc.in, to: grounds.floor}\n";
        assert!(is_drawn(charger));
    }

    /// The first in the plan is told.
    #[test]
    fn of_two_the_first_is_told() {
        let second = "  live-too: {from: battery.negative, to: other.ground}\n  earth-too: {from: other.power, to: grounds.floor}\n";
        let told = found("", &format!("{LIVE}{EARTH}{second}"));
        assert!(matches!(told, Some(PositiveEarth::Drawn { place, .. }) if place.path() == "amplifiers.amp"));
    }

    #[test]
    fn what_is_wired_with_the_negative_on_the_body_is_not() {
        assert!(!is_drawn(LIVE), "the feed is still to be drawn");
        assert!(!is_drawn(EARTH));
        let feed = "  feed: {from: battery.positive, to: amp.power}\n";
        assert!(!is_drawn(&format!("{feed}{LIVE}")), "a return to the post");
        assert!(!is_drawn(&format!("{feed}{LIVE}{EARTH}")), "a short, which WIRE-14 tells");
        let oops = "  oops: {from: battery.positive, to: grounds.rail}\n";
        assert!(!is_drawn(&format!("{feed}{LIVE}{oops}")));
        let strap = "  strap: {from: battery.negative, to: grounds.floor}\n";
        assert!(!is_drawn(&format!("{LIVE}{EARTH}{strap}")), "the negative is on the body");
        let right = "  f: {from: battery.positive, to: other.power}\n  r: {from: other.ground, to: grounds.rail}\n";
        assert!(!is_drawn(&format!("{LIVE}{EARTH}{right}")), "a slip beside gear that is right");
        let turned = "  a: {from: battery.positive, to: amp.ground}\n  b: {from: amp.power, to: grounds.floor}\n";
        assert!(!is_drawn(turned), "plus and minus are exchanged");
    }
}
