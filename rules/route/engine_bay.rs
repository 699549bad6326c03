//! In the engine bay everything moves, and most of it has edges or is hot.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Covering, Wire, Zone, word};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-14",
    name: "uncovered-in-engine-bay",
    severity: Severity::Fault,
    since: "0.2",
    page: include_str!("engine_bay.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Say("wires.*.covering", &["none"])],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let ways = &job.protection().ways;
    if !ways.iter().any(|way| job.wires[way.wire].address == wire.address) {
        return Err(Undecided::NotApplicable("no battery feeds this wire"));
    }
    if wire.path.is_empty() {
        return Err(Undecided::need(wire.at("path")));
    }
    let at = wire.path.iter().position(|zone| *zone == Zone::EngineBay);
    let at = at.ok_or(Undecided::NotApplicable("it does not run through the engine bay"))?;
    let covering = wire.need("covering", &wire.covering)?;
    Ok(Verdict::pass_if(matches!(covering, Covering::Loom | Covering::Conduit), || {
        let covered = match covering {
            Covering::None => "no covering".to_owned(),
            other => format!("only {}", word(&other)),
        };
        Finding::new(wire.at("covering"), format!("`{}` runs through the engine bay with {covered}", wire.name))
            .label("loom or conduit is needed")
            .also(wire.at(format!("path.{at}")), "through the engine bay")
            .because(
                "brackets, clamps and the engine that rocks beside them rub insulation through, and heat softens it",
            )
            .mend("put it into loom or conduit from the battery to the firewall")
            .offer(Offer::new("put it into loom").set(wire.at("covering"), "loom"))
            .follows("ROUTE-08", wire.place())
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{after, finding, outcome};

    const WAY: &str = "path: [engine-bay, firewall, cargo]";

    fn plan(facts: &str) -> String {
        format!(
            "plan: 1\namplifiers: {{amp: {{}}}}\nwires:\n  main: {{from: battery.positive, to: amp.power, {facts}}}\n  \
             back: {{from: amp.ground, to: battery.negative, {facts}}}\n"
        )
    }

    fn of(facts: &str) -> Outcome {
        outcome(&plan(facts), "ROUTE-14", "wires.main")
    }

    #[test]
    fn loom_or_conduit_will_do_in_the_engine_bay() {
        assert_eq!(of(&format!("{WAY}, covering: loom")), Outcome::Pass);
        assert_eq!(of(&format!("{WAY}, covering: conduit")), Outcome::Pass);
        assert_eq!(of(&format!("{WAY}, covering: carpet")), Outcome::Fail);
        assert_eq!(of(&format!("{WAY}, covering: none")), Outcome::Fail);
        assert_eq!(of(WAY), Outcome::Open);
        assert_eq!(of("covering: none"), Outcome::Open);
    }

    #[test]
    fn a_wire_inside_and_a_return_need_none() {
        assert_eq!(of("path: [under-seat, cargo], covering: none"), Outcome::NotApplicable);
        let bare = plan(&format!("{WAY}, covering: none"));
        assert_eq!(outcome(&bare, "ROUTE-14", "wires.back"), Outcome::NotApplicable);
    }

    #[test]
    fn it_is_told_at_the_covering_and_loom_mends_it() {
        let bare = plan(&format!("{WAY}, covering: none"));
        let found = finding(&bare, "ROUTE-14", "wires.main");
        assert_eq!(found.at.place.path(), "wires.main.covering");
        assert_eq!(found.title, "`main` runs through the engine bay with no covering");
        assert_eq!(outcome(&after(&bare, "ROUTE-14", "wires.main")[0], "ROUTE-14", "wires.main"), Outcome::Pass);
    }
}
