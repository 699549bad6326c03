//! Nobody drills for a lead before having seen what is behind.

use super::ways;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{BlindSide, Zone};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-09",
    name: "blind-hole",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("blind_hole.md"),
    check: Subjects::Each(check),
    slips: &[
        super::Slip::Say("wires.*.crossings.*.blind_side", &["unchecked"]),
        super::Slip::Say("turn_on.*.crossings.*.blind_side", &["unchecked"]),
        super::Slip::Say("signals.*.lead.crossings.*.blind_side", &["unchecked"]),
    ],
};

fn check(job: &Job<'_>) -> Vec<(Place, Judged)> {
    let mut judged = Vec::new();
    for way in ways::of(job) {
        for (zone, crossing) in way.crossings {
            let subject = way.at(&format!("crossings.{}", zone.word()));
            let verdict = match crossing.through {
                Some(through) if !through.is_drilled() => Err(Undecided::NotApplicable("no hole is drilled for it")),
                None if crossing.blind_side.is_none() => Err(Undecided::need(way.crossing(*zone, "through"))),
                _ => looked(crossing.blind_side, way.crossing(*zone, "blind_side"), &hole(way.name, *zone)),
            };
            judged.push((subject, verdict));
        }
    }
    judged
}

fn hole(lead: &str, zone: Zone) -> String {
    format!("the hole for `{lead}` at `{}`", zone.word())
}

fn looked(blind_side: Option<BlindSide>, place: Place, what: &str) -> Judged {
    let blind_side = blind_side.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(blind_side == BlindSide::Checked, || {
        Finding::new(place, format!("nobody looked behind {what}"))
            .label("look first")
            .because("a drill that comes through can meet the tank, a fuel or brake line or a harness")
            .mend("look at the other side, with a mirror or from below, and use a drill stop")
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn crossing(facts: &str) -> Outcome {
        let text = format!("plan: 1\nwires: {{main: {{path: [firewall], crossings: {{firewall: {{{facts}}}}}}}}}\n");
        outcome(&text, "ROUTE-09", "wires.main.crossings.firewall")
    }

    #[test]
    fn a_drilled_hole_asks_for_a_look_and_a_factory_grommet_does_not() {
        for drilled in ["new-grommet", "gland", "bare-hole"] {
            assert_eq!(crossing(&format!("through: {drilled}, blind_side: checked")), Outcome::Pass, "{drilled}");
            assert_eq!(crossing(&format!("through: {drilled}, blind_side: unchecked")), Outcome::Fail, "{drilled}");
            assert_eq!(crossing(&format!("through: {drilled}")), Outcome::Open, "{drilled}");
        }
        assert_eq!(crossing("through: factory-grommet, blind_side: unchecked"), Outcome::NotApplicable);
        assert_eq!(crossing("sealed: true"), Outcome::Open);
    }

    #[test]
    fn the_fasteners_of_a_mount_are_another_rule() {
        let text = "plan: 1\nmounts: {box: {fasteners: {kind: bracket-bolt}, blind_side: unchecked}}\n";
        assert!(!crate::rules::trial::judged(text).checks.iter().any(|check| check.rule.code == "ROUTE-09"));
    }

    #[test]
    fn what_was_seen_counts_before_it_is_told_how_the_hole_was_made() {
        assert_eq!(crossing("blind_side: unchecked"), Outcome::Fail);
        assert_eq!(crossing("blind_side: checked"), Outcome::Pass);
        let text = "plan: 1\nwires: {main: {path: [firewall], crossings: {firewall: {sealed: true}}}}\n";
        let open = crate::rules::trial::check(text, "ROUTE-09", "wires.main.crossings.firewall");
        assert_eq!(open.needs[0].path(), "wires.main.crossings.firewall.through");
    }
}
