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
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Hot,
    title: "which melts insulation",
    why: "an exhaust or a turbocharger is hotter than any insulation stands, and the bare conductor then meets metal",
    mend: "take another way, with at least a hand's breadth of air or a heat shield between",
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    stay_away(job, &FORBIDDEN)
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(zone: &str) -> String {
        format!(
            "plan: 1\nwires: {{main: {{path: [dash, {zone}, cargo]}}}}\n\
             turn_on: {{remote: {{path: [dash, {zone}, cargo]}}}}\nsignals: {{left: {{lead: {{path: [dash, {zone}]}}}}}}\n"
        )
    }

    #[test]
    fn every_such_place_fails_for_every_kind_of_lead_at_its_word() {
        for zone in ["exhaust", "hot-engine-parts"] {
            for (lead, base) in [
                ("wires.main", "wires.main"),
                ("turn_on.remote", "turn_on.remote"),
                ("signals.left", "signals.left.lead"),
            ] {
                let check = check(&plan(zone), "ROUTE-06", lead);
                assert_eq!(check.outcome, Outcome::Fail, "{zone} {lead}");
                assert_eq!(check.finding.expect("it fails").at.place.path(), format!("{base}.path.1"));
            }
        }
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        assert_eq!(outcome(&plan("right-sill"), "ROUTE-06", "wires.main"), Outcome::Pass);
        let check = check("plan: 1\nsignals: {left: {}}\n", "ROUTE-06", "signals.left");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "signals.left.lead.path");
    }
}
