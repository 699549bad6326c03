//! Nothing may lie where an airbag unfolds or along its harness.

use super::ways::{Forbidden, stay_away};
use crate::judge::{Rule, Severity, Subjects};
use crate::plan::ZoneKind;

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-07",
    name: "airbag",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("airbag.md"),
    check: Subjects::Each(|job| stay_away(job, &FORBIDDEN)),
    slips: &[
        super::Slip::Insert("wires.*.path", &["airbag-path", "airbag-harness"]),
        super::Slip::Insert("turn_on.*.path", &["airbag-path", "airbag-harness"]),
        super::Slip::Insert("signals.*.lead.path", &["airbag-path", "airbag-harness"]),
    ],
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Airbag,
    title: "where an airbag or its harness needs the room",
    why: "a lead in front of an airbag turns into a whip or holds the bag back, and one along its harness can disturb or damage it",
    mend: "take another way: low in the sill or along the tunnel, and never tied to the airbag harness",
};

#[cfg(test)]
mod tests {
    use crate::rules::route::ways::trial;

    #[test]
    fn every_such_place_fails_for_every_kind_of_lead_at_its_word() {
        trial::fails_at_its_word("ROUTE-07", &["airbag-path", "airbag-harness"]);
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        trial::passes_clear_and_is_open_unstated("ROUTE-07", "right-pillar");
    }
}
