//! Between body and door a lead bends every day: only a boot lets it.

use super::ways::{self, Way};
use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Through, Zone, word};
use crate::solve::Undecided;

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-10",
    name: "door-without-boot",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("door.md"),
    check: Subjects::Each(|job| ways::each(job, check)),
    slips: &[
        super::Slip::Together(&[
            super::Slip::Insert("signals.*.lead.path", &["door-jamb, left-door, door-jamb"]),
            super::Slip::Say("signals.*.lead.crossings.door-jamb", &["{through: loom, blind_side: checked}"]),
        ]),
        super::Slip::Together(&[
            super::Slip::Insert(
                "turn_on.*.path",
                &["door-jamb, left-door, door-jamb", "door-jamb, right-door, door-jamb"],
            ),
            super::Slip::Say(
                "turn_on.*.crossings.door-jamb",
                &["{through: loom, blind_side: checked}", "{through: bare-hole, blind_side: checked}"],
            ),
        ]),
        super::Slip::Say("wires.*.crossings.door-jamb.through", &["loom", "bare-hole", "new-grommet"]),
        super::Slip::Say("loads.*.lead.crossings.door-jamb.through", &["loom", "bare-hole"]),
    ],
};

fn check(way: &Way<'_>) -> Judged {
    way.known()?;
    if !way.path.contains(&Zone::DoorJamb) {
        return Err(Undecided::NotApplicable("it does not go into a door"));
    }
    let place = way.crossing(Zone::DoorJamb, "through");
    let through = way.crossings.get(&Zone::DoorJamb).and_then(|crossing| crossing.through);
    let through = through.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(through == Through::Boot, || {
        Finding::new(place, format!("`{}` goes into the door through `{}`, not in a boot", way.name, word(&through)))
            .label("no boot")
            .because("without a boot the door's gap pinches the lead and its edge cuts it, and water runs in along it")
            .mend("lead it through the factory boot, or fit a boot between body and door")
            .offer(Offer::new("fit a boot").set(way.crossing(Zone::DoorJamb, "through"), "boot"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(facts: &str) -> Outcome {
        outcome(&format!("plan: 1\nwires: {{main: {{{facts}}}}}\n"), "ROUTE-10", "wires.main")
    }

    #[test]
    fn only_a_boot_will_do_at_a_door() {
        let path = "path: [left-sill, door-jamb, left-door]";
        assert_eq!(of(&format!("{path}, crossings: {{door-jamb: {{through: boot}}}}")), Outcome::Pass);
        for other in ["factory-grommet", "new-grommet", "gland", "loom", "bare-hole"] {
            assert_eq!(
                of(&format!("{path}, crossings: {{door-jamb: {{through: {other}}}}}")),
                Outcome::Fail,
                "{other}"
            );
        }
        assert_eq!(of(path), Outcome::Open);
        assert_eq!(of("path: [left-sill, cargo]"), Outcome::NotApplicable);
    }

    /// Speakers sit in doors: their leads are what passes there most. One whose way is not stated is not judged.
    #[test]
    fn a_speaker_lead_goes_into_a_door_in_a_boot() {
        let text = |lead: &str| format!("plan: 1\nloads: {{left: {{lead: {{{lead}}}}}}}\n");
        let of = |lead: &str| outcome(&text(lead), "ROUTE-10", "loads.left");
        let path = "path: [cargo, left-sill, door-jamb, left-door]";
        assert_eq!(of(&format!("{path}, crossings: {{door-jamb: {{through: boot}}}}")), Outcome::Pass);
        assert_eq!(of(&format!("{path}, crossings: {{door-jamb: {{through: loom}}}}")), Outcome::Fail);
        assert_eq!(of(path), Outcome::Open);
        let judged = crate::rules::trial::judged(&text("length: 1.5 m"));
        assert!(!judged.checks.iter().any(|check| check.rule.code.starts_with("ROUTE")));
        let open =
            crate::rules::trial::check(&text("crossings: {door-jamb: {through: boot}}"), "ROUTE-10", "loads.left");
        assert_eq!(open.needs[0].path(), "loads.left.lead.path");
    }

    #[test]
    fn a_signal_lead_into_a_door_is_judged_too() {
        let text = "plan: 1\nsignals: {left: {lead: {path: [left-sill, door-jamb, left-door], \
                    crossings: {door-jamb: {through: loom}}}}}\n";
        assert_eq!(outcome(text, "ROUTE-10", "signals.left"), Outcome::Fail);
    }
}
