//! Under the floor, stones and water work on a wire that is not in conduit.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Covering, Wire, Zone, word};
use crate::solve::{Job, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "ROUTE-08",
    name: "underbody-without-conduit",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("underbody.md"),
    check: Subjects::Wire(check),
    slips: &[super::Slip::Past("wires.*.covering"), super::Slip::Insert("wires.*.path", &["underbody"])],
};

fn check(wire: &Thing<'_, Wire>, _: &Job<'_>) -> Judged {
    if wire.path.is_empty() {
        return Err(Undecided::need(wire.at("path")));
    }
    let at = wire.path.iter().position(|zone| *zone == Zone::Underbody);
    let at = at.ok_or(Undecided::NotApplicable("it does not run under the floor"))?;
    let covering = wire.need("covering", &wire.covering)?;
    Ok(Verdict::pass_if(covering == Covering::Conduit, || {
        let covered = match covering {
            Covering::None => "no covering".to_owned(),
            other => format!("only {}", word(&other)),
        };
        Finding::new(wire.at("covering"), format!("`{}` runs under the floor with {covered}", wire.name))
            .label("conduit is needed")
            .also(wire.at(format!("path.{at}")), "under the floor")
            .because("stones, water and jacks work on everything under the floor")
            .mend("put it into closed conduit there, or lay it inside the cabin")
            .offer(Offer::new("put it into conduit").set(wire.at("covering"), "conduit"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(facts: &str) -> Outcome {
        outcome(&format!("plan: 1\nwires: {{main: {{{facts}}}}}\n"), "ROUTE-08", "wires.main")
    }

    #[test]
    fn only_conduit_will_do_under_the_floor() {
        let under = "path: [engine-bay, underbody, floor-pan, cargo]";
        assert_eq!(of(&format!("{under}, covering: conduit")), Outcome::Pass);
        assert_eq!(of(&format!("{under}, covering: loom")), Outcome::Fail);
        assert_eq!(of(&format!("{under}, covering: none")), Outcome::Fail);
        assert_eq!(of(under), Outcome::Open);
    }

    #[test]
    fn a_wire_inside_needs_none() {
        assert_eq!(of("path: [engine-bay, cargo], covering: none"), Outcome::NotApplicable);
        assert_eq!(of("covering: none"), Outcome::Open);
    }
}
