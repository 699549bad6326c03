//! A supply lead that chafes on a fuel or brake line burns a hole into it.

use super::ways::{Forbidden, stay_away};
use crate::judge::{Rule, Severity, Subjects};
use crate::plan::ZoneKind;

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-11",
    name: "fuel-and-brake-lines",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("lines.md"),
    check: Subjects::Each(|job| stay_away(job, &FORBIDDEN)),
    slips: &[
        super::Slip::Insert("wires.*.path", &["fuel-line", "brake-line"]),
        super::Slip::Insert("turn_on.*.path", &["fuel-line", "brake-line"]),
        super::Slip::Insert("signals.*.lead.path", &["fuel-line", "brake-line"]),
    ],
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Line,
    title: "where it can chafe on the line",
    why: "a short on a fuel or brake line burns a hole into it",
    mend: "take another way, inside the cabin where there is one, and never tie a lead to a line",
};

#[cfg(test)]
mod tests {
    use crate::rules::route::ways::trial;

    #[test]
    fn every_such_place_fails_for_every_kind_of_lead_at_its_word() {
        trial::fails_at_its_word("ROUTE-11", &["fuel-line", "brake-line"]);
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        trial::passes_clear_and_is_open_unstated("ROUTE-11", "underbody");
    }
}
