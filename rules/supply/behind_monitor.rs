//! A monitor counts what passes through it, and nothing that is tied to the post behind it.

use crate::judge::{Finding, Judged, Offer, Rule, Severity, Subjects, Verdict};
use crate::plan::{Body, Monitor, Terminal, Wire};
use crate::solve::{Job, Place, Thing, Undecided};

/// The rule.
pub const RULE: Rule = Rule {
    code: "SUPPLY-08",
    name: "return-behind-monitor",
    severity: Severity::Fault,
    since: "0.1",
    page: include_str!("behind_monitor.md"),
    check: Subjects::Wire(check),
    slips: &[
        super::Slip::Say("vehicle.battery.monitor", &["negative-post"]),
        super::Slip::Say("wires.*.to", &["battery.negative"]),
    ],
};

fn check(wire: &Thing<'_, Wire>, job: &Job<'_>) -> Judged {
    let ends = [("from", &wire.from), ("to", &wire.to)];
    let here = |end: &Option<Terminal>| end.as_ref().is_some_and(Terminal::is_battery_negative);
    let (key, end) = ends
        .into_iter()
        .find(|(_, end)| here(end))
        .ok_or(Undecided::NotApplicable("no end of it is at the battery's negative"))?;
    if end.as_ref().is_some_and(|end| end.terminal == "body-side") {
        return Ok(Verdict::pass());
    }
    let fact = Place::of("vehicle.battery.monitor");
    let battery = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.battery.as_ref());
    // Another body carries no return (GROUND-09).
    let body = job.plan.vehicle.as_ref().and_then(|vehicle| vehicle.body);
    let monitor = battery.and_then(|battery| battery.monitor).ok_or_else(|| Undecided::need(fact.clone()))?;
    Ok(Verdict::pass_if(monitor == Monitor::None, || {
        Finding::new(wire.at(key), format!("`{}` is on the negative post, behind the battery monitor", wire.name))
            .label("the monitor does not see this current")
            .also(fact, "its sensor sits on that post")
            .because("the vehicle counts charge by that sensor: what it does not see it does not charge back")
            .mend(if body.is_some_and(|body| body != Body::Steel) {
                "move it to the body's side of the sensor (`battery.body-side`)"
            } else {
                "move it to the body's side of the sensor (`battery.body-side`), or to a ground on a steel body"
            })
            .offer(Offer::new("move it to the sensor's body side").set(wire.at(key), "battery.body-side"))
    }))
}

#[cfg(test)]
mod tests {
    use crate::judge::Outcome;
    use crate::rules::trial::{check, outcome};

    fn plan(monitor: &str, from: &str, to: &str) -> String {
        format!(
            "plan: 1\nvehicle: {{battery: {{{monitor}}}}}\namplifiers: {{amp: {{}}}}\n\
             wires: {{return: {{from: {from}, to: {to}}}}}\n"
        )
    }

    fn of(monitor: &str, to: &str) -> Outcome {
        outcome(&plan(monitor, "amp.ground", to), "SUPPLY-08", "wires.return")
    }

    #[test]
    fn the_post_behind_a_monitor_fails_and_the_other_side_of_it_passes() {
        assert_eq!(of("monitor: negative-post", "battery.negative"), Outcome::Fail);
        assert_eq!(of("monitor: negative-post", "battery.body-side"), Outcome::Pass);
        assert_eq!(of("monitor: none", "battery.negative"), Outcome::Pass);
        assert_eq!(of("monitor: negative-post", "grounds.floor"), Outcome::NotApplicable);
    }

    #[test]
    fn a_ground_on_the_body_is_named_only_where_it_carries_a_return() {
        let mend = |body: &str| {
            let text = plan("monitor: negative-post", "amp.ground", "battery.negative");
            let text = text.replace("vehicle: {", &format!("vehicle: {{{body}"));
            check(&text, "SUPPLY-08", "wires.return").finding.expect("it fails").mend
        };
        assert!(!mend("body: aluminium, ").contains("ground") && !mend("body: composite, ").contains("ground"));
        assert!(mend("body: steel, ").ends_with("or to a ground on a steel body") && mend("").contains("steel body"));
    }

    #[test]
    fn either_end_counts() {
        let check =
            check(&plan("monitor: negative-post", "battery.negative", "amp.ground"), "SUPPLY-08", "wires.return");
        assert_eq!(check.finding.expect("it fails").at.place.path(), "wires.return.from");
    }

    #[test]
    fn a_battery_that_does_not_say_leaves_it_open() {
        let check = check(&plan("", "amp.ground", "battery.negative"), "SUPPLY-08", "wires.return");
        assert_eq!((check.outcome, check.needs[0].path().as_str()), (Outcome::Open, "vehicle.battery.monitor"));
        assert_eq!(of("", "battery.body-side"), Outcome::Pass);
    }

    #[test]
    fn the_sides_of_the_sensor_are_one_node_and_both_names_exist() {
        let text = plan("monitor: negative-post", "amp.ground", "battery.body-side");
        assert_eq!(outcome(&text, "PLAN-01", "wires.return.to"), Outcome::Pass);
        let composite = text.replace("vehicle: {", "vehicle: {body: composite, ");
        assert_eq!(outcome(&composite, "GROUND-09", "amplifiers.amp"), Outcome::Pass);
    }
}
