//! Insulation melts on hot parts.

use super::ways::{Forbidden, stay_away};
use crate::judge::{Judged, Rule, Severity, Subjects};
use crate::plan::ZoneKind;
use crate::solve::{Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-06",
    name: "hot-parts",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("hot_parts.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Insert("wires.*.path", &["exhaust", "hot-engine-parts"]),
        super::Slip::Insert("turn_on.*.path", &["exhaust", "hot-engine-parts"]),
        super::Slip::Insert("signals.*.lead.path", &["exhaust", "hot-engine-parts"]),
    ],
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Hot,
    title: "where insulation melts",
    why: "an exhaust or a turbocharger is hotter than any insulation stands, and the bare conductor then meets metal",
    mend: "take another way, with at least a hand's breadth of air or a heat shield between",
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    stay_away(job, &FORBIDDEN)
}

#[cfg(test)]
mod tests {
    use crate::rules::route::ways::trial;

    #[test]
    fn every_such_place_fails_for_every_kind_of_lead_at_its_word() {
        trial::fails_at_its_word("ROUTE-06", &["exhaust", "hot-engine-parts"]);
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        trial::passes_clear_and_is_open_unstated("ROUTE-06", "right-sill");
    }
}
