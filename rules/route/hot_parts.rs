//! Insulation melts on hot parts.

use super::ways::{Forbidden, stay_away};
use crate::judge::{Rule, Severity, Subjects};
use crate::plan::ZoneKind;

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-06",
    name: "hot-parts",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("hot_parts.md"),
    check: Subjects::Each(|job| stay_away(job, &FORBIDDEN)),
    slips: &[
        super::Slip::Insert("wires.*.path", &["exhaust", "hot-engine-parts"]),
        super::Slip::Insert("turn_on.*.path", &["exhaust", "hot-engine-parts"]),
        super::Slip::Insert("signals.*.lead.path", &["exhaust", "hot-engine-parts"]),
    ],
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Hot,
    title: "where insulation melts",
    why: "an exhaust or a turbocharger is hotter than any insulation withstands, and the bare conductor then meets metal",
    mend: "take another way, with at least a hand's breadth of air or a heat shield between",
};

#[cfg(test)]
mod tests {
    use crate::rules::route::ways::trial;
    use crate::rules::trial::{after, offered};

    #[test]
    fn every_such_place_fails_for_every_kind_of_lead_at_its_word() {
        trial::fails_at_its_word("ROUTE-06", &["exhaust", "hot-engine-parts"]);
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        trial::passes_clear_and_is_open_unstated("ROUTE-06", "right-sill");
    }

    #[test]
    fn the_way_past_it_and_the_usual_ways_are_offered() {
        let text = "plan: 1\nwires: {main: {path: [engine-bay, firewall, right-sill, exhaust, cargo]}}\n";
        let titles = offered(text, "ROUTE-06", "wires.main").into_iter().map(|(title, _)| title);
        assert_eq!(
            titles.collect::<Vec<_>>(),
            [
                "lead it from right-sill straight to cargo, past exhaust",
                "lead it through left-sill",
                "lead it through centre-tunnel",
                "lead it through cabin-floor"
            ]
        );
        let ways = after(text, "ROUTE-06", "wires.main");
        assert_eq!(ways[0], text.replace("exhaust, ", ""));
        assert_eq!(ways[1], text.replace("exhaust", "left-sill"));
    }
}
