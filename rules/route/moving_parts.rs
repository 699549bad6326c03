//! Parts that move cut what lies in their way, and a lead can keep them from moving.

use super::ways::{Forbidden, stay_away};
use crate::judge::{Rule, Severity, Subjects};
use crate::plan::ZoneKind;

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-05",
    name: "moving-parts",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("moving_parts.md"),
    check: Subjects::Each(|job| stay_away(job, &FORBIDDEN)),
    slips: &[
        super::Slip::Insert("wires.*.path", &["seat-track", "hinge", "pedals", "steering-column"]),
        super::Slip::Insert("turn_on.*.path", &["seat-track", "hinge", "pedals", "steering-column"]),
        super::Slip::Insert("signals.*.lead.path", &["seat-track", "hinge", "pedals", "steering-column"]),
    ],
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Moving,
    title: "where something moves",
    why: "moving parts cut a lead through, and a lead in the pedals or the steering keeps them from moving",
    mend: "lay it beside, under the trim, where nothing moves even with the seat at its ends",
};

#[cfg(test)]
mod tests {
    use crate::rules::route::ways::trial;

    #[test]
    fn every_such_place_fails_for_every_kind_of_lead_at_its_word() {
        trial::fails_at_its_word("ROUTE-05", &["pedals", "steering-column", "seat-track", "hinge"]);
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        trial::passes_clear_and_is_open_unstated("ROUTE-05", "under-seat");
    }
}
