//! Nobody drills before he has seen what is behind.

use super::ways;
use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{BlindSide, FastenerKind, Mount, MountOn, Zone};
use crate::solve::{Job, Place, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-09",
    name: "blind-hole",
    severity: Severity::Danger,
    since: "0.1",
    page: include_str!("blind_hole.md"),
    check: Subjects::Each(check),
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
    for (name, mount) in &job.plan.mounts {
        let at = |key: &str| Place::of(format!("mounts.{name}.{key}"));
        let verdict = match is_drilled(mount) {
            Some(false) => Err(Undecided::NotApplicable("no hole is drilled for it")),
            None if mount.blind_side.is_none() => Err(Undecided::need(at("fasteners.kind"))),
            _ => looked(mount.blind_side, at("blind_side"), &format!("the holes for `{name}`")),
        };
        judged.push((Place::of(format!("mounts.{name}")), verdict));
    }
    judged
}

fn hole(lead: &str, zone: Zone) -> String {
    format!("the hole for `{lead}` at `{}`", zone.word())
}

/// Whether a mount's fasteners go into something of the vehicle whose other side is out of sight.
fn is_drilled(mount: &Mount) -> Option<bool> {
    if matches!(mount.on, Some(MountOn::Enclosure | MountOn::Loose)) {
        return Some(false);
    }
    let kind = mount.fasteners.as_ref()?.kind?;
    Some(!matches!(kind, FastenerKind::Strap | FastenerKind::HookAndLoop | FastenerKind::Adhesive | FastenerKind::None))
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

    fn mount(facts: &str) -> Outcome {
        outcome(&format!("plan: 1\nmounts: {{box: {{{facts}}}}}\n"), "ROUTE-09", "mounts.box")
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
    fn screws_and_bolts_of_a_mount_count_and_straps_do_not() {
        assert_eq!(mount("fasteners: {kind: bracket-bolt}, blind_side: checked"), Outcome::Pass);
        assert_eq!(mount("fasteners: {kind: bracket-bolt}, blind_side: unchecked"), Outcome::Fail);
        assert_eq!(mount("fasteners: {kind: sheet-metal-screw}"), Outcome::Open);
        assert_eq!(mount("fasteners: {kind: strap}"), Outcome::NotApplicable);
        assert_eq!(mount("on: enclosure, fasteners: {kind: wood-screw}"), Outcome::NotApplicable);
        assert_eq!(mount("on: cargo-floor"), Outcome::Open);
    }
}
