//! A body of plastic or glued aluminium carries no return.

use crate::judge::{Finding, Judged, Rule, Severity, Subjects, Verdict};
use crate::plan::{self, Amplifier, Body};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "GROUND-09",
    name: "ground-no-body-return",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("no_body_return.md"),
    check: Subjects::Amplifier(check),
};

fn check(amplifier: &Thing<'_, Amplifier>, job: &Job<'_>) -> Judged {
    let end = super::return_end(job, amplifier)
        .ok_or(Undecided::NotApplicable("no return leaves it yet (PLAN-03 reports that)"))?;
    if end.reaches_battery {
        return Ok(Verdict::pass());
    }
    let place = Place::of("vehicle.body");
    let body = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
    let body = body.ok_or_else(|| Undecided::need(place.clone()))?;
    Ok(Verdict::pass_if(body == Body::Steel, || {
        Finding::new(end.place, format!("{} returns through the body, which is {}", amplifier.name, plan::word(&body)))
            .label("this ground leads nowhere dependable")
            .also(place, "no return path")
            .because("the current finds its way through signal shields, hinges and control units instead")
            .mend(
                "run a return cable of the feed's size to the battery's negative (before the sensor, where there is one), \
                 or to the maker's ground bus",
            )
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::outcome;

    fn of(body: &str, wires: &str) -> Outcome {
        let plan = format!(
            "plan: 1\nvehicle: {{{body}}}\namplifiers: {{amp: {{}}}}\ngrounds: {{floor: {{}}}}\n\
             batteries: {{second: {{}}}}\nwires: {{{wires}}}\n"
        );
        outcome(&plan, "GROUND-09", "amplifiers.amp")
    }

    const GROUND: &str = "return: {from: amp.ground, to: grounds.floor}";

    #[test]
    fn only_steel_carries_a_return() {
        assert_eq!(of("body: steel", GROUND), Outcome::Pass);
        assert_eq!(of("body: aluminium", GROUND), Outcome::Fail);
        assert_eq!(of("body: composite", GROUND), Outcome::Fail);
        assert_eq!(of("", GROUND), Outcome::Open);
    }

    #[test]
    fn a_cable_to_a_battery_serves_in_any_body() {
        assert_eq!(of("body: composite", "return: {from: amp.ground, to: battery.negative}"), Outcome::Pass);
        assert_eq!(of("body: composite", "return: {from: second.negative, to: amp.ground}"), Outcome::Pass);
        let bus = format!("{GROUND}, bus: {{from: grounds.floor, to: battery.negative}}");
        assert_eq!(of("body: composite", &bus), Outcome::Pass);
        assert_eq!(of("body: composite", ""), Outcome::NotApplicable);
    }
}
