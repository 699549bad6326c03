//! Parts that move cut what lies in their way, and a lead can keep them from moving.

use super::ways::{Forbidden, stay_away};
use crate::judge::{Judged, Rule, Severity, Subjects};
use crate::plan::ZoneKind;
use crate::solve::{Job, Place};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-05",
    name: "moving-parts",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("moving_parts.md"),
    check: Subjects::Each(check),
};

const FORBIDDEN: Forbidden = Forbidden {
    kind: ZoneKind::Moving,
    title: "which moves",
    why: "moving parts cut a lead through, and a lead in the pedals or the steering keeps them from moving",
    mend: "lay it beside, under the trim, where nothing moves even with the seat at its ends",
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
        for zone in ["pedals", "steering-column", "seat-track", "hinge"] {
            for (lead, base) in [
                ("wires.main", "wires.main"),
                ("turn_on.remote", "turn_on.remote"),
                ("signals.left", "signals.left.lead"),
            ] {
                let check = check(&plan(zone), "ROUTE-05", lead);
                assert_eq!(check.outcome, Outcome::Fail, "{zone} {lead}");
                assert_eq!(check.finding.expect("it fails").at.place.path(), format!("{base}.path.1"));
            }
        }
    }

    #[test]
    fn a_way_that_stays_clear_passes_and_one_that_is_not_stated_is_open() {
        assert_eq!(outcome(&plan("under-seat"), "ROUTE-05", "wires.main"), Outcome::Pass);
        let check = check("plan: 1\nsignals: {left: {}}\n", "ROUTE-05", "signals.left");
        assert_eq!(check.outcome, Outcome::Open);
        assert_eq!(check.needs[0].path(), "signals.left.lead.path");
    }
}
